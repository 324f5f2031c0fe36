//! One kit's lots played through one month: what is on the shelf, taken, missing and expired.
//! Which months there are and what is ordered is decided in `stock_plan`.

use time::Date;

use super::OutOfRange;
use super::calendar::said;
use super::lots::{self, Lot, Release, Usability, Wanted};
use super::stock_plan::{Outlook, Policy, Want};

/// One month as it is played: what was missing, and what stands at its end.
pub(super) struct Month {
    pub(super) missing: u32,
    pub(super) first_missing: Option<Wanted>,
    pub(super) expired: u32,
    pub(super) left: u32,
}

/// Every lot that can ever be used, on the shelf or on the way, in the order they go out.
pub(super) fn opening_stock<K>(outlook: &Outlook<K>, policy: &Policy, today: Date) -> Vec<Lot<()>> {
    let on_shelf = outlook.lots.iter().map(|lot| Lot {
        key: (),
        received: lot.received,
        last_usable: lot.last_usable,
        quantity: lot.quantity,
        release: lot.release,
    });
    let on_the_way = outlook.receipts.iter().map(|receipt| Lot {
        key: (),
        received: receipt.on.max(today),
        last_usable: receipt.last_usable,
        quantity: receipt.quantity,
        release: Release::Released,
    });
    let mut stock: Vec<Lot<()>> = on_shelf
        .filter(|lot| {
            matches!(
                lots::usability(lot, today, policy.days_left),
                Usability::Usable | Usability::NotYetReceived
            )
        })
        .chain(on_the_way)
        .collect();
    stock.sort_by(lots::first_expired_first);
    stock
}

/// Kits on the way, and lots entered ahead of their arrival, that arrive between two days.
pub(super) fn arriving<K>(outlook: &Outlook<K>, today: Date, from: Date, last: Date) -> u32 {
    let promised = outlook
        .receipts
        .iter()
        .map(|receipt| (receipt.on.max(today), receipt.quantity));
    let entered = outlook
        .lots
        .iter()
        .filter(|lot| lot.release == Release::Released && lot.received > today)
        .map(|lot| (lot.received, lot.quantity));
    total(
        promised
            .chain(entered)
            .filter(|(on, _)| (from..=last).contains(on))
            .map(|(_, quantity)| quantity),
    )
}

pub(super) fn play(stock: &mut [Lot<()>], wanted: &[Want], policy: &Policy, last: Date) -> Month {
    let mut month = Month {
        missing: 0,
        first_missing: None,
        expired: 0,
        left: 0,
    };
    let mut picks = Vec::new();
    for want in wanted {
        let one = Wanted {
            on: want.on,
            quantity: want.quantity,
        };
        let quantity = lots::take(stock, one, policy.days_left, &mut picks);
        month.missing = month.missing.saturating_add(quantity);
        match &mut month.first_missing {
            Some(first) if first.on == want.on => {
                first.quantity = first.quantity.saturating_add(quantity);
            }
            None if quantity > 0 => {
                month.first_missing = Some(Wanted {
                    on: want.on,
                    quantity,
                });
            }
            _ => {}
        }
    }
    let next = last.next_day().unwrap_or(last);
    for lot in stock.iter_mut().filter(|lot| lot.received <= last) {
        if lots::usability(lot, next, policy.days_left) == Usability::Usable {
            month.left = month.left.saturating_add(lot.quantity);
        } else {
            month.expired = month.expired.saturating_add(lot.quantity);
            lot.quantity = 0;
        }
    }
    month
}

/// The lot a proposed order brings; refused where it could not be used to the end of its month.
pub(super) fn new_lot(
    quantity: u32,
    from: Date,
    last: Date,
    policy: &Policy,
) -> Result<Lot<()>, OutOfRange> {
    let lot = Lot {
        key: (),
        received: from,
        last_usable: policy
            .shelf_months
            .map(|months| lots::last_usable_day(from, months))
            .transpose()?,
        quantity,
        release: Release::Released,
    };
    let next = last.next_day().unwrap_or(last);
    if lots::usability(&lot, next, policy.days_left) == Usability::Usable {
        Ok(lot)
    } else {
        Err(OutOfRange::new(
            "shelf life",
            format!("{} months", policy.shelf_months.unwrap_or_default()),
            format!(
                "long enough that kits arriving on {} still have {} days left on {}",
                said(from),
                policy.days_left,
                said(next)
            ),
        ))
    }
}

pub(super) fn total(quantities: impl Iterator<Item = u32>) -> u32 {
    quantities.fold(0, u32::saturating_add)
}
