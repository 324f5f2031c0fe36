//! One pressure test: the verdict and its reason, what is still to be signed, the hold record, the
//! working. Naming a witness and what they answer is in `witness.rs`; the certificate is signed on a
//! page of its own.

use askama::Template;
use axum::extract::{Path, State};
use sqlx::SqliteConnection;

use crate::acts;
use crate::pages::answer::{self, Answer, PageError};
use crate::pages::chrome::Chrome;
use crate::pages::form::Errors;
use crate::pages::hold_chart::HoldChart;
use crate::pages::{App, address, show};
use crate::papers::certificate::CertificateRecord;
use crate::record::gauge::Gauge;
use crate::record::hold::Hold;
use crate::record::person::Role;
use crate::record::pressure_test::{Declined, Named, PressureTest, TestResult, waited_for};
use crate::record::rebuild::Rebuild;
use crate::record::sentence::Sentence;
use crate::record::{CertificateNumber, Refusal, TagNumber, TestNumber};
use crate::store;

#[derive(Template)]
#[template(path = "pressure_tests/show.html")]
pub(super) struct Page {
    chrome: Chrome,
    test: PressureTest,
    /// Everybody who was named to witness it.
    named: Vec<Named>,
    /// Everybody who did not see it.
    declined: Vec<Declined>,
    /// The inspectors who may be named.
    inspectors: Vec<(String, String)>,
    /// What was typed about the witness.
    typed: super::witness::Typed,
    gauge: Gauge,
    rebuild: Option<Rebuild>,
    chart: Option<HoldChart>,
    /// Every test that belongs together with this one.
    attempts: Vec<PressureTest>,
    /// The holds that came to nothing before it.
    in_vain: Vec<Hold>,
    /// The tests on the same pump.
    pump: Vec<(TestNumber, TagNumber, TestResult)>,
    /// The certificate of the test where it corrects an earlier one, and what it states.
    corrected: Option<(CertificateNumber, CertificateRecord)>,
    errors: Errors,
}

impl Page {
    pub(super) async fn new(
        db: &mut SqliteConnection,
        chrome: Chrome,
        number: &str,
        (typed, errors): (super::witness::Typed, Errors),
    ) -> Result<Self, PageError> {
        let test = found(db, number).await?;
        let gauge = store::gauges::by_id(db, test.gauge_id)
            .await?
            .ok_or(PageError::NotFound("gauge"))?;
        let rebuild = match test.rebuild_id {
            Some(id) => store::rebuilds::by_id(db, id).await?,
            None => None,
        };
        let chart = HoldChart::of(&test.facts);
        let attempts = store::pressure_tests::attempts(db, &test).await?;
        let in_vain = store::holds::came_to_nothing(db, &test).await?;
        let pump = store::pressure_tests::on_one_pump(db, &test).await?;
        let corrected = corrected(db, &test).await?;
        let named = store::witnesses::asked_for(db, test.id).await?;
        let declined = store::witnesses::declined_by(db, test.id).await?;
        let mut inspectors = Vec::new();
        if test.witness.is_none() {
            let all = store::people::of_role(db, Role::Inspector).await?;
            let may = all.into_iter().filter(|one| {
                !test.made_by(one.id) && declined.iter().all(|d| d.person_id != one.id)
            });
            inspectors.extend(may.map(|one| (one.id.0.to_string(), one.name)));
        }
        Ok(Self {
            chrome,
            test,
            named,
            declined,
            inspectors,
            typed,
            gauge,
            rebuild,
            chart,
            attempts,
            in_vain,
            pump,
            corrected,
            errors,
        })
    }

    fn why(&self) -> Sentence {
        self.test.facts.judged_in_words().1
    }

    fn passed(&self) -> bool {
        self.test.result == TestResult::Passed
    }

    /// What a correction states otherwise than the test's own record of this name, and its number.
    fn otherwise(&self, what: &str) -> Option<(&CertificateNumber, &str)> {
        let (number, record) = self.corrected.as_ref()?;
        let of_test = &self.test.facts.circumstances;
        let (said, recorded) = match what {
            "place" => (&record.test.place, &of_test.place),
            "read" => (&record.test.measured_at, &of_test.read_at),
            _ => (&record.requirement.procedure, &of_test.procedure),
        };
        let said = said.as_deref().unwrap_or_default();
        (said != recorded.trim()).then_some((number, said))
    }

    fn address_of(&self, rebuild: &Rebuild) -> String {
        address::rebuild(&self.gauge.particulars.tag, rebuild.ordinal)
    }

    fn inspects(&self) -> bool {
        self.chrome.may(&[Role::Inspector])
    }

    /// Whether the person looking made this test.
    fn own(&self) -> bool {
        self.test.made_by(self.chrome.person().id)
    }

    fn may_witness(&self) -> bool {
        self.inspects() && !self.own() && self.test.witness.is_none() && !self.unseen()
    }

    /// Whether the person looking said that they did not see it.
    fn unseen(&self) -> bool {
        let person = self.chrome.person().id;
        self.declined.iter().any(|one| one.person_id == person)
    }

    fn waited_for(&self) -> Option<&Named> {
        waited_for(&self.named, &self.declined)
    }

    /// Whether the person looking may name who is to witness it.
    fn may_name(&self) -> bool {
        self.test.witness.is_none()
            && self.passed()
            && self
                .chrome
                .may(&[Role::Technician, Role::Inspector, Role::Engineer])
    }

    fn inspectors(&self) -> Vec<(String, String)> {
        let none = (String::new(), "choose".to_owned());
        std::iter::once(none)
            .chain(self.inspectors.iter().cloned())
            .collect()
    }

    fn may_certify(&self) -> bool {
        self.inspects()
            && self.passed()
            && self.test.witness.is_some()
            && self.test.certificate.is_none()
    }
}

async fn found(db: &mut SqliteConnection, number: &str) -> Result<PressureTest, PageError> {
    store::pressure_tests::by_number(db, number)
        .await?
        .ok_or(PageError::NotFound("pressure test"))
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome, Path(number): Path<String>) -> Answer {
    let mut db = app.store().read().await?;
    let nothing = (super::witness::Typed::default(), Errors::none());
    answer::page(&Page::new(&mut db, chrome, &number, nothing).await?)
}

/// The certificate that stands for a test, where it was issued to correct an earlier one. A record that
/// cannot be read states nothing here; the certificate's own page says what is wrong with it.
async fn corrected(
    db: &mut SqliteConnection,
    test: &PressureTest,
) -> store::Result<Option<(CertificateNumber, CertificateRecord)>> {
    let Some(certificate) = &test.certificate else {
        return Ok(None);
    };
    let kept = store::issued::by_number(db, &certificate.number.to_string()).await?;
    let record = kept.and_then(|kept| serde_json::from_str::<CertificateRecord>(&kept.record).ok());
    Ok(record
        .filter(|record| record.supersedes.is_some())
        .map(|record| (certificate.number.clone(), record)))
}

pub(super) async fn confirm(app: &App, chrome: &Chrome, password: &str) -> acts::Result<()> {
    if password.is_empty() {
        let words = "Give your password: it stands for your signature";
        return Err(Refusal::field("password", words).into());
    }
    let password = password.to_owned();
    acts::people::confirm(app.store(), app.clock(), chrome.person(), password).await
}
