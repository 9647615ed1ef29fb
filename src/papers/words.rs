//! An entry of the record as words: "effusion, moderate (2 of 4), left fore fetlock, dorsal; firm".
//!
//! Pure: a body goes in, a sentence comes out. A code the catalogue no longer knows is shown as it was kept, so
//! that nothing written down can vanish from a page.

use super::{dosed, exercise, measured, needle, samples, scan};
use crate::{
    catalogue::{Limb, Place, Row, Side, StudyKind, catalogue},
    practice::Practice,
    record::{Body, Kind},
};

/// In which units a practice reads; the record keeps °C and kg.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Units {
    pub fahrenheit: bool,
    pub pounds: bool,
}

impl Units {
    pub fn of(practice: &Practice) -> Self {
        Units { fahrenheit: practice.temperature_unit == "f", pounds: practice.weight_unit == "lb" }
    }
}

/// The whole entry, its place included.
pub fn sentence(body: &Body, units: Units) -> String {
    let place = place(body);
    let text = body.text.clone().unwrap_or_default();
    match body.kind {
        Kind::Place => with_place(&place, &place_state(body)),
        Kind::Finding => finding_at(body, &place),
        Kind::Vital => vital(body, units),
        Kind::Gait | Kind::Flexion => with_place(&place, &movement(body)),
        Kind::Neuro => neuro(body),
        Kind::Problem => problem(body, &place),
        Kind::Override => passed(body),
        Kind::Withdrawal => join(&["taken back", &reason(body)], ": "),
        Kind::Signature => join(&["signed", &text], ": "),
        Kind::Adoption => join(&["late entry taken into the record", &text], ": "),
        Kind::Moved => join(&["the visit was moved to another horse", &reason(body)], ": "),
        Kind::Block => with_place(&place, &needle::block(body)),
        Kind::Reading => with_place(&place, &needle::reading(body)),
        Kind::Consent => needle::consent(body),
        Kind::Caution => join(&["said to hold", &code_name(body), &text], ": "),
        Kind::Shown => with_place(&place, &shown(body)),
        Kind::Measured => with_place(&place, &measured::measured(body)),
        Kind::Scan => body.scan.as_ref().map(scan::words).unwrap_or_default(),
        Kind::Report => join(&[body.value.as_deref().unwrap_or_default(), &reported(body)], ": "),
        Kind::Sample => samples::taken(body),
        Kind::Parcel => samples::sent(body),
        Kind::Enzyme => samples::enzyme(body),
        Kind::Submission => join(&["submission sheet", &samples::answers(body)], ": "),
        Kind::Programme => {
            let said = body.exercise.as_ref().map(|one| exercise::words(one, body));
            said.unwrap_or_default()
        }
        Kind::File => text,
        Kind::Euthanasia => body.death.as_deref().map(dosed::death).unwrap_or_default(),
        Kind::Treatment => with_place(&place, &dosed::treatment(body)),
        Kind::Image | Kind::Note | Kind::Plan | Kind::Addendum => with_place(&place, &text),
    }
}

/// What a report says: the classes it was sorted into, then its own words.
pub fn reported(body: &Body) -> String {
    let classes = samples::classes(body).iter().map(|row| row.name.as_str()).collect::<Vec<_>>().join("; ");
    join(&[&classes, body.text.as_deref().unwrap_or_default()], ". ")
}

/// What images or samples show, without the place: "spur at the joint margin (radiographs)".
pub fn shown(body: &Body) -> String {
    let clear = (body.present == Some(false)).then_some("nothing out of the ordinary");
    let said = join(&[clear.unwrap_or_default(), body.text.as_deref().unwrap_or_default()], "; ");
    match body.code.as_deref().and_then(StudyKind::of) {
        Some(kind) => format!("{said} ({})", kind.name()),
        None => said,
    }
}

/// What was found, without the place: "effusion, moderate (2 of 4), dorsal; firm".
pub fn finding(body: &Body) -> String {
    finding_at(body, "")
}

/// Words of the place, or of the limb alone; empty where the entry has neither.
pub fn place(body: &Body) -> String {
    place_words(body.region.as_deref(), body.side.as_deref(), body.limb.as_deref())
}

/// Words of a place by its stored parts; hoof-tester sites are places on a foot.
pub fn place_words(region: Option<&str>, side: Option<&str>, limb: Option<&str>) -> String {
    let limb_code: Option<Limb> = limb.and_then(|l| l.parse().ok());
    let side_code: Option<Side> = side.and_then(|s| s.parse().ok());
    let Some(region) = region else {
        return limb_code.map_or_else(|| limb.unwrap_or_default().to_owned(), |l| l.name().to_owned());
    };
    if let (Some(site), Some(limb)) = (catalogue().tester_site(region), limb_code) {
        return format!("{} foot, testers: {}", limb.name(), site.name);
    }
    let side = side_code.or_else(|| limb_code.map(Limb::side));
    match side.and_then(|side| Place::new(region, side, limb_code).ok()) {
        Some(place) => place.to_string(),
        None => join(&[region, limb.or(side.map(Side::code)).unwrap_or_default()], " "),
    }
}

/// A grade as its scale says it: "moderate (2 of 4)"; half grades have no word of their own.
pub fn grade(scale: Option<&str>, grade: f64) -> String {
    let Some(scale) = scale.and_then(|s| catalogue().scale(s)) else { return format!("grade {grade}") };
    let (_, most) = scale.range();
    let row = scale.grades.iter().find(|row| (f64::from(row.value) - grade).abs() < f64::EPSILON);
    match row {
        Some(row) => format!("{} ({grade} of {most})", row.word),
        None => format!("{grade} of {most}"),
    }
}

/// A vital sign's number with its unit, as the practice reads it: "38.1 °C".
pub fn vital_number(code: &str, number: f64, units: Units) -> String {
    match (code, catalogue().vital(code)) {
        ("temp_c", _) if units.fahrenheit => format!("{:.1} °F", number * 1.8 + 32.0),
        ("weight_kg", _) if units.pounds => format!("{:.0} lb", number * 2.204_622_6),
        (_, Some(vital)) => {
            let whole = number.fract() == 0.0 && vital.scale.is_some();
            let decimals = if whole { 0 } else { usize::from(vital.decimals) };
            format!("{number:.decimals$} {}", vital.unit)
        }
        (_, None) => number.to_string(),
    }
}

/// The condition, test or item that an entry's code names, in words.
pub fn code_name(body: &Body) -> String {
    let code = body.code.as_deref().unwrap_or_default();
    let c = catalogue();
    let known = match body.kind {
        Kind::Gait => c.condition(code).map(|row| row.name.as_str()),
        Kind::Flexion => c.flexion(code).map(|row| row.name.as_str()),
        // Ataxia is graded over the whole screen and is no item of it.
        Kind::Neuro if code == "ATAX" => Some("ataxia"),
        Kind::Neuro => c.neuro(code).map(|row| row.name.as_str()),
        Kind::Vital => c.vital(code).map(|row| row.name.as_str()),
        Kind::Override | Kind::Caution => {
            let check = || c.care.checks.get(code).map(|row| row.name.as_str());
            c.caution(code).map(|row| row.name.as_str()).or_else(check)
        }
        Kind::Finding => c.finding(code).map(|row| row.name.as_str()),
        _ => None,
    };
    known.or_else(|| field_label(body, code)).unwrap_or(code).to_owned()
}

/// The answer to a gait, flexion or neurological item, without its limb.
pub fn answer(body: &Body) -> String {
    let mut parts = Vec::new();
    match (body.grade, body.present) {
        (Some(g), _) => parts.push(grade(body.scale.as_deref(), g)),
        (None, Some(true)) if body.kind == Kind::Neuro => parts.push("abnormal".to_owned()),
        (None, Some(false)) if body.kind == Kind::Neuro => parts.push("normal".to_owned()),
        (None, Some(true)) => parts.push("positive".to_owned()),
        (None, Some(false)) => parts.push("negative".to_owned()),
        (None, None) => {}
    }
    parts.extend(body.value.iter().map(|v| pick_name(body, v)));
    parts.extend(body.qualities.iter().cloned());
    if let (Kind::Flexion, Some(seconds)) = (body.kind, body.number) {
        parts.push(format!("held {seconds} s"));
    }
    parts.extend(body.held_by.iter().map(|who| format!("by {who}")));
    parts.extend(body.text.clone());
    parts.join(", ")
}

fn movement(body: &Body) -> String {
    let what = match body.kind {
        Kind::Flexion => format!("flexion, {}", code_name(body)),
        _ => code_name(body),
    };
    join(&[&what, &answer(body)], ": ")
}

fn neuro(body: &Body) -> String {
    let side = match body.side.as_deref().and_then(|s| s.parse::<Side>().ok()) {
        Some(side) if side != Side::M => side.name(),
        _ => "",
    };
    let limb = body.limb.as_deref().and_then(|l| l.parse::<Limb>().ok()).map_or("", Limb::name);
    let name = join(&[&code_name(body), if limb.is_empty() { side } else { limb }], ", ");
    join(&[&name, &answer(body)], ": ")
}

fn vital(body: &Body, units: Units) -> String {
    let code = body.code.as_deref().unwrap_or_default();
    let number = body.number.map(|n| vital_number(code, n, units));
    let said = number.or_else(|| body.grade.map(|g| grade(body.scale.as_deref(), g))).unwrap_or_default();
    let name = join(&[&code_name(body), &said], " ");
    join(&[&name, body.text.as_deref().unwrap_or_default()], "; ")
}

fn place_state(body: &Body) -> String {
    let why = body.text.as_deref().unwrap_or_default();
    match body.present {
        Some(false) => join(&["nothing found", why], "; "),
        _ => join(&["could not be examined", why], ": "),
    }
}

fn finding_at(body: &Body, place: &str) -> String {
    let name = code_name(body);
    let graded = body.grade.filter(|_| body.present != Some(false));
    let negative = body.present == Some(false) && body.value.is_none();
    let mut said = vec![if negative { format!("no {name}") } else { name }];
    said.extend(graded.map(|g| grade(body.scale.as_deref(), g)));
    said.extend(body.value.iter().map(|v| pick_name(body, v)));
    said.extend(body.number.map(|n| measured(body, n)));
    if !place.is_empty() {
        said.push(place.to_owned());
    }
    said.extend(body.aspect.iter().map(|a| aspect(a)));
    let tail: Vec<String> = body.qualities.iter().cloned().chain(body.text.clone()).collect();
    join(&[&said.join(", "), &tail.join(", ")], "; ")
}

fn problem(body: &Body, place: &str) -> String {
    let text = body.text.as_deref().unwrap_or_default();
    let what = join(&[text, place], ", ");
    match body.value.as_deref() {
        Some(certainty) if !certainty.is_empty() => format!("{what} ({})", certainty.replace('_', " ")),
        _ => what,
    }
}

fn passed(body: &Body) -> String {
    let went_on = format!("went on in spite of: {}", code_name(body));
    let because = match reason(body) {
        r if r.is_empty() => r,
        r => format!("because: {r}"),
    };
    join(&[&with_place(&place(body), &went_on), &because], "; ")
}

/// The catalogue's field of a foot item that this code names.
fn field_label<'a>(body: &Body, code: &str) -> Option<&'a str> {
    let region = catalogue().region(body.region.as_deref()?)?;
    region.field(code).map(|field| field.label.as_str())
}

/// A picked answer's name: a field's pick, a scale's mark, or the word as it was kept.
fn pick_name(body: &Body, value: &str) -> String {
    let field = body.region.as_deref().and_then(|r| catalogue().region(r));
    let picked = field.and_then(|region| region.field(body.code.as_deref().unwrap_or_default()));
    let name = |one: &str| {
        let mark = body.scale.as_deref().and_then(|s| catalogue().scale(s));
        picked
            .and_then(|field| field.pick(one))
            .map(|pick| pick.name.clone())
            .or_else(|| mark.and_then(|s| s.marks.iter().find(|m| m.code == one)).map(|m| m.word.clone()))
            .unwrap_or_else(|| one.to_owned())
    };
    if picked.is_some_and(|field| field.pick(value).is_none()) {
        return value.split([' ', ',']).filter(|v| !v.is_empty()).map(name).collect::<Vec<_>>().join(", ");
    }
    name(value)
}

fn measured(body: &Body, number: f64) -> String {
    let code = body.code.as_deref().unwrap_or_default();
    let field = body.region.as_deref().and_then(|r| catalogue().region(r)).and_then(|r| r.field(code));
    let unit = field
        .and_then(|f| f.unit.as_deref())
        .or_else(|| catalogue().finding(code).and_then(|f| f.measure_unit.as_deref()))
        .unwrap_or_default();
    join(&[&number.to_string(), unit], " ")
}

fn aspect(code: &str) -> String {
    let known = catalogue().modifiers.aspects.iter().find(|row| row.code() == code);
    known.map_or_else(|| code.to_owned(), |row| row.name.clone())
}

fn reason(body: &Body) -> String {
    body.reason.clone().unwrap_or_default()
}

/// What is said of a place, its words before it.
pub fn with_place(place: &str, said: &str) -> String {
    join(&[place, said], ": ")
}

/// The parts that say something, with `between` between them.
pub(super) fn join(parts: &[&str], between: &str) -> String {
    parts.iter().filter(|p| !p.is_empty()).copied().collect::<Vec<_>>().join(between)
}

/// The catalogue's words at the beginning of a line.
pub fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
