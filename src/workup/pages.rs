//! The page of the work-up.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use serde::Deserialize;

use super::{
    chart::{self, Chart},
    clock::Phase,
    consent::{ANSWERS, HOW},
    dose::Total,
    leaving::{self, Leaving},
    memory::{self, Both, Maybe},
    picture::{self, FieldWords},
    reason::{self, Reasoned},
    scene::Scene,
    sheet,
    sources::{self, Number},
    timeline::{self, Column},
};
use crate::{
    App,
    accounts::{Can, User, act},
    body::Plan,
    catalogue::{Limb, NeuroPattern, Study, catalogue},
    clock::Day,
    exam::movement::Raised,
    horses::Card,
    ids::{EntryId, VisitId},
    papers::needle,
    record::Kind,
    visits::{State as VisitState, Visit},
    web::{Errors, Path, Query, Result, Shell, invalid},
};

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct Wanted {
    /// An entry to take back.
    take_back: String,
}

/// A form of this page that is shown again.
pub(super) struct Wrong {
    pub typed: leaving::Typed,
    pub errors: Errors,
}

/// What it could be, on one limb.
struct Memory {
    limb: Limb,
    rows: Vec<Maybe>,
}

/// An entry that is about to be taken back.
struct TakeBack {
    entry: EntryId,
    words: String,
    why: String,
}

#[derive(Template, WebTemplate)]
#[template(path = "workup/index.html")]
pub(super) struct WorkUpPage {
    shell: Shell,
    visit_id: VisitId,
    visit: Visit,
    card: Card,
    today: Day,
    writes: bool,
    errors: Errors,
    typed: leaving::Typed,
    raised: Vec<Raised>,
    columns: Vec<Column>,
    /// Blocks in words that name no block of the list.
    in_words: Vec<String>,
    picture: Option<(Plan, Vec<FieldWords>)>,
    charts: Vec<Chart>,
    reasoned: Vec<Reasoned>,
    memory: Vec<Memory>,
    both: Option<Both>,
    nerves: Vec<&'static NeuroPattern>,
    total: Total,
    leaving: Leaving,
    consents: Vec<String>,
    numbers: Vec<Number>,
    take_back: Option<TakeBack>,
}

impl WorkUpPage {
    fn new(scene: Scene, shell: Shell, user: &User, take_back: Option<TakeBack>) -> Self {
        let reasoned: Vec<Reasoned> =
            limbs(&scene).into_iter().filter_map(|limb| reason::of(&scene, limb)).collect();
        let memory = reasoned
            .iter()
            .map(|of| Memory { limb: of.limb, rows: memory::differentials(&scene, of.limb, Some(of)) });
        let memory = memory.filter(|memory| !memory.rows.is_empty()).collect();
        let leaving = Leaving::of(&scene);
        WorkUpPage {
            visit_id: scene.visit.id,
            writes: scene.takes(user),
            errors: Errors::default(),
            typed: leaving::Typed::fresh(&scene, &leaving),
            raised: scene.before_needle(),
            columns: timeline::columns(&scene),
            in_words: sheet::in_words(&scene),
            picture: picture::plan(&scene, &reasoned),
            charts: chart::charts(&scene),
            both: memory::compensation(&scene),
            nerves: memory::nerves(&scene),
            total: Total::of(&scene),
            consents: scene.of(Kind::Consent).map(|(_, body)| needle::consent(body)).collect(),
            numbers: sources::numbers(&scene),
            memory,
            reasoned,
            leaving,
            take_back,
            visit: scene.visit,
            card: scene.card,
            today: scene.today,
            shell,
        }
    }

    /// The blocks that wait to be read, soonest first.
    fn running(&self) -> Vec<(&timeline::BlockLine, Phase)> {
        timeline::running(&self.columns)
    }

    fn answers(&self) -> &'static [(&'static str, &'static str)] {
        &ANSWERS
    }

    fn means(&self) -> &'static [(&'static str, &'static str)] {
        &HOW
    }

    /// The studies that answer an imaging set on a limb.
    fn studies(&self, set: &str, limb: &Limb) -> Vec<&'static Study> {
        catalogue().diagnostics.answering(set, Some(*limb))
    }

    fn all_limbs(&self) -> [Limb; 4] {
        Limb::ALL
    }
}

/// The limbs to reason about: those that were blocked, and those that lameness moved to; before any block the lamest.
fn limbs(scene: &Scene) -> Vec<Limb> {
    let blocked = |limb: &Limb| reason::shots_of(scene, *limb).next().is_some();
    let moved = |limb: &Limb| {
        scene.shots.iter().flat_map(|shot| &shot.looks).any(|look| look.switched_to == Some(*limb))
    };
    let limbs: Vec<Limb> = Limb::ALL.into_iter().filter(|limb| blocked(limb) || moved(limb)).collect();
    if !limbs.is_empty() {
        return limbs;
    }
    let grade = |limb: &Limb| {
        let ours = scene.of(Kind::Gait).filter(|(_, body)| body.limb.as_deref() == Some(limb.code()));
        ours.filter_map(|(_, body)| body.grade).max_by(f64::total_cmp).filter(|grade| *grade > 0.0)
    };
    let lame = Limb::ALL.into_iter().filter_map(|limb| Some((limb, grade(&limb)?)));
    lame.max_by(|a, b| a.1.total_cmp(&b.1)).map(|(limb, _)| limb).into_iter().collect()
}

pub(super) async fn page(
    State(app): State<App>,
    can: Can<act::SeeRecord>,
    shell: Shell,
    Path(id): Path<VisitId>,
    Query(wanted): Query<Wanted>,
) -> Result<Response> {
    let scene = Scene::load(&app, id).await?;
    let entry = wanted.take_back.parse().ok();
    let take_back = entry.and_then(|entry| take_back(&scene, entry, String::new()));
    Ok(WorkUpPage::new(scene, shell, &can.user, take_back).into_response())
}

fn take_back(scene: &Scene, entry: EntryId, why: String) -> Option<TakeBack> {
    let shot = scene.shots.iter().find(|shot| shot.entry == entry).map(|shot| needle::block(&shot.body));
    let looks = || scene.shots.iter().flat_map(|shot| &shot.looks);
    let look = || looks().find(|look| look.entry == entry).map(|look| needle::reading(&look.body));
    Some(TakeBack { entry, words: shot.or_else(look)?, why })
}

/// The page with a form as it was typed, and what is wrong with it.
pub(super) async fn again(
    app: &App,
    user: &User,
    shell: Shell,
    id: VisitId,
    wrong: Wrong,
) -> Result<Response> {
    let scene = Scene::load(app, id).await?;
    let page = WorkUpPage::new(scene, shell, user, None);
    Ok(invalid(WorkUpPage { errors: wrong.errors, typed: wrong.typed, ..page }))
}

/// The same for taking an entry back.
pub(super) async fn again_at(
    app: &App,
    user: &User,
    shell: Shell,
    (id, entry, why): (VisitId, EntryId, String),
    errors: Errors,
) -> Result<Response> {
    let scene = Scene::load(app, id).await?;
    let taken = take_back(&scene, entry, why);
    let page = WorkUpPage::new(scene, shell, user, taken);
    Ok(invalid(WorkUpPage { errors, ..page }))
}
