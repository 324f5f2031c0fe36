//! One gauge: nameplate as stamped, when it is due and why, and its whole history.
//! Correcting it is another page.

use askama::Template;
use axum::extract::{Path, State};

use crate::calc::due::Decision;
use crate::pages::answer::{self, Answer, PageError};
use crate::pages::chrome::Chrome;
use crate::pages::glass::Glass;
use crate::pages::{App, address, show};
use crate::record::gauge::{Gauge, Standing};
use crate::store;

#[derive(Template)]
#[template(path = "gauges/show.html")]
struct Page {
    chrome: Chrome,
    gauge: Gauge,
    due: Option<store::due::Row>,
    decision: Option<Decision>,
}

impl Page {
    fn glass(&self) -> Glass {
        let due = self.due.as_ref();
        Glass::of(
            self.gauge.standing,
            due.map(|d| d.latest_on),
            due.and_then(|d| d.since_on),
            self.chrome.today,
        )
    }
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome, Path(tag): Path<String>) -> Answer {
    let mut db = app.store().read().await?;
    let gauge = store::gauges::by_tag(&mut db, &tag)
        .await?
        .ok_or(PageError::NotFound("gauge"))?;
    let due = store::due::find(&mut db, gauge.id).await?;
    let decision = match store::due::facts(&mut db, gauge.id).await? {
        Some((Standing::InService, _, facts)) => crate::calc::due::decide(&facts).ok(),
        _ => None,
    };
    answer::page(&Page {
        chrome,
        gauge,
        due,
        decision,
    })
}
