//! Which copies were made, and what became of each: a line of JSON each in the data folder, because the command line makes
//! copies beside a server that alone may write to the database.

use std::{
    fs::{self, OpenOptions},
    io::{ErrorKind, Write},
    path::Path,
};

use anyhow::Context;
use serde::{Deserialize, Serialize};

use super::passphrase;
use crate::clock::{At, since_words};

const FILE: &str = "backups.jsonl";
/// A copy that is older is told to the owner: a daily one was missed, and a day to look after it is over.
const OLD_MINUTES: i64 = 48 * 60;

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Line {
    /// Milliseconds since 1970.
    pub at: At,
    /// Where it lies.
    pub path: String,
    pub bytes: u64,
    /// The last entry of the record in it.
    pub entries: i64,
    /// It was restored to a scratch folder and found whole; else why not.
    pub fault: String,
}

impl Line {
    pub fn is_good(&self) -> bool {
        self.fault.is_empty()
    }
}

/// # Errors
/// The disk cannot be written.
pub(super) fn append(data: &Path, line: &Line) -> anyhow::Result<()> {
    let path = data.join(FILE);
    let mut text = serde_json::to_string(line)?;
    text.push('\n');
    let written = || -> std::io::Result<()> {
        let mut file = OpenOptions::new().create(true).append(true).open(&path)?;
        file.write_all(text.as_bytes())?;
        file.sync_data()
    };
    written().with_context(|| format!("{} cannot be written", path.display()))
}

/// The newest first. A line that a cut left half is passed over.
///
/// # Errors
/// The file cannot be read.
pub(super) fn lines(data: &Path) -> anyhow::Result<Vec<Line>> {
    let path = data.join(FILE);
    let text = match fs::read_to_string(&path) {
        Err(e) if e.kind() == ErrorKind::NotFound => return Ok(Vec::new()),
        read => read.with_context(|| format!("{} cannot be read", path.display()))?,
    };
    Ok(text.lines().rev().filter_map(|line| serde_json::from_str(line).ok()).collect())
}

/// What the owner has to know about the copies; nothing while all is well.
///
/// # Errors
/// The list of copies cannot be read.
pub fn warning(data: &Path, now: At) -> anyhow::Result<Option<String>> {
    let lines = lines(data)?;
    let Some(last) = lines.iter().find(|line| line.is_good()) else {
        return Ok(Some("There is no copy of this practice yet.".to_owned()));
    };
    let minutes = now.minutes_since(last.at);
    if minutes >= OLD_MINUTES {
        return Ok(Some(format!(
            "The last good copy of this practice was made {} ago.",
            since_words(minutes)
        )));
    }
    let sealed = passphrase::is_made(data);
    Ok((!sealed).then(|| "The copies of this practice are without its keys.".to_owned()))
}
