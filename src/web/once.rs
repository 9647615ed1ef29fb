//! A form takes effect once. Its submission id and its effect commit together; a repeat, a double tap or a send
//! after a lost answer is led to where the first one led.

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

/// The transaction of one form.
pub struct Once {
    pub tx: Tx,
    pub now: At,
    submission: SubmissionId,
    staff: Option<StaffId>,
}

/// Begins the transaction of the form with this submission id.
///
/// # Errors
/// A form without a readable submission id is refused: it was not made here.
pub async fn begin(app: &App, submission: &str, staff: Option<StaffId>) -> Result<Begun> {
    let submission: SubmissionId = submission
        .parse()
        .map_err(|_| Error::BadRequest("The form has lost its number; open the page again".into()))?;
    if let Some(location) = seen(&app.db, submission).await? {
        return Ok(Begun::Repeat(see_other(&location)));
    }
    let mut tx = app.db.write().await?;
    // Asked again under the lock: two sends of one form may have passed the first question together.
    let location = sqlx::query_scalar!("select location from submission where id = ?", submission)
        .fetch_optional(&mut *tx)
        .await?;
    if let Some(location) = location {
        return Ok(Begun::Repeat(see_other(&location)));
    }
    Ok(Begun::Fresh(Once { tx, now: app.clock.now(), submission, staff }))
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
            "insert into submission (id, staff_id, location, at) values (?, ?, ?, ?)",
            self.submission,
            self.staff,
            location,
            self.now
        )
        .execute(&mut *self.tx)
        .await?;
        self.tx.commit().await?;
        Ok(see_other(location))
    }
}
