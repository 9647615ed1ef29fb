//! The sections of the exam that are not places under the hands: vital signs, how it stands, how it moves,
//! flexion, nerves, and the cautions over all of them.
//!
//! [`Scene`] is what they are drawn from, [`Sections`] what the page of the exam shows. Each section has its own
//! form and address, `/visits/{id}/exam/gait` and so on; what was typed wrongly is answered there, with everything
//! kept.

pub mod cautions;
mod flexion;
mod gait;
mod grades;
mod neuro;
mod scene;
mod standing;
mod store;
mod typed;
mod vitals;

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    Router,
    extract::State,
    response::{IntoResponse, Response},
    routing::get,
};

pub use cautions::{Passed, Raised};
pub use scene::{Asked, Scene};
pub use typed::Typed;

use super::stamp::{self, Opened, Writing};
use crate::{
    App,
    accounts::{Can, User, act},
    catalogue::Where,
    horses,
    ids::VisitId,
    practice,
    record::{Kind, NewEntry},
    visits,
    web::{self, Errors, Path, Query, Result, Shell},
};

pub(super) fn router() -> Router<App> {
    Router::new()
        .route("/visits/{id}/exam/vitals", get(page).post(vitals::record))
        .route("/visits/{id}/exam/standing", get(page).post(standing::record))
        .route("/visits/{id}/exam/gait", get(page).post(gait::record))
        .route("/visits/{id}/exam/flexion", get(page).post(flexion::record))
        .route("/visits/{id}/exam/neuro", get(page).post(neuro::record))
        .route("/visits/{id}/exam/caution", get(page).post(cautions::go_on))
}

/// The sections, each a piece of the page: `{{ sections.gait|safe }}`.
pub struct Sections {
    pub strip: Strip,
    pub vitals: vitals::View,
    pub standing: standing::View,
    pub gait: gait::View,
    pub flexion: flexion::View,
    pub neuro: neuro::View,
}

impl Sections {
    /// The sections of a visit as they stand.
    pub fn of(scene: &Scene) -> Self {
        Self::with(scene, "", &Typed::default(), &Errors::default())
    }

    /// The same with what was typed into one of them, and what is wrong with it.
    fn with(scene: &Scene, section: &str, typed: &Typed, errors: &Errors) -> Self {
        let given = |name: &str| {
            if name == section { (typed.clone(), errors.clone()) } else { Default::default() }
        };
        let flexion = if section == "caution" { given("caution") } else { given("flexion") };
        Sections {
            strip: Strip { raised: scene.raised.clone() },
            vitals: vitals::View::new(scene, given("vitals")),
            standing: standing::View::new(scene, given("standing")),
            gait: gait::View::new(scene, given("gait")),
            flexion: flexion::View::new(scene, flexion),
            neuro: neuro::View::new(scene, given("neuro")),
        }
    }
}

/// The cautions of the visit, on top of the page.
#[derive(Template)]
#[template(path = "exam/movement/_strip.html")]
pub struct Strip {
    pub raised: Vec<Raised>,
}

/// These sections by themselves: where a form with something wrong in it is answered.
#[derive(Template, WebTemplate)]
#[template(path = "exam/movement/page.html")]
struct MovementPage {
    shell: Shell,
    scene: Scene,
    errors: Errors,
    sections: Sections,
}

async fn page(
    State(app): State<App>,
    shell: Shell,
    can: Can<act::SeeRecord>,
    Path(id): Path<VisitId>,
    Query(asked): Query<Asked>,
) -> Result<Response> {
    let scene = Scene::load(&app, &can.user, id, asked).await?;
    let sections = Sections::of(&scene);
    Ok(MovementPage { shell, scene, errors: Errors::default(), sections }.into_response())
}

/// The sections again, as they were typed, with what is wrong in one of them.
async fn invalid(
    app: &App,
    user: &User,
    id: VisitId,
    section: &str,
    typed: Typed,
    errors: Errors,
) -> Result<Response> {
    let asked = Asked {
        gait: typed.get("condition").to_owned(),
        flexion: typed.get("test").to_owned(),
        flexion_scale: typed.get("scale").to_owned(),
    };
    let scene = Scene::load(app, user, id, asked).await?;
    let shell = Shell::new(&scene.practice, user, None, &format!("/visits/{id}/exam"));
    let sections = Sections::with(&scene, section, &typed, &errors);
    Ok(web::invalid(MovementPage { shell, scene, errors, sections }))
}

/// A form of these sections that may write, or what it is answered with instead.
enum Begun {
    Writing(Box<Writing>),
    Answer(Response),
}

async fn begin(app: &App, user: &User, id: VisitId, section: &str, typed: &Typed) -> Result<Begun> {
    Ok(match stamp::open(app, user, id, &typed.stamped()).await? {
        Opened::Fresh(writing) => Begun::Writing(writing),
        Opened::Repeat(response) => Begun::Answer(response),
        Opened::Wrong(errors) => Begun::Answer(invalid(app, user, id, section, typed.clone(), errors).await?),
    })
}

/// The cautions as they hold inside this transaction.
async fn raised_under(writing: &mut Writing) -> Result<Vec<Raised>> {
    let (id, horse, now) = (writing.visit.id, writing.visit.horse_id, writing.now());
    let complaints = visits::store::complaints(&mut **writing.tx(), id).await?;
    let card = horses::store::card(&mut **writing.tx(), horse).await?;
    let practice = practice::store::get(&mut **writing.tx()).await?;
    let today = now.day(&practice.zone);
    Ok(cautions::for_visit(&writing.current, &complaints, &card, today, |_| String::new()))
}

/// Takes back a standing entry of one of these kinds: the button beside it names it.
fn taken_back(writing: &mut Writing, entry: &str, kinds: &[Kind]) -> Option<NewEntry> {
    let id = entry.parse().ok()?;
    let standing = writing.current.iter().find(|e| e.id == id)?;
    let ours = standing.body.as_ref().is_some_and(|body| kinds.contains(&body.kind));
    let body = crate::record::Body::new(Kind::Withdrawal);
    ours.then(|| writing.entry(body).superseding(id))
}

/// The catalogue's words at the beginning of a line.
fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// Whether flexion waits for a reason, and which cautions say so.
fn stops(raised: &[Raised]) -> Vec<Raised> {
    raised.iter().filter(|raised| raised.stops(Where::Flexion)).cloned().collect()
}
