//! What stands in place of a bench sheet when no rebuild of the gauge is open: the last one, and where
//! to plan another.

use askama::Template;
use sqlx::SqliteConnection;

use crate::pages::answer::{self, Answer};
use crate::pages::chrome::Chrome;
use crate::pages::{address, show};
use crate::record::gauge::Gauge;
use crate::record::person::Role;
use crate::record::rebuild::Rebuild;
use crate::store;

#[derive(Template)]
#[template(path = "bench/none.html")]
struct Page {
    chrome: Chrome,
    gauge: Gauge,
    last: Option<Rebuild>,
}

/// The page.
pub async fn show(db: &mut SqliteConnection, chrome: Chrome, gauge: Gauge) -> Answer {
    let last = store::rebuilds::of_gauge(db, gauge.id, 1).await?.pop();
    answer::page(&Page {
        chrome,
        gauge,
        last,
    })
}
