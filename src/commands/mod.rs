//! What the command line can do, a file a command.

pub mod backup;
mod bar;
pub mod check;
pub mod compute;
pub mod demo;
pub mod export;
pub mod import;
pub mod localise;
mod place;
pub mod read_line;
pub mod restore;
pub mod serve;
pub mod staff;

use crate::config::{Command, Config, ExportCommand, ImportCommand, ServeArgs, StaffCommand};

/// Runs one command to its end.
pub async fn run(config: Config) -> anyhow::Result<()> {
    match config.command {
        None => serve::run(ServeArgs::default()).await,
        Some(Command::Serve(args)) => serve::run(args).await,
        Some(Command::Demo(args)) => demo::run(args).await,
        Some(Command::Backup(args)) => backup::run(args).await,
        Some(Command::Restore(args)) => restore::run(args).await,
        Some(Command::Check(args)) => check::run(args).await,
        Some(Command::ReadLine) => read_line::run(),
        Some(Command::Localise) => localise::run(),
        Some(Command::Compute(calculator)) => compute::run(&calculator),
        Some(Command::Staff(StaffCommand::Add(args))) => staff::add(args).await,
        Some(Command::Staff(StaffCommand::Code(args))) => staff::code(args).await,
        Some(Command::Staff(StaffCommand::FactorOff(args))) => staff::factor_off(args).await,
        Some(Command::Export(ExportCommand::Archive(args))) => export::archive(args).await,
        Some(Command::Import(ImportCommand::Archive(args))) => import::archive(args).await,
    }
}
