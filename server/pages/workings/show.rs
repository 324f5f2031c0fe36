//! One computation, tried with one's own numbers: its fields, its result, its working, its cautions.
//! The numbers stand in the address, so that a working can be sent to a colleague.

use std::time::Duration;

use askama::Template;
use axum::extract::{Path, RawQuery, State};
use serde_json::Value;

use super::shown::Shown;
use super::typed::Typed;
use crate::calc::working::Working;
use crate::pages::answer::{self, Answer, PageError};
use crate::pages::chrome::Chrome;
use crate::pages::form::{Errors, Posted};
use crate::pages::{App, address, show};
use crate::workings::{self, Care, Computation, Field, Kind, Refused};

/// The longest query an address is given; browsers and proxies cut what is much longer.
const LONGEST: usize = 6_000;
/// How long somebody waits for the turn of their working.
const TURN_WITHIN: Duration = Duration::from_secs(20);

/// How a field is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Control {
    Quantity,
    Number,
    Choice,
    Day,
    Text,
    Long,
}

/// A field with what was typed and what is wrong with it.
struct Entry {
    control: Control,
    name: String,
    label: String,
    hint: String,
    value: String,
    unit: String,
    options: Vec<(String, String)>,
    error: String,
}

impl Entry {
    fn options(&self) -> &[(String, String)] {
        &self.options
    }

    /// What was entered, as paper shows it: a field of a form would be cut off there.
    fn on_paper(&self) -> String {
        let chosen = |word: &str| {
            let option = self.options.iter().find(|(own, _)| own == word);
            option.map_or_else(String::new, |(_, shown)| shown.clone())
        };
        match self.control {
            _ if self.value.trim().is_empty() => "\u{2013}".to_owned(),
            Control::Choice => chosen(&self.value),
            Control::Quantity => format!("{} {}", self.value, chosen(&self.unit)),
            Control::Number | Control::Day | Control::Text | Control::Long => self.value.clone(),
        }
    }
}

#[derive(Template)]
#[template(path = "workings/show.html")]
struct Page {
    chrome: Chrome,
    computation: &'static Computation,
    entries: Vec<Entry>,
    errors: Errors,
    answer: Option<(Shown, Working)>,
    tried: bool,
}

impl Page {
    fn address(&self) -> String {
        address::working(self.computation.name)
    }

    /// Whether a list can be typed, which may be too long for an address.
    fn takes_a_list(&self) -> bool {
        self.entries.iter().any(|e| e.control == Control::Long)
    }

    fn cautions(&self) -> Vec<&'static str> {
        self.computation
            .cares
            .iter()
            .map(|care| caution(*care))
            .collect()
    }
}

/// The usual cautions where a result touches something that can hurt.
fn caution(care: Care) -> &'static str {
    match care {
        Care::Tightening => {
            "Never tighten a gauge under pressure or hot. Isolate, lock out and tag (in the United States 29 CFR 1910.147), drain, vent, and prove zero energy first. Use a calibrated wrench; the nameplate torque stands."
        }
        Care::Pressure => {
            "Hot, pressurised or toxic contents may stand behind the glass: isolate, lock out and tag, drain, vent, prove zero energy before loosening. Vent all air before a test: trapped air stores energy. Eye and face protection; stand clear of the glass line. Mind the water\u{2019}s temperature against brittle fracture and, for austenitic steel, its chloride content."
        }
        Care::Gas => {
            "Compressed gas stores enough energy to kill. Test with gas only where liquid cannot be used and a competent person has approved the exclusion distance."
        }
        Care::Parts => {
            "Never reuse glass or gaskets; a scratched or chipped glass is scrap. Isolate, lock out and tag, drain, vent, and prove zero energy before loosening."
        }
    }
}

fn entry(field: &Field, typed: &Typed, errors: &Errors) -> Entry {
    let mut hint = field.hint.clone();
    let (control, mut options) = match &field.kind {
        Kind::Quantity(units) => (Control::Quantity, units.clone()),
        Kind::Choice(choices) => (Control::Choice, choices.clone()),
        Kind::Day => (Control::Day, Vec::new()),
        Kind::Number | Kind::Whole => (Control::Number, Vec::new()),
        Kind::Numbers => (Control::Long, Vec::new()),
        Kind::Rows(columns) => {
            hint = joined(&hint, &columns_in_words(columns));
            (Control::Long, Vec::new())
        }
        Kind::Text | Kind::Words | Kind::Group(_) => (Control::Text, Vec::new()),
    };
    if field.kind == Kind::Numbers {
        hint = joined(&hint, "Numbers with spaces between.");
    }
    if control == Control::Choice && !field.needed {
        options.insert(0, (String::new(), "\u{2013}".to_owned()));
    }
    let label = if field.needed {
        field.label.clone()
    } else {
        format!("{} (may be left out)", field.label)
    };
    Entry {
        control,
        name: field.name.clone(),
        label,
        hint,
        value: typed.get(&field.name).to_owned(),
        unit: typed.get(&format!("{}_unit", field.name)).to_owned(),
        options,
        error: errors.on(&field.name).to_owned(),
    }
}

fn joined(first: &str, second: &str) -> String {
    if first.is_empty() {
        second.to_owned()
    } else {
        format!("{first} {second}")
    }
}

fn columns_in_words(columns: &[Field]) -> String {
    let named: Vec<String> = columns
        .iter()
        .map(|column| {
            let words = match &column.kind {
                Kind::Choice(choices) => {
                    let words: Vec<&str> = choices.iter().map(|(word, _)| word.as_str()).collect();
                    format!("{} ({})", column.label, words.join(" or "))
                }
                Kind::Numbers => format!("{} (with spaces between)", column.label),
                _ => column.label.clone(),
            };
            if column.needed {
                words
            } else {
                format!("[{words}]")
            }
        })
        .collect();
    format!(
        "A line each, with semicolons or tabs between: {}",
        named.join("; ")
    )
}

/// Runs a computation beside the threads that answer, one at a time: some keep a processor busy for
/// seconds, and everybody else's pages go on meanwhile.
async fn run(
    app: &App,
    computation: &'static Computation,
    input: Value,
) -> Result<Result<workings::Answer, Refused>, PageError> {
    let turn = tokio::time::timeout(TURN_WITHIN, app.workings()).await;
    let Ok(Some(turn)) = turn else {
        return Err(PageError::Busy);
    };
    // The turn goes along: a page that is left does not end the work it began.
    tokio::task::spawn_blocking(move || {
        let _turn = turn;
        computation.run(&input)
    })
    .await
    .map_err(|error| PageError::Paper(format!("a working: {error}")))
}

async fn page(
    app: &App,
    chrome: Chrome,
    computation: &'static Computation,
    typed: Typed,
) -> Answer {
    let fields = computation.fields();
    let tried = !typed.0.is_empty();
    let typed = if tried {
        typed
    } else {
        Typed::of(fields, &computation.sample())
    };
    let mut errors = Errors::none();
    let mut answer = None;
    if tried {
        match typed.read(fields) {
            Err(wrong) => errors = wrong,
            Ok(input) => match run(app, computation, input).await? {
                Ok(found) => {
                    let shown = Shown::of(computation.result(), &found.result);
                    answer = Some((shown, found.working));
                }
                Err(refused) => errors.add(field_of(&refused.path), refused.words),
            },
        }
    }
    let page = Page {
        entries: fields.iter().map(|f| entry(f, &typed, &errors)).collect(),
        chrome,
        computation,
        answer,
        tried,
        errors,
    };
    if page.errors.any() {
        answer::refused(&page)
    } else {
        answer::page(&page)
    }
}

/// The field of a JSON path: its first name.
fn field_of(path: &str) -> String {
    path.trim_start_matches("$.")
        .split(['.', '['])
        .next()
        .unwrap_or_default()
        .trim_start_matches('$')
        .to_owned()
}

fn find(name: &str) -> Result<&'static Computation, PageError> {
    workings::find(name).ok_or(PageError::NotFound("computation"))
}

/// The page, with the result of what stands in the address.
pub async fn show(
    State(app): State<App>,
    chrome: Chrome,
    Path(name): Path<String>,
    RawQuery(query): RawQuery,
) -> Answer {
    let computation = find(&name)?;
    let typed = serde_html_form::from_str(query.as_deref().unwrap_or_default())
        .map_err(|error| PageError::BadForm(error.to_string()))?;
    page(&app, chrome, computation, Typed(typed)).await
}

/// The result of what was posted: sent on to its address, unless that would be too long.
pub async fn compute(
    State(app): State<App>,
    chrome: Chrome,
    Path(name): Path<String>,
    posted: Posted<Vec<(String, String)>>,
) -> Answer {
    let computation = find(&name)?;
    let typed: Vec<(String, String)> = posted
        .form
        .into_iter()
        .filter(|(name, _)| name != "key")
        .collect();
    let values: Vec<(&str, String)> = typed
        .iter()
        .map(|(name, value)| (name.as_str(), value.clone()))
        .collect();
    let address = address::with_query(&address::working(computation.name), &values);
    if address.len() <= LONGEST && address.contains('?') {
        return Ok(answer::see_other(&address));
    }
    page(&app, chrome, computation, Typed(typed)).await
}
