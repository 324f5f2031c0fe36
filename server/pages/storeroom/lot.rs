//! One lot: what it holds, whether it may be used, and its ledger with the running balance.
//! Each movement has its own form.

use askama::Template;
use axum::extract::{Path, Query, State};
use serde::Deserialize;

use crate::calc::lots::Usability;
use crate::pages::answer::{self, Answer, PageError};
use crate::pages::chrome::Chrome;
use crate::pages::{App, address, show};
use crate::record::StockLineId;
use crate::record::kit::Lot;
use crate::record::person::Role;
use crate::store;
use crate::store::stock::{LedgerLine, OutWith};

/// Lines on a page.
const PAGE: usize = 50;

/// Where the ledger goes on.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    before: String,
}

#[derive(Template)]
#[template(path = "storeroom/lot.html")]
struct Page {
    chrome: Chrome,
    lot: Lot,
    out: Vec<OutWith>,
    lines: Vec<LedgerLine>,
    next: Option<String>,
}

impl Page {
    fn usability(&self) -> Usability {
        self.lot.usability(self.chrome.today)
    }
}

/// The page.
pub async fn show(
    State(app): State<App>,
    chrome: Chrome,
    Path((kit, number)): Path<(String, String)>,
    Query(asked): Query<Asked>,
) -> Answer {
    let mut db = app.store().read().await?;
    let lot = store::kits::lot_by_number(&mut db, &kit, &number)
        .await?
        .ok_or(PageError::NotFound("lot"))?;
    let before = asked.before.parse().ok().map(StockLineId);
    let most = i64::try_from(PAGE + 1).unwrap_or(51);
    let mut lines = store::stock::of_lot(&mut db, lot.id, before, most).await?;
    let more = lines.len() > PAGE;
    lines.truncate(PAGE);
    let next = lines.last().filter(|_| more).map(|last| {
        let here = address::lot(&lot.kit, &lot.number);
        address::with_query(&here, &[("before", last.id.0.to_string())])
    });
    let out = store::stock::out_with(&mut db, lot.id).await?;
    answer::page(&Page {
        chrome,
        lot,
        out,
        lines,
        next,
    })
}
