//! What to order of one kit, when, and why: planned rebuilds and failures against stock that
//! expires, kits on the way and lead time. How stock runs month by month is `stock_plan`.

mod foreseen;

use time::Date;

use super::OutOfRange;
use super::calendar::{days_after, require};
use super::demand::{self, KitDemand, KitsPerEvent};
use super::lots::{self, Lot, Release, Usability, Wanted};
use super::reorder::{self, OrderBy, Packing, Position, ReorderPoint, ServiceLevel, Suggestion};
use super::stock_plan::{
    self, LeadTime, Outlook, Policy, Projection, Purpose, Receipt, Want, expected_wants,
};
use super::working::{Source, Step, Working};
pub use foreseen::Foreseen;

/// Days in a mean Gregorian month.
const DAYS_A_MONTH: f64 = 365.25 / 12.0;

/// Gauges of one service class that take the kit, and how often one of them fails.
#[derive(Debug, Clone, PartialEq)]
pub struct ClassDemand {
    /// The service class, by name.
    pub name: String,
    /// Failures per gauge and year.
    pub rate: f64,
    /// Kits for a rebuild, and how many gauges of the class take so many.
    pub gauges: Vec<(u32, u32)>,
    /// How the rate was found.
    pub ground: String,
    /// Whether the plant stated the rate; else it was computed from its failures.
    pub stated: bool,
}

/// How a kit is ordered and how safely it is stocked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Terms {
    /// Days from order to shelf.
    pub lead_days: u32,
    /// Days between two looks at what to order.
    pub review_days: u32,
    /// The chance wanted of no shortage over lead time plus review.
    pub level: ServiceLevel,
    /// How the kit is sold.
    pub packing: Packing,
    /// Shelf life of new kits, months; none for kits that keep.
    pub shelf_months: Option<u32>,
}

/// Everything the answer is computed from.
#[derive(Debug, Clone, PartialEq)]
pub struct Question<K> {
    /// The lots on the shelf.
    pub lots: Vec<Lot<K>>,
    /// Kits on the way.
    pub receipts: Vec<Receipt>,
    /// Kits wanted by planned rebuilds, up to the end of the months ahead.
    pub planned: Vec<Wanted>,
    /// The gauges whose failures take the kit.
    pub failures: Vec<ClassDemand>,
    /// How it is ordered.
    pub terms: Terms,
    /// The first day.
    pub today: Date,
    /// How many months are looked ahead.
    pub months: u32,
}

/// What to order and why.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer<K> {
    /// Days of lead time and review together.
    pub span_days: u32,
    /// The last day the order has to last for.
    pub until: Date,
    /// Failures expected over the span.
    pub events: f64,
    /// Kits they take, on average.
    pub mean: f64,
    /// Planned kits and cover up to that day.
    pub point: ReorderPoint,
    /// What can be counted on up to that day.
    pub position: Position,
    /// Kits on the shelf that may be used today.
    pub usable: u32,
    /// Kits on the shelf that expire before anybody is foreseen to use them, by lot.
    pub losses: Vec<(K, u32)>,
    /// The first day on which what is wanted, with the cover kept, is more than what is there.
    pub short: Option<Wanted>,
    /// The first day on which planned rebuilds alone want more than what is there, what is on the way counted
    /// from its day on; none where only the cover is broken into.
    pub rebuilds_short: Option<Date>,
    /// The latest day to order.
    pub order_by: Option<OrderBy>,
    /// What to order.
    pub suggestion: Suggestion,
    /// The order that follows it, as far as one is foreseen.
    pub following: Option<Foreseen>,
    /// The stock by month without another order.
    pub unaided: Projection,
    /// The stock by month with this order and those that follow it.
    pub aided: Projection,
    /// How the failures to be expected were found.
    pub failures_working: Working,
}

/// Failures per gauge and year from what was seen.
///
/// With few failures the plain quotient says too little: none seen in a year does not mean none to
/// come. The mean of the rate after Jeffreys' prior is used, which is never zero and goes over into
/// the quotient as failures are seen.
///
/// # Formula
/// λ = (n + ½) / T, n failures in T gauge-years.
///
/// # Valid range
/// T from 0.01 to 10⁹ gauge-years.
///
/// # Errors
/// [`OutOfRange`] for a T outside.
///
/// # Source
/// H. Jeffreys, An invariant form for the prior probability in estimation problems, Proc. R. Soc.
/// A 186 (1946) 453-461: for a Poisson rate the posterior is Gamma(n + ½, T).
pub fn failure_rate(failures: u32, gauge_years: f64) -> Result<f64, OutOfRange> {
    if (0.01..=1e9).contains(&gauge_years) {
        Ok((f64::from(failures) + 0.5) / gauge_years)
    } else {
        Err(OutOfRange::new(
            "gauge-years looked at",
            gauge_years,
            "between 0.01 and 1e9",
        ))
    }
}

/// What to order of a kit, how many, and by which day.
///
/// Planned rebuilds are certain and taken on their days, first expired first out; kits kept for
/// failures (the cover) have to lie on the shelf on every day beside them. The first day on which
/// that fails is the shortfall, and the day to order is the lead time before it. The order has to
/// last from the day it is placed through lead time and review.
///
/// # Formula
/// cover = smallest n with P(D ≤ n) ≥ service level, D compound Poisson over lead time + review;
/// shortfall = first day d with planned(d) + cover > kits that may be used by d; order by =
/// shortfall − lead time; until = max(today, order by) + lead time + review; quantity = planned(until)
/// + cover − what can be counted on until then, raised to the smallest order and to whole packs.
///
/// # Valid range
/// 1 to 120 `months` ahead; lead time and review of at most 1000 days each; quantities up to
/// 1 000 000; dates in 1900 to 2200.
///
/// # Errors
/// [`OutOfRange`] naming what is not in range.
///
/// # Source
/// Reorder point with planned kits added to the cover, and the shortfall played day by day: common
/// practice, no source. Demand as [`demand::compound_poisson`], months as [`stock_plan::project`].
pub fn ask<K: Ord + Clone>(question: &Question<K>) -> Result<Answer<K>, OutOfRange> {
    let (terms, today) = (&question.terms, question.today);
    let span_days = terms.lead_days.saturating_add(terms.review_days);
    let last = days_after(today, span_days)?;
    let limit = horizon(question)?.max(last);
    let (events, failures, failures_working) = expected(question, span_days)?;
    let covered = reorder::smallest_covering(&failures, terms.level);
    let short = shortfall(question, covered, (today, limit))?;
    let rebuilds_short = shortfall(question, 0, (today, limit))?.map(|short| short.on);
    let order_by = short
        .map(|short| reorder::order_by(short.on, terms.lead_days, today))
        .transpose()?;
    let placed = order_by.as_ref().map_or(today, |by| by.date.max(today));
    let until = days_after(placed, span_days)?;
    let lasting = run(question, until);
    let planned = wanted_until(question, until);
    let point = reorder::reorder_point(planned, &failures, terms.level)?;
    let on_order = sum(question
        .receipts
        .iter()
        .filter(|receipt| receipt.on.max(today) <= until)
        .map(|receipt| receipt.quantity));
    let counted = lasting.taken.saturating_add(lasting.left);
    let position = Position {
        on_hand: counted.saturating_sub(on_order),
        on_order: on_order.min(counted),
    };
    let needed = if short.is_some() { point.point } else { 0 };
    let suggestion = reorder::suggest(needed, position, terms.packing)?;
    let first = short.map(|_| (placed, suggestion.quantity));
    let (unaided, aided, following) = by_month(question, &failures, (span_days, covered), first)?;
    Ok(Answer {
        span_days,
        until,
        events,
        mean: failures.mean(),
        usable: lots::usable_quantity(&question.lots, today, 0),
        losses: losses(question, limit)?,
        point,
        position,
        short,
        rebuilds_short,
        order_by,
        suggestion,
        following,
        unaided,
        aided,
        failures_working,
    })
}

/// The last day that is looked at.
fn horizon<K>(question: &Question<K>) -> Result<Date, OutOfRange> {
    let first = super::calendar::first_of_month(require("today", question.today)?);
    let last = super::calendar::add_months(first, question.months.saturating_sub(1))?;
    Ok(super::calendar::last_of_month(last))
}

fn expected<K>(
    question: &Question<K>,
    span_days: u32,
) -> Result<(f64, KitDemand, Working), OutOfRange> {
    let mut classes = Vec::new();
    let mut working = Working::new("Failures to be expected");
    for class in &question.failures {
        let gauges = sum(class.gauges.iter().map(|&(_, gauges)| gauges));
        if gauges == 0 {
            continue;
        }
        let events = demand::expected_events(class.rate, gauges, span_days)?;
        let kits = KitsPerEvent::from_fleet(&class.gauges)?;
        working = working.step(
            Step::new(
                "events",
                format!("failures expected in service class {}", class.name),
                "rate · gauges · days / 365.25",
                Source::Arithmetic,
            )
            .with(
                "rate",
                format!("failures per gauge and year: {}", class.ground),
                format!("{:.4}", class.rate),
                if class.stated {
                    Source::Plant
                } else {
                    Source::Arithmetic
                },
            )
            .with(
                "gauges",
                "in service that take this kit",
                gauges,
                Source::Entered,
            )
            .with(
                "days",
                "lead time and review together",
                span_days,
                Source::Plant,
            )
            .with(
                "kits",
                "that a failure takes, on average over these gauges",
                format!("{:.2}", kits.mean()),
                Source::Arithmetic,
            )
            .rounded("to four places")
            .gives(format!("{events:.4}")),
        );
        classes.push((events, kits));
    }
    let (events, kits) = demand::pool(&classes)?;
    let failures = demand::compound_poisson(events, &kits)?;
    working = working.step(
        Step::new(
            "E D",
            "kits for failures over lead time and review, on average",
            "Σ events · kits a failure takes",
            Source::Arithmetic,
        )
        .with(
            "events",
            "failures of all classes",
            format!("{events:.4}"),
            Source::Arithmetic,
        )
        .rounded("to three places")
        .gives(format!("{:.3}", failures.mean())),
    );
    if classes.is_empty() {
        working = working.remark("No gauge in service takes this kit.");
    }
    let working = working
        .remark("A rebuild after a failure begins the gauge's interval anew; that its planned rebuild then comes later is left out, which keeps to the safe side.");
    Ok((events, failures, working))
}

/// Lots on the shelf and on the way, in the order they go out.
fn stock<K>(question: &Question<K>) -> Vec<Lot<()>> {
    let shelf = question.lots.iter().map(|lot| Lot {
        key: (),
        received: lot.received,
        last_usable: lot.last_usable,
        quantity: lot.quantity,
        release: lot.release,
    });
    let coming = question.receipts.iter().map(|receipt| Lot {
        key: (),
        received: receipt.on.max(question.today),
        last_usable: receipt.last_usable,
        quantity: receipt.quantity,
        release: Release::Released,
    });
    let mut stock: Vec<Lot<()>> = shelf.chain(coming).collect();
    stock.sort_by(lots::first_expired_first);
    stock
}

fn wants<K>(question: &Question<K>, limit: Date) -> Vec<Wanted> {
    let mut wants: Vec<Wanted> = question
        .planned
        .iter()
        .map(|want| Wanted {
            on: want.on.max(question.today),
            quantity: want.quantity,
        })
        .filter(|want| want.on <= limit)
        .collect();
    wants.sort_by_key(|want| want.on);
    wants
}

fn wanted_until<K>(question: &Question<K>, until: Date) -> u32 {
    sum(wants(question, until).iter().map(|want| want.quantity))
}

/// The first day, from one on, on which planned rebuilds and the cover are more than what may be used.
fn shortfall<K>(
    question: &Question<K>,
    cover: u32,
    (from, limit): (Date, Date),
) -> Result<Option<Wanted>, OutOfRange> {
    let mut stock = stock(question);
    let wants = wants(question, limit);
    let mut days: Vec<Date> = wants.iter().map(|want| want.on).collect();
    days.push(from);
    for lot in &stock {
        if let Some(next) = lot.last_usable.and_then(Date::next_day) {
            days.push(next);
        }
    }
    days.retain(|day| (question.today..=limit).contains(day));
    days.sort_unstable();
    days.dedup();
    let mut coming = wants.into_iter().peekable();
    let mut picks = Vec::new();
    for day in days {
        let mut missing = 0_u32;
        while let Some(want) = coming.next_if(|want| want.on <= day) {
            missing = missing.saturating_add(lots::take(&mut stock, want, 0, &mut picks));
        }
        let left = usable(&stock, day);
        let quantity = missing.saturating_add(cover.saturating_sub(left));
        if quantity > 0 && day >= from {
            return Ok(Some(Wanted {
                on: require("day of the shortfall", day)?,
                quantity,
            }));
        }
    }
    Ok(None)
}

/// What wants up to a day take, and what may still be used on it.
struct Run {
    taken: u32,
    left: u32,
}

fn run<K>(question: &Question<K>, until: Date) -> Run {
    let mut stock = stock(question);
    let mut picks = Vec::new();
    let mut taken = 0_u32;
    for want in wants(question, until) {
        let missing = lots::take(&mut stock, want, 0, &mut picks);
        taken = taken.saturating_add(want.quantity - missing);
    }
    Run {
        taken,
        left: usable(&stock, until),
    }
}

fn usable(stock: &[Lot<()>], day: Date) -> u32 {
    sum(stock
        .iter()
        .filter(|lot| lots::usability(lot, day, 0) == Usability::Usable)
        .map(|lot| lot.quantity))
}

/// Kits that expire on the shelf although planned rebuilds take what they can.
fn losses<K: Ord + Clone>(
    question: &Question<K>,
    limit: Date,
) -> Result<Vec<(K, u32)>, OutOfRange> {
    let good: Vec<Lot<K>> = question
        .lots
        .iter()
        .filter(|lot| lots::usability(lot, question.today, 0) == Usability::Usable)
        .cloned()
        .collect();
    Ok(lots::replay(&good, &wants(question, limit), 0, limit)?.expired)
}

fn by_month<K: Clone>(
    question: &Question<K>,
    failures: &KitDemand,
    (span_days, cover): (u32, u32),
    first: Option<(Date, u32)>,
) -> Result<(Projection, Projection, Option<Foreseen>), OutOfRange> {
    let terms = &question.terms;
    let a_month = failures.mean() * DAYS_A_MONTH / f64::from(span_days.max(1));
    let mut all: Vec<Want> = wants(question, horizon(question)?)
        .into_iter()
        .map(|want| Want {
            on: want.on,
            quantity: want.quantity,
            purpose: Purpose::Planned,
        })
        .collect();
    all.extend(expected_wants(a_month, question.today, question.months)?);
    let mut outlook = Outlook {
        lots: question.lots.clone(),
        receipts: question.receipts.clone(),
        wants: all,
    };
    let bare = Policy {
        safety: 0,
        packing: terms.packing,
        lead: LeadTime::Days(terms.lead_days),
        shelf_months: terms.shelf_months,
        days_left: 0,
    };
    let unaided = stock_plan::unaided(&outlook, &bare, question.today, question.months)?;
    let beside = (span_days, cover, failures);
    let orders = foreseen::orders(question, &outlook.wants, beside, first, true)?;
    let following = foreseen::following(question, &outlook.wants, beside, first, &orders)?;
    for one in &orders {
        outlook.receipts.push(Receipt {
            on: one.arrives,
            quantity: one.quantity,
            last_usable: terms
                .shelf_months
                .map(|months| lots::last_usable_day(one.arrives, months))
                .transpose()?,
        });
    }
    let mut aided = stock_plan::unaided(&outlook, &bare, question.today, question.months)?;
    for one in orders {
        let month = super::calendar::first_of_month(one.placed);
        if let Some(row) = aided.rows.iter_mut().find(|row| row.month == month) {
            row.planned_release = row.planned_release.saturating_add(one.quantity);
        }
    }
    Ok((unaided, aided, following))
}

fn sum(quantities: impl Iterator<Item = u32>) -> u32 {
    quantities.fold(0, u32::saturating_add)
}
