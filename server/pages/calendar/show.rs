//! The month day by day, or the year month by month: what falls due, windows, planned rebuilds, kits
//! that arrive and calibrations that run out.

use std::collections::BTreeMap;

use askama::Template;
use axum::extract::{Query, State};
use serde::Deserialize;
use time::{Date, Duration, Month};

use crate::calc::calendar::{add_months, first_of_month, last_of_month, months_before};
use crate::pages::answer::{self, Answer};
use crate::pages::chrome::Chrome;
use crate::pages::{App, address, form, show};
use crate::store;
use crate::store::calendar::{Arrival, DueDay, PlannedDay};
use crate::store::due::COUNTED;
use crate::store::windows::Window;

/// Lines of each kind read for a month.
const MOST: i64 = 600;

/// The month or the year asked for.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    month: String,
    year: String,
}

/// One day of the month.
struct Day {
    on: Date,
    inside: bool,
    due: Vec<DueDay>,
    windows: Vec<Window>,
    planned: Vec<PlannedDay>,
    arrivals: Vec<Arrival>,
    calibrations: Vec<crate::record::InstrumentNumber>,
    /// On today: how many gauges are past due.
    past: i64,
}

impl Day {
    fn due_count(&self) -> i64 {
        self.due.iter().map(|one| one.gauges).sum()
    }

    fn quiet(&self) -> bool {
        self.due.is_empty()
            && self.windows.is_empty()
            && self.planned.is_empty()
            && self.arrivals.is_empty()
            && self.calibrations.is_empty()
            && self.past == 0
    }
}

/// One month of the year.
struct MonthOf {
    first: Date,
    gauges: i64,
    windows: Vec<Window>,
}

#[derive(Template)]
#[template(path = "calendar/show.html")]
struct Page {
    chrome: Chrome,
    title: String,
    /// The month or year before, by name, and its address.
    before: (String, String),
    after: (String, String),
    other: String,
    weeks: Vec<Vec<Day>>,
    months: Vec<MonthOf>,
    total: i64,
}

impl Page {
    #[expect(clippy::unused_self, reason = "templates call methods of their page")]
    fn month_address(&self, month: &MonthOf) -> String {
        to_month(month.first)
    }

    /// The due list of the area up to that day.
    #[expect(clippy::unused_self, reason = "templates call methods of their page")]
    fn list_of(&self, one: &DueDay) -> String {
        address::due_until(Some(one.area_id), one.on)
    }

    /// The due list up to yesterday.
    fn list_of_past(&self) -> String {
        let today = self.chrome.today;
        address::due_until(None, today.previous_day().unwrap_or(today))
    }
}

fn month_of(text: &str, today: Date) -> Date {
    form::read_date(&format!("{}-01", text.trim()))
        .map_or_else(|| first_of_month(today), first_of_month)
}

fn key(first: Date) -> String {
    format!("{}-{:02}", first.year(), u8::from(first.month()))
}

fn named(first: Date) -> String {
    format!("{} {}", first.month(), first.year())
}

fn to_month(first: Date) -> String {
    address::with_query(address::CALENDAR, &[("month", key(first))])
}

fn to_year(year: i32) -> String {
    address::with_query(address::CALENDAR, &[("year", year.to_string())])
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome, Query(asked): Query<Asked>) -> Answer {
    let year = asked.year.trim().parse().ok();
    let year = year.and_then(|year| Date::from_calendar_date(year, Month::January, 1).ok());
    match year.filter(|first| crate::calc::calendar::in_range(*first)) {
        Some(first) => of_year(&app, chrome, first).await,
        None => of_month(&app, chrome, &asked.month).await,
    }
}

async fn of_month(app: &App, chrome: Chrome, asked: &str) -> Answer {
    let first = month_of(asked, chrome.today);
    let last = last_of_month(first);
    let lead = Duration::days(i64::from(first.weekday().number_days_from_monday()));
    let tail = Duration::days(6 - i64::from(last.weekday().number_days_from_monday()));
    let (from, to) = (first.saturating_sub(lead), last.saturating_add(tail));
    let mut db = app.store().read().await?;
    let mut days: BTreeMap<Date, Day> = BTreeMap::new();
    let mut on = from;
    while on <= to {
        let day = Day {
            on,
            inside: (first..=last).contains(&on),
            due: Vec::new(),
            windows: Vec::new(),
            planned: Vec::new(),
            arrivals: Vec::new(),
            calibrations: Vec::new(),
            past: 0,
        };
        days.insert(on, day);
        on = on.saturating_add(Duration::days(1));
    }
    let months = store::calendar::due_months(&mut db, first, last).await?;
    let total = months.into_iter().map(|(_, gauges)| gauges).sum();
    for one in store::calendar::due_days(&mut db, (from, to), None, MOST).await? {
        if let Some(day) = days.get_mut(&one.on) {
            day.due.push(one);
        }
    }
    for window in store::windows::from(&mut db, from).await? {
        for (_, day) in days.range_mut(window.starts_on..=window.ends_on.max(window.starts_on)) {
            day.windows.push(window.clone());
        }
    }
    for one in store::calendar::planned(&mut db, (from, to), None, MOST).await? {
        if let Some(day) = days.get_mut(&one.on) {
            day.planned.push(one);
        }
    }
    for one in store::calendar::arrivals(&mut db, (from, to), MOST).await? {
        if let Some(day) = days.get_mut(&one.on) {
            day.arrivals.push(one);
        }
    }
    for (on, number) in store::calendar::calibrations(&mut db, (from, to), MOST).await? {
        if let Some(day) = days.get_mut(&on) {
            day.calibrations.push(number);
        }
    }
    if let Some(day) = days.get_mut(&chrome.today) {
        day.past = store::calendar::count_past(&mut db, chrome.today, None).await?;
    }
    let mut weeks: Vec<Vec<Day>> = Vec::new();
    for (at, day) in days.into_values().enumerate() {
        if at % 7 == 0 {
            weeks.push(Vec::new());
        }
        if let Some(week) = weeks.last_mut() {
            week.push(day);
        }
    }
    let step = |months: i32| {
        let moved = if months < 0 {
            months_before(first, 1)
        } else {
            add_months(first, 1)
        };
        let moved = moved.unwrap_or(first);
        (named(moved), to_month(moved))
    };
    answer::page(&Page {
        chrome,
        title: named(first),
        before: step(-1),
        after: step(1),
        other: to_year(first.year()),
        weeks,
        months: Vec::new(),
        total,
    })
}

async fn of_year(app: &App, chrome: Chrome, first: Date) -> Answer {
    let mut db = app.store().read().await?;
    let last = Date::from_calendar_date(first.year(), Month::December, 31).unwrap_or(first);
    let counts: BTreeMap<String, i64> = store::calendar::due_months(&mut db, first, last)
        .await?
        .into_iter()
        .collect();
    let windows = store::windows::from(&mut db, first).await?;
    let mut months = Vec::with_capacity(12);
    for number in 0..12 {
        let month = add_months(first, number).unwrap_or(first);
        let ends = last_of_month(month);
        months.push(MonthOf {
            first: month,
            gauges: counts.get(&key(month)).copied().unwrap_or(0),
            windows: windows
                .iter()
                .filter(|window| window.starts_on <= ends && window.ends_on >= month)
                .cloned()
                .collect(),
        });
    }
    let step = |year: i32| (year.to_string(), to_year(year));
    answer::page(&Page {
        total: months.iter().map(|month| month.gauges).sum(),
        title: first.year().to_string(),
        before: step(first.year() - 1),
        after: step(first.year() + 1),
        other: to_month(first_of_month(chrome.today)),
        chrome,
        weeks: Vec::new(),
        months,
    })
}
