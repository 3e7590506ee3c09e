//! What is claimed, fixed before the vessels are looked at.

use std::collections::BTreeSet;

/// Where a length of a vessel comes from.
#[derive(Clone, Debug, PartialEq)]
pub enum Source {
    /// A measure of the vessel, by its published name.
    Measure(String),
    /// The radius of a wall's meridian at a share of the vessel's height, 0 at the foot and 1 at the rim.
    Radius {
        /// `outer` or `inner`.
        wall: String,
        /// The share.
        share: f64,
    },
    /// A number of one arc of a wall's meridian, from the table of arcs.
    Arc {
        /// `outer` or `inner`.
        wall: String,
        /// The arc's number.
        arc: i64,
        /// Which of its numbers.
        quantity: ArcQuantity,
    },
    /// The distance between the centres of two arcs of a wall's meridian.
    CentreDistance {
        /// `outer` or `inner`.
        wall: String,
        /// The arcs' numbers.
        arcs: (i64, i64),
    },
}

/// Which number of an arc is meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ArcQuantity {
    /// Its radius.
    Radius,
    /// The distance of its centre from the axis.
    CentreRadius,
    /// The height of its centre.
    CentreHeight,
}

/// A named length of a vessel.
#[derive(Clone, Debug, PartialEq)]
pub struct NamedLength {
    /// Its name.
    pub name: String,
    /// Where it comes from.
    pub source: Source,
    /// A factor: 0.5 makes a radius of a diameter.
    pub times: f64,
}

/// A constant or ratio: stated, or to be found on one half of the vessels and tested on the other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Value {
    /// Stated before looking; above 0.
    Fixed(f64),
    /// Found between these bounds.
    Fitted {
        /// The lower bound, above 0.
        from: f64,
        /// The upper bound.
        to: f64,
    },
}

/// A constant that two lengths may stand in.
#[derive(Clone, Debug, PartialEq)]
pub struct Constant {
    /// Its name.
    pub name: String,
    /// Its value.
    pub value: Value,
    /// How many constants were looked at before this one was chosen, itself included.
    pub tried: u32,
}

/// One claim: a length over another is a constant. Places in the lists of lengths and constants.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Claim {
    /// The length above.
    pub of: usize,
    /// The length below.
    pub over: usize,
    /// The constant.
    pub constant: usize,
}

/// Lengths that are claimed to stand in a geometric series, in its order.
#[derive(Clone, Debug, PartialEq)]
pub struct Series {
    /// Its name.
    pub name: String,
    /// Places in the list of lengths; three at least.
    pub lengths: Vec<usize>,
    /// The ratio of each to the one before.
    pub ratio: Value,
}

/// A meridian claimed to be drawn through radii of a geometric series: at height `share` x vessel's height, the radius is
/// base x ratio^step.
#[derive(Clone, Debug, PartialEq)]
pub struct Design {
    /// Its name.
    pub name: String,
    /// Heights as shares of the vessel's height, strictly rising; three at least.
    pub shares: Vec<f64>,
    /// The step of the series at each height.
    pub steps: Vec<f64>,
    /// The ratio of the series.
    pub ratio: Value,
}

/// Everything that is claimed of a corpus.
#[derive(Clone, Debug, PartialEq)]
pub struct Claims {
    /// Whether everything was fixed before the vessels were measured or looked at; else nothing is accepted.
    pub fixed_before_looking: bool,
    /// Half-width of a match in standard uncertainties.
    pub coverage_factor: f64,
    /// How far from a proportion a maker who held it may have come, relative standard deviation.
    pub tolerance: f64,
    /// Decoy constants lie within this relative distance of the stated one.
    pub reach: f64,
    /// The measure that stands for the size of a vessel.
    pub size: String,
    /// The lengths.
    pub lengths: Vec<NamedLength>,
    /// The constants.
    pub constants: Vec<Constant>,
    /// The claims; empty means every ordered pair of lengths with every constant.
    pub claims: Vec<Claim>,
    /// The series.
    pub series: Vec<Series>,
    /// The designs.
    pub designs: Vec<Design>,
}

/// Why claims cannot be tested.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ClaimError {
    /// Nothing is claimed.
    #[error("nothing is stated: no two lengths with a constant, no series, no design")]
    Nothing,
    /// Two lengths, constants, series or designs have one name.
    #[error("{what} is named twice: {name}")]
    Twice {
        /// Of what kind.
        what: &'static str,
        /// The name.
        name: String,
    },
    /// A number is out of range.
    #[error("{what} of {name} must be {expected}: {found}")]
    OutOfRange {
        /// Which number.
        what: &'static str,
        /// Of what.
        name: String,
        /// What it must be.
        expected: &'static str,
        /// What it is.
        found: f64,
    },
    /// A series or design is too short, or its lists differ in length.
    #[error("{name} needs three members or more, as many steps as heights: {found}")]
    TooShort {
        /// Its name.
        name: String,
        /// How many it has.
        found: usize,
    },
}

/// Claims whose every number was checked and whose pairs are written out.
#[derive(Clone, Debug, PartialEq)]
pub struct Statements {
    claims: Claims,
}

impl Statements {
    /// Checks claims and, where none is named, writes out every ordered pair of lengths with every constant.
    ///
    /// # Errors
    /// [`ClaimError`] if a name stands twice, a number is out of range or nothing is claimed.
    pub fn new(mut claims: Claims) -> Result<Self, ClaimError> {
        check_names(&claims)?;
        let in_range = |what, name: &str, expected, found: f64, holds: bool| {
            if holds && found.is_finite() {
                return Ok(());
            }
            Err(ClaimError::OutOfRange { what, name: name.to_owned(), expected, found })
        };
        let all = "the statements";
        in_range("coverage_factor", all, "above 0, at most 10", claims.coverage_factor, {
            claims.coverage_factor > 0.0 && claims.coverage_factor <= 10.0
        })?;
        in_range("tolerance", all, "0 to 0.1", claims.tolerance, (0.0..=0.1).contains(&claims.tolerance))?;
        in_range("reach", all, "0.001 to 0.5", claims.reach, (0.001..=0.5).contains(&claims.reach))?;
        for length in &claims.lengths {
            in_range("times", &length.name, "above 0", length.times, length.times > 0.0)?;
            if let Source::Radius { share, .. } = length.source {
                in_range("share", &length.name, "0 to 1", share, (0.0..=1.0).contains(&share))?;
            }
        }
        let constants = claims.constants.iter().map(|constant| (&constant.name, constant.value));
        let series = claims.series.iter().map(|series| (&series.name, series.ratio));
        let designs = claims.designs.iter().map(|design| (&design.name, design.ratio));
        for (name, value) in constants.chain(series).chain(designs) {
            match value {
                Value::Fixed(value) => in_range("value", name, "above 0", value, value > 0.0)?,
                Value::Fitted { from, to } => {
                    in_range("lower bound", name, "above 0", from, from > 0.0)?;
                    in_range("upper bound", name, "above the lower", to, to > from)?;
                }
            }
        }
        for Series { name, lengths, .. } in &claims.series {
            long_enough(name, lengths.len(), lengths.len())?;
        }
        for Design { name, shares, steps, .. } in &claims.designs {
            long_enough(name, shares.len(), steps.len())?;
            let rising = shares.windows(2).all(|pair| pair[1] > pair[0]);
            let first = shares.first().copied().unwrap_or_default();
            in_range(
                "shares",
                name,
                "0 to 1 and rising",
                first,
                rising && shares.iter().all(|s| (0.0..=1.0).contains(s)),
            )?;
        }
        if claims.claims.is_empty() {
            claims.claims = every_pair(&claims);
        }
        if claims.claims.is_empty() && claims.series.is_empty() && claims.designs.is_empty() {
            return Err(ClaimError::Nothing);
        }
        Ok(Self { claims })
    }

    /// What is claimed, pairs written out.
    #[must_use]
    pub const fn claims(&self) -> &Claims {
        &self.claims
    }
}

fn check_names(claims: &Claims) -> Result<(), ClaimError> {
    let kinds: [(&'static str, Vec<&str>); 4] = [
        ("length", claims.lengths.iter().map(|length| length.name.as_str()).collect()),
        ("constant", claims.constants.iter().map(|constant| constant.name.as_str()).collect()),
        ("series", claims.series.iter().map(|series| series.name.as_str()).collect()),
        ("design", claims.designs.iter().map(|design| design.name.as_str()).collect()),
    ];
    for (what, names) in kinds {
        let mut known = BTreeSet::new();
        if let Some(name) = names.into_iter().find(|name| !known.insert(*name)) {
            return Err(ClaimError::Twice { what, name: name.to_owned() });
        }
    }
    Ok(())
}

/// A series and a design need three members: two numbers are always in a geometric series.
fn long_enough(name: &str, members: usize, as_many: usize) -> Result<(), ClaimError> {
    if members < 3 || members != as_many {
        return Err(ClaimError::TooShort { name: name.to_owned(), found: members.min(as_many) });
    }
    Ok(())
}

/// Every ordered pair with every constant; with the constant 1 both orders say the same, and one is left out.
fn every_pair(claims: &Claims) -> Vec<Claim> {
    let n = claims.lengths.len();
    let mut found = Vec::new();
    for (constant, Constant { value, .. }) in claims.constants.iter().enumerate() {
        let unity = matches!(value, Value::Fixed(value) if value.ln().abs() < 1e-12);
        for (of, over) in (0..n).flat_map(|of| (0..n).map(move |over| (of, over))) {
            if of != over && !(unity && of > over) {
                found.push(Claim { of, over, constant });
            }
        }
    }
    found
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    /// Claims on measures of these names, with these constants, every pair.
    pub(in crate::analysis::proportion) fn on(lengths: &[&str], constants: &[(&str, Value)]) -> Claims {
        let length = |name: &&str| NamedLength {
            name: (*name).to_owned(),
            source: Source::Measure((*name).to_owned()),
            times: 1.0,
        };
        let constant = |(name, value): &(&str, Value)| Constant { name: (*name).to_owned(), value: *value, tried: 1 };
        Claims {
            fixed_before_looking: true,
            coverage_factor: 2.0,
            tolerance: 0.001,
            reach: 0.05,
            size: "size".to_owned(),
            lengths: lengths.iter().map(length).collect(),
            constants: constants.iter().map(constant).collect(),
            claims: Vec::new(),
            series: Vec::new(),
            designs: Vec::new(),
        }
    }

    #[test]
    fn every_ordered_pair_counts_and_equality_once() {
        let claims = on(&["a", "b", "c"], &[("two", Value::Fixed(2.0)), ("one", Value::Fixed(1.0))]);
        assert_eq!(Statements::new(claims).unwrap().claims().claims.len(), 6 + 3);
    }

    #[test]
    fn what_cannot_be_tested_is_refused() {
        let refused = |change: &dyn Fn(&mut Claims)| {
            let mut claims = on(&["a", "b"], &[("two", Value::Fixed(2.0))]);
            change(&mut claims);
            Statements::new(claims).unwrap_err().to_string()
        };
        assert_eq!(refused(&|c| c.lengths[1].name = "a".into()), "length is named twice: a");
        assert_eq!(refused(&|c| c.constants.clear()), ClaimError::Nothing.to_string());
        assert!(refused(&|c| c.constants[0].value = Value::Fixed(f64::NAN)).contains("above 0: NaN"));
        assert!(refused(&|c| c.reach = 0.0).contains("reach"));
        assert!(
            refused(&|c| c.series.push(Series { name: "s".into(), lengths: vec![0, 1], ratio: Value::Fixed(2.0) }))
                .contains("three members")
        );
    }
}
