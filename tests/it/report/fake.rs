//! A made-up corpus as tables: two forms, two ways of making, a few vessels that stand out.

use std::f64::consts::{PI, TAU};

use tornus::table::{Column, Table};

use super::fake_tree::tree;

/// Deterministic numbers from -1 to 1, spread evenly.
pub(crate) struct Draw(u64);

impl Draw {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1)
    }

    fn next(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1_u64 << 52) as f64 - 1.0
    }
}

/// One made-up vessel.
struct Made {
    id: String,
    jar: bool,
    fine: bool,
    noise: f64,
    scans: usize,
    height: f64,
    widest: f64,
    lobe: f64,
}

const HOSTILE: [&str; 3] = ["<script>alert(1)</script>", "Krug \"\u{c4}u\u{df}ere\" & Co.", "sh 1907/003"];

fn made(vessels: usize) -> Vec<Made> {
    let mut all: Vec<Made> = (0..vessels)
        .map(|i| {
            let mut draw = Draw::new(i as u64 + 1);
            let id =
                if i % 20 == 7 { HOSTILE[(i / 20) % 3].to_owned() } else { format!("SH 19{:02}/{i:03}", 7 + i % 5) };
            let jar = i % 2 == 0;
            Made {
                id,
                jar,
                fine: i % 3 == 0,
                noise: if i % 4 == 0 { 0.004 } else { 0.03 },
                scans: if i % 9 == 0 { 2 } else { 1 },
                height: (if jar { 150.0 } else { 70.0 }) * (1.0 + 0.15 * draw.next()),
                lobe: (if i % 3 == 0 { 0.012 } else { 0.35 }) * (1.0 + 0.2 * draw.next()),
                widest: (if jar { 60.0 } else { 85.0 }) * (1.0 + 0.1 * draw.next()),
            }
        })
        .collect();
    all.sort_by(|a, b| a.id.cmp(&b.id));
    all.dedup_by(|a, b| a.id == b.id);
    all
}

/// Relative radius at relative height 0 to 1.
fn outline(jar: bool, t: f64) -> f64 {
    if jar { 0.45 + 0.55 * (PI * (0.15 + 0.8 * t)).sin().powi(2) } else { 0.35 + 0.65 * (0.5 * PI * t).sin() }
}

struct Scanned<'a> {
    id: String,
    vessel: &'a Made,
    seed: u64,
}

fn scanned(all: &[Made]) -> Vec<Scanned<'_>> {
    let scans = all.iter().enumerate().flat_map(|(i, vessel)| {
        (0..vessel.scans).map(move |n| Scanned { id: format!("scan-{i:03}-{n}"), vessel, seed: (i * 10 + n) as u64 })
    });
    scans.collect()
}

/// Every table of a compared corpus of about this many vessels.
pub(crate) fn corpus(vessels: usize) -> Vec<Table> {
    let all = made(vessels);
    let scans = scanned(&all);
    let mut tables = vec![scans_table(&scans), sections(&scans), harmonics(&scans), profiles(&scans), unrolled(&scans)];
    tables.extend([measures(&all), vessels_table(&all), scan_measures(&scans)]);
    tables.extend([scores("form_scores", &all), scores("precision_scores", &all), clusters(&all), outliers(&all)]);
    tables.extend([scree(), form_means(), form_axes_drawn(), choice()]);
    tables.extend([agreement(), precision_axes(), precision_residuals(&all)]);
    let ids: Vec<String> = all.iter().map(|vessel| vessel.id.clone()).collect();
    tables.extend(tree(&ids, |node| drawn(node.is_multiple_of(2), 1.0 + 0.01 * node as f64)));
    tables
}

fn table(name: &str, columns: Vec<Column>) -> Table {
    Table::new(name, columns).expect("made-up columns have one length")
}

fn scans_table(scans: &[Scanned<'_>]) -> Table {
    let with = |id: &str| scans.iter().map(|s| s.id.clone()).chain([id.to_owned()]).collect::<Vec<_>>();
    let floats = |name: &str, value: &dyn Fn(&Scanned<'_>) -> f64| {
        Column::optional_floats(name, scans.iter().map(|s| Some(value(s))).chain([None]))
    };
    let texts = |name: &str, value: &dyn Fn(&Scanned<'_>) -> Option<String>, last: &str| {
        Column::optional_texts(name, scans.iter().map(value).chain([Some(last.to_owned())]))
    };
    table(
        "scans",
        vec![
            Column::texts("scan_id", with("torn-scan")),
            texts("vessel_id", &|s| Some(s.vessel.id.clone()), "SH 1999/999"),
            texts("file", &|s| Some(format!("scans/{}.stl", s.id)), "scans/torn.stl"),
            texts(
                "instrument",
                &|s| Some(if s.vessel.noise < 0.01 { "fringe A" } else { "hand-held B" }.to_owned()),
                "hand-held B",
            ),
            texts("status", &|_| Some("reduced".to_owned()), "rejected"),
            Column::optional_texts(
                "reason",
                scans.iter().map(|_| None).chain([Some("axis: the scan <shows> no turn".to_owned())]),
            ),
            floats("noise_mm", &|s| s.vessel.noise * (1.0 + 0.1 * s.seed as f64 % 0.3)),
            floats("coverage_outer", &|s| if s.seed % 70 == 50 { 0.62 } else { 0.98 }),
            floats("coverage_inner", &|s| if s.vessel.jar { 0.4 } else { 0.97 }),
            floats("masked_outer", &|s| if s.seed % 40 == 0 { 0.08 } else { 0.0 }),
            floats("masked_inner", &|_| 0.0),
            texts("up_source", &|_| Some("opening".to_owned()), ""),
            texts("notes", &|s| (s.seed % 40 == 0).then(|| "a handle was set aside at 40 degrees".to_owned()), ""),
        ],
    )
}

const HEIGHTS: usize = 24;

fn heights(vessel: &Made) -> impl Iterator<Item = f64> {
    let height = vessel.height;
    (0..HEIGHTS).map(move |i| height * (0.12 + 0.76 * i as f64 / (HEIGHTS - 1) as f64))
}

fn sections(scans: &[Scanned<'_>]) -> Table {
    let rows: Vec<(&Scanned<'_>, f64)> = scans.iter().flat_map(|s| heights(s.vessel).map(move |h| (s, h))).collect();
    let ront = |s: &Scanned<'_>, h: f64| s.vessel.lobe * (2.0 + (h / 9.0).sin());
    table(
        "sections",
        vec![
            Column::texts("scan_id", rows.iter().map(|r| r.0.id.clone())),
            Column::texts("wall", rows.iter().map(|_| "outer")),
            Column::floats("height_mm", rows.iter().map(|r| r.1)),
            Column::optional_flags("body", rows.iter().map(|r| Some(r.1 > 0.2 * r.0.vessel.height))),
            Column::floats("coverage", rows.iter().map(|_| 0.98)),
            Column::floats("masked", rows.iter().map(|r| if r.0.seed % 40 == 0 { 0.08 } else { 0.0 })),
            Column::floats(
                "radius_mm",
                rows.iter().map(|r| r.0.vessel.widest * outline(r.0.vessel.jar, r.1 / r.0.vessel.height)),
            ),
            Column::floats("detection_limit_mm", rows.iter().map(|r| 1.2 * r.0.vessel.noise)),
            Column::floats("ront_lsci_mm", rows.iter().map(|r| ront(r.0, r.1))),
            Column::floats("u_ront_lsci_mm", rows.iter().map(|r| 0.2 * r.0.vessel.noise)),
        ],
    )
}

fn harmonics(scans: &[Scanned<'_>]) -> Table {
    let highest = 150_u32;
    let (mut ids, mut height_column, mut uprs) = (Vec::new(), Vec::new(), Vec::new());
    let (mut amplitudes, mut raws, mut phases, mut us) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for scan in scans {
        let mut draw = Draw::new(scan.seed + 99);
        for height in heights(scan.vessel) {
            for upr in 1..=highest {
                let s = 0.12 * scan.vessel.noise;
                let size = scan.vessel.lobe / f64::from(upr).powf(1.7);
                let raw = (size + s * draw.next()).hypot(s * draw.next());
                let left = (raw * raw - 2.0 * s * s).max(0.0).sqrt();
                ids.push(scan.id.clone());
                height_column.push(height);
                uprs.push(i64::from(upr));
                amplitudes.push(left);
                raws.push(raw);
                phases.push(PI * draw.next());
                us.push(if left > 0.0 { s } else { s * 2_f64.sqrt() });
            }
        }
    }
    let walls = vec!["outer"; ids.len()];
    table(
        "harmonics",
        vec![
            Column::texts("scan_id", ids),
            Column::texts("wall", walls),
            Column::floats("height_mm", height_column),
            Column::integers("upr", uprs),
            Column::floats("amplitude_mm", amplitudes),
            Column::floats("raw_amplitude_mm", raws),
            Column::floats("phase_rad", phases),
            Column::floats("u_amplitude_mm", us),
        ],
    )
}

fn profiles(scans: &[Scanned<'_>]) -> Table {
    let mut rows: Vec<(String, &str, i64, f64, f64)> = Vec::new();
    for Scanned { id, vessel, .. } in scans {
        let foot = vessel.widest * outline(vessel.jar, 0.0);
        let base = (0..10).map(|i| (foot * f64::from(i) / 10.0, 2.0 - 2.0 * (f64::from(i) / 10.0).powi(2)));
        let rise = |i: i32| f64::from(i) / 100.0;
        let side = (0..=100).map(|i| (vessel.widest * outline(vessel.jar, rise(i)), vessel.height * rise(i)));
        let outer: Vec<(f64, f64)> = base.chain(side).collect();
        let lowest = if vessel.jar { 40 } else { 6 };
        let inside =
            (lowest..=99).rev().map(|i| (vessel.widest * outline(vessel.jar, rise(i)) - 5.0, vessel.height * rise(i)));
        let floor = (0..10).rev().map(|i| (3.0 * f64::from(i), vessel.height * 0.06));
        let inner: Vec<(f64, f64)> = if vessel.jar { inside.collect() } else { inside.chain(floor).collect() };
        for (wall, points) in [("inner", inner), ("outer", outer)] {
            rows.extend(points.iter().enumerate().map(|(i, p)| (id.clone(), wall, i as i64, p.0, p.1)));
        }
    }
    table(
        "profiles",
        vec![
            Column::texts("scan_id", rows.iter().map(|r| r.0.clone())),
            Column::texts("wall", rows.iter().map(|r| r.1)),
            Column::integers("station", rows.iter().map(|r| r.2)),
            Column::floats("radius_mm", rows.iter().map(|r| r.3)),
            Column::floats("height_mm", rows.iter().map(|r| r.4)),
            Column::floats("u_radius_mm", rows.iter().map(|_| 0.01)),
        ],
    )
}

fn unrolled(scans: &[Scanned<'_>]) -> Table {
    let (rows, columns) = (96_u32, 120_u32);
    let (mut ids, mut walls, mut height_column, mut azimuths) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    let (mut deviations, mut asides) = (Vec::new(), Vec::new());
    for scan in scans {
        let mut draw = Draw::new(scan.seed + 7);
        for wall in if scan.vessel.jar { &["outer"][..] } else { &["inner", "outer"][..] } {
            for row in 0..rows {
                for column in 0..columns {
                    let (t, azimuth) =
                        (f64::from(row) / f64::from(rows - 1), TAU * f64::from(column) / f64::from(columns));
                    let wave =
                        scan.vessel.lobe * (0.6 * (2.0 * azimuth + t).cos() + 0.4 * (3.0 * azimuth - 4.0 * t).cos());
                    let handle = scan.seed % 40 == 0 && (t - 0.5).abs() < 0.2 && (azimuth - 0.7).abs() < 0.25;
                    let unseen = (azimuth - 5.0).abs() < 0.15 && t > 0.8;
                    ids.push(scan.id.clone());
                    walls.push(*wall);
                    height_column.push(scan.vessel.height * (0.02 + 0.96 * t));
                    azimuths.push(azimuth);
                    let value = wave + 0.1 * scan.vessel.noise * draw.next() + if handle { 8.0 } else { 0.0 };
                    deviations.push((!unseen).then_some(value));
                    asides.push(Some(handle));
                }
            }
        }
    }
    table(
        "unrolled",
        vec![
            Column::texts("scan_id", ids),
            Column::texts("wall", walls),
            Column::floats("height_mm", height_column),
            Column::floats("azimuth_rad", azimuths),
            Column::optional_floats("deviation_mm", deviations),
            Column::optional_texts(
                "patch",
                asides.iter().map(|aside| (*aside == Some(true)).then(|| "raised".to_owned())),
            ),
            Column::optional_flags("set_aside", asides),
        ],
    )
}

type Value = (&'static str, f64, f64, &'static str, Option<f64>);

fn values(vessel: &Made) -> Vec<Value> {
    let limit = 1.2 * vessel.noise;
    let round = 2.0 * vessel.lobe;
    vec![
        ("capacity", PI * vessel.widest.powi(2) * vessel.height * 0.6, 900.0, "mm3", None),
        ("coaxiality_inner", 3.0 * vessel.lobe, 0.4 * vessel.noise, "mm", Some(limit)),
        ("height", vessel.height, 0.021, "mm", None),
        ("max_diameter", 2.0 * vessel.widest, 0.034, "mm", None),
        ("rim_diameter", 2.0 * vessel.widest * outline(vessel.jar, 1.0), 0.05, "mm", None),
        ("roundness_outer", round, 0.3 * vessel.noise, "mm", Some(limit)),
        ("surface_area", TAU * vessel.widest * vessel.height, 12.0, "mm2", None),
    ]
}

fn measure_columns(rows: &[(String, Value)], key: &str) -> Vec<Column> {
    vec![
        Column::texts(key, rows.iter().map(|r| r.0.clone())),
        Column::texts("measure", rows.iter().map(|r| r.1.0)),
        Column::floats("value", rows.iter().map(|r| r.1.1)),
        Column::floats("u", rows.iter().map(|r| r.1.2)),
        Column::texts("unit", rows.iter().map(|r| r.1.3)),
        Column::optional_floats("detection_limit", rows.iter().map(|r| r.1.4)),
        Column::optional_flags("below_limit", rows.iter().map(|r| r.1.4.map(|limit| r.1.1 < limit))),
    ]
}

fn measures(all: &[Made]) -> Table {
    let rows: Vec<_> = all.iter().flat_map(|v| values(v).into_iter().map(|m| (v.id.clone(), m))).collect();
    let mut columns = measure_columns(&rows, "vessel_id");
    columns.push(Column::integers("n_scans", rows.iter().map(|_| 1)));
    table("measures", columns)
}

fn scan_measures(scans: &[Scanned<'_>]) -> Table {
    let rows: Vec<_> = scans.iter().flat_map(|s| values(s.vessel).into_iter().map(|m| (s.id.clone(), m))).collect();
    table("scan_measures", measure_columns(&rows, "scan_id"))
}

fn vessels_table(all: &[Made]) -> Table {
    table(
        "vessels",
        vec![
            Column::texts("vessel_id", all.iter().map(|v| v.id.clone())),
            Column::texts("material", all.iter().map(|v| if v.jar { "alabaster" } else { "serpentine" })),
            Column::texts("setting", all.iter().map(|_| "donor <J. & M.>")),
            Column::floats("max_diameter", all.iter().map(|v| 2.0 * v.widest)),
            Column::floats("u_max_diameter", all.iter().map(|_| 0.034)),
        ],
    )
}

fn scores(name: &str, all: &[Made]) -> Table {
    let form = name == "form_scores";
    let mut columns = vec![Column::texts("vessel_id", all.iter().map(|v| v.id.clone()))];
    let first = |v: &Made| if form { v.jar } else { v.fine };
    let centre = |v: &Made| if first(v) { 1.0 } else { -1.0 };
    let score = |component: u64, spread: f64| {
        let value = move |(i, v): (usize, &Made)| {
            let pull = if component == 1 { 1.6 * centre(v) } else { 0.0 };
            pull + spread * (Draw::new(i as u64 * 3 + component).next() + Draw::new(i as u64 * 7 + component).next())
        };
        all.iter().enumerate().map(value).collect::<Vec<_>>()
    };
    for (component, spread) in [(1, 0.5), (2, 0.7), (3, 0.3)] {
        columns.push(Column::floats(&format!("pc{component}"), score(component, spread)));
        columns.push(Column::floats(&format!("u_pc{component}"), all.iter().map(|v| 2.0 * v.noise)));
    }
    if !form {
        let below = |v: &Made| v.fine && v.noise > 0.01;
        let grade = |v: &Made| 12.0 + 5.0 * v.lobe.log10();
        let known = |v: &Made| (!below(v)).then(|| grade(v));
        columns.push(Column::optional_floats("precision_grade", all.iter().map(known)));
        let u = |v: &Made| (!below(v)).then_some(4.0 * v.noise);
        columns.push(Column::optional_floats("u_precision_grade", all.iter().map(u)));
        let most = |v: &Made| below(v).then_some(5.2);
        columns.push(Column::optional_floats("precision_grade_at_most", all.iter().map(most)));
    }
    table(name, columns)
}

fn clusters(all: &[Made]) -> Table {
    table(
        "clusters",
        vec![
            Column::texts("vessel_id", all.iter().map(|v| v.id.clone())),
            Column::integers("form_cluster", all.iter().map(|v| if v.jar { 1 } else { 2 })),
            Column::floats("form_stability", all.iter().map(|_| 0.93)),
            Column::optional_integers(
                "precision_cluster",
                all.iter().enumerate().map(|(i, v)| (i % 17 != 3).then_some(if v.fine { 1 } else { 2 })),
            ),
            Column::floats("precision_stability", all.iter().map(|v| if v.fine { 0.81 } else { 0.7 })),
        ],
    )
}

fn outliers(all: &[Made]) -> Table {
    let stands = |i: usize| i % 13 == 4;
    let residual = |i: usize| if stands(i) { if i.is_multiple_of(2) { -1.2 } else { 1.1 } } else { 0.4 };
    let direction = |i: usize| stands(i).then(|| if i.is_multiple_of(2) { "finer" } else { "coarser" }.to_owned());
    table(
        "outliers",
        vec![
            Column::texts("vessel_id", all.iter().map(|v| v.id.clone())),
            Column::floats("form_distance", all.iter().map(|_| 1.2)),
            Column::floats("form_p", all.iter().map(|_| 0.4)),
            Column::floats("form_q", all.iter().map(|_| 0.8)),
            Column::floats("precision_residual", (0..all.len()).map(residual)),
            Column::floats(
                "precision_p",
                (0..all.len()).map(|i| if stands(i) { 1e-7 * (i as f64 + 1.0) } else { 0.3 }),
            ),
            Column::floats(
                "precision_q",
                (0..all.len()).map(|i| if stands(i) { 2e-6 * (i as f64 + 1.0) } else { 0.9 }),
            ),
            Column::optional_texts("direction", (0..all.len()).map(direction)),
            Column::optional_flags("outlier", (0..all.len()).map(|i| Some(stands(i)))),
            Column::optional_texts(
                "grounds",
                (0..all.len()).map(|i| {
                    stands(i).then(|| {
                        "roundness of the outer wall is a quarter of its peers\u{2019}, q = 2 in a million".to_owned()
                    })
                }),
            ),
        ],
    )
}

fn agreement() -> Table {
    table(
        "agreement",
        vec![
            Column::texts("space", ["form", "form", "precision"]),
            Column::texts("method", ["published", "ward", "published"]),
            Column::integers("groups", [2, 3, 2]),
            Column::floats("adjusted_rand", [1.0, 0.87, 1.0]),
            Column::optional_floats("silhouette", [Some(0.61), Some(0.5), None]),
            Column::optional_floats("p_one_group", [Some(0.0), None, Some(0.01)]),
        ],
    )
}

fn precision_axes() -> Table {
    table(
        "precision_axes",
        vec![
            Column::integers("component", [1, 2]),
            Column::floats("explained", [0.62, 0.21]),
            Column::floats("loading_roundness_outer", [0.7, -0.2]),
            Column::floats("loading_coaxiality_inner", [0.71, 0.9]),
        ],
    )
}

fn precision_residuals(all: &[Made]) -> Table {
    let measures = ["coaxiality_inner", "roundness_outer"];
    let rows: Vec<(&Made, &str)> = all.iter().flat_map(|v| measures.map(|m| (v, m))).collect();
    table(
        "precision_residuals",
        vec![
            Column::texts("vessel_id", rows.iter().map(|r| r.0.id.clone())),
            Column::texts("measure", rows.iter().map(|r| r.1)),
            Column::floats("residual", rows.iter().map(|r| if r.0.fine { -0.69 } else { 0.2 })),
            Column::floats("spread", rows.iter().map(|_| 0.3)),
            Column::optional_flags("bound", rows.iter().map(|r| Some(r.0.fine && r.0.noise > 0.01))),
            Column::floats("usual_mm", rows.iter().map(|_| 0.12)),
        ],
    )
}

fn scree() -> Table {
    let shares = [0.62, 0.21, 0.09, 0.04, 0.02];
    let rows: Vec<(&str, i64, f64)> =
        ["form", "precision"].iter().flat_map(|s| shares.iter().zip(1..).map(|(e, c)| (*s, c, *e))).collect();
    table(
        "scree",
        vec![
            Column::texts("space", rows.iter().map(|r| r.0)),
            Column::integers("component", rows.iter().map(|r| r.1)),
            Column::floats("explained", rows.iter().map(|r| r.2)),
        ],
    )
}

fn drawn(jar: bool, stretch: f64) -> Vec<(i64, f64, f64)> {
    (0..=60_i32)
        .map(|i| (i64::from(i), stretch * f64::from(i) / 60.0, 0.5 * outline(jar, f64::from(i) / 60.0) / stretch))
        .collect()
}

fn form_means() -> Table {
    let rows: Vec<(i64, (i64, f64, f64))> = [(0, true, 0.95), (1, true, 1.1), (2, false, 0.8)]
        .into_iter()
        .flat_map(|(cluster, jar, stretch)| drawn(jar, stretch).into_iter().map(move |s| (cluster, s)))
        .collect();
    table(
        "form_means",
        vec![
            Column::integers("cluster", rows.iter().map(|r| r.0)),
            Column::integers("station", rows.iter().map(|r| r.1.0)),
            Column::floats("height_rel", rows.iter().map(|r| r.1.1)),
            Column::floats("radius_rel", rows.iter().map(|r| r.1.2)),
        ],
    )
}

fn form_axes_drawn() -> Table {
    let ends = (1..=3_i64).flat_map(|c| [-2_i64, 2].map(|side| (c, side)));
    let rows: Vec<(i64, i64, (i64, f64, f64))> = ends
        .flat_map(|(c, side)| {
            let stretch = 1.0 + 0.12 * side as f64 / c as f64;
            drawn(side * c % 4 == 2, stretch).into_iter().map(move |s| (c, side, s))
        })
        .collect();
    table(
        "form_axes_drawn",
        vec![
            Column::integers("component", rows.iter().map(|r| r.0)),
            Column::floats("deviations", rows.iter().map(|r| r.1 as f64)),
            Column::integers("station", rows.iter().map(|r| r.2.0)),
            Column::floats("height_rel", rows.iter().map(|r| r.2.1)),
            Column::floats("radius_rel", rows.iter().map(|r| r.2.2)),
        ],
    )
}

fn choice() -> Table {
    let curves = [
        ("form", "mixture, full covariance", "bic", 2.0, -9.0),
        ("form", "mixture, tied covariance", "bic", 2.0, -6.0),
        ("form", "k_means", "gap", 3.0, -0.05),
        ("precision", "mixture, full covariance", "bic", 2.0, -7.0),
    ];
    let rows: Vec<(&str, &str, &str, i64, f64, bool)> = curves
        .into_iter()
        .flat_map(|(space, method, criterion, best, bend)| {
            (1..=6_i64).map(move |k| {
                (space, method, criterion, k, bend * (k as f64 - best).powi(2), (k as f64 - best).abs() < 0.5)
            })
        })
        .collect();
    table(
        "choice",
        vec![
            Column::texts("space", rows.iter().map(|r| r.0)),
            Column::texts("method", rows.iter().map(|r| r.1)),
            Column::texts("criterion", rows.iter().map(|r| r.2)),
            Column::integers("groups", rows.iter().map(|r| r.3)),
            Column::floats("value", rows.iter().map(|r| r.4)),
            Column::optional_flags("chosen", rows.iter().map(|r| Some(r.5))),
        ],
    )
}
