//! The command line: what was typed, what it means, a straight run, and an exit status that says how it went.
//!
//! - [`run`]: one invocation of the program
//!
//! The only place that prints, reads the clock, catches a panic or decides an exit status.

mod args;
mod check;
mod compare;
mod completions;
mod corpus;
mod decisions;
mod demo;
mod describe;
mod failure;
mod gather;
mod outcome;
mod publish;
mod reduce;
mod reduce_drawn;
mod reduce_scan;
mod reduce_scans;
mod report;
mod results;
mod screen;
mod stages;
mod summary;
mod survey;
mod terminal;

use std::ffi::OsString;

use clap::Parser;
use clap::error::ErrorKind;

use args::{Arguments, Command};
use failure::Failure;
use outcome::{Outcome, exit_status};
use terminal::Terminal;

/// Runs the program with these arguments, the first being its own name, and returns the exit status: 0 all done, 1 done but
/// some scans were rejected, 2 nothing done.
#[must_use]
pub fn run(arguments: impl IntoIterator<Item = OsString>) -> u8 {
    let arguments = match Arguments::try_parse_from(arguments) {
        Ok(arguments) => arguments,
        Err(message) => {
            let asked = matches!(message.kind(), ErrorKind::DisplayHelp | ErrorKind::DisplayVersion);
            let _printed = message.print(); // nothing is left to tell if even this fails
            return if asked { 0 } else { 2 };
        }
    };
    let terminal = Terminal::new(arguments.quiet, arguments.json);
    let outcome = set_threads(arguments.threads).and_then(|()| dispatch(arguments, &terminal));
    if let Err(failure) = &outcome {
        terminal.failure(failure);
    }
    exit_status(&outcome)
}

fn dispatch(arguments: Arguments, terminal: &Terminal) -> Result<Outcome, Failure> {
    match arguments.command {
        Command::Demo(demo) => demo::run(&demo, terminal),
        Command::Survey(survey) => survey::run(&survey, terminal),
        Command::Reduce(reduce) => reduce::run(&reduce, terminal),
        Command::Gather(gather) => gather::run(&gather, terminal),
        Command::Compare(compare) => compare::run(&compare, terminal),
        Command::Screen(screen) => screen::run(&screen, terminal),
        Command::Shortlist(shortlist) => decisions::run_shortlist(&shortlist, terminal),
        Command::Proportions(proportions) => decisions::run_proportions(&proportions, terminal),
        Command::Report(report) => report::run(&report, terminal),
        Command::Check(check) => check::run(&check, terminal),
        Command::Describe(describe) => describe::run(&describe, terminal),
        Command::Completions(completions) => completions::run(&completions, terminal),
    }
}

/// How many threads compute; without a wish, one per processor.
fn set_threads(wanted: Option<usize>) -> Result<(), Failure> {
    if wanted == Some(0) {
        return Err(Failure::new("number of threads must be at least 1: 0"));
    }
    // A pool made earlier in this process stays: results never depend on it.
    let _made = rayon::ThreadPoolBuilder::new().num_threads(wanted.unwrap_or(0)).build_global();
    Ok(())
}
