//! One line of a gauge's history, of whatever kind, and the key it is paged by.
//! Which lines there are is asked in the store; how they read is the page's affair.

use time::Date;

use super::certificate_mark::Certified;
use super::gauge::Change;
use super::ids::{InstrumentNumber, KitNumber, LotNumber, TestNumber};
use super::instrument::InstrumentKind;
use super::kit::Movement;
use super::moment::Moment;
use super::pressure_test::TestResult;
use super::rebuild::{Cause, FailureKind, LookOverFound, RebuildState};
use super::words::words;

words! {
    /// What kind of line it is.
    Topic, "a kind of line" {
        Rebuild: "rebuild", "rebuilds";
        Test: "test", "pressure tests";
        LookOver: "look-over", "look-overs";
        Failure: "failure", "failures";
        Deferral: "deferral", "deferrals";
        Register: "register", "corrections";
        Stock: "stock", "lots fitted";
        Instrument: "instrument", "instruments used";
        Photograph: "photograph", "photographs";
        ReTorque: "re-torque", "re-torques";
    }
}

/// The place of a line in the history: by moment, and by kind and row within one moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Key {
    /// When it was recorded.
    pub at: Moment,
    /// What kind of line it is.
    pub topic: Topic,
    /// Its row among those of its kind.
    pub id: i64,
}

impl Key {
    /// The key as an address carries it.
    pub fn text(self) -> String {
        format!("{}_{}_{}", self.at.text(), self.topic.word(), self.id)
    }

    /// Reads a key out of an address.
    pub fn parse(text: &str) -> Option<Self> {
        let (at, rest) = text.split_once('_')?;
        let (topic, id) = rest.split_once('_')?;
        Some(Self {
            at: Moment::parse(at).ok()?,
            topic: topic.parse().ok()?,
            id: id.parse().ok()?,
        })
    }
}

/// What happened, with what a reader wants to know of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Happened {
    /// A rebuild, finished or open.
    Rebuild {
        /// Its number.
        ordinal: i64,
        /// Where it stands.
        state: RebuildState,
        /// Why it was done.
        cause: Cause,
        /// What the planner wrote, or why it was abandoned.
        note: String,
    },
    /// A pressure test.
    Test {
        /// Its number.
        number: TestNumber,
        /// What came of it.
        result: TestResult,
        /// Who witnessed it.
        witness: Option<String>,
        /// The certificate issued from it.
        certificate: Option<Certified>,
    },
    /// A look-over.
    LookOver {
        /// What it found.
        found: LookOverFound,
        /// What was written.
        note: String,
        /// Whether it may still be taken back.
        may_go: bool,
        /// Who took it back as recorded by mistake, and why.
        taken_back: Option<(String, String)>,
    },
    /// A failure in service.
    Failure {
        /// What went wrong.
        kind: FailureKind,
        /// What was written.
        note: String,
        /// The rebuild that answered it.
        answered_by: Option<i64>,
        /// Who took it back as reported by mistake, and why.
        taken_back: Option<(String, String)>,
    },
    /// A signed deferral.
    Deferral {
        /// The later date.
        until: Date,
        /// The date no deferral passes.
        hard_limit: Date,
        /// Why.
        reason: String,
    },
    /// What was done to the gauge's own record: taken in, corrected, rested, brought back, retired.
    Register {
        /// The deed in the audit chain's words.
        deed: String,
        /// Field by field, before and after.
        changes: Vec<Change>,
        /// Why, where a reason was asked for.
        reason: String,
    },
    /// Kits of a lot that went to a rebuild, or came back from it.
    Stock {
        /// Issue or return.
        movement: Movement,
        /// The lot.
        lot: LotNumber,
        /// The kit.
        kit: KitNumber,
        /// How many.
        quantity: i64,
        /// The rebuild's number.
        ordinal: i64,
    },
    /// An instrument a rebuild or a test relied on.
    Instrument {
        /// Its number.
        number: InstrumentNumber,
        /// What it is.
        kind: InstrumentKind,
        /// The rebuild's number.
        ordinal: Option<i64>,
        /// Whether it was relied on after the rebuild, to tighten its bolting again.
        after: bool,
        /// The test's number.
        test: Option<TestNumber>,
    },
    /// Bolting tightened again after a rebuild.
    ReTorque {
        /// The rebuild's number.
        ordinal: i64,
        /// The torque, as kept.
        torque: String,
        /// The wrench.
        wrench: InstrumentNumber,
    },
    /// A photograph of the nameplate.
    Photograph {
        /// The mark of its content.
        mark: String,
    },
}

/// A line of the history.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// Its place.
    pub key: Key,
    /// The civil day it speaks of, where that is not the day it was recorded.
    pub on: Option<Date>,
    /// Who recorded it.
    pub who: String,
    /// What happened.
    pub happened: Happened,
}
