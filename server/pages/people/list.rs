//! Everybody who has an account, for the administrator. One account is another page.

use askama::Template;
use axum::extract::State;

use crate::pages::answer::{self, Answer};
use crate::pages::chrome::Chrome;
use crate::pages::{App, address, show};
use crate::record::person::Person;
use crate::store;

#[derive(Template)]
#[template(path = "people/list.html")]
struct Page {
    chrome: Chrome,
    people: Vec<Person>,
    open: i64,
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome) -> Answer {
    let people = store::people::all(&mut *app.store().read().await?).await?;
    let open = people.iter().filter(|person| !person.closed).count();
    answer::page(&Page {
        chrome,
        people,
        open: i64::try_from(open).unwrap_or(i64::MAX),
    })
}
