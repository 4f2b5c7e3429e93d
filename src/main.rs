//! The `toeline` program: logging, run, say what went wrong, exit code.

use std::io::Write;
use std::process::ExitCode;
use toeline::cli;
use tracing_subscriber::EnvFilter;

fn main() -> ExitCode {
    // Quiet unless asked, e.g. TOELINE_LOG=debug.
    let filter = EnvFilter::try_from_env("TOELINE_LOG").unwrap_or_else(|_| EnvFilter::new("error"));
    tracing_subscriber::fmt()
        .with_env_filter(filter)
        .with_writer(std::io::stderr)
        .init();

    match cli::run(std::env::args_os()) {
        Ok(exit) => exit.into(),
        Err(error) => {
            // Nobody is left to hear of a failure here.
            let _ = std::io::stderr().write_all(error.explain().as_bytes());
            ExitCode::from(error.exit_code())
        }
    }
}
