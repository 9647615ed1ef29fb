//! The page on which a picture is measured, and keeping what it gives.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State as FromApp,
    response::{IntoResponse, Response},
};
use jiff::tz::TimeZone;

use super::{
    fields::Fields,
    foot,
    overlay::Overlay,
    scale,
    sheet::{Mark, PLAIN_WIDTH, Sheet, Subject},
    store::{self, Kept},
    tendon,
};
use crate::{
    App,
    accounts::{Act, Can, User, act},
    catalogue::{
        Limb, catalogue,
        diagnostics::figures::{Reference, ScoreScale},
    },
    clock::{At, Day},
    diagnostics,
    horses::{self, Card},
    ids::{ArrivalId, EntryId, OrderId},
    imaging::{
        picture::{Facts, Window},
        store::pictures,
    },
    papers::measured,
    practice,
    record::{self, Body, Kind, NewEntry, Stamp},
    web::{
        Begun, Check, Conflict, Error, Errors, Form, Once, Path, Query, Result, Shell, begin, flash, invalid,
    },
};

const LONGEST_REASON: usize = 500;

#[derive(Template, WebTemplate)]
#[template(path = "imaging/measure.html")]
struct MeasurePage {
    shell: Shell,
    errors: Errors,
    card: Option<Card>,
    today: Day,
    zone: TimeZone,
    sheet: Sheet,
    overlay: Overlay,
    /// What was measured on this horse before, the oldest first.
    earlier: Vec<Kept>,
}

/// One measure with what stands beside it.
struct Row {
    label: &'static str,
    what: &'static str,
    number: String,
    /// The last one of this limb, with its day and hands.
    before: Option<String>,
    references: Vec<String>,
}

impl MeasurePage {
    async fn new(app: &App, shell: Shell, sheet: Sheet, errors: Errors) -> Result<Self> {
        let db = app.db.read();
        let zone = practice::store::get(db).await?.zone;
        let (card, earlier) = match sheet.picture.horse_id {
            Some(horse) => (Some(horses::store::card(db, horse).await?), store::of_horse(db, horse).await?),
            None => (None, Vec::new()),
        };
        let overlay = Overlay::of(&sheet.marked);
        let today = app.clock.now().day(&zone);
        Ok(MeasurePage { shell, errors, card, today, zone, sheet, overlay, earlier })
    }

    fn at(&self) -> String {
        format!("/images/{}/measure", self.sheet.picture.id)
    }

    fn is_foot(&self) -> bool {
        self.sheet.subject == Subject::Foot
    }

    fn value(&self, name: &str) -> &str {
        self.sheet.fields.get(name)
    }

    fn marks(&self) -> Vec<Mark> {
        self.sheet.marks()
    }

    fn next_name(&self) -> String {
        self.sheet.next().map(|mark| mark.name).unwrap_or_default()
    }

    fn next_words(&self) -> String {
        self.sheet.next().map(|mark| format!("{}: {}", mark.name, mark.words)).unwrap_or_default()
    }

    fn has_wrong_place(&self) -> bool {
        self.sheet.marks().iter().any(|mark| self.errors.on(&mark.field).is_some())
    }

    fn size(&self) -> (u16, u16) {
        self.sheet.facts().map_or((1, 1), |facts| (facts.columns, facts.rows))
    }

    /// How large a mark is drawn: the same share of every picture.
    fn reach(&self) -> f64 {
        const SHARE: f64 = 60.0;
        f64::from(self.size().0.max(self.size().1)) / SHARE
    }

    fn window(&self) -> Option<Window> {
        let look = self.sheet.look.as_ref().ok()?;
        look.facts.range?;
        let asked = || Window::new(self.value("centre").parse().ok()?, self.value("width").parse().ok()?);
        asked().or(look.window)
    }

    fn src(&self) -> String {
        let view = format!("/images/{}/picture?frame={}", self.sheet.picture.id, self.sheet.marked.frame);
        match self.window().filter(|_| !self.value("centre").is_empty()) {
            Some(window) => format!("{view}&centre={}&width={}", window.centre(), window.width()),
            None => view,
        }
    }

    fn facts(&self) -> Option<&Facts> {
        self.sheet.facts().ok()
    }

    fn ends(&self) -> (f64, f64) {
        self.facts().and_then(|facts| facts.range).unwrap_or_default()
    }

    fn widest(&self) -> f64 {
        let (low, high) = self.ends();
        (high - low).max(1.0)
    }

    fn scales(&self) -> Vec<(&'static str, String)> {
        let mut scales = self.facts().map(scale::choices).unwrap_or_default();
        // An outline without a scale gives nothing.
        scales.retain(|(code, _)| self.is_foot() || *code != "none");
        scales
    }

    fn limbs(&self) -> Vec<(&'static str, &'static str)> {
        Limb::ALL.into_iter().map(|limb| (limb.code(), limb.name())).collect()
    }

    fn views(&self) -> [(&'static str, &'static str); 2] {
        foot::VIEWS
    }

    fn wall_marks(&self) -> Vec<(&'static str, &'static str)> {
        let rows = catalogue().diagnostics.figures.wall_marks.iter();
        rows.map(|row| (row.code.as_str(), row.name.as_str())).collect()
    }

    fn structures(&self) -> Vec<(&'static str, &'static str)> {
        let limb = self.sheet.limb.unwrap_or(Limb::LF);
        tendon::structures(limb).map(|item| (item.code.as_str(), item.name.as_str())).collect()
    }

    fn zones(&self) -> Vec<(&'static str, &'static str)> {
        let limb = self.sheet.limb.unwrap_or(Limb::LF);
        let zones = tendon::zones(self.value("structure"), limb);
        zones.iter().map(|zone| (zone.as_str(), zone.as_str())).collect()
    }

    fn scores(&self) -> Vec<&'static ScoreScale> {
        tendon::scores().collect()
    }

    fn steps(scale: &ScoreScale) -> Vec<(usize, String)> {
        scale.steps.iter().enumerate().map(|(step, words)| (step, format!("{step}: {words}"))).collect()
    }

    /// What the marks give so far.
    fn rows(&self) -> Vec<Row> {
        let found = measured::in_order(&self.sheet.marked);
        found
            .map(|(key, number)| {
                let row = catalogue().diagnostics.figures.hoof_measures.get(key);
                Row {
                    label: row
                        .map_or_else(|| measured::area_label(key).unwrap_or_default(), |row| &row.label),
                    what: row.map_or("", |row| &row.name),
                    number: measured::with_unit(key, number),
                    before: self.before(key),
                    references: self.references(key),
                }
            })
            .collect()
    }

    fn before(&self, key: &str) -> Option<String> {
        let limb = self.sheet.limb?.code();
        let same = |kept: &&Kept| {
            kept.limb == limb
                && kept.entry.to_string() != self.value("was")
                && (self.is_foot()
                    || (kept.of == self.value("structure") && kept.zone() == self.value("zone")))
        };
        let (kept, number) =
            self.earlier.iter().rev().filter(same).find_map(|kept| Some((kept, kept.measure(key)?)))?;
        let day = kept.at.day(&self.zone).words();
        Some(format!("{} on {day}, {}", measured::with_unit(key, number), kept.by))
    }

    fn references(&self, key: &str) -> Vec<String> {
        let figures = &catalogue().diagnostics.figures;
        let fore = self.sheet.limb.is_none_or(Limb::is_fore);
        let key = match key {
            "total_mm2" if fore => tendon::reference_key(self.value("structure"), self.value("zone")),
            other => other.to_owned(),
        };
        figures.references_of(&key).map(Reference::words).collect()
    }

    fn lengths_words(&self) -> &'static str {
        match (&self.sheet.marked.pixel_mm, self.sheet.marked.uncorrected) {
            (None, _) => "No scale yet: lengths and areas are not reckoned.",
            (Some(_), true) => "Lengths are uncorrected, at the detector: the horse is smaller.",
            (Some(_), false) => "",
        }
    }

    fn plain_width(&self) -> u32 {
        PLAIN_WIDTH
    }

    fn plain_height(&self) -> u32 {
        let (columns, rows) = self.size();
        PLAIN_WIDTH * u32::from(rows) / u32::from(columns.max(1))
    }

    fn may_keep(&self) -> bool {
        self.shell.may(Act::Examine) && self.sheet.picture.order_id.is_some()
    }
}

pub(in crate::imaging) async fn page(
    FromApp(app): FromApp<App>,
    _: Can<act::SeeRecord>,
    shell: Shell,
    Path(id): Path<ArrivalId>,
    Query(asked): Query<Fields>,
) -> Result<Response> {
    let fields = match asked.get("was").parse::<EntryId>() {
        // What is to be amended is shown as it was kept, until somebody changes it.
        Ok(was) if asked.get("what").is_empty() => kept_fields(&app, id, was).await?,
        _ => asked,
    };
    let mut sheet = Sheet::load(&app, id, fields).await?;
    let errors = std::mem::take(&mut sheet.errors);
    Ok(MeasurePage::new(&app, shell, sheet, errors).await?.into_response())
}

/// The form of something that was measured on this picture.
async fn kept_fields(app: &App, id: ArrivalId, was: EntryId) -> Result<Fields> {
    let db = app.db.read();
    let picture = pictures::get(db, id).await?.ok_or(Error::NotFound)?;
    let horse = picture.horse_id.ok_or(Error::NotFound)?;
    let all = store::of_horse(db, horse).await?;
    let kept = all.into_iter().find(|kept| kept.entry == was).ok_or(Error::NotFound)?;
    let mut fields = Fields::of(&kept.marked);
    fields.set("what", kept.what);
    fields.set("limb", kept.limb);
    fields.set("structure", kept.of);
    fields.set("was", was.to_string());
    Ok(fields)
}

pub(in crate::imaging) async fn keep(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::Examine>,
    shell: Shell,
    Path(id): Path<ArrivalId>,
    Form(fields): Form<Fields>,
) -> Result<Response> {
    let mut once = match begin(&app, fields.get("submission"), Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(first) => return Ok(first),
    };
    let mut sheet = Sheet::load(&app, id, fields).await?;
    let (order, body) = match check(&mut sheet) {
        Ok(checked) => checked,
        Err(errors) => {
            drop(once);
            return Ok(invalid(MeasurePage::new(&app, shell, sheet, errors).await?));
        }
    };
    let back = format!("/diagnostics/{order}#measured");
    append(&mut once, &user, &sheet, order, body).await?;
    flash(&mut once.tx, &user, "Saved.").await?;
    once.commit(&back).await
}

/// What is to be kept, or what is missing.
fn check(sheet: &mut Sheet) -> std::result::Result<(OrderId, Body), Errors> {
    let mut check = Check { errors: std::mem::take(&mut sheet.errors) };
    let fields = &sheet.fields;
    if sheet.facts().is_err() {
        check.errors.add("", "This picture cannot be shown, so nothing can be measured on it.");
    }
    let order = sheet.picture.order_id;
    if order.is_none() {
        check.errors.add("", "This picture belongs to no order yet: match it in the tray of arrivals first.");
    }
    if sheet.limb.is_none() {
        check.errors.add("limb", "Choose the limb.");
    }
    let value = match (sheet.subject, sheet.limb) {
        (Subject::Tendon, Some(limb)) => tendon::check_where(fields, limb, &mut check),
        _ => fields.get("view").to_owned(),
    };
    let nothing = sheet.marked.measures.is_empty() && fields.get("unmeasurable").is_empty();
    if nothing && check.errors.is_empty() {
        check.errors.add("next", sheet.subject.missing());
    }
    let reason = if fields.get("was").is_empty() {
        None
    } else {
        let why = "Say why; both versions stay in the record.";
        Some(check.needed("why", fields.get("why"), LONGEST_REASON, why))
    };
    let body = Body {
        code: Some(sheet.subject.code().to_owned()),
        value: Some(value),
        limb: sheet.limb.map(|limb| limb.code().to_owned()),
        order,
        images: vec![sheet.picture.sha256.clone()],
        marked: Some(sheet.marked.clone()),
        reason,
        ..Body::new(Kind::Measured)
    };
    let body = check.done(body)?;
    order.map(|order| (order, body)).ok_or_else(Errors::default)
}

/// Into the record of the order's visit, in the place of what it amends.
async fn append(once: &mut Once, user: &User, sheet: &Sheet, id: OrderId, body: Body) -> Result<()> {
    let order = diagnostics::store::get(&mut *once.tx, id).await?;
    let clash = |theirs: &str| {
        let clash = Conflict {
            what: format!("measures on a picture of {}", order.name),
            back: format!("/diagnostics/{id}"),
            ..Conflict::default()
        };
        Error::Conflict(Box::new(clash.field("Measured", &measured::measured(&body), theirs)))
    };
    if order.is_closed() {
        return Err(clash("the order is closed"));
    }
    let was = sheet.fields.get("was");
    let mut entry = NewEntry::new(order.visit_id, body.clone());
    if !was.is_empty() {
        let (standing, _) = record::results_of_order(&mut *once.tx, id).await?;
        let measured = |e: &&record::Entry| e.body.as_ref().is_some_and(|body| body.kind == Kind::Measured);
        let found = standing.iter().filter(measured).find(|e| e.id.to_string() == was);
        let Some(found) = found else { return Err(clash("it was amended or taken back meanwhile")) };
        entry = entry.superseding(found.id);
    }
    let now: At = once.now;
    record::append(&mut once.tx, &Stamp::here(user.id, &user.agent, now), &[entry]).await?;
    let what = if was.is_empty() { "measured" } else { "measures amended" };
    diagnostics::store::step(&mut once.tx, id, what, "", user.id, now).await?;
    Ok(())
}
