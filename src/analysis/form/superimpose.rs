//! Superimposition about the axis: what is left of a meridian without its height above the table and without its size.

use super::landmark::MeridianPoint;
use super::size::axial_centroid_size;

/// A meridian after superimposition; radii and heights in units of the centroid size.
#[derive(Clone, Debug, PartialEq)]
pub struct Superimposed {
    /// Radii, then heights about their mean: what the form space is spanned by.
    pub coordinates: Vec<f64>,
    /// The size taken away, mm.
    pub centroid_size_mm: f64,
}

/// Superimposes a meridian on the axis frame; `None` without points or without size.
///
/// The axis and the direction up are known, so nothing is turned, mirrored or moved sideways: only the mean height is
/// taken to 0 and the root mean square distance from the axis point there to 1. That is the least-squares superimposition
/// under these constraints, in closed form, one meridian at a time: no iteration, and no vessel changes another's coordinates.
///
/// # Example
/// ```
/// use tornus::analysis::form::{MeridianPoint, superimpose};
/// let points = [2.0, 10.0].map(|height_mm| MeridianPoint { radius_mm: 3.0, height_mm, u_radius_mm: 0.5 });
/// let found = superimpose(&points).unwrap();
/// assert_eq!(found.coordinates, [0.6, 0.6, -0.8, 0.8]); // 3 / 5, and 4 / 5 below and above the mean height
/// ```
///
/// # References
/// Dryden & Mardia 2016, Statistical shape analysis, 2nd edition, chapter 7 (least-squares superimposition; from memory).
#[must_use]
pub fn superimpose(points: &[MeridianPoint]) -> Option<Superimposed> {
    let size = axial_centroid_size(points);
    if size <= 0.0 {
        return None;
    }
    let mean = points.iter().map(|p| p.height_mm).sum::<f64>() / points.len() as f64;
    let radii = points.iter().map(|p| p.radius_mm / size);
    let heights = points.iter().map(|p| (p.height_mm - mean) / size);
    Some(Superimposed { coordinates: radii.chain(heights).collect(), centroid_size_mm: size })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn jar(scale: f64, lift: f64) -> Vec<MeridianPoint> {
        let point = |i: u32| {
            let t = f64::from(i) / 20.0;
            MeridianPoint {
                radius_mm: scale * (30.0 + 12.0 * (3.0 * t).sin()),
                height_mm: scale * 80.0 * t + lift,
                u_radius_mm: 0.01,
            }
        };
        (0..=20).map(point).collect()
    }

    #[test]
    fn scale_and_height_above_the_table_are_taken_away() {
        let (one, other) = (superimpose(&jar(1.0, 0.0)).unwrap(), superimpose(&jar(2.5, 17.0)).unwrap());
        for (a, b) in one.coordinates.iter().zip(&other.coordinates) {
            assert!((a - b).abs() < 1e-12);
        }
        assert!((other.centroid_size_mm / one.centroid_size_mm - 2.5).abs() < 1e-12);
    }

    #[test]
    fn the_superimposed_meridian_is_centred_of_unit_size_and_unchanged_by_repetition() {
        let found = superimpose(&jar(1.3, 4.0)).unwrap();
        let heights = &found.coordinates[21..];
        assert!(heights.iter().sum::<f64>().abs() < 1e-12);
        assert!((found.coordinates.iter().map(|c| c * c).sum::<f64>() / 21.0 - 1.0).abs() < 1e-12);
        let points: Vec<_> = (0..21)
            .map(|i| MeridianPoint { radius_mm: found.coordinates[i], height_mm: heights[i], u_radius_mm: 0.0 })
            .collect();
        let again = superimpose(&points).unwrap();
        assert!(again.coordinates.iter().zip(&found.coordinates).all(|(a, b)| (a - b).abs() < 1e-12));
    }

    #[test]
    fn turning_over_and_mirroring_make_another_form() {
        let upright = superimpose(&jar(1.0, 0.0)).unwrap();
        let over: Vec<_> =
            jar(1.0, 0.0).iter().rev().map(|p| MeridianPoint { height_mm: -p.height_mm, ..*p }).collect();
        let over = superimpose(&over).unwrap();
        let apart: f64 = upright.coordinates.iter().zip(&over.coordinates).map(|(a, b)| (a - b).abs()).sum();
        assert!(apart > 0.1);
        assert_eq!(superimpose(&[]), None);
    }

    /// Distance of two superimposed meridians.
    fn apart(a: &Superimposed, b: &Superimposed) -> f64 {
        let squares = a.coordinates.iter().zip(&b.coordinates).map(|(a, b)| (a - b) * (a - b));
        squares.sum::<f64>().sqrt()
    }

    /// Closed form: the superimposed meridians lie in a Euclidean space, and their mean is the nearest point to all.
    #[test]
    fn distances_are_those_of_a_metric_and_the_mean_is_nearest_to_all() {
        let bent = |bend: f64| -> Superimposed {
            let points: Vec<_> = jar(1.0 + bend, bend)
                .into_iter()
                .map(|p| MeridianPoint { radius_mm: p.radius_mm + bend * p.height_mm.sqrt(), ..p })
                .collect();
            superimpose(&points).unwrap()
        };
        let forms = [0.0, 0.4, 1.1, 3.0].map(bent);
        for (i, a) in forms.iter().enumerate() {
            assert!(apart(a, a) < 1e-15);
            for (j, b) in forms.iter().enumerate() {
                assert!((apart(a, b) - apart(b, a)).abs() < 1e-15 && (i == j || apart(a, b) > 1e-3));
                assert!(forms.iter().all(|c| apart(a, b) <= apart(a, c) + apart(c, b) + 1e-12));
            }
        }
        let count = forms[0].coordinates.len();
        let mean: Vec<f64> = (0..count).map(|k| forms.iter().map(|f| f.coordinates[k]).sum::<f64>() / 4.0).collect();
        let summed = |shift: f64, at: usize| -> f64 {
            let mut centre = Superimposed { coordinates: mean.clone(), ..forms[0].clone() };
            centre.coordinates[at] += shift;
            forms.iter().map(|form| apart(form, &centre).powi(2)).sum()
        };
        for at in [0, 7, 30] {
            // Moved by h along one coordinate the sum grows by 4 h^2.
            assert!((summed(0.01, at) - summed(0.0, at) - 4e-4).abs() < 1e-12);
        }
    }
}
