//! Ordering for a visit: the form with what is usual ticked, or the usual set in one tap.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State as FromApp,
    response::{IntoResponse, Response},
};
use serde::Deserialize;

use super::{
    before,
    form::{self, LOADING, SHOES, Typed, WHEN},
    order::item_words,
    store::{self, NewOrder},
    visit::{Asked, Scene},
};
use crate::{
    App,
    accounts::{Can, User, act},
    catalogue::{Caution, Limb, Place, Study, StudyKind, catalogue},
    clock::Day,
    horses::Card,
    ids::{OrderId, VisitId},
    samples::{self, Offer, Plan},
    web::{Begun, Error, Errors, Form, Path, Query, Result, Shell, begin, flash, invalid, see_other},
};

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
    /// What is offered for samples; none for anything else.
    offer: Option<Offer>,
}

impl NewPage {
    async fn new(app: &App, scene: Scene, shell: Shell, typed: Typed, errors: Errors) -> Result<Self> {
        let study = catalogue().diagnostics.study(&typed.study).ok_or(Error::NotFound)?;
        let (visit_id, card, today) = (scene.visit.id, scene.card, scene.today);
        let offer = Offer::load(app, study).await?;
        Ok(NewPage { shell, errors, visit_id, card, today, study, typed, offer })
    }

    /// Whether it has to be said first what is suspected.
    fn asks_first(&self) -> bool {
        let asks = self.offer.as_ref().is_some_and(Offer::asks);
        asks && self.typed.plan.suspicion.is_empty() && self.errors.is_empty()
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
            let new = form::item(self.study, code, limb);
            let words = item_words(self.study.kind, &new.code, &new.name);
            (code.clone(), words, self.typed.item.contains(code))
        };
        codes.iter().map(offer).collect()
    }

    fn prepare(&self) -> Vec<&'static str> {
        before::prepare(self.study)
    }

    fn cautions(&self) -> Vec<&'static Caution> {
        before::cautions(self.study)
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
    let mut typed = Typed::usual(study, limb, &asked.place);
    if study.kind == StudyKind::Biopsy && !asked.suspicion.is_empty() {
        typed.item = samples::items_for(&asked.suspicion);
        typed.plan.suspicion = asked.suspicion;
    }
    Ok(NewPage::new(&app, scene, shell, typed, Errors::default()).await?.into_response())
}

pub(super) async fn order(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::Examine>,
    shell: Shell,
    Path(id): Path<VisitId>,
    Form(typed): Form<Typed>,
) -> Result<Response> {
    make(&app, &user, shell, id, (typed, None)).await
}

/// One tap: the usual set, now.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct UsualForm {
    submission: String,
    study: String,
    limb: String,
    place: String,
    /// The id that a tablet gave to it.
    order: String,
}

pub(super) async fn usual(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::Examine>,
    shell: Shell,
    Path(id): Path<VisitId>,
    Form(form): Form<UsualForm>,
) -> Result<Response> {
    let study = catalogue().diagnostics.study(&form.study).ok_or(Error::NotFound)?;
    if study.kind == StudyKind::Biopsy {
        // The muscle follows from what is suspected.
        return Ok(see_other(&format!("/visits/{id}/diagnostics/new?study={}", study.code)));
    }
    // A place knows its limb.
    let of_place = form.place.parse().ok().and_then(Place::limb);
    let limb = form.limb.parse().ok().or(of_place).filter(|limb| study.limbs.suit(*limb));
    let usual = Typed { submission: form.submission, ..Typed::usual(study, limb, &form.place) };
    make(&app, &user, shell, id, (usual, form.order.parse().ok())).await
}

/// Orders what was typed, under the id that a tablet may have given to it.
async fn make(
    app: &App,
    user: &User,
    shell: Shell,
    id: VisitId,
    (typed, own): (Typed, Option<OrderId>),
) -> Result<Response> {
    let mut once = match begin(app, &typed.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(first) => return Ok(first),
    };
    let scene = Scene::load(app, id).await?;
    scene.must_take_orders(&typed.details.question)?;
    match check(app, &typed, id, scene.today).await? {
        Ok((new, plan)) => {
            let new = NewOrder { id: own, ..new };
            let order = store::insert(&mut once.tx, &new, user.id, once.now).await?;
            if plan != Plan::default() {
                samples::store::set_plan(&mut once.tx, order, &plan).await?;
            }
            flash(&mut once.tx, user, "Ordered.").await?;
            once.commit(&format!("/diagnostics/{order}")).await
        }
        Err(errors) => {
            drop(once);
            Ok(invalid(NewPage::new(app, scene, shell, typed, errors).await?))
        }
    }
}

/// The order that is meant, with what is planned for its samples; or everything that is wrong with either.
async fn check(
    app: &App,
    typed: &Typed,
    id: VisitId,
    today: Day,
) -> Result<std::result::Result<(NewOrder, Plan), Errors>> {
    let offer = match catalogue().diagnostics.study(&typed.study) {
        Some(study) => Offer::load(app, study).await?.map(|offer| (study, offer)),
        None => None,
    };
    let planned = match offer {
        Some((study, offer)) => typed.plan.check(study.kind, &typed.item, &offer.laboratories),
        None => Ok(Plan::default()),
    };
    Ok(match (typed.check(id, today), planned) {
        (Ok(new), Ok(plan)) => Ok((new, plan)),
        (Err(errors), Err(more)) => Err(errors.and(more)),
        (Err(errors), Ok(_)) | (Ok(_), Err(errors)) => Err(errors),
    })
}
