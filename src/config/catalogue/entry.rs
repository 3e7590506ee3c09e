//! One row of the catalogue.

use super::Problem;
use super::header::Header;
use crate::outline::Drawn;
use crate::quantity::LengthUnit;
use crate::reduction::{Declared, Up};

/// One scan as the catalogue describes it.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// The line of the catalogue, from 1.
    pub line: u64,
    /// The vessel.
    pub vessel_id: String,
    /// The scan file as written, relative to the catalogue.
    pub file: String,
    /// The unit of its coordinates.
    pub unit: LengthUnit,
    /// What of the vessel a digitised curve follows; `None` of a scan.
    pub drawn: Option<Drawn>,
    /// Whether the file is said to be a scan, whatever its header row.
    pub scanned: bool,
    /// The scanner.
    pub instrument: Option<String>,
    /// The scanner's declared standard uncertainty, mm.
    pub u_instrument_mm: Option<f64>,
    /// Which way is up, as written.
    pub up: Option<String>,
    /// `yes` where the vessel stood on its foot when it was scanned, as written.
    pub stands_on_foot: Option<String>,
    /// Material of the vessel.
    pub material: Option<String>,
    /// Its hardness on the Mohs scale, 1 to 10.
    pub mohs: Option<f64>,
    /// Its density, g/cm3.
    pub density_g_cm3: Option<f64>,
    /// `modern` or `old` for a documented reference piece.
    pub reference: Option<String>,
    /// Cost of a tomography.
    pub ct_cost: Option<f64>,
    /// Where it was found or given.
    pub setting: Option<String>,
    /// The other columns, in the order of the header.
    pub carried: Vec<Option<String>>,
}

impl Entry {
    /// What the file holds, as the catalogue says; `None` where it leaves that to the file.
    #[must_use]
    pub const fn content(&self) -> Option<&'static str> {
        match self.drawn {
            Some(drawn) => Some(drawn.word()),
            None if self.scanned => Some("scan"),
            None => None,
        }
    }

    /// What the reduction is told of this scan.
    #[must_use]
    pub fn declared(&self) -> Declared {
        Declared {
            up: self.up.as_deref().and_then(Up::parse),
            stands_on_foot: self.stands_on_foot.as_deref() == Some("yes"),
            u_instrument_mm: self.u_instrument_mm,
        }
    }
}

/// The cells of one row, and what is wrong with them.
struct Cells<'a> {
    header: &'a Header,
    cells: &'a [String],
    line: u64,
    problems: Vec<Problem>,
}

impl Cells<'_> {
    fn text(&self, column: &str) -> Option<String> {
        let cell = self.cells.get(self.header.index(column)?)?.trim();
        (!cell.is_empty()).then(|| cell.to_owned())
    }

    fn problem(&mut self, column: &str, expected: &str, found: &str) {
        let what = format!("expected {expected}, found {found:?}");
        self.problems.push(Problem { line: self.line, column: column.to_owned(), what });
    }

    fn required(&mut self, column: &str) -> String {
        let found = self.text(column);
        if found.is_none() {
            self.problem(column, "a value", "");
        }
        found.unwrap_or_default()
    }

    fn number(&mut self, column: &str, expected: &str, fits: fn(f64) -> bool) -> Option<f64> {
        let text = self.text(column)?;
        match text.parse::<f64>() {
            Ok(value) if value.is_finite() && fits(value) => return Some(value),
            Err(_) if text.replacen(',', ".", 1).parse::<f64>().is_ok() => {
                self.problem(column, &format!("{expected}, with a decimal point"), &text);
            }
            _ => self.problem(column, expected, &text),
        }
        None
    }

    fn one_of(&mut self, column: &str, expected: &str, fits: impl Fn(&str) -> bool) -> Option<String> {
        let text = self.text(column)?;
        if fits(&text) {
            return Some(text);
        }
        self.problem(column, expected, &text);
        None
    }
}

/// Reads one row.
pub(super) fn read_entry(header: &Header, cells: &[String], line: u64) -> Result<Entry, Vec<Problem>> {
    let mut row = Cells { header, cells, line, problems: Vec::new() };
    let unit_text = row.required("unit");
    let unit = unit_text.parse::<LengthUnit>();
    if unit.is_err() && !unit_text.is_empty() {
        row.problem("unit", "mm, cm, m or in", &unit_text);
    }
    let carried = |index: usize| cells.get(index).map(|cell| cell.trim().to_owned()).filter(|cell| !cell.is_empty());
    let content = row
        .one_of("content", "scan, profile, outline or nothing", |text| text == "scan" || text.parse::<Drawn>().is_ok());
    let entry = Entry {
        drawn: content.as_deref().and_then(|word| word.parse().ok()),
        scanned: content.as_deref() == Some("scan"),
        line,
        vessel_id: row.required("vessel_id"),
        file: row.required("file"),
        unit: unit.unwrap_or(LengthUnit::Millimetre), // never seen: a problem is recorded above
        instrument: row.text("instrument"),
        u_instrument_mm: row.number("u_instrument_mm", "a standard uncertainty in mm, 0 or more", |u| u >= 0.0),
        up: row.one_of("up", "+x, -x, +y, -y, +z or -z", |text| Up::parse(text).is_some()),
        stands_on_foot: row.one_of("stands_on_foot", "yes, no or nothing", |text| matches!(text, "yes" | "no")),
        material: row.text("material"),
        mohs: row.number("mohs", "a hardness of 1 to 10", |mohs| (1.0..=10.0).contains(&mohs)),
        density_g_cm3: row.number("density_g_cm3", "a density in g/cm3 above 0", |density| density > 0.0),
        reference: row.one_of("reference", "modern, old or nothing", |text| matches!(text, "modern" | "old")),
        ct_cost: row.number("ct_cost", "a cost of 0 or more", |cost| cost >= 0.0),
        setting: row.text("setting"),
        carried: header.carried().map(|(index, _)| carried(index)).collect(),
    };
    if row.problems.is_empty() { Ok(entry) } else { Err(row.problems) }
}
