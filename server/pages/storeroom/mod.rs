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

use time::Date;

use super::answer::PageError;
use crate::calc::OutOfRange;
use crate::calc::lots::Cover;
use crate::calc::reorder::{self, OrderBy, Packing};
use crate::record::kit::Kit;
use crate::store;

/// What to order of a kit that is short, and by when.
struct Order {
    quantity: u32,
    by: OrderBy,
}

impl Order {
    fn of(kit: &Kit, cover: &Cover, today: Date) -> Result<Option<Self>, PageError> {
        let Some(from) = cover.short_on else {
            return Ok(None);
        };
        let packing = Packing::new(kit.pack, kit.minimum).map_err(beyond)?;
        Ok(Some(Self {
            quantity: reorder::order_quantity(cover.short, packing).map_err(beyond)?,
            by: reorder::order_by(from, kit.lead_days, today).map_err(beyond)?,
        }))
    }
}

/// A record lies outside what can be computed with: ours to mend, not the visitor's.
#[expect(
    clippy::needless_pass_by_value,
    reason = "the shape of a function for map_err"
)]
fn beyond(error: OutOfRange) -> PageError {
    PageError::Store(store::Error::Unreadable(error.to_string()))
}
