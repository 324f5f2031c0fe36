//! Moving a part of a lot to another place: from where, how many, and where to. Moving what lies at the
//! lot's own place as a whole is in `edit_lot.rs`; what lies where stands on the lot's page.

use askama::Template;
use axum::extract::{Path, Query, State};
use serde::Deserialize;

use super::{places, read_place};
use crate::acts;
use crate::acts::lots::{self, Moving};
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::{App, address, show};
use crate::record::kit::Lot;
use crate::store;

/// What is typed; the place they lie at may stand in the address.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    place: String,
    quantity: String,
    to: String,
    reason: String,
}

#[derive(Template)]
#[template(path = "storeroom/move_part.html")]
struct Page {
    chrome: Chrome,
    lot: Lot,
    typed: Typed,
    errors: Errors,
}

impl Page {
    fn places(&self) -> Vec<(String, String)> {
        places(&self.lot, true)
    }

    /// Places the lot has already, to be picked from while typing.
    fn known(&self) -> Vec<String> {
        let own = Some(self.lot.place.clone()).filter(|place| !place.is_empty());
        let others = self.lot.elsewhere.iter().filter_map(|p| p.place.clone());
        own.into_iter().chain(others).collect()
    }
}

/// The form.
pub async fn show(
    State(app): State<App>,
    chrome: Chrome,
    Path((kit, number)): Path<(String, String)>,
    Query(typed): Query<Typed>,
) -> Answer {
    let lot = found(&app, &kit, &number).await?;
    answer::page(&Page {
        chrome,
        lot,
        typed,
        errors: Errors::none(),
    })
}

/// What was typed, read.
struct Asked {
    from: Option<String>,
    quantity: u32,
    to: String,
}

fn parsed(t: &Typed, lot: &Lot) -> Result<Asked, Errors> {
    let mut read = Reader::new();
    let from = read.take("place", read_place(lot, &t.place));
    let quantity = read.needed_whole("quantity", &t.quantity, 1..=100_000);
    let to = read.needed(
        "to",
        &t.to,
        60,
        "Write where they go, in at most 60 characters",
    );
    let whole = (|| {
        Some(Asked {
            from: from?,
            quantity: quantity?,
            to: to?,
        })
    })();
    read.finish(whole)
}

/// Moves them.
pub async fn put(
    State(app): State<App>,
    chrome: Chrome,
    Path((kit, number)): Path<(String, String)>,
    posted: Posted<Typed>,
) -> Answer {
    let lot = found(&app, &kit, &number).await?;
    let done = match parsed(&posted.form, &lot) {
        Ok(asked) => put_some(&chrome, &posted, &lot, &asked)
            .await
            .map_err(form::refused),
        Err(errors) => Err(Ok(errors)),
    };
    match done {
        Ok(to) => Ok(see_other(&to)),
        Err(errors) => {
            let errors = errors?;
            // What lies where may have changed meanwhile.
            let lot = found(&app, &kit, &number).await?;
            answer::refused(&Page {
                chrome,
                lot,
                typed: posted.form,
                errors,
            })
        }
    }
}

async fn put_some(
    chrome: &Chrome,
    posted: &Posted<Typed>,
    lot: &Lot,
    asked: &Asked,
) -> acts::Result<String> {
    let moving = Moving {
        from: asked.from.as_deref(),
        to: Some(&asked.to),
        quantity: asked.quantity,
        reason: &posted.form.reason,
    };
    let mut deed = chrome.deed(&posted.key).await?;
    lots::move_part(&mut deed, lot.id, &moving).await?;
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
