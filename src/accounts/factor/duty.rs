//! An owner can do everything, so an owner's password alone is not to be enough: after signing in one is led to set up
//! a second factor, can put that off for a week, and is then held to it. An invented practice asks nobody.

use percent_encoding::{NON_ALPHANUMERIC, utf8_percent_encode};

use super::store;
use crate::{
    App,
    accounts::{Role, store::Session},
    clock::At,
    ids::StaffId,
};

const WEEK_MINUTES: i64 = 7 * 24 * 60;
/// Where it is set up.
pub(in crate::accounts) const PAGE: &str = "/me/second-factor";

/// Until when an account has to have set one up.
#[derive(Debug, Clone, Copy)]
pub struct Duty {
    pub until: At,
    /// The time is up.
    pub due: bool,
}

/// Whether an account like this has to have one.
fn is_owed(role: Role, invented: bool) -> bool {
    role == Role::Owner && !invented
}

/// What this account owes; `None` for those who are free to choose.
pub(super) async fn of(app: &App, staff: StaffId) -> sqlx::Result<Option<Duty>> {
    let db = app.db.read();
    let role = crate::accounts::store::get(db, staff).await?.role;
    if !is_owed(role, crate::practice::store::get(db).await?.invented) {
        return Ok(None);
    }
    let now = app.clock.now();
    let asked = store::asked(db, staff).await?;
    let until = asked.map_or(now.plus_minutes(WEEK_MINUTES), |asked| asked.until);
    Ok(Some(Duty { until, due: until <= now }))
}

/// Whether a session opens nothing but the page where its second factor is set up.
pub(in crate::accounts) fn is_due(session: &Session, now: At) -> bool {
    let up = session.factor_until.is_some_and(|until| until <= now);
    up && session.second_since.is_none() && is_owed(session.role, false)
}

/// Where somebody without a second factor goes on to after signing in: an owner by way of the page that asks for one.
pub(in crate::accounts) async fn where_to(app: &App, staff: StaffId, next: &str) -> anyhow::Result<String> {
    if of(app, staff).await?.is_none() {
        return Ok(next.to_owned());
    }
    let now = app.clock.now();
    if let Some(asked) = store::asked(app.db.read(), staff).await? {
        if asked.put_off && asked.until > now {
            return Ok(next.to_owned());
        }
    } else {
        let mut tx = app.db.write_at_the_door().await?;
        store::ask(&mut tx, staff, now, now.plus_minutes(WEEK_MINUTES)).await?;
        tx.commit().await?;
    }
    if next == "/" {
        return Ok(PAGE.to_owned());
    }
    Ok(format!("{PAGE}?next={}", utf8_percent_encode(next, NON_ALPHANUMERIC)))
}
