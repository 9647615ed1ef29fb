//! What was ordered for one visit, and what more could be: from the places that were found abnormal, from an imaging set of
//! the work-up, or from the whole list.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State as FromApp,
    response::{IntoResponse, Response},
};
use serde::Deserialize;

use super::{
    line::Line,
    proposal::{self, Proposal},
    purchase, ready, store,
};
use crate::{
    App,
    accounts::{Act, Can, act},
    catalogue::{Limb, Study, StudyKind, catalogue, diagnostics::Purchase},
    clock::Day,
    horses::{self, Card},
    ids::VisitId,
    practice, record,
    visits::{self, State, Visit},
    web::{Conflict, Error, Path, Query, Result, Shell},
};

/// What the address asks the page for.
#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct Asked {
    /// A place of the examination: `FETL_D.L`.
    pub place: String,
    /// An imaging set of the work-up: `RX_FOOT`.
    set: String,
    pub study: String,
    limb: String,
    /// What a biopsy is taken for.
    pub suspicion: String,
}

impl Asked {
    pub(super) fn limb(&self) -> Option<Limb> {
        self.limb.parse().ok()
    }
}

/// A visit with what its diagnostics pages need.
pub(super) struct Scene {
    pub visit: Visit,
    pub card: Card,
    pub today: Day,
}

impl Scene {
    pub(super) async fn load(app: &App, id: VisitId) -> Result<Self> {
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

    pub(super) fn must_take_orders(&self, typed: &str) -> Result<()> {
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
        let ticked: Vec<String> =
            ready::of_order(db, order.id).await?.into_iter().map(|one| one.code).collect();
        lines.push(Line::new(order, &items, scene.today).with_ready(&ticked));
    }
    let entries = record::current_of_visit(db, id).await?;
    let (for_what, proposals) = proposal::asked(&asked.place, &asked.set, asked.limb())
        .unwrap_or_else(|| (String::new(), proposal::from_findings(&entries)));
    let writes = scene.takes_orders() && can.user.may(Act::Examine);
    let (visit_id, card, today) = (scene.visit.id, scene.card, scene.today);
    Ok(VisitPage { shell, visit_id, card, today, lines, proposals, for_what, writes }.into_response())
}

impl VisitPage {
    /// The whole list, by kind.
    fn kinds(&self) -> Vec<(StudyKind, Vec<&'static Study>)> {
        let of = |kind| (kind, catalogue().diagnostics.of_kind(kind).collect());
        StudyKind::ALL.into_iter().map(of).collect()
    }

    /// Sets for a purchase examination, and how many projections each has.
    fn sets(&self) -> Vec<(&'static Purchase, usize)> {
        purchase::sets()
    }

    /// The limbs that a study may be ordered on; none where it has no limb.
    fn limbs(&self, study: &&Study) -> Vec<Limb> {
        Limb::ALL.into_iter().filter(|limb| study.limbs.suit(*limb)).collect()
    }
}
