//! Limbledger: case management for an equine practice, from the call about a lame horse to its recheck.
//!
//! The tour, from the door to the cellar:
//! - [`commands`], [`config`], [`serve`]: the command line, and how the server is reached.
//! - [`web`]: what every page shares: errors, forms, the shell, assets, headers.
//! - [`exam`]: the examination, place by place.
//! - [`accounts`]: who is signed in, and who may do what.
//! - [`practice`]: the practice's own row and its first-run page.
//! - [`rota`]: who is called first and who backs up; [`biosecurity`]: whom others are kept safe from.
//! - [`rounds`]: the vets' hours, roads and routes, and where a visit fits into their days.
//! - [`record`]: the medical record that only grows, and its chain.
//! - [`body`]: the mark of a place, and the plan of the horse.
//! - [`catalogue`], [`reasoning`]: what the trade knows, and what follows from it.
//! - [`history`]: what was ever found at each place of a horse, and what to look at again.
//! - [`photos`], [`videos`]: photos of a visit, videos of gait; [`about`]: what either shows.
//! - [`diagnostics`]: what was ordered, taken, reported and told.
//! - [`care`]: doses with their warnings, what was given, and its papers.
//! - [`formulary`]: medicines and doses, each confirmed by a veterinarian before it is used.
//! - [`competition`]: from when a treated horse may compete, by the rules that the practice keeps.
//! - [`retention`]: how long a record is kept, what holds it, and copies of it.
//! - [`stock`]: the register of controlled drugs.
//! - [`charges`]: what a visit is charged, handed over to whoever keeps the accounts.
//! - [`samples`]: samples for the laboratory, from the suspicion to the sheet that goes with them.
//! - [`imaging`]: what the practice's own equipment sends.
//! - [`scintigraphy`]: a bone scan, from the injection to the release.
//! - [`imports`], [`exports`], [`audit`]: coming from somewhere else, taking everything along, and the trace of both.
//! - [`fhir`]: a horse and everything of it for other people's programs.
//! - [`merging`]: two rows that are one client or one horse.
//! - [`calendars`], [`contacts`]: a vet's visits in a calendar; every word with a client, and what is to be told.
//! - [`programmes`]: the way back to work, its gates and what the yard tells.
//! - [`procedures`]: farriery and joint treatments, as sheets of a visit.
//! - [`letters`]: papers in words of the practice's own, filled from the record.
//! - [`attachments`]: files named by what is in them.
//! - [`workup`]: blocks on a clock, and the reasoning over them in the open.
//! - [`papers`]: an entry as a sentence, and the visit's report; [`pdf`]: any paper as a file to send.
//! - [`away`]: a vet's day taken along, and visits begun out of reach.
//! - [`tablet`]: the keys of what waits on a tablet; [`sealing`]: secrets at rest.
//! - [`checkup`], [`backup`]: whether all is as it was written; copies of everything, and the practice made of one again.
//! - [`db`], [`ids`], [`clock`], [`scratch`]: the file, the names of rows, the time.

pub mod about;
pub mod accounts;
pub mod archive;
pub mod attachments;
pub mod audit;
pub mod away;
pub mod backup;
pub mod biosecurity;
pub mod body;
pub mod calendars;
pub mod care;
pub mod catalogue;
pub mod charges;
pub mod checkup;
pub mod clients;
pub mod clock;
pub mod commands;
pub mod competition;
pub mod config;
pub mod contacts;
pub mod db;
pub mod demo;
pub mod diagnostics;
pub mod exam;
pub mod exports;
pub mod fhir;
pub mod followups;
pub mod formulary;
pub mod history;
pub mod horses;
pub mod ids;
pub mod imaging;
pub mod imports;
pub mod letters;
pub mod merging;
pub mod papers;
pub mod pdf;
pub mod photos;
pub mod plan;
pub mod practice;
pub mod procedures;
pub mod programmes;
pub mod reasoning;
pub mod record;
pub mod retention;
pub mod rota;
pub mod rounds;
pub mod samples;
pub mod say;
pub mod scintigraphy;
pub mod scratch;
pub mod sealing;
pub mod search;
pub mod serve;
pub mod stock;
pub mod tablet;
pub mod videos;
pub mod visits;
pub mod web;
pub mod workup;

use std::sync::{
    Arc,
    atomic::{AtomicBool, Ordering},
};

use axum::{Router, extract::State, http::StatusCode, middleware, routing::get};

use crate::{
    accounts::{Hasher, Throttle},
    clock::Clock,
    db::Db,
};

/// What the handlers work with.
#[derive(Clone)]
pub struct App {
    pub db: Db,
    pub clock: Clock,
    pub hasher: Hasher,
    pub throttle: Arc<Throttle>,
    /// What the set-up page asks for; `None` when nobody may set up.
    pub set_up_code: Option<Arc<str>>,
    /// How tablets reach this server; `None` when it is served to this machine alone.
    pub tablets: Option<Arc<serve::Reach>>,
    /// The line reader, with the practice's own words.
    pub ear: Arc<practice::words::Ear>,
    /// The numbers of the reasoning, with the practice's own.
    pub weighing: Arc<practice::weights::Weighing>,
    /// Wraps the keys of what waits on tablets.
    pub tablet_keys: Arc<tablet::Keeper>,
    /// Seals the secrets of second factors.
    pub second_factors: Arc<sealing::Sealer>,
    /// Where equipment calls, and whether it can just now.
    pub dicom: Arc<imaging::listen::Switch>,
    /// Imports that are being entered just now.
    pub imports: Arc<imports::Runs>,
    /// The copy of the practice that is being made just now.
    pub backups: Arc<backup::Running>,
    set_up: Arc<AtomicBool>,
}

impl App {
    pub fn new(db: Db, clock: Clock, hasher: Hasher, set_up_code: Option<String>) -> Self {
        let set_up_code = set_up_code.map(Arc::from);
        let tablet_keys = Arc::new(tablet::Keeper::new(db.folder()));
        let second_factors =
            sealing::Sealer::new(db.folder(), accounts::factor::FILE, accounts::factor::SEALED);
        App {
            db,
            clock,
            hasher,
            throttle: Arc::default(),
            set_up_code,
            tablets: None,
            ear: Arc::default(),
            weighing: Arc::default(),
            tablet_keys,
            second_factors: Arc::new(second_factors),
            dicom: Arc::default(),
            imports: Arc::default(),
            backups: Arc::default(),
            set_up: Arc::default(),
        }
    }

    /// Whether the practice exists; asked of the database only until it does.
    pub async fn is_set_up(&self) -> sqlx::Result<bool> {
        if self.set_up.load(Ordering::Relaxed) {
            return Ok(true);
        }
        let is = practice::store::is_set_up(self.db.read()).await?;
        self.set_up.store(is, Ordering::Relaxed);
        Ok(is)
    }
}

/// All pages, closed by default: what is not in `public` stands behind the guard.
pub fn router(app: App) -> Router {
    let public = Router::new()
        .route("/healthz", get(healthz))
        .merge(accounts::public())
        .merge(practice::public())
        .merge(tablet::public())
        .merge(away::public())
        .merge(calendars::public())
        .merge(exam::public())
        .merge(web::assets::router());
    let inside = accounts::router()
        .merge(audit::router())
        .merge(away::router())
        .merge(backup::router())
        .merge(biosecurity::router())
        .merge(calendars::router())
        .merge(care::router())
        .merge(charges::router())
        .merge(clients::router())
        .merge(competition::router())
        .merge(contacts::router())
        .merge(diagnostics::router())
        .merge(exam::router())
        .merge(exports::router())
        .merge(fhir::router())
        .merge(followups::router())
        .merge(formulary::router())
        .merge(horses::router())
        .merge(imaging::router())
        .merge(imports::router())
        .merge(letters::router())
        .merge(merging::router())
        .merge(plan::router())
        .merge(scintigraphy::router())
        .merge(samples::router())
        .merge(search::router())
        .merge(stock::router())
        .merge(tablet::router())
        .merge(visits::router())
        .merge(practice::router())
        .merge(procedures::router())
        .merge(programmes::router())
        .merge(retention::router())
        .merge(rota::router())
        .merge(rounds::router())
        .merge(history::router())
        .merge(papers::router())
        .merge(photos::router())
        .merge(videos::router())
        .merge(workup::router())
        .fallback(|| async { web::Error::NotFound })
        .layer(middleware::from_fn_with_state(app.clone(), merging::lead_on))
        .layer(middleware::from_fn_with_state(app.clone(), accounts::guard));
    web::layers(public.merge(inside).with_state(app))
}

/// `ok` when the store can be read and a write could begin.
async fn healthz(State(app): State<App>) -> (StatusCode, &'static str) {
    let readable = app.is_set_up().await.is_ok();
    if readable && app.db.could_write().await {
        (StatusCode::OK, "ok")
    } else {
        (StatusCode::SERVICE_UNAVAILABLE, "the store cannot be written")
    }
}
