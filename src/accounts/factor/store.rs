//! The SQL of second factors, recovery codes, half-made sign-ins and what owners were asked.

use sqlx::SqliteExecutor;

use crate::{clock::At, db::Tx, ids::StaffId};

/// The row of an account.
pub struct Kept {
    /// Sealed, of the device that counts.
    pub secret: Option<Vec<u8>>,
    pub confirmed_at: Option<At>,
    pub last_step: i64,
    /// Sealed, of a device that has not shown a code yet.
    pub proposed: Option<Vec<u8>>,
    pub proposed_at: Option<At>,
    /// Sealed, recovery codes that were not shown yet.
    pub unseen: Option<Vec<u8>>,
}

pub async fn of(db: impl SqliteExecutor<'_>, staff: StaffId) -> sqlx::Result<Option<Kept>> {
    sqlx::query_as!(
        Kept,
        r#"select secret, confirmed_at as "confirmed_at: At", last_step, proposed, proposed_at as "proposed_at: At", unseen
           from second_factor where staff_id = ?"#,
        staff
    )
    .fetch_optional(db)
    .await
}

/// Since when an account has a second factor that counts.
pub async fn since(db: impl SqliteExecutor<'_>, staff: StaffId) -> sqlx::Result<Option<At>> {
    Ok(of(db, staff).await?.and_then(|kept| kept.confirmed_at))
}

/// A device that is to count once it has shown a code.
pub async fn propose(tx: &mut Tx, staff: StaffId, sealed: &[u8], now: At) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into second_factor (staff_id, proposed, proposed_at) values (?, ?, ?)
         on conflict (staff_id) do update set proposed = excluded.proposed, proposed_at = excluded.proposed_at",
        staff,
        sealed,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// The proposed device counts from here on, in the place of one that did before.
pub async fn confirm(tx: &mut Tx, staff: StaffId, step: i64, now: At) -> sqlx::Result<()> {
    sqlx::query!(
        "update second_factor set secret = proposed, confirmed_at = ?, last_step = ?, proposed = null, proposed_at = null
         where staff_id = ? and proposed is not null",
        now,
        step,
        staff
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// Uses up every code of this step and of those before it; `false` when somebody was there first.
pub async fn use_step(tx: &mut Tx, staff: StaffId, step: i64) -> sqlx::Result<bool> {
    let done = sqlx::query!(
        "update second_factor set last_step = ? where staff_id = ? and last_step < ?",
        step,
        staff,
        step
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// New recovery codes in the place of all before, by their digests; `unseen` is all of them, sealed, to be shown once.
pub async fn set_recovery(
    tx: &mut Tx,
    staff: StaffId,
    digests: &[Vec<u8>],
    unseen: &[u8],
) -> sqlx::Result<()> {
    sqlx::query!("delete from recovery_code where staff_id = ?", staff).execute(&mut **tx).await?;
    for digest in digests {
        sqlx::query!("insert into recovery_code (staff_id, hash) values (?, ?)", staff, digest)
            .execute(&mut **tx)
            .await?;
    }
    sqlx::query!("update second_factor set unseen = ? where staff_id = ?", unseen, staff)
        .execute(&mut **tx)
        .await?;
    Ok(())
}

/// The recovery codes that were not shown yet, sealed; they are given once.
pub async fn take_unseen(tx: &mut Tx, staff: StaffId) -> sqlx::Result<Option<Vec<u8>>> {
    let unseen = of(&mut **tx, staff).await?.and_then(|kept| kept.unseen);
    sqlx::query!("update second_factor set unseen = null where staff_id = ?", staff)
        .execute(&mut **tx)
        .await?;
    Ok(unseen)
}

/// Uses up a recovery code; `false` when it is none, or was used.
pub async fn use_recovery(tx: &mut Tx, staff: StaffId, digest: &[u8], now: At) -> sqlx::Result<bool> {
    let done = sqlx::query!(
        "update recovery_code set used_at = ? where staff_id = ? and hash = ? and used_at is null",
        now,
        staff,
        digest
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// Recovery codes that are still good.
pub async fn recovery_left(db: impl SqliteExecutor<'_>, staff: StaffId) -> sqlx::Result<i64> {
    sqlx::query_scalar!("select count(*) from recovery_code where staff_id = ? and used_at is null", staff)
        .fetch_one(db)
        .await
}

/// As if there had never been a second factor; an owner is asked anew.
pub async fn remove(tx: &mut Tx, staff: StaffId) -> sqlx::Result<()> {
    sqlx::query!("delete from second_factor where staff_id = ?", staff).execute(&mut **tx).await?;
    sqlx::query!("delete from recovery_code where staff_id = ?", staff).execute(&mut **tx).await?;
    sqlx::query!("delete from half_sign_in where staff_id = ?", staff).execute(&mut **tx).await?;
    sqlx::query!("delete from second_factor_asked where staff_id = ?", staff).execute(&mut **tx).await?;
    Ok(())
}

/// A right password that waits for its code.
pub struct Half {
    pub staff: StaffId,
    pub name: String,
    pub shared: bool,
    pub next: String,
}

pub async fn half(db: impl SqliteExecutor<'_>, token: &[u8], now: At) -> sqlx::Result<Option<Half>> {
    sqlx::query_as!(
        Half,
        r#"select h.staff_id as "staff: StaffId", p.name, h.shared as "shared: bool", h.next
           from half_sign_in h join staff p on p.id = h.staff_id
           where h.token_hash = ? and h.expires_at > ? and p.active = 1"#,
        token,
        now
    )
    .fetch_optional(db)
    .await
}

/// Keeps it until `expires`; those that have expired go.
pub async fn begin_half(
    tx: &mut Tx,
    token: &[u8],
    (staff, shared, next): (StaffId, bool, &str),
    (now, expires): (At, At),
) -> sqlx::Result<()> {
    sqlx::query!("delete from half_sign_in where expires_at <= ?", now).execute(&mut **tx).await?;
    sqlx::query!(
        "insert into half_sign_in (token_hash, staff_id, expires_at, shared, next) values (?, ?, ?, ?, ?)",
        token,
        staff,
        expires,
        shared,
        next
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// Ends it; `false` when somebody was there first.
pub async fn end_half(tx: &mut Tx, token: &[u8]) -> sqlx::Result<bool> {
    let done =
        sqlx::query!("delete from half_sign_in where token_hash = ?", token).execute(&mut **tx).await?;
    Ok(done.rows_affected() == 1)
}

/// What an owner was asked: until when it can be put off, and whether it was.
pub struct Asked {
    pub until: At,
    pub put_off: bool,
}

pub async fn asked(db: impl SqliteExecutor<'_>, staff: StaffId) -> sqlx::Result<Option<Asked>> {
    sqlx::query_as!(
        Asked,
        r#"select until_at as "until: At", put_off as "put_off: bool" from second_factor_asked where staff_id = ?"#,
        staff
    )
    .fetch_optional(db)
    .await
}

/// Asks for the first time; a second one changes nothing.
pub async fn ask(tx: &mut Tx, staff: StaffId, now: At, until: At) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into second_factor_asked (staff_id, asked_at, until_at) values (?, ?, ?) on conflict do nothing",
        staff,
        now,
        until
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

pub async fn put_off(tx: &mut Tx, staff: StaffId) -> sqlx::Result<()> {
    sqlx::query!("update second_factor_asked set put_off = 1 where staff_id = ?", staff)
        .execute(&mut **tx)
        .await?;
    Ok(())
}
