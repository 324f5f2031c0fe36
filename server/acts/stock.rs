//! Deeds in the storeroom. Every movement is one ledger line; stock goes down in the same
//! transaction as the rebuild that takes it.

use serde_json::json;
use time::Date;

use super::{Deed, Result, kits};
use crate::calc::calendar;
use crate::record::kit::{Lot, Movement};
use crate::record::{GaugeId, KitId, LotId, LotNumber, RebuildId, Refusal, StockLineId};
use crate::store::{self, kits::NewLine};

/// The shortest reason that says anything.
const REASON: usize = 3;
/// The longest one the ledger keeps.
const LONGEST_REASON: usize = 500;

/// Kits of a lot in one of its places; a lot alone names its own place.
#[derive(Debug, Clone, Copy)]
pub struct Spot<'a> {
    /// The lot.
    pub lot: LotId,
    /// The place; none names the lot's own.
    pub place: Option<&'a str>,
}

impl From<LotId> for Spot<'_> {
    fn from(lot: LotId) -> Self {
        Self { lot, place: None }
    }
}

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
/// Refuses a lot number the kit has already, nothing received, a lot that has expired, and a lot
/// without a last day where the kit has a shelf life.
pub async fn receive(deed: &mut Deed, receipt: &Receipt) -> Result<LotId> {
    receive_line(deed, receipt).await.map(|(lot, _)| lot)
}

/// The same, answering the line of the ledger beside the lot.
pub(super) async fn receive_line(
    deed: &mut Deed,
    receipt: &Receipt,
) -> Result<(LotId, StockLineId)> {
    some(receipt.quantity, "Write how many came")?;
    came(deed, receipt.received_on, receipt.expires_on)?;
    let Some(kit) = store::kits::by_id(deed.db(), receipt.kit).await? else {
        return Err(Refusal::Missing("kit").into());
    };
    if let (Some(months), None) = (kit.shelf_life_months, receipt.expires_on) {
        let words = format!(
            "This kit keeps {months} months: write the last day it may be used, or the day it was made"
        );
        return Err(Refusal::field("expires_on", words).into());
    }
    let taken =
        store::kits::lot_by_number(deed.db(), kit.number.as_str(), receipt.lot.as_str()).await?;
    if taken.is_some() {
        let words = format!(
            "Lot {} of this kit is in the register already; receive more into it on its own page",
            receipt.lot
        );
        return Err(Refusal::field("lot", words).into());
    }
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
        place: None,
    };
    let (person, now) = (deed.person()?, deed.now());
    let id = store::kits::add_line(deed.db(), &line, person, now).await?;
    let facts = json!({ "lot": receipt.lot, "quantity": receipt.quantity });
    deed.record(
        "received",
        &kits::subject(&kit.number),
        None,
        facts,
        &[("lot", lot.0), ("stock_line", id.0)],
    )
    .await?;
    Ok((lot, id))
}

/// Receives more of a lot the register knows.
///
/// # Errors
/// Refuses nothing received, a day to come or before the lot first came, and a lot that had expired
/// by then.
pub async fn receive_more(
    deed: &mut Deed,
    spot: impl Into<Spot<'_>>,
    quantity: u32,
    received_on: Date,
    note: &str,
) -> Result<StockLineId> {
    some(quantity, "Write how many came")?;
    let (lot, place) = at(deed, spot.into()).await?;
    came(deed, received_on, lot.expires_on)?;
    if received_on < lot.received_on {
        let words = format!("This lot first came on {}", calendar::said(lot.received_on));
        return Err(Refusal::field("received_on", words).into());
    }
    let line = NewLine {
        lot: lot.id,
        kind: Movement::Receipt,
        quantity: i64::from(quantity),
        on_date: received_on,
        rebuild: None,
        reason: short(note)?,
        place: place.as_deref(),
    };
    write(deed, &lot, &line, "received", None).await
}

/// Issues kits of a lot to a rebuild.
///
/// # Errors
/// Refuses an expired lot, more than it holds, and a rebuild that is finished.
pub async fn issue(
    deed: &mut Deed,
    rebuild: RebuildId,
    lot: LotId,
    quantity: u32,
) -> Result<StockLineId> {
    let today = deed.today();
    issue_on(deed, rebuild, (lot.into(), quantity), today).await
}

/// Issues kits of a lot to a rebuild as of a day that may be past: the lot had to be good on it.
///
/// # Errors
/// As [`issue`].
pub async fn issue_on(
    deed: &mut Deed,
    rebuild: RebuildId,
    taken: (Spot<'_>, u32),
    day: Date,
) -> Result<StockLineId> {
    some(taken.1, "Write how many are issued")?;
    let gauge = open(deed, rebuild).await?;
    take(deed, taken, day, (Some((rebuild, gauge)), "")).await
}

/// Whether kits that planned rebuilds reserve may be taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reserved {
    /// They stay for the rebuilds.
    Kept,
    /// Somebody takes them knowingly.
    Taken,
}

/// Refuses to take what planned rebuilds reserve.
async fn free(deed: &mut Deed, spot: Spot<'_>, quantity: u32) -> Result<()> {
    let today = deed.today();
    let (lot, place) = at(deed, spot).await?;
    let usable: i64 = store::kits::lots_on_hand(deed.db(), lot.kit_id)
        .await?
        .iter()
        .filter(|lot| lot.usable_on(today))
        .map(|lot| lot.on_hand)
        .sum();
    let reserved = store::needs::reserved(deed.db(), lot.kit_id).await?;
    // What cannot be taken at all is refused for its own reason.
    let there = lot.lie_at(place.as_deref());
    let possible = lot.usable_on(today) && there >= i64::from(quantity);
    if !possible || reserved == 0 || usable - i64::from(quantity) >= reserved {
        return Ok(());
    }
    let words = format!(
        "Planned rebuilds reserve {reserved} of the {usable} that may be used; take them only if a rebuild may wait, and say so below"
    );
    Err(Refusal::field("despite", words).into())
}

/// Issues kits of a lot for something other than a rebuild, with the reason.
///
/// # Errors
/// Refuses an expired lot, more than it holds, a missing reason, and kits that planned rebuilds
/// reserve unless they are taken knowingly.
pub async fn issue_without_rebuild(
    deed: &mut Deed,
    spot: impl Into<Spot<'_>>,
    quantity: u32,
    reason: &str,
    reserved: Reserved,
) -> Result<StockLineId> {
    some(quantity, "Write how many are issued")?;
    let spot = spot.into();
    let reason = said(reason, "Say what they are for, since no rebuild does")?;
    if reserved == Reserved::Kept {
        free(deed, spot, quantity).await?;
    }
    let today = deed.today();
    take(deed, (spot, quantity), today, (None, reason)).await
}

async fn take(
    deed: &mut Deed,
    (spot, quantity): (Spot<'_>, u32),
    day: Date,
    (rebuild, reason): (Option<(RebuildId, GaugeId)>, &str),
) -> Result<StockLineId> {
    let (lot, place) = at(deed, spot).await?;
    if !lot.usable_on(day) {
        let words = match lot.expires_on {
            _ if lot.held_back.is_some() => format!(
                "Lot {} is recalled and held back; take another lot",
                lot.number
            ),
            Some(last) if last < day => format!(
                "Lot {} may not be used any more: its last day was {}",
                lot.number,
                calendar::said(last)
            ),
            _ => format!(
                "Lot {} may not be used yet: it came on {}",
                lot.number,
                calendar::said(lot.received_on)
            ),
        };
        return Err(Refusal::field("lot", words).into());
    }
    holds((&lot, place.as_deref()), quantity)?;
    let line = NewLine {
        lot: lot.id,
        kind: Movement::Issue,
        quantity: -i64::from(quantity),
        on_date: day,
        rebuild: rebuild.map(|(id, _)| id),
        reason,
        place: place.as_deref(),
    };
    write(deed, &lot, &line, "issued", rebuild.map(|(_, gauge)| gauge)).await
}

/// Takes unopened kits back into their lot, from an open rebuild or from what was issued without one.
///
/// # Errors
/// Refuses more than is out, kits that were assembled into the gauge, and a rebuild that is
/// finished: its record says what it took.
pub async fn take_back(
    deed: &mut Deed,
    spot: impl Into<Spot<'_>>,
    from: Option<RebuildId>,
    quantity: u32,
    reason: &str,
) -> Result<StockLineId> {
    some(quantity, "Write how many come back")?;
    let gauge = match from {
        Some(rebuild) => Some(open(deed, rebuild).await?),
        None => None,
    };
    let (lot, place) = at(deed, spot.into()).await?;
    let out = store::stock::out_of(deed.db(), lot.id, from).await?;
    if out < i64::from(quantity) {
        let words = match from {
            Some(_) => format!("That rebuild has {out} of lot {}", lot.number),
            None => format!(
                "{out} of lot {} are out without a rebuild; those of a finished rebuild are counted in with a reason",
                lot.number
            ),
        };
        return Err(Refusal::field("quantity", words).into());
    }
    if let Some(rebuild) = from
        && let Some(course) = store::bench::course(deed.db(), rebuild).await?
        && course.kits_unopened() < quantity
    {
        let words = format!(
            "{} of the {} kits taken were assembled into the gauge; glass and gaskets once clamped do not come back, so {} may",
            course.kits_used(),
            course.kits_taken,
            course.kits_unopened()
        );
        return Err(Refusal::field("quantity", words).into());
    }
    let line = NewLine {
        lot: lot.id,
        kind: Movement::Return,
        quantity: i64::from(quantity),
        on_date: deed.today(),
        rebuild: from,
        reason: short(reason)?,
        place: place.as_deref(),
    };
    write(deed, &lot, &line, "took back", gauge).await
}

/// A count: what lies there, and what the register said when the counter set out.
#[derive(Debug, Clone)]
pub struct Count<'a> {
    /// Kits counted.
    pub counted: u32,
    /// What lay there on the page the counter read.
    pub seen: i64,
    /// Why it differs, where it does.
    pub reason: &'a str,
}

/// Records a count. The line carries the difference and its reason; a count that agrees is a line
/// of nothing, which is evidence as well.
///
/// # Errors
/// Refuses a difference without a reason, and a count begun before the lot last moved.
pub async fn count(
    deed: &mut Deed,
    spot: impl Into<Spot<'_>>,
    count: &Count<'_>,
) -> Result<StockLineId> {
    let (lot, place) = at(deed, spot.into()).await?;
    let there = lot.lie_at(place.as_deref());
    if there != count.seen {
        let words = format!(
            "Lot {} moved while you counted: the register said {} and now says {there}. Count again",
            lot.number, count.seen
        );
        return Err(Refusal::not_now(words).into());
    }
    let difference = i64::from(count.counted) - there;
    let reason = if difference == 0 {
        short(count.reason)?
    } else {
        // The figure stays hidden: a count that knows it is no count.
        let ask =
            "The register says another figure; count again, and if it stays, say why it differs";
        said(count.reason, ask)?
    };
    let line = NewLine {
        lot: lot.id,
        kind: Movement::Count,
        quantity: difference,
        on_date: deed.today(),
        rebuild: None,
        reason,
        place: place.as_deref(),
    };
    write(deed, &lot, &line, "counted", None).await
}

/// Throws kits of a lot away.
///
/// # Errors
/// Refuses more than the lot holds, and a missing reason.
pub async fn scrap(
    deed: &mut Deed,
    spot: impl Into<Spot<'_>>,
    quantity: u32,
    reason: &str,
) -> Result<StockLineId> {
    some(quantity, "Write how many are thrown away")?;
    let reason = said(reason, "Say why they are thrown away")?;
    let (lot, place) = at(deed, spot.into()).await?;
    holds((&lot, place.as_deref()), quantity)?;
    let line = NewLine {
        lot: lot.id,
        kind: Movement::Scrap,
        quantity: -i64::from(quantity),
        on_date: deed.today(),
        rebuild: None,
        reason,
        place: place.as_deref(),
    };
    write(deed, &lot, &line, "scrapped", None).await
}

/// How a lot is named in the audit chain.
pub fn subject(lot: &Lot) -> String {
    format!("kit {} lot {}", lot.kit, lot.number)
}

pub(super) fn some(quantity: u32, words: &str) -> Result<()> {
    if quantity == 0 {
        return Err(Refusal::field("quantity", words).into());
    }
    Ok(())
}

pub(super) fn said<'a>(reason: &'a str, ask: &str) -> Result<&'a str> {
    let reason = short(reason)?;
    if reason.chars().count() < REASON {
        return Err(Refusal::field("reason", ask).into());
    }
    Ok(reason)
}

pub(super) fn short(reason: &str) -> Result<&str> {
    let reason = reason.trim();
    if reason.chars().count() > LONGEST_REASON {
        let words = format!("At most {LONGEST_REASON} characters");
        return Err(Refusal::field("reason", words).into());
    }
    Ok(reason)
}

fn holds((lot, place): (&Lot, Option<&str>), quantity: u32) -> Result<()> {
    let there = lot.lie_at(place);
    if there >= i64::from(quantity) {
        return Ok(());
    }
    let words = if lot.several() {
        format!(
            "At {} lie {there} of lot {}, which lies in several places: {}",
            lot.called(place),
            lot.number,
            lot.lies()
        )
    } else {
        format!("Lot {} holds {there}", lot.number)
    };
    Err(Refusal::field("quantity", words).into())
}

/// The lot and the place, in the spelling it has.
async fn at(deed: &mut Deed, spot: Spot<'_>) -> Result<(Lot, Option<String>)> {
    let lot = found(deed, spot.lot).await?;
    let place = spot.place.and_then(|place| lot.meant(place));
    Ok((lot, place))
}

fn came(deed: &Deed, on: Date, expires_on: Option<Date>) -> Result<()> {
    if on > deed.today() {
        return Err(Refusal::field("received_on", "This day is still to come").into());
    }
    if expires_on.is_some_and(|last| last < on) {
        let words = "This lot had expired when it came; send it back";
        return Err(Refusal::field("expires_on", words).into());
    }
    Ok(())
}

/// The gauge of a rebuild that is not finished.
async fn open(deed: &mut Deed, rebuild: RebuildId) -> Result<GaugeId> {
    let Some(rebuild) = store::rebuilds::by_id(deed.db(), rebuild).await? else {
        return Err(Refusal::Missing("rebuild").into());
    };
    if rebuild.state.finished() {
        let words = format!(
            "This rebuild is {}: its record says what it took and is not changed",
            rebuild.state
        );
        return Err(Refusal::not_now(words).into());
    }
    Ok(rebuild.gauge_id)
}

pub(super) async fn found(deed: &mut Deed, lot: LotId) -> Result<Lot> {
    store::kits::lot(deed.db(), lot)
        .await?
        .ok_or_else(|| Refusal::Missing("lot").into())
}

async fn write(
    deed: &mut Deed,
    lot: &Lot,
    line: &NewLine<'_>,
    words: &str,
    gauge: Option<GaugeId>,
) -> Result<StockLineId> {
    let (person, now) = (deed.person()?, deed.now());
    let id = store::kits::add_line(deed.db(), line, person, now).await?;
    let facts = json!({ "quantity": line.quantity, "reason": line.reason });
    deed.record(words, &subject(lot), gauge, facts, &[("stock_line", id.0)])
        .await?;
    // What a rebuild has in hand it no longer wants from the shelf.
    if let Some(gauge) = gauge {
        deed.touch(gauge);
    }
    Ok(id)
}
