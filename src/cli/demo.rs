//! `tornus demo`: a corpus to try the program on, and its survey.

use super::args::Demo;
use super::failure::Failure;
use super::outcome::Outcome;
use super::survey::survey;
use super::terminal::Terminal;
use crate::demo;
use crate::quantity::Seed;

pub(super) fn run(arguments: &Demo, terminal: &Terminal) -> Result<Outcome, Failure> {
    let corpus = arguments.out.join("corpus");
    let plan = demo::plan(arguments.vessels, Seed::new(arguments.seed))?;
    let study = demo::write(&plan, &corpus)?;
    survey(&study, &arguments.out.join("results"), false, false, *terminal)
}
