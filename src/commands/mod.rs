//! What the command line can do, a file a command.

pub mod serve;

use crate::config::{Command, Config};

/// Runs one command to its end.
pub async fn run(config: Config) -> anyhow::Result<()> {
    match config.command {
        None => serve::run(Default::default()).await,
        Some(Command::Serve(args)) => serve::run(args).await,
    }
}
