//! Visits, horses and vets to work with, made below the pages.

use limbledger::{
    accounts::{self, Role, store::NewStaff},
    clock::Day,
    horses,
    ids::{HorseId, StaffId, VisitId},
    visits::{
        State,
        store::{self, NewVisit},
    },
};

use super::{PASSWORD, TestApp};

impl TestApp {
    pub async fn horse(&self, name: &str) -> HorseId {
        let mut tx = self.app.db.write().await.unwrap();
        let id = horses::store::insert(&mut tx, &horses::Details::named(name), self.now()).await.unwrap();
        tx.commit().await.unwrap();
        id
    }

    /// One more veterinarian, and a browser is signed in with `signed_in_as`.
    pub async fn another_vet(&self, name: &str) -> StaffId {
        let id = StaffId::new();
        let password_hash = self.app.hasher.hash(PASSWORD).await.unwrap();
        let new = NewStaff { id, name: name.into(), role: Role::Vet, licensed: true, password_hash };
        let mut tx = self.app.db.write().await.unwrap();
        accounts::store::insert(&mut tx, &new, self.now()).await.unwrap();
        tx.commit().await.unwrap();
        id
    }

    pub async fn signed_in_as(&self, name: &str) -> super::Browser {
        let mut browser = self.stranger();
        browser.post("/sign-in", &[("name", name), ("password", PASSWORD)]).await;
        browser
    }

    /// A visit of 45 minutes in the clinic.
    pub async fn visit(
        &self,
        horse: HorseId,
        vet: StaffId,
        day: &str,
        hm: (i8, i8),
        state: State,
    ) -> VisitId {
        let zone = limbledger::practice::store::get(self.app.db.read()).await.unwrap().zone;
        let new = NewVisit {
            id: VisitId::new(),
            horse,
            client: None,
            vet: Some(vet),
            place: "clinic",
            yard: None,
            starts_at: day.parse::<Day>().unwrap().at(hm.0, hm.1, &zone),
            minutes: 45,
            urgent: false,
            walk_in: false,
            stop: None,
            state,
        };
        let mut tx = self.app.db.write().await.unwrap();
        store::insert(&mut tx, &new, vet, self.now()).await.unwrap();
        tx.commit().await.unwrap();
        new.id
    }

    /// A practice with a position and a vet who drives past a yard to a far one and back; gives the vet and the visits.
    pub async fn zigzag(&self, name: &str) -> (StaffId, Vec<VisitId>) {
        let vet = self.another_vet(name).await;
        let hex = |id: &dyn std::fmt::Display| format!("x'{}'", id.to_string().replace('-', ""));
        let mut rows = vec!["insert into practice_place (id, lat, lon) values (1, 46.0, -30.0);".to_owned()];
        let mut visits = Vec::new();
        let stops = [
            ("Far Yard", "Farrow", 46.25, 10),
            ("Near Yard", "Nettle", 46.05, 12),
            ("Farther Yard", "Fescue", 46.3, 14),
        ];
        for (yard, horse, lat, hour) in stops {
            let visit =
                self.visit(self.horse(horse).await, vet, "2026-03-11", (hour, 0), State::Booked).await;
            let id = limbledger::ids::YardId::new();
            rows.push(format!(
                "insert into yard (id, name, lat, lon, created_at) values ({0}, '{yard}', {lat}, -30.0, 0);
                 update visit set place = 'yard', yard_id = {0} where id = {1};
                 update horse set yard_id = {0} where name = '{horse}';",
                hex(&id),
                hex(&visit)
            ));
            visits.push(visit);
        }
        let mut tx = self.app.db.write().await.unwrap();
        sqlx::raw_sql(sqlx::AssertSqlSafe(rows.concat())).execute(&mut *tx).await.unwrap();
        tx.commit().await.unwrap();
        (vet, visits)
    }

    pub async fn state_of(&self, visit: VisitId) -> State {
        store::get(self.app.db.read(), visit).await.unwrap().state
    }

    /// How many rows a table has.
    pub async fn count(&self, table: &str) -> i64 {
        let sql = sqlx::AssertSqlSafe(format!("select count(*) from {table}"));
        sqlx::query_scalar(sql).fetch_one(self.app.db.read()).await.unwrap()
    }
}
