//! One visit's sequence by limb: how it went before, what was flexed and squeezed, every block with its clock and its
//! answers. Several limbs stand side by side when lameness moves.

use super::{
    clock::{Phase, Ticking, numb_until},
    course::{Look, Shot},
    scene::Scene,
};
use crate::{
    catalogue::{Limb, catalogue},
    clock::At,
    ids::EntryId,
    papers::{needle, words},
    record::{Body, Entry, Kind},
};

/// The sequence of one limb; of the trunk where there is none.
pub(super) struct Column {
    pub title: String,
    pub code: &'static str,
    pub lines: Vec<Line>,
}

/// One thing that was done or seen.
pub(super) struct Line {
    pub at: String,
    pub iso: String,
    /// What kind of thing it is: gait, flexion, testers, block.
    pub what: &'static str,
    pub words: String,
    pub by: String,
    /// For a block: its clock, its answers, and where they are told.
    pub block: Option<BlockLine>,
    order: At,
}

pub(super) struct BlockLine {
    pub entry: EntryId,
    /// "left fore palmar digital block", for a button.
    pub name: String,
    pub ticking: Option<Ticking>,
    /// The clock matters: nobody has read it, and it may still work.
    pub runs: bool,
    /// The time was not said.
    pub reckoned: bool,
    pub numb_until: String,
    pub looks: Vec<LookLine>,
}

pub(super) struct LookLine {
    pub entry: EntryId,
    pub words: String,
    /// What is to be said of it: too early, late, not weighed.
    pub remark: String,
    pub by: String,
}

/// The limbs with anything to show, in the order of the horse; the trunk last.
pub(super) fn columns(scene: &Scene) -> Vec<Column> {
    let limbs = Limb::ALL.into_iter().map(Some).chain([None]);
    limbs.map(|limb| column(scene, limb)).filter(|column| !column.lines.is_empty()).collect()
}

fn column(scene: &Scene, limb: Option<Limb>) -> Column {
    let title = limb.map_or("trunk", Limb::name).to_owned();
    let code = limb.map(Limb::code);
    let ours = |body: &Body| body.limb.as_deref() == code;
    let mut lines: Vec<Line> = Vec::new();
    if limb.is_some() {
        let bodies = scene.entries.iter().filter_map(|entry| Some((entry, entry.body.as_ref()?)));
        lines.extend(
            bodies.filter(|(_, body)| ours(body)).filter_map(|(entry, body)| seen(scene, entry, body)),
        );
    }
    lines.extend(scene.shots.iter().filter(|shot| shot.limb == limb).map(|shot| block(scene, shot)));
    // A block is told to the minute: within one, what was seen before it comes first.
    lines.sort_by_key(|line| (line.order.0.div_euclid(60_000), line.block.is_some()));
    Column { title, code: code.unwrap_or("trunk"), lines }
}

/// A grade of the horse in motion, a flexion or the testers; nothing else stands here. Grades of nought stand only
/// where it was lame otherwise: they are the baseline.
fn seen(scene: &Scene, entry: &Entry, body: &Body) -> Option<Line> {
    let (what, words) = match body.kind {
        Kind::Gait if body.grade.is_some() => {
            ("gait", format!("{}: {}", words::code_name(body), words::answer(body)))
        }
        Kind::Flexion => ("flexion", format!("{}: {}", words::code_name(body), words::answer(body))),
        Kind::Finding if is_tester(body) && body.present == Some(true) => ("testers", words::finding(body)),
        _ => return None,
    };
    let site = body.region.as_deref().and_then(|code| catalogue().tester_site(code));
    let words = site.map_or(words.clone(), |site| format!("{}: {words}", site.name));
    Some(Line {
        at: scene.hm(entry.seen()),
        iso: entry.seen().iso(),
        what,
        words,
        by: scene.author(entry.seen_by),
        block: None,
        order: entry.seen(),
    })
}

fn is_tester(body: &Body) -> bool {
    body.region.as_deref().is_some_and(|code| code == "FT_HT" || catalogue().tester_site(code).is_some())
}

fn block(scene: &Scene, shot: &Shot) -> Line {
    let numb = numb_until(shot).filter(|until| *until > scene.now);
    let limb = shot.limb.map_or("trunk", Limb::name);
    Line {
        at: scene.hm(shot.at),
        iso: shot.at.iso(),
        what: "block",
        words: needle::block(&shot.body),
        by: scene.author(shot.by),
        block: Some(BlockLine {
            entry: shot.entry,
            name: format!("{limb} {}", needle::block_name(&shot.block.code)),
            ticking: Ticking::of(shot, scene.now, scene.zone()),
            runs: shot.waits(scene.now),
            reckoned: shot.is_reckoned,
            numb_until: numb.map(|until| scene.hm(until)).unwrap_or_default(),
            looks: shot.looks.iter().map(|look| look_line(scene, shot, look)).collect(),
        }),
        order: shot.at,
    }
}

fn look_line(scene: &Scene, shot: &Shot, look: &Look) -> LookLine {
    let body = Body { value: None, ..look.body.clone() };
    LookLine {
        entry: look.entry,
        words: needle::reading(&body),
        remark: remark(shot, look),
        by: scene.author(look.by),
    }
}

/// What the clock says of a look.
fn remark(shot: &Shot, look: &Look) -> String {
    let judged = look.better_pct.is_some() || look.switched_to.is_some();
    let Some(minutes) = look.minutes else {
        return "how long after is not said, so it is not weighed".to_owned();
    };
    let after = look.body.after.as_ref();
    let typed = after.and_then(|after| after.improvement_pct);
    let reckoned = after.and_then(|after| crate::record::from_grades(after.before?, look.body.grade?));
    let mut said: Vec<String> = Vec::new();
    if let Some(clock) = shot.clock().filter(|_| judged) {
        match minutes {
            min if min < clock.assess_min => said.push("too early: a no is none yet".to_owned()),
            min if min > clock.late_min => said.push("late: a yes means a wider field".to_owned()),
            _ => {}
        }
    }
    if let (Some(typed), Some(reckoned)) = (typed, reckoned)
        && (typed - reckoned).abs() >= 1.0
    {
        said.push(format!("as judged; the grades alone say {}", needle::better(reckoned)));
    }
    if !judged && look.body.grade.is_some() {
        said.push("no grade before it to compare with, so it is not weighed".to_owned());
    }
    said.join("; ")
}

/// The blocks that wait to be read, for the head of the page.
pub(super) fn running(columns: &[Column]) -> Vec<(&BlockLine, Phase)> {
    let blocks = columns.iter().flat_map(|column| &column.lines).filter_map(|line| line.block.as_ref());
    blocks
        .filter(|block| block.runs)
        .filter_map(|block| Some((block, block.ticking.as_ref()?.phase)))
        .collect()
}
