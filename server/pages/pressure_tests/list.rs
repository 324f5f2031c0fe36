//! The pressure tests: on top what waits to be tested, witnessed or certified, below all of them,
//! searched and filtered in the address, a page at a time; and what is shown as XLSX or CSV.

use askama::Template;
use axum::extract::{Query, State};
use serde::Deserialize;
use sqlx::SqliteConnection;
use time::Date;

use crate::pages::answer::{self, Answer};
use crate::pages::chrome::Chrome;
use crate::pages::{App, address, form, paper, show};
use crate::papers::table::{Cell, Table};
use crate::record::TestId;
use crate::record::person::Role;
use crate::record::pressure_test::{TestResult, Waiting};
use crate::store;
use crate::store::pressure_tests::{Filter, GAUGES_SEARCHED, Line, OnTest};

/// Lines on a page.
const PAGE: usize = 50;
/// Lines of each kind shown among what waits.
const WAITING: i64 = 8;
/// Lines of a list for other programs.
const LONGEST: i64 = 20_000;
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
    from: String,
    to: String,
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
    fn address(&self, path: &str, after: String) -> String {
        address::with_query(
            path,
            &[
                ("q", self.q.clone()),
                ("result", self.result.clone()),
                ("waiting", self.waiting.clone()),
                ("instrument", self.instrument.clone()),
                ("from", self.from.clone()),
                ("to", self.to.clone()),
                ("after", after),
            ],
        )
    }

    /// The filter it stands for; none where it names an instrument nobody knows, which fits nothing.
    async fn filter(&self, db: &mut SqliteConnection) -> store::Result<Option<Filter>> {
        let words = self.q.trim();
        let test = if words.is_empty() {
            None
        } else {
            store::pressure_tests::id_of(&mut *db, words).await?
        };
        let number = self.instrument.trim();
        let instrument = if number.is_empty() {
            None
        } else {
            match store::instruments::by_number(db, number).await? {
                Some(instrument) => Some(instrument.id),
                None => return Ok(None),
            }
        };
        Ok(Some(Filter {
            words: (test.is_none() && words.chars().any(char::is_alphanumeric))
                .then(|| words.to_owned()),
            test,
            instrument,
            result: self.result.parse::<TestResult>().ok(),
            waiting: self.waiting.parse::<Waiting>().ok(),
            from: form::read_date(self.from.trim()),
            to: form::read_date(self.to.trim()),
            after: after(&self.after),
            ..Filter::default()
        }))
    }
}

impl Page {
    /// Where the list begins, on a page that goes on with it.
    fn newest(&self) -> Option<String> {
        let on = !self.asked.after.is_empty();
        on.then(|| self.asked.address(address::PRESSURE_TESTS, String::new()))
    }

    fn filtered(&self) -> bool {
        let a = &self.asked;
        [
            &a.q,
            &a.result,
            &a.waiting,
            &a.instrument,
            &a.from,
            &a.to,
            &a.after,
        ]
        .iter()
        .any(|v| !v.is_empty())
    }

    /// Where the whole of what is shown can be taken away.
    fn taken_at(&self, path: &str) -> String {
        self.asked.address(path, String::new())
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
    let filter = asked.filter(&mut db).await?;
    let mut lines = match &filter {
        Some(filter) => {
            let most = i64::try_from(PAGE + 1).unwrap_or(51);
            store::pressure_tests::list(&mut db, filter, most).await?
        }
        None => Vec::new(),
    };
    let wide = match filter.and_then(|filter| filter.words) {
        Some(words) => store::pressure_tests::too_many_gauges(&mut db, &words).await?,
        None => false,
    };
    let more = lines.len() > PAGE;
    lines.truncate(PAGE);
    let next = lines.last().filter(|_| more).map(|last| {
        let after = format!("{}_{}", last.tested_on, last.id.0);
        asked.address(address::PRESSURE_TESTS, after)
    });
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

/// The columns of the list to take away, with their widths in characters.
const COLUMNS: [(&str, u16); 10] = [
    ("Test", 18),
    ("Gauge", 12),
    ("Vessel", 24),
    ("Result", 10),
    ("Day", 12),
    ("Required", 14),
    ("Tested by", 22),
    ("Witness", 22),
    ("Certificate", 18),
    ("Standing of the certificate", 16),
];

fn row(line: &Line) -> Vec<Cell> {
    let certified = line.certificate.as_ref();
    vec![
        Cell::text(&line.number),
        Cell::text(&line.tag),
        Cell::text(&line.vessel),
        Cell::text(line.result),
        Cell::Day(line.tested_on),
        Cell::text(line.required),
        Cell::text(&line.person),
        line.witness.as_ref().map_or(Cell::Empty, Cell::text),
        certified.map_or(Cell::Empty, |one| Cell::text(&one.number)),
        certified.map_or(Cell::Empty, |one| Cell::text(one.standing)),
    ]
}

async fn taken(app: &App, chrome: &Chrome, asked: &Asked, form: &str) -> Answer {
    let rows = {
        let mut db = app.store().read().await?;
        let lines = match asked.filter(&mut db).await? {
            Some(filter) => {
                let whole = Filter {
                    after: None,
                    ..filter
                };
                store::pressure_tests::list(&mut db, &whole, LONGEST).await?
            }
            None => Vec::new(),
        };
        lines.iter().map(row).collect()
    };
    let table = Table {
        title: "Pressure tests".to_owned(),
        notes: vec![
            format!("{}, {}", chrome.plant.name, show::plain_date(&chrome.today)),
            asked.address(address::PRESSURE_TESTS, String::new()),
        ],
        headings: COLUMNS.to_vec(),
        rows,
    };
    paper::table("pressure-tests", form, table).await
}

/// What is shown, all pages of it, as XLSX.
pub async fn xlsx(State(app): State<App>, chrome: Chrome, Query(asked): Query<Asked>) -> Answer {
    taken(&app, &chrome, &asked, "xlsx").await
}

/// The same as CSV.
pub async fn csv(State(app): State<App>, chrome: Chrome, Query(asked): Query<Asked>) -> Answer {
    taken(&app, &chrome, &asked, "csv").await
}

fn after(text: &str) -> Option<(Date, TestId)> {
    let (date, id) = text.split_once('_')?;
    Some((form::read_date(date)?, TestId(id.parse().ok()?)))
}
