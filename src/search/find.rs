//! Looking something up: names that begin with it first, then any part of anything.

use std::cmp::Reverse;

use sqlx::SqlitePool;

use super::{Hit, Kind, query::Query};
use crate::{
    db::Db,
    horses::{Known, Sex, Status},
    ids::{ClientId, HorseId, YardId},
};

/// So many candidates are weighed against each other; whoever needs more has to type another letter.
const CANDIDATES: i64 = 200;

/// A line of the index that may be a hit. Its table is a full-text one, which the compile-time check of queries
/// cannot describe, so these few are checked by the tests alone.
#[derive(sqlx::FromRow)]
struct Line {
    kind: Kind,
    #[sqlx(rename = "ref")]
    id: String,
    words: String,
}

/// The best hits among `kinds`, at most `limit`. An empty search finds nothing.
pub async fn find(db: &Db, typed: &str, kinds: &[Kind], limit: usize) -> sqlx::Result<Vec<Hit>> {
    let Some(query) = Query::new(typed) else { return Ok(Vec::new()) };
    let mut lines = beginning_with(db.read(), &query.text).await?;
    let more = match query.expression() {
        Some(expression) => by_part(db.read(), &expression).await?,
        None if lines.len() < limit => by_short_word(db.read(), &query.text).await?,
        None => Vec::new(),
    };
    for line in more {
        if lines.iter().all(|known| known.id != line.id) {
            lines.push(line);
        }
    }
    lines.retain(|line| kinds.contains(&line.kind) && query.holds_in(&line.words.to_lowercase()));
    lines.sort_by_cached_key(|line| (Reverse(closeness(line, &query)), line.words.to_lowercase()));
    let mut hits = Vec::new();
    for line in lines.iter().take(limit) {
        hits.push(hit(db.read(), line, &query).await?);
    }
    // Among the best, those that are still seen come first.
    hits.sort_by_key(|h| !h.seen);
    Ok(hits)
}

/// How near the name is to what was typed.
fn closeness(line: &Line, query: &Query) -> u8 {
    let name = line.words.lines().next().unwrap_or_default().to_lowercase();
    if name == query.text {
        4
    } else if name.starts_with(&query.text) {
        3
    } else if name.split_whitespace().any(|word| word.starts_with(&query.text)) {
        2
    } else {
        u8::from(query.holds_in(&name))
    }
}

/// Horses, clients and yards whose name begins with `text`, by the indexes of the names.
async fn beginning_with(db: &SqlitePool, text: &str) -> sqlx::Result<Vec<Line>> {
    let after = format!("{text}\u{10ffff}");
    let mut ids: Vec<i64> = Vec::new();
    let horses = sqlx::query_scalar!(
        r#"select id as "id: HorseId" from horse
           where name >= ?1 collate nocase and name < ?2 collate nocase order by name collate nocase limit ?3"#,
        text,
        after,
        CANDIDATES
    )
    .fetch_all(db)
    .await?;
    ids.extend(horses.iter().map(|id| id.line()));
    let clients = sqlx::query_scalar!(
        r#"select id as "id: ClientId" from client
           where name >= ?1 collate nocase and name < ?2 collate nocase order by name collate nocase limit ?3"#,
        text,
        after,
        CANDIDATES
    )
    .fetch_all(db)
    .await?;
    ids.extend(clients.iter().map(|id| id.line()));
    let ids = serde_json::to_string(&ids).unwrap_or_default();
    sqlx::query_as("select kind, ref, words from search_line where rowid in (select value from json_each(?))")
        .bind(ids)
        .fetch_all(db)
        .await
}

async fn by_part(db: &SqlitePool, expression: &str) -> sqlx::Result<Vec<Line>> {
    sqlx::query_as("select kind, ref, words from search_line where search_line match ? limit ?")
        .bind(expression)
        .bind(CANDIDATES)
        .fetch_all(db)
        .await
}

/// One or two letters: any word that begins with them.
async fn by_short_word(db: &SqlitePool, text: &str) -> sqlx::Result<Vec<Line>> {
    let literal = text.replace('\\', "\\\\").replace('%', "\\%").replace('_', "\\_");
    let (first, later, next) = (format!("{literal}%"), format!("% {literal}%"), format!("%\n{literal}%"));
    sqlx::query_as(
        r"select kind, ref, words from search_line
          where words like ? escape '\' or words like ? escape '\' or words like ? escape '\'
          limit ?",
    )
    .bind(first)
    .bind(later)
    .bind(next)
    .bind(CANDIDATES)
    .fetch_all(db)
    .await
}

async fn hit(db: &SqlitePool, line: &Line, query: &Query) -> sqlx::Result<Hit> {
    let (title, about, seen) = match line.kind {
        Kind::Horse => horse(db, &line.id).await?,
        Kind::Client => client(db, &line.id).await?,
        Kind::Yard => yard(db, &line.id).await?,
    };
    let why = why(line, query);
    Ok(Hit { kind: line.kind, id: line.id.clone(), title, line: about, why, seen })
}

/// The row of words in which the rarest part stands, named as people name it.
fn why(line: &Line, query: &Query) -> String {
    let mut rows: Vec<&str> = line.words.split('\n').collect();
    let name = rows.first().copied().unwrap_or_default().to_lowercase();
    if query.holds_in(&name) {
        return String::new();
    }
    let says = |text: &str| {
        let text = text.to_lowercase();
        query.parts.iter().any(|spellings| {
            spellings.iter().any(|s| text.contains(s.as_str()))
                && !spellings.iter().any(|s| name.contains(s.as_str()))
        })
    };
    // The last row of a group of digits speaks for the numbers as typed above it.
    let labels: &[&str] = match line.kind {
        Kind::Horse => &["name", "stable name", "microchip", "other transponder", "UELN", "yard"],
        Kind::Client => &["name", "email", "phone", "phone"],
        Kind::Yard => &["name", "address", "kept by"],
    };
    rows.resize(rows.len().max(labels.len()), "");
    let Some(at) = rows.iter().position(|row| says(row)) else { return String::new() };
    let people = ["belongs to", "phone", "phone"];
    let label = labels.get(at).or_else(|| people.get((at - labels.len()) % 3)).copied().unwrap_or_default();
    let digits = match line.kind {
        Kind::Client => at == 3,
        Kind::Horse => at >= labels.len() && (at - labels.len()) % 3 == 2,
        Kind::Yard => false,
    };
    let shown = if digits { rows.get(at - 1) } else { rows.get(at) };
    format!("{label} {}", shown.copied().unwrap_or_default())
}

async fn horse(db: &SqlitePool, id: &str) -> sqlx::Result<(String, String, bool)> {
    let id: HorseId = id.parse().map_err(|_| sqlx::Error::RowNotFound)?;
    let row = sqlx::query!(
        r#"select h.name, h.stable_name, h.colour, h.sex as "sex: Sex", h.neutered as "neutered: Known", h.born,
                  h.status as "status: Status", y.name as "yard?",
                  (select c.name from party p join client c on c.id = p.client_id
                   where p.horse_id = h.id and p.role = 'owner' order by p.created_at limit 1) as "owner: String"
           from horse h left join yard y on y.id = h.yard_id where h.id = ?"#,
        id
    )
    .fetch_one(db)
    .await?;
    let sex = match (row.sex, row.neutered) {
        (Sex::Male, Known::Yes) => "gelding",
        (Sex::Male, _) => "stallion or colt",
        (Sex::Female, _) => "mare or filly",
        (Sex::Unknown, _) => "",
    };
    let born = row.born.get(..4).map_or_else(String::new, |year| format!("born {year}"));
    let stable =
        if row.stable_name.is_empty() { String::new() } else { format!("“{}”", row.stable_name) };
    let look = format!("{} {sex}", row.colour);
    let about = [
        stable.as_str(),
        look.trim(),
        &born,
        row.yard.as_deref().unwrap_or(""),
        row.owner.as_deref().unwrap_or(""),
    ];
    let mut about = joined(&about);
    if let Some(word) = row.status.word() {
        about = joined(&[word, &about]);
    }
    Ok((row.name, about, row.status.is_seen()))
}

async fn client(db: &SqlitePool, id: &str) -> sqlx::Result<(String, String, bool)> {
    let id: ClientId = id.parse().map_err(|_| sqlx::Error::RowNotFound)?;
    let row = sqlx::query!(
        r#"select c.name,
                  (select number from client_phone where client_id = c.id order by position limit 1) as "phone: String",
                  (select group_concat(name, ', ') from (select distinct h.name from party p join horse h on h.id = p.horse_id
                   where p.client_id = c.id and h.status in ('here', 'retired') order by h.name limit 4)) as "horses: String"
           from client c where c.id = ?"#,
        id
    )
    .fetch_one(db)
    .await?;
    let about = joined(&[row.phone.as_deref().unwrap_or(""), row.horses.as_deref().unwrap_or("")]);
    Ok((row.name, about, true))
}

async fn yard(db: &SqlitePool, id: &str) -> sqlx::Result<(String, String, bool)> {
    let id: YardId = id.parse().map_err(|_| sqlx::Error::RowNotFound)?;
    let yard = crate::clients::yards::store::get(db, id).await?;
    let about = joined(&["yard", &yard.address.replace('\n', ", "), yard.client.as_deref().unwrap_or("")]);
    Ok((yard.name, about, true))
}

/// The parts that say something, with dots between.
fn joined(parts: &[&str]) -> String {
    parts.iter().filter(|p| !p.is_empty()).copied().collect::<Vec<_>>().join(" · ")
}
