//! What other methods make of the groups, and what the components of precision are made of.

use super::cells;
use super::corpus::Corpus;
use super::html::{Cell, Heading, table};
use super::number::{percent, plain};
use crate::table::measure_words;

/// Measures named with a component.
const MOST_NAMED: usize = 5;
/// Components spoken of.
const MOST_COMPONENTS: usize = 3;

/// The groups by other methods beside the published; empty if none were tried.
pub(super) fn agreement(corpus: &Corpus<'_>) -> String {
    let Some(source) = corpus.tables.get("agreement") else { return String::new() };
    let rows: Vec<Vec<Cell>> = (0..source.rows())
        .map(|row| {
            let number = |name: &str| {
                let value = cells::number(source, name, row);
                Cell::number(value.map(|v| plain(v, 2)), value)
            };
            let whole = |name: &str| {
                let value = cells::number(source, name, row);
                Cell::number(value.map(|v| format!("{v:.0}")), value)
            };
            vec![
                Cell::words(cells::text(source, "space", row).unwrap_or("")),
                Cell::words(&cells::text(source, "method", row).unwrap_or("").replace('_', " ")),
                whole("groups"),
                number("adjusted_rand"),
                number("silhouette"),
                number("p_one_group"),
                whole("sampled"),
                whole("ungrouped"),
            ]
        })
        .collect();
    let headings = [
        Heading("Compared by", false),
        Heading("Method", false),
        Heading("Groups", true),
        Heading("Adjusted Rand index", true),
        Heading("Mean silhouette", true),
        Heading("p of one group", true),
        Heading("Judged on", true),
        Heading("In no group", true),
    ];
    let caption = "The published groups beside those of other methods. Adjusted Rand index: 1 is the same division, 0 what chance \
                   would give. p of one group: how often a corpus of one group would seem as divided, where it was tested. Judged on: the vessels drawn at random that the number of groups rests on (published \
                   mixture) or that the method was run on, the others going with the nearest of those; fewer than all in large \
                   corpora only.";
    table(caption, &headings, &rows, false)
}

/// The measures that weigh most in the first components of precision; empty if they are not known.
pub(super) fn precision_components(corpus: &Corpus<'_>) -> String {
    let Some(source) = corpus.tables.get("precision_axes") else { return String::new() };
    let rows: Vec<Vec<Cell>> = (0..source.rows().min(MOST_COMPONENTS))
        .map(|row| {
            let mut loadings: Vec<(&str, f64)> = source
                .columns()
                .iter()
                .filter_map(|c| Some((c.name.strip_prefix("loading_")?, cells::number(source, &c.name, row)?)))
                .collect();
            loadings.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()));
            let named: Vec<String> = loadings
                .iter()
                .take(MOST_NAMED)
                .map(|(name, loading)| format!("{} ({})", measure_words::listed(name), plain(*loading, 2)))
                .collect();
            let component = cells::number(source, "component", row).unwrap_or(0.0);
            vec![
                Cell::words(&format!("PC{component:.0}")),
                Cell::number(cells::number(source, "explained", row).map(percent), None),
                Cell::words(&named.join("; ")),
            ]
        })
        .collect();
    let headings = [Heading("Component", false), Heading("Share", true), Heading("Strongest loadings", false)];
    let caption =
        "What the components of precision are made of: the measures whose logarithms weigh most, with their loadings.";
    table(caption, &headings, &rows, false)
}
