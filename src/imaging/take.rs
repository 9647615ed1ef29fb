//! Taking an object in, whoever brings it: written aside as it comes, within its bound; looked into; synced and named;
//! and only when its row is committed is anybody told that it is here.

use std::{
    fs::File,
    io::{BufReader, Write},
    path::{Path, PathBuf},
};

use tokio::task::JoinError;

use super::{
    Source,
    equipment::{SYNTAXES, is_uid},
    head, join, look,
    object::{self, Seen},
    store,
};
use crate::{
    App,
    attachments::{self, Incoming},
    ids::ArrivalId,
};

/// As the row of the file says it.
const KIND: &str = "application/dicom";

/// Why an object is not taken in. Nothing of it is kept.
#[derive(Debug, thiserror::Error)]
pub(crate) enum Refused {
    #[error("it is larger than {} MB", .0 / 1_048_576)]
    TooLarge(u64),
    #[error("it could not be kept: {0}")]
    NoRoom(anyhow::Error),
    #[error("{0}")]
    NotUnderstood(anyhow::Error),
    #[error("its data set is another object than was announced")]
    OtherObject,
}

impl From<JoinError> for Refused {
    fn from(error: JoinError) -> Self {
        Refused::NoRoom(error.into())
    }
}

/// Which object is announced, and how it is written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Announced {
    pub class: String,
    pub instance: String,
    pub transfer_syntax: String,
}

/// Who brings an object: an AE title, or the name of a file.
#[derive(Debug, Clone)]
pub(crate) struct Bringer {
    pub source: Source,
    pub name: String,
}

/// What became of an object that was taken in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Taken {
    Matched(ArrivalId),
    /// It waits for a person.
    Waiting(ArrivalId),
    /// The same object came before.
    Known,
}

/// An object on its way in.
pub(crate) struct Coming {
    data: PathBuf,
    largest: u64,
    /// The beginning of a file, until its head is whole.
    beginning: Vec<u8>,
    begun: Option<(Announced, Incoming)>,
}

impl Coming {
    /// A file whose head says what it is.
    pub(crate) fn file(data: &Path, largest: u64) -> Self {
        Coming { data: data.to_owned(), largest, beginning: Vec::new(), begun: None }
    }

    /// A data set that was announced.
    pub(crate) fn announced(data: &Path, largest: u64, what: Announced) -> Result<Self, Refused> {
        let mut coming = Coming::file(data, largest);
        coming.begin(what)?;
        Ok(coming)
    }

    fn begin(&mut self, what: Announced) -> Result<(), Refused> {
        if !is_uid(&what.class) || !is_uid(&what.instance) {
            return Err(Refused::NotUnderstood(anyhow::anyhow!("it does not say which object it is")));
        }
        let mut incoming = Incoming::begin(&self.data).map_err(Refused::NoRoom)?;
        head::write(&mut incoming, &what.class, &what.instance, &what.transfer_syntax)
            .map_err(Refused::NoRoom)?;
        self.begun = Some((what, incoming));
        Ok(())
    }

    pub(crate) fn push(&mut self, bytes: &[u8]) -> Result<(), Refused> {
        if self.begun.is_none() {
            self.beginning.extend_from_slice(bytes);
            let Some(length) = head::length(&self.beginning).map_err(Refused::NotUnderstood)? else {
                return Ok(());
            };
            if self.beginning.len() < length {
                return Ok(());
            }
            let whole = std::mem::take(&mut self.beginning);
            let mut rest = whole.as_slice();
            self.begin(announced_by(&mut rest).map_err(Refused::NotUnderstood)?)?;
            return self.write(rest);
        }
        self.write(bytes)
    }

    fn write(&mut self, bytes: &[u8]) -> Result<(), Refused> {
        let Some((_, incoming)) = &mut self.begun else { return Ok(()) };
        if incoming.bytes().saturating_add(bytes.len() as u64) > self.largest {
            return Err(Refused::TooLarge(self.largest));
        }
        incoming.write_all(bytes).map_err(|error| Refused::NoRoom(error.into()))
    }

    /// Looks into what came, which is whole.
    fn look(self) -> Result<(Incoming, Seen), Refused> {
        let Some((what, mut incoming)) = self.begun else {
            return Err(Refused::NotUnderstood(anyhow::anyhow!("it is no DICOM file")));
        };
        incoming.flush().map_err(|error| Refused::NoRoom(error.into()))?;
        let looked = || {
            let mut file = BufReader::new(File::open(incoming.aside())?);
            head::read(&mut file)?;
            object::read(file, &what.transfer_syntax)
        };
        let seen = looked().map_err(Refused::NotUnderstood)?;
        if seen.sop_instance != what.instance || seen.sop_class != what.class {
            return Err(Refused::OtherObject);
        }
        Ok((incoming, seen))
    }
}

fn announced_by(head: &mut &[u8]) -> anyhow::Result<Announced> {
    let meta = head::read(head)?;
    let transfer_syntax = meta.transfer_syntax().to_owned();
    anyhow::ensure!(
        SYNTAXES.contains(&transfer_syntax.as_str()),
        "it is written in a way that is not taken: {transfer_syntax}"
    );
    Ok(Announced {
        class: meta.media_storage_sop_class_uid().to_owned(),
        instance: meta.media_storage_sop_instance_uid().to_owned(),
        transfer_syntax,
    })
}

/// An object on its way through one request.
pub(crate) type Pipe = attachments::Pipe<Coming, Refused>;

/// Keeps an object that is whole, and looks for its order.
pub(crate) async fn keep(app: &App, coming: Coming, from: &Bringer) -> Result<Taken, Refused> {
    let looked = tokio::task::spawn_blocking(move || {
        let (incoming, seen) = coming.look()?;
        let kept = incoming.finish().map_err(Refused::NoRoom)?;
        Ok::<_, Refused>((kept, seen))
    });
    // Whoever reads into a hostile object may fall over it; then it was not understood.
    let (kept, seen) = looked.await.map_err(|error| Refused::NotUnderstood(error.into()))??;
    let name = kept.name.clone();
    let row = async {
        let now = app.clock.now();
        let mut tx = app.db.write().await?;
        attachments::insert(&mut tx, &kept, KIND, now).await?;
        let Some(id) = store::objects::insert(&mut tx, &seen, &kept.name, from, now).await? else {
            return Ok(Taken::Known);
        };
        let matched = join::by_machine(&mut tx, id, &seen, now).await?;
        tx.commit().await?;
        Ok(if matched { Taken::Matched(id) } else { Taken::Waiting(id) })
    };
    let taken = row.await.map_err(Refused::NoRoom)?;
    if !matches!(taken, Taken::Known) {
        prepare_preview(app, name);
    }
    Ok(taken)
}

/// Makes the preview while nobody waits for it; without one it is made when it is asked for.
fn prepare_preview(app: &App, name: String) {
    let app = app.clone();
    tokio::spawn(async move {
        if let Err(error) = look::preview_of(&app, &name).await {
            tracing::warn!("no preview: {error:#}");
        }
    });
}
