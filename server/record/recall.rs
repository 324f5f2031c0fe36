//! A recall: an instrument found out of tolerance or a lot found bad, and what is decided about each
//! rebuild and test that relied on it. Marks on certificates are in `certificate_mark.rs`.

use time::Date;

use super::certificate_mark::{Certified, MarkKind};
use super::ids::{
    CertificateId, GaugeId, InstrumentNumber, KitNumber, LotNumber, RebuildId, RecallId, TagNumber,
    TestId, TestNumber,
};
use super::moment::Moment;
use super::words::words;

words! {
    /// What an engineer decides about something that relied on what was recalled.
    Decision, "what is decided" {
        Stands: "stands", "it stands";
        Repeat: "repeat", "it is done again";
    }
}

impl Decision {
    /// What a certificate that rests on it is marked with.
    pub const fn mark(self) -> MarkKind {
        match self {
            Self::Stands => MarkKind::Stands,
            Self::Repeat => MarkKind::Withdrawn,
        }
    }
}

/// What was recalled.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Recalled {
    /// An instrument.
    Instrument(InstrumentNumber),
    /// A lot of a kit.
    Lot(KitNumber, LotNumber),
}

impl std::fmt::Display for Recalled {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Instrument(number) => write!(f, "{number}"),
            Self::Lot(kit, lot) => write!(f, "lot {lot} of {kit}"),
        }
    }
}

/// A recall as it was opened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Recall {
    /// Its number, counted through the plant.
    pub id: RecallId,
    /// What was recalled.
    pub of: Recalled,
    /// The last day it was known to be good; none where it never was.
    pub since: Option<Date>,
    /// The day it was found bad.
    pub until: Date,
    /// What was found.
    pub reason: String,
    /// Who opened it.
    pub person: String,
    /// When.
    pub at: Moment,
}

/// What a decision is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum About {
    /// A rebuild.
    Rebuild(RebuildId),
    /// A pressure test.
    Test(TestId),
    /// What is left of the lot in the storeroom.
    Left,
}

/// A decision that was made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Decided {
    /// What it is about.
    pub about: About,
    /// What was decided.
    pub decision: Decision,
    /// Why.
    pub reason: String,
    /// Who decided.
    pub person: String,
    /// When.
    pub at: Moment,
}

/// Something that relied on what was recalled.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Relying {
    /// What it is.
    pub about: About,
    /// The gauge.
    pub gauge_id: GaugeId,
    /// Its tag number.
    pub tag: TagNumber,
    /// The rebuild's number on the gauge, where it is a rebuild.
    pub ordinal: Option<i64>,
    /// The test's number, where it is a test.
    pub test: Option<TestNumber>,
    /// The first day it relied on it.
    pub first_on: Date,
    /// The last day it relied on it.
    pub last_on: Date,
    /// Its place among those of that day.
    pub place: i64,
    /// The certificates that rest on it, each as it stands.
    pub certificates: Vec<(CertificateId, Certified)>,
}
