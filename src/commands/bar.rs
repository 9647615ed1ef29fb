//! Shows on a terminal how far a long command has come.

use std::time::Duration;

use indicatif::{ProgressBar, ProgressStyle};
use tokio::task::JoinHandle;

use crate::checkup::Watch;

/// A bar that follows the work.
pub(super) struct Shown {
    bar: ProgressBar,
    following: JoinHandle<()>,
}

/// Begins to show; where stderr is no terminal, nothing appears.
pub(super) fn show(watch: &Watch) -> Shown {
    let style = ProgressStyle::with_template("{msg} {bar:40} {pos} of {len}");
    let bar = ProgressBar::new(0).with_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()));
    let (progress, followed) = (watch.progress(), bar.clone());
    let following = tokio::spawn(async move {
        loop {
            let (what, done, of) = progress.now();
            followed.set_message(what);
            followed.set_length(of);
            followed.set_position(done);
            tokio::time::sleep(Duration::from_millis(100)).await;
        }
    });
    Shown { bar, following }
}

impl Shown {
    pub(super) fn done(self) {
        self.following.abort();
        self.bar.finish_and_clear();
    }
}
