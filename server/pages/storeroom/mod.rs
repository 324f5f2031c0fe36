//! The storeroom: kits and whether they cover what falls due, their lots, every movement, and the
//! ledger. Everybody signed in may look; storekeepers and engineers receive, issue, count and scrap.

pub mod count;
pub mod edit_kit;
pub mod edit_lot;
pub mod gasket_age;
pub mod kit;
pub mod ledger;
pub mod list;
pub mod lot;
pub mod movement;
pub mod papers;
pub mod receive;

use super::answer::PageError;
use crate::calc::OutOfRange;
use crate::store;

/// A record lies outside what can be computed with: ours to mend, not the visitor's.
#[expect(
    clippy::needless_pass_by_value,
    reason = "the shape of a function for map_err"
)]
fn beyond(error: OutOfRange) -> PageError {
    PageError::Store(store::Error::Unreadable(error.to_string()))
}
