//! The tables of the life pages to take away: the same rows and figures as the pages show, all of them,
//! as a spreadsheet or as comma-separated text.

use axum::extract::{Path, RawQuery, State};

use super::lives::sorted;
use super::say::verdict;
use super::{About, Asked, Studied, gauges, intervals, studied};
use crate::pages::answer::{Answer, PageError};
use crate::pages::chrome::Chrome;
use crate::pages::{App, paper, show};
use crate::papers::table::{Cell, Table};

/// The file that was asked for.
pub async fn show(
    State(app): State<App>,
    chrome: Chrome,
    Path(file): Path<String>,
    RawQuery(query): RawQuery,
) -> Answer {
    let (what, form) = file
        .rsplit_once('.')
        .filter(|(_, form)| matches!(*form, "xlsx" | "csv"))
        .ok_or(PageError::NotFound("page"))?;
    let query = query.unwrap_or_default();
    let wrong = |error: serde_html_form::de::Error| PageError::BadForm(error.to_string());
    let table = if what == "intervals" {
        let wanted = serde_html_form::from_str(&query).map_err(wrong)?;
        compared(&intervals::ask(&app, &chrome, &wanted).await?, &chrome)
    } else {
        let asked: Asked = serde_html_form::from_str(&query).map_err(wrong)?;
        of_lives(&app, &chrome, &asked, what).await?
    };
    let name = format!("life-{what}-{}", chrome.today);
    paper::table(&name, form, table).await
}

async fn of_lives(
    app: &App,
    chrome: &Chrome,
    asked: &Asked,
    what: &str,
) -> Result<Table, PageError> {
    if what == "gauges" {
        let (about, found, _) = gauges::ask(app, chrome, asked).await?;
        let rows = found.actors.iter().map(|one| {
            vec![
                Cell::text(&one.tag),
                Cell::text(&one.class),
                Cell::Whole(i64::from(one.failures)),
                rounded(one.years, 4),
                rounded(one.expected, 4),
                rounded(one.excess.ratio, 4),
                rounded(one.excess.chance, 4),
                Cell::text(one.trend.as_ref().map_or("", |(trend, _)| verdict(trend))),
            ]
        });
        return Ok(Table {
            title: "Gauges that failed".to_owned(),
            notes: notes(&about, asked, chrome),
            headings: vec![
                ("Gauge", 14),
                ("Service class", 22),
                ("Failures", 10),
                ("Years watched", 14),
                ("Expected", 10),
                ("Failures for one expected", 24),
                ("Chance by luck", 16),
                ("Trend", 26),
            ],
            rows: rows.collect(),
        });
    }
    let mut db = app.store().read().await?;
    let (about, filter) = About::of(&mut db, asked).await?;
    let studied = studied(&mut db, chrome, asked, &filter).await?;
    let notes = notes(&about, asked, chrome);
    match what {
        "lives" => Ok(lives(&studied, notes)),
        "weibull" => Ok(weibull(&studied, notes)),
        "survival" => Ok(survival(&studied, notes)),
        _ => Err(PageError::NotFound("page")),
    }
}

fn notes(about: &About, asked: &Asked, chrome: &Chrome) -> Vec<String> {
    vec![
        format!("{}, {}", chrome.plant.name, show::plain_date(&chrome.today)),
        format!("{}; confidence {} %", about.words, asked.percent()),
    ]
}

/// A number with so many digits that count.
fn rounded(value: f64, digits: i32) -> Cell {
    crate::calc::quantity::significant(value, digits)
        .parse()
        .map_or(Cell::Empty, Cell::Number)
}

fn maybe(value: Option<f64>, digits: i32) -> Cell {
    value.map_or(Cell::Empty, |value| rounded(value, digits))
}

fn lives(studied: &Studied, notes: Vec<String>) -> Table {
    let rows = sorted(&studied.lives.lives.lives)
        .into_iter()
        .map(|life| {
            vec![
                Cell::text(&life.tag),
                Cell::Day(life.began_on),
                Cell::text(life.began_by.map_or_else(
                    || "installation".to_owned(),
                    |ordinal| format!("rebuild {ordinal}"),
                )),
                Cell::Day(life.ended_on),
                Cell::Number(life.age()),
                maybe(life.good_until(), 6),
                Cell::Whole(life.since),
                Cell::text(life.how.counted()),
                Cell::text(life.how.why()),
                life.ended_by.map_or(Cell::Empty, Cell::Whole),
            ]
        })
        .collect();
    Table {
        title: "Lives".to_owned(),
        notes,
        headings: vec![
            ("Gauge", 14),
            ("Began", 12),
            ("With", 14),
            ("Ended", 12),
            ("Age, days", 10),
            ("Last seen good at, days", 22),
            ("Watched from, days", 18),
            ("Counted as", 14),
            ("Why", 44),
            ("Rebuild", 10),
        ],
        rows,
    }
}

fn weibull(studied: &Studied, notes: Vec<String>) -> Table {
    let mut rows: Vec<Vec<Cell>> = Vec::new();
    if let Some(curve) = studied.study.curve() {
        rows.extend(curve.figures.iter().map(|figure| {
            vec![
                Cell::text(figure.symbol),
                Cell::Empty,
                Cell::Empty,
                rounded(figure.bounded.value, 6),
                maybe(figure.bounded.lower, 6),
                maybe(figure.bounded.upper, 6),
            ]
        }));
        rows.extend(curve.band.iter().map(|along| {
            vec![
                Cell::text("line, share failed"),
                rounded(along.age, 6),
                Cell::Empty,
                rounded(along.failed, 6),
                rounded(along.low, 6),
                rounded(along.high, 6),
            ]
        }));
    }
    rows.extend(studied.study.points.iter().map(|point| {
        vec![
            Cell::text("failure, share failed"),
            rounded(point.age, 6),
            maybe(point.rank, 6),
            rounded(point.share, 6),
            Cell::Empty,
            Cell::Empty,
        ]
    }));
    Table {
        title: "Weibull plot".to_owned(),
        notes,
        headings: vec![
            ("What", 24),
            ("Age, days", 12),
            ("Rank", 10),
            ("Value", 14),
            ("Lower bound", 14),
            ("Upper bound", 14),
        ],
        rows,
    }
}

fn survival(studied: &Studied, notes: Vec<String>) -> Table {
    let levels = studied
        .study
        .survival
        .iter()
        .flat_map(|found| &found.levels);
    let rows = levels.map(|level| {
        let count = |number: usize| Cell::Whole(i64::try_from(number).unwrap_or(i64::MAX));
        let (low, high) = level.bounds.unzip();
        vec![
            rounded(level.at, 6),
            count(level.at_risk),
            count(level.failures),
            rounded(level.survival, 6),
            maybe(level.standard_error, 6),
            maybe(low, 6),
            maybe(high, 6),
        ]
    });
    Table {
        title: "Still good by age".to_owned(),
        notes,
        headings: vec![
            ("Age, days", 12),
            ("At risk", 10),
            ("Failed", 10),
            ("Still good", 12),
            ("Standard error", 14),
            ("Lower bound", 12),
            ("Upper bound", 12),
        ],
        rows: rows.collect(),
    }
}

fn compared(found: &intervals::Compared, chrome: &Chrome) -> Table {
    let mut rows = Vec::new();
    for (words, cells) in found.rows() {
        for (tried, (value, error)) in found.tried.iter().zip(cells) {
            rows.push(vec![
                Cell::Whole(i64::from(tried.months)),
                Cell::text(&words),
                rounded(value, 6),
                maybe(error, 3),
            ]);
        }
    }
    Table {
        title: "Ten years by interval".to_owned(),
        notes: vec![
            format!("{}, {}", chrome.plant.name, show::plain_date(&chrome.today)),
            found.class.name.clone(),
        ],
        headings: vec![
            ("Interval, months", 16),
            ("What", 32),
            ("Value", 14),
            ("Standard error", 14),
        ],
        rows,
    }
}
