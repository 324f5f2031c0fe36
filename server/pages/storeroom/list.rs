//! The storeroom's first page: which kits are short for what falls due, and every kit by number.
//! One row a kit is read, however many days and gauges want it; one kit in full is another page.

use std::collections::HashMap;

use askama::Template;
use axum::extract::{Query, State};
use serde::Deserialize;
use time::Date;

use super::beyond;
use crate::calc::reorder::{self, Packing};
use crate::pages::answer::{self, Answer, PageError};
use crate::pages::chrome::Chrome;
use crate::pages::shelf::Shelf;
use crate::pages::{App, address, show};
use crate::record::LotId;
use crate::record::kit::{self, Lot};
use crate::store;
use crate::store::shelf::{OnShelf, Together};

/// Lines on a page.
const PAGE: usize = 50;
/// Short kits on top; what to order is a page of its own.
const SHORT: i64 = 12;
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
    kit: OnShelf,
    shelf: Shelf,
    next: Option<Lot>,
}

/// A kit that is short, with what has to be ordered for it and by when.
struct Short {
    kit: OnShelf,
    shelf: Shelf,
    order_by: Date,
    order: u32,
}

#[derive(Template)]
#[template(path = "storeroom/list.html")]
struct Page {
    chrome: Chrome,
    asked: Asked,
    together: Together,
    without_kit: i64,
    short: Vec<Short>,
    lines: Vec<Line>,
    next: Option<String>,
}

impl Page {
    /// The first page says what is short; the pages after it only go on with the list.
    fn first(&self) -> bool {
        self.asked.after.is_empty() && self.asked.q.is_empty()
    }

    /// Short kits that are not named on top.
    fn more_short(&self) -> i64 {
        self.together.short - i64::try_from(self.short.len()).unwrap_or(0)
    }

    fn late(&self, day: &Date) -> bool {
        *day < self.chrome.today
    }
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome, Query(asked): Query<Asked>) -> Answer {
    let mut db = app.store().read().await?;
    let short = store::shelf::short(&mut db, chrome.today, SHORT)
        .await?
        .into_iter()
        .filter_map(|kit| short_one(kit).transpose())
        .collect::<Result<Vec<_>, PageError>>()?;
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
    answer::page(&Page {
        chrome,
        asked,
        together,
        without_kit,
        short,
        lines,
        next,
    })
}

fn short_one(kit: OnShelf) -> Result<Option<Short>, PageError> {
    let Some(order_by) = kit.order_by else {
        return Ok(None);
    };
    let small = |number: i64| u32::try_from(number).unwrap_or(u32::MAX);
    let packing = Packing::new(small(kit.pack), small(kit.minimum)).map_err(beyond)?;
    Ok(Some(Short {
        shelf: Shelf::kept(&kit),
        order_by,
        order: reorder::order_quantity(small(kit.short), packing).map_err(beyond)?,
        kit,
    }))
}
