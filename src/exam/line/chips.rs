//! What was read of a line, as chips: each a question whose answers are what would be recorded.

use super::{keep, moving, rows};
use crate::{
    catalogue::{Limb, Scale, catalogue},
    exam::{
        state::{ExamState, place_of},
        view,
    },
    papers::words,
    practice::Practice,
    reasoning::line::{Answer, Ask, Block, Examined, Finding, Reading},
    record::{After, Body, Entry, Given, Kind},
};

/// One thing that was read.
pub(super) struct Chip {
    /// In the words of the record: "left fore fetlock, dorsal: effusion, mild (1 of 4)".
    pub words: String,
    /// The words of the line it came from.
    pub said: String,
    /// What is open; empty when it may be recorded as it stands.
    pub question: String,
    /// What stands in the record and would be corrected by it.
    pub instead: String,
    /// The first is what was read, where that is certain.
    choices: Vec<Choice>,
    certain: bool,
    /// What a form chose that is shown again; empty when it struck the chip.
    again: Option<String>,
}

/// One answer of a chip, and the entries it would make.
#[derive(Clone)]
pub(super) struct Choice {
    pub label: String,
    bodies: Vec<Body>,
}

impl Choice {
    pub(super) fn new(label: &str, bodies: &[Body]) -> Self {
        Choice { label: label.to_owned(), bodies: bodies.to_vec() }
    }

    /// As the form sends it: the entries as canonical JSON.
    pub(super) fn value(&self) -> String {
        serde_json::to_string(&self.bodies).unwrap_or_default()
    }
}

impl Chip {
    /// A chip that may be recorded as it stands.
    pub(super) fn certain(bodies: &[Body], said: &str, practice: &Practice) -> Self {
        let words = sentence(bodies, practice);
        let choices = vec![Choice::new("as read", bodies)];
        Chip { certain: true, ..Chip::open(words, said, "", choices) }
    }

    /// A chip that is not recorded before somebody chose.
    pub(super) fn open(words: String, said: &str, question: &str, choices: Vec<Choice>) -> Self {
        Chip {
            words,
            said: said.trim_end_matches([',', ';', ' ']).to_owned(),
            question: question.to_owned(),
            instead: String::new(),
            choices,
            certain: false,
            again: None,
        }
    }

    /// Words that stay words.
    pub(super) fn note(said: &str, question: &str) -> Self {
        let choices = vec![Choice::new("as a note", &[note(said)])];
        Chip { certain: true, ..Chip::open("kept as a note".to_owned(), said, question, choices) }
    }

    pub(super) fn with(mut self, choices: impl IntoIterator<Item = Choice>) -> Self {
        self.choices.extend(choices);
        self
    }

    /// What was read, where that is certain.
    pub(super) fn read(&self) -> Option<&Choice> {
        self.choices.first().filter(|_| self.certain)
    }

    /// What it may be changed to, or what answers its question.
    pub(super) fn others(&self) -> &[Choice] {
        self.choices.get(usize::from(self.certain)..).unwrap_or_default()
    }

    /// Whether this answer is chosen.
    pub(super) fn is_picked(&self, choice: &Choice) -> bool {
        match &self.again {
            Some(again) => *again == choice.value(),
            None => self.read().is_some_and(|read| std::ptr::eq(read, choice)),
        }
    }

    pub(super) fn is_struck(&self) -> bool {
        self.again.as_deref() == Some("")
    }

    /// Whether it was changed to another answer.
    pub(super) fn is_changed(&self) -> bool {
        self.again.is_some() && self.others().iter().any(|choice| self.is_picked(choice))
    }

    /// Whether it may come to a flexion, which a caution can stop.
    pub(super) fn flexes(&self) -> bool {
        self.choices.iter().flat_map(|choice| &choice.bodies).any(|body| body.kind == Kind::Flexion)
    }

    /// Takes away every answer that the record would not take. What was read and cannot be recorded stays as words.
    fn recordable(mut self) -> Self {
        let refused = |choice: &Choice| !choice.bodies.iter().all(rows::is_whole);
        if self.read().is_some_and(refused) || self.choices.iter().all(refused) {
            return Chip::note(&self.said, "This cannot be recorded as it was read.");
        }
        self.choices.retain(|choice| !refused(choice));
        self
    }

    /// Says what stands in the record of the same.
    fn beside(mut self, standing: &[Entry], practice: &Practice) -> Self {
        let Some([body]) = self.read().map(|read| read.bodies.as_slice()) else { return self };
        let about = standing.iter().rev().filter_map(|entry| entry.body.as_ref());
        if let Some(said) = about.into_iter().find(|said| keep::is_about(said, body)) {
            let said = sentence(std::slice::from_ref(said), practice);
            self.instead =
                if said == self.words { "recorded so already".into() } else { format!("instead of: {said}") };
        }
        self
    }
}

fn sentence(bodies: &[Body], practice: &Practice) -> String {
    let units = words::Units::of(practice);
    bodies.iter().map(|body| words::sentence(body, units)).collect::<Vec<_>>().join("; ")
}

/// The words of one entry, as a chip says them.
pub(super) fn said(body: &Body, practice: &Practice) -> String {
    sentence(std::slice::from_ref(body), practice)
}

/// The chips of a reading, in its order by kind; what was not read comes last, as a note. `standing` are the visit's
/// entries.
pub(super) fn of(reading: &Reading, practice: &Practice, standing: &[Entry]) -> Vec<Chip> {
    let mut chips: Vec<Chip> = reading.findings.iter().map(|row| finding(row, practice)).collect();
    chips.extend(examined(&reading.examined, &ExamState::fold(standing)));
    chips.extend(reading.vitals.iter().map(|row| moving::vital(row, practice)));
    chips.extend(reading.gait.iter().map(|row| moving::gait(row, practice)));
    chips.extend(reading.flexion.iter().map(|row| moving::flexion(row, practice)));
    chips.extend(reading.blocks.iter().map(|row| Chip::certain(&block_bodies(row), &row.text, practice)));
    chips.extend(reading.ask.iter().map(|ask| asked(ask, practice)));
    if !reading.unread.is_empty() {
        chips.push(Chip::note(&reading.unread, ""));
    }
    chips.into_iter().map(|chip| chip.recordable().beside(standing, practice)).collect()
}

/// The chips as a form that is shown again had chosen.
pub(super) fn again(chips: &mut [Chip], chosen: impl Fn(&str) -> Option<String>) {
    for (n, chip) in chips.iter_mut().enumerate() {
        chip.again = chosen(&rows::name(n));
    }
}

pub(super) fn note(words: &str) -> Body {
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
        vec![other]
    };
    let as_note = Choice::new("keep as a note", &[note(&row.text)]);
    if let Some(scale) = graded.filter(|_| !stands) {
        let mut ungraded = body.clone();
        (ungraded.grade, ungraded.scale) = (None, None);
        let choices = grades(scale, |grade| with(grade, scale), None);
        return Chip::open(said(&ungraded, practice), &row.text, "Which grade?", choices).with([as_note]);
    }
    let mut chip = Chip::certain(std::slice::from_ref(&body), &row.text, practice);
    if let Some(scale) = graded {
        chip = chip.with(grades(scale, |grade| with(grade, scale), body.grade));
    }
    if let Some(limb) = row.limb.as_deref().and_then(|limb| limb.parse::<Limb>().ok()) {
        let mut other = body.clone();
        other.limb = Some(limb.other().code().to_owned());
        other.side = Some(limb.other().side().code().to_owned());
        chip = chip.with([Choice::new(&format!("the {} one", limb.other().name()), &[other])]);
    }
    chip.with([as_note])
}

/// A button for each grade of a scale but the one that stands.
pub(super) fn grades(scale: &Scale, body: impl Fn(f64) -> Vec<Body>, stands: Option<f64>) -> Vec<Choice> {
    let others = scale.grades.iter().filter(|row| stands != Some(f64::from(row.value)));
    others
        .map(|row| Choice::new(&format!("{} {}", row.value, row.word), &body(f64::from(row.value))))
        .collect()
}

/// Places that the same words cover are one chip, and one sweep; it says how many of them nobody spoke of yet.
fn examined(rows: &[Examined], state: &ExamState) -> Vec<Chip> {
    let body = |row: &Examined| {
        let mut body = Body::new(Kind::Place);
        body.region = Some(row.region.clone());
        body.side = Some(row.side.clone());
        body.limb.clone_from(&row.limb);
        body.present = Some(false);
        body
    };
    let chip = |rows: &[Examined]| {
        let bodies: Vec<Body> = rows.iter().map(body).collect();
        let choices = vec![Choice::new("as read", &bodies)];
        Chip { certain: true, ..Chip::open(covered(&bodies, state), &rows[0].text, "", choices) }
    };
    rows.chunk_by(|a, b| a.text == b.text).map(chip).collect()
}

/// "left fore: nothing found at 21 places; 2 more are recorded and stay"
fn covered(bodies: &[Body], state: &ExamState) -> String {
    let places: Vec<_> = bodies.iter().filter_map(place_of).collect();
    let open = view::open_of(&places, state).len();
    let stay = places.len() - open;
    let mut names: Vec<&str> =
        bodies.iter().filter_map(|body| body.limb.as_deref()?.parse().ok().map(Limb::name)).collect();
    names.dedup();
    let whose = match (names.as_slice(), bodies) {
        (_, [one]) => format!("{}: ", words::place(one)),
        ([], _) => String::new(),
        (names, _) => format!("{}: ", names.join(", ")),
    };
    let rest = if stay == 1 {
        "1 more is recorded and stays".to_owned()
    } else {
        format!("{stay} more are recorded and stay")
    };
    match (open, stay) {
        (0, _) => format!("{whose}nothing more to record, all of it is recorded and stays"),
        (1, 0) => format!("{whose}nothing found"),
        (_, 0) => format!("{whose}nothing found at {open} places"),
        (1, _) => format!("{whose}nothing found at 1 place; {rest}"),
        (..) => format!("{whose}nothing found at {open} places; {rest}"),
    }
}

/// A block, and how the horse went after it where the line says so.
fn block_bodies(row: &Block) -> Vec<Body> {
    let mut block = Body::new(Kind::Block);
    block.limb.clone_from(&row.limb);
    block.code = Some(row.block.clone());
    block.given = row.volume_ml.map(|ml| Given { volume_ml: Some(ml), ..Given::default() });
    if row.improvement_pct.is_none() && row.minutes.is_none() {
        return vec![block];
    }
    let mut reading = Body::new(Kind::Reading);
    reading.limb.clone_from(&row.limb);
    reading.value = Some(row.block.clone());
    reading.after =
        Some(After { minutes: row.minutes, improvement_pct: row.improvement_pct, ..After::default() });
    vec![block, reading]
}

/// A question: one button for each answer that can be recorded.
fn asked(ask: &Ask, practice: &Practice) -> Chip {
    let bodies = |answer: &Answer| match answer {
        Answer::Finding(row) => vec![finding_body(row)],
        Answer::Gait(row) => vec![moving::gait_body(row, practice)],
        Answer::Flexion(row) => vec![moving::flexion_body(row)],
        Answer::Block(row) => block_bodies(row),
    };
    let answers = ask.answers.iter().flatten().map(bodies);
    let whole: Vec<Vec<Body>> = answers.filter(|bodies| bodies.iter().all(rows::is_whole)).collect();
    let (same, labels) = apart(&whole.iter().map(|bodies| sentence(bodies, practice)).collect::<Vec<_>>());
    let choices = labels.iter().zip(&whole).map(|(label, bodies)| Choice::new(label, bodies));
    Chip::open(same, &ask.text, &ask.question, choices.collect())
        .with([Choice::new("keep as a note", &[note(&ask.text)])])
}

/// What sentences have in common, and what is left of each: a button says only what it decides.
fn apart(sentences: &[String]) -> (String, Vec<String>) {
    let split: Vec<Vec<&str>> = sentences.iter().map(|sentence| sentence.split(", ").collect()).collect();
    let Some(first) = split.first().filter(|_| split.len() > 1) else {
        return (String::new(), sentences.to_vec());
    };
    // Something is left of the shortest.
    let most = split.iter().map(Vec::len).min().unwrap_or_default().saturating_sub(1);
    let all_have = |piece: &&str, at: usize| split.iter().all(|pieces| pieces.get(at) == Some(piece));
    let same = first.iter().take(most).enumerate().take_while(|(at, piece)| all_have(piece, *at)).count();
    (first[..same].join(", "), split.iter().map(|pieces| pieces[same..].join(", ")).collect())
}
