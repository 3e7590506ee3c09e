//! Seeds: every random draw starts from one, and work items get seeds of their own.

use rand::SeedableRng;
use rand_xoshiro::Xoshiro256PlusPlus;

/// The start of a stream of random numbers; an argument everywhere, a default nowhere.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Seed(u64);

impl Seed {
    /// A seed from a number.
    #[must_use]
    pub const fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// The number.
    #[must_use]
    pub const fn get(self) -> u64 {
        self.0
    }

    /// The seed of the `item`-th piece of work: the same on one thread or many.
    ///
    /// # References
    /// Steele, Lea & Flood 2014, Fast splittable pseudorandom number generators (the finaliser, from memory).
    #[must_use]
    pub const fn derive(self, item: u64) -> Self {
        let mut z = self.0.wrapping_add(item.wrapping_add(1).wrapping_mul(0x9e37_79b9_7f4a_7c15));
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        Self(z ^ (z >> 31))
    }

    /// A generator that starts here.
    #[must_use]
    pub fn rng(self) -> Xoshiro256PlusPlus {
        Xoshiro256PlusPlus::seed_from_u64(self.0)
    }
}
