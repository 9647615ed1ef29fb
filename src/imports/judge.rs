//! What every row of an import means and who it may be, once it is said what the columns are.

use super::{
    alike::{Alike, Index},
    draft, store,
};
use crate::{App, db::Tx, ids::ImportId, practice};

/// Goes through all rows of an import, whose columns are set in this transaction.
pub(super) async fn all(app: &App, tx: &mut Tx, id: ImportId) -> anyhow::Result<()> {
    let import = store::get(&mut **tx, id).await?;
    let rows = store::rows(&mut **tx, id, "", (0, -1)).await?;
    let (clients, horses) = store::everybody(tx).await?;
    let practice = practice::store::get(&mut **tx).await?;
    let today = app.clock.now().day(&practice.zone);
    // Thousands of names beside thousands: nobody else should wait for it.
    let judged = tokio::task::spawn_blocking(move || {
        let index = Index::new(clients, horses);
        let judge = |row: &store::Row| {
            if !row.torn.is_empty() {
                return (row.number, String::new(), Alike::default());
            }
            match draft::read((&import.header, &import.columns, &row.cells), &practice, today) {
                Ok(draft) => (row.number, String::new(), index.ask(&draft)),
                Err(wrong) => (row.number, wrong, Alike::default()),
            }
        };
        rows.iter().map(judge).collect::<Vec<_>>()
    })
    .await?;
    store::judge(tx, id, &judged).await
}
