//! Deeds in the storeroom. Every movement is one ledger line; stock goes down in the same
//! transaction as the rebuild that takes it.

use serde_json::json;
use time::Date;

use super::{Deed, Result};
use crate::record::kit::{Lot, Movement};
use crate::record::{KitId, LotId, LotNumber, RebuildId, Refusal, StockLineId};
use crate::store::{self, kits::NewLine};

/// A receipt: a new lot and how many came.
#[derive(Debug, Clone)]
pub struct Receipt {
    /// The kit.
    pub kit: KitId,
    /// The lot's number.
    pub lot: LotNumber,
    /// How many came.
    pub quantity: u32,
    /// The day.
    pub received_on: Date,
    /// Last day it may be used; none for kits that keep.
    pub expires_on: Option<Date>,
    /// Where it lies.
    pub place: String,
}

/// Receives a new lot.
///
/// # Errors
/// Refuses a lot number the kit has already, nothing received, and a lot that has expired.
pub async fn receive(deed: &mut Deed, receipt: &Receipt) -> Result<LotId> {
    if receipt.quantity == 0 {
        return Err(Refusal::field("quantity", "Write how many came").into());
    }
    if receipt.received_on > deed.today() {
        return Err(Refusal::field("received_on", "This day is still to come").into());
    }
    if receipt
        .expires_on
        .is_some_and(|last| last < receipt.received_on)
    {
        return Err(Refusal::field(
            "expires_on",
            "This lot had expired when it came; send it back",
        )
        .into());
    }
    let Some(kit) = store::kits::by_id(deed.db(), receipt.kit).await? else {
        return Err(Refusal::Missing("kit").into());
    };
    let days = (receipt.received_on, receipt.expires_on);
    let lot = store::kits::add_lot(
        deed.db(),
        receipt.kit,
        &receipt.lot,
        days,
        receipt.place.trim(),
    )
    .await?;
    let line = NewLine {
        lot,
        kind: Movement::Receipt,
        quantity: i64::from(receipt.quantity),
        on_date: receipt.received_on,
        rebuild: None,
        reason: "",
    };
    let (person, now) = (deed.person()?, deed.now());
    let id = store::kits::add_line(deed.db(), &line, person, now).await?;
    let facts = json!({ "lot": receipt.lot, "quantity": receipt.quantity });
    deed.record(
        "received",
        &format!("kit {}", kit.number),
        None,
        facts,
        &[("lot", lot.0), ("stock_line", id.0)],
    )
    .await?;
    Ok(lot)
}

/// Issues kits of a lot to a rebuild.
///
/// # Errors
/// Refuses an expired lot and more than it holds.
pub async fn issue(
    deed: &mut Deed,
    rebuild: RebuildId,
    lot: LotId,
    quantity: u32,
) -> Result<StockLineId> {
    if quantity == 0 {
        return Err(Refusal::field("quantity", "Write how many are issued").into());
    }
    let today = deed.today();
    let lot = found(deed, lot).await?;
    if !lot.usable_on(today) {
        return Err(Refusal::field(
            "lot",
            format!(
                "Lot {} may not be used any more: its last day was {}",
                lot.number,
                lot.expires_on.map_or_else(String::new, |d| d.to_string())
            ),
        )
        .into());
    }
    if lot.on_hand < i64::from(quantity) {
        return Err(Refusal::field(
            "quantity",
            format!("Lot {} holds {}", lot.number, lot.on_hand),
        )
        .into());
    }
    let line = NewLine {
        lot: lot.id,
        kind: Movement::Issue,
        quantity: -i64::from(quantity),
        on_date: today,
        rebuild: Some(rebuild),
        reason: "",
    };
    write(deed, &lot, &line, "issued").await
}

async fn found(deed: &mut Deed, lot: LotId) -> Result<Lot> {
    store::kits::lot(deed.db(), lot)
        .await?
        .ok_or_else(|| Refusal::Missing("lot").into())
}

async fn write(deed: &mut Deed, lot: &Lot, line: &NewLine<'_>, words: &str) -> Result<StockLineId> {
    let (person, now) = (deed.person()?, deed.now());
    let id = store::kits::add_line(deed.db(), line, person, now).await?;
    let facts = json!({ "quantity": line.quantity, "reason": line.reason });
    deed.record(
        words,
        &format!("lot {}", lot.number),
        None,
        facts,
        &[("stock_line", id.0)],
    )
    .await?;
    Ok(id)
}
