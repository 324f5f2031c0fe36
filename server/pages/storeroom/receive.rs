//! Receiving a lot the register does not know yet: its number as marked, how many, how long it may
//! be used and where it lies. More of a known lot comes in on that lot's page.

use askama::Template;
use axum::extract::{Path, State};
use serde::Deserialize;
use time::Date;

use crate::acts;
use crate::acts::stock::Receipt;
use crate::calc::lots::last_usable_day;
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::{App, address, show};
use crate::record::kit::Kit;
use crate::store;

/// What is typed, all of it text.
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
#[template(path = "storeroom/receive.html")]
struct Page {
    chrome: Chrome,
    kit: Kit,
    typed: Typed,
    errors: Errors,
}

fn parsed(t: &Typed, kit: &Kit) -> Result<Receipt, Errors> {
    let mut read = Reader::new();
    let lot = read.parse("lot", &t.lot);
    let quantity = read.needed_whole("quantity", &t.quantity, 1..=10_000);
    let received_on = read.needed_date("received_on", &t.received_on);
    let expires_on = last_day(&mut read, t, kit);
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

/// The last day as stamped, or from the day it was made; both have to agree where both are given.
fn last_day(read: &mut Reader, t: &Typed, kit: &Kit) -> Option<Date> {
    let stamped = read.date("expires_on", &t.expires_on);
    let made = read.date("made_on", &t.made_on);
    let (Some(made), Some(months)) = (made, kit.shelf_life_months) else {
        return stamped;
    };
    let computed = match last_usable_day(made, months) {
        Ok(day) => day,
        Err(error) => {
            read.refuse("made_on", error.to_string());
            return stamped;
        }
    };
    if let Some(stamped) = stamped
        && stamped > computed
    {
        read.refuse(
            "expires_on",
            format!(
                "Made on {} and keeping {months} months, it may be used until {}; the day written here is later",
                show::date(&made),
                show::date(&computed)
            ),
        );
    }
    Some(stamped.unwrap_or(computed))
}

/// The form.
pub async fn show(State(app): State<App>, chrome: Chrome, Path(number): Path<String>) -> Answer {
    let kit = found(&app, &number).await?;
    let typed = Typed {
        received_on: show::plain_date(&chrome.today),
        ..Typed::default()
    };
    answer::page(&Page {
        chrome,
        kit,
        typed,
        errors: Errors::none(),
    })
}

/// Receives the lot.
pub async fn receive(
    State(app): State<App>,
    chrome: Chrome,
    Path(number): Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    let kit = found(&app, &number).await?;
    let done = match parsed(&posted.form, &kit) {
        Ok(receipt) => receive_one(&chrome, &posted.key, &kit, &receipt)
            .await
            .map_err(form::refused),
        Err(errors) => Err(Ok(errors)),
    };
    match done {
        Ok(to) => Ok(see_other(&to)),
        Err(errors) => answer::refused(&Page {
            chrome,
            kit,
            typed: posted.form,
            errors: errors?,
        }),
    }
}

async fn receive_one(
    chrome: &Chrome,
    key: &str,
    kit: &Kit,
    receipt: &Receipt,
) -> acts::Result<String> {
    let mut deed = chrome.deed(key).await?;
    acts::stock::receive(&mut deed, receipt).await?;
    let to = address::lot(&kit.number, &receipt.lot);
    deed.commit(&to).await?;
    Ok(to)
}

async fn found(app: &App, number: &str) -> Result<Kit, PageError> {
    let mut db = app.store().read().await?;
    store::kits::by_number(&mut db, number)
        .await?
        .ok_or(PageError::NotFound("kit"))
}
