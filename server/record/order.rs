//! Orders of kits: their states and steps, and what is still awaited of them.
//! What to order is computed in `calc::needs`; receiving is a movement of the ledger.

use rust_decimal::Decimal;
use time::Date;

use super::ids::{KitId, KitNumber, OrderId, OrderLineId, OrderNumber};
use super::words::words;

words! {
    /// Where an order stands.
    OrderState, "the state of the order" {
        Draft: "draft", "draft";
        Placed: "placed", "placed";
        Received: "received", "received";
        Withdrawn: "withdrawn", "withdrawn";
    }
}

impl OrderState {
    /// Whether nothing of it changes any more.
    pub const fn closed(self) -> bool {
        matches!(self, Self::Received | Self::Withdrawn)
    }
}

/// An order of kits.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Order {
    /// The row.
    pub id: OrderId,
    /// Its number.
    pub number: OrderNumber,
    /// Where it stands.
    pub state: OrderState,
    /// Who supplies it.
    pub supplier: String,
    /// The supplier's own reference.
    pub reference: String,
    /// What else the supplier should know.
    pub note: String,
    /// The day it was drafted.
    pub made_on: Date,
    /// Who drafted it.
    pub made_by: String,
    /// The day it was placed.
    pub placed_on: Option<Date>,
    /// The day it was received in full or withdrawn.
    pub closed_on: Option<Date>,
    /// Why it was withdrawn.
    pub withdrawn_reason: Option<String>,
    /// Counts the changes.
    pub version: i64,
}

/// A line of an order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OrderLine {
    /// The row.
    pub id: OrderLineId,
    /// The kit's row.
    pub kit_id: KitId,
    /// The kit.
    pub kit: KitNumber,
    /// What it is for.
    pub name: String,
    /// How many were ordered.
    pub quantity: i64,
    /// What one costs, as it was when the order was drafted.
    pub cost: Option<Decimal>,
    /// The day the supplier promised them for.
    pub promised_on: Option<Date>,
    /// How many are still to come.
    pub awaited: i64,
    /// Kits it is sold in packs of.
    pub pack: i64,
    /// The least that is ordered.
    pub minimum: i64,
}

impl OrderLine {
    /// What the line costs, where the price of one is known.
    pub fn value(&self) -> Option<Decimal> {
        Some(self.cost? * Decimal::from(self.quantity))
    }

    /// How many came.
    pub fn came(&self, state: OrderState) -> i64 {
        match state {
            OrderState::Draft => 0,
            _ => self.quantity - self.awaited,
        }
    }

    /// Whether the promised day is past and kits are still to come.
    pub fn late(&self, today: Date) -> bool {
        self.awaited > 0 && self.promised_on.is_some_and(|day| day < today)
    }
}
