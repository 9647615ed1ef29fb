//! A form takes effect once. Its submission id and its effect commit together; a repeat, a double tap or a send
//! after a lost answer is led to where the first one led.

use sqlx::SqliteExecutor;

use crate::{
    App,
    clock::At,
    db::{Db, Tx},
    ids::{StaffId, SubmissionId},
};

use super::{Error, Result, see_other};

/// Either the form is new and its transaction has begun, or it was taken before.
pub enum Begun {
    Fresh(Once),
    Repeat(axum::response::Response),
}

/// What the submission id of an upload is bound to, beside the account.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Bound {
    pub route: String,
    /// A SHA-256 of what it carries, in letters.
    pub content: String,
}

/// The transaction of one form.
pub struct Once {
    pub tx: Tx,
    pub now: At,
    submission: SubmissionId,
    staff: Option<StaffId>,
    bound: Bound,
}

/// Where an earlier send led, and what its number is bound to.
struct Earlier {
    location: String,
    staff: Option<StaffId>,
    route: String,
    content: String,
}

/// Begins the transaction of the form with this submission id.
///
/// # Errors
/// A form without a readable submission id is refused: it was not made here.
pub async fn begin(app: &App, submission: &str, staff: Option<StaffId>) -> Result<Begun> {
    start(app, submission, staff, None).await
}

/// Begins the transaction of an upload. Its number is used up by success only, so a refused one can be sent again.
///
/// # Errors
/// The number was used up by another account, on another route or with another content.
pub async fn begin_upload(app: &App, submission: &str, staff: StaffId, bound: Bound) -> Result<Begun> {
    start(app, submission, Some(staff), Some(bound)).await
}

async fn start(app: &App, submission: &str, staff: Option<StaffId>, bound: Option<Bound>) -> Result<Begun> {
    let submission = number(submission)?;
    let check = |earlier: Earlier| match &bound {
        Some(bound) if !earlier.is(staff, bound) => Err(Error::OtherContent),
        _ => Ok(Begun::Repeat(see_other(&earlier.location))),
    };
    if let Some(earlier) = earlier(app.db.read(), submission).await? {
        return check(earlier);
    }
    let mut tx = app.db.write().await?;
    // Asked again under the lock: two sends of one form may have passed the first question together.
    if let Some(earlier) = earlier(&mut *tx, submission).await? {
        return check(earlier);
    }
    Ok(Begun::Fresh(Once { tx, now: app.clock.now(), submission, staff, bound: bound.unwrap_or_default() }))
}

/// The number of a form.
///
/// # Errors
/// It cannot be read: the form was not made here.
pub fn number(submission: &str) -> Result<SubmissionId> {
    submission
        .parse()
        .map_err(|_| Error::BadRequest("The form has lost its number; open the page again".into()))
}

impl Earlier {
    fn is(&self, staff: Option<StaffId>, bound: &Bound) -> bool {
        self.staff == staff && self.route == bound.route && self.content == bound.content
    }
}

async fn earlier(db: impl SqliteExecutor<'_>, submission: SubmissionId) -> sqlx::Result<Option<Earlier>> {
    sqlx::query_as!(
        Earlier,
        r#"select location, staff_id as "staff: StaffId", route, content from submission where id = ?"#,
        submission
    )
    .fetch_optional(db)
    .await
}

/// Where an earlier send of this upload led; `None` when its number is not used up.
///
/// # Errors
/// It was used up by another account, on another route or, where `content` is said, with another one.
pub async fn uploaded(
    app: &App,
    submission: SubmissionId,
    staff: StaffId,
    (route, content): (&str, Option<&str>),
) -> Result<Option<axum::response::Response>> {
    let Some(earlier) = earlier(app.db.read(), submission).await? else { return Ok(None) };
    let content = content.unwrap_or(&earlier.content).to_owned();
    if !earlier.is(Some(staff), &Bound { route: route.to_owned(), content }) {
        return Err(Error::OtherContent);
    }
    Ok(Some(see_other(&earlier.location)))
}

/// The answer to a form that was taken before, for forms whose own effect makes a second send look wrong.
pub async fn repeated(app: &App, submission: &str) -> sqlx::Result<Option<axum::response::Response>> {
    let Ok(submission) = submission.parse() else { return Ok(None) };
    Ok(seen(&app.db, submission).await?.map(|location| see_other(&location)))
}

/// Where an earlier send of this form led.
pub async fn seen(db: &Db, submission: SubmissionId) -> sqlx::Result<Option<String>> {
    sqlx::query_scalar!("select location from submission where id = ?", submission)
        .fetch_optional(db.read())
        .await
}

impl Once {
    /// Commits the effect together with the submission, and leads to `location`.
    pub async fn commit(mut self, location: &str) -> Result<axum::response::Response> {
        sqlx::query!(
            "insert into submission (id, staff_id, location, at, route, content) values (?, ?, ?, ?, ?, ?)",
            self.submission,
            self.staff,
            location,
            self.now,
            self.bound.route,
            self.bound.content
        )
        .execute(&mut *self.tx)
        .await?;
        self.tx.commit().await?;
        Ok(see_other(location))
    }
}
