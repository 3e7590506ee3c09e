//! Real outlines of museum vessels: digitised, folded, compared.
//!
//! Source: public repository seldenlab/peru.bottle.jar (commit dd3b686), 'The Changing Shape of Empire'; its conclusion:
//! bottles and jars differ significantly in shape and do not differ in size.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use tornus::analysis::difference::{Aspect, Difference};
use tornus::analysis::form::FormChoice;
use tornus::analysis::{CompareInput, CompareParams, Groups, Meridians, compare};
use tornus::format::{Limits, open_curve};
use tornus::outline::{Drawn, drawn_meridian};
use tornus::table::{Column, Table, drawn_tables, stack};
use tornus::{LengthUnit, Seed};

/// Vessels with an outline and a type; `None`, with a line that says so, where they are absent.
fn types(folder: &Path) -> Option<BTreeMap<String, String>> {
    let Ok(mut reader) = csv::Reader::from_path(folder.join("types.csv")) else {
        println!("left out: museum outlines, {} is absent", folder.display());
        return None;
    };
    let rows = reader.records().map(Result::unwrap).map(|row| (row[0].to_owned(), row[2].to_owned()));
    Some(rows.filter(|(vessel, _)| folder.join(format!("outlines/{vessel}.csv")).is_file()).collect())
}

#[test]
fn bottles_and_jars_differ_in_form_and_not_in_size() {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../shared/open-data/museum-outlines");
    let Some(types) = types(&folder) else { return };
    let mut profiles = Vec::new();
    for vessel in types.keys() {
        let path = folder.join(format!("outlines/{vessel}.csv"));
        let curve = open_curve(&path, LengthUnit::Millimetre, &Limits::default()).unwrap().curve;
        let meridian = drawn_meridian(&curve, Drawn::Outline, None, None).unwrap();
        // Sides of hand-made vessels differ by millimetres, not by tens.
        assert!(meridian.u_radius_mm.unwrap() < 3.0, "{vessel}");
        profiles.extend(drawn_tables(vessel, &meridian).unwrap().into_iter().filter(|t| t.name() == "profiles"));
    }
    let ids = || types.keys().map(String::as_str);
    let scans = vec![Column::texts("scan_id", ids()), Column::texts("vessel_id", ids())];
    let vessels = vec![Column::texts("vessel_id", ids()), Column::texts("type", types.values().map(String::as_str))];
    let none = ["vessel_id", "measure"].map(|name| Column::texts(name, [""; 0]));
    let mut meridians = Meridians::default();
    meridians.add(&stack(&profiles).unwrap().unwrap()).unwrap();
    let input = CompareInput {
        scans: &Table::new("scans", scans).unwrap(),
        meridians: &meridians,
        measures: &Table::new("measures", [none.to_vec(), vec![Column::floats("value", [])]].concat()).unwrap(),
        vessels: &Table::new("vessels", vessels).unwrap(),
    };
    for choice in [FormChoice::Outer, FormChoice::TangentAngle, FormChoice::Silhouette] {
        let params = CompareParams::new(Groups::Auto).with_resamples(0).with_form(choice);
        let found = compare(&input, &params, Seed::new(1)).unwrap();
        assert_eq!(found.form.vessels.len(), 39);
        let whole = |aspect| -> &Difference {
            found.differences.iter().find(|d| d.of == aspect && d.factor == "type" && d.pair.is_none()).unwrap()
        };
        let (form, size) = (whole(Aspect::Form), whole(Aspect::Size));
        println!("{choice:?}: form {form:?}\nsize {size:?}");
        assert_eq!((form.vessels, size.vessels), (39, 39));
        // As published: one test of shape, one of size, each on its own.
        assert!(form.q.unwrap() < 0.05, "{choice:?}: shape differs: {form:?}");
        assert!(size.q.unwrap() > 0.1, "{choice:?}: size does not: {size:?}");
        assert!(found.differences.iter().all(|d| d.of != Aspect::Precision), "no precision of drawn vessels");
    }
    // An outline without an interior has no half-section, and says so.
    let params = CompareParams::new(Groups::Auto).with_resamples(0).with_form(FormChoice::HalfSection);
    let found = compare(&input, &params, Seed::new(1)).unwrap();
    assert_eq!((found.form.vessels.len(), found.form.left_out.len()), (0, 39));
    assert!(found.form.left_out.iter().all(|(_, reason)| reason == "its interior is not seen"));
}
