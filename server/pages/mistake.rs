//! The page that takes back what was recorded by mistake: it names the record, says when that is right
//! and asks why. What may be taken back, and what follows, is decided in `acts`.

use askama::Template;
use serde::Deserialize;

use super::address;
use super::answer::{self, Answer};
use super::chrome::Chrome;
use super::form::{self, Errors};
use crate::acts;

/// What is typed.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    /// What the mistake was.
    pub why: String,
}

/// What may have been recorded by mistake, in the words of its page.
#[derive(Debug, Clone)]
pub struct Subject {
    /// What it is.
    pub what: &'static str,
    /// How it came to be on record.
    pub made: &'static str,
    /// The number of the gauge or instrument it belongs to.
    pub of: String,
    /// Where that is shown.
    pub page: String,
    /// What stands out of what it says, and the rest of the sentence.
    pub says: (String, String),
    /// When taking it back is right, and what is done where it is not.
    pub caution: String,
    /// What the button takes back.
    pub taken: &'static str,
    /// Where the reason stays.
    pub kept: &'static str,
}

#[derive(Template)]
#[template(path = "parts/mistake.html")]
struct Page {
    chrome: Chrome,
    subject: Subject,
    typed: Typed,
    errors: Errors,
}

/// The page.
///
/// # Errors
/// A page that cannot be written.
pub fn ask(chrome: Chrome, subject: Subject) -> Answer {
    answer::page(&Page {
        chrome,
        subject,
        typed: Typed::default(),
        errors: Errors::none(),
    })
}

/// The page again, with what was typed and why it was refused.
///
/// # Errors
/// What is not the typist's to mend.
pub fn refused(chrome: Chrome, subject: Subject, typed: Typed, error: acts::Error) -> Answer {
    answer::refused(&Page {
        chrome,
        subject,
        typed,
        errors: form::refused(error)?,
    })
}

/// What somebody noted beside it, as the end of a sentence.
pub fn noted(note: &str) -> String {
    if note.is_empty() {
        String::new()
    } else {
        format!(": {note}")
    }
}
