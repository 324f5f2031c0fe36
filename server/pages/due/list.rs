//! The due list by real latest date, with the rule that set each date.
//! The same filter gives the same lines as a table to take away.

use askama::Template;
use axum::extract::{Path, Query, State};
use serde::Deserialize;
use time::Date;

use super::Work;
use crate::calc::due::Rule;
use crate::pages::answer::{self, Answer, PageError};
use crate::pages::chrome::Chrome;
use crate::pages::glass::Glass;
use crate::pages::{App, address, form, paper, show};
use crate::papers::table::{Cell, Table};
use crate::record::gauge::Standing;
use crate::record::plant::Area;
use crate::record::{AreaId, GaugeId, Moment, TagNumber};
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

impl Asked {
    fn filter(&self) -> Filter {
        Filter {
            area: self.area.parse().ok().map(AreaId),
            until: form::read_date(&self.until),
            rule: from_word::<Rule>(&self.rule),
            after: after(&self.after),
        }
    }

    /// The last day as the field shows it, however a link wrote it.
    fn until_shown(&self) -> String {
        form::read_date(&self.until)
            .map_or_else(|| self.until.clone(), |day| show::plain_date(&day))
    }

    fn values(&self) -> [(&'static str, String); 3] {
        [
            ("area", self.area.clone()),
            ("rule", self.rule.clone()),
            ("until", self.until.clone()),
        ]
    }
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
    /// Gauges in service that no rule gives a date, and whether any gauge has one.
    undated: i64,
    dated: bool,
    /// Deferrals that wait for a signature: gauge, the date asked for, who asked.
    waiting: Vec<(TagNumber, Date, String, Moment)>,
    unbound: i64,
}

impl Page {
    /// Where the same lines are taken away as a table.
    fn file(&self, form: &str) -> String {
        address::with_query(
            &format!("{}/list.{form}", address::DUE),
            &self.asked.values(),
        )
    }

    /// Where the list begins, on a page that goes on with it.
    fn beginning(&self) -> Option<String> {
        let on = !self.asked.after.is_empty();
        on.then(|| address::with_query(address::DUE, &self.asked.values()))
    }

    fn glass(&self, line: &Line) -> Glass {
        Glass::of(
            Standing::InService,
            Some(line.latest_on),
            line.since_on,
            self.chrome.today,
        )
    }

    fn takes_kits(&self, line: &Line) -> bool {
        line.takes_kits(self.chrome.today)
    }

    fn works(&self, line: &Line) -> Vec<(Option<String>, &'static str)> {
        works(line, &self.chrome)
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
    let filter = asked.filter();
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
    let (without, dated) = store::due_days::count_undated(&mut db).await?;
    answer::page(&Page {
        undated: without,
        dated,
        chrome,
        asked,
        lines,
        next,
        areas,
        past,
        near,
        waiting: store::deferrals::all_waiting(&mut db, 20).await?,
        unbound: store::windows::count_no_window(&mut db).await?,
    })
}

/// Lines a table to take away holds at most; a spreadsheet has a million rows.
const TAKEN: i64 = 200_000;

/// The lines of the same filter as a table: "list.xlsx" or "list.csv". Every page of them, in the
/// same columns and order.
pub async fn table(
    State(app): State<App>,
    chrome: Chrome,
    Path(file): Path<String>,
    Query(asked): Query<Asked>,
) -> Answer {
    let form = file
        .strip_prefix("list.")
        .filter(|form| matches!(*form, "xlsx" | "csv"))
        .ok_or(PageError::NotFound("page"))?;
    let mut db = app.store().read().await?;
    let filter = Filter {
        after: None,
        ..asked.filter()
    };
    let lines = store::due::list(&mut db, &filter, TAKEN).await?;
    let area = match filter.area {
        Some(area) => store::plant::areas(&mut db)
            .await?
            .into_iter()
            .find(|one| one.id == area)
            .map_or_else(String::new, |one| format!("Area: {}", one.name)),
        None => String::new(),
    };
    let notes = [
        format!("{}, {}", chrome.plant.name, show::plain_date(&chrome.today)),
        area,
        filter
            .rule
            .map_or_else(String::new, |rule| format!("Rule: {}", rule.words())),
        filter.until.map_or_else(String::new, |day| {
            format!("Up to: {}", show::plain_date(&day))
        }),
    ];
    let table = Table {
        title: "Due".to_owned(),
        notes: notes.into_iter().filter(|note| !note.is_empty()).collect(),
        headings: vec![
            ("Gauge", 14),
            ("Vessel", 14),
            ("Service", 22),
            ("Why", 26),
            ("Date of the rule", 16),
            ("Window", 22),
            ("Rebuild by", 14),
            ("Latest date", 14),
            ("Days left", 10),
            ("Area", 18),
            ("Kit", 16),
            ("Kits", 6),
            ("What to do", 26),
            ("Rebuild", 14),
        ],
        rows: lines.iter().map(|line| row(line, &chrome)).collect(),
    };
    let name = format!("due-{}", chrome.today);
    paper::table(&name, form, table).await
}

/// What the governing rule asks for, and where the person does it, if they do and no open rebuild
/// does it already; beside lesser work a rebuild that is past due or near and not planned yet.
fn works(line: &Line, chrome: &Chrome) -> Vec<(Option<String>, &'static str)> {
    let work = match line.rule {
        // A deferral that is not the rebuild's own moves the look-over.
        Rule::Deferral if line.rebuild_on != Some(line.latest_on) => Work::LookOver,
        rule => Work::of(rule),
    };
    let under_way = work.done_by_a_rebuild() && line.rebuild.is_some();
    let mine = work.may(chrome) && !under_way;
    let words = match work {
        Work::Rebuild if !mine => "not planned",
        other => other.words(),
    };
    let mut offered = Vec::new();
    // What somebody else is to do is said while no open rebuild does it.
    if mine || line.rebuild.is_none() {
        offered.push((mine.then(|| work.address(&line.tag)), words));
    }
    if work != Work::Rebuild && line.rebuild.is_none() && line.rebuild_near(chrome.today) {
        let rebuild = Work::Rebuild;
        offered.push(if rebuild.may(chrome) {
            (Some(rebuild.address(&line.tag)), rebuild.words())
        } else {
            (None, "rebuild not planned")
        });
    }
    offered
}

/// What a line of the page says, cell by cell.
fn row(line: &Line, chrome: &Chrome) -> Vec<Cell> {
    let today = chrome.today;
    let takes_kits = line.takes_kits(today);
    let works: Vec<_> = works(line, chrome)
        .into_iter()
        .map(|(_, words)| words)
        .collect();
    vec![
        Cell::text(&line.tag),
        Cell::text(&line.vessel),
        Cell::text(&line.service),
        Cell::text(line.rule.words()),
        Cell::Day(line.date),
        Cell::text(match line.pull {
            Pull::Pulled if line.rule.takes_kits() => "pulled to the last before it",
            Pull::NoWindow if line.rule.takes_kits() || line.rebuild_on.is_some() => {
                "none before it"
            }
            _ => "",
        }),
        match line.rebuild_on.filter(|_| !line.rule.takes_kits()) {
            Some(day) => Cell::Day(day),
            None => Cell::text(""),
        },
        Cell::Day(line.latest_on),
        Cell::Whole((line.latest_on - today).whole_days()),
        Cell::text(&line.area),
        Cell::text(
            line.kit
                .as_deref()
                .filter(|_| takes_kits)
                .unwrap_or_default(),
        ),
        Cell::Whole(if takes_kits { line.kits_per_rebuild } else { 0 }),
        Cell::text(works.join(", ")),
        line.rebuild.map_or_else(|| Cell::text(""), Cell::text),
    ]
}

fn after(text: &str) -> Option<(Date, GaugeId)> {
    let (date, id) = text.split_once('_')?;
    Some((form::read_date(date)?, GaugeId(id.parse().ok()?)))
}
