//! What the record of a visit says, in sentences under their headings: for letters, whose words are the practice's own.

use super::{
    report::{CLEAR, NOT_GRADED, Report, name},
    store,
    words::Units,
};
use crate::{
    App, clock::Day, diagnostics::paper, practice, record, record::Kind, visits::Visit, web::Result,
    workup::sheet::Sheet,
};

/// Sentences, none where nothing was recorded.
#[derive(Debug, Clone, Default)]
pub struct Told {
    /// "at Stonepath", "at the clinic".
    pub place: String,
    pub notes: Vec<String>,
    pub vital_signs: Vec<String>,
    /// What is out of the ordinary, a place a line.
    pub findings: Vec<String>,
    pub movement: Vec<String>,
    pub flexion: Vec<String>,
    pub blocks: Vec<String>,
    pub images: Vec<String>,
    pub treatments: Vec<String>,
    pub problems: Vec<String>,
    pub plan: Vec<String>,
    pub follow_ups: Vec<String>,
}

impl Told {
    pub async fn of_visit(app: &App, visit: &Visit, today: Day) -> Result<Self> {
        let db = app.db.read();
        let names = store::names(db).await?;
        let report = report(app, visit).await?;
        let lines = |kind| said(&report, kind);
        let ordered = paper::of_visit(app, visit.id, today).await?.into_iter();
        let images = ordered.map(|order| {
            let results =
                order.results.iter().map(|(words, by, _)| format!("{words} ({})", name(&names, *by)));
            let said: Vec<String> = results.collect();
            if said.is_empty() { order.title } else { format!("{}: {}", order.title, said.join("; ")) }
        });
        let promises = store::promises(db, visit.id).await?.into_iter();
        let place = match store::caller_and_yard(db, visit.id).await? {
            _ if visit.place == "clinic" => "at the clinic".to_owned(),
            (_, Some(yard)) => format!("at {yard}"),
            _ => "at the yard".to_owned(),
        };
        Ok(Told {
            place,
            notes: lines(Kind::Note),
            vital_signs: lines(Kind::Vital),
            findings: findings(&report),
            movement: movement(&report),
            flexion: lines(Kind::Flexion),
            blocks: blocks(&Sheet::load(app, visit.id).await?),
            images: images.chain(lines(Kind::Image)).collect(),
            treatments: lines(Kind::Treatment),
            problems: lines(Kind::Problem),
            plan: lines(Kind::Plan),
            follow_ups: promises.map(|one| format!("{}, due {}", one.what, one.due_on.words())).collect(),
        })
    }

    /// What a visit came to, in one line: the assessment, or what was found where there is none.
    pub async fn in_short(app: &App, visit: &Visit) -> Result<String> {
        let report = report(app, visit).await?;
        let problems = said(&report, Kind::Problem);
        let said = if problems.is_empty() { findings(&report) } else { problems };
        Ok(if said.is_empty() { "nothing out of the ordinary recorded".to_owned() } else { said.join("; ") })
    }
}

async fn report(app: &App, visit: &Visit) -> Result<Report> {
    let db = app.db.read();
    let units = Units::of(&practice::store::get(db).await?);
    let names = store::names(db).await?;
    let current = record::current_of_visit(db, visit.id).await?;
    Ok(Report::of(&current, &names, visit.vet_id, units))
}

fn said(report: &Report, kind: Kind) -> Vec<String> {
    report.of_kind(kind).into_iter().map(|said| said.words.clone()).collect()
}

fn findings(report: &Report) -> Vec<String> {
    let mut lines: Vec<String> = report.stances().iter().map(|said| said.words.clone()).collect();
    for group in &report.groups {
        for (place, cells) in &group.rows {
            for (side, cell) in group.columns.iter().zip(cells).filter(|(_, cell)| !cell.is_empty()) {
                let words: Vec<&str> =
                    cell.iter().map(|said| said.words.as_str()).filter(|words| *words != CLEAR).collect();
                if words.is_empty() {
                    continue;
                }
                lines.push(format!("{side} {}{place}: {}", group.of, words.join(", ")));
            }
        }
    }
    lines
}

/// Conditions with a limb that was not level, and what was written beside the grades.
fn movement(report: &Report) -> Vec<String> {
    const LIMBS: [&str; 4] = ["left fore", "right fore", "left hind", "right hind"];
    let mut lines = Vec::new();
    for gaits in &report.gaits {
        for (condition, grades) in &gaits.rows {
            let lame = LIMBS
                .iter()
                .zip(grades)
                .filter(|(_, grade)| !["", "0", NOT_GRADED].contains(&grade.as_str()));
            let said: Vec<String> = lame.map(|(limb, grade)| format!("{limb} {grade}")).collect();
            let said = if said.is_empty() {
                "level in all four as far as graded".to_owned()
            } else {
                said.join(", ")
            };
            lines.push(format!("{condition}: {said} ({})", gaits.title));
        }
    }
    lines.extend(report.remarks.iter().map(|said| said.words.clone()));
    lines
}

fn blocks(sheet: &Sheet) -> Vec<String> {
    let lines = sheet.lines().into_iter().map(|(words, answers)| {
        if answers.is_empty() { words } else { format!("{words}: {}", answers.join("; ")) }
    });
    lines.chain(sheet.in_words.iter().cloned()).collect()
}
