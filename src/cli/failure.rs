//! Why nothing was done.

use std::error::Error;

/// A message for the one at the keyboard, with a hint where there is one.
///
/// Deliberately no `Error` itself: any error becomes one by `?`, its causes joined.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Failure {
    pub(super) message: String,
    pub(super) hint: Option<String>,
}

impl Failure {
    pub(super) fn new(message: impl Into<String>) -> Self {
        Self { message: message.into(), hint: None }
    }

    pub(super) fn with_hint(self, hint: impl Into<String>) -> Self {
        Self { hint: Some(hint.into()), ..self }
    }
}

impl<E: Error> From<E> for Failure {
    fn from(error: E) -> Self {
        Self::new(chain(&error))
    }
}

/// An error with its causes, each said once.
pub(super) fn chain(error: &dyn Error) -> String {
    let mut text = error.to_string();
    let mut cause = error.source();
    while let Some(next) = cause {
        let said = next.to_string();
        if !text.contains(&said) {
            text = format!("{text}: {said}");
        }
        cause = next.source();
    }
    text
}
