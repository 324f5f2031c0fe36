//! Stock of one kit month by month: wants, receipts, expiry, what is left and what to order.
//! Lots and how they are picked are in `lots`; the safety stock is chosen with `reorder`.

use rust_decimal::prelude::ToPrimitive;
use serde::{Deserialize, Serialize};
use time::Date;

use super::OutOfRange;
use super::calendar::{
    add_months, days_before, first_of_month, iso_date, last_of_month, months_before, require, said,
};
use super::lots::{self, Lot, Wanted};
use super::reorder::{Packing, order_quantity};
use super::stock_play::{arriving, new_lot, opening_stock, play, total};
use super::working::{Source, Step, Working};

/// The most months a plan looks ahead.
const MOST_MONTHS: u32 = 120;
/// The most kits any one entry may hold.
const MOST_KITS: u32 = 1_000_000;

/// What kits are wanted for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Purpose {
    /// A rebuild that falls due.
    Planned,
    /// Failures as they are to be expected on average.
    Expected,
}

/// Kits wanted on a day, and what for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Want {
    /// The day; one before today counts as today.
    #[serde(with = "iso_date")]
    pub on: Date,
    /// How many.
    pub quantity: u32,
    /// What for.
    pub purpose: Purpose,
}

/// Kits on the way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Receipt {
    /// The day they are promised; one before today counts as today and is remarked on.
    #[serde(with = "iso_date")]
    pub on: Date,
    /// How many.
    pub quantity: u32,
    /// Their last usable day, if known; none for kits that keep.
    #[serde(with = "iso_date::option")]
    pub last_usable: Option<Date>,
}

/// The time from order to shelf.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LeadTime {
    /// Calendar days.
    Days(u32),
    /// Calendar months.
    Months(u32),
}

/// How the kit is ordered and kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Policy {
    /// Stock to be left at the end of every month.
    pub safety: u32,
    /// How the kit is sold.
    pub packing: Packing,
    /// How long an order takes.
    pub lead: LeadTime,
    /// Shelf life of new kits in months from their arrival; none for kits that keep.
    pub shelf_months: Option<u32>,
    /// Days of shelf life a kit must still have when it is used.
    pub days_left: u32,
}

/// The stock and the wishes a plan starts from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Outlook<K> {
    /// The lots on the shelf.
    pub lots: Vec<Lot<K>>,
    /// Kits on the way.
    pub receipts: Vec<Receipt>,
    /// Kits wanted.
    pub wants: Vec<Want>,
}

/// One month of the plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Row {
    /// The first day of the month.
    #[serde(with = "iso_date")]
    pub month: Date,
    /// Kits for planned rebuilds.
    pub planned: u32,
    /// Kits for failures to be expected.
    pub expected: u32,
    /// Kits on the way that arrive.
    pub receipts: u32,
    /// Kits whose use ends this month with nobody using them.
    pub expired: u32,
    /// Kits that would be missing, safety stock included, without the order of this month.
    pub net: u32,
    /// Kits the plan orders to arrive by the start of this month.
    pub planned_receipt: u32,
    /// Kits whose order has to be placed this month.
    pub planned_release: u32,
    /// Kits left at the end of the month, planned orders included, that are still of use in the next.
    pub projected: u32,
}

/// An order the plan proposes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Proposal {
    /// How many kits.
    pub quantity: u32,
    /// The day they are to be on the shelf: the first of the month they are needed in, or today.
    #[serde(with = "iso_date")]
    pub arrives: Date,
    /// The latest day to order.
    #[serde(with = "iso_date")]
    pub order_by: Date,
    /// Whether that day is still ahead.
    pub timing: ProposalTiming,
}

/// Whether an order can still be placed in time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ProposalTiming {
    /// It can, today at the latest.
    InTime,
    /// The day to order is past: deliveries have to be hurried or work has to wait.
    PastDue,
}

/// The plan of one kit.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Projection {
    /// The months in order.
    pub rows: Vec<Row>,
    /// The orders proposed, by the month they are needed in.
    pub proposals: Vec<Proposal>,
    /// The first day kits are missing, and how many, if nothing is ordered.
    pub first_shortfall: Option<Wanted>,
    /// The shown calculation.
    pub working: Working,
}

/// Projects the stock of a kit month by month and proposes orders.
///
/// Inside a month things happen on their days: kits on the way can be used from the day they
/// arrive, lots go out first expired first, and a lot falls out of use after its last usable day
/// less the days of shelf life its use asks for. A want before today counts as today's. A lack in a
/// month, or an end of month below the safety stock, proposes an order that arrives by the first
/// day of that month (today in the first month); one whose order-by date is past is listed as past
/// due and never moved silently. Kits on the way are firm and are not moved.
///
/// # Formula
/// For month t: net = missing in t + max(0, safety − left at the end of t); planned receipt = net
/// raised to the smallest order and then to whole packs; projected = left at the end of t with the
/// planned receipt; order by = arrival − lead time. Without expiry and with all days on the first
/// of the month this is: available = projected(t−1) + receipts − wants; net = max(0, safety −
/// available); projected = available + planned receipt.
///
/// # Valid range
/// 1 to 120 `months`; every date in 1900 to 2200; quantities up to 1 000 000; a shelf life of at
/// least one month, and longer than the days asked for. Wants and receipts beyond the last month
/// are left out.
///
/// # Errors
/// [`OutOfRange`] naming what is not in range.
///
/// # Source
/// Time-phased requirements as textbooks lay them out (projected available after the planned
/// receipt; L. J. Krajewski and L. P. Ritzman, Operations Management, from memory); dates inside the month and expiry: common practice, no source.
pub fn project<K>(
    outlook: &Outlook<K>,
    policy: &Policy,
    today: Date,
    months: u32,
) -> Result<Projection, OutOfRange> {
    check(outlook, policy, today, months)?;
    let unaided = run(outlook, policy, today, months, Orders::None)?;
    let planned = run(outlook, policy, today, months, Orders::AsNeeded)?;
    let working = shown(&planned, outlook, policy, today);
    Ok(Projection {
        rows: planned.rows,
        proposals: planned.proposals,
        first_shortfall: unaided.first_missing,
        working,
    })
}

/// The same stock month by month with nothing ordered: what is left, and what is missing.
///
/// # Formula
/// As [`project`] without planned receipts.
///
/// # Valid range
/// As [`project`].
///
/// # Errors
/// As [`project`].
///
/// # Source
/// As [`project`].
pub fn unaided<K>(
    outlook: &Outlook<K>,
    policy: &Policy,
    today: Date,
    months: u32,
) -> Result<Projection, OutOfRange> {
    check(outlook, policy, today, months)?;
    let run = run(outlook, policy, today, months, Orders::None)?;
    let working = shown(&run, outlook, policy, today);
    Ok(Projection {
        rows: run.rows,
        proposals: Vec::new(),
        first_shortfall: run.first_missing,
        working,
    })
}

/// Failures to be expected, as whole kits on the first day of each month (today in the first).
///
/// # Formula
/// month t gets ⌈t·m⌉ − ⌈(t − 1)·m⌉ kits, so that the sum never falls behind t·m.
///
/// # Valid range
/// 0 ≤ m ≤ 10 000 kits a month; 1 to 120 `months`; dates in 1900 to 2200.
///
/// # Errors
/// [`OutOfRange`] naming what is not in range.
///
/// # Source
/// Common practice, no source; rounded up because a missing kit costs more than one on the shelf.
pub fn expected_wants(
    kits_per_month: f64,
    today: Date,
    months: u32,
) -> Result<Vec<Want>, OutOfRange> {
    if !(0.0..=10_000.0).contains(&kits_per_month) {
        return Err(OutOfRange::new(
            "expected kits a month",
            kits_per_month,
            "between 0 and 10000",
        ));
    }
    check_span(today, months)?;
    let mut wants = Vec::new();
    let mut before = 0;
    for month in 0..months {
        // A sum like 3 × 0.1 must not round up past a whole number it only misses by rounding.
        let sum = kits_per_month * f64::from(month + 1);
        let whole = (sum - sum * 1e-12)
            .ceil()
            .max(0.0)
            .to_u32()
            .unwrap_or(before);
        if whole > before {
            wants.push(Want {
                on: add_months(first_of_month(today), month)?.max(today),
                quantity: whole - before,
                purpose: Purpose::Expected,
            });
        }
        before = whole;
    }
    Ok(wants)
}

#[derive(Clone, Copy, PartialEq)]
enum Orders {
    None,
    AsNeeded,
}

struct Run {
    rows: Vec<Row>,
    proposals: Vec<Proposal>,
    first_missing: Option<Wanted>,
}

fn check_span(today: Date, months: u32) -> Result<(), OutOfRange> {
    require("today", today)?;
    if !(1..=MOST_MONTHS).contains(&months) {
        return Err(OutOfRange::new("months ahead", months, "between 1 and 120"));
    }
    add_months(first_of_month(today), months).map(|_| ())
}

fn check<K>(
    outlook: &Outlook<K>,
    policy: &Policy,
    today: Date,
    months: u32,
) -> Result<(), OutOfRange> {
    check_span(today, months)?;
    let quantities = outlook
        .lots
        .iter()
        .map(|lot| ("kits of a lot", lot.quantity))
        .chain(
            outlook
                .receipts
                .iter()
                .map(|one| ("kits on the way", one.quantity)),
        )
        .chain(
            outlook
                .wants
                .iter()
                .map(|one| ("kits wanted", one.quantity)),
        )
        .chain([("safety stock", policy.safety)]);
    for (name, quantity) in quantities {
        if quantity > MOST_KITS {
            return Err(OutOfRange::new(name, quantity, "at most 1000000"));
        }
    }
    for receipt in &outlook.receipts {
        require("day kits are promised", receipt.on)?;
    }
    for want in &outlook.wants {
        require("day kits are wanted", want.on)?;
    }
    if policy.shelf_months == Some(0) {
        return Err(OutOfRange::new(
            "shelf life",
            "0 months",
            "at least 1 month",
        ));
    }
    Ok(())
}

fn run<K>(
    outlook: &Outlook<K>,
    policy: &Policy,
    today: Date,
    months: u32,
    orders: Orders,
) -> Result<Run, OutOfRange> {
    let mut stock = opening_stock(outlook, policy, today);
    let mut wants: Vec<Want> = outlook.wants.clone();
    for want in &mut wants {
        want.on = want.on.max(today);
    }
    wants.sort_by_key(|want| want.on);
    let mut run = Run {
        rows: Vec::new(),
        proposals: Vec::new(),
        first_missing: None,
    };
    for number in 0..months {
        let month = add_months(first_of_month(today), number)?;
        let (from, last) = (month.max(today), last_of_month(month));
        let wanted: Vec<Want> = wants
            .iter()
            .copied()
            .filter(|want| (from..=last).contains(&want.on))
            .collect();
        let before = stock.clone();
        let mut played = play(&mut stock, &wanted, policy, last);
        let net = played
            .missing
            .saturating_add(policy.safety.saturating_sub(played.left));
        let mut planned_receipt = 0;
        if orders == Orders::AsNeeded && net > 0 {
            planned_receipt = order_quantity(net, policy.packing)?;
            run.proposals
                .push(proposal(planned_receipt, from, policy.lead, today)?);
            stock = before;
            stock.push(new_lot(planned_receipt, from, last, policy)?);
            stock.sort_by(lots::first_expired_first);
            played = play(&mut stock, &wanted, policy, last);
        }
        run.first_missing = run.first_missing.or(played.first_missing);
        let wanted_for = |purpose| {
            total(
                wanted
                    .iter()
                    .filter(|want| want.purpose == purpose)
                    .map(|want| want.quantity),
            )
        };
        run.rows.push(Row {
            month,
            planned: wanted_for(Purpose::Planned),
            expected: wanted_for(Purpose::Expected),
            receipts: arriving(outlook, today, from, last),
            expired: played.expired,
            net,
            planned_receipt,
            planned_release: 0,
            projected: played.left,
        });
    }
    for proposal in &run.proposals {
        let month = first_of_month(proposal.order_by);
        if let Some(row) = run.rows.iter_mut().find(|row| row.month == month)
            && proposal.timing == ProposalTiming::InTime
        {
            row.planned_release = row.planned_release.saturating_add(proposal.quantity);
        }
    }
    Ok(run)
}

fn proposal(
    quantity: u32,
    arrives: Date,
    lead: LeadTime,
    today: Date,
) -> Result<Proposal, OutOfRange> {
    let order_by = match lead {
        LeadTime::Days(days) => days_before(arrives, days)?,
        LeadTime::Months(months) => months_before(arrives, months)?,
    };
    Ok(Proposal {
        quantity,
        arrives,
        order_by,
        timing: if order_by < today {
            ProposalTiming::PastDue
        } else {
            ProposalTiming::InTime
        },
    })
}

fn shown<K>(run: &Run, outlook: &Outlook<K>, policy: &Policy, today: Date) -> Working {
    let mut working = Working::new("Stock by month");
    let mut before = lots::usable_quantity(&outlook.lots, today, policy.days_left);
    for row in &run.rows {
        let first = said(row.month);
        let label = first
            .split_once(' ')
            .map_or(first.as_str(), |(_, month)| month);
        working = working.step(
            Step::new(
                label,
                "kits left at the end of the month",
                "before + arriving + proposed − planned − expected − expired",
                Source::Arithmetic,
            )
            .with(
                "before",
                "usable kits at its start",
                before,
                Source::Arithmetic,
            )
            .with("arriving", "kits on the way", row.receipts, Source::Entered)
            .with(
                "proposed",
                "kits the plan orders",
                row.planned_receipt,
                Source::Arithmetic,
            )
            .with(
                "planned",
                "kits for planned rebuilds",
                row.planned,
                Source::Plant,
            )
            .with(
                "expected",
                "kits for failures to be expected",
                row.expected,
                Source::Arithmetic,
            )
            .with(
                "expired",
                "kits that fall out of use",
                row.expired,
                Source::Arithmetic,
            )
            .gives(row.projected),
        );
        before = row.projected;
    }
    let late = total(
        outlook
            .receipts
            .iter()
            .filter(|receipt| receipt.on < today)
            .map(|receipt| receipt.quantity),
    );
    if late > 0 {
        working = working.remark(format!(
            "{late} kits were promised for a day that is past; they are counted as arriving today."
        ));
    }
    for proposal in &run.proposals {
        if proposal.timing == ProposalTiming::PastDue {
            working = working.remark(format!(
                "The order of {} kits for {} should have been placed by {}.",
                proposal.quantity, proposal.arrives, proposal.order_by
            ));
        }
    }
    if policy.shelf_months.is_some() {
        working = working.remark("New kits are taken to be made on the day they arrive.");
    }
    working
}
