//! Drafting an order: of the lines ticked on the page of needs, or of one kit typed here.
//! Placing it with a supplier is on the order's own page.

use askama::Template;
use axum::extract::{Query, State};
use serde::Deserialize;

use super::ticked;
use crate::acts;
use crate::acts::orders::Wanted;
use crate::pages::answer::{self, Answer, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::{App, address};
use crate::store;

/// What the address fills in.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    kit: String,
    quantity: String,
}

/// What is typed, or the lines that were ticked.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    kit: Vec<String>,
    quantity: String,
    supplier: String,
}

#[derive(Template)]
#[template(path = "orders/new.html")]
struct Page {
    chrome: Chrome,
    kit: String,
    quantity: String,
    supplier: String,
    errors: Errors,
}

/// The form.
pub async fn show(State(app): State<App>, chrome: Chrome, Query(asked): Query<Asked>) -> Answer {
    let mut db = app.store().read().await?;
    let supplier = match store::kits::by_number(&mut db, &asked.kit).await? {
        Some(kit) => store::needs::terms(&mut db, kit.id).await?.supplier,
        None => String::new(),
    };
    answer::page(&Page {
        chrome,
        kit: asked.kit,
        quantity: asked.quantity,
        supplier,
        errors: Errors::none(),
    })
}

fn parsed(t: &Typed) -> Result<Vec<Wanted>, Errors> {
    let lines: Vec<Wanted> = t.kit.iter().filter_map(|text| ticked(text)).collect();
    if !lines.is_empty() {
        return Ok(lines);
    }
    let mut read = Reader::new();
    let typed = t.kit.first().map_or("", String::as_str);
    let kit = if typed.trim().is_empty() {
        read.refuse("kit", "Tick or write the kit to order");
        None
    } else {
        read.parse("kit", typed)
    };
    let quantity = read.needed_whole("quantity", &t.quantity, 1..=100_000);
    let line = kit.zip(quantity);
    read.finish(line.map(|(kit, quantity)| vec![Wanted { kit, quantity }]))
}

/// Drafts it.
pub async fn draft(chrome: Chrome, posted: Posted<Typed>) -> Answer {
    let done = match parsed(&posted.form) {
        Ok(wanted) => draft_one(&chrome, &posted, &wanted)
            .await
            .map_err(form::refused),
        Err(errors) => Err(Ok(errors)),
    };
    match done {
        Ok(to) => Ok(see_other(&to)),
        Err(errors) => answer::refused(&Page {
            chrome,
            kit: posted.form.kit.first().cloned().unwrap_or_default(),
            quantity: posted.form.quantity,
            supplier: posted.form.supplier,
            errors: errors?,
        }),
    }
}

async fn draft_one(
    chrome: &Chrome,
    posted: &Posted<Typed>,
    wanted: &[Wanted],
) -> acts::Result<String> {
    let mut deed = chrome.deed(&posted.key).await?;
    // Lines ticked on a list name no supplier: there is an order for each that their kits come from.
    let to = if posted.form.supplier.trim().is_empty() {
        let numbers = acts::orders::draft_each(&mut deed, wanted).await?;
        match numbers.as_slice() {
            [number] => address::order(number),
            _ => address::ORDERS.to_owned(),
        }
    } else {
        let number = acts::orders::draft(&mut deed, wanted, &posted.form.supplier).await?;
        address::order(&number)
    };
    deed.commit(&to).await?;
    Ok(to)
}
