//! The shutdown windows ahead, how many gauges each has to take, and the gauges that find none.
//! One window with its gauges is another page.

use askama::Template;
use axum::extract::State;

use super::{Waiting, waiting};
use crate::pages::answer::{self, Answer};
use crate::pages::chrome::Chrome;
use crate::pages::{App, address, show};
use crate::store;
use crate::store::due::COUNTED;
use crate::store::windows::Window;

/// Gauges without a window listed an area.
const LISTED: i64 = 12;
/// Windows that are over, listed.
const ENDED: i64 = 12;

/// The gauges of an area that find no window.
struct Without {
    area: String,
    count: i64,
    first: Vec<Waiting>,
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

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome) -> Answer {
    let mut db = app.store().read().await?;
    let mut ahead = Vec::new();
    for window in store::windows::from(&mut db, chrome.today).await? {
        let count = store::due::count_in_window(&mut db, window.area_id, window.ends_on).await?;
        ahead.push((window, count));
    }
    let mut without = Vec::new();
    for area in store::plant::areas(&mut db).await? {
        let count = store::due::count_without_window(&mut db, area.id).await?;
        if count > 0 {
            let bound = store::due::without_window(&mut db, area.id, LISTED).await?;
            without.push(Without {
                first: waiting(&mut db, bound).await?,
                area: area.name,
                count,
            });
        }
    }
    let ended = store::windows::ended_before(&mut db, chrome.today, ENDED).await?;
    answer::page(&Page {
        chrome,
        ahead,
        ended,
        without,
    })
}
