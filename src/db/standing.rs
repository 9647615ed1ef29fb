//! Whether what is kept can still be trusted. Where it cannot, the practice is read and no longer written: what was
//! written over damage would be lost with it.

use std::sync::{Arc, PoisonError, RwLock};

/// Writing is refused, with what was found.
#[derive(Debug, Clone, thiserror::Error)]
#[error("the practice can be read only: {0}")]
pub struct ReadOnly(pub Arc<str>);

/// What was found wrong, if anything was.
#[derive(Debug, Clone, Default)]
pub(super) struct Standing(Arc<RwLock<Option<Arc<str>>>>);

impl Standing {
    pub(super) fn trouble(&self) -> Option<Arc<str>> {
        self.0.read().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// The first thing found stays: what follows is often its consequence.
    pub(super) fn fall(&self, found: &str) {
        let mut trouble = self.0.write().unwrap_or_else(PoisonError::into_inner);
        if trouble.is_none() {
            tracing::error!(found, "writing is refused from here on");
            *trouble = Some(found.into());
        }
    }
}

/// Whether this error says that the file or the disk cannot be trusted any more: damage, or a sync that failed, after
/// which the system may have dropped what it could not write. Codes of <https://sqlite.org/rescode.html>.
pub(super) fn is_grave(error: &sqlx::Error) -> bool {
    const CORRUPT: i32 = 11;
    const NOT_A_DATABASE: i32 = 26;
    const SYNC_FAILED: [i32; 2] = [1034, 1290];
    let code = error
        .as_database_error()
        .and_then(sqlx::error::DatabaseError::code)
        .and_then(|code| code.parse::<i32>().ok());
    code.is_some_and(|code| [CORRUPT, NOT_A_DATABASE].contains(&(code & 0xff)) || SYNC_FAILED.contains(&code))
}

/// Whether there was no room: the disk is full, a page could not be written, or the memory beside the log could not be
/// made. Codes of <https://sqlite.org/rescode.html>.
pub fn is_full(error: &sqlx::Error) -> bool {
    const NO_ROOM: [&str; 3] = ["13", "778", "4874"];
    error
        .as_database_error()
        .and_then(sqlx::error::DatabaseError::code)
        .is_some_and(|code| NO_ROOM.contains(&code.as_ref()))
}
