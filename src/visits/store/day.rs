//! The SQL of the day page: visits as one line each, with booking facts only.

use std::collections::HashMap;

use sqlx::SqliteExecutor;

use crate::{
    clock::At,
    ids::{HorseId, StaffId, StopId, VisitId, YardId},
    visits::State,
};

/// A visit as one line of the day.
#[derive(Debug, Clone)]
pub struct Line {
    pub id: VisitId,
    pub horse_id: HorseId,
    pub horse: String,
    pub place: String,
    pub yard: Option<String>,
    pub starts_at: At,
    pub minutes: i64,
    pub urgent: bool,
    pub walk_in: bool,
    /// What it shares with other visits of its yard.
    pub stop_id: Option<StopId>,
    pub yard_id: Option<YardId>,
    pub state: State,
    pub vet_id: Option<StaffId>,
    pub vet: Option<String>,
    /// All complaints, in the caller's words.
    pub complaint: Option<String>,
    /// An open hand-over: to whom, from whom, with which words.
    pub offered_to: Option<StaffId>,
    pub offered_by: Option<String>,
    pub offer: Option<String>,
}

impl Line {
    pub fn ends_at(&self) -> At {
        self.starts_at.plus_minutes(self.minutes)
    }

    /// Where one has to be.
    pub fn where_(&self) -> &str {
        match &self.yard {
            Some(yard) if self.place == "yard" => yard,
            _ if self.place == "yard" => "yard",
            _ => "clinic",
        }
    }
}

/// The lines that a condition picks, by time.
macro_rules! lines {
    ($which:tt, $($value:expr),*) => {
        sqlx::query_as!(
            Line,
            r#"select v.id as "id: VisitId", v.horse_id as "horse_id: HorseId", h.name as horse, v.place,
                      y.name as "yard?", v.starts_at as "starts_at: At", v.minutes, v.urgent as "urgent: bool",
                      v.walk_in as "walk_in: bool", v.stop_id as "stop_id: StopId", v.yard_id as "yard_id: YardId", v.state as "state: State", v.vet_id as "vet_id: StaffId",
                      s.name as "vet?",
                      (select group_concat(words, ' · ') from
                          (select words from complaint where visit_id = v.id order by position)) as "complaint: String",
                      o.to_id as "offered_to?: StaffId", f.name as "offered_by?", o.line as "offer?"
               from visit v
               join horse h on h.id = v.horse_id
               left join yard y on y.id = v.yard_id
               left join staff s on s.id = v.vet_id
               left join handover o on o.visit_id = v.id and o.answered_at is null
               left join staff f on f.id = o.from_id
               where "# + $which + " order by v.starts_at, s.name",
            $($value),*
        )
    };
}

/// Everything that stands on the day between two instants.
pub async fn between(db: impl SqliteExecutor<'_>, from: At, until: At) -> sqlx::Result<Vec<Line>> {
    lines!("v.starts_at >= ? and v.starts_at < ?", from, until).fetch_all(db).await
}

/// One visit as a line.
pub async fn line(db: impl SqliteExecutor<'_>, id: VisitId) -> sqlx::Result<Line> {
    lines!("v.id = ?", id).fetch_one(db).await
}

/// Examined and not signed, from days before `before`: this vet's, and those that nobody has.
pub async fn unsigned(db: impl SqliteExecutor<'_>, vet: StaffId, before: At) -> sqlx::Result<Vec<Line>> {
    lines!(
        "v.state in ('in_hand', 'to_sign') and v.starts_at < ? and (v.vet_id = ? or v.vet_id is null)",
        before,
        vet
    )
    .fetch_all(db)
    .await
}

/// Booked for days before `before` and never begun nor closed.
pub async fn left_open(db: impl SqliteExecutor<'_>, before: At) -> sqlx::Result<Vec<Line>> {
    lines!("v.state in ('booked', 'arrived') and v.starts_at < ?", before).fetch_all(db).await
}

/// Cases that another vet offers to this one.
pub async fn offered(db: impl SqliteExecutor<'_>, vet: StaffId) -> sqlx::Result<Vec<Line>> {
    lines!("o.to_id = ?", vet).fetch_all(db).await
}

/// What of this vet's stands between two instants, `except` one visit.
pub async fn in_the_way(
    db: impl SqliteExecutor<'_>,
    vet: StaffId,
    from: At,
    until: At,
    except: Option<VisitId>,
) -> sqlx::Result<Option<Line>> {
    let found = lines!(
        "v.vet_id = ? and v.walk_in = 0 and v.state not in ('cancelled', 'did_not_come')
         and v.starts_at < ? and v.starts_at + v.minutes * 60000 > ? and v.id is not ?",
        vet,
        until,
        from,
        except
    )
    .fetch_all(db)
    .await?;
    Ok(found.into_iter().next())
}

/// The open visits at one yard or of one horse's yard, to go on from horse to horse.
pub async fn open_of_horse(db: impl SqliteExecutor<'_>, horse: HorseId) -> sqlx::Result<Vec<Line>> {
    lines!("v.horse_id = ? and v.state in ('booked', 'arrived', 'in_hand', 'to_sign')", horse)
        .fetch_all(db)
        .await
}

/// The visits of a shared stop, but for those that were cancelled.
pub async fn of_stop(db: impl SqliteExecutor<'_>, stop: StopId) -> sqlx::Result<Vec<Line>> {
    lines!("v.stop_id = ? and v.state <> 'cancelled'", stop).fetch_all(db).await
}

/// Puts the visits of a shared stop next to each other, where the first of them stands.
pub fn side_by_side(lines: &mut [Line]) {
    let firsts: HashMap<StopId, At> =
        lines.iter().rev().filter_map(|l| Some((l.stop_id?, l.starts_at))).collect();
    lines.sort_by_key(|l| {
        let begins = l.stop_id.and_then(|stop| firsts.get(&stop).copied()).unwrap_or(l.starts_at);
        (begins, l.vet.clone(), l.stop_id, l.starts_at)
    });
}
