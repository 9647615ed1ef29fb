//! The page of care: what this horse gets at this visit, and the form of one medicine with its dose and its warnings.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State as FromApp,
    response::{IntoResponse, Response},
};
use serde::Deserialize;

use super::{
    form::Typed,
    scene::{Scene, risk_words},
};
use crate::{
    App, accounts,
    accounts::{Act, Can, act},
    catalogue::{care::Pass, catalogue, formulary::Basis},
    clock::Day,
    formulary::Kept,
    horses::{Card, Dosing},
    ids::{EntryId, VisitId},
    papers::words::{self, Units, capital},
    plan::Site,
    reasoning::dose::Reckoned,
    record::{Body, Entry, How},
    web::{Check, Errors, Path, Query, Result, Shell, invalid},
};

pub(super) fn way(id: VisitId) -> String {
    format!("/visits/{id}/care")
}

/// A check that is raised, as the page shows it.
struct Shown {
    title: String,
    text: &'static str,
    because: String,
    source: String,
    /// How one goes on.
    goes_on: &'static str,
    is_stop: bool,
}

#[derive(Template, WebTemplate)]
#[template(path = "care/visit.html")]
pub(super) struct CarePage {
    shell: Shell,
    errors: Errors,
    visit_id: VisitId,
    card: Card,
    today: Day,
    dosing: Option<Dosing>,
    scene: Scene,
    /// The row that is chosen.
    kept: Option<Kept>,
    typed: Typed,
    reckoned: Option<Reckoned>,
    warnings: Vec<Shown>,
    amend: Option<EntryId>,
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct Asked {
    amend: Option<EntryId>,
    #[serde(flatten)]
    typed: Typed,
}

impl CarePage {
    fn new(shell: Shell, scene: Scene, typed: Typed, errors: Errors) -> Self {
        let kept = scene.row(&typed.row).cloned();
        let mut check = Check::new();
        let (mut reckoned, mut warnings) = (None, Vec::new());
        if let Some(kept) = &kept {
            let asked = typed.asked(&mut check, &scene, kept);
            if scene.dosing.is_some() || kept.row.dose.basis == Basis::Mg {
                reckoned = typed.reckoned(&mut check, &scene, kept, &asked);
            }
            let found = reckoned.as_ref().map(|found| scene.warnings(kept, &asked, found));
            warnings =
                found.unwrap_or_default().into_iter().filter_map(|one| shown(one.check, one.words)).collect();
        }
        CarePage {
            visit_id: scene.visit.id,
            card: scene.card.clone(),
            today: scene.today,
            dosing: scene.dosing.clone(),
            amend: typed.was.parse().ok(),
            errors,
            kept,
            typed,
            reckoned,
            warnings,
            scene,
            shell,
        }
    }

    /// The page with a form as it was typed, and what is wrong with it.
    pub(super) async fn again(
        app: &App,
        shell: Shell,
        id: VisitId,
        mut typed: Typed,
        errors: Errors,
    ) -> Result<Response> {
        let scene = Scene::load(app, id, shell.user.as_ref().map(|user| user.id)).await?;
        if typed.row.is_empty() {
            let was: Option<EntryId> = typed.was.parse().ok();
            let known = scene.here().into_iter().find(|(entry, _)| Some(entry.id) == was);
            if let Some((entry, body)) = known
                && let Some(dosed) = &body.dosed
            {
                typed = Typed { why_back: typed.why_back, ..Typed::of(entry, body, dosed, &scene) };
            }
        }
        Ok(invalid(CarePage::new(shell, scene, typed, errors)))
    }

    fn may_write(&self) -> bool {
        self.shell.may(Act::Examine) && self.scene.visit.state.is_open()
    }

    /// Rows that may be used, by their title.
    fn choices(&self) -> Vec<(&str, String)> {
        let usable = self.scene.rows.iter().filter(|kept| kept.is_active());
        usable.map(|kept| (kept.code(), format!("{} ({})", kept.title(), kept.row.dose.amount()))).collect()
    }

    fn waiting(&self) -> usize {
        self.scene.rows.iter().filter(|kept| !kept.retired && kept.confirmed.is_none()).count()
    }

    fn hows(&self) -> [(&'static str, &'static str); 3] {
        How::CHOICES
    }

    fn per_kg(&self) -> bool {
        self.kept.as_ref().is_some_and(|kept| kept.row.dose.basis == Basis::MgPerKg)
    }

    fn unit(&self) -> &'static str {
        if self.per_kg() { "mg/kg" } else { "mg" }
    }

    /// "550 mg to 1.1 g for this horse"
    fn range(&self) -> Option<String> {
        let (low, high) = self.reckoned.as_ref()?.range;
        Some(if low == high { low.to_string() } else { format!("{low} to {high}") })
    }

    /// "550 mg, 11 ml"
    fn dose(&self) -> Option<String> {
        let found = self.reckoned.as_ref()?;
        let mg = found.dose?;
        Some(match found.volume {
            Some(ml) => format!("{mg}, that is {ml}"),
            None => mg.to_string(),
        })
    }

    fn strengths(&self) -> Vec<String> {
        self.kept
            .as_ref()
            .map(|kept| kept.row.dose.mg_per_ml.iter().map(f64::to_string).collect())
            .unwrap_or_default()
    }

    fn sites(&self) -> Vec<String> {
        Site::all().map(|site| site.to_string()).collect()
    }

    fn needs_reason(&self) -> bool {
        self.warnings.iter().any(|one| !one.goes_on.is_empty() && !one.is_stop)
    }

    fn here(&self) -> Vec<(&Entry, &Body)> {
        self.scene.here()
    }

    fn words(&self, body: &Body) -> String {
        capital(&words::sentence(body, Units::default()))
    }

    fn when(&self, body: &Body) -> String {
        body.dosed.as_ref().map_or_else(String::new, |dosed| dosed.at.words(&self.scene.practice.zone))
    }

    fn by(&self, entry: &Entry) -> String {
        accounts::store::name_of(&self.scene.staff, entry.entered_by)
    }

    fn is_given(&self, body: &Body) -> bool {
        body.dosed.as_ref().is_some_and(|dosed| dosed.how == How::Administered)
    }

    /// What the horse got before this visit, as far as it may still matter.
    fn before(&self) -> Vec<String> {
        let zone = &self.scene.practice.zone;
        let of = |one: &&super::store::Given| one.visit != self.visit_id;
        let said = |one: &super::store::Given| {
            let dosed = &one.dosed;
            format!("{} {}, {}, {}", dosed.how.word(), dosed.name, dosed.route, dosed.at.words(zone))
        };
        self.scene.given.iter().filter(of).take(5).map(said).collect()
    }

    fn is_controlled(&self) -> bool {
        self.kept.as_ref().is_some_and(|kept| kept.row.controlled)
    }

    fn stores(&self) -> Vec<(crate::ids::StoreId, &str)> {
        self.scene.stores.iter().map(|one| (one.id, one.name.as_str())).collect()
    }

    fn witnesses(&self) -> &[(crate::ids::StaffId, String)] {
        &self.scene.witnesses
    }

    fn risks(&self) -> Vec<String> {
        self.scene.risks.iter().filter(|risk| risk.ended_at.is_none()).map(risk_words).collect()
    }

    fn weight(&self, kg: &f64) -> String {
        crate::horses::weight_words(*kg, &self.scene.practice.weight_unit)
    }
}

fn shown(code: &str, because: String) -> Option<Shown> {
    let row = catalogue().care.checks.get(code)?;
    let goes_on = match row.pass {
        Pass::Shown => "",
        Pass::Reason => "Goes on with a reason.",
        Pass::Vet => "Goes on with a veterinarian's reason.",
        Pass::Never => "It stops here.",
    };
    Some(Shown {
        title: capital(&row.name),
        text: &row.text,
        because,
        source: format!("{}, {}", row.source, row.confidence.words()),
        goes_on,
        is_stop: row.pass == Pass::Never,
    })
}

pub(super) async fn page(
    FromApp(app): FromApp<App>,
    _: Can<act::SeeRecord>,
    shell: Shell,
    Path(id): Path<VisitId>,
    Query(asked): Query<Asked>,
) -> Result<Response> {
    let scene = Scene::load(&app, id, shell.user.as_ref().map(|user| user.id)).await?;
    let amended = asked.amend.and_then(|id| scene.here().into_iter().find(|(entry, _)| entry.id == id));
    let typed = match amended {
        Some((entry, body)) => body.dosed.as_ref().map(|dosed| Typed::of(entry, body, dosed, &scene)),
        None => None,
    };
    let typed = typed.unwrap_or_else(|| match scene.row(&asked.typed.row) {
        Some(kept) if asked.typed.amount.is_empty() && asked.typed.how.is_empty() => {
            Typed::fresh(&scene, kept)
        }
        _ => asked.typed,
    });
    Ok(CarePage::new(shell, scene, typed, Errors::default()).into_response())
}
