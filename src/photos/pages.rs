//! The photos of a visit: one more, and all of them.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State as FromApp,
    http::header,
    response::{IntoResponse, Response},
};
use jiff::tz::TimeZone;
use serde::Deserialize;

use super::{
    picture,
    store::{self, Photo},
    upload::Upload,
};
use crate::{
    App, about,
    accounts::{Act, Can, act},
    attachments,
    clock::Day,
    exam::stamp::{self, Opened},
    horses::{self, Card},
    ids::{EntryId, VisitId},
    plan::Site,
    practice, visits,
    web::{Bound, Check, Errors, Path, Query, Result, Shell, invalid},
};

#[derive(Template, WebTemplate)]
#[template(path = "photos/page.html")]
struct PhotosPage {
    shell: Shell,
    errors: Errors,
    visit_id: VisitId,
    card: Card,
    today: Day,
    zone: TimeZone,
    photos: Vec<Photo>,
    form: about::Typed,
    /// The visit is not signed: what is said of a photo may be said otherwise.
    open: bool,
}

impl PhotosPage {
    async fn new(app: &App, shell: Shell, visit_id: VisitId) -> Result<Self> {
        let db = app.db.read();
        let visit = visits::store::get(db, visit_id).await?;
        let zone = practice::store::get(db).await?.zone;
        Ok(PhotosPage {
            shell,
            errors: Errors::default(),
            visit_id,
            card: horses::store::card(db, visit.horse_id).await?,
            today: app.clock.now().day(&zone),
            zone,
            photos: store::of_visit(db, visit_id).await?,
            form: about::Typed::default(),
            open: visit.state.is_open(),
        })
    }

    fn conditions(&self) -> Vec<(&'static str, &'static str)> {
        about::conditions()
    }

    fn sites(&self) -> Vec<String> {
        about::sites()
    }
}

/// A place of the horse that a photo is wanted of, by its key.
#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct Asked {
    site: String,
}

pub(super) async fn page(
    FromApp(app): FromApp<App>,
    _: Can<act::SeeRecord>,
    shell: Shell,
    Path(id): Path<VisitId>,
    Query(asked): Query<Asked>,
) -> Result<Response> {
    let site = Site::read(&asked.site).map(|site| site.to_string()).unwrap_or_default();
    let form = about::Typed { site, ..about::Typed::default() };
    Ok(PhotosPage { form, ..PhotosPage::new(&app, shell, id).await? }.into_response())
}

/// The file is safe before the record speaks of it.
pub(super) async fn send(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::Examine>,
    shell: Shell,
    Path(id): Path<VisitId>,
    upload: Upload,
) -> Result<Response> {
    let mut check = Check::new();
    let about = upload.about.check(&mut check);
    let kind = picture::kind(&upload.bytes);
    if kind.is_none() {
        check.errors.add("photo", "Choose a photo: a JPEG, PNG, WebP or HEIC picture.");
    }
    let (Some(kind), true) = (kind, check.errors.is_empty()) else {
        let page = PhotosPage::new(&app, shell, id).await?;
        return Ok(invalid(PhotosPage { errors: check.errors, form: upload.about, ..page }));
    };
    let kept = attachments::keep(app.db.folder(), upload.bytes).await?;
    let bound = Bound { route: format!("/visits/{id}/photos"), content: kept.name.clone() };
    let mut writing = match stamp::open_upload(&app, &user, id, &upload.stamped, bound).await? {
        Opened::Fresh(writing) => writing,
        Opened::Repeat(response) => return Ok(response),
        Opened::Wrong(errors) => {
            let page = PhotosPage::new(&app, shell, id).await?;
            return Ok(invalid(PhotosPage { errors, form: upload.about, ..page }));
        }
    };
    let now = writing.now();
    attachments::insert(writing.tx(), &kept, kind, now).await?;
    let entry = writing.entry(about.body("photo", kept.name));
    writing.keep(vec![entry], &format!("/visits/{id}/photos")).await
}

/// The picture itself. It runs nothing, whatever is in it.
pub(super) async fn image(
    FromApp(app): FromApp<App>,
    _: Can<act::SeeRecord>,
    Path((visit, entry)): Path<(VisitId, EntryId)>,
) -> Result<Response> {
    let (name, kind) = store::file(app.db.read(), visit, entry).await?;
    let bytes = attachments::read(app.db.folder(), &name).await?;
    let headers = [
        (header::CONTENT_TYPE, kind.as_str()),
        (header::CONTENT_SECURITY_POLICY, "default-src 'none'; sandbox"),
    ];
    Ok((headers, bytes).into_response())
}
