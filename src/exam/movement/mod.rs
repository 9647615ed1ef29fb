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
use axum::{Router, extract::State, response::Response, routing::get};

pub use cautions::{Passed, Raised};
pub(super) use flexion::SCALES as FLEXION_SCALES;
pub(super) use gait::SCALES as GAIT_SCALES;
pub use scene::{Asked, Scene};
pub use typed::Typed;
pub(super) use vitals::METHODS;

use super::{
    pages::{self, Wrong},
    sections::{Progress, Stage},
    stamp::{self, Opened, Writing},
    way::Way,
};
use crate::{
    App,
    accounts::{Can, User, act},
    catalogue::Where,
    horses,
    ids::{EntryId, VisitId},
    papers::words::capital,
    practice,
    record::{Body, Kind, NewEntry},
    visits,
    web::{self, Errors, Path, Result, Shell},
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
    /// The sections of a visit as they stand, with what was typed into one of them and what is wrong with it.
    pub(super) fn of(scene: &Scene, wrong: &Wrong) -> Self {
        let given = |name: &str| match wrong {
            Wrong::Moving(section, typed, errors) if *section == name => (typed.clone(), errors.clone()),
            _ => Default::default(),
        };
        let stopped = matches!(wrong, Wrong::Moving("caution", ..));
        Sections {
            strip: Strip::new(scene),
            vitals: vitals::View::new(scene, given("vitals")),
            standing: standing::View::new(scene, given("standing")),
            gait: gait::View::new(scene, given("gait")),
            flexion: flexion::View::new(scene, given(if stopped { "caution" } else { "flexion" })),
            neuro: neuro::View::new(scene, given("neuro")),
        }
    }
}

impl Sections {
    /// Before the hands: id, word in the bar, how far it has come.
    pub(super) fn before(&self) -> [(&'static str, &'static str, Progress); 2] {
        [("vitals", "Vitals", self.vitals.progress()), ("standing", "Stands", self.standing.progress())]
    }

    /// After the hands.
    pub(super) fn after(&self) -> [(&'static str, &'static str, Progress); 3] {
        [
            ("gait", "Moving", self.gait.progress()),
            ("flexion", "Flexion", self.flexion.progress()),
            ("neuro", "Nerves", self.neuro.progress()),
        ]
    }

    pub(super) fn unfold(&mut self, section: &str) {
        match section {
            "vitals" => self.vitals.open = true,
            "standing" => self.standing.open = true,
            "gait" => self.gait.open = true,
            "flexion" => self.flexion.open = true,
            "neuro" => self.neuro.open = true,
            _ => {}
        }
    }
}

/// The cautions of the visit, on top of the page.
#[derive(Template)]
#[template(path = "exam/movement/_strip.html")]
pub struct Strip {
    pub raised: Vec<Raised>,
}

impl Strip {
    /// The horse's own warnings stand on its card, right above.
    fn new(scene: &Scene) -> Self {
        let of_the_visit = |raised: &&Raised| !raised.by_card;
        Strip { raised: scene.raised.iter().filter(of_the_visit).cloned().collect() }
    }
}

/// Where somebody comes back to after a form that was not taken: the section of the exam.
async fn page(
    State(app): State<App>,
    _: Can<act::SeeRecord>,
    Path(id): Path<VisitId>,
    uri: axum::http::Uri,
) -> Result<Response> {
    let visit = visits::store::get(app.db.read(), id).await?;
    let section = uri.path().rsplit('/').next().filter(|name| *name != "caution").unwrap_or("flexion");
    Ok(web::see_other(&Way::new(visit.id, "", "").to(section)))
}

/// The exam again, with what was typed into one of these sections and what is wrong there.
async fn invalid(
    app: &App,
    user: &User,
    id: VisitId,
    section: &'static str,
    (typed, errors): (Typed, Errors),
) -> Result<Response> {
    let shell =
        Shell::new(&practice::store::get(app.db.read()).await?, user, None, &format!("/visits/{id}/exam"));
    let asked = pages::Asked::of_section(&typed);
    let page = pages::build(app, shell, user, id, (asked, Wrong::Moving(section, typed, errors))).await?;
    Ok(web::invalid(page))
}

/// One form of these sections on its way into the record.
struct Sent<'a> {
    app: &'a App,
    user: &'a User,
    visit: VisitId,
    section: &'static str,
    typed: Typed,
}

impl Sent<'_> {
    /// The page again, with what is wrong.
    async fn again(self, errors: Errors) -> Result<Response> {
        invalid(self.app, self.user, self.visit, self.section, (self.typed, errors)).await
    }

    /// Begins to write; or the answer, when there is nothing to write any more.
    async fn open(&self) -> Result<std::result::Result<Box<Writing>, Response>> {
        match stamp::open(self.app, self.user, self.visit, &self.typed.stamped()).await? {
            Opened::Fresh(writing) => Ok(Ok(writing)),
            Opened::Repeat(response) => Ok(Err(response)),
            Opened::Wrong(errors) => {
                let wrong = (self.typed.clone(), errors);
                invalid(self.app, self.user, self.visit, self.section, wrong).await.map(Err)
            }
        }
    }

    /// Read, begin, say, keep: what is wrong at any step is shown where it was typed.
    async fn take<T>(
        self,
        read: impl FnOnce(&Typed) -> std::result::Result<T, Errors>,
        say: impl FnOnce(&mut Writing, &T, &Typed) -> std::result::Result<Vec<NewEntry>, Errors>,
        anchor: impl FnOnce(&T) -> String,
    ) -> Result<Response> {
        let read = match read(&self.typed) {
            Ok(read) => read,
            Err(errors) => return self.again(errors).await,
        };
        let mut writing = match self.open().await? {
            Ok(writing) => writing,
            Err(answer) => return Ok(answer),
        };
        match say(&mut writing, &read, &self.typed) {
            Ok(entries) => writing.keep(entries, &self.way().at(self.section, &anchor(&read))).await,
            Err(errors) => {
                drop(writing);
                self.again(errors).await
            }
        }
    }

    fn way(&self) -> Way {
        Way::new(self.visit, self.typed.get("order"), self.typed.get("seen_by"))
    }
}

/// The cautions as they hold inside this transaction, with what is about to be recorded in it.
async fn raised_under(writing: &mut Writing, coming: &[Body]) -> Result<Vec<Raised>> {
    let (id, horse, now) = (writing.visit.id, writing.visit.horse_id, writing.now());
    let complaints = visits::store::complaints(&mut **writing.tx(), id).await?;
    let card = horses::store::card(&mut **writing.tx(), horse).await?;
    let practice = practice::store::get(&mut **writing.tx()).await?;
    let today = now.day(&practice.zone);
    Ok(cautions::for_visit(&writing.current, coming, &complaints, &card, today, |_| String::new()))
}

/// Takes back standing entries of these kinds: the button beside them names them, one or several.
fn taken_back(writing: &mut Writing, named: &str, kinds: &[Kind]) -> Vec<NewEntry> {
    let standing = |id: &EntryId| {
        let mut ours =
            writing.current.iter().filter(|e| e.body.as_ref().is_some_and(|b| kinds.contains(&b.kind)));
        ours.any(|entry| entry.id == *id)
    };
    let ids: Vec<EntryId> =
        named.split_whitespace().filter_map(|id| id.parse().ok()).filter(standing).collect();
    ids.into_iter().map(|id| writing.entry(Body::new(Kind::Withdrawal)).superseding(id)).collect()
}

/// The entry for something of which only one can stand.
pub(super) fn entry_about(
    writing: &mut Writing,
    body: Body,
    about: impl Fn(&Body) -> bool,
) -> Option<NewEntry> {
    grades::entry(writing, body, about)
}

/// Keeps the weights among these entries in the horse's own list: how, on which day, by whom.
pub(super) async fn keep_weights(
    writing: &mut Writing,
    entries: &[NewEntry],
    (method, on, by): (&str, crate::clock::Day, crate::ids::StaffId),
) -> Result<()> {
    vitals::keep_weights(writing, entries, method, on, by).await
}

/// The cautions that stop a flexion test as things stand now, and with what is about to be recorded.
pub(super) async fn flexion_stops(writing: &mut Writing, coming: &[Body]) -> Result<Vec<Raised>> {
    Ok(stops(&raised_under(writing, coming).await?))
}

/// Whether flexion waits for a reason, and which cautions say so.
pub(super) fn stops(raised: &[Raised]) -> Vec<Raised> {
    raised.iter().filter(|raised| raised.stops(Where::Flexion)).cloned().collect()
}
