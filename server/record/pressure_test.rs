//! A pressure test as evidence: what was required, what was read, what came of it, and the
//! certificate issued from it. The required pressure itself is computed in `calc`.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use time::Date;

use super::ids::{
    CertificateId, CertificateNumber, GaugeId, InstrumentId, PersonId, RebuildId, TestId,
    TestNumber,
};
use super::moment::Moment;
use super::words::words;
use crate::calc::pressure_test::Code;
use crate::calc::quantity::{StampedPressure, StampedTemperature, Unit};
use crate::calc::working::Working;

words! {
    /// What the gauge is filled with for the test.
    Medium, "the test medium" {
        Water: "water", "water";
        TreatedWater: "treated-water", "water with corrosion inhibitor";
        Oil: "oil", "light oil";
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

/// One reading during the hold.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Reading {
    /// Minutes since the hold began.
    pub minute: u32,
    /// Pressure read.
    pub pressure: StampedPressure,
    /// Temperature read, where it was.
    pub temperature: Option<StampedTemperature>,
}

/// What a test rests on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TestFacts {
    /// The code of reference.
    pub code: Code,
    /// The gauge's rating the test was taken from.
    pub rating: StampedPressure,
    /// Ratio of allowable stresses, where the code asks for it.
    pub stress_ratio: Option<Decimal>,
    /// The required test pressure.
    pub required: StampedPressure,
    /// The shortest hold, minutes.
    pub hold_required: u32,
    /// What the gauge was filled with.
    pub medium: Medium,
    /// Readings by time, the first at the start of the hold.
    pub readings: Vec<Reading>,
    /// What was seen.
    pub leak: LeakSeen,
    /// Anything else, such as where it leaked.
    pub note: String,
    /// The working of the required pressure.
    pub working: Working,
}

impl TestFacts {
    /// How long the hold lasted: from the first to the last reading.
    pub fn held(&self) -> u32 {
        match (self.readings.first(), self.readings.last()) {
            (Some(first), Some(last)) => last.minute.saturating_sub(first.minute),
            _ => 0,
        }
    }

    /// Judges the test: any visible leak fails, and so does a reading under the required pressure.
    /// Fails with the reason in words.
    pub fn verdict(&self) -> (TestResult, String) {
        if self.leak != LeakSeen::None {
            return (
                TestResult::Failed,
                format!(
                    "{} was seen; any visible leak fails the test",
                    capital(self.leak.shown())
                ),
            );
        }
        let low = self
            .readings
            .iter()
            .find(|reading| below(reading.pressure, self.required));
        match low {
            Some(reading) => (
                TestResult::Failed,
                format!(
                    "{} at minute {} is below the required {}",
                    reading.pressure, reading.minute, self.required
                ),
            ),
            None => (
                TestResult::Passed,
                format!(
                    "no visible leak, and never below the required {} for {} minutes",
                    self.required,
                    self.held()
                ),
            ),
        }
    }
}

/// Whether one pressure is below another, compared as decimals where the unit is the same so that
/// a reading exactly at the limit is not lost to rounding.
fn below(a: StampedPressure, b: StampedPressure) -> bool {
    if a.unit == b.unit {
        a.value < b.value
    } else {
        a.unit.to_si(a.number()) < b.unit.to_si(b.number()) * (1.0 - 1e-9)
    }
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| {
        first.to_uppercase().collect::<String>() + chars.as_str()
    })
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
    /// Who did it.
    pub person_id: PersonId,
    /// Their name.
    pub person: String,
    /// When it was recorded.
    pub at: Moment,
    /// Who witnessed it and when.
    pub witness: Option<(String, Moment)>,
    /// The certificate issued from it.
    pub certificate: Option<CertificateNumber>,
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
}
