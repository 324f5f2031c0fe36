//! The pack of a shutdown window as one paper: the list, the kits to pick lot by lot, and a sheet for
//! each gauge to write on at the bench. Nothing here decides; the record comes in whole.

use serde::Serialize;
use time::{OffsetDateTime, Time};

use super::bench_sheet::NutPlace;
use super::typeset::{Paper, PaperError, Sheet, typeset};

/// What the pack prints.
#[derive(Debug, Clone, Serialize)]
pub struct Pack {
    /// The plant.
    pub plant: String,
    /// The window's name.
    pub name: String,
    /// The area that stands.
    pub area: String,
    /// Its first day.
    pub starts: String,
    /// Its last day.
    pub ends: String,
    /// Whether the plant is invented.
    pub demo: bool,
    /// Hours needed and hours there are, where the planner wrote them.
    pub hours: Option<(String, Option<String>)>,
    /// The gauges.
    pub gauges: Vec<GaugeSheet>,
    /// The kits to pick.
    pub picks: Vec<Pick>,
}

/// A gauge with what its bench has to know.
#[derive(Debug, Clone, Serialize)]
pub struct GaugeSheet {
    /// Tag number.
    pub tag: String,
    /// Vessel and what it shows.
    pub place: String,
    /// Why it is done.
    pub why: String,
    /// Type, sections, glass, bolting.
    pub built: String,
    /// Sections, for the boxes.
    pub sections: u8,
    /// The sections in the order they are tightened.
    pub order: Vec<u8>,
    /// The nuts of one section, numbered in the order they are tightened; none where the layout of the bolting
    /// is not known.
    pub nuts: Vec<NutPlace>,
    /// Nuts on a rail.
    pub rail: usize,
    /// Kits and their number.
    pub kits: String,
    /// Stamped torque.
    pub torque: Option<String>,
    /// What stands there where the register holds no torque.
    pub without_torque: &'static str,
    /// What was only assumed of it; empty where nothing was.
    pub assumed: String,
    /// The passes of the tightening, with their unit.
    pub passes: Vec<String>,
    /// That the last of them rises by more than the step; empty where it does not.
    pub larger_last: String,
    /// Test pressure and hold.
    pub test: Option<String>,
    /// Stamped rating.
    pub rating: Option<String>,
    /// What stands there where the register holds no rating.
    pub without_rating: &'static str,
    /// What the register says a rebuilder should know.
    pub note: String,
    /// Whether an open failure is reported.
    pub failure: String,
}

/// Kits to pick from the shelf.
#[derive(Debug, Clone, Serialize)]
pub struct Pick {
    /// The kit.
    pub kit: String,
    /// How many are needed.
    pub needed: u32,
    /// How many of them no lot on the shelf is left for.
    pub missing: u32,
    /// What is on the way: how many, and for when.
    pub coming: Vec<String>,
    /// Whether more is.
    pub more: bool,
    /// How many are short, as the plan counts them.
    pub short: i64,
    /// Lot, place, how many, last day.
    pub lots: Vec<(String, String, u32, String)>,
}

/// Sets the pack and returns the PDF.
///
/// # Errors
/// A [`PaperError`] when a character is in none of the embedded fonts or the page cannot be set.
pub fn pdf(pack: &Pack, printed: OffsetDateTime, paper: Paper) -> Result<Vec<u8>, PaperError> {
    typeset(&Sheet {
        template: include_str!("../../templates/papers/window_pack.typ"),
        identity: &format!("window pack {} {}", pack.area, pack.starts),
        record: pack,
        paper,
        // The day is enough; the same plan printed twice in a day gives the same bytes.
        dated: printed.date().with_time(Time::MIDNIGHT).assume_utc(),
    })
}
