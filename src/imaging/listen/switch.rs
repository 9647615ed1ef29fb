//! Opens and closes the listener while the program runs: its settings are a page, and a page that is saved takes effect
//! at once.

use std::{
    net::SocketAddr,
    sync::{Arc, Mutex, PoisonError},
    time::Duration,
};

use anyhow::{Context, ensure};
use tokio::{
    net::TcpListener,
    sync::{mpsc, oneshot, watch},
    task::JoinHandle,
    time::timeout,
};

use super::desk::{self, Desk};
use crate::{
    App,
    imaging::{equipment, store::settings},
    say,
    serve::is_near,
};

/// A page waits so long for the listener to open anew.
const PATIENCE: Duration = Duration::from_secs(8);

/// What the command line says in place of the settings.
#[derive(Debug, Clone, Default)]
pub struct Overrides {
    pub address: Option<SocketAddr>,
    pub ae_title: Option<String>,
}

/// Whether equipment can call just now.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub enum State {
    #[default]
    Off,
    Listening {
        address: SocketAddr,
        ae_title: String,
    },
    /// It should listen, and this is why it does not.
    Failed(String),
}

/// Where pages see the listener's state and ask it to open anew.
#[derive(Debug, Default)]
pub struct Switch {
    state: Mutex<State>,
    asks: Mutex<Option<mpsc::Sender<oneshot::Sender<()>>>>,
}

impl Switch {
    pub fn state(&self) -> State {
        self.state.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    fn set(&self, state: State) {
        *self.state.lock().unwrap_or_else(PoisonError::into_inner) = state;
    }

    /// Closes the listener and opens it as the settings say by now. Nothing happens where none is run.
    pub async fn reopen(&self) {
        let asks = self.asks.lock().unwrap_or_else(PoisonError::into_inner).clone();
        let Some(asks) = asks else { return };
        let (done, opened) = oneshot::channel();
        if asks.send(done).await.is_ok() {
            // Whoever waits too long sees the state as it is by then.
            let _ = timeout(PATIENCE, opened).await;
        }
    }
}

/// A listener in the background, open or not.
pub struct Listener {
    stop: watch::Sender<bool>,
    work: JoinHandle<()>,
}

impl Listener {
    /// Closes it, and gives what is being sent a bounded time to end.
    pub async fn stop(self) {
        // Nobody left to hear it is fine: then it has ended.
        let _ = self.stop.send(true);
        let _ = self.work.await;
    }
}

/// Opens the listener if the command line or the settings say so, and keeps it as the settings say.
///
/// # Errors
/// The command line names an address that cannot be had. One of the settings is told on their page instead: the
/// practice must be served even so.
pub async fn start(app: &App, overrides: Overrides) -> anyhow::Result<Listener> {
    let opened = open(app, &overrides).await;
    let door = if overrides.address.is_some() { opened? } else { opened.unwrap_or_default() };
    let (asks, asked) = mpsc::channel(1);
    *app.dicom.asks.lock().unwrap_or_else(PoisonError::into_inner) = Some(asks);
    let (stop, stopping) = watch::channel(false);
    let work = tokio::spawn(keep(app.clone(), overrides, door, asked, stopping));
    Ok(Listener { stop, work })
}

/// An accept loop and how to stop it.
struct Door {
    stop: watch::Sender<bool>,
    work: JoinHandle<()>,
}

impl Door {
    async fn close(self) {
        let _ = self.stop.send(true);
        let _ = self.work.await;
    }
}

async fn keep(
    app: App,
    overrides: Overrides,
    mut door: Option<Door>,
    mut asked: mpsc::Receiver<oneshot::Sender<()>>,
    mut stopping: watch::Receiver<bool>,
) {
    loop {
        tokio::select! {
            _ = stopping.changed() => break,
            Some(done) = asked.recv() => {
                if let Some(door) = door.take() {
                    door.close().await;
                }
                door = open(&app, &overrides).await.unwrap_or_default();
                let _ = done.send(());
            }
        }
    }
    if let Some(door) = door {
        door.close().await;
    }
}

/// Takes the address, if equipment is to be listened to, and says so.
async fn open(app: &App, overrides: &Overrides) -> anyhow::Result<Option<Door>> {
    let opened = try_open(app, overrides).await;
    if let Err(error) = &opened {
        say::aside(format_args!("DICOM is not listened to: {error:#}"));
        app.dicom.set(State::Failed(format!("{error:#}")));
    }
    opened
}

async fn try_open(app: &App, overrides: &Overrides) -> anyhow::Result<Option<Door>> {
    let settings = settings::get(app.db.read()).await?;
    if !settings.enabled && overrides.address.is_none() {
        app.dicom.set(State::Off);
        return Ok(None);
    }
    let address = match overrides.address {
        Some(address) => address,
        None => settings.address.parse().context("its address cannot be read")?,
    };
    let ip = address.ip().to_canonical();
    ensure!(ip.is_unspecified() || is_near(&ip), "{ip} is not an address of a private network");
    let ae_title = overrides.ae_title.clone().unwrap_or_else(|| settings.ae_title.clone());
    ensure!(equipment::is_title(&ae_title), "{ae_title:?} is no AE title: 16 plain characters at most");
    let listener =
        TcpListener::bind(address).await.with_context(|| format!("{address} cannot be listened on"))?;
    let address = listener.local_addr()?;
    say::aside(format_args!("DICOM: listening on {address} as {ae_title}"));
    app.dicom.set(State::Listening { address, ae_title: ae_title.clone() });
    let desk = Arc::new(Desk::new(app.clone(), ae_title.trim().to_owned(), &settings));
    let (stop, stopping) = watch::channel(false);
    let work = tokio::spawn(desk::run(listener, desk, stopping));
    Ok(Some(Door { stop, work }))
}
