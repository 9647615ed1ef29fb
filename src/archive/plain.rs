//! The record in plain reading order, as CSV: what a reader opens first.

use std::collections::HashSet;

use jiff::tz::TimeZone;
use sqlx::{FromRow, SqliteConnection};
use uuid::Uuid;

use super::{
    making::Making,
    table::{Rows, listed},
};
use crate::{
    clock::At,
    exports::safe,
    papers::words::{Units, sentence},
    practice::Practice,
    record::{Body, Kind},
};

const HORSES: &str = "
    select lower(hex(h.id)), h.name, h.stable_name, h.sex, h.neutered, h.born, h.breed, h.colour, h.microchip, h.ueln, h.passport,
           h.status, coalesce(h.status_on, ''), coalesce(y.name, ''),
           coalesce((select group_concat(c.name || ' (' || p.role || ')', '; ') from party p join client c on c.id = p.client_id
                     where p.horse_id = h.id), '')
    from horse h left join yard y on y.id = h.yard_id
    where ?1 is null or h.rowid in (select value from json_each(?1)) order by h.name collate nocase, h.id";
const HORSE_COLUMNS: [&str; 15] = [
    "id",
    "name",
    "stable name",
    "sex",
    "neutered",
    "born",
    "breed",
    "colour",
    "microchip",
    "UELN",
    "passport",
    "status",
    "status since",
    "yard",
    "people",
];

const PEOPLE: &str = "
    select lower(hex(c.id)), c.name, c.kind, case when ?1 is null then c.email else '' end,
           case when ?1 is not null then '' else
               coalesce((select group_concat(trim(f.label || ' ' || f.number), '; ') from client_phone f where f.client_id = c.id), '')
           end,
           case when ?1 is not null then '' else
               coalesce((select group_concat(replace(a.lines, char(10), ', '), '; ') from client_address a where a.client_id = c.id), '')
           end,
           coalesce((select group_concat(p.role || ' of ' || h.name, '; ') from party p join horse h on h.id = p.horse_id
                     where p.client_id = c.id and (?2 is null or h.rowid in (select value from json_each(?2)))), '')
    from client c where ?1 is null or c.rowid in (select value from json_each(?1)) order by c.name collate nocase, c.id";
const PEOPLE_COLUMNS: [&str; 7] = ["id", "name", "kind", "email", "telephone", "address", "horses"];

const VISITS: &str = "
    select v.id, h.name as horse, v.starts_at, v.minutes, v.place, coalesce(y.name, '') as yard, coalesce(s.name, '') as vet,
           v.state, v.signed_at, coalesce(g.name, '') as signer,
           coalesce((select group_concat(c.words, '; ') from complaint c where c.visit_id = v.id), '') as complaints
    from visit v join horse h on h.id = v.horse_id left join yard y on y.id = v.yard_id
    left join staff s on s.id = v.vet_id left join staff g on g.id = v.signed_by
    where ?1 is null or v.rowid in (select value from json_each(?1))
    order by h.name collate nocase, h.id, v.starts_at, v.id";
const VISIT_COLUMNS: [&str; 11] = [
    "id",
    "horse",
    "begins",
    "minutes",
    "place",
    "yard",
    "veterinarian",
    "state",
    "signed",
    "signed by",
    "what the caller said",
];

const ENTRIES: &str = "
    select e.seq, e.id, e.body, e.late, e.seen_at - e.offset_ms as seen_at, e.received_at, s.name as who,
           (select c.kind from entry c where c.supersedes = e.id) as after,
           exists (select 1 from entry c where c.supersedes = e.id) as gone
    from entry e join staff s on s.id = e.seen_by where e.visit_id = ? order by e.seq";
const RECORD_COLUMNS: [&str; 10] =
    ["number", "horse", "visit", "visit began", "seen", "received", "seen by", "kind", "words", "standing"];

#[derive(FromRow)]
struct Visited {
    id: Uuid,
    horse: String,
    starts_at: At,
    minutes: i64,
    place: String,
    yard: String,
    vet: String,
    state: String,
    signed_at: Option<At>,
    signer: String,
    complaints: String,
}

#[derive(FromRow)]
struct Told {
    seq: i64,
    id: Uuid,
    body: Option<String>,
    late: bool,
    seen_at: At,
    received_at: At,
    who: String,
    /// The kind of what superseded it.
    after: Option<String>,
    gone: bool,
}

/// Lines of a table on their way into a file.
struct Lines<'m> {
    making: &'m mut Making,
}

impl<'m> Lines<'m> {
    async fn begin(making: &'m mut Making, name: &str, columns: &[&str]) -> anyhow::Result<Self> {
        making.begin(name, false)?;
        let mut lines = Lines { making };
        lines.push(columns.iter().map(|column| (*column).to_owned()).collect()).await?;
        lines.making.count(0);
        Ok(lines)
    }

    async fn push(&mut self, cells: Vec<String>) -> anyhow::Result<()> {
        let mut csv = csv::Writer::from_writer(Vec::new());
        csv.write_record(cells.iter().map(|cell| safe::cell(cell).into_owned()))?;
        self.making.write(&csv.into_inner()?).await
    }

    async fn row(&mut self, cells: Vec<String>) -> anyhow::Result<()> {
        self.making.count(1);
        self.push(cells).await
    }
}

/// Date and time of the practice's zone: `2026-03-11 09:00`.
fn local(at: At, zone: &TimeZone) -> String {
    format!("{} {}", at.day(zone), at.hm(zone))
}

/// An id as SQLite writes bytes, with the signs of a UUID.
fn id_of(hex: &str) -> String {
    Uuid::parse_str(hex).map_or_else(|_| hex.to_owned(), |id| id.to_string())
}

/// Writes horses, people, visits and the record itself.
pub(super) async fn write(
    conn: &mut SqliteConnection,
    making: &mut Making,
    practice: &Practice,
    picked: Option<&Rows>,
) -> anyhow::Result<()> {
    let of = |table: &str| picked.map(|rows| rows.get(table).map_or_else(|| "[]".to_owned(), listed));
    let mut lines = Lines::begin(making, "horses.csv", &HORSE_COLUMNS).await?;
    for row in sqlx::query(HORSES).bind(of("horse")).fetch_all(&mut *conn).await? {
        lines.row(cells(&row, HORSE_COLUMNS.len())?).await?;
    }
    let mut lines = Lines::begin(making, "people.csv", &PEOPLE_COLUMNS).await?;
    for row in sqlx::query(PEOPLE).bind(of("client")).bind(of("horse")).fetch_all(&mut *conn).await? {
        lines.row(cells(&row, PEOPLE_COLUMNS.len())?).await?;
    }
    let visits: Vec<Visited> = sqlx::query_as(VISITS).bind(of("visit")).fetch_all(&mut *conn).await?;
    let mut lines = Lines::begin(making, "visits.csv", &VISIT_COLUMNS).await?;
    for visit in &visits {
        lines.row(visit.cells(&practice.zone)).await?;
    }
    let mut lines = Lines::begin(making, "record.csv", &RECORD_COLUMNS).await?;
    for visit in &visits {
        let told: Vec<Told> = sqlx::query_as(ENTRIES).bind(visit.id).fetch_all(&mut *conn).await?;
        let bodies: Vec<Option<Body>> = told
            .iter()
            .map(|one| one.body.as_deref().and_then(|body| serde_json::from_str(body).ok()))
            .collect();
        let adopts = |body: &Body| body.about.filter(|_| body.kind == Kind::Adoption).map(Uuid::from);
        let adopted: HashSet<Uuid> = bodies.iter().flatten().filter_map(adopts).collect();
        for (one, body) in told.iter().zip(&bodies) {
            lines.row(one.cells(visit, body.as_ref(), &adopted, practice)).await?;
        }
    }
    making.end();
    Ok(())
}

fn cells(row: &sqlx::sqlite::SqliteRow, many: usize) -> sqlx::Result<Vec<String>> {
    use sqlx::Row;
    let text = |at: usize| row.try_get::<String, _>(at).map(|text| if at == 0 { id_of(&text) } else { text });
    (0..many).map(text).collect()
}

impl Visited {
    fn cells(&self, zone: &TimeZone) -> Vec<String> {
        vec![
            self.id.to_string(),
            self.horse.clone(),
            local(self.starts_at, zone),
            self.minutes.to_string(),
            self.place.clone(),
            self.yard.clone(),
            self.vet.clone(),
            self.state.replace('_', " "),
            self.signed_at.map(|at| local(at, zone)).unwrap_or_default(),
            self.signer.clone(),
            self.complaints.clone(),
        ]
    }
}

impl Told {
    fn cells(
        &self,
        visit: &Visited,
        body: Option<&Body>,
        adopted: &HashSet<Uuid>,
        practice: &Practice,
    ) -> Vec<String> {
        let zone = &practice.zone;
        // A body that this program does not read goes along as it stands.
        let as_it_stands = || self.body.clone().unwrap_or_default();
        let kind = body.and_then(|body| serde_json::to_value(body.kind).ok()).unwrap_or_default();
        vec![
            self.seq.to_string(),
            visit.horse.clone(),
            visit.id.to_string(),
            local(visit.starts_at, zone),
            local(self.seen_at, zone),
            local(self.received_at, zone),
            self.who.clone(),
            kind.as_str().unwrap_or_default().replace('_', " "),
            body.map_or_else(as_it_stands, |body| sentence(body, Units::of(practice))),
            self.standing(adopted, body).to_owned(),
        ]
    }

    fn standing(&self, adopted: &HashSet<Uuid>, body: Option<&Body>) -> &'static str {
        match self.after.as_deref() {
            _ if self.body.is_none() => "words erased under a law",
            Some("withdrawal") => "taken back",
            _ if self.gone => "corrected by a later entry",
            _ if self.late && !adopted.contains(&self.id) => "came after signing and was not taken in",
            _ if body.is_some_and(|body| body.kind == Kind::Withdrawal) => "takes an entry back",
            _ => "stands",
        }
    }
}
