//! How often gauges of each service class fail: what the record says, what somebody stated, and which
//! of the two is reckoned with. Stating one is another page.

use askama::Template;
use axum::extract::State;
use time::Date;

use crate::acts::needs::{RECORD_MONTHS, ground};
use crate::pages::answer::{self, Answer};
use crate::pages::chrome::Chrome;
use crate::pages::{App, address, show};
use crate::record::need::ClassRecord;

struct Line {
    class: ClassRecord,
    rate: f64,
    ground: String,
}

#[derive(Template)]
#[template(path = "needs/rates.html")]
struct Page {
    chrome: Chrome,
    lines: Vec<Line>,
    years: Option<f64>,
    since: Option<Date>,
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome) -> Answer {
    let mut db = app.store().read().await?;
    let ground = ground(&mut db, chrome.today).await?;
    let lines = ground
        .rates()
        .into_iter()
        .map(|(class, rate, ground)| Line {
            class: class.clone(),
            rate,
            ground,
        })
        .collect();
    answer::page(&Page {
        chrome,
        lines,
        years: ground.years(),
        since: ground.since(),
    })
}
