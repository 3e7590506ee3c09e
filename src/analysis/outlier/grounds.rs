//! The sentence behind a finding, from its numbers.

use super::precision::MeasureResidual;
use crate::math::density::t_quantile;

/// The measure that is spoken of where a vessel has it.
const SPOKEN_OF: &str = "roundness_outer";

/// Coverage of the range called usual.
const COVERAGE: f64 = 0.95;

/// What a vessel shows, what is usual, and what its scan could have shown; `None` of no measure.
///
/// `limit` is the detection limit of the outer roundness, mm; `words` are what the usual value depends on.
pub(super) fn sentence(
    measures: &[MeasureResidual],
    limit: Option<f64>,
    words: &[&str],
    degrees: f64,
) -> Option<String> {
    let greatest = |best: &MeasureResidual, next: &MeasureResidual| {
        (next.residual / next.spread).abs() > (best.residual / best.spread).abs()
    };
    let spoken = measures
        .iter()
        .find(|m| m.measure == SPOKEN_OF)
        .or_else(|| measures.iter().reduce(|best, next| if greatest(best, next) { next } else { best }))?;
    let reach = t_quantile(0.5 + COVERAGE / 2.0, degrees) * spoken.spread;
    let value = spoken.usual_mm * spoken.residual.exp();
    let (low, high) = (spoken.usual_mm * (-reach).exp(), spoken.usual_mm * reach.exp());
    let mut text = format!(
        "{} {}{} mm where {} mm ({}..{}) is usual{}",
        name(spoken.measure),
        if spoken.bound { "below " } else { "" },
        figures(value),
        figures(spoken.usual_mm),
        figures(low),
        figures(high),
        depends(words),
    );
    if let Some(limit) = limit.filter(|_| spoken.measure == SPOKEN_OF && !spoken.bound) {
        text += &format!("; its scan could have shown {} mm", figures(limit));
    }
    Some(text)
}

fn name(measure: &str) -> String {
    if measure == SPOKEN_OF { "roundness".to_owned() } else { measure.replace('_', " ") }
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

    #[test]
    fn numbers_make_the_sentence() {
        let residual = |measure, value: f64, bound| MeasureResidual {
            measure,
            residual: (value / 0.11).ln(),
            spread: 0.3,
            bound,
            usual_mm: 0.11,
        };
        let known = [residual("lobing_2", 0.02, false), residual("roundness_outer", 0.021, false)];
        let text = sentence(&known, Some(0.008), &["form", "size", "material"], 1e6).unwrap();
        // 0.11 x exp(-+1.96 x 0.3) = 0.0611, 0.198
        let wanted = "roundness 0.021 mm where 0.11 mm (0.061..0.20) is usual for its form, size and material; \
                      its scan could have shown 0.0080 mm";
        assert_eq!(text, wanted);
        let below = sentence(&[residual("roundness_outer", 0.03, true)], Some(0.03), &[], 1e6).unwrap();
        assert_eq!(below, "roundness below 0.030 mm where 0.11 mm (0.061..0.20) is usual in this corpus");
        assert_eq!(sentence(&[], None, &[], 5.0), None);
    }

    #[test]
    fn figures_are_two() {
        for (value, text) in [(0.0123, "0.012"), (1.26, "1.3"), (12.6, "13"), (126.0, "126"), (0.0, "0")] {
            assert_eq!(figures(value), text);
        }
    }
}
