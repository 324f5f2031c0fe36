//! Kits, lots and the lines of the stock ledger. On hand is the last balance of a lot; it is
//! never kept anywhere else.

use time::{Date, Duration};

use super::gauge::{Change, Kind};
use super::ids::{KitId, KitNumber, LotId, LotNumber, PersonId, RebuildId, RecallId, StockLineId};
use super::moment::Moment;
use super::words::words;
use crate::calc::OutOfRange;
use crate::calc::lots::{self, Cover, Picking, Release, Usability, Wanted};

/// How far ahead the storeroom looks: the shelf should hold what falls due within these days.
pub const AHEAD: Duration = Duration::days(90);

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
    /// The kit's number.
    pub kit: KitNumber,
    /// Its number.
    pub number: LotNumber,
    /// When it came.
    pub received_on: Date,
    /// Last day it may be used; none for kits that keep.
    pub expires_on: Option<Date>,
    /// Its own place, where all of it lies that was not put elsewhere.
    pub place: String,
    /// How many are on hand.
    pub on_hand: i64,
    /// What of it lies elsewhere, by place.
    pub elsewhere: Vec<Part>,
    /// The recall that holds it back, if one does.
    pub held_back: Option<RecallId>,
}

/// So many kits of a lot that lie together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Part {
    /// The place; none where it is the lot's own.
    pub place: Option<String>,
    /// How many.
    pub kits: i64,
}

impl Lot {
    /// Whether kits of it lie in more than its own place.
    pub fn several(&self) -> bool {
        !self.elsewhere.is_empty()
    }

    /// How many lie in a place; none names the lot's own.
    pub fn lie_at(&self, place: Option<&str>) -> i64 {
        let away = |part: &&Part| place.is_none() || part.place.as_deref() == place;
        let kits: i64 = self.elsewhere.iter().filter(away).map(|p| p.kits).sum();
        if place.is_some() {
            kits
        } else {
            self.on_hand - kits
        }
    }

    /// Where it lies: its own place first, also where nothing lies there just now.
    pub fn parts(&self) -> Vec<Part> {
        let own = Part {
            place: None,
            kits: self.lie_at(None),
        };
        std::iter::once(own)
            .chain(self.elsewhere.iter().cloned())
            .collect()
    }

    /// How a place is called.
    pub fn called<'a>(&'a self, place: Option<&'a str>) -> &'a str {
        match place.unwrap_or(&self.place) {
            "" => "the place that is not written down",
            named => named,
        }
    }

    /// Where it lies, in words; empty where that is not written down.
    pub fn lies(&self) -> String {
        if !self.several() {
            return self.place.clone();
        }
        let parts = self.parts().into_iter().filter(|part| part.kits > 0);
        let named: Vec<String> = parts
            .map(|part| format!("{} at {}", part.kits, self.called(part.place.as_deref())))
            .collect();
        named.join(", ")
    }

    /// The place a person means by what they typed, in the spelling it has already: none is the lot's
    /// own; a name it has not yet is a new place.
    pub fn meant(&self, typed: &str) -> Option<String> {
        let typed = typed.trim();
        if typed.is_empty() || same_place(typed, &self.place) {
            return None;
        }
        let known = self.elsewhere.iter().filter_map(|p| p.place.as_deref());
        let mut spelled = known.filter(|place| same_place(typed, place));
        Some(spelled.next().unwrap_or(typed).to_owned())
    }

    /// Whether the lot may be used on that day: its last day still counts.
    pub fn usable_on(&self, day: Date) -> bool {
        self.usability(day) == Usability::Usable
    }

    /// Whether the lot may be used on that day, and why not.
    pub fn usability(&self, day: Date) -> Usability {
        lots::usability(&self.shelved(), day, 0)
    }

    /// The lot as the computation takes it.
    pub fn shelved(&self) -> lots::Lot<LotNumber> {
        lots::Lot {
            key: self.number.clone(),
            received: self.received_on,
            last_usable: self.expires_on,
            quantity: u32::try_from(self.on_hand).unwrap_or(0),
            release: match self.held_back {
                Some(_) => Release::HeldBack,
                None => Release::Released,
            },
        }
    }
}

/// Whether two spellings name one place: capitals and spaces do not tell places apart.
fn same_place(one: &str, other: &str) -> bool {
    let plain = |text: &str| -> String {
        let words: Vec<String> = text.split_whitespace().map(str::to_lowercase).collect();
        words.join(" ")
    };
    plain(one) == plain(other)
}

/// How old the gaskets of a kit may become in service.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct GasketAge {
    /// Calendar months from the day they were fitted; none where age alone never sends a gauge to
    /// the bench.
    pub months: Option<u32>,
    /// What that stands on.
    pub ground: String,
    /// Counts the changes; 0 where nothing was stated yet.
    pub version: i64,
}

/// What differs between two states of a kit, for its history.
pub fn changes(before: &Kit, after: &Kit) -> Vec<Change> {
    let shown = |k: &Kit| {
        let maybe = |n: Option<u32>| n.map_or_else(String::new, |n| n.to_string());
        [
            ("number", k.number.to_string()),
            ("name", k.name.clone()),
            ("kind", k.kind.to_string()),
            ("glass length, mm", maybe(k.glass_length_mm.map(u32::from))),
            ("contents", k.contents.clone()),
            ("shelf life, months", maybe(k.shelf_life_months)),
            ("lead time, days", k.lead_days.to_string()),
            ("pack", k.pack.to_string()),
            ("least order", k.minimum.to_string()),
        ]
    };
    Change::between(shown(before), shown(after))
}

/// The lots of one kit that a number of kits is taken from, first expired first out.
///
/// # Errors
/// Refuses a day out of range or nothing wanted; too few kits are no error.
pub fn first_out(shelf: &[Lot], wanted: Wanted) -> Result<Picking<LotNumber>, OutOfRange> {
    let shelved: Vec<_> = shelf.iter().map(Lot::shelved).collect();
    lots::pick(&shelved, wanted, 0)
}

/// Kits of a lot that one of several wants is met from, in one of its places.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Promised {
    /// The lot.
    pub lot: LotNumber,
    /// Where they lie, as people call it; empty where that is not written down.
    pub place: String,
    /// How many.
    pub kits: u32,
    /// The lot's last day; none where it keeps.
    pub expires_on: Option<Date>,
}

/// What one of several wants is met from, and how many are missing to it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Share {
    /// The kits promised to it, first expired first.
    pub promised: Vec<Promised>,
    /// How many are missing.
    pub missing: u32,
}

/// A lot and the number of its part: those of its own place go out first.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Pile(LotNumber, usize);

impl std::fmt::Display for Pile {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.0.fmt(f)
    }
}

/// Shares the lots of one kit out among wants in the order they are given, first expired first out: a
/// kit is promised once, whoever comes first.
///
/// # Errors
/// Refuses a day out of range; too few kits are no error.
pub fn shared(shelf: &[Lot], wants: &[Wanted]) -> Result<Vec<Share>, OutOfRange> {
    let mut piles = Vec::new();
    for lot in shelf {
        for (at, part) in lot.parts().into_iter().enumerate() {
            let whole = lot.shelved();
            piles.push(lots::Lot {
                key: Pile(whole.key, at),
                received: whole.received,
                last_usable: whole.last_usable,
                quantity: u32::try_from(part.kits).unwrap_or(0),
                release: whole.release,
            });
        }
    }
    let mut shares = Vec::with_capacity(wants.len());
    for want in wants {
        if want.quantity == 0 {
            shares.push(Share::default());
            continue;
        }
        let picking = lots::pick(&piles, *want, 0)?;
        let mut promised = Vec::with_capacity(picking.picks.len());
        for pick in picking.picks {
            if let Some(pile) = piles.iter_mut().find(|pile| pile.key == pick.key) {
                pile.quantity = pile.quantity.saturating_sub(pick.quantity);
            }
            let Some(lot) = shelf.iter().find(|lot| lot.number == pick.key.0) else {
                continue;
            };
            let parts = lot.parts();
            let part = parts.get(pick.key.1).and_then(|part| part.place.as_deref());
            promised.push(Promised {
                lot: pick.key.0,
                place: part.unwrap_or(&lot.place).to_owned(),
                kits: pick.quantity,
                expires_on: lot.expires_on,
            });
        }
        shares.push(Share {
            promised,
            missing: picking.missing,
        });
    }
    Ok(shares)
}

/// What the lots of one kit cover of what the gauges want of it within [`AHEAD`].
///
/// # Errors
/// Refuses a day out of range.
pub fn cover(shelf: &[Lot], wants: &[Wanted], today: Date) -> Result<Cover, OutOfRange> {
    let shelved: Vec<_> = shelf.iter().map(Lot::shelved).collect();
    lots::cover(&shelved, wants, today, today.saturating_add(AHEAD))
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
