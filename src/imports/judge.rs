//! What every row of an import means and who it may be, once it is said what the columns are.

use super::{
    alike::{Alike, Index},
    draft, store,
};
use crate::{App, ids::ImportId, practice};

/// What was found out about a row: its number, what is wrong with it, and who it may be.
pub(super) type Judged = (i64, String, Alike);

/// Goes through all rows of an import as if its columns were these. Nothing is written, so that nobody waits for it.
pub(super) async fn all(app: &App, id: ImportId, columns: &[String]) -> anyhow::Result<Vec<Judged>> {
    let db = app.db.read();
    let mut import = store::get(db, id).await?;
    import.columns = columns.to_vec();
    let rows = store::rows(db, id, "", (0, -1)).await?;
    let (clients, horses) = store::everybody(&mut *db.acquire().await?).await?;
    let practice = practice::store::get(db).await?;
    let today = app.clock.now().day(&practice.zone);
    // Thousands of names beside thousands: no other request should stand still for it.
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
    Ok(judged)
}
