//! Planning a rebuild of a gauge: why, for which day, and what is there for it; and giving one that is planned
//! and not begun another day. What happens afterwards is on the bench sheet.

use askama::Template;
use axum::extract::{Path, State};
use serde::Deserialize;
use sqlx::SqliteConnection;
use time::Date;

use crate::acts;
use crate::acts::rebuild_days::AnotherDay;
use crate::acts::rebuilds::{Plan, Seen};
use crate::calc::due::Rule;
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::bench::step::{Options, words};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::{App, address, show};
use crate::record::gauge::{Gauge, Isolation, Standing};
use crate::record::kit::Lot;
use crate::record::rebuild::{Cause, FailureKind, Rebuild, RebuildState};
use crate::record::{RebuildId, Refusal};
use crate::store;
use crate::store::in_service::OpenFailure;
use crate::store::windows::Window;

/// What is typed.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    cause: String,
    planned_for: String,
    stands_anyway: String,
    note: String,
    /// Why a planned rebuild is given another day.
    reason: String,
    /// The planned rebuild as it was seen.
    rebuild: i64,
    version: i64,
}

#[derive(Template)]
#[template(path = "gauges/rebuild.html")]
struct Page {
    chrome: Chrome,
    gauge: Gauge,
    typed: Typed,
    causes: Options,
    errors: Errors,
    open: Option<Rebuild>,
    due: Option<store::due::Row>,
    failures: Vec<OpenFailure>,
    windows: Vec<Window>,
    lots: Vec<Lot>,
}

impl Page {
    async fn new(
        db: &mut SqliteConnection,
        chrome: Chrome,
        gauge: Gauge,
        typed: Option<Typed>,
        errors: Errors,
    ) -> store::Result<Self> {
        let due = store::due::find(db, gauge.id).await?;
        let failures = store::in_service::open_failures(db, gauge.id).await?;
        let windows = match gauge.particulars.isolation {
            Isolation::InService => Vec::new(),
            Isolation::ShutdownOnly => {
                store::windows::of_area(db, gauge.particulars.area_id, chrome.today).await?
            }
        };
        let lots = match gauge.particulars.kit_id {
            Some(kit) => store::kits::lots_on_hand(db, kit).await?,
            None => Vec::new(),
        };
        let open = store::rebuilds::open_of(db, gauge.id).await?;
        let proposed = day(due.as_ref(), &windows, chrome.today);
        let typed = typed.unwrap_or_else(|| Typed {
            cause: cause(due.as_ref(), &failures).word().to_owned(),
            planned_for: show::plain_date(&open.as_ref().map_or(proposed, |open| open.planned_for)),
            ..Typed::default()
        });
        let typed = match &open {
            Some(open) if typed.rebuild == 0 => Typed {
                rebuild: open.id.0,
                version: open.version,
                ..typed
            },
            _ => typed,
        };
        Ok(Self {
            chrome,
            gauge,
            typed,
            causes: words(Cause::ALL, Cause::word, Cause::shown),
            errors,
            open,
            due,
            failures,
            windows,
            lots,
        })
    }

    fn retired(&self) -> bool {
        self.gauge.standing == Standing::Retired
    }

    /// The open rebuild that is not begun, which may be given another day.
    fn movable(&self) -> Option<&Rebuild> {
        self.open.as_ref().filter(|open| !open.state.under_way())
    }

    fn shutdown_only(&self) -> bool {
        self.gauge.particulars.isolation == Isolation::ShutdownOnly
    }

    /// The shutdown windows ahead, in words.
    fn windows_ahead(&self) -> String {
        if self.windows.is_empty() {
            return format!("none ahead in {}", self.gauge.area);
        }
        let each = self.windows.iter().map(|window| {
            let (starts, ends) = (show::date(&window.starts_on), show::date(&window.ends_on));
            format!("{}, {starts} to {ends}", window.name)
        });
        each.collect::<Vec<_>>().join("; ")
    }

    /// Kits that may be used on the proposed day.
    fn usable(&self) -> i64 {
        let day = form::read_date(&self.typed.planned_for).unwrap_or(self.chrome.today);
        self.lots
            .iter()
            .filter(|lot| lot.usable_on(day))
            .map(|lot| lot.on_hand)
            .sum()
    }
}

/// The cause that the register itself would name.
fn cause(due: Option<&store::due::Row>, failures: &[OpenFailure]) -> Cause {
    match failures.first().map(|failure| failure.kind) {
        Some(FailureKind::Leak) => Cause::Leak,
        Some(FailureKind::CrackedGlass) => Cause::CrackedGlass,
        Some(FailureKind::CloudedGlass) => Cause::CloudedGlass,
        Some(FailureKind::StuckValve | FailureKind::Other) => Cause::Other,
        None => match due.map(|due| due.rule) {
            Some(Rule::WallHalfLife) => Cause::WornFace,
            Some(Rule::Recall) => Cause::Recall,
            _ => Cause::Interval,
        },
    }
}

/// The day to propose: the latest date, within a window where one is needed, and never a past one.
fn day(due: Option<&store::due::Row>, windows: &[Window], today: Date) -> Date {
    let latest = due.map_or(today, |due| due.latest_on).max(today);
    windows
        .iter()
        .rev()
        .find(|window| window.starts_on <= latest)
        .or_else(|| windows.first())
        .map_or(latest, |window| window.starts_on.max(today))
}

/// The form.
pub async fn show(State(app): State<App>, chrome: Chrome, Path(tag): Path<String>) -> Answer {
    let mut db = app.store().read().await?;
    let gauge = found(&mut db, &tag).await?;
    answer::page(&Page::new(&mut db, chrome, gauge, None, Errors::none()).await?)
}

/// Plans the rebuild.
pub async fn plan(
    State(app): State<App>,
    chrome: Chrome,
    Path(tag): Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    let gauge = {
        let mut db = app.store().read().await?;
        found(&mut db, &tag).await?
    };
    let done = match parsed(&posted.form) {
        Ok(plan) => plan_it(&chrome, &posted.key, &gauge, &plan)
            .await
            .map_err(form::refused),
        Err(errors) => Err(Ok(errors)),
    };
    match done {
        Ok(to) => Ok(see_other(&to)),
        Err(errors) => {
            let mut db = app.store().read().await?;
            answer::refused(&Page::new(&mut db, chrome, gauge, Some(posted.form), errors?).await?)
        }
    }
}

fn parsed(typed: &Typed) -> Result<Plan, Errors> {
    let mut read = Reader::new();
    let cause = read.parse("cause", &typed.cause);
    let planned_for = read.needed_date("planned_for", &typed.planned_for);
    let note = read.text("note", &typed.note, 2000);
    let plan = cause.zip(planned_for).map(|(cause, planned_for)| Plan {
        cause,
        planned_for,
        note,
        stands_anyway: !typed.stands_anyway.is_empty(),
    });
    read.finish(plan)
}

async fn plan_it(chrome: &Chrome, key: &str, gauge: &Gauge, plan: &Plan) -> acts::Result<String> {
    let mut deed = chrome.deed(key).await?;
    acts::rebuilds::plan(&mut deed, gauge.id, plan).await?;
    let to = address::bench(&gauge.particulars.tag);
    deed.commit(&to).await?;
    Ok(to)
}

/// Gives the planned rebuild another day.
pub async fn another_day(
    State(app): State<App>,
    chrome: Chrome,
    Path(tag): Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    let gauge = {
        let mut db = app.store().read().await?;
        found(&mut db, &tag).await?
    };
    let typed = &posted.form;
    let seen = Seen {
        id: RebuildId(typed.rebuild),
        version: typed.version,
    };
    let to = address::bench(&gauge.particulars.tag);
    let done = match read_day(typed) {
        Ok(another) => async {
            let mut deed = chrome.deed(&posted.key).await?;
            acts::rebuild_days::give(&mut deed, gauge.id, seen, &another).await?;
            deed.commit(&to).await
        }
        .await
        .map_err(|error| {
            let moved = matches!(error, acts::Error::Refused(Refusal::Changed { .. }));
            (moved, form::refused(error))
        }),
        Err(errors) => Err((false, Ok(errors))),
    };
    match done {
        Ok(()) => Ok(see_other(&to)),
        Err((moved, errors)) => {
            let mut db = app.store().read().await?;
            // Only who was told of what somebody else did meanwhile may write over it.
            let typed = if moved {
                Typed {
                    rebuild: 0,
                    ..posted.form
                }
            } else {
                posted.form
            };
            answer::refused(&Page::new(&mut db, chrome, gauge, Some(typed), errors?).await?)
        }
    }
}

fn read_day(typed: &Typed) -> Result<AnotherDay, Errors> {
    let mut read = Reader::new();
    let to = read.needed_date("planned_for", &typed.planned_for);
    let reason = read.needed(
        "reason",
        &typed.reason,
        400,
        "Say why it is given another day, in at most 400 characters",
    );
    let another = to.zip(reason).map(|(to, reason)| AnotherDay {
        to,
        reason,
        stands_anyway: !typed.stands_anyway.is_empty(),
    });
    read.finish(another)
}

async fn found(db: &mut SqliteConnection, tag: &str) -> Result<Gauge, PageError> {
    store::gauges::by_tag(db, tag)
        .await?
        .ok_or(PageError::NotFound("gauge"))
}
