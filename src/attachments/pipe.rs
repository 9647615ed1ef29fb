//! From a request to the disk without holding a file: pieces go to a thread that may wait for the disk.

use tokio::{
    sync::mpsc,
    task::{JoinError, JoinHandle},
};

/// Pieces that wait for the disk; each is as large as one read of the network at most.
const WAITING: usize = 4;

/// Hands pieces to a thread that may wait for the disk. Dropped in the middle, it leaves nothing behind.
pub struct Pipe<T, E> {
    pieces: mpsc::Sender<Vec<u8>>,
    work: JoinHandle<Result<T, E>>,
}

impl<T: Send + 'static, E: From<JoinError> + Send + 'static> Pipe<T, E> {
    /// `begin` and `take` are called on that thread.
    pub fn open(
        begin: impl FnOnce() -> Result<T, E> + Send + 'static,
        take: impl Fn(&mut T, &[u8]) -> Result<(), E> + Send + 'static,
    ) -> Self {
        let (pieces, mut coming_in) = mpsc::channel::<Vec<u8>>(WAITING);
        let work = tokio::task::spawn_blocking(move || {
            let mut coming = begin()?;
            while let Some(piece) = coming_in.blocking_recv() {
                take(&mut coming, &piece)?;
            }
            Ok(coming)
        });
        Pipe { pieces, work }
    }

    /// One more piece. What comes after a refusal is passed over: [`Pipe::end`] tells it.
    pub async fn push(&mut self, piece: Vec<u8>) -> bool {
        self.pieces.send(piece).await.is_ok()
    }

    /// That was all of it.
    ///
    /// # Errors
    /// What `begin` or `take` refused.
    pub async fn end(self) -> Result<T, E> {
        drop(self.pieces);
        self.work.await?
    }
}
