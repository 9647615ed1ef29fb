//! The form of a block, where the needle is. It opens when a limb and a block are chosen and nothing stops them.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};

use super::{
    consent::{self, ANSWERS, HOW},
    course::Shot,
    form::{CLEAN, SKIN, Typed, address, check, consent_of, on, variants},
    reason::{self, Next},
    scene::Scene,
    skin, write,
};
use crate::{
    App,
    accounts::{Can, User, act},
    catalogue::{Block, Caution, Limb, Pair, Row, Where, catalogue, localise::Clock},
    clock::Day,
    exam::movement::Raised,
    horses::Card,
    ids::VisitId,
    record::Body,
    web::{Errors, Form, Path, Query, Result, Shell, flash, invalid},
};

#[derive(Template, WebTemplate)]
#[template(path = "workup/block.html")]
pub(super) struct BlockPage {
    shell: Shell,
    visit_id: VisitId,
    card: Card,
    today: Day,
    typed: Typed,
    errors: Errors,
    limb: Option<Limb>,
    block: Option<&'static Block>,
    clock: Option<Clock>,
    /// Worth doing next, best first.
    next: Vec<Next>,
    /// Every block of this limb, distal first.
    ladder: Vec<&'static Block>,
    raised: Vec<Raised>,
    stops: Vec<Raised>,
    /// Cautions that only a person can say hold.
    more: Vec<&'static Caution>,
    /// What consent is asked for, unless it stands.
    asks: Option<&'static str>,
    /// Who withheld it, and how.
    withheld: Option<String>,
    agents: Vec<(&'static str, &'static str)>,
    variants: Vec<(&'static str, &'static str)>,
    /// An earlier block on this limb may still work.
    after_another: bool,
    /// The form is there: nothing stops it, or something typed must not be lost.
    opens: bool,
}

impl BlockPage {
    pub(super) async fn new(app: &App, shell: Shell, id: VisitId, mut typed: Typed) -> Result<Self> {
        let scene = Scene::load(app, id).await?;
        let limb: Option<Limb> = typed.limb.parse().ok();
        let block = limb.and_then(|limb| on(limb, &typed.block));
        let clock = block.and_then(|block| scene.rows.clocks.get(&block.code)).cloned();
        let what = block.map(consent_of);
        let withheld = what.and_then(|what| scene.consent(what)).filter(|body| body.present == Some(false));
        let withheld = withheld.map(|body| {
            [&body.held_by, &body.value].into_iter().flatten().cloned().collect::<Vec<_>>().join(", ")
        });
        if [&typed.at, &typed.agent, &typed.volume].into_iter().all(String::is_empty) {
            fill(&mut typed, &scene, clock.as_ref());
        }
        let skin = limb.zip(block).and_then(|at| {
            skin::raised(&scene.entries, &scene.rows, at, &scene.raised, |id| scene.author(id))
        });
        let mut stops = scene.stops();
        stops.extend(skin.clone().filter(Raised::holds_needle));
        Ok(BlockPage {
            next: limb.map(|limb| reason::next(&scene, limb)).unwrap_or_default(),
            ladder: limb.map(|limb| ladder(&scene, limb)).unwrap_or_default(),
            raised: scene.before_needle().into_iter().chain(skin).collect(),
            more: more(&scene),
            asks: what.filter(|what| !consent::is_given(&scene.entries, what)),
            agents: catalogue().localise.agents.iter().map(|row| (row.code(), row.name.as_str())).collect(),
            variants: block.map(variants).unwrap_or_default(),
            after_another: scene.shots.iter().any(|shot| shot.limb == limb),
            opens: block.is_some() && stops.is_empty(),
            stops,
            withheld,
            limb,
            block,
            clock,
            typed,
            errors: Errors::default(),
            shell,
            visit_id: id,
            card: scene.card,
            today: scene.today,
        })
    }

    /// The page again, with what is wrong; what was typed into the form is there, whatever stops it now.
    pub(super) fn again(mut self, errors: Errors, opens: bool) -> Response {
        self.errors = errors;
        self.opens = self.opens || (opens && self.block.is_some());
        invalid(self)
    }

    fn answers(&self) -> &'static [(&'static str, &'static str)] {
        &ANSWERS
    }

    fn means(&self) -> &'static [(&'static str, &'static str)] {
        &HOW
    }

    fn skins(&self) -> &'static [(&'static str, &'static str)] {
        &SKIN
    }

    fn cleans(&self) -> &'static [(&'static str, &'static str)] {
        &CLEAN
    }

    fn all_limbs(&self) -> [Limb; 4] {
        Limb::ALL
    }

    fn more_choices(&self) -> Vec<(&'static str, &'static str)> {
        self.more.iter().map(|row| (row.code(), row.name.as_str())).collect()
    }

    /// The form of another block on this limb.
    fn to(&self, limb: &Limb, block: &Block) -> String {
        address(self.visit_id, *limb, &block.code)
    }

    /// "1 to 2 ml at each of 2 sites is usual"
    fn usual(&self) -> String {
        let Some(clock) = &self.clock else { return String::new() };
        let ml = if clock.ml_least < clock.ml_most {
            format!("{} to {} ml", clock.ml_least, clock.ml_most)
        } else {
            format!("{} ml", clock.ml_most)
        };
        if clock.sites > 1.0 {
            format!("{ml} at each of {} sites is usual.", clock.sites)
        } else {
            format!("{ml} is usual.")
        }
    }
}

/// What the form holds before anybody touches it.
fn fill(typed: &mut Typed, scene: &Scene, clock: Option<&Clock>) {
    typed.at = scene.hm(scene.now);
    typed.sites = clock.map(|clock| clock.sites.to_string()).unwrap_or_default();
    scene.shots.last().map_or("mepivacaine", Shot::agent).clone_into(&mut typed.agent);
    let limb: Option<Limb> = typed.limb.parse().ok();
    let before = scene.shots.iter().rev().find(|shot| shot.limb == limb);
    typed.clean = before.filter(|shot| shot.is_gone()).map(|_| "yes".to_owned()).unwrap_or_default();
}

fn ladder(scene: &Scene, limb: Limb) -> Vec<&'static Block> {
    let rungs = scene.rows.ladder.iter().filter(|rung| rung.limb == Pair::of(limb));
    rungs.filter_map(|rung| on(limb, &rung.block)).collect()
}

/// Cautions before a needle that nothing recorded raises, and that do not hold yet.
fn more(scene: &Scene) -> Vec<&'static Caution> {
    let by_hand =
        |row: &&Caution| row.code().starts_with("CI_") || matches!(row.code(), "GS_BONE" | "GS_WOUND");
    let holds = |row: &&Caution| scene.raised.iter().any(|raised| raised.code == row.code());
    catalogue().cautions_at(Where::Blocks).into_iter().filter(by_hand).filter(|row| !holds(row)).collect()
}

pub(super) async fn page(
    State(app): State<App>,
    _: Can<act::Examine>,
    shell: Shell,
    Path(id): Path<VisitId>,
    Query(typed): Query<Typed>,
) -> Result<Response> {
    let asked = Typed { limb: typed.limb, block: typed.block, ..Typed::default() };
    Ok(BlockPage::new(&app, shell, id, asked).await?.into_response())
}

pub(super) async fn record(
    State(app): State<App>,
    can: Can<act::Examine>,
    shell: Shell,
    Path(id): Path<VisitId>,
    Form(typed): Form<Typed>,
) -> Result<Response> {
    let scene = Scene::load(&app, id).await?;
    let (block, asks) = match check(&typed, &scene) {
        Ok(read) => read,
        Err(errors) => return Ok(BlockPage::new(&app, shell, id, typed).await?.again(errors, true)),
    };
    let mut writing = match write::open(&app, &can.user, id, &typed.submission).await? {
        Ok(writing) => writing,
        Err(answer) => return Ok(answer),
    };
    if let Some(stop) = write::stops(&mut writing, &typed).await?.first() {
        let words = format!("Blocks are stopped: {}. Give a reason to go on all the same.", stop.name);
        drop(writing);
        return Ok(BlockPage::new(&app, shell, id, typed).await?.again(Errors::one("reason", words), true));
    }
    let home = format!("/visits/{id}/work-up");
    let mut bodies: Vec<Body> = asks.into_iter().collect();
    if bodies.first().is_some_and(|body| body.present == Some(false)) {
        refused(&mut writing, &can.user).await?;
    } else {
        bodies.push(block);
    }
    write::keep(writing, &can.user, bodies, &home).await
}

async fn refused(writing: &mut crate::exam::stamp::Writing, user: &User) -> Result<()> {
    Ok(flash(writing.tx(), user, "Consent is withheld: that is kept, and no block was recorded.").await?)
}
