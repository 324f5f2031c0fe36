//! Which gauge is to be tested: a tag number leads straight to its form, anything else to the
//! gauges it may have meant.

use askama::Template;
use axum::extract::{Query, State};
use serde::Deserialize;

use crate::pages::answer::{self, Answer, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::{App, address};
use crate::store;
use crate::store::gauge_list::{Filter, Line};
use crate::store::pressure_tests::OnTest;

/// Gauges offered.
const OFFERED: i64 = 20;

/// What was typed.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    tag: String,
}

#[derive(Template)]
#[template(path = "pressure_tests/choose.html")]
struct Page {
    chrome: Chrome,
    asked: Asked,
    lines: Vec<Line>,
    on_test: Vec<OnTest>,
}

/// The page, or on to the gauge's form.
pub async fn show(State(app): State<App>, chrome: Chrome, Query(asked): Query<Asked>) -> Answer {
    let mut db = app.store().read().await?;
    let tag = asked.tag.trim();
    if store::gauges::id_of(&mut db, tag).await?.is_some() {
        return Ok(see_other(&address::record_pressure_test(tag)));
    }
    let lines = if tag.chars().any(char::is_alphanumeric) {
        let like = Filter {
            words: Some(tag.to_owned()),
            ..Filter::default()
        };
        store::gauge_list::list(&mut db, &like, OFFERED).await?
    } else {
        Vec::new()
    };
    let on_test = store::pressure_tests::to_be_tested(&mut db, OFFERED).await?;
    answer::page(&Page {
        chrome,
        asked,
        lines,
        on_test,
    })
}
