//! Adding a kit to the storeroom's list and correcting one. A second saver sees what the first one
//! changed and loses nothing of what they typed.

use askama::Template;
use axum::extract::{Path, State};
use serde::Deserialize;

use crate::acts;
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::{App, address};
use crate::record::KitId;
use crate::record::gauge::Kind;
use crate::record::kit::Kit;
use crate::store;

/// What is typed, all of it text.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    number: String,
    name: String,
    kind: String,
    glass_length_mm: String,
    contents: String,
    shelf_life_months: String,
    lead_days: String,
    pack: String,
    minimum: String,
    version: i64,
}

#[derive(Template)]
#[template(path = "storeroom/edit_kit.html")]
struct Page {
    chrome: Chrome,
    typed: Typed,
    errors: Errors,
    /// The kit being corrected; none when one is added.
    kit: Option<Kit>,
}

impl Page {
    fn kinds() -> Vec<(String, String)> {
        Kind::ALL
            .iter()
            .map(|kind| (kind.word().to_owned(), kind.shown().to_owned()))
            .collect()
    }
}

fn blank() -> Typed {
    Typed {
        kind: Kind::Reflex.word().to_owned(),
        pack: "1".to_owned(),
        minimum: "1".to_owned(),
        ..Typed::default()
    }
}

fn typed_of(kit: &Kit) -> Typed {
    let text = |number: Option<u32>| number.map_or_else(String::new, |n| n.to_string());
    Typed {
        number: kit.number.to_string(),
        name: kit.name.clone(),
        kind: kit.kind.word().to_owned(),
        glass_length_mm: text(kit.glass_length_mm.map(u32::from)),
        contents: kit.contents.clone(),
        shelf_life_months: text(kit.shelf_life_months),
        lead_days: kit.lead_days.to_string(),
        pack: kit.pack.to_string(),
        minimum: kit.minimum.to_string(),
        version: kit.version,
    }
}

fn parsed(t: &Typed, id: KitId) -> Result<Kit, Errors> {
    let mut read = Reader::new();
    let number = read.parse("number", &t.number);
    let name = read.needed(
        "name",
        &t.name,
        120,
        "Say what it is for, in at most 120 characters",
    );
    let kind = read.parse("kind", &t.kind);
    let glass_length_mm = read
        .whole("glass_length_mm", &t.glass_length_mm, 50..=1000)
        .and_then(|mm| u16::try_from(mm).ok());
    let contents = read.text("contents", &t.contents.replace("\r\n", "\n"), 1000);
    let shelf_life_months = read.whole("shelf_life_months", &t.shelf_life_months, 1..=240);
    let lead_days = read.needed_whole("lead_days", &t.lead_days, 0..=1000);
    let pack = read.needed_whole("pack", &t.pack, 1..=1000);
    let minimum = read.needed_whole("minimum", &t.minimum, 1..=10_000);
    let whole = (|| {
        Some(Kit {
            id,
            number: number?,
            name: name?,
            kind: kind?,
            glass_length_mm,
            contents,
            shelf_life_months,
            lead_days: lead_days?,
            pack: pack?,
            minimum: minimum?,
            version: t.version,
        })
    })();
    read.finish(whole)
}

/// The empty form.
pub async fn new(chrome: Chrome) -> Answer {
    answer::page(&Page {
        chrome,
        typed: blank(),
        errors: Errors::none(),
        kit: None,
    })
}

/// Adds the kit.
pub async fn add(chrome: Chrome, posted: Posted<Typed>) -> Answer {
    let done = match parsed(&posted.form, KitId(0)) {
        Ok(kit) => add_one(&chrome, &posted.key, &kit)
            .await
            .map_err(form::refused),
        Err(errors) => Err(Ok(errors)),
    };
    match done {
        Ok(to) => Ok(see_other(&to)),
        Err(errors) => answer::refused(&Page {
            chrome,
            typed: posted.form,
            errors: errors?,
            kit: None,
        }),
    }
}

async fn add_one(chrome: &Chrome, key: &str, kit: &Kit) -> acts::Result<String> {
    let mut deed = chrome.deed(key).await?;
    acts::kits::add(&mut deed, kit).await?;
    let to = address::kit(&kit.number);
    deed.commit(&to).await?;
    Ok(to)
}

/// The form with what is known.
pub async fn edit(State(app): State<App>, chrome: Chrome, Path(number): Path<String>) -> Answer {
    let kit = found(&app, &number).await?;
    answer::page(&Page {
        chrome,
        typed: typed_of(&kit),
        errors: Errors::none(),
        kit: Some(kit),
    })
}

/// Corrects the kit.
pub async fn correct(
    State(app): State<App>,
    chrome: Chrome,
    Path(number): Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    let kit = found(&app, &number).await?;
    let done = match parsed(&posted.form, kit.id) {
        Ok(kit) => correct_one(&chrome, &posted.key, &kit)
            .await
            .map_err(form::refused),
        Err(errors) => Err(Ok(errors)),
    };
    match done {
        Ok(to) => Ok(see_other(&to)),
        Err(errors) => answer::refused(&Page {
            chrome,
            typed: posted.form,
            errors: errors?,
            kit: Some(kit),
        }),
    }
}

async fn correct_one(chrome: &Chrome, key: &str, kit: &Kit) -> acts::Result<String> {
    let mut deed = chrome.deed(key).await?;
    acts::kits::correct(&mut deed, kit).await?;
    let to = address::kit(&kit.number);
    deed.commit(&to).await?;
    Ok(to)
}

async fn found(app: &App, number: &str) -> Result<Kit, PageError> {
    let mut db = app.store().read().await?;
    store::kits::by_number(&mut db, number)
        .await?
        .ok_or(PageError::NotFound("kit"))
}
