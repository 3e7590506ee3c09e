//! The sentence behind a finding, from its numbers.

use super::precision::{Direction, MeasureResidual, PrecisionOutlier};
use crate::math::density::t_quantile;
use crate::table::measure_words;

/// Coverage of the range called usual.
const COVERAGE: f64 = 0.95;

/// What a vessel shows, what is usual, and what its scan could have shown, by the measure that says it most clearly; then
/// all its measures together. `None` of no measure that points the vessel's way.
///
/// `words` are what the usual value depends on, `degrees` those of its spread.
pub(super) fn sentence(outlier: &PrecisionOutlier, words: &[&str], degrees: f64) -> Option<String> {
    let finer = outlier.direction? == Direction::Finer;
    let points = |m: &&MeasureResidual| if finer { m.residual < 0.0 } else { m.residual > 0.0 && !m.bound };
    let clear = |m: &MeasureResidual| (m.residual / m.spread).abs();
    let spoken = outlier.measures.iter().filter(points).max_by(|a, b| clear(a).total_cmp(&clear(b)))?;
    let reach = t_quantile(0.5 + COVERAGE / 2.0, degrees) * spoken.spread;
    let value = spoken.usual_mm * spoken.residual.exp();
    let (low, high) = (spoken.usual_mm * (-reach).exp(), spoken.usual_mm * reach.exp());
    let mut text = format!(
        "{} {}{} mm where {} mm ({}..{}) is usual{}",
        measure_words::spoken(spoken.measure),
        if spoken.bound { "below " } else { "" },
        figures(value),
        figures(spoken.usual_mm),
        figures(low),
        figures(high),
        depends(words),
    );
    if let Some(limit) = spoken.limit_mm.filter(|_| !spoken.bound) {
        text += &format!("; the scan could have shown {} mm", figures(limit));
    }
    if let (Some(level), true) = (outlier.residual, outlier.measures.len() > 1) {
        let at_most = if outlier.bound { "at most " } else { "" };
        let measures = outlier.measures.len();
        text += &format!("; over all {measures} measures {at_most}{} times the usual deviation", figures(level.exp()));
    }
    Some(text)
}

fn depends(words: &[&str]) -> String {
    match words {
        [] => " in this corpus".to_owned(),
        [one] => format!(" for its {one}"),
        [first @ .., last] => format!(" for its {} and {last}", first.join(", ")),
    }
}

/// Two significant figures.
pub(in crate::analysis) fn figures(value: f64) -> String {
    if !(value > 0.0 && value.is_finite()) {
        return "0".to_owned();
    }
    let decimals = (1 - value.log10().floor() as i32).clamp(0, 6);
    format!("{value:.0$}", decimals as usize)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn residual(measure: &'static str, value: f64, spread: f64, bound: bool) -> MeasureResidual {
        let residual = (value / 0.11).ln();
        MeasureResidual { measure, residual, spread, bound, usual_mm: 0.11, limit_mm: Some(0.008) }
    }

    fn outlier(direction: Direction, level: f64, measures: Vec<MeasureResidual>) -> PrecisionOutlier {
        let residual = Some(level.ln());
        PrecisionOutlier { residual, direction: Some(direction), measures, ..PrecisionOutlier::default() }
    }

    #[test]
    fn the_clearest_measure_makes_the_sentence() {
        // Rim: ln(0.11 / 0.021) / 0.3 = 5.5 spreads; lobing: ln(0.11 / 0.02) / 0.5 = 3.4.
        let measures = vec![residual("lobing_2", 0.02, 0.5, false), residual("flatness_rim", 0.021, 0.3, false)];
        let text = sentence(&outlier(Direction::Finer, 0.2, measures), &["form", "size", "material"], 1e6).unwrap();
        // 0.11 x exp(-+1.96 x 0.3) = 0.0611, 0.198
        let wanted = "rim flatness 0.021 mm where 0.11 mm (0.061..0.20) is usual for its form, size and material; the scan \
                      could have shown 0.0080 mm; over all 2 measures 0.20 times the usual deviation";
        assert_eq!(text, wanted);
    }

    #[test]
    fn a_bound_is_called_one_and_says_nothing_of_coarseness() {
        let below = || vec![residual("roundness_outer", 0.03, 0.3, true)];
        let text = sentence(&outlier(Direction::Finer, 0.3, below()), &[], 1e6).unwrap();
        assert_eq!(text, "outer roundness below 0.030 mm where 0.11 mm (0.061..0.20) is usual in this corpus");
        assert_eq!(sentence(&outlier(Direction::Coarser, 3.0, below()), &[], 1e6), None);
        assert_eq!(sentence(&outlier(Direction::Finer, 0.3, Vec::new()), &[], 1e6), None);
    }

    #[test]
    fn figures_are_two() {
        for (value, text) in [(0.0123, "0.012"), (1.26, "1.3"), (12.6, "13"), (126.0, "126"), (0.0, "0")] {
            assert_eq!(figures(value), text);
        }
    }
}
