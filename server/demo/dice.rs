//! The chances of the invented plant: a seeded generator, so that the same day gives the same plant.
//! Nothing else of the product draws from it.

use rand_pcg::Pcg64;
use rand_pcg::rand_core::Rng;

/// A seeded generator with the few draws the demo needs.
#[derive(Debug, Clone)]
pub struct Dice(Pcg64);

impl Dice {
    /// Dice for one thing, such as one gauge: the same number gives the same throws.
    pub fn new(number: u64) -> Self {
        const SEED: u128 = 0x5361_6c74_6d61_7273_6820_576f_726b_7321;
        Self(Pcg64::new(SEED ^ u128::from(number), 0x0a02_bdbf_7bb3_c0a7))
    }

    /// A whole number from `low` to `high`, both included.
    pub fn between(&mut self, low: i64, high: i64) -> i64 {
        let span = high.saturating_sub(low).unsigned_abs() + 1;
        // The bias of a remainder over 64 bits is far below what an invented plant could show.
        low + i64::try_from(self.0.next_u64() % span).unwrap_or(0)
    }

    /// Whether something of so many in a hundred happens.
    pub fn chance(&mut self, in_a_hundred: i64) -> bool {
        self.between(1, 100) <= in_a_hundred
    }

    /// One of a list.
    pub fn pick<'a, T>(&mut self, list: &'a [T]) -> Option<&'a T> {
        let end = i64::try_from(list.len()).ok()? - 1;
        if end < 0 {
            return None;
        }
        let at = usize::try_from(self.between(0, end)).unwrap_or(0);
        list.get(at)
    }
}
