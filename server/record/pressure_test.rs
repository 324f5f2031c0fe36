//! A pressure test as evidence and the certificate issued from it: their words, rows and numbers.
//! What a test has to reach is in `asked.rs`, what counts for a hold under way in `began_with.rs`, what was
//! read and what came of it in `facts.rs`, the pressure gauge it relied on in `relied.rs`.

mod asked;
mod began_with;
mod facts;
mod judged;
mod relied;

use time::Date;

pub use asked::{Asked, Basis, asked, rated, rating_stamped_at, stamped_at_then};
pub use began_with::{BeganWith, JudgedBy};
pub use facts::{
    AtFirst, CONFIRMED, CONFIRMED_OF_GAS, Circumstances, MOST_READINGS, Reading, TestFacts,
};
pub use judged::{Heights, HoldJudged, Outcome, judge};
pub use relied::Relied;

use super::certificate_mark::Certified;
use super::ids::{
    CertificateId, CertificateNumber, GaugeId, InstrumentId, PersonId, RebuildId, TestId,
    TestNumber,
};
use super::moment::Moment;
use super::seal::Seal;
use super::words::words;

words! {
    /// What the gauge is filled with for the test.
    Medium, "the test medium" {
        Water: "water", "water";
        TreatedWater: "treated-water", "water with corrosion inhibitor";
        Oil: "oil", "light oil";
        Nitrogen: "nitrogen", "nitrogen";
        Air: "air", "air";
    }
}

impl Medium {
    /// Whether it is a gas, which stores energy and needs a second approval.
    pub const fn is_gas(self) -> bool {
        matches!(self, Self::Nitrogen | Self::Air)
    }

    /// What is confirmed before the pressure is raised with it.
    pub const fn confirmed(self) -> &'static str {
        if self.is_gas() {
            CONFIRMED_OF_GAS
        } else {
            CONFIRMED
        }
    }

    /// Whether it is water, whose density and expansion are known.
    pub const fn is_water(self) -> bool {
        matches!(self, Self::Water | Self::TreatedWater)
    }
}

words! {
    /// What was seen during the hold.
    LeakSeen, "what was seen during the hold" {
        None: "none", "no visible leak";
        Weep: "weep", "a weep or drop";
        Leak: "leak", "a leak";
    }
}

words! {
    /// What came of a test.
    TestResult, "the result" {
        Passed: "passed", "passed";
        Failed: "failed", "failed";
    }
}

words! {
    /// What a test still waits for.
    Waiting, "what the test waits for" {
        Witness: "witness", "a witness";
        Certificate: "certificate", "a certificate";
    }
}

/// A test as it stands in the register.
#[derive(Debug, Clone, PartialEq)]
pub struct PressureTest {
    /// The row.
    pub id: TestId,
    /// Its number.
    pub number: TestNumber,
    /// The gauge tested.
    pub gauge_id: GaugeId,
    /// The rebuild it proves, if it belongs to one.
    pub rebuild_id: Option<RebuildId>,
    /// The day.
    pub tested_on: Date,
    /// What came of it.
    pub result: TestResult,
    /// What it rests on.
    pub facts: TestFacts,
    /// The pressure gauge.
    pub instrument_id: InstrumentId,
    /// Who recorded it.
    pub person_id: PersonId,
    /// The name of who made it: of who recorded it, but for a test entered from paper.
    pub person: String,
    /// When it was recorded.
    pub at: Moment,
    /// Who made it and when, where it was entered from the sheet on paper.
    pub on_paper: Option<OnPaper>,
    /// Who witnessed it and when.
    pub witness: Option<(String, Moment)>,
    /// The certificate issued from it, the latest of them.
    pub certificate: Option<Certified>,
}

/// Somebody who was named to witness a test.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Named {
    /// Who.
    pub person_id: PersonId,
    /// Their name.
    pub name: String,
    /// Who named them.
    pub by: String,
    /// When.
    pub at: Moment,
}

/// Somebody who said that they did not see a test.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Declined {
    /// Who.
    pub person_id: PersonId,
    /// Their name.
    pub name: String,
    /// Why.
    pub reason: String,
    /// When.
    pub at: Moment,
}

/// The one who is waited for: the last one named, unless they did not see it.
pub fn waited_for<'a>(named: &'a [Named], declined: &[Declined]) -> Option<&'a Named> {
    let last = named.last()?;
    let unseen = declined.iter().any(|one| one.person_id == last.person_id);
    (!unseen).then_some(last)
}

/// What is told of a test that was written down by pen and entered afterwards.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OnPaper {
    /// Who made the test.
    pub by: PersonId,
    /// When.
    pub at: Moment,
    /// The name of who entered it.
    pub entered_by: String,
}

impl PressureTest {
    /// Whether somebody made this test, or entered what was written of it, and so cannot witness it.
    pub fn made_by(&self, person: PersonId) -> bool {
        self.person_id == person
            || self
                .on_paper
                .as_ref()
                .is_some_and(|paper| paper.by == person)
    }
}

/// A certificate as issued.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Certificate {
    /// The row.
    pub id: CertificateId,
    /// Its unique number.
    pub number: CertificateNumber,
    /// The test it certifies.
    pub test_id: TestId,
    /// Who issued it.
    pub issued_by: PersonId,
    /// When.
    pub issued_at: Moment,
    /// The record, as JSON, from which the paper is made.
    pub record: String,
    /// SHA-256 of the record.
    pub sha256: String,
    /// Its seal; absent for one issued before certificates were signed.
    pub seal: Option<Seal>,
    /// The certificate it replaced.
    pub supersedes: Option<CertificateNumber>,
    /// The certificate that replaced it.
    pub superseded_by: Option<CertificateNumber>,
}

/// The number of a test or certificate: the plant's prefix, the letter, the year, the place in it.
fn number_text(prefix: &str, letter: char, year: i32, ordinal: i64) -> String {
    format!("{prefix}-{letter}-{year}-{ordinal:04}")
}

/// The number of the test at this place in the year.
///
/// # Errors
/// The plant's prefix holds characters a number may not have.
pub fn test_number(prefix: &str, year: i32, ordinal: i64) -> Result<TestNumber, String> {
    number_text(prefix, 'T', year, ordinal).parse()
}

/// The number of the certificate at this place in the year.
///
/// # Errors
/// The plant's prefix holds characters a number may not have.
pub fn certificate_number(
    prefix: &str,
    year: i32,
    ordinal: i64,
) -> Result<CertificateNumber, String> {
    number_text(prefix, 'C', year, ordinal).parse()
}
