//! Ordering kits: reorder point, quantity, latest day, stock month by month, the long run.
//! The rules are in `calc::reorder`, `stock_plan` and `long_run`.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::kits::{LotOf, SizeOf, demand, sizes};
use super::pressure::steps;
use super::registry::{Computation, Found, Part, computation};
use super::typed::Day;
use crate::calc::long_run::{Economics, cheapest_quantity, long_run as in_the_long_run};
use crate::calc::quantity::significant;
use crate::calc::reorder::{self, Packing, Position, ServiceLevel, Timing};
use crate::calc::stock_plan::{
    self, LeadTime, Outlook, Policy, ProposalTiming, Purpose, Receipt, Want,
};
use crate::calc::working::{Source, Step};

pub(super) fn list() -> Vec<Computation> {
    vec![
        computation(
            (
                "reorder-point",
                "The stock that planned rebuilds and failures ask for over lead time and review",
            ),
            (Part::Kits, &[]),
            r#"{"planned": 4, "failures": 3, "service_level": 0.95}"#,
            reorder_point,
        ),
        computation(
            (
                "order-quantity",
                "How many kits to order to come back to the reorder point",
            ),
            (Part::Kits, &[]),
            r#"{"point": 12, "on_hand": 3, "on_order": 2, "pack": 5, "smallest_order": 5}"#,
            order_quantity,
        ),
        computation(
            (
                "order-by",
                "The latest day to order for kits to be there on the day they are short",
            ),
            (Part::Kits, &[]),
            r#"{"shortfall": "2026-10-01", "lead_days": 70, "today": "2026-06-01"}"#,
            order_by,
        ),
        computation(
            (
                "stock-plan",
                "Stock month by month: wants, receipts, expiry, what is left and what to order",
            ),
            (Part::Kits, &[]),
            r#"{"today": "2026-06-01", "months": 6, "lots": [{"lot": "A-17", "received": "2025-02-01", "last_usable": "2026-08-31", "kits": 5}], "receipts": [], "wants": [{"on": "2026-06-20", "kits": 2}, {"on": "2026-08-10", "kits": 2}, {"on": "2026-10-05", "kits": 3}], "safety": 1, "lead_days": 45, "pack": 1, "smallest_order": 2, "shelf_months": 24}"#,
            plan,
        ),
        computation(
            (
                "long-run",
                "Fill rate, kits owed and kits on the shelf that a reorder point and quantity give",
            ),
            (Part::Kits, &[]),
            r#"{"failures": 3, "sizes": [{"kits": 1, "share": 1}], "point": 4, "quantity": 5}"#,
            long_run,
        ),
        computation(
            (
                "cheapest-quantity",
                "The order quantity of least cost a year",
            ),
            (Part::Kits, &[]),
            r#"{"per_year": 40, "order_cost": 60, "holding_cost": 12, "pack": 5, "smallest_order": 5}"#,
            cheapest,
        ),
    ]
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct PointOf {
    /// Planned kits.
    ///
    /// For planned rebuilds over lead time plus review.
    planned: u32,
    /// Expected number of failures.
    ///
    /// Over lead time plus review.
    #[schemars(extend("x-named" = ["expected number of kits"]))]
    failures: f64,
    /// Kits a failure takes.
    ///
    /// One where left out.
    #[serde(default)]
    #[schemars(extend("x-named" = ["sum of the shares"]))]
    sizes: Vec<SizeOf>,
    /// Service level.
    ///
    /// The chance wanted of no shortage, such as 0.95.
    service_level: f64,
}

#[derive(Debug, Serialize, JsonSchema)]
struct PointFound {
    /// Reorder point.
    point: u32,
    /// Kits for failures.
    cover: u32,
    /// Chance of no shortage.
    chance: f64,
    /// Kits missing on average.
    expected_shortage: f64,
    /// Share of wants met from the shelf.
    fill_rate: f64,
}

fn reorder_point(of: PointOf) -> Found<PointFound> {
    let level = ServiceLevel::new(of.service_level)?;
    let found = reorder::reorder_point(of.planned, &demand(of.failures, &of.sizes)?, level)?;
    let answer = PointFound {
        point: found.point,
        cover: found.cover,
        chance: found.chance,
        expected_shortage: found.expected_shortage,
        fill_rate: found.fill_rate,
    };
    Ok((answer, found.working))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct QuantityOf {
    /// Reorder point.
    #[schemars(extend("x-named" = ["kits needed"]))]
    point: u32,
    /// Usable kits on the shelf.
    on_hand: u32,
    /// Kits on order.
    on_order: u32,
    /// Kits in a pack.
    pack: u32,
    /// Smallest order.
    smallest_order: u32,
}

#[derive(Debug, Serialize, JsonSchema)]
struct QuantityFound {
    /// Kits to order.
    quantity: u32,
    /// Kits missing to the point.
    missing: u32,
}

fn order_quantity(of: QuantityOf) -> Found<QuantityFound> {
    let position = Position {
        on_hand: of.on_hand,
        on_order: of.on_order,
    };
    let found = reorder::suggest(
        of.point,
        position,
        Packing::new(of.pack, of.smallest_order)?,
    )?;
    let answer = QuantityFound {
        quantity: found.quantity,
        missing: found.missing,
    };
    Ok((answer, found.working))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct OrderByOf {
    /// Day of the first shortfall.
    #[schemars(extend("x-named" = ["date before", "starting date"]))]
    shortfall: Day,
    /// Lead time, days.
    lead_days: u32,
    /// Today.
    today: Day,
}

#[derive(Debug, Serialize, JsonSchema)]
struct OrderByFound {
    /// Order by.
    date: Day,
    /// Days left.
    ///
    /// Below 0 where the day is past.
    days_left: i64,
}

fn order_by(of: OrderByOf) -> Found<OrderByFound> {
    let found = reorder::order_by(of.shortfall.0, of.lead_days, of.today.0)?;
    let answer = OrderByFound {
        date: Day(found.date),
        days_left: match found.timing {
            Timing::InTime(days) => i64::from(days),
            Timing::Past(days) => -i64::from(days),
        },
    };
    Ok((answer, found.working))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct WantOf {
    /// Day of a want.
    #[schemars(extend("x-named" = ["day kits are wanted"]))]
    on: Day,
    /// Kits wanted.
    #[schemars(extend("x-named" = ["kits wanted"]))]
    kits: u32,
    /// For.
    ///
    /// A planned rebuild where left out.
    purpose: Option<Purpose>,
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct ReceiptOf {
    /// Day of the receipt.
    #[schemars(extend("x-named" = ["day kits are promised"]))]
    on: Day,
    /// Kits received.
    #[schemars(extend("x-named" = ["kits on the way"]))]
    kits: u32,
    /// Last usable day.
    last_usable: Option<Day>,
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct StockOf {
    /// Today.
    today: Day,
    /// Months ahead.
    months: u32,
    /// Lots.
    #[serde(default)]
    lots: Vec<LotOf>,
    /// Receipts to come.
    #[serde(default)]
    receipts: Vec<ReceiptOf>,
    /// Wants.
    #[serde(default)]
    wants: Vec<WantOf>,
    /// Expected kits a month.
    ///
    /// For failures, spread evenly; none where left out.
    #[serde(default)]
    expected: f64,
    /// Safety stock.
    #[serde(default)]
    safety: u32,
    /// Lead time, days.
    #[schemars(extend("x-named" = ["lead time"]))]
    lead_days: u32,
    /// Kits in a pack.
    pack: u32,
    /// Smallest order.
    smallest_order: u32,
    /// Shelf life, months.
    ///
    /// Of kits to be ordered; left out where they keep.
    #[schemars(extend("x-named" = ["shelf life"]))]
    shelf_months: Option<u32>,
    /// Days a lot must still keep.
    #[serde(default)]
    days_left: u32,
}

#[derive(Debug, Serialize, JsonSchema)]
struct RowFound {
    /// Month.
    month: Day,
    /// Planned wants.
    planned: u32,
    /// Expected wants.
    expected: u32,
    /// Receipts.
    receipts: u32,
    /// Expired.
    expired: u32,
    /// Net want.
    net: u32,
    /// Order arrives.
    planned_receipt: u32,
    /// Order placed.
    planned_release: u32,
    /// Left at the end.
    projected: u32,
}

#[derive(Debug, Serialize, JsonSchema)]
struct ProposalFound {
    /// Kits.
    kits: u32,
    /// Arrives.
    arrives: Day,
    /// Order by.
    order_by: Day,
    /// In time.
    timing: ProposalTiming,
}

#[derive(Debug, Serialize, JsonSchema)]
struct PlanFound {
    /// First day kits are short without an order.
    shortfall: Option<Day>,
    /// Orders to place.
    proposals: Vec<ProposalFound>,
    /// Month by month.
    rows: Vec<RowFound>,
}

fn plan(of: StockOf) -> Found<PlanFound> {
    let mut wants: Vec<Want> = of
        .wants
        .iter()
        .map(|want| Want {
            on: want.on.0,
            quantity: want.kits,
            purpose: want.purpose.unwrap_or(Purpose::Planned),
        })
        .collect();
    wants.extend(stock_plan::expected_wants(
        of.expected,
        of.today.0,
        of.months,
    )?);
    let outlook = Outlook {
        lots: of.lots.iter().map(LotOf::lot).collect(),
        receipts: of
            .receipts
            .iter()
            .map(|receipt| Receipt {
                on: receipt.on.0,
                quantity: receipt.kits,
                last_usable: receipt.last_usable.map(|day| day.0),
            })
            .collect(),
        wants,
    };
    let policy = Policy {
        safety: of.safety,
        packing: Packing::new(of.pack, of.smallest_order)?,
        lead: LeadTime::Days(of.lead_days),
        shelf_months: of.shelf_months,
        days_left: of.days_left,
    };
    let found = stock_plan::project(&outlook, &policy, of.today.0, of.months)?;
    let answer = PlanFound {
        shortfall: found.first_shortfall.map(|want| Day(want.on)),
        proposals: found
            .proposals
            .iter()
            .map(|one| ProposalFound {
                kits: one.quantity,
                arrives: Day(one.arrives),
                order_by: Day(one.order_by),
                timing: one.timing,
            })
            .collect(),
        rows: found
            .rows
            .iter()
            .map(|row| RowFound {
                month: Day(row.month),
                planned: row.planned,
                expected: row.expected,
                receipts: row.receipts,
                expired: row.expired,
                net: row.net,
                planned_receipt: row.planned_receipt,
                planned_release: row.planned_release,
                projected: row.projected,
            })
            .collect(),
    };
    Ok((answer, found.working))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct LongRunOf {
    /// Expected number of failures.
    ///
    /// In a lead time.
    #[schemars(extend("x-named" = ["expected number of kits"]))]
    failures: f64,
    /// Kits a failure takes.
    ///
    /// One where left out.
    #[serde(default)]
    #[schemars(extend("x-named" = ["sum of the shares"]))]
    sizes: Vec<SizeOf>,
    /// Reorder point.
    point: u32,
    /// Order quantity.
    quantity: u32,
}

#[derive(Debug, Serialize, JsonSchema)]
struct LongRunFound {
    /// Share of wants met from the shelf.
    fill_rate: f64,
    /// Kits owed on average.
    backorders: f64,
    /// Kits on the shelf on average.
    on_hand: f64,
}

fn long_run(of: LongRunOf) -> Found<LongRunFound> {
    let found = in_the_long_run(of.failures, &sizes(&of.sizes)?, of.point, of.quantity)?;
    let hopp = || Source::published("Hopp and Spearman, Factory Physics, section 2.4");
    let working = steps(
        "A reorder point and quantity in the long run",
        vec![
            Step::new(
                "owed",
                "kits owed on average",
                "(1/Q) Σ E(D − y)⁺, y from r+1 to r+Q",
                hopp(),
            )
            .with("Λ", "failures in a lead time", of.failures, Source::Entered)
            .with("r", "reorder point", of.point, Source::Entered)
            .with("Q", "order quantity", of.quantity, Source::Entered)
            .gives(significant(found.backorders, 6)),
            Step::new(
                "shelf",
                "kits on the shelf on average",
                "r + (Q+1)/2 − E D + owed",
                hopp(),
            )
            .gives(significant(found.on_hand, 6)),
            Step::new(
                "fill rate",
                "share of wanted kits met at once",
                "(1/Q) Σ Σ pₖ E min(k, (y − D)⁺) / E[K]",
                Source::FromMemory("S. Axsäter, Inventory Control, chapter 5".to_owned()),
            )
            .gives(significant(found.fill_rate, 6)),
        ],
    )
    .remark("Failures alone: planned rebuilds are known ahead and are not part of this.");
    let answer = LongRunFound {
        fill_rate: found.fill_rate,
        backorders: found.backorders,
        on_hand: found.on_hand,
    };
    Ok((answer, working))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct CheapestOf {
    /// Kits used a year.
    #[schemars(extend("x-named" = ["exact order quantity"]))]
    per_year: f64,
    /// Cost of an order.
    #[schemars(extend("x-named" = ["cost of an order"]))]
    order_cost: f64,
    /// Cost of keeping one kit a year.
    #[schemars(extend("x-named" = ["cost of keeping a kit"]))]
    holding_cost: f64,
    /// Kits in a pack.
    pack: u32,
    /// Smallest order.
    smallest_order: u32,
}

#[derive(Debug, Serialize, JsonSchema)]
struct CheapestFound {
    /// Cheapest quantity.
    quantity: u32,
    /// What it costs a year.
    cost: f64,
    /// The quantity if kits came in fractions.
    exact: f64,
    /// What that would cost a year.
    exact_cost: f64,
}

fn cheapest(of: CheapestOf) -> Found<CheapestFound> {
    let found = cheapest_quantity(
        Economics {
            per_year: of.per_year,
            order_cost: of.order_cost,
            holding_cost: of.holding_cost,
        },
        Packing::new(of.pack, of.smallest_order)?,
    )?;
    let answer = CheapestFound {
        quantity: found.quantity,
        cost: found.cost,
        exact: found.exact,
        exact_cost: found.exact_cost,
    };
    Ok((answer, found.working))
}
