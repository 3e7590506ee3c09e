//! A statements file: what is claimed of proportions, fixed before looking.

use serde::Deserialize;
use toml::de::{DeTable, DeValue};

use super::nearest::nearest;
use super::study::line_at;
use crate::analysis::proportion::{
    ArcQuantity, Claim, ClaimError, Claims, Constant, Design, NamedLength, Series, Source, Statements, Value,
};

/// Why a statements file cannot be used.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum StatementsError {
    /// Not TOML, a missing key, or a value of the wrong type.
    #[error("{}", .0.to_string().trim_end())]
    Toml(#[from] Box<toml::de::Error>),
    /// A key nobody knows.
    #[error("line {line}: unknown key `{key}`{}", .suggestion.map(|known| format!(", did you mean `{known}`?")).unwrap_or_default())]
    UnknownKey {
        /// Where it stands.
        line: usize,
        /// The key as written.
        key: String,
        /// The known key it was probably meant to be.
        suggestion: Option<&'static str>,
    },
    /// A length or constant is named that is not in the file.
    #[error("no {what} is named {name:?}{}", .suggestion.as_ref().map(|known| format!(", did you mean {known:?}?")).unwrap_or_default())]
    UnknownName {
        /// Of what kind.
        what: &'static str,
        /// The name.
        name: String,
        /// The one it was probably meant to be.
        suggestion: Option<String>,
    },
    /// A length has no source, or more than one, or half of one.
    #[error(
        "length {name:?} needs one of: measure; radius_at (and wall); arc with quantity (and wall); arcs (and wall)"
    )]
    Source {
        /// The length.
        name: String,
    },
    /// A ratio or constant is neither a number nor `"fitted"` with bounds.
    #[error("{name:?} needs a number, or \"fitted\" with between = [low, high]")]
    Value {
        /// Of what.
        name: String,
    },
    /// What is claimed cannot be tested.
    #[error(transparent)]
    Claim(#[from] ClaimError),
}

/// Known keys: those of the top, then by kind of entry.
const TOP: [&str; 10] = [
    "fixed_before_looking",
    "coverage_factor",
    "tolerance",
    "reach",
    "size",
    "length",
    "constant",
    "statement",
    "series",
    "design",
];
const ENTRIES: [(&str, &[&str]); 5] = [
    ("length", &["name", "measure", "times", "wall", "radius_at", "arc", "arcs", "quantity"]),
    ("constant", &["name", "value", "between", "tried"]),
    ("statement", &["of", "over", "constant"]),
    ("series", &["name", "lengths", "ratio", "between"]),
    ("design", &["name", "heights", "steps", "ratio", "between"]),
];

#[derive(Debug, Deserialize)]
struct RawStatements {
    fixed_before_looking: bool,
    #[serde(default = "coverage_factor")]
    coverage_factor: f64,
    #[serde(default)]
    tolerance: f64,
    #[serde(default = "reach")]
    reach: f64,
    #[serde(default = "size")]
    size: String,
    #[serde(default)]
    length: Vec<RawLength>,
    #[serde(default)]
    constant: Vec<RawConstant>,
    #[serde(default)]
    statement: Vec<RawClaim>,
    #[serde(default)]
    series: Vec<RawSeries>,
    #[serde(default)]
    design: Vec<RawDesign>,
}

/// Two standard uncertainties: about 95 % of the vessels that hold a proportion match it.
const fn coverage_factor() -> f64 {
    2.0
}

/// Decoys within 5 %: far beyond what a maker who held a proportion would miss it by, and near enough to be as likely.
const fn reach() -> f64 {
    0.05
}

fn size() -> String {
    "centroid_size".to_owned()
}

#[derive(Debug, Deserialize)]
struct RawLength {
    name: String,
    measure: Option<String>,
    #[serde(default = "once")]
    times: f64,
    #[serde(default = "outer")]
    wall: String,
    radius_at: Option<f64>,
    arc: Option<i64>,
    arcs: Option<(i64, i64)>,
    quantity: Option<RawQuantity>,
}

const fn once() -> f64 {
    1.0
}

fn outer() -> String {
    "outer".to_owned()
}

#[derive(Clone, Copy, Debug, Deserialize)]
#[serde(rename_all = "snake_case")]
enum RawQuantity {
    Radius,
    CentreRadius,
    CentreHeight,
}

#[derive(Debug, Deserialize)]
struct RawConstant {
    name: String,
    value: RawValue,
    between: Option<(f64, f64)>,
    #[serde(default = "one")]
    tried: u32,
}

const fn one() -> u32 {
    1
}

/// A number or `"fitted"`.
#[derive(Debug, Deserialize)]
#[serde(untagged, expecting = "expected a number or \"fitted\"")]
enum RawValue {
    Number(f64),
    Word(String),
}

#[derive(Debug, Deserialize)]
struct RawClaim {
    of: String,
    over: String,
    constant: String,
}

#[derive(Debug, Deserialize)]
struct RawSeries {
    name: String,
    lengths: Vec<String>,
    ratio: RawValue,
    between: Option<(f64, f64)>,
}

#[derive(Debug, Deserialize)]
struct RawDesign {
    name: String,
    heights: Vec<f64>,
    steps: Vec<f64>,
    ratio: RawValue,
    between: Option<(f64, f64)>,
}

/// Reads and checks the text of a statements file.
///
/// # Errors
/// [`StatementsError`] if a key or name is unknown, a value is out of range, or nothing is stated.
///
/// # Example
/// ```
/// let text = r#"
/// fixed_before_looking = true
/// [[length]]
/// name = "belly"
/// measure = "max_diameter"
/// [[length]]
/// name = "neck"
/// measure = "neck_diameter"
/// [[constant]]
/// name = "two"
/// value = 2
/// "#;
/// let statements = tornus::config::read_statements(text)?;
/// assert_eq!(statements.claims().claims.len(), 2); // belly / neck and neck / belly
/// let slip = text.replace("measure = \"neck", "messure = \"neck");
/// let refused = tornus::config::read_statements(&slip).unwrap_err().to_string();
/// assert_eq!(refused, "line 8: unknown key `messure`, did you mean `measure`?");
/// # Ok::<(), tornus::config::StatementsError>(())
/// ```
pub fn read_statements(text: &str) -> Result<Statements, StatementsError> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    refuse_unknown_keys(text, DeTable::parse(text).map_err(Box::new)?.get_ref())?;
    let raw: RawStatements = toml::from_str(text).map_err(Box::new)?;
    let lengths: Vec<NamedLength> = raw.length.iter().map(length).collect::<Result<_, _>>()?;
    let constants: Vec<Constant> = raw.constant.iter().map(constant).collect::<Result<_, _>>()?;
    let of_length = |name: &String| place("length", name, lengths.iter().map(|length| length.name.as_str()));
    let of_constant = |name: &String| place("constant", name, constants.iter().map(|one| one.name.as_str()));
    let mut claims = Vec::new();
    for RawClaim { of, over, constant } in &raw.statement {
        claims.push(Claim { of: of_length(of)?, over: of_length(over)?, constant: of_constant(constant)? });
    }
    let mut series = Vec::new();
    for RawSeries { name, lengths, ratio, between } in &raw.series {
        let lengths = lengths.iter().map(of_length).collect::<Result<_, _>>()?;
        series.push(Series { name: name.clone(), lengths, ratio: value(name, ratio, *between)? });
    }
    let mut designs = Vec::new();
    for RawDesign { name, heights, steps, ratio, between } in raw.design {
        let ratio = value(&name, &ratio, between)?;
        designs.push(Design { name, shares: heights, steps, ratio });
    }
    Ok(Statements::new(Claims {
        fixed_before_looking: raw.fixed_before_looking,
        coverage_factor: raw.coverage_factor,
        tolerance: raw.tolerance,
        reach: raw.reach,
        size: raw.size,
        lengths,
        constants,
        claims,
        series,
        designs,
    })?)
}

fn length(raw: &RawLength) -> Result<NamedLength, StatementsError> {
    let wall = raw.wall.clone();
    let source = match (&raw.measure, raw.radius_at, raw.arc, raw.arcs, raw.quantity) {
        (Some(measure), None, None, None, None) => {
            if crate::table::Measure::named(measure).is_none() {
                let known = crate::table::MEASURES.iter().map(|known| known.name);
                return Err(unknown_name("measure", measure, known));
            }
            Source::Measure(measure.clone())
        }
        (None, Some(share), None, None, None) => Source::Radius { wall, share },
        (None, None, Some(arc), None, Some(quantity)) => {
            let quantity = match quantity {
                RawQuantity::Radius => ArcQuantity::Radius,
                RawQuantity::CentreRadius => ArcQuantity::CentreRadius,
                RawQuantity::CentreHeight => ArcQuantity::CentreHeight,
            };
            Source::Arc { wall, arc, quantity }
        }
        (None, None, None, Some(arcs), None) => Source::CentreDistance { wall, arcs },
        _ => return Err(StatementsError::Source { name: raw.name.clone() }),
    };
    Ok(NamedLength { name: raw.name.clone(), source, times: raw.times })
}

fn constant(raw: &RawConstant) -> Result<Constant, StatementsError> {
    Ok(Constant { name: raw.name.clone(), value: value(&raw.name, &raw.value, raw.between)?, tried: raw.tried })
}

fn value(name: &str, raw: &RawValue, between: Option<(f64, f64)>) -> Result<Value, StatementsError> {
    match (raw, between) {
        (RawValue::Number(value), None) => Ok(Value::Fixed(*value)),
        (RawValue::Word(word), Some((from, to))) if word == "fitted" => Ok(Value::Fitted { from, to }),
        _ => Err(StatementsError::Value { name: name.to_owned() }),
    }
}

fn place<'a>(
    what: &'static str,
    name: &str,
    known: impl Iterator<Item = &'a str> + Clone,
) -> Result<usize, StatementsError> {
    known.clone().position(|other| other == name).ok_or_else(|| unknown_name(what, name, known))
}

fn unknown_name<'a>(what: &'static str, name: &str, known: impl Iterator<Item = &'a str>) -> StatementsError {
    let suggestion = nearest(name, known).map(str::to_owned);
    StatementsError::UnknownName { what, name: name.to_owned(), suggestion }
}

fn refuse_unknown_keys(text: &str, table: &DeTable<'_>) -> Result<(), StatementsError> {
    let refuse = |key: &toml::Spanned<std::borrow::Cow<'_, str>>, known: &[&'static str]| {
        let name: &str = key.get_ref();
        if known.contains(&name) {
            return Ok(());
        }
        Err(StatementsError::UnknownKey {
            line: line_at(text.as_bytes(), key.span().start),
            key: name.to_owned(),
            suggestion: nearest(name, known.iter().copied()),
        })
    };
    for (key, value) in table {
        refuse(key, &TOP)?;
        let name: &str = key.get_ref();
        let known = ENTRIES.iter().find(|(kind, _)| *kind == name).map(|(_, keys)| *keys);
        if let (Some(known), DeValue::Array(entries)) = (known, value.get_ref()) {
            for entry in entries.iter() {
                if let DeValue::Table(entry) = entry.get_ref() {
                    entry.keys().try_for_each(|key| refuse(key, known))?;
                }
            }
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    const WHOLE: &str = r#"
fixed_before_looking = true
tolerance = 0.001
[[length]]
name = "belly radius"
measure = "max_diameter"
times = 0.5
[[length]]
name = "shoulder radius"
radius_at = 0.8
[[length]]
name = "body arc"
arc = 2
quantity = "radius"
[[length]]
name = "centres"
wall = "inner"
arcs = [1, 2]
[[constant]]
name = "open"
value = "fitted"
between = [1.1, 1.9]
tried = 40
[[statement]]
of = "belly radius"
over = "body arc"
constant = "open"
[[series]]
name = "radii"
lengths = ["belly radius", "shoulder radius", "centres"]
ratio = 1.25
[[design]]
name = "drawn"
heights = [0, 0.5, 1]
steps = [0, 2, 1]
ratio = "fitted"
between = [1.05, 1.6]
"#;

    fn refused(from: &str, to: &str) -> String {
        assert!(WHOLE.contains(from), "{from}");
        read_statements(&WHOLE.replacen(from, to, 1)).unwrap_err().to_string()
    }

    #[test]
    fn every_kind_of_statement_is_read() {
        let statements = read_statements(WHOLE).unwrap();
        let claims = statements.claims();
        assert_eq!(claims.claims, [Claim { of: 0, over: 2, constant: 0 }]);
        assert_eq!(claims.constants[0].value, Value::Fitted { from: 1.1, to: 1.9 });
        assert_eq!(claims.series[0].lengths, [0, 1, 3]);
        assert_eq!(claims.lengths[3].source, Source::CentreDistance { wall: "inner".into(), arcs: (1, 2) });
        assert_eq!((claims.designs[0].shares.len(), claims.coverage_factor), (3, 2.0));
    }

    #[test]
    fn slips_are_refused_with_what_was_probably_meant() {
        assert_eq!(refused("tolerance", "tolerence"), "line 3: unknown key `tolerence`, did you mean `tolerance`?");
        assert!(refused("steps", "stepps").contains("did you mean `steps`?"));
        assert!(refused("max_diameter", "max_diamter").contains("did you mean \"max_diameter\"?"));
        assert!(refused("over = \"body arc\"", "over = \"body ark\"").contains("did you mean \"body arc\"?"));
        assert!(refused("value = \"fitted\"\nbetween = [1.1, 1.9]", "value = \"fitted\"").contains("between"));
        assert!(refused("quantity = \"radius\"\n", "").contains("needs one of"));
        assert!(refused("fixed_before_looking = true", "").contains("fixed_before_looking"));
        assert!(refused("0.001", "0.5").contains("0 to 0.1"));
    }
}
