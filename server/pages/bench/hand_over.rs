//! Handing a rebuild to somebody of the next shift with what they have to know, and taking it over.
//! Both stand on the sheet; everybody of the bench goes on working on every open rebuild.

use axum::extract::{Path, State};
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::job::{self, Job};
use super::sheet::{Form, Page};
use super::step::{Common, Options};
use crate::acts;
use crate::acts::hand_overs;
use crate::pages::answer::{self, Answer, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::{App, address};
use crate::record::PersonId;
use crate::store;

/// What is typed.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    pub(super) to: String,
    pub(super) note: String,
}

/// The form with whom to choose from.
#[derive(Debug, Clone)]
pub struct View {
    /// What is typed.
    pub typed: Typed,
    /// Everybody else who works at the bench.
    pub people: Options,
}

impl View {
    /// Everybody else who works at the bench.
    pub fn people(&self) -> Options {
        self.people.clone()
    }
}

impl Typed {
    async fn form(self, db: &mut SqliteConnection, chrome: &Chrome) -> store::Result<Form> {
        let own = chrome.signed.person.id;
        let people = store::people::at_the_bench(db)
            .await?
            .into_iter()
            .filter(|one| one.id != own)
            .map(|one| (one.id.0.to_string(), one.name))
            .collect();
        Ok(Form::HandOver(View {
            typed: self,
            people,
        }))
    }

    fn read(&self) -> Result<(PersonId, String), Errors> {
        let mut read = Reader::new();
        let to = read.take(
            "to",
            self.to
                .parse()
                .map(PersonId)
                .map_err(|_| "Choose who takes it over"),
        );
        let note = read.needed(
            "note",
            &self.note,
            2000,
            "Say what the other has to know, in at most 2000 characters",
        );
        read.finish(to.zip(note))
    }
}

/// The form.
pub async fn show(State(app): State<App>, chrome: Chrome, Path(tag): Path<String>) -> Answer {
    let mut db = app.store().read().await?;
    let (_, Some(job)) = job::find(&mut db, &tag).await? else {
        return Ok(see_other(&address::bench(&tag)));
    };
    let form = Typed::default().form(&mut db, &chrome).await?;
    let page = Page::new(chrome, job, form, Errors::none(), Common::default());
    answer::page(&page)
}

/// Hands it over.
pub async fn hand(
    State(app): State<App>,
    chrome: Chrome,
    Path(tag): Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    let job = job::posted(&app, &tag, &posted.rebuild).await?;
    let done = match posted.form.read() {
        Ok((to, note)) => handed(&chrome, &posted.key, &job, (to, &note))
            .await
            .map_err(form::refused),
        Err(errors) => Err(Ok(errors)),
    };
    match done {
        Ok(to) => Ok(see_other(&to)),
        Err(errors) => {
            let mut db = app.store().read().await?;
            let form = posted.form.form(&mut db, &chrome).await?;
            answer::refused(&Page::new(chrome, job, form, errors?, Common::default()))
        }
    }
}

async fn handed(
    chrome: &Chrome,
    key: &str,
    job: &Job,
    (to, note): (PersonId, &str),
) -> acts::Result<String> {
    let mut deed = chrome.deed(key).await?;
    hand_overs::hand_over(&mut deed, job.rebuild.id, to, note).await?;
    let to = address::bench(&job.gauge.particulars.tag);
    deed.commit(&to).await?;
    Ok(to)
}

/// A button that needs nothing typed.
#[derive(Debug, Default, Clone, Deserialize)]
pub struct Press {}

/// Takes over what was handed to the person who presses.
pub async fn take(
    State(app): State<App>,
    chrome: Chrome,
    Path(tag): Path<String>,
    posted: Posted<Press>,
) -> Answer {
    let job = job::posted(&app, &tag, &posted.rebuild).await?;
    let to = address::bench(&job.gauge.particulars.tag);
    let done = async {
        let mut deed = chrome.deed(&posted.key).await?;
        hand_overs::take_over(&mut deed, job.rebuild.id).await?;
        deed.commit(&to).await
    }
    .await;
    match done {
        Ok(()) => Ok(see_other(&to)),
        Err(error) => {
            let errors = form::refused(error)?;
            let mut db = app.store().read().await?;
            let form = Form::due(&mut db, &job, &chrome).await?;
            answer::refused(&Page::new(chrome, job, form, errors, Common::default()))
        }
    }
}
