//! `tornus demo`: a corpus to try the program on, and its survey.

use super::args::Demo;
use super::failure::Failure;
use super::outcome::Outcome;
use super::survey::survey;
use super::terminal::Terminal;
use crate::demo;
use crate::quantity::Seed;

pub(super) fn run(arguments: &Demo, terminal: &Terminal) -> Result<Outcome, Failure> {
    let plan = demo::plan(arguments.vessels, Seed::new(arguments.seed))?;
    let progress = terminal.progress(arguments.vessels, "making");
    let study = demo::write(&plan, &arguments.out.join("corpus"), &|done, of| {
        progress.set_length(of as u64);
        progress.set_position(done as u64);
    })?;
    progress.finish_and_clear();
    survey(&study, &arguments.out.join("results"), false, false, *terminal)
}
