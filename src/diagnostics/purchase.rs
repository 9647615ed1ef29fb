//! The radiographs of a purchase examination: a set over several regions and both sides, each projection to be ticked or
//! left out. Each region becomes an order of its own, as if it had been ordered by itself.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State as FromApp,
    response::{IntoResponse, Response},
};
use serde::Deserialize;

use super::{
    before,
    form::{self, TypedDetails, WHEN},
    order::item_words,
    store::{self, NewItem, NewOrder},
    visit::Scene,
};
use crate::{
    App,
    accounts::{Can, act},
    catalogue::{
        Caution, Limb, Study, catalogue,
        diagnostics::{Purchase, PurchasePart},
    },
    clock::Day,
    horses::Card,
    ids::VisitId,
    web::{Begun, Check, Error, Errors, Form, Path, Query, Result, Shell, begin, flash, invalid},
};

/// The form as it was sent.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct Typed {
    submission: String,
    /// Code of the set.
    set: String,
    /// Projections by their keys: `fetlock.LF.D45L-PaMO`.
    view: Vec<String>,
    #[serde(flatten)]
    details: TypedDetails,
}

/// Which set the address asks for.
#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct Asked {
    set: String,
}

/// A projection of the set on one limb.
struct View {
    key: String,
    item: NewItem,
}

/// The projections of one region on one limb.
struct Block {
    title: String,
    study: &'static Study,
    views: Vec<View>,
}

/// The set, region by region and limb by limb.
fn blocks(set: &'static Purchase) -> Vec<Block> {
    let of_part = |part: &'static PurchasePart| {
        let study = catalogue().diagnostics.study(&part.study);
        part.limbs().into_iter().filter_map(move |limb| Some(block(part, study?, limb)))
    };
    set.parts.iter().flat_map(of_part).collect()
}

fn block(part: &'static PurchasePart, study: &'static Study, limb: Limb) -> Block {
    let view = |code: &String| View {
        key: format!("{}.{}.{code}", study.code, limb.code()),
        item: form::item(study, code, Some(limb)),
    };
    Block {
        title: format!("{}, {}", study.name, limb.name()),
        study,
        views: part.items.iter().map(view).collect(),
    }
}

impl Typed {
    /// The form as it opens: everything ticked, now.
    fn whole(set: &'static Purchase) -> Self {
        let view = blocks(set).into_iter().flat_map(|block| block.views).map(|view| view.key).collect();
        let question = format!("Purchase examination, {}", set.name);
        let details = TypedDetails { when: "now".into(), question, ..TypedDetails::default() };
        Typed { set: set.code.clone(), view, details, ..Typed::default() }
    }

    /// An order for each region of which something is ticked.
    fn check(
        &self,
        set: &'static Purchase,
        visit: VisitId,
        today: Day,
    ) -> std::result::Result<Vec<NewOrder>, Errors> {
        let mut check = Check::new();
        let details = self.details.read(&mut check, today);
        let mut orders: Vec<NewOrder> = Vec::new();
        for Block { study, views, .. } in blocks(set) {
            let ticked = views.into_iter().filter(|view| self.view.contains(&view.key));
            let items: Vec<NewItem> = ticked.map(|view| view.item).collect();
            if items.is_empty() {
                continue;
            }
            if let Some(order) = orders.iter_mut().find(|order| order.study == study.code) {
                order.items.extend(items);
                continue;
            }
            let (place, details, kind) = (String::new(), details.clone(), study.kind);
            let (study, name) = (study.code.clone(), study.name.clone());
            orders.push(NewOrder { id: None, visit, study, kind, name, place, details, items });
        }
        if orders.is_empty() {
            check.errors.add("view", "Tick at least one projection.");
        }
        check.done(orders)
    }
}

#[derive(Template, WebTemplate)]
#[template(path = "diagnostics/purchase.html")]
struct PurchasePage {
    shell: Shell,
    errors: Errors,
    visit_id: VisitId,
    card: Card,
    today: Day,
    set: &'static Purchase,
    typed: Typed,
}

impl PurchasePage {
    fn new(scene: Scene, shell: Shell, set: &'static Purchase, typed: Typed, errors: Errors) -> Self {
        let (visit_id, card, today) = (scene.visit.id, scene.card, scene.today);
        PurchasePage { shell, errors, visit_id, card, today, set, typed }
    }

    fn blocks(&self) -> Vec<Block> {
        blocks(self.set)
    }

    fn view_words(view: &View) -> String {
        item_words(crate::catalogue::StudyKind::Radiograph, &view.item.code, &view.item.name)
    }

    fn is_ticked(&self, view: &View) -> bool {
        self.typed.view.contains(&view.key)
    }

    /// What all of its regions ask to be careful about, each once.
    fn cautions(&self) -> Vec<&'static Caution> {
        let mut all: Vec<&'static Caution> = Vec::new();
        for caution in self.blocks().iter().flat_map(|block| before::cautions(block.study)) {
            if all.iter().all(|known| known.code != caution.code) {
                all.push(caution);
            }
        }
        all
    }

    fn when(&self) -> &'static [(&'static str, &'static str)] {
        &WHEN
    }

    fn back(&self) -> String {
        format!("/visits/{}/diagnostics", self.visit_id)
    }
}

/// A set that names its projections; one that the buyer chooses is ordered from the whole list.
fn set_of(code: &str) -> Result<&'static Purchase> {
    let set = catalogue().diagnostics.purchase.get(code);
    set.filter(|set| !set.parts.is_empty()).ok_or(Error::NotFound)
}

/// The sets to choose from: name, how many projections, and the rest of the row.
pub(super) fn sets() -> Vec<(&'static Purchase, usize)> {
    let count = |set: &Purchase| set.parts.iter().map(|part| part.items.len() * part.limbs().len()).sum();
    let all = catalogue().diagnostics.purchase.iter().map(|set| (set, count(set)));
    all.filter(|(_, count)| *count > 0).collect()
}

pub(super) async fn page(
    FromApp(app): FromApp<App>,
    _: Can<act::Examine>,
    shell: Shell,
    Path(id): Path<VisitId>,
    Query(asked): Query<Asked>,
) -> Result<Response> {
    let set = set_of(&asked.set)?;
    let scene = Scene::load(&app, id).await?;
    scene.must_take_orders("")?;
    Ok(PurchasePage::new(scene, shell, set, Typed::whole(set), Errors::default()).into_response())
}

pub(super) async fn order(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::Examine>,
    shell: Shell,
    Path(id): Path<VisitId>,
    Form(typed): Form<Typed>,
) -> Result<Response> {
    let set = set_of(&typed.set)?;
    let mut once = match begin(&app, &typed.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(first) => return Ok(first),
    };
    let scene = Scene::load(&app, id).await?;
    scene.must_take_orders(&typed.details.question)?;
    match typed.check(set, id, scene.today) {
        Ok(orders) => {
            for new in &orders {
                store::insert(&mut once.tx, new, user.id, once.now).await?;
            }
            let line = if orders.len() == 1 {
                "1 order made.".into()
            } else {
                format!("{} orders made.", orders.len())
            };
            flash(&mut once.tx, &user, &line).await?;
            once.commit(&format!("/visits/{id}/diagnostics")).await
        }
        Err(errors) => {
            drop(once);
            Ok(invalid(PurchasePage::new(scene, shell, set, typed, errors)))
        }
    }
}
