//! What a way of ordering gives and costs in the long run: fill rate, backorders, cheapest batch.
//! What to order today is in `reorder`; these figures help to choose the plant's settings.

use rust_decimal::prelude::ToPrimitive;
use serde::{Deserialize, Serialize};

use super::OutOfRange;
use super::demand::{KitsPerEvent, compound_poisson};
use super::reorder::Packing;
use super::working::{Source, Step, Working};

/// The largest stock that is computed for.
const MOST_STOCK: u32 = 1_000_000;

/// What a fixed reorder point and order quantity give in the long run.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct LongRun {
    /// The share of wanted kits met from the shelf at once.
    pub fill_rate: f64,
    /// Kits owed on average.
    pub backorders: f64,
    /// Kits on the shelf on average.
    pub on_hand: f64,
}

/// What ordering and keeping cost.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Economics {
    /// Kits used a year.
    pub per_year: f64,
    /// What one order costs, whatever its size.
    pub order_cost: f64,
    /// What it costs to keep one kit for a year.
    pub holding_cost: f64,
}

/// The order quantity of least cost.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CheapestQuantity {
    /// The quantity if kits came in fractions.
    pub exact: f64,
    /// What that would cost a year.
    pub exact_cost: f64,
    /// The quantity in whole packs, not below the smallest order.
    pub quantity: u32,
    /// What it costs a year.
    pub cost: f64,
    /// The shown calculation.
    pub working: Working,
}

/// What a reorder point with a fixed order quantity gives in the long run, under failures alone.
///
/// An order is placed whenever the position (on hand, on order, less owed) falls to the point or
/// below; as many batches are ordered as lift it above the point again.
///
/// # Formula
/// With y uniform on point+1 … point+Q and D the demand of a lead time:
/// owed = (1/Q) Σ E(D − y)⁺; on hand = point + (Q+1)/2 − E D + owed;
/// fill rate = (1/Q) Σ Σₖ pₖ E min(k, (y − D)⁺) / E\[K\], which for one kit an event is
/// (1/Q) Σ P(D ≤ y − 1). Without demand the fill rate is 1.
///
/// # Valid range
/// Q ≥ 1, point + Q up to 1 000 000. Sizes of events and Q without a common factor; with one, the
/// position is not uniform and the result is the mean over all ways to start.
///
/// # Errors
/// [`OutOfRange`] for Q or the sum out of range, or a demand [`compound_poisson`] refuses.
///
/// # Source
/// Hopp and Spearman, Factory Physics, section 2.4 (one kit an event); S. Axsäter, Inventory
/// Control, chapter 5 (compound demand; from memory).
pub fn long_run(
    events: f64,
    kits: &KitsPerEvent,
    point: u32,
    quantity: u32,
) -> Result<LongRun, OutOfRange> {
    let top = point.saturating_add(quantity);
    if quantity == 0 || top > MOST_STOCK {
        return Err(OutOfRange::new(
            "order quantity",
            quantity,
            "at least 1, and with the reorder point at most 1000000",
        ));
    }
    let demand = compound_poisson(events, kits)?;
    // left[y] = E(y − D)⁺, built once for every y that is asked for.
    let mut left = vec![0.0_f64];
    for below in 0..top {
        left.push(left.last().copied().unwrap_or(0.0) + demand.at_most(below));
    }
    let left_of = |y: u32| {
        usize::try_from(y)
            .ok()
            .and_then(|at| left.get(at))
            .copied()
            .unwrap_or(0.0)
    };
    let (mut owed, mut met) = (0.0, 0.0);
    for y in point + 1..=top {
        owed += demand.expected_excess(y);
        for &(size, share) in kits.shares() {
            met += share * (left_of(y) - left_of(y.saturating_sub(size)));
        }
    }
    let batch = f64::from(quantity);
    let backorders = owed / batch;
    let fill_rate = if kits.mean() > 0.0 {
        (met / batch / kits.mean()).min(1.0)
    } else {
        1.0
    };
    Ok(LongRun {
        fill_rate,
        backorders,
        on_hand: f64::from(point) + f64::midpoint(batch, 1.0) - demand.mean() + backorders,
    })
}

/// The order quantity of least yearly cost, in whole packs and not below the smallest order.
///
/// # Formula
/// exact = √(2 K A / h); cost(Q) = K A / Q + h Q / 2; A kits a year, K cost of an order, h cost of
/// keeping a kit a year. Of the two multiples of the pack around the exact quantity (raised to the
/// smallest order) the cheaper; at equal cost the smaller.
///
/// # Valid range
/// A, K and h positive and finite; the exact quantity up to 1 000 000.
///
/// # Errors
/// [`OutOfRange`] naming the figure that is not.
///
/// # Source
/// Hopp and Spearman, Factory Physics, section 2.2; first given by F. W. Harris, How many parts to
/// make at once, 1913 (from memory).
pub fn cheapest_quantity(
    costs: Economics,
    packing: Packing,
) -> Result<CheapestQuantity, OutOfRange> {
    for (name, value) in [
        ("kits used a year", costs.per_year),
        ("cost of an order", costs.order_cost),
        ("cost of keeping a kit", costs.holding_cost),
    ] {
        if !value.is_finite() || value <= 0.0 {
            return Err(OutOfRange::new(name, value, "greater than 0"));
        }
    }
    let exact = (2.0 * costs.order_cost * costs.per_year / costs.holding_cost).sqrt();
    let below = exact
        .floor()
        .to_u32()
        .filter(|&whole| whole <= MOST_STOCK)
        .ok_or_else(|| OutOfRange::new("exact order quantity", exact, "at most 1000000"))?;
    let cost = |quantity: f64| {
        costs.order_cost * costs.per_year / quantity + costs.holding_cost * quantity / 2.0
    };
    let whole_packs =
        |packs: u32| packs.max(packing.minimum().div_ceil(packing.pack())) * packing.pack();
    let lower = whole_packs((below / packing.pack()).max(1));
    let upper = whole_packs(below / packing.pack() + 1);
    let quantity = if cost(f64::from(lower)) <= cost(f64::from(upper)) {
        lower
    } else {
        upper
    };
    let working = Working::new("Order quantity of least cost")
        .step(
            Step::new(
                "Q",
                "quantity of least cost",
                "√(2 K A / h)",
                Source::published("W. J. Hopp and M. L. Spearman, Factory Physics, section 2.2"),
            )
            .with("A", "kits used a year", costs.per_year, Source::Entered)
            .with("K", "cost of an order", costs.order_cost, Source::Entered)
            .with(
                "h",
                "cost of keeping a kit a year",
                costs.holding_cost,
                Source::Entered,
            )
            .rounded("to two places")
            .gives(format!("{exact:.2}")),
        )
        .step(
            Step::new(
                "order",
                "whole packs",
                "cheaper multiple of the pack, not below the smallest order",
                Source::Arithmetic,
            )
            .with("pack", "kits in a pack", packing.pack(), Source::Entered)
            .with(
                "smallest order",
                "fewest kits at once",
                packing.minimum(),
                Source::Entered,
            )
            .gives(format!("{quantity} kits")),
        );
    Ok(CheapestQuantity {
        exact,
        exact_cost: cost(exact),
        quantity,
        cost: cost(f64::from(quantity)),
        working,
    })
}
