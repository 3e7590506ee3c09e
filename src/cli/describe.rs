//! `tornus describe`: what a measure, a table or a study's key is.

use std::fmt::Write;

use super::args::Describe;
use super::failure::Failure;
use super::outcome::Outcome;
use super::terminal::Terminal;
use crate::config::{KEYS, nearest};
use crate::table::schema::{COLUMNS, Description, TABLES, describe_column, is_described};
use crate::table::{MEASURES, Measure, MeasureKind, sources};

/// The word that asks for the study's keys.
const STUDY: &str = "study";

pub(super) fn run(arguments: &Describe, _terminal: &Terminal) -> Result<Outcome, Failure> {
    let text = match arguments.name.as_deref() {
        None => everything(),
        Some(STUDY) => study_keys(),
        Some(name) => one(name).ok_or_else(|| unknown(name))?,
    };
    Terminal::print(&text);
    Ok(Outcome::DONE)
}

fn one(name: &str) -> Option<String> {
    if let Some(measure) = Measure::named(name) {
        return Some(measure_text(measure));
    }
    if TABLES.iter().any(|table| table.name == name) {
        return Some(table_text(name));
    }
    let (table, column) = name.split_once('.')?;
    is_described(table, column).then(|| column_text(name, &describe_column(table, column)))
}

fn measure_text(measure: &Measure) -> String {
    let kind = match measure.kind {
        MeasureKind::Form => "form and size",
        MeasureKind::Manner => "manner: how the deviations run; it screens, and is no part of the precision space",
        MeasureKind::Precision => "precision: how truly the vessel was made; smaller is finer",
    };
    let mut text = format!(
        "{}\n  meaning: {}\n  unit:    {}\n  kind:    {kind}\n  source:  {}\n  method:  {}\n  uncertainty, by its parts in scan_measures and measures:\n",
        measure.name, measure.meaning, measure.unit, measure.source, measure.method
    );
    for (source, words) in sources(measure) {
        text += &format!("    u_{:<11} {words}\n", source.word());
    }
    text + "    u_between     of vessels: what instruments differ by beyond their stated uncertainties\n    \
            u_scatter     of vessels: the scatter of their scans beyond all that\n"
}

fn column_text(name: &str, column: &Description) -> String {
    let unit = if column.unit.is_empty() { "none (words or truth values)" } else { &column.unit };
    format!("{name}\n  meaning: {}\n  unit:    {unit}\n  source:  {}\n", column.meaning, column.source)
}

fn table_text(name: &str) -> String {
    let mut text = String::new();
    for table in TABLES.iter().filter(|table| table.name == name) {
        text += &format!("{name}: one row per {}; sorted by {}\n", table.row, table.key.join(", "));
    }
    for column in COLUMNS.into_iter().flatten().filter(|column| column.table == name) {
        text += &line(column.column, column.unit, column.meaning);
    }
    if name == "vessels" {
        text += "  and every measure with its standard uncertainty u_MEASURE\n";
    }
    text
}

fn line(name: &str, unit: &str, meaning: &str) -> String {
    let unit = if unit.is_empty() { "" } else { unit };
    format!("  {name:<26} {unit:<8} {meaning}\n")
}

fn everything() -> String {
    let mut text = String::from("Measures (rows of measures and scan_measures, columns of vessels):\n");
    for measure in MEASURES {
        text += &line(measure.name, measure.unit, measure.meaning);
    }
    text += "\nTables (a measured column x has its standard uncertainty u_x beside it):\n\n";
    for table in TABLES {
        text += &table_text(table.name);
        text.push('\n');
    }
    text
}

fn study_keys() -> String {
    let mut text = String::from("Keys of a study file (TOML):\n");
    let mut section = "";
    for key in KEYS {
        if key.section != section {
            section = key.section;
            text += &format!("[{section}]\n");
        }
        let default = if key.default.is_empty() { String::new() } else { format!(" [default: {}]", key.default) };
        let _written = writeln!(text, "  {:<14} {}{default}", key.name, key.meaning); // a String takes everything
    }
    text
}

fn unknown(name: &str) -> Failure {
    let known = MEASURES.iter().map(|measure| measure.name).chain(TABLES.iter().map(|table| table.name));
    let columns: Vec<String> =
        COLUMNS.into_iter().flatten().map(|column| format!("{}.{}", column.table, column.column)).collect();
    let hint = nearest(name, known.chain(columns.iter().map(String::as_str)).chain([STUDY]));
    Failure::new(format!("unknown measure, table or column: {name:?}")).with_hint(match hint {
        Some(meant) => format!("did you mean `{meant}`?"),
        None => "`tornus describe` lists them all".to_owned(),
    })
}
