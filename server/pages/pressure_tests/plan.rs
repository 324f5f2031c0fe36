//! Planning re-tests beside the rebuilds' own: for which gauges, by which day, witnessed or not; and
//! dropping one with a reason. A passed test ends it by itself.

use askama::Template;
use axum::extract::{Path, State};
use serde::Deserialize;

use crate::acts;
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::{App, address, show};
use crate::store;
use crate::store::planned_tests::Planned;

/// Planned tests shown.
const SHOWN: i64 = 200;
/// Gauges planned at a time.
const AT_A_TIME: usize = 100;

/// What is typed.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    tags: String,
    day: String,
    witnessed: String,
    note: String,
}

/// Why one is dropped.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Dropped {
    why: String,
}

#[derive(Template)]
#[template(path = "pressure_tests/plan.html")]
struct Page {
    chrome: Chrome,
    planned: Vec<Planned>,
    typed: Typed,
    errors: Errors,
}

async fn page(app: &App, chrome: Chrome, typed: Typed, errors: Errors) -> Result<Page, PageError> {
    let mut db = app.store().read().await?;
    let planned = store::planned_tests::open(&mut db, SHOWN).await?;
    Ok(Page {
        chrome,
        planned,
        typed,
        errors,
    })
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome) -> Answer {
    answer::page(&page(&app, chrome, Typed::default(), Errors::none()).await?)
}

/// Plans a test of each gauge named.
pub async fn plan(State(app): State<App>, chrome: Chrome, posted: Posted<Typed>) -> Answer {
    let mut read = Reader::new();
    let day = read.needed_date("day", &posted.form.day);
    let note = read.text("note", &posted.form.note, 400);
    let tags: Vec<&str> = posted
        .form
        .tags
        .split(|c: char| c.is_whitespace() || c == ',' || c == ';')
        .filter(|tag| !tag.is_empty())
        .collect();
    if tags.is_empty() || tags.len() > AT_A_TIME {
        read.refuse("tags", "Write one to a hundred tag numbers, spaces between");
    }
    let errors = match read.finish(day) {
        Ok(day) => {
            let done = async {
                let mut deed = chrome.deed(&posted.key).await?;
                let witnessed = !posted.form.witnessed.is_empty();
                for tag in tags {
                    let planned = (day, witnessed, note.as_str());
                    acts::planned_tests::plan(&mut deed, tag, planned).await?;
                }
                deed.commit(address::PLAN_TESTS).await
            };
            match done.await {
                Ok(()) => return Ok(see_other(address::PLAN_TESTS)),
                Err(error) => form::refused(error)?,
            }
        }
        Err(errors) => errors,
    };
    answer::refused(&page(&app, chrome, posted.form, errors).await?)
}

/// Drops the planned test of a gauge.
pub async fn drop_it(
    State(app): State<App>,
    chrome: Chrome,
    Path(tag): Path<String>,
    posted: Posted<Dropped>,
) -> Answer {
    let done = async {
        let mut deed = chrome.deed(&posted.key).await?;
        acts::planned_tests::drop_it(&mut deed, &tag, &posted.form.why).await?;
        deed.commit(address::PLAN_TESTS).await
    };
    match done.await {
        Ok(()) => Ok(see_other(address::PLAN_TESTS)),
        Err(error) => {
            let errors = form::refused(error)?;
            answer::refused(&page(&app, chrome, Typed::default(), errors).await?)
        }
    }
}
