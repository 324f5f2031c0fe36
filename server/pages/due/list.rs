//! The due list by real latest date, with the rule that set each date.
//! The same filter gives the same lines as a table to take away.

use askama::Template;
use axum::extract::{Query, State};
use serde::Deserialize;
use time::Date;

use crate::calc::due::Rule;
use crate::pages::answer::{self, Answer};
use crate::pages::chrome::Chrome;
use crate::pages::glass::Glass;
use crate::pages::{App, address, form, show};
use crate::record::gauge::Standing;
use crate::record::person::Role;
use crate::record::plant::Area;
use crate::record::{AreaId, GaugeId};
use crate::store;
use crate::store::columns::{Pull, from_word, word};
use crate::store::due::{COUNTED, Filter, Line};

const PAGE: usize = 50;

/// The filter as it stands in the address.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    area: String,
    rule: String,
    until: String,
    after: String,
}

#[derive(Template)]
#[template(path = "due/list.html")]
struct Page {
    chrome: Chrome,
    asked: Asked,
    lines: Vec<Line>,
    next: Option<String>,
    areas: Vec<Area>,
    past: i64,
    near: i64,
}

impl Page {
    fn glass(&self, line: &Line) -> Glass {
        Glass::of(
            Standing::InService,
            Some(line.latest_on),
            line.since_on,
            self.chrome.today,
        )
    }

    #[expect(clippy::unused_self, reason = "templates call methods of their page")]
    fn rules(&self) -> Vec<(String, &'static str)> {
        Rule::ALL
            .iter()
            .map(|rule| (word(rule), rule.words()))
            .collect()
    }
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome, Query(asked): Query<Asked>) -> Answer {
    let mut db = app.store().read().await?;
    let filter = Filter {
        area: asked.area.parse().ok().map(AreaId),
        until: form::read_date(&asked.until),
        rule: from_word::<Rule>(&asked.rule),
        after: after(&asked.after),
    };
    let mut lines =
        store::due::list(&mut db, &filter, i64::try_from(PAGE + 1).unwrap_or(51)).await?;
    let more = lines.len() > PAGE;
    lines.truncate(PAGE);
    let next = lines.last().filter(|_| more).map(|last| {
        address::with_query(
            address::DUE,
            &[
                ("area", asked.area.clone()),
                ("rule", asked.rule.clone()),
                ("until", asked.until.clone()),
                ("after", format!("{}_{}", last.latest_on, last.gauge_id.0)),
            ],
        )
    });
    let areas = store::plant::areas(&mut db).await?;
    let past = store::due::count_between(&mut db, None, chrome.today).await?;
    let soon = chrome.today.saturating_add(time::Duration::days(31));
    let near = store::due::count_between(&mut db, Some(chrome.today), soon).await?;
    answer::page(&Page {
        chrome,
        asked,
        lines,
        next,
        areas,
        past,
        near,
    })
}

fn after(text: &str) -> Option<(Date, GaugeId)> {
    let (date, id) = text.split_once('_')?;
    Some((form::read_date(date)?, GaugeId(id.parse().ok()?)))
}
