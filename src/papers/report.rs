//! A visit's entries, put in the order in which a report is read. Pure: entries go in, words come out.

use std::collections::{HashMap, HashSet};

use super::{
    authors::{Author, authors},
    words::{self, Units},
};
use crate::{
    body::{Plan, Seen},
    catalogue::{Limb, Place, Row, Section, Side, catalogue},
    exam::state::{ExamState, Known, Status},
    ids::StaffId,
    record::{Body, Entry, Kind},
};

/// What a cell says of a clear place, and of a limb without a grade.
pub(super) const CLEAR: &str = "nothing found";
pub(super) const NOT_GRADED: &str = "not graded";

/// The names of everybody who ever worked here.
pub(super) type Names = HashMap<StaffId, String>;

/// An entry's words, and whose they are where that is not the visit's vet.
#[derive(Debug, Clone)]
pub(super) struct Said {
    pub words: String,
    pub by: Option<String>,
}

/// The places of one part with a finding, left beside right.
#[derive(Debug)]
pub(super) struct Group {
    pub title: &'static str,
    /// Stands before a place out of its group: "fore ", "hind foot, ".
    pub of: &'static str,
    pub columns: Vec<&'static str>,
    pub rows: Vec<(String, Vec<Vec<Said>>)>,
}

/// The places of one section that share a state.
#[derive(Debug)]
pub(super) struct Listed {
    pub section: String,
    /// Every place of the section.
    pub whole: bool,
    pub places: Vec<String>,
    /// How many of them one gesture recorded together with others.
    pub swept: usize,
}

/// The grades on one scale: a row for each condition, a column for each limb.
#[derive(Debug)]
pub(super) struct Gaits {
    pub title: String,
    pub attribution: String,
    pub rows: Vec<(String, Vec<String>)>,
}

pub(super) struct Report {
    pub groups: Vec<Group>,
    pub clear: Vec<Listed>,
    pub unseen: Vec<Listed>,
    pub barred: Vec<Said>,
    pub swept: usize,
    pub gaits: Vec<Gaits>,
    /// What was written beside the grades.
    pub remarks: Vec<Said>,
    pub picture: Plan,
    pub authors: Vec<Author>,
    standing: Vec<(Kind, Said)>,
    stances: Vec<Said>,
    lines: Vec<Said>,
}

impl Report {
    /// From the entries that stand, as one practice reads them.
    pub(super) fn of(current: &[Entry], names: &Names, vet: Option<StaffId>, units: Units) -> Self {
        let reader = Reader { names, vet, state: ExamState::fold(current) };
        let bodies = || current.iter().filter_map(|e| e.body.as_ref().map(|b| (e, b)));
        let stances = bodies().filter(|(_, b)| b.kind == Kind::Finding && b.region.is_none());
        Report {
            groups: GROUPS.iter().filter_map(|g| reader.group(g)).collect(),
            clear: reader.listed(&[is_clear]),
            unseen: reader.listed(&[is_unseen]),
            barred: reader.barred(),
            swept: bodies().filter(|(_, b)| b.sweep.is_some()).count(),
            gaits: gaits(bodies().map(|(_, b)| b)),
            remarks: bodies()
                .filter(|(_, b)| b.kind == Kind::Gait && (b.grade.is_none() || b.text.is_some()))
                .map(|(e, b)| reader.said(e, words::sentence(b, units)))
                .collect(),
            picture: reader.picture(),
            authors: authors(current, names),
            stances: stances.map(|(e, b)| reader.said(e, stance(b))).collect(),
            lines: reader.lines(current),
            standing: bodies().map(|(e, b)| (b.kind, reader.said(e, words::sentence(b, units)))).collect(),
        }
    }

    /// The entries of a kind in their own words.
    pub(super) fn of_kind(&self, kind: Kind) -> Vec<&Said> {
        self.standing.iter().filter(|(k, _)| *k == kind).map(|(_, said)| said).collect()
    }

    /// What was said in lines, word for word, each once.
    pub(super) fn lines(&self) -> Vec<&Said> {
        self.lines.iter().collect()
    }

    /// How the horse stood.
    pub(super) fn stances(&self) -> &[Said] {
        &self.stances
    }

    pub(super) fn is_empty(&self) -> bool {
        self.standing.is_empty()
    }
}

struct GroupOf {
    title: &'static str,
    of: &'static str,
    sections: &'static [Section],
}

const GROUPS: [GroupOf; 5] = [
    GroupOf { title: "Head, neck, trunk and pelvis", of: "", sections: &[Section::Axial] },
    GroupOf {
        title: "Forelimbs",
        of: "fore ",
        sections: &[Section::Limb(Limb::LF), Section::Limb(Limb::RF)],
    },
    GroupOf {
        title: "Fore feet",
        of: "fore foot, ",
        sections: &[Section::Foot(Limb::LF), Section::Foot(Limb::RF)],
    },
    GroupOf {
        title: "Hind limbs",
        of: "hind ",
        sections: &[Section::Limb(Limb::LH), Section::Limb(Limb::RH)],
    },
    GroupOf {
        title: "Hind feet",
        of: "hind foot, ",
        sections: &[Section::Foot(Limb::LH), Section::Foot(Limb::RH)],
    },
];

/// The axial series, then each limb with its foot.
fn sections() -> impl Iterator<Item = Section> {
    let limbs = Limb::ALL.into_iter().flat_map(|limb| [Section::Limb(limb), Section::Foot(limb)]);
    std::iter::once(Section::Axial).chain(limbs)
}

fn section_words(section: Section) -> String {
    match section {
        Section::Axial => "Head, neck, trunk and pelvis".to_owned(),
        Section::Limb(limb) => format!("{} limb", limb.name()),
        Section::Foot(limb) => format!("{} foot", limb.name()),
    }
}

/// A place under the heading of its section.
fn short(place: Place) -> String {
    if place.limb().is_some() { place.region().name.clone() } else { place.to_string() }
}

fn is_clear(known: &Known) -> bool {
    known.status() == Status::NothingFound
}

fn is_unseen(known: &Known) -> bool {
    known.status() == Status::NotExamined
}

struct Reader<'a> {
    names: &'a Names,
    vet: Option<StaffId>,
    state: ExamState,
}

impl Reader<'_> {
    fn by(&self, who: StaffId) -> Option<String> {
        (Some(who) != self.vet).then(|| name(self.names, who))
    }

    fn said(&self, entry: &Entry, words: String) -> Said {
        Said { words, by: self.by(entry.seen_by) }
    }

    /// A line whose words are its only entry stands among the notes.
    fn lines(&self, current: &[Entry]) -> Vec<Said> {
        let mut known = HashSet::new();
        let read = current.iter().filter_map(|entry| Some((entry, entry.body.as_ref()?)));
        let lines = read.filter_map(|(entry, body)| {
            let line = body.line.as_deref().filter(|line| body.text.as_deref() != Some(line))?;
            known.insert(line).then(|| self.said(entry, format!("“{line}”")))
        });
        lines.collect()
    }

    fn group(&self, group: &GroupOf) -> Option<Group> {
        let mut places: Vec<Place> = group.sections.iter().flat_map(|s| s.places()).collect();
        places.sort();
        let sides: Vec<Side> = [Side::L, Side::M, Side::R]
            .into_iter()
            .filter(|side| places.iter().any(|p| p.side() == *side))
            .collect();
        let mut rows: Vec<(String, Vec<Vec<Said>>)> = Vec::new();
        for row in places.chunk_by(|a, b| a.region().code() == b.region().code()) {
            if row.iter().any(|p| self.state.at(*p).is_abnormal()) {
                let at = |side: &Side| row.iter().find(|p| p.side() == *side);
                let cells = sides.iter().map(|side| at(side).map_or_else(Vec::new, |p| self.cell(*p)));
                let region = row.first().map_or("", |p| &p.region().name);
                rows.push((region.to_owned(), cells.collect()));
            }
        }
        let columns = sides.iter().map(|s| s.name()).collect();
        (!rows.is_empty()).then_some(Group { title: group.title, of: group.of, columns, rows })
    }

    fn cell(&self, place: Place) -> Vec<Said> {
        let known = self.state.at(place);
        let plain = |words: &str| vec![Said { words: words.to_owned(), by: None }];
        match known.status() {
            Status::NotExamined => plain("not examined"),
            Status::NothingFound if known.signs.is_empty() && known.negatives.is_empty() => plain(CLEAR),
            _ => {
                let lines = known.lines();
                let telling = lines.iter().filter(|l| l.body.kind == Kind::Finding || known.signs.is_empty());
                telling.map(|l| Said { words: found(&l.body), by: self.by(l.seen_by) }).collect()
            }
        }
    }

    fn listed(&self, states: &[fn(&Known) -> bool]) -> Vec<Listed> {
        let one = |section: Section| {
            let all = section.places();
            let is = |p: &&Place| states.iter().any(|state| state(self.state.at(**p)));
            let swept = |p: &&Place| self.state.at(**p).clear.iter().any(|l| l.body.sweep.is_some());
            let these: Vec<&Place> = all.iter().filter(is).collect();
            Listed {
                section: section_words(section),
                whole: these.len() == all.len(),
                swept: these.iter().filter(|p| swept(p)).count(),
                places: these.into_iter().map(|p| short(*p)).collect(),
            }
        };
        sections().map(one).filter(|l| !l.places.is_empty()).collect()
    }

    fn barred(&self) -> Vec<Said> {
        let places = sections().flat_map(Section::places);
        let at = |p: Place| {
            let lines = self.state.at(p).barred.iter();
            lines.map(|l| Said { words: words::sentence(&l.body, Units::default()), by: self.by(l.seen_by) })
        };
        places.flat_map(at).collect()
    }

    fn picture(&self) -> Plan {
        let seen = |key: &str| {
            let Ok(place) = key.parse::<Place>() else { return Seen::default() };
            let known = self.state.at(place);
            let there = known.signs.iter().filter(|l| l.body.present == Some(true));
            let words: Vec<String> = there.map(|l| found(&l.body)).collect();
            Seen { mark: known.mark(), found: (!words.is_empty()).then(|| words.join("; ")) }
        };
        Plan::new(seen, |_| None).titled("Plan of the horse with what was found")
    }
}

/// A finding in its cell; a tester site names itself, since its row stands for the whole foot.
fn found(body: &Body) -> String {
    if body.kind != Kind::Finding {
        let why = body.text.as_deref().unwrap_or("no reason given");
        let clear = body.present == Some(false);
        return if clear { CLEAR.to_owned() } else { format!("could not be examined: {why}") };
    }
    let words = words::finding(body);
    match body.region.as_deref().and_then(|r| catalogue().tester_site(r)) {
        Some(site) => format!("{}: {words}", site.name),
        None => words,
    }
}

/// How it stood, on which limb: nothing seen is said of the whole horse.
fn stance(body: &Body) -> String {
    match body.present {
        Some(false) => "stood square, nothing seen".to_owned(),
        _ => words::sentence(body, Units::default()),
    }
}

fn gaits<'a>(bodies: impl Iterator<Item = &'a Body>) -> Vec<Gaits> {
    let mut graded: Vec<(&str, &str, &str, f64)> = bodies
        .filter(|b| b.kind == Kind::Gait)
        .filter_map(|b| Some((b.scale.as_deref()?, b.code.as_deref()?, b.limb.as_deref()?, b.grade?)))
        .collect();
    let order = |code: &str| catalogue().conditions.iter().position(|c| c.code() == code);
    graded.sort_by(|a, b| a.0.cmp(b.0).then(order(a.1).cmp(&order(b.1))));
    graded.chunk_by(|a, b| a.0 == b.0).map(on_one_scale).collect()
}

fn on_one_scale(graded: &[(&str, &str, &str, f64)]) -> Gaits {
    let scale = graded.first().and_then(|g| catalogue().scale(g.0));
    let row = |of: &[(&str, &str, &str, f64)]| {
        let code = of.first().map_or("", |g| g.1);
        let name = catalogue().condition(code).map_or(code, |c| &c.name).to_owned();
        let limb = |limb: Limb| {
            let said: Vec<String> =
                of.iter().filter(|g| g.2 == limb.code()).map(|g| g.3.to_string()).collect();
            if said.is_empty() { NOT_GRADED.to_owned() } else { said.join(", then ") }
        };
        (name, Limb::ALL.into_iter().map(limb).collect())
    };
    Gaits {
        title: scale.map_or_else(String::new, |s| s.title.clone()),
        attribution: scale.map_or_else(String::new, |s| s.attribution.clone()),
        rows: graded.chunk_by(|a, b| a.1 == b.1).map(row).collect(),
    }
}

pub(super) fn name(names: &Names, who: StaffId) -> String {
    names.get(&who).cloned().unwrap_or_else(|| "somebody who left".to_owned())
}
