//! The continuous tolerance grade of a deviation.

use super::tolerance_table::{SIZES_UP_TO_MM, TOLERANCES_UM};

/// Ratio of neighbouring grades beyond the table, where grades are extrapolated: five grades to a factor of ten, the
/// standard's own rule from IT6 upwards.
const STEP_BEYOND_TABLE: f64 = 1.584_893_192_461_113_5;

/// A continuous tolerance grade.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ToleranceGrade {
    /// The grade: 7.5 lies halfway, in the logarithm of the tolerance, from IT7 to IT8. Smaller is finer.
    pub grade: f64,
    /// Its standard uncertainty, from that of the deviation.
    pub u: f64,
}

/// The standard tolerance of a whole grade (1 to 18) at a nominal size, mm; `None` outside the grades or of no size.
///
/// Sizes are taken by the standard's ranges, stepwise: 50 mm and 51 mm lie in different ranges. Above 500 mm the last
/// range of the table is used.
///
/// # Example
/// ```
/// use tornus::analysis::precision::standard_tolerance_mm;
/// assert_eq!(standard_tolerance_mm(7, 100.0), Some(0.035)); // ISO 286-1: IT7 above 80 to 120 mm is 35 um
/// ```
///
/// # References
/// ISO 286-1, standard tolerance grades.
#[must_use]
pub fn standard_tolerance_mm(grade: u8, nominal_mm: f64) -> Option<f64> {
    let row = TOLERANCES_UM.get(usize::from(grade).checked_sub(1)?)?;
    Some(row[size_range(nominal_mm)?] / 1000.0)
}

/// The grade whose standard tolerance equals `deviation_mm` at a nominal size; `None` unless both are positive and finite.
///
/// Between whole grades the logarithm of the tolerance is interpolated; below IT1 and above IT18 five grades make a factor
/// of ten.
///
/// # Uncertainty
/// `u_mm` is carried through to first order in the logarithm; the nominal size is taken as exact, since within a range
/// it does not matter.
///
/// # Example
/// ```
/// use tornus::analysis::precision::tolerance_grade;
/// // IT7 is 35 um and IT8 54 um at 100 mm: sqrt(35 x 54) = 43.474 um lies halfway
/// let found = tolerance_grade((0.035_f64 * 0.054).sqrt(), 0.0, 100.0).unwrap();
/// assert!((found.grade - 7.5).abs() < 1e-12);
/// ```
///
/// # References
/// ISO 286-1, standard tolerance grades; the continuous scale between them is the project's.
#[must_use]
pub fn tolerance_grade(deviation_mm: f64, u_mm: f64, nominal_mm: f64) -> Option<ToleranceGrade> {
    let range = size_range(nominal_mm)?;
    if !(deviation_mm > 0.0 && deviation_mm.is_finite() && u_mm >= 0.0) {
        return None;
    }
    let micrometres = deviation_mm * 1000.0;
    let last = TOLERANCES_UM.len() - 1;
    let above = TOLERANCES_UM.iter().take_while(|row| row[range] <= micrometres).count();
    let (from, step) = match above {
        0 => (0, STEP_BEYOND_TABLE.ln()),
        beyond if beyond > last => (last, STEP_BEYOND_TABLE.ln()),
        next => (next - 1, (TOLERANCES_UM[next][range] / TOLERANCES_UM[next - 1][range]).ln()),
    };
    let grade = (from + 1) as f64 + (micrometres / TOLERANCES_UM[from][range]).ln() / step;
    Some(ToleranceGrade { grade, u: u_mm / deviation_mm / step })
}

fn size_range(nominal_mm: f64) -> Option<usize> {
    if !(nominal_mm > 0.0 && nominal_mm.is_finite()) {
        return None;
    }
    Some(SIZES_UP_TO_MM.iter().position(|upto| nominal_mm <= *upto).unwrap_or(SIZES_UP_TO_MM.len() - 1))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whole_grades_return_and_the_scale_is_monotone() {
        for diameter in [2.0, 10.0, 10.1, 99.0, 500.0, 800.0] {
            for grade in 1..=18_u8 {
                let tolerance = standard_tolerance_mm(grade, diameter).unwrap();
                let found = tolerance_grade(tolerance, 0.0, diameter).unwrap();
                assert!((found.grade - f64::from(grade)).abs() < 1e-9, "{diameter} IT{grade}: {found:?}");
                assert!(tolerance_grade(tolerance * 1.001, 0.0, diameter).unwrap().grade > found.grade);
            }
        }
    }

    #[test]
    fn beyond_the_table_five_grades_make_a_factor_of_ten() {
        let top = standard_tolerance_mm(18, 100.0).unwrap();
        assert!((tolerance_grade(10.0 * top, 0.0, 100.0).unwrap().grade - 23.0).abs() < 1e-9);
        let bottom = standard_tolerance_mm(1, 100.0).unwrap();
        assert!((tolerance_grade(bottom / 10.0, 0.0, 100.0).unwrap().grade + 4.0).abs() < 1e-9);
    }

    #[test]
    fn what_is_not_positive_has_no_grade() {
        assert_eq!(tolerance_grade(0.0, 0.1, 100.0), None);
        assert_eq!(tolerance_grade(0.1, 0.1, f64::NAN), None);
        assert_eq!(standard_tolerance_mm(0, 100.0), None);
        assert_eq!(standard_tolerance_mm(19, 100.0), None);
    }

    #[test]
    fn uncertainty_follows_the_slope() {
        let (low, high) = (tolerance_grade(0.0399, 0.0, 100.0).unwrap(), tolerance_grade(0.0401, 0.0, 100.0).unwrap());
        let found = tolerance_grade(0.04, 0.0001, 100.0).unwrap();
        assert!((found.u - (high.grade - low.grade) / 2.0).abs() < 1e-5);
    }
}
