//! Corpora as tables, of which the truth is known.

use rand::Rng;
use rand_distr::StandardNormal;
use rand_xoshiro::Xoshiro256PlusPlus;
use tornus::Seed;
use tornus::analysis::{CompareInput, Meridians};
use tornus::table::{Column, Table};

/// Forms as radius over height, both in units of the greatest radius: corners joined by straight walls.
const FORMS: [&[(f64, f64)]; 6] = [
    &[(0.0, 0.0), (0.42, 0.0), (0.75, 0.25), (0.93, 0.55), (1.0, 0.95)],
    &[(0.0, 0.0), (0.86, 0.0), (0.95, 1.1), (1.0, 2.3)],
    &[(0.0, 0.0), (0.5, 0.0), (1.0, 1.15), (0.97, 1.35), (0.66, 1.62), (0.72, 1.85)],
    &[(0.0, 0.0), (0.62, 0.0), (1.0, 0.45), (1.0, 1.2), (0.31, 1.8), (0.27, 2.45), (0.35, 2.7)],
    &[(0.0, 0.0), (0.45, 0.0), (0.8, 0.12), (1.0, 0.3)],
    &[(0.0, 0.0), (0.4, 0.0), (0.85, 0.3), (1.0, 0.75), (0.85, 1.15), (0.55, 1.3), (0.56, 1.5)],
];

/// Roundness in mm of three workshops and the hardness of what they work.
const WORKSHOPS: [(f64, [f64; 3]); 3] = [(0.05, [7.0, 6.5, 7.0]), (0.15, [3.5, 4.0, 3.5]), (0.40, [1.5, 2.0, 2.5])];

/// Instruments and their noise, mm.
const INSTRUMENTS: [(&str, f64); 4] =
    [("tomograph", 0.005), ("contact arm", 0.012), ("structured light", 0.02), ("photogrammetry", 0.05)];

/// Precision measures as multiples of the roundness.
const MEASURES: [(&str, f64); 10] = [
    ("roundness_outer", 1.0),
    ("roundness_inner", 1.2),
    ("roundness_best", 0.7),
    ("lobing_2", 0.3),
    ("lobing_3", 0.2),
    ("lobing_4_15", 0.15),
    ("coaxiality_inner", 2.0),
    ("flatness_rim", 0.8),
    ("total_runout", 1.6),
    ("axis_straightness_outer", 0.5),
];

/// What a corpus is drawn from.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Recipe {
    pub(crate) vessels: usize,
    pub(crate) forms: usize,
    pub(crate) workshops: usize,
    /// How many vessels are made six times more truly than their workshop's.
    pub(crate) truer: usize,
    /// Standard deviation of the proportions.
    pub(crate) proportions: f64,
    /// Standard deviation of the logarithm of the roundness within a workshop.
    pub(crate) scatter: f64,
    /// Which instruments are used: the first so many.
    pub(crate) instruments: usize,
}

/// Sixty vessels of six forms from three workshops, five of them unusually true.
pub(crate) const SIXTY: Recipe =
    Recipe { vessels: 60, forms: 6, workshops: 3, truer: 5, proportions: 0.045, scatter: 0.16, instruments: 4 };

/// One vessel and its truth.
#[derive(Clone, Debug)]
pub(crate) struct Piece {
    pub(crate) id: String,
    pub(crate) form: usize,
    pub(crate) workshop: usize,
    pub(crate) truer: bool,
    pub(crate) instrument: usize,
    mohs: f64,
    outline: Vec<(f64, f64)>,
    measures: Vec<(&'static str, f64, f64, f64)>,
}

impl Piece {
    /// Makes it less truly by this factor.
    pub(crate) fn make_coarser(&mut self, factor: f64) {
        self.measures.iter_mut().for_each(|(_, value, _, _)| *value *= factor);
    }

    /// The inner wall, 3 mm within the outer one, from the rim to the middle of a floor 4 mm thick.
    fn interior(&self) -> Vec<(f64, f64)> {
        let within = |(radius, height): &(f64, f64)| ((radius - 3.0).max(0.0), *height);
        let wall: Vec<_> = self.outline.iter().rev().filter(|(_, height)| *height > 4.0).map(within).collect();
        let edge = wall.last().map_or(0.0, |(radius, _)| *radius);
        wall.into_iter().chain((0..=20).rev().map(|i| (edge * f64::from(i) / 20.0, 4.0))).collect()
    }

    /// Gives it a form no other vessel has: a cone on its point, `slope` wide for its height.
    pub(crate) fn make_strange(&mut self, slope: f64) {
        self.outline = outline(&[(0.0, 0.0), (60.0 * slope, 60.0)]);
    }
}

/// The input tables of a corpus, and its truth.
pub(crate) struct Corpus {
    pub(crate) pieces: Vec<Piece>,
    scans: Table,
    meridians: Meridians,
    measures: Table,
    vessels: Table,
}

impl Corpus {
    pub(crate) fn draw(recipe: &Recipe, seed: u64) -> Self {
        let pieces =
            (0..recipe.vessels).map(|index| piece(recipe, index, Seed::new(seed).derive(index as u64))).collect();
        Self::of(pieces)
    }

    /// The tables of these pieces, rows in their order.
    pub(crate) fn of(pieces: Vec<Piece>) -> Self {
        let scan_ids: Vec<String> = pieces.iter().map(|p| format!("{}a", p.id)).collect();
        let scans = vec![
            Column::texts("scan_id", scan_ids.iter().map(String::as_str)),
            Column::texts("vessel_id", pieces.iter().map(|p| p.id.as_str())),
            Column::texts("status", pieces.iter().map(|_| "reduced")),
            Column::texts("instrument", pieces.iter().map(|p| INSTRUMENTS[p.instrument].0)),
        ];
        let vessels = vec![
            Column::texts("vessel_id", pieces.iter().map(|p| p.id.as_str())),
            Column::floats("mohs", pieces.iter().map(|p| p.mohs)),
        ];
        Self {
            scans: Table::new("scans", scans).unwrap(),
            meridians: meridians(&pieces, &vec![Vec::new(); pieces.len()]),
            measures: measures(&pieces),
            vessels: Table::new("vessels", vessels).unwrap(),
            pieces,
        }
    }

    pub(crate) fn input(&self) -> CompareInput<'_> {
        CompareInput {
            scans: &self.scans,
            meridians: &self.meridians,
            measures: &self.measures,
            vessels: &self.vessels,
        }
    }

    /// The same with interiors 3 mm within the walls; the first vessel's is not seen, the second's only in part.
    pub(crate) fn with_interiors(self) -> Self {
        let inner = |(row, piece): (usize, &Piece)| match row {
            0 => Vec::new(),
            1 => piece.interior().into_iter().take(20).collect(),
            _ => piece.interior(),
        };
        let walls: Vec<_> = self.pieces.iter().enumerate().map(inner).collect();
        Self { meridians: meridians(&self.pieces, &walls), ..self }
    }

    /// Truth in the order of the results, which is that of the identifiers.
    pub(crate) fn sorted(&self) -> Vec<&Piece> {
        let mut sorted: Vec<&Piece> = self.pieces.iter().collect();
        sorted.sort_by(|a, b| a.id.cmp(&b.id));
        sorted
    }
}

fn piece(recipe: &Recipe, index: usize, seed: Seed) -> Piece {
    let mut rng = seed.rng();
    let normal = |rng: &mut Xoshiro256PlusPlus| rng.sample::<f64, _>(StandardNormal);
    let form = index % recipe.forms;
    let workshop = (index + index / recipe.forms) % recipe.workshops;
    let truer = index >= recipe.vessels - recipe.truer;
    let instrument = if truer { 0 } else { rng.gen_range(0..recipe.instruments) };
    let (roundness, hardness) = WORKSHOPS[workshop];
    let factor = if truer { (1.0_f64 / 6.0).ln() } else { recipe.scatter * normal(&mut rng) };
    let size = 54.0 * (0.1 * normal(&mut rng)).exp();
    let vary =
        |value: f64, rng: &mut Xoshiro256PlusPlus| value * (1.0 + recipe.proportions * normal(rng).clamp(-2.0, 2.0));
    let mut height = 0.0;
    let mut before = 0.0;
    let mut corners = Vec::new();
    for &(radius, at) in FORMS[form] {
        height += vary(at - before, &mut rng);
        before = at;
        corners.push((size * vary(radius, &mut rng), size * height));
    }
    let measures = MEASURES
        .iter()
        .map(|&(name, times)| {
            let truth = roundness * times * (factor + 0.25 * normal(&mut rng)).exp();
            let u = 0.5 * INSTRUMENTS[instrument].1 * times.sqrt();
            ((truth + u * normal(&mut rng)).max(0.0), u, name)
        })
        .map(|(value, u, name)| (name, value, u, 2.0 * u))
        .collect();
    let mohs = hardness[index % 3];
    Piece {
        id: format!("V-{:04}", index * 7919 % 10_007),
        form,
        workshop,
        truer,
        instrument,
        mohs,
        outline: outline(&corners),
        measures,
    }
}

/// Points every 1/40 of each straight wall.
fn outline(corners: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let between = |(a, b): (&(f64, f64), &(f64, f64)), i: u32| {
        let share = f64::from(i) / 40.0;
        (a.0 + share * (b.0 - a.0), a.1 + share * (b.1 - a.1))
    };
    let mut points: Vec<_> =
        corners.iter().zip(&corners[1..]).flat_map(|pair| (0..40).map(move |i| between(pair, i))).collect();
    points.extend(corners.last());
    points
}

/// Pieces whose meridians are in one table at a time: of a large corpus the whole would not fit.
const PIECES_AT_ONCE: usize = 1_000;

fn meridians(pieces: &[Piece], interiors: &[Vec<(f64, f64)>]) -> Meridians {
    let mut all = Meridians::default();
    for (pieces, interiors) in pieces.chunks(PIECES_AT_ONCE).zip(interiors.chunks(PIECES_AT_ONCE)) {
        all.add(&profiles(pieces, interiors)).unwrap();
    }
    all
}

fn profiles(pieces: &[Piece], interiors: &[Vec<(f64, f64)>]) -> Table {
    let ids: Vec<String> = pieces.iter().map(|piece| format!("{}a", piece.id)).collect();
    let mut rows: Vec<(&str, usize, (f64, f64), &str)> = Vec::new();
    for ((piece, inner), id) in pieces.iter().zip(interiors).zip(&ids) {
        for (wall, points) in [("outer", &piece.outline), ("inner", inner)] {
            rows.extend(points.iter().enumerate().map(|(station, point)| (id.as_str(), station, *point, wall)));
        }
    }
    let columns = vec![
        Column::texts("scan_id", rows.iter().map(|row| row.0)),
        Column::texts("wall", rows.iter().map(|row| row.3)),
        Column::integers("station", rows.iter().map(|row| row.1 as i64)),
        Column::floats("height_mm", rows.iter().map(|row| row.2.1)),
        Column::floats("radius_mm", rows.iter().map(|row| row.2.0)),
        Column::floats("u_radius_mm", rows.iter().map(|_| 0.01)),
    ];
    Table::new("profiles", columns).unwrap()
}

fn measures(pieces: &[Piece]) -> Table {
    let mut rows: Vec<(&str, &str, f64, f64, Option<f64>)> = Vec::new();
    for piece in pieces {
        let widest = piece.outline.iter().map(|p| 2.0 * p.0).fold(0.0, f64::max);
        rows.push((&piece.id, "max_diameter", widest, 0.02, None));
        rows.extend(
            piece.measures.iter().map(|&(name, value, u, limit)| (piece.id.as_str(), name, value, u, Some(limit))),
        );
    }
    let below = rows.iter().map(|row| row.4.map(|limit| row.2 < limit));
    let columns = vec![
        Column::texts("vessel_id", rows.iter().map(|row| row.0)),
        Column::texts("measure", rows.iter().map(|row| row.1)),
        Column::floats("value", rows.iter().map(|row| row.2)),
        Column::floats("u", rows.iter().map(|row| row.3)),
        Column::optional_floats("detection_limit", rows.iter().map(|row| row.4)),
        Column::optional_flags("below_limit", below),
    ];
    Table::new("measures", columns).unwrap()
}
