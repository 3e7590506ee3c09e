//! What may be chosen of a screening.

/// Resampled sets of references. 100 place the ends of a 95 % interval to about 0.3 of its standard deviation.
const RESAMPLES: u16 = 100;

/// How a corpus is screened.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ScreenParams {
    resamples: u16,
}

impl ScreenParams {
    /// Screens with 100 resamples behind each interval.
    #[must_use]
    pub const fn new() -> Self {
        Self { resamples: RESAMPLES }
    }

    /// The same with another number of resamples; 0 leaves the intervals out.
    #[must_use]
    pub const fn with_resamples(self, resamples: u16) -> Self {
        Self { resamples }
    }

    /// Resamples behind each interval.
    #[must_use]
    pub const fn resamples(self) -> u16 {
        self.resamples
    }
}

impl Default for ScreenParams {
    fn default() -> Self {
        Self::new()
    }
}
