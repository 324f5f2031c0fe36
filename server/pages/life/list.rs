//! The service classes with what the register counts of each, as a way in to their lives.
//! Nothing is computed here; the counts are kept by triggers.

use askama::Template;
use axum::extract::State;

use super::{About, Asked, say};
use crate::pages::answer::{self, Answer};
use crate::pages::chrome::Chrome;
use crate::pages::{App, address};
use crate::record::gauge::Kind;
use crate::record::life::RULES;
use crate::record::person::Role;
use crate::store;
use crate::store::life::ClassLine;

#[derive(Template)]
#[template(path = "life/list.html")]
struct Page {
    chrome: Chrome,
    asked: Asked,
    about: About,
    lines: Vec<ClassLine>,
}

impl Page {
    fn failures(&self) -> i64 {
        self.lines.iter().map(|line| line.failures).sum()
    }

    #[expect(clippy::unused_self, reason = "templates call methods of their page")]
    fn part(&self, part: &str, line: &ClassLine) -> String {
        address::life_part(part, &[("class", line.id.0.to_string())])
    }
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome) -> Answer {
    let mut db = app.store().read().await?;
    let asked = Asked::default();
    let (about, _) = About::of(&mut db, &asked).await?;
    answer::page(&Page {
        chrome,
        asked,
        about,
        lines: store::life::classes(&mut db).await?,
    })
}
