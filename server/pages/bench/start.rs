//! Taken to the bench: when that is planned for, and what is asked of a gauge that cannot be isolated in
//! service while no shutdown window of its area is open. Whether it may go is decided in `acts`.

use axum::extract::{Path, State};
use serde::Deserialize;
use sqlx::SqliteConnection;
use time::Date;

use super::job::{self, Job};
use super::sheet::{Form, Page};
use super::step::Common;
use crate::acts::rebuilds::{self, Taking};
use crate::pages::answer::{self, Answer, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::{App, address, show};
use crate::record::course::Next;
use crate::record::rebuild::{LOOKED, STANDS};
use crate::store;
use crate::store::windows::Window;

/// What is typed.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    version: i64,
    pub(super) stands: String,
    pub(super) stands_reason: String,
    pub(super) looked: String,
}

/// The form with the days it rests on.
#[derive(Debug, Clone)]
pub struct View {
    /// What is typed.
    pub typed: Typed,
    /// Whether it is asked if the vessel stands: it has to, and today lies in no window.
    pub outside: bool,
    /// The window the planned day lies in.
    pub planned_into: Option<Window>,
    /// How far off the planned day is.
    pub ahead: String,
}

impl View {
    /// What is ticked of a gauge that is taken outside of every window.
    pub fn stands(&self) -> String {
        show::sentence(STANDS)
    }

    /// What is ticked of a gauge that is only assumed to be isolated in service.
    pub fn looked(&self) -> String {
        show::sentence(LOOKED)
    }
}

impl Typed {
    /// The form for this rebuild.
    ///
    /// # Errors
    /// The store's failure.
    pub async fn form(
        self,
        db: &mut SqliteConnection,
        job: &Job,
        chrome: &Chrome,
    ) -> store::Result<Form> {
        let (area, day) = (job.gauge.particulars.area_id, job.rebuild.planned_for);
        Ok(Form::Start(Box::new(View {
            typed: self,
            outside: store::windows::is_outside(db, &job.gauge, chrome.today).await?,
            planned_into: store::windows::covering(db, area, day).await?,
            ahead: ahead(day, chrome.today),
        })))
    }

    /// What was said, as it stands.
    pub(super) fn told(&self) -> Taking {
        Taking {
            stands: !self.stands.is_empty(),
            reason: self.stands_reason.trim().to_owned(),
            looked: !self.looked.is_empty(),
        }
    }

    fn read(&self) -> Result<Taking, Errors> {
        let mut read = Reader::new();
        read.text("stands_reason", &self.stands_reason, 400);
        read.finish(Some(self.told()))
    }
}

/// How far the planned day is from today, in days while it lies ahead.
fn ahead(day: Date, today: Date) -> String {
    match (day - today).whole_days() {
        days @ 2.. => format!("in {} days", show::grouped(days)),
        _ => show::distance(&day, &today),
    }
}

/// Takes the gauge to the bench.
pub async fn start(
    State(app): State<App>,
    chrome: Chrome,
    Path(tag): Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    let job = job::posted(&app, &tag, &posted.rebuild).await?;
    let to = address::bench(&job.gauge.particulars.tag);
    let done = match posted.form.read() {
        Err(errors) => Err(Ok(errors)),
        Ok(told) => async {
            let mut deed = chrome.deed(&posted.key).await?;
            rebuilds::start(&mut deed, job.seen(posted.form.version), &told).await?;
            deed.commit(&to).await
        }
        .await
        .map_err(form::refused),
    };
    let errors = match done {
        Ok(()) => return Ok(see_other(&to)),
        Err(errors) => errors?,
    };
    let mut db = app.store().read().await?;
    let (_, Some(job)) = job::find(&mut db, &tag).await? else {
        return Ok(see_other(&to));
    };
    // Somebody else may have taken it there meanwhile.
    let form = match job.course.next() {
        Next::Start => posted.form.form(&mut db, &job, &chrome).await?,
        _ => Form::due(&mut db, &job, &chrome).await?,
    };
    answer::refused(&Page::new(chrome, job, form, errors, Common::default()))
}
