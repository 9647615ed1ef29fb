//! The accept loop: so many associations at once, each in a task of its own, so that one that falls over touches no
//! other, and a stop that does not wait for ever.

use std::{net::IpAddr, sync::Arc, time::Duration};

use dicom_dictionary_std::uids;
use dicom_ul::{
    Pdu,
    association::server::{AccessControl, DefaultNegotiation, ServerAssociationOptions},
    pdu::{
        AssociationRJ, AssociationRJResult, AssociationRJServiceProviderPresentationReason,
        AssociationRJServiceUserReason, AssociationRJSource, UserIdentity,
    },
};
use tokio::{
    io::{AsyncReadExt, AsyncWriteExt},
    net::{TcpListener, TcpStream},
    sync::{Semaphore, watch},
    task::JoinSet,
    time::{sleep, timeout},
};

use super::{
    line::{Ended, Line},
    serve,
};
use crate::{
    App,
    imaging::{
        equipment::{STORED, SYNTAXES},
        store::settings::{self, Settings},
    },
};

/// Associations at once; a practice has a handful of machines.
const MOST: usize = 48;
/// Callers beyond them that are told so at once; whoever comes after those is hung up on.
const TURNED_AWAY: usize = 16;
/// The largest PDU that is read, in bytes.
const LARGEST_PDU: u32 = 128 * 1024;
/// What is being sent when the listener closes may go on so long.
const LAST_MOMENTS: Duration = Duration::from_secs(5);
/// A caller that says nothing takes somebody's place so long.
const REQUEST: Duration = Duration::from_secs(15);
/// A caller that was refused may stay so long.
const HANG_UP: Duration = Duration::from_secs(2);
/// After a failed accept: time for some associations to end.
const BREATH: Duration = Duration::from_millis(100);

/// What an association works with.
pub(super) struct Desk {
    pub app: App,
    pub ae_title: String,
    /// The largest object, in bytes.
    pub largest: u64,
    /// How long a caller may say nothing, and how long one may stay.
    pub idle: Duration,
    total: Duration,
}

impl Desk {
    pub(super) fn new(app: App, ae_title: String, settings: &Settings) -> Self {
        let unsigned = |n: i64| u64::try_from(n).unwrap_or(1);
        Desk {
            app,
            ae_title,
            largest: unsigned(settings.largest_bytes),
            idle: Duration::from_secs(unsigned(settings.idle_seconds)),
            total: Duration::from_secs(unsigned(settings.total_minutes) * 60),
        }
    }
}

/// Accepts until it is stopped.
pub(super) async fn run(listener: TcpListener, desk: Arc<Desk>, mut stopping: watch::Receiver<bool>) {
    let places = Arc::new(Semaphore::new(MOST));
    let beside = Arc::new(Semaphore::new(TURNED_AWAY));
    let mut associations = JoinSet::new();
    let (stop, stopped) = watch::channel(false);
    loop {
        tokio::select! {
            _ = stopping.changed() => break,
            Some(ended) = associations.join_next() => {
                if let Err(error) = ended {
                    tracing::error!(%error, "a DICOM association ended badly");
                }
            }
            accepted = listener.accept() => match accepted {
                Ok((stream, from)) => {
                    let ip = from.ip().to_canonical();
                    if let Ok(place) = Arc::clone(&places).try_acquire_owned() {
                        let attended = attend(stream, ip, Arc::clone(&desk), stopped.clone());
                        associations.spawn(async move {
                            let _place = place;
                            attended.await;
                        });
                    } else if let Ok(place) = Arc::clone(&beside).try_acquire_owned() {
                        associations.spawn(async move {
                            let _place = place;
                            turn_away(stream).await;
                        });
                    }
                }
                Err(error) => {
                    tracing::warn!(%error, "cannot accept a DICOM caller");
                    sleep(BREATH).await;
                }
            }
        }
    }
    drop(listener);
    let _ = stop.send(true);
    let all_ended = async { while associations.join_next().await.is_some() {} };
    if timeout(LAST_MOMENTS, all_ended).await.is_err() {
        associations.shutdown().await;
    }
}

/// Tells a caller that there is no room just now (PS3.8 9.3.4: transient, local limit exceeded).
async fn turn_away(mut stream: TcpStream) {
    let full = Pdu::AssociationRJ(AssociationRJ {
        result: AssociationRJResult::Transient,
        source: AssociationRJSource::ServiceProviderPresentation(
            AssociationRJServiceProviderPresentationReason::LocalLimitExceeded,
        ),
    });
    let mut answer = Vec::new();
    let told = async {
        // Its request is read first: an answer to what is still under way would be lost with the connection.
        let mut request = [0; 4096];
        if stream.read(&mut request).await? == 0 {
            return Ok(());
        }
        dicom_ul::write_pdu(&mut answer, &full).map_err(std::io::Error::other)?;
        stream.write_all(&answer).await
    };
    if matches!(timeout(HANG_UP, told).await, Ok(Ok(()))) {
        wait_for_hang_up(stream).await;
    }
}

/// After a refusal it is for the caller to hang up (PS3.8 9.2.3, AE-8); for a while, it is waited for.
async fn wait_for_hang_up(mut stream: TcpStream) {
    let mut unread = [0; 4096];
    let gone = async { while stream.read(&mut unread).await.is_ok_and(|n| n > 0) {} };
    // Whoever stays is hung up on.
    let _ = timeout(HANG_UP, gone).await;
}

/// Who may call: on this machine any title, from beyond those of the list, and all only by our own name.
struct Callers {
    any: bool,
    titles: Vec<String>,
}

impl AccessControl for Callers {
    fn check_access(
        &self,
        ours: &str,
        calling: &str,
        called: &str,
        _: Option<&UserIdentity>,
    ) -> Result<(), AssociationRJServiceUserReason> {
        if ours != called.trim() {
            return Err(AssociationRJServiceUserReason::CalledAETitleNotRecognized);
        }
        if !self.any && !self.titles.iter().any(|title| title.trim() == calling.trim()) {
            return Err(AssociationRJServiceUserReason::CallingAETitleNotRecognized);
        }
        Ok(())
    }
}

fn options(desk: &Desk, callers: Callers) -> ServerAssociationOptions<'_, Callers, DefaultNegotiation> {
    let mut options = ServerAssociationOptions::new()
        .ae_access_control(callers)
        .ae_title(desk.ae_title.as_str())
        .max_pdu_length(LARGEST_PDU)
        .read_timeout(desk.idle)
        .write_timeout(desk.idle)
        .with_abstract_syntax(uids::VERIFICATION)
        .with_abstract_syntax(uids::MODALITY_WORKLIST_INFORMATION_MODEL_FIND);
    for class in STORED {
        options = options.with_abstract_syntax(*class);
    }
    for syntax in SYNTAXES {
        options = options.with_transfer_syntax(*syntax);
    }
    options
}

fn twice(stream: TcpStream) -> std::io::Result<(TcpStream, std::net::TcpStream)> {
    let held = stream.into_std()?;
    Ok((TcpStream::from_std(held.try_clone()?)?, held))
}

/// One caller, from its request to its release.
async fn attend(stream: TcpStream, ip: IpAddr, desk: Arc<Desk>, stopping: watch::Receiver<bool>) {
    let titles = match settings::callers(desk.app.db.read()).await {
        Ok(callers) => callers.into_iter().map(|caller| caller.ae_title).collect(),
        Err(error) => {
            tracing::error!(%error, "the list of DICOM callers cannot be read");
            return;
        }
    };
    let options = options(&desk, Callers { any: ip.is_loopback(), titles });
    // A second handle: the line stays open when the first one is gone with a refusal.
    let Ok((stream, held)) = twice(stream) else { return };
    let asked = timeout(desk.idle.min(REQUEST), options.establish_async(stream)).await;
    let association = match asked.map_err(anyhow::Error::from).and_then(|asked| Ok(asked?)) {
        Ok(association) => association,
        Err(error) => {
            tracing::info!(%ip, %error, "a DICOM caller was turned away");
            if let Ok(held) = TcpStream::from_std(held) {
                wait_for_hang_up(held).await;
            }
            return;
        }
    };
    drop(held);
    let mut line = Line::new(association, desk.idle, stopping);
    let ended = match timeout(desk.total, serve::converse(&desk, &mut line)).await {
        Ok(ended) => ended,
        Err(_) => Ended::Lost(anyhow::anyhow!("it stayed too long")),
    };
    match ended {
        Ended::Released | Ended::Aborted => {}
        Ended::Stopping => line.abort().await,
        Ended::Lost(error) => {
            tracing::info!(%ip, error = format!("{error:#}"), "a DICOM association was broken off");
            line.abort().await;
        }
    }
}
