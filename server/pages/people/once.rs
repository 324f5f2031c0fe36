//! A one-time address, shown this once: whoever opens it first sets the password.
//! Only its hash is kept, so the page cannot be shown again.

use askama::Template;

use crate::pages::answer::{self, Answer};
use crate::pages::chrome::Chrome;
use crate::pages::{address, show};
use crate::record::Moment;
use crate::record::person::Person;

/// The page after somebody was added or their password was reset.
#[derive(Template)]
#[template(path = "people/once.html")]
pub struct Page {
    /// The frame.
    pub chrome: Chrome,
    /// Whose password it sets.
    pub person: Person,
    /// The whole address.
    pub address: String,
    /// Until when it works.
    pub until: Moment,
}

/// Shows it.
///
/// # Errors
/// The template failed.
pub fn page(page: &Page) -> Answer {
    answer::page(page)
}
