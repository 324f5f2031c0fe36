//! What a torque does to a bolt, and whether a wrench can set it: load, stress, yield, wrench range.
//! Threads, nuts and materials are beside; passes and order in `tighten`; calibration is a record.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use uom::si::force::newton;

use super::OutOfRange;
use super::quantity::{Force, PressureUnit, StampedPressure, StampedTorque, Unit, significant};
use super::tighten::Plan;
use super::working::{Source, Step, Working};

pub mod materials;
pub mod nuts;
pub mod threads;

use threads::{Thread, stress_area};

/// The pound-force in newtons, exact by definition.
const NEWTONS_PER_POUND_FORCE: f64 = 4.448_221_615_260_5;

/// Where a target lies against the usable range of a wrench.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum WrenchFit {
    /// Within the usable range, its ends included.
    Fits,
    /// Below the usable range.
    BelowRange,
    /// Above the wrench's highest value.
    AboveRange,
}

/// Whether a torque can be set on a wrench, and between which values it could.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct WrenchVerdict {
    /// The verdict.
    pub fit: WrenchFit,
    /// Lowest torque this wrench may be used for, in the wrench's unit.
    pub usable_from: StampedTorque,
    /// Highest torque this wrench may be used for, in the wrench's unit.
    pub usable_to: StampedTorque,
    /// How the verdict was found.
    pub working: Working,
}

impl WrenchVerdict {
    /// Whether the wrench may be used for the torque.
    #[must_use]
    pub fn fits(&self) -> bool {
        self.fit == WrenchFit::Fits
    }
}

/// Whether a torque lies in the range a wrench is good for.
///
/// # Formula
/// usable from max(low, 0.2·high) to high; low and high are the ends of the wrench's scale, target,
/// low and high torques in any unit, compared exactly in N·m.
///
/// # Valid range
/// 0 < target ≤ 100 000, 0 ≤ low < high ≤ 100 000, each in its unit.
///
/// # Errors
/// A torque outside the range, or a scale that does not rise.
///
/// # Source
/// ISO 6789: deviations hold from 20 % to 100 % of the highest value (2003), from the lowest marked
/// value (2017); the narrower of both is used.
pub fn wrench_fits(
    target: StampedTorque,
    low: StampedTorque,
    high: StampedTorque,
) -> Result<WrenchVerdict, OutOfRange> {
    let most = Decimal::from(100_000);
    let exact = |input: &'static str, torque: StampedTorque| {
        let refuse = || OutOfRange::new(input, torque, format!("from 0 to 100000 {}", torque.unit));
        if torque.value < Decimal::ZERO || torque.value > most {
            return Err(refuse());
        }
        torque.newton_metres().ok_or_else(refuse)
    };
    let t = exact("target torque", target)?;
    let bottom = exact("lowest value of the wrench", low)?;
    let top = exact("highest value of the wrench", high)?;
    if t.is_zero() {
        return Err(OutOfRange::new("target torque", target, "greater than 0"));
    }
    if bottom >= top {
        return Err(OutOfRange::new(
            "highest value of the wrench",
            high,
            format!("above the lowest value, {low}"),
        ));
    }
    let fifth = Decimal::new(2, 1);
    let usable_from = if bottom >= top * fifth {
        low
    } else {
        StampedTorque::new((high.value * fifth).normalize(), high.unit)
    };
    let fit = if t > top {
        WrenchFit::AboveRange
    } else if t < bottom.max(top * fifth) {
        WrenchFit::BelowRange
    } else {
        WrenchFit::Fits
    };
    let working = Working::new("Torque wrench range").step(
        Step::new(
            "usable range",
            "torques the wrench may be used for",
            "max(low, 0.2·high) … high",
            Source::published("ISO 6789-1:2017 and ISO 6789:2003"),
        )
        .with("T", "target torque", target, Source::Entered)
        .with("low", "lowest value of the wrench", low, Source::Entered)
        .with("high", "highest value of the wrench", high, Source::Entered)
        .gives(format!(
            "{usable_from} to {high}: {}",
            match fit {
                WrenchFit::Fits => "the target lies within",
                WrenchFit::BelowRange => "the target lies below",
                WrenchFit::AboveRange => "the target lies above",
            }
        )),
    );
    Ok(WrenchVerdict {
        fit,
        usable_from,
        usable_to: high,
        working,
    })
}

/// What lies between the threads and under the nut.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Lubrication {
    /// Molybdenum or another anti-seize paste.
    Paste,
    /// Oil.
    Oil,
    /// Nothing: clean and dry.
    Dry,
    /// Nobody knows.
    Unknown,
}

/// The nut factor as a band, for it is never known to a point.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct NutFactor {
    low: f64,
    likely: f64,
    high: f64,
    origin: Origin,
}

/// Who says so.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Origin {
    Plant,
    Handbook,
    Nobody,
}

impl NutFactor {
    /// A band the plant has measured or been given.
    ///
    /// # Valid range
    /// 0.05 ≤ low ≤ likely ≤ high ≤ 0.6, without unit.
    ///
    /// # Errors
    /// [`OutOfRange`] for factors outside the range or out of order.
    ///
    /// # Source
    /// The range is our own: published means lie between 0.09 and 0.52.
    pub fn new(low: f64, likely: f64, high: f64) -> Result<Self, OutOfRange> {
        if low >= 0.05 && low <= likely && likely <= high && high <= 0.6 {
            Ok(Self {
                low,
                likely,
                high,
                origin: Origin::Plant,
            })
        } else {
            Err(OutOfRange::new(
                "nut factor",
                format!("{low} to {likely} to {high}"),
                "from 0.05 to 0.6, the low one not above the likely one, the likely one not above the high one",
            ))
        }
    }

    /// The usual band for a lubrication.
    ///
    /// Bands are handbook values (dry 0.20 to 0.25, oil 0.15 to 0.20, anti-seize 0.12 to 0.16); an
    /// unknown lubrication spans all of them. The likely values 0.15 and 0.20 are common practice,
    /// no source; that of oil is the middle of its band.
    #[must_use]
    pub const fn of(lubrication: Lubrication) -> Self {
        let (low, likely, high) = match lubrication {
            Lubrication::Paste => (0.12, 0.15, 0.16),
            Lubrication::Oil => (0.15, 0.175, 0.20),
            Lubrication::Dry => (0.20, 0.20, 0.25),
            Lubrication::Unknown => (0.12, 0.20, 0.25),
        };
        Self {
            low,
            likely,
            high,
            origin: if matches!(lubrication, Lubrication::Unknown) {
                Origin::Nobody
            } else {
                Origin::Handbook
            },
        }
    }
}

/// Load and stress of one bolt.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Load {
    /// Tension in the bolt in newtons.
    pub force_n: f64,
    /// Stress on the tensile stress area in pascal.
    pub stress_pa: f64,
    /// That stress over the yield strength, where the latter was given (1 is at yield).
    pub of_yield: Option<f64>,
}

impl Load {
    /// The tension as a dimensioned quantity.
    #[must_use]
    pub fn force(&self) -> Force {
        Force::new::<newton>(self.force_n)
    }

    /// The tension in pounds-force.
    #[must_use]
    pub fn pounds_force(&self) -> f64 {
        self.force_n / NEWTONS_PER_POUND_FORCE
    }

    /// The stress in a unit of pressure.
    #[must_use]
    pub fn stress_in(&self, unit: PressureUnit) -> f64 {
        unit.from_si(self.stress_pa)
    }
}

/// What one torque may do to a bolt, from the stickiest to the slipperiest case.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LoadBand {
    /// With the highest nut factor.
    pub low: Load,
    /// With the likely nut factor.
    pub likely: Load,
    /// With the lowest nut factor.
    pub high: Load,
    /// How the three were found.
    pub working: Working,
}

/// The tension and stress a torque puts into a bolt, as a band.
///
/// # Formula
/// `F = T / (K·d)` and `σ = F / A`, share of yield `σ / R`; T torque in N·m, K nut factor, d nominal
/// diameter in m, F tension in N, A tensile stress area ([`stress_area`]), R yield strength.
///
/// # Valid range
/// 0 < T ≤ 100 000 of its unit, 0.05 ≤ K ≤ 0.6, 0 < R ≤ 2000 `MPa`.
///
/// # Errors
/// A torque or yield strength outside the range.
///
/// # Source
/// The short form of the torque equation as in Shigley's Mechanical Engineering Design (and ASME PCC-1,
/// from memory); scatter of the tension set with a torque wrench ± 25 to 35 % (from memory).
/// The nameplate torque already contains the maker's own assumption; it is never corrected by this.
pub fn load(
    target: StampedTorque,
    thread: Thread,
    factor: NutFactor,
    yield_strength: Option<StampedPressure>,
) -> Result<LoadBand, OutOfRange> {
    if target.value <= Decimal::ZERO || target.value > Decimal::from(100_000) {
        return Err(OutOfRange::new(
            "target torque",
            target,
            format!("greater than 0 and at most 100000 {}", target.unit),
        ));
    }
    if let Some(strength) = yield_strength
        && !(strength.value > Decimal::ZERO && strength.si() <= 2.0e9)
    {
        return Err(OutOfRange::new(
            "yield strength",
            strength,
            "greater than 0 and at most 2000 MPa",
        ));
    }
    let area = stress_area(thread);
    let with = |k: f64| {
        let force_n = target.si() / (k * thread.diameter_m());
        let stress_pa = force_n / (area.mm2 * 1.0e-6);
        Load {
            force_n,
            stress_pa,
            of_yield: yield_strength.map(|strength| stress_pa / strength.si()),
        }
    };
    let (low, likely, high) = (with(factor.high), with(factor.likely), with(factor.low));
    let mut working = Working::new("Bolt load behind the torque");
    working.steps.extend(area.working.steps);
    let show = |load: &Load| shown(load, thread);
    working = working
        .step(
            Step::new(
                "F, σ",
                "bolt load and stress, from high to low nut factor",
                "F = T / (K·d); σ = F / A",
                Source::published("Shigley's Mechanical Engineering Design, T = K·F·d"),
            )
            .with("T", "torque", target, Source::Nameplate)
            .with("d", "nominal diameter", format!("{} mm", significant(thread.diameter_mm(), 5)), Source::Nameplate)
            .with(
                "K",
                "nut factor",
                format!("{} to {}, likely {}", factor.low, factor.high, factor.likely),
                match factor.origin {
                    Origin::Plant => Source::Plant,
                    Origin::Handbook => Source::published("handbook bands of the nut factor by lubrication"),
                    Origin::Nobody => Source::CommonPractice,
                },
            )
            .with(
                "R",
                "yield strength",
                yield_strength.map_or_else(|| "not given".to_owned(), |strength| strength.to_string()),
                Source::Entered,
            )
            .gives(format!("{} to {}, likely {}", show(&low), show(&high), show(&likely))),
        )
        .remark("The nut factor belongs to one lubricant and both faces; at one torque the tension scatters by about a third either way.")
        .remark("The nameplate torque stands. On a glass gauge the glass and its gaskets, not the yield of the bolt, set the limit.");
    if factor.origin == Origin::Nobody {
        working = working
            .remark("The lubrication is not known: read the result as a band, not as a value.");
    }
    if high.of_yield.is_some_and(|share| share > 1.0) {
        working = working
            .remark("With the lowest nut factor the bolt would be beyond its yield strength.");
    }
    Ok(LoadBand {
        low,
        likely,
        high,
        working,
    })
}

fn shown(load: &Load, thread: Thread) -> String {
    let mut text = if thread.is_metric() {
        format!(
            "{} kN, {} MPa",
            significant(load.force_n / 1000.0, 3),
            significant(load.stress_in(PressureUnit::MegaPascal), 3)
        )
    } else {
        format!(
            "{} lbf, {} psi",
            significant(load.pounds_force(), 3),
            significant(load.stress_in(PressureUnit::Psi), 3)
        )
    };
    if let Some(share) = load.of_yield {
        text = format!("{text} ({} % of yield)", significant(share * 100.0, 2));
    }
    text
}

/// Where each pass of a plan lies against the usable range of a wrench.
///
/// # Formula
/// [`wrench_fits`] for every pass. The target must fit; a low pass outside the range is flagged and
/// is done with a smaller wrench or by feel, as the plant's practice says.
///
/// # Valid range
/// As [`wrench_fits`].
///
/// # Errors
/// As [`wrench_fits`].
///
/// # Source
/// As [`wrench_fits`].
pub fn wrench_over_passes(
    plan: &Plan,
    low: StampedTorque,
    high: StampedTorque,
) -> Result<Vec<(StampedTorque, WrenchFit)>, OutOfRange> {
    plan.passes
        .iter()
        .map(|&value| {
            let pass = StampedTorque::new(value, plan.unit);
            wrench_fits(pass, low, high).map(|verdict| (pass, verdict.fit))
        })
        .collect()
}
