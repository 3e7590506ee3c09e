//! `tornus completions`: what a shell needs to complete a command line.

use clap::CommandFactory;

use super::args::{Arguments, Completions};
use super::failure::Failure;
use super::outcome::Outcome;
use super::terminal::Terminal;

pub(super) fn run(arguments: &Completions, _terminal: &Terminal) -> Result<Outcome, Failure> {
    let mut script = Vec::new();
    clap_complete::generate(arguments.shell, &mut Arguments::command(), "tornus", &mut script);
    Terminal::print(&String::from_utf8_lossy(&script));
    Ok(Outcome::DONE)
}
