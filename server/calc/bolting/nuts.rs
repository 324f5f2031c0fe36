//! The hex nut for a thread and the wrench it takes.
//! What is known here is tables; which nut a gauge really has is seen on the gauge.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use super::threads::{Size, Thread, inches};
use crate::calc::OutOfRange;
use crate::calc::quantity::{LengthUnit, StampedLength};
use crate::calc::working::{Source, Step, Working};

/// The series a nut belongs to, which decides its wrench size.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum NutSeries {
    /// Finished hex nut (ASME B18.2.2), or hexagon nut style 1 (ISO 4032) on metric threads.
    Finished,
    /// Heavy hex nut (ASME B18.2.2); inch threads only.
    Heavy,
    /// The older metric widths, still found in plants; metric threads only.
    OldMetric,
}

/// Finished hex nuts: thread and width across flats in sixteenths of an inch.
#[rustfmt::skip]
const FINISHED_INCH: [(u8, u8); 14] = [
    (4, 7), (5, 8), (6, 9), (7, 11), (8, 12), (9, 14), (10, 15), (12, 18), (14, 21), (16, 24),
    (18, 27), (20, 30), (22, 33), (24, 36),
];
/// Heavy hex nuts: thread and width across flats in sixteenths of an inch.
#[rustfmt::skip]
const HEAVY_INCH: [(u8, u8); 25] = [
    (4, 8), (5, 9), (6, 11), (7, 12), (8, 14), (9, 15), (10, 17), (12, 20), (14, 23), (16, 26),
    (18, 29), (20, 32), (22, 35), (24, 38), (26, 41), (28, 44), (32, 50), (36, 56), (40, 62),
    (44, 68), (48, 74), (52, 80), (56, 86), (60, 92), (64, 98),
];
/// Hexagon nuts style 1: thread and width across flats in millimetres.
#[rustfmt::skip]
const FINISHED_METRIC: [(u8, u8); 17] = [
    (6, 10), (8, 13), (10, 16), (12, 18), (14, 21), (16, 24), (18, 27), (20, 30), (22, 34),
    (24, 36), (27, 41), (30, 46), (36, 55), (42, 65), (48, 75), (56, 85), (64, 95),
];
/// The older metric widths where they differ from ISO 4032.
#[rustfmt::skip]
const OLD_METRIC: [(u8, u8); 4] = [
    (10, 17), (12, 19), (14, 22), (22, 32),
];

/// The wrench a nut takes.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct NutSize {
    /// The basic width across flats.
    pub across_flats: StampedLength,
    /// The same as it stands on the wrench: "7/8 in", "18 mm".
    pub wrench: String,
    /// Where it is taken from.
    pub working: Working,
}

/// The basic width across flats of the hex nut for a thread.
///
/// # Formula
/// A table. The rule "1.5 D, or 1.5 D + 1/8 in for heavy nuts" misses the sizes 1/4, 5/16, 7/16 and
/// 9/16 and is not used.
///
/// # Valid range
/// Finished 1/4 to 1 1/2 in; heavy 1/4 to 4 in; metric M6 to M64; sizes made in the series only.
///
/// # Errors
/// A size not in the table, or a series that does not exist for the kind of thread.
///
/// # Source
/// Heavy: ASME B18.2.2-1987. Finished: ASME B18.2.2, widths as in BS 1768 table 2. Metric: ISO 4032
/// (BS EN ISO 4032:2001, tables 1 and 2). Older metric widths M10 and M12: Mechanical Engineer's
/// Data Handbook; M14 and M22 from memory.
pub fn nut_size(thread: Thread, series: NutSeries) -> Result<NutSize, OutOfRange> {
    let refuse = || OutOfRange::new("nut", thread, "a size made in the chosen series of nuts");
    let look = |table: &[(u8, u8)], size: u8| {
        table
            .iter()
            .find(|(thread, _)| *thread == size)
            .map(|(_, width)| *width)
    };
    let (across_flats, wrench, source) = match (thread.0, series) {
        (Size::Inch { sixteenths, .. }, NutSeries::Finished | NutSeries::Heavy) => {
            let table: &[(u8, u8)] = if series == NutSeries::Heavy {
                &HEAVY_INCH
            } else {
                &FINISHED_INCH
            };
            let width = look(table, sixteenths).ok_or_else(refuse)?;
            let exact = Decimal::from(width) / Decimal::from(16);
            (
                StampedLength::new(exact.normalize(), LengthUnit::Inch),
                format!("{} in", inches(width)),
                Source::published("ASME B18.2.2"),
            )
        }
        (Size::Metric { millimetres, .. }, NutSeries::Finished | NutSeries::OldMetric) => {
            let old = look(&OLD_METRIC, millimetres).filter(|_| series == NutSeries::OldMetric);
            let source = match (old, millimetres) {
                (Some(_), 14 | 22) => Source::FromMemory("older metric series".to_owned()),
                (Some(_), _) => Source::published("Mechanical Engineer's Data Handbook"),
                (None, _) => Source::published("ISO 4032"),
            };
            let width = old
                .or_else(|| look(&FINISHED_METRIC, millimetres))
                .ok_or_else(refuse)?;
            (
                StampedLength::new(Decimal::from(width), LengthUnit::Millimetre),
                format!("{width} mm"),
                source,
            )
        }
        _ => return Err(refuse()),
    };
    let working = Working::new("Wrench size").step(
        Step::new(
            "s",
            "width across flats",
            "from the table of the series",
            source,
        )
        .with("thread", "thread of the bolt", thread, Source::Nameplate)
        .gives(&wrench),
    );
    Ok(NutSize {
        across_flats,
        wrench,
        working,
    })
}
