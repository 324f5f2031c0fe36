//! The storeroom's first page: which kits are short for what falls due, and every kit by number.
//! Its cost goes with the kits and the lots on the shelf, not with the gauges or the history.

use askama::Template;
use axum::extract::{Query, State};
use serde::Deserialize;

use super::{Order, Stock};
use crate::calc::lots::Cover;
use crate::calc::reorder::Timing;
use crate::pages::answer::{self, Answer, PageError};
use crate::pages::chrome::Chrome;
use crate::pages::shelf::Shelf;
use crate::pages::{App, address, show};
use crate::record::KitId;
use crate::record::kit::{self, Kit, Lot};
use crate::store;

/// Lines on a page.
const PAGE: usize = 50;
/// Gauges without a kit are counted up to this many.
const MOST: i64 = 1000;

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

struct Short {
    kit: Kit,
    cover: Cover,
    shelf: Shelf,
    order: Order,
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
    short: Vec<Short>,
    lines: Vec<Line>,
    next: Option<String>,
}

impl Page {
    fn short_kits(&self) -> i64 {
        i64::try_from(self.short.len()).unwrap_or(i64::MAX)
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
    let short = short(&mut db, &stock).await?;
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
        short,
        lines,
        next,
    })
}

/// The kits that are short, the one to order first on top.
async fn short(db: &mut sqlx::SqliteConnection, stock: &Stock) -> Result<Vec<Short>, PageError> {
    let mut covers = Vec::new();
    for id in stock.wants.keys() {
        let cover = stock.cover(*id)?;
        if cover.short > 0 {
            covers.push((*id, cover));
        }
    }
    let ids: Vec<KitId> = covers.iter().map(|(id, _)| *id).collect();
    let mut list = Vec::new();
    for kit in store::kits::some(db, &ids).await? {
        let Some(at) = covers.iter().position(|(id, _)| *id == kit.id) else {
            continue;
        };
        let (_, cover) = covers.swap_remove(at);
        if let Some(order) = Order::of(&kit, &cover, stock.today)? {
            list.push(Short {
                shelf: Shelf::of(&cover),
                kit,
                cover,
                order,
            });
        }
    }
    list.sort_by(|a, b| {
        (a.order.by.date, a.kit.number.as_str()).cmp(&(b.order.by.date, b.kit.number.as_str()))
    });
    Ok(list)
}
