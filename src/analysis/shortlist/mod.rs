//! Which vessels a computed tomography would tell most about, within a budget.
//!
//! A tomography sees every wall at one uncertainty. Its value for a vessel is the number of decisions it is expected to
//! put right; its cost stands in the catalogue; whether the rays come through follows from the profile and the material.
//! X-ray work belongs to licensed operators under local rules, handling to the conservator: the list is a proposal to them.
//!
//! - [`shortlist`], [`ShortlistInput`], [`ShortlistParams`], [`Shortlist`]: the whole choice, tables in, tables out
//! - [`CtTerms`], [`Weights`], [`CtTermError`]: budget, uncertainty and machine
//! - [`Candidate`], [`Decision`], [`Question`], [`AtBudget`]: what is said of a vessel and of a budget
//! - [`Belief`], [`Gain`]: what a measurement adds to a decision
//! - [`knapsack`], [`next_better`], [`Item`], [`Choice`]: the most valuable set within a budget
//! - [`mass_attenuation`], [`Attenuation`], [`Feasibility`]: whether the rays come through

mod attenuation;
mod belief;
mod decide;
mod feasible;
mod input;
mod knapsack;
mod params;
mod select;
mod tables;

pub use attenuation::{Attenuation, mass_attenuation};
pub use belief::{Belief, Gain};
pub use decide::{Decision, Question};
pub use feasible::Feasibility;
pub use input::ShortlistInput;
pub use knapsack::{Choice, Item, knapsack, next_better};
pub use params::{CtTermError, CtTerms, ShortlistParams, Weights};
pub use select::{AtBudget, Candidate, Shortlist, shortlist};
