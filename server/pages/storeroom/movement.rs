//! The form of each movement of a lot: receipt of more, issue without a rebuild, return, count and
//! scrap, named in the address as in the ledger. Kits for a rebuild are issued at the bench.

use askama::Template;
use axum::extract::{Path, Query, State};
use serde::Deserialize;

use super::{lie_there, place_word, places, read_place};
use crate::acts;
use crate::acts::stock::{self, Count, Spot};
use crate::calc::lots::Usability;
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::{App, address, show};
use crate::record::RebuildId;
use crate::record::kit::{Lot, Movement};
use crate::store;
use crate::store::stock::OutWith;

/// The longest name of a place.
const LONGEST_PLACE: usize = 60;
/// The most kits one line moves.
const MOST: u32 = 10_000;

/// What is typed, all of it text.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    quantity: String,
    received_on: String,
    from: String,
    reason: String,
    seen: String,
    despite: String,
    place: String,
    to: String,
}

/// The place as it stands in the address.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    place: String,
}

#[derive(Template)]
#[template(path = "storeroom/movement.html")]
struct Page {
    chrome: Chrome,
    lot: Lot,
    movement: Movement,
    typed: Typed,
    errors: Errors,
    /// A lot of the kit that should go out before this one.
    before: Option<Lot>,
    /// Open rebuilds that hold kits of the lot.
    out: Vec<OutWith>,
    /// Kits out without a rebuild.
    out_without: i64,
    /// Kits of this kind that planned rebuilds reserve.
    reserved: i64,
}

impl Page {
    async fn of(
        app: &App,
        chrome: Chrome,
        (lot, movement): (Lot, Movement),
        typed: Typed,
        errors: Errors,
    ) -> Result<Self, PageError> {
        let mut db = app.store().read().await?;
        let (mut before, mut out, mut out_without, mut reserved) = (None, Vec::new(), 0, 0);
        match movement {
            Movement::Issue => {
                reserved = store::needs::reserved(&mut db, lot.kit_id).await?;
                before = store::kits::lots_on_hand(&mut db, lot.kit_id)
                    .await?
                    .into_iter()
                    .find(|other| other.usable_on(chrome.today))
                    .filter(|other| other.id != lot.id);
            }
            Movement::Return => {
                out = store::stock::out_with(&mut db, lot.id).await?;
                out_without = store::stock::out_of(&mut db, lot.id, None).await?;
            }
            Movement::Receipt | Movement::Count | Movement::Scrap => {}
        }
        Ok(Self {
            chrome,
            lot,
            movement,
            typed,
            errors,
            before,
            out,
            out_without,
            reserved,
        })
    }

    fn title(&self) -> &'static str {
        match self.movement {
            Movement::Receipt => "Receive more into lot",
            Movement::Issue => "Issue from lot",
            Movement::Return => "Take back into lot",
            Movement::Count => "Count lot",
            Movement::Scrap => "Scrap from lot",
        }
    }

    fn button(&self) -> &'static str {
        match self.movement {
            Movement::Receipt => "Receive them",
            Movement::Issue => "Issue them",
            Movement::Return => "Take them back",
            Movement::Count => "Write the count",
            Movement::Scrap => "Scrap them",
        }
    }

    fn expired(&self) -> bool {
        self.lot.usability(self.chrome.today) == Usability::Expired
    }

    /// The places of the lot; a count is not told how many lie there.
    fn places(&self) -> Vec<(String, String)> {
        places(&self.lot, self.movement != Movement::Count)
    }

    /// What is asked where a lot lies in several places.
    fn asked_where(&self) -> &'static str {
        match self.movement {
            Movement::Receipt | Movement::Return => "Where they are put",
            Movement::Issue | Movement::Count | Movement::Scrap => "Where they are taken from",
        }
    }

    /// What the field of another place is told about those there are.
    fn elsewhere(&self) -> String {
        if self.lot.several() {
            "If they are put where none of the lot lies yet".to_owned()
        } else {
            format!("If they are not put at {}", self.lot.called(None))
        }
    }

    /// The places to choose from before a count begins, with their addresses.
    fn to_count(&self) -> Vec<(String, String)> {
        let here = address::lot_part(&self.lot.kit, &self.lot.number, self.movement.word());
        let parts = self.lot.parts();
        parts
            .iter()
            .map(|part| {
                let place = part.place.as_deref();
                let to = address::with_query(&here, &[("place", place_word(place))]);
                (self.lot.called(place).to_owned(), to)
            })
            .collect()
    }

    /// Whether it has to be said first where is counted.
    fn unplaced(&self) -> bool {
        self.movement == Movement::Count && read_place(&self.lot, &self.typed.place).is_err()
    }

    fn there(&self) -> i64 {
        lie_there(&self.lot, &self.typed.place)
    }

    /// The place counted, where there are several.
    fn counted_at(&self) -> Option<&str> {
        let place = self.typed.place.strip_prefix(super::AT);
        self.lot.several().then(|| self.lot.called(place))
    }

    /// Where returned kits may come from: open rebuilds, and what went out without one.
    fn sources(&self) -> Vec<(String, String)> {
        let mut list: Vec<_> = self
            .out
            .iter()
            .map(|one| {
                let words = format!("{}, rebuild {}: {} out", one.tag, one.ordinal, one.kits);
                (one.rebuild.0.to_string(), words)
            })
            .collect();
        if self.out_without > 0 {
            let words = format!("without a rebuild: {} out", self.out_without);
            list.push((String::new(), words));
        }
        list
    }
}

/// The form.
pub async fn show(
    State(app): State<App>,
    chrome: Chrome,
    Path((kit, number, movement)): Path<(String, String, String)>,
    Query(asked): Query<Asked>,
) -> Answer {
    let found = found(&app, &kit, &number, &movement).await?;
    let typed = Typed {
        received_on: show::plain_date(&chrome.today),
        place: asked.place,
        ..Typed::default()
    };
    answer::page(&Page::of(&app, chrome, found, typed, Errors::none()).await?)
}

/// Writes the line.
pub async fn write(
    State(app): State<App>,
    chrome: Chrome,
    Path((kit, number, movement)): Path<(String, String, String)>,
    posted: Posted<Typed>,
) -> Answer {
    let found = found(&app, &kit, &number, &movement).await?;
    let done = match parsed(&posted.form, &found) {
        Ok((line, place)) => write_one(&chrome, &posted.key, (&found.0, place.as_deref()), line)
            .await
            .map_err(form::refused),
        Err(errors) => Err(Ok(errors)),
    };
    match done {
        Ok(to) => Ok(see_other(&to)),
        Err(errors) => answer::refused(&Page::of(&app, chrome, found, posted.form, errors?).await?),
    }
}

/// What was typed, read.
enum Line<'a> {
    Receipt(u32, time::Date, &'a str),
    Issue(u32, &'a str, stock::Reserved),
    Return(u32, Option<RebuildId>, &'a str),
    Count(Count<'a>),
    Scrap(u32, &'a str),
}

/// What was typed, and the place it happens in.
type Placed<'a> = (Line<'a>, Option<String>);

fn parsed<'a>(t: &'a Typed, (lot, movement): &(Lot, Movement)) -> Result<Placed<'a>, Errors> {
    let movement = *movement;
    let mut read = Reader::new();
    let place = match (movement, t.to.trim()) {
        (Movement::Receipt, "") => read.take("place", read_place(lot, &t.place)),
        (Movement::Receipt, _) => Some(Some(read.text("to", &t.to, LONGEST_PLACE))),
        _ => read.take("place", read_place(lot, &t.place)),
    };
    let least = u32::from(movement != Movement::Count);
    let quantity = read.needed_whole("quantity", &t.quantity, least..=MOST);
    let reason = t.reason.as_str();
    let line = match movement {
        Movement::Receipt => {
            let on = read.needed_date("received_on", &t.received_on);
            quantity
                .zip(on)
                .map(|(quantity, on)| Line::Receipt(quantity, on, reason))
        }
        Movement::Issue => {
            let reserved = if t.despite.is_empty() {
                stock::Reserved::Kept
            } else {
                stock::Reserved::Taken
            };
            quantity.map(|quantity| Line::Issue(quantity, reason, reserved))
        }
        Movement::Return => {
            let from = source(&mut read, &t.from);
            quantity.map(|quantity| Line::Return(quantity, from, reason))
        }
        Movement::Count => {
            let seen = read.take(
                "quantity",
                t.seen
                    .parse()
                    .map_err(|_| "Load the page again before you count"),
            );
            quantity.zip(seen).map(|(counted, seen)| {
                Line::Count(Count {
                    counted,
                    seen,
                    reason,
                })
            })
        }
        Movement::Scrap => quantity.map(|quantity| Line::Scrap(quantity, reason)),
    };
    read.finish(line.zip(place))
}

/// The rebuild they come from; empty text is what went out without one.
fn source(read: &mut Reader, from: &str) -> Option<RebuildId> {
    if from.is_empty() {
        return None;
    }
    read.take(
        "from",
        from.parse()
            .map(RebuildId)
            .map_err(|_| "Choose where they come from"),
    )
}

async fn write_one(
    chrome: &Chrome,
    key: &str,
    (lot, place): (&Lot, Option<&str>),
    line: Line<'_>,
) -> acts::Result<String> {
    let spot = Spot { lot: lot.id, place };
    let mut deed = chrome.deed(key).await?;
    match line {
        Line::Receipt(quantity, on, note) => {
            stock::receive_more(&mut deed, spot, quantity, on, note).await?
        }
        Line::Issue(quantity, reason, reserved) => {
            stock::issue_without_rebuild(&mut deed, spot, quantity, reason, reserved).await?
        }
        Line::Return(quantity, from, reason) => {
            stock::take_back(&mut deed, spot, from, quantity, reason).await?
        }
        Line::Count(count) => stock::count(&mut deed, spot, &count).await?,
        Line::Scrap(quantity, reason) => stock::scrap(&mut deed, spot, quantity, reason).await?,
    };
    let to = address::lot(&lot.kit, &lot.number);
    deed.commit(&to).await?;
    Ok(to)
}

async fn found(
    app: &App,
    kit: &str,
    number: &str,
    movement: &str,
) -> Result<(Lot, Movement), PageError> {
    let movement = movement.parse().map_err(|_| PageError::NotFound("page"))?;
    let mut db = app.store().read().await?;
    let lot = store::kits::lot_by_number(&mut db, kit, number)
        .await?
        .ok_or(PageError::NotFound("lot"))?;
    Ok((lot, movement))
}
