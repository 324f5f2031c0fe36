//! The shutdown windows ahead, how many gauges each has to take, and the gauges that find none.
//! One window with its gauges is another page.

use askama::Template;
use axum::extract::State;
use sqlx::SqliteConnection;

use crate::calc::calendar::LAST_DAY;
use crate::pages::answer::{self, Answer};
use crate::pages::chrome::Chrome;
use crate::pages::{App, address, show};
use crate::record::person::Role;
use crate::store;
use crate::store::due::COUNTED;
use crate::store::windows::{Bound, Window};

/// Gauges without a window listed an area.
const LISTED: i64 = 12;
/// Windows that are over, listed.
const ENDED: i64 = 12;

/// The gauges of an area that find no window.
struct Without {
    area: String,
    count: i64,
    first: Vec<Bound>,
}

impl Without {
    fn more(&self) -> bool {
        i64::try_from(self.first.len()).is_ok_and(|listed| listed < self.count)
    }
}

#[derive(Template)]
#[template(path = "windows/list.html")]
struct Page {
    chrome: Chrome,
    /// Each window ahead with the number of gauges it has to take.
    ahead: Vec<(Window, i64)>,
    ended: Vec<Window>,
    without: Vec<Without>,
}

impl Page {
    fn lost(&self) -> i64 {
        self.without.iter().map(|area| area.count).sum()
    }
}

/// The gauges without a window, area by area: three questions, however many areas.
async fn without(db: &mut SqliteConnection) -> store::Result<Vec<Without>> {
    let mut list = Vec::new();
    let mut first = store::due_days::without_window(db, LISTED).await?;
    for (area, name, count) in store::due_days::count_without_window(db).await? {
        let (mut own, rest): (Vec<Bound>, Vec<Bound>) =
            first.into_iter().partition(|one| one.area_id == area);
        first = rest;
        // A look-over, which needs no window, may have set the order they were found in.
        own.sort_by_key(|one| one.work_date.unwrap_or(LAST_DAY));
        list.push(Without {
            first: own,
            area: name,
            count,
        });
    }
    Ok(list)
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome) -> Answer {
    let mut db = app.store().read().await?;
    let ahead = store::windows::from(&mut db, chrome.today).await?;
    let counts = store::due_days::in_windows(&mut db, &ahead).await?;
    let ahead = ahead.into_iter().zip(counts).collect();
    let without = without(&mut db).await?;
    let ended = store::windows::ended_before(&mut db, chrome.today, ENDED).await?;
    answer::page(&Page {
        chrome,
        ahead,
        ended,
        without,
    })
}
