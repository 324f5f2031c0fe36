//! Counting in the aisle: type or scan what a lot's label says, write how many lie there, go on to
//! the next. The same count, with more around it, is on the lot's own page.

use askama::Template;
use axum::extract::{Query, State};
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::{place_word, read_place};
use crate::acts;
use crate::acts::stock::{self, Count, Spot};
use crate::pages::answer::{self, Answer, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::{App, address, show};
use crate::record::kit::Lot;
use crate::record::{LotId, Refusal};
use crate::store;

/// The label as it stands in the address, and the count before.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    label: String,
    done: String,
}

/// What is typed of one lot.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    lot: i64,
    place: String,
    quantity: String,
    seen: String,
    reason: String,
}

/// Kits to count: those of a lot that lie together.
struct Pile {
    lot: Lot,
    /// The place as the form says it.
    word: String,
    /// The place as people say it; empty where none is written down.
    place: String,
    kits: i64,
}

impl Pile {
    fn of(lots: Vec<Lot>) -> Vec<Self> {
        let piles = lots.into_iter().flat_map(|lot| {
            let parts = lot.parts();
            parts.into_iter().map(move |part| Self {
                word: place_word(part.place.as_deref()),
                place: part.place.clone().unwrap_or_else(|| lot.place.clone()),
                kits: part.kits,
                lot: lot.clone(),
            })
        });
        piles.collect()
    }
}

#[derive(Template)]
#[template(path = "storeroom/count.html")]
struct Page {
    chrome: Chrome,
    asked: Asked,
    found: Vec<Pile>,
    typed: Typed,
    errors: Errors,
}

/// What a label says: the address in its code, or the number people read.
enum Said {
    Lot(String, String),
    Number(String),
}

fn said(label: &str) -> Said {
    let path = label.split(['?', '#']).next().unwrap_or_default();
    if let Some((_, rest)) = path.split_once("/storeroom/kits/")
        && let Some((kit, lot)) = rest.split_once("/lots/")
    {
        let lot = lot.split('/').next().unwrap_or_default();
        return Said::Lot(decoded(kit), decoded(lot));
    }
    Said::Number(label.trim().to_owned())
}

/// Text out of an address.
fn decoded(text: &str) -> String {
    let bytes = text.as_bytes();
    let mut out = Vec::with_capacity(bytes.len());
    let mut at = 0;
    while let Some(byte) = bytes.get(at) {
        let pair = text.get(at + 1..at + 3);
        match pair.and_then(|pair| u8::from_str_radix(pair, 16).ok()) {
            Some(code) if *byte == b'%' => {
                out.push(code);
                at += 3;
            }
            _ => {
                out.push(*byte);
                at += 1;
            }
        }
    }
    String::from_utf8_lossy(&out).into_owned()
}

async fn lots(db: &mut SqliteConnection, label: &str) -> store::Result<Vec<Lot>> {
    match said(label) {
        Said::Lot(kit, lot) => Ok(store::kits::lot_by_number(db, &kit, &lot)
            .await?
            .into_iter()
            .collect()),
        Said::Number(number) if number.is_empty() => Ok(Vec::new()),
        Said::Number(number) => {
            let lots = store::stock::of_number(db, &number).await?;
            if !lots.is_empty() {
                return Ok(lots);
            }
            match store::kits::id_of(db, &number).await? {
                Some(kit) => store::kits::lots_on_hand(db, kit).await,
                None => Ok(Vec::new()),
            }
        }
    }
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome, Query(asked): Query<Asked>) -> Answer {
    let mut db = app.store().read().await?;
    let found = lots(&mut db, &asked.label).await?;
    let mut errors = Errors::none();
    if found.is_empty() && !asked.label.trim().is_empty() {
        errors.add("label", "No lot and no kit has this number");
    }
    answer::page(&Page {
        chrome,
        asked,
        found: Pile::of(found),
        typed: Typed::default(),
        errors,
    })
}

/// Writes the count and goes on to the next.
pub async fn write(State(app): State<App>, chrome: Chrome, posted: Posted<Typed>) -> Answer {
    let typed = &posted.form;
    let mut read = Reader::new();
    let counted = read.needed_whole("quantity", &typed.quantity, 0..=10_000);
    let seen = read.take(
        "quantity",
        typed
            .seen
            .parse()
            .map_err(|_| "Look the lot up again before you count"),
    );
    let done = match read.finish(counted.zip(seen)) {
        Ok(pair) => write_one(&app, &chrome, &posted, pair)
            .await
            .map_err(form::refused),
        Err(errors) => Err(Ok(errors)),
    };
    match done {
        Ok(to) => Ok(see_other(&to)),
        Err(errors) => {
            let errors = errors?;
            let mut db = app.store().read().await?;
            let lot = store::kits::lot(&mut db, LotId(posted.form.lot)).await?;
            let label = lot
                .as_ref()
                .map_or_else(String::new, |lot| lot.number.to_string());
            answer::refused(&Page {
                chrome,
                asked: Asked {
                    label,
                    done: String::new(),
                },
                found: Pile::of(lot.into_iter().collect())
                    .into_iter()
                    .filter(|pile| pile.word == posted.form.place || posted.form.place.is_empty())
                    .collect(),
                typed: posted.form,
                errors,
            })
        }
    }
}

async fn write_one(
    app: &App,
    chrome: &Chrome,
    posted: &Posted<Typed>,
    (counted, seen): (u32, i64),
) -> acts::Result<String> {
    let id = LotId(posted.form.lot);
    let lot = store::kits::lot(&mut *app.store().read().await?, id).await?;
    let place = match &lot {
        Some(lot) => read_place(lot, &posted.form.place)
            .map_err(|words| Refusal::field("quantity", words))?,
        None => None,
    };
    let spot = Spot {
        lot: id,
        place: place.as_deref(),
    };
    let mut deed = chrome.deed(&posted.key).await?;
    let count = Count {
        counted,
        seen,
        reason: &posted.form.reason,
    };
    stock::count(&mut deed, spot, &count).await?;
    let number = lot.map_or_else(String::new, |lot| lot.number.to_string());
    let to = address::with_query(address::COUNT, &[("done", format!("{number}: {counted}"))]);
    deed.commit(&to).await?;
    Ok(to)
}
