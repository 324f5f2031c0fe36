//! The storeroom of the invented plant today: prices, orders on the way, a window being filled; and,
//! to measure speed with, a ledger as long as one likes. Prices and suppliers are made up.

use std::collections::VecDeque;

use rust_decimal::Decimal;
use time::{Date, Duration};

use super::dice::Dice;
use super::past::Past;
use super::plant::KITS;
use super::timeline;
use crate::acts::lots::Moving;
use crate::acts::orders::{Placed, Wanted};
use crate::acts::{self, Deed, Result, Who, window_plan};
use crate::record::kit::{GasketAge, Movement};
use crate::record::life::ClassCost;
use crate::record::moment::Clock;
use crate::record::need::{Rules, Stated, Terms};
use crate::record::{GaugeId, KitId, LotNumber, Moment, Refusal, ServiceClassId};
use crate::store::stock::BulkLine;
use crate::store::window_plan::Hours;
use crate::store::{self, Store};

const SUPPLIERS: [&str; 2] = ["Fennel Gauge", "Northquay Instruments"];

/// What somebody opening the demo finds in the storeroom and in the plan of the next window.
///
/// # Errors
/// The store's failure, or a deed the register refused: then the plan is at fault.
pub async fn today(deed: &mut Deed, past: &Past, today: Date) -> Result<()> {
    let rules = Rules {
        service_level: Decimal::from(95),
        review_days: 30,
        currency: "EUR".to_owned(),
        chosen: true,
        version: 0,
    };
    acts::needs::choose_rules(deed, &rules).await?;
    for (at, (id, plan)) in past.ground.kits.iter().zip(KITS).enumerate() {
        let Some(kit) = store::kits::by_id(deed.db(), *id).await? else {
            continue;
        };
        let cents = 2_400 + i64::from(plan.length) * 17 + if at > 5 { 6_000 } else { 0 };
        let terms = Terms {
            cost: Some(Decimal::new(cents, 2)),
            supplier: SUPPLIERS[at % 2].to_owned(),
            // Steam drums wait for nothing: the transparent kits are stocked more safely.
            service_level: (at == 7).then(|| Decimal::from(99)),
            review_days: None,
            version: 0,
        };
        acts::needs::settle_terms(deed, &kit, &terms).await?;
    }
    let engineer = past.people.engineer.clone();
    let keeper = deed.who().clone();
    let now = deed.now();
    deed.continue_as(engineer, now);
    if let Some(class) = past.ground.classes.get(5) {
        state_rate(deed, *class).await?;
    }
    state_costs(deed, past).await?;
    stand_in(deed, past).await?;
    gasket_age(deed, past).await?;
    fill_window(deed, past).await?;
    deed.continue_as(keeper, now);
    elsewhere(deed, past).await?;
    orders(deed, past, today).await
}

/// Two kits of one lot lie at the bench, ready to hand.
async fn elsewhere(deed: &mut Deed, past: &Past) -> Result<()> {
    let Some(kit) = past.ground.kits.first() else {
        return Ok(());
    };
    let lots = store::kits::lots_on_hand(deed.db(), *kit).await?;
    let today = deed.today();
    if let Some(lot) = lots
        .iter()
        .rfind(|lot| lot.usable_on(today) && lot.on_hand >= 5)
    {
        let moving = Moving {
            from: None,
            to: Some("bench cupboard"),
            quantity: 2,
            reason: "ready to hand for the next leak",
        };
        acts::lots::move_part(deed, lot.id, &moving).await?;
    }
    Ok(())
}

async fn state_rate(deed: &mut Deed, class: ServiceClassId) -> Result<()> {
    let name = store::plant::service_class(deed.db(), class)
        .await?
        .map_or_else(String::new, |class| class.name);
    let stated = Stated {
        class,
        per_year: Decimal::new(2, 2),
        ground: "few gauges and few years here; taken from the sister works (invented)".to_owned(),
        version: 0,
    };
    acts::needs::state_rate(deed, &name, &stated).await
}

/// What rebuilds and failures cost in three classes; the others are left for whoever tries the demo.
async fn state_costs(deed: &mut Deed, past: &Past) -> Result<()> {
    for (at, planned, failure) in [(0_usize, 420, 2_900), (3, 380, 1_600), (4, 390, 2_400)] {
        let Some(id) = past.ground.classes.get(at) else {
            continue;
        };
        let Some(class) = store::plant::service_class(deed.db(), *id).await? else {
            continue;
        };
        let cost = ClassCost {
            planned: Decimal::from(planned),
            failure: Decimal::from(failure),
            bench_hours: Some(Decimal::new(45, 1)),
            ground: "made up for the invented plant; no advice".to_owned(),
        };
        acts::life::state_costs(deed, &class, &cost, None).await?;
    }
    Ok(())
}

async fn stand_in(deed: &mut Deed, past: &Past) -> Result<()> {
    let (Some(kit), Some(other)) = (past.ground.kits.get(2), past.ground.kits.get(3)) else {
        return Ok(());
    };
    let kit = store::kits::by_id(deed.db(), *kit).await?;
    let other = store::kits::by_id(deed.db(), *other).await?;
    if let (Some(kit), Some(other)) = (kit, other) {
        let note = "longer glass: only where the recess was machined for it, see the drawing";
        acts::needs::add_alternative(deed, &kit, other.number.as_str(), note).await?;
    }
    Ok(())
}

/// The gaskets of one kit of elastomer age in service; the others' keep as long as their intervals.
async fn gasket_age(deed: &mut Deed, past: &Past) -> Result<()> {
    let Some(id) = past.ground.kits.get(2) else {
        return Ok(());
    };
    if let Some(kit) = store::kits::by_id(deed.db(), *id).await? {
        let age = GasketAge {
            months: Some(48),
            ground: "data sheet of the elastomer at 40 °C (invented)".to_owned(),
            version: 0,
        };
        acts::gasket_ages::state(deed, &kit, &age).await?;
    }
    Ok(())
}

/// The first window ahead takes some gauges that have to be done and some that may be; the rebuilds
/// of the first are planned, which reserves their kits.
async fn fill_window(deed: &mut Deed, past: &Past) -> Result<()> {
    let today = deed.today();
    let Some(window) = store::windows::from(deed.db(), today)
        .await?
        .into_iter()
        .next()
    else {
        return Ok(());
    };
    let ids = (window.id, window.area_id, window.ends_on);
    let bound = store::window_plan::bound(deed.db(), ids, GaugeId(0), 12).await?;
    let until = window.ends_on.saturating_add(Duration::days(200));
    let others = store::window_plan::others(deed.db(), ids, until, 20).await?;
    let free = |one: &&store::window_plan::Candidate| one.rebuild.is_none();
    let first: Vec<GaugeId> = bound
        .iter()
        .filter(free)
        .take(2)
        .map(|one| one.gauge_id)
        .collect();
    let more: Vec<GaugeId> = bound
        .iter()
        .filter(free)
        .skip(2)
        .take(3)
        .chain(others.iter().filter(free).take(3))
        .map(|one| one.gauge_id)
        .collect();
    let hours = Hours {
        available: Some(Decimal::from(60)),
        gauge: Some(Decimal::new(15, 1)),
        section: Some(Decimal::from(2)),
    };
    window_plan::write_hours(deed, &window, &hours).await?;
    let now = deed.now();
    deed.continue_as(past.people.engineer.clone(), now);
    if !first.is_empty() {
        window_plan::choose(deed, &window, &first).await?;
        window_plan::plan_rebuilds(deed, &window).await?;
    }
    if !more.is_empty() {
        window_plan::choose(deed, &window, &more).await?;
    }
    Ok(())
}

/// Orders of the past: kits by their place in the plan with how many, how many days ago they were placed,
/// and in how many days from today they were promised for.
type OrderPlan = (&'static [(usize, u32)], i64, i64);

/// One is late, one is on its way.
const ORDERED: &[OrderPlan] = &[(&[(6, 8)], 96, -9), (&[(0, 6), (4, 12)], 30, 26)];

/// An order as it is placed on its day.
pub struct Ordered {
    /// When.
    pub at: Moment,
    lines: &'static [(usize, u32)],
    ago: i64,
    promised_on: Date,
}

/// The orders of the past, the first one first.
pub fn ordered(today: Date) -> VecDeque<Ordered> {
    ORDERED
        .iter()
        .map(|(lines, ago, promised)| Ordered {
            at: Moment::new(timeline::moment(today - Duration::days(*ago), 560)),
            lines,
            ago: *ago,
            promised_on: today + Duration::days(*promised),
        })
        .collect()
}

fn wanted(at: usize, quantity: u32) -> Result<Wanted> {
    let number = KITS[at].number.parse().map_err(Refusal::NotNow)?;
    Ok(Wanted {
        kit: number,
        quantity,
    })
}

/// Drafts an order and places it, on its day.
///
/// # Errors
/// The store's failure, or a deed the register refused: then the plan is at fault.
pub async fn order(deed: &mut Deed, keeper: Who, order: &Ordered) -> Result<()> {
    deed.continue_as(keeper, order.at);
    let mut lines = Vec::new();
    for (at, quantity) in order.lines {
        lines.push(wanted(*at, *quantity)?);
    }
    let late = order.ago >= 60;
    let number = acts::orders::draft(deed, &lines, "").await?;
    let placed = Placed {
        supplier: SUPPLIERS[usize::from(!late)].to_owned(),
        reference: format!("{}-{}", if late { "FG" } else { "NQ" }, order.ago),
        on: deed.today(),
        promised_on: Some(order.promised_on),
        note: String::new(),
    };
    acts::orders::place(deed, number.as_str(), 1, &placed).await
}

/// A part of the order that is on its way has come, and one order is a draft.
async fn orders(deed: &mut Deed, past: &Past, today: Date) -> Result<()> {
    let kit = past.ground.kits[4];
    let received_on = today - Duration::days(2);
    let awaited = store::orders::awaited_of(deed.db(), kit).await?;
    if let Some(line) = awaited.first() {
        let receipt = acts::stock::Receipt {
            kit,
            lot: lot_number(4, received_on, 'B')?,
            quantity: 4,
            received_on,
            expires_on: None,
            place: "rack 1 shelf 2".to_owned(),
        };
        acts::orders::receive(deed, line.order.as_str(), &receipt).await?;
    }
    let lines = [wanted(8, 4)?, wanted(3, 6)?];
    acts::orders::draft(deed, &lines, SUPPLIERS[0]).await?;
    Ok(())
}

/// The number of a lot of a kit, by its place in the plan, that came on a day; a letter tells it from
/// those of the rebuilds, which end in a gauge's number.
///
/// # Errors
/// None that the plan could meet.
pub fn lot_number(kit: usize, day: Date, letter: char) -> Result<LotNumber> {
    let kit = &KITS[kit].number[5..];
    let day = day.to_julian_day() % 100_000;
    let number: LotNumber = format!("{kit}-{day:05}-{letter}")
        .parse()
        .map_err(Refusal::NotNow)?;
    Ok(number)
}

/// Lines of one lot of a long ledger.
const LINES: u32 = 200;

/// Writes more lines into the ledger, in lots of [`LINES`], spread over the kits; every line sealed.
///
/// # Errors
/// The store's failure.
pub async fn long_ledger(store: &Store, clock: &Clock, past: &Past, lines: u32) -> Result<()> {
    let kits = u32::try_from(past.ground.kits.len()).unwrap_or(1).max(1);
    let lots = lines.div_ceil(LINES);
    let mut made = 0;
    for (at, kit) in past.ground.kits.iter().enumerate() {
        let number = u32::try_from(at).unwrap_or(0);
        let own = lots / kits + u32::from(number < lots % kits);
        if own == 0 {
            continue;
        }
        let mut deed = Deed::begin(store, clock, past.people.storekeeper.clone(), None).await?;
        for lot in 0..own {
            let rest = lines.saturating_sub(made).min(LINES);
            long_lot(&mut deed, *kit, (number, lot), rest).await?;
            made += rest;
        }
        deed.commit("").await?;
    }
    Ok(())
}

async fn long_lot(deed: &mut Deed, kit: KitId, (of, lot): (u32, u32), lines: u32) -> Result<()> {
    if lines == 0 {
        return Ok(());
    }
    let today = deed.today();
    let mut dice = Dice::new(7_000_000 + u64::from(of) * 4_096 + u64::from(lot));
    let begins = today - Duration::days(dice.between(400, 2_000));
    let number = format!("M-{of:03}-{lot:04}")
        .parse()
        .map_err(Refusal::NotNow)?;
    let days = (begins, None);
    let id = store::kits::add_lot(deed.db(), kit, &number, days, "rack 9").await?;
    let mut balance = 0;
    let mut rows = Vec::new();
    for line in 0..lines {
        let last = line + 1 == lines;
        let (kind, quantity) = match line {
            0 => (Movement::Receipt, 40),
            // Most lots are used up; a few still lie there.
            _ if last && lot % 10 > 0 && balance > 0 => (Movement::Scrap, -balance),
            _ if balance < 4 => (Movement::Receipt, 20),
            _ if line % 40 == 0 => (Movement::Count, 0),
            _ => (Movement::Issue, -dice.between(1, 2)),
        };
        balance += quantity;
        rows.push(BulkLine {
            kind,
            quantity,
            balance,
            on_date: (begins + Duration::days(i64::from(line))).min(today),
            reason: "made to measure with",
        });
    }
    let (person, now) = (deed.person()?, deed.now());
    let ids = store::stock::add_lines(deed.db(), id, &rows, (person, now)).await?;
    deed.record_rows(
        "wrote",
        &format!("lot {number}"),
        ("lot", &[id.0]),
        ("stock_line", &ids),
    )
    .await
}
