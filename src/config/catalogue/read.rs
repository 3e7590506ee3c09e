//! The catalogue as a whole.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use super::entry::{Entry, read_entry};
use super::header::Header;
use super::{CatalogueError, Problem, scan_ids};
use crate::config::Select;

/// A catalogue, checked: at least one row, known units, no file twice, one truth per vessel.
#[derive(Clone, Debug, PartialEq)]
pub struct Catalogue {
    pub(super) entries: Vec<Entry>,
    pub(super) scan_ids: Vec<String>,
    pub(super) carried: Vec<String>,
    notes: Vec<String>,
}

impl Catalogue {
    /// Reads and checks a catalogue file, and takes the rows `select` chooses.
    ///
    /// # Errors
    /// [`CatalogueError`] with every line that cannot be used.
    pub fn read(path: &Path, select: Option<&Select>) -> Result<Self, CatalogueError> {
        let bytes = fs::read(path).map_err(|source| CatalogueError::Io { path: path.to_path_buf(), source })?;
        Self::parse(&bytes, select)
    }

    /// Checks the bytes of a catalogue, and takes the rows `select` chooses.
    ///
    /// Scans are named before rows are chosen, so that a choice does not rename them.
    ///
    /// # Errors
    /// [`CatalogueError::Problems`] with every line that cannot be used.
    ///
    /// # Example
    /// ```
    /// use tornus::config::Catalogue;
    /// let text = b"vessel_id,file,unit,donor\nSHM-7,scans/bowl.ply,mm,Orla Penhaligon-Vane\n";
    /// let catalogue = Catalogue::parse(text, None).expect("a good catalogue");
    /// assert_eq!(catalogue.scan_ids(), ["bowl"]);
    /// let wrong = Catalogue::parse(b"vessel_id,file,unit\nSHM-7,bowl.ply,ft\n", None).unwrap_err();
    /// assert_eq!(wrong.to_string(), "line 2, column unit: expected mm, cm, m or in, found \"ft\"");
    /// ```
    pub fn parse(bytes: &[u8], select: Option<&Select>) -> Result<Self, CatalogueError> {
        let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
        let (header, entries) = rows(bytes).map_err(CatalogueError::Problems)?;
        let mut problems = duplicates(&entries);
        problems.extend(contradictions(&entries));
        if !problems.is_empty() {
            return Err(CatalogueError::Problems(problems));
        }
        let notes = notes(&header, &entries);
        let files: Vec<&str> = entries.iter().map(|entry| entry.file.as_str()).collect();
        let scan_ids = scan_ids(&files);
        let carried = header.carried().map(|(_, name)| name.to_owned()).collect();
        let whole = Self { entries, scan_ids, carried, notes };
        match select {
            Some(select) => whole.selected(&header, select),
            None => Ok(whole),
        }
    }

    fn selected(self, header: &Header, select: &Select) -> Result<Self, CatalogueError> {
        let refused =
            |column: &str, what| CatalogueError::Problems(vec![Problem { line: 1, column: column.to_owned(), what }]);
        if header.index(&select.column).is_none() {
            let hint = crate::config::nearest(&select.column, header.names.iter().map(String::as_str));
            let hint = hint.map(|name| format!(", did you mean `{name}`?")).unwrap_or_default();
            return Err(refused(&select.column, format!("[select] names a column that is not there{hint}")));
        }
        let chosen = |entry: &Entry| {
            let value = self.value(entry, &select.column);
            select.values.iter().any(|wanted| wanted.trim() == value.as_deref().unwrap_or(""))
        };
        let kept: Vec<bool> = self.entries.iter().map(chosen).collect();
        if !kept.contains(&true) {
            return Err(refused(&select.column, format!("[select] chooses no row: {:?}", select.values)));
        }
        let mut keep = kept.iter().copied();
        let entries = self.entries.into_iter().filter(|_| keep.next().unwrap_or(false)).collect();
        let mut keep = kept.iter().copied();
        let scan_ids = self.scan_ids.into_iter().filter(|_| keep.next().unwrap_or(false)).collect();
        Ok(Self { entries, scan_ids, carried: self.carried, notes: self.notes })
    }

    fn value(&self, entry: &Entry, column: &str) -> Option<String> {
        let carried = || {
            let index = self.carried.iter().position(|name| name == column)?;
            entry.carried[index].clone()
        };
        match column {
            "vessel_id" => Some(entry.vessel_id.clone()),
            "file" => Some(entry.file.clone()),
            "content" => entry.content().map(str::to_owned),
            "unit" => Some(entry.unit.symbol().to_owned()),
            "u_instrument_mm" => entry.u_instrument_mm.map(|value| value.to_string()),
            _ => vessel_value(entry, column).or_else(carried),
        }
    }

    /// The rows, in the order of the file.
    #[must_use]
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// The names of the scans, one per row.
    #[must_use]
    pub fn scan_ids(&self) -> &[String] {
        &self.scan_ids
    }

    /// What a reader should know: columns that look misspelt, repeat scans that disagree in a carried-through column.
    #[must_use]
    pub fn notes(&self) -> &[String] {
        &self.notes
    }
}

fn rows(bytes: &[u8]) -> Result<(Header, Vec<Entry>), Vec<Problem>> {
    let one = |line, what| vec![Problem { line, column: String::new(), what }];
    if let Err(error) = std::str::from_utf8(bytes) {
        let line = 1 + bytes[..error.valid_up_to()].iter().filter(|&&byte| byte == b'\n').count() as u64;
        return Err(one(line, "expected UTF-8 text, found other bytes; save the file as UTF-8".to_owned()));
    }
    let mut reader = csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(bytes);
    let mut records = reader.records();
    let unreadable = |error: csv::Error| one(error.position().map_or(1, csv::Position::line), error.to_string());
    let Some(first) = records.next().transpose().map_err(unreadable)? else {
        return Err(one(1, "expected a header row, found an empty file".to_owned()));
    };
    let header = Header::new(first.iter().map(|name| name.trim().to_owned()).collect())?;
    let (mut entries, mut problems) = (Vec::new(), Vec::new());
    for record in records {
        let record = record.map_err(unreadable)?;
        let line = record.position().map_or(0, csv::Position::line);
        let cells: Vec<String> = record.iter().map(str::to_owned).collect();
        if cells.iter().all(|cell| cell.trim().is_empty()) {
            continue; // spreadsheets leave rows of commas behind
        }
        if cells.len() != header.names.len() {
            let what = format!("expected {} cells as in the header, found {}", header.names.len(), cells.len());
            problems.extend(one(line, what));
            continue;
        }
        match read_entry(&header, &cells, line) {
            Ok(entry) => entries.push(entry),
            Err(found) => problems.extend(found),
        }
    }
    if entries.is_empty() && problems.is_empty() {
        return Err(one(2, "expected at least one scan, found none".to_owned()));
    }
    if problems.is_empty() { Ok((header, entries)) } else { Err(problems) }
}

/// A file that stands in two rows would count twice as evidence.
fn duplicates(entries: &[Entry]) -> Vec<Problem> {
    let mut first: BTreeMap<String, u64> = BTreeMap::new();
    let mut problems = Vec::new();
    for entry in entries {
        let plain = super::locate::plain(&entry.file);
        match first.get(&plain) {
            Some(line) => problems.push(Problem {
                line: entry.line,
                column: "file".to_owned(),
                what: format!("expected each file once, found {:?} in line {line} too", entry.file),
            }),
            None => {
                first.insert(plain, entry.line);
            }
        }
    }
    problems
}

/// The columns later stages decide by: repeat scans of a vessel must not contradict each other there.
const OF_THE_VESSEL: [&str; 6] = ["material", "mohs", "density_g_cm3", "reference", "ct_cost", "setting"];

fn vessel_value(entry: &Entry, column: &str) -> Option<String> {
    let number = |value: Option<f64>| value.map(|value| value.to_string());
    match column {
        "instrument" => entry.instrument.clone(),
        "up" => entry.up.clone(),
        "stands_on_foot" => entry.stands_on_foot.clone(),
        "material" => entry.material.clone(),
        "mohs" => number(entry.mohs),
        "density_g_cm3" => number(entry.density_g_cm3),
        "reference" => entry.reference.clone(),
        "ct_cost" => number(entry.ct_cost),
        "setting" => entry.setting.clone(),
        _ => None,
    }
}

fn contradictions(entries: &[Entry]) -> Vec<Problem> {
    let mut problems = Vec::new();
    for column in OF_THE_VESSEL {
        let mut first: BTreeMap<&str, (u64, String)> = BTreeMap::new();
        for entry in entries {
            let Some(value) = vessel_value(entry, column) else { continue };
            let (line, given) = first.entry(&entry.vessel_id).or_insert_with(|| (entry.line, value.clone()));
            if *given != value {
                let vessel = &entry.vessel_id;
                let what = format!("expected {given:?} as in line {line} for vessel {vessel}, found {value:?}");
                problems.push(Problem { line: entry.line, column: column.to_owned(), what });
            }
        }
    }
    problems
}

fn notes(header: &Header, entries: &[Entry]) -> Vec<String> {
    let doubtful = header.doubtful().into_iter();
    let mut notes: Vec<String> = doubtful
        .map(|(name, known)| format!("column `{name}` is carried through; if `{known}` is meant, rename it"))
        .collect();
    for (index, (_, name)) in header.carried().enumerate() {
        let mut first: BTreeMap<&str, (u64, &str)> = BTreeMap::new();
        for entry in entries {
            let Some(value) = entry.carried[index].as_deref() else { continue };
            let (line, given) = *first.entry(&entry.vessel_id).or_insert((entry.line, value));
            if given != value {
                let vessel = &entry.vessel_id;
                notes.push(format!(
                    "line {}, column {name}: vessel {vessel} has {value:?} here and {given:?} in line {line}, which stands",
                    entry.line
                ));
            }
        }
    }
    notes
}
