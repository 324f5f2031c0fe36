//! The storeroom's first page: which kits are to be ordered, and every kit by number.
//! One row a kit is read, however many days and gauges want it; one kit in full is another page.

use std::collections::HashMap;

use askama::Template;
use axum::extract::{Query, State};
use serde::Deserialize;

use crate::pages::answer::{self, Answer};
use crate::pages::chrome::Chrome;
use crate::pages::needs::ToOrder;
use crate::pages::shelf::Shelf;
use crate::pages::{App, address, show};
use crate::record::LotId;
use crate::record::kit::{self, Lot};
use crate::record::need::Outlook;
use crate::store;
use crate::store::shelf::{OnShelf, Together};

/// Lines on a page.
const PAGE: usize = 50;
/// Gauges without a kit are counted up to this many.
const MOST: i64 = 1000;
/// Kits to order named here; the page of needs has them all.
const ORDERS: i64 = 20;

/// The filter as it stands in the address.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    q: String,
    after: String,
}

struct Line {
    kit: OnShelf,
    shelf: Shelf,
    next: Option<Lot>,
}

#[derive(Template)]
#[template(path = "storeroom/list.html")]
struct Page {
    chrome: Chrome,
    asked: Asked,
    together: Together,
    without_kit: i64,
    /// The same count as on the page of needs.
    to_order: ToOrder,
    /// The kits that fall short, by the same reckoning as there.
    orders: Vec<Outlook>,
    lines: Vec<Line>,
    next: Option<String>,
}

impl Page {
    /// The first page says what is short; the pages after it only go on with the list.
    fn first(&self) -> bool {
        self.asked.after.is_empty() && self.asked.q.is_empty()
    }

    /// Where the list begins, on a page that goes on with it.
    fn beginning(&self) -> Option<String> {
        let on = !self.asked.after.is_empty();
        on.then(|| address::with_query(address::STOREROOM, &[("q", self.asked.q.clone())]))
    }
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome, Query(asked): Query<Asked>) -> Answer {
    let mut db = app.store().read().await?;
    let orders = store::outlook::to_order(&mut db, None, ORDERS).await?;
    let most = i64::try_from(PAGE + 1).unwrap_or(51);
    let which = (asked.q.trim(), asked.after.as_str());
    let mut kits = store::shelf::list(&mut db, which, chrome.today, most).await?;
    let more = kits.len() > PAGE;
    kits.truncate(PAGE);
    let next = kits.last().filter(|_| more).map(|last| {
        let values = [("q", asked.q.clone()), ("after", last.kit.to_string())];
        address::with_query(address::STOREROOM, &values)
    });
    let rows: Vec<LotId> = kits.iter().filter_map(|kit| kit.next).collect();
    let mut lots: HashMap<LotId, Lot> = store::shelf::lots(&mut db, &rows)
        .await?
        .into_iter()
        .map(|lot| (lot.id, lot))
        .collect();
    let lines = kits
        .into_iter()
        .map(|kit| Line {
            shelf: Shelf::kept(&kit),
            next: kit.next.and_then(|row| lots.remove(&row)),
            kit,
        })
        .collect();
    let until = chrome.today.saturating_add(kit::AHEAD);
    let without_kit = store::stock::without_kit(&mut db, until, MOST).await?;
    let together = store::shelf::together(&mut db).await?;
    let to_order = ToOrder::count(&mut db, chrome.today).await?;
    answer::page(&Page {
        chrome,
        asked,
        together,
        without_kit,
        to_order,
        orders,
        lines,
        next,
    })
}
