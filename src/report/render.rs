//! The whole report, from tables to pages.

use rayon::prelude::*;

use super::corpus::{Corpus, Vessel};
use super::html::{paragraph, part};
use super::vessel_figures::{ScanRows, VesselFigures, vessel_figures};
use super::vessel_section::{folded, sheet_body, vessel_section};
use super::{
    ReportError, ReportFacts, ReportTables, associations, differences, document, glance, groups, maps, method,
    outliers, overview, proportions, scans, screening, shortlist,
};

/// Above this many vessels the report leaves their drawings to the sheets, so that it still opens.
const MOST_DRAWN: usize = 400;

/// The report's files; names are relative to the results folder, with `/`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rendered {
    /// The report, one file that needs no other.
    pub html: String,
    /// The figures as name and SVG.
    pub figures: Vec<(String, String)>,
    /// One page per vessel as name and HTML.
    pub sheets: Vec<(String, String)>,
}

/// One vessel's share of the report.
struct VesselPart {
    folded: String,
    sheet: (String, String),
    figures: Vec<(String, String)>,
    walls_contradict: bool,
}

/// Writes the report, its figures and a sheet per vessel.
///
/// A table that is missing leaves its part out, with a sentence that says so; only `scans` must be there.
///
/// # Errors
/// [`ReportError`] without scans, or if a table breaks its contract.
///
/// # Example
/// ```
/// use tornus::report::{ReportFacts, ReportTables, render};
/// use tornus::table::{Column, Table};
/// let scans = Table::new("scans", vec![
///     Column::texts("scan_id", ["a"]),
///     Column::texts("vessel_id", ["<jar>"]),
///     Column::texts("status", ["rejected"]),
///     Column::texts("reason", ["axis: no opening"]),
/// ])?;
/// let rendered = render(&ReportTables::new([&scans]), &ReportFacts::default())?;
/// assert!(rendered.html.contains("&lt;jar&gt;") && rendered.html.contains("axis: no opening"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn render(tables: &ReportTables<'_>, facts: &ReportFacts) -> Result<Rendered, ReportError> {
    let corpus = Corpus::new(tables)?;
    let rows = ScanRows::new(&corpus)?;
    let drawn_here = corpus.vessels.len() <= MOST_DRAWN;
    let parts: Vec<VesselPart> = corpus
        .vessels
        .par_iter()
        .map(|vessel| vessel_part(&corpus, &rows, vessel, facts, drawn_here))
        .collect::<Result<_, _>>()?;
    let doubtful: Vec<&Vessel<'_>> =
        corpus.vessels.iter().zip(&parts).filter(|(_, part)| part.walls_contradict).map(|(vessel, _)| vessel).collect();
    let maps = maps::maps(&corpus, facts)?;
    let groups = groups::groups(&corpus)?;
    let associations = associations::associations(&corpus)?;
    let screening = screening::screening(&corpus)?;
    let shortlist = shortlist::shortlist(&corpus)?;
    let proportions = proportions::proportions(&corpus)?;
    let title = if facts.title.is_empty() { "Vessels of revolution compared" } else { &facts.title };
    let body = [
        glance::glance(&corpus, &doubtful),
        maps.markup,
        groups.markup,
        outliers::outliers(&corpus, &doubtful),
        differences::differences(&corpus),
        associations.markup,
        screening.markup,
        shortlist.markup,
        proportions.markup,
        vessels_part(&overview::overview(&corpus)?, &parts, drawn_here),
        scans::rejected(&corpus),
        scans::repeats(&corpus)?,
        method::method(facts),
    ];
    let mut figures = maps.files;
    figures.extend(groups.files);
    figures.extend(associations.files);
    figures.extend(screening.files);
    figures.extend(shortlist.files);
    figures.extend(proportions.files);
    let mut sheets = Vec::with_capacity(parts.len());
    for part in parts {
        figures.extend(part.figures);
        sheets.push(part.sheet);
    }
    Ok(Rendered { html: document::report(title, &body.concat()), figures, sheets })
}

fn vessel_part(
    corpus: &Corpus<'_>,
    rows: &ScanRows<'_>,
    vessel: &Vessel<'_>,
    facts: &ReportFacts,
    drawn_here: bool,
) -> Result<VesselPart, ReportError> {
    let figures: Option<VesselFigures> =
        vessel.drawn.map(|scan| vessel_figures(rows, vessel, scan, facts.number("cutoff_upr"))).transpose()?;
    let inner = vessel_section(corpus, vessel, figures.as_ref())?;
    let sheet = document::page(vessel.id, &sheet_body(vessel, &inner));
    let here = if drawn_here {
        inner
    } else {
        paragraph(&format!(
            "<a href=\"sheets/{}.html\">Drawings and measures on the vessel\u{2019}s sheet</a>",
            vessel.slug
        ))
    };
    let files = figures.iter().flat_map(VesselFigures::drawn).map(|d| (d.file.clone(), d.svg.clone())).collect();
    Ok(VesselPart {
        folded: folded(corpus, vessel, &here),
        sheet: (format!("sheets/{}.html", vessel.slug), sheet),
        figures: files,
        walls_contradict: figures.is_some_and(|f| f.walls_contradict),
    })
}

fn vessels_part(overview: &str, parts: &[VesselPart], drawn_here: bool) -> String {
    let words = if drawn_here {
        "Each vessel\u{2019}s drawings, measures and scans; click a name to unfold it. What is unfolded is printed; \
         each vessel also has a sheet of its own in <code>sheets/</code>."
    } else {
        "The corpus is large: each vessel\u{2019}s drawings and measures are on its own sheet."
    };
    let tools = "<p class=\"tools\" hidden><label>Find a vessel <input type=\"search\" id=\"vessel-filter\"></label>\n\
                 <button type=\"button\" id=\"unfold\">Unfold all</button> <button type=\"button\" id=\"fold\">Fold all</button></p>\n";
    let folded: String = parts.iter().map(|p| p.folded.as_str()).collect();
    part("vessels", "The vessels one by one", &format!("{overview}{}{tools}{folded}", paragraph(words)))
}
