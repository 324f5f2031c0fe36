//! One recall: every rebuild and test that relied on what was recalled, the certificates that rest
//! on them, and what an engineer decided about each with the reason.

use askama::Template;
use axum::extract::{Path, Query, State};
use serde::Deserialize;
use sqlx::SqliteConnection;
use time::Date;

use crate::acts;
use crate::acts::recalls::Deciding;
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::{App, address, show};
use crate::record::person::Role;
use crate::record::recall::{About, Decided, Decision, Recall, Recalled, Relying};
use crate::record::{RebuildId, RecallId, TestId};
use crate::store;
use crate::store::recalls::{Counted, Of, Part};

/// Things on a page.
const PAGE: usize = 200;

/// What is typed.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    about: Vec<String>,
    decision: String,
    reason: String,
    /// Where the page that was filled in began.
    before: String,
}

/// Where the list goes on.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    before: String,
}

#[derive(Template)]
#[template(path = "recalls/show.html")]
struct Page {
    chrome: Chrome,
    recall: Recall,
    counted: Counted,
    relying: Vec<Relying>,
    /// Where the earlier ones are, if there are more.
    next: Option<String>,
    decisions: Vec<Decided>,
    /// Kits of the lot that are still on hand; none for an instrument.
    left: Option<i64>,
    /// Where this page of the list begins, as its address says it.
    before: String,
    typed: Typed,
    errors: Errors,
}

impl Page {
    async fn new(
        db: &mut SqliteConnection,
        chrome: Chrome,
        (id, before): (RecallId, &str),
        typed: (Typed, Errors),
    ) -> Result<Self, PageError> {
        let (recall, of) = store::recalls::by_id(db, id)
            .await?
            .ok_or(PageError::NotFound("recall"))?;
        let left = match of {
            Of::Instrument(_) => None,
            Of::Lot(lot) => store::kits::lot(db, lot).await?.map(|lot| lot.on_hand),
        };
        let part = Part::Before(key(before), i64::try_from(PAGE + 1).unwrap_or(201));
        let mut relying = store::recalls::relying(db, id, of, part).await?;
        let more = relying.len() > PAGE;
        relying.truncate(PAGE);
        let next = relying.last().filter(|_| more).map(|last| {
            let before = format!("{}_{}", last.last_on, last.place);
            address::with_query(&address::recall(id), &[("before", before)])
        });
        Ok(Self {
            counted: store::recalls::count_relying(db, id, of).await?,
            relying,
            next,
            before: before.to_owned(),
            decisions: store::recalls::decisions(db, id).await?,
            chrome,
            recall,
            left,
            typed: typed.0,
            errors: typed.1,
        })
    }

    /// Where the list begins, on a page that goes on with it.
    fn newest(&self) -> Option<String> {
        let on = !self.before.is_empty();
        on.then(|| address::recall(self.recall.id))
    }

    /// Whether the person decides.
    fn decides(&self) -> bool {
        self.chrome.may(&[Role::Engineer])
    }

    /// What counts about a thing: the latest decision.
    fn decided(&self, about: impl std::borrow::Borrow<About>) -> Option<&Decided> {
        let about = *about.borrow();
        self.decisions.iter().rev().find(|d| d.about == about)
    }

    /// How many decisions are still to be made.
    fn open(&self) -> i64 {
        let left = self.left.is_some_and(|n| n > 0) && self.decided(About::Left).is_none();
        self.counted.open + i64::from(left)
    }

    #[expect(clippy::unused_self, reason = "templates call methods of their page")]
    fn word(&self, about: impl std::borrow::Borrow<About>) -> String {
        word(*about.borrow())
    }

    fn ticked(&self, about: impl std::borrow::Borrow<About>) -> bool {
        self.typed.about.contains(&word(*about.borrow()))
    }

    fn decide(&self) -> String {
        address::recall_part(self.recall.id, "decide")
    }
}

/// What a decision is about, as a form sends it.
fn word(about: About) -> String {
    match about {
        About::Rebuild(id) => format!("rebuild-{}", id.0),
        About::Test(id) => format!("test-{}", id.0),
        About::Left => "left".to_owned(),
    }
}

/// Where a page of the list begins.
fn key(text: &str) -> Option<(Date, i64)> {
    let (on, place) = text.split_once('_')?;
    Some((form::read_date(on)?, place.parse().ok()?))
}

fn about(word: &str) -> Option<About> {
    if word == "left" {
        return Some(About::Left);
    }
    let (what, id) = word.split_once('-')?;
    let id = id.parse().ok()?;
    match what {
        "rebuild" => Some(About::Rebuild(RebuildId(id))),
        "test" => Some(About::Test(TestId(id))),
        _ => None,
    }
}

fn parsed(t: &Typed) -> Result<Deciding, Errors> {
    let mut read = Reader::new();
    let list: Option<Vec<About>> = t.about.iter().map(|word| about(word)).collect();
    if t.about.is_empty() {
        read.refuse("about", "Tick what you decide about");
    }
    let decision = read.take(
        "decision",
        t.decision
            .parse::<Decision>()
            .map_err(|_| "Choose whether it stands or is done again"),
    );
    let reason = read.needed(
        "reason",
        &t.reason,
        2000,
        "Say why; it stands beside the rebuild, the test and the certificate",
    );
    let whole = (|| {
        Some(Deciding {
            about: list?,
            decision: decision?,
            reason: reason?,
        })
    })();
    read.finish(whole)
}

/// The page.
pub async fn show(
    State(app): State<App>,
    chrome: Chrome,
    Path(id): Path<i64>,
    Query(asked): Query<Asked>,
) -> Answer {
    let mut db = app.store().read().await?;
    let typed = (Typed::default(), Errors::none());
    let at = (RecallId(id), asked.before.as_str());
    answer::page(&Page::new(&mut db, chrome, at, typed).await?)
}

/// Decides about what was ticked.
pub async fn decide(
    State(app): State<App>,
    chrome: Chrome,
    Path(id): Path<i64>,
    posted: Posted<Typed>,
) -> Answer {
    let id = RecallId(id);
    let done = match parsed(&posted.form) {
        Ok(deciding) => decide_some(&chrome, &posted.key, id, &deciding)
            .await
            .map_err(form::refused),
        Err(errors) => Err(Ok(errors)),
    };
    match done {
        Ok(to) => Ok(see_other(&to)),
        Err(errors) => {
            let before = posted.form.before.clone();
            let typed = (posted.form, errors?);
            let mut db = app.store().read().await?;
            answer::refused(&Page::new(&mut db, chrome, (id, &before), typed).await?)
        }
    }
}

async fn decide_some(
    chrome: &Chrome,
    key: &str,
    id: RecallId,
    deciding: &Deciding,
) -> acts::Result<String> {
    let mut deed = chrome.deed(key).await?;
    acts::recalls::decide(&mut deed, id, deciding).await?;
    let to = address::recall(id);
    deed.commit(&to).await?;
    Ok(to)
}
