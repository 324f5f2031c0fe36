//! The register: searched and filtered in the address, a page at a time.
//! Sending the address to a colleague shows them the same lines.

use askama::Template;
use axum::extract::{Query, State};
use serde::Deserialize;

use crate::pages::answer::{self, Answer};
use crate::pages::chrome::Chrome;
use crate::pages::glass::Glass;
use crate::pages::{App, address, show};
use crate::record::gauge::{Assumed, Kind, Standing};
use crate::record::plant::{Area, ServiceClass};
use crate::record::{AreaId, ServiceClassId};
use crate::store;
use crate::store::gauge_list::{Filter, Line};

/// Lines on a page.
const PAGE: usize = 50;

/// The filter as it stands in the address.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    q: String,
    area: String,
    class: String,
    kit: String,
    kind: String,
    standing: String,
    /// "isolation": only those of which that is assumed.
    assumed: String,
    /// "none": only those without a due date.
    due: String,
    after: String,
}

#[derive(Template)]
#[template(path = "gauges/list.html")]
struct Page {
    chrome: Chrome,
    asked: Asked,
    lines: Vec<Line>,
    next: Option<String>,
    areas: Vec<Area>,
    classes: Vec<ServiceClass>,
    standings: Vec<(Standing, i64)>,
}

impl Page {
    fn glass(&self, line: &Line) -> Glass {
        Glass::of(
            line.standing,
            line.latest_on,
            line.since_on,
            self.chrome.today,
        )
    }

    /// Where the list begins, on a page that goes on with it.
    fn beginning(&self) -> Option<String> {
        let on = !self.asked.after.is_empty();
        on.then(|| self.asked.address(String::new()))
    }

    fn total(&self) -> i64 {
        self.standings
            .iter()
            .filter(|(s, _)| *s != Standing::Retired)
            .map(|(_, n)| n)
            .sum()
    }

    fn filtered(&self) -> bool {
        let a = &self.asked;
        let chosen = [
            &a.area,
            &a.class,
            &a.kit,
            &a.kind,
            &a.standing,
            &a.assumed,
            &a.due,
        ];
        !a.q.is_empty() || chosen.iter().any(|v| !v.is_empty())
    }

    /// What the page opens with: the register, or how many of it fit what was asked.
    fn says(&self) -> String {
        let all = show::count(self.total(), "gauge", "gauges");
        if !self.filtered() {
            return format!("{all} in the register");
        }
        // Counting further than this page would cost the more the larger the fleet is.
        match (
            self.lines.len(),
            self.next.is_some(),
            self.asked.after.is_empty(),
        ) {
            (0, _, _) => "No gauge fits".to_owned(),
            (_, true, true) => format!("More than {PAGE} of {all} fit"),
            (_, true, false) => format!("More of {all} that fit"),
            (_, false, false) => format!("The last of {all} that fit"),
            (1, false, true) => format!("One of {all} fits"),
            (n, false, true) => format!("{n} of {all} fit"),
        }
    }
}

impl Asked {
    fn address(&self, after: String) -> String {
        address::with_query(
            address::GAUGES,
            &[
                ("q", self.q.clone()),
                ("area", self.area.clone()),
                ("class", self.class.clone()),
                ("kit", self.kit.clone()),
                ("kind", self.kind.clone()),
                ("standing", self.standing.clone()),
                ("assumed", self.assumed.clone()),
                ("due", self.due.clone()),
                ("after", after),
            ],
        )
    }
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome, Query(asked): Query<Asked>) -> Answer {
    let mut db = app.store().read().await?;
    let words = asked.q.trim();
    let kit = if asked.kit.is_empty() {
        None
    } else {
        store::kits::id_of(&mut db, &asked.kit).await?
    };
    let filter = Filter {
        words: words
            .chars()
            .any(char::is_alphanumeric)
            .then(|| words.to_owned()),
        area: asked.area.parse().ok().map(AreaId),
        service_class: asked.class.parse().ok().map(ServiceClassId),
        kit,
        kind: asked.kind.parse::<Kind>().ok(),
        standing: asked.standing.parse::<Standing>().ok(),
        isolation_assumed: asked.assumed == Assumed::Isolation.word(),
        undated: asked.due == address::NO_DATE,
        after: (!asked.after.is_empty())
            .then(|| (asked.after.clone(), asked.after.parse().unwrap_or(0))),
    };
    let mut lines =
        store::gauge_list::list(&mut db, &filter, i64::try_from(PAGE + 1).unwrap_or(51)).await?;
    let more = lines.len() > PAGE;
    lines.truncate(PAGE);
    let next = lines.last().filter(|_| more).map(|last| {
        let key = if filter.words.is_some() {
            last.id.0.to_string()
        } else {
            last.tag.to_string()
        };
        asked.address(key)
    });
    let areas = store::plant::areas(&mut db).await?;
    let classes = store::plant::service_classes(&mut db).await?;
    let standings = store::gauges::count_by_standing(&mut db).await?;
    answer::page(&Page {
        chrome,
        asked,
        lines,
        next,
        areas,
        classes,
        standings,
    })
}
