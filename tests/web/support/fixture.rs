//! One row of everything, for tests that only need something to point at.

use limbledger::ids::{ClientId, EntryId, FollowUpId, HorseId, ItemId, OrderId, PartyId, VisitId, YardId};

use super::TestApp;

#[derive(Clone, Copy)]
pub struct Fixture {
    pub client: ClientId,
    pub yard: YardId,
    pub horse: HorseId,
    /// In hand, with the vet of the practice.
    pub visit: VisitId,
    pub follow_up: FollowUpId,
    /// Of the visit: one view of a fetlock, wanted.
    pub order: OrderId,
}

impl Fixture {
    pub async fn new(test: &TestApp) -> Self {
        let f = Fixture {
            client: ClientId::new(),
            yard: YardId::new(),
            horse: HorseId::new(),
            visit: VisitId::new(),
            follow_up: FollowUpId::new(),
            order: OrderId::new(),
        };
        let hex = |id: &dyn std::fmt::Display| format!("x'{}'", id.to_string().replace('-', ""));
        let (client, yard, horse) = (hex(&f.client), hex(&f.yard), hex(&f.horse));
        let (visit, follow_up, party) = (hex(&f.visit), hex(&f.follow_up), hex(&PartyId::new()));
        let (order, item) = (hex(&f.order), hex(&ItemId::new()));
        let (vet, desk, now) = (hex(&test.vet), hex(&test.desk), test.now().0);
        let rows = format!(
            "insert into client (id, kind, name, created_at) values ({client}, 'person', 'Corra Test', {now});
             insert into yard (id, client_id, name, created_at) values ({yard}, {client}, 'Test Yard', {now});
             insert into horse (id, name, sex, neutered, born, colour, yard_id, created_at)
             values ({horse}, 'Testhorse', 'male', 'yes', '2016', 'bay', {yard}, {now});
             insert into party (id, horse_id, client_id, role, created_at)
             values ({party}, {horse}, {client}, 'owner', {now});
             insert into visit (id, horse_id, client_id, vet_id, place, yard_id, starts_at, minutes, state, created_by,
                                created_at)
             values ({visit}, {horse}, {client}, {vet}, 'yard', {yard}, {now}, 45, 'in_hand', {desk}, {now});
             insert into follow_up (id, horse_id, visit_id, due_on, what, created_by, created_at)
             values ({follow_up}, {horse}, {visit}, '2026-03-20', 'recheck', {vet}, {now});
             insert into diagnostic_order (id, number, accession, study_uid, visit_id, study, kind, name, ordered_by,
                                           ordered_at)
             values ({order}, 1, 'L000001', '2.25.1', {visit}, 'fetlock', 'radiograph', 'fetlock', {vet}, {now});
             insert into diagnostic_item (id, order_id, position, code, name, side)
             values ({item}, {order}, 1, 'LM', 'lateromedial', 'LF');"
        );
        let mut tx = test.app.db.write().await.unwrap();
        sqlx::raw_sql(sqlx::AssertSqlSafe(rows)).execute(&mut *tx).await.unwrap();
        tx.commit().await.unwrap();
        f
    }

    /// A route's path with rows that exist in place of its parameters.
    pub fn fill(&self, route: &str) -> String {
        let (head, rest) = route.split_once('{').map_or((route, None), |(h, r)| (h, Some(r)));
        let Some((_, tail)) = rest.and_then(|r| r.split_once('}')) else { return route.to_owned() };
        let id = match head {
            "/clients/" | "/practice/staff/" => self.client.to_string(),
            "/yards/" => self.yard.to_string(),
            "/horses/" => self.horse.to_string(),
            "/visits/" => self.visit.to_string(),
            "/follow-ups/" => self.follow_up.to_string(),
            "/diagnostics/" => self.order.to_string(),
            "/static/" => return "/static/any/app.css".to_owned(),
            _ => EntryId::new().to_string(),
        };
        self.fill(&format!("{head}{id}{tail}"))
    }
}
