//! Choosing labels: of what, which ones, on which sheet, from which label on.
//! The address of the sheet carries the choice.

use askama::Template;
use axum::extract::{Query, State};
use axum::http::HeaderMap;
use serde::Deserialize;

use super::sheet::origin;
use crate::pages::answer::{self, Answer};
use crate::pages::chrome::Chrome;
use crate::pages::{App, address};
use crate::papers::labels::FORMATS;
use crate::record::person::Role;
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
    /// The address the codes would open.
    base: String,
    /// Whether only this machine knows it.
    local: bool,
}

/// The page.
pub async fn show(
    State(app): State<App>,
    chrome: Chrome,
    headers: HeaderMap,
    Query(asked): Query<Asked>,
) -> Answer {
    let base = origin(&app, &headers);
    let areas = store::plant::areas(&mut *app.store().read().await?).await?;
    answer::page(&Page {
        chrome,
        asked,
        areas,
        local: local(&base),
        base,
    })
}

/// Whether an address reaches no further than the machine that serves it.
fn local(address: &str) -> bool {
    let host = address.split_once("//").map_or(address, |(_, rest)| rest);
    ["localhost", "127.", "[::1]", "0.0.0.0"]
        .iter()
        .any(|own| host.starts_with(own))
}
