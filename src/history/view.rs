//! What the history page shows, made from what the record holds.

use std::collections::HashMap;

use super::{
    Cell, Chart, Line, Past, Site, Told, conditions, courses, fold, newest, open_answers,
    shown::{Again, Asked, Column, Graded, Lameness, Latest, Part, Row, Shown, View},
};
use crate::{
    body::{Mark, Plan, Seen, State},
    catalogue::{Limb, catalogue},
    clock::{At, Day},
    exam::sections::row_id,
    ids::VisitId,
    papers::words::{self, Units},
    practice::Practice,
    record::{Body, Kind},
    visits::{self, Visit},
};

/// So many visits stand side by side; the earlier ones a link away.
const SHOWN: usize = 12;
/// The trot that lameness is graded at first: straight, on hard ground.
const FIRST_CONDITION: &str = "TRT_SH";

/// The visits that have a column, oldest first: those that took place, and today's.
pub(super) fn columns(visits: &[Visit], today: Day, practice: &Practice) -> Vec<Visit> {
    use visits::State::{Arrived, Booked, InHand, Signed, ToSign};
    let has = |v: &&Visit| {
        matches!(v.state, InHand | ToSign | Signed)
            || (matches!(v.state, Booked | Arrived) && v.starts_at.day(&practice.zone) == today)
    };
    visits.iter().rev().filter(has).cloned().collect()
}

/// Today's visit that is not signed yet: where a finding is looked at again.
pub(super) fn open_today(visits: &[Visit], today: Day, practice: &Practice) -> Option<VisitId> {
    use visits::State::{Arrived, Booked, InHand, ToSign};
    let is = |v: &&Visit| {
        let on_today = v.starts_at.day(&practice.zone) == today;
        on_today && matches!(v.state, Booked | Arrived | InHand | ToSign)
    };
    let begun = |v: &&Visit| (v.state.is_open(), std::cmp::Reverse(v.starts_at));
    visits.iter().filter(is).max_by_key(begun).map(|v| v.id)
}

struct Maker<'a> {
    visits: &'a [Visit],
    /// The day of each visit in words: said often, worked out once.
    days: Vec<String>,
    ids: Vec<VisitId>,
    practice: &'a Practice,
    today: Option<VisitId>,
}

/// Everything the page shows. `visits` are those with a column, oldest first.
pub(super) fn view(
    visits: &[Visit],
    today: (Day, Option<VisitId>),
    past: Past,
    practice: &Practice,
    asked: &Asked,
) -> View {
    let ids: Vec<VisitId> = visits.iter().map(|v| v.id).collect();
    let days = visits.iter().map(|v| v.starts_at.day(&practice.zone).words()).collect();
    let maker = Maker { visits, days, ids, practice, today: today.1 };
    let lines = fold(&maker.ids, past.facts, &past.standing);
    let hidden = if asked.all { 0 } else { visits.len().saturating_sub(SHOWN) };
    let told: &[Told] = &past.lines;
    let (older, recent): (Vec<&Line>, Vec<&Line>) = lines.iter().partition(|line| is_older(line, hidden));
    View {
        columns: maker.columns(hidden, today.0),
        hidden,
        parts: maker.parts(&recent, hidden),
        older: older.iter().map(|line| maker.row(line, hidden)).collect(),
        again: lines.iter().filter(|l| !l.open.is_empty()).map(|l| maker.again(l)).collect(),
        tests: maker.tests(told, &past.standing),
        plan: plan(&lines, &past.clear),
        lameness: maker.lameness(told, &past.standing, &asked.condition),
        latest: maker.latest(told, &past.standing),
        today: today.1,
        waiting: maker.waiting(past.waiting),
    }
}

/// Resolved, and nothing but rings and dots in the visits that are shown.
fn is_older(line: &Line, hidden: usize) -> bool {
    let abnormal = |cell: &Cell| matches!(cell.state, State::Abnormal { .. });
    line.open.is_empty() && !line.is_described() && !line.cells.iter().skip(hidden).any(abnormal)
}

/// The plan as the index: each spot in its newest state, and the way to its row. A tester site has no spot of its
/// own and stands in that of the testers.
fn plan(lines: &[Line], clear: &[Site]) -> Plan {
    let mut seen: HashMap<String, (Seen, Option<String>)> =
        clear.iter().map(|site| (site.key(), (Seen::from(Mark::NOTHING_FOUND), None))).collect();
    for line in lines {
        let (mark, found) = line.newest();
        let words: Vec<&str> = found.iter().map(|f| f.words.as_str()).collect();
        let spot = Seen { mark, found: (!words.is_empty()).then(|| words.join("; ")) };
        let known = seen.get(&line.site.exam_key()).is_some_and(|(known, _)| known.mark.is_abnormal());
        if line.site.exam_key() == line.site.key() || !known {
            seen.insert(line.site.exam_key(), (spot, Some(format!("#{}", line.site.key()))));
        }
    }
    Plan::new(
        |key| seen.get(key).map(|(spot, _)| spot.clone()).unwrap_or_default(),
        |key| seen.get(key).and_then(|(_, row)| row.clone()),
    )
}

impl Maker<'_> {
    fn day(&self, visit: usize) -> String {
        self.days.get(visit).cloned().unwrap_or_default()
    }

    fn waiting(&self, mut late: Vec<VisitId>) -> Vec<(VisitId, String)> {
        late.dedup();
        let day =
            |id: &VisitId| self.ids.iter().position(|v| v == id).map_or_else(String::new, |n| self.day(n));
        late.into_iter().map(|id| (id, day(&id))).collect()
    }

    fn look(&self, key: &str) -> Option<String> {
        let row = key.parse().map_or_else(|_| String::new(), row_id);
        self.today.map(|visit| format!("/visits/{visit}/exam?open={key}#{row}"))
    }

    fn columns(&self, hidden: usize, today: Day) -> Vec<Column> {
        let mut year = String::new();
        let column = |v: &Visit| {
            let day = v.starts_at.day(&self.practice.zone);
            let now = day.0.year().to_string();
            let new = (now != year).then(|| now.clone());
            year = now;
            Column { id: v.id, day, today: day == today, year: new }
        };
        self.visits.iter().skip(hidden).map(column).collect()
    }

    fn parts(&self, lines: &[&Line], hidden: usize) -> Vec<Part> {
        let mut parts: Vec<Part> = Vec::new();
        for line in lines {
            let name = line.site.part();
            if parts.last().is_none_or(|p| p.name != name) {
                parts.push(Part { name, rows: Vec::new() });
            }
            if let Some(part) = parts.last_mut() {
                part.rows.push(self.row(line, hidden));
            }
        }
        parts
    }

    fn row(&self, line: &Line, hidden: usize) -> Row {
        let newest = line.cells.iter().rposition(|c| c.state != State::NotExamined);
        let shown = |(n, cell): (usize, &Cell)| {
            let trend = cell.trend.filter(|_| Some(n) == newest);
            Shown { mark: cell.mark().trend(trend).picture(), words: cell.words() }
        };
        let told = |(n, cell): (usize, &Cell)| (self.day(n), cell.words());
        Row {
            key: line.site.key(),
            name: line.site.name(),
            words: line.site.words(),
            cells: line.cells.iter().enumerate().skip(hidden).map(shown).collect(),
            told: line
                .cells
                .iter()
                .enumerate()
                .rev()
                .map(told)
                .filter(|(_, w)| !w.is_empty())
                .take(SHOWN)
                .collect(),
            open: !line.open.is_empty(),
            end: if line.is_described() { "noted" } else { "resolved" },
            was: self.was(line),
            look: self.look(&line.site.exam_key()),
        }
    }

    /// "effusion, moderate (2 of 4); heat, mild (1 of 3) on 2 Apr 2026": a day only where it is not the newest.
    fn was(&self, line: &Line) -> String {
        let newest = self.visits.len().saturating_sub(1);
        let one = |o: &super::Open| {
            if o.visit == newest {
                o.found.words.clone()
            } else {
                format!("{} on {}", o.found.words, self.day(o.visit))
            }
        };
        line.open.iter().map(one).collect::<Vec<_>>().join("; ")
    }

    fn again(&self, line: &Line) -> Again {
        let mut open: Vec<_> = line.open.iter().collect();
        open.sort_by_key(|o| std::cmp::Reverse(o.visit));
        Again {
            place: line.site.words(),
            was: open.iter().map(|o| (o.found.words.clone(), self.day(o.visit))).collect(),
            href: self.look(&line.site.exam_key()),
        }
    }

    fn tests(&self, lines: &[Told], standing: &fold::Standing) -> Vec<Again> {
        let of = |kind, section: &str| {
            let open = open_answers(&self.ids, lines, kind, standing);
            let href = self.today.map(|visit| format!("/visits/{visit}/exam#{section}"));
            let again = |p: &super::Positive| {
                let (what, said) = (test_name(p.body), words::answer(p.body));
                Again { place: what, was: vec![(said, self.day(p.visit))], href: href.clone() }
            };
            open.iter().map(again).collect::<Vec<_>>()
        };
        let mut tests = of(Kind::Flexion, "flexion");
        tests.extend(of(Kind::Neuro, "neuro"));
        tests
    }

    fn latest(&self, lines: &[Told], standing: &fold::Standing) -> Vec<Latest> {
        let units = Units::of(self.practice);
        let kinds = [
            (Kind::Block, "Blocks"),
            (Kind::Reading, "Answers to blocks"),
            (Kind::Report, "Reports of diagnostics"),
            (Kind::Shown, "What images and samples show"),
            (Kind::Measured, "Measured on pictures"),
            (Kind::File, "Files with results"),
            (Kind::Image, "Images and samples, in words"),
            (Kind::Treatment, "Treatments"),
            (Kind::Euthanasia, "Euthanasia"),
            (Kind::Plan, "Plan"),
            (Kind::Vital, "Vital signs"),
        ];
        let one = |(kind, title): (Kind, &'static str)| {
            let (visit, bodies) = newest(&self.ids, lines, kind, standing)?;
            let report = self.ids.get(visit).map(|id| format!("/visits/{id}/report")).unwrap_or_default();
            let lines = bodies.iter().map(|b| words::sentence(b, units)).collect();
            Some(Latest { title, day: self.day(visit), report, lines })
        };
        kinds.into_iter().filter_map(one).collect()
    }

    fn lameness(&self, lines: &[Told], standing: &fold::Standing, asked: &str) -> Option<Lameness> {
        let known = conditions(lines, standing);
        let first = |code: &str| known.iter().find(|c| *c == code);
        let condition = first(asked).or_else(|| first(FIRST_CONDITION)).or_else(|| known.first())?.clone();
        let times: Vec<At> = self.visits.iter().map(|v| v.starts_at).collect();
        let all = courses(&self.ids, lines, &condition, standing);
        let used = || all.iter().flat_map(|c| c.limbs.iter().flatten()).map(|p| p.visit);
        let (from, to) = (used().min()?, used().max()?);
        let charts = all.iter().map(|course| (Chart::draw(course, &times), self.graded(course))).collect();
        let named = |code: &String| (code.clone(), condition_name(code));
        Some(Lameness {
            condition: condition_name(&condition),
            conditions: known.iter().filter(|c| **c != condition).map(named).collect(),
            charts,
            from: self.day(from),
            to: self.day(to),
        })
    }

    fn graded(&self, course: &super::Course) -> Vec<Graded> {
        let mut visits: Vec<usize> = course.limbs.iter().flatten().map(|p| p.visit).collect();
        visits.sort_unstable();
        visits.dedup();
        let grade = |limb: &Vec<super::Point>, visit| {
            let point = limb.iter().find(|p| p.visit == visit);
            point.map_or_else(|| "not graded".into(), |p| p.grade.to_string())
        };
        let row = |visit: usize| Graded {
            day: self.day(visit),
            grades: course.limbs.iter().map(|l| grade(l, visit)).collect(),
        };
        visits.into_iter().map(row).collect()
    }
}

fn condition_name(code: &str) -> String {
    catalogue().condition(code).map_or_else(|| code.to_owned(), |row| row.name.clone())
}

/// "left fore, flexion of: carpus"; "tight circles, left".
fn test_name(body: &Body) -> String {
    let limb = body.limb.as_deref().and_then(|l| l.parse::<Limb>().ok()).map(Limb::name);
    let side = body.side.as_deref().and_then(|s| s.parse().ok()).map(crate::catalogue::Side::name);
    let name = words::code_name(body);
    let what = if body.kind == Kind::Flexion { format!("flexion, {name}") } else { name };
    match limb.or(side.filter(|s| *s != "midline")) {
        Some(at) => format!("{at}: {what}"),
        None => what,
    }
}
