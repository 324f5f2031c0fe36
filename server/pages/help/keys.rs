//! The few keys that spare a way through the menu, and the switch that turns them off.
//! What they do is in `static/touch.js`; without script there are none.

use askama::Template;

use crate::pages::address;
use crate::pages::answer::{self, Answer};
use crate::pages::chrome::Chrome;

#[derive(Template)]
#[template(path = "help/keys.html")]
struct Page {
    chrome: Chrome,
}

/// The page.
pub async fn show(chrome: Chrome) -> Answer {
    answer::page(&Page { chrome })
}
