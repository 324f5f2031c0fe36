//! The buttons that move a rebuild from state to state: ready and not, to its test and back, returned,
//! abandoned; to the bench in `start.rs`. Which move is allowed is decided in `record` and `acts`.

use axum::extract::{Path, State};
use serde::Deserialize;

use super::job::{self, Job};
use super::sheet::{Form, Page};
use super::step::{Common, Options, needed_tick, words};
use crate::acts::rebuilds::{self, Returning, TakeBack};
use crate::pages::answer::{self, Answer, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::{App, address, show};
use crate::record::bench::BackInService;
use crate::record::pressure_test::TestResult;
use crate::record::rebuild::Rework;
use crate::record::refusal::unticked;
use crate::store::rebuilds::TestLine;

/// A button that needs nothing typed.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Press {
    version: i64,
}

/// What is typed to take a gauge back to the bench.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Back {
    version: i64,
    pub(super) reason: String,
    pub(super) rework: String,
    pub(super) section: String,
}

/// The longest reason that is kept.
const LONGEST_REASON: usize = 400;

impl Back {
    /// The form with what was noted of the test that failed, to be put right where that says too little.
    pub fn proposed(job: &Job) -> Self {
        let failed = job
            .test_since()
            .filter(|test| test.result == TestResult::Failed);
        let note = failed.map_or("", TestLine::note);
        Self {
            reason: note.chars().take(LONGEST_REASON).collect(),
            ..Self::default()
        }
    }

    /// What may have to be done again; after a test something has to be.
    pub fn reworks(&self, job: &Job) -> Options {
        let all = words(Rework::ALL, Rework::word, Rework::shown);
        let tested = job.course.test_since().is_some();
        all.into_iter()
            .filter(|(word, _)| !tested || word != Rework::Nothing.word())
            .collect()
    }

    fn read(&self, job: &Job) -> Result<TakeBack, Errors> {
        let mut read = Reader::new();
        let rework = read.parse("rework", &self.rework);
        let reason = read.needed(
            "reason",
            &self.reason,
            LONGEST_REASON,
            "Say why in a few words, such as where it leaked",
        );
        let section = super::step::section(&mut read, job, &self.section, true);
        let back = (|| {
            Some(TakeBack {
                reason: reason?,
                rework: rework?,
                // On a gauge of one section its only section is the whole gauge.
                section: section?.filter(|_| job.course.sections > 1),
            })
        })();
        read.finish(back)
    }
}

/// What is typed to return a gauge.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Return {
    version: i64,
    pub(super) drained: String,
    pub(super) opened: String,
    pub(super) warmed: String,
    pub(super) watched: String,
    pub(super) note: String,
}

impl Return {
    fn tick(&self, one: BackInService) -> &str {
        match one {
            BackInService::Cleared => &self.drained,
            BackInService::Opened => &self.opened,
            BackInService::Warmed => &self.warmed,
            BackInService::Watched => &self.watched,
        }
    }

    /// The ticks: field, words, whether it is set.
    pub fn ticks(&self) -> Vec<(&'static str, String, bool)> {
        let all = BackInService::ALL.iter();
        all.map(|one| {
            let set = !self.tick(*one).is_empty();
            (one.field(), show::sentence(one), set)
        })
        .collect()
    }

    pub(super) fn read(&self) -> Result<Returning, Errors> {
        let mut read = Reader::new();
        for one in BackInService::ALL {
            let words = unticked(one, "");
            needed_tick(&mut read, one.field(), self.tick(*one), &words);
        }
        let note = read.text("note", &self.note, 2000);
        read.finish(Some(Returning {
            confirmed: BackInService::ALL.to_vec(),
            note,
            done: None,
        }))
    }
}

/// What is typed to abandon a rebuild.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Abandon {
    version: i64,
    pub(super) reason: String,
}

#[derive(Debug, Clone, Copy)]
enum Plain {
    Ready,
    Unready,
    Test,
}

/// Says that kits and instruments are in hand.
pub async fn ready(
    state: State<App>,
    chrome: Chrome,
    tag: Path<String>,
    posted: Posted<Press>,
) -> Answer {
    plain(state, chrome, tag, posted, Plain::Ready).await
}

/// Takes that back.
pub async fn unready(
    state: State<App>,
    chrome: Chrome,
    tag: Path<String>,
    posted: Posted<Press>,
) -> Answer {
    plain(state, chrome, tag, posted, Plain::Unready).await
}

/// Sends the gauge to its test.
pub async fn test(
    state: State<App>,
    chrome: Chrome,
    tag: Path<String>,
    posted: Posted<Press>,
) -> Answer {
    plain(state, chrome, tag, posted, Plain::Test).await
}

async fn plain(
    State(app): State<App>,
    chrome: Chrome,
    Path(tag): Path<String>,
    posted: Posted<Press>,
    which: Plain,
) -> Answer {
    let job = job::posted(&app, &tag, &posted.rebuild).await?;
    let to = address::bench(&job.gauge.particulars.tag);
    let done = async {
        let mut deed = chrome.deed(&posted.key).await?;
        let seen = job.seen(posted.form.version);
        match which {
            Plain::Ready => rebuilds::make_ready(&mut deed, seen).await?,
            Plain::Unready => rebuilds::unready(&mut deed, seen).await?,
            Plain::Test => rebuilds::send_to_test(&mut deed, seen).await?,
        }
        deed.commit(&to).await
    }
    .await;
    match done {
        Ok(()) => Ok(see_other(&to)),
        Err(error) => refused(&app, chrome, &tag, form::refused(error)?, None).await,
    }
}

/// The sheet again with what was refused; with the form that was sent, or the one that is due.
async fn refused(
    app: &App,
    chrome: Chrome,
    tag: &str,
    errors: Errors,
    form: Option<Form>,
) -> Answer {
    let mut db = app.store().read().await?;
    let (_, Some(job)) = job::find(&mut db, tag).await? else {
        return Ok(see_other(&address::bench(tag)));
    };
    let form = match form {
        Some(form) => form,
        None => Form::due(&mut db, &job, &chrome).await?,
    };
    answer::refused(&Page::new(chrome, job, form, errors, Common::default()))
}

/// The form to take a gauge back to the bench.
pub async fn back_form(State(app): State<App>, chrome: Chrome, Path(tag): Path<String>) -> Answer {
    shown(&app, chrome, &tag, |job| {
        Form::TakeBack(Back::proposed(job))
    })
    .await
}

/// Takes the gauge back to the bench.
pub async fn back(
    State(app): State<App>,
    chrome: Chrome,
    Path(tag): Path<String>,
    posted: Posted<Back>,
) -> Answer {
    let job = job::posted(&app, &tag, &posted.rebuild).await?;
    let to = address::bench(&job.gauge.particulars.tag);
    let done = match posted.form.read(&job) {
        Err(errors) => Err(Ok(errors)),
        Ok(back) => async {
            let mut deed = chrome.deed(&posted.key).await?;
            rebuilds::take_back(&mut deed, job.seen(posted.form.version), &back).await?;
            deed.commit(&to).await
        }
        .await
        .map_err(form::refused),
    };
    match done {
        Ok(()) => Ok(see_other(&to)),
        Err(errors) => {
            refused(
                &app,
                chrome,
                &tag,
                errors?,
                Some(Form::TakeBack(posted.form)),
            )
            .await
        }
    }
}

/// Returns the gauge to service.
pub async fn finish(
    State(app): State<App>,
    chrome: Chrome,
    Path(tag): Path<String>,
    posted: Posted<Return>,
) -> Answer {
    let job = job::posted(&app, &tag, &posted.rebuild).await?;
    let to = address::rebuild(&job.gauge.particulars.tag, job.rebuild.ordinal);
    let done = match posted.form.read() {
        Err(errors) => Err(Ok(errors)),
        Ok(back) => async {
            let mut deed = chrome.deed(&posted.key).await?;
            rebuilds::return_to_service(&mut deed, job.seen(posted.form.version), &back).await?;
            deed.commit(&to).await
        }
        .await
        .map_err(form::refused),
    };
    match done {
        Ok(()) => Ok(see_other(&to)),
        Err(errors) => refused(&app, chrome, &tag, errors?, Some(Form::Return(posted.form))).await,
    }
}

/// The form to abandon a rebuild.
pub async fn abandon_form(
    State(app): State<App>,
    chrome: Chrome,
    Path(tag): Path<String>,
) -> Answer {
    shown(&app, chrome, &tag, |_| Form::Abandon(Abandon::default())).await
}

/// Abandons the rebuild.
pub async fn abandon(
    State(app): State<App>,
    chrome: Chrome,
    Path(tag): Path<String>,
    posted: Posted<Abandon>,
) -> Answer {
    let job = job::posted(&app, &tag, &posted.rebuild).await?;
    let to = address::rebuild(&job.gauge.particulars.tag, job.rebuild.ordinal);
    let done = async {
        let mut deed = chrome.deed(&posted.key).await?;
        rebuilds::abandon(
            &mut deed,
            job.seen(posted.form.version),
            &posted.form.reason,
        )
        .await?;
        deed.commit(&to).await
    }
    .await;
    match done {
        Ok(()) => Ok(see_other(&to)),
        Err(error) => {
            let errors = form::refused(error)?;
            refused(&app, chrome, &tag, errors, Some(Form::Abandon(posted.form))).await
        }
    }
}

async fn shown(app: &App, chrome: Chrome, tag: &str, form: impl Fn(&Job) -> Form) -> Answer {
    let mut db = app.store().read().await?;
    let (_, Some(job)) = job::find(&mut db, tag).await? else {
        return Ok(see_other(&address::bench(tag)));
    };
    let form = form(&job);
    answer::page(&Page::new(
        chrome,
        job,
        form,
        Errors::none(),
        Common::default(),
    ))
}
