//! The storeroom's first page: which kits are to be ordered, and every kit by number.
//! Its cost goes with the kits and the lots on the shelf, not with the gauges or the history.

use askama::Template;
use axum::extract::{Query, State};
use serde::Deserialize;

use super::Stock;
use crate::calc::lots::Cover;
use crate::pages::answer::{self, Answer, PageError};
use crate::pages::chrome::Chrome;
use crate::pages::shelf::Shelf;
use crate::pages::{App, address, show};
use crate::record::kit::{self, Kit, Lot};
use crate::record::need::Outlook;
use crate::store;

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
    kit: Kit,
    cover: Cover,
    shelf: Shelf,
    next: Option<Lot>,
}

#[derive(Template)]
#[template(path = "storeroom/list.html")]
struct Page {
    chrome: Chrome,
    asked: Asked,
    kits: i64,
    usable: i64,
    unusable: i64,
    without_kit: i64,
    /// What is to be ordered, by the same reckoning as the page of needs.
    orders: Vec<Outlook>,
    lines: Vec<Line>,
    next: Option<String>,
}

impl Page {
    fn to_order(&self) -> i64 {
        i64::try_from(self.orders.len()).unwrap_or(i64::MAX)
    }

    /// The first page says what is short; the pages after it only go on with the list.
    fn first(&self) -> bool {
        self.asked.after.is_empty() && self.asked.q.is_empty()
    }
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome, Query(asked): Query<Asked>) -> Answer {
    let mut db = app.store().read().await?;
    let stock = Stock::of_all(&mut db, chrome.today).await?;
    let orders = store::needs::to_order(&mut db, None, ORDERS).await?;
    let most = i64::try_from(PAGE + 1).unwrap_or(51);
    let mut kits = store::kits::list(&mut db, asked.q.trim(), &asked.after, most).await?;
    let more = kits.len() > PAGE;
    kits.truncate(PAGE);
    let next = kits.last().filter(|_| more).map(|last| {
        let values = [("q", asked.q.clone()), ("after", last.number.to_string())];
        address::with_query(address::STOREROOM, &values)
    });
    let lines = kits
        .into_iter()
        .map(|kit| {
            let cover = stock.cover(kit.id)?;
            let usable = |lot: &&Lot| lot.usable_on(chrome.today);
            Ok(Line {
                shelf: Shelf::of(&cover),
                next: stock.lots(kit.id).iter().find(usable).cloned(),
                cover,
                kit,
            })
        })
        .collect::<Result<Vec<_>, PageError>>()?;
    let (mut usable, mut unusable) = (0, 0);
    for lot in stock.shelf.values().flatten() {
        if lot.usable_on(chrome.today) {
            usable += lot.on_hand;
        } else {
            unusable += lot.on_hand;
        }
    }
    let until = chrome.today.saturating_add(kit::AHEAD);
    let without_kit = store::stock::without_kit(&mut db, until, MOST).await?;
    let kits = store::kits::count(&mut db).await?;
    answer::page(&Page {
        chrome,
        asked,
        kits,
        usable,
        unusable,
        without_kit,
        orders,
        lines,
        next,
    })
}
