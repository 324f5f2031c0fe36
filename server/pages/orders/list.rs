//! Orders: what is awaited by its promised day with late lines on top, drafts, and closed ones.
//! One order is another page.

use askama::Template;
use axum::extract::{Query, State};
use serde::Deserialize;

use crate::pages::answer::{self, Answer};
use crate::pages::chrome::Chrome;
use crate::pages::{App, address, show};
use crate::record::OrderId;
use crate::record::order::{Order, OrderState};
use crate::store;
use crate::store::orders::Awaited;

/// Closed orders on a page.
const PAGE: usize = 25;
/// Awaited lines and drafts listed.
const LISTED: i64 = 200;
/// Counting stops here.
const MOST: i64 = 1000;

/// Where the closed ones go on.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    before: String,
}

#[derive(Template)]
#[template(path = "orders/list.html")]
struct Page {
    chrome: Chrome,
    awaited: Vec<Awaited>,
    late: i64,
    drafts: Vec<Order>,
    closed: Vec<Order>,
    next: Option<String>,
    /// Where the closed ones begin, on a page that goes on with them.
    newest: Option<String>,
}

impl Page {
    fn late_line(&self, line: &Awaited) -> bool {
        line.promised_on.is_some_and(|day| day < self.chrome.today)
    }
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome, Query(asked): Query<Asked>) -> Answer {
    let mut db = app.store().read().await?;
    let before = asked.before.parse().ok().map(OrderId);
    let most = i64::try_from(PAGE + 1).unwrap_or(26);
    let mut closed = store::orders::in_state(&mut db, OrderState::Received, before, most).await?;
    closed.extend(store::orders::in_state(&mut db, OrderState::Withdrawn, before, most).await?);
    closed.sort_by_key(|order| std::cmp::Reverse(order.id));
    let more = closed.len() > PAGE;
    closed.truncate(PAGE);
    let next = closed
        .last()
        .filter(|_| more)
        .map(|last| address::with_query(address::ORDERS, &[("before", last.id.0.to_string())]));
    answer::page(&Page {
        awaited: store::orders::awaited(&mut db, LISTED).await?,
        late: store::orders::count_late(&mut db, chrome.today, MOST).await?,
        drafts: store::orders::in_state(&mut db, OrderState::Draft, None, LISTED).await?,
        chrome,
        closed,
        next,
        newest: before.map(|_| address::ORDERS.to_owned()),
    })
}
