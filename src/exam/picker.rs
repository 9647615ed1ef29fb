//! The picker that opens under a row: what was said at the place, what can be said, and the second form that tells
//! a finding in more detail.

use serde::Serialize;

use super::{
    form::{Typed, quality_words, typed_attributes},
    question::{Answer, Question},
    say,
    state::Line,
    view::{LastView, Seen, SweepOffer, open_of},
};
use crate::{
    catalogue::{FieldKind, Place, Region, Side, Study, catalogue, sweep_from},
    ids::{EntryId, StaffId},
    papers::words::capital,
    record::{Body, Kind},
};

pub(super) struct Picker {
    pub key: String,
    pub name: String,
    /// Which side of the row it belongs to.
    pub side: &'static str,
    /// Why one looks here.
    pub significance: &'static str,
    pub lines: Vec<LineView>,
    pub last: Option<LastView>,
    pub first: Vec<Ask>,
    pub others: Vec<Ask>,
    /// Nobody has spoken of the place.
    pub fresh: bool,
    pub sweep: Option<SweepOffer>,
    pub reasons: &'static [String],
    /// What is usually ordered from here.
    pub usual: Vec<Usual>,
    pub detail: Option<Detail>,
    pub close: String,
}

/// What somebody said here.
pub(super) struct LineView {
    pub words: String,
    pub note: String,
    /// The line that it was read from.
    pub line: String,
    pub by: String,
    pub swept: bool,
    /// Where more can be said about it.
    pub edit: Option<String>,
    pub entry: EntryId,
}

/// A question with its buttons. `was` is the entry that a new answer corrects.
pub(super) struct Ask {
    pub code: String,
    pub label: String,
    pub hint: &'static str,
    pub aspect: &'static str,
    pub answers: Vec<Answer>,
    pub several: Vec<Answer>,
    /// What is typed instead: a unit, or `date` or `words`.
    pub typed: Option<&'static str>,
    pub given: Vec<String>,
    pub words: String,
    pub was: Option<EntryId>,
    /// It was answered, and the answer was not taken: what was typed stands in it again.
    pub refused: bool,
}

/// The second form: one finding in more detail.
pub(super) struct Detail {
    pub was: EntryId,
    pub label: String,
    /// As the form sends it, with its answer: `EFF:2` and `2`.
    pub found: Vec<(String, String)>,
    pub chosen: String,
    pub aspects: Vec<(&'static str, &'static str)>,
    pub aspect: String,
    pub qualities: Vec<String>,
    pub ticked: Vec<String>,
    /// Label with unit, and what was typed.
    pub extras: Vec<(String, String)>,
    /// Unit and number of a measurement.
    pub measure: Option<(&'static str, String)>,
    pub note: String,
}

impl Picker {
    pub(super) fn new(place: Place, edit: Option<EntryId>, typed: Option<&Typed>, seen: &Seen) -> Self {
        let known = seen.state.at(place);
        let lines = known.lines();
        let edited = edit.and_then(|id| lines.iter().find(|line| line.entry == id));
        let detail = edited.and_then(|line| Detail::new(place, line, typed));
        // What was typed stands once on the page: in the second form if that is open.
        let again = typed.filter(|_| detail.is_none());
        let ask = |question: Question| Ask::all(question, place, &lines, again);
        let down = open_of(&sweep_from(place), seen.state);
        let reasons = catalogue().finding("NE").and_then(|finding| finding.attributes.first());
        Picker {
            key: place.key(),
            name: place.to_string(),
            side: match place.side() {
                Side::L => "of-left",
                Side::R => "of-right",
                Side::M => "",
            },
            significance: &place.region().significance,
            last: seen.last.get(&place).map(|last| LastView::new(last, seen.zone)),
            first: Question::first_at(place).into_iter().flat_map(ask).collect(),
            others: Question::others_at(place).into_iter().flat_map(ask).collect(),
            fresh: !known.is_recorded(),
            sweep: (place.region().sweep && down.len() > 1).then(|| SweepOffer::from(place, down)),
            reasons: reasons.map_or(&[], |attribute| &attribute.picks),
            usual: Usual::at(place, seen.ordered),
            detail,
            close: seen.way.at_part(super::sections::Part::of(place)),
            lines: lines.iter().map(|line| LineView::new(place, line, seen)).collect(),
        }
    }

    /// Whether the answer that was not taken belongs to one of the questions that are folded away.
    pub(super) fn refused_among_others(&self) -> bool {
        self.others.iter().any(|ask| ask.refused)
    }
}

/// A study that is ordered in one tap.
pub(super) struct Usual {
    pub study: &'static str,
    /// What its button says: "Radiographs, fetlock: usual set".
    pub words: String,
    /// It was ordered from here.
    pub ordered: bool,
}

impl Usual {
    fn at(place: Place, ordered: &[String]) -> Vec<Usual> {
        let is_ordered = |study: &str| ordered.contains(&format!("{study}@{}", place.key()));
        let all = Usual::of(place.region()).into_iter();
        all.map(|one| Usual { ordered: is_ordered(one.study), ..one }).collect()
    }

    /// At every place of a region, before anything was ordered.
    pub(super) fn of(region: &Region) -> Vec<Usual> {
        let studies = catalogue().diagnostics.usual_at(region).into_iter();
        let words = |study: &Study| format!("{}, {}: usual set", capital(study.kind.name()), study.name);
        studies.map(|study| Usual { study: &study.code, words: words(study), ordered: false }).collect()
    }
}

impl LineView {
    fn new(place: Place, line: &Line, seen: &Seen) -> Self {
        let finding = line.body.kind == Kind::Finding;
        LineView {
            words: say::entry(&line.body),
            note: line.body.text.clone().filter(|_| finding).unwrap_or_default(),
            line: line.body.line.clone().unwrap_or_default(),
            by: seen.initials.get(&line.seen_by).cloned().unwrap_or_default(),
            swept: line.body.sweep.is_some(),
            edit: question_of(place, line).map(|_| seen.way.edit(place, line.entry)),
            entry: line.entry,
        }
    }
}

/// The finding a line is an answer to; items of the foot and tester sites are simply answered again.
fn question_of(place: Place, line: &Line) -> Option<&'static crate::catalogue::Finding> {
    match Question::find(place, line.body.code.as_deref()?)? {
        Question::Finding(finding) => Some(finding),
        _ => None,
    }
}

impl Ask {
    /// A pulse is felt on each side of the foot: a graded item that tells medial from lateral is asked for both.
    pub(super) fn all(question: Question, place: Place, lines: &[&Line], again: Option<&Typed>) -> Vec<Ask> {
        let region = place.region();
        let own_scale = region.scale.is_some() && question.scale().map(|s| &s.code) == region.scale.as_ref();
        if own_scale && region.aspects {
            return ["medial", "lateral"]
                .map(|aspect| Ask::new(question, place, lines, aspect, again))
                .into();
        }
        vec![Ask::new(question, place, lines, "", again)]
    }

    fn new(
        question: Question,
        place: Place,
        lines: &[&Line],
        aspect: &'static str,
        again: Option<&Typed>,
    ) -> Ask {
        let code = question.code(place);
        let answered = |typed: &&Typed| {
            typed.found.split(':').next() == Some(code.as_str()) && typed.aspect.trim() == aspect
        };
        let again = again.filter(answered);
        let standing = lines.iter().rev().find(|line| answers(line, question, &code, aspect));
        let label = question.label();
        Ask {
            label: if aspect.is_empty() { label.to_owned() } else { format!("{label}, {aspect}") },
            hint: match question {
                Question::Finding(finding) => finding.hint.as_deref().unwrap_or_default(),
                Question::Site(site) => &site.suggests,
                Question::Field(_) | Question::Score(_) => "",
            },
            aspect,
            answers: question.answers(),
            several: question.several(),
            typed: typed_kind(question),
            given: match again {
                Some(typed) => typed.value.iter().chain([&typed.answer]).cloned().collect(),
                None => standing.map(|line| given(line)).unwrap_or_default(),
            },
            words: again.map(|typed| typed.note.clone()).unwrap_or_default(),
            refused: again.is_some(),
            was: standing.map(|line| line.entry),
            code,
        }
    }

    pub(super) fn is_given(&self, answer: &str) -> bool {
        self.given.iter().any(|given| given == answer)
    }
}

fn answers(line: &Line, question: Question, code: &str, aspect: &str) -> bool {
    let body = &line.body;
    let same = match question {
        Question::Site(site) => body.region.as_deref() == Some(site.code.as_str()),
        _ => body.code.as_deref() == Some(code),
    };
    same && (aspect.is_empty() || body.aspect.as_deref() == Some(aspect))
}

/// What a line says, as its button sends it: `EFF:2`; a finding alone, for it can be told in more detail.
fn found(line: &Line) -> String {
    let code = line.body.code.as_deref().unwrap_or_default();
    let answer = given(line).into_iter().next().unwrap_or_default();
    if line.body.kind == Kind::Finding { format!("{code}:{answer}") } else { String::new() }
}

/// A finding as its second form would show it, for a tablet that fills the form in itself.
#[derive(Serialize)]
struct More<'a> {
    found: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    aspect: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    value: Option<&'a str>,
    #[serde(skip_serializing_if = "<[String]>::is_empty")]
    quality: &'a [String],
    #[serde(skip_serializing_if = "Option::is_none")]
    answer: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    note: Option<&'a str>,
}

/// `{"found":"EFF:2","aspect":"medial"}`; empty for what is no finding.
pub(super) fn more(line: &Line) -> String {
    let (found, body) = (found(line), &line.body);
    let more = More {
        found: &found,
        aspect: body.aspect.as_deref(),
        value: body.value.as_deref(),
        quality: &body.qualities,
        answer: body.number,
        note: body.text.as_deref(),
    };
    if found.is_empty() { found } else { serde_json::to_string(&more).unwrap_or_default() }
}

/// The answers that a line stands for, as the buttons send them.
fn given(line: &Line) -> Vec<String> {
    let body = &line.body;
    match (body.grade, &body.value, body.number, body.present) {
        (Some(grade), ..) => vec![grade.to_string()],
        (_, Some(value), ..) => value.split(' ').map(str::to_owned).chain([value.clone()]).collect(),
        (_, _, Some(number), _) => vec![number.to_string()],
        (_, _, _, Some(present)) => vec![if present { "yes" } else { "no" }.to_owned()],
        _ => Vec::new(),
    }
}

fn typed_kind(question: Question) -> Option<&'static str> {
    match question {
        Question::Field(field) if field.kind == FieldKind::Number => field.unit.as_deref(),
        Question::Field(field) if field.kind == FieldKind::Date => Some("date"),
        Question::Finding(finding) if finding.kind == crate::catalogue::FindingKind::Text => Some("words"),
        _ => None,
    }
}

impl Detail {
    /// Before anything is known of a finding; none where it is no finding. Every aspect stands in it.
    pub(super) fn blank(place: Place, question: Question, (entry, by): (EntryId, StaffId)) -> Option<Self> {
        let mut body = Body::new(Kind::Finding);
        body.code = Some(question.code(place));
        let line = Line { entry, seq: 0, body, seen_by: by, entered_by: by };
        let aspects = catalogue().modifiers.aspects.iter();
        let aspects = aspects.map(|row| (row.code.as_str(), row.name.as_str())).collect();
        Detail::new(place, &line, None).map(|detail| Detail { aspects, ..detail })
    }

    fn new(place: Place, line: &Line, typed: Option<&Typed>) -> Option<Self> {
        let finding = question_of(place, line)?;
        let body = &line.body;
        let question = Question::Finding(finding);
        let found = question.answers().into_iter();
        let kept = |label: &str| {
            let prefix = format!("{}: ", label.to_lowercase());
            let said = body.qualities.iter().find_map(|quality| quality.strip_prefix(&prefix));
            said.unwrap_or_default().to_owned()
        };
        let extras = typed_attributes(finding).enumerate().map(|(n, attribute)| {
            let unit = attribute.unit.as_deref().map(|unit| format!(" ({unit})")).unwrap_or_default();
            let again = typed.and_then(|typed| typed.extra.get(n)).cloned();
            (format!("{}{unit}", attribute.label), again.unwrap_or_else(|| kept(&attribute.label)))
        });
        let number = body.number.map(|number| number.to_string()).unwrap_or_default();
        let measure = finding.measure_unit.as_deref();
        Some(Detail {
            was: line.entry,
            label: finding.name.clone(),
            found: found
                .map(|a| (format!("{}:{}", finding.code, a.value), format!("{} {}", a.label, a.word)))
                .collect(),
            chosen: typed.map_or_else(
                || format!("{}:{}", finding.code, given(line).first().cloned().unwrap_or_default()),
                |typed| typed.found.clone(),
            ),
            aspects: aspects(place),
            aspect: typed
                .map_or_else(|| body.aspect.clone().unwrap_or_default(), |typed| typed.aspect.clone()),
            qualities: quality_words(finding),
            ticked: typed.map_or_else(|| body.qualities.clone(), |typed| typed.quality.clone()),
            extras: extras.collect(),
            measure: measure.map(|unit| (unit, typed.map_or(number, |typed| typed.answer.clone()))),
            note: typed.map_or_else(|| body.text.clone().unwrap_or_default(), |typed| typed.note.clone()),
        })
    }
}

/// Medial and lateral where they are told apart, else every aspect.
pub(super) fn aspects(place: Place) -> Vec<(&'static str, &'static str)> {
    let rows = catalogue().modifiers.aspects.iter();
    let near =
        |code: &str| !place.region().aspects || matches!(code, "medial" | "lateral" | "dorsal" | "palmar");
    rows.filter(|row| near(&row.code)).map(|row| (row.code.as_str(), row.name.as_str())).collect()
}
