//! From a kept object to a picture file. Unpacking may take a gibibyte and a second, so that few go at once, beside
//! the threads that answer; previews are made once and kept.

use std::{
    fs, io,
    path::{Path, PathBuf},
};

use anyhow::Context;
use tokio::sync::Semaphore;

use crate::{
    App, attachments,
    ids::SubmissionId,
    imaging::picture::{self, Facts, Unshown, View, Window},
};

/// So many pictures are unpacked side by side.
static AT_ONCE: Semaphore = Semaphore::const_new(2);
/// The longer edge of a preview, in pixels.
const PREVIEW: u32 = 512;
const FOLDER: &str = "previews";

/// What is read out of an object for the page around its picture.
pub(in crate::imaging) struct Look {
    pub facts: Facts,
    /// The window that it is shown with when nobody says another.
    pub window: Option<Window>,
}

/// Runs work on the object of this name, with the others of its kind waiting their turn.
async fn with_object<T: Send + 'static>(
    app: &App,
    name: &str,
    work: impl FnOnce(&picture::Object) -> Result<T, Unshown> + Send + 'static,
) -> anyhow::Result<Result<T, Unshown>> {
    let path = attachments::path(app.db.folder(), name);
    let _turn = AT_ONCE.acquire().await?;
    Ok(tokio::task::spawn_blocking(move || work(&picture::open(&path)?)).await?)
}

pub(in crate::imaging) async fn look(app: &App, name: &str) -> anyhow::Result<Result<Look, Unshown>> {
    // Whether it can be shown was found out for its preview, which is kept: unpacking may take a second.
    if let Err(unshown) = preview_of(app, name).await? {
        return Ok(Err(unshown));
    }
    let read = |object: &picture::Object| {
        Ok(Look { facts: picture::facts(object), window: picture::first_window(object)? })
    };
    with_object(app, name, read).await
}

/// One frame at full size as PNG.
pub(super) async fn png(
    app: &App,
    name: &str,
    frame: u32,
    window: Option<Window>,
) -> anyhow::Result<Result<Vec<u8>, Unshown>> {
    let view = window.map_or(View::AsKept, View::Own);
    let made = with_object(app, name, move |object| Ok(picture::frame(object, frame, view)?.png()));
    match made.await? {
        Ok(png) => Ok(Ok(png.context("a picture could not be made")?)),
        Err(unshown) => Ok(Err(unshown)),
    }
}

/// The preview of an object, made at its arrival or when it is first asked for.
///
/// # Errors
/// The disk cannot be read or written.
pub(crate) async fn preview_of(app: &App, name: &str) -> anyhow::Result<Result<Vec<u8>, Unshown>> {
    let path = kept(app.db.folder(), name);
    match tokio::fs::read(&path).await {
        Ok(png) => return Ok(Ok(png)),
        Err(error) if error.kind() == io::ErrorKind::NotFound => {}
        Err(error) => return Err(error).with_context(|| format!("{} cannot be read", path.display())),
    }
    let made = with_object(app, name, |object| {
        let middle = picture::facts(object).frames / 2 + 1;
        Ok(picture::frame(object, middle, View::AsKept)?.within(PREVIEW).png())
    });
    let png = match made.await? {
        Ok(png) => png.context("a preview could not be made")?,
        Err(unshown) => return Ok(Err(unshown)),
    };
    let copy = png.clone();
    tokio::task::spawn_blocking(move || write(&path, &copy)).await??;
    Ok(Ok(png))
}

/// Previews can be made again from what is kept: they are no part of the record, and nothing waits for their sync.
fn kept(data: &Path, name: &str) -> PathBuf {
    data.join(FOLDER).join(name.get(..2).unwrap_or("00")).join(format!("{name}.png"))
}

fn write(path: &Path, png: &[u8]) -> anyhow::Result<()> {
    let folder = path.parent().context("a preview lies in a folder")?;
    fs::create_dir_all(folder).with_context(|| format!("{} cannot be made", folder.display()))?;
    let aside = folder.join(SubmissionId::new().to_string());
    fs::write(&aside, png).with_context(|| format!("{} cannot be written", aside.display()))?;
    fs::rename(&aside, path).with_context(|| format!("{} cannot be written", path.display()))
}
