//! The page of one bone scan: injection, clock, release, regions, spills.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State as FromApp,
    response::{IntoResponse, Response},
};
use serde::Deserialize;

use super::{
    figures::{self, Figures},
    forms::Typed,
    gate::{self, Judged},
    injection::{self, Given},
    rate, region,
    scene::{Scene, scan_of},
    spill,
};
use crate::{
    App,
    accounts::{Act, Can, act},
    catalogue::{Caution, Where, catalogue, diagnostics::Phase},
    clock::{At, Day},
    horses::Card,
    ids::{EntryId, OrderId, VisitId},
    papers::{
        scan::{self as words, hours},
        words::capital,
    },
    record::{Entry, Scan, scan::Injection},
    web::{Errors, Path, Query, Result, Shell, invalid},
    workup::clock::{Phase as Stands, Ticking},
};

/// What the address asks to be open.
#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct Open {
    /// An entry that is to be amended or taken back.
    amend: Option<EntryId>,
}

/// Where the page is, and its forms under it.
pub(super) fn way(order: OrderId) -> String {
    format!("/diagnostics/{order}/scan")
}

#[derive(Template, WebTemplate)]
#[template(path = "scintigraphy/page.html")]
struct ScanPage {
    shell: Shell,
    errors: Errors,
    visit_id: VisitId,
    card: Card,
    today: Day,
    scene: Scene,
    typed: Typed,
    amend: Option<EntryId>,
    judged: Option<Judged>,
}

impl ScanPage {
    fn new(shell: Shell, scene: Scene) -> Self {
        let who = shell.user.as_ref().map(|user| user.id);
        ScanPage {
            errors: Errors::default(),
            visit_id: scene.order.visit_id,
            card: scene.card.clone(),
            today: scene.now.day(&scene.zone),
            typed: Typed::fresh(&scene),
            amend: None,
            judged: Judged::of(&scene, who),
            shell,
            scene,
        }
    }

    fn at(&self) -> String {
        way(self.scene.order.id)
    }

    fn may_write(&self) -> bool {
        self.shell.may(Act::Examine)
    }

    /// Whether new entries are asked for: not while one is amended.
    fn asks(&self) -> bool {
        self.may_write() && self.amend.is_none()
    }

    /// What kind of entry is amended; empty where none is.
    fn amends(&self) -> &'static str {
        let entry = self.scene.standing.iter().find(|entry| Some(entry.id) == self.amend);
        entry.and_then(scan_of).map_or("", Scan::code)
    }

    /// Whether a form holds something wrong, so that it stands open.
    fn is_wrong(&self, form: &str) -> bool {
        let fields = match form {
            "rate" => rate::FIELDS,
            "region" => region::FIELDS,
            _ => spill::FIELDS,
        };
        fields.iter().any(|field| self.errors.on(field).is_some())
    }

    fn cautions(&self) -> Vec<&'static Caution> {
        catalogue().cautions.iter().filter(|caution| caution.shown_at.contains(&Where::Scan)).collect()
    }

    fn given(&self) -> Option<Given> {
        self.scene.injection().and_then(|(_, one)| Given::of(one, &self.scene))
    }

    fn activities(&self) -> Vec<String> {
        injection::references()
    }

    fn nuclides(&self) -> Vec<(String, String)> {
        let words = |row: &crate::catalogue::diagnostics::figures::HalfLife| {
            (row.code.clone(), format!("{}, {} h ({})", row.nuclide, row.hours, row.source))
        };
        injection::half_lives().map(words).collect()
    }

    fn agents(&self) -> Vec<String> {
        catalogue().diagnostics.scintigraphy.agents.iter().map(|row| row.name.clone()).collect()
    }

    fn moment(&self, at: &At) -> String {
        at.words(&self.scene.zone)
    }

    /// The activity with the time it was measured at.
    fn measured(&self, mbq: &f64, at: &At) -> String {
        format!("{} MBq at {}", words::figure(*mbq, 1), at.hm(&self.scene.zone))
    }

    fn since(&self, one: &Injection) -> String {
        gate::hours_words(hours(one.at, self.scene.now))
    }

    /// Each phase with its clock.
    fn phases(&self) -> Vec<(&'static Phase, Ticking)> {
        let Some((_, one)) = self.scene.injection() else { return Vec::new() };
        let rows = catalogue().diagnostics.phases.iter();
        rows.map(|row| (row, ticking(row, one.at, &self.scene))).collect()
    }

    fn missing(&self) -> Vec<&'static str> {
        gate::missing(&self.scene)
    }

    fn alarms(&self) -> Vec<String> {
        self.scene.release().map(|released| gate::alarms(&self.scene, released)).unwrap_or_default()
    }

    /// Whether the person who looks may sign.
    fn may_sign(&self) -> bool {
        let who = self.shell.user.as_ref().map(|user| user.id);
        self.shell.may(Act::Release) && who.is_some_and(|who| self.scene.is_officer(who))
    }

    fn words(&self, entry: &Entry) -> String {
        scan_of(entry).map(|scan| capital(&words::timed(scan, &self.scene.zone))).unwrap_or_default()
    }

    /// The readings, the newest first.
    fn rates(&self) -> Vec<&Entry> {
        let mut rates = self.scene.rates();
        rates.sort_by_key(|(_, rate)| std::cmp::Reverse(rate.at));
        rates.into_iter().map(|(entry, _)| entry).collect()
    }

    fn meters(&self) -> Vec<(String, String)> {
        let words = |meter: &super::store::Meter| {
            let due = meter.calibration_due.words();
            (meter.id.to_string(), format!("{} ({}), calibration due {due}", meter.name, meter.serial))
        };
        self.scene.meters.iter().map(words).collect()
    }

    fn points(&self) -> Vec<(&'static str, String)> {
        gate::points()
    }

    fn hottest(&self) -> Vec<String> {
        let rows = catalogue().diagnostics.scintigraphy.points.iter();
        rows.map(|row| format!("{}: {} ({})", row.name, row.text, row.source)).collect()
    }

    fn figures(&self) -> Vec<Figures<'_>> {
        figures::figures(&self.scene)
    }

    fn ratios_in_print(&self) -> Vec<String> {
        figures::references()
    }

    fn grades(&self) -> Vec<(&'static str, String)> {
        let rows = catalogue().diagnostics.scintigraphy.grades.iter();
        rows.map(|row| (row.code.as_str(), format!("{} {}", row.code, row.name))).collect()
    }

    fn known_parts(&self) -> Vec<String> {
        figures::known(&self.scene, |one| &one.name)
    }

    fn known_protocols(&self) -> Vec<String> {
        figures::known(&self.scene, |one| &one.protocol)
    }

    /// Until when bedding is held that is taken out at the time of the page.
    fn held_until(&self) -> String {
        spill::held_until(self.scene.now, &self.scene).map(|at| self.moment(&at)).unwrap_or_default()
    }
}

/// The clock of a phase that begins and ends so many minutes after the injection.
fn ticking(row: &Phase, injected: At, scene: &Scene) -> Ticking {
    const MS_PER_MIN: f64 = 60_000.0;
    // Windows of the catalogue are hours at most.
    #[expect(clippy::cast_possible_truncation, reason = "far below 2^63")]
    let after = |minutes: f64| injected.plus_millis((minutes * MS_PER_MIN).round() as i64);
    let (from, until) = (after(row.from_min), after(row.to_min));
    let (first, last) = (from.hm(&scene.zone), until.hm(&scene.zone));
    let phase = match scene.now {
        now if now < from => Stands::Early,
        now if now <= until => Stands::Now,
        _ => Stands::Late,
    };
    Ticking {
        phase,
        at: injected.iso(),
        from: from.iso(),
        until: until.iso(),
        early: format!("to come, {first} to {last}"),
        now: format!("now, {first} to {last}"),
        late: format!("over, {first} to {last}"),
        minutes: scene.now.minutes_since(injected),
    }
}

pub(super) async fn page(
    FromApp(app): FromApp<App>,
    _: Can<act::SeeRecord>,
    shell: Shell,
    Path(id): Path<OrderId>,
    Query(open): Query<Open>,
) -> Result<Response> {
    let scene = Scene::load(&app, id).await?;
    let amended = open.amend.and_then(|id| scene.standing.iter().find(|entry| entry.id == id));
    let amend = amended.map(|entry| entry.id).filter(|_| shell.may(Act::Examine));
    let typed = match (amend, amended.and_then(scan_of)) {
        (Some(id), Some(scan)) => Typed { was: id.to_string(), ..Typed::of(scan, &scene) },
        _ => Typed::fresh(&scene),
    };
    Ok(ScanPage { typed, amend, ..ScanPage::new(shell, scene) }.into_response())
}

/// The page with a form as it was typed, and what is wrong with it.
pub(super) async fn again(
    app: &App,
    shell: Shell,
    id: OrderId,
    typed: Typed,
    errors: Errors,
) -> Result<Response> {
    let scene = Scene::load(app, id).await?;
    let was: Option<EntryId> = typed.was.parse().ok();
    let typed = typed.over(Typed::fresh(&scene));
    let amend = was.filter(|id| scene.standing.iter().any(|entry| entry.id == *id));
    Ok(invalid(ScanPage { errors, typed, amend, ..ScanPage::new(shell, scene) }))
}
