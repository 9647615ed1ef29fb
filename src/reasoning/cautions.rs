//! Which cautions of the catalogue a visit raises, and by what: from the caller's words, the horse, and what was
//! seen so far. Each is a proposal with its reasons; a person decides.

use crate::catalogue::{Caution, GradeTrigger, Limb, Pair, Severity, Where, catalogue};

/// What is known about a horse at a visit, as far as cautions hang on it.
#[derive(Debug, Default)]
pub struct Facts<'a> {
    /// Codes of the caller's answers.
    pub weight_bearing: Vec<&'a str>,
    pub onsets: Vec<&'a str>,
    /// Medicines given before the visit, in the caller's words.
    pub medicines: Vec<&'a str>,
    /// Painkillers and sedatives that were given at the visit.
    pub given: Vec<&'a str>,
    /// Codes of the horse's warnings.
    pub temperament: Vec<&'a str>,
    pub foal: bool,
    /// Codes of cautions that a person says hold.
    pub named: Vec<&'a str>,
    pub signs: Vec<Sign<'a>>,
}

/// One thing that was seen, felt or measured.
#[derive(Debug, Clone, Copy)]
pub enum Sign<'a> {
    /// A grade; with the gait and limb, or the pair, that it was given for.
    Grade { scale: &'a str, grade: f64, gait: Option<&'a str>, limb: Option<Limb>, pair: Option<Pair> },
    /// A finding that is there.
    Finding { code: &'a str, region: &'a str, at: &'a str },
    /// A neurological item that is abnormal.
    Item { code: &'a str },
    /// A vital sign, in the unit of its code.
    Vital { code: &'a str, number: f64 },
}

/// A caution that holds now.
#[derive(Debug, Clone, PartialEq)]
pub struct Raise {
    pub code: &'static str,
    /// What it is, in a few words.
    pub name: &'static str,
    /// The sentence at the point of use.
    pub words: &'static str,
    pub severity: Severity,
    pub shown_at: &'static [Where],
    /// What raised it, never empty.
    pub because: Vec<String>,
    /// Whether the horse's card alone raises it, which every page about the horse shows at its head.
    pub by_card: bool,
}

/// Every caution that the facts raise, hardest first. The horse's own warnings come last.
pub fn raised(facts: &Facts) -> Vec<Raise> {
    let mut all: Vec<Raise> = catalogue().cautions.iter().filter_map(|row| raise(row, facts)).collect();
    all.sort_by_key(|raise| raise.severity);
    all.extend(facts.temperament.iter().filter_map(|code| warning(code)));
    all
}

/// Standing advice at a point of use, which holds for every horse.
pub fn advice(at: Where) -> Vec<&'static Caution> {
    catalogue().cautions_at(at).into_iter().filter(|row| row.always).collect()
}

fn raise(row: &'static Caution, facts: &Facts) -> Option<Raise> {
    let mut because = warned(row, facts);
    let known = because.len();
    because.extend(told(row, facts));
    because.extend(graded(row, facts));
    because.extend(facts.signs.iter().filter_map(|sign| seen(row, sign, facts)));
    let by_card = because.len() == known;
    because.dedup();
    let raise = Raise {
        code: &row.code,
        name: &row.name,
        words: &row.text,
        severity: row.severity,
        shown_at: &row.shown_at,
        because,
        by_card,
    };
    (!raise.because.is_empty()).then_some(raise)
}

/// What the horse's own warnings raise.
fn warned(row: &Caution, facts: &Facts) -> Vec<String> {
    let codes = facts.temperament.iter().filter(|code| row.temperament.iter().any(|c| c == *code));
    let words =
        |code: &&str| catalogue().horse.temperament.get(code).map_or((*code).to_owned(), |c| c.name.clone());
    codes.map(|code| format!("known of this horse: {}", words(code))).collect()
}

/// What the caller says raises, and the horse's age.
fn told(row: &Caution, facts: &Facts) -> Vec<String> {
    let mut because = Vec::new();
    let lists = catalogue();
    for code in facts.weight_bearing.iter().filter(|code| row.weight_bearing.iter().any(|c| c == *code)) {
        let words = lists.complaint.weight_bearing.get(code).map_or(*code, |choice| &choice.name);
        because.push(format!("the caller says it {words}"));
    }
    if facts.named.contains(&row.code.as_str()) {
        because.push("said at this visit".to_owned());
    }
    if row.foal && facts.foal {
        because.push("less than a year old".to_owned());
    }
    if row.medicines {
        let given = facts.medicines.iter().filter(|words| is_medicine(words));
        because.extend(given.map(|words| format!("given before the visit: {words}")));
        because.extend(facts.given.iter().map(|name| format!("given at this visit: {name}")));
    }
    because
}

/// Whether the caller's answer about medicines names one.
fn is_medicine(words: &str) -> bool {
    let words = words.trim().trim_end_matches('.').to_lowercase();
    !matches!(words.as_str(), "" | "-" | "no" | "none" | "nothing" | "nil" | "not any" | "no medicines")
}

/// Grades raise a caution one by one where they are high enough; a caution about too little lameness looks at the
/// worst limb only.
fn graded(row: &Caution, facts: &Facts) -> Vec<String> {
    let mut because = Vec::new();
    for trigger in &row.grades {
        if trigger.onsets.iter().any(|code| facts.onsets.contains(&code.as_str()))
            || trigger.onsets.is_empty()
        {
            let grades = facts.signs.iter().filter(|sign| is_judged(trigger, sign));
            if trigger.below.is_some() {
                because.extend(
                    grades.max_by(|a, b| grade_of(a).total_cmp(&grade_of(b))).and_then(|s| met(trigger, s)),
                );
            } else {
                because.extend(grades.filter_map(|sign| met(trigger, sign)));
            }
        }
    }
    because
}

fn grade_of(sign: &Sign) -> f64 {
    if let Sign::Grade { grade, .. } = sign { *grade } else { 0.0 }
}

/// Whether a grade is one that the trigger looks at: its scale, its gait, its pair of limbs. Nought is no grade of
/// anything.
fn is_judged(trigger: &GradeTrigger, sign: &Sign) -> bool {
    let Sign::Grade { scale, grade, gait, limb, pair } = sign else { return false };
    let pair = pair.or(limb.map(|limb| if limb.is_fore() { Pair::Fore } else { Pair::Hind }));
    *grade > 0.0
        && *scale == trigger.scale
        && trigger.gait.as_deref().is_none_or(|wanted| *gait == Some(wanted))
        && trigger.pair.is_none_or(|wanted| pair == Some(wanted))
}

fn met(trigger: &GradeTrigger, sign: &Sign) -> Option<String> {
    let Sign::Grade { scale, grade, gait, limb, pair } = sign else { return None };
    trigger.is_met(scale, *grade).then(|| {
        let what = catalogue().scale(scale).map_or(*scale, |row| &row.title);
        let limb = limb.map(|limb| format!(", {}", limb.name())).unwrap_or_default();
        let pair = match pair {
            Some(Pair::Fore) => ", fore",
            Some(Pair::Hind) => ", hind",
            None => "",
        };
        let gait = gait.map(|gait| format!(" at {gait}")).unwrap_or_default();
        format!("{what}: {grade}{limb}{pair}{gait}")
    })
}

/// What one sign raises by being there.
fn seen(row: &Caution, sign: &Sign, facts: &Facts) -> Option<String> {
    let lists = catalogue();
    match sign {
        Sign::Grade { .. } => None,
        Sign::Finding { code, region, at } => row.is_raised_by_finding(code, region).then(|| {
            let name = lists.finding(code).map_or(*code, |finding| &finding.name);
            if at.is_empty() { name.to_owned() } else { format!("{name}, {at}") }
        }),
        Sign::Item { code } => row
            .items
            .iter()
            .any(|item| item == code)
            .then(|| format!("{} abnormal", lists.neuro(code).map_or(*code, |item| &item.name))),
        // The limits are an adult's.
        Sign::Vital { .. } if facts.foal => None,
        Sign::Vital { code, number } => {
            let limit = row.vitals.iter().find(|limit| limit.code == *code && *number > limit.above)?;
            let vital = lists.vital(code)?;
            Some(format!("{} {number} {}, above {}", vital.name, vital.unit, limit.above))
        }
    }
}

fn warning(code: &str) -> Option<Raise> {
    let row = catalogue().horse.temperament.get(code)?;
    Some(Raise {
        code: &row.code,
        name: &row.name,
        words: row.text.as_deref().unwrap_or(&row.name),
        severity: Severity::Caution,
        shown_at: &row.shown_at,
        because: vec!["known of this horse".to_owned()],
        by_card: true,
    })
}
