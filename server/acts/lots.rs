//! Deeds on a lot that change no balance: correcting its last day, moving all of it or a part of it to
//! another place. What changes how many there are is in `stock.rs`.

use serde_json::json;
use time::Date;

use super::stock::{found, said, short, some, subject};
use super::{Deed, Result};
use crate::calc::calendar;
use crate::record::kit::Lot;
use crate::record::{LotId, Refusal};
use crate::store::{self, kits::NewMove};

/// The longest name of a place.
const LONGEST_PLACE: usize = 60;

/// What may be corrected of a lot.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LotFacts {
    /// Where it lies.
    pub place: String,
    /// Last day it may be used; none for kits that keep.
    pub expires_on: Option<Date>,
}

/// Moves what lies at a lot's own place to another one, or corrects its last day with a reason. What
/// was put elsewhere stays there; a part that lies at the new place already is one with the rest again.
///
/// # Errors
/// Refuses when somebody changed it meanwhile, a last day before the lot came or missing where the
/// kit has a shelf life, and another last day without a reason.
pub async fn correct_lot(
    deed: &mut Deed,
    lot: LotId,
    read: &LotFacts,
    to: &LotFacts,
    reason: &str,
) -> Result<()> {
    let lot = found(deed, lot).await?;
    let subject = subject(&lot);
    if (&read.place, read.expires_on) != (&lot.place, lot.expires_on) {
        let by = store::audit::last_hand(deed.db(), &subject).await?;
        return Err(Refusal::Changed {
            what: format!("Lot {}", lot.number),
            by,
        }
        .into());
    }
    let reason = if to.expires_on == lot.expires_on {
        short(reason)?
    } else {
        last_day_fits(deed, &lot, to.expires_on).await?;
        said(reason, "Say why the last day is another, and who says so")?
    };
    if to == read {
        return Ok(());
    }
    let mut rows = vec![("lot", lot.id.0)];
    if let Some(part) = lot.meant(&to.place).filter(|_| to.place != lot.place)
        && lot.lie_at(Some(&part)) > 0
    {
        let joined = Moving {
            from: Some(&part),
            to: None,
            quantity: u32::try_from(lot.lie_at(Some(&part))).unwrap_or(u32::MAX),
            reason: "the rest of the lot was moved there",
        };
        rows.push(("lot_move", put(deed, (&lot, &to.place), &joined).await?));
    }
    store::kits::change_lot(deed.db(), lot.id, &to.place, to.expires_on).await?;
    let words = if to.expires_on == lot.expires_on {
        "moved"
    } else {
        "corrected"
    };
    let facts = json!({
        "place": [read.place, to.place],
        "last day": [read.expires_on.map(|d| d.to_string()), to.expires_on.map(|d| d.to_string())],
        "reason": reason,
    });
    deed.record(words, &subject, None, facts, &rows).await
}

/// A part of a lot on its way to another place.
#[derive(Debug, Clone)]
pub struct Moving<'a> {
    /// Where it lies; none names the lot's own place.
    pub from: Option<&'a str>,
    /// Where it goes; none names the lot's own place.
    pub to: Option<&'a str>,
    /// How many.
    pub quantity: u32,
    /// Why, if anybody says so.
    pub reason: &'a str,
}

/// Puts a part of a lot in another place. How many there are stays as it is.
///
/// # Errors
/// Refuses none, more than lie there, and a place they lie in already.
pub async fn move_part(deed: &mut Deed, lot: LotId, moving: &Moving<'_>) -> Result<()> {
    some(moving.quantity, "Write how many are moved")?;
    let reason = short(moving.reason)?;
    let lot = found(deed, lot).await?;
    let typed = moving.to.unwrap_or_default().trim();
    if typed.chars().count() > LONGEST_PLACE {
        let words = format!("At most {LONGEST_PLACE} characters");
        return Err(Refusal::field("to", words).into());
    }
    let to = lot.meant(typed);
    if to.as_deref() == moving.from {
        return Err(Refusal::field("to", "They lie there already; write another place").into());
    }
    let there = lot.lie_at(moving.from);
    if there < i64::from(moving.quantity) {
        let words = format!("At {} lie {there}", lot.called(moving.from));
        return Err(Refusal::field("quantity", words).into());
    }
    let (from, quantity) = (moving.from, moving.quantity);
    let moving = Moving {
        from,
        to: to.as_deref(),
        quantity,
        reason,
    };
    let row = put(deed, (&lot, &lot.place), &moving).await?;
    let facts = json!({
        "quantity": quantity,
        "from": lot.called(from),
        "to": lot.called(to.as_deref()),
        "reason": reason,
    });
    let rows = [("lot_move", row)];
    deed.record("moved a part", &subject(&lot), None, facts, &rows)
        .await
}

/// Writes the move of a lot whose own place is called so.
async fn put(deed: &mut Deed, (lot, own): (&Lot, &str), moving: &Moving<'_>) -> Result<i64> {
    let new = NewMove {
        lot: (lot.id, own),
        from: moving.from,
        to: moving.to,
        quantity: moving.quantity,
        on_date: deed.today(),
        reason: moving.reason,
    };
    let (person, now) = (deed.person()?, deed.now());
    Ok(store::kits::add_move(deed.db(), &new, person, now).await?)
}

async fn last_day_fits(deed: &mut Deed, lot: &Lot, last: Option<Date>) -> Result<()> {
    let kit = store::kits::by_id(deed.db(), lot.kit_id).await?;
    let months = kit.and_then(|kit| kit.shelf_life_months);
    let wrong = match (last, months) {
        (None, Some(months)) => format!("This kit keeps {months} months: a last day is needed"),
        (Some(day), _) if day < lot.received_on => {
            format!(
                "This lot came later, on {}",
                calendar::said(lot.received_on)
            )
        }
        _ => return Ok(()),
    };
    Err(Refusal::field("expires_on", wrong).into())
}
