//! The report: whole, safe, the same every time, and honest about what is missing.

mod fake;
mod fake_tree;

use std::collections::BTreeSet;

use tornus::report::{Rendered, Report, ReportError, ReportFacts, ReportTables, render};
use tornus::table::{Column, ColumnData, Table, select_rows};

fn facts() -> ReportFacts {
    ReportFacts {
        title: "Saltmarsh Harbour Museum: turned vessels & <others>".to_owned(),
        program_version: "0.0.0".to_owned(),
        schema_version: 1,
        seed: 7,
        command: "tornus survey study.toml".to_owned(),
        parameters: vec![
            ("reduction.cutoff_upr".to_owned(), "50".to_owned()),
            ("compare.groups".to_owned(), "auto".to_owned()),
        ],
    }
}

fn rendered(tables: &[Table]) -> Rendered {
    render(&ReportTables::new(tables), &facts()).expect("made-up tables keep the contract")
}

/// Values of an attribute, in order.
fn attributes<'a>(html: &'a str, name: &str) -> Vec<&'a str> {
    let marker = format!(" {name}=\"");
    html.split(&marker).skip(1).filter_map(|rest| rest.split('"').next()).collect()
}

fn check_page(html: &str) {
    let ids = attributes(html, "id");
    let unique: BTreeSet<&str> = ids.iter().copied().collect();
    assert_eq!(ids.len(), unique.len(), "an id stands twice");
    for href in attributes(html, "href") {
        match href.strip_prefix('#') {
            Some(id) => assert!(unique.contains(id), "no target for {href}"),
            None => {
                assert!(href.starts_with("data:image/png;base64,") || href.starts_with("../report.html#"), "{href}")
            }
        }
    }
    let without_names = html.replace("xmlns=\"http://www.w3.org/2000/svg\"", "");
    for outside in ["http://", "https://", "src=", "@import", "url(//"] {
        assert!(!without_names.contains(outside), "{outside} in the page");
    }
}

#[test]
fn every_link_leads_somewhere_and_nothing_is_fetched() {
    let report = rendered(&fake::corpus(24));
    check_page(&report.html);
    for (name, sheet) in &report.sheets {
        assert!(name.starts_with("sheets/") && name.ends_with(".html"));
        check_page(sheet);
    }
    let names: BTreeSet<&String> = report.figures.iter().map(|f| &f.0).collect();
    assert_eq!(names.len(), report.figures.len());
    for wanted in ["form_map", "precision_map", "scree", "group_means", "form_tree", "form_axes", "group_number"] {
        assert!(names.contains(&format!("figures/{wanted}.svg")), "{wanted}");
    }
}

#[test]
fn made_piece_by_piece_it_is_the_same() {
    let tables = fake::corpus(24);
    let whole = rendered(&tables);
    let (of_scans, others): (Vec<Table>, Vec<Table>) =
        tables.into_iter().partition(|table| Report::OF_SCANS.contains(&table.name()));
    assert!(!of_scans.is_empty());
    let facts = facts();
    let report = Report::new(&ReportTables::new(&others), &facts).unwrap();
    let (mut told, mut figures, mut sheets) = (Vec::new(), Vec::new(), Vec::new());
    // One vessel at a time, each with the rows of its own scan alone.
    for vessel in report.batches().flatten() {
        let scans = report.scans_of(&[*vessel]);
        let rows = of_scans.iter().map(|table| {
            let ids = table.texts("scan_id").unwrap();
            let own = |row: &usize| ids[*row].as_deref().is_some_and(|id| scans.contains(&id));
            select_rows(table, &(0..table.rows()).filter(own).collect::<Vec<_>>()).unwrap()
        });
        let rows: Vec<Table> = rows.collect();
        let drawn = report.draw(&[*vessel], &ReportTables::new(&rows)).unwrap();
        figures.extend(drawn.figures);
        sheets.extend(drawn.sheets);
        told.push(drawn.told);
    }
    let (html, of_corpus) = report.finish(&told).unwrap();
    figures.extend(of_corpus);
    let sorted = |mut files: Vec<(String, String)>| {
        files.sort();
        files
    };
    assert_eq!(html, whole.html);
    assert_eq!(sorted(figures), sorted(whole.figures));
    assert_eq!(sorted(sheets), sorted(whole.sheets));
}

#[test]
fn what_users_write_stays_words() {
    let report = rendered(&fake::corpus(50));
    let pages = report.sheets.iter().map(|s| &s.1).chain([&report.html]).chain(report.figures.iter().map(|f| &f.1));
    for page in pages {
        for tag in ["<script>alert", "<shows>", "<J. ", "<others>"] {
            assert!(!page.contains(tag), "{tag}");
        }
    }
    assert!(report.html.contains("&lt;script&gt;alert(1)&lt;/script&gt;"));
    assert!(report.html.contains("\u{c4}u\u{df}ere"));
}

#[test]
fn every_table_but_the_scans_may_be_missing() {
    let tables = fake::corpus(6);
    for left_out in 1..tables.len() {
        let rest: Vec<Table> =
            tables.iter().enumerate().filter(|(i, _)| *i != left_out).map(|(_, t)| t.clone()).collect();
        check_page(&rendered(&rest).html);
    }
    let scans_only = rendered(&tables[..1]);
    check_page(&scans_only.html);
    assert!(scans_only.html.contains("class=\"left-out\""));
    let without_scans = render(&ReportTables::new(&tables[1..]), &facts());
    assert_eq!(without_scans, Err(ReportError::NoScans));
}

#[test]
fn a_broken_contract_is_an_error_and_not_a_crash() {
    let mut tables = fake::corpus(3);
    tables[1] = Table::new("sections", vec![Column::texts("scan_id", ["scan-000-0"])]).unwrap();
    assert!(matches!(render(&ReportTables::new(&tables), &facts()), Err(ReportError::Table(_))));
}

#[test]
fn one_vessel_alone_makes_a_report() {
    let tables = fake::corpus(1);
    let report = rendered(&tables[..8]);
    check_page(&report.html);
    assert!(report.html.contains("not compared"));
}

#[test]
fn values_below_the_limit_are_bounds() {
    let report = rendered(&fake::corpus(6));
    // Fine vessels scanned with 0.03 mm noise: roundness 0.024 mm, limit 0.036 mm.
    assert!(report.html.contains("&lt; 0.036"));
}

#[test]
fn the_same_bytes_on_one_thread_and_two() {
    let tables = fake::corpus(8);
    let on = |threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads start");
        pool.install(|| rendered(&tables))
    };
    let first = on(1);
    assert_eq!(first, on(2));
    assert_eq!(first, rendered(&tables));
}

#[test]
fn sixty_vessels_stay_below_twenty_five_megabytes() {
    let report = rendered(&fake::corpus(60));
    assert!(report.html.len() < 25_000_000, "{} bytes", report.html.len());
}

#[test]
fn walls_that_were_exchanged_are_to_be_checked() {
    const DOUBT: &str = "To be checked:";
    let mut tables = fake::corpus(6);
    assert!(!rendered(&tables).html.contains(DOUBT));
    let place = tables.iter().position(|t| t.name() == "profiles").expect("the made-up tables have meridians");
    let exchanged = |wall: Option<&str>| if wall == Some("inner") { "outer" } else { "inner" };
    let columns: Vec<Column> = tables[place]
        .columns()
        .iter()
        .map(|column| match &column.data {
            ColumnData::Text(walls) if column.name == "wall" => {
                Column::texts("wall", walls.iter().map(|w| exchanged(w.as_deref())))
            }
            _ => column.clone(),
        })
        .collect();
    tables[place] = Table::new("profiles", columns).unwrap();
    assert!(rendered(&tables).html.contains(DOUBT));
}
