//! Kits by lot: what may be used on a day, which lot goes out first, and what expires on the shelf.
//! The ledger of movements is kept elsewhere; here stand only the lots and what is left of them.

use std::cmp::Ordering;

use serde::{Deserialize, Serialize};
use time::{Date, Duration};

use super::OutOfRange;
use super::calendar::{add_months, iso_date, require, said};
use super::demand::KitDemand;
use super::working::{Source, Step, Working};

/// Whether a lot may be used at all.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, schemars::JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Release {
    /// Free for use.
    #[default]
    Released,
    /// On hand, but held back: under recall, damaged, or not yet inspected.
    HeldBack,
}

/// One lot of a kit as it stands; `K` is whatever names a lot for the caller.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Lot<K> {
    /// What names the lot; it settles ties, smaller first.
    pub key: K,
    /// The first day the lot is on the shelf.
    #[serde(with = "iso_date")]
    pub received: Date,
    /// The last day the lot may be used, inclusive; none for kits that keep.
    #[serde(with = "iso_date::option")]
    pub last_usable: Option<Date>,
    /// Kits left.
    pub quantity: u32,
    /// Whether the lot may be used.
    pub release: Release,
}

/// Whether a lot may be used on a day, and why not.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Usability {
    /// It may be used.
    Usable,
    /// It is held back.
    HeldBack,
    /// It is not on the shelf yet.
    NotYetReceived,
    /// It has not the days left that its use asks for.
    TooFewDaysLeft,
    /// Its last usable day is past.
    Expired,
}

/// Kits wanted on a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Wanted {
    /// The day they are needed.
    #[serde(with = "iso_date")]
    pub on: Date,
    /// How many.
    pub quantity: u32,
}

/// Kits taken from one lot on a day.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Pick<K> {
    /// The day.
    #[serde(with = "iso_date")]
    pub on: Date,
    /// The lot.
    pub key: K,
    /// How many.
    pub quantity: u32,
}

/// Which lots a want is met from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Picking<K> {
    /// What is taken, first expired first.
    pub picks: Vec<Pick<K>>,
    /// What is missing; zero where the want is met in full.
    pub missing: u32,
    /// The shown calculation.
    pub working: Working,
}

/// What becomes of the lots over a run of wants.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Replay<K> {
    /// What is taken, in order of days.
    pub picks: Vec<Pick<K>>,
    /// What is missing on which day; days without a lack are not listed.
    pub missing: Vec<Wanted>,
    /// What is left of each lot after its last usable day, for days up to the limit; lots with
    /// nothing left are not listed.
    pub expired: Vec<(K, u32)>,
    /// What is left of the other lots.
    pub left: Vec<(K, u32)>,
}

/// What the shelf covers of a run of wants.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Cover {
    /// Kits that may be used on the first day.
    pub usable: u32,
    /// Kits on the shelf that may not be used on the first day.
    pub unusable: u32,
    /// Kits wanted up to the last day.
    pub wanted: u32,
    /// Kits missing up to the last day.
    pub short: u32,
    /// The first day on which a kit is missing.
    #[serde(with = "iso_date::option")]
    pub short_on: Option<Date>,
    /// Kits usable on the first day that expire unused up to the last day.
    pub expiring: u32,
    /// The shown calculation.
    pub working: Working,
}

/// The loss to expect of one lot.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ExpiryLoss {
    /// Kits left after the last usable day, on average.
    pub expected: f64,
    /// The chance that at least one is left.
    pub chance: f64,
    /// The shown calculation.
    pub working: Working,
}

/// The last day a kit may be used, from the day it was made and its shelf life.
///
/// # Formula
/// last usable day = `made` + shelf life in calendar months, clamped to the end of the month.
///
/// # Valid range
/// Shelf life of at least one month; both dates in 1900 to 2200.
///
/// # Errors
/// [`OutOfRange`] for no shelf life or a date out of range.
///
/// # Source
/// Common practice, no source; month arithmetic as [`add_months`].
pub fn last_usable_day(made: Date, shelf_months: u32) -> Result<Date, OutOfRange> {
    if shelf_months == 0 {
        return Err(OutOfRange::new(
            "shelf life",
            "0 months",
            "at least 1 month",
        ));
    }
    add_months(made, shelf_months)
}

/// Whether a lot may be used on a day, with some days of shelf life still left after it.
///
/// # Formula
/// usable if released, received ≤ day, and last usable day − day ≥ `days_left`.
///
/// # Valid range
/// Any dates; a lot without a last usable day keeps. The last usable day itself still counts.
///
/// # Errors
/// None; the reason is the result. Of several, the one a storekeeper meets first is given.
///
/// # Source
/// Common practice, no source.
#[must_use]
pub fn usability<K>(lot: &Lot<K>, at: Date, days_left: u32) -> Usability {
    if lot.release == Release::HeldBack {
        return Usability::HeldBack;
    }
    if lot.received > at {
        return Usability::NotYetReceived;
    }
    match lot.last_usable {
        Some(last) if last < at => Usability::Expired,
        Some(last) if last - at < Duration::days(i64::from(days_left)) => Usability::TooFewDaysLeft,
        _ => Usability::Usable,
    }
}

/// The kits that may be used on a day.
///
/// # Formula
/// Σ quantity over the lots that [`usability`] calls usable.
///
/// # Valid range
/// As [`usability`]; a sum beyond 4 294 967 295 stays there.
///
/// # Errors
/// None.
///
/// # Source
/// Common practice, no source.
#[must_use]
pub fn usable_quantity<K>(lots: &[Lot<K>], at: Date, days_left: u32) -> u32 {
    lots.iter()
        .filter(|lot| usability(lot, at, days_left) == Usability::Usable)
        .fold(0, |sum: u32, lot| sum.saturating_add(lot.quantity))
}

/// The order lots go out in: last usable day, then day received, then key; lots that keep go last.
///
/// # Formula
/// Lexical order of (last usable day or never, received, key).
///
/// # Valid range
/// Any lots.
///
/// # Errors
/// None.
///
/// # Source
/// First expired, first out: common practice, no source.
pub fn first_expired_first<K: Ord>(one: &Lot<K>, other: &Lot<K>) -> Ordering {
    (
        one.last_usable.is_none(),
        one.last_usable,
        one.received,
        &one.key,
    )
        .cmp(&(
            other.last_usable.is_none(),
            other.last_usable,
            other.received,
            &other.key,
        ))
}

/// Chooses the lots a want is met from, first expired first out, and leaves the lots as they are.
///
/// # Formula
/// In the order of [`first_expired_first`]: take min(still wanted, left of the lot).
///
/// # Valid range
/// Wanted day in 1900 to 2200, at least one kit wanted.
///
/// # Errors
/// [`OutOfRange`] for a day out of range or nothing wanted. A lack of kits is no error.
///
/// # Source
/// Common practice, no source.
pub fn pick<K: Ord + Clone + ToString>(
    lots: &[Lot<K>],
    wanted: Wanted,
    days_left: u32,
) -> Result<Picking<K>, OutOfRange> {
    require("day the kits are wanted", wanted.on)?;
    if wanted.quantity == 0 {
        return Err(OutOfRange::new("kits wanted", 0, "at least 1"));
    }
    let mut remaining = lots.to_vec();
    remaining.sort_by(first_expired_first);
    let mut picks = Vec::new();
    let missing = take(&mut remaining, wanted, days_left, &mut picks);
    let mut step = Step::new(
        "picks",
        "lots taken from",
        "first expired, first out",
        Source::CommonPractice,
    )
    .with("wanted", "kits wanted", wanted.quantity, Source::Entered)
    .with("day", "day they are needed", wanted.on, Source::Entered)
    .with(
        "days left",
        "days of shelf life asked for",
        days_left,
        Source::Plant,
    );
    for lot in remaining
        .iter()
        .filter(|lot| lot.quantity > 0 || picks.iter().any(|p| p.key == lot.key))
    {
        let taken: u32 = picks
            .iter()
            .filter(|p| p.key == lot.key)
            .map(|p| p.quantity)
            .sum();
        let until = lot
            .last_usable
            .map_or_else(|| "keeps".to_owned(), |day| format!("until {}", said(day)));
        step = step.with(
            lot.key.to_string(),
            "lot",
            format!("{} on hand, {until}, {taken} taken", lot.quantity + taken),
            Source::Entered,
        );
    }
    let result = format!("{} taken, {missing} missing", wanted.quantity - missing);
    Ok(Picking {
        picks,
        missing,
        working: Working::new("Lots to take").step(step.gives(result)),
    })
}

/// Plays a run of wants against the lots, first expired first out, up to a last day.
///
/// # Formula
/// Wants in order of their days (as given on the same day), each met as by [`pick`] from what is
/// left; then loss of a lot = what is left of it if its last usable day ≤ `limit`.
///
/// # Valid range
/// Days in 1900 to 2200; wants after `limit` are not played. Wants of zero kits are passed over.
///
/// # Errors
/// [`OutOfRange`] for a day out of range.
///
/// # Source
/// Common practice, no source.
pub fn replay<K: Ord + Clone>(
    lots: &[Lot<K>],
    wants: &[Wanted],
    days_left: u32,
    limit: Date,
) -> Result<Replay<K>, OutOfRange> {
    require("last day", limit)?;
    for wanted in wants {
        require("day the kits are wanted", wanted.on)?;
    }
    let mut remaining = lots.to_vec();
    remaining.sort_by(first_expired_first);
    let mut ordered: Vec<Wanted> = wants
        .iter()
        .copied()
        .filter(|one| one.on <= limit)
        .collect();
    ordered.sort_by_key(|one| one.on);
    let mut picks = Vec::new();
    let mut missing = Vec::new();
    for wanted in ordered {
        let quantity = take(&mut remaining, wanted, days_left, &mut picks);
        if quantity > 0 {
            missing.push(Wanted {
                on: wanted.on,
                quantity,
            });
        }
    }
    let (expired, left): (Vec<_>, Vec<_>) = remaining
        .into_iter()
        .filter(|lot| lot.quantity > 0)
        .partition(|lot| lot.last_usable.is_some_and(|last| last <= limit));
    let named = |lots: Vec<Lot<K>>| {
        lots.into_iter()
            .map(|lot| (lot.key, lot.quantity))
            .collect()
    };
    Ok(Replay {
        picks,
        missing,
        expired: named(expired),
        left: named(left),
    })
}

/// What the shelf covers of the kits wanted from one day to another, first expired first out.
///
/// # Formula
/// usable = [`usable_quantity`] on the first day; wants before it count on it; short = Σ of what
/// [`replay`] finds missing, short from its first day; expiring = what is left of the lots usable on
/// the first day whose last usable day ≤ `limit`.
///
/// # Valid range
/// First and last day in 1900 to 2200, the last not before the first. A lot that expires before a
/// want does not count for it.
///
/// # Errors
/// [`OutOfRange`] for a day out of range or a last day before the first.
///
/// # Source
/// Common practice, no source.
pub fn cover<K: Ord + Clone + ToString>(
    lots: &[Lot<K>],
    wants: &[Wanted],
    at: Date,
    limit: Date,
) -> Result<Cover, OutOfRange> {
    require("first day", at)?;
    if limit < at {
        return Err(OutOfRange::new(
            "last day",
            limit,
            format!("not before {}", said(at)),
        ));
    }
    let wants: Vec<Wanted> = wants
        .iter()
        .filter(|one| one.on <= limit)
        .map(|one| Wanted {
            on: one.on.max(at),
            quantity: one.quantity,
        })
        .collect();
    let played = replay(lots, &wants, 0, limit)?;
    let sum = |numbers: &mut dyn Iterator<Item = u32>| numbers.fold(0, u32::saturating_add);
    let usable = usable_quantity(lots, at, 0);
    let on_hand = sum(&mut lots.iter().map(|lot| lot.quantity));
    let wanted = sum(&mut wants.iter().map(|one| one.quantity));
    let short = sum(&mut played.missing.iter().map(|one| one.quantity));
    let expiring = sum(&mut played.expired.iter().filter_map(|(key, left)| {
        lots.iter()
            .any(|lot| lot.key == *key && usability(lot, at, 0) == Usability::Usable)
            .then_some(*left)
    }));
    let short_on = played.missing.first().map(|one| one.on);
    let working = covered(lots, &wants, (at, limit), (short, short_on));
    Ok(Cover {
        usable,
        unusable: on_hand.saturating_sub(usable),
        wanted,
        short,
        short_on,
        expiring,
        working,
    })
}

fn covered<K: Clone + ToString>(
    lots: &[Lot<K>],
    wants: &[Wanted],
    (at, limit): (Date, Date),
    (short, short_on): (u32, Option<Date>),
) -> Working {
    let mut step = Step::new(
        "short",
        "kits missing",
        "wanted, day by day, less what may be used that day, first expired first out",
        Source::CommonPractice,
    );
    for want in wants {
        step = step.with(
            said(want.on),
            "kits wanted by that day",
            want.quantity,
            Source::Arithmetic,
        );
    }
    for lot in lots.iter().filter(|lot| lot.quantity > 0) {
        let until = match (usability(lot, at, 0), lot.last_usable) {
            (Usability::Usable, None) => "keeps".to_owned(),
            (Usability::Usable, Some(last)) => format!("until {}", said(last)),
            (Usability::Expired, Some(last)) => {
                format!("expired on {}, does not count", said(last))
            }
            _ => "may not be used, does not count".to_owned(),
        };
        step = step.with(
            lot.key.to_string(),
            "lot",
            format!("{} on hand, {until}", lot.quantity),
            Source::Entered,
        );
    }
    let result = match short_on {
        Some(day) => format!("{short}, from {}", said(day)),
        None => "0".to_owned(),
    };
    Working::new("Kits short")
        .step(step.gives(result))
        .remark(format!(
            "From {} to {}, both included; what was due earlier counts on the first day.",
            said(at),
            said(limit)
        ))
}

/// Takes a want from lots that stand in the order they go out; gives what is missing.
pub(super) fn take<K: Clone>(
    lots: &mut [Lot<K>],
    wanted: Wanted,
    days_left: u32,
    picks: &mut Vec<Pick<K>>,
) -> u32 {
    let mut missing = wanted.quantity;
    for lot in lots {
        if missing == 0 {
            break;
        }
        let quantity = missing.min(lot.quantity);
        if quantity == 0 || usability(lot, wanted.on, days_left) != Usability::Usable {
            continue;
        }
        lot.quantity -= quantity;
        missing -= quantity;
        picks.push(Pick {
            on: wanted.on,
            key: lot.key.clone(),
            quantity,
        });
    }
    missing
}

/// The loss to expect of one lot if random demand alone draws on it until its last usable day.
///
/// # Formula
/// expected loss = E(q − D)⁺; chance of a loss = P(D < q); q kits in the lot, D the demand before
/// the lot expires.
///
/// # Valid range
/// Any number of kits; none has no loss.
///
/// # Errors
/// None.
///
/// # Source
/// The definition of the expectation.
#[must_use]
pub fn expected_expiry_loss(quantity: u32, demand: &KitDemand) -> ExpiryLoss {
    let expected = demand.expected_left(quantity);
    let chance = quantity
        .checked_sub(1)
        .map_or(0.0, |last| demand.at_most(last));
    let working = Working::new("Expected loss by expiry").step(
        Step::new(
            "E(q − D)⁺",
            "kits left after the last usable day, on average",
            "Σ P(D ≤ n) for n from 0 to q − 1",
            Source::Arithmetic,
        )
        .with("q", "kits in the lot", quantity, Source::Entered)
        .with(
            "E D",
            "expected demand until then",
            format!("{:.3}", demand.mean()),
            Source::Arithmetic,
        )
        .rounded("to two places")
        .gives(format!("{expected:.2}")),
    );
    ExpiryLoss {
        expected,
        chance,
        working,
    }
}
