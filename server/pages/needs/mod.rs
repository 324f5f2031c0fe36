//! What to order: every kit by the day its order has to be placed, one kit with its working, and how
//! kits are stocked. Everybody reads; storekeepers and engineers settle terms, engineers state rates.

pub mod list;
pub mod rate;
pub mod rates;
pub mod rules;
pub mod show;
pub mod terms;

use std::collections::BTreeMap;

use rust_decimal::Decimal;
use sqlx::SqliteConnection;
use time::Date;

use crate::acts::needs::SOON;
use crate::pages::show::{counted, date, grouped};
use crate::record::KitId;
use crate::record::need::{Outlook, Then};
use crate::store;
use crate::store::outlook::Asking;

/// Shutdown windows named for one order.
const WINDOWS: usize = 3;
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

    /// The counts in words: "2 kits to order now, 1 within 30 days, 4 later; a second order follows for 1 kit;
    /// hurry what is on the way of 1 kit".
    pub fn words(&self) -> String {
        let Asking {
            past,
            soon,
            all,
            again,
            hurried,
        } = self.0;
        let kits = |number: i64| counted(number, MOST, "kit", "kits");
        let mut parts = Vec::new();
        if soon == 0 {
            parts.push("Nothing to order within 30 days".to_owned());
        } else if past > 0 {
            parts.push(format!("{} to order now", kits(past)));
        } else {
            parts.push(format!("{} to order within 30 days", kits(soon)));
        }
        // What was counted up to the bound only is not told apart.
        if past > 0 && soon > past && soon < MOST {
            parts.push(format!("{} within 30 days", grouped(soon - past)));
        }
        match all - soon {
            0 => {}
            _ if all == MOST => {}
            later if soon == 0 => parts.push(format!("{} later", kits(later))),
            later => parts.push(format!("{} later", grouped(later))),
        }
        let mut told = vec![parts.join(", ")];
        if again > 0 {
            told.push(format!("a second order follows for {}", kits(again)));
        }
        if hurried > 0 {
            told.push(format!("hurry what is on the way of {}", kits(hurried)));
        }
        told.join("; ")
    }
}

/// The order that follows the next one of a kit, as far as one is foreseen, with what it is for.
pub struct Following {
    /// How many, by when.
    then: Then,
    /// The shutdown windows that want the kit on the day it arrives.
    windows: Vec<String>,
}

impl Following {
    /// That of one kit, with the windows it is for.
    ///
    /// # Errors
    /// The store's failure.
    pub async fn of(
        db: &mut SqliteConnection,
        kit: KitId,
        then: Option<Then>,
    ) -> store::Result<Option<Self>> {
        let Some(then) = then else {
            return Ok(None);
        };
        Ok(of_kits(db, &[(kit, then)]).await?.remove(&kit))
    }

    /// Those of the lines of a list, by kit, in one question.
    ///
    /// # Errors
    /// The store's failure.
    pub async fn of_each(
        db: &mut SqliteConnection,
        lines: &[Outlook],
    ) -> store::Result<BTreeMap<KitId, Self>> {
        let following: Vec<_> = lines
            .iter()
            .filter_map(|line| Some((line.kit_id, line.then?)))
            .collect();
        of_kits(db, &following).await
    }

    /// How many kits.
    pub fn quantity(&self) -> u32 {
        self.then.quantity
    }

    /// The last day to place it.
    pub fn by(&self) -> String {
        date(&self.then.by)
    }

    /// Whether that day is past.
    pub fn late(&self, today: &Date) -> bool {
        self.then.by < *today
    }

    /// What it is for: "13 Feb 2027 (Boiler outage)".
    pub fn wanted_for(&self) -> String {
        let day = date(&self.then.arrives);
        if self.windows.is_empty() {
            day
        } else {
            format!("{day} ({})", self.windows.join(", "))
        }
    }
}

async fn of_kits(
    db: &mut SqliteConnection,
    following: &[(KitId, Then)],
) -> store::Result<BTreeMap<KitId, Following>> {
    let mut each: BTreeMap<KitId, Following> = following
        .iter()
        .map(|&(kit, then)| {
            let windows = Vec::new();
            (kit, Following { then, windows })
        })
        .collect();
    if each.is_empty() {
        return Ok(each);
    }
    let days: Vec<_> = following
        .iter()
        .map(|(kit, then)| (*kit, then.arrives))
        .collect();
    for (kit, name) in store::needs::windows_wanting(db, &days).await? {
        if let Some(one) = each.get_mut(&kit)
            && one.windows.len() < WINDOWS
        {
            one.windows.push(name);
        }
    }
    Ok(each)
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
