//! Deeds about orders of kits: drafted, placed with the supplier, promised for another day, received
//! in full or in part, withdrawn. Each receipt is a line of the ledger as well.

use rust_decimal::Decimal;
use serde_json::json;
use time::Date;

use super::stock::{self, Receipt};
use super::{Deed, Result};
use crate::calc::calendar::said;
use crate::record::kit::Lot;
use crate::record::order::{Order, OrderLine, OrderState};
use crate::record::{KitNumber, LotId, OrderNumber, Refusal, StockLineId};
use crate::store;

/// The most kits one line orders.
const MOST: u32 = 100_000;

/// A kit and how many of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wanted {
    /// The kit.
    pub kit: KitNumber,
    /// How many.
    pub quantity: u32,
}

/// Drafts an order; answers its number.
///
/// # Errors
/// Refuses an order of nothing and a kit the storeroom does not know.
pub async fn draft(deed: &mut Deed, wanted: &[Wanted], supplier: &str) -> Result<OrderNumber> {
    if wanted.is_empty() {
        return Err(Refusal::field("kit", "Choose at least one kit to order").into());
    }
    let number = next_number(deed).await?;
    let (person, today) = (deed.person()?, deed.today());
    let supplier = short("supplier", supplier, 120)?;
    let id = store::orders::add(deed.db(), &number, &supplier, today, person).await?;
    let mut rows = vec![("kit_order", id.0)];
    let wanted = together(wanted);
    for one in &wanted {
        rows.push(("kit_order_line", write(deed, id, one).await?));
    }
    let list: Vec<_> = wanted
        .iter()
        .map(|one| json!([one.kit, one.quantity]))
        .collect();
    deed.record(
        "drafted",
        &subject(&number),
        None,
        json!({ "kits": list }),
        &rows,
    )
    .await?;
    Ok(number)
}

/// Drafts what was ticked on a list of kits, an order for each supplier their terms name; answers the numbers.
///
/// # Errors
/// As for one order.
pub async fn draft_each(deed: &mut Deed, wanted: &[Wanted]) -> Result<Vec<OrderNumber>> {
    let mut orders: Vec<(String, Vec<Wanted>)> = Vec::new();
    for one in wanted {
        let kit = store::kits::by_number(deed.db(), one.kit.as_str()).await?;
        let supplier = match kit {
            Some(kit) => store::needs::terms(deed.db(), kit.id).await?.supplier,
            None => String::new(),
        };
        match orders.iter_mut().find(|(other, _)| *other == supplier) {
            Some((_, lines)) => lines.push(one.clone()),
            None => orders.push((supplier, vec![one.clone()])),
        }
    }
    let mut numbers = Vec::with_capacity(orders.len());
    for (supplier, lines) in orders {
        numbers.push(draft(deed, &lines, &supplier).await?);
    }
    Ok(numbers)
}

/// The kits wanted, each once: an order and the one that follows it, drafted together, are one line.
fn together(wanted: &[Wanted]) -> Vec<Wanted> {
    let mut lines: Vec<Wanted> = Vec::new();
    for one in wanted {
        match lines.iter_mut().find(|line| line.kit == one.kit) {
            Some(line) => line.quantity = line.quantity.saturating_add(one.quantity),
            None => lines.push(one.clone()),
        }
    }
    lines
}

async fn write(deed: &mut Deed, order: crate::record::OrderId, one: &Wanted) -> Result<i64> {
    if !(1..=MOST).contains(&one.quantity) {
        return Err(Refusal::field("quantity", "Order 1 to 100000 kits in a line").into());
    }
    let Some(kit) = store::kits::by_number(deed.db(), one.kit.as_str()).await? else {
        return Err(Refusal::field("kit", format!("No kit has the number {}", one.kit)).into());
    };
    let cost = store::needs::terms(deed.db(), kit.id).await?.cost;
    Ok(
        store::orders::put_line(deed.db(), order, kit.id, one.quantity, cost)
            .await?
            .0,
    )
}

/// Numbers orders one after the other within a year, as the plant's papers are numbered.
async fn next_number(deed: &mut Deed) -> Result<OrderNumber> {
    let prefix = store::plant::find(deed.db())
        .await?
        .map_or_else(|| "G".to_owned(), |plant| plant.number_prefix);
    let begins = format!("{prefix}-O-{}-", deed.today().year());
    let last = store::orders::last_number(deed.db(), &begins).await?;
    let before: u32 = last
        .and_then(|number| number.as_str().strip_prefix(&begins)?.parse().ok())
        .unwrap_or(0);
    format!("{begins}{:04}", before + 1)
        .parse()
        .map_err(|why: String| Refusal::NotNow(why).into())
}

/// Writes a line of a draft, or takes one out with a quantity of none.
///
/// # Errors
/// Refuses an order that is no draft any more.
pub async fn change_line(
    deed: &mut Deed,
    number: &str,
    version: i64,
    kit: &KitNumber,
    quantity: u32,
) -> Result<()> {
    let order = as_read(deed, number, version).await?;
    drafted(&order)?;
    let known = store::orders::lines(deed.db(), order.id).await?;
    let before = known.iter().find(|line| line.kit == *kit);
    let row = match (quantity, before) {
        (0, None) => return Err(Refusal::field("kit", "This kit is not in the order").into()),
        (0, Some(line)) => {
            store::orders::remove_line(deed.db(), line.id).await?;
            line.id.0
        }
        _ => {
            let one = Wanted {
                kit: kit.clone(),
                quantity,
            };
            write(deed, order.id, &one).await?
        }
    };
    keep(deed, &order, &order).await?;
    let facts =
        json!({ "kit": kit, "from": before.map_or(0, |line| line.quantity), "to": quantity });
    deed.record(
        "changed",
        &subject(&order.number),
        None,
        facts,
        &[("kit_order_line", row), ("kit_order", order.id.0)],
    )
    .await
}

/// How an order was placed.
#[derive(Debug, Clone)]
pub struct Placed {
    /// Who supplies it.
    pub supplier: String,
    /// The supplier's reference.
    pub reference: String,
    /// The day it was placed.
    pub on: Date,
    /// The day its kits are promised for; none: lead time after the day it was placed.
    pub promised_on: Option<Date>,
    /// What else the supplier was told.
    pub note: String,
}

/// Says that a draft was placed with a supplier: its kits are awaited from now on.
///
/// # Errors
/// Refuses an order without lines or supplier, a day to come, and one that is no draft any more.
pub async fn place(deed: &mut Deed, number: &str, version: i64, placed: &Placed) -> Result<()> {
    let order = as_read(deed, number, version).await?;
    drafted(&order)?;
    if placed.on > deed.today() {
        return Err(Refusal::field("placed_on", "This day is still to come").into());
    }
    let supplier = short("supplier", &placed.supplier, 120)?;
    if supplier.is_empty() {
        return Err(Refusal::field("supplier", "Say who supplies the kits").into());
    }
    if placed.promised_on.is_some_and(|day| day < placed.on) {
        let words = "Kits are not promised for a day before they were ordered";
        return Err(Refusal::field("promised_on", words).into());
    }
    let lines = store::orders::lines(deed.db(), order.id).await?;
    if lines.is_empty() {
        return Err(Refusal::not_now("This order has no line; add a kit first").into());
    }
    let after = Order {
        state: OrderState::Placed,
        supplier,
        reference: short("reference", &placed.reference, 80)?,
        note: short("note", &placed.note, 1000)?,
        placed_on: Some(placed.on),
        ..order.clone()
    };
    keep(deed, &order, &after).await?;
    let mut rows = vec![("kit_order", order.id.0)];
    for line in &lines {
        let lead = store::kits::by_id(deed.db(), line.kit_id)
            .await?
            .map_or(0, |kit| i64::from(kit.lead_days));
        let foreseen = placed.on.saturating_add(time::Duration::days(lead));
        let promised = placed.promised_on.unwrap_or(foreseen);
        store::orders::await_line(deed.db(), line.id, Some(promised), line.quantity).await?;
        rows.push(("kit_order_line", line.id.0));
    }
    let facts = json!({
        "supplier": after.supplier, "reference": after.reference, "on": placed.on.to_string(),
        "promised": placed.promised_on.map(|d| d.to_string()),
    });
    deed.record("placed", &subject(&order.number), None, facts, &rows)
        .await
}

/// Notes that the supplier promises a line for another day.
///
/// # Errors
/// Refuses a line of which nothing is awaited any more.
pub async fn promise(
    deed: &mut Deed,
    number: &str,
    kit: &KitNumber,
    promised_on: Date,
    reason: &str,
) -> Result<()> {
    let order = found(deed, number).await?;
    let line = awaited_line(deed, &order, kit).await?;
    let reason = short("reason", reason, 500)?;
    store::orders::await_line(deed.db(), line.id, Some(promised_on), line.awaited).await?;
    let facts = json!({
        "kit": kit, "reason": reason,
        "promised": [line.promised_on.map(|d| d.to_string()), Some(promised_on.to_string())],
    });
    deed.record(
        "noted another day for",
        &subject(&order.number),
        None,
        facts,
        &[("kit_order_line", line.id.0)],
    )
    .await
}

/// Receives kits of an order into a new lot, or more of a lot that is known already.
///
/// # Errors
/// As for any receipt, and for a line of which nothing is awaited any more.
pub async fn receive(deed: &mut Deed, number: &str, receipt: &Receipt) -> Result<LotId> {
    let order = found(deed, number).await?;
    let kit = store::kits::by_id(deed.db(), receipt.kit)
        .await?
        .ok_or(Refusal::Missing("kit"))?;
    let line = awaited_line(deed, &order, &kit.number).await?;
    let known =
        store::kits::lot_by_number(deed.db(), kit.number.as_str(), receipt.lot.as_str()).await?;
    let (lot, stock_line) = match known {
        Some(lot) => {
            as_known(&lot, receipt)?;
            let note = order.number.to_string();
            let (many, on) = (receipt.quantity, receipt.received_on);
            let place = lot.meant(&receipt.place);
            let spot = stock::Spot {
                lot: lot.id,
                place: place.as_deref(),
            };
            let stock_line = stock::receive_more(deed, spot, many, on, &note).await?;
            (lot.id, stock_line)
        }
        None => stock::receive_line(deed, receipt).await?,
    };
    answer(deed, &order, &line, stock_line, receipt.quantity).await?;
    Ok(lot)
}

/// Whether a delivery that says it is of a lot the register knows can be of it.
fn as_known(lot: &Lot, receipt: &Receipt) -> Result<()> {
    if let Some(stamped) = receipt.expires_on
        && lot.expires_on != Some(stamped)
    {
        let known = lot.expires_on.map_or_else(
            || "without a last day".to_owned(),
            |day| format!("with its last day {}", said(day)),
        );
        let words = format!(
            "Lot {} is in the register {known}, and these kits say {}. Kits of another day are another lot: receive them under a number of their own",
            lot.number,
            said(stamped)
        );
        return Err(Refusal::field("expires_on", words).into());
    }
    // A place it has not yet may be the one of another lot, which the form proposes.
    let new = lot.meant(&receipt.place);
    if new.is_some_and(|place| lot.lie_at(Some(&place)) == 0) {
        let words = if lot.place.is_empty() {
            format!(
                "Lot {} has no place yet; write one on its own page, and leave this empty",
                lot.number
            )
        } else {
            format!(
                "Lot {} lies at {}; put these there, or move the lot or a part of it on its own page",
                lot.number,
                lot.lies()
            )
        };
        return Err(Refusal::field("place", words).into());
    }
    Ok(())
}

async fn answer(
    deed: &mut Deed,
    order: &Order,
    line: &OrderLine,
    stock_line: StockLineId,
    quantity: u32,
) -> Result<()> {
    if i64::from(quantity) > line.awaited {
        let words = format!(
            "{} of this line are still to come; receive what is over as a lot of its own, without the order",
            line.awaited
        );
        return Err(Refusal::field("quantity", words).into());
    }
    let left = line.awaited - i64::from(quantity);
    let row = store::orders::add_receipt(deed.db(), line.id, stock_line, quantity).await?;
    store::orders::await_line(deed.db(), line.id, line.promised_on, left).await?;
    let mut rows = vec![("order_receipt", row), ("kit_order_line", line.id.0)];
    let lines = store::orders::lines(deed.db(), order.id).await?;
    if lines.iter().all(|line| line.awaited == 0) {
        let after = Order {
            state: OrderState::Received,
            closed_on: Some(deed.today()),
            ..order.clone()
        };
        keep(deed, order, &after).await?;
        rows.push(("kit_order", order.id.0));
    }
    let facts = json!({ "kit": line.kit, "quantity": quantity, "still to come": left });
    deed.record("received of", &subject(&order.number), None, facts, &rows)
        .await
}

/// Withdraws an order: nothing more of it is awaited.
///
/// # Errors
/// Refuses a missing reason and an order that is closed.
pub async fn withdraw(deed: &mut Deed, number: &str, version: i64, reason: &str) -> Result<()> {
    let order = as_read(deed, number, version).await?;
    if order.state.closed() {
        return Err(Refusal::not_now(format!("This order is {} already", order.state)).into());
    }
    let reason = short("reason", reason, 500)?;
    if reason.chars().count() < 3 {
        return Err(
            Refusal::field("reason", "Say why in a few words; it stays in the record").into(),
        );
    }
    let mut rows = Vec::new();
    for line in store::orders::lines(deed.db(), order.id).await? {
        if line.awaited > 0 {
            store::orders::await_line(deed.db(), line.id, line.promised_on, 0).await?;
            rows.push(("kit_order_line", line.id.0));
        }
    }
    let after = Order {
        state: OrderState::Withdrawn,
        closed_on: Some(deed.today()),
        withdrawn_reason: Some(reason.clone()),
        ..order.clone()
    };
    keep(deed, &order, &after).await?;
    rows.push(("kit_order", order.id.0));
    deed.record(
        "withdrew",
        &subject(&order.number),
        None,
        json!({ "reason": reason }),
        &rows,
    )
    .await
}

/// What a draft is worth: the sum of the lines whose cost is known, and how many are not.
pub fn value(lines: &[OrderLine]) -> (Decimal, usize) {
    let known = lines.iter().filter_map(OrderLine::value).sum();
    let unknown = lines.iter().filter(|line| line.cost.is_none()).count();
    (known, unknown)
}

async fn found(deed: &mut Deed, number: &str) -> Result<Order> {
    store::orders::by_number(deed.db(), number)
        .await?
        .ok_or_else(|| Refusal::Missing("order").into())
}

async fn as_read(deed: &mut Deed, number: &str, version: i64) -> Result<Order> {
    let order = found(deed, number).await?;
    if order.version == version {
        Ok(order)
    } else {
        Err(changed(deed, &order).await?.into())
    }
}

async fn changed(deed: &mut Deed, order: &Order) -> Result<Refusal> {
    let by = store::audit::last_hand(deed.db(), &subject(&order.number)).await?;
    Ok(Refusal::Changed {
        what: format!("Order {}", order.number),
        by,
    })
}

async fn keep(deed: &mut Deed, read: &Order, after: &Order) -> Result<()> {
    if store::orders::change(deed.db(), after).await? {
        Ok(())
    } else {
        Err(changed(deed, read).await?.into())
    }
}

async fn awaited_line(deed: &mut Deed, order: &Order, kit: &KitNumber) -> Result<OrderLine> {
    let lines = store::orders::lines(deed.db(), order.id).await?;
    let line = lines.into_iter().find(|line| line.kit == *kit);
    match line {
        Some(line) if line.awaited > 0 => Ok(line),
        _ => Err(Refusal::not_now(format!("Nothing of {kit} is awaited of this order")).into()),
    }
}

fn drafted(order: &Order) -> Result<()> {
    if order.state == OrderState::Draft {
        return Ok(());
    }
    let words = format!("This order is {}; only a draft is changed", order.state);
    Err(Refusal::not_now(words).into())
}

fn short(field: &str, text: &str, most: usize) -> Result<String> {
    let text = text.trim();
    if text.chars().count() > most {
        return Err(Refusal::field(field, format!("At most {most} characters")).into());
    }
    Ok(text.to_owned())
}

/// How an order is named in the audit chain.
pub fn subject(number: &OrderNumber) -> String {
    format!("order {number}")
}
