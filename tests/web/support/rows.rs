//! Rows that many tests begin with, entered as the pages enter them.

use limbledger::{
    clients::{self, Phone},
    horses::{self, NewParty},
    ids::{ClientId, HorseId},
};

use super::TestApp;

impl TestApp {
    pub async fn client(&self, name: &str, phone: &str) -> ClientId {
        let mut details = clients::Details::caller(name, "");
        details.phones.push(Phone { label: "mobile".into(), number: phone.into() });
        let mut tx = self.app.db.write().await.unwrap();
        let id = clients::store::insert(&mut tx, &details, self.now()).await.unwrap();
        tx.commit().await.unwrap();
        id
    }

    /// A horse of an owner.
    pub async fn horse_of(&self, name: &str, owner: ClientId) -> HorseId {
        self.horse_with(owner, horses::Details::named(name)).await
    }

    pub async fn horse_with(&self, owner: ClientId, details: horses::Details) -> HorseId {
        let mut tx = self.app.db.write().await.unwrap();
        let id = horses::store::insert(&mut tx, &details, self.now()).await.unwrap();
        horses::store::add_party(&mut tx, id, &NewParty::owner(owner), self.now()).await.unwrap();
        tx.commit().await.unwrap();
        id
    }
}
