//! The program: see `tornus --help`.

use std::process::ExitCode;

fn main() -> ExitCode {
    ExitCode::from(tornus::cli::run(std::env::args_os()))
}
