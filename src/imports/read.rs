//! A file of another program as a table: whatever its letters, its delimiter and its quoting. What is odd is told by
//! row and column, and nothing is guessed away.

use encoding_rs::{Encoding, WINDOWS_1252};

/// Rows of one file.
pub const MOST_ROWS: usize = 100_000;
/// Bytes of one file.
pub const LARGEST: usize = 64 * 1024 * 1024;
const MOST_COLUMNS: usize = 200;
/// A cell that is longer has swallowed rows: its quotation mark is not closed.
const LONGEST_CELL: usize = 4000;
const DELIMITERS: [u8; 4] = [b',', b';', b'\t', b'|'];

/// A file that was read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Table {
    pub header: Vec<String>,
    pub rows: Vec<Row>,
    /// What was odd about the file as a whole, for whoever looks at it.
    pub notes: Vec<String>,
}

/// A row as it came, with as many cells as there are headings.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// The line of the file on which it begins.
    pub line: u64,
    pub cells: Vec<String>,
    /// Why it cannot be taken as it is, with its column; empty when it can.
    pub torn: String,
}

/// Why a file is no table.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Refused {
    #[error("The file is empty.")]
    Empty,
    #[error("The file is larger than {} MB. Cut it into parts, each with the headings.", LARGEST / 1024 / 1024)]
    TooLarge,
    #[error("This is a workbook or another packed file. Save it as CSV there, and send that.")]
    NotText,
    #[error("Row 1 has the headings, and there is no row under it.")]
    NoRows,
    #[error("Row 1, column {column}: the heading holds a character that cannot be printed.")]
    Heading { column: usize },
    #[error("Row 1 has {columns} columns; at most {MOST_COLUMNS} are read.")]
    TooWide { columns: usize },
    #[error("The file has more than {MOST_ROWS} rows. Cut it into parts, each with the headings.")]
    TooManyRows,
}

/// Reads the bytes of a file.
///
/// # Errors
/// It is no table that could be gone through row by row.
pub fn table(bytes: &[u8]) -> Result<Table, Refused> {
    if bytes.len() > LARGEST {
        return Err(Refused::TooLarge);
    }
    if bytes.starts_with(b"PK\x03\x04")
        || bytes.starts_with(b"%PDF")
        || bytes.starts_with(b"\xd0\xcf\x11\xe0")
    {
        return Err(Refused::NotText);
    }
    let mut notes = Vec::new();
    let text = text(bytes, &mut notes);
    let first = text.lines().find(|line| !line.trim().is_empty()).ok_or(Refused::Empty)?;
    let delimiter = delimiter(first);
    if delimiter != b',' {
        let name = match delimiter {
            b';' => "semicolons",
            b'\t' => "tabs",
            _ => "upright strokes",
        };
        notes.push(format!("Its cells are divided by {name}."));
    }
    let mut records = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(delimiter)
        .from_reader(text.as_bytes());
    let mut record = csv::StringRecord::new();
    let mut header: Option<Vec<String>> = None;
    let mut rows = Vec::new();
    // The text is UTF-8 and in memory: nothing is left that reading could fail at.
    while records.read_record(&mut record).unwrap_or(false) {
        let line = record.position().map_or(0, csv::Position::line);
        if record.iter().all(|cell| cell.trim().is_empty()) {
            continue;
        }
        match &header {
            None => header = Some(headings(&record)?),
            Some(_) if rows.len() == MOST_ROWS => return Err(Refused::TooManyRows),
            Some(header) => rows.push(row(line, &record, header)),
        }
    }
    let header = header.ok_or(Refused::Empty)?;
    if rows.is_empty() { Err(Refused::NoRows) } else { Ok(Table { header, rows, notes }) }
}

/// The letters of the file: by its byte order mark, as UTF-8 when it is, and as the western letters of older programs
/// when it is not.
fn text(bytes: &[u8], notes: &mut Vec<String>) -> String {
    if let Some((encoding, mark)) = Encoding::for_bom(bytes) {
        let (text, _) = encoding.decode_without_bom_handling(&bytes[mark..]);
        if encoding != encoding_rs::UTF_8 {
            notes.push(format!("Its letters are {}.", encoding.name()));
        }
        return text.into_owned();
    }
    if let Ok(text) = std::str::from_utf8(bytes) {
        return text.to_owned();
    }
    notes.push("Its letters are not UTF-8 and were read as western ones: look at names with accents.".into());
    WINDOWS_1252.decode_without_bom_handling(bytes).0.into_owned()
}

/// What stands between the headings, outside of quotation marks.
fn delimiter(first: &str) -> u8 {
    let mut counts = [0; DELIMITERS.len()];
    let mut quoted = false;
    for byte in first.bytes() {
        quoted ^= byte == b'"';
        if let Some(at) = DELIMITERS.iter().position(|one| *one == byte)
            && !quoted
        {
            counts[at] += 1;
        }
    }
    let most = counts.iter().max().copied().unwrap_or(0);
    let at = counts.iter().position(|count| *count == most).unwrap_or(0);
    DELIMITERS[at]
}

fn headings(record: &csv::StringRecord) -> Result<Vec<String>, Refused> {
    if record.len() > MOST_COLUMNS {
        return Err(Refused::TooWide { columns: record.len() });
    }
    if let Some(at) = record.iter().position(unprintable) {
        return Err(Refused::Heading { column: at + 1 });
    }
    let name = |(at, cell): (usize, &str)| match cell.trim() {
        "" => format!("Column {}", at + 1),
        name => name.split_whitespace().collect::<Vec<_>>().join(" ").chars().take(100).collect(),
    };
    Ok(record.iter().enumerate().map(name).collect())
}

fn row(line: u64, record: &csv::StringRecord, header: &[String]) -> Row {
    let mut cells: Vec<String> = record.iter().map(plain).collect();
    let torn = torn(&cells, header);
    cells.resize(header.len(), String::new());
    for cell in &mut cells {
        // What cannot be printed stays visible, and what swallowed half of the file is cut.
        cell.retain(|c| !c.is_control() || matches!(c, '\n' | '\t'));
        if cell.len() > LONGEST_CELL {
            *cell = cell.chars().take(200).chain(['…']).collect();
        }
    }
    Row { line, cells, torn }
}

/// A cell without the mark that keeps a spreadsheet from reckoning with it, and with one kind of line end.
fn plain(cell: &str) -> String {
    let bare = match cell.strip_prefix('\'') {
        Some(rest) if rest.starts_with(['=', '+', '-', '@', '\t']) => rest,
        _ => cell,
    };
    bare.replace("\r\n", "\n").replace('\r', "\n").trim().to_owned()
}

fn torn(cells: &[String], header: &[String]) -> String {
    let column = |at: usize| match header.get(at) {
        Some(name) => format!("column {} ({name})", at + 1),
        None => format!("column {}", at + 1),
    };
    if let Some(at) = cells.iter().position(|cell| cell.len() > LONGEST_CELL) {
        return format!("{}: a quotation mark is opened here and not closed.", capital(&column(at)));
    }
    if let Some(at) = cells.iter().position(|cell| unprintable(cell)) {
        return format!("{}: it holds a character that cannot be printed.", capital(&column(at)));
    }
    if cells.len() < header.len() {
        let missing = header.len() - cells.len();
        let words = if missing == 1 { "1 cell is".to_owned() } else { format!("{missing} cells are") };
        return format!("{words} missing: the row ends before {}.", column(cells.len()));
    }
    match cells.iter().skip(header.len()).position(|cell| !cell.is_empty()) {
        Some(at) => format!("{} has no heading: a cell too many.", capital(&column(header.len() + at))),
        None => String::new(),
    }
}

fn unprintable(cell: &str) -> bool {
    cell.chars().any(|c| (c.is_control() && !matches!(c, '\n' | '\r' | '\t')) || c == '\u{fffd}')
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
