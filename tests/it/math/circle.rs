//! The four circles against published answers, closed forms and exhaustive search.

use nalgebra::{Point2, distance};
use rand::{Rng, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;
use serde_json::Value;
use tornus::math::circle::{CircleError, circumscribed, inscribed, least_squares, minimum_zone};

use super::{close, numbers, published};

fn answers() -> Option<Value> {
    published("roundness/answers.json").map(|text| serde_json::from_str(&text).unwrap())
}

fn points_100() -> Option<Vec<Point2<f64>>> {
    let rows = numbers(&published("roundness/points_100.csv")?);
    Some(rows.iter().map(|row| Point2::new(row[0], row[1])).collect())
}

fn answer(table: &Value, keys: [&str; 3]) -> f64 {
    table[keys[0]][keys[1]][keys[2]].as_f64().unwrap()
}

/// R1: 100 points of a public repository; answers by linear programming and exhaustive enumeration.
#[test]
fn a_hundred_points() {
    let (Some(table), Some(points)) = (answers(), points_100()) else { return };
    let wanted = |circle: &str, key: &str| answer(&table, ["points_100", circle, key]);

    let fit = least_squares(&points).unwrap();
    // The published least-squares centre is good to 1e-8 (its gradient is 2e-7, here 1e-14); the sum is stationary there.
    close(fit.circle.center.x, wanted("LSC", "cx"), 1e-8);
    close(fit.circle.center.y, wanted("LSC", "cy"), 1e-8);
    close(fit.circle.radius, wanted("LSC", "r"), 1e-9);
    close(fit.sum_squares, wanted("LSC", "sse"), 1e-14);
    assert!(gradient(&points, fit.circle.center).norm() < 1e-13);

    let zone = minimum_zone(&points).unwrap();
    close(zone.center.x, wanted("MZC", "cx"), 1e-14);
    close(zone.center.y, wanted("MZC", "cy"), 1e-14);
    close(zone.outer, wanted("MZC", "rmax"), 1e-14);
    close(zone.inner, wanted("MZC", "rmin"), 1e-14);
    close(zone.width(), wanted("MZC", "width"), 1e-14);

    let outer = circumscribed(&points).unwrap();
    close(outer.center.x, wanted("MCC", "cx"), 1e-14);
    close(outer.center.y, wanted("MCC", "cy"), 1e-14);
    close(outer.radius, wanted("MCC", "r"), 1e-14);

    let inner = inscribed(&points).unwrap();
    close(inner.center.x, wanted("MIC", "cx"), 1e-14);
    close(inner.center.y, wanted("MIC", "cy"), 1e-14);
    close(inner.radius, wanted("MIC", "r"), 1e-14);
}

/// R4: Gander, Golub & Strebel 1994, six points on a short arc.
#[test]
fn six_points_on_an_arc() {
    let points = [(1, 7), (2, 6), (5, 8), (7, 7), (9, 5), (3, 7)].map(|(x, y)| Point2::new(f64::from(x), f64::from(y)));
    let fit = least_squares(&points).unwrap();
    close(fit.circle.center.x, 4.739782414818471, 1e-8);
    close(fit.circle.center.y, 2.983532718130023, 1e-8);
    close(fit.circle.radius, 4.714226023273695, 1e-8);
    close(fit.sum_squares, 1.2275990781836565, 1e-14);
    assert!(gradient(&points, fit.circle.center).norm() < 1e-13);
}

/// Gradient of half the sum of squares in the centre, the radius being the mean distance.
fn gradient(points: &[Point2<f64>], center: Point2<f64>) -> nalgebra::Vector2<f64> {
    let radius = points.iter().map(|p| distance(p, &center)).sum::<f64>() / points.len() as f64;
    points.iter().map(|p| (p - center) * (radius / distance(p, &center) - 1.0)).sum()
}

/// F2: residuals orthogonal to the Jacobian, so the answer is known.
#[test]
fn null_space_circle() {
    let Some(text) = published("roundness/ls_circle_nullspace.csv") else { return };
    let points: Vec<Point2<f64>> = numbers(&text).iter().map(|row| Point2::new(row[0], row[1])).collect();
    let fit = least_squares(&points).unwrap();
    close(fit.circle.center.x, 12.5, 1e-10);
    close(fit.circle.center.y, -7.25, 1e-10);
    close(fit.circle.radius, 40.0, 1e-10);
    close((fit.sum_squares / points.len() as f64).sqrt(), 0.01735217915731161, 1e-10);
    let deviations: Vec<f64> = points.iter().map(|p| distance(p, &fit.circle.center)).collect();
    let range =
        deviations.iter().copied().fold(0.0, f64::max) - deviations.iter().copied().fold(f64::INFINITY, f64::min);
    close(range, 0.08122617879833388, 1e-10);
}

/// F3: the Reuleaux triangle of width 1, closed form.
#[test]
fn constant_width_is_not_round() {
    let corner = |k: i32| {
        let turn = std::f64::consts::FRAC_PI_2 + std::f64::consts::TAU * f64::from(k) / 3.0;
        Point2::new(turn.cos(), turn.sin()) / 3.0_f64.sqrt()
    };
    let mut points = Vec::new();
    for k in 0..3 {
        let (center, from, to) = (corner(k), corner(k + 1), corner(k + 2));
        let (begin, end) = ((from - center).y.atan2((from - center).x), (to - center).y.atan2((to - center).x));
        let sweep = (end - begin).rem_euclid(std::f64::consts::TAU);
        for j in 0..300 {
            let angle = begin + sweep * f64::from(j) / 300.0;
            points.push(Point2::new(center.x + angle.cos(), center.y + angle.sin()));
        }
    }
    close(circumscribed(&points).unwrap().radius, 0.5773502691896258, 1e-14);
    close(inscribed(&points).unwrap().radius, 0.42264973081037416, 1e-14);
    close(minimum_zone(&points).unwrap().width(), 0.15470053837925168, 1e-14);
}

fn profile(rng: &mut Xoshiro256PlusPlus, count: usize, deviation: f64) -> Vec<Point2<f64>> {
    let off = (rng.gen_range(-0.2..0.2), rng.gen_range(-0.2..0.2));
    (0..count)
        .map(|j| {
            let angle = std::f64::consts::TAU * (j as f64 + rng.gen_range(-0.4..0.4)) / count as f64;
            let radius = 1.0 + deviation * rng.gen_range(-1.0..1.0);
            Point2::new(off.0 + radius * angle.cos(), off.1 + radius * angle.sin())
        })
        .collect()
}

fn circle_through(a: Point2<f64>, b: Point2<f64>, c: Point2<f64>) -> Option<(Point2<f64>, f64)> {
    let matrix = nalgebra::Matrix2::from_rows(&[(b - a).transpose(), (c - a).transpose()]) * 2.0;
    let right = nalgebra::Vector2::new(
        b.coords.norm_squared() - a.coords.norm_squared(),
        c.coords.norm_squared() - a.coords.norm_squared(),
    );
    let center = Point2::from(matrix.try_inverse()? * right);
    Some((center, distance(&center, &a)))
}

fn range(points: &[Point2<f64>], center: Point2<f64>) -> (f64, f64) {
    points.iter().map(|p| distance(p, &center)).fold((f64::INFINITY, 0.0), |(low, high), d| (low.min(d), high.max(d)))
}

/// Smallest circle around all: over every pair and triple.
fn brute_circumscribed(points: &[Point2<f64>]) -> f64 {
    let mut best = f64::INFINITY;
    let n = points.len();
    for i in 0..n {
        for j in i + 1..n {
            best = best.min(range(points, nalgebra::center(&points[i], &points[j])).1.max(0.0));
            for k in j + 1..n {
                if let Some((center, _)) = circle_through(points[i], points[j], points[k]) {
                    best = best.min(range(points, center).1);
                }
            }
        }
    }
    best
}

/// Largest empty circle with its centre within half a radius of the middle: over every triple.
fn brute_inscribed(points: &[Point2<f64>]) -> f64 {
    let mut best: f64 = 0.0;
    let n = points.len();
    for i in 0..n {
        for j in i + 1..n {
            for k in j + 1..n {
                if let Some((center, _)) = circle_through(points[i], points[j], points[k])
                    && center.coords.norm() < 0.6
                {
                    best = best.max(range(points, center).0);
                }
            }
        }
    }
    best
}

/// Narrowest zone: over every meeting point of two perpendicular bisectors.
fn brute_zone(points: &[Point2<f64>]) -> f64 {
    let n = points.len();
    let pairs: Vec<(Point2<f64>, Point2<f64>)> =
        (0..n).flat_map(|i| (i + 1..n).map(move |j| (i, j))).map(|(i, j)| (points[i], points[j])).collect();
    let mut best = f64::INFINITY;
    for (index, (a, b)) in pairs.iter().enumerate() {
        for (c, d) in &pairs[index + 1..] {
            let matrix = nalgebra::Matrix2::from_rows(&[(b - a).transpose(), (d - c).transpose()]);
            let right = 0.5
                * nalgebra::Vector2::new(
                    b.coords.norm_squared() - a.coords.norm_squared(),
                    d.coords.norm_squared() - c.coords.norm_squared(),
                );
            if let Some(inverse) = matrix.try_inverse() {
                let (low, high) = range(points, Point2::from(inverse * right));
                best = best.min(high - low);
            }
        }
    }
    best
}

/// Whether the points on the circle leave no half turn free, so that its centre cannot move uphill.
fn held_by_its_points(points: &[Point2<f64>], center: Point2<f64>, radius: f64) -> bool {
    let on = points.iter().filter(|p| (distance(p, &center) / radius - 1.0).abs() < 1e-9);
    let mut angles: Vec<f64> = on.map(|p| (p.y - center.y).atan2(p.x - center.x)).collect();
    angles.sort_by(f64::total_cmp);
    tornus::math::fourier::largest_gap(&angles) <= std::f64::consts::PI + 1e-9
}

#[test]
fn exhaustive_search_finds_nothing_better() {
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(20);
    for case in 0..200 {
        let count = rng.gen_range(14..22);
        let deviation = [0.001, 0.02, 0.1][case % 3];
        let points = profile(&mut rng, count, deviation);
        close(circumscribed(&points).unwrap().radius, brute_circumscribed(&points), 1e-12);
        let inner = inscribed(&points).unwrap();
        assert!(held_by_its_points(&points, inner.center, inner.radius));
        if deviation < 0.1 {
            // In rougher profiles another maximum elsewhere may be the greatest.
            close(inner.radius, brute_inscribed(&points), 1e-12);
        }
        close(minimum_zone(&points).unwrap().width(), brute_zone(&points), 1e-12);
    }
}

#[test]
fn any_points_have_a_smallest_circle() {
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(21);
    for _ in 0..300 {
        let points: Vec<Point2<f64>> = (0..rng.gen_range(2..12))
            .map(|_| Point2::new(f64::from(rng.gen_range(0..6)), f64::from(rng.gen_range(0..6))))
            .collect();
        close(circumscribed(&points).unwrap().radius, brute_circumscribed(&points), 1e-13);
    }
}

#[test]
fn motions_and_scale_change_nothing() {
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(22);
    for case in 0..200 {
        let points = profile(&mut rng, 60 + 3 * case, 0.01);
        let (turn, scale) = (nalgebra::Rotation2::new(rng.gen_range(0.0..6.0)), rng.gen_range(0.01..1000.0));
        let shift = nalgebra::Vector2::new(rng.gen_range(-9.0..9.0), rng.gen_range(-9.0..9.0)) * scale;
        let mut moved: Vec<Point2<f64>> = points.iter().map(|p| (turn * p) * scale + shift).collect();
        moved.reverse();
        let check = |here: f64, there: f64| close(there / scale, here, 1e-12);
        check(least_squares(&points).unwrap().circle.radius, least_squares(&moved).unwrap().circle.radius);
        check(minimum_zone(&points).unwrap().width(), minimum_zone(&moved).unwrap().width());
        check(circumscribed(&points).unwrap().radius, circumscribed(&moved).unwrap().radius);
        check(inscribed(&points).unwrap().radius, inscribed(&moved).unwrap().radius);
    }
}

#[test]
fn poor_input_is_an_error() {
    let line: Vec<Point2<f64>> = (0..9).map(|j| Point2::new(f64::from(j), 2.0 * f64::from(j))).collect();
    let spot = vec![Point2::new(3.0, 4.0); 9];
    for points in [&line, &spot] {
        assert_eq!(least_squares(points), Err(CircleError::Degenerate));
        assert!(minimum_zone(points).is_err());
        assert!(inscribed(points).is_err());
    }
    close(circumscribed(&line).unwrap().radius, 80.0_f64.sqrt(), 1e-15);
    close(circumscribed(&spot).unwrap().radius, 0.0, 1e-15);
    assert_eq!(least_squares(&line[..2]), Err(CircleError::TooFew { count: 2, needed: 3 }));
    assert_eq!(circumscribed(&[]), Err(CircleError::TooFew { count: 0, needed: 1 }));
    let hole = [Point2::new(0.0, 0.0), Point2::new(f64::NAN, 0.0), Point2::new(1.0, 1.0), Point2::new(2.0, 0.0)];
    assert_eq!(minimum_zone(&hole), Err(CircleError::NotFinite { index: 1 }));
    let doubled: Vec<Point2<f64>> = [(0, 0), (0, 0), (2, 0), (2, 0), (2, 2), (0, 2), (0, 2)]
        .map(|(x, y)| Point2::new(f64::from(x), f64::from(y)))
        .to_vec();
    close(least_squares(&doubled).unwrap().circle.radius, 2.0_f64.sqrt(), 1e-12);
    close(inscribed(&doubled).unwrap().radius, 2.0_f64.sqrt(), 1e-12);
    assert!(minimum_zone(&doubled).unwrap().width() < 1e-12);
}
