//! The ledger of the whole storeroom, the latest line first, each with the balance of its lot.
//! One lot's lines stand on the lot's page.

use askama::Template;
use axum::extract::{Query, State};
use serde::Deserialize;
use time::Date;

use super::{Entry, woven};
use crate::pages::answer::{self, Answer};
use crate::pages::chrome::Chrome;
use crate::pages::{App, address, show};
use crate::record::StockLineId;
use crate::store;

/// Lines on a page.
const PAGE: usize = 50;

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
    /// The day of the first row.
    from: Option<Date>,
    lines: Vec<Entry>,
    next: Option<String>,
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome, Query(asked): Query<Asked>) -> Answer {
    let mut db = app.store().read().await?;
    let before = asked.before.parse().ok().map(StockLineId);
    let most = i64::try_from(PAGE + 1).unwrap_or(51);
    let mut lines = store::stock::latest(&mut db, before, most).await?;
    let more = lines.len() > PAGE;
    lines.truncate(PAGE);
    let next = lines
        .last()
        .filter(|_| more)
        .map(|last| address::with_query(address::LEDGER, &[("before", last.id.0.to_string())]));
    let moves = match lines.last() {
        Some(last) => store::stock::moves(&mut db, None, (last.id, before)).await?,
        None => Vec::new(),
    };
    let lines = woven(lines, moves);
    let from = lines.first().map(|first| match first {
        Entry::Line(line) => line.on_date,
        Entry::Move(one) => one.on_date,
    });
    answer::page(&Page {
        chrome,
        from,
        lines,
        next,
    })
}
