//! Bringing in the plant's list, third page: every line as it would be taken in, with what is wrong
//! beside the cell, and the choice to take the good lines or nothing.

use std::borrow::Borrow;
use std::sync::Arc;

use askama::Template;
use axum::extract::{Path, Query, State};
use serde::Deserialize;

use super::bring_in::asked_for;
use crate::acts;
use crate::acts::bring_in::{self, Previewed, Seen};
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted};
use crate::pages::{App, address, show};
use crate::record::Refusal;
use crate::record::gauge::Assumed;
use crate::record::plant_list::matching::Usual;
use crate::record::plant_list::plan::Outcome;
use crate::record::plant_list::row::Checker;
use crate::record::plant_list::table::Line;
use crate::record::plant_list::{Fault, Field, Plan, folded};
use crate::store::bring_in::Upload;

/// Lines on a page.
const PAGE: usize = 50;
/// From so many lines on, taking them in is worth a word about patience.
const MANY: usize = 5_000;

/// Which lines, as it stands in the address.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    show: String,
    page: String,
}

/// What was pressed, and what was seen when it was.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    choice: String,
    mark: String,
    good: String,
}

struct Cell {
    text: String,
    /// What was read, where it looks different.
    read: String,
    faults: Vec<String>,
}

struct Shown {
    number: u32,
    verdict: &'static str,
    refused: bool,
    cells: Vec<Cell>,
    /// Reasons that belong to no column of the list.
    faults: Vec<String>,
}

#[derive(Template)]
#[template(path = "gauges/bring_in_preview.html")]
struct Page {
    chrome: Chrome,
    upload: Upload,
    plan: Plan,
    mark: String,
    show: String,
    headings: Vec<(String, &'static str)>,
    /// What is assumed where the list says nothing: of what, the value, of how many gauges.
    assumed: Vec<(Assumed, String, usize)>,
    /// What is read from nameplates and never assumed, of how many gauges the list does not say it, and
    /// whether no column holds it.
    lacking: Vec<(Field, usize, bool)>,
    lines: Vec<Shown>,
    number: usize,
    of: usize,
    errors: Errors,
}

impl Page {
    fn at(&self, show: &str, page: usize) -> String {
        let page = if page > 1 {
            page.to_string()
        } else {
            String::new()
        };
        address::with_query(
            &address::bring_in(self.upload.id, "preview"),
            &[("show", show.to_owned()), ("page", page)],
        )
    }

    fn total(&self) -> usize {
        self.plan.outcomes.len()
    }

    /// The ways to look at the list: word, words, how many lines.
    fn views(&self) -> [(&'static str, &'static str, usize); 4] {
        [
            ("", "every line", self.total()),
            ("good", "good", self.plan.good),
            ("refused", "refused", self.plan.refused),
            ("over", "no gauges", self.plan.passed_over),
        ]
    }

    fn many(&self) -> bool {
        self.plan.good >= MANY
    }

    fn counted(number: impl Borrow<usize>, one: &str, many: &str) -> String {
        show::count(whole(*number.borrow()), one, many)
    }

    fn grouped(number: impl Borrow<usize>) -> String {
        show::grouped(whole(*number.borrow()))
    }

    /// Whether more is assumed than how gauges are isolated.
    fn assumes_more(&self) -> bool {
        self.assumed
            .iter()
            .any(|(what, ..)| *what != Assumed::Isolation)
    }

    fn may_take(&self) -> bool {
        self.plan.good > 0 && self.plan.blocked.is_none()
    }
}

fn whole(number: usize) -> i64 {
    i64::try_from(number).unwrap_or(i64::MAX)
}

/// The value that fills a field the list says nothing about.
fn usual(usual: &Usual, what: Assumed) -> String {
    fn of(value: Option<impl ToString>) -> String {
        value.map_or_else(String::new, |v| v.to_string())
    }
    match what {
        Assumed::Area => usual.area.clone(),
        Assumed::ServiceClass => usual.class.clone(),
        Assumed::Kind => of(usual.kind),
        Assumed::Sections => of(usual.sections),
        Assumed::Isolation => of(usual.isolation),
        Assumed::BoltForm => of(usual.bolt_form),
    }
}

/// The matched columns of the table, in its order.
fn matched(previewed: &Previewed) -> Vec<(usize, Field)> {
    previewed
        .matching
        .columns
        .iter()
        .enumerate()
        .filter_map(|(at, column)| Some((at, column.field?)))
        .collect()
}

fn shown(
    checker: &mut Checker<'_>,
    line: &Line,
    outcome: &Outcome,
    columns: &[(usize, Field)],
) -> Shown {
    let no_faults: &[Fault] = &[];
    let faults = match outcome {
        Outcome::Refused(faults) => faults.as_slice(),
        Outcome::Good | Outcome::PassedOver => no_faults,
    };
    let draft = match outcome {
        Outcome::Good => checker.read(line).ok(),
        Outcome::Refused(_) | Outcome::PassedOver => None,
    };
    let on = |field: Field| -> Vec<String> {
        faults
            .iter()
            .filter(|fault| fault.field == field)
            .map(|fault| fault.message.clone())
            .collect()
    };
    let cells = columns
        .iter()
        .map(|(at, field)| {
            let text = line.cell(*at).to_owned();
            let read = draft
                .as_ref()
                .map_or_else(String::new, |draft| draft.shown(*field));
            let same = folded(&read) == folded(&text);
            Cell {
                read: if same { String::new() } else { read },
                text,
                faults: on(*field),
            }
        })
        .collect();
    let nowhere = faults
        .iter()
        .filter(|fault| columns.iter().all(|(_, field)| *field != fault.field))
        .map(|fault| fault.message.clone())
        .collect();
    Shown {
        number: line.number,
        verdict: match outcome {
            Outcome::Good => "good",
            Outcome::Refused(_) => "refused",
            Outcome::PassedOver => "no gauge",
        },
        refused: matches!(outcome, Outcome::Refused(_)),
        cells,
        faults: nowhere,
    }
}

async fn page(
    app: &App,
    chrome: Chrome,
    id: &str,
    asked: &Asked,
    errors: Errors,
) -> Result<Page, PageError> {
    let mut db = app.store().read().await?;
    let upload = asked_for(&mut db, id).await?;
    let elsewhere = |step: &str| PageError::SeeOther(address::bring_in(upload.id, step));
    if bring_in::closed(&upload, app.clock().now()).is_some() {
        return Err(elsewhere("done"));
    }
    if bring_in::matching(&upload).is_none() {
        return Err(elsewhere("columns"));
    }
    let previewed = bring_in::preview(&mut db, &upload, chrome.today).await?;
    drop(db);
    let columns = matched(&previewed);
    let wanted = |outcome: &Outcome| match asked.show.as_str() {
        "good" => matches!(outcome, Outcome::Good),
        "refused" => matches!(outcome, Outcome::Refused(_)),
        "over" => matches!(outcome, Outcome::PassedOver),
        _ => true,
    };
    let found = previewed.plan.outcomes.iter().filter(|o| wanted(o)).count();
    let pages = found.div_ceil(PAGE).max(1);
    let page = asked.page.parse().unwrap_or(1_usize).clamp(1, pages);
    let mut checker = Checker::new(&previewed.matching, &previewed.known);
    let lines = previewed
        .table
        .lines
        .iter()
        .zip(&previewed.plan.outcomes)
        .filter(|(_, outcome)| wanted(outcome))
        .skip((page - 1) * PAGE)
        .take(PAGE)
        .map(|(line, outcome)| shown(&mut checker, line, outcome, &columns))
        .collect();
    let headings = columns
        .iter()
        .map(|(at, field)| (previewed.table.heading(*at), field.shown()))
        .collect();
    let assumed = (previewed.plan.assumed.iter())
        .map(|(what, gauges)| (*what, usual(&previewed.matching.usual, *what), *gauges))
        .collect();
    let lacking = [
        (Field::Torque, previewed.plan.without_torque),
        (Field::Rating, previewed.plan.without_rating),
    ]
    .into_iter()
    .filter(|(_, gauges)| *gauges > 0)
    .map(|(field, gauges)| {
        let no_column = previewed.matching.column_of(field).is_none();
        (field, gauges, no_column)
    })
    .collect();
    Ok(Page {
        chrome,
        mark: bring_in::mark(&upload),
        upload,
        assumed,
        lacking,
        plan: previewed.plan,
        show: asked.show.clone(),
        headings,
        lines,
        number: page,
        of: pages,
        errors,
    })
}

/// The page.
pub async fn show(
    State(app): State<App>,
    chrome: Chrome,
    Path(id): Path<String>,
    Query(asked): Query<Asked>,
) -> Answer {
    answer::page(&page(&app, chrome, &id, &asked, Errors::none()).await?)
}

/// Takes the good lines in, or leaves the list.
pub async fn decide(
    State(app): State<App>,
    chrome: Chrome,
    Path(id): Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    let upload = {
        let mut db = app.store().read().await?;
        asked_for(&mut db, &id).await?
    };
    match decide_one(&app, &chrome, &posted, &upload).await {
        Ok(to) => Ok(see_other(&to)),
        Err(error) => {
            let errors = form::refused(error)?;
            // A list somebody else closed meanwhile sends the browser on to what became of it.
            answer::refused(&page(&app, chrome, &id, &Asked::default(), errors).await?)
        }
    }
}

async fn decide_one(
    app: &App,
    chrome: &Chrome,
    posted: &Posted<Typed>,
    upload: &Upload,
) -> acts::Result<String> {
    let table = match posted.form.choice.as_str() {
        "take" if bring_in::closed(upload, chrome.now()).is_none() => {
            let mut db = app.store().read().await?;
            Some(Arc::new(bring_in::table(&mut db, upload).await?))
        }
        _ => None,
    };
    let mut deed = chrome.deed(&posted.key).await?;
    match (posted.form.choice.as_str(), table) {
        ("take", None) => {
            let words = bring_in::closed(upload, chrome.now()).unwrap_or_default();
            return Err(Refusal::not_now(words).into());
        }
        ("take", Some(table)) => {
            let seen = Seen {
                mark: posted.form.mark.clone(),
                good: posted.form.good.parse().unwrap_or(usize::MAX),
            };
            bring_in::accept(&mut deed, upload.id, &seen, table).await?;
        }
        ("nothing", _) => bring_in::leave(&mut deed, upload.id).await?,
        _ => return Err(Refusal::not_now("Press one of the two buttons").into()),
    }
    let to = address::bring_in(upload.id, "done");
    deed.commit(&to).await?;
    Ok(to)
}
