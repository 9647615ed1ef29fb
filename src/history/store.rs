//! The SQL of the history: one horse's past, read by kind and place. Visits are found by their horse, so a visit
//! that was moved brings its entries along.

use sqlx::SqlitePool;

use super::{
    Site,
    answers::{Line, is_positive},
    fold::{Correction, Fact, Found, Said, Standing},
};
use crate::{
    ids::{EntryId, HorseId, VisitId},
    papers::words,
    record::{Body, Kind},
};

/// What the record holds about one horse, as far as its history needs it.
#[derive(Debug, Default)]
pub struct Past {
    pub facts: Vec<Fact>,
    pub lines: Vec<Line>,
    pub standing: Standing,
    /// Places where nothing was ever found, and somebody looked.
    pub clear: Vec<Site>,
    /// Entries that arrived after their visit was signed and wait to be adopted.
    pub waiting: Vec<VisitId>,
}

pub async fn past(db: &SqlitePool, horse: HorseId) -> sqlx::Result<Past> {
    let (lines, mut facts, corrections, clear, late) = tokio::try_join!(
        lines(db, horse),
        looked(db, horse),
        corrections(db, horse),
        clear(db, horse),
        late(db, horse)
    )?;
    let adopted =
        lines.iter().filter(|l| l.body.kind == Kind::Adoption).filter_map(|l| l.body.about).collect();
    let standing = Standing::new(&corrections, adopted);
    let (found, lines): (Vec<_>, Vec<_>) = lines.into_iter().partition(|l| l.body.kind == Kind::Finding);
    facts.extend(lines.iter().filter_map(pictured));
    facts.extend(found.into_iter().filter_map(fact));
    let waiting = late.into_iter().filter(|(id, _)| !standing.stands(*id, true)).map(|(_, v)| v).collect();
    Ok(Past { facts, lines, standing, clear, waiting })
}

fn fact(line: Line) -> Option<Fact> {
    let body = line.body;
    let site = Site::new(body.region.as_deref()?, body.side.as_deref(), body.limb.as_deref());
    let code = body.code.clone().unwrap_or_default();
    let said = if is_positive(&body) {
        Said::Found(Found { code, grade: body.grade, words: words::finding(&body) })
    } else {
        Said::Absent(code)
    };
    Some(Fact { id: line.id, visit: line.visit, late: line.late, site, said })
}

/// What images and samples show at a place stands beside what hands found there. That they show nothing does not say
/// that hands would find nothing.
fn pictured(line: &Line) -> Option<Fact> {
    let body = &line.body;
    if body.kind != Kind::Shown || body.present != Some(true) {
        return None;
    }
    let site = Site::new(body.region.as_deref()?, body.side.as_deref(), body.limb.as_deref());
    let found = Found { code: body.code.clone().unwrap_or_default(), grade: None, words: words::shown(body) };
    Some(Fact { id: line.id, visit: line.visit, late: line.late, site, said: Said::Found(found) })
}

/// Findings that were there, and everything that is shown in its own words.
async fn lines(db: &SqlitePool, horse: HorseId) -> sqlx::Result<Vec<Line>> {
    let rows = sqlx::query!(
        r#"select e.id as "id: EntryId", e.visit_id as "visit: VisitId", e.late as "late: bool", e.body as "body!"
           from visit v join entry e on e.visit_id = v.id
           where v.horse_id = ? and e.body is not null
             and e.kind in ('finding', 'vital', 'gait', 'flexion', 'neuro', 'block', 'image', 'report', 'shown',
                            'measured', 'file', 'treatment', 'euthanasia', 'plan', 'adoption')
             and (e.kind <> 'finding' or e.present = 1)
           order by e.seq"#,
        horse
    )
    .fetch_all(db)
    .await?;
    rows.into_iter()
        .map(|r| {
            let body: Body = serde_json::from_str(&r.body).map_err(|e| sqlx::Error::Decode(e.into()))?;
            Ok(Line { id: r.id, visit: r.visit, late: r.late, body })
        })
        .collect()
}

/// What else was said of the places that ever had a finding: nothing found, looked for and absent, not examined.
async fn looked(db: &SqlitePool, horse: HorseId) -> sqlx::Result<Vec<Fact>> {
    let rows = sqlx::query!(
        r#"with spot as (
               select distinct f.region, f.side, f.limb from visit v join entry f on f.visit_id = v.id
               where v.horse_id = ?1 and f.kind = 'finding' and f.present = 1)
           select distinct e.id as "id!: EntryId", e.visit_id as "visit!: VisitId", e.late as "late!: bool",
                  e.kind as "kind!: Kind", e.region as "region!", e.side, e.limb, e.code, e.present as "present: bool",
                  case when e.kind = 'place' and e.present is null then e.body ->> 'text' end as "why: String"
           from spot s cross join visit v
                join entry e on e.visit_id = v.id and e.kind in ('place', 'finding') and e.region = s.region
           where v.horse_id = ?1 and e.present is not 1
             and (e.side is s.side or e.side is null) and (e.limb is s.limb or e.limb is null or s.limb is null)"#,
        horse
    )
    .fetch_all(db)
    .await?;
    let said = |kind, present, code: Option<String>, why: Option<String>| match (kind, present) {
        (Kind::Place, Some(false)) => Some(Said::NothingFound),
        (Kind::Place, _) => Some(Said::NotExamined(why.unwrap_or_else(|| "no reason given".into()))),
        (_, Some(false)) => Some(Said::Absent(code.unwrap_or_default())),
        // A measure alone says neither that something was found nor that nothing was.
        _ => None,
    };
    Ok(rows
        .into_iter()
        .filter_map(|r| {
            Some(Fact {
                id: r.id,
                visit: r.visit,
                late: r.late,
                site: Site::new(&r.region, r.side.as_deref(), r.limb.as_deref()),
                said: said(r.kind, r.present, r.code, r.why)?,
            })
        })
        .collect())
}

async fn corrections(db: &SqlitePool, horse: HorseId) -> sqlx::Result<Vec<Correction>> {
    sqlx::query_as!(
        Correction,
        r#"select e.id as "by: EntryId", e.supersedes as "of!: EntryId", e.late as "late: bool"
           from visit v join entry e on e.visit_id = v.id
           where v.horse_id = ? and e.supersedes is not null"#,
        horse
    )
    .fetch_all(db)
    .await
}

/// Places with a "nothing found" that stands: what the plan draws as a ring where no finding ever was.
async fn clear(db: &SqlitePool, horse: HorseId) -> sqlx::Result<Vec<Site>> {
    let rows = sqlx::query!(
        r#"select distinct e.region as "region!", e.side, e.limb from visit v join entry e on e.visit_id = v.id
           where v.horse_id = ? and e.kind = 'place' and e.present = 0 and e.late = 0 and e.region is not null
             and not exists (select 1 from entry c where c.supersedes = e.id and c.late = 0)"#,
        horse
    )
    .fetch_all(db)
    .await?;
    Ok(rows.iter().map(|r| Site::new(&r.region, r.side.as_deref(), r.limb.as_deref())).collect())
}

async fn late(db: &SqlitePool, horse: HorseId) -> sqlx::Result<Vec<(EntryId, VisitId)>> {
    let rows = sqlx::query!(
        r#"select e.id as "id: EntryId", e.visit_id as "visit: VisitId"
           from visit v join entry e on e.visit_id = v.id where v.horse_id = ? and e.late = 1 order by e.seq"#,
        horse
    )
    .fetch_all(db)
    .await?;
    Ok(rows.into_iter().map(|r| (r.id, r.visit)).collect())
}
