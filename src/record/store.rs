//! The SQL of the record: append, read, erase.

use std::collections::HashSet;

use serde::Serialize;
use sqlx::{SqliteConnection, SqliteExecutor};

use super::{Body, Head, Kind, chain};
use crate::{
    clock::At,
    db::Tx,
    ids::{EntryId, OrderId, ProgrammeId, StaffId, VisitId},
};

/// Whose words an entry is, and by which clock.
#[derive(Debug, Clone)]
pub struct Stamp {
    pub seen_by: StaffId,
    pub entered_by: StaffId,
    pub device: String,
    pub seen_at: At,
    pub received_at: At,
    /// How far the tablet's clock stood ahead of ours, in milliseconds.
    pub offset_ms: i64,
}

impl Stamp {
    /// Words that somebody enters for themselves, now, at this browser.
    pub fn here(who: StaffId, device: &str, now: At) -> Self {
        Stamp {
            seen_by: who,
            entered_by: who,
            device: device.to_owned(),
            seen_at: now,
            received_at: now,
            offset_ms: 0,
        }
    }
}

/// An entry on its way into the record.
#[derive(Debug, Clone)]
pub struct NewEntry {
    pub id: EntryId,
    pub visit: VisitId,
    pub body: Body,
    pub supersedes: Option<EntryId>,
    /// Made before signing, arrived after it.
    pub late: bool,
}

impl NewEntry {
    pub fn new(visit: VisitId, body: Body) -> Self {
        NewEntry { id: EntryId::new(), visit, body, supersedes: None, late: false }
    }

    #[must_use]
    pub fn superseding(mut self, earlier: EntryId) -> Self {
        self.supersedes = Some(earlier);
        self
    }
}

/// An entry as it stands in the record. `body` is `None` after a lawful erasure.
#[derive(Debug, Clone)]
pub struct Entry {
    pub seq: i64,
    pub id: EntryId,
    pub visit_id: VisitId,
    pub body: Option<Body>,
    pub supersedes: Option<EntryId>,
    pub seen_by: StaffId,
    pub entered_by: StaffId,
    pub seen_at: At,
    pub received_at: At,
    pub offset_ms: i64,
    pub late: bool,
}

impl Entry {
    /// When it was seen, by our clock.
    pub fn seen(&self) -> At {
        self.seen_at.plus_millis(-self.offset_ms)
    }

    /// The late entry that this one adopts.
    pub fn adopts(&self) -> Option<EntryId> {
        self.body.as_ref().filter(|b| b.kind == Kind::Adoption)?.about
    }

    /// Whether the tablet's clock stood so far off that the corrected time must say so.
    pub fn clock_was_off(&self) -> bool {
        self.offset_ms.abs() > 120_000
    }
}

/// Everything of an entry but its words: what the chain keeps when the words are erased.
#[derive(Debug, Serialize)]
pub(super) struct Header {
    pub seq: i64,
    pub id: EntryId,
    pub visit_id: VisitId,
    pub supersedes: Option<EntryId>,
    pub seen_by: StaffId,
    pub entered_by: StaffId,
    pub device: String,
    pub seen_at: At,
    pub received_at: At,
    pub offset_ms: i64,
    pub late: bool,
}

pub(super) struct Link {
    pub header: Header,
    pub body: Option<String>,
    pub salt: Option<Vec<u8>>,
    pub digest: Vec<u8>,
    pub prev: Vec<u8>,
    pub chain: Vec<u8>,
}

/// Adds entries at the end of the record, in the order given. An entry whose id is already there was sent twice
/// and is passed over.
pub async fn append(tx: &mut Tx, stamp: &Stamp, entries: &[NewEntry]) -> anyhow::Result<()> {
    let newest = head(tx).await?;
    let (mut seq, mut prev) = newest.map_or((0, vec![0; 32]), |h| (h.seq, h.chain));
    for new in entries {
        let known = sqlx::query_scalar!("select 1 as \"known!: i64\" from entry where id = ?", new.id)
            .fetch_optional(&mut **tx)
            .await?;
        if known.is_some() {
            continue;
        }
        seq += 1;
        let header = Header {
            seq,
            id: new.id,
            visit_id: new.visit,
            supersedes: new.supersedes,
            seen_by: stamp.seen_by,
            entered_by: stamp.entered_by,
            device: stamp.device.clone(),
            seen_at: stamp.seen_at,
            received_at: stamp.received_at,
            offset_ms: stamp.offset_ms,
            late: new.late,
        };
        prev = insert(tx, &header, &new.body, &prev).await?;
    }
    tx.appended();
    Ok(())
}

async fn insert(tx: &mut Tx, h: &Header, body: &Body, prev: &[u8]) -> anyhow::Result<Vec<u8>> {
    let body = body.canonical()?;
    let mut salt = [0u8; 16];
    getrandom::fill(&mut salt).map_err(|e| anyhow::anyhow!("no random numbers to be had: {e}"))?;
    let salt = &salt[..];
    let digest = chain::digest(salt, &body).to_vec();
    let chain = chain::link(prev, h, &digest).to_vec();
    sqlx::query!(
        "insert into entry (seq, id, visit_id, body, salt, digest, supersedes, seen_by, entered_by, device, seen_at,
                            received_at, offset_ms, late, prev, chain)
         values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        h.seq,
        h.id,
        h.visit_id,
        body,
        salt,
        digest,
        h.supersedes,
        h.seen_by,
        h.entered_by,
        h.device,
        h.seen_at,
        h.received_at,
        h.offset_ms,
        h.late,
        prev,
        chain,
    )
    .execute(&mut **tx)
    .await?;
    Ok(chain)
}

/// The newest entry, if there is any.
pub async fn head(db: &mut SqliteConnection) -> sqlx::Result<Option<Head>> {
    sqlx::query_as!(Head, r#"select seq as "seq!", chain from entry order by seq desc limit 1"#)
        .fetch_optional(db)
        .await
}

pub(super) async fn chain_at(db: impl SqliteExecutor<'_>, seq: i64) -> sqlx::Result<Option<Vec<u8>>> {
    sqlx::query_scalar!("select chain from entry where seq = ?", seq).fetch_optional(db).await
}

pub(super) async fn links_from(
    db: impl SqliteExecutor<'_>,
    from: i64,
    limit: i64,
) -> sqlx::Result<Vec<Link>> {
    let rows = sqlx::query!(
        r#"select seq as "seq!", id as "id: EntryId", visit_id as "visit_id: VisitId", body, salt, digest,
                  supersedes as "supersedes: EntryId", seen_by as "seen_by: StaffId", entered_by as "entered_by: StaffId",
                  device, seen_at as "seen_at: At", received_at as "received_at: At", offset_ms,
                  late as "late: bool", prev, chain
           from entry where seq >= ? order by seq limit ?"#,
        from,
        limit
    )
    .fetch_all(db)
    .await?;
    Ok(rows
        .into_iter()
        .map(|r| Link {
            header: Header {
                seq: r.seq,
                id: r.id,
                visit_id: r.visit_id,
                supersedes: r.supersedes,
                seen_by: r.seen_by,
                entered_by: r.entered_by,
                device: r.device,
                seen_at: r.seen_at,
                received_at: r.received_at,
                offset_ms: r.offset_ms,
                late: r.late,
            },
            body: r.body,
            salt: r.salt,
            digest: r.digest,
            prev: r.prev,
            chain: r.chain,
        })
        .collect())
}

/// Entries as the record holds them, in the order of receipt, that a condition picks.
macro_rules! entries {
    ($which:tt, $($value:expr),*) => {
        sqlx::query_as!(
            Row,
            r#"select seq as "seq!", id as "id: EntryId", visit_id as "visit_id: VisitId", body,
                      supersedes as "supersedes: EntryId", seen_by as "seen_by: StaffId", entered_by as "entered_by: StaffId",
                      seen_at as "seen_at: At", received_at as "received_at: At", offset_ms, late as "late: bool"
               from entry where "# + $which + " order by seq",
            $($value),*
        )
    };
}

/// An entry before its words are read.
struct Row {
    seq: i64,
    id: EntryId,
    visit_id: VisitId,
    body: Option<String>,
    supersedes: Option<EntryId>,
    seen_by: StaffId,
    entered_by: StaffId,
    seen_at: At,
    received_at: At,
    offset_ms: i64,
    late: bool,
}

impl TryFrom<Row> for Entry {
    type Error = sqlx::Error;

    fn try_from(r: Row) -> sqlx::Result<Self> {
        let body = r.body.map(|b| serde_json::from_str(&b)).transpose();
        Ok(Entry {
            seq: r.seq,
            id: r.id,
            visit_id: r.visit_id,
            body: body.map_err(|e| sqlx::Error::Decode(e.into()))?,
            supersedes: r.supersedes,
            seen_by: r.seen_by,
            entered_by: r.entered_by,
            seen_at: r.seen_at,
            received_at: r.received_at,
            offset_ms: r.offset_ms,
            late: r.late,
        })
    }
}

/// All entries of a visit in order of receipt, superseded ones and withdrawals included. Results of what was ordered
/// are not among them, nor what belongs to a programme: they come when they come, see [`entries_of_order`] and
/// [`entries_of_programme`].
pub async fn entries_of_visit(db: impl SqliteExecutor<'_>, visit: VisitId) -> sqlx::Result<Vec<Entry>> {
    let rows =
        entries!("visit_id = ? and order_id is null and programme_id is null", visit).fetch_all(db).await?;
    rows.into_iter().map(Entry::try_from).collect()
}

/// All results of an order in order of receipt, superseded ones and withdrawals included.
pub async fn entries_of_order(db: impl SqliteExecutor<'_>, order: OrderId) -> sqlx::Result<Vec<Entry>> {
    let key = order.to_string();
    let rows = entries!("order_id = ?", key).fetch_all(db).await?;
    rows.into_iter().map(Entry::try_from).collect()
}

/// The results of an order, those that stand and those that were superseded.
pub async fn results_of_order(
    db: impl SqliteExecutor<'_>,
    order: OrderId,
) -> sqlx::Result<(Vec<Entry>, Vec<Entry>)> {
    Ok(split(entries_of_order(db, order).await?))
}

/// All entries of a programme in order of receipt, superseded ones and withdrawals included.
pub async fn entries_of_programme(
    db: impl SqliteExecutor<'_>,
    programme: ProgrammeId,
) -> sqlx::Result<Vec<Entry>> {
    let key = programme.to_string();
    let rows = entries!("programme_id = ?", key).fetch_all(db).await?;
    rows.into_iter().map(Entry::try_from).collect()
}

/// The entries of a programme, those that stand and those that were superseded.
pub async fn results_of_programme(
    db: impl SqliteExecutor<'_>,
    programme: ProgrammeId,
) -> sqlx::Result<(Vec<Entry>, Vec<Entry>)> {
    Ok(split(entries_of_programme(db, programme).await?))
}

/// The newest entry of a visit in the order of receipt; nothing has number 0.
pub async fn newest_of_visit(db: impl SqliteExecutor<'_>, visit: VisitId) -> sqlx::Result<i64> {
    sqlx::query_scalar!(
        "select coalesce(max(seq), 0) from entry where visit_id = ? and order_id is null and programme_id is null",
        visit
    )
    .fetch_one(db)
    .await
}

/// The entries of a visit that stand: not superseded, not withdrawn, and not late unless somebody adopted them.
pub async fn current_of_visit(db: impl SqliteExecutor<'_>, visit: VisitId) -> sqlx::Result<Vec<Entry>> {
    let all = entries_of_visit(db, visit).await?;
    Ok(split(all).0)
}

/// The entries of a visit as whoever still writes into a signed one knows them: late ones stand besides what was
/// signed, until a later one of them takes their place.
pub async fn current_with_late_of_visit(
    db: impl SqliteExecutor<'_>,
    visit: VisitId,
) -> sqlx::Result<Vec<Entry>> {
    let all = entries_of_visit(db, visit).await?;
    Ok(split_by(all, |_| true).0)
}

/// The entries of a visit that no longer stand, for the page that shows all.
pub async fn superseded_of_visit(db: impl SqliteExecutor<'_>, visit: VisitId) -> sqlx::Result<Vec<Entry>> {
    let all = entries_of_visit(db, visit).await?;
    Ok(split(all).1)
}

fn split(all: Vec<Entry>) -> (Vec<Entry>, Vec<Entry>) {
    let adopted: HashSet<EntryId> = all.iter().filter_map(Entry::adopts).collect();
    split_by(all, |e| !e.late || adopted.contains(&e.id))
}

fn split_by(all: Vec<Entry>, counts: impl Fn(&Entry) -> bool) -> (Vec<Entry>, Vec<Entry>) {
    let gone: HashSet<EntryId> = all.iter().filter(|e| counts(e)).filter_map(|e| e.supersedes).collect();
    all.into_iter().partition(|e| {
        let withdrawal = e.body.as_ref().is_some_and(|b| b.kind == Kind::Withdrawal);
        !gone.contains(&e.id) && !withdrawal && counts(e)
    })
}

/// Takes an entry's words out of the record under a law that demands it; who, when, why and the law stay.
pub async fn erase(
    tx: &mut Tx,
    entry: EntryId,
    by: StaffId,
    at: At,
    law: &str,
    reason: &str,
) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into erasure (entry_id, at, by_id, law, reason) values (?, ?, ?, ?, ?)",
        entry,
        at,
        by,
        law,
        reason
    )
    .execute(&mut **tx)
    .await?;
    let done = sqlx::query!("update entry set body = null, salt = null where id = ?", entry)
        .execute(&mut **tx)
        .await?;
    if done.rows_affected() == 1 { Ok(()) } else { Err(sqlx::Error::RowNotFound) }
}
