//! The SQL of staff and sessions.

use sqlx::SqliteExecutor;

use super::Role;
use crate::{
    clock::At,
    db::{Db, Tx},
    ids::{SessionId, StaffId},
};

/// An account.
#[derive(Debug, Clone)]
pub struct Staff {
    pub id: StaffId,
    pub name: String,
    pub role: Role,
    pub licensed: bool,
    pub active: bool,
    pub has_pin: bool,
    pub version: i64,
}

/// An account on its way in.
#[derive(Debug, Clone)]
pub struct NewStaff {
    pub id: StaffId,
    pub name: String,
    pub role: Role,
    pub licensed: bool,
    pub password_hash: String,
}

pub async fn insert(tx: &mut Tx, new: &NewStaff, now: At) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into staff (id, name, role, licensed, password_hash, created_at) values (?, ?, ?, ?, ?, ?)",
        new.id,
        new.name,
        new.role,
        new.licensed,
        new.password_hash,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// The name of one of them; empty for nobody.
pub fn name_of(staff: &[Staff], id: StaffId) -> String {
    staff.iter().find(|one| one.id == id).map_or_else(String::new, |one| one.name.clone())
}

/// Everybody, by name; those who left last.
pub async fn all(db: impl SqliteExecutor<'_>) -> sqlx::Result<Vec<Staff>> {
    sqlx::query_as!(
        Staff,
        r#"select id as "id: StaffId", name, role as "role: Role", licensed as "licensed: bool", active as "active: bool",
                  pin_hash is not null as "has_pin!: bool", version
           from staff order by active desc, name"#
    )
    .fetch_all(db)
    .await
}

pub async fn get(db: impl SqliteExecutor<'_>, id: StaffId) -> sqlx::Result<Staff> {
    sqlx::query_as!(
        Staff,
        r#"select id as "id: StaffId", name, role as "role: Role", licensed as "licensed: bool", active as "active: bool",
                  pin_hash is not null as "has_pin!: bool", version
           from staff where id = ?"#,
        id
    )
    .fetch_one(db)
    .await
}

/// Those who can be booked and sign.
pub async fn vets(db: impl SqliteExecutor<'_>) -> sqlx::Result<Vec<Staff>> {
    let mut staff = all(db).await?;
    staff.retain(|s| s.licensed && s.active);
    Ok(staff)
}

/// The secrets of an active account.
pub struct Secrets {
    pub id: StaffId,
    /// Of the password, or of a code that stands for it once.
    pub password_hash: String,
    pub pin_hash: Option<String>,
    /// Set while it is a code: until when it is good.
    pub code_until: Option<At>,
}

impl Secrets {
    /// The hash to hold a password against; nobody proves who they are with a code but at the door.
    pub fn of_password(&self) -> Option<&str> {
        self.code_until.is_none().then_some(self.password_hash.as_str())
    }
}

pub async fn secrets_by_name(db: impl SqliteExecutor<'_>, name: &str) -> sqlx::Result<Option<Secrets>> {
    sqlx::query_as!(
        Secrets,
        r#"select id as "id: StaffId", password_hash, pin_hash, code_until as "code_until: At"
           from staff where name = ? and active = 1"#,
        name
    )
    .fetch_optional(db)
    .await
}

pub async fn secrets(db: impl SqliteExecutor<'_>, id: StaffId) -> sqlx::Result<Secrets> {
    sqlx::query_as!(
        Secrets,
        r#"select id as "id: StaffId", password_hash, pin_hash, code_until as "code_until: At"
           from staff where id = ? and active = 1"#,
        id
    )
    .fetch_one(db)
    .await
}

/// A signed-in browser and who it stands for.
#[derive(Debug, Clone)]
pub struct Session {
    pub id: SessionId,
    pub staff_id: StaffId,
    pub name: String,
    pub role: Role,
    pub licensed: bool,
    pub seen_at: At,
    pub shared: bool,
    pub locked: bool,
    pub pin_failures: i64,
    pub agent: String,
    pub flash: Option<String>,
    /// Set while the account has a one-use code in place of a password.
    pub code_until: Option<At>,
    /// Since when the account has a second factor.
    pub second_since: Option<At>,
    /// Until when somebody who was asked for one can put it off; an invented practice asks nobody.
    pub factor_until: Option<At>,
}

/// A session that began so much later than now was begun by a clock that was wrong, and would live too long.
const AHEAD_MINUTES: i64 = 24 * 60;

/// The living session behind a token's hash.
pub async fn find_session(
    db: impl SqliteExecutor<'_>,
    hash: &[u8],
    now: At,
) -> sqlx::Result<Option<Session>> {
    let soon = now.plus_minutes(AHEAD_MINUTES);
    sqlx::query_as!(
        Session,
        r#"select s.id as "id: SessionId", s.staff_id as "staff_id: StaffId", p.name, p.role as "role: Role",
                  p.licensed as "licensed: bool", s.seen_at as "seen_at: At", s.shared as "shared: bool",
                  s.locked as "locked: bool", s.pin_failures, s.agent, s.flash,
                  p.code_until as "code_until: At",
                  (select confirmed_at from second_factor f where f.staff_id = p.id) as "second_since: At",
                  (select until_at from second_factor_asked a where a.staff_id = p.id
                   and not exists (select 1 from practice where invented = 1)) as "factor_until: At"
           from session s join staff p on p.id = s.staff_id
           where s.token_hash = ? and s.expires_at > ? and s.created_at < ? and p.active = 1"#,
        hash,
        now,
        soon
    )
    .fetch_optional(db)
    .await
}

/// A session on its way in.
pub struct NewSession<'a> {
    pub id: SessionId,
    pub token_hash: Vec<u8>,
    pub staff: StaffId,
    pub now: At,
    pub expires: At,
    pub shared: bool,
    pub agent: &'a str,
}

pub async fn begin_session(tx: &mut Tx, s: &NewSession<'_>) -> sqlx::Result<()> {
    // Of this account alone: a clock that is wrong for a minute must not sign out everybody.
    sqlx::query!("delete from session where staff_id = ? and expires_at <= ?", s.staff, s.now)
        .execute(&mut **tx)
        .await?;
    sqlx::query!(
        "insert into session (id, token_hash, staff_id, created_at, seen_at, expires_at, shared, agent)
         values (?, ?, ?, ?, ?, ?, ?, ?)",
        s.id,
        s.token_hash,
        s.staff,
        s.now,
        s.now,
        s.expires,
        s.shared,
        s.agent
    )
    .execute(&mut **tx)
    .await?;
    // At most five an account: the oldest make room.
    sqlx::query!(
        "delete from session where staff_id = ? and id not in
             (select id from session where staff_id = ? order by seen_at desc, rowid desc limit 5)",
        s.staff,
        s.staff
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

pub async fn end_session(tx: &mut Tx, id: SessionId) -> sqlx::Result<()> {
    sqlx::query!("delete from session where id = ?", id).execute(&mut **tx).await?;
    Ok(())
}

pub async fn touch(db: &Db, id: SessionId, now: At) -> anyhow::Result<()> {
    let mut tx = db.write_at_the_door().await?;
    sqlx::query!("update session set seen_at = ? where id = ?", now, id).execute(&mut *tx).await?;
    tx.commit().await
}

pub async fn lock(db: &Db, id: SessionId) -> anyhow::Result<()> {
    let mut tx = db.write_at_the_door().await?;
    sqlx::query!("update session set locked = 1, pin_failures = 0 where id = ?", id)
        .execute(&mut *tx)
        .await?;
    tx.commit().await
}

/// Opens a locked session again, under a new token: what stood for it before is worth nothing any more.
pub async fn unlock(tx: &mut Tx, id: SessionId, token_hash: Vec<u8>, now: At) -> sqlx::Result<()> {
    sqlx::query!(
        "update session set token_hash = ?, locked = 0, pin_failures = 0, seen_at = ? where id = ?",
        token_hash,
        now,
        id
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

pub async fn pin_failed(tx: &mut Tx, id: SessionId) -> sqlx::Result<()> {
    sqlx::query!("update session set pin_failures = pin_failures + 1 where id = ?", id)
        .execute(&mut **tx)
        .await?;
    Ok(())
}

pub async fn leave_flash(tx: &mut Tx, id: SessionId, line: &str) -> sqlx::Result<()> {
    sqlx::query!("update session set flash = ? where id = ?", line, id).execute(&mut **tx).await?;
    Ok(())
}

/// The line left for the next page; it is shown once.
pub async fn take_flash(db: &Db, id: SessionId) -> anyhow::Result<Option<String>> {
    let mut tx = db.write_at_the_door().await?;
    let line = sqlx::query_scalar!("select flash from session where id = ?", id).fetch_one(&mut *tx).await?;
    sqlx::query!("update session set flash = null where id = ?", id).execute(&mut *tx).await?;
    tx.commit().await?;
    Ok(line)
}
