//! The ledger of the whole storeroom, the line recorded last first, each with the balance of its lot.
//! One lot's lines stand on the lot's page.

use askama::Template;
use axum::extract::{Query, State};
use serde::Deserialize;
use time::Date;

use super::{ASKED, Entry, read_before, woven};
use crate::pages::answer::{self, Answer};
use crate::pages::chrome::Chrome;
use crate::pages::{App, address, show};
use crate::record::kit::Movement;
use crate::store;

/// Where the ledger goes on.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    before: String,
}

#[derive(Template)]
#[template(path = "storeroom/ledger.html")]
struct Page {
    chrome: Chrome,
    /// The first and the last day the rows speak of; a line recorded late speaks of an earlier day than
    /// those around it.
    days: Option<(Date, Date)>,
    lines: Vec<Entry>,
    next: Option<String>,
    /// Where the ledger begins, on a page that goes on with it.
    newest: Option<String>,
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome, Query(asked): Query<Asked>) -> Answer {
    let mut db = app.store().read().await?;
    let before = read_before(&asked.before);
    let lines = store::stock::latest(&mut db, before, ASKED).await?;
    let moves = store::stock::moves(&mut db, None, before, ASKED).await?;
    let (lines, next) = woven(lines, moves);
    let next = next.map(|before| address::with_query(address::LEDGER, &[("before", before)]));
    let on = |row: &Entry| match row {
        Entry::Line(line) => line.on_date,
        Entry::Move(one) => one.on_date,
    };
    let days = lines.iter().map(on).min().zip(lines.iter().map(on).max());
    let newest = (!asked.before.is_empty()).then(|| address::LEDGER.to_owned());
    answer::page(&Page {
        chrome,
        days,
        lines,
        next,
        newest,
    })
}
