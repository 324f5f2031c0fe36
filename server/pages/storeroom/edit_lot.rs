//! Moving what lies at a lot's own place, and correcting its last day with a reason. Its number and the day
//! it came are never changed; what it holds changes through the ledger.

use askama::Template;
use axum::extract::{Path, State};
use serde::Deserialize;
use time::Date;

use crate::acts;
use crate::acts::lots::LotFacts;
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::{App, address, show};
use crate::record::kit::Lot;
use crate::store;

/// What is typed, and what the register held when the form was opened.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    place: String,
    expires_on: String,
    reason: String,
    was_place: String,
    was_expires_on: String,
}

#[derive(Template)]
#[template(path = "storeroom/edit_lot.html")]
struct Page {
    chrome: Chrome,
    lot: Lot,
    typed: Typed,
    errors: Errors,
}

fn text(day: Option<Date>) -> String {
    day.map_or_else(String::new, |day| show::plain_date(&day))
}

impl Page {
    fn was(&self) -> String {
        text(self.lot.expires_on)
    }

    fn moved(&self) -> bool {
        self.typed.was_place != self.lot.place
            || form::read_date(&self.typed.was_expires_on) != self.lot.expires_on
    }
}

fn parsed(t: &Typed) -> Result<(LotFacts, LotFacts), Errors> {
    let mut read = Reader::new();
    let to = LotFacts {
        place: read.text("place", &t.place, 60),
        expires_on: read.date("expires_on", &t.expires_on),
    };
    let was = LotFacts {
        place: t.was_place.clone(),
        expires_on: form::read_date(&t.was_expires_on),
    };
    read.finish(Some((was, to)))
}

/// The form with what is known.
pub async fn edit(
    State(app): State<App>,
    chrome: Chrome,
    Path((kit, number)): Path<(String, String)>,
) -> Answer {
    let lot = found(&app, &kit, &number).await?;
    let typed = Typed {
        place: lot.place.clone(),
        expires_on: text(lot.expires_on),
        reason: String::new(),
        was_place: lot.place.clone(),
        was_expires_on: text(lot.expires_on),
    };
    answer::page(&Page {
        chrome,
        lot,
        typed,
        errors: Errors::none(),
    })
}

/// Moves or corrects the lot.
pub async fn correct(
    State(app): State<App>,
    chrome: Chrome,
    Path((kit, number)): Path<(String, String)>,
    posted: Posted<Typed>,
) -> Answer {
    let lot = found(&app, &kit, &number).await?;
    let done = match parsed(&posted.form) {
        Ok((was, to)) => correct_one(&chrome, &posted, &lot, (&was, &to))
            .await
            .map_err(form::refused),
        Err(errors) => Err(Ok(errors)),
    };
    match done {
        Ok(to) => Ok(see_other(&to)),
        Err(errors) => answer::refused(&Page {
            chrome,
            lot,
            typed: posted.form,
            errors: errors?,
        }),
    }
}

async fn correct_one(
    chrome: &Chrome,
    posted: &Posted<Typed>,
    lot: &Lot,
    (was, to): (&LotFacts, &LotFacts),
) -> acts::Result<String> {
    let mut deed = chrome.deed(&posted.key).await?;
    acts::lots::correct_lot(&mut deed, lot.id, was, to, &posted.form.reason).await?;
    let to = address::lot(&lot.kit, &lot.number);
    deed.commit(&to).await?;
    Ok(to)
}

async fn found(app: &App, kit: &str, number: &str) -> Result<Lot, PageError> {
    let mut db = app.store().read().await?;
    store::kits::lot_by_number(&mut db, kit, number)
        .await?
        .ok_or(PageError::NotFound("lot"))
}
