//! The whole router, driven in process: a file a feature, and the table of who may open what.
#![expect(
    clippy::unwrap_used,
    clippy::panic,
    clippy::float_cmp,
    unreachable_pub,
    reason = "a test fails by panicking, and what is stored is stored exactly"
)]

mod access;
mod addenda;
mod archive;
mod assessment;
mod asvs;
mod away;
mod backups;
mod biosecurity;
mod bytes;
mod calendars;
mod call;
mod care;
mod charges;
mod clearing;
mod clients;
mod competition;
mod contacts;
mod day;
mod diagnostics;
mod diagnostics_results;
mod diagnostics_sets;
mod door;
mod exam;
mod exports;
mod fhir;
mod followups;
mod forms;
mod history;
mod horses;
mod imaging;
mod imaging_back;
mod imports;
mod letters;
mod line;
mod log;
mod marked;
mod measuring;
mod merging;
mod movement;
mod one_use_code;
mod passwords;
mod paths;
mod photos;
mod picks;
mod practice;
mod prefer;
mod procedures;
mod programmes;
mod record;
mod report;
mod retention;
mod rota;
mod rounds;
mod samples;
mod scintigraphy;
mod scripts;
mod search;
mod second_factor;
mod sessions;
mod set_up;
mod signing;
mod signing_in;
mod sources;
mod stops;
mod support;
mod tablet;
mod tablets;
mod triage;
mod uploads;
mod videos;
mod visits;
mod weights;
mod workup;
