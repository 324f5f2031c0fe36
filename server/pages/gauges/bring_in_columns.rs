//! Bringing in the plant's list, second page: what each column holds, units where none is written,
//! how dates and decimals are read. Guesses are offered; a person settles every one of them.

use std::collections::HashMap;
use std::sync::Arc;

use askama::Template;
use axum::extract::{Path, State};

use super::bring_in::asked_for;
use crate::acts::{self, bring_in};
use crate::pages::answer::{self, Answer, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted};
use crate::pages::{App, address, show};
use crate::record::gauge::{BoltForm, Isolation, Kind};
use crate::record::plant_list::date::Order;
use crate::record::plant_list::matching::{Column, Questions, Usual};
use crate::record::plant_list::number::Mark;
use crate::record::plant_list::reading::Wish;
use crate::record::plant_list::table::{Delimiter, Found};
use crate::record::plant_list::{Field, ListUnit, Matching, Table};
use crate::store;
use crate::store::bring_in::Upload;

/// Values shown of each column.
const SAMPLES: usize = 3;

type Options = Vec<(String, String)>;
/// What was typed, by field; the columns of a list make the names.
type Typed = HashMap<String, String>;

/// One column as the page shows it.
struct Shown {
    name: String,
    heading: String,
    samples: Vec<String>,
    field: String,
    units: Options,
    unit: String,
}

impl Shown {
    fn units(&self) -> Options {
        self.units.clone()
    }
}

#[derive(Template)]
#[template(path = "gauges/bring_in_columns.html")]
struct Page {
    chrome: Chrome,
    upload: Upload,
    found: Found,
    lines: i64,
    columns: Vec<Shown>,
    matching: Matching,
    sections: String,
    asked: Questions,
    errors: Errors,
    areas: Vec<String>,
    classes: Vec<String>,
}

impl Page {
    fn named(&self) -> i64 {
        let named = self.columns.iter().filter(|c| !c.field.is_empty()).count();
        i64::try_from(named).unwrap_or(i64::MAX)
    }

    fn fields() -> Options {
        std::iter::once((String::new(), "leave out".to_owned()))
            .chain(
                Field::ALL
                    .iter()
                    .map(|f| (f.word().to_owned(), f.shown().to_owned())),
            )
            .collect()
    }

    fn number_question(&self) -> Option<&str> {
        self.asked.numbers.question(self.matching.text_file)
    }

    fn has(&self, field: Field) -> bool {
        self.matching.column_of(field).is_some()
    }

    fn kind(&self) -> String {
        word(self.matching.usual.kind, Kind::word)
    }

    fn isolation(&self) -> String {
        word(self.matching.usual.isolation, Isolation::word)
    }

    fn bolt_form(&self) -> String {
        word(self.matching.usual.bolt_form, BoltForm::word)
    }

    fn order(&self) -> String {
        word(self.matching.order, Order::word)
    }

    fn mark(&self) -> String {
        word(self.matching.mark, Mark::word)
    }

    fn kinds() -> Options {
        choices(Kind::ALL, Kind::word, Kind::shown)
    }

    fn isolations() -> Options {
        choices(Isolation::ALL, Isolation::word, Isolation::shown)
    }

    fn bolt_forms() -> Options {
        choices(BoltForm::ALL, BoltForm::word, BoltForm::shown)
    }
}

fn word<T>(value: Option<T>, word: fn(T) -> &'static str) -> String {
    value.map_or_else(String::new, |v| word(v).to_owned())
}

fn choices<T: Copy>(
    all: &[T],
    word: fn(T) -> &'static str,
    shown: fn(T) -> &'static str,
) -> Options {
    std::iter::once((String::new(), "choose".to_owned()))
        .chain(
            all.iter()
                .map(|&one| (word(one).to_owned(), shown(one).to_owned())),
        )
        .collect()
}

/// A list that waits, with its table.
struct Waiting {
    upload: Upload,
    table: Arc<Table>,
}

/// The list, or where to go instead when it waits no longer.
async fn waiting(app: &App, id: &str) -> Result<Waiting, answer::PageError> {
    let mut db = app.store().read().await?;
    let upload = asked_for(&mut db, id).await?;
    if bring_in::closed(&upload, app.clock().now()).is_some() {
        return Err(answer::PageError::SeeOther(address::bring_in(
            upload.id, "done",
        )));
    }
    let table = Arc::new(bring_in::table(&mut db, &upload).await?);
    Ok(Waiting { upload, table })
}

async fn page(
    app: &App,
    chrome: Chrome,
    waiting: Waiting,
    (matching, typed): (Matching, Option<&Typed>),
    errors: Errors,
) -> Result<Page, answer::PageError> {
    let Waiting { upload, table } = waiting;
    let asked = bring_in::ask(&table, &matching).await?;
    let mut db = app.store().read().await?;
    let areas = store::plant::areas(&mut db).await?;
    let classes = store::plant::service_classes(&mut db).await?;
    let columns = (0..table.width())
        .filter(|at| !table.is_blank(*at))
        .map(|at| shown(&table, &matching, at))
        .collect();
    let sections = typed
        .and_then(|t| t.get("sections").cloned())
        .unwrap_or_else(|| {
            matching
                .usual
                .sections
                .map_or_else(String::new, |n| n.to_string())
        });
    Ok(Page {
        chrome,
        found: bring_in::found(&upload),
        upload,
        lines: i64::try_from(table.lines.len()).unwrap_or(i64::MAX),
        columns,
        sections,
        asked,
        errors,
        areas: areas.into_iter().map(|a| a.name).collect(),
        classes: classes.into_iter().map(|c| c.name).collect(),
        matching,
    })
}

fn shown(table: &Table, matching: &Matching, at: usize) -> Shown {
    let column = matching.columns.get(at).copied().unwrap_or_default();
    let units = column
        .field
        .and_then(Field::quantity)
        .map(|quantity| {
            std::iter::once((String::new(), "in every cell".to_owned()))
                .chain(
                    ListUnit::offered(quantity)
                        .into_iter()
                        .map(|unit| (unit.ucum().to_owned(), unit.symbol().to_owned())),
                )
                .collect()
        })
        .unwrap_or_default();
    Shown {
        name: at.to_string(),
        heading: table.heading(at),
        samples: table
            .samples(at, SAMPLES)
            .into_iter()
            .map(|cell| cell.chars().take(60).collect())
            .collect(),
        field: column
            .field
            .map_or_else(String::new, |f| f.word().to_owned()),
        units,
        unit: column
            .unit
            .map_or_else(String::new, |u| u.ucum().to_owned()),
    }
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome, Path(id): Path<String>) -> Answer {
    let waiting = waiting(&app, &id).await?;
    let matching = {
        let mut db = app.store().read().await?;
        bring_in::offered(&mut db, &waiting.upload, &waiting.table).await?
    };
    answer::page(&page(&app, chrome, waiting, (matching, None), Errors::none()).await?)
}

/// Keeps what was settled and goes on to the preview.
pub async fn settle(
    State(app): State<App>,
    chrome: Chrome,
    Path(id): Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    let waiting = waiting(&app, &id).await?;
    let mut errors = Errors::none();
    let text_file = bring_in::found(&waiting.upload).sheet.is_none();
    let matching = chosen(&posted.form, waiting.table.width(), text_file, &mut errors);
    let asked = bring_in::ask(&waiting.table, &matching).await?;
    for missing in matching.missing(&waiting.table, &asked) {
        errors.add(missing.field, missing.message);
    }
    if !errors.any() {
        let done = settle_one(&chrome, &posted.key, &waiting.upload, &matching).await;
        match done {
            Ok(to) => return Ok(see_other(&to)),
            Err(error) => errors = form::refused(error)?,
        }
    }
    let typed = (matching, Some(&posted.form));
    answer::refused(&page(&app, chrome, waiting, typed, errors).await?)
}

async fn settle_one(
    chrome: &Chrome,
    key: &str,
    upload: &Upload,
    matching: &Matching,
) -> acts::Result<String> {
    let mut deed = chrome.deed(key).await?;
    bring_in::match_columns(&mut deed, upload.id, matching).await?;
    let to = address::bring_in(upload.id, "preview");
    deed.commit(&to).await?;
    Ok(to)
}

/// What was chosen on the page.
fn chosen(typed: &Typed, width: usize, text_file: bool, errors: &mut Errors) -> Matching {
    let text = |name: &str| typed.get(name).map(|t| t.trim()).unwrap_or_default();
    let columns = (0..width)
        .map(|at| {
            let field: Option<Field> = text(&format!("column_{at}")).parse().ok();
            let unit = text(&format!("unit_{at}"));
            Column {
                field,
                unit: field
                    .and_then(Field::quantity)
                    .filter(|_| !unit.is_empty())
                    .and_then(|quantity| ListUnit::read(quantity, unit)),
            }
        })
        .collect();
    let sections = text("sections");
    let number = sections.parse::<u8>().ok().filter(|n| (1..=12).contains(n));
    if !sections.is_empty() && number.is_none() {
        errors.add("sections", "Write a whole number from 1 to 12");
    }
    Matching {
        columns,
        order: text("order").parse().ok(),
        short_years: text("short_years") == "yes",
        mark: text("mark").parse().ok(),
        text_file,
        usual: Usual {
            area: text("area").to_owned(),
            class: text("class").to_owned(),
            kind: text("kind").parse().ok(),
            sections: number,
            isolation: text("isolation").parse().ok(),
            bolt_form: text("bolt_form").parse().ok().or(Some(BoltForm::Bolts)),
        },
    }
}

/// Reads the same file differently: another sheet, other letters, another line of headings.
pub async fn read_again(
    State(app): State<App>,
    chrome: Chrome,
    Path(id): Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    let waiting = waiting(&app, &id).await?;
    let typed = &posted.form;
    let text = |name: &str| {
        typed
            .get(name)
            .map(|t| t.trim().to_owned())
            .filter(|t| !t.is_empty())
    };
    let mut errors = Errors::none();
    let line = text("heading_line");
    let heading_line: Option<u32> = line.as_deref().and_then(|n| n.parse().ok());
    if line.is_some() && heading_line.is_none() {
        errors.add("heading_line", "Write the number of the line, such as 3");
    }
    let wish = Wish {
        sheet: text("sheet"),
        encoding: text("encoding"),
        delimiter: text("delimiter").as_deref().and_then(Delimiter::from_word),
        heading_line,
    };
    if !errors.any() {
        match read_one(&app, &chrome, &posted.key, (&waiting.upload, wish)).await {
            Ok(to) => return Ok(see_other(&to)),
            Err(error) => {
                // The page has no field for the file; the reason stands beside the line number.
                for reason in form::refused(error)?.all() {
                    errors.add("heading_line", reason.message.clone());
                }
            }
        }
    }
    let matching = Matching::guess(&waiting.table, &bring_in::found(&waiting.upload));
    answer::refused(&page(&app, chrome, waiting, (matching, None), errors).await?)
}

async fn read_one(
    app: &App,
    chrome: &Chrome,
    key: &str,
    (upload, wish): (&Upload, Wish),
) -> acts::Result<String> {
    let bytes = {
        let mut db = app.store().read().await?;
        store::bring_in::file(&mut db, upload.id).await?
    };
    let opened = bring_in::open(upload.file_name.clone(), bytes, wish).await?;
    let mut deed = chrome.deed(key).await?;
    bring_in::read_again(&mut deed, upload.id, &opened).await?;
    let to = address::bring_in(upload.id, "columns");
    deed.commit(&to).await?;
    Ok(to)
}
