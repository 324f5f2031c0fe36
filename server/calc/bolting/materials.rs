//! Bolting materials and their least yield strength, by the size of the thread.
//! Which bolts a gauge has is a record; what share of the yield a torque uses is found in `bolting`.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use super::threads::{Size, Thread};
use crate::calc::OutOfRange;
use crate::calc::quantity::{PressureUnit, StampedPressure};
use crate::calc::working::{Source, Step, Working};

/// A bolting material, by specification and grade.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Material {
    /// ASTM A193 B7, chromium-molybdenum.
    B7,
    /// ASTM A193 B7M, chromium-molybdenum of limited hardness.
    B7m,
    /// ASTM A193 B16, chromium-molybdenum-vanadium.
    B16,
    /// ASTM A193 B8 or B8M class 1, austenitic, solution treated.
    B8Class1,
    /// ASTM A193 B8 class 2, austenitic, strain hardened.
    B8Class2,
    /// ASTM A193 B8M class 2, austenitic, strain hardened.
    B8mClass2,
    /// ISO 898-1 property class 8.8; metric threads only.
    Iso88,
}

/// Largest diameter in sixteenths of an inch, largest in millimetres, yield in ksi and in `MPa`.
type Yields = &'static [(u8, u8, i64, i64)];

impl Material {
    /// Every material, the most usual first.
    pub const ALL: [Self; 7] = [
        Self::B7,
        Self::B7m,
        Self::B16,
        Self::B8Class1,
        Self::B8Class2,
        Self::B8mClass2,
        Self::Iso88,
    ];

    /// The name on screens and papers.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::B7 => "A193 B7",
            Self::B7m => "A193 B7M",
            Self::B16 => "A193 B16",
            Self::B8Class1 => "A193 B8/B8M class 1",
            Self::B8Class2 => "A193 B8 class 2",
            Self::B8mClass2 => "A193 B8M class 2",
            Self::Iso88 => "class 8.8",
        }
    }

    fn yields(self) -> Yields {
        match self {
            Self::B7 => &[(40, 64, 105, 720), (64, 100, 95, 655)],
            Self::B7m => &[(64, 100, 80, 550)],
            Self::B16 => &[(40, 64, 105, 725), (64, 100, 95, 655)],
            Self::B8Class1 => &[(64, 100, 30, 205)],
            Self::B8Class2 => &[
                (12, 20, 100, 690),
                (16, 24, 80, 550),
                (20, 30, 65, 450),
                (24, 36, 50, 345),
            ],
            Self::B8mClass2 => &[
                (12, 20, 95, 650),
                (16, 24, 80, 550),
                (20, 30, 65, 450),
                (24, 36, 50, 345),
            ],
            Self::Iso88 => &[(0, 16, 0, 640), (0, 39, 0, 660)],
        }
    }

    /// Whether the value was read in a copy of the standard or is remembered.
    fn source(self, thread: Thread) -> Source {
        match (self, thread.is_metric()) {
            (Self::Iso88, _) => Source::published("ISO 898-1, table of mechanical properties"),
            (Self::B7 | Self::B8Class1 | Self::B8Class2, true) => {
                Source::published("ASTM A193/A193M, metric products")
            }
            (_, true) => Source::FromMemory("ASTM A193M, metric products".to_owned()),
            (_, false) => Source::published("ASTM A193, inch products"),
        }
    }
}

/// The least yield strength of a bolting material.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct YieldStrength {
    /// The least yield strength at 0.2 % offset: psi for inch threads, `MPa` for metric ones.
    pub strength: StampedPressure,
    /// Where it is taken from.
    pub working: Working,
}

/// The least yield strength of a bolting material at the size of a thread.
///
/// # Formula
/// A table by diameter; the inch and the metric tables are not conversions of each other.
///
/// # Valid range
/// A193 B7, B7M, B16 and class 1 to 4 in or M100, class 2 to 1 1/2 in or M36; class 8.8 to M39.
///
/// # Errors
/// A size the material is not listed for.
///
/// # Source
/// ASTM A193/A193M, mechanical requirements, inch products; metric products of B7 and B8 (those of
/// B7M, B16 and B8M from memory). Where two transcripts of B8M class 2 differ (95 and 96 ksi) the
/// lower is taken. Property class 8.8: ISO 898-1, Rp0.2 min, as tabulated by fastener suppliers.
pub fn yield_strength(material: Material, thread: Thread) -> Result<YieldStrength, OutOfRange> {
    let found =
        material
            .yields()
            .iter()
            .find_map(|&(sixteenths_to, mm_to, ksi, mpa)| match thread.0 {
                Size::Inch { sixteenths, .. } if sixteenths <= sixteenths_to => Some(
                    StampedPressure::new(Decimal::from(ksi * 1000), PressureUnit::Psi),
                ),
                Size::Metric { millimetres, .. } if millimetres <= mm_to => Some(
                    StampedPressure::new(Decimal::from(mpa), PressureUnit::MegaPascal),
                ),
                _ => None,
            });
    let strength = found.ok_or_else(|| {
        OutOfRange::new(
            "thread",
            thread,
            format!("a size {} is listed for", material.name()),
        )
    })?;
    let working = Working::new("Yield strength of the bolting").step(
        Step::new(
            "R",
            "least yield strength",
            "from the table of the material",
            material.source(thread),
        )
        .with(
            "material",
            "bolting material",
            material.name(),
            Source::Entered,
        )
        .with("thread", "thread of the bolt", thread, Source::Nameplate)
        .gives(strength),
    );
    Ok(YieldStrength { strength, working })
}
