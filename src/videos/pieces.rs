//! A video in pieces: begun or found again, each piece as often as it comes and in any order, and kept when all are
//! here. Until then nothing of it is in the record, and its number is not used up.

use axum::{
    extract::{Request, State as FromApp},
    http::StatusCode,
    response::Response,
};
use serde::Deserialize;
use sha2::{Digest, Sha256};

use super::{
    PIECE,
    list::{self, Recorded},
    receive::{self, Refused},
    store::uploads::{self, Upload},
    upload::{Progress, UploadForm, is_digest, wrong},
};
use crate::{
    App,
    accounts::{Can, User, act},
    attachments::{Kept, Pieces},
    clock::At,
    db::Db,
    exam::stamp::Stamped,
    ids::{StaffId, SubmissionId},
    record::hex,
    visits,
    web::{Bound, Check, Error, Errors, Form, Path, Query, Result, uploaded},
};

/// Where uploads begin: what their numbers are bound to.
const ROUTE: &str = "/videos/uploads";
/// Minutes after which what nobody finished is cleared.
const KEPT_FOR: i64 = 7 * 24 * 60;

/// Begins an upload, or finds it by its number.
pub(super) async fn begin(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::Examine>,
    Form(form): Form<UploadForm>,
) -> Result<Response> {
    let upload = match form.check(user.id)? {
        Ok(upload) => upload,
        Err(errors) => return Ok(wrong(&errors)),
    };
    if let Some(response) = uploaded(&app, upload.id, user.id, (ROUTE, Some(&upload.digest))).await? {
        return Ok(response);
    }
    let mut tx = app.db.write().await?;
    visits::store::get(&mut *tx, upload.visit_id).await?;
    if uploads::get(&mut *tx, upload.id).await?.is_some_and(|known| !known.is_same_file(&upload)) {
        return Err(Error::OtherContent);
    }
    uploads::put(&mut tx, &upload, app.clock.now()).await?;
    tx.commit().await?;
    Ok(Progress::answer(upload.missing(&app).await?, StatusCode::OK))
}

/// An upload of this person; or the answer to one that was kept before.
async fn found(app: &App, id: SubmissionId, user: StaffId) -> Result<std::result::Result<Upload, Response>> {
    if let Some(upload) = uploads::get(app.db.read(), id).await?.filter(|upload| upload.staff_id == user) {
        return Ok(Ok(upload));
    }
    let before = uploaded(app, id, user, (ROUTE, None)).await?;
    before.map(Err).ok_or(Error::NotFound)
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct PieceQuery {
    /// The SHA-256 of the piece.
    digest: String,
}

/// Takes a piece; one that is here already is taken again.
pub(super) async fn take(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::Examine>,
    Path((id, number)): Path<(SubmissionId, i64)>,
    Query(query): Query<PieceQuery>,
    request: Request,
) -> Result<Response> {
    let upload = match found(&app, id, user.id).await? {
        Ok(upload) => upload,
        Err(response) => return Ok(response),
    };
    let length = upload.length(number).ok_or(Error::NotFound)?;
    let most = usize::try_from(PIECE).map_err(anyhow::Error::from)?;
    let bytes = axum::body::to_bytes(request.into_body(), most).await.map_err(|_| {
        Error::BadRequest("The piece did not arrive whole, or it is larger than a piece may be".into())
    })?;
    if bytes.len() as u64 != length || !is_digest(&query.digest) {
        return Ok(wrong(&Errors::one("piece", format!("Piece {number} has {length} bytes and a digest."))));
    }
    let pieces = Pieces::of(app.db.folder(), id);
    let safe = tokio::task::spawn_blocking(move || {
        let same = hex(&Sha256::digest(&bytes)) == query.digest;
        if same { pieces.keep(number, &bytes).map(|()| true) } else { Ok(false) }
    });
    if !safe.await.map_err(anyhow::Error::from)?? {
        return Ok(wrong(&Errors::one("piece", "The piece changed on its way. Send it again.")));
    }
    let mut tx = app.db.write().await?;
    uploads::note(&mut tx, id, number).await?;
    tx.commit().await?;
    Ok(Progress::answer(upload.missing(&app).await?, StatusCode::OK))
}

/// By the tablet's clock, in milliseconds: when the video was chosen, and when this was sent; empty means now.
#[derive(Debug, Deserialize, Default)]
#[serde(default)]
pub(super) struct Finish {
    seen_at: String,
    sent_at: String,
}

/// Puts the pieces together, looks into the whole, and lets the record speak of it.
pub(super) async fn finish(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::Examine>,
    Path(id): Path<SubmissionId>,
    Form(clock): Form<Finish>,
) -> Result<Response> {
    let upload = match found(&app, id, user.id).await? {
        Ok(upload) => upload,
        Err(response) => return Ok(response),
    };
    let missing = upload.missing(&app).await?;
    if !missing.is_empty() {
        return Ok(Progress::answer(missing, StatusCode::UNPROCESSABLE_ENTITY));
    }
    let (pieces, whole) = (Pieces::of(app.db.folder(), id), upload.clone());
    let kept = tokio::task::spawn_blocking(move || put_together(&pieces, &whole));
    match kept.await.map_err(anyhow::Error::from)? {
        Ok(kept) => record(&app, &user, (&upload, clock), kept).await,
        Err(Refused::NoRoom(error)) => Err(error.into()),
        Err(refused) => {
            give_up(&app.db, id).await?;
            Ok(wrong(&Errors::one("video", refused.to_string())))
        }
    }
}

fn put_together(pieces: &Pieces, upload: &Upload) -> std::result::Result<(Kept, &'static str), Refused> {
    let (whole, digest) = pieces.whole(upload.count()).map_err(Refused::NoRoom)?;
    if digest != upload.digest || whole.bytes() != upload.bytes.unsigned_abs() {
        return Err(Refused::OtherFile);
    }
    receive::keep(whole)
}

async fn record(
    app: &App,
    user: &User,
    (upload, Finish { seen_at, sent_at }): (&Upload, Finish),
    kept: (Kept, &'static str),
) -> Result<Response> {
    let mut check = Check::new();
    let about = upload.typed().check_placed(&mut check);
    if !check.errors.is_empty() {
        return Ok(wrong(&check.errors));
    }
    let stamped = Stamped { submission: upload.id.to_string(), seen_at, sent_at, ..Stamped::default() };
    let bound = Bound { route: ROUTE.into(), content: upload.digest.clone() };
    match list::record(app, user, (upload.visit_id, &stamped, bound), &about, kept).await? {
        Recorded::Wrong(errors) => Ok(wrong(&errors)),
        Recorded::Answer(response) => {
            if let Err(error) = Pieces::of(app.db.folder(), upload.id).clear() {
                // The video is kept; the next start clears them.
                tracing::warn!("pieces are left: {error:#}");
            }
            Ok(response)
        }
    }
}

/// Nothing of it is kept, and its number can be used again.
async fn give_up(db: &Db, id: SubmissionId) -> Result<()> {
    let mut tx = db.write().await?;
    uploads::remove(&mut tx, id).await?;
    tx.commit().await?;
    Ok(Pieces::of(db.folder(), id).clear().map_err(anyhow::Error::from)?)
}

/// Takes away what was begun more than a week ago and never finished, and pieces that no upload waits for.
///
/// # Errors
/// The store or the folder of the pieces cannot be read or emptied.
pub async fn clear_half(db: &Db, now: At) -> anyhow::Result<()> {
    for id in uploads::old(db.read(), now.plus_minutes(-KEPT_FOR)).await? {
        let mut tx = db.write().await?;
        uploads::remove(&mut tx, id).await?;
        tx.commit().await?;
    }
    for id in Pieces::all(db.folder())? {
        if uploads::get(db.read(), id).await?.is_none() {
            Pieces::of(db.folder(), id).clear()?;
        }
    }
    Ok(())
}
