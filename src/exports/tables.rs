//! Every table as CSV, in one zip with a readme. Which tables there are is asked of the database, so that none that is
//! added later stays behind; what would open the door to somebody is left out.

use std::io::{Cursor, Write};

use anyhow::Context;
use sqlx::{AssertSqlSafe, Column, Row, SqliteConnection, TypeInfo, ValueRef, sqlite::SqliteRow};
use zip::{ZipWriter, write::SimpleFileOptions};

use super::safe;
use crate::{clock::At, record::hex};

/// Rows that are read at once.
const TOGETHER: i64 = 2000;
/// Who is signed in and how, the numbers of forms, keys and secret addresses, rows of files on their way in.
const LEFT_OUT: [&str; 10] = [
    "session",
    "submission",
    "tablet_key",
    "second_factor",
    "second_factor_asked",
    "recovery_code",
    "half_sign_in",
    "calendar_feed",
    "import_row",
    "video_piece",
];
const SECRET_COLUMNS: [(&str, &str); 4] =
    [("staff", "password_hash"), ("staff", "pin_hash"), ("staff", "code_until"), ("entry", "salt")];

const README: &str = "\
Everything that this practice holds, as tables: one file a table, the first row the names of its columns, in UTF-8,
divided by commas (RFC 4180).

Ids are written in letters. A column that ends in _at holds an instant in UTC; a column that ends in _on holds a day.
An empty cell is nothing. A cell that a spreadsheet would take for a formula has an apostrophe before it.

entry is the medical record in the order in which it was received: body is what was seen, as JSON; supersedes names the
entry that it corrects. digest and chain prove that nothing was changed; the salts that prove it stay with the practice.
Photos, videos and images are files of the data folder, under attachments, named by their SHA-256: attachment lists them.

charge holds what visits are charged, in hundredths of the currency and thousandths of a unit; price is the practice's list,
charge_batch what was handed over, each with its file as it was.

Left out: passwords, PINs and second factors, who is signed in, keys of tablets, addresses of calendars, and files on their way in.
";

/// The whole practice as the bytes of a zip, at one moment.
pub(super) async fn zipped(conn: &mut SqliteConnection) -> anyhow::Result<Vec<u8>> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    let options = SimpleFileOptions::default();
    zip.start_file("readme.txt", options)?;
    zip.write_all(README.as_bytes())?;
    let tables: Vec<(String, bool)> = sqlx::query_as(
        "select name, wr from pragma_table_list
         where schema = 'main' and type = 'table' and name not like 'sqlite_%' and name not like '_sqlx_%'
           and name not like 'search_line%' order by name",
    )
    .fetch_all(&mut *conn)
    .await?;
    for (table, without_rowid) in tables.iter().filter(|(name, _)| !LEFT_OUT.contains(&name.as_str())) {
        zip.start_file(format!("{table}.csv"), options.large_file(true))?;
        write(conn, &mut zip, table, *without_rowid).await.with_context(|| format!("the table {table}"))?;
    }
    Ok(zip.finish()?.into_inner())
}

async fn write(
    conn: &mut SqliteConnection,
    zip: &mut ZipWriter<Cursor<Vec<u8>>>,
    table: &str,
    without_rowid: bool,
) -> anyhow::Result<()> {
    let columns: Vec<String> = sqlx::query_scalar("select name from pragma_table_xinfo(?)")
        .bind(table)
        .fetch_all(&mut *conn)
        .await?;
    let secret = |name: &str| SECRET_COLUMNS.iter().any(|(t, c)| *t == table && *c == name);
    let columns: Vec<String> = columns.into_iter().filter(|name| !secret(name)).collect();
    let listed = columns.iter().map(|name| format!("\"{name}\"")).collect::<Vec<_>>().join(", ");
    // By the place of the last row where rows have one; a table without is small.
    let sql = if without_rowid {
        format!("select 0 as place_, {listed} from \"{table}\" limit ?2 offset ?1")
    } else {
        format!("select rowid as place_, {listed} from \"{table}\" where rowid > ?1 order by rowid limit ?2")
    };
    let mut csv = csv::Writer::from_writer(Vec::new());
    csv.write_record(&columns)?;
    let mut place = 0_i64;
    loop {
        let rows =
            sqlx::query(AssertSqlSafe(sql.clone())).bind(place).bind(TOGETHER).fetch_all(&mut *conn).await?;
        for row in &rows {
            csv.write_record((1..=columns.len()).map(|at| cell(row, at)).collect::<sqlx::Result<Vec<_>>>()?)?;
        }
        csv.flush()?;
        zip.write_all(csv.get_ref())?;
        csv = csv::Writer::from_writer(Vec::new());
        let Some(last) = rows.last() else { return Ok(()) };
        place = if without_rowid { place + TOGETHER } else { last.try_get(0)? };
    }
}

/// A value as a cell.
fn cell(row: &SqliteRow, at: usize) -> sqlx::Result<String> {
    let raw = row.try_get_raw(at)?;
    if raw.is_null() {
        return Ok(String::new());
    }
    let name = row.column(at).name();
    let kind = raw.type_info().name().to_owned();
    Ok(match kind.as_str() {
        "BLOB" => match row.try_get::<uuid::Uuid, _>(at) {
            Ok(id) => id.to_string(),
            Err(_) => hex(&row.try_get::<Vec<u8>, _>(at)?),
        },
        "INTEGER" => {
            let number = row.try_get::<i64, _>(at)?;
            let is_instant = name == "at" || name.ends_with("_at");
            if is_instant && number > 0 { At(number).iso() } else { number.to_string() }
        }
        "REAL" => row.try_get::<f64, _>(at)?.to_string(),
        _ => safe::cell(&row.try_get_unchecked::<String, _>(at)?).into_owned(),
    })
}
