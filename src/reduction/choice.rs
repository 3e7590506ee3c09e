//! What the choice of the edge of what is set aside leaves open of a section.

use super::record::ChoiceUncertainty;
use super::wall::Wall;
use crate::quantity::Estimate;
use crate::section::BandFit;

impl ChoiceUncertainty {
    /// From a section as drawn and with the edge moved by one cell; `ront` evaluates a fit.
    ///
    /// Where the section cannot be measured with the wider edge, the values as found are the other choice.
    pub(super) fn of(
        wall: &Wall,
        index: usize,
        fit: &BandFit,
        drawn: Option<Estimate>,
        ront: impl Fn(&BandFit) -> Option<Estimate>,
    ) -> Self {
        let Some(other) = wall.grown[index].as_ref().or(wall.found[index].as_ref()) else {
            return Self::default();
        };
        let centre = |fit: &BandFit| {
            let first = |values: &[f64]| values.first().copied().unwrap_or(0.0);
            [first(&fit.harmonics.cos), first(&fit.harmonics.sin)]
        };
        let ([x, y], [other_x, other_y]) = (centre(fit), centre(other));
        let half_width = |difference: f64| difference.abs() / 3.0_f64.sqrt();
        let roundness = drawn.zip(ront(other)).map(|(drawn, other)| drawn.value() - other.value());
        Self {
            radius_mm: half_width(fit.harmonics.mean - other.harmonics.mean),
            center_mm: half_width((x - other_x).hypot(y - other_y) / 2.0_f64.sqrt()),
            ront_mm: roundness.map_or(0.0, half_width),
        }
    }
}
