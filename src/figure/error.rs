//! What can go wrong while drawing.

use std::fmt::Display;

/// Why a figure could not be drawn.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum FigureError {
    /// The drawing backend refused.
    #[error("figure could not be drawn: {reason}")]
    Drawing {
        /// What the backend said.
        reason: String,
    },
    /// The data do not make a figure.
    #[error("figure {figure} needs {needed}")]
    NotEnough {
        /// The figure.
        figure: &'static str,
        /// What it needs.
        needed: &'static str,
    },
}

impl FigureError {
    pub(super) fn drawing(reason: impl Display) -> Self {
        Self::Drawing { reason: reason.to_string() }
    }
}
