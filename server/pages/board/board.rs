//! The board itself: racks of glasses by area, sorted by time left, and what comes next.
//! A rack of more than sixty glasses is shown as a summary that leads to its list.

use askama::Template;
use axum::extract::State;

use crate::pages::answer::{self, Answer};
use crate::pages::chrome::Chrome;
use crate::pages::glass::Glass;
use crate::pages::{App, address, show};
use crate::record::gauge::Standing;
use crate::store;
use crate::store::due::{COUNTED, Filter, Line};

/// Glasses a rack shows one by one.
const RACK: i64 = 60;

struct Rack {
    area: crate::record::plant::Area,
    glasses: Vec<(Line, Glass)>,
    more: bool,
}

#[derive(Template)]
#[template(path = "board/board.html")]
struct Page {
    chrome: Chrome,
    racks: Vec<Rack>,
    total: i64,
    past: i64,
    near: i64,
    next: Vec<(Line, Glass)>,
}

impl Rack {
    fn dated(&self) -> i64 {
        i64::try_from(self.glasses.len()).unwrap_or(i64::MAX)
    }

    fn count(&self, look: &str) -> usize {
        self.glasses
            .iter()
            .filter(|(_, glass)| glass.look == look)
            .count()
    }
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome) -> Answer {
    let mut db = app.store().read().await?;
    let today = chrome.today;
    let glass = |line: &Line| {
        Glass::of(
            Standing::InService,
            Some(line.latest_on),
            line.since_on,
            today,
        )
    };
    let mut racks = Vec::new();
    for area in store::plant::areas(&mut db).await? {
        let filter = Filter {
            area: Some(area.id),
            ..Filter::default()
        };
        let mut lines = store::due::list(&mut db, &filter, RACK + 1).await?;
        let more = lines.len() > usize::try_from(RACK).unwrap_or(60);
        lines.truncate(usize::try_from(RACK).unwrap_or(60));
        let glasses = lines
            .into_iter()
            .map(|line| (line.clone(), glass(&line)))
            .collect();
        racks.push(Rack {
            area,
            glasses,
            more,
        });
    }
    let next = store::due::list(&mut db, &Filter::default(), 8)
        .await?
        .into_iter()
        .map(|line| (line.clone(), glass(&line)))
        .collect();
    let standings = store::gauges::count_by_standing(&mut db).await?;
    let total = standings
        .iter()
        .filter(|(s, _)| *s != Standing::Retired)
        .map(|(_, n)| n)
        .sum();
    let past = store::due::count_between(&mut db, None, today).await?;
    let soon = today.saturating_add(time::Duration::days(31));
    let near = store::due::count_between(&mut db, Some(today), soon).await?;
    answer::page(&Page {
        chrome,
        racks,
        total,
        past,
        near,
        next,
    })
}
