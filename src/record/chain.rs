//! The chain over salted digests: what makes a later change of the record show.

use sha2::{Digest, Sha256};
use sqlx::{SqliteConnection, SqlitePool};

use super::store::Header;

pub(super) type Hash = [u8; 32];

/// SHA-256 over salt and canonical body: salted, so that an erased body cannot be guessed back from it.
pub(super) fn digest(salt: &[u8], body: &str) -> Hash {
    Sha256::new().chain_update(salt).chain_update(body.as_bytes()).finalize().into()
}

/// The next link: the one before, then everything of the entry but its words.
pub(super) fn link(prev: &[u8], header: &Header, digest: &[u8]) -> Hash {
    let fixed = serde_json::json!([
        header.seq,
        header.id,
        header.visit_id,
        header.supersedes,
        header.seen_by,
        header.entered_by,
        header.device,
        header.seen_at,
        header.received_at,
        header.offset_ms,
        header.late,
    ]);
    Sha256::new().chain_update(prev).chain_update(fixed.to_string()).chain_update(digest).finalize().into()
}

/// Where the record does not hold together.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("entry {seq} of the record {what}")]
pub struct Fault {
    pub seq: i64,
    pub what: &'static str,
}

/// Walks the chain from entry `from` on; the first fault ends the walk.
pub async fn verify(db: &SqlitePool, from: i64) -> sqlx::Result<Result<i64, Fault>> {
    verify_on(&mut *db.acquire().await?, from).await
}

/// The same inside a transaction.
pub async fn verify_on(conn: &mut SqliteConnection, from: i64) -> sqlx::Result<Result<i64, Fault>> {
    let mut expected: Option<Vec<u8>> = None;
    let mut next = from.max(1);
    loop {
        let rows = super::store::links_from(&mut *conn, next, 2_000).await?;
        if rows.is_empty() {
            return Ok(Ok(next - 1));
        }
        for row in rows {
            let fault = |what| Ok(Err(Fault { seq: row.header.seq, what }));
            if row.header.seq != next {
                return fault("is missing its neighbour");
            }
            if expected.as_ref().is_some_and(|e| *e != row.prev) || (next == 1 && row.prev != [0; 32]) {
                return fault("does not follow the one before it");
            }
            if let (Some(body), Some(salt)) = (&row.body, &row.salt)
                && digest(salt, body)[..] != row.digest[..]
            {
                return fault("no longer says what was recorded");
            }
            if link(&row.prev, &row.header, &row.digest)[..] != row.chain[..] {
                return fault("was changed after it was recorded");
            }
            expected = Some(row.chain);
            next += 1;
        }
    }
}
