//! What is found as published tables.

use super::design::Rebuilt;
use super::series::SeriesVerdict;
use super::verdict::{Together, Verdict, VesselMatches};
use crate::table::{Column, Table, TableError};

/// The row of `proportions` that speaks of all claims.
const TOGETHER: &str = "all stated constants together";

/// What is found of a corpus.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Proportions {
    /// Claim by claim, in the order of the statements.
    pub verdicts: Vec<Verdict>,
    /// All claims together; `None` where none could be judged.
    pub together: Option<Together>,
    /// Vessel by vessel.
    pub vessels: Vec<(String, VesselMatches)>,
    /// Series by series.
    pub series: Vec<SeriesVerdict>,
    /// Design, vessel and what came of it, sorted.
    pub designs: Vec<(String, String, Rebuilt)>,
}

fn whole(number: usize) -> i64 {
    i64::try_from(number).unwrap_or(i64::MAX)
}

impl Proportions {
    /// The published tables: `proportions`, `proportion_decoys`, `proportion_vessels`, `proportion_series`,
    /// `proportion_designs` and `proportion_deviations`.
    ///
    /// # Errors
    /// [`TableError`] if a number is not finite, which finite lengths do not let happen.
    pub fn tables(&self) -> Result<Vec<Table>, TableError> {
        Ok(vec![
            self.proportions()?,
            self.decoys()?,
            self.of_vessels()?,
            self.of_series()?,
            self.of_designs()?,
            self.deviations()?,
        ])
    }

    fn proportions(&self) -> Result<Table, TableError> {
        let mut rows = self.verdicts.clone();
        rows.extend(self.together.as_ref().map(|together| Verdict {
            statement: TOGETHER.to_owned(),
            vessels: self.vessels.iter().filter(|(_, vessel)| vessel.tried > 0).count(),
            matches: together.matches,
            expected: together.expected,
            p: Some(together.p),
            ..Verdict::default()
        }));
        rows.sort_by(|a, b| a.statement.cmp(&b.statement));
        let floats =
            |name: &str, value: fn(&Verdict) -> Option<f64>| Column::optional_floats(name, rows.iter().map(value));
        let single = |row: &Verdict| row.statement != TOGETHER;
        let flags = |name: &str, value: fn(&Verdict) -> bool| {
            Column::optional_flags(name, rows.iter().map(|row| single(row).then(|| value(row))))
        };
        Table::new(
            "proportions",
            vec![
                Column::texts("statement", rows.iter().map(|row| row.statement.as_str())),
                floats("constant", |row| row.value),
                Column::integers("n_vessels", rows.iter().map(|row| whole(row.vessels))),
                Column::integers("matches", rows.iter().map(|row| whole(row.matches))),
                floats("expected", |row| Some(row.expected)),
                floats("p", |row| row.p),
                floats("q", |row| row.q),
                floats("p_pairing", |row| row.p_pairing),
                flags("found", |row| row.found),
                floats("held_out", |row| row.held_out),
                flags("accepted", |row| row.accepted),
                Column::optional_texts("note", rows.iter().map(|row| row.note.map(str::to_owned))),
            ],
        )
    }

    /// How many sets of decoys had so many matches.
    fn decoys(&self) -> Result<Table, TableError> {
        let counts = self.together.as_ref().map_or(&[][..], |together| &together.decoys);
        let runs: Vec<(usize, usize)> = counts.chunk_by(|a, b| a == b).map(|run| (run[0], run.len())).collect();
        Table::new(
            "proportion_decoys",
            vec![
                Column::integers("matches", runs.iter().map(|run| whole(run.0))),
                Column::integers("decoy_sets", runs.iter().map(|run| whole(run.1))),
            ],
        )
    }

    fn of_vessels(&self) -> Result<Table, TableError> {
        let rows = || self.vessels.iter().map(|(_, vessel)| vessel);
        Table::new(
            "proportion_vessels",
            vec![
                Column::texts("vessel_id", self.vessels.iter().map(|(vessel, _)| vessel.as_str())),
                Column::integers("matches", rows().map(|row| whole(row.matches))),
                Column::integers("tried", rows().map(|row| whole(row.tried))),
                Column::floats("expected", rows().map(|row| row.expected)),
                Column::optional_floats("p", rows().map(|row| row.p)),
                Column::optional_floats("q", rows().map(|row| row.q)),
            ],
        )
    }

    fn of_series(&self) -> Result<Table, TableError> {
        let mut rows: Vec<&SeriesVerdict> = self.series.iter().collect();
        rows.sort_by(|a, b| a.name.cmp(&b.name));
        let floats = |name: &str, value: fn(&SeriesVerdict) -> Option<f64>| {
            Column::optional_floats(name, rows.iter().map(|row| value(row)))
        };
        Table::new(
            "proportion_series",
            vec![
                Column::texts("series", rows.iter().map(|row| row.name.as_str())),
                Column::integers("n_vessels", rows.iter().map(|row| whole(row.vessels))),
                floats("ratio", |row| row.ratio),
                floats("likeliest", |row| row.likeliest),
                floats("scatter", |row| row.scatter),
                floats("bic_difference", |row| row.bic_difference),
                Column::optional_texts("alternative", rows.iter().map(|row| row.alternative.map(str::to_owned))),
                floats("p", |row| row.p),
                floats("held_out", |row| row.held_out),
                Column::optional_flags("accepted", rows.iter().map(|row| Some(row.accepted))),
            ],
        )
    }

    fn of_designs(&self) -> Result<Table, TableError> {
        let floats = |name: &str, value: fn(&Rebuilt) -> f64| {
            Column::floats(name, self.designs.iter().map(|(_, _, rebuilt)| value(rebuilt)))
        };
        let needed = |(_, _, rebuilt): &(String, String, Rebuilt)| rebuilt.free_parameters.map(whole);
        Table::new(
            "proportion_designs",
            vec![
                Column::texts("design", self.designs.iter().map(|(design, ..)| design.as_str())),
                Column::texts("vessel_id", self.designs.iter().map(|(_, vessel, _)| vessel.as_str())),
                floats("base_mm", |row| row.base_mm.value()),
                floats("u_base_mm", |row| row.base_mm.standard_uncertainty()),
                floats("ratio", |row| row.ratio),
                Column::integers("parameters", self.designs.iter().map(|(_, _, rebuilt)| whole(rebuilt.parameters))),
                floats("share", |row| row.share),
                floats("free_share", |row| row.free_share),
                Column::optional_integers("free_parameters", self.designs.iter().map(needed)),
                floats("rms_mm", |row| row.rms_mm),
            ],
        )
    }

    fn deviations(&self) -> Result<Table, TableError> {
        let rows = || {
            self.designs.iter().flat_map(|(design, vessel, rebuilt)| {
                let points = rebuilt.heights_mm.iter().zip(&rebuilt.deviations_mm);
                points.map(move |(height, deviation)| (design, vessel, *height, *deviation))
            })
        };
        Table::new(
            "proportion_deviations",
            vec![
                Column::texts("design", rows().map(|row| row.0.as_str())),
                Column::texts("vessel_id", rows().map(|row| row.1.as_str())),
                Column::floats("height_mm", rows().map(|row| row.2)),
                Column::floats("deviation_mm", rows().map(|row| row.3)),
            ],
        )
    }
}
