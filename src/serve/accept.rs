//! Our accept loop. The ready-made one has no time-outs and no caps, and waits for ever when asked to stop
//! while a request is half sent.

use std::future::Future;
use std::net::SocketAddr;
use std::pin::pin;
use std::sync::Arc;
use std::time::Duration;

use tokio::net::TcpListener;
use tokio::sync::watch;
use tokio::task::JoinSet;
use tokio::time::{sleep, timeout};

use super::answer::Desk;
use super::caps::Caps;
use super::connection;

/// After a failed accept (no file handles left, mostly): time for some connections to end.
const BREATH: Duration = Duration::from_millis(100);

/// Accepts until `shutdown` completes, then closes the door and lets open requests finish within their bound.
pub(super) async fn run(listener: TcpListener, desk: &Arc<Desk>, shutdown: impl Future<Output = ()>) {
    let limits = desk.limits();
    let caps = Caps::new(limits.per_ip, limits.total);
    let (stop, stopping) = watch::channel(false);
    let mut connections = JoinSet::new();
    let mut shutdown = pin!(shutdown);
    loop {
        tokio::select! {
            () = &mut shutdown => break,
            Some(ended) = connections.join_next() => {
                if let Err(error) = ended {
                    tracing::error!(%error, "a connection ended badly");
                }
            }
            accepted = listener.accept() => match accepted {
                Ok((stream, addr)) => {
                    let addr = SocketAddr::new(addr.ip().to_canonical(), addr.port());
                    let Some(place) = caps.take(addr.ip()) else {
                        tracing::debug!(%addr, "too many connections");
                        continue;
                    };
                    let attended = connection::attend(stream, addr, Arc::clone(desk), stopping.clone());
                    connections.spawn(async move {
                        let _place = place;
                        attended.await;
                    });
                }
                Err(error) => {
                    tracing::warn!(%error, "cannot accept a connection");
                    sleep(BREATH).await;
                }
            }
        }
    }
    drop(listener);
    // Nobody left to hear it is fine: then nothing is open.
    let _ = stop.send(true);
    let all_ended = async { while connections.join_next().await.is_some() {} };
    if timeout(limits.stop, all_ended).await.is_err() {
        tracing::warn!(left = connections.len(), "stopped with connections open");
        connections.shutdown().await;
    }
}
