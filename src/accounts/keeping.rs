//! The SQL of changing accounts: role, password, PIN, leaving, and the sessions of somebody.

use sqlx::SqliteExecutor;

use super::{Role, browser};
use crate::{
    clock::At,
    db::Tx,
    ids::{SessionId, StaffId},
};

/// What of an account an owner may change.
pub struct Change<'a> {
    pub name: &'a str,
    pub role: Role,
    pub licensed: bool,
    pub version: i64,
}

/// Changes an account; zero rows mean that somebody else was there first.
pub async fn change(tx: &mut Tx, id: StaffId, c: &Change<'_>) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update staff set name = ?, role = ?, licensed = ?, version = version + 1 where id = ? and version = ?",
        c.name,
        c.role,
        c.licensed,
        id,
        c.version
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

/// Owners who work here, this one left out: without another, this one has to stay.
pub async fn other_owners(tx: &mut Tx, id: StaffId) -> sqlx::Result<i64> {
    sqlx::query_scalar!("select count(*) from staff where role = 'owner' and active = 1 and id <> ?", id)
        .fetch_one(&mut **tx)
        .await
}

pub async fn set_active(tx: &mut Tx, id: StaffId, active: bool) -> sqlx::Result<()> {
    sqlx::query!("update staff set active = ?, version = version + 1 where id = ?", active, id)
        .execute(&mut **tx)
        .await?;
    Ok(())
}

/// A new password: every browser that came in with the old one is signed out, but for `kept`.
pub async fn set_password(tx: &mut Tx, id: StaffId, hash: &str, kept: Option<SessionId>) -> sqlx::Result<()> {
    sqlx::query!(
        "update staff set password_hash = ?, code_until = null, version = version + 1 where id = ?",
        hash,
        id
    )
    .execute(&mut **tx)
    .await?;
    end_sessions(tx, id, kept).await
}

/// What stands for the password of this account is a code, good for one sign-in until then.
pub async fn expect_code(tx: &mut Tx, id: StaffId, until: At) -> sqlx::Result<()> {
    sqlx::query!("update staff set code_until = ? where id = ?", until, id).execute(&mut **tx).await?;
    Ok(())
}

/// Uses up a code that is still good; `false` when it is too old, or somebody was there first.
pub async fn spend_code(tx: &mut Tx, id: StaffId, now: At) -> sqlx::Result<bool> {
    let done = sqlx::query!("update staff set code_until = 0 where id = ? and code_until > ?", id, now)
        .execute(&mut **tx)
        .await?;
    Ok(done.rows_affected() == 1)
}

pub async fn set_pin(tx: &mut Tx, id: StaffId, hash: Option<&str>) -> sqlx::Result<()> {
    sqlx::query!("update staff set pin_hash = ?, version = version + 1 where id = ?", hash, id)
        .execute(&mut **tx)
        .await?;
    Ok(())
}

/// Ends every session of an account but `kept`.
pub async fn end_sessions(tx: &mut Tx, staff: StaffId, kept: Option<SessionId>) -> sqlx::Result<()> {
    sqlx::query!("delete from session where staff_id = ? and id is not ?", staff, kept)
        .execute(&mut **tx)
        .await?;
    Ok(())
}

/// Ends one session, if it is this account's.
pub async fn end_session_of(tx: &mut Tx, staff: StaffId, id: SessionId) -> sqlx::Result<()> {
    sqlx::query!("delete from session where id = ? and staff_id = ?", id, staff).execute(&mut **tx).await?;
    Ok(())
}

/// A browser somebody is signed in on.
#[derive(Debug, Clone)]
pub struct SignedIn {
    pub id: SessionId,
    pub agent: String,
    pub created_at: At,
    pub seen_at: At,
    pub shared: bool,
    pub locked: bool,
}

impl SignedIn {
    pub fn browser(&self) -> String {
        browser::words(&self.agent)
    }
}

pub async fn sessions(db: impl SqliteExecutor<'_>, staff: StaffId, now: At) -> sqlx::Result<Vec<SignedIn>> {
    sqlx::query_as!(
        SignedIn,
        r#"select id as "id: SessionId", agent, created_at as "created_at: At", seen_at as "seen_at: At",
                  shared as "shared: bool", locked as "locked: bool"
           from session where staff_id = ? and expires_at > ? order by seen_at desc"#,
        staff,
        now
    )
    .fetch_all(db)
    .await
}

/// Booked visits ahead that are this person's: somebody has to take them over.
pub async fn booked_ahead(db: impl SqliteExecutor<'_>, vet: StaffId, now: At) -> sqlx::Result<i64> {
    sqlx::query_scalar!(
        "select count(*) from visit where vet_id = ? and state in ('booked', 'arrived') and starts_at > ?",
        vet,
        now
    )
    .fetch_one(db)
    .await
}
