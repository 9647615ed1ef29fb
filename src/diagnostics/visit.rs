//! What was ordered for one visit, and ordering more: from the places that were found abnormal, from an imaging set of
//! the work-up, or from the whole list.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State as FromApp,
    response::{IntoResponse, Response},
};
use serde::Deserialize;

use super::{
    form::{LOADING, SHOES, Typed, WHEN},
    line::Line,
    proposal::{self, Proposal},
    store,
};
use crate::{
    App,
    accounts::{Can, act},
    catalogue::{Caution, Limb, Study, StudyKind, catalogue},
    clock::Day,
    horses::{self, Card},
    ids::VisitId,
    practice, record,
    visits::{self, State, Visit},
    web::{Begun, Conflict, Error, Errors, Form, Path, Query, Result, Shell, begin, flash, invalid},
};

/// What the address asks the page for.
#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct Asked {
    /// A place of the examination: `FETL_D.L`.
    place: String,
    /// An imaging set of the work-up: `RX_FOOT`.
    set: String,
    study: String,
    limb: String,
}

impl Asked {
    fn limb(&self) -> Option<Limb> {
        self.limb.parse().ok()
    }
}

/// A visit with what its diagnostics pages need.
struct Scene {
    visit: Visit,
    card: Card,
    today: Day,
}

impl Scene {
    async fn load(app: &App, id: VisitId) -> Result<Self> {
        let db = app.db.read();
        let visit = visits::store::get(db, id).await?;
        let card = horses::store::card(db, visit.horse_id).await?;
        let zone = practice::store::get(db).await?.zone;
        Ok(Scene { visit, card, today: app.clock.now().day(&zone) })
    }

    /// Nothing is ordered for a horse that was not there.
    fn takes_orders(&self) -> bool {
        !matches!(self.visit.state, State::Cancelled | State::DidNotCome)
    }

    fn must_take_orders(&self, typed: &str) -> Result<()> {
        if self.takes_orders() {
            return Ok(());
        }
        let clash = Conflict {
            what: format!("{}: the visit is {}", self.card.name, self.visit.state),
            back: format!("/visits/{}", self.visit.id),
            ..Conflict::default()
        };
        Err(Error::Conflict(Box::new(clash.field("Question", typed, ""))))
    }
}

#[derive(Template, WebTemplate)]
#[template(path = "diagnostics/visit.html")]
struct VisitPage {
    shell: Shell,
    visit_id: VisitId,
    card: Card,
    today: Day,
    lines: Vec<Line>,
    proposals: Vec<Proposal>,
    /// Why these are proposed: the place or the set that was asked for.
    for_what: String,
    writes: bool,
}

pub(super) async fn page(
    FromApp(app): FromApp<App>,
    can: Can<act::SeeRecord>,
    shell: Shell,
    Path(id): Path<VisitId>,
    Query(asked): Query<Asked>,
) -> Result<Response> {
    let scene = Scene::load(&app, id).await?;
    let db = app.db.read();
    let mut lines = Vec::new();
    for order in store::of_visit(db, id).await? {
        let items = store::items(db, order.id).await?;
        lines.push(Line::new(order, &items, scene.today));
    }
    let entries = record::current_of_visit(db, id).await?;
    let (for_what, proposals) = proposal::asked(&asked.place, &asked.set, asked.limb())
        .unwrap_or_else(|| (String::new(), proposal::from_findings(&entries)));
    let writes = scene.takes_orders() && can.user.may(crate::accounts::Act::Examine);
    let (visit_id, card, today) = (scene.visit.id, scene.card, scene.today);
    Ok(VisitPage { shell, visit_id, card, today, lines, proposals, for_what, writes }.into_response())
}

impl VisitPage {
    /// The whole list, by kind.
    fn kinds(&self) -> Vec<(StudyKind, Vec<&'static Study>)> {
        let of = |kind| (kind, catalogue().diagnostics.of_kind(kind).collect());
        StudyKind::ALL.into_iter().map(of).collect()
    }

    /// The limbs that a study may be ordered on; none where it has no limb.
    fn limbs(&self, study: &&Study) -> Vec<Limb> {
        Limb::ALL.into_iter().filter(|limb| study.limbs.suit(*limb)).collect()
    }
}

#[derive(Template, WebTemplate)]
#[template(path = "diagnostics/new.html")]
struct NewPage {
    shell: Shell,
    errors: Errors,
    visit_id: VisitId,
    card: Card,
    today: Day,
    study: &'static Study,
    typed: Typed,
}

impl NewPage {
    fn new(scene: Scene, shell: Shell, typed: Typed, errors: Errors) -> Result<Self> {
        let study = catalogue().diagnostics.study(&typed.study).ok_or(Error::NotFound)?;
        let (visit_id, card, today) = (scene.visit.id, scene.card, scene.today);
        Ok(NewPage { shell, errors, visit_id, card, today, study, typed })
    }

    fn limbs(&self) -> Vec<(&'static str, &'static str)> {
        let suits = |limb: &Limb| self.study.limbs.suit(*limb);
        Limb::ALL.into_iter().filter(suits).map(|limb| (limb.code(), limb.name())).collect()
    }

    /// Items as they are called on the limb: code of the catalogue, words, and whether it is ticked.
    fn offered(&self, codes: &[String]) -> Vec<(String, String, bool)> {
        let limb = match self.typed.limb.as_slice() {
            [one] => one.parse().ok(),
            _ => None,
        };
        let offer = |code: &String| {
            let new = super::form::item(self.study, code, limb);
            let words = match self.study.kind {
                StudyKind::Radiograph => format!("{}: {}", new.code, new.name),
                _ => new.name,
            };
            (code.clone(), words, self.typed.item.contains(code))
        };
        codes.iter().map(offer).collect()
    }

    fn prepare(&self) -> Vec<&'static str> {
        let rows = self.study.prepare.iter().filter_map(|code| catalogue().diagnostics.prepare.get(code));
        rows.map(|row| row.name.as_str()).collect()
    }

    fn cautions(&self) -> Vec<&'static Caution> {
        self.study.cautions.iter().filter_map(|code| catalogue().caution(code)).collect()
    }

    fn back(&self) -> String {
        format!("/visits/{}/diagnostics", self.visit_id)
    }

    fn is_radiograph(&self) -> bool {
        self.study.kind == StudyKind::Radiograph
    }

    fn is_of_limb(&self) -> bool {
        self.study.limbs.has_limb()
    }

    fn loading(&self) -> &'static [(&'static str, &'static str)] {
        &LOADING
    }

    fn shoes(&self) -> &'static [(&'static str, &'static str)] {
        &SHOES
    }

    fn when(&self) -> &'static [(&'static str, &'static str)] {
        &WHEN
    }
}

pub(super) async fn new(
    FromApp(app): FromApp<App>,
    _: Can<act::Examine>,
    shell: Shell,
    Path(id): Path<VisitId>,
    Query(asked): Query<Asked>,
) -> Result<Response> {
    let scene = Scene::load(&app, id).await?;
    scene.must_take_orders("")?;
    let study = catalogue().diagnostics.study(&asked.study).ok_or(Error::NotFound)?;
    let limb = asked.limb().filter(|limb| study.limbs.suit(*limb));
    let typed = Typed::usual(study, limb, &asked.place);
    Ok(NewPage::new(scene, shell, typed, Errors::default())?.into_response())
}

pub(super) async fn order(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::Examine>,
    shell: Shell,
    Path(id): Path<VisitId>,
    Form(typed): Form<Typed>,
) -> Result<Response> {
    let mut once = match begin(&app, &typed.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(first) => return Ok(first),
    };
    let scene = Scene::load(&app, id).await?;
    scene.must_take_orders(&typed.details.question)?;
    match typed.check(id, scene.today) {
        Ok(new) => {
            let order = store::insert(&mut once.tx, &new, user.id, once.now).await?;
            flash(&mut once.tx, &user, "Ordered.").await?;
            once.commit(&format!("/diagnostics/{order}")).await
        }
        Err(errors) => {
            drop(once);
            Ok(invalid(NewPage::new(scene, shell, typed, errors)?))
        }
    }
}

/// One tap: the usual set, now.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct UsualForm {
    submission: String,
    study: String,
    limb: String,
    place: String,
}

pub(super) async fn usual(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::Examine>,
    shell: Shell,
    Path(id): Path<VisitId>,
    Form(form): Form<UsualForm>,
) -> Result<Response> {
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(first) => return Ok(first),
    };
    let scene = Scene::load(&app, id).await?;
    scene.must_take_orders("")?;
    let study = catalogue().diagnostics.study(&form.study).ok_or(Error::NotFound)?;
    let typed = Typed::usual(study, form.limb.parse().ok(), &form.place);
    match typed.check(id, scene.today) {
        Ok(new) => {
            let order = store::insert(&mut once.tx, &new, user.id, once.now).await?;
            flash(&mut once.tx, &user, "The usual set is ordered.").await?;
            once.commit(&format!("/diagnostics/{order}")).await
        }
        Err(errors) => {
            drop(once);
            Ok(invalid(NewPage::new(scene, shell, typed, errors)?))
        }
    }
}
