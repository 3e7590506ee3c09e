//! Lines and arcs of meridians that were drawn from lines and arcs: their number, radii, joints and intervals.

use rand_distr::{Distribution, StandardNormal};
use tornus::Seed;
use tornus::profile::arcs::{ArcStation, Pieces, split};

/// A planned piece: length in mm, curvature in 1/mm, kink before it in rad.
#[derive(Clone, Copy)]
struct Planned(f64, f64, f64);

/// Place and direction at an arc length along planned pieces, from (20, 0) at 0.3 rad.
fn walk(pieces: &[Planned], arc: f64) -> ([f64; 2], [f64; 2]) {
    let (mut at, mut heading, mut left) = ([20.0, 0.0], 0.3_f64, arc);
    for &Planned(length, curvature, kink) in pieces {
        heading += kink;
        let way = left.min(length);
        let half = 0.5 * way * curvature;
        let chord = if half.abs() < 1e-12 { way } else { way * half.sin() / half };
        at = [at[0] + chord * (heading + half).cos(), at[1] + chord * (heading + half).sin()];
        heading += curvature * way;
        left -= way;
        if left <= 0.0 {
            break;
        }
    }
    (at, [heading.cos(), heading.sin()])
}

/// Stations a `spacing` apart with independent noise of `u_mm` along the normal.
fn stations(pieces: &[Planned], spacing: f64, u_mm: f64, seed: u64) -> Vec<ArcStation> {
    let mut rng = Seed::new(seed).rng();
    let length: f64 = pieces.iter().map(|piece| piece.0).sum();
    (0..(length / spacing) as usize)
        .map(|index| {
            let (place, way) = walk(pieces, spacing * (index as f64 + 0.37));
            let draw: f64 = StandardNormal.sample(&mut rng);
            let off = u_mm * draw;
            ArcStation { radius_mm: place[0] - off * way[1], height_mm: place[1] + off * way[0], u_mm }
        })
        .collect()
}

/// Seeded simulations: 200 here, 2,000 with `TORNUS_FULL=1`.
fn runs() -> u64 {
    if std::env::var_os("TORNUS_FULL").is_some() { 2000 } else { 200 }
}

#[derive(Default)]
struct Tally {
    right: u64,
    radii: [u64; 2],
    joints: [u64; 2],
}

impl Tally {
    fn count(&mut self, found: &Pieces, planned: &[Planned]) {
        let same = found.pieces.len() == planned.len()
            && found.pieces.iter().zip(planned).all(|(found, planned)| found.bent == (planned.1.abs() > 0.0));
        if !same {
            return;
        }
        self.right += 1;
        for (piece, planned) in found.pieces.iter().zip(planned) {
            let [value, u] = piece.curvature;
            self.radii[0] += 1;
            self.radii[1] += u64::from((value - planned.1).abs() <= 1.96 * u);
        }
        let mut arc = 0.0;
        for (joint, piece) in found.joints.iter().zip(planned) {
            arc += piece.0;
            let (place, way) = walk(planned, arc);
            let off = (joint.place[0] - place[0]) * way[0] + (joint.place[1] - place[1]) * way[1];
            self.joints[0] += 1;
            self.joints[1] += u64::from(off.abs() <= 1.96 * joint.u_along_mm);
        }
    }
}

/// The forms: a cone, an arc, a touch, a corner, a turn of the bend, a vessel, and the two rims.
fn forms() -> Vec<Vec<Planned>> {
    let quarter = std::f64::consts::FRAC_PI_2;
    vec![
        vec![Planned(100.0, 0.0, 0.0)],
        vec![Planned(100.0, 1.0 / 80.0, 0.0)],
        vec![Planned(50.0, 0.0, 0.0), Planned(50.0, 1.0 / 30.0, 0.0)],
        vec![Planned(50.0, 0.0, 0.0), Planned(50.0, 0.0, 0.7)],
        vec![Planned(40.0, 1.0 / 40.0, 0.0), Planned(40.0, -1.0 / 25.0, 0.0)],
        vec![
            Planned(25.0, 0.0, 0.0),
            Planned(12.0, 1.0 / 8.0, 0.0),
            Planned(60.0, 1.0 / 60.0, 0.0),
            Planned(40.0, -1.0 / 40.0, 0.0),
            Planned(15.0, 0.0, 0.0),
            Planned(8.0, 0.0, quarter),
        ],
        vec![Planned(40.0, 0.0, 0.0), Planned(14.0, 0.0, quarter), Planned(40.0, 0.0, quarter)],
        vec![Planned(40.0, 0.0, 0.0), Planned(14.0, 1.0 / 150.0, quarter), Planned(40.0, 0.0, quarter)],
    ]
}

/// Each form is found with its number of pieces and their kinds in 95 of 100 scans, and over all forms the intervals of
/// curvature (so of radius) and of the joints' places hold the truth in 93 to 97 of 100. The eight forms give some 4,600
/// curvatures in the quick run, whose share has a standard deviation of 0.3 %.
#[test]
fn planned_pieces_are_found_with_their_uncertainty() {
    for (spacing, u_mm) in [(1.0, 0.02), (0.5, 0.005)] {
        let mut all = Tally::default();
        for planned in forms() {
            let mut own = Tally::default();
            for seed in 0..runs() {
                let found = split(&stations(&planned, spacing, u_mm, seed), 0.0);
                own.count(&found, &planned);
                all.count(&found, &planned);
            }
            assert!(own.right * 100 >= runs() * 95, "{} pieces: right in {} of {}", planned.len(), own.right, runs());
        }
        for (what, [count, held]) in [("curvature", all.radii), ("joint", all.joints)] {
            let share = held as f64 / count as f64;
            println!("u = {u_mm} mm, {what}: {share:.3} of {count}");
            assert!((0.93..=0.97).contains(&share), "u = {u_mm} mm, {what}: {share:.3} of {count}");
        }
    }
}

/// A top 14 mm wide of radius 150 mm rises 14^2 / (8 x 150) = 0.16 mm: stations of u = 0.02 mm tell it from a flat one, those
/// of u = 0.5 mm do not, and then it stands as a line whose curvature leaves 1/150 open.
#[test]
fn a_rounded_rim_is_told_from_a_flat_one_where_the_scan_allows_it() {
    let planned = &forms()[7];
    let middle = |u_mm| split(&stations(planned, 0.5, u_mm, 3), 0.0).pieces.swap_remove(1);
    let fine = middle(0.02);
    assert!(fine.bent && (1.0 / fine.curvature[0] - 150.0).abs() < 3.0 * fine.curvature[1] * 150.0 * 150.0);
    let coarse = middle(0.5);
    assert!(!coarse.bent && (coarse.curvature[0] - 1.0 / 150.0).abs() < 3.0 * coarse.curvature[1]);
}

/// Noise that neighbours share (an autoregression of 0.7) makes no pieces: a cone stays one line in nine scans of ten.
#[test]
fn correlated_noise_makes_no_pieces() {
    let cone = [Planned(100.0, 0.0, 0.0)];
    let right = (0..100)
        .filter(|seed| {
            let mut found = stations(&cone, 0.5, 0.02, *seed);
            let ideal = stations(&cone, 0.5, 0.0, *seed);
            let mut shared = 0.0;
            for (station, ideal) in found.iter_mut().zip(&ideal) {
                let fresh = (station.radius_mm - ideal.radius_mm).hypot(station.height_mm - ideal.height_mm)
                    * (station.height_mm - ideal.height_mm).signum();
                shared = 0.7 * shared + (1.0_f64 - 0.49).sqrt() * fresh;
                let (_, way) = walk(&cone, 0.0);
                station.radius_mm = ideal.radius_mm - shared * way[1];
                station.height_mm = ideal.height_mm + shared * way[0];
            }
            let pieces = split(&found, 0.0).pieces;
            pieces.len() == 1 && !pieces[0].bent
        })
        .count();
    assert!(right >= 90, "{right} of 100");
}
