//! A gauge's whole history, newest first, a page at a time and by kind of line if asked for.
//! The latest lines also stand on the gauge's own page.

use askama::Template;
use axum::extract::{Path, Query, State};
use serde::Deserialize;

use super::show::found;
use crate::pages::answer::{self, Answer};
use crate::pages::chrome::Chrome;
use crate::pages::{App, address, show};
use crate::record::gauge::Gauge;
use crate::record::history::{Happened, Key, Line, Topic};
use crate::record::kit::Movement;
use crate::store;
use crate::store::history::Filter;

/// Lines on a page.
const PAGE: usize = 50;

/// The filter as it stands in the address.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    only: String,
    before: String,
}

#[derive(Template)]
#[template(path = "gauges/history.html")]
struct Page {
    chrome: Chrome,
    gauge: Gauge,
    asked: Asked,
    lines: Vec<Line>,
    older: Option<String>,
    /// Where the newest lines stand, on a page that does not begin with them.
    newest: Option<String>,
}

/// The page.
pub async fn show(
    State(app): State<App>,
    chrome: Chrome,
    Path(tag): Path<String>,
    Query(asked): Query<Asked>,
) -> Answer {
    let mut db = app.store().read().await?;
    let gauge = found(&mut db, &tag).await?;
    let filter = Filter {
        before: Key::parse(&asked.before),
        topic: asked.only.parse().ok(),
    };
    let most = i64::try_from(PAGE + 1).unwrap_or(51);
    let mut lines = store::history::of_gauge(&mut db, gauge.id, filter, most).await?;
    let more = lines.len() > PAGE;
    lines.truncate(PAGE);
    let here = address::gauge_part(&gauge.particulars.tag, "history");
    let older = lines.last().filter(|_| more).map(|last| {
        address::with_query(
            &here,
            &[("only", asked.only.clone()), ("before", last.key.text())],
        )
    });
    let newest = filter
        .before
        .map(|_| address::with_query(&here, &[("only", asked.only.clone())]));
    answer::page(&Page {
        chrome,
        gauge,
        asked,
        lines,
        older,
        newest,
    })
}
