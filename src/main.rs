//! The `toeline` program: logging, run, print the error chain, exit code.

use std::error::Error;
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
            complain(&error);
            ExitCode::from(error.exit_code())
        }
    }
}

/// The error and its causes on standard error; nobody hears of a failure there.
fn complain(error: &cli::CliError) {
    let mut err = std::io::stderr().lock();
    // The argument parser words its own errors, "error:" included.
    let head = match error {
        cli::CliError::Arguments(_) => "",
        _ => "error: ",
    };
    let _ = writeln!(err, "{head}{error}");
    let mut cause = error.source();
    while let Some(error) = cause {
        let _ = writeln!(err, "  because: {error}");
        cause = error.source();
    }
}
