//! The high-water mark: how far the record had grown when somebody was last told that an entry is safe. It is
//! synced in a file of its own, because a damaged write-ahead log drops commits without a word.

use std::path::{Path, PathBuf};

use anyhow::{Context, bail};
use sqlx::SqlitePool;
use tokio::{fs, io::AsyncWriteExt, sync::Mutex};

/// The newest entry: its number and its link of the chain.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Head {
    pub seq: i64,
    pub chain: Vec<u8>,
}

pub struct Mark {
    path: PathBuf,
    file: Mutex<i64>,
}

impl Mark {
    /// Reads the mark and compares it with the record as it is.
    pub async fn open(folder: &Path, db: &SqlitePool) -> anyhow::Result<Mark> {
        let path = folder.join("record.mark");
        let marked = match fs::read_to_string(&path).await {
            Ok(text) => Some(parse(&text).with_context(|| format!("{} cannot be read", path.display()))?),
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => None,
            Err(e) => return Err(e).with_context(|| format!("{} cannot be read", path.display())),
        };
        let high = marked.as_ref().map_or(0, |head| head.seq);
        if let Some(head) = marked {
            let found = super::store::chain_at(db, head.seq).await?;
            if found.as_deref() != Some(head.chain.as_slice()) {
                bail!(
                    "entry {} was acknowledged and is not in the database; stop here and restore the last backup",
                    head.seq
                );
            }
        }
        Ok(Mark { path, file: Mutex::new(high) })
    }

    /// Writes and syncs a higher mark; a lower one was overtaken and stays unwritten.
    pub async fn raise(&self, head: Head) -> anyhow::Result<()> {
        let mut high = self.file.lock().await;
        if head.seq <= *high {
            return Ok(());
        }
        // Written aside and renamed, so that a cut leaves the old mark or the new one.
        let aside = self.path.with_extension("mark.new");
        let mut file = fs::File::create(&aside).await?;
        file.write_all(format!("{} {}\n", head.seq, hex(&head.chain)).as_bytes()).await?;
        file.sync_data().await?;
        drop(file);
        fs::rename(&aside, &self.path).await?;
        *high = head.seq;
        Ok(())
    }
}

fn parse(text: &str) -> anyhow::Result<Head> {
    let (seq, chain) = text.trim().split_once(' ').context("it is not a number and a chain value")?;
    let chain = (0..chain.len())
        .step_by(2)
        .map(|i| chain.get(i..i + 2).and_then(|h| u8::from_str_radix(h, 16).ok()))
        .collect::<Option<Vec<u8>>>()
        .context("its chain value is damaged")?;
    Ok(Head { seq: seq.parse()?, chain })
}

pub fn hex(bytes: &[u8]) -> String {
    use std::fmt::Write;
    bytes.iter().fold(String::new(), |mut text, b| {
        let _ = write!(text, "{b:02x}");
        text
    })
}
