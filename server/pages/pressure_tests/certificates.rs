//! The register of certificates: searched and filtered in the address, a page at a time, and what is
//! shown as XLSX or CSV. The ZIP with papers and records is made in `export.rs`.

use askama::Template;
use axum::extract::{Query, State};
use serde::Deserialize;
use sqlx::SqliteConnection;

use crate::pages::answer::{self, Answer};
use crate::pages::chrome::Chrome;
use crate::pages::form::read_date;
use crate::pages::{App, address, paper, show};
use crate::papers::bundle::table;
use crate::papers::table::Cell;
use crate::record::certificate_mark::Today;
use crate::record::moment::Zone;
use crate::record::plant::Area;
use crate::record::{AreaId, CertificateId, WindowId};
use crate::store;
use crate::store::issued::{COUNTED, Filter, Line};

/// Lines on a page.
const PAGE: usize = 50;
/// Lines of a list for other programs.
const LONGEST: i64 = 20_000;
/// The filter as it stands in the address.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    /// Number, tag or words.
    pub q: String,
    /// An area's row.
    pub area: String,
    /// A shutdown window's row: its area and days.
    pub window: String,
    /// The first day of the test.
    pub from: String,
    /// The last day of the test.
    pub to: String,
    /// How it stands.
    pub standing: String,
    /// Lines after this row.
    pub after: String,
    /// The ticket of an export.
    pub ticket: String,
    /// The paper of an export.
    pub paper: String,
}

impl Asked {
    /// An address with this filter.
    pub fn address(&self, path: &str, more: &[(&str, String)]) -> String {
        let mut values = vec![
            ("q", self.q.clone()),
            ("area", self.area.clone()),
            ("window", self.window.clone()),
            ("from", self.from.clone()),
            ("to", self.to.clone()),
            ("standing", self.standing.clone()),
        ];
        values.extend(more.iter().map(|(name, value)| (*name, value.clone())));
        address::with_query(path, &values)
    }

    /// Whether anything is filtered.
    pub fn filtered(&self) -> bool {
        [
            &self.q,
            &self.area,
            &self.window,
            &self.from,
            &self.to,
            &self.standing,
        ]
        .iter()
        .any(|value| !value.trim().is_empty())
    }

    /// The filter it stands for.
    ///
    /// # Errors
    /// The store's failure.
    pub async fn filter(&self, db: &mut SqliteConnection) -> store::Result<Filter> {
        let mut filter = Filter {
            area: self.area.trim().parse().ok().map(AreaId),
            from: read_date(self.from.trim()),
            to: read_date(self.to.trim()),
            standing: self.standing.parse().ok(),
            after: self.after.trim().parse().ok().map(CertificateId),
            ..Filter::default()
        };
        let words = self.q.trim();
        if !words.is_empty() {
            if let Some(kept) = store::issued::by_number(&mut *db, &words.to_uppercase()).await? {
                filter.certificate = Some(kept.id);
            } else if let Some(gauge) = store::gauges::id_of(&mut *db, words).await? {
                filter.gauge = Some(gauge);
            } else if words.chars().any(char::is_alphanumeric) {
                filter.words = Some(words.to_owned());
            }
        }
        if let Ok(id) = self.window.trim().parse() {
            match store::windows::by_id(db, WindowId(id)).await? {
                Some(window) => {
                    filter.area = Some(window.area_id);
                    filter.from = Some(window.starts_on);
                    filter.to = Some(window.ends_on);
                }
                None => filter.area = Some(AreaId(0)),
            }
        }
        Ok(filter)
    }
}

/// A window as the filter offers it.
struct Offered {
    id: String,
    words: String,
}

#[derive(Template)]
#[template(path = "pressure_tests/certificates.html")]
struct Page {
    chrome: Chrome,
    asked: Asked,
    lines: Vec<Line>,
    next: Option<String>,
    count: i64,
    /// How many of all are in question; not counted where the list is filtered.
    questioned: i64,
    areas: Vec<Area>,
    windows: Vec<Offered>,
}

impl Page {
    /// Where the list begins, on a page that goes on with it.
    fn newest(&self) -> Option<String> {
        let on = !self.asked.after.is_empty();
        on.then(|| self.asked.address(address::CERTIFICATES, &[]))
    }
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome, Query(asked): Query<Asked>) -> Answer {
    let mut db = app.store().read().await?;
    let filter = asked.filter(&mut db).await?;
    let most = i64::try_from(PAGE + 1).unwrap_or(51);
    let mut lines = store::issued::list(&mut db, &filter, most).await?;
    let more = lines.len() > PAGE;
    lines.truncate(PAGE);
    let next = lines
        .last()
        .filter(|_| more)
        .map(|last| asked.address(address::CERTIFICATES, &[("after", last.id.0.to_string())]));
    let whole = Filter {
        after: None,
        ..filter
    };
    let count = store::issued::count(&mut db, &whole, COUNTED).await?;
    let in_question = Filter {
        standing: Some(Today::Questioned),
        ..Filter::default()
    };
    let questioned = if asked.filtered() {
        0
    } else {
        store::issued::count(&mut db, &in_question, COUNTED).await?
    };
    let areas = store::plant::areas(&mut db).await?;
    let mut all = store::windows::from(&mut db, chrome.today).await?;
    all.extend(store::windows::ended_before(&mut db, chrome.today, 60).await?);
    let windows = all
        .into_iter()
        .map(|window| Offered {
            id: window.id.0.to_string(),
            words: format!(
                "{}, {} ({})",
                window.area,
                window.name,
                show::date(&window.starts_on)
            ),
        })
        .collect();
    answer::page(&Page {
        chrome,
        asked,
        lines,
        next,
        count,
        questioned,
        areas,
        windows,
    })
}

/// What a line says, by the columns of the index.
pub fn row(line: &Line, zone: &Zone) -> Vec<Cell> {
    vec![
        Cell::text(&line.number),
        Cell::text(line.standing),
        Cell::text(&line.tag),
        Cell::text(&line.vessel),
        Cell::text(&line.area),
        Cell::text(&line.test),
        Cell::Day(line.tested_on),
        Cell::text(&line.applied),
        Cell::text(show::plain_moment(&line.issued_at, zone)),
        Cell::text(&line.issuer),
        line.superseded_by.as_ref().map_or(Cell::Empty, Cell::text),
        Cell::text(&line.sha256),
    ]
}

async fn taken(app: &App, chrome: &Chrome, asked: &Asked, form: &str) -> Answer {
    let rows: Vec<Vec<Cell>> = {
        let mut db = app.store().read().await?;
        let filter = Filter {
            after: None,
            ..asked.filter(&mut db).await?
        };
        let lines = store::issued::list(&mut db, &filter, LONGEST).await?;
        lines.iter().map(|line| row(line, chrome.zone())).collect()
    };
    let notes = vec![
        format!("{}, {}", chrome.plant.name, show::plain_date(&chrome.today)),
        asked.address(address::CERTIFICATES, &[]),
    ];
    paper::table("certificates", form, table(notes, rows)).await
}

/// What is shown, all pages of it, as XLSX.
pub async fn xlsx(State(app): State<App>, chrome: Chrome, Query(asked): Query<Asked>) -> Answer {
    taken(&app, &chrome, &asked, "xlsx").await
}

/// The same as CSV.
pub async fn csv(State(app): State<App>, chrome: Chrome, Query(asked): Query<Asked>) -> Answer {
    taken(&app, &chrome, &asked, "csv").await
}
