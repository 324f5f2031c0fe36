//! What to order: every kit by the day its order has to be placed, one kit with its working, and how
//! kits are stocked. Everybody reads; storekeepers and engineers settle terms, engineers state rates.

pub mod list;
pub mod rate;
pub mod rates;
pub mod rules;
pub mod show;
pub mod terms;

use rust_decimal::Decimal;
use sqlx::SqliteConnection;
use time::Date;

use crate::acts::needs::SOON;
use crate::calc::needs::Answer;
use crate::pages::show::{counted, date, grouped};
use crate::record::{KitId, LotNumber};
use crate::store;
use crate::store::outlook::Asking;

/// Counting stops here.
const MOST: i64 = 1000;

/// How many kits are to be ordered within thirty days, how many of them were to be ordered before today,
/// how many fall short at all in the time looked ahead, and of how many what is on the way has to come
/// sooner: one count and one wording for every page that tells it.
pub struct ToOrder(Asking);

impl ToOrder {
    /// Counts them.
    ///
    /// # Errors
    /// The store's failure.
    pub async fn count(db: &mut SqliteConnection, today: Date) -> store::Result<Self> {
        let days = (today, today.saturating_add(SOON));
        Ok(Self(store::outlook::count_asking(db, days, MOST).await?))
    }

    /// The counts in words: "2 kits are to be ordered within 30 days, 1 of them late, 4 later; what is on
    /// the way of 1 kit is to be hurried".
    pub fn words(&self) -> String {
        let hurried = match self.0.hurried {
            0 => String::new(),
            hurried => format!(
                "; what is on the way of {} is to be hurried",
                counted(hurried, MOST, "kit", "kits")
            ),
        };
        // What was counted up to the bound only is not told apart.
        let later = match self.0.all - self.0.soon {
            0 => String::new(),
            _ if self.0.all == MOST => String::new(),
            later if self.0.soon == 0 => {
                format!(", {} later", counted(later, MOST, "kit", "kits"))
            }
            later => format!(", {} later", grouped(later)),
        };
        if self.0.soon == 0 {
            return format!("Nothing to order within 30 days{later}{hurried}");
        }
        let soon = counted(self.0.soon, MOST, "kit is", "kits are");
        let late = match self.0.past {
            0 | MOST => String::new(),
            past if past == self.0.soon => ", late already".to_owned(),
            past => format!(", {} of them late", grouped(past)),
        };
        format!("{soon} to be ordered within 30 days{late}{later}{hurried}")
    }
}

/// The order that follows the next one of a kit, as far as one is foreseen.
pub struct Following {
    /// How many kits.
    pub quantity: u32,
    /// The last day to place it.
    pub by: Date,
    /// The day kits fall short without it.
    short_on: Date,
    /// The shutdown windows that want the kit on that day.
    windows: Vec<String>,
}

impl Following {
    /// The one of an answer, with the windows it is for.
    ///
    /// # Errors
    /// The store's failure.
    pub async fn of(
        db: &mut SqliteConnection,
        kit: KitId,
        answer: &Answer<LotNumber>,
    ) -> store::Result<Option<Self>> {
        let Some(next) = answer.following else {
            return Ok(None);
        };
        Ok(Some(Self {
            quantity: next.quantity,
            by: next.placed,
            short_on: next.arrives,
            windows: store::needs::windows_wanting(db, kit, next.arrives).await?,
        }))
    }

    /// What it is for: "13 Feb 2027 (Boiler outage)".
    pub fn wanted_for(&self) -> String {
        let day = date(&self.short_on);
        if self.windows.is_empty() {
            day
        } else {
            format!("{day} ({})", self.windows.join(", "))
        }
    }
}

/// An amount of money in the plant's currency, or the bare number where none is chosen.
fn money(value: &Decimal, currency: &str) -> String {
    let rounded = value.round_dp(2);
    if currency.is_empty() {
        format!("{rounded:.2}")
    } else {
        format!("{rounded:.2}\u{a0}{currency}")
    }
}
