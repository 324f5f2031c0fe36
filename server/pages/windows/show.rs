//! One shutdown window and the gauges that have to be done in it, a page at a time.
//! Which window a gauge is pulled to is decided in `calc::due`.

use askama::Template;
use axum::extract::{Path, Query, State};
use serde::Deserialize;

use crate::pages::answer::{self, Answer, PageError};
use crate::pages::chrome::Chrome;
use crate::pages::{App, address, form, show};
use crate::record::GaugeId;
use crate::record::person::Role;
use crate::store;
use crate::store::due::COUNTED;
use crate::store::windows::{Bound, Window};

/// Lines on a page, as many as the plan lists.
const PAGE: usize = 20;

/// Where the page begins.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    after: String,
}

#[derive(Template)]
#[template(path = "windows/show.html")]
struct Page {
    chrome: Chrome,
    window: Window,
    bound: i64,
    lines: Vec<Bound>,
    next: Option<String>,
    /// Where the list begins, on a page that goes on with it.
    beginning: Option<String>,
}

/// The window of an area that begins on a day.
///
/// # Errors
/// There is none, or the store's failure.
pub async fn found(app: &App, area: &str, starts_on: &str) -> Result<Window, PageError> {
    let none = PageError::NotFound("shutdown window");
    let Some(day) = form::read_date(starts_on) else {
        return Err(none);
    };
    let mut db = app.store().read().await?;
    store::windows::starting(&mut db, area, day)
        .await?
        .ok_or(none)
}

/// The page.
pub async fn show(
    State(app): State<App>,
    chrome: Chrome,
    Path((area, starts_on)): Path<(String, String)>,
    Query(asked): Query<Asked>,
) -> Answer {
    let window = found(&app, &area, &starts_on).await?;
    let mut db = app.store().read().await?;
    let after = GaugeId(asked.after.parse().unwrap_or(0));
    let most = i64::try_from(PAGE + 1).unwrap_or(21);
    let bound = store::windows::count_in_window(&mut db, window.area_id, window.ends_on).await?;
    let mut lines =
        store::windows::in_window(&mut db, window.area_id, window.ends_on, after, most).await?;
    let more = lines.len() > PAGE;
    lines.truncate(PAGE);
    let next = lines.last().filter(|_| more).map(|last| {
        address::with_query(
            &address::window(&window.area, window.starts_on),
            &[("after", last.gauge_id.0.to_string())],
        )
    });
    let on = !asked.after.is_empty();
    let beginning = on.then(|| address::window(&window.area, window.starts_on));
    answer::page(&Page {
        chrome,
        window,
        bound,
        lines,
        next,
        beginning,
    })
}
