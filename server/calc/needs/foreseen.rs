//! The orders that follow the answer's own, for the chart and for the sentence beside it. What the answer
//! itself orders is decided in the file above.

use time::Date;

use super::{Question, Terms, run, shortfall, stock, sum, wanted_until, wants};
use crate::calc::OutOfRange;
use crate::calc::calendar::{days_after, days_before};
use crate::calc::demand::KitDemand;
use crate::calc::lots::{self, Wanted};
use crate::calc::reorder;
use crate::calc::stock_plan::{Purpose, Receipt, Want};

/// The most orders foreseen.
const MOST_ORDERS: usize = 60;

/// An order as it is foreseen: if those before it are placed by their days and failures take what they
/// take on average.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Foreseen {
    /// The last day to place it.
    pub placed: Date,
    /// The day it arrives then.
    pub arrives: Date,
    /// How many kits.
    pub quantity: u32,
    /// What its number is reckoned from; none of the order of the answer, which tells that itself.
    pub tally: Option<Tally>,
    /// The day kits fall short without it.
    short_on: Date,
    /// Kits missing without it; none where it only bridges the days until what is on the way comes.
    missing: u32,
}

/// What the number of an order that follows is reckoned from: planned + failures + kept − there are missing,
/// raised to whole packs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Tally {
    /// The last day it is for.
    pub until: Date,
    /// Kits planned rebuilds want from today up to that day.
    pub planned: u32,
    /// Kits failures take on average up to that day.
    pub failures: u32,
    /// Kits kept for failures beside these.
    pub kept: u32,
    /// Kits there up to that day, those on the way and those of the orders before included.
    pub there: u32,
}

/// The order of the answer and those that follow it by the same rule, none placed before today and none
/// arriving before its lead time is over. Where what is on the way makes up for a lack that no order can
/// come in time for, the answer orders nothing and those that follow begin with the next lack. What
/// failures take on average is among the wants here, so only the rest of the cover is kept beside them.
/// Those that only bridge days until what is on the way comes are among them if `bridging`; else such days
/// are passed over.
pub(super) fn orders<K: Clone>(
    question: &Question<K>,
    wants: &[Want],
    (span_days, cover, failures): (u32, u32, &KitDemand),
    first: Option<(Date, u32)>,
    bridging: bool,
) -> Result<Vec<Foreseen>, OutOfRange> {
    let terms = &question.terms;
    let limit = super::horizon(question)?;
    let kept = cover.saturating_sub(whole_above(failures.mean()));
    let mut foreseen = Vec::new();
    let Some((placed, quantity)) = first else {
        return Ok(foreseen);
    };
    let mut next = Foreseen {
        placed,
        arrives: days_after(placed, terms.lead_days)?,
        quantity,
        tally: None,
        short_on: placed,
        missing: quantity,
    };
    let mut q = Question {
        planned: wants
            .iter()
            .map(|want| Wanted {
                on: want.on,
                quantity: want.quantity,
            })
            .collect(),
        ..question.clone()
    };
    while foreseen.len() < MOST_ORDERS {
        if next.quantity > 0 {
            foreseen.push(next);
        }
        if next.arrives > limit {
            break;
        }
        q.planned = waiting_until(&q, next.arrives);
        if next.quantity > 0 {
            q.receipts.push(Receipt {
                on: next.arrives,
                quantity: next.quantity,
                last_usable: terms
                    .shelf_months
                    .map(|months| lots::last_usable_day(next.arrives, months))
                    .transpose()?,
            });
        }
        let Some(one) = after((&mut q, wants), next, (span_days, kept, limit), bridging)? else {
            break;
        };
        next = one;
    }
    Ok(foreseen)
}

/// The order for the first lack once another one is there.
fn after<K>(
    (q, wants): (&mut Question<K>, &[Want]),
    before: Foreseen,
    (span_days, kept, limit): (u32, u32, Date),
    bridging: bool,
) -> Result<Option<Foreseen>, OutOfRange> {
    let Terms {
        lead_days, packing, ..
    } = q.terms;
    let earliest = before.placed.next_day().unwrap_or(before.placed);
    let earliest = earliest.max(q.today);
    let mut from = before.arrives;
    while let Some(short) = shortfall(q, kept, (from, limit))? {
        let placed = days_before(short.on, lead_days)?.max(earliest);
        let until = days_after(placed, span_days)?;
        let lasting = run(q, until);
        let there = lasting.taken.saturating_add(lasting.left);
        let missing = wanted_until(q, until)
            .saturating_add(kept)
            .saturating_sub(there);
        if missing > 0 || bridging {
            return Ok(Some(Foreseen {
                placed,
                arrives: days_after(placed, lead_days)?,
                quantity: reorder::order_quantity(missing.max(1), packing)?,
                tally: Some(Tally {
                    until,
                    planned: wanted_for(wants, Purpose::Planned, until),
                    failures: wanted_for(wants, Purpose::Expected, until),
                    kept,
                    there,
                }),
                short_on: short.on,
                missing,
            }));
        }
        // What is on the way makes up for it by then, and what waited for it is taken of that.
        let Some(day) = until.next_day() else {
            break;
        };
        q.planned = waiting_until(q, day);
        from = day;
    }
    Ok(None)
}

/// What is wanted for one purpose up to a day.
fn wanted_for(wants: &[Want], purpose: Purpose, until: Date) -> u32 {
    let wants = wants
        .iter()
        .filter(|want| want.purpose == purpose && want.on <= until);
    sum(wants.map(|want| want.quantity))
}

/// The order to tell beside that of the answer: the first one kits are missing without, and only where
/// they fall short after the last day the answer's own is for. The answer keeps its cover beside planned
/// rebuilds alone, and the orders of the chart take average failures for wants, so that a lack within that
/// span may be the chart's alone. Where the answer orders nothing, since what is on the way makes up for the
/// lack, it is the first order of all.
pub(super) fn following<K: Clone>(
    question: &Question<K>,
    wants: &[Want],
    (span_days, cover, failures): (u32, u32, &KitDemand),
    first: Option<(Date, u32)>,
    orders: &[Foreseen],
) -> Result<Option<Foreseen>, OutOfRange> {
    let Some((placed, quantity)) = first else {
        return Ok(None);
    };
    let until = days_after(placed, span_days)?;
    let before = usize::from(quantity > 0);
    let next = match orders.get(before) {
        // One that only bridges is not told, so the next one must not count on its kits.
        Some(one) if one.missing == 0 => {
            let beside = (span_days, cover, failures);
            let needed = self::orders(question, wants, beside, first, false)?;
            needed.get(before).copied()
        }
        other => other.copied(),
    };
    Ok(next.filter(|one| one.short_on > until))
}

/// The wants with those that find nothing before a day put off to it: a rebuild waits for its kits.
fn waiting_until<K>(question: &Question<K>, day: Date) -> Vec<Wanted> {
    let mut stock = stock(question);
    let mut picks = Vec::new();
    let mut list = Vec::new();
    let mut put_off = 0_u32;
    for want in wants(question, Date::MAX) {
        if want.on >= day {
            list.push(want);
            continue;
        }
        let missing = lots::take(&mut stock, want, 0, &mut picks);
        put_off = put_off.saturating_add(missing);
        list.push(Wanted {
            quantity: want.quantity - missing,
            ..want
        });
    }
    list.push(Wanted {
        on: day,
        quantity: put_off,
    });
    list.retain(|want| want.quantity > 0);
    list
}

/// The whole kits that an average takes at most.
fn whole_above(mean: f64) -> u32 {
    use rust_decimal::prelude::ToPrimitive;
    mean.ceil().to_u32().unwrap_or(0)
}
