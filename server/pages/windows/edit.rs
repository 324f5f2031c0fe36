//! Agreeing a shutdown window and moving one. Saving refreshes the due dates of the gauges that
//! wait for a shutdown in its area.

use askama::Template;
use axum::extract::{Path, State};
use serde::{Deserialize, Serialize};
use sqlx::SqliteConnection;
use time::Date;

use super::show::found;
use crate::acts;
use crate::acts::window_plan::MoveEffect;
use crate::acts::windows::Agreed;
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::merge::{self, Field};
use crate::pages::{App, address, show};
use crate::record::{AreaId, Refusal, TagNumber, WindowId};
use crate::store;
use crate::store::windows::Window;

/// What is typed, all of it text.
#[derive(Debug, Default, Clone, Serialize, Deserialize)]
#[serde(default)]
pub struct Typed {
    area: String,
    name: String,
    starts_on: String,
    ends_on: String,
    /// The window's row; none for a new one.
    row: i64,
    version: i64,
    #[serde(skip_serializing)]
    opened: String,
    /// The days whose effect was shown, so that what is saved was weighed.
    #[serde(skip_serializing)]
    weighed: String,
    /// Whether the rebuilds planned into it go with it.
    #[serde(skip_serializing)]
    with_rebuilds: String,
    /// Whether that was asked already.
    #[serde(skip_serializing)]
    asked: String,
}

const FIELDS: &[Field] = &[
    Field {
        name: "name",
        parts: &["name"],
    },
    Field {
        name: "starts_on",
        parts: &["starts_on"],
    },
    Field {
        name: "ends_on",
        parts: &["ends_on"],
    },
];

#[derive(Template)]
#[template(path = "windows/edit.html")]
struct Page {
    chrome: Chrome,
    /// The window being moved; none when one is added.
    before: Option<Window>,
    areas: Vec<(String, String)>,
    typed: Typed,
    errors: Errors,
    effect: Option<Effect>,
}

/// What other days would do, with the tag numbers of those that fall out.
struct Effect {
    counts: MoveEffect,
    tags: Vec<TagNumber>,
}

impl Page {
    /// Whether it is asked if the rebuilds planned into the window go with it: of who plans rebuilds. Others who
    /// move a window leave them where they are.
    fn asks(&self) -> bool {
        self.goes().is_some() && self.chrome.plans()
    }

    /// What other days would do, where rebuilds may go with the window.
    fn goes(&self) -> Option<&Effect> {
        self.effect
            .as_ref()
            .filter(|effect| effect.counts.go_with_it > 0)
    }
}

impl Effect {
    /// What is ticked so that the rebuilds planned into the window go with it.
    fn go_with_it(&self) -> String {
        match self.counts.go_with_it {
            1 => "Move its rebuild along, which is not begun".to_owned(),
            many => format!("Move its {many} rebuilds along, which are not begun"),
        }
    }

    /// What is said instead to who does not plan rebuilds.
    fn stays(&self) -> String {
        match self.counts.go_with_it {
            1 => "Its rebuild, which is not begun, stays on the day it has; the reliability engineer gives it another.".to_owned(),
            many => format!("Its {many} rebuilds, which are not begun, stay on the days they have; the reliability engineer gives them others."),
        }
    }
}

impl Typed {
    fn of(window: &Window) -> Self {
        let typed = Self {
            area: window.area_id.0.to_string(),
            name: window.name.clone(),
            starts_on: show::plain_date(&window.starts_on),
            ends_on: show::plain_date(&window.ends_on),
            row: window.id.0,
            version: window.version,
            opened: String::new(),
            weighed: String::new(),
            with_rebuilds: String::new(),
            asked: String::new(),
        };
        Self {
            opened: merge::opened(&typed),
            ..typed
        }
    }

    fn read(&self) -> Result<Agreed, Errors> {
        let mut read = Reader::new();
        let area = read.take(
            "area",
            self.area
                .parse()
                .map(AreaId)
                .map_err(|_| "Choose the area that stands"),
        );
        let name = read.needed(
            "name",
            &self.name,
            80,
            "Name the window in 1 to 80 characters",
        );
        let starts_on = read.needed_date("starts_on", &self.starts_on);
        let ends_on = read.needed_date("ends_on", &self.ends_on);
        let whole = (|| {
            Some(Agreed {
                area: area?,
                name: name?,
                starts_on: starts_on?,
                ends_on: ends_on?,
                with_rebuilds: !self.with_rebuilds.is_empty(),
            })
        })();
        read.finish(whole)
    }
}

async fn areas(db: &mut SqliteConnection) -> store::Result<Vec<(String, String)>> {
    let known = store::plant::areas(db).await?;
    Ok(std::iter::once((String::new(), "choose".to_owned()))
        .chain(known.into_iter().map(|a| (a.id.0.to_string(), a.name)))
        .collect())
}

async fn page(
    app: &App,
    chrome: Chrome,
    before: Option<Window>,
    typed: Typed,
    errors: Errors,
) -> Result<Page, PageError> {
    let mut db = app.store().read().await?;
    Ok(Page {
        areas: areas(&mut db).await?,
        chrome,
        before,
        typed,
        errors,
        effect: None,
    })
}

/// The empty form.
pub async fn new(State(app): State<App>, chrome: Chrome) -> Answer {
    answer::page(&page(&app, chrome, None, Typed::default(), Errors::none()).await?)
}

/// Adds a window.
pub async fn add(State(app): State<App>, chrome: Chrome, posted: Posted<Typed>) -> Answer {
    let errors = match posted.form.read() {
        Ok(agreed) => {
            let done = async {
                let mut deed = chrome.deed(&posted.key).await?;
                acts::windows::add(&mut deed, &agreed).await?;
                deed.commit(address::WINDOWS).await
            };
            match done.await {
                Ok(()) => return Ok(see_other(address::WINDOWS)),
                Err(error) => form::refused(error)?,
            }
        }
        Err(errors) => errors,
    };
    answer::refused(&page(&app, chrome, None, posted.form, errors).await?)
}

/// The form with the days the window has.
pub async fn edit(
    State(app): State<App>,
    chrome: Chrome,
    Path((area, starts_on)): Path<(String, String)>,
) -> Answer {
    let window = found(&app, &area, &starts_on).await?;
    let typed = Typed::of(&window);
    answer::page(&page(&app, chrome, Some(window), typed, Errors::none()).await?)
}

/// Moves the window the form was opened for, even if its days were changed meanwhile.
pub async fn change(
    State(app): State<App>,
    chrome: Chrome,
    Path((area, starts_on)): Path<(String, String)>,
    posted: Posted<Typed>,
) -> Answer {
    let window = match posted.form.row {
        0 => found(&app, &area, &starts_on).await?,
        row => by_row(&app, WindowId(row)).await?,
    };
    let typed = Typed {
        area: window.area_id.0.to_string(),
        ..posted.form
    };
    let errors = match typed.read() {
        Ok(agreed) if typed.version == window.version && unweighed(&window, &agreed, &typed) => {
            match effect(&app, &window, &agreed, chrome.today).await {
                Ok(effect) => {
                    // Ticked where it is first asked; who unticks it and weighs other days has said no.
                    let first = typed.asked.is_empty() && effect.counts.go_with_it > 0;
                    let with_rebuilds = if first && chrome.plans() {
                        "yes".to_owned()
                    } else {
                        typed.with_rebuilds
                    };
                    let typed = Typed {
                        weighed: days(&agreed),
                        with_rebuilds,
                        ..typed
                    };
                    let page = page(&app, chrome, Some(window), typed, Errors::none()).await?;
                    return answer::page(&Page {
                        effect: Some(effect),
                        ..page
                    });
                }
                Err(error) => form::refused(error)?,
            }
        }
        Ok(agreed) => match change_one(&chrome, &posted.key, &window, typed.version, &agreed).await
        {
            Ok(to) => return Ok(see_other(&to)),
            Err(acts::Error::Refused(Refusal::Changed { by, .. })) => {
                return second_saver(&app, chrome, typed, window.id, &by).await;
            }
            Err(error) => form::refused(error)?,
        },
        Err(errors) => errors,
    };
    answer::refused(&page(&app, chrome, Some(window), typed, errors).await?)
}

/// The days as one text, to compare what was weighed with what is saved.
fn days(agreed: &Agreed) -> String {
    format!("{}/{}", agreed.starts_on, agreed.ends_on)
}

/// Whether the days are others than before and their effect was not shown yet.
fn unweighed(window: &Window, agreed: &Agreed, typed: &Typed) -> bool {
    let moved = (agreed.starts_on, agreed.ends_on) != (window.starts_on, window.ends_on);
    moved && agreed.ends_on >= agreed.starts_on && typed.weighed != days(agreed)
}

async fn effect(app: &App, window: &Window, agreed: &Agreed, today: Date) -> acts::Result<Effect> {
    let mut db = app.store().read().await?;
    let to = (agreed.starts_on, agreed.ends_on);
    let counts = acts::window_plan::effect_of_move(&mut db, window, to, today).await?;
    let mut tags = Vec::new();
    for gauge in &counts.first_out {
        let found = store::gauges::by_id(&mut db, *gauge).await?;
        tags.extend(found.map(|gauge| gauge.particulars.tag));
    }
    Ok(Effect { counts, tags })
}

async fn by_row(app: &App, id: WindowId) -> Result<Window, PageError> {
    let mut db = app.store().read().await?;
    store::windows::by_id(&mut db, id)
        .await?
        .ok_or(PageError::NotFound("shutdown window"))
}

async fn change_one(
    chrome: &Chrome,
    key: &str,
    window: &Window,
    version: i64,
    agreed: &Agreed,
) -> acts::Result<String> {
    if agreed.with_rebuilds && !chrome.plans() {
        let words =
            "The reliability engineer gives rebuilds another day; move the window without them";
        return Err(Refusal::not_now(words).into());
    }
    let mut deed = chrome.deed(key).await?;
    let read = Window {
        version,
        ..window.clone()
    };
    acts::windows::change(&mut deed, &read, agreed).await?;
    let to = address::window(&window.area, agreed.starts_on);
    deed.commit(&to).await?;
    Ok(to)
}

async fn second_saver(app: &App, chrome: Chrome, typed: Typed, id: WindowId, by: &str) -> Answer {
    let now = by_row(app, id).await?;
    let fresh = Typed::of(&now);
    let opened = typed.opened.clone();
    let (merged, errors) = merge::merge(&opened, (typed, &fresh), FIELDS, by, |_, values| {
        values.first().cloned().unwrap_or_default()
    });
    let typed = Typed {
        row: fresh.row,
        version: fresh.version,
        opened: fresh.opened,
        ..merged
    };
    answer::refused(&page(app, chrome, Some(now), typed, errors).await?)
}
