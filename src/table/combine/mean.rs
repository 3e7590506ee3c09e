//! The mean of one vessel's scans.

use std::collections::BTreeMap;

use crate::quantity::{Budget, Source};

/// Scans whose value is below their own detection limit are left out of the mean when another scan's limit is this many
/// times lower: they only say 'less than', which the better scan says better. Common practice, no source.
const COARSER_LIMIT: f64 = 2.0;

/// One scan's value of one measure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ScanValue<'a> {
    /// The value.
    pub value: f64,
    /// The parts of its standard uncertainty.
    pub budget: Budget,
    /// What the scan would show of a perfect vessel.
    pub detection_limit: Option<f64>,
    /// The instrument, if the catalogue names one: its scans share its deviation.
    pub instrument: Option<&'a str>,
}

/// One vessel's value of one measure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct VesselValue {
    /// The weighted mean.
    pub value: f64,
    /// Its standard uncertainty.
    pub u: f64,
    /// The parts of it that the scans state.
    pub budget: Budget,
    /// The part from what instruments differ by beyond their stated uncertainties.
    pub u_between: f64,
    /// The part from the scatter of this vessel's scans beyond all that.
    pub u_scatter: f64,
    /// How many scans entered.
    pub n_scans: usize,
    /// The least detection limit of these scans.
    pub detection_limit: Option<f64>,
}

/// Scans by one instrument.
struct Group<'a, 'b> {
    scans: Vec<&'b ScanValue<'a>>,
    /// Weights of the scans, which sum to 1.
    weights: Vec<f64>,
    mean: f64,
    variance: f64,
}

/// The mean of a vessel's scans; `None` without scans.
///
/// Scans by one instrument are averaged by their own variances; they share the instrument's part, which averaging does not
/// lessen. Instruments are averaged by the variances of their means with `between`^2 added, the variance between
/// instruments that [`between_instruments`](super::between_instruments()) finds in the corpus. Where the scans scatter more than all this allows,
/// the uncertainty is multiplied by the Birge ratio.
///
/// # Units
/// Those of the measure.
///
/// # Example
/// Two equally good scans, 10.0 and 10.2 with u = 0.1: the mean is 10.1; their scatter is chi-square = 2 on one degree of
/// freedom, so that u is sqrt(2) times 0.1 / sqrt(2), which is 0.1.
/// ```
/// use tornus::quantity::{Budget, Source};
/// use tornus::table::combine::{ScanValue, combine};
/// let budget = Budget::of(Source::Noise, 0.1);
/// let scan = |value| ScanValue { value, budget, detection_limit: None, instrument: None };
/// let vessel = combine(&[scan(10.0), scan(10.2)], 0.0).expect("two scans");
/// assert!((vessel.value - 10.1).abs() < 1e-12);
/// assert!((vessel.u - 0.1).abs() < 1e-12);
/// ```
///
/// # References
/// Birge 1932, The calculation of errors by the method of least squares, Phys. Rev. 40, 207 (from memory).
/// JCGM 100:2008, clause F.1.2 (inputs that share an influence).
#[must_use]
pub fn combine(scans: &[ScanValue<'_>], between: f64) -> Option<VesselValue> {
    let used = informative(scans);
    let count = used.len();
    let groups = grouped(&used);
    let variances: Vec<f64> = groups.iter().map(|group| group.variance + between * between).collect();
    let weights = weights(&variances)?;
    let value: f64 = groups.iter().zip(&weights).map(|(group, w)| w * group.mean).sum();
    if !value.is_finite() {
        return None;
    }
    let budget =
        groups.iter().zip(&weights).fold(Budget::default(), |sum, (group, w)| sum.with(&group.budget().times(*w)));
    let u_between = between * weights.iter().map(|w| w * w).sum::<f64>().sqrt();
    let inner = budget.total().hypot(u_between);
    let u_scatter = (scatter(&groups, &variances, value, inner).powi(2) - inner * inner).max(0.0).sqrt();
    let detection_limit = used.iter().filter_map(|scan| scan.detection_limit).min_by(f64::total_cmp);
    Some(VesselValue {
        value,
        u: inner.hypot(u_scatter),
        budget,
        u_between,
        u_scatter,
        n_scans: count,
        detection_limit,
    })
}

/// The scans that say more than 'less than' what a better scan says.
fn informative<'a, 'b>(scans: &'b [ScanValue<'a>]) -> Vec<&'b ScanValue<'a>> {
    let least_limit = scans.iter().filter_map(|scan| scan.detection_limit).min_by(f64::total_cmp);
    let mere_bound = |scan: &&ScanValue<'_>| match (scan.detection_limit, least_limit) {
        (Some(limit), Some(least)) => scan.value < limit && limit > COARSER_LIMIT * least,
        _ => false,
    };
    scans.iter().filter(|scan| !mere_bound(scan)).collect()
}

/// Scans by instrument; one whose instrument is not named stands alone.
pub(super) fn means_by_instrument(scans: &[ScanValue<'_>]) -> Vec<(f64, f64)> {
    grouped(&informative(scans)).into_iter().map(|group| (group.mean, group.variance)).collect()
}

fn grouped<'a, 'b>(scans: &[&'b ScanValue<'a>]) -> Vec<Group<'a, 'b>> {
    let mut named: BTreeMap<(&str, usize), Vec<&'b ScanValue<'a>>> = BTreeMap::new();
    for (place, scan) in scans.iter().enumerate() {
        let key = scan.instrument.map_or(("", place + 1), |name| (name, 0));
        named.entry(key).or_default().push(scan);
    }
    named.into_values().filter_map(Group::of).collect()
}

impl<'a, 'b> Group<'a, 'b> {
    fn of(scans: Vec<&'b ScanValue<'a>>) -> Option<Self> {
        let own: Vec<f64> = scans.iter().map(|scan| own_variance(&scan.budget)).collect();
        let weights = weights(&own)?;
        let mean = scans.iter().zip(&weights).map(|(scan, w)| w * scan.value).sum();
        let mut group = Self { scans, weights, mean, variance: 0.0 };
        group.variance = group.budget().total().powi(2);
        Some(group)
    }

    /// The parts of the mean's uncertainty: the instrument's is shared, the others are each scan's own.
    fn budget(&self) -> Budget {
        let pairs = || self.scans.iter().zip(&self.weights);
        let shared: f64 = pairs().map(|(scan, w)| w * scan.budget.part(Source::Instrument)).sum();
        let own = Source::ALL.into_iter().filter(|source| *source != Source::Instrument);
        own.fold(Budget::of(Source::Instrument, shared), |budget, source| {
            pairs().fold(budget, |budget, (scan, w)| budget.and(source, w * scan.budget.part(source)))
        })
    }
}

fn own_variance(budget: &Budget) -> f64 {
    budget.total().powi(2) - budget.part(Source::Instrument).powi(2)
}

/// Weights by inverse variance that sum to 1; all equal where one variance is 0, which would take all the weight.
fn weights(variances: &[f64]) -> Option<Vec<f64>> {
    let exact = variances.iter().any(|variance| *variance <= 0.0);
    let raw: Vec<f64> = variances.iter().map(|variance| if exact { 1.0 } else { variance.recip() }).collect();
    let total: f64 = raw.iter().sum();
    (total.is_finite() && total > 0.0).then(|| raw.iter().map(|weight| weight / total).collect())
}

/// The uncertainty of the mean that the scatter of all scans shows; 0 with one scan.
fn scatter(groups: &[Group<'_, '_>], variances: &[f64], value: f64, inner: f64) -> f64 {
    let count: usize = groups.iter().map(|group| group.scans.len()).sum();
    if count < 2 {
        return 0.0;
    }
    let freedom = (count - 1) as f64;
    let scans = || groups.iter().flat_map(|group| group.scans.iter().map(move |scan| (group, scan)));
    if variances.iter().any(|v| *v <= 0.0) || scans().any(|(_, scan)| own_variance(&scan.budget) <= 0.0) {
        // Exact scans leave nothing to compare their scatter with: it is all there is.
        let squares: f64 = scans().map(|(_, scan)| (scan.value - value).powi(2)).sum();
        return (squares / freedom / count as f64).sqrt();
    }
    let within: f64 = scans().map(|(group, scan)| (scan.value - group.mean).powi(2) / own_variance(&scan.budget)).sum();
    let across: f64 = groups.iter().zip(variances).map(|(group, v)| (group.mean - value).powi(2) / v).sum();
    inner * ((within + across) / freedom).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn scan(value: f64, u: f64) -> ScanValue<'static> {
        ScanValue { value, budget: Budget::of(Source::Noise, u), detection_limit: None, instrument: None }
    }

    fn by(instrument: &'static str, value: f64, noise: f64, u_instrument: f64) -> ScanValue<'static> {
        let budget = Budget::of(Source::Noise, noise).and(Source::Instrument, u_instrument);
        ScanValue { value, budget, detection_limit: None, instrument: Some(instrument) }
    }

    fn near(found: f64, expected: f64) {
        assert!((found - expected).abs() < 1e-12, "{found} is not {expected}");
    }

    #[test]
    fn one_scan_is_itself_and_none_is_none() {
        let one = combine(&[scan(3.0, 0.5)], 0.0).unwrap();
        near(one.value, 3.0);
        near(one.u, 0.5);
        assert_eq!(combine(&[], 0.0), None);
    }

    #[test]
    fn the_better_scan_weighs_more() {
        // weights 1/1 and 1/0.25 = 4: (1 x 1.0 + 4 x 1.5) / 5 = 1.4; u = 1 / sqrt(5); chi-square = 0.16 + 0.04 < 1
        let mean = combine(&[scan(1.0, 1.0), scan(1.5, 0.5)], 0.0).unwrap();
        near(mean.value, 1.4);
        near(mean.u, 0.2_f64.sqrt());
    }

    #[test]
    fn exact_scans_do_not_divide_by_zero() {
        let mean = combine(&[scan(1.0, 0.0), scan(3.0, 0.0)], 0.0).unwrap();
        near(mean.value, 2.0);
        near(mean.u, 1.0); // standard deviation sqrt(2) over sqrt(2)
    }

    #[test]
    fn an_instrument_does_not_average_itself_away() {
        // Noise 0.3 / sqrt 2 and the instrument's 0.4 in full; with two instruments both halve their variance.
        let one = combine(&[by("a", 5.0, 0.3, 0.4), by("a", 5.0, 0.3, 0.4)], 0.0).unwrap();
        near(one.u, (0.045_f64 + 0.16).sqrt());
        near(one.budget.part(Source::Instrument), 0.4);
        let two = combine(&[by("a", 5.0, 0.3, 0.4), by("b", 5.0, 0.3, 0.4)], 0.0).unwrap();
        near(two.u, 0.5 / 2.0_f64.sqrt());
    }

    #[test]
    fn what_instruments_differ_by_makes_them_weigh_alike() {
        // Without the component b weighs 100 to 1; with one far greater than both, alike.
        let pair = [by("a", 1.0, 0.1, 0.0), by("b", 2.0, 0.01, 0.0)];
        assert!(combine(&pair, 0.0).unwrap().value > 1.98);
        let mean = combine(&pair, 10.0).unwrap();
        assert!((mean.value - 1.5).abs() < 1e-3);
        assert!((mean.u_between - 10.0 / 2.0_f64.sqrt()).abs() < 1e-3);
        near(mean.u, mean.budget.total().hypot(mean.u_between).hypot(mean.u_scatter));
    }

    #[test]
    fn a_coarse_scan_that_only_bounds_is_left_out() {
        let fine = ScanValue { detection_limit: Some(0.01), ..scan(0.02, 0.002) };
        let coarse = ScanValue { detection_limit: Some(0.1), ..scan(0.0, 0.002) };
        let mean = combine(&[fine, coarse], 0.0).unwrap();
        assert_eq!(mean.n_scans, 1);
        near(mean.value, 0.02);
        assert_eq!(mean.detection_limit, Some(0.01));
    }
}
