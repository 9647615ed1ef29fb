//! What can be asked at a place, and which answers take one tap: findings, the items of a foot, tester sites, a
//! place's own score. The page offers them and the form reads them from the same list.

use crate::catalogue::{Field, FieldKind, Finding, FindingKind, Group, Place, Scale, TesterSite, catalogue};

/// The region under which the tester sites stand.
pub const TESTERS: &str = "FT_HT";
/// What a tester site's response is called in the record.
pub const TESTER_FINDING: &str = "HTST";

/// One thing to ask at a place.
#[derive(Debug, Clone, Copy)]
pub enum Question {
    Finding(&'static Finding),
    Field(&'static Field),
    Site(&'static TesterSite),
    /// The place is scored as a whole, as the crest is.
    Score(&'static Scale),
}

/// An answer of one tap.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answer {
    /// As the form sends it: `2`, `no`, `concave`.
    pub value: String,
    /// On the button: `2`.
    pub label: String,
    /// Beside it, softer: `moderate`.
    pub word: String,
}

impl Question {
    /// The question with this code at this place, if it can be asked there.
    pub fn find(place: Place, code: &str) -> Option<Question> {
        let region = place.region();
        if let Some(field) = region.field(code) {
            return Some(Question::Field(field));
        }
        if region.code == TESTERS {
            return catalogue().tester_site(code).map(Question::Site);
        }
        if let Some(score) = score_of(place).filter(|_| code == score_code(place)) {
            return Some(Question::Score(score));
        }
        let finding = catalogue().finding(code)?;
        let fits = finding.kind != FindingKind::Status && code != TESTER_FINDING;
        (fits && suits(finding, place)).then_some(Question::Finding(finding))
    }

    /// Those to put under the thumb first: the items of a foot, the sites, the score, the offered findings.
    pub fn first_at(place: Place) -> Vec<Question> {
        let region = place.region();
        if region.code == TESTERS {
            return catalogue().tester_sites.iter().map(Question::Site).collect();
        }
        let fields = region.fields.iter().map(Question::Field);
        let score = score_of(place).map(Question::Score);
        let offered = region.offer.iter().filter_map(|code| catalogue().finding(code));
        fields.chain(score).chain(offered.map(Question::Finding)).collect()
    }

    /// All other findings of the catalogue that this place can have.
    pub fn others_at(place: Place) -> Vec<Question> {
        if place.region().code == TESTERS {
            return Vec::new();
        }
        let offered = &place.region().offer;
        let rest = catalogue().findings.iter().filter(|finding| !offered.contains(&finding.code));
        rest.filter_map(|finding| Question::find(place, &finding.code)).collect()
    }

    pub fn code(self, place: Place) -> String {
        match self {
            Question::Finding(finding) => finding.code.clone(),
            Question::Field(field) => field.key.clone(),
            Question::Site(site) => site.code.clone(),
            Question::Score(_) => score_code(place),
        }
    }

    pub fn label(self) -> &'static str {
        match self {
            Question::Finding(finding) => &finding.name,
            Question::Field(field) => &field.label,
            Question::Site(site) => &site.name,
            Question::Score(scale) => &scale.title,
        }
    }

    /// The scale of its grades, where it is graded.
    pub fn scale(self) -> Option<&'static Scale> {
        let key = match self {
            Question::Finding(finding) => finding.scale.as_deref(),
            Question::Field(field) => field.scale.as_deref(),
            Question::Site(_) => catalogue().finding(TESTER_FINDING)?.scale.as_deref(),
            Question::Score(scale) => return Some(scale),
        };
        catalogue().scale(key?)
    }

    /// What one tap can say; empty where words or a number are typed, or several may be picked.
    pub fn answers(self) -> Vec<Answer> {
        if let Some(scale) = self.scale() {
            return graded(scale);
        }
        match self {
            Question::Finding(finding) => match finding.kind {
                FindingKind::YesNo => yes_no(),
                FindingKind::Picks => finding.attributes.iter().take(1).flat_map(stances).collect(),
                FindingKind::Graded | FindingKind::Text | FindingKind::Status => Vec::new(),
            },
            Question::Field(field) => match field.kind {
                FieldKind::Pick => picks(field),
                FieldKind::YesNo => yes_no(),
                FieldKind::Picks | FieldKind::Number | FieldKind::Scale | FieldKind::Date => Vec::new(),
            },
            Question::Site(_) | Question::Score(_) => Vec::new(),
        }
    }

    /// Picks of which several may hold.
    pub fn several(self) -> Vec<Answer> {
        match self {
            Question::Field(field) if field.kind == FieldKind::Picks => picks(field),
            _ => Vec::new(),
        }
    }
}

/// A finding that only feet offer is only found on feet.
fn suits(finding: &Finding, place: Place) -> bool {
    let offered = |foot: bool| {
        let mut regions = catalogue().regions.iter().filter(|r| (r.group == Group::Foot) == foot);
        regions.any(|region| region.offer.contains(&finding.code))
    };
    place.region().group == Group::Foot || !offered(true) || offered(false)
}

fn score_of(place: Place) -> Option<&'static Scale> {
    let region = place.region();
    region.scale.as_deref().filter(|_| region.offer.is_empty()).and_then(|key| catalogue().scale(key))
}

fn score_code(place: Place) -> String {
    place.region().code.to_lowercase()
}

fn graded(scale: &'static Scale) -> Vec<Answer> {
    let grades = scale.grades.iter().map(|grade| (grade.value.to_string(), &grade.word));
    let marks = scale.marks.iter().map(|mark| (mark.code.clone(), &mark.word));
    let all = grades.chain(marks);
    all.map(|(value, word)| Answer { label: value.clone(), value, word: word.clone() }).collect()
}

fn yes_no() -> Vec<Answer> {
    ["yes", "no"].map(plain).to_vec()
}

fn plain(word: &str) -> Answer {
    Answer { value: word.to_owned(), label: word.to_owned(), word: String::new() }
}

fn stances(attribute: &crate::catalogue::Attribute) -> Vec<Answer> {
    attribute.picks.iter().map(|pick| plain(pick)).collect()
}

fn picks(field: &'static Field) -> Vec<Answer> {
    let picks = field.picks.iter();
    picks
        .map(|pick| Answer { value: pick.code.clone(), label: pick.name.clone(), word: String::new() })
        .collect()
}
