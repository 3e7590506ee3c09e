//! Pieces of HTML.

pub(super) use crate::figure::markup::escape;

/// A paragraph; `inner` is markup.
pub(super) fn paragraph(inner: &str) -> String {
    format!("<p>{inner}</p>\n")
}

/// A paragraph that says why a part was left out.
pub(super) fn left_out(reason: &str) -> String {
    format!("<p class=\"left-out\">{}</p>\n", escape(reason))
}

/// A list; the items are markup.
pub(super) fn list(items: &[String]) -> String {
    let items: String = items.iter().map(|item| format!("<li>{item}</li>\n")).collect();
    format!("<ul>\n{items}</ul>\n")
}

/// What opens on a click; `inner` is markup.
pub(super) fn folded(summary: &str, inner: &str) -> String {
    format!("<details><summary>{}</summary>\n{inner}</details>\n", escape(summary))
}

/// A figure with its caption; both are markup.
pub(super) fn figure(svg: &str, caption: &str) -> String {
    format!("<figure>\n{svg}<figcaption>{caption}</figcaption>\n</figure>\n")
}

/// A part of the page with a heading and an anchor.
pub(super) fn part(id: &str, heading: &str, inner: &str) -> String {
    format!("<section id=\"{id}\">\n<h2>{}</h2>\n{inner}</section>\n", escape(heading))
}

/// A column's heading and whether its cells are numbers.
pub(super) struct Heading(pub(super) &'static str, pub(super) bool);

/// A cell: its markup and, where it sorts otherwise than it reads, the key to sort by.
pub(super) struct Cell {
    pub(super) markup: String,
    pub(super) key: Option<f64>,
}

impl Cell {
    /// A cell of plain words.
    pub(super) fn words(text: &str) -> Self {
        Self { markup: escape(text), key: None }
    }

    /// A cell of a name that is not broken at its hyphens.
    pub(super) fn name(text: &str) -> Self {
        Self { markup: format!("<span class=\"name\">{}</span>", escape(text)), key: None }
    }

    /// A cell of markup.
    pub(super) const fn markup(markup: String) -> Self {
        Self { markup, key: None }
    }

    /// A cell of a number as it reads and as it sorts; a dash for a missing one.
    pub(super) fn number(reading: Option<String>, key: Option<f64>) -> Self {
        Self { markup: reading.map_or_else(|| "\u{2013}".to_owned(), |r| escape(&r)), key }
    }
}

/// A table; a reader's click on a heading sorts it where the page's script runs.
pub(super) fn table(caption: &str, headings: &[Heading], rows: &[Vec<Cell>], sortable: bool) -> String {
    let class = |numeric: bool| if numeric { " class=\"number\"" } else { "" };
    let head: String = headings
        .iter()
        .map(|Heading(name, numeric)| format!("<th scope=\"col\"{}>{}</th>", class(*numeric), escape(name)))
        .collect();
    let mut body = String::new();
    for row in rows {
        body.push_str("<tr>");
        for (index, cell) in row.iter().enumerate() {
            let numeric = headings.get(index).is_some_and(|h| h.1);
            let key = cell.key.map_or_else(String::new, |key| format!(" data-key=\"{key}\""));
            body.push_str(&format!("<td{}{key}>{}</td>", class(numeric), cell.markup));
        }
        body.push_str("</tr>\n");
    }
    let sortable = if sortable { " class=\"sortable\"" } else { "" };
    format!(
        "<div class=\"wide\"><table{sortable}>\n<caption>{caption}</caption>\n<thead><tr>{head}</tr></thead>\n\
         <tbody>\n{body}</tbody>\n</table></div>\n"
    )
}
