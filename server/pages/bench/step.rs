//! How every step of the bench sheet is asked for and recorded: one way for all of them, so that a
//! correction, a second press and a colleague's entry are treated alike. What a step asks is in its file.

use std::future::Future;

use axum::extract::{Path, Query, State};
use serde::Deserialize;
use serde::de::DeserializeOwned;
use sqlx::SqliteConnection;

use super::job::{self, Job};
use super::sheet::{Form, Page};
use crate::acts;
use crate::acts::bench::Recorded;
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::{App, address};
use crate::record::EntryId;
use crate::record::bench::Entry;
use crate::store;

/// A list of (word kept, word shown) to choose from.
pub type Options = Vec<(String, String)>;

/// What is typed for one step, all of it text.
pub trait Step: DeserializeOwned + Default + Clone + Send + Sync + 'static {
    /// The form as it stands for an entry that is to be corrected; none for another step's entry.
    fn of(entry: &Entry) -> Option<Self>;

    /// The same where it corrects this entry.
    #[must_use]
    fn correcting(self, _: EntryId) -> Self {
        self
    }

    /// Reads what was typed.
    ///
    /// # Errors
    /// Every message, by field.
    fn read(&self, job: &Job, chrome: &Chrome) -> Result<Recorded, Errors>;

    /// The form to show, with what it needs to be chosen from.
    fn form(
        self,
        db: &mut SqliteConnection,
        job: &Job,
        chrome: &Chrome,
    ) -> impl Future<Output = store::Result<Form>> + Send;

    /// What is wrong with a choice that only leads on and records nothing; asked with the form it led to.
    fn stops(&self, _: &Form) -> Errors {
        Errors::none()
    }

    /// Whether the form was sent only to be worked out, not to be recorded.
    fn only_looks(&self) -> bool {
        false
    }
}

/// What every form of the bench carries besides its own fields.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Common {
    /// The last entry the page showed.
    pub seen: String,
    /// The entry that is corrected.
    pub correct: String,
    /// Why.
    pub reason: String,
}

impl Common {
    /// The entry that is corrected, if one is.
    pub fn corrects(&self) -> Option<EntryId> {
        self.correct.parse().ok().map(EntryId)
    }
}

/// What came with a request: the common fields and the step's own.
#[derive(Debug, Default, Clone, Deserialize)]
pub struct Entered<T> {
    /// The fields every form carries.
    #[serde(flatten)]
    pub common: Common,
    /// The step's own fields.
    #[serde(flatten)]
    pub typed: T,
}

/// The form of a step, empty or as far as the address fills it, or an entry to be corrected.
pub async fn show<T: Step>(
    State(app): State<App>,
    chrome: Chrome,
    Path(tag): Path<String>,
    Query(entered): Query<Entered<T>>,
) -> Answer {
    let mut db = app.store().read().await?;
    let (_, Some(job)) = job::find(&mut db, &tag).await? else {
        return Ok(see_other(&address::bench(&tag)));
    };
    let typed = match entered.common.corrects() {
        None => entered.typed,
        Some(id) => job
            .course
            .entry(id)
            .and_then(T::of)
            .ok_or(PageError::NotFound("entry"))?
            .correcting(id),
    };
    let form = typed.clone().form(&mut db, &job, &chrome).await?;
    let stops = typed.stops(&form);
    answer::page(&Page::new(chrome, job, form, stops, entered.common))
}

/// Records what was typed, or corrects an entry by it.
pub async fn record<T: Step>(
    State(app): State<App>,
    chrome: Chrome,
    Path(tag): Path<String>,
    posted: Posted<Entered<T>>,
) -> Answer {
    let job = job::posted(&app, &tag, &posted.rebuild).await?;
    let Entered { common, typed } = posted.form;
    let typed = match common.corrects() {
        Some(id) => typed.correcting(id),
        None => typed,
    };
    let read = typed.read(&job, &chrome);
    let done = match read {
        Ok(_) if typed.only_looks() => Err(Ok(Errors::none())),
        Ok(new) => write(&chrome, &posted.key, &job, &common, &new)
            .await
            .map_err(form::refused),
        Err(errors) => Err(Ok(errors)),
    };
    match done {
        Ok(to) => Ok(see_other(&to)),
        Err(errors) => {
            let errors = errors?;
            let mut db = app.store().read().await?;
            let (_, Some(job)) = job::find(&mut db, &tag).await? else {
                return Ok(see_other(&address::bench(&tag)));
            };
            let looks = !errors.any();
            let form = typed.form(&mut db, &job, &chrome).await?;
            let page = Page::new(chrome, job, form, errors, common);
            if looks {
                answer::page(&page)
            } else {
                answer::refused(&page)
            }
        }
    }
}

async fn write(
    chrome: &Chrome,
    key: &str,
    job: &Job,
    common: &Common,
    new: &Recorded,
) -> acts::Result<String> {
    let mut deed = chrome.deed(key).await?;
    let id = job.rebuild.id;
    if let Some(entry) = common.corrects() {
        acts::bench::correct(&mut deed, id, entry, new, &common.reason).await?;
    } else {
        let seen = common.seen.parse().unwrap_or(0);
        acts::bench::record(&mut deed, id, new, seen).await?;
    }
    let to = address::bench(&job.gauge.particulars.tag);
    deed.commit(&to).await?;
    Ok(to)
}

/// Reads the section a form speaks of: its number, or all of them where that is offered.
pub fn section(read: &mut Reader, job: &Job, typed: &str, all: bool) -> Option<Option<u8>> {
    if job.course.sections == 1 {
        return Some(Some(1));
    }
    let typed = typed.trim();
    if all && typed == "all" {
        return Some(None);
    }
    match typed.parse::<u8>() {
        Ok(number) if (1..=job.course.sections).contains(&number) => Some(Some(number)),
        _ => {
            read.refuse("section", "Choose the section");
            None
        }
    }
}

/// The section of an entry as its form has it.
pub fn section_typed(section: Option<u8>) -> String {
    section.map_or_else(|| "all".to_owned(), |number| number.to_string())
}

/// The sections to choose from, and what all of them together are called where that is offered.
pub fn sections(job: &Job, whole: Option<&str>) -> Options {
    let numbers = (1..=job.course.sections).map(|n| (n.to_string(), n.to_string()));
    let whole = whole.map(|whole| ("all".to_owned(), whole.to_owned()));
    numbers.chain(whole).collect()
}

/// The words of a closed list to choose from.
pub fn words<T: Copy>(
    all: &[T],
    word: fn(T) -> &'static str,
    shown: fn(T) -> &'static str,
) -> Options {
    all.iter()
        .map(|&one| (word(one).to_owned(), shown(one).to_owned()))
        .collect()
}

/// A tick that has to be there.
pub fn needed_tick(read: &mut Reader, field: &str, typed: &str, message: &str) {
    if typed.is_empty() {
        read.refuse(field, message);
    }
}

/// A tick as a form has it.
pub fn ticked() -> String {
    "yes".to_owned()
}
