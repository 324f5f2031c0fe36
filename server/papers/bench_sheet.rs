//! The bench sheet as a paper, for places where no screen may go: the same plan, limits and cautions,
//! and fields to fill in by pen. What was written on it is entered on the sheet afterwards.

use serde::Serialize;
use time::OffsetDateTime;

pub use super::typeset::{Paper, PaperError};
use super::typeset::{Sheet, typeset};
use crate::calc::working::Working;

/// A nut in the drawn plan.
#[derive(Debug, Clone, Serialize)]
pub struct NutPlace {
    /// Its number in the order of tightening, with a letter where two nuts share one.
    pub number: String,
    /// Its place from the upper end, from 1.
    pub place: usize,
    /// Whether it is on the right rail, which is drawn above.
    pub right: bool,
}

/// What the sheet states.
#[derive(Debug, Clone, Serialize)]
pub struct BenchSheet {
    /// The plant.
    pub plant: String,
    /// The tag number.
    pub tag: String,
    /// Vessel and service.
    pub hangs: String,
    /// The area.
    pub area: String,
    /// Which rebuild, why, planned for.
    pub rebuild: String,
    /// Kind, sections, glass.
    pub layout: String,
    /// Sections.
    pub sections: u8,
    /// Remarks of planner and register.
    pub remarks: Vec<String>,
    /// The kit and how many.
    pub kits: String,
    /// Lots that may be used, first expired first.
    pub lots: Vec<String>,
    /// What is confirmed before anything is loosened.
    pub safe: Vec<String>,
    /// What is confirmed when it goes back.
    pub back: Vec<String>,
    /// The sides of a section: one, or front and back.
    pub sides: Vec<String>,
    /// By how many days after the return it is tightened again; none where that is not asked for.
    pub re_torque_days: Option<u16>,
    /// The faces of a section.
    pub faces: Vec<String>,
    /// The plant's limits for faces.
    pub limits: String,
    /// The torque to reach and where it stands.
    pub torque: String,
    /// The passes, each with its unit.
    pub passes: Vec<String>,
    /// That the last of them rises by more than the step; empty where it does not.
    pub larger_last: String,
    /// The order of the sections.
    pub order: String,
    /// The nuts.
    pub nuts: Vec<NutPlace>,
    /// Nuts on a rail.
    pub rail: usize,
    /// The required pressure and hold.
    pub required: String,
    /// Behind the numbers.
    pub workings: Vec<Working>,
    /// When it was printed.
    #[serde(with = "time::serde::rfc3339")]
    pub printed: OffsetDateTime,
}

/// Sets the sheet and returns the PDF.
///
/// # Errors
/// A [`PaperError`] when a character is in none of the embedded fonts or the page cannot be set.
pub fn pdf(record: &BenchSheet, paper: Paper) -> Result<Vec<u8>, PaperError> {
    typeset(&Sheet {
        template: include_str!("../../templates/papers/bench_sheet.typ"),
        identity: &format!("bench sheet {} {}", record.tag, record.rebuild),
        record,
        paper,
        dated: record.printed,
    })
}
