//! How a kit is stocked: the plant's rules, a kit's own terms, and where a failure rate comes from.
//! What follows from them is computed in `calc::needs`.

use rust_decimal::Decimal;
use time::Date;

use super::ids::{KitId, KitNumber, ServiceClassId};
use crate::calc::needs::Foreseen;

/// Service level, in percent, until the plant chooses one: common practice, no source.
pub const USUAL_LEVEL: i64 = 95;
/// Days between two looks at the storeroom until the plant chooses: common practice, no source.
pub const USUAL_REVIEW: u32 = 30;

/// What holds for every kit without terms of its own.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rules {
    /// Chance of no shortage wanted, percent.
    pub service_level: Decimal,
    /// Days between two looks at what to order.
    pub review_days: u32,
    /// What costs are given in; empty where costs are bare numbers.
    pub currency: String,
    /// Whether the plant chose them, or they are the usual ones.
    pub chosen: bool,
    /// Counts the changes.
    pub version: i64,
}

impl Rules {
    /// The usual ones.
    pub fn usual() -> Self {
        Self {
            service_level: Decimal::from(USUAL_LEVEL),
            review_days: USUAL_REVIEW,
            currency: String::new(),
            chosen: false,
            version: 0,
        }
    }
}

/// What one kit costs and how safely it is stocked.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Terms {
    /// What one kit costs.
    pub cost: Option<Decimal>,
    /// Who supplies it.
    pub supplier: String,
    /// Chance of no shortage wanted, percent, if it is another than the plant's.
    pub service_level: Option<Decimal>,
    /// Days between two looks, if they are others than the plant's.
    pub review_days: Option<u32>,
    /// Counts the changes; 0 where the kit has no terms yet.
    pub version: i64,
}

/// A failure rate somebody stated.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stated {
    /// The service class.
    pub class: ServiceClassId,
    /// Failures per gauge and year.
    pub per_year: Decimal,
    /// On what ground.
    pub ground: String,
    /// Counts the changes.
    pub version: i64,
}

/// What the register knows of failures of a service class.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ClassRecord {
    /// The service class.
    pub class: ServiceClassId,
    /// Its name.
    pub name: String,
    /// Gauges in service.
    pub gauges: i64,
    /// Failures within the span that is looked at.
    pub failures: i64,
    /// What somebody stated instead.
    pub stated: Option<Stated>,
}

/// The order that follows the next one of a kit, as far as one is foreseen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Then {
    /// How many kits.
    pub quantity: u32,
    /// The last day to place it.
    pub by: Date,
    /// The day it arrives then, on which kits fall short without it.
    pub arrives: Date,
}

impl From<Foreseen> for Then {
    fn from(one: Foreseen) -> Self {
        Self {
            quantity: one.quantity,
            by: one.placed,
            arrives: one.arrives,
        }
    }
}

/// What to order of a kit, as lists hold it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Outlook {
    /// The kit's row.
    pub kit_id: KitId,
    /// The kit.
    pub kit: KitNumber,
    /// What it is for.
    pub name: String,
    /// Latest day to order; none where nothing is foreseen.
    pub order_by: Option<Date>,
    /// First day kits are short.
    pub short_on: Option<Date>,
    /// First day planned rebuilds alone are short, what is on the way counted.
    pub rebuilds_short_on: Option<Date>,
    /// The order that follows.
    pub then: Option<Then>,
    /// Kits to order.
    pub quantity: i64,
    /// Kits on the shelf that may be used.
    pub usable: i64,
    /// Kits on the way.
    pub on_the_way: i64,
    /// Kits for planned rebuilds in the span.
    pub planned: i64,
    /// Kits kept for failures.
    pub cover: i64,
    /// The last day of the span.
    pub until_on: Option<Date>,
    /// What one costs.
    pub cost: Option<Decimal>,
}

impl Outlook {
    /// What the order costs, where the price is known.
    pub fn value(&self) -> Option<Decimal> {
        Some(self.cost? * Decimal::from(self.quantity))
    }

    /// What the order that follows costs, where the price is known.
    pub fn value_then(&self) -> Option<Decimal> {
        Some(self.cost? * Decimal::from(self.then?.quantity))
    }
}
