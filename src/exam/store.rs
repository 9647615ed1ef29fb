//! What earlier visits found at each place of the horse. SQLite keeps the order of a cross join; it would else begin
//! with the entries of all horses.

use std::collections::HashMap;

use sqlx::SqliteExecutor;

use super::{say, state::place_of};
use crate::{catalogue::Place, clock::At, ids::VisitId, record::Body};

/// What stood at a place when it was last examined.
#[derive(Debug, Clone)]
pub(super) struct Last {
    pub at: At,
    pub words: Vec<String>,
    /// The highest grade that was given.
    pub grade: Option<f64>,
    /// It was abnormal then, so it is looked at again.
    pub unresolved: bool,
}

/// The last word of the visits of this horse before `this` one, on every place that ever had a finding and was not
/// found clean since.
pub(super) async fn last_time<'a>(
    db: impl SqliteExecutor<'a> + Copy,
    this: VisitId,
) -> sqlx::Result<HashMap<Place, Last>> {
    let found = sqlx::query!(
        r#"select v.starts_at as "starts_at: At", json_group_array(json(e.body) order by e.seq) as "bodies!: String"
           from visit this cross join visit v on v.horse_id = this.horse_id cross join entry e on e.visit_id = v.id
           where this.id = ? and v.id <> this.id and v.starts_at < this.starts_at and e.kind = 'finding' and e.late = 0
             and not exists (select 1 from entry s where s.supersedes = e.id and s.late = 0)
           group by v.id order by v.starts_at desc"#,
        this
    )
    .fetch_all(db);
    // Side by side: both look through every earlier visit, and neither needs the other.
    let (clean, rows) = tokio::try_join!(clean_since(db, this), found)?;
    let mut last: HashMap<Place, Last> = HashMap::new();
    for row in rows {
        let bodies: Vec<Body> =
            serde_json::from_str(&row.bodies).map_err(|e| sqlx::Error::Decode(e.into()))?;
        for body in &bodies {
            let Some(place) = place_of(body) else { continue };
            if clean.get(&place).is_some_and(|at| *at > row.starts_at) {
                continue;
            }
            let here = last.entry(place).or_insert_with(|| Last {
                at: row.starts_at,
                words: Vec::new(),
                grade: None,
                unresolved: false,
            });
            if here.at == row.starts_at {
                here.add(body);
            }
        }
    }
    Ok(last)
}

impl Last {
    fn add(&mut self, body: &Body) {
        self.words.push(say::entry(body));
        if body.present == Some(true) {
            self.unresolved = true;
            self.grade = self.grade.into_iter().chain(body.grade).max_by(f64::total_cmp);
        }
    }
}

/// When each place that ever had a finding was last found clean. Most places never had one, and a horse of sixty
/// visits was found clean some thousands of times.
async fn clean_since(db: impl SqliteExecutor<'_>, this: VisitId) -> sqlx::Result<HashMap<Place, At>> {
    let rows = sqlx::query!(
        r#"with this as (select id, horse_id, starts_at from visit where id = ?),
           spot as (
               select distinct f.region, f.side, f.limb
               from this cross join visit v on v.horse_id = this.horse_id cross join entry f on f.visit_id = v.id
               where f.kind = 'finding')
           select e.region as "region!", e.side as "side!", e.limb, max(v.starts_at) as "at!: At"
           from this cross join spot s
                cross join visit v on v.horse_id = this.horse_id and v.id <> this.id and v.starts_at < this.starts_at
                cross join entry e on e.visit_id = v.id and e.kind = 'place' and e.region = s.region and e.side = s.side
                    and e.limb is s.limb and e.present = 0
           where e.late = 0
             and not exists (select 1 from entry c where c.supersedes = e.id and c.late = 0)
           group by e.region, e.side, e.limb"#,
        this
    )
    .fetch_all(db)
    .await?;
    let place = |region: &str, side: &str, limb: Option<&str>| {
        let limb = limb.map(str::parse).transpose().ok()?;
        Place::new(region, side.parse().ok()?, limb).ok()
    };
    Ok(rows
        .into_iter()
        .filter_map(|row| Some((place(&row.region, &row.side, row.limb.as_deref())?, row.at)))
        .collect())
}

/// How many late entries wait for the signer, or were taken in.
pub(super) async fn late(db: impl SqliteExecutor<'_>, visit: VisitId) -> sqlx::Result<i64> {
    sqlx::query_scalar!("select count(*) from entry where visit_id = ? and late = 1", visit)
        .fetch_one(db)
        .await
}
