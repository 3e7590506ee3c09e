//! The whole report, from tables to pages, at once or vessel by vessel.

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

/// Vessels drawn at once where the tables of their scans are read piece by piece.
const BATCH: usize = 64;

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

/// Some vessels drawn: their files, and what the report's page says of them.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct DrawnVessels {
    /// Their figures as name and SVG.
    pub figures: Vec<(String, String)>,
    /// Their pages as name and HTML.
    pub sheets: Vec<(String, String)>,
    /// What [`Report::finish`] needs of them.
    pub told: ToldVessels,
}

/// What the report's page says of some vessels.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ToldVessels {
    vessels: Vec<ToldVessel>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
struct ToldVessel {
    /// Its place in the report.
    index: usize,
    folded: String,
    walls_contradict: bool,
}

/// One vessel's share of the report.
struct VesselPart {
    folded: String,
    sheet: (String, String),
    figures: Vec<(String, String)>,
    walls_contradict: bool,
}

/// Writes the report, its figures and a sheet per vessel, from tables that are all in memory.
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
    let report = Report::new(tables, facts)?;
    let DrawnVessels { figures, sheets, told } =
        report.draw(&(0..report.corpus.vessels.len()).collect::<Vec<_>>(), tables)?;
    let (html, mut all) = report.finish(&[told])?;
    all.extend(figures);
    Ok(Rendered { html, figures: all, sheets })
}

/// A report made piece by piece: of a large corpus the tables of single scans do not fit in memory.
///
/// Vessels are drawn in [`batches`](Self::batches), each from the rows of its own scans, and [`finish`](Self::finish) makes
/// the page.
///
/// # Example
/// A corpus of one rejected scan has one vessel, of which no scan is drawn:
/// ```
/// use tornus::report::{Report, ReportFacts, ReportTables};
/// use tornus::table::{Column, Table};
/// let scans = Table::new("scans", vec![
///     Column::texts("scan_id", ["a"]),
///     Column::texts("vessel_id", ["jar"]),
///     Column::texts("status", ["rejected"]),
///     Column::texts("reason", ["axis: no opening"]),
/// ])?;
/// let facts = ReportFacts::default();
/// let report = Report::new(&ReportTables::new([&scans]), &facts)?;
/// let batches: Vec<_> = report.batches().collect();
/// assert_eq!((batches.len(), report.scans_of(batches[0]).len()), (1, 0));
/// let drawn = report.draw(batches[0], &ReportTables::default())?;
/// let (html, _) = report.finish(&[drawn.told])?;
/// assert!(html.contains("axis: no opening") && drawn.sheets.len() == 1);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub struct Report<'a> {
    corpus: Corpus<'a>,
    facts: &'a ReportFacts,
    drawn_here: bool,
    /// The vessels' places, in the order of the scans they are drawn from: those lie together on disk.
    by_scan: Vec<usize>,
}

impl<'a> Report<'a> {
    /// The tables of single scans, which [`draw`](Self::draw) is given; the others are given whole.
    pub const OF_SCANS: [&'static str; 5] = ScanRows::TABLES;

    /// A report on these tables, those of [`OF_SCANS`](Self::OF_SCANS) not needed.
    ///
    /// # Errors
    /// As [`render`].
    pub fn new(tables: &ReportTables<'a>, facts: &'a ReportFacts) -> Result<Self, ReportError> {
        let corpus = Corpus::new(tables)?;
        let drawn_here = corpus.vessels.len() <= MOST_DRAWN;
        let mut by_scan: Vec<usize> = (0..corpus.vessels.len()).collect();
        by_scan.sort_by_key(|&index| corpus.vessels[index].drawn);
        Ok(Self { corpus, facts, drawn_here, by_scan })
    }

    /// The vessels in batches, by their places in the report.
    pub fn batches(&self) -> impl Iterator<Item = &[usize]> {
        self.by_scan.chunks(BATCH)
    }

    /// The scans that the figures of these vessels are drawn from.
    #[must_use]
    pub fn scans_of(&self, batch: &[usize]) -> Vec<&'a str> {
        self.vessels(batch).filter_map(|(_, vessel)| vessel.drawn).collect()
    }

    fn vessels<'b>(&'b self, batch: &'b [usize]) -> impl Iterator<Item = (usize, &'b Vessel<'a>)> {
        batch.iter().filter_map(|&index| Some((index, self.corpus.vessels.get(index)?)))
    }

    /// Draws a batch of vessels from the rows of their scans; other scans' rows do no harm.
    ///
    /// # Errors
    /// [`ReportError`] if a table breaks its contract.
    pub fn draw(&self, batch: &[usize], scans: &ReportTables<'_>) -> Result<DrawnVessels, ReportError> {
        let rows = ScanRows::new(scans)?;
        let vessels: Vec<(usize, &Vessel<'_>)> = self.vessels(batch).collect();
        let parts: Vec<VesselPart> =
            vessels.par_iter().map(|(_, vessel)| self.vessel_part(&rows, vessel)).collect::<Result<_, _>>()?;
        let mut drawn = DrawnVessels::default();
        for ((index, _), part) in vessels.into_iter().zip(parts) {
            drawn.figures.extend(part.figures);
            drawn.sheets.push(part.sheet);
            let VesselPart { folded, walls_contradict, .. } = part;
            drawn.told.vessels.push(ToldVessel { index, folded, walls_contradict });
        }
        Ok(drawn)
    }

    /// The report's page and the figures of the corpus, from what was drawn of all vessels.
    ///
    /// # Errors
    /// As [`draw`](Self::draw).
    pub fn finish(&self, told: &[ToldVessels]) -> Result<(String, Vec<(String, String)>), ReportError> {
        let (corpus, facts) = (&self.corpus, self.facts);
        let mut told: Vec<&ToldVessel> = told.iter().flat_map(|told| &told.vessels).collect();
        told.sort_by_key(|vessel| vessel.index);
        let doubtful = told.iter().filter(|vessel| vessel.walls_contradict);
        let doubtful: Vec<&Vessel<'_>> = doubtful.filter_map(|told| corpus.vessels.get(told.index)).collect();
        let maps = maps::maps(corpus, facts)?;
        let groups = groups::groups(corpus)?;
        let associations = associations::associations(corpus)?;
        let screening = screening::screening(corpus)?;
        let shortlist = shortlist::shortlist(corpus)?;
        let proportions = proportions::proportions(corpus)?;
        let title = if facts.title.is_empty() { "Vessels of revolution compared" } else { &facts.title };
        let body = [
            glance::glance(corpus, &doubtful),
            maps.markup,
            groups.markup,
            outliers::outliers(corpus, &doubtful),
            differences::differences(corpus),
            associations.markup,
            screening.markup,
            shortlist.markup,
            proportions.markup,
            vessels_part(&overview::overview(corpus)?, &told, self.drawn_here),
            scans::rejected(corpus),
            scans::repeats(corpus)?,
            method::method(facts),
        ];
        let mut figures = maps.files;
        figures.extend(groups.files);
        figures.extend(associations.files);
        figures.extend(screening.files);
        figures.extend(shortlist.files);
        figures.extend(proportions.files);
        Ok((document::report(title, &body.concat()), figures))
    }

    fn vessel_part(&self, rows: &ScanRows<'_>, vessel: &Vessel<'_>) -> Result<VesselPart, ReportError> {
        let cutoff_upr = self.facts.number("cutoff_upr");
        let figures: Option<VesselFigures> =
            vessel.drawn.map(|scan| vessel_figures(rows, vessel, scan, cutoff_upr)).transpose()?;
        let inner = vessel_section(&self.corpus, vessel, figures.as_ref())?;
        let sheet = document::page(vessel.id, &sheet_body(vessel, &inner));
        let here = if self.drawn_here {
            inner
        } else {
            paragraph(&format!(
                "<a href=\"sheets/{}.html\">Drawings and measures on the vessel\u{2019}s sheet</a>",
                vessel.slug
            ))
        };
        let files = figures.iter().flat_map(VesselFigures::drawn).map(|d| (d.file.clone(), d.svg.clone())).collect();
        Ok(VesselPart {
            folded: folded(&self.corpus, vessel, &here),
            sheet: (format!("sheets/{}.html", vessel.slug), sheet),
            figures: files,
            walls_contradict: figures.is_some_and(|f| f.walls_contradict),
        })
    }
}

fn vessels_part(overview: &str, told: &[&ToldVessel], drawn_here: bool) -> String {
    let words = if drawn_here {
        "Each vessel\u{2019}s drawings, measures and scans; click a name to unfold it. What is unfolded is printed; \
         each vessel also has a sheet of its own in <code>sheets/</code>."
    } else {
        "The corpus is large: each vessel\u{2019}s drawings and measures are on its own sheet."
    };
    let tools = "<p class=\"tools\" hidden><label>Find a vessel <input type=\"search\" id=\"vessel-filter\"></label>\n\
                 <button type=\"button\" id=\"unfold\">Unfold all</button> <button type=\"button\" id=\"fold\">Fold all</button></p>\n";
    let folded: String = told.iter().map(|told| told.folded.as_str()).collect();
    part("vessels", "The vessels one by one", &format!("{overview}{}{tools}{folded}", paragraph(words)))
}
