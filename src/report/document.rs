//! Whole pages.

use super::html::escape;

const STYLE: &str = include_str!("style.css");
const SCRIPT: &str = include_str!("script.js");

/// The parts of the report as the contents list names them.
const CONTENTS: [(&str, &str); 13] = [
    ("glance", "At a glance"),
    ("maps", "Maps"),
    ("groups", "Groups and components"),
    ("outliers", "Outliers"),
    ("differences", "Differences"),
    ("associations", "Form against precision"),
    ("screening", "Screening"),
    ("shortlist", "Tomography"),
    ("proportions", "Proportions"),
    ("vessels", "Vessels"),
    ("rejected", "Rejected scans"),
    ("repeats", "Repeat scans"),
    ("method", "Method and limits"),
];

/// The report's page.
pub(super) fn report(title: &str, body: &str) -> String {
    let links: String = CONTENTS.iter().map(|(id, name)| format!("<a href=\"#{id}\">{name}</a>\n")).collect();
    let contents = format!("<nav aria-label=\"Contents\">\n{links}</nav>\n");
    page(title, &format!("<header>\n<h1>{}</h1>\n{contents}</header>\n<main>\n{body}</main>\n", escape(title)))
}

/// A page of one file: style and script within, nothing fetched.
pub(super) fn page(title: &str, body: &str) -> String {
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" \
         content=\"width=device-width, initial-scale=1\">\n<title>{}</title>\n<style>\n{STYLE}</style>\n</head>\n<body>\n{body}\
         <script>\n{SCRIPT}</script>\n</body>\n</html>\n",
        escape(title)
    )
}
