//! A video, another one of the same horse beside it, and the file.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    body::Body,
    extract::{Request, State as FromApp},
    http::{HeaderValue, header},
    response::Response,
};
use jiff::tz::TimeZone;
use serde::Deserialize;
use tower_http::services::ServeFile;

use super::store::{self, Video};
use crate::{
    App,
    accounts::{Can, act},
    attachments,
    clock::Day,
    horses::{self, Card},
    ids::{EntryId, VisitId},
    practice,
    web::{Error, Path, Query, Result, Shell},
};

/// It runs nothing, whatever is in it; opened by itself, a browser plays it.
const POLICY: &str = "default-src 'none'; media-src 'self'; sandbox";

#[derive(Template, WebTemplate)]
#[template(path = "videos/page.html")]
pub(super) struct VideoPage {
    shell: Shell,
    card: Card,
    today: Day,
    zone: TimeZone,
    visit_id: VisitId,
    video: Video,
    beside: Option<Video>,
    /// Those that show the same at other visits, the newest first.
    others: Vec<Video>,
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct PlayQuery {
    beside: String,
}

pub(super) async fn page(
    FromApp(app): FromApp<App>,
    _: Can<act::SeeRecord>,
    shell: Shell,
    Path(id): Path<EntryId>,
    Query(query): Query<PlayQuery>,
) -> Result<VideoPage> {
    let db = app.db.read();
    let horse = store::horse(db, id).await?;
    let mut others = store::of_horse(db, horse).await?;
    let at = others.iter().position(|video| video.entry == id).ok_or(Error::NotFound)?;
    let video = others.remove(at);
    others.retain(|other| other.visit_id != video.visit_id && other.shows_the_same(&video));
    let beside = others.iter().find(|other| other.entry.to_string() == query.beside).cloned();
    let zone = practice::store::get(db).await?.zone;
    Ok(VideoPage {
        shell,
        card: horses::store::card(db, horse).await?,
        today: app.clock.now().day(&zone),
        zone,
        visit_id: video.visit_id,
        video,
        beside,
        others,
    })
}

/// The file as it was sent, whole or a range of it (RFC 9110, 14).
pub(super) async fn file(
    FromApp(app): FromApp<App>,
    _: Can<act::SeeRecord>,
    Path(id): Path<EntryId>,
    request: Request,
) -> Result<Response> {
    let (name, kind) = store::file(app.db.read(), id).await?;
    let path = attachments::path(app.db.folder(), &name);
    let served = ServeFile::new(path).try_call(request).await.map_err(anyhow::Error::from)?;
    let mut response = served.map(Body::new);
    let kind = HeaderValue::from_str(&kind).map_err(anyhow::Error::from)?;
    response.headers_mut().insert(header::CONTENT_TYPE, kind);
    response.headers_mut().insert(header::CONTENT_SECURITY_POLICY, HeaderValue::from_static(POLICY));
    Ok(response)
}
