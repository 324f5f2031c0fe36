//! When and how many kits to order: reorder point, service level, order quantity, order-by date.
//! Stock month by month is in `stock_plan`, cost and long run in `long_run`; demand is not made here.

use serde::{Deserialize, Serialize};
use time::Date;

use super::OutOfRange;
use super::calendar::{days_after, days_before, iso_date, require, said};
use super::demand::KitDemand;
use super::working::{Source, Step, Working};

/// A probability reached to within this counts as reached; sums of probabilities are not exact.
const SLACK: f64 = 1e-12;
/// The largest stock a review is computed for.
const MOST_STOCK: u32 = 1_000_000;

/// The chance wanted of getting through lead time and review without running out.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(try_from = "f64", into = "f64")]
pub struct ServiceLevel(f64);

impl ServiceLevel {
    /// A service level as a fraction.
    ///
    /// # Formula
    /// None; the value is kept as given.
    ///
    /// # Valid range
    /// 0.5 to 0.999 999: below a half no stock is meant, and nearer to 1 no number of kits will do.
    ///
    /// # Errors
    /// [`OutOfRange`] for any other number.
    ///
    /// # Source
    /// A limit of this product.
    pub fn new(fraction: f64) -> Result<Self, OutOfRange> {
        if (0.5..=0.999_999).contains(&fraction) {
            Ok(Self(fraction))
        } else {
            Err(OutOfRange::new(
                "service level",
                fraction,
                "between 0.5 and 0.999999",
            ))
        }
    }

    /// The level as a fraction.
    #[must_use]
    pub fn fraction(self) -> f64 {
        self.0
    }
}

impl TryFrom<f64> for ServiceLevel {
    type Error = OutOfRange;
    fn try_from(fraction: f64) -> Result<Self, OutOfRange> {
        Self::new(fraction)
    }
}

impl From<ServiceLevel> for f64 {
    fn from(level: ServiceLevel) -> Self {
        level.0
    }
}

/// How a kit is sold: in packs, and not fewer than a minimum at once.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "(u32, u32)", into = "(u32, u32)")]
pub struct Packing {
    pack: u32,
    minimum: u32,
}

impl Packing {
    /// A pack size and a smallest order.
    ///
    /// # Formula
    /// None; the values are kept as given.
    ///
    /// # Valid range
    /// Both 1 to 100 000.
    ///
    /// # Errors
    /// [`OutOfRange`] naming the pack or the smallest order.
    ///
    /// # Source
    /// A limit of this product.
    pub fn new(pack: u32, minimum: u32) -> Result<Self, OutOfRange> {
        for (name, value) in [("kits in a pack", pack), ("smallest order", minimum)] {
            if !(1..=100_000).contains(&value) {
                return Err(OutOfRange::new(name, value, "between 1 and 100000"));
            }
        }
        Ok(Self { pack, minimum })
    }

    /// Single kits, in any number.
    #[must_use]
    pub const fn single() -> Self {
        Self {
            pack: 1,
            minimum: 1,
        }
    }

    /// Kits in a pack.
    #[must_use]
    pub const fn pack(self) -> u32 {
        self.pack
    }

    /// The smallest order.
    #[must_use]
    pub const fn minimum(self) -> u32 {
        self.minimum
    }
}

impl TryFrom<(u32, u32)> for Packing {
    type Error = OutOfRange;
    fn try_from((pack, minimum): (u32, u32)) -> Result<Self, OutOfRange> {
        Self::new(pack, minimum)
    }
}

impl From<Packing> for (u32, u32) {
    fn from(packing: Packing) -> Self {
        (packing.pack, packing.minimum)
    }
}

/// The stock that lead time and review ask for.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ReorderPoint {
    /// Kits for planned rebuilds in the span.
    pub planned: u32,
    /// Kits for failures in the span, at the chosen service level.
    pub cover: u32,
    /// Both together: order when stock and orders on the way fall below this.
    pub point: u32,
    /// The chance that failures take no more than the cover; at least the service level.
    pub chance: f64,
    /// Kits missing at the end of the span, on average.
    pub expected_shortage: f64,
    /// The share of all wanted kits that is met from the shelf.
    pub fill_rate: f64,
    /// The shown calculation.
    pub working: Working,
}

/// Kits to count on: what is usable on the shelf and what is on the way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Position {
    /// Usable kits on the shelf.
    pub on_hand: u32,
    /// Kits ordered and not yet received.
    pub on_order: u32,
}

/// An order to place, or none.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Suggestion {
    /// Kits missing to the reorder point.
    pub missing: u32,
    /// Kits to order; zero where nothing is missing.
    pub quantity: u32,
    /// The shown calculation.
    pub working: Working,
}

/// The latest day to order.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct OrderBy {
    /// The day: an order placed on it arrives on the day of the shortfall.
    #[serde(with = "iso_date")]
    pub date: Date,
    /// Where that day lies from today.
    pub timing: Timing,
    /// The shown calculation.
    pub working: Working,
}

/// Where an order-by date lies from today.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "kind", content = "days", rename_all = "kebab-case")]
pub enum Timing {
    /// There are days left; ordering today is early enough.
    InTime(u32),
    /// It was days ago; the kits will come late unless delivery is hurried.
    Past(u32),
}

/// The smallest number of kits that covers demand at a service level.
///
/// # Formula
/// smallest n with P(D ≤ n) ≥ `target`, where a probability within 10⁻¹² counts as reached.
///
/// # Valid range
/// Every demand and level.
///
/// # Errors
/// None.
///
/// # Source
/// Cycle service level: any textbook of stock control, e.g. W. J. Hopp and M. L. Spearman, Factory
/// Physics, chapter 2.
#[must_use]
pub fn smallest_covering(demand: &KitDemand, target: ServiceLevel) -> u32 {
    let (mut low, mut high) = (0, demand.largest());
    while low < high {
        let middle = low + (high - low) / 2;
        if demand.at_most(middle) >= target.0 - SLACK {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    low
}

/// The stock that planned rebuilds and failures ask for over lead time plus review.
///
/// Planned kits are certain and are added; only failures are random. The service level is the
/// chance of no shortage in a span, which is not the fill rate; both are given.
///
/// # Formula
/// point = planned + cover, cover = smallest n with P(D ≤ n) ≥ `target`; expected shortage
/// = E(D − cover)⁺; fill rate = 1 − E(D − cover)⁺ / (planned + E D), and 1 where nothing is wanted.
///
/// # Valid range
/// Planned kits up to 1 000 000. The lead time is taken as fixed.
///
/// # Errors
/// [`OutOfRange`] for more planned kits.
///
/// # Source
/// As [`smallest_covering`]; adding planned kits to the cover: common practice, no source.
pub fn reorder_point(
    planned: u32,
    failures: &KitDemand,
    target: ServiceLevel,
) -> Result<ReorderPoint, OutOfRange> {
    if planned > MOST_STOCK {
        return Err(OutOfRange::new("planned kits", planned, "at most 1000000"));
    }
    let cover = smallest_covering(failures, target);
    let point = planned + cover;
    let chance = failures.at_most(cover);
    let expected_shortage = failures.expected_excess(cover);
    let wanted = f64::from(planned) + failures.mean();
    let fill_rate = if wanted > 0.0 {
        1.0 - expected_shortage / wanted
    } else {
        1.0
    };
    let percent = |fraction: f64| format!("{:.2} %", 100.0 * fraction);
    let working = Working::new("Reorder point")
        .step(
            Step::new(
                "cover",
                "kits for failures over lead time plus review",
                "smallest n with P(D ≤ n) ≥ service level",
                Source::published(
                    "H. H. Panjer, ASTIN Bulletin 12 (1981) 22-26, for the distribution of D",
                ),
            )
            .with("E D", "expected kits for failures", format!("{:.3}", failures.mean()), Source::Arithmetic)
            .with("service level", "chance wanted of no shortage", percent(target.0), Source::Plant)
            .with("P(D ≤ cover)", "chance of no shortage with this cover", percent(chance), Source::Arithmetic)
            .gives(format!("{cover} kits")),
        )
        .step(
            Step::new("point", "reorder point", "planned + cover", Source::CommonPractice)
                .with("planned", "for planned rebuilds in the span", planned, Source::Arithmetic)
                .with("cover", "kits for failures", cover, Source::Arithmetic)
                .gives(format!("{point} kits")),
        )
        .remark(format!(
            "On average {expected_shortage:.3} kits are missing at the end of the span; {} of the wanted kits are met from the shelf.",
            percent(fill_rate)
        ))
        .remark("Compare the point with usable stock and orders on the way together.");
    Ok(ReorderPoint {
        planned,
        cover,
        point,
        chance,
        expected_shortage,
        fill_rate,
        working,
    })
}

/// A needed number of kits as it can be ordered.
///
/// # Formula
/// 0 for no need; else m = max(needed, minimum), then ⌈m / pack⌉ · pack: the minimum first, then
/// whole packs.
///
/// # Valid range
/// Needs up to 1 000 000.
///
/// # Errors
/// [`OutOfRange`] for more.
///
/// # Source
/// Common practice, no source.
pub fn order_quantity(needed: u32, packing: Packing) -> Result<u32, OutOfRange> {
    if needed > MOST_STOCK {
        return Err(OutOfRange::new("kits needed", needed, "at most 1000000"));
    }
    Ok(match needed {
        0 => 0,
        _ => needed.max(packing.minimum).div_ceil(packing.pack) * packing.pack,
    })
}

/// The order that brings stock and orders on the way back to the reorder point.
///
/// # Formula
/// missing = max(0, point − on hand − on order); quantity as [`order_quantity`].
///
/// # Valid range
/// A point up to 1 000 000 kits. At the point exactly nothing is missing.
///
/// # Errors
/// [`OutOfRange`] for a larger point.
///
/// # Source
/// Stock is compared as position, on hand and on order together: Hopp and Spearman, Factory
/// Physics, chapter 2.
pub fn suggest(point: u32, position: Position, packing: Packing) -> Result<Suggestion, OutOfRange> {
    let missing = point
        .saturating_sub(position.on_hand)
        .saturating_sub(position.on_order);
    let quantity = order_quantity(missing, packing)?;
    let working = Working::new("Order quantity")
        .step(
            Step::new(
                "missing",
                "kits missing to the reorder point",
                "point − on hand − on order, not below 0",
                Source::Arithmetic,
            )
            .with("point", "reorder point", point, Source::Arithmetic)
            .with(
                "on hand",
                "usable kits on the shelf",
                position.on_hand,
                Source::Entered,
            )
            .with(
                "on order",
                "kits on the way",
                position.on_order,
                Source::Entered,
            )
            .gives(format!("{missing} kits")),
        )
        .step(
            Step::new(
                "quantity",
                "kits to order",
                "missing, raised to the smallest order, then to whole packs",
                Source::CommonPractice,
            )
            .with("missing", "kits missing", missing, Source::Arithmetic)
            .with(
                "smallest order",
                "fewest kits at once",
                packing.minimum,
                Source::Entered,
            )
            .with("pack", "kits in a pack", packing.pack, Source::Entered)
            .rounded("up")
            .gives(format!("{quantity} kits")),
        );
    Ok(Suggestion {
        missing,
        quantity,
        working,
    })
}

/// The latest day to order so that kits are there on the day of the first shortfall.
///
/// Lead time counts calendar days, and kits that arrive on a day can be used that day. An order-by
/// date that is past is said to be past; it is never moved to today.
///
/// # Formula
/// order by = shortfall − lead time.
///
/// # Valid range
/// All dates in 1900 to 2200; a lead time of zero days is allowed.
///
/// # Errors
/// [`OutOfRange`] for a date out of range.
///
/// # Source
/// Common practice, no source.
pub fn order_by(shortfall: Date, lead_days: u32, today: Date) -> Result<OrderBy, OutOfRange> {
    require("day of the first shortfall", shortfall)?;
    require("today", today)?;
    let date = days_before(shortfall, lead_days)?;
    let days = u32::try_from((date - today).whole_days().unsigned_abs()).unwrap_or(u32::MAX);
    let timing = if date < today {
        Timing::Past(days)
    } else {
        Timing::InTime(days)
    };
    let mut working = Working::new("Order-by date").step(
        Step::new(
            "order by",
            "latest day to order",
            "shortfall − lead time",
            Source::CommonPractice,
        )
        .with(
            "shortfall",
            "first day kits are missing",
            shortfall,
            Source::Arithmetic,
        )
        .with(
            "lead time",
            "from order to shelf, calendar days",
            format!("{lead_days} days"),
            Source::Entered,
        )
        .gives(date),
    );
    if let Timing::Past(days) = timing {
        let plural = if days == 1 { "" } else { "s" };
        // Beyond the calendar there is no day of arrival to name; the order-by date stands all the same.
        let come = days_after(today, lead_days).map_or_else(
            |_| "come".to_owned(),
            |day| format!("come on {},", said(day)),
        );
        working = working.remark(format!(
            "Late by {days} day{plural}: kits ordered today, {}, {come} {days} day{plural} after the shortfall, unless delivery is hurried.",
            said(today)
        ));
    }
    Ok(OrderBy {
        date,
        timing,
        working,
    })
}
