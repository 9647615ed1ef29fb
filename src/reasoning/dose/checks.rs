//! What is asked at the moment of prescribing: from the facts of a horse and a medicine to the checks that are raised.
//! How one goes on over each stands in its row of `data/care.toml`.

use super::{
    Kg, Mg, Warning,
    sums::{Course, Part, local_sum, steroid_load},
};
use crate::{
    catalogue::{
        catalogue,
        formulary::{Food, Group},
    },
    clock::At,
};

/// Another medicine that this horse got or gets.
#[derive(Clone, Debug, PartialEq)]
pub struct Other {
    pub medicine: String,
    pub name: String,
    pub group: Group,
    pub mg: Option<Mg>,
    pub at: At,
    pub course: Course,
    /// At this visit.
    pub here: bool,
}

/// Something that is known about the horse: the code and words of a risk.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Risk {
    pub code: String,
    pub words: String,
}

#[derive(Clone, Debug)]
#[expect(clippy::struct_excessive_bools, reason = "each is a fact of its own that a check asks")]
pub struct Facts {
    pub medicine: String,
    pub name: String,
    pub group: Group,
    pub food: Food,
    /// A veterinarian of the practice has confirmed the row.
    pub confirmed: bool,
    /// On the label, and labelled where the practice is.
    pub labelled_here: bool,
    /// Signed out of the food chain.
    pub food_excluded: bool,
    pub weight: Option<Kg>,
    pub weight_doubts: Vec<String>,
    /// One dose.
    pub mg: Option<Mg>,
    pub at: At,
    pub course: Course,
    pub others: Vec<Other>,
    /// Local anaesthetics of blocks: agent, amount, when.
    pub blocks: Vec<(String, Mg, At)>,
    pub risks: Vec<Risk>,
    pub bcs: Option<f64>,
    pub crest: Option<f64>,
    /// Laminitis grade of this visit.
    pub obel: Option<f64>,
    pub temp_c: Option<f64>,
    pub foal: bool,
    pub gait_seen: bool,
}

/// Everything that is raised, in the order of the catalogue.
pub fn raised(facts: &Facts) -> Vec<Warning> {
    let mut found = Vec::new();
    food(facts, &mut found);
    if !facts.confirmed {
        found.push(warning("DOSE_UNCONFIRMED", String::new()));
    }
    if !facts.labelled_here {
        found.push(warning("OFF_LABEL", String::new()));
    }
    found.extend(facts.weight_doubts.iter().map(|words| warning("DOSE_WEIGHT", words.clone())));
    risks(facts, &mut found);
    match facts.group {
        Group::Nsaid => nsaid(facts, &mut found),
        Group::Steroid => steroid(facts, &mut found),
        Group::Local => local(facts, &mut found),
        Group::Alpha2 => alpha2(facts, &mut found),
        _ => {}
    }
    if facts.group.sedates() && facts.gait_seen {
        found.push(warning("SEDATED_GAIT", "A gait is recorded at this visit.".to_owned()));
    }
    let place = |code: &str| catalogue().care.checks.iter().position(|row| row.code == code);
    found.sort_by_key(|one| catalogue().care.checks.get(one.check).map(|row| (row.pass, place(one.check))));
    found
}

fn warning(check: &'static str, words: String) -> Warning {
    Warning { check, words }
}

fn food(facts: &Facts, found: &mut Vec<Warning>) {
    if facts.food_excluded {
        return;
    }
    match facts.food {
        Food::Prohibited => found.push(warning("FOOD_STOP", String::new())),
        Food::Essential => found.push(warning("FOOD_ESSENTIAL", String::new())),
        Food::Label => found.push(warning("FOOD_LABEL", String::new())),
        Food::Withdrawal => {}
    }
}

fn risks(facts: &Facts, found: &mut Vec<Warning>) {
    let holds = |code: &str| catalogue().care.risk(code).is_some_and(|row| row.groups.contains(&facts.group));
    for risk in facts.risks.iter().filter(|risk| holds(&risk.code)) {
        let check = match (risk.code.as_str(), facts.group) {
            ("reaction", _) => "REACTED",
            (_, Group::Nsaid) => "NSAID_FRAIL",
            (_, Group::Steroid) => "STEROID_RISK",
            (_, Group::Alpha2) => "ALPHA2_RISK",
            _ => continue,
        };
        found.push(warning(check, risk.words.clone()));
    }
}

fn nsaid(facts: &Facts, found: &mut Vec<Warning>) {
    for other in facts.others.iter().filter(|other| other.medicine != facts.medicine) {
        if !facts.course.is_near(&other.course) {
            continue;
        }
        match other.group {
            Group::Nsaid => {
                found.push(warning("TWO_NSAIDS", format!("{} beside {}.", facts.name, other.name)));
            }
            Group::Steroid => found.push(warning("NSAID_STEROID", format!("Beside {}.", other.name))),
            _ => {}
        }
    }
    if facts.foal {
        found.push(warning("NSAID_FRAIL", "A foal.".to_owned()));
    }
    if !facts.gait_seen {
        found.push(warning("NSAID_BEFORE_GAIT", String::new()));
    }
}

fn steroid(facts: &Facts, found: &mut Vec<Warning>) {
    let known = catalogue();
    let here = facts.others.iter().filter(|other| other.here && other.group == Group::Steroid);
    let parts = here.filter_map(|other| Some(Part { medicine: &other.medicine, mg: other.mg? }));
    let new = facts.mg.map(|mg| Part { medicine: &facts.medicine, mg });
    let load = steroid_load(parts.chain(new));
    if load > 1.0 {
        let words = format!(
            "{:.0} % of what is usual for one horse, all steroids of this visit together.",
            load * 100.0
        );
        found.push(warning("STEROID_LOAD", words));
    }
    #[expect(clippy::cast_possible_truncation, reason = "days of the catalogue are few")]
    let recent = (known.care.number("steroid_recent_days") * 1440.0) as i64;
    let mut because = Vec::new();
    let over = |score: Option<f64>, code: &str| score.filter(|score| *score >= known.weighing.number(code));
    because.extend(over(facts.bcs, "condition_at_risk").map(|score| format!("Body condition {score} of 9.")));
    because.extend(over(facts.crest, "crest_at_risk").map(|score| format!("Crest {score} of 5.")));
    because.extend(
        facts
            .obel
            .filter(|grade| *grade > 0.0)
            .map(|grade| format!("Laminitis, Obel {grade}, at this visit.")),
    );
    let before = |other: &&Other| {
        let age = facts.at.minutes_since(other.at);
        other.group == Group::Steroid && !other.here && (0..=recent).contains(&age)
    };
    because.extend(facts.others.iter().filter(before).map(|other| format!("{} not long ago.", other.name)));
    found.extend(because.into_iter().map(|words| warning("STEROID_RISK", words)));
    for other in
        facts.others.iter().filter(|other| other.group == Group::Nsaid && facts.course.is_near(&other.course))
    {
        found.push(warning("NSAID_STEROID", format!("Beside {}.", other.name)));
    }
}

/// Blocks and other local anaesthetics of the last hours together with this one.
fn local(facts: &Facts, found: &mut Vec<Warning>) {
    let Some(weight) = facts.weight else { return };
    #[expect(clippy::cast_possible_truncation, reason = "hours of the catalogue are few")]
    let window = (catalogue().care.number("local_window_h") * 60.0) as i64;
    let near = |at: At| facts.at.minutes_since(at).abs() <= window;
    let blocks = facts
        .blocks
        .iter()
        .filter(|(_, _, at)| near(*at))
        .map(|(medicine, mg, _)| Part { medicine, mg: *mg });
    let others = facts.others.iter().filter(|other| other.group == Group::Local && near(other.at));
    let others = others.filter_map(|other| Some(Part { medicine: &other.medicine, mg: other.mg? }));
    let new = facts.mg.map(|mg| Part { medicine: &facts.medicine, mg });
    let sum = local_sum(blocks.chain(others).chain(new), weight);
    let words = format!("{:.0} % of the ceiling, blocks included.", sum.stop * 100.0);
    if sum.stop >= 1.0 {
        found.push(warning("LOCAL_STOP", words));
    } else if sum.warn >= 1.0 {
        found.push(warning("LOCAL_SUM", words));
    }
}

fn alpha2(facts: &Facts, found: &mut Vec<Warning>) {
    let fever = catalogue().care.number("fever_c");
    if let Some(temp) = facts.temp_c.filter(|temp| *temp >= fever) {
        found.push(warning("ALPHA2_RISK", format!("{temp} °C at this visit.")));
    }
}
