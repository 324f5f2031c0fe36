//! What an inspector looks at first: tests that wait for a witness or a signature, requests for gas
//! tests, planned tests, certificates in question, and pressure gauges that run out of calibration.

use askama::Template;
use axum::extract::State;
use time::Duration;

use crate::pages::answer::{self, Answer};
use crate::pages::chrome::Chrome;
use crate::pages::{App, address, show};
use crate::record::certificate_mark::Today;
use crate::record::instrument::{Found, Instrument, InstrumentKind};
use crate::record::pressure_test::Waiting;
use crate::store;
use crate::store::gas_tests::Open;
use crate::store::issued::{self, Line as Certificate};
use crate::store::planned_tests::Planned;
use crate::store::pressure_tests::{Filter, Line};

/// Lines of each kind.
const SHOWN: i64 = 12;
/// Counted no further than this.
const COUNTED: i64 = 10_000;
/// Calibrations that run out within so many days.
const SOON: i64 = 45;

#[derive(Template)]
#[template(path = "pressure_tests/inspect.html")]
struct Page {
    chrome: Chrome,
    to_witness: (i64, Vec<Line>),
    to_sign: (i64, Vec<Line>),
    questioned: Vec<Certificate>,
    /// Gas tests that wait for this person's approval, or anybody's but the asker's.
    gas: Vec<Open>,
    /// Those this person asked for, which somebody else approves.
    asked: Vec<Open>,
    planned: Vec<Planned>,
    expiring: Vec<Instrument>,
}

impl Page {
    fn waiting(&self) -> i64 {
        self.to_witness.0 + self.to_sign.0
    }

    /// What waits for somebody, in one sentence.
    fn says(&self) -> String {
        let mut parts = Vec::new();
        if self.waiting() > 0 {
            parts.push(format!(
                "{} for a witness, {} for a signature",
                show::count(self.to_witness.0, "test waits", "tests wait"),
                show::grouped(self.to_sign.0)
            ));
        }
        let several = |list: usize, one: &str, many: &str| {
            let count = i64::try_from(list).unwrap_or(SHOWN);
            (count > 0).then(|| show::counted(count, SHOWN, one, many))
        };
        parts.extend(several(
            self.questioned.len(),
            "certificate is in question",
            "certificates are in question",
        ));
        parts.extend(several(
            self.gas.len(),
            "gas test waits for its approval",
            "gas tests wait for their approval",
        ));
        if parts.is_empty() {
            return "Nothing waits for an inspector".to_owned();
        }
        parts.join("; ")
    }

    /// What there is nothing of, so that no box stands empty.
    fn none(&self) -> String {
        let all = [
            (self.to_witness.1.is_empty(), "no test to witness"),
            (self.to_sign.1.is_empty(), "no certificate to sign"),
            (self.questioned.is_empty(), "no certificate in question"),
            (
                self.gas.is_empty() && self.asked.is_empty(),
                "no gas test to approve",
            ),
            (
                self.planned.is_empty(),
                "no test planned beside the rebuilds",
            ),
        ];
        let none: Vec<&str> = all
            .into_iter()
            .filter_map(|(none, words)| none.then_some(words))
            .collect();
        none.join(", ")
    }

    fn all(what: Waiting) -> String {
        address::with_query(
            address::PRESSURE_TESTS,
            &[("waiting", what.word().to_owned())],
        )
    }
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome) -> Answer {
    let mut db = app.store().read().await?;
    let mut waits = Vec::new();
    for what in [Waiting::Witness, Waiting::Certificate] {
        // Whoever did not see a test cannot witness it; it waits for somebody else.
        let person = Some(chrome.person().id).filter(|_| what == Waiting::Witness);
        let count = match person {
            Some(person) => store::pressure_tests::count_to_witness(&mut db, person, COUNTED).await,
            None => store::pressure_tests::count_waiting(&mut db, what, COUNTED).await,
        }?;
        let only = Filter {
            waiting: Some(what),
            not_unseen_by: person,
            ..Filter::default()
        };
        let lines = store::pressure_tests::list(&mut db, &only, SHOWN).await?;
        waits.push((count, lines));
    }
    let to_sign = waits.pop().unwrap_or_default();
    let to_witness = waits.pop().unwrap_or_default();
    let in_question = issued::Filter {
        standing: Some(Today::Questioned),
        ..issued::Filter::default()
    };
    let questioned = issued::list(&mut db, &in_question, SHOWN).await?;
    let who = chrome.person().id;
    let (asked, gas): (Vec<Open>, Vec<Open>) = store::gas_tests::open(&mut db, SHOWN)
        .await?
        .into_iter()
        .partition(|open| open.person_id == who);
    let planned = store::planned_tests::open(&mut db, SHOWN).await?;
    let until = chrome.today + Duration::days(SOON);
    let mut expiring = store::instruments::of_kind(&mut db, InstrumentKind::PressureGauge).await?;
    expiring.retain(|instrument| {
        !instrument.retired
            && instrument
                .calibration
                .as_ref()
                .is_none_or(|c| c.found == Found::OutOfTolerance || c.due_on <= until)
    });
    expiring.sort_by_key(|instrument| instrument.calibration.as_ref().map(|c| c.due_on));
    answer::page(&Page {
        chrome,
        to_witness,
        to_sign,
        questioned,
        gas,
        asked,
        planned,
        expiring,
    })
}
