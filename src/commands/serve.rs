//! `limbledger serve`: opens the data folder and serves the practice in it.

use std::{fs::File, path::Path, sync::Arc};

use anyhow::{Context, bail};

use crate::{
    App, accounts, attachments, backup,
    catalogue::Catalogue,
    checkup,
    clock::{self, Clock},
    config::ServeArgs,
    db::{Db, Log},
    imaging, say,
    serve::{self, CertificateFiles, ServeOptions},
    videos,
};

pub async fn run(args: ServeArgs) -> anyhow::Result<()> {
    let _lock = lock(&args.data)?;
    let log = if args.leave_log { Log::Theirs } else { Log::Ours };
    let app = open(&args.data, log).await?;
    serve_app(app, args).await
}

/// Serves until the program is asked to stop. The address is the first line on stdout.
pub async fn serve_app(mut app: App, args: ServeArgs) -> anyhow::Result<()> {
    let stopped = stopped()?;
    app.tablet_keys.open()?;
    app.second_factors.open()?;
    let heard = imaging::listen::Overrides { address: args.dicom, ae_title: args.ae };
    let mut options = ServeOptions::new(args.data, args.listen, clock::system_timestamp);
    options.host_names = args.name.into_iter().collect();
    options.certificate = args.certificate.zip(args.key).map(|(chain, key)| CertificateFiles { chain, key });
    let bound = serve::bind(options).await?;
    let dicom = imaging::listen::start(&app, heard).await?;
    app.tablets = bound.reach().map(Arc::new);
    say::line(format_args!("listening on {}", bound.url()));
    if let Some(words) = bound.trust_words() {
        say::aside(words);
    }
    if let Some(warning) = bound.warning() {
        say::aside(warning);
    }
    let lookout = imaging::folder::look_out(&app)?;
    let rounds = [checkup::keep(&app), backup::keep(&app)];
    bound.run(crate::router(app.clone()), stopped).await?;
    rounds.iter().for_each(tokio::task::JoinHandle::abort);
    lookout.stop().await;
    dicom.stop().await;
    app.db.close().await;
    Ok(())
}

/// The practice in `data`, ready to be served. A practice that is not set up prints its one-time code.
async fn open(data: &Path, log: Log) -> anyhow::Result<App> {
    if super::place::was_cut_off(data) {
        bail!(
            "the making of a practice in {} was cut off; import or restore again, or empty the folder",
            data.display()
        );
    }
    Catalogue::ready().context("a file of the catalogue is wrong")?;
    let clock = Clock::System;
    let db = Db::open_with(data, clock.now(), log).await?;
    if db.trouble().is_none() {
        attachments::clear_incoming(data)?;
        videos::clear_half(&db, clock.now()).await?;
    }
    let code = if crate::practice::store::is_set_up(db.read()).await? {
        None
    } else {
        let code = accounts::one_time_code()?;
        say::aside(format_args!("Set-up code, asked for once in the browser: {code}"));
        Some(code)
    };
    Ok(App::new(db, clock, accounts::Hasher::new()?, code))
}

/// Makes the data folder and takes its lock: one server a practice.
pub fn lock(data: &Path) -> anyhow::Result<File> {
    std::fs::create_dir_all(data)
        .with_context(|| format!("{} cannot be made; choose another --data", data.display()))?;
    let path = data.join("lock");
    let file = File::create(&path).with_context(|| format!("{} cannot be written", path.display()))?;
    if file.try_lock().is_err() {
        bail!("another limbledger already works on {}; stop it first", data.display());
    }
    Ok(file)
}

/// Listens from here on for being asked to stop; what it returns resolves when that has happened. Whoever has read
/// the address on stdout may ask, so this comes before it is said.
///
/// # Errors
/// The system does not let the program listen.
fn stopped() -> anyhow::Result<impl Future<Output = ()>> {
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        let (mut interrupt, mut terminate) =
            (signal(SignalKind::interrupt())?, signal(SignalKind::terminate())?);
        Ok(async move {
            tokio::select! { _ = interrupt.recv() => {}, _ = terminate.recv() => {} }
        })
    }
    #[cfg(not(unix))]
    Ok(async {
        let _ = tokio::signal::ctrl_c().await;
    })
}
