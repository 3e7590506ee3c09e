//! Undulations per revolution.

use std::num::NonZeroU16;

/// A number of undulations per revolution: 1 is eccentricity, 2 ovality, 3 three-lobed; never 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Upr(NonZeroU16);

impl Upr {
    /// `n` undulations per revolution; `None` for 0, which is the mean radius and no undulation.
    ///
    /// # Example
    /// ```
    /// use tornus::Upr;
    /// assert_eq!(Upr::new(3).map(Upr::get), Some(3));
    /// assert_eq!(Upr::new(0), None);
    /// ```
    #[must_use]
    pub const fn new(n: u16) -> Option<Self> {
        match NonZeroU16::new(n) {
            Some(n) => Some(Self(n)),
            None => None,
        }
    }

    /// The number of undulations in one revolution.
    #[must_use]
    pub const fn get(self) -> u16 {
        self.0.get()
    }
}
