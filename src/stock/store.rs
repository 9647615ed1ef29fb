//! The SQL of the register.

use sqlx::{SqliteExecutor, SqlitePool};

use crate::{
    clock::{At, Day},
    db::Tx,
    ids::{EntryId, LineId, StaffId, StoreId},
};

/// A safe or a vehicle.
#[derive(Debug, Clone)]
pub struct Store {
    pub id: StoreId,
    pub name: String,
    pub kind: String,
}

pub async fn stores(db: impl SqliteExecutor<'_>) -> sqlx::Result<Vec<Store>> {
    sqlx::query_as!(Store, r#"select id as "id: StoreId", name, kind from drug_store order by kind, name"#)
        .fetch_all(db)
        .await
}

pub async fn name_is_taken(db: impl SqliteExecutor<'_>, name: &str) -> sqlx::Result<bool> {
    Ok(sqlx::query_scalar!("select count(*) from drug_store where name = ?", name).fetch_one(db).await? > 0)
}

pub async fn add_store(
    tx: &mut Tx,
    (name, kind): (&str, &str),
    by: StaffId,
    now: At,
) -> sqlx::Result<StoreId> {
    let id = StoreId::new();
    sqlx::query!(
        "insert into drug_store (id, name, kind, added_by, added_at) values (?, ?, ?, ?, ?)",
        id,
        name,
        kind,
        by,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(id)
}

/// How much of a drug the book has in a store, and what the last count differed by when it was made.
#[derive(Debug, Clone)]
pub struct Balance {
    pub store: StoreId,
    pub medicine: String,
    pub mg_per_ml: f64,
    pub ul: i64,
    /// What was there at the last count, less what the book had then; none when nobody counted, or when the book was
    /// adjusted since.
    pub off_ul: Option<i64>,
}

pub async fn balances(db: &SqlitePool) -> sqlx::Result<Vec<Balance>> {
    sqlx::query_as!(
        Balance,
        r#"select l.store_id as "store: StoreId", l.medicine, l.mg_per_ml, sum(l.ul) as "ul!: i64",
                  (select c.counted_ul - (select coalesce(sum(b.ul), 0) from drug_line b
                                          where b.store_id = c.store_id and b.medicine = c.medicine
                                            and b.mg_per_ml = c.mg_per_ml and b.rowid < c.rowid)
                   from drug_line c
                   where c.store_id = l.store_id and c.medicine = l.medicine and c.mg_per_ml = l.mg_per_ml
                     and c.what = 'count'
                     and c.rowid = (select max(n.rowid) from drug_line n
                                    where n.store_id = l.store_id and n.medicine = l.medicine
                                      and n.mg_per_ml = l.mg_per_ml and n.what in ('count', 'adjustment')))
                      as "off_ul: i64"
           from drug_line l group by l.store_id, l.medicine, l.mg_per_ml order by l.medicine, l.mg_per_ml"#
    )
    .fetch_all(db)
    .await
}

/// What the book has of one drug.
pub async fn balance(
    db: impl SqliteExecutor<'_>,
    store: StoreId,
    (medicine, mg_per_ml): (&str, f64),
) -> sqlx::Result<i64> {
    sqlx::query_scalar!(
        r#"select coalesce(sum(ul), 0) as "ul!: i64" from drug_line
           where store_id = ? and medicine = ? and mg_per_ml = ?"#,
        store,
        medicine,
        mg_per_ml
    )
    .fetch_one(db)
    .await
}

/// A line of the register.
#[derive(Debug, Clone)]
pub struct Line {
    pub id: LineId,
    pub medicine: String,
    pub mg_per_ml: f64,
    pub what: String,
    pub ul: i64,
    pub counted_ul: Option<i64>,
    /// The book after it.
    pub balance_ul: i64,
    pub batch: String,
    pub expires_on: Option<Day>,
    pub witness: Option<String>,
    pub entry: Option<EntryId>,
    pub pair: Option<LineId>,
    pub is_reversed: bool,
    pub reason: String,
    pub by: String,
    pub at: At,
}

/// The register of a store, the newest line first.
pub async fn lines(db: impl SqliteExecutor<'_>, store: StoreId) -> sqlx::Result<Vec<Line>> {
    sqlx::query_as!(
        Line,
        r#"select l.id as "id: LineId", l.medicine, l.mg_per_ml, l.what, l.ul, l.counted_ul,
                  sum(l.ul) over (partition by l.medicine, l.mg_per_ml order by l.rowid) as "balance_ul!: i64",
                  l.batch, l.expires_on as "expires_on: Day", w.name as "witness?", l.entry_id as "entry: EntryId",
                  l.pair_id as "pair: LineId",
                  exists (select 1 from drug_line r where r.reverses = l.id) as "is_reversed!: bool",
                  l.reason, s.name as by, l.at as "at: At"
           from drug_line l join staff s on s.id = l.by_id left join staff w on w.id = l.witness_id
           where l.store_id = ? order by l.rowid desc"#,
        store
    )
    .fetch_all(db)
    .await
}

/// A line on its way in.
#[derive(Debug, Clone)]
pub struct NewLine {
    pub id: LineId,
    pub store: StoreId,
    pub medicine: String,
    pub mg_per_ml: f64,
    pub what: &'static str,
    pub ul: i64,
    pub counted_ul: Option<i64>,
    pub batch: String,
    pub expires_on: Option<Day>,
    pub witness: Option<StaffId>,
    pub entry: Option<EntryId>,
    pub pair: Option<LineId>,
    pub reason: String,
}

impl NewLine {
    pub fn new(store: StoreId, medicine: &str, mg_per_ml: f64, what: &'static str, ul: i64) -> Self {
        NewLine {
            id: LineId::new(),
            store,
            medicine: medicine.to_owned(),
            mg_per_ml,
            what,
            ul,
            counted_ul: None,
            batch: String::new(),
            expires_on: None,
            witness: None,
            entry: None,
            pair: None,
            reason: String::new(),
        }
    }
}

pub async fn insert(tx: &mut Tx, new: &NewLine, by: StaffId, now: At) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into drug_line (id, store_id, medicine, mg_per_ml, what, ul, counted_ul, batch, expires_on, witness_id,
                                entry_id, pair_id, reason, by_id, at)
         values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        new.id,
        new.store,
        new.medicine,
        new.mg_per_ml,
        new.what,
        new.ul,
        new.counted_ul,
        new.batch,
        new.expires_on,
        new.witness,
        new.entry,
        new.pair,
        new.reason,
        by,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// Reverses a line, or both of a transfer, by lines of their own; those that are reversed already stay so. Gives how many.
pub async fn reverse(tx: &mut Tx, line: LineId, reason: &str, by: StaffId, now: At) -> sqlx::Result<u64> {
    let both = sqlx::query_scalar!(
        r#"select l.id as "id: LineId" from drug_line l
           where (l.id = ?1 or l.pair_id = ?1) and l.what not in ('count', 'reversal')
             and not exists (select 1 from drug_line r where r.reverses = l.id)"#,
        line
    )
    .fetch_all(&mut **tx)
    .await?;
    let mut done = 0;
    for old in both {
        let id = LineId::new();
        let inserted = sqlx::query!(
            "insert into drug_line (id, store_id, medicine, mg_per_ml, what, ul, batch, entry_id, reverses, reason, by_id, at)
             select ?, store_id, medicine, mg_per_ml, 'reversal', -ul, batch, entry_id, id, ?, ?, ? from drug_line
             where id = ?",
            id,
            reason,
            by,
            now,
            old
        )
        .execute(&mut **tx)
        .await?;
        done += inserted.rows_affected();
    }
    Ok(done)
}

/// Reverses whatever an entry of the record drew.
pub async fn reverse_entry(
    tx: &mut Tx,
    entry: EntryId,
    reason: &str,
    by: StaffId,
    now: At,
) -> sqlx::Result<()> {
    let lines = sqlx::query_scalar!(
        r#"select id as "id: LineId" from drug_line where entry_id = ? and what <> 'reversal'"#,
        entry
    )
    .fetch_all(&mut **tx)
    .await?;
    for line in lines {
        reverse(tx, line, reason, by, now).await?;
    }
    Ok(())
}
