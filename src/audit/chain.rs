//! The chain over the audit: each line's link goes over the link before it and everything that the line says.

use sha2::{Digest, Sha256};
use sqlx::SqliteConnection;

use crate::{
    clock::At,
    ids::{AuditId, StaffId},
};

struct Line {
    id: AuditId,
    at: At,
    by_id: StaffId,
    what: String,
    detail: String,
}

/// Links the lines that are not in the chain, in the order in which they came.
pub(crate) async fn link_all(conn: &mut SqliteConnection) -> sqlx::Result<()> {
    let new = sqlx::query_as!(
        Line,
        r#"select id as "id: AuditId", at as "at: At", by_id as "by_id: StaffId", what, detail from audit
           where rowid > coalesce((select a.rowid from audit a join audit_link l on l.audit_id = a.id
                                   order by l.seq desc limit 1), 0)
           order by rowid"#
    )
    .fetch_all(&mut *conn)
    .await?;
    let end = sqlx::query!(r#"select seq as "seq!", chain from audit_link order by seq desc limit 1"#)
        .fetch_optional(&mut *conn)
        .await?;
    let (mut seq, mut chain) = end.map_or((0, vec![0; 32]), |end| (end.seq, end.chain));
    for line in &new {
        seq += 1;
        chain = link(&chain, seq, line);
        sqlx::query!("insert into audit_link (seq, audit_id, chain) values (?, ?, ?)", seq, line.id, chain)
            .execute(&mut *conn)
            .await?;
    }
    Ok(())
}

fn link(before: &[u8], seq: i64, line: &Line) -> Vec<u8> {
    let words = serde_json::json!([seq, line.id, line.at, line.by_id, line.what, line.detail]).to_string();
    Sha256::new().chain_update(before).chain_update(words).finalize().to_vec()
}

/// Walks the chain; what does not hold, in sentences.
pub(crate) async fn verify(conn: &mut SqliteConnection) -> sqlx::Result<Vec<String>> {
    let (mut seq, mut chain) = (0, vec![0; 32]);
    loop {
        let rows = sqlx::query!(
            r#"select l.seq as "seq!", l.chain, a.id as "id: AuditId", a.at as "at: At", a.by_id as "by_id: StaffId",
                      a.what, a.detail
               from audit_link l join audit a on a.id = l.audit_id where l.seq > ? order by l.seq limit 1000"#,
            seq
        )
        .fetch_all(&mut *conn)
        .await?;
        if rows.is_empty() {
            break;
        }
        for row in rows {
            let line = Line { id: row.id, at: row.at, by_id: row.by_id, what: row.what, detail: row.detail };
            if row.seq != seq + 1 || row.chain != link(&chain, row.seq, &line) {
                return Ok(vec![format!("line {} of the audit was changed after it was written", row.seq)]);
            }
            (seq, chain) = (row.seq, row.chain);
        }
    }
    // In one question, since somebody may write a line meanwhile; a line and its link are written together.
    let unlinked: i64 = sqlx::query_scalar!(
        "select count(*) from audit a where not exists (select 1 from audit_link l where l.audit_id = a.id)"
    )
    .fetch_one(conn)
    .await?;
    let apart = (unlinked > 0).then(|| format!("{unlinked} lines of the audit are not in its chain"));
    Ok(apart.into_iter().collect())
}
