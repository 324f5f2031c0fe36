//! The storeroom: kits and whether they cover what falls due, their lots, every movement, and the
//! ledger. Everybody signed in may look; storekeepers and engineers receive, issue, count and scrap.

pub mod count;
pub mod edit_kit;
pub mod edit_lot;
pub mod kit;
pub mod ledger;
pub mod list;
pub mod lot;
pub mod movement;
pub mod papers;
pub mod receive;

use std::collections::HashMap;

use sqlx::SqliteConnection;
use time::Date;

use super::answer::PageError;
use crate::calc::OutOfRange;
use crate::calc::lots::{Cover, Wanted};
use crate::record::KitId;
use crate::record::kit::{AHEAD, Lot, cover};
use crate::store;

/// What lies on the shelf and what is wanted of it, by kit: two questions, however many kits.
struct Stock {
    shelf: HashMap<KitId, Vec<Lot>>,
    wants: HashMap<KitId, Vec<Wanted>>,
    today: Date,
}

impl Stock {
    async fn of_all(db: &mut SqliteConnection, today: Date) -> store::Result<Self> {
        let mut stock = Self {
            shelf: HashMap::new(),
            wants: HashMap::new(),
            today,
        };
        for lot in store::stock::shelf(db).await? {
            stock.shelf.entry(lot.kit_id).or_default().push(lot);
        }
        let until = today.saturating_add(AHEAD);
        for (id, wanted) in store::stock::wants(db, today, until).await? {
            stock.wants.entry(id).or_default().push(wanted);
        }
        Ok(stock)
    }

    fn lots(&self, kit: KitId) -> &[Lot] {
        self.shelf.get(&kit).map_or(&[], Vec::as_slice)
    }

    fn cover(&self, kit: KitId) -> Result<Cover, PageError> {
        let wants = self.wants.get(&kit).map_or(&[][..], Vec::as_slice);
        cover(self.lots(kit), wants, self.today).map_err(beyond)
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
