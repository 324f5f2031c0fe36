//! The pressure tests: on top what waits to be tested, witnessed or certified, below all of them,
//! searched and filtered in the address, a page at a time.

use askama::Template;
use axum::extract::{Query, State};
use serde::Deserialize;
use time::Date;

use crate::pages::answer::{self, Answer};
use crate::pages::chrome::Chrome;
use crate::pages::{App, address, form, show};
use crate::record::TestId;
use crate::record::person::Role;
use crate::record::pressure_test::{TestResult, Waiting};
use crate::store;
use crate::store::pressure_tests::{Filter, GAUGES_SEARCHED, Line, OnTest};

/// Lines on a page.
const PAGE: usize = 50;
/// Lines of each kind shown among what waits.
const WAITING: i64 = 8;
/// Counted no further than this.
const COUNTED: i64 = 10_000;

/// The filter as it stands in the address.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    q: String,
    result: String,
    waiting: String,
    instrument: String,
    after: String,
}

/// Tests that wait for the same: how many, the first of them, and where all of them are.
struct Waits {
    what: Waiting,
    count: i64,
    first: Vec<Line>,
    all: String,
}

#[derive(Template)]
#[template(path = "pressure_tests/list.html")]
struct Page {
    chrome: Chrome,
    asked: Asked,
    lines: Vec<Line>,
    next: Option<String>,
    on_test: Vec<OnTest>,
    waiting: Vec<Waits>,
    this_year: i64,
    /// Whether more gauges fit the words than were searched.
    wide: bool,
}

impl Asked {
    fn address(&self, after: String) -> String {
        address::with_query(
            address::PRESSURE_TESTS,
            &[
                ("q", self.q.clone()),
                ("result", self.result.clone()),
                ("waiting", self.waiting.clone()),
                ("instrument", self.instrument.clone()),
                ("after", after),
            ],
        )
    }
}

impl Page {
    fn filtered(&self) -> bool {
        let a = &self.asked;
        [&a.q, &a.result, &a.waiting, &a.instrument, &a.after]
            .iter()
            .any(|v| !v.is_empty())
    }

    fn count(&self, wanted: Waiting) -> i64 {
        self.waiting
            .iter()
            .find(|waits| waits.what == wanted)
            .map_or(0, |waits| waits.count)
    }

    /// Whether this person records tests.
    fn tests(&self) -> bool {
        self.chrome
            .may(&[Role::Technician, Role::Inspector, Role::Engineer])
    }
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome, Query(asked): Query<Asked>) -> Answer {
    let mut db = app.store().read().await?;
    let words = asked.q.trim();
    let test = if words.is_empty() {
        None
    } else {
        store::pressure_tests::id_of(&mut db, words).await?
    };
    let number = asked.instrument.trim();
    let instrument = if number.is_empty() {
        None
    } else {
        store::instruments::by_number(&mut db, number)
            .await?
            .map(|i| i.id)
    };
    let filter = Filter {
        words: (test.is_none() && words.chars().any(char::is_alphanumeric))
            .then(|| words.to_owned()),
        test,
        instrument,
        result: asked.result.parse::<TestResult>().ok(),
        waiting: asked.waiting.parse::<Waiting>().ok(),
        after: after(&asked.after),
        ..Filter::default()
    };
    let mut lines = if instrument.is_none() && !number.is_empty() {
        Vec::new()
    } else {
        let most = i64::try_from(PAGE + 1).unwrap_or(51);
        store::pressure_tests::list(&mut db, &filter, most).await?
    };
    let wide = match &filter.words {
        Some(words) => store::pressure_tests::too_many_gauges(&mut db, words).await?,
        None => false,
    };
    let more = lines.len() > PAGE;
    lines.truncate(PAGE);
    let next = lines
        .last()
        .filter(|_| more)
        .map(|last| asked.address(format!("{}_{}", last.tested_on, last.id.0)));
    let mut waiting = Vec::new();
    for &what in Waiting::ALL {
        let count = store::pressure_tests::count_waiting(&mut db, what, COUNTED).await?;
        let only = Filter {
            waiting: Some(what),
            ..Filter::default()
        };
        let first = if count == 0 {
            Vec::new()
        } else {
            store::pressure_tests::list(&mut db, &only, WAITING).await?
        };
        let all = address::with_query(
            address::PRESSURE_TESTS,
            &[("waiting", what.word().to_owned())],
        );
        waiting.push(Waits {
            what,
            count,
            first,
            all,
        });
    }
    let on_test = store::pressure_tests::to_be_tested(&mut db, WAITING).await?;
    let this_year = store::pressure_tests::count_in(&mut db, chrome.today.year()).await?;
    answer::page(&Page {
        chrome,
        asked,
        lines,
        next,
        on_test,
        waiting,
        this_year,
        wide,
    })
}

fn after(text: &str) -> Option<(Date, TestId)> {
    let (date, id) = text.split_once('_')?;
    Some((form::read_date(date)?, TestId(id.parse().ok()?)))
}
