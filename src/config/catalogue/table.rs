//! The catalogue as a table: what later stages and other machines know of it.

use super::Catalogue;
use crate::table::schema::is_described;
use crate::table::{Column, Table, TableError};

impl Catalogue {
    /// The table `catalogue`: one row per scan, sorted by `scan_id`; the program's columns, then the carried ones as words.
    ///
    /// A carried column whose name is a column of the program's own in `vessels` becomes `catalogue_NAME`.
    ///
    /// # Errors
    /// [`TableError`] never in practice: the numbers were checked when they were read.
    pub fn table(&self) -> Result<Table, TableError> {
        let mut rows: Vec<usize> = (0..self.entries.len()).collect();
        rows.sort_by(|&a, &b| self.scan_ids[a].cmp(&self.scan_ids[b]));
        let entries = || rows.iter().map(|&row| &self.entries[row]);
        let mut columns = vec![
            Column::texts("scan_id", rows.iter().map(|&row| self.scan_ids[row].as_str())),
            Column::texts("vessel_id", entries().map(|entry| entry.vessel_id.as_str())),
            Column::texts("file", entries().map(|entry| entry.file.as_str())),
            Column::texts("unit", entries().map(|entry| entry.unit.symbol())),
            Column::optional_texts("content", entries().map(|entry| entry.content().map(str::to_owned))),
            Column::optional_texts("instrument", entries().map(|entry| entry.instrument.clone())),
            Column::optional_floats("u_instrument_mm", entries().map(|entry| entry.u_instrument_mm)),
            Column::optional_texts("up", entries().map(|entry| entry.up.clone())),
            Column::optional_texts("stands_on_foot", entries().map(|entry| entry.stands_on_foot.clone())),
            Column::optional_texts("material", entries().map(|entry| entry.material.clone())),
            Column::optional_floats("mohs", entries().map(|entry| entry.mohs)),
            Column::optional_floats("density_g_cm3", entries().map(|entry| entry.density_g_cm3)),
            Column::optional_texts("reference", entries().map(|entry| entry.reference.clone())),
            Column::optional_floats("ct_cost", entries().map(|entry| entry.ct_cost)),
            Column::optional_texts("setting", entries().map(|entry| entry.setting.clone())),
        ];
        for (index, name) in self.carried.iter().enumerate() {
            let values = entries().map(|entry| entry.carried[index].clone());
            columns.push(Column::optional_texts(&published(name), values));
        }
        Table::new("catalogue", columns)
    }
}

fn published(name: &str) -> String {
    if is_described("vessels", name) || is_described("catalogue", name) {
        format!("catalogue_{name}")
    } else {
        name.to_owned()
    }
}
