//! Every recall, the latest first. What relied on one stands on its own page.

use askama::Template;
use axum::extract::{Query, State};
use serde::Deserialize;

use crate::pages::answer::{self, Answer};
use crate::pages::chrome::Chrome;
use crate::pages::{App, address, show};
use crate::record::RecallId;
use crate::record::recall::Recall;
use crate::store;

/// Lines on a page.
const PAGE: usize = 50;

/// Where the list goes on.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    before: String,
}

#[derive(Template)]
#[template(path = "recalls/list.html")]
struct Page {
    chrome: Chrome,
    lines: Vec<Recall>,
    next: Option<String>,
    /// Where the list begins, on a page that goes on with it.
    newest: Option<String>,
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome, Query(asked): Query<Asked>) -> Answer {
    let mut db = app.store().read().await?;
    let before = asked.before.parse().ok().map(RecallId);
    let most = i64::try_from(PAGE + 1).unwrap_or(51);
    let mut lines = store::recalls::list(&mut db, before, most).await?;
    let more = lines.len() > PAGE;
    lines.truncate(PAGE);
    let next = lines
        .last()
        .filter(|_| more)
        .map(|last| address::with_query(address::RECALLS, &[("before", last.id.0.to_string())]));
    answer::page(&Page {
        chrome,
        lines,
        next,
        newest: before.map(|_| address::RECALLS.to_owned()),
    })
}
