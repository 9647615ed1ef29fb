//! The SQL of competition control: sets of rules, their rules, and the margins of veterinarians.

use sqlx::{SqliteExecutor, SqlitePool};

use super::{
    Kept, Restriction, RuleSet, Subject,
    margin::{Added, NewMargin},
    rules::kind_key,
};
use crate::{
    clock::{At, Day},
    db::Tx,
    ids::{EntryId, HorseId, MarginId, RestrictionId, RuleSetId, StaffId, VisitId},
    reasoning::competition::{Interval, Kind, Margin, Rule},
    record::Body,
};

/// Every set, the one that begins last first.
pub async fn sets(db: impl SqliteExecutor<'_>) -> sqlx::Result<Vec<RuleSet>> {
    sqlx::query_as!(
        RuleSet,
        r#"select r.id as "id: RuleSetId", r.name, r.body, r.jurisdiction, r.edition, r.valid_from as "valid_from: Day",
                  r.valid_to as "valid_to: Day", r.source, r.read_on as "read_on: Day", s.name as by, r.at as "at: At",
                  r.version
           from rule_set r join staff s on s.id = r.by_id order by r.valid_from desc, r.name, r.id"#
    )
    .fetch_all(db)
    .await
}

/// A set as it is entered. Its `by`, `at` and `version` are not looked at.
pub async fn insert_set(tx: &mut Tx, new: &RuleSet, by: StaffId, now: At) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into rule_set (id, name, body, jurisdiction, edition, valid_from, valid_to, source, read_on, by_id, at)
         values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        new.id,
        new.name,
        new.body,
        new.jurisdiction,
        new.edition,
        new.valid_from,
        new.valid_to,
        new.source,
        new.read_on,
        by,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// Zero rows mean that somebody else was there first.
pub(super) async fn update_set(tx: &mut Tx, new: &RuleSet, by: StaffId, now: At) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update rule_set set name = ?, body = ?, jurisdiction = ?, edition = ?, valid_from = ?, valid_to = ?, source = ?,
                read_on = ?, by_id = ?, at = ?, version = version + 1
         where id = ? and version = ?",
        new.name,
        new.body,
        new.jurisdiction,
        new.edition,
        new.valid_from,
        new.valid_to,
        new.source,
        new.read_on,
        by,
        now,
        new.id,
        new.version
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

/// The rules of a set, by name; those that were struck are among them.
pub async fn restrictions(db: impl SqliteExecutor<'_>, set: RuleSetId) -> sqlx::Result<Vec<Kept>> {
    let rows = sqlx::query!(
        r#"select r.id as "id: RestrictionId", r.medicine, r.name, r.route, r.kind as "kind: Kind", r.hours as "hours: u32",
                  r.clear_days as "clear_days: u32", r.max_dose, r.source, s.name as by, r.at as "at: At",
                  k.name as "struck_by?", r.struck_at as "struck_at: At", r.struck_why
           from restriction r join staff s on s.id = r.by_id left join staff k on k.id = r.struck_by
           where r.set_id = ? order by r.name collate nocase, r.rowid"#,
        set
    )
    .fetch_all(db)
    .await?;
    let kept = rows.into_iter().map(|row| Kept {
        restriction: Restriction {
            id: row.id,
            subject: match row.medicine {
                Some(code) => Subject::Medicine { code, name: row.name },
                None => Subject::Procedure(row.name),
            },
            route: row.route,
            rule: Rule {
                kind: row.kind,
                interval: match row.hours {
                    Some(hours) => Interval::Hours(hours),
                    None => Interval::ClearDays(row.clear_days.unwrap_or_default()),
                },
            },
            max_dose: row.max_dose,
            source: row.source,
        },
        by: row.by,
        at: row.at,
        struck: row.struck_by.zip(row.struck_at).map(|(by, at)| (by, at, row.struck_why)),
    });
    Ok(kept.collect())
}

pub async fn insert_restriction(
    tx: &mut Tx,
    set: RuleSetId,
    new: &Restriction,
    by: StaffId,
    now: At,
) -> sqlx::Result<()> {
    let (medicine, name) = match &new.subject {
        Subject::Medicine { code, name } => (Some(code), name),
        Subject::Procedure(name) => (None, name),
    };
    let (hours, clear_days) = match new.rule.interval {
        Interval::Hours(hours) => (Some(hours), None),
        Interval::ClearDays(days) => (None, Some(days)),
    };
    let kind = kind_key(new.rule.kind);
    sqlx::query!(
        "insert into restriction (id, set_id, medicine, name, route, kind, hours, clear_days, max_dose, source, by_id, at)
         values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        new.id,
        set,
        medicine,
        name,
        new.route,
        kind,
        hours,
        clear_days,
        new.max_dose,
        new.source,
        by,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// Zero rows mean that somebody else struck it.
pub(super) async fn strike(
    tx: &mut Tx,
    (set, id): (RuleSetId, RestrictionId),
    why: &str,
    by: StaffId,
    now: At,
) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update restriction set struck_by = ?, struck_at = ?, struck_why = ?
         where id = ? and set_id = ? and struck_at is null",
        by,
        now,
        why,
        id,
        set
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

/// An entry that may be a treatment.
pub(super) struct Told {
    pub entry: EntryId,
    pub visit: VisitId,
    pub seen_at: At,
    pub body: Body,
}

/// The treatments and blocks of a horse that stand. Late entries count: they were given, whoever adopts them.
pub(super) async fn told(db: &SqlitePool, horse: HorseId) -> sqlx::Result<Vec<Told>> {
    let rows = sqlx::query!(
        r#"select e.id as "id: EntryId", e.visit_id as "visit: VisitId", e.seen_at - e.offset_ms as "seen_at!: At",
                  e.body as "body!"
           from visit v join entry e on e.visit_id = v.id
           where v.horse_id = ? and e.kind in ('treatment', 'block')
             and not exists (select 1 from entry s where s.supersedes = e.id)"#,
        horse
    )
    .fetch_all(db)
    .await?;
    let told = |(entry, visit, seen_at, body): (EntryId, VisitId, At, String)| {
        let body = serde_json::from_str(&body).map_err(|e| sqlx::Error::Decode(e.into()))?;
        Ok(Told { entry, visit, seen_at, body })
    };
    rows.into_iter().map(|row| told((row.id, row.visit, row.seen_at, row.body))).collect()
}

/// The word that holds about each treatment of a horse.
pub(super) async fn margins(
    db: impl SqliteExecutor<'_>,
    horse: HorseId,
) -> sqlx::Result<Vec<(EntryId, Added)>> {
    let rows = sqlx::query!(
        r#"select m.entry_id as "entry: EntryId", m.amount as "amount: u32", m.unit, m.last_on as "last_on: Day", m.why,
                  s.name as by, m.at as "at: At"
           from visit v join entry e on e.visit_id = v.id join competition_margin m on m.entry_id = e.id
           join staff s on s.id = m.by_id
           where v.horse_id = ? and m.rowid = (select max(n.rowid) from competition_margin n where n.entry_id = m.entry_id)"#,
        horse
    )
    .fetch_all(db)
    .await?;
    let added = rows.into_iter().map(|row| {
        let margin = row.amount.map(|amount| match row.unit.as_deref() {
            Some("days") => Margin::Days(amount),
            _ => Margin::Hours(amount),
        });
        (row.entry, Added { margin, last_on: row.last_on, why: row.why, by: row.by, at: row.at })
    });
    Ok(added.collect())
}

pub(super) async fn insert_margin(
    tx: &mut Tx,
    entry: EntryId,
    new: &NewMargin,
    by: StaffId,
    now: At,
) -> sqlx::Result<()> {
    let id = MarginId::new();
    let (amount, unit) = match new.margin {
        Some(Margin::Hours(hours)) => (Some(hours), Some("hours")),
        Some(Margin::Days(days)) => (Some(days), Some("days")),
        None => (None, None),
    };
    sqlx::query!(
        "insert into competition_margin (id, entry_id, amount, unit, last_on, why, by_id, at)
         values (?, ?, ?, ?, ?, ?, ?, ?)",
        id,
        entry,
        amount,
        unit,
        new.last_on,
        new.why,
        by,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}
