//! An archive as the answer to a request: it goes out while it is made.

use axum::body::Body;
use tokio::{runtime::Handle, sync::mpsc};
use tokio_stream::wrappers::ReceiverStream;

use super::write::{self, Asked};
use crate::{App, db};

/// Pieces that wait for whoever takes them.
const WAITING: usize = 4;

/// The body of the answer. An archive that cannot be made to its end breaks off, so that nobody takes it for a whole one.
///
/// # Errors
/// The database cannot be opened for reading.
pub async fn body(app: &App, asked: Asked) -> anyhow::Result<Body> {
    let (out, pieces) = mpsc::channel(WAITING);
    let data = app.db.folder().to_owned();
    let conn = db::reader(&data).await?;
    let here = Handle::current();
    // Packing and digesting take a core: not one of those that answer others.
    tokio::task::spawn_blocking(move || {
        here.block_on(async {
            if let Err(error) = write::write(conn, &data, &asked, out.clone()).await {
                tracing::error!("an archive broke off: {error:#}");
                let _ = out.send(Err(std::io::Error::other(error))).await;
            }
        });
    });
    Ok(Body::from_stream(ReceiverStream::new(pieces)))
}
