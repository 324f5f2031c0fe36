//! Deferring a gauge: one person asks with reason, risk and mitigations, another signs with their
//! password or refuses. What may be deferred at all is decided in `calc::due`.

use askama::Template;
use axum::extract::{Path, State};
use serde::Deserialize;
use sqlx::SqliteConnection;
use time::Date;

use super::show::found;
use crate::acts;
use crate::acts::deferrals::Ask;
use crate::calc::due::{self, Decision, Moves};
use crate::pages::answer::{self, Answer, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::{App, address, show};
use crate::record::RequestId;
use crate::record::deferral::Request;
use crate::record::gauge::Gauge;
use crate::record::person::Role;
use crate::store;
use crate::store::columns::{from_word, word};

/// Requests of one gauge listed.
const LISTED: i64 = 30;

/// What is typed by whoever asks.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    moves: String,
    until: String,
    hard_limit: String,
    reason: String,
    risk: String,
    mitigations: String,
}

/// What is typed by whoever decides.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Decide {
    request: i64,
    decision: String,
    note: String,
    password: String,
}

#[derive(Template)]
#[template(path = "gauges/deferral.html")]
struct Page {
    chrome: Chrome,
    gauge: Gauge,
    typed: Typed,
    note: String,
    errors: Errors,
    decision: Option<Decision>,
    in_force: Vec<due::Deferral>,
    /// What may be deferred, with the latest day for it.
    limits: Vec<(Moves, Option<Date>)>,
    waiting: Option<Request>,
    before: Vec<Request>,
}

impl Page {
    async fn new(
        db: &mut SqliteConnection,
        chrome: Chrome,
        gauge: Gauge,
        typed: Typed,
        errors: Errors,
    ) -> store::Result<Self> {
        let facts = store::due::facts(db, gauge.id).await?.map(|known| known.2);
        let class = store::plant::service_class(db, gauge.particulars.service_class_id).await?;
        let most = class.and_then(|class| class.defer_months);
        let limits = facts.as_ref().map_or_else(Vec::new, |facts| {
            [Moves::Rebuild, Moves::LookOver]
                .into_iter()
                .map(|moves| {
                    let furthest = acts::deferrals::furthest(facts, moves, most);
                    (moves, furthest.ok().flatten())
                })
                .collect()
        });
        let mut before = store::deferrals::of_gauge(db, gauge.id, LISTED).await?;
        before.retain(|one| one.decision.is_some());
        Ok(Self {
            waiting: store::deferrals::waiting(db, gauge.id).await?,
            before,
            chrome,
            typed,
            note: String::new(),
            errors,
            decision: facts.as_ref().and_then(|facts| due::decide(facts).ok()),
            in_force: facts.map_or_else(Vec::new, |facts| {
                [facts.deferral, facts.look_over_deferral]
                    .into_iter()
                    .flatten()
                    .collect()
            }),
            limits,
            gauge,
        })
    }

    fn asks(&self) -> bool {
        self.chrome.may(&[Role::Engineer])
    }

    /// What may be deferred, for choosing one.
    #[expect(clippy::unused_self, reason = "templates call methods of their page")]
    fn choices(&self) -> Vec<(String, String)> {
        std::iter::once((String::new(), "choose".to_owned()))
            .chain(
                [Moves::Rebuild, Moves::LookOver].map(|one| (word(&one), one.words().to_owned())),
            )
            .collect()
    }

    /// Whether the deferral that waits was asked for by who looks at it.
    fn own(&self) -> bool {
        let me = self.chrome.person().id;
        self.waiting.as_ref().is_some_and(|one| one.asked_by == me)
    }
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome, Path(tag): Path<String>) -> Answer {
    let mut db = app.store().read().await?;
    let gauge = found(&mut db, &tag).await?;
    answer::page(&Page::new(&mut db, chrome, gauge, Typed::default(), Errors::none()).await?)
}

/// Asks for it.
pub async fn ask(
    State(app): State<App>,
    chrome: Chrome,
    Path(tag): Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    let gauge = found(&mut *app.store().read().await?, &tag).await?;
    let done = match parsed(&posted.form) {
        Ok(ask) => ask_one(&chrome, &posted.key, &gauge, &ask)
            .await
            .map_err(form::refused),
        Err(errors) => Err(Ok(errors)),
    };
    match done {
        Ok(to) => Ok(see_other(&to)),
        Err(errors) => {
            let errors = errors?;
            let mut db = app.store().read().await?;
            answer::refused(&Page::new(&mut db, chrome, gauge, posted.form, errors).await?)
        }
    }
}

fn parsed(typed: &Typed) -> Result<Ask, Errors> {
    let mut read = Reader::new();
    let moves = read.take(
        "moves",
        from_word::<Moves>(&typed.moves)
            .ok_or("Choose what is deferred: the rebuild or the look-over"),
    );
    let until = read.needed_date("until", &typed.until);
    let hard_limit = read.needed_date("hard_limit", &typed.hard_limit);
    let mut told = |field: &str, text: &str, words: &str| read.needed(field, text, 2000, words);
    let reason = told(
        "reason",
        &typed.reason,
        "Give the reason in 3 to 2000 characters; it stays in the history",
    );
    let risk = told(
        "risk",
        &typed.risk,
        "Say what could go wrong meanwhile, in 3 to 2000 characters",
    );
    let mitigations = told(
        "mitigations",
        &typed.mitigations,
        "Say what is done against it, in 3 to 2000 characters",
    );
    let whole = (|| {
        Some(Ask {
            moves: moves?,
            until: until?,
            hard_limit: hard_limit?,
            reason: reason?,
            risk: risk?,
            mitigations: mitigations?,
        })
    })();
    read.finish(whole)
}

async fn ask_one(chrome: &Chrome, key: &str, gauge: &Gauge, ask: &Ask) -> acts::Result<String> {
    let mut deed = chrome.deed(key).await?;
    acts::deferrals::ask(&mut deed, gauge.id, ask).await?;
    let to = address::gauge_part(&gauge.particulars.tag, "deferral");
    deed.commit(&to).await?;
    Ok(to)
}

/// Signs or refuses it.
pub async fn decide(
    State(app): State<App>,
    chrome: Chrome,
    Path(tag): Path<String>,
    posted: Posted<Decide>,
) -> Answer {
    let gauge = found(&mut *app.store().read().await?, &tag).await?;
    let done = decide_one(&app, &chrome, &posted, &gauge).await;
    match done {
        Ok(to) => Ok(see_other(&to)),
        Err(error) => {
            let errors = form::refused(error)?;
            let mut db = app.store().read().await?;
            let mut page = Page::new(&mut db, chrome, gauge, Typed::default(), errors).await?;
            page.note = posted.form.note;
            answer::refused(&page)
        }
    }
}

async fn decide_one(
    app: &App,
    chrome: &Chrome,
    posted: &Posted<Decide>,
    gauge: &Gauge,
) -> acts::Result<String> {
    let (id, note) = (RequestId(posted.form.request), posted.form.note.as_str());
    let signs = posted.form.decision == "sign";
    if signs {
        let password = posted.form.password.clone();
        let (store, clock) = (app.store(), app.clock());
        acts::people::sign_again(store, clock, chrome.person(), "password", password).await?;
    }
    let mut deed = chrome.deed(&posted.key).await?;
    let to = if signs {
        acts::deferrals::sign(&mut deed, id, note).await?;
        address::gauge(&gauge.particulars.tag)
    } else {
        acts::deferrals::refuse(&mut deed, id, note).await?;
        address::gauge_part(&gauge.particulars.tag, "deferral")
    };
    deed.commit(&to).await?;
    Ok(to)
}
