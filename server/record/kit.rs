//! Kits, lots and the lines of the stock ledger. On hand is the last balance of a lot; it is
//! never kept anywhere else.

use time::Date;

use super::gauge::Kind;
use super::ids::{KitId, KitNumber, LotId, LotNumber, PersonId, RebuildId, StockLineId};
use super::moment::Moment;
use super::words::words;

words! {
    /// What moved the stock of a lot.
    Movement, "what moved" {
        Receipt: "receipt", "receipt";
        Issue: "issue", "issue";
        Return: "return", "return";
        Count: "count", "count";
        Scrap: "scrap", "scrap";
    }
}

/// Glass and gaskets for one section side.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Kit {
    /// The row.
    pub id: KitId,
    /// Its number in the plant's scheme.
    pub number: KitNumber,
    /// What it is for.
    pub name: String,
    /// Reflex or transparent.
    pub kind: Kind,
    /// Length of the glass in mm.
    pub glass_length_mm: Option<u16>,
    /// What is in it.
    pub contents: String,
    /// Shelf life, months; none for kits that keep.
    pub shelf_life_months: Option<u32>,
    /// Days from order to receipt.
    pub lead_days: u32,
    /// Kits come in multiples of this.
    pub pack: u32,
    /// Least order.
    pub minimum: u32,
    /// Counts the changes.
    pub version: i64,
}

/// Kits received together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lot {
    /// The row.
    pub id: LotId,
    /// The kit it is a lot of.
    pub kit_id: KitId,
    /// Its number.
    pub number: LotNumber,
    /// When it came.
    pub received_on: Date,
    /// Last day it may be used; none for kits that keep.
    pub expires_on: Option<Date>,
    /// Where it lies.
    pub place: String,
    /// How many are on hand.
    pub on_hand: i64,
}

impl Lot {
    /// Whether the lot may be used on that day: its last day still counts.
    pub fn usable_on(&self, day: Date) -> bool {
        self.received_on <= day && self.expires_on.is_none_or(|last| day <= last)
    }
}

/// A line of the stock ledger.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StockLine {
    /// The row.
    pub id: StockLineId,
    /// The lot that moved.
    pub lot_id: LotId,
    /// What moved it.
    pub kind: Movement,
    /// By how many, with its sign.
    pub quantity: i64,
    /// How many were on hand after it.
    pub balance: i64,
    /// When it was written.
    pub at: Moment,
    /// The day it happened.
    pub on_date: Date,
    /// Who wrote it.
    pub person_id: PersonId,
    /// The rebuild it was for.
    pub rebuild_id: Option<RebuildId>,
    /// Why, where no rebuild says it.
    pub reason: String,
}
