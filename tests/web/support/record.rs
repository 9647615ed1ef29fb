//! A horse with a past: visits on given days, entries through the record's own door.

use limbledger::{
    clock::{At, Day},
    horses::{self, NewParty},
    ids::{EntryId, HorseId, PartyId, VisitId},
    record::{self, Body, Kind, NewEntry, Stamp},
};

use super::TestApp;

pub struct Story<'a> {
    pub test: &'a TestApp,
    pub horse: HorseId,
}

impl<'a> Story<'a> {
    pub async fn new(test: &'a TestApp) -> Self {
        let (horse, now) = (HorseId::new(), test.now());
        let mut tx = test.app.db.write().await.unwrap();
        sqlx::query("insert into horse (id, name, sex, neutered, colour, microchip, created_at) values (?, 'Briar', 'male', 'yes', 'bay', '276020000000017', ?)")
            .bind(horse)
            .bind(now)
            .execute(&mut *tx)
            .await
            .unwrap();
        tx.commit().await.unwrap();
        Story { test, horse }
    }

    pub fn history(&self) -> String {
        format!("/horses/{}/history", self.horse)
    }

    /// A visit in hand that began at nine on that day.
    pub async fn visit(&self, day: &str) -> VisitId {
        let (id, at) = (VisitId::new(), nine(day));
        let mut tx = self.test.app.db.write().await.unwrap();
        sqlx::query(
            "insert into visit (id, horse_id, vet_id, place, starts_at, minutes, walk_in, state, created_by, created_at)
             values (?, ?, ?, 'clinic', ?, 60, 1, 'in_hand', ?, ?)",
        )
        .bind(id)
        .bind(self.horse)
        .bind(self.test.vet)
        .bind(at)
        .bind(self.test.vet)
        .bind(at)
        .execute(&mut *tx)
        .await
        .unwrap();
        tx.commit().await.unwrap();
        id
    }

    pub async fn say(&self, visit: VisitId, body: Body) -> EntryId {
        self.add(NewEntry::new(visit, body)).await
    }

    pub async fn say_all(&self, visit: VisitId, bodies: Vec<Body>) {
        let entries: Vec<_> = bodies.into_iter().map(|b| NewEntry::new(visit, b)).collect();
        self.append(&entries).await;
    }

    pub async fn add(&self, entry: NewEntry) -> EntryId {
        let id = entry.id;
        self.append(&[entry]).await;
        id
    }

    async fn append(&self, entries: &[NewEntry]) {
        let now = self.test.now();
        let stamp = Stamp {
            seen_by: self.test.vet,
            entered_by: self.test.technician,
            device: "test".into(),
            seen_at: now,
            received_at: now,
            offset_ms: 0,
        };
        let mut tx = self.test.app.db.write().await.unwrap();
        record::append(&mut tx, &stamp, entries).await.unwrap();
        tx.commit().await.unwrap();
    }

    pub async fn erase(&self, entry: EntryId) {
        let mut tx = self.test.app.db.write().await.unwrap();
        let now = self.test.now();
        record::erase(&mut tx, entry, self.test.owner, now, "GDPR Art. 17", "wrong person").await.unwrap();
        tx.commit().await.unwrap();
    }

    /// Writes the signature and locks the visit.
    pub async fn sign(&self, visit: VisitId) {
        let text = Some("I stand by this".to_owned());
        self.say(visit, Body { text, ..Body::new(Kind::Signature) }).await;
        self.change(
            "update visit set state = 'signed', signed_by = ?, signed_at = 1773216000000 where id = ?",
            visit,
        )
        .await;
    }

    /// The horse changes hands at nine on that day.
    pub async fn owned(&self, (old, new): (&str, &str), day: &str) {
        let (old, new) = (self.test.client(old, "0171 1").await, self.test.client(new, "0171 2").await);
        let mut tx = self.test.app.db.write().await.unwrap();
        let past = "insert into party_past (id, horse_id, client_id, role, began_at, ended_at, ended_by)
                    values (?, ?, ?, 'owner', 0, ?, ?)";
        let done = sqlx::query(past).bind(PartyId::new()).bind(self.horse).bind(old).bind(nine(day));
        done.bind(self.test.desk).execute(&mut *tx).await.unwrap();
        let party = NewParty::owner(new);
        horses::store::add_party(&mut tx, self.horse, &party, nine(day)).await.unwrap();
        tx.commit().await.unwrap();
    }

    pub async fn move_to(&self, visit: VisitId, horse: HorseId) {
        let mut tx = self.test.app.db.write().await.unwrap();
        let done = sqlx::query("update visit set horse_id = ? where id = ?").bind(horse).bind(visit);
        done.execute(&mut *tx).await.unwrap();
        tx.commit().await.unwrap();
    }

    async fn change(&self, sql: &'static str, visit: VisitId) {
        let mut tx = self.test.app.db.write().await.unwrap();
        sqlx::query(sql).bind(self.test.vet).bind(visit).execute(&mut *tx).await.unwrap();
        tx.commit().await.unwrap();
    }
}

fn nine(day: &str) -> At {
    let zone = jiff::tz::TimeZone::get("Europe/Berlin").unwrap();
    day.parse::<Day>().unwrap().at(9, 0, &zone)
}

pub fn finding(region: &str, side: &str, code: &str, grade: f64, scale: &str) -> Body {
    Body {
        code: Some(code.into()),
        present: Some(grade > 0.0),
        grade: Some(grade),
        scale: Some(scale.into()),
        ..place(Kind::Finding, region, side)
    }
}

/// Examined by hand, and nothing found.
pub fn clear(region: &str, side: &str) -> Body {
    Body { present: Some(false), ..place(Kind::Place, region, side) }
}

pub fn gait(limb: &str, condition: &str, grade: f64, scale: &str) -> Body {
    Body {
        limb: Some(limb.into()),
        code: Some(condition.into()),
        grade: Some(grade),
        scale: Some(scale.into()),
        ..Body::new(Kind::Gait)
    }
}

fn place(kind: Kind, region: &str, side: &str) -> Body {
    Body { region: Some(region.into()), side: Some(side.into()), ..Body::new(kind) }
}

/// Puts a body on a limb.
pub fn on(body: Body, limb: Option<&str>) -> Body {
    Body { limb: limb.map(Into::into), ..body }
}
