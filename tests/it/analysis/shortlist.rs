//! Choosing for tomography in simulated corpora: decisions put right per unit of cost.
//!
//! `TORNUS_FULL=1 cargo test --release --test it -- analysis::shortlist` draws 4,000 corpora.

use rand::Rng;
use rand::seq::SliceRandom;
use rand_distr::StandardNormal;
use rayon::prelude::*;
use tornus::Seed;
use tornus::analysis::Meridians;
use tornus::analysis::shortlist::{Belief, CtTerms, ShortlistInput, ShortlistParams, shortlist};
use tornus::table::{Column, Table};

const VESSELS: usize = 60;

/// Standard deviations at which the simulated comparison names a vessel.
const NAMED_AT: f64 = 3.0;

/// Spread of usual vessels, of the logarithm.
const USUAL: f64 = 0.4;

/// Share of unusual vessels, and how many times as far they deviate.
const UNUSUAL: f64 = 0.2;
const TIMES: f64 = 4.0;

/// The tomography's uncertainty, mm.
const U_CT_MM: f64 = 0.005;

/// One simulated vessel: how far it truly deviates, what its scan shows, and the variance of that.
struct Vessel {
    truth: f64,
    shown: f64,
    variance: f64,
    usual_mm: f64,
    roundness_mm: f64,
    cost: f64,
}

fn vessels(seed: Seed) -> Vec<Vessel> {
    let mut rng = seed.rng();
    let one = |_| {
        let mut normal = || rng.sample::<f64, _>(StandardNormal);
        let (a, b) = (normal(), normal());
        let unusual = rng.gen_bool(UNUSUAL);
        let truth = USUAL * a * if unusual { TIMES } else { 1.0 };
        // From lathe work, which a tomography hardly resolves, to work by eye.
        let usual_mm = 0.005 * 100.0_f64.powf(rng.gen_range(0.0..1.0));
        let roundness_mm = usual_mm * truth.exp();
        // From a good scanner to one whose noise is as large as the deviation.
        let relative = 0.02 * 40.0_f64.powf(rng.gen_range(0.0..1.0));
        Vessel {
            truth,
            shown: truth + relative * b,
            variance: relative * relative,
            usual_mm,
            roundness_mm,
            // From a small piece to a heavy one that needs the strong machine.
            cost: 5.0 * 12.0_f64.powf(rng.gen_range(0.0..1.0)),
        }
    };
    (0..VESSELS).map(one).collect()
}

fn is_named(value: f64, variance: f64) -> bool {
    value.abs() > NAMED_AT * (USUAL * USUAL + variance).sqrt()
}

/// The tables a comparison of these vessels would leave.
fn tables(vessels: &[Vessel]) -> (Vec<Table>, Meridians) {
    let ids = || (0..vessels.len()).map(|k| format!("{k:02}"));
    let floats = |name: &str, value: &dyn Fn(&Vessel) -> f64| Column::floats(name, vessels.iter().map(value));
    let named = |vessel: &Vessel| is_named(vessel.shown, vessel.variance);
    let spread = |vessel: &Vessel| (USUAL * USUAL + vessel.variance).sqrt();
    let seen = |vessel: &Vessel| vessel.usual_mm * vessel.shown.exp();
    let table = |name: &str, columns: Vec<Column>| Table::new(name, columns).expect("finite and even");
    let stations = vessels.len() * 4;
    let profiles = table(
        "profiles",
        vec![
            Column::texts("scan_id", (0..stations).map(|k| format!("{:02}", k / 4))),
            Column::texts("wall", (0..stations).map(|k| if k % 4 < 2 { "outer" } else { "inner" })),
            Column::integers("station", (0..stations).map(|k| (k % 2) as i64)),
            Column::floats("height_mm", (0..stations).map(|k| [0.0, 60.0, 5.0, 60.0][k % 4])),
            Column::floats("radius_mm", (0..stations).map(|k| [30.0, 30.0, 25.0, 25.0][k % 4])),
        ],
    );
    let mut meridians = Meridians::default();
    meridians.add(&profiles).expect("stations of scans");
    let tables = vec![
        table(
            "scans",
            vec![
                Column::texts("scan_id", ids()),
                Column::texts("vessel_id", ids()),
                Column::floats("coverage_inner", vec![1.0; vessels.len()]),
            ],
        ),
        table(
            "vessels",
            vec![
                Column::texts("vessel_id", ids()),
                Column::texts("material", vec!["quartzite"; vessels.len()]),
                Column::floats("density_g_cm3", vec![2.65; vessels.len()]),
                floats("ct_cost", &|vessel| vessel.cost),
            ],
        ),
        table(
            "measures",
            vec![
                Column::texts("vessel_id", ids()),
                Column::texts("measure", vec!["roundness_outer"; vessels.len()]),
                floats("value", &seen),
                floats("u", &|vessel| vessel.variance.sqrt() * seen(vessel)),
            ],
        ),
        table(
            "precision_residuals",
            vec![
                Column::texts("vessel_id", ids()),
                Column::texts("measure", vec!["roundness_outer"; vessels.len()]),
                floats("spread", &spread),
                Column::optional_flags("bound", vessels.iter().map(|_| Some(false))),
            ],
        ),
        table(
            "outliers",
            vec![
                Column::texts("vessel_id", ids()),
                floats("precision_residual", &|vessel| vessel.shown),
                floats("precision_spread", &spread),
                // Two-sided p of three standard deviations is 0.0027: where this comparison begins to name.
                floats("precision_p", &|vessel| if named(vessel) { 0.0026 } else { 0.5 }),
                Column::optional_flags("precision_bound", vessels.iter().map(|_| Some(false))),
                Column::optional_flags("precision_outlier", vessels.iter().map(|vessel| Some(named(vessel)))),
            ],
        ),
    ];
    (tables, meridians)
}

/// Decisions put right, less those put wrong, by scanning these vessels: the likeliest class by the scan alone against the
/// likeliest by scan and tomography, both of one who knows the population.
fn put_right(vessels: &[Vessel], chosen: &[usize], rng: &mut impl Rng) -> f64 {
    let bound = NAMED_AT * USUAL;
    let population = Belief::of_population(USUAL * USUAL, UNUSUAL, (TIMES * USUAL).powi(2));
    let likeliest = |belief: &Belief| {
        let classes = belief.classes(&[-bound, bound]);
        (0..3).max_by(|&a, &b| classes[a].total_cmp(&classes[b])).expect("three classes")
    };
    let one = |&k: &usize| {
        let Vessel { truth, shown, variance, roundness_mm, .. } = &vessels[k];
        let ct = (U_CT_MM / roundness_mm).powi(2);
        let read = truth + ct.sqrt() * rng.sample::<f64, _>(StandardNormal);
        let right = usize::from(*truth > -bound) + usize::from(*truth > bound);
        let before = population.measured(*shown, *variance);
        let after = before.measured(read, ct);
        f64::from(u8::from(likeliest(&after) == right)) - f64::from(u8::from(likeliest(&before) == right))
    };
    chosen.iter().map(one).sum()
}

fn within(vessels: &[Vessel], order: &[usize], budget: f64) -> Vec<usize> {
    let mut left = budget;
    let fits = |k: &&usize| {
        let taken = vessels[**k].cost <= left;
        left -= if taken { vessels[**k].cost } else { 0.0 };
        taken
    };
    order.iter().filter(fits).copied().collect()
}

#[test]
fn the_chosen_set_puts_more_right_than_chance_or_doubt_alone() {
    let corpora = if std::env::var_os("TORNUS_FULL").is_some() { 4_000 } else { 1_000_u64 };
    let budget = 60.0; // of about 1,330 that all would cost
    let terms = CtTerms { budget, u_ct_mm: U_CT_MM, ..CtTerms::default() };
    let params = ShortlistParams::new(terms).expect("terms in range");
    let totals: Vec<[f64; 5]> = (0..corpora)
        .into_par_iter()
        .map(|item| {
            let seed = Seed::new(item);
            let vessels = vessels(seed);
            let (tables, meridians) = tables(&vessels);
            let found = shortlist(&ShortlistInput::new(&tables, &meridians), &params, seed).expect("whole tables");
            let place = |id: &str| id.parse::<usize>().expect("numbered vessels");
            let list = |keep: &dyn Fn(bool) -> bool| -> Vec<usize> {
                found.candidates.iter().filter(|c| keep(c.chosen)).map(|c| place(&c.vessel)).collect()
            };
            let chosen = list(&|chosen| chosen);
            let sure = |k: &usize| {
                let decisions = &found.candidates.iter().find(|c| place(&c.vessel) == *k).expect("listed").decisions;
                decisions.iter().map(|d| d.gain.now).fold(1.0, f64::min)
            };
            let mut doubtful: Vec<usize> = (0..VESSELS).collect();
            doubtful.sort_by(|a, b| sure(a).total_cmp(&sure(b)));
            let mut noisy: Vec<usize> = (0..VESSELS).collect();
            noisy.sort_by(|&a, &b| vessels[b].variance.total_cmp(&vessels[a].variance));
            let mut random: Vec<usize> = (0..VESSELS).collect();
            random.shuffle(&mut seed.derive(7).rng());
            let right = |chosen: &[usize]| put_right(&vessels, chosen, &mut seed.derive(9).rng());
            let expected: f64 = found.candidates.iter().filter(|c| c.chosen).map(|c| c.value).sum();
            [
                right(&chosen),
                right(&within(&vessels, &doubtful, budget)),
                right(&within(&vessels, &noisy, budget)),
                right(&within(&vessels, &random, budget)),
                expected,
            ]
        })
        .collect();
    let mean = |k: usize| totals.iter().map(|total| total[k]).sum::<f64>() / corpora as f64;
    let [chosen, doubtful, noisy, random, expected] = [0, 1, 2, 3, 4].map(mean);
    println!(
        "decisions put right for {budget}: chosen {chosen:.3} (expected {expected:.3}), least certain first {doubtful:.3}, noisiest first {noisy:.3}, at random {random:.3}"
    );
    let error = |k: usize| {
        let squares: f64 = totals.iter().map(|total| (total[0] - total[k] - chosen + mean(k)).powi(2)).sum();
        (squares / corpora as f64 / corpora as f64).sqrt()
    };
    for (k, other) in [(1, doubtful), (2, noisy), (3, random)] {
        assert!(chosen - other > 2.0 * error(k), "{k}: {chosen} {other} {}", error(k));
    }
    // What was promised is kept to within a quarter: the share and spread of unusual vessels are estimated.
    assert!((chosen / expected - 1.0).abs() < 0.25, "{chosen} {expected}");
}
