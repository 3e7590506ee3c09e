//! The method and its limits in plain words, and how to make the results again.

use super::ReportFacts;
use super::html::{escape, part};

const METHOD: &str = include_str!("method.html");

/// The part on the method.
pub(super) fn method(facts: &ReportFacts) -> String {
    let mut inner = METHOD.to_owned();
    inner.push_str("<h3>To cite and to make again</h3>\n<p>");
    inner.push_str(&format!(
        "Made with tornus {}, table schema {}, seed {}. The hash of every scan, and the study with every parameter, are in \
         <code>manifest.json</code> beside this report; the same scans, study and version give the same bytes in every table, on \
         any number of threads. The numbers behind every figure are in <code>tables/</code>, described column by column in \
         <code>columns.csv</code>.</p>\n",
        escape(&facts.program_version),
        facts.schema_version,
        facts.seed
    ));
    if !facts.command.is_empty() {
        inner.push_str(&format!("<p>Command: <code>{}</code></p>\n", escape(&facts.command)));
    }
    if !facts.parameters.is_empty() {
        inner.push_str("<details><summary>Parameters of the study</summary>\n<dl class=\"parameters\">\n");
        for (key, value) in &facts.parameters {
            inner.push_str(&format!("<dt><code>{}</code></dt><dd><code>{}</code></dd>\n", escape(key), escape(value)));
        }
        inner.push_str("</dl>\n</details>\n");
    }
    part("method", "The method and its limits", &inner)
}
