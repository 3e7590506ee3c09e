//! The measures taken so far, and those the scan does not support.

use super::record::{MeasureRow, MissingRow};
use crate::deviation::{DeviationError, Measured};

/// Collects measures; one that could not be had is entered with its reason.
#[derive(Default)]
pub(super) struct Ledger {
    pub(super) rows: Vec<MeasureRow>,
    pub(super) missing: Vec<MissingRow>,
}

impl Ledger {
    pub(super) fn enter(&mut self, measure: &'static str, found: Result<Measured, DeviationError>) {
        match found {
            Ok(Measured { estimate, detection_limit, budget }) => {
                self.rows.push(MeasureRow { measure, estimate, detection_limit, budget, as_found: None });
            }
            Err(error) => self.lack(&[measure], &error.to_string()),
        }
    }

    /// Enters a measure that a vessel need not have; `absent` says what it means that this one has none.
    pub(super) fn enter_if(
        &mut self,
        measure: &'static str,
        found: Result<Option<Measured>, DeviationError>,
        absent: &str,
    ) {
        match found.transpose() {
            Some(found) => self.enter(measure, found),
            None => self.lack(&[measure], absent),
        }
    }

    /// Enters why measures are missing.
    pub(super) fn lack(&mut self, measures: &[&'static str], reason: &str) {
        self.missing.extend(measures.iter().map(|&measure| MissingRow { measure, reason: reason.to_owned() }));
    }

    /// Puts beside each measure what it is with nothing set aside, where that is another value.
    pub(super) fn put_beside(&mut self, found: &Self) {
        for row in &mut self.rows {
            let other = found.rows.iter().find(|other| other.measure == row.measure).map(|other| other.estimate);
            row.as_found = other.filter(|other| (other.value() - row.estimate.value()).abs() > 0.0);
        }
    }

    /// Takes a measure back, if it was entered, and states why it is missing in place of any other reason.
    pub(super) fn withhold(&mut self, measure: &'static str, reason: &str) {
        self.rows.retain(|row| row.measure != measure);
        self.missing.retain(|row| row.measure != measure);
        self.lack(&[measure], reason);
    }
}
