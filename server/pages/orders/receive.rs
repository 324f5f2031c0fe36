//! Receiving kits of an order, all of a line or a part of it: the lot as marked, how many, how long
//! it may be used and where it lies.

use askama::Template;
use axum::extract::{Path, State};
use serde::Deserialize;

use super::found;
use crate::acts;
use crate::acts::stock::Receipt;
use crate::calc::lots::last_usable_day;
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::{App, address, show};
use crate::record::kit::Kit;
use crate::record::order::{Order, OrderLine};
use crate::store;

/// What is typed.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    lot: String,
    quantity: String,
    received_on: String,
    expires_on: String,
    made_on: String,
    place: String,
}

#[derive(Template)]
#[template(path = "orders/receive.html")]
struct Page {
    chrome: Chrome,
    order: Order,
    line: OrderLine,
    kit: Kit,
    typed: Typed,
    errors: Errors,
}

async fn page(app: &App, chrome: Chrome, (number, kit): (&str, &str)) -> Result<Page, PageError> {
    let order = found(app, number).await?;
    let mut db = app.store().read().await?;
    let kit = store::kits::by_number(&mut db, kit)
        .await?
        .ok_or(PageError::NotFound("kit"))?;
    let line = store::orders::lines(&mut db, order.id)
        .await?
        .into_iter()
        .find(|line| line.kit_id == kit.id)
        .ok_or(PageError::NotFound("line of that order"))?;
    let last = store::kits::lots_on_hand(&mut db, kit.id).await?;
    let place = last
        .last()
        .map_or_else(String::new, |lot| lot.place.clone());
    Ok(Page {
        typed: Typed {
            received_on: show::plain_date(&chrome.today),
            quantity: line.awaited.to_string(),
            place,
            ..Typed::default()
        },
        chrome,
        order,
        line,
        kit,
        errors: Errors::none(),
    })
}

/// The form.
pub async fn show(
    State(app): State<App>,
    chrome: Chrome,
    Path((number, kit)): Path<(String, String)>,
) -> Answer {
    answer::page(&page(&app, chrome, (&number, &kit)).await?)
}

fn parsed(t: &Typed, kit: &Kit) -> Result<Receipt, Errors> {
    let mut read = Reader::new();
    let lot = read.parse("lot", &t.lot);
    let quantity = read.needed_whole("quantity", &t.quantity, 1..=100_000);
    let received_on = read.needed_date("received_on", &t.received_on);
    let stamped = read.date("expires_on", &t.expires_on);
    let made = read.date("made_on", &t.made_on);
    let expires_on = match (stamped, made, kit.shelf_life_months) {
        (None, Some(made), Some(months)) => read.take(
            "made_on",
            last_usable_day(made, months).map_err(|e| e.to_string()),
        ),
        (stamped, ..) => stamped,
    };
    let place = read.text("place", &t.place, 60);
    let whole = (|| {
        Some(Receipt {
            kit: kit.id,
            lot: lot?,
            quantity: quantity?,
            received_on: received_on?,
            expires_on,
            place,
        })
    })();
    read.finish(whole)
}

/// Receives them.
pub async fn receive(
    State(app): State<App>,
    chrome: Chrome,
    Path((number, kit)): Path<(String, String)>,
    posted: Posted<Typed>,
) -> Answer {
    let page = page(&app, chrome, (&number, &kit)).await?;
    let done = match parsed(&posted.form, &page.kit) {
        Ok(receipt) => receive_one(&page, &posted.key, &receipt)
            .await
            .map_err(form::refused),
        Err(errors) => Err(Ok(errors)),
    };
    match done {
        Ok(to) => Ok(see_other(&to)),
        Err(errors) => answer::refused(&Page {
            typed: posted.form,
            errors: errors?,
            ..page
        }),
    }
}

async fn receive_one(page: &Page, key: &str, receipt: &Receipt) -> acts::Result<String> {
    let mut deed = page.chrome.deed(key).await?;
    acts::orders::receive(&mut deed, page.order.number.as_str(), receipt).await?;
    let to = address::lot(&page.kit.number, &receipt.lot);
    deed.commit(&to).await?;
    Ok(to)
}
