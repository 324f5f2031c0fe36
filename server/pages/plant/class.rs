//! Adding and changing a service class. Before other intervals are saved, the page says how many
//! gauges get another date; saving refreshes them all.

use askama::Template;
use axum::extract::{Path, Query, State};
use serde::{Deserialize, Serialize};

use crate::acts;
use crate::acts::refresh_many::{self, Effect};
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::board::guide;
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::merge::{self, Field};
use crate::pages::{App, address, show};
use crate::record::plant::ServiceClass;
use crate::record::{Refusal, ServiceClassId};
use crate::store;

/// What is typed, all of it text.
#[derive(Debug, Default, Clone, Serialize, Deserialize)]
#[serde(default)]
pub struct Typed {
    name: String,
    description: String,
    rebuild_months: String,
    look_over_months: String,
    defer_months: String,
    re_torque_days: String,
    flush: String,
    /// The class's row; none for a new one.
    row: i64,
    version: i64,
    #[serde(skip_serializing)]
    opened: String,
    /// The intervals whose effect was shown, so that what is saved was weighed.
    #[serde(skip_serializing)]
    weighed: String,
}

const FIELDS: &[Field] = &[
    Field {
        name: "name",
        parts: &["name"],
    },
    Field {
        name: "description",
        parts: &["description"],
    },
    Field {
        name: "rebuild_months",
        parts: &["rebuild_months"],
    },
    Field {
        name: "look_over_months",
        parts: &["look_over_months"],
    },
    Field {
        name: "defer_months",
        parts: &["defer_months"],
    },
    Field {
        name: "re_torque_days",
        parts: &["re_torque_days"],
    },
    Field {
        name: "flush",
        parts: &["flush"],
    },
];

#[derive(Template)]
#[template(path = "plant/class.html")]
struct Page {
    chrome: Chrome,
    /// The class being changed; none when one is added.
    before: Option<ServiceClass>,
    typed: Typed,
    errors: Errors,
    effect: Option<Effect>,
    /// An interval that was brought along and stands in the form, not saved.
    offered: Option<u32>,
}

/// What another page brings along.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Offered {
    rebuild_months: String,
}

impl Typed {
    fn of(class: &ServiceClass) -> Self {
        let months = |m: Option<u32>| m.map_or_else(String::new, |m| m.to_string());
        let typed = Self {
            name: class.name.clone(),
            description: class.description.clone(),
            rebuild_months: months(class.rebuild_months),
            look_over_months: months(class.look_over_months),
            defer_months: months(class.defer_months),
            re_torque_days: class
                .re_torque_days
                .map_or_else(String::new, |days| days.to_string()),
            flush: if class.flush { "yes" } else { "" }.to_owned(),
            row: class.id.0,
            version: class.version,
            ..Self::default()
        };
        Self {
            opened: merge::opened(&typed),
            ..typed
        }
    }

    fn read(&self) -> Result<ServiceClass, Errors> {
        let mut read = Reader::new();
        let name = read.needed("name", &self.name, 60, "A name has 1 to 60 characters");
        let description = read.text("description", &self.description, 400);
        let rebuild_months = read.whole("rebuild_months", &self.rebuild_months, 1..=240);
        let look_over_months = read.whole("look_over_months", &self.look_over_months, 1..=120);
        let defer_months = read.whole("defer_months", &self.defer_months, 1..=60);
        let re_torque_days = read.whole("re_torque_days", &self.re_torque_days, 1..=365);
        read.finish(name.map(|name| ServiceClass {
            re_torque_days: re_torque_days.and_then(|days| u16::try_from(days).ok()),
            flush: self.flush == "yes",
            id: ServiceClassId(self.row),
            name,
            description,
            rebuild_months,
            look_over_months,
            defer_months,
            version: self.version,
        }))
    }
}

impl Page {
    /// Whether contents are flushed out before a gauge is opened.
    #[expect(clippy::unused_self, reason = "templates call methods of their page")]
    fn flushes(&self) -> Vec<(String, String)> {
        let word = |word: &str, shown: &str| (word.to_owned(), shown.to_owned());
        vec![
            word("", "not asked"),
            word("yes", "asked: hazardous contents"),
        ]
    }
}

/// The intervals as one text, to compare what was weighed with what is saved.
fn intervals(class: &ServiceClass) -> String {
    format!("{:?}/{:?}", class.rebuild_months, class.look_over_months)
}

/// The empty form.
pub async fn new(chrome: Chrome) -> Answer {
    answer::page(&Page {
        chrome,
        before: None,
        typed: Typed::default(),
        errors: Errors::none(),
        effect: None,
        offered: None,
    })
}

/// Adds a service class.
pub async fn add(State(app): State<App>, chrome: Chrome, posted: Posted<Typed>) -> Answer {
    let errors = match posted.form.read() {
        Ok(class) => {
            let done = async {
                let mut deed = chrome.deed(&posted.key).await?;
                acts::plant::add_service_class(&mut deed, &class).await?;
                let to = guide::onwards(&app, deed.db(), address::PLANT).await?;
                deed.commit(to).await?;
                acts::Result::Ok(to)
            };
            match done.await {
                Ok(to) => return Ok(see_other(to)),
                Err(error) => form::refused(error)?,
            }
        }
        Err(errors) => errors,
    };
    answer::refused(&Page {
        chrome,
        before: None,
        typed: posted.form,
        errors,
        effect: None,
        offered: None,
    })
}

/// The form with what the class is now.
pub async fn edit(
    State(app): State<App>,
    chrome: Chrome,
    Path(name): Path<String>,
    Query(offered): Query<Offered>,
) -> Answer {
    let mut db = app.store().read().await?;
    let class = store::plant::service_class_named(&mut db, &name)
        .await?
        .ok_or(PageError::NotFound("service class"))?;
    let mut typed = Typed::of(&class);
    let offered = offered
        .rebuild_months
        .parse()
        .ok()
        .filter(|months| (1..=240).contains(months) && class.rebuild_months != Some(*months));
    if let Some(months) = offered {
        typed.rebuild_months = months.to_string();
    }
    answer::page(&Page {
        chrome,
        typed,
        before: Some(class),
        errors: Errors::none(),
        effect: None,
        offered,
    })
}

/// Changes it: other intervals are weighed first and saved once their effect was seen.
pub async fn change(
    State(app): State<App>,
    chrome: Chrome,
    Path(name): Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    let mut db = app.store().read().await?;
    let before = match posted.form.row {
        0 => store::plant::service_class_named(&mut db, &name).await?,
        row => store::plant::service_class(&mut db, ServiceClassId(row)).await?,
    }
    .ok_or(PageError::NotFound("service class"))?;
    let errors = match posted.form.read() {
        Ok(read) => {
            let class = ServiceClass {
                id: before.id,
                ..read
            };
            let weighed = intervals(&class);
            if class.version == before.version
                && weighed != intervals(&before)
                && weighed != posted.form.weighed
            {
                let wanted = (class.rebuild_months, class.look_over_months);
                let effect =
                    refresh_many::effect_of_intervals(&mut db, class.id, wanted, chrome.today)
                        .await;
                match effect {
                    Ok(effect) => {
                        return answer::page(&Page {
                            chrome,
                            before: Some(before),
                            typed: Typed {
                                weighed,
                                ..posted.form
                            },
                            errors: Errors::none(),
                            effect: Some(effect),
                            offered: None,
                        });
                    }
                    Err(error) => form::refused(error)?,
                }
            } else {
                drop(db);
                match change_one(&chrome, &posted.key, &class).await {
                    Ok(()) => return Ok(see_other(address::PLANT)),
                    Err(acts::Error::Refused(Refusal::Changed { by, .. })) => {
                        return second_saver(&app, chrome, posted.form, before.id, &by).await;
                    }
                    Err(error) => form::refused(error)?,
                }
            }
        }
        Err(errors) => errors,
    };
    answer::refused(&Page {
        chrome,
        before: Some(before),
        typed: posted.form,
        errors,
        effect: None,
        offered: None,
    })
}

async fn change_one(chrome: &Chrome, key: &str, class: &ServiceClass) -> acts::Result<()> {
    let mut deed = chrome.deed(key).await?;
    acts::plant::change_service_class(&mut deed, class).await?;
    deed.commit(address::PLANT).await
}

async fn second_saver(
    app: &App,
    chrome: Chrome,
    typed: Typed,
    id: ServiceClassId,
    by: &str,
) -> Answer {
    let mut db = app.store().read().await?;
    let now = store::plant::service_class(&mut db, id)
        .await?
        .ok_or(PageError::NotFound("service class"))?;
    let fresh = Typed::of(&now);
    let opened = typed.opened.clone();
    let (merged, errors) = merge::merge(&opened, (typed, &fresh), FIELDS, by, |field, values| {
        let first = values.first().cloned().unwrap_or_default();
        match field {
            "rebuild_months" | "look_over_months" | "defer_months" if !first.is_empty() => {
                format!("{first} months")
            }
            "re_torque_days" if !first.is_empty() => format!("{first} days"),
            _ => first,
        }
    });
    answer::refused(&Page {
        chrome,
        before: Some(now),
        typed: Typed {
            row: fresh.row,
            version: fresh.version,
            opened: fresh.opened,
            weighed: String::new(),
            ..merged
        },
        errors,
        effect: None,
        offered: None,
    })
}
