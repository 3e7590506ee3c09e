//! What can be typed.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand};
use clap_complete::Shell;

use crate::analysis::Groups;
use crate::analysis::form::FormChoice;
use crate::quantity::LengthUnit;

/// Compares vessels of revolution from 3D scans: axis, profile, roundness, deviations, form and precision groups.
#[derive(Debug, Parser)]
#[command(name = "tornus", version, about, long_about = None, max_term_width = 100)]
#[command(after_help = "Exit status: 0 all done; 1 done, but some scans were rejected; 2 nothing done.\n\n\
    Start here:\n  tornus demo\n  tornus check study.toml\n  tornus survey study.toml")]
pub(super) struct Arguments {
    #[command(subcommand)]
    pub(super) command: Command,
    /// Print a machine-readable summary (JSON) instead of words
    #[arg(long, global = true)]
    pub(super) json: bool,
    /// Threads to compute with [default: one per processor]; never changes a result
    #[arg(long, global = true, value_name = "N")]
    pub(super) threads: Option<usize>,
    /// Print errors only
    #[arg(long, short, global = true)]
    pub(super) quiet: bool,
}

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    Demo(Demo),
    Survey(Survey),
    Reduce(Reduce),
    Gather(Gather),
    Compare(Compare),
    Screen(Screen),
    Shortlist(Shortlist),
    Proportions(Proportions),
    Report(Report),
    Check(Check),
    Describe(Describe),
    Completions(Completions),
}

/// Make the demo corpus (scans, catalogue, study) and survey it
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  tornus demo\n  tornus demo --out try-out --vessels 24 --seed 7")]
pub(super) struct Demo {
    /// Folder to make: corpus/ (scans, catalogue, study) and results/
    #[arg(long, value_name = "DIR", default_value = "tornus-demo")]
    pub(super) out: PathBuf,
    /// Number of vessels
    #[arg(long, value_name = "N", default_value_t = 60)]
    pub(super) vessels: usize,
    /// Start of every random draw
    #[arg(long, value_name = "S", default_value_t = 5)]
    pub(super) seed: u64,
}

/// Reduce what is new or changed, compare, screen, report; a run that was stopped resumes
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  tornus survey study.toml\n  tornus survey study.toml --out results --csv\n  \
    tornus survey study.toml --fresh --threads 2")]
pub(super) struct Survey {
    /// The study (TOML)
    pub(super) study: PathBuf,
    /// Results folder [default: NAME-results beside the study NAME.toml]
    #[arg(long, value_name = "DIR")]
    pub(super) out: Option<PathBuf>,
    /// Forget earlier results and start over
    #[arg(long)]
    pub(super) fresh: bool,
    /// Write every table as CSV too
    #[arg(long)]
    pub(super) csv: bool,
}

/// Reduce scans to tables, without a comparison
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  tornus reduce bowl.ply jar.stl --unit mm --out tables-of-today\n  \
    tornus reduce study.toml --shard 1/4 --out share-1")]
pub(super) struct Reduce {
    /// Scan files, or one study (.toml)
    #[arg(required = true, value_name = "SCAN")]
    pub(super) scans: Vec<PathBuf>,
    /// Length unit of the files' coordinates: mm, cm, m or in (a study's catalogue says it itself)
    #[arg(long, value_name = "UNIT")]
    pub(super) unit: Option<LengthUnit>,
    /// Results folder
    #[arg(long, value_name = "DIR")]
    pub(super) out: PathBuf,
    /// Reduce only the share I of N, to be joined with `tornus gather`
    #[arg(long, value_name = "I/N")]
    pub(super) shard: Option<Shard>,
    /// Write every table as CSV too
    #[arg(long)]
    pub(super) csv: bool,
}

/// Join reduced tables from several runs or machines
#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  tornus gather share-1 share-2 share-3 share-4 --out whole && tornus compare whole && \
    tornus report whole"
)]
pub(super) struct Gather {
    /// Results folders to join
    #[arg(required = true, value_name = "DIR")]
    pub(super) folders: Vec<PathBuf>,
    /// Results folder to make
    #[arg(long, value_name = "DIR")]
    pub(super) out: PathBuf,
    /// Write every table as CSV too
    #[arg(long)]
    pub(super) csv: bool,
}

/// Form and precision spaces, groups and outliers from reduced tables
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  tornus compare results\n  tornus compare results --groups 3\n  tornus compare results --form half-section"
)]
pub(super) struct Compare {
    /// Results folder
    pub(super) folder: PathBuf,
    /// Number of groups, or auto [default: the study's]
    #[arg(long, value_name = "N")]
    pub(super) groups: Option<Groups>,
    /// What forms are compared by: outer, inner, half-section, tangent-angle or silhouette [default: the study's]
    #[arg(long, value_name = "FORM")]
    pub(super) form: Option<FormChoice>,
    /// Write every table as CSV too
    #[arg(long)]
    pub(super) csv: bool,
}

/// Likelihood ratios of the measures under the catalogue's documented modern and old reference pieces
#[derive(Debug, Args)]
#[command(
    after_help = "The catalogue's column `reference` (modern, old or empty) says which pieces are documented. A \
    screening value says which pieces deserve a closer look, not what they are.\n\n\
    Example:\n  tornus screen results && tornus report results"
)]
pub(super) struct Screen {
    /// Results folder
    pub(super) folder: PathBuf,
    /// Write every table as CSV too
    #[arg(long)]
    pub(super) csv: bool,
}

/// Which vessels a computed tomography would tell most about, within a budget
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  tornus shortlist results --budget 600 && tornus report results\n\n\
    X-ray work belongs to licensed operators under local rules, handling to the conservator.")]
pub(super) struct Shortlist {
    /// Results folder
    pub(super) folder: PathBuf,
    /// What the tomographies may cost together, in the unit of the catalogue's ct_cost [default: the study's]
    #[arg(long, value_name = "B")]
    pub(super) budget: Option<f64>,
    /// Write every table as CSV too
    #[arg(long)]
    pub(super) csv: bool,
}

/// Claimed proportions against what chance would bring
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  tornus proportions results --statements statements.toml && tornus report results")]
pub(super) struct Proportions {
    /// Results folder
    pub(super) folder: PathBuf,
    /// What is claimed (TOML), fixed before looking
    #[arg(long, value_name = "FILE")]
    pub(super) statements: PathBuf,
    /// Write every table as CSV too
    #[arg(long)]
    pub(super) csv: bool,
}

/// The HTML report, figures and vessel sheets from the tables
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  tornus report results")]
pub(super) struct Report {
    /// Results folder
    pub(super) folder: PathBuf,
}

/// Read study, catalogue and scan headers, say what a run would do and what is wrong; write nothing
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  tornus check study.toml")]
pub(super) struct Check {
    /// The study (TOML)
    pub(super) study: PathBuf,
    /// Results folder of the run [default: NAME-results beside the study NAME.toml]
    #[arg(long, value_name = "DIR")]
    pub(super) out: Option<PathBuf>,
}

/// What a measure or a table's column is: unit, standard, how it is computed
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  tornus describe\n  tornus describe roundness_outer\n  tornus describe sections\n  \
    tornus describe sections.ront_mzci_mm\n  tornus describe study"
)]
pub(super) struct Describe {
    /// A measure, a table, TABLE.COLUMN, or `study` for the study's keys; without it, everything is listed
    pub(super) name: Option<String>,
}

/// Shell completions on standard output
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  tornus completions bash > ~/.local/share/bash-completion/completions/tornus")]
pub(super) struct Completions {
    /// The shell
    pub(super) shell: Shell,
}

/// The share `part` of `parts`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Shard {
    pub(super) part: usize,
    pub(super) parts: usize,
}

impl std::str::FromStr for Shard {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let expected = || format!("expected I/N with I from 1 to N, as in 1/4: {text:?}");
        let (part, parts) = text.split_once('/').ok_or_else(expected)?;
        let (part, parts) = (part.parse().map_err(|_| expected())?, parts.parse().map_err(|_| expected())?);
        if (1..=parts).contains(&part) { Ok(Self { part, parts }) } else { Err(expected()) }
    }
}

impl Shard {
    /// Whether the `index`-th piece of work, from 0, belongs to this share.
    pub(super) const fn holds(self, index: usize) -> bool {
        index % self.parts == self.part - 1
    }
}

#[cfg(test)]
mod tests {
    use super::{Arguments, Shard};
    use clap::CommandFactory;

    #[test]
    fn the_command_line_is_consistent() {
        Arguments::command().debug_assert();
    }

    #[test]
    fn shards_share_everything_once() {
        let shards: Vec<Shard> = ["1/3", "2/3", "3/3"].iter().map(|text| text.parse().unwrap()).collect();
        for index in 0..20 {
            assert_eq!(shards.iter().filter(|shard| shard.holds(index)).count(), 1);
        }
        for wrong in ["0/3", "4/3", "1", "a/b", "1/0", "-1/2"] {
            assert!(wrong.parse::<Shard>().is_err(), "{wrong}");
        }
    }
}
