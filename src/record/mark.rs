//! The high-water mark: how much had been committed, and how far the record had grown, when somebody was last told that
//! their words are safe. It is synced in a file of its own, because a damaged write-ahead log drops commits without a word.
//!
//! Two lines of fixed length take turns, each with a digest of its own: a cut in the middle of one leaves the other.

use std::{
    fs::{self, File, OpenOptions},
    io::{self, ErrorKind, Seek, SeekFrom, Write},
    path::{Path, PathBuf},
    sync::{Arc, Mutex, PoisonError},
};

use anyhow::{Context, ensure};
use sha2::{Digest, Sha256};
use sqlx::SqliteConnection;

/// Its name in a data folder.
pub const MARK: &str = "record.mark";
/// Length of a line.
const LINE: usize = 160;

/// The newest entry: its number and its link of the chain.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Head {
    pub seq: i64,
    pub chain: Vec<u8>,
}

/// How often anything was committed, and the newest entry then.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct High {
    pub commits: i64,
    pub head: Option<Head>,
}

pub(crate) struct Mark {
    path: PathBuf,
    held: Arc<Mutex<Held>>,
}

struct Held {
    /// None where the mark stays as it is.
    file: Option<File>,
    high: High,
}

impl Mark {
    /// Opens the mark beside a database that stands at `now`. A mark that stands `apart` from its database is evidence and
    /// stays as it is.
    ///
    /// # Errors
    /// The disk cannot be written.
    pub(crate) fn open(folder: &Path, now: High, apart: bool) -> anyhow::Result<Mark> {
        let path = folder.join(MARK);
        let held = if apart { Ok(Held { file: None, high: now }) } else { make(&path, now) };
        let held = held.with_context(|| format!("{} cannot be written", path.display()))?;
        Ok(Mark { path, held: Arc::new(Mutex::new(held)) })
    }

    /// Writes and syncs a higher mark; a lower one was overtaken and stays unwritten. Without a head the record did not
    /// grow.
    pub(crate) async fn raise(&self, commits: i64, newest: Option<Head>) -> anyhow::Result<()> {
        let held = Arc::clone(&self.held);
        let raised = tokio::task::spawn_blocking(move || {
            let mut held = held.lock().unwrap_or_else(PoisonError::into_inner);
            let Held { file: Some(file), high } = &mut *held else { return Ok(()) };
            if commits <= high.commits {
                return Ok(());
            }
            let higher = High { commits, head: newest.or_else(|| high.head.clone()) };
            let at = if commits % 2 == 0 { 0 } else { LINE as u64 };
            file.seek(SeekFrom::Start(at))?;
            file.write_all(line(&higher).as_bytes())?;
            file.sync_data()?;
            *high = higher;
            io::Result::Ok(())
        });
        raised.await?.with_context(|| format!("{} cannot be written", self.path.display()))
    }
}

/// Both lines say the same at first. Written aside and renamed, so that there is a whole mark or none.
fn make(path: &Path, now: High) -> io::Result<Held> {
    let aside = path.with_extension("mark.new");
    let mut file = OpenOptions::new().write(true).create(true).truncate(true).open(&aside)?;
    file.write_all(line(&now).repeat(2).as_bytes())?;
    file.sync_all()?;
    fs::rename(&aside, path)?;
    if let Some(folder) = path.parent() {
        File::open(folder)?.sync_all()?;
    }
    Ok(Held { file: Some(file), high: now })
}

/// Holds the mark of a folder against its database; what is missing, in a sentence. The mark is read first: whoever
/// commits meanwhile raises the database before it.
///
/// # Errors
/// The database cannot be read at all.
pub(crate) async fn compare(folder: &Path, conn: &mut SqliteConnection) -> anyhow::Result<Option<String>> {
    let path = folder.join(MARK);
    let text = match fs::read_to_string(&path) {
        Ok(text) => text,
        Err(e) if e.kind() == ErrorKind::NotFound => return Ok(None),
        Err(e) => return Ok(Some(format!("{MARK} cannot be read: {e}"))),
    };
    let Ok(marked) = parse(&text) else {
        return Ok(Some(format!("{MARK} is damaged")));
    };
    if let Some(head) = &marked.head {
        let found = super::store::chain_at(&mut *conn, head.seq).await?;
        if found.as_deref() != Some(head.chain.as_slice()) {
            return Ok(Some(format!("entry {} was acknowledged and is not in the database", head.seq)));
        }
    }
    let lost = marked.commits - crate::db::stands(conn).await?.commits;
    Ok((lost > 0).then(|| format!("the last {lost} changes that were acknowledged are not in the database")))
}

fn line(high: &High) -> String {
    let (seq, chain) = high.head.as_ref().map_or((0, "-".to_owned()), |head| (head.seq, hex(&head.chain)));
    let words = format!("{} {seq} {chain}", high.commits);
    let whole = format!("{words} {}", proof(&words));
    format!("{whole:<width$}\n", width = LINE - 1)
}

fn proof(words: &str) -> String {
    hex(&Sha256::digest(words)[..8])
}

/// The higher of the lines that are whole.
fn parse(text: &str) -> anyhow::Result<High> {
    let whole = text.lines().filter_map(|line| parse_line(line).ok());
    whole.max_by_key(|high| high.commits).context("no line of it is whole")
}

fn parse_line(line: &str) -> anyhow::Result<High> {
    let mut parts = line.split_ascii_whitespace();
    let mut next = || parts.next().context("it is cut off");
    let (first, second) = (next()?, next()?);
    // A practice of an earlier version marked the record alone.
    let Ok(chain) = next() else {
        return Ok(High { commits: 0, head: Some(Head { seq: first.parse()?, chain: bytes(second)? }) });
    };
    ensure!(next()? == proof(&format!("{first} {second} {chain}")), "it is damaged");
    let seq = second.parse()?;
    let head = if chain == "-" { None } else { Some(Head { seq, chain: bytes(chain)? }) };
    Ok(High { commits: first.parse()?, head })
}

fn bytes(hex: &str) -> anyhow::Result<Vec<u8>> {
    (0..hex.len())
        .step_by(2)
        .map(|i| hex.get(i..i + 2).and_then(|h| u8::from_str_radix(h, 16).ok()))
        .collect::<Option<Vec<u8>>>()
        .context("its chain value is damaged")
}

pub fn hex(bytes: &[u8]) -> String {
    use std::fmt::Write;
    bytes.iter().fold(String::new(), |mut text, b| {
        let _ = write!(text, "{b:02x}");
        text
    })
}
