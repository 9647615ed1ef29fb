//! The command line, and the environment variables that stand in for it.

use std::{net::SocketAddr, path::PathBuf};

use clap::{Args, Parser, Subcommand};

/// Case management for an equine practice: one program, one data folder, no internet.
#[derive(Debug, Parser)]
#[command(version, about)]
pub struct Config {
    #[command(subcommand)]
    pub command: Option<Command>,
}

#[derive(Debug, Subcommand)]
pub enum Command {
    /// Serve the practice in a data folder; the first run is set up in the browser.
    Serve(ServeArgs),
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
    /// The server's name on the LAN, without `.local`.
    #[arg(long, value_name = "NAME", default_value = "limbledger", env = "LIMBLEDGER_NAME")]
    pub name: String,
}

impl Default for ServeArgs {
    fn default() -> Self {
        ServeArgs {
            data: "practice-data".into(),
            listen: ([127, 0, 0, 1], 7420).into(),
            name: "limbledger".into(),
        }
    }
}
