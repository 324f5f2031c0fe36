//! Kits issued to a rebuild from the bench: the lot that expires first is proposed, another one may be
//! taken, an expired one may not. Receiving and counting belong to the storeroom.

use axum::extract::{Path, Query, State};
use serde::Deserialize;
use sqlx::SqliteConnection;
use time::Date;

use super::job::{self, Job};
use super::sheet::{Form, Page};
use super::step::{Common, Options};
use crate::acts;
use crate::acts::bench::Issue;
use crate::pages::answer::{self, Answer, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::{App, address, show};
use crate::record::kit::{Lot, Part};
use crate::record::turn::Left;
use crate::record::{KitId, KitNumber, LotId, LotNumber};
use crate::store;

/// What is typed.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    pub(super) kit: String,
    pub(super) lot: String,
    pub(super) quantity: String,
    pub(super) reason: String,
    pub(super) back: String,
}

/// Kits of a lot, lying together, to choose from.
#[derive(Debug, Clone)]
pub struct Offer {
    /// The lot.
    pub lot: Lot,
    /// The place and how many lie there.
    pub part: Part,
    /// Whether it may be used today.
    pub usable: bool,
}

impl Offer {
    /// What lies on hand, place by place; a place that is empty just now is not offered.
    pub fn of(lots: Vec<Lot>, today: Date) -> Vec<Self> {
        let parts = lots.into_iter().flat_map(|lot| {
            let parts = lot.parts().into_iter().filter(|part| part.kits > 0);
            parts
                .map(move |part| (lot.clone(), part))
                .collect::<Vec<_>>()
        });
        parts
            .map(|(lot, part)| Self {
                usable: lot.usable_on(today),
                lot,
                part,
            })
            .collect()
    }

    /// How it is named in a form: the row of the lot, and the place where that is not the lot's own.
    pub fn word(&self) -> String {
        match &self.part.place {
            Some(place) => format!("{}@{place}", self.lot.id.0),
            None => self.lot.id.0.to_string(),
        }
    }

    /// Where it lies, if that is written down.
    pub fn place(&self) -> &str {
        self.part.place.as_deref().unwrap_or(&self.lot.place)
    }

    /// Until when it may be used, in words.
    pub fn until(&self) -> String {
        match (self.lot.expires_on, self.usable) {
            _ if self.lot.held_back.is_some() => "recalled and held back".to_owned(),
            (None, _) => "no last day".to_owned(),
            (Some(last), true) => format!("to be used up to {}", show::date(&last)),
            (Some(last), false) => format!(
                "not to be used any more: its last day was {}",
                show::date(&last)
            ),
        }
    }
}

/// The form with the lots on hand.
#[derive(Debug, Clone)]
pub struct View {
    /// What is typed.
    pub typed: Typed,
    /// The kit whose lots are offered.
    pub kit: Option<KitNumber>,
    /// Whether that is the kit named for the gauge.
    pub named: bool,
    /// The lots on hand, first expired first.
    pub lots: Vec<Offer>,
    /// What the shelf holds today, where more is needed than the rebuilds that come before leave of it.
    pub promised: Option<Left>,
    /// Every kit, for choosing another one.
    pub kits: Options,
    /// What the rebuild holds: lot, its number, kits.
    pub held: Vec<(LotId, LotNumber, i64)>,
}

/// What the shelf holds today for a rebuild that fits its kits today, after those that come before it.
async fn left(
    db: &mut SqliteConnection,
    job: &Job,
    kit: KitId,
    today: Date,
) -> store::Result<Left> {
    let queues = store::shelf::queues(db, &[kit], job.rebuild.planned_for).await?;
    let own = queues.get(&kit);
    Ok(own.map_or_else(Left::default, |queue| {
        queue.left(job.course.turn, today, today)
    }))
}

impl View {
    /// Every kit, for choosing another one.
    pub fn kits(&self) -> Options {
        self.kits.clone()
    }
}

impl Typed {
    /// The form for this rebuild.
    ///
    /// # Errors
    /// The store's failure.
    pub async fn form(
        mut self,
        db: &mut SqliteConnection,
        job: &Job,
        chrome: &Chrome,
    ) -> store::Result<Form> {
        let numbers = store::kits::numbers(db).await?;
        let own = job.gauge.particulars.kit_id;
        let chosen = numbers
            .iter()
            .find(|(_, number)| number.as_str().eq_ignore_ascii_case(self.kit.trim()))
            .or_else(|| numbers.iter().find(|(id, _)| Some(*id) == own))
            .cloned();
        let lots = match &chosen {
            None => Vec::new(),
            Some((id, _)) => {
                let lots = store::kits::lots_on_hand(db, *id).await?;
                Offer::of(lots, chrome.today)
            }
        };
        let wanted = job.course.kits_wanted();
        if self.lot.is_empty()
            && let Some(first) = lots.iter().find(|offer| offer.usable)
        {
            self.lot = first.word();
            if self.quantity.is_empty() && wanted > 0 {
                self.quantity = first.part.kits.min(i64::from(wanted)).to_string();
            }
        }
        let named = chosen
            .as_ref()
            .map(|(id, _)| *id)
            .filter(|id| Some(*id) == own);
        let promised = match named {
            Some(kit) => left(db, job, kit, chrome.today).await?,
            None => Left::default(),
        };
        let none = (String::new(), "choose".to_owned());
        let kits = numbers
            .iter()
            .map(|(_, number)| (number.to_string(), number.to_string()));
        Ok(Form::Kits(View {
            typed: self,
            named: named.is_some(),
            promised: Some(promised).filter(|left| left.reserved > 0 && left.kits() < wanted),
            kit: chosen.map(|(_, number)| number),
            lots,
            kits: std::iter::once(none).chain(kits).collect(),
            held: store::stock::held_by(db, job.rebuild.id).await?,
        }))
    }

    pub(super) fn read(&self) -> Result<Issue, Errors> {
        let mut read = Reader::new();
        let (row, place) = match self.lot.split_once('@') {
            Some((row, place)) => (row, Some(place.to_owned())),
            None => (self.lot.as_str(), None),
        };
        let lot = read.take("lot", row.parse().map(LotId).map_err(|_| "Choose a lot"));
        let quantity = read.needed_whole("quantity", &self.quantity, 1..=48);
        let reason = read.text("reason", &self.reason, 400);
        read.finish(lot.zip(quantity).map(|(lot, quantity)| Issue {
            lot,
            place,
            quantity,
            reason,
        }))
    }
}

/// The lots to choose from.
pub async fn show(
    State(app): State<App>,
    chrome: Chrome,
    Path(tag): Path<String>,
    Query(typed): Query<Typed>,
) -> Answer {
    let mut db = app.store().read().await?;
    let (_, Some(job)) = job::find(&mut db, &tag).await? else {
        return Ok(see_other(&address::bench(&tag)));
    };
    let form = typed.form(&mut db, &job, &chrome).await?;
    answer::page(&Page::new(
        chrome,
        job,
        form,
        Errors::none(),
        Common::default(),
    ))
}

/// Issues kits of a lot.
pub async fn issue(
    State(app): State<App>,
    chrome: Chrome,
    Path(tag): Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    let job = job::posted(&app, &tag, &posted.rebuild).await?;
    let done = match posted.form.read() {
        Ok(issue) => issue_to(&chrome, &posted.key, &job, &issue)
            .await
            .map_err(form::refused),
        Err(errors) => Err(Ok(errors)),
    };
    match done {
        Ok(to) => Ok(see_other(&to)),
        Err(errors) => {
            let mut db = app.store().read().await?;
            let form = posted.form.form(&mut db, &job, &chrome).await?;
            answer::refused(&Page::new(chrome, job, form, errors?, Common::default()))
        }
    }
}

/// Gives kits back to their lot.
pub async fn give_back(
    State(app): State<App>,
    chrome: Chrome,
    Path(tag): Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    let job = job::posted(&app, &tag, &posted.rebuild).await?;
    let mut read = Reader::new();
    let lot = read.take(
        "back",
        posted
            .form
            .lot
            .parse()
            .map(LotId)
            .map_err(|_| "Choose a lot"),
    );
    let quantity = read.needed_whole("back", &posted.form.back, 1..=48);
    let done = match read.finish(lot.zip(quantity)) {
        Ok(back) => give_back_one(&chrome, &posted.key, &job, back)
            .await
            .map_err(form::refused),
        Err(errors) => Err(Ok(errors)),
    };
    match done {
        Ok(to) => Ok(see_other(&to)),
        Err(errors) => {
            let mut db = app.store().read().await?;
            let typed = Typed {
                back: posted.form.back,
                ..Typed::default()
            };
            let form = typed.form(&mut db, &job, &chrome).await?;
            answer::refused(&Page::new(chrome, job, form, errors?, Common::default()))
        }
    }
}

async fn give_back_one(
    chrome: &Chrome,
    key: &str,
    job: &Job,
    back: (LotId, u32),
) -> acts::Result<String> {
    let mut deed = chrome.deed(key).await?;
    acts::bench::give_back(&mut deed, job.rebuild.id, back).await?;
    let to = address::bench(&job.gauge.particulars.tag);
    deed.commit(&to).await?;
    Ok(to)
}

async fn issue_to(chrome: &Chrome, key: &str, job: &Job, issue: &Issue) -> acts::Result<String> {
    let mut deed = chrome.deed(key).await?;
    acts::bench::issue_kits(&mut deed, job.rebuild.id, issue).await?;
    let to = address::bench(&job.gauge.particulars.tag);
    deed.commit(&to).await?;
    Ok(to)
}
