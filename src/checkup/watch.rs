//! How far a long piece of work has come, for whoever waits for it, and how much of the machine it takes.

use std::{
    sync::{
        Arc, Mutex, PoisonError,
        atomic::{AtomicU64, Ordering},
    },
    time::{Duration, Instant},
};

/// What is being done just now, and how much of it is done.
#[derive(Debug, Default)]
pub struct Progress {
    what: Mutex<&'static str>,
    done: AtomicU64,
    of: AtomicU64,
}

impl Progress {
    /// The step that runs, how much of it is done, and how much it is.
    pub fn now(&self) -> (&'static str, u64, u64) {
        let what = *self.what.lock().unwrap_or_else(PoisonError::into_inner);
        (what, self.done.load(Ordering::Relaxed), self.of.load(Ordering::Relaxed))
    }
}

/// Handed to the work: it tells where it is, and is slowed down where people work on the same machine.
#[derive(Debug, Clone, Default)]
pub struct Watch {
    progress: Arc<Progress>,
    gentle: bool,
}

impl Watch {
    /// As fast as it goes.
    pub fn new() -> Self {
        Watch::default()
    }

    /// Rests three times as long as it works.
    pub fn gentle() -> Self {
        Watch { gentle: true, ..Watch::default() }
    }

    pub fn progress(&self) -> Arc<Progress> {
        Arc::clone(&self.progress)
    }

    /// A step of `of` parts begins.
    pub(crate) fn begin(&self, what: &'static str, of: u64) {
        *self.progress.what.lock().unwrap_or_else(PoisonError::into_inner) = what;
        self.progress.done.store(0, Ordering::Relaxed);
        self.progress.of.store(of, Ordering::Relaxed);
    }

    pub(crate) fn advance(&self, by: u64) {
        self.progress.done.fetch_add(by, Ordering::Relaxed);
    }

    /// Makes way after a piece of work that began then.
    pub(crate) async fn rest(&self, began: Instant) {
        if self.gentle {
            tokio::time::sleep(pause(began)).await;
        }
    }

    /// The same on a thread of its own.
    pub(crate) fn rest_here(&self, began: Instant) {
        if self.gentle {
            std::thread::sleep(pause(began));
        }
    }
}

fn pause(began: Instant) -> Duration {
    (began.elapsed() * 3).max(Duration::from_millis(1))
}
