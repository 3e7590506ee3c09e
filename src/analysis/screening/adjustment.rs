//! What a vessel's measures are adjusted for: its size and the hardness of its material.

use crate::analysis::corpus::Vessel;

/// A circumstance enters if it is known of at least this share of the references.
const LEAST_KNOWN: f64 = 2.0 / 3.0;

/// Least standard deviation that counts as varying.
const LEAST_SPREAD: f64 = 1e-6;

/// What a vessel's measures may depend on beside its age.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    Size,
    Hardness,
}

impl Kind {
    const fn word(self) -> &'static str {
        match self {
            Self::Size => "size",
            Self::Hardness => "hardness",
        }
    }

    fn of(self, vessel: &Vessel) -> Option<f64> {
        match self {
            Self::Size => vessel.ln_size(),
            Self::Hardness => vessel.mohs,
        }
    }

    /// Whether its square enters too: from soft to medium stone the tools change more than from medium to hard.
    const fn curved(self) -> bool {
        matches!(self, Self::Hardness)
    }
}

/// One number of a vessel, standardised by the references.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Circumstance {
    kind: Kind,
    mean: f64,
    spread: f64,
    least: f64,
    greatest: f64,
}

/// The regressors of the populations' means.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Adjustment {
    circumstances: Vec<Circumstance>,
}

impl Adjustment {
    /// The circumstances that are known of enough references and vary among them.
    pub(super) fn of(references: &[&Vessel]) -> Self {
        let circumstance = |kind: Kind| {
            let known: Vec<f64> = references.iter().filter_map(|v| kind.of(v)).collect();
            let mean = known.iter().sum::<f64>() / known.len() as f64;
            let spread = (known.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / known.len() as f64).sqrt();
            let (least, greatest) =
                known.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, g), v| (l.min(*v), g.max(*v)));
            let enough = known.len() as f64 >= LEAST_KNOWN * references.len() as f64;
            (enough && spread > LEAST_SPREAD).then_some(Circumstance { kind, mean, spread, least, greatest })
        };
        Self { circumstances: [Kind::Size, Kind::Hardness].into_iter().filter_map(circumstance).collect() }
    }

    /// 1, then each circumstance in standard deviations of the references; one that is not known is put at their mean.
    pub(super) fn regressors(&self, vessel: &Vessel) -> Vec<f64> {
        let mut row = vec![1.0];
        for circumstance in &self.circumstances {
            let z = circumstance.kind.of(vessel).map_or(0.0, |v| (v - circumstance.mean) / circumstance.spread);
            row.push(z);
            if circumstance.kind.curved() {
                row.push(z * z - 1.0);
            }
        }
        row
    }

    /// The circumstances adjusted for, in words.
    pub(super) fn words(&self) -> Vec<&'static str> {
        self.circumstances.iter().map(|c| c.kind.word()).collect()
    }

    /// The circumstances in which a vessel lies outside all references.
    pub(super) fn outside(&self, vessel: &Vessel) -> Vec<&'static str> {
        let out = |c: &&Circumstance| c.kind.of(vessel).is_some_and(|v| v < c.least || v > c.greatest);
        self.circumstances.iter().filter(out).map(|c| c.kind.word()).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of_hardness(mohs: Option<f64>) -> Vessel {
        Vessel { mohs, ..Vessel::default() }
    }

    #[test]
    fn circumstances_are_standardised_and_missing_ones_stand_at_the_mean() {
        let references = [2.0, 4.0, 6.0].map(|mohs| of_hardness(Some(mohs)));
        let adjustment = Adjustment::of(&references.iter().collect::<Vec<_>>());
        assert_eq!(adjustment.words(), ["hardness"]); // sizes are not known
        // Mean 4, standard deviation sqrt(8 / 3): 2 lies sqrt(3 / 2) below.
        let row = adjustment.regressors(&of_hardness(Some(2.0)));
        assert!((row[1] + 1.5_f64.sqrt()).abs() < 1e-12 && (row[2] - 0.5).abs() < 1e-12);
        assert_eq!(adjustment.regressors(&of_hardness(None)), [1.0, 0.0, -1.0]);
        assert_eq!(adjustment.outside(&of_hardness(Some(7.0))), ["hardness"]);
    }
}
