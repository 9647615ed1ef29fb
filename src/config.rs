//! The command line, and the environment variables that stand in for it.

use std::{net::SocketAddr, path::PathBuf};

use clap::{Args, CommandFactory, FromArgMatches, Parser, Subcommand};

use crate::{accounts::Role, ids::HorseId};

/// Case management for an equine practice: one program, one data folder, no internet.
#[derive(Debug, Parser)]
#[command(version, about)]
pub struct Config {
    #[command(subcommand)]
    pub command: Option<Command>,
}

impl Config {
    /// What the command line says; wrong usage ends the program. The help of `localise` and of the calculators names
    /// what the catalogue holds, which is read for nobody else.
    pub fn read() -> Self {
        let helped = |localise: clap::Command| localise.after_help(crate::commands::localise::help());
        let command = Self::command()
            .mut_subcommand("localise", |localise| localise.defer(helped))
            .mut_subcommand("compute", |compute| compute.mut_subcommands(with_members));
        Self::from_arg_matches(&command.get_matches()).unwrap_or_else(|wrong| wrong.exit())
    }
}

/// A calculator whose help names its members.
fn with_members(calculator: clap::Command) -> clap::Command {
    calculator.defer(|calculator| {
        let members = crate::commands::compute::help(calculator.get_name());
        calculator.after_help(members)
    })
}

#[derive(Debug, Subcommand)]
pub enum Command {
    /// Serve the practice in a data folder; the first run is set up in the browser.
    Serve(ServeArgs),
    /// Fill an empty folder with an invented practice and serve it.
    Demo(DemoArgs),
    /// Copy the practice to one file, tried before it counts; a server may run meanwhile.
    Backup(BackupArgs),
    /// Make the practice of a backup, in a folder that holds none; the recovery passphrase is the first line of stdin.
    Restore(RestoreArgs),
    /// Look over database, record, audit and files, and say what is wrong and where; a server may run meanwhile.
    Check(CheckArgs),
    /// Read an examination, one line of speech or shorthand a line, as JSON.
    ReadLine,
    /// Reason over the diagnostic blocks of one limb: a work-up as JSON in, the reasoning as JSON out.
    Localise,
    /// One calculator: its members as JSON in, what follows from them as JSON out; each has a --help of its own.
    #[command(subcommand)]
    Compute(Calculator),
    /// Accounts from the shell.
    #[command(subcommand)]
    Staff(StaffCommand),
    /// Take the practice's data along.
    #[command(subcommand)]
    Export(ExportCommand),
    /// Make a practice out of data that were taken along.
    #[command(subcommand)]
    Import(ImportCommand),
}

/// What is copied, and where to.
#[derive(Debug, Clone, Args)]
pub struct BackupArgs {
    /// The file to write; it must not be there yet.
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// The data folder of the practice.
    #[arg(long, value_name = "DIR", default_value = "practice-data", env = "LIMBLEDGER_DATA")]
    pub data: PathBuf,
}

/// Which backup, and where to.
#[derive(Debug, Clone, Args)]
pub struct RestoreArgs {
    /// The backup.
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// The folder to make the practice in, empty or not there yet.
    #[arg(long, value_name = "DIR")]
    pub data: PathBuf,
}

/// What is looked over.
#[derive(Debug, Clone, Args)]
pub struct CheckArgs {
    /// The data folder of the practice.
    #[arg(long, value_name = "DIR", default_value = "practice-data", env = "LIMBLEDGER_DATA")]
    pub data: PathBuf,
}

#[derive(Debug, Subcommand)]
pub enum ExportCommand {
    /// Everything, or the record of one horse, as one zip that a stranger can read; a server may run meanwhile.
    Archive(ExportArchiveArgs),
}

#[derive(Debug, Subcommand)]
pub enum ImportCommand {
    /// The practice of an archive, row by row as it was, into a folder that holds none.
    Archive(ImportArchiveArgs),
}

/// What is taken along, and where to.
#[derive(Debug, Clone, Args)]
pub struct ExportArchiveArgs {
    /// The file to write; it must not be there yet.
    #[arg(long, value_name = "FILE.zip")]
    pub to: PathBuf,
    /// The data folder of the practice.
    #[arg(long, value_name = "DIR", default_value = "practice-data", env = "LIMBLEDGER_DATA")]
    pub data: PathBuf,
    /// Only what belongs to this horse, since it came to its present owner.
    #[arg(long, value_name = "ID")]
    pub horse: Option<HorseId>,
    /// Of a horse, also what was recorded for its former owners; says why.
    #[arg(long, value_name = "REASON", requires = "horse", value_parser = clap::builder::NonEmptyStringValueParser::new())]
    pub whole: Option<String>,
}

/// What is brought in, and where to.
#[derive(Debug, Clone, Args)]
pub struct ImportArchiveArgs {
    /// The archive.
    #[arg(value_name = "FILE.zip")]
    pub file: PathBuf,
    /// The folder to make the practice in, empty or not there yet.
    #[arg(long, value_name = "DIR")]
    pub data: PathBuf,
    /// Look at everything and write nothing.
    #[arg(long)]
    pub dry_run: bool,
}

#[derive(Debug, Subcommand)]
pub enum Calculator {
    /// What is left of an activity after some hours.
    Decay,
    /// Angles and distances of a foot from points on its radiograph.
    Hoof,
    /// A tendon's lesion by zone, its class and its volume.
    Tendon,
    /// The days of a programme for the way back to work.
    Programme,
    /// How soon a horse has to be seen, from the answers of a call.
    Triage,
    /// How far it is from place to place, and how long the drive takes.
    #[command(alias = "travel")]
    Distance,
    /// The best starts for a visit in the days of the vets.
    Slots,
    /// The order in which a day's stops are driven best.
    Route,
    /// A horse's weight from a measuring tape.
    Weight,
    /// A dose by weight, as milligrams and millilitres, with what to be careful about.
    Dose,
    /// From when a treated horse may compete, by rules that are handed in.
    Competition,
}

#[derive(Debug, Subcommand)]
pub enum StaffCommand {
    /// Add an account; the password is the first line of stdin, or a code is made and printed.
    Add(StaffAddArgs),
    /// Print a code that opens an account once, for somebody without a password.
    Code(StaffNameArgs),
    /// Take the second factor from an account whose device is lost, and sign it out everywhere.
    FactorOff(StaffNameArgs),
}

/// Whose account, and of which practice.
#[derive(Debug, Clone, Args)]
pub struct StaffNameArgs {
    /// The name that they sign in with.
    #[arg(value_name = "NAME")]
    pub name: String,
    /// The data folder of the practice.
    #[arg(long, value_name = "DIR", default_value = "practice-data", env = "LIMBLEDGER_DATA")]
    pub data: PathBuf,
}

/// Who is added, and to which practice.
#[derive(Debug, Clone, Args)]
pub struct StaffAddArgs {
    /// The name to sign in with.
    #[arg(value_name = "NAME")]
    pub name: String,
    /// owner, vet, technician or desk.
    #[arg(long, value_name = "ROLE", value_parser = crate::commands::staff::role)]
    pub role: Role,
    /// An owner who is a licensed veterinarian; a vet is one in any case.
    #[arg(long)]
    pub licensed: bool,
    /// The data folder of the practice.
    #[arg(long, value_name = "DIR", default_value = "practice-data", env = "LIMBLEDGER_DATA")]
    pub data: PathBuf,
}

/// Where the invented practice is put and how much of a past it gets.
#[derive(Debug, Clone, Args)]
pub struct DemoArgs {
    /// The folder to fill, empty or not there yet; without it a fresh one among the temporary files.
    #[arg(long, value_name = "DIR")]
    pub data: Option<PathBuf>,
    /// The address to serve on; port 0 picks one. Beyond this machine it is HTTPS.
    #[arg(long, value_name = "ADDR", default_value = "127.0.0.1:7420", env = "LIMBLEDGER_LISTEN")]
    pub listen: SocketAddr,
    /// Years of history.
    #[arg(long, value_name = "N", default_value_t = 3, value_parser = clap::value_parser!(i64).range(1..=30))]
    pub years: i64,
    /// Fill and stop.
    #[arg(long)]
    pub fill_only: bool,
}

/// Where the practice lies and where it is served.
#[derive(Debug, Clone, Args)]
pub struct ServeArgs {
    /// The data folder; made if it is not there.
    #[arg(long, value_name = "DIR", default_value = "practice-data", env = "LIMBLEDGER_DATA")]
    pub data: PathBuf,
    /// The address to serve on; port 0 picks one. Beyond this machine it is HTTPS.
    #[arg(long, value_name = "ADDR", default_value = "127.0.0.1:7420", env = "LIMBLEDGER_LISTEN")]
    pub listen: SocketAddr,
    /// The server's name on the LAN, without `.local`; left out it is the name this practice's tablets know
    /// already, and `limbledger` at the first start.
    #[arg(long, value_name = "NAME", env = "LIMBLEDGER_NAME")]
    pub name: Option<String>,
    /// A certificate of the practice's own with those of its issuers, in PEM; left out it is DATA/certificate/chain.pem,
    /// if that is there.
    #[arg(long, value_name = "FILE", requires = "key")]
    pub certificate: Option<PathBuf>,
    /// The private key of that certificate, in PEM.
    #[arg(long, value_name = "FILE", requires = "certificate")]
    pub key: Option<PathBuf>,
    /// Listen for DICOM on this address, whatever the practice's settings say; port 0 picks one.
    #[arg(long, value_name = "ADDR", env = "LIMBLEDGER_DICOM")]
    pub dicom: Option<SocketAddr>,
    /// The AE title that equipment calls us by, in place of the one of the settings.
    #[arg(long, value_name = "TITLE", env = "LIMBLEDGER_AE")]
    pub ae: Option<String>,
    /// Leave the write-ahead log to a program that copies it to a second disk and folds it into the database.
    #[arg(long, env = "LIMBLEDGER_LEAVE_LOG")]
    pub leave_log: bool,
}

impl Default for ServeArgs {
    fn default() -> Self {
        ServeArgs {
            data: "practice-data".into(),
            listen: ([127, 0, 0, 1], 7420).into(),
            name: None,
            certificate: None,
            key: None,
            dicom: None,
            ae: None,
            leave_log: false,
        }
    }
}
