//! Parses the command line and runs one command.

use std::process::ExitCode;

use limbledger::{commands, config::Config, say};

fn main() -> ExitCode {
    let config = Config::read();
    tracing_subscriber::fmt()
        .with_env_filter(
            tracing_subscriber::EnvFilter::try_from_default_env().unwrap_or_else(|_| "warn,door=info".into()),
        )
        .with_writer(std::io::stderr)
        .init();
    let done =
        tokio::runtime::Runtime::new().map_err(Into::into).and_then(|rt| rt.block_on(commands::run(config)));
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            say::aside(format_args!("limbledger: {error:#}"));
            ExitCode::FAILURE
        }
    }
}
