//! The rebuilds under way, by state, each with what it waits for.
//! One of them is worked on from its sheet; finished ones stand with their gauge.

use std::collections::HashMap;

use askama::Template;
use axum::extract::{Query, State};
use serde::Deserialize;

use super::handed::{ToTake, to_take};
use super::lacks::Under;
use crate::pages::answer::{self, Answer};
use crate::pages::chrome::Chrome;
use crate::pages::{App, address, form, show};
use crate::record::RebuildId;
use crate::record::course::Course;
use crate::record::rebuild::RebuildState;
use crate::store;
use crate::store::rebuilds::UnderWay;

/// Lines of a state on the page of all states.
const FEW: usize = 20;
/// Lines on the page of one state.
const PAGE: usize = 50;

/// What stands in the address.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    state: String,
    after: String,
}

struct Group {
    state: RebuildState,
    count: i64,
    lines: Vec<UnderWay>,
    more: Option<String>,
}

#[derive(Template)]
#[template(path = "bench/list.html")]
struct Page {
    chrome: Chrome,
    asked: Asked,
    groups: Vec<Group>,
    handed: Vec<ToTake>,
    courses: HashMap<RebuildId, Course>,
    under: Under,
    /// How many are past their planned day, in whatever state.
    past: i64,
}

impl Page {
    fn waits_for(&self, line: &UnderWay) -> String {
        self.courses
            .get(&line.id)
            .map_or_else(String::new, |course| course.waits_for(self.chrome.today))
    }

    /// Where the list begins, on a page that goes on with it.
    fn beginning(&self) -> Option<String> {
        let on = !self.asked.after.is_empty();
        let state = self.asked.state.clone();
        on.then(|| address::with_query(address::BENCH, &[("state", state)]))
    }

    fn total(&self) -> i64 {
        self.groups.iter().map(|group| group.count).sum()
    }

    /// How many stand in each state, in words.
    fn standing(&self) -> String {
        let all = self.groups.iter();
        let all = all.map(|group| format!("{} {}", show::grouped(group.count), group.state));
        all.collect::<Vec<_>>().join(", ")
    }

    fn late(&self, line: &UnderWay) -> bool {
        line.planned_for < self.chrome.today
    }
}

/// The states in the order people look for them.
const STATES: [RebuildState; 4] = [
    RebuildState::AtTheBench,
    RebuildState::OnTest,
    RebuildState::Ready,
    RebuildState::Planned,
];

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome, Query(asked): Query<Asked>) -> Answer {
    let mut db = app.store().read().await?;
    let counts: HashMap<RebuildState, i64> = store::rebuilds::count_open(&mut db)
        .await?
        .into_iter()
        .collect();
    let one = asked.state.parse::<RebuildState>().ok();
    let most = if one.is_some() { PAGE } else { FEW };
    let after = asked
        .after
        .split_once('_')
        .and_then(|(day, id)| Some((form::read_date(day)?, RebuildId(id.parse().ok()?))));
    let mut groups = Vec::new();
    for state in STATES {
        let count = counts.get(&state).copied().unwrap_or(0);
        if count == 0 || one.is_some_and(|one| one != state) {
            continue;
        }
        let limit = i64::try_from(most + 1).unwrap_or(51);
        let mut lines =
            store::rebuilds::under_way(&mut db, state, after.filter(|_| one.is_some()), limit)
                .await?;
        let further = lines.len() > most;
        lines.truncate(most);
        let more = lines.last().filter(|_| further).map(|last| {
            let after = format!("{}_{}", last.planned_for, last.id.0);
            let after = if one.is_some() { after } else { String::new() };
            address::with_query(
                address::BENCH,
                &[("state", state.word().to_owned()), ("after", after)],
            )
        });
        groups.push(Group {
            state,
            count,
            lines,
            more,
        });
    }
    let ids: Vec<RebuildId> = groups
        .iter()
        .flat_map(|group| group.lines.iter().map(|line| line.id))
        .collect();
    let courses = store::bench::courses(&mut db, &ids).await?;
    let under = Under::of(&mut db, &chrome, &courses).await?;
    let handed = to_take(&mut db, &chrome).await?;
    let past = store::rebuilds::count_past(&mut db, chrome.today).await?;
    answer::page(&Page {
        chrome,
        asked,
        groups,
        handed,
        courses,
        under,
        past,
    })
}
