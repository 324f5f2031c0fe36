//! The list of computations, part by part.
//! Each leads to a page where it is tried; the list itself knows no gauge and no plant.

use askama::Template;

use crate::pages::address;
use crate::pages::answer::{self, Answer};
use crate::pages::chrome::Chrome;
use crate::workings::{self, Computation, Part};

#[derive(Template)]
#[template(path = "workings/list.html")]
struct Page {
    chrome: Chrome,
    parts: Vec<(Part, Vec<&'static Computation>)>,
    total: usize,
}

/// The page.
pub async fn show(chrome: Chrome) -> Answer {
    let parts = Part::ALL
        .into_iter()
        .map(|part| {
            let own = workings::all().iter().filter(|one| one.part == part);
            (part, own.collect())
        })
        .collect();
    answer::page(&Page {
        chrome,
        parts,
        total: workings::all().len(),
    })
}
