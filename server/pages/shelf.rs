//! The small drawn shelf of a kit: what may be used, what is missing, what may not be used.
//! The figures stand beside it; the drawing only lets people compare without reading.

use std::fmt::Write as _;

use crate::calc::lots::Cover;
use crate::store::shelf::OnShelf;

/// Width of the drawing's inside.
const WIDE: u64 = 156;

/// A shelf, ready to draw.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Shelf {
    /// Width of the part that may be used.
    pub usable: u64,
    /// Width of the part that is missing.
    pub short: u64,
    /// Width of the part that may not be used.
    pub unusable: u64,
    /// Where what is wanted ends, if anything is.
    pub wanted: Option<u64>,
    /// What it says, in words.
    pub says: String,
}

impl Shelf {
    /// Draws what the shelf covers.
    pub fn of(cover: &Cover) -> Self {
        Self::drawn([cover.usable, cover.short, cover.unusable, cover.wanted].map(u64::from))
    }

    /// Draws a shelf as a list holds it.
    pub fn kept(line: &OnShelf) -> Self {
        let kept = [line.usable, line.short, line.unusable, line.wanted];
        Self::drawn(kept.map(|kits| u64::try_from(kits).unwrap_or(0)))
    }

    fn drawn([usable, short, unusable, wanted]: [u64; 4]) -> Self {
        let whole = (usable + short + unusable).max(1);
        let wide = |kits: u64| kits * WIDE / whole;
        let mut says = format!("{usable} may be used, {wanted} wanted");
        if short > 0 {
            let _ = write!(says, ", {short} short");
        }
        if unusable > 0 {
            let _ = write!(says, ", {unusable} may not be used");
        }
        Self {
            usable: wide(usable),
            short: wide(short),
            unusable: wide(unusable),
            wanted: (wanted > 0).then(|| wide(wanted.min(usable + short))),
            says,
        }
    }

    /// Where the part that is missing begins.
    pub fn short_at(&self) -> u64 {
        2 + self.usable
    }

    /// Where the part that may not be used begins.
    pub fn unusable_at(&self) -> u64 {
        2 + self.usable + self.short
    }
}
