//! One lot: what it holds, whether it may be used, and its ledger with the running balance.
//! Each movement has its own form.

use askama::Template;
use axum::extract::{Path, Query, State};
use serde::Deserialize;

use super::{ASKED, Entry, place_word, read_before, woven};
use crate::calc::lots::Usability;
use crate::pages::answer::{self, Answer, PageError};
use crate::pages::chrome::Chrome;
use crate::pages::{App, address, show};
use crate::record::kit::{Lot, Movement};
use crate::record::person::Role;
use crate::store;
use crate::store::stock::OutWith;

/// Where the ledger goes on.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    before: String,
}

#[derive(Template)]
#[template(path = "storeroom/lot.html")]
struct Page {
    chrome: Chrome,
    lot: Lot,
    out: Vec<OutWith>,
    lines: Vec<Entry>,
    next: Option<String>,
    /// Where the ledger begins, on a page that goes on with it.
    newest: Option<String>,
}

/// A place of the lot, with the forms that begin there.
struct At {
    called: String,
    own: bool,
    kits: i64,
    lot: String,
    word: String,
}

impl At {
    fn to(&self, part: &str) -> String {
        let form = format!("{}/{part}", self.lot);
        address::with_query(&form, &[("place", self.word.clone())])
    }
}

impl Page {
    fn places(&self) -> Vec<At> {
        let parts = self.lot.parts().into_iter();
        parts
            .map(|part| At {
                called: self.lot.called(part.place.as_deref()).to_owned(),
                own: part.place.is_none(),
                kits: part.kits,
                lot: address::lot(&self.lot.kit, &self.lot.number),
                word: place_word(part.place.as_deref()),
            })
            .collect()
    }

    fn usability(&self) -> Usability {
        self.lot.usability(self.chrome.today)
    }
}

/// The page.
pub async fn show(
    State(app): State<App>,
    chrome: Chrome,
    Path((kit, number)): Path<(String, String)>,
    Query(asked): Query<Asked>,
) -> Answer {
    let mut db = app.store().read().await?;
    let lot = store::kits::lot_by_number(&mut db, &kit, &number)
        .await?
        .ok_or(PageError::NotFound("lot"))?;
    let before = read_before(&asked.before);
    let lines = store::stock::of_lot(&mut db, lot.id, before, ASKED).await?;
    let moves = store::stock::moves(&mut db, Some(lot.id), before, ASKED).await?;
    let (lines, next) = woven(lines, moves);
    let next = next.map(|before| {
        let here = address::lot(&lot.kit, &lot.number);
        address::with_query(&here, &[("before", before)])
    });
    let on = !asked.before.is_empty();
    let newest = on.then(|| address::lot(&lot.kit, &lot.number));
    let out = store::stock::out_with(&mut db, lot.id).await?;
    answer::page(&Page {
        chrome,
        lot,
        out,
        lines,
        next,
        newest,
    })
}
