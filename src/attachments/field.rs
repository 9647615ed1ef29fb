//! The file of a form, handed on to the disk as it comes and held to a bound.

use std::{io::Write, path::Path};

use axum::extract::multipart::{Field, MultipartError};
use tokio::task::JoinError;

use super::{Incoming, Pipe};

/// Why a file did not come in whole.
#[derive(Debug, thiserror::Error)]
pub enum Fault {
    #[error("it is larger than it may be")]
    TooLarge,
    #[error("it could not be kept: {0}")]
    NoRoom(anyhow::Error),
}

impl From<JoinError> for Fault {
    fn from(error: JoinError) -> Self {
        Fault::NoRoom(error.into())
    }
}

/// Reads one field of a form, `largest` bytes of it at most.
///
/// # Errors
/// The form broke off. What is wrong with the file itself stands in the inner result.
pub async fn incoming(
    data: &Path,
    field: &mut Field<'_>,
    largest: u64,
) -> Result<Result<Incoming, Fault>, MultipartError> {
    let data = data.to_owned();
    let take = move |incoming: &mut Incoming, bytes: &[u8]| {
        if incoming.bytes().saturating_add(bytes.len() as u64) > largest {
            return Err(Fault::TooLarge);
        }
        incoming.write_all(bytes).map_err(|error| Fault::NoRoom(error.into()))
    };
    let mut pipe = Pipe::open(move || Incoming::begin(&data).map_err(Fault::NoRoom), take);
    let mut open = true;
    while let Some(piece) = field.chunk().await? {
        // What follows a refusal is read past, so that the answer reaches a browser that is still sending.
        open = open && pipe.push(piece.to_vec()).await;
    }
    Ok(pipe.end().await)
}

/// The name of a file as it is shown: without folders and without what cannot be printed or turns the line round. It
/// never names anything on the disk.
pub fn shown_name(name: &str) -> String {
    const LONGEST: usize = 100;
    let turns =
        |c: &char| matches!(c, '\u{200E}' | '\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2066}'..='\u{2069}');
    let name = name.rsplit(['/', '\\']).next().unwrap_or_default().trim();
    name.chars().filter(|c| !c.is_control() && !turns(c)).take(LONGEST).collect()
}
