//! The board itself: what is past due, what today asks of this person, the racks, what comes next.
//! Its cost goes with the areas and the days gauges fall due on, not with the gauges.

use askama::Template;
use axum::extract::State;
use time::Date;

use super::guide::Guide;
use super::rack::{self, Content, Rack};
use super::today::{self, Task};
use crate::pages::answer::{self, Answer};
use crate::pages::bench::handed::{ToTake, to_take};
use crate::pages::chrome::Chrome;
use crate::pages::glass::Glass;
use crate::pages::{App, address, show};
use crate::record::gauge::Standing;
use crate::record::need::Outlook;
use crate::store;
use crate::store::due::{COUNTED, Filter, Line};

#[derive(Template)]
#[template(path = "board/board.html")]
struct Page {
    chrome: Chrome,
    /// What comes next on a plant that is being set up.
    guide: Option<Guide>,
    racks: Vec<Rack>,
    tasks: Vec<Task>,
    handed: Vec<ToTake>,
    total: i64,
    past: i64,
    near: i64,
    /// Gauges in service that a rule gives a date, and those that none does.
    dated: i64,
    undated: i64,
    next: Vec<(Line, Glass)>,
    kits: Vec<Outlook>,
    /// The first day an order has to be placed, if anything is to be ordered.
    order_by: Option<Date>,
    /// Of how many kits what is on the way has to come sooner.
    hurried: i64,
}

impl Page {
    fn takes_kits(&self, line: &Line) -> bool {
        line.takes_kits(self.chrome.today)
    }
}

/// Gauges and kits named under the racks.
const FEW: i64 = 8;

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome) -> Answer {
    let mut db = app.store().read().await?;
    let today = chrome.today;
    let areas = store::plant::areas(&mut db).await?;
    let racks = rack::all(&mut db, areas, today).await?;
    let tasks = today::of(&mut db, chrome.person(), today).await?;
    let handed = to_take(&mut db, &chrome).await?;
    let next = store::due::list(&mut db, &Filter::default(), FEW)
        .await?
        .into_iter()
        .map(|line| {
            let (due, since) = (Some(line.latest_on), line.since_on);
            let glass = Glass::of(Standing::InService, due, since, today);
            (line, glass)
        })
        .collect();
    let standings = store::gauges::count_by_standing(&mut db).await?;
    let total = standings
        .iter()
        .filter(|(s, _)| *s != Standing::Retired)
        .map(|(_, n)| n)
        .sum();
    let in_service = standings.iter().find(|(s, _)| *s == Standing::InService);
    let dated: i64 = racks.iter().map(|rack| rack.dated).sum();
    answer::page(&Page {
        guide: Guide::of(&app, &mut db, &chrome).await?,
        chrome,
        past: racks.iter().map(|rack| rack.past).sum(),
        near: racks.iter().map(|rack| rack.near).sum(),
        undated: in_service.map_or(0, |(_, n)| *n) - dated,
        dated,
        racks,
        tasks,
        handed,
        total,
        next,
        kits: store::outlook::to_order(&mut db, None, FEW).await?,
        order_by: store::outlook::first_order(&mut db).await?,
        hurried: store::outlook::count_to_hurry(&mut db, COUNTED).await?,
    })
}
