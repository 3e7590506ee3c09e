//! How a run went.

use super::failure::Failure;

/// What a run that did something leaves in the ledger.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Outcome {
    /// Scans that were rejected.
    pub(super) rejected: usize,
    /// Whether anything came of it.
    pub(super) done: bool,
}

impl Outcome {
    /// Everything was done.
    pub(super) const DONE: Self = Self { rejected: 0, done: true };

    /// The outcome of reducing scans.
    pub(super) const fn of_scans(reduced: usize, rejected: usize) -> Self {
        Self { rejected, done: reduced > 0 }
    }
}

/// 0 all done; 1 done, but some scans were rejected; 2 nothing done.
pub(super) const fn exit_status(outcome: &Result<Outcome, Failure>) -> u8 {
    match outcome {
        Ok(Outcome { done: true, rejected: 0 }) => 0,
        Ok(Outcome { done: true, .. }) => 1,
        Ok(_) | Err(_) => 2,
    }
}

#[cfg(test)]
mod tests {
    use super::{Failure, Outcome, exit_status};

    #[test]
    fn statuses() {
        assert_eq!(exit_status(&Ok(Outcome::DONE)), 0);
        assert_eq!(exit_status(&Ok(Outcome::of_scans(3, 0))), 0);
        assert_eq!(exit_status(&Ok(Outcome::of_scans(3, 1))), 1);
        assert_eq!(exit_status(&Ok(Outcome::of_scans(0, 4))), 2);
        assert_eq!(exit_status(&Err(Failure::new("no"))), 2);
    }
}
