//! One's own private addresses for calendar programs: made, shown once, ended.
//! What is read under them is `feed.rs`.

use askama::Template;
use axum::extract::State;
use axum::http::HeaderMap;
use serde::Deserialize;

use crate::acts;
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::Posted;
use crate::pages::labels::sheet::origin;
use crate::pages::{App, address, show};
use crate::record::plant::Area;
use crate::record::{AreaId, FeedId};
use crate::store;
use crate::store::calendar::Feed;

/// What is typed: the area of a new address, or the one to end.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    area: String,
    end: i64,
}

#[derive(Template)]
#[template(path = "calendar/feeds.html")]
struct Page {
    chrome: Chrome,
    feeds: Vec<Feed>,
    areas: Vec<Area>,
    /// The address just made; shown this once.
    made: Option<String>,
}

async fn page(app: &App, chrome: Chrome, made: Option<String>) -> Result<Page, PageError> {
    let mut db = app.store().read().await?;
    Ok(Page {
        feeds: store::calendar::feeds_of(&mut db, chrome.person().id).await?,
        areas: store::plant::areas(&mut db).await?,
        chrome,
        made,
    })
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome) -> Answer {
    answer::page(&page(&app, chrome, None).await?)
}

/// Makes an address or ends one.
pub async fn change(
    State(app): State<App>,
    chrome: Chrome,
    headers: HeaderMap,
    posted: Posted<Typed>,
) -> Answer {
    let mut deed = chrome.deed(&posted.key).await?;
    if posted.form.end != 0 {
        acts::calendar::revoke_feed(&mut deed, FeedId(posted.form.end)).await?;
        deed.commit(address::CALENDAR_FEEDS).await?;
        return Ok(see_other(address::CALENDAR_FEEDS));
    }
    let area = posted.form.area.parse().ok().map(AreaId);
    let token = acts::calendar::make_feed(&mut deed, area).await?;
    // A second press answers with the list: the secret is shown once.
    deed.commit(address::CALENDAR_FEEDS).await?;
    let made = format!(
        "{}{}",
        origin(&app, &headers),
        address::calendar_feed(token.text())
    );
    answer::page(&page(&app, chrome, Some(made)).await?)
}
