//! Notices when nothing moves on a connection in either direction: a peer that stopped reading, a tablet that
//! left the yard, a browser that keeps an unused connection.

use std::io::{self, IoSlice};
use std::pin::Pin;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::task::{Context, Poll};
use std::time::Duration;

use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::time::Instant;

/// A stream that remembers when bytes last moved.
pub(super) struct Pulse<S> {
    inner: S,
    heart: Heart,
}

/// Tells how long a stream has been silent.
#[derive(Clone)]
pub(super) struct Heart {
    began: Instant,
    last_beat: Arc<AtomicU64>,
}

impl<S> Pulse<S> {
    pub(super) fn new(inner: S) -> (Self, Heart) {
        let heart = Heart { began: Instant::now(), last_beat: Arc::default() };
        (Self { inner, heart: heart.clone() }, heart)
    }
}

impl Heart {
    /// Completes once nothing has moved for `limit`.
    pub(super) async fn silent_for(&self, limit: Duration) {
        loop {
            let last = Duration::from_millis(self.last_beat.load(Ordering::Relaxed));
            let silent = self.began.elapsed().saturating_sub(last);
            if silent >= limit {
                return;
            }
            tokio::time::sleep(limit.saturating_sub(silent)).await;
        }
    }

    fn beat(&self) {
        let now = u64::try_from(self.began.elapsed().as_millis()).unwrap_or(u64::MAX);
        self.last_beat.store(now, Ordering::Relaxed);
    }
}

impl<S: AsyncRead + Unpin> AsyncRead for Pulse<S> {
    fn poll_read(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        buf: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        let read = Pin::new(&mut self.inner).poll_read(cx, buf);
        if read.is_ready() {
            self.heart.beat();
        }
        read
    }
}

impl<S: AsyncWrite + Unpin> AsyncWrite for Pulse<S> {
    fn poll_write(mut self: Pin<&mut Self>, cx: &mut Context<'_>, buf: &[u8]) -> Poll<io::Result<usize>> {
        let written = Pin::new(&mut self.inner).poll_write(cx, buf);
        if written.is_ready() {
            self.heart.beat();
        }
        written
    }

    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        bufs: &[IoSlice<'_>],
    ) -> Poll<io::Result<usize>> {
        let written = Pin::new(&mut self.inner).poll_write_vectored(cx, bufs);
        if written.is_ready() {
            self.heart.beat();
        }
        written
    }

    fn is_write_vectored(&self) -> bool {
        self.inner.is_write_vectored()
    }

    fn poll_flush(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.inner).poll_flush(cx)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.inner).poll_shutdown(cx)
    }
}
