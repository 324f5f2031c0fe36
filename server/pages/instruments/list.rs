//! The instruments in use, the next calibration first, and whether each may be relied on today.
//! Those out of use are listed apart, by number.

use std::collections::HashMap;

use askama::Template;
use axum::extract::{Query, State};
use serde::Deserialize;
use time::Duration;

use super::why_not;
use crate::pages::answer::{self, Answer};
use crate::pages::chrome::Chrome;
use crate::pages::{App, address, show};
use crate::record::InstrumentId;
use crate::record::instrument::{Cycles, Instrument, InstrumentKind};
use crate::store;
use crate::store::instruments::{After, InUse};

/// Lines on a page.
const PAGE: usize = 50;
/// Calibrations that run out within this many days are named in the opening sentence.
const SOON: Duration = Duration::days(30);

/// The filter as it stands in the address.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    kind: String,
    retired: String,
    after: String,
}

#[derive(Template)]
#[template(path = "instruments/list.html")]
struct Page {
    chrome: Chrome,
    asked: Asked,
    counts: InUse,
    lines: Vec<Instrument>,
    /// Loadings of torque wrenches since their calibration.
    made: HashMap<InstrumentId, u32>,
    /// Wrenches in calibration that have made all their loadings.
    spent: i64,
    next: Option<String>,
}

impl Page {
    fn why_not(&self, instrument: &Instrument) -> Option<String> {
        why_not(instrument, self.made_by(instrument), self.chrome.today)
    }

    fn made_by(&self, instrument: &Instrument) -> u32 {
        self.made.get(&instrument.id).copied().unwrap_or(0)
    }

    /// The loadings of a wrench and how many it may make; none for anything else.
    fn loadings(&self, instrument: &Instrument) -> Option<Cycles> {
        instrument.cycles(self.made_by(instrument))
    }

    /// How many are not to be used today.
    fn not_today(&self) -> i64 {
        self.counts.uncovered + self.spent
    }

    /// Where the list begins, on a page that goes on with it.
    fn beginning(&self) -> Option<String> {
        let on = !self.asked.after.is_empty();
        on.then(|| self.asked.address(String::new()))
    }

    fn retired(&self) -> bool {
        !self.asked.retired.is_empty()
    }
}

impl Asked {
    fn address(&self, after: String) -> String {
        let values = [
            ("kind", self.kind.clone()),
            ("retired", self.retired.clone()),
            ("after", after),
        ];
        address::with_query(address::INSTRUMENTS, &values)
    }
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome, Query(asked): Query<Asked>) -> Answer {
    let mut db = app.store().read().await?;
    let most = i64::try_from(PAGE + 1).unwrap_or(51);
    let mut keyed: Vec<(String, Instrument)> = if asked.retired.is_empty() {
        let kind = asked.kind.parse::<InstrumentKind>().ok();
        store::instruments::by_next_calibration(&mut db, kind, after(&asked.after), most)
            .await?
            .into_iter()
            .map(|(until, one)| (format!("{until}_{}", one.id.0), one))
            .collect()
    } else {
        store::instruments::retired(&mut db, &asked.after, most)
            .await?
            .into_iter()
            .map(|one| (one.number.to_string(), one))
            .collect()
    };
    let more = keyed.len() > PAGE;
    keyed.truncate(PAGE);
    let next = keyed
        .last()
        .filter(|_| more)
        .map(|(key, _)| asked.address(key.clone()));
    let lines: Vec<Instrument> = keyed.into_iter().map(|(_, one)| one).collect();
    let wrenches = store::instruments::of_kind(&mut db, InstrumentKind::TorqueWrench).await?;
    let mut ids: Vec<InstrumentId> = wrenches.iter().map(|one| one.id).collect();
    ids.extend(lines.iter().map(|one| one.id));
    let made = store::instruments::loadings(&mut db, &ids).await?;
    let spent = wrenches.iter().filter(|one| {
        let made = made.get(&one.id).copied().unwrap_or(0);
        one.reliable_on(chrome.today).is_ok() && one.cycles(made).is_some_and(Cycles::spent)
    });
    let spent = i64::try_from(spent.count()).unwrap_or(i64::MAX);
    let later = chrome.today.saturating_add(SOON);
    let counts = store::instruments::in_use(&mut db, chrome.today, later).await?;
    answer::page(&Page {
        chrome,
        asked,
        counts,
        lines,
        made,
        spent,
        next,
    })
}

fn after(text: &str) -> Option<After> {
    let (until, id) = text.split_once('_')?;
    Some((until.to_owned(), InstrumentId(id.parse().ok()?)))
}
