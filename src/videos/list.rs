//! The videos of a visit, and one more.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Request, State as FromApp},
    response::{IntoResponse, Response},
};
use jiff::tz::TimeZone;

use super::{
    LARGEST, PIECE,
    receive::{self, Received},
    store::{
        self, Video,
        uploads::{self, Half},
    },
};
use crate::{
    App,
    about::{self, About, Typed},
    accounts::{Act, Can, User, act},
    attachments::{self, Kept},
    clock::Day,
    exam::stamp::{self, Opened, Stamped},
    horses::{self, Card},
    ids::VisitId,
    practice, visits,
    web::{Bound, Check, Errors, Path, Result, Shell, invalid},
};

#[derive(Template, WebTemplate)]
#[template(path = "videos/list.html")]
struct VideosPage {
    shell: Shell,
    errors: Errors,
    visit_id: VisitId,
    card: Card,
    today: Day,
    zone: TimeZone,
    videos: Vec<Video>,
    /// What this person began to send in pieces.
    halves: Vec<Half>,
    form: Typed,
}

impl VideosPage {
    async fn new(app: &App, user: &User, shell: Shell, visit_id: VisitId) -> Result<Self> {
        let db = app.db.read();
        let visit = visits::store::get(db, visit_id).await?;
        let zone = practice::store::get(db).await?.zone;
        let mut videos = store::of_horse(db, visit.horse_id).await?;
        videos.retain(|video| video.visit_id == visit_id);
        Ok(VideosPage {
            shell,
            errors: Errors::default(),
            visit_id,
            card: horses::store::card(db, visit.horse_id).await?,
            today: app.clock.now().day(&zone),
            zone,
            videos,
            halves: uploads::of_visit(db, visit_id, user.id).await?,
            form: Typed::default(),
        })
    }

    fn conditions(&self) -> Vec<(&'static str, &'static str)> {
        about::conditions()
    }

    fn sites(&self) -> Vec<String> {
        about::sites()
    }

    fn piece(&self) -> u64 {
        PIECE
    }

    fn largest(&self) -> u64 {
        LARGEST
    }
}

pub(super) async fn page(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::SeeRecord>,
    shell: Shell,
    Path(id): Path<VisitId>,
) -> Result<Response> {
    Ok(VideosPage::new(&app, &user, shell, id).await?.into_response())
}

pub(super) async fn send(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::Examine>,
    shell: Shell,
    Path(id): Path<VisitId>,
    request: Request,
) -> Result<Response> {
    visits::store::get(app.db.read(), id).await?;
    let Received { typed, stamped, video } = Received::read(&app, request).await?;
    let mut check = Check::new();
    let about = typed.check_placed(&mut check);
    let mut errors = check.errors;
    let kept = match video {
        // Nothing is kept while something else is wrong.
        Ok(video) if errors.is_empty() => {
            tokio::task::spawn_blocking(move || receive::keep(video)).await.map_err(anyhow::Error::from)?
        }
        Ok(_) => {
            errors.add("video", "Choose the video again: nothing of it was kept.");
            Err(receive::Refused::NoVideo)
        }
        Err(refused) => Err(refused),
    };
    let kept = match kept {
        Ok(kept) => kept,
        Err(refused) => {
            if errors.on("video").is_none() {
                errors.add("video", refused.to_string());
            }
            let page = VideosPage::new(&app, &user, shell, id).await?;
            return Ok(invalid(VideosPage { errors, form: typed, ..page }));
        }
    };
    let bound = Bound { route: format!("/visits/{id}/videos"), content: kept.0.name.clone() };
    match record(&app, &user, (id, &stamped, bound), &about, kept).await? {
        Recorded::Answer(response) => Ok(response),
        Recorded::Wrong(errors) => {
            let page = VideosPage::new(&app, &user, shell, id).await?;
            Ok(invalid(VideosPage { errors, form: typed, ..page }))
        }
    }
}

/// What became of a file that is safe.
pub(super) enum Recorded {
    Answer(Response),
    Wrong(Errors),
}

/// The file is safe; from here on the record speaks of it. An upload in pieces of this number is over with it.
pub(super) async fn record(
    app: &App,
    user: &User,
    (visit, stamped, bound): (VisitId, &Stamped, Bound),
    about: &About,
    (kept, kind): (Kept, &str),
) -> Result<Recorded> {
    let mut writing = match stamp::open_upload(app, user, visit, stamped, bound).await? {
        Opened::Fresh(writing) => writing,
        Opened::Repeat(response) => return Ok(Recorded::Answer(response)),
        Opened::Wrong(errors) => return Ok(Recorded::Wrong(errors)),
    };
    let now = writing.now();
    attachments::insert(writing.tx(), &kept, kind, now).await?;
    uploads::remove(writing.tx(), crate::web::number(&stamped.submission)?).await?;
    let entry = writing.entry(about.body("video", kept.name));
    let location = format!("/videos/{}", entry.id);
    Ok(Recorded::Answer(writing.keep(vec![entry], &location).await?))
}
