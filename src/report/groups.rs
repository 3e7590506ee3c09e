//! The groups: mean forms, what the components mean, how many groups there are.

use super::ReportError;
use super::agreement::{agreement, precision_components};
use super::cells;
use super::corpus::{Corpus, SpaceName};
use super::form_tree::add_form_tree;
use super::html::{left_out, part};
use super::maps::{DrawnAxis, Shown, drawn_axes, explained};
use super::number::{count, percent};
use crate::figure::bars::{Shares, scree};
use crate::figure::criterion::{Candidate, CriterionPanel, Method, criterion};
use crate::figure::forms::{FormPanel, Outline, OutlineLine, forms};
use crate::table::{Table, TableError};

/// How `form_means` names the mean of all vessels.
const ALL_VESSELS: &str = "0";
/// Components whose ends are drawn.
const MOST_COMPONENTS: usize = 4;

/// The part on groups and components.
pub(super) fn groups(corpus: &Corpus<'_>) -> Result<Shown, ReportError> {
    let mut shown = Shown::nothing();
    shown.markup.push_str("<h3>Mean forms of the groups</h3>\n");
    let means = mean_forms(corpus)?;
    if means.is_empty() {
        shown.markup.push_str(&left_out("No mean forms are in the tables: the vessels were not grouped by form."));
    } else {
        let caption = "Mean outline of each group by form, size left aside; dashed: the mean of all vessels.";
        shown.add("group_means.svg", forms("Mean forms of the groups", &means)?, caption);
    }
    add_form_tree(corpus, &corpus.tree_forms, &mut shown)?;
    shown.markup.push_str("<h3>What the components of form mean</h3>\n");
    let ends = axis_panels(corpus, drawn_axes(corpus)?);
    if ends.is_empty() {
        shown.markup.push_str(&left_out("The forms at the ends of the components are not in the tables."));
    } else {
        let caption = "The mean form (thin, grey) moved two standard deviations along each component: dashed to the negative side, \
                       solid to the positive.";
        shown.add("form_axes.svg", forms("Forms at the ends of the components", &ends)?, caption);
    }
    add_scree(corpus, &mut shown)?;
    shown.markup.push_str(&precision_components(corpus));
    add_choice(corpus, &mut shown)?;
    shown.markup.push_str(&agreement(corpus));
    shown.markup = part("groups", "Groups and components", &shown.markup);
    Ok(shown)
}

fn mean_forms(corpus: &Corpus<'_>) -> Result<Vec<FormPanel>, TableError> {
    let Some(table) = corpus.tables.get("form_means") else { return Ok(Vec::new()) };
    let (radii, heights) = (table.floats("radius_rel")?, table.floats("height_rel")?);
    let mut outlines: Vec<(String, Vec<(f64, f64)>)> = Vec::new();
    for row in 0..table.rows() {
        let Some(cluster) = cells::named(table, "cluster", row) else { continue };
        let (Some(radius), Some(height)) = (radii[row], heights[row]) else { continue };
        match outlines.iter_mut().find(|(name, _)| *name == cluster) {
            Some((_, path)) => path.push((radius, height)),
            None => outlines.push((cluster, vec![(radius, height)])),
        }
    }
    let overall = outlines.iter().find(|(name, _)| name == ALL_VESSELS).map(|(_, path)| path.clone());
    let panel = |(name, path): (String, Vec<(f64, f64)>)| {
        let group = corpus.form.names.iter().position(|n| *n == name);
        let own = Outline { path, group, line: OutlineLine::Solid };
        if name == ALL_VESSELS {
            return FormPanel {
                title: vec!["all vessels".to_owned()],
                outlines: vec![Outline { line: OutlineLine::Dashed, ..own }],
            };
        }
        let size = group.map(|g| count(corpus.form.size(g), "vessel", "vessels"));
        let stable = group.and_then(|g| corpus.form.stability.get(g).copied().flatten());
        let stable = stable.map(|s| format!(", stability {s:.2}")).unwrap_or_default();
        let second = size.map(|s| format!("{s}{stable}"));
        let beside = overall.iter().map(|path| Outline { path: path.clone(), group: None, line: OutlineLine::Dashed });
        FormPanel {
            title: std::iter::once(format!("group {name}")).chain(second).collect(),
            outlines: beside.chain([own]).collect(),
        }
    };
    Ok(outlines.into_iter().map(panel).collect())
}

fn axis_panels(corpus: &Corpus<'_>, drawn: Vec<DrawnAxis>) -> Vec<FormPanel> {
    let shares = explained(corpus, SpaceName::Form);
    let mut panels: Vec<(usize, FormPanel)> = Vec::new();
    for DrawnAxis { component, side, outline } in drawn {
        let outline = Outline { path: outline, group: None, line: line_of(side) };
        match panels.iter_mut().find(|(c, _)| *c == component) {
            Some((_, panel)) => panel.outlines.push(outline),
            None => {
                let share = component.checked_sub(1).and_then(|i| shares.get(i));
                let share = share.map(|s| format!("{} of the variance", percent(*s)));
                let title = [format!("PC{component}")].into_iter().chain(share).chain(noise_share(corpus, component));
                let title = title.collect();
                panels.push((component, FormPanel { title, outlines: vec![outline] }));
            }
        }
    }
    panels.into_iter().take(MOST_COMPONENTS).map(|(_, panel)| panel).collect()
}

/// The mean form, between the ends of a component, or one of the ends.
fn line_of(deviations: f64) -> OutlineLine {
    if deviations.abs() < 0.5 {
        OutlineLine::Thin
    } else if deviations < 0.0 {
        OutlineLine::Dashed
    } else {
        OutlineLine::Solid
    }
}

/// How much of a component of form is noise, in words; `None` where the tables do not say.
fn noise_share(corpus: &Corpus<'_>, component: usize) -> Option<String> {
    let table = corpus.tables.get("scree").filter(|table| table.has("reliability"))?;
    let wanted = component as f64;
    let is_it = |row: &usize| {
        cells::text(table, "space", *row) == Some(SpaceName::Form.word())
            && cells::number(table, "component", *row).is_some_and(|found| (found - wanted).abs() < 0.5)
    };
    let row = (0..table.rows()).find(is_it)?;
    if cells::flag(table, "below_noise", row) {
        return Some("no more than noise".to_owned());
    }
    cells::number(table, "reliability", row).map(|share| format!("of which {} noise", percent(1.0 - share)))
}

fn add_scree(corpus: &Corpus<'_>, shown: &mut Shown) -> Result<(), ReportError> {
    shown.markup.push_str("<h3>Shares of variance</h3>\n");
    let spaces: Vec<Shares> = [(SpaceName::Form, "Form"), (SpaceName::Precision, "Precision")]
        .into_iter()
        .map(|(space, title)| Shares { title: title.to_owned(), explained: explained(corpus, space) })
        .filter(|shares| !shares.explained.is_empty())
        .collect();
    if spaces.is_empty() {
        shown.markup.push_str(&left_out("No components are in the tables."));
        return Ok(());
    }
    let caption = "Share of the variance that each component carries (bars) and of all up to it (line).";
    shown.add("scree.svg", scree("Shares of variance of the components", &spaces)?, caption);
    Ok(())
}

fn add_choice(corpus: &Corpus<'_>, shown: &mut Shown) -> Result<(), ReportError> {
    shown.markup.push_str("<h3>How many groups</h3>\n");
    let panels = match corpus.tables.get("choice") {
        Some(table) => panels(corpus, table)?,
        None => Vec::new(),
    };
    if panels.is_empty() {
        shown.markup.push_str(&left_out("No criterion for the number of groups is in the tables."));
        return Ok(());
    }
    let caption = "The criterion against the number of groups; what each method chose is ringed. Of the Bayesian information criterion \
                   (BIC) more is better: taken are the fewest groups no more than 2 below the greatest, one group among the \
                   candidates (of full covariances the greatest alone); the gap statistic chooses the fewest groups that more do \
                   not beat by more than its standard error; density takes the greatest mean silhouette, if 19 \
                   simulated corpora of one group do not reach it.";
    shown.add("group_number.svg", criterion("Criterion for the number of groups", &panels)?, caption);
    Ok(())
}

/// One panel per space and criterion, from the rows of `choice`.
fn panels(corpus: &Corpus<'_>, table: &Table) -> Result<Vec<CriterionPanel>, TableError> {
    let (ks, values) = (table.integers("groups")?, table.floats("value")?);
    let others = other_methods(corpus);
    let mut panels: Vec<((&str, &str, bool), CriterionPanel)> = Vec::new();
    for row in 0..table.rows() {
        let (Some(k), Some(value)) = (ks[row], values[row]) else { continue };
        let word = |name| cells::text(table, name, row).unwrap_or("");
        let (space, name, method) = (word("space"), word("criterion"), word("method").replace('_', " "));
        let other = others.contains(&word("method"));
        let groups = k as f64;
        let chosen = match table.has("chosen") {
            true => cells::flag(table, "chosen", row),
            false => chosen(corpus, space).is_some_and(|n| (n - groups).abs() < 0.5),
        };
        let candidate = Candidate { groups, value, chosen };
        let key = (space, name, other);
        let place = panels.iter().position(|(found, _)| *found == key).unwrap_or_else(|| {
            let title = format!("Groups by {space}{}", if other { ", other methods" } else { "" });
            panels.push((key, CriterionPanel { title, criterion: criterion_words(name), methods: Vec::new() }));
            panels.len() - 1
        });
        let methods = &mut panels[place].1.methods;
        match methods.iter_mut().find(|m| m.name == method) {
            Some(found) => found.candidates.push(candidate),
            None => methods.push(Method { name: method, candidates: vec![candidate] }),
        }
    }
    for method in panels.iter_mut().flat_map(|(_, p)| &mut p.methods) {
        method.candidates.sort_by(|a, b| a.groups.total_cmp(&b.groups));
    }
    panels.sort_by_key(|((space, _, other), _)| (*space, *other));
    Ok(panels.into_iter().map(|(_, panel)| panel).collect())
}

/// Methods beside the published one: their criteria need not be on its scale.
fn other_methods<'a>(corpus: &Corpus<'a>) -> Vec<&'a str> {
    let Some(table) = corpus.tables.get("agreement") else { return Vec::new() };
    (0..table.rows()).filter_map(|row| cells::text(table, "method", row)).collect()
}

fn criterion_words(name: &str) -> String {
    match name {
        "bic" => "BIC".to_owned(),
        "gap" => "gap statistic".to_owned(),
        "silhouette" => "mean silhouette".to_owned(),
        other => other.replace('_', " "),
    }
}

/// How many groups were found in a space.
fn chosen(corpus: &Corpus<'_>, space: &str) -> Option<f64> {
    let grouping = [SpaceName::Form, SpaceName::Precision].into_iter().find(|s| s.word() == space)?;
    let found = corpus.grouping(grouping).names.len();
    (found > 0).then_some(found as f64)
}
