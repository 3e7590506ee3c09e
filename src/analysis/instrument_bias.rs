//! By how much two instruments differ on the vessels that both have scanned.

use std::collections::BTreeSet;

use super::AnalysisError;
use super::statistics::benjamini_hochberg;
use super::variance::{Cells, cells, mean, pooled, values_by_measure};
use crate::math::density::t_below;
use crate::table::{Column, Table, TableError};

/// The bias of one instrument against another in one measure.
#[derive(Clone, Debug, PartialEq)]
pub struct InstrumentBias {
    /// The measure.
    pub measure: String,
    /// The instruments, in the order of their names.
    pub instruments: [String; 2],
    /// Mean over the vessels of the first instrument's mean less the second's, in the measure's unit.
    pub bias: f64,
    /// Its standard uncertainty; `None` of one vessel without any repeat scans.
    pub u_bias: Option<f64>,
    /// Degrees of freedom of that uncertainty.
    pub degrees: usize,
    /// Vessels that both have scanned.
    pub n_vessels: usize,
    /// Two-sided p-value against no bias, by Student's t.
    pub p: Option<f64>,
    /// The same, adjusted over all measures and pairs.
    pub q: Option<f64>,
}

/// The biases of every pair of named instruments that share a vessel, sorted by measure and instruments.
///
/// Vessels are the units: of two and more the uncertainty is the standard deviation of their differences over the root of
/// their number; of one it is the pooled repeatability of the measure, for the number of scans.
///
/// # Errors
/// [`AnalysisError::Table`] if a column is missing.
///
/// # References
/// ISO 5725-4 (bias of a method against another); paired differences; Benjamini & Hochberg 1995 (q); from memory.
pub fn instrument_bias(scan_measures: &Table, scans: &Table) -> Result<Vec<InstrumentBias>, AnalysisError> {
    let mut found = Vec::new();
    for (measure, values) in values_by_measure(scan_measures, scans)? {
        let cells = cells(&values);
        for pair in pairs(&cells) {
            found.extend(bias(measure, &pair, &cells));
        }
    }
    let q = benjamini_hochberg(&found.iter().map(|row| row.p).collect::<Vec<_>>());
    found.iter_mut().zip(q).for_each(|(row, q)| row.q = q);
    Ok(found)
}

/// Every two instruments that have scanned one vessel.
fn pairs<'a>(cells: &Cells<'a>) -> BTreeSet<[&'a str; 2]> {
    let mut found = BTreeSet::new();
    for by_instrument in cells.values() {
        let names: Vec<&str> = by_instrument.keys().copied().flatten().collect();
        for (index, first) in names.iter().enumerate() {
            found.extend(names[index + 1..].iter().map(|second| [*first, *second]));
        }
    }
    found
}

fn bias(measure: &str, pair: &[&str; 2], cells: &Cells<'_>) -> Option<InstrumentBias> {
    let mut differences = Vec::new();
    let mut share = 0.0;
    for by_instrument in cells.values() {
        let [first, second] = pair.map(|name| by_instrument.get(&Some(name)));
        if let (Some(first), Some(second)) = (first, second) {
            differences.push(mean(first) - mean(second));
            share = 1.0 / first.len() as f64 + 1.0 / second.len() as f64;
        }
    }
    let n_vessels = differences.len();
    if n_vessels == 0 {
        return None;
    }
    let bias = mean(&differences);
    let repeat = pooled(cells);
    let (variance, degrees) = if n_vessels > 1 {
        let squares: f64 = differences.iter().map(|d| (d - bias).powi(2)).sum();
        (Some(squares / ((n_vessels - 1) * n_vessels) as f64), n_vessels - 1)
    } else {
        (repeat.variance().map(|variance| variance * share), repeat.degrees())
    };
    let u_bias = variance.map(f64::sqrt);
    let p = u_bias.filter(|u| *u > 0.0).map(|u| 2.0 * t_below(-(bias / u).abs(), degrees as f64));
    let instruments = pair.map(str::to_owned);
    Some(InstrumentBias { measure: measure.to_owned(), instruments, bias, u_bias, degrees, n_vessels, p, q: None })
}

/// The table `instrument_bias`.
///
/// # Errors
/// [`TableError`] if a number is not finite, which finite inputs do not let happen.
pub fn instrument_bias_table(rows: &[InstrumentBias]) -> Result<Table, TableError> {
    Table::new(
        "instrument_bias",
        vec![
            Column::texts("measure", rows.iter().map(|row| row.measure.as_str())),
            Column::texts("instrument_a", rows.iter().map(|row| row.instruments[0].as_str())),
            Column::texts("instrument_b", rows.iter().map(|row| row.instruments[1].as_str())),
            Column::floats("bias", rows.iter().map(|row| row.bias)),
            Column::optional_floats("u_bias", rows.iter().map(|row| row.u_bias)),
            Column::integers("degrees", rows.iter().map(|row| row.degrees as i64)),
            Column::integers("n_vessels", rows.iter().map(|row| row.n_vessels as i64)),
            Column::optional_floats("p", rows.iter().map(|row| row.p)),
            Column::optional_floats("q", rows.iter().map(|row| row.q)),
        ],
    )
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use super::*;

    fn cells_of<'a>(rows: &[(&'a str, &'a str, &[f64])]) -> Cells<'a> {
        let mut cells: Cells<'_> = BTreeMap::new();
        for (vessel, instrument, values) in rows {
            cells.entry(vessel).or_default().insert(Some(instrument), values.to_vec());
        }
        cells
    }

    fn pair() -> [&'static str; 2] {
        ["arm", "light"]
    }

    #[test]
    fn three_vessels_give_a_paired_test() {
        // Differences 1, 2, 3: mean 2, s = 1, u = 1 / sqrt(3), t = 3.4641 on 2 degrees of freedom, where the distribution is
        // closed: p = 1 - t / sqrt(2 + t^2) = 1 - sqrt(12 / 14).
        let cells = cells_of(&[
            ("a", "arm", &[11.0]),
            ("a", "light", &[10.0]),
            ("b", "arm", &[22.0]),
            ("b", "light", &[20.0]),
            ("c", "arm", &[33.0]),
            ("c", "light", &[30.0]),
        ]);
        let found = bias("height", &pair(), &cells).unwrap();
        assert!((found.bias - 2.0).abs() < 1e-12 && (found.u_bias.unwrap() - 3.0_f64.sqrt().recip()).abs() < 1e-12);
        assert!((found.p.unwrap() - (1.0 - (12.0_f64 / 14.0).sqrt())).abs() < 1e-9);
    }

    #[test]
    fn one_vessel_leans_on_repeatability() {
        // Means 11 and 15; repeatability (2 + 0) / 2 = 1 on two degrees; u = sqrt(1 x (1/2 + 1/2)) = 1.
        let cells = cells_of(&[("a", "arm", &[10.0, 12.0]), ("a", "light", &[15.0, 15.0])]);
        let found = bias("height", &pair(), &cells).unwrap();
        assert_eq!((found.bias, found.degrees, found.n_vessels), (-4.0, 2, 1));
        assert!((found.u_bias.unwrap() - 1.0).abs() < 1e-12);
    }
}
