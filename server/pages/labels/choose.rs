//! Choosing labels: of what, which ones, on which sheet, from which label on.
//! The address of the sheet carries the choice.

use askama::Template;
use axum::extract::{Query, State};
use serde::Deserialize;

use crate::pages::answer::{self, Answer};
use crate::pages::chrome::Chrome;
use crate::pages::{App, address};
use crate::papers::labels::FORMATS;
use crate::record::plant::Area;
use crate::store;

/// The choice as it stands in the address.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    pub(super) of: String,
    pub(super) area: String,
    pub(super) which: String,
    pub(super) sheet: String,
    pub(super) from: String,
}

#[derive(Template)]
#[template(path = "labels/choose.html")]
struct Page {
    chrome: Chrome,
    asked: Asked,
    areas: Vec<Area>,
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome, Query(asked): Query<Asked>) -> Answer {
    let areas = store::plant::areas(&mut *app.store().read().await?).await?;
    answer::page(&Page {
        chrome,
        asked,
        areas,
    })
}
