//! One lot: what it holds, whether it may be used, and its ledger with the running balance.
//! Each movement has its own form.

use askama::Template;
use axum::extract::{Path, Query, State};
use serde::Deserialize;

use super::{Entry, place_word, woven};
use crate::calc::lots::Usability;
use crate::pages::answer::{self, Answer, PageError};
use crate::pages::chrome::Chrome;
use crate::pages::{App, address, show};
use crate::record::StockLineId;
use crate::record::kit::Lot;
use crate::record::person::Role;
use crate::store;
use crate::store::stock::OutWith;

/// Lines on a page.
const PAGE: usize = 50;

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
    let before = asked.before.parse().ok().map(StockLineId);
    let most = i64::try_from(PAGE + 1).unwrap_or(51);
    let mut lines = store::stock::of_lot(&mut db, lot.id, before, most).await?;
    let more = lines.len() > PAGE;
    lines.truncate(PAGE);
    let next = lines.last().filter(|_| more).map(|last| {
        let here = address::lot(&lot.kit, &lot.number);
        address::with_query(&here, &[("before", last.id.0.to_string())])
    });
    let moves = match lines.last() {
        Some(last) => store::stock::moves(&mut db, Some(lot.id), (last.id, before)).await?,
        None => Vec::new(),
    };
    let out = store::stock::out_with(&mut db, lot.id).await?;
    answer::page(&Page {
        chrome,
        lot,
        out,
        lines: woven(lines, moves),
        next,
    })
}
