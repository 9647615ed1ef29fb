//! What was read of a line, as chips: each a question whose answers are what would be recorded.

use crate::{
    catalogue::{Limb, Plausibility, Scale, catalogue},
    papers::words,
    practice::Practice,
    reasoning::line::{Answer, Ask, Block, Examined, Finding, Flexion, Gait, Reading, Vital},
    record::{Body, Kind},
};

/// The scale that a flexion is graded on when the line names none.
const FLEXION_SCALE: &str = "flexion_0_4";
/// How a weight was come by, as the page of the vital signs asks.
const METHODS: [(&str, &str); 3] = [("scale", "scales"), ("tape", "tape"), ("estimate", "by eye")];

/// One thing that was read.
pub(super) struct Chip {
    /// In the words of the record: "left fore fetlock, dorsal: effusion, mild (1 of 4)".
    pub words: String,
    /// The words of the line it came from.
    pub said: String,
    /// What is open; empty when it may be recorded as it stands.
    pub question: String,
    /// The first is what was read, where that is certain.
    pub choices: Vec<Choice>,
}

/// One answer of a chip.
pub(super) struct Choice {
    pub label: String,
    /// The entries it would make, as canonical JSON.
    pub value: String,
    pub chosen: bool,
}

impl Chip {
    pub(super) fn is_certain(&self) -> bool {
        self.choices.iter().any(|choice| choice.chosen)
    }

    /// What it may be changed to, besides what was read.
    pub(super) fn others(&self) -> &[Choice] {
        if self.is_certain() { self.choices.get(1..).unwrap_or_default() } else { &self.choices }
    }

    /// A chip that may be recorded as it stands, and what it may be changed to.
    fn certain(bodies: &[Body], said: &str, practice: &Practice) -> Self {
        let choices = vec![Choice { chosen: true, ..option("as read", bodies) }];
        Chip { words: sentence(bodies, practice), said: said.to_owned(), question: String::new(), choices }
    }

    fn open(words: String, said: &str, question: &str, choices: Vec<Choice>) -> Self {
        Chip { words, said: said.to_owned(), question: question.to_owned(), choices }
    }
}

fn option(label: &str, bodies: &[Body]) -> Choice {
    let value = serde_json::to_string(bodies).unwrap_or_default();
    Choice { label: label.to_owned(), value, chosen: false }
}

fn sentence(bodies: &[Body], practice: &Practice) -> String {
    let units = words::Units::of(practice);
    match bodies {
        [one] => words::sentence(one, units),
        [first, ..] => {
            let limbs: Vec<&str> = bodies.iter().filter_map(|body| body.limb.as_deref()).collect();
            let mut names: Vec<&str> =
                limbs.iter().filter_map(|limb| limb.parse::<Limb>().ok()).map(Limb::name).collect();
            names.dedup();
            match (first.kind, names.as_slice()) {
                (Kind::Place, []) => format!("nothing found at {} places", bodies.len()),
                (Kind::Place, names) => {
                    format!("{}: nothing found at {} places", names.join(", "), bodies.len())
                }
                _ => bodies.iter().map(|body| words::sentence(body, units)).collect::<Vec<_>>().join("; "),
            }
        }
        [] => String::new(),
    }
}

/// The chips of a reading, in its order by kind; what was not read comes last, as a note.
pub(super) fn of(reading: &Reading, practice: &Practice) -> Vec<Chip> {
    let mut chips: Vec<Chip> = reading.findings.iter().map(|row| finding(row, practice)).collect();
    chips.extend(examined(&reading.examined, practice));
    chips.extend(reading.vitals.iter().map(|row| vital(row, practice)));
    chips.extend(reading.gait.iter().map(|row| gait(row, practice)));
    chips.extend(reading.flexion.iter().map(|row| flexion(row, practice)));
    chips.extend(reading.blocks.iter().map(|row| Chip::certain(&[block_body(row)], &row.text, practice)));
    chips.extend(reading.ask.iter().map(|ask| asked(ask, practice)));
    if !reading.unread.is_empty() {
        let mut chip = Chip::certain(&[note(&reading.unread)], &reading.unread, practice);
        chip.words = format!("note: {}", reading.unread);
        chips.push(chip);
    }
    chips
}

fn note(words: &str) -> Body {
    let mut body = Body::new(Kind::Note);
    body.text = Some(words.to_owned());
    body
}

fn finding_body(row: &Finding) -> Body {
    let mut body = Body::new(Kind::Finding);
    body.region = Some(row.region.clone());
    body.side = Some(row.side.clone());
    body.limb.clone_from(&row.limb);
    body.aspect.clone_from(&row.aspect);
    body.code = Some(row.finding.clone());
    body.value.clone_from(&row.value);
    body.number = row.value_mm;
    body.present = Some(row.present);
    let scale = catalogue().finding(&row.finding).and_then(|finding| finding.scale.clone());
    body.grade = row.grade.filter(|_| scale.is_some());
    body.scale = scale.filter(|_| body.grade.is_some());
    let testers = row.region == "FT_HT";
    if testers && let Some(site) = body.value.take() {
        // A site of the testers stands in the record as its own place.
        body.region = Some(site);
    }
    if row.number_only() {
        body.present = None;
    }
    body
}

fn finding(row: &Finding, practice: &Practice) -> Chip {
    let body = finding_body(row);
    let scale = body.scale.as_deref().and_then(|key| catalogue().scale(key));
    let own_scale = row.grade.is_none() || row.scale.is_some() || scale.is_none();
    let stands = body.grade.zip(scale).is_none_or(|(grade, scale)| scale.allows(grade)) && own_scale;
    let graded = catalogue().finding(&row.finding).and_then(|finding| finding.scale.as_deref());
    let graded = graded.and_then(|key| catalogue().scale(key));
    let with = |grade: f64, scale: &Scale| {
        let mut other = body.clone();
        (other.grade, other.scale, other.present) =
            (Some(grade), Some(scale.code.clone()), Some(grade > 0.0));
        other
    };
    if let Some(scale) = graded.filter(|_| !stands) {
        let mut ungraded = body.clone();
        (ungraded.grade, ungraded.scale) = (None, None);
        let words = sentence(&[ungraded], practice);
        return Chip::open(
            words,
            &row.text,
            "Which grade?",
            grades(scale, |grade| vec![with(grade, scale)], None),
        );
    }
    let mut chip = Chip::certain(std::slice::from_ref(&body), &row.text, practice);
    if let Some(scale) = graded {
        chip.choices.extend(grades(scale, |grade| vec![with(grade, scale)], body.grade));
    }
    if let Some(limb) = row.limb.as_deref().and_then(|limb| limb.parse::<Limb>().ok()) {
        let mut other = body.clone();
        other.limb = Some(limb.other().code().to_owned());
        other.side = Some(limb.other().side().code().to_owned());
        chip.choices.push(option(&format!("the {} one", limb.other().name()), &[other]));
    }
    chip
}

/// A button for each grade of a scale but the one that stands.
fn grades(scale: &Scale, body: impl Fn(f64) -> Vec<Body>, stands: Option<f64>) -> Vec<Choice> {
    let others = scale.grades.iter().filter(|row| stands != Some(f64::from(row.value)));
    others.map(|row| option(&format!("{} {}", row.value, row.word), &body(f64::from(row.value)))).collect()
}

/// Places that the same words cover are one chip, and one sweep.
fn examined(rows: &[Examined], practice: &Practice) -> Vec<Chip> {
    let body = |row: &Examined| {
        let mut body = Body::new(Kind::Place);
        body.region = Some(row.region.clone());
        body.side = Some(row.side.clone());
        body.limb.clone_from(&row.limb);
        body.present = Some(false);
        body
    };
    let same = |a: &Examined, b: &Examined| a.text == b.text;
    rows.chunk_by(same)
        .map(|rows| Chip::certain(&rows.iter().map(body).collect::<Vec<_>>(), &rows[0].text, practice))
        .collect()
}

fn vital(row: &Vital, practice: &Practice) -> Chip {
    let mut body = Body::new(Kind::Vital);
    body.code = Some(row.name.clone());
    body.number = row.value;
    let known = catalogue().vital(&row.name);
    body.scale = known.and_then(|vital| vital.scale.clone());
    let unusual = known.zip(row.value).is_some_and(|(vital, value)| vital.judge(value) == Plausibility::Ask);
    let words = sentence(std::slice::from_ref(&body), practice);
    if unusual {
        body.qualities.push("as measured".to_owned());
    }
    if row.name == "weight_kg" {
        let by = |(code, label): &(&str, &str)| {
            let mut weighed = body.clone();
            weighed.value = Some((*code).to_owned());
            option(label, &[weighed])
        };
        return Chip::open(words, &row.text, "How was it weighed?", METHODS.iter().map(by).collect());
    }
    if unusual {
        let choices = vec![option("measured so", &[body])];
        return Chip::open(words, &row.text, "This is unusual: was it measured so?", choices);
    }
    Chip::certain(&[body], &row.text, practice)
}

fn gait_body(row: &Gait, practice: &Practice) -> Body {
    let mut body = Body::new(Kind::Gait);
    body.limb.clone_from(&row.limb);
    body.code.clone_from(&row.condition);
    body.grade = row.grade;
    let own = Some(practice.lameness_scale.clone()).filter(|_| row.grade.is_some());
    body.scale = row.scale.clone().or(own);
    body
}

/// A grade wants a limb, a condition and a scale; one that is missing is asked, several make it a note.
fn gait(row: &Gait, practice: &Practice) -> Chip {
    let body = gait_body(row, practice);
    let sound = body.grade == Some(0.0);
    let scale =
        body.scale.as_deref().or(Some(&practice.lameness_scale)).and_then(|key| catalogue().scale(key));
    let allowed = body.grade.zip(scale).is_none_or(|(grade, scale)| scale.allows(grade));
    let with_limb = |limb: Limb| {
        let mut body = body.clone();
        body.limb = Some(limb.code().to_owned());
        body
    };
    let words = sentence(std::slice::from_ref(&body), practice);
    let choices = match (&body.limb, &body.code, body.grade, scale) {
        (_, _, Some(_), _) if !allowed => Vec::new(),
        (Some(_), Some(_), Some(_), _) => return Chip::certain(&[body], &row.text, practice),
        (None, Some(_), Some(_), _) if sound => {
            return Chip::certain(&Limb::ALL.map(with_limb), &row.text, practice);
        }
        (None, Some(_), Some(_), _) => {
            Limb::ALL.into_iter().map(|limb| option(limb.name(), &[with_limb(limb)])).collect()
        }
        (Some(_), None, Some(_), _) => conditions(&body),
        (Some(_), Some(_), None, Some(scale)) => {
            let graded = |grade: f64| {
                let mut body = body.clone();
                (body.grade, body.scale) = (Some(grade), Some(scale.code.clone()));
                vec![body]
            };
            grades(scale, graded, None)
        }
        _ => Vec::new(),
    };
    if choices.is_empty() {
        let choices = vec![Choice { chosen: true, ..option("as a note", &[note(&row.text)]) }];
        return Chip::open(format!("note: {}", row.text), &row.text, "", choices);
    }
    Chip::open(words, &row.text, "What is missing?", choices)
}

/// The same grade under each condition of the page's first two.
fn conditions(body: &Body) -> Vec<Choice> {
    let rows = catalogue().conditions.iter().filter(|row| ["WLK_S", "TRT_SH"].contains(&row.code.as_str()));
    rows.map(|row| {
        let mut body = body.clone();
        body.code = Some(row.code.clone());
        option(&row.name, &[body])
    })
    .collect()
}

fn flexion_body(row: &Flexion) -> Body {
    let mut body = Body::new(Kind::Flexion);
    body.limb.clone_from(&row.limb);
    body.code = Some(row.flexion.clone());
    body.grade = row.grade;
    body.scale = row.grade.map(|_| FLEXION_SCALE.to_owned());
    body.number = row.hold_s;
    body
}

fn flexion(row: &Flexion, practice: &Practice) -> Chip {
    let body = flexion_body(row);
    let Some(scale) = catalogue().scale(FLEXION_SCALE) else {
        return Chip::certain(&[note(&row.text)], &row.text, practice);
    };
    let graded = |grade: f64| {
        let mut body = body.clone();
        (body.grade, body.scale) = (Some(grade), Some(scale.code.clone()));
        vec![body]
    };
    if body.grade.is_some_and(|grade| scale.allows(grade)) {
        let mut chip = Chip::certain(std::slice::from_ref(&body), &row.text, practice);
        chip.choices.extend(grades(scale, graded, body.grade));
        return chip;
    }
    let words = sentence(std::slice::from_ref(&body), practice);
    Chip::open(words, &row.text, "Which grade?", grades(scale, graded, None))
}

/// Blocks are kept in words until they have a page of their own, with their code and limb beside.
fn block_body(row: &Block) -> Body {
    let mut body = Body::new(Kind::Block);
    body.limb.clone_from(&row.limb);
    body.code = Some(row.block.clone());
    let name = catalogue().block(&row.block).map_or(row.block.as_str(), |block| &block.name);
    let number = |number: Option<f64>, unit: &str| number.map(|number| format!("{number}{unit}"));
    let more = [
        number(row.volume_ml, " ml a site"),
        number(row.improvement_pct, " % better"),
        number(row.minutes, " min"),
    ];
    let said = std::iter::once(format!("{name} block")).chain(more.into_iter().flatten());
    body.text = Some(said.collect::<Vec<_>>().join(", "));
    body
}

/// A question: one button for each answer that can be recorded.
fn asked(ask: &Ask, practice: &Practice) -> Chip {
    let body = |answer: &Answer| match answer {
        Answer::Finding(row) => finding_body(row),
        Answer::Gait(row) => gait_body(row, practice),
        Answer::Flexion(row) => flexion_body(row),
        Answer::Block(row) => block_body(row),
    };
    let bodies: Vec<Body> = ask.answers.iter().flatten().map(body).filter(super::rows::is_whole).collect();
    let mut choices: Vec<Choice> = bodies
        .iter()
        .map(|body| option(&sentence(std::slice::from_ref(body), practice), std::slice::from_ref(body)))
        .collect();
    choices.push(option("keep as a note", &[note(&ask.text)]));
    Chip::open(ask.text.clone(), &ask.text, &ask.question, choices)
}
