//! The cautions of a visit: raised by what the caller said, by the horse's card and by what stands in the record;
//! and going on in spite of one, with a reason, kept with who and when.

use axum::{extract::State, response::Response};

use super::{Sent, Typed, raised_under};
use crate::{
    App,
    accounts::{Can, act},
    catalogue::{Caution, Limb, Pair, Severity, Where, catalogue, formulary::Group},
    clock::{At, Day},
    horses::Card,
    ids::{StaffId, VisitId},
    papers::words,
    reasoning::cautions::{Facts, Sign, raised},
    record::{Body, Dosed, Entry, How, Kind},
    visits::Complaint,
    web::{Check, Form, Path, Result},
};

/// A caution that holds at this visit.
#[derive(Debug, Clone, PartialEq)]
pub struct Raised {
    pub code: &'static str,
    /// What it is, in a few words.
    pub name: &'static str,
    /// The sentence at the point of use.
    pub words: &'static str,
    pub severity: Severity,
    pub shown_at: &'static [Where],
    /// What raised it, in words.
    pub because: String,
    /// Whether the horse's card alone raises it.
    pub by_card: bool,
    pub overridden: Option<Passed>,
    /// The points of use at which somebody went on: leave for one is none for another.
    pub passed_at: Vec<Where>,
}

/// Somebody went on all the same.
#[derive(Debug, Clone, PartialEq)]
pub struct Passed {
    pub who: String,
    pub when: At,
    pub reason: String,
}

impl Raised {
    /// Whether work at this point goes on only with a reason, and none was given.
    pub fn stops(&self, at: Where) -> bool {
        self.severity == Severity::HardStop && self.shown_at.contains(&at) && !self.passed_at.contains(&at)
    }

    /// Whether somebody went on over it with a needle.
    pub fn is_passed_for_blocks(&self) -> bool {
        self.passed_at.contains(&Where::Blocks)
    }

    /// Whether a needle waits for a reason: before a block, a milder stop is one too.
    pub fn holds_needle(&self) -> bool {
        self.severity != Severity::Caution
            && self.shown_at.contains(&Where::Blocks)
            && !self.passed_at.contains(&Where::Blocks)
    }

    /// The entry that says that flexion or a block went on over it, and why.
    pub fn passed_with(&self, at: Where, reason: &str) -> Body {
        let mut body = Body::new(Kind::Override);
        body.code = Some(self.code.to_owned());
        body.value = Some(point(at).to_owned());
        body.text = Some(self.because.clone());
        body.reason = Some(reason.to_owned());
        body
    }

    /// Its name at the beginning of a line.
    pub fn title(&self) -> String {
        super::capital(self.name)
    }

    pub fn is_hard(&self) -> bool {
        self.severity == Severity::HardStop
    }
}

/// How an override names the work that went on.
fn point(at: Where) -> &'static str {
    if at == Where::Blocks { "blocks" } else { "flexion" }
}

/// Every caution of a visit, hardest first, from its standing entries, from those that are about to stand beside them,
/// and from what was known before it.
pub fn for_visit(
    entries: &[Entry],
    coming: &[Body],
    complaints: &[Complaint],
    card: &Card,
    today: Day,
    name: impl Fn(StaffId) -> String,
) -> Vec<Raised> {
    let bodies: Vec<&Body> = entries.iter().filter_map(|entry| entry.body.as_ref()).chain(coming).collect();
    let places: Vec<String> = bodies.iter().map(|body| words::place(body)).collect();
    let facts = Facts {
        weight_bearing: complaints.iter().map(|c| c.weight_bearing.as_str()).collect(),
        onsets: complaints.iter().map(|c| c.onset.as_str()).collect(),
        medicines: complaints.iter().map(|c| c.medicines.as_str()).collect(),
        given: bodies.iter().filter_map(|body| masks(body.dosed.as_deref()?)).collect(),
        temperament: card.temperament.split_whitespace().collect(),
        foal: card.age(today) == Some(0),
        named: bodies.iter().filter(|b| b.kind == Kind::Caution).filter_map(|b| b.code.as_deref()).collect(),
        signs: bodies.iter().zip(&places).filter_map(|(body, place)| sign(body, place)).collect(),
    };
    let each = raised(&facts).into_iter().map(|raise| Raised {
        code: raise.code,
        name: raise.name,
        words: raise.words,
        severity: raise.severity,
        shown_at: raise.shown_at,
        because: raise.because.join("; "),
        by_card: raise.by_card,
        overridden: passed(entries, raise.code, &name),
        passed_at: passed_at(&bodies, raise.code),
    });
    each.collect()
}

/// The name of a medicine that was given and changes how a horse goes.
fn masks(dosed: &Dosed) -> Option<&str> {
    let masks = dosed.group == Group::Nsaid || dosed.group.sedates();
    (dosed.how == How::Administered && masks).then_some(dosed.name.as_str())
}

/// A caution that only one point of use raises, by what stands in the record.
pub fn raised_by(
    entries: &[Entry],
    caution: &'static Caution,
    because: String,
    name: impl Fn(StaffId) -> String,
) -> Raised {
    let bodies: Vec<&Body> = entries.iter().filter_map(|entry| entry.body.as_ref()).collect();
    Raised {
        code: &caution.code,
        name: &caution.name,
        words: &caution.text,
        severity: caution.severity,
        shown_at: &caution.shown_at,
        because,
        by_card: false,
        overridden: passed(entries, &caution.code, &name),
        passed_at: passed_at(&bodies, &caution.code),
    }
}

/// Who went on over a caution last.
fn passed(entries: &[Entry], code: &str, name: &impl Fn(StaffId) -> String) -> Option<Passed> {
    let mut newest = entries.iter().rev().filter_map(|entry| Some((entry, entry.body.as_ref()?)));
    let (entry, body) =
        newest.find(|(_, body)| body.kind == Kind::Override && body.code.as_deref() == Some(code))?;
    let reason = body.reason.clone().unwrap_or_default();
    Some(Passed { who: name(entry.entered_by), when: entry.seen(), reason })
}

/// The points of use at which somebody went on over it.
fn passed_at(bodies: &[&Body], code: &str) -> Vec<Where> {
    let ours = bodies.iter().filter(|b| b.kind == Kind::Override && b.code.as_deref() == Some(code));
    let at = |body: &&Body| {
        if body.value.as_deref() == Some("blocks") { Where::Blocks } else { Where::Flexion }
    };
    ours.map(at).collect()
}

/// What an entry can raise a caution by.
fn sign<'a>(body: &'a Body, place: &'a str) -> Option<Sign<'a>> {
    let code = body.code.as_deref()?;
    let limb: Option<Limb> = body.limb.as_deref().and_then(|limb| limb.parse().ok());
    let graded = |gait, pair| {
        Some(Sign::Grade { scale: body.scale.as_deref()?, grade: body.grade?, gait, limb, pair })
    };
    match body.kind {
        Kind::Finding if body.present == Some(true) => {
            Some(Sign::Finding { code, region: body.region.as_deref().unwrap_or_default(), at: place })
        }
        Kind::Gait => graded(catalogue().condition(code).map(|row| row.gait.as_str()), None),
        Kind::Neuro if body.grade.is_some() => graded(None, pair_of(body)),
        Kind::Neuro if body.present == Some(true) => Some(Sign::Item { code }),
        Kind::Vital if body.grade.is_some() => graded(None, None),
        Kind::Vital => Some(Sign::Vital { code, number: body.number? }),
        _ => None,
    }
}

fn pair_of(body: &Body) -> Option<Pair> {
    match body.value.as_deref()? {
        "fore" => Some(Pair::Fore),
        "hind" => Some(Pair::Hind),
        _ => None,
    }
}

/// Going on in spite of cautions: one reason, one entry for each that stops here.
pub(super) async fn go_on(
    State(app): State<App>,
    can: Can<act::Examine>,
    Path(visit): Path<VisitId>,
    Form(pairs): Form<Vec<(String, String)>>,
) -> Result<Response> {
    // Whoever is signed in decides this, whoever saw the rest.
    let typed = Typed(pairs.into_iter().filter(|(name, _)| name != "seen_by").collect());
    let sent = Sent { app: &app, user: &can.user, visit, section: "caution", typed };
    let mut check = Check::new();
    let missing = "Write why it is done all the same; it stays in the record with your name.";
    let reason = check.needed_words("caution_reason", sent.typed.get("caution_reason"), 500, missing);
    if let Err(errors) = check.done(()) {
        return sent.again(errors).await;
    }
    let mut writing = match sent.open().await? {
        Ok(writing) => writing,
        Err(answer) => return Ok(answer),
    };
    let stops = raised_under(&mut writing, &[]).await?;
    let named: Vec<&str> = sent.typed.all("code").collect();
    let mut entries = Vec::new();
    for stop in stops.iter().filter(|stop| stop.stops(Where::Flexion) && named.contains(&stop.code)) {
        entries.push(writing.entry(stop.passed_with(Where::Flexion, &reason)));
    }
    writing.keep(entries, &sent.way().at("flexion", "flexion")).await
}
