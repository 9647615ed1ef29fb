//! One row of everything, for tests that only need something to point at.

use limbledger::ids::{ClientId, EntryId, FollowUpId, HandoverId, HorseId, PartyId, VisitId, YardId};

use super::TestApp;

pub struct Fixture {
    pub client: ClientId,
    pub yard: YardId,
    pub horse: HorseId,
    /// In hand, with the vet of the practice.
    pub visit: VisitId,
    pub follow_up: FollowUpId,
}

impl Fixture {
    pub async fn new(test: &TestApp) -> Self {
        let f = Fixture {
            client: ClientId::new(),
            yard: YardId::new(),
            horse: HorseId::new(),
            visit: VisitId::new(),
            follow_up: FollowUpId::new(),
        };
        let now = test.now();
        let mut tx = test.app.db.write().await.unwrap();
        let db = &mut *tx;
        sqlx::query("insert into client (id, kind, name, created_at) values (?, 'person', 'Corra Test', ?)")
            .bind(f.client)
            .bind(now)
            .execute(&mut *db)
            .await
            .unwrap();
        sqlx::query("insert into yard (id, client_id, name, created_at) values (?, ?, 'Test Yard', ?)")
            .bind(f.yard)
            .bind(f.client)
            .bind(now)
            .execute(&mut *db)
            .await
            .unwrap();
        sqlx::query(
            "insert into horse (id, name, sex, neutered, born, colour, yard_id, created_at)
             values (?, 'Testhorse', 'male', 'yes', '2016', 'bay', ?, ?)",
        )
        .bind(f.horse)
        .bind(f.yard)
        .bind(now)
        .execute(&mut *db)
        .await
        .unwrap();
        sqlx::query(
            "insert into party (id, horse_id, client_id, role, created_at) values (?, ?, ?, 'owner', ?)",
        )
        .bind(PartyId::new())
        .bind(f.horse)
        .bind(f.client)
        .bind(now)
        .execute(&mut *db)
        .await
        .unwrap();
        sqlx::query(
            "insert into visit (id, horse_id, client_id, vet_id, place, yard_id, starts_at, minutes, state, created_by, created_at)
             values (?, ?, ?, ?, 'yard', ?, ?, 45, 'in_hand', ?, ?)",
        )
        .bind(f.visit)
        .bind(f.horse)
        .bind(f.client)
        .bind(test.vet)
        .bind(f.yard)
        .bind(now)
        .bind(test.desk)
        .bind(now)
        .execute(&mut *db)
        .await
        .unwrap();
        sqlx::query(
            "insert into follow_up (id, horse_id, visit_id, due_on, what, created_by, created_at)
             values (?, ?, ?, '2026-03-20', 'recheck', ?, ?)",
        )
        .bind(f.follow_up)
        .bind(f.horse)
        .bind(f.visit)
        .bind(test.vet)
        .bind(now)
        .execute(&mut *db)
        .await
        .unwrap();
        tx.commit().await.unwrap();
        f
    }

    /// A route's path with rows that exist in place of its parameters.
    pub fn fill(&self, route: &str) -> String {
        let (head, rest) = route.split_once('{').map_or((route, None), |(h, r)| (h, Some(r)));
        let Some((_, tail)) = rest.and_then(|r| r.split_once('}')) else { return route.to_owned() };
        let id = match head {
            "/clients/" => self.client.to_string(),
            "/yards/" => self.yard.to_string(),
            "/horses/" => self.horse.to_string(),
            "/visits/" => self.visit.to_string(),
            "/follow-ups/" => self.follow_up.to_string(),
            "/practice/staff/" => self.client.to_string(),
            "/static/" => return "/static/any/app.css".to_owned(),
            other if other.contains("hand") => HandoverId::new().to_string(),
            _ => EntryId::new().to_string(),
        };
        self.fill(&format!("{head}{id}{tail}"))
    }
}
