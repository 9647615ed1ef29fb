//! The form of a block, where the needle is. It opens when a limb and a block are chosen and nothing stops them.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use serde::Deserialize;

use super::{
    consent::{self, ANSWERS, Asked, HOW},
    course::Shot,
    reason::{self, Next},
    scene::Scene,
    when, write,
};
use crate::{
    App,
    accounts::{Can, User, act},
    catalogue::{Block, BlockKind, Caution, Limb, Pair, Row, Where, catalogue, localise::Clock},
    clock::Day,
    exam::movement::Raised,
    horses::Card,
    ids::VisitId,
    record::{Body, Given, Kind},
    web::{Check, Errors, Form, Path, Query, Result, Shell, flash, invalid},
};

pub(super) const SKIN: [(&str, &str); 3] = [("", "not tested"), ("numb", "numb"), ("feels", "still feels")];
pub(super) const CLEAN: [(&str, &str); 3] =
    [("", "not judged"), ("yes", "lame as before"), ("no", "still better")];

/// The form as typed, and as the address asks for it.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct Typed {
    pub submission: String,
    pub limb: String,
    pub block: String,
    pub agent: String,
    pub mg_per_ml: String,
    pub volume: String,
    pub sites: String,
    pub site: String,
    pub skin: String,
    pub at: String,
    pub clean: String,
    pub consent: String,
    pub consent_by: String,
    pub consent_how: String,
    /// Of the forms before it: why it goes in all the same, which cautions hold, and words about them.
    pub reason: String,
    pub code: Vec<String>,
    pub words: String,
}

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
    clock: Option<&'static Clock>,
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
        let clock = block.and_then(|block| catalogue().localise.clocks.get(&block.code));
        let what = block.map(consent_of);
        let withheld = what.and_then(|what| scene.consent(what)).filter(|body| body.present == Some(false));
        let withheld = withheld.map(|body| {
            [&body.held_by, &body.value].into_iter().flatten().cloned().collect::<Vec<_>>().join(", ")
        });
        if [&typed.at, &typed.agent, &typed.volume].into_iter().all(String::is_empty) {
            fill(&mut typed, &scene, clock);
        }
        let stops = scene.stops();
        Ok(BlockPage {
            next: limb.map(|limb| reason::next(&scene, limb)).unwrap_or_default(),
            ladder: limb.map(ladder).unwrap_or_default(),
            raised: scene.before_needle(),
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

    /// The form of another block on this limb; a plus in an address is a blank.
    fn to(&self, block: &Block) -> String {
        let limb = self.limb.map_or("", Limb::code);
        format!("?limb={limb}&block={}", block.code.replace('+', "%2B"))
    }

    /// "1 to 2 ml at each of 2 sites is usual"
    fn usual(&self) -> String {
        let Some(clock) = self.clock else { return String::new() };
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

/// A block that is done on this limb; those of the trunk are told on a hind limb.
pub(super) fn on(limb: Limb, code: &str) -> Option<&'static Block> {
    let here = |block: &&Block| block.suits(limb) || (block.limbs.is_empty() && !limb.is_fore());
    catalogue().block(code).filter(here)
}

fn ladder(limb: Limb) -> Vec<&'static Block> {
    let rungs = catalogue().localise.ladder.iter().filter(|rung| rung.limb == Pair::of(limb));
    rungs.filter_map(|rung| on(limb, &rung.block)).collect()
}

/// A needle in a joint, a sheath or a bursa is an injection; any other one a block.
fn consent_of(block: &Block) -> &'static str {
    if block.kind == BlockKind::Synovial { "injections" } else { "blocks" }
}

fn variants(block: &Block) -> Vec<(&'static str, &'static str)> {
    let rows = catalogue().localise.variants.iter().filter(|row| row.blocks.contains(&block.code));
    rows.map(|row| (row.code(), row.name.as_str())).collect()
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
    if let Some(stop) = write::stops(&mut writing).await?.first() {
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

/// The block, and the consent that is asked with it.
fn check(typed: &Typed, scene: &Scene) -> std::result::Result<(Body, Option<Body>), Errors> {
    let limb: Option<Limb> = typed.limb.parse().ok();
    let Some((limb, block)) = limb.and_then(|limb| Some((limb, on(limb, &typed.block)?))) else {
        return Err(Errors::one("", "Choose a limb, and a block that is done on it."));
    };
    let mut check = Check::new();
    let asked = Asked { answer: &typed.consent, by: &typed.consent_by, how: &typed.consent_how };
    let what = consent_of(block);
    let asks = (!consent::is_given(&scene.entries, what)).then(|| consent::read(&mut check, what, &asked));
    let given = given(&mut check, typed, scene, block);
    let mut body = Body::new(Kind::Block);
    body.limb = Some(limb.code().to_owned());
    body.code = Some(block.code.clone());
    body.given = Some(given);
    // Nothing of a block that was not done has to be right.
    if asks.as_ref().is_some_and(|asks| asks.present == Some(false)) && typed.consent == "withheld" {
        let wrong = check.errors.all().iter().any(|(field, _)| field.starts_with("consent"));
        return if wrong { check.done((body, asks)) } else { Ok((body, asks)) };
    }
    check.done((body, asks))
}

fn given(check: &mut Check, typed: &Typed, scene: &Scene, block: &Block) -> Given {
    let volume = check.number("volume", &typed.volume, 0.1..=100.0, "ml");
    if typed.volume.trim().is_empty() {
        check.errors.add("volume", "Enter how many ml went to each site.");
    }
    let sites = check.number("sites", &typed.sites, 1.0..=12.0, "");
    if sites.is_some_and(|sites| sites.fract() != 0.0) {
        check.errors.add("sites", "Enter a whole number of sites.");
    }
    if catalogue().localise.agents.get(&typed.agent).is_none() {
        check.errors.add("agent", "Choose the local anaesthetic.");
    }
    let mg_per_ml = check.number("mg_per_ml", &typed.mg_per_ml, 0.1..=100.0, "mg a ml");
    let variant = variants(block).into_iter().find(|(code, _)| *code == typed.site);
    if variant.is_none() && !typed.site.is_empty() {
        check.errors.add("site", "Choose one of the list.");
    }
    let at = when::past(check, "at", &typed.at, (scene.now, scene.visit.starts_at), scene.zone());
    Given {
        agent: Some(typed.agent.clone()),
        mg_per_ml,
        volume_ml: volume,
        sites,
        site: variant.map(|(code, _)| code.to_owned()),
        skin_numb: one_of(check, "skin", &typed.skin, &SKIN).map(|word| word == "numb"),
        clean_baseline: one_of(check, "clean", &typed.clean, &CLEAN).map(|word| word == "yes"),
        at,
    }
}

/// A pick of a short list whose empty answer is none.
pub(super) fn one_of(
    check: &mut Check,
    field: &str,
    picked: &str,
    list: &[(&'static str, &str)],
) -> Option<&'static str> {
    let found = list.iter().map(|(key, _)| *key).find(|key| *key == picked);
    if found.is_none() {
        check.errors.add(field, "Choose one of the list.");
    }
    found.filter(|key| !key.is_empty())
}
