//! `tornus demo`: a corpus to try the program on, and its survey.

use std::fs;
use std::path::{Path, PathBuf};

use super::args::Demo;
use super::failure::Failure;
use super::outcome::Outcome;
use super::survey::survey;
use super::terminal::Terminal;
use crate::demo;
use crate::quantity::Seed;
use crate::store::write_atomic;

/// The file beside a demo corpus that says what was asked for; written last, so that a corpus with it is whole.
const RECEIPT: &str = "demo.txt";

pub(super) fn run(arguments: &Demo, terminal: &Terminal) -> Result<Outcome, Failure> {
    let corpus = arguments.out.join("corpus");
    let asked =
        format!("tornus {}, {} vessels, seed {}\n", env!("CARGO_PKG_VERSION"), arguments.vessels, arguments.seed);
    let study = corpus.join("study.toml");
    let there = fs::read_to_string(corpus.join(RECEIPT)).is_ok_and(|made| made == asked) && study.exists();
    let study = if there { study } else { make(arguments, &corpus, &asked, *terminal)? };
    survey(&study, &arguments.out.join("results"), false, false, *terminal)
}

fn make(arguments: &Demo, corpus: &Path, asked: &str, terminal: Terminal) -> Result<PathBuf, Failure> {
    let plan = demo::plan(arguments.vessels, Seed::new(arguments.seed))?;
    let progress = terminal.progress(arguments.vessels, "making");
    let study = demo::write(&plan, corpus, &|done, of| {
        progress.set_length(of as u64);
        progress.set_position(done as u64);
    })?;
    progress.finish_and_clear();
    write_atomic(&corpus.join(RECEIPT), asked.as_bytes())?;
    Ok(study)
}
