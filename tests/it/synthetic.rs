//! The oracle checked by independent means: mesh integrals, direct Fourier sums, another circle fit, values by hand.

use std::collections::BTreeMap;
use std::f64::consts::{PI, TAU};

use nalgebra::{Matrix3, Point3, Vector3};
use tornus::synthetic::{
    CentreLine, Corner, Coverage, FileFormat, HandlePlan, Interior, Meridian, Noise, Patch, PlannedHarmonic, Pose,
    Sampling, ScanPlan, Sector, VesselForm, VesselPlan, Wall, Workmanship, write,
};
use tornus::{LengthUnit, Millimetre, Scan, Seed, Upr};

fn upr(n: u16) -> Upr {
    Upr::new(n).unwrap()
}

fn vessel(form: VesselForm, roundness_mm: f64, seed: u64) -> VesselPlan {
    let seed = Seed::new(seed);
    VesselPlan::new(form.meridian(Millimetre::new(60.0), 0.04, seed).unwrap())
        .with_workmanship(&Workmanship::of_roundness(roundness_mm), seed.derive(1))
}

/// A plain cylindrical cup: radius 40 mm, height 80 mm, wall and floor 5 mm.
fn cup() -> VesselPlan {
    let corners = [Corner::new(40.0, 0.0, 1.0), Corner::new(40.0, 80.0, 0.0)];
    VesselPlan::new(Meridian::from_corners(&corners, 0, 5.0, 5.0, 0.0).unwrap())
}

/// Sum over triangles of the flux of `field`, which is constant enough on each to be taken at three inner points.
fn flux(scan: &Scan, field: impl Fn(Point3<f64>) -> Vector3<f64>) -> f64 {
    let corners = scan.vertices();
    scan.triangles()
        .iter()
        .map(|triangle| {
            let [a, b, c] = triangle.map(|corner| corners[corner as usize]);
            let twice_area = (b - a).cross(&(c - a));
            // Degree 2 rule: middles of the edges.
            let middles = [(a, b), (b, c), (c, a)].map(|(p, q)| nalgebra::center(&p, &q));
            middles.into_iter().map(|p| field(p).dot(&twice_area) / 6.0).sum::<f64>()
        })
        .sum()
}

#[test]
fn full_scans_are_closed_and_face_outwards() {
    for (index, form) in VesselForm::ALL.into_iter().enumerate() {
        let plan = ScanPlan::usual(20_000, 0.01, Seed::new(5));
        let scan = vessel(form, 0.2, index as u64).scan(&plan, Seed::new(7)).unwrap();
        let mut edges = BTreeMap::new();
        for [a, b, c] in scan.triangles() {
            for edge in [(a, b), (b, c), (c, a)] {
                *edges.entry(edge).or_insert(0) += 1;
            }
        }
        assert!(edges.iter().all(|(&(a, b), &count)| count == 1 && edges.get(&(b, a)) == Some(&1)), "{form:?}");
        assert!(flux(&scan, |p| p.coords / 3.0) > 0.0, "{form:?} is inside out");
        assert_eq!(scan.degenerate_triangles(), 0);
        let ratio = scan.triangles().len() as f64 / 20_000.0;
        assert!((ratio - 1.0).abs() < 0.03, "{form:?}: {ratio} of the triangles wanted");
    }
}

#[test]
fn volumes_agree_with_the_divergence_theorem() {
    for (index, form) in VesselForm::ALL.into_iter().enumerate() {
        // The truth leaves the lifts of rim and foot out of volumes.
        let level = Workmanship { rim_mm: 0.0, ..Workmanship::of_roundness(0.5) };
        let seed = Seed::new(20 + index as u64);
        let meridian = form.meridian(Millimetre::new(60.0), 0.04, seed).unwrap();
        let vessel = VesselPlan::new(meridian).with_workmanship(&level, seed);
        let truth = vessel.truth(upr(50));
        let volumes = |triangles| {
            let plan = ScanPlan { pose: Pose::random(Seed::new(3)), ..ScanPlan::of(triangles) };
            let body = flux(&vessel.scan(&plan, Seed::new(1)).unwrap(), |p| p.coords / 3.0);
            // Without the inside the mesh ends at the rim's top, where this field has no flux through the missing lid.
            let open = Coverage { interior: Interior::Unseen, ..Coverage::whole() };
            let outside = vessel.scan(&ScanPlan { coverage: open, ..ScanPlan::of(triangles) }, Seed::new(1)).unwrap();
            let within = flux(&outside, |p| Vector3::z() * (p.z - truth.height_mm));
            [body, within - body]
        };
        // Chords lose volume as the square of the spacing, so as 1/triangles: the extrapolation takes most of it away.
        let (coarse, fine) = (volumes(100_000), volumes(400_000));
        for (name, wanted, which) in [("body", truth.body_volume_mm3, 0), ("capacity", truth.capacity_mm3, 1)] {
            let found = fine[which] + (fine[which] - coarse[which]) / 3.0;
            let off = found / wanted - 1.0;
            assert!(off.abs() < 2e-4, "{form:?} {name}: {found} for {wanted}, {off:e}");
        }
    }
}

#[test]
fn a_cup_by_hand() {
    let truth = cup().truth(upr(50));
    let close =
        |found: f64, wanted: f64, tolerance: f64| assert!((found - wanted).abs() < tolerance, "{found} {wanted}");
    close(truth.height_mm, 80.0, 1e-9);
    close(truth.max_diameter_mm, 80.0, 1e-9);
    close(truth.rim_diameter_mm, 75.0, 1e-9); // the lip is round: highest in the middle of the wall
    close(truth.foot_diameter_mm, 78.0, 1e-9); // the flat ends where the edge's rounding of 1 mm starts
    // The body's 33 heights are 2 mm apart from 8 mm; below 16 mm the floor's corner (rounding 11 mm) thickens the wall. At 8 mm
    // the corner leans by asin(8 / 11), more than 45 degrees: that height is left out.
    let corner: f64 = [10.0, 12.0, 14.0].iter().map(|z: &f64| 11.0 - (121.0 - (16.0 - z).powi(2)).sqrt()).sum();
    close(truth.wall_mean_mm, 5.0 + corner / 32.0, 1e-6);
    assert_eq!(truth.neck_diameter_mm, None);
    close(truth.roundness_outer_mm, 0.0, 1e-12);
    // Cylinder of 35 mm over 75 mm, less the ring in the floor's corner (rounding 11 mm), plus the ring within the lip (2.5 mm).
    let ring = |rounding: f64, wall: f64, outwards: f64| {
        let area = rounding * rounding * (1.0 - PI / 4.0);
        // Distance of the corner's remainder from the wall: (10 - 3 pi) / (12 - 3 pi) of the rounding.
        let inset = rounding * (10.0 - 3.0 * PI) / (12.0 - 3.0 * PI);
        TAU * (wall + outwards * inset) * area
    };
    let wanted = PI * 35.0 * 35.0 * 75.0 - ring(11.0, 35.0, -1.0) + ring(2.5, 35.0, 1.0);
    close(truth.capacity_mm3, wanted, 1e-6 * wanted);
}

#[test]
fn vertices_lie_on_the_stated_curves() {
    let vessel = vessel(VesselForm::Jar, 0.3, 4);
    let height = vessel.meridian().height_mm();
    let scan =
        vessel.scan(&ScanPlan { sampling: Sampling { jitter: 0.4, uneven: 0.5 }, ..ScanPlan::of(6000) }, Seed::new(2));
    let mut tried = 0;
    for vertex in scan.unwrap().vertices() {
        if vertex.z < 0.15 * height || vertex.z > 0.9 * height {
            continue;
        }
        let off = [Wall::Outer, Wall::Inner].map(|wall| {
            let [x, y] = vessel.centre(wall, vertex.z).unwrap();
            let (x, y) = (vertex.x - x, vertex.y - y);
            let theta = y.atan2(x);
            let deviation: f64 = (2..=150)
                .map(|n| {
                    let harmonic = vessel.harmonic(wall, vertex.z, upr(n)).unwrap();
                    harmonic.amplitude_mm * (f64::from(n) * theta - harmonic.phase_rad).cos()
                })
                .sum();
            (x.hypot(y) - vessel.radius(wall, vertex.z).unwrap() - deviation).abs()
        });
        assert!(off[0].min(off[1]) < 1e-9, "{vertex}: {off:?}");
        tried += 1;
    }
    assert!(tried > 1000, "{tried}");
}

/// Points of a section, as the surface has them.
fn section(vessel: &VesselPlan, height: f64, count: u32) -> Vec<Point3<f64>> {
    let meridian = vessel.meridian();
    let (mut low, mut high) = (meridian.foot_arc(), meridian.rim_arc());
    for _ in 0..80 {
        let middle = 0.5 * (low + high);
        if meridian.at(middle).height_mm < height { low = middle } else { high = middle }
    }
    (0..count).map(|i| vessel.surface(low, TAU * f64::from(i) / f64::from(count)).position).collect()
}

#[test]
fn harmonics_agree_with_direct_fourier_sums() {
    let vessel = vessel(VesselForm::Bottle, 0.4, 9);
    let height = 0.4 * vessel.meridian().height_mm();
    let [x, y] = vessel.centre(Wall::Outer, height).unwrap();
    let points = section(&vessel, height, 1000);
    for n in [2, 3, 7, 50, 150] {
        let (mut cosine, mut sine) = (0.0, 0.0);
        for point in &points {
            let (dx, dy) = (point.x - x, point.y - y);
            let turn = f64::from(n) * dy.atan2(dx);
            cosine += 2.0 / 1000.0 * dx.hypot(dy) * turn.cos();
            sine += 2.0 / 1000.0 * dx.hypot(dy) * turn.sin();
        }
        let planned = vessel.harmonic(Wall::Outer, height, upr(n)).unwrap();
        let (a, b) = (planned.amplitude_mm * planned.phase_rad.cos(), planned.amplitude_mm * planned.phase_rad.sin());
        assert!((cosine - a).abs() < 1e-9 && (sine - b).abs() < 1e-9, "{n} UPR: {cosine} {sine} for {a} {b}");
    }
}

#[test]
fn roundness_agrees_with_another_circle_fit() {
    let vessel = vessel(VesselForm::Beaker, 0.4, 11);
    for share in [0.2, 0.5, 0.8] {
        let height = share * vessel.meridian().height_mm();
        let points = section(&vessel, height, 20_000);
        // Newton's method on the sum of squared distances, with its full 3 x 3 normal matrix.
        let mut state = Vector3::new(0.0, 0.0, 60.0);
        for _ in 0..20 {
            let (mut normal, mut right) = (Matrix3::zeros(), Vector3::zeros());
            for point in &points {
                let (dx, dy) = (point.x - state.x, point.y - state.y);
                let row = Vector3::new(-dx / dx.hypot(dy), -dy / dx.hypot(dy), -1.0);
                normal += row * row.transpose();
                right -= row * (dx.hypot(dy) - state.z);
            }
            state += normal.lu().solve(&right).unwrap();
        }
        let distances: Vec<f64> = points.iter().map(|p| (p.x - state.x).hypot(p.y - state.y)).collect();
        let highest = distances.iter().copied().max_by(f64::total_cmp).unwrap();
        let lowest = distances.iter().copied().min_by(f64::total_cmp).unwrap();
        let stated = vessel.roundness(Wall::Outer, height, None).unwrap();
        // 20,000 points leave (pi 150/20000)^2/2 of the highest harmonic's amplitude unseen: far below 1e-5 mm.
        assert!((highest - lowest - stated).abs() < 1e-5, "{} for {stated}", highest - lowest);
    }
}

#[test]
fn workmanship_meets_the_roundness_it_names() {
    for form in VesselForm::ALL {
        let truth = vessel(form, 0.15, 30).truth(upr(50));
        // Scaled in one step: what is left is the square of deviation over radius.
        assert!((truth.roundness_outer_mm / 0.15 - 1.0).abs() < 1e-4, "{form:?} {}", truth.roundness_outer_mm);
        assert!((truth.roundness_inner_mm / 0.18 - 1.0).abs() < 1e-4, "{form:?} {}", truth.roundness_inner_mm);
    }
}

#[test]
fn coaxiality_of_a_tilted_inside_by_hand() {
    // Offset 0.3 mm, shifted by 0.1 mm more at the rim and less at the foot; the body ends at 10 and 90 % (t = 0.8).
    let line = CentreLine::offset(0.3, 1.0).with_term(1, 0.1, 1.0);
    let truth = cup().with_centre_line(Wall::Inner, line).truth(upr(50));
    assert!((truth.coaxiality_inner_mm - 2.0 * (0.3 + 0.08)).abs() < 1e-9, "{}", truth.coaxiality_inner_mm);
    assert!((truth.axis_straightness_outer_mm).abs() < 1e-12);
}

#[test]
fn scans_do_not_depend_on_the_number_of_threads() {
    let vessel = vessel(VesselForm::Globular, 0.2, 2);
    let plan = ScanPlan {
        noise: Noise { white_mm: 0.02, correlated_mm: 0.01, length_mm: 3.0 },
        smoothing: 2,
        ..ScanPlan::usual(8000, 0.02, Seed::new(1))
    };
    let scans = [1, 3].map(|threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| vessel.scan(&plan, Seed::new(4)).unwrap())
    });
    assert_eq!(scans[0], scans[1]);
}

#[test]
fn noise_has_the_stated_standard_deviation_along_the_normal() {
    let vessel = cup();
    let seed = Seed::new(6);
    let clean = vessel.scan(&ScanPlan::of(60_000), seed).unwrap();
    let noises = [Noise::white(0.05), Noise { white_mm: 0.0, correlated_mm: 0.05, length_mm: 2.0 }];
    // About 30,000 independent draws: 0.4 % standard deviation; correlated over 2 mm about 2,500 patches: 1.5 %, and the
    // plane waves' own scatter. Five times either.
    for (noise, tolerance) in noises.into_iter().zip([0.02, 0.12]) {
        let noisy = vessel.scan(&ScanPlan { noise, ..ScanPlan::of(60_000) }, seed).unwrap();
        let shifts = || noisy.vertices().iter().zip(clean.vertices()).map(|(p, q)| (p - q).norm_squared());
        let sd = (shifts().sum::<f64>() / shifts().count() as f64).sqrt();
        assert!((sd / 0.05 - 1.0).abs() < tolerance, "{sd}");
    }
}

#[test]
fn coverage_leaves_out_what_it_names() {
    let vessel = cup();
    let seen = |coverage| vessel.scan(&ScanPlan { coverage, ..ScanPlan::of(20_000) }, Seed::new(1)).unwrap();
    let depth = seen(Coverage { interior: Interior::ToDepth(30.0), underside: false, ..Coverage::whole() });
    assert!(depth.vertices().iter().all(|p| p.x.hypot(p.y) > 34.0 && (p.x.hypot(p.y) > 36.0 || p.z >= 50.0)));
    assert!(depth.vertices().iter().any(|p| p.x.hypot(p.y) < 36.0));
    let sector = Sector { from_rad: 0.0, width_rad: TAU / 3.0 };
    let third = seen(Coverage { missing: Some(sector), ..Coverage::whole() });
    let inside = |p: &Point3<f64>| (0.05..TAU / 3.0 - 0.05).contains(&p.y.atan2(p.x));
    assert!(!third.vertices().iter().any(|p| p.x.hypot(p.y) > 10.0 && inside(p)));
}

#[test]
fn clutter_stands_where_it_was_put() {
    let vessel = cup();
    let handle = HandlePlan { azimuth_rad: 0.0, low_mm: 20.0, high_mm: 60.0, reach_mm: 25.0, strap_radius_mm: 5.0 };
    let patches = vec![
        Patch::RimChip { azimuth_rad: PI, width_mm: 15.0, depth_mm: 4.0 },
        Patch::Lug { azimuth_rad: 0.5 * PI, height_mm: 40.0, width_mm: 16.0, proud_mm: 6.0 },
        Patch::FootWear { azimuth_rad: -0.5 * PI, width_mm: 30.0, depth_mm: 0.8 },
    ];
    let scan = vessel.scan(&ScanPlan { handles: vec![handle], patches, ..ScanPlan::of(60_000) }, Seed::new(1)).unwrap();
    let greatest =
        |value: &dyn Fn(&Point3<f64>) -> f64| scan.vertices().iter().map(value).max_by(f64::total_cmp).unwrap();
    // The strap's middle stands 25 mm off, less half its radius of sinking in, plus its radius.
    assert!((greatest(&|p| p.x) - (40.0 + 25.0 - 2.5 + 5.0)).abs() < 0.1);
    assert!((greatest(&|p| p.y) - 46.0).abs() < 0.1);
    let chipped = greatest(&|p| if p.y.abs() < 1.0 && p.x < -30.0 { p.z } else { 0.0 });
    assert!((chipped - 76.0).abs() < 0.2, "{chipped}");
    let worn = -greatest(&|p| if p.x.abs() < 1.0 && p.y < -37.0 { -p.z } else { -99.0 });
    assert!(worn > 0.3, "{worn}");
    // The strap faces outwards: its flux adds its volume, about its length times its section, to the cup's.
    let plain = vessel.scan(&ScanPlan::of(60_000), Seed::new(1)).unwrap();
    let gain = flux(&scan, |p| p.coords / 3.0) - flux(&plain, |p| p.coords / 3.0);
    assert!((3000.0..9000.0).contains(&gain), "{gain}");
}

#[test]
fn smoothing_takes_noise_away_and_keeps_the_size() {
    let vessel = cup();
    let plan = ScanPlan { noise: Noise::white(0.05), ..ScanPlan::of(40_000) };
    let spread = |smoothing| {
        let scan = vessel.scan(&ScanPlan { smoothing, ..plan.clone() }, Seed::new(3)).unwrap();
        let on_wall = |p: &&Point3<f64>| (20.0..60.0).contains(&p.z) && p.x.hypot(p.y) > 37.5;
        let radii: Vec<f64> = scan.vertices().iter().filter(on_wall).map(|p| p.x.hypot(p.y)).collect();
        let mean = radii.iter().sum::<f64>() / radii.len() as f64;
        (mean, (radii.iter().map(|r| (r - mean).powi(2)).sum::<f64>() / radii.len() as f64).sqrt())
    };
    let (rough, smooth) = (spread(0), spread(5));
    assert!(smooth.1 < 0.6 * rough.1, "{smooth:?} {rough:?}");
    assert!((smooth.0 - rough.0).abs() < 0.01);
}

#[test]
fn files_hold_what_the_scan_holds() {
    let scan = cup().scan(&ScanPlan::of(2000), Seed::new(1)).unwrap();
    let (points, triangles) = (scan.vertices().len(), scan.triangles().len());
    let bytes = |format, unit| {
        let mut out = Vec::new();
        write(&mut out, &scan, format, unit).unwrap();
        out
    };
    assert_eq!(bytes(FileFormat::StlBinary, LengthUnit::Millimetre).len(), 84 + 50 * triangles);
    for format in [FileFormat::PlyLittle, FileFormat::PlyBig] {
        let file = bytes(format, LengthUnit::Metre);
        let end = file.windows(11).position(|text| text == b"end_header\n").unwrap() + 11;
        assert_eq!(file.len() - end, 12 * points + 13 * triangles);
        let first: [u8; 4] = file[end..end + 4].try_into().unwrap();
        let x = if format == FileFormat::PlyLittle { f32::from_le_bytes(first) } else { f32::from_be_bytes(first) };
        assert!((f64::from(x) - scan.vertices()[0].x / 1000.0).abs() < 1e-9);
    }
    let obj = String::from_utf8(bytes(FileFormat::Obj, LengthUnit::Inch)).unwrap();
    assert_eq!(obj.lines().filter(|line| line.starts_with("v ")).count(), points);
    assert_eq!(obj.lines().filter(|line| line.starts_with("f ")).count(), triangles);
    let csv = String::from_utf8(bytes(FileFormat::Csv, LengthUnit::Centimetre)).unwrap();
    assert_eq!(csv.lines().count(), points + 1);
    let second: Vec<f64> = csv.lines().nth(2).unwrap().split(',').map(|word| word.parse().unwrap()).collect();
    assert!((second[2] * 10.0 - scan.vertices()[1].z).abs() < 1e-4);
}

#[test]
fn constant_lobes_stay_constant() {
    let vessel = cup().with_harmonics(Wall::Outer, &[PlannedHarmonic::constant(upr(3), 0.1, 0.3)]);
    for height in [10.0, 40.0, 70.0] {
        let harmonic = vessel.harmonic(Wall::Outer, height, upr(3)).unwrap();
        assert!((harmonic.amplitude_mm - 0.1).abs() < 1e-12 && (harmonic.phase_rad - 0.3).abs() < 1e-12);
    }
}
