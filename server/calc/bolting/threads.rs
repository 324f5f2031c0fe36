//! Bolt threads as they are named in the trade, and their stress area.
//! The nut for them is in `nuts`, what a torque does to them in `bolting`.

use std::fmt;
use std::str::FromStr;

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use serde::{Deserialize, Serialize};
use uom::si::area::square_millimeter;

use crate::calc::OutOfRange;
use crate::calc::quantity::{Area, significant};
use crate::calc::working::{Source, Step, Working};

/// Millimetres in an inch, exact by definition.
const MM_PER_INCH: f64 = 25.4;
/// Coarse series: sixteenths of an inch and threads an inch (ASME B1.1, UNC), up to 1 in.
#[rustfmt::skip]
const COARSE_INCH: [(u8, u8); 10] = [
    (4, 20), (5, 18), (6, 16), (7, 14), (8, 13), (9, 12), (10, 11), (12, 10), (14, 9), (16, 8),
];
/// Coarse series: millimetres and hundredths of a millimetre of pitch (ISO 261).
#[rustfmt::skip]
const COARSE_METRIC: [(u8, u16); 14] = [
    (6, 100), (8, 125), (10, 150), (12, 175), (14, 200), (16, 200), (18, 250), (20, 250),
    (22, 250), (24, 300), (27, 300), (30, 350), (33, 350), (36, 400),
];

/// A thread of a cover bolt; only sizes bolting is made in can be constructed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Thread(pub(super) Size);

/// The two systems of threads.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Size {
    /// Unified inch thread: nominal diameter in sixteenths of an inch (4 to 64), threads an inch.
    Inch { sixteenths: u8, per_inch: u8 },
    /// Metric thread: nominal diameter in millimetres (6 to 100), pitch in hundredths of one.
    Metric {
        millimetres: u8,
        pitch_hundredths: u16,
    },
}

impl Thread {
    /// The nominal diameter in millimetres.
    #[must_use]
    pub fn diameter_mm(self) -> f64 {
        match self.0 {
            Size::Inch { sixteenths, .. } => f64::from(sixteenths) / 16.0 * MM_PER_INCH,
            Size::Metric { millimetres, .. } => f64::from(millimetres),
        }
    }

    /// The nominal diameter in metres.
    #[must_use]
    pub fn diameter_m(self) -> f64 {
        self.diameter_mm() / 1000.0
    }

    /// Whether the thread is a metric one.
    #[must_use]
    pub fn is_metric(self) -> bool {
        matches!(self.0, Size::Metric { .. })
    }

    /// An inch thread, where diameter and pitch make one.
    fn inch(sixteenths: u8, per_inch: u8) -> Option<Self> {
        let d = f64::from(sixteenths) / 16.0;
        // A pitch above a third of the diameter is a slip of the pen, not a thread.
        let sane = (4..=64).contains(&sixteenths)
            && (4..=32).contains(&per_inch)
            && 1.0 / f64::from(per_inch) <= d / 3.0;
        sane.then_some(Self(Size::Inch {
            sixteenths,
            per_inch,
        }))
    }

    /// A metric thread, where diameter and pitch make one.
    fn metric(millimetres: u8, pitch_hundredths: u16) -> Option<Self> {
        let sane = (6..=100).contains(&millimetres)
            && (50..=600).contains(&pitch_hundredths)
            && u32::from(pitch_hundredths) * 3 <= u32::from(millimetres) * 100;
        sane.then_some(Self(Size::Metric {
            millimetres,
            pitch_hundredths,
        }))
    }
}

impl fmt::Display for Thread {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.0 {
            Size::Inch {
                sixteenths,
                per_inch,
            } => write!(f, "{}-{per_inch}", inches(sixteenths)),
            Size::Metric {
                millimetres,
                pitch_hundredths,
            } => {
                let pitch = Decimal::new(i64::from(pitch_hundredths), 2).normalize();
                write!(f, "M{millimetres}\u{d7}{pitch}")
            }
        }
    }
}

/// Sixteenths of an inch as the trade writes them: "1/2", "1 1/8", "2".
pub(super) fn inches(sixteenths: u8) -> String {
    let (whole, mut part, mut of) = (sixteenths / 16, sixteenths % 16, 16_u8);
    while part != 0 && part.is_multiple_of(2) {
        part /= 2;
        of /= 2;
    }
    match (whole, part) {
        (_, 0) => whole.to_string(),
        (0, _) => format!("{part}/{of}"),
        _ => format!("{whole} {part}/{of}"),
    }
}

/// Reads "1/2", "1 1/8", "1-1/8" or "2" as sixteenths of an inch.
fn sixteenths(text: &str) -> Option<u8> {
    let mut sum = 0_u32;
    for part in text.split([' ', '-']).filter(|part| !part.is_empty()) {
        sum += match part.split_once('/') {
            Some((above, below)) => {
                let (above, below): (u32, u32) = (above.parse().ok()?, below.parse().ok()?);
                if ![2, 4, 8, 16].contains(&below) || above == 0 || above >= below {
                    return None;
                }
                above * (16 / below)
            }
            None => part.parse::<u32>().ok().filter(|whole| *whole <= 4)? * 16,
        };
    }
    u8::try_from(sum).ok()
}

fn parse_inch(text: &str) -> Option<Thread> {
    if let Some((size, per_inch)) = text.rsplit_once('-')
        && let Some(per_inch) = per_inch.trim().parse::<u8>().ok().filter(|n| *n >= 4)
    {
        return Thread::inch(sixteenths(size)?, per_inch);
    }
    let size = sixteenths(text)?;
    let (_, per_inch) = COARSE_INCH.iter().find(|(d, _)| *d == size)?;
    Thread::inch(size, *per_inch)
}

fn parse_metric(text: &str) -> Option<Thread> {
    let (size, pitch) = match text.split_once(['x', '\u{d7}']) {
        Some((size, pitch)) => (size.trim().parse::<u8>().ok()?, Some(pitch.trim())),
        None => (text.trim().parse::<u8>().ok()?, None),
    };
    let pitch = match pitch {
        Some(pitch) => {
            let hundredths =
                Decimal::from_str(&pitch.replace(',', ".")).ok()? * Decimal::ONE_HUNDRED;
            hundredths
                .fract()
                .is_zero()
                .then(|| hundredths.to_u16())
                .flatten()?
        }
        None => COARSE_METRIC.iter().find(|(d, _)| *d == size)?.1,
    };
    Thread::metric(size, pitch)
}

impl FromStr for Thread {
    type Err = OutOfRange;

    /// Reads a thread as people write it: "1/2-13", "5/8-11 UNC-2A", "1-1/8-8", "M12", "M12x1.75".
    /// Without a pitch the coarse series is meant; above 1 in it must be given, for there both the
    /// coarse and the 8-thread series are in use.
    fn from_str(text: &str) -> Result<Self, OutOfRange> {
        let refuse = || {
            OutOfRange::new(
                "thread",
                format!("\u{201c}{}\u{201d}", text.trim()),
                "such as 1/2-13 or M12 (1/4 to 4 in, M6 to M100; above 1 in or M36 with its pitch)",
            )
        };
        let plain = text.trim().to_lowercase();
        if plain.len() > 24 {
            return Err(refuse());
        }
        let size = plain
            .split(" un")
            .next()
            .unwrap_or_default()
            .replace(['"', '\u{2033}'], "");
        let size = size.trim().trim_end_matches("in").trim();
        size.strip_prefix('m')
            .map_or_else(|| parse_inch(size), parse_metric)
            .ok_or_else(refuse)
    }
}

impl TryFrom<String> for Thread {
    type Error = OutOfRange;

    fn try_from(text: String) -> Result<Self, OutOfRange> {
        text.parse()
    }
}

impl From<Thread> for String {
    fn from(thread: Thread) -> Self {
        thread.to_string()
    }
}

/// The area a bolt's load is spread over where its thread is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StressArea {
    /// The area in square millimetres.
    pub mm2: f64,
    /// How it was found.
    pub working: Working,
}

impl StressArea {
    /// The area as a dimensioned quantity.
    #[must_use]
    pub fn area(&self) -> Area {
        Area::new::<square_millimeter>(self.mm2)
    }

    /// The area in square inches.
    #[must_use]
    pub fn in2(&self) -> f64 {
        self.mm2 / (MM_PER_INCH * MM_PER_INCH)
    }
}

/// The tensile stress area of a thread.
///
/// # Formula
/// Inch: `A = 0.7854·(D − 0.9743/n)²`, D nominal diameter in in, n threads an inch, A in in².
/// Metric: `A = π/4·((d₂ + d₃)/2)²` with `d₂ = d − 0.649519·P` and `d₃ = d − 1.226869·P`, so
/// `A = π/4·(d − 0.938194·P)²`, d nominal diameter and P pitch in mm, A in mm².
///
/// # Valid range
/// Every [`Thread`]: 1/4 to 4 in, M6 to M100, pitch at most a third of the diameter.
///
/// # Errors
/// None; a thread outside the range cannot be made.
///
/// # Source
/// ASME B1.1 (as tabulated in Shigley's Mechanical Engineering Design, 9th ed., Table 8-2);
/// ISO 898-1. The root area of ASME PCC-1 is smaller by 10 to 14 % and is not used here.
#[must_use]
pub fn stress_area(thread: Thread) -> StressArea {
    let quarter_pi = std::f64::consts::FRAC_PI_4;
    let (mm2, step) = match thread.0 {
        Size::Inch {
            sixteenths,
            per_inch,
        } => {
            let in2 =
                quarter_pi * (f64::from(sixteenths) / 16.0 - 0.9743 / f64::from(per_inch)).powi(2);
            let step = Step::new(
                "A",
                "tensile stress area",
                "A = 0.7854·(D − 0.9743/n)²",
                Source::published("ASME B1.1"),
            )
            .with(
                "D",
                "nominal diameter",
                format!("{} in", inches(sixteenths)),
                Source::Nameplate,
            )
            .with("n", "threads an inch", per_inch, Source::Nameplate)
            .gives(format!("{} in²", significant(in2, 4)));
            (in2 * MM_PER_INCH * MM_PER_INCH, step)
        }
        Size::Metric {
            millimetres,
            pitch_hundredths,
        } => {
            let pitch = f64::from(pitch_hundredths) / 100.0;
            let mm2 = quarter_pi * (f64::from(millimetres) - 0.938_194 * pitch).powi(2);
            let step = Step::new(
                "A",
                "tensile stress area",
                "A = π/4·(d − 0.938194·P)²",
                Source::published("ISO 898-1"),
            )
            .with(
                "d",
                "nominal diameter",
                format!("{millimetres} mm"),
                Source::Nameplate,
            )
            .with(
                "P",
                "pitch",
                format!("{} mm", significant(pitch, 4)),
                Source::Nameplate,
            )
            .gives(format!("{} mm²", significant(mm2, 4)));
            (mm2, step)
        }
    };
    StressArea {
        mm2,
        working: Working::new(format!("Stress area of {thread}")).step(step),
    }
}
