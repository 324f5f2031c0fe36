//! One gauge: nameplate as stamped, photograph, bolt layout, when it is due and why, and the latest
//! of its history. What people do to it are pages of their own below this one.

use askama::Template;
use axum::extract::{Path, State};
use sqlx::SqliteConnection;
use time::Date;

use crate::calc::due::{Candidate, Decision, Rule, WindowPull};
use crate::pages::answer::{self, Answer, PageError};
use crate::pages::chrome::Chrome;
use crate::pages::due::Work;
use crate::pages::form::Errors;
use crate::pages::glass::Glass;
use crate::pages::layout::Layout;
use crate::pages::{App, address, show};
use crate::record::certificate_mark::{self, Standing as Stands};
use crate::record::deferral::Request;
use crate::record::gauge::{Assumed, Gauge, Standing};
use crate::record::history::{Happened, Line};
use crate::record::kit::Movement;
use crate::record::person::Role;
use crate::record::plant::ServiceClass;
use crate::record::rebuild::Rebuild;
use crate::record::wear::Wear;
use crate::record::{CertificateNumber, TestNumber};
use crate::store;
use crate::store::history::Filter;
use crate::store::in_service::OpenFailure;
use crate::store::photos::Photo;

/// Lines of the history shown here; the rest is a page of its own.
const LINES: usize = 20;
/// Photographs listed here.
const PHOTOS: i64 = 24;

/// The page; also shown again when a photograph was refused.
#[derive(Template)]
#[template(path = "gauges/show.html")]
pub struct Page {
    chrome: Chrome,
    gauge: Gauge,
    class: Option<ServiceClass>,
    layout: Option<Layout>,
    due: Option<store::due::Row>,
    decision: Option<Decision>,
    worn: Vec<Wear>,
    open: Option<Rebuild>,
    failures: Vec<OpenFailure>,
    /// A deferral that waits for a signature.
    asked: Option<Request>,
    /// The latest certificate where it does not stand, how it stands, and why.
    proof: Option<(CertificateNumber, Stands, String)>,
    /// Its latest test, where it was failed.
    failed_test: Option<(TestNumber, Date)>,
    photos: Vec<Photo>,
    lines: Vec<Line>,
    older: Option<String>,
    errors: Errors,
}

impl Page {
    /// Gathers what the page shows of a gauge.
    ///
    /// # Errors
    /// The store's failure.
    pub async fn new(
        db: &mut SqliteConnection,
        chrome: Chrome,
        gauge: Gauge,
        errors: Errors,
    ) -> store::Result<Self> {
        let due = store::due::find(db, gauge.id).await?;
        let decision = match store::due::facts(db, gauge.id).await? {
            Some((Standing::InService, _, facts)) => crate::calc::due::decide(&facts).ok(),
            _ => None,
        };
        let worn = store::wear::of_gauges(db, &[gauge.id]).await?;
        let most = i64::try_from(LINES + 1).unwrap_or(21);
        let mut lines = store::history::of_gauge(db, gauge.id, Filter::default(), most).await?;
        let more = lines.len() > LINES;
        lines.truncate(LINES);
        let older = lines.last().filter(|_| more).map(|last| {
            address::with_query(
                &address::gauge_part(&gauge.particulars.tag, "history"),
                &[("before", last.key.text())],
            )
        });
        Ok(Self {
            class: store::plant::service_class(db, gauge.particulars.service_class_id).await?,
            layout: Layout::of(&gauge.particulars),
            open: store::rebuilds::open_of(db, gauge.id).await?,
            proof: store::certificates::latest_of(db, gauge.id)
                .await?
                .map(|(number, marks)| {
                    let why = marks.last().map_or_else(String::new, |m| m.reason.clone());
                    (number, certificate_mark::standing(&marks), why)
                })
                .filter(|(_, stands, _)| matches!(stands, Stands::Withdrawn | Stands::Questioned)),
            failed_test: store::pressure_tests::last_failed(db, gauge.id).await?,
            failures: store::in_service::open_failures(db, gauge.id).await?,
            asked: store::deferrals::waiting(db, gauge.id).await?,
            photos: store::photos::of_gauge(db, gauge.id, PHOTOS).await?,
            chrome,
            gauge,
            due,
            decision,
            worn: worn.into_values().flatten().collect(),
            lines,
            older,
            errors,
        })
    }

    fn glass(&self) -> Glass {
        let due = self.due.as_ref();
        Glass::of(
            self.gauge.standing,
            due.map(|d| d.latest_on),
            due.and_then(|d| d.since_on),
            self.chrome.today,
        )
    }

    fn hangs(&self) -> bool {
        self.gauge.standing != Standing::Retired
    }

    fn in_service(&self) -> bool {
        self.gauge.standing == Standing::InService
    }

    /// Whether the person asks for deferrals or signs them.
    fn defers(&self) -> bool {
        self.chrome
            .may(&[Role::Engineer, Role::Inspector, Role::Administrator])
    }

    /// By when the bolting is to be tightened again after the last rebuild, where that is still open.
    fn re_torque_by(&self) -> Option<Date> {
        let all = self.decision.iter().flat_map(|one| &one.considered);
        let mut asked = all.filter(|one| one.rule == Rule::Retorque);
        asked.next().map(|one| one.date)
    }

    /// Whether the person works at the bench.
    fn tightens(&self) -> bool {
        self.chrome.may(&[Role::Technician, Role::Engineer])
    }

    fn plans(&self) -> bool {
        self.chrome.plans()
    }

    /// The work that governs the due date, where it is this person's to do and can be done now.
    fn first(&self) -> Option<Work> {
        let decision = self.decision.as_ref()?;
        let work = match decision.governing?.rule {
            // Where nothing else was moved, the deferral is one of the look-over.
            Rule::Deferral
                if decision
                    .deferred
                    .iter()
                    .all(|one| one.rule == Rule::LookOver) =>
            {
                Work::LookOver
            }
            rule => Work::of(rule),
        };
        let under_way = work.done_by_a_rebuild() && self.open.is_some();
        (work.may(&self.chrome) && !under_way).then_some(work)
    }

    /// Whether the gauge is to be tested again outside of a rebuild, by this person.
    fn tests_again(&self) -> bool {
        let mut all = self.decision.iter().flat_map(|one| &one.considered);
        let asked = all.any(|one| Work::of(one.rule) == Work::Test);
        asked && self.open.is_none() && Work::Test.may(&self.chrome)
    }

    /// The looks of the button of a work: the one that governs stands out.
    fn look(&self, work: Work) -> &'static str {
        if self.first() == Some(work) {
            "button"
        } else {
            "button quiet"
        }
    }

    /// What stands in the table of rules: each candidate, and whether it governs.
    fn considered(&self) -> Vec<(Candidate, bool)> {
        self.decision.as_ref().map_or_else(Vec::new, |decision| {
            decision
                .considered
                .iter()
                .map(|one| (*one, Some(*one) == decision.governing))
                .collect()
        })
    }

    fn window(&self) -> Option<WindowPull> {
        self.decision.as_ref().map(|decision| decision.window)
    }
}

/// The gauge that hangs under a tag number.
///
/// # Errors
/// There is none, or the store's failure.
pub async fn found(db: &mut SqliteConnection, tag: &str) -> Result<Gauge, PageError> {
    store::gauges::by_tag(db, tag)
        .await?
        .ok_or(PageError::NotFound("gauge"))
}

/// Shows the gauge.
pub async fn show(State(app): State<App>, chrome: Chrome, Path(tag): Path<String>) -> Answer {
    let mut db = app.store().read().await?;
    let gauge = found(&mut db, &tag).await?;
    answer::page(&Page::new(&mut db, chrome, gauge, Errors::none()).await?)
}
