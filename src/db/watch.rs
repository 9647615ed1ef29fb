//! Which rows a transaction touched, as SQLite itself tells it: no statement can forget to say so.

use std::{
    collections::{BTreeMap, BTreeSet},
    mem,
    sync::{Arc, Mutex, MutexGuard, PoisonError},
};

use sqlx::SqliteConnection;

/// Rows by the name of their table.
pub(super) type Rows = BTreeMap<String, BTreeSet<i64>>;

/// What was touched since it was taken last. Rows that a rollback brought back stand in it too: they are as they were.
#[derive(Debug, Clone, Default)]
pub(super) struct Touched(Arc<Mutex<Rows>>);

impl Touched {
    /// Listens to this connection from here on.
    pub(super) async fn watch(&self, conn: &mut SqliteConnection) -> sqlx::Result<()> {
        let touched = self.clone();
        conn.lock_handle().await?.set_update_hook(move |change| {
            let mut rows = touched.rows();
            match rows.get_mut(change.table) {
                Some(of_table) => drop(of_table.insert(change.rowid)),
                None => drop(rows.insert(change.table.to_owned(), BTreeSet::from([change.rowid]))),
            }
        });
        Ok(())
    }

    pub(super) fn take(&self) -> Rows {
        mem::take(&mut self.rows())
    }

    fn rows(&self) -> MutexGuard<'_, Rows> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}
