//! Reading a pressure hold: did it pass, did it fail, or can the readings not tell, and why.
//! How trapped water behaves is in `trapped`; required pressure and hold time come in as given.

mod gas;
mod working;

use serde::{Deserialize, Serialize};

use super::conformance::{Guard, Verdict as Against, compare, probability};
use super::quantity::{AbsolutePressure, StampedPressure, StampedTemperature};
use super::trapped::{Enclosure, State, pressure_after, slope};
use super::working::Working;
use super::{OutOfRange, water};
use gas::gas_temperature;

pub use gas::{GasLoss, gas_loss};

/// What is shut in.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Contents {
    /// Water. Air in the enclosure is taken as the most there may be: the verdict must hold
    /// without any air and with all of it.
    Water(Enclosure),
    /// Air or nitrogen.
    Gas,
}

/// Pressure and temperature at one moment of the hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Moment {
    /// Gauge pressure read.
    pub pressure: StampedPressure,
    /// Temperature of what is shut in, or of the metal around it, if it was read.
    pub temperature: Option<StampedTemperature>,
}

/// Whether anybody saw a leak.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Leak {
    /// All joints were looked at and none leaks.
    NoneSeen,
    /// A drop, a weep, a hiss, bubbles: anything.
    Seen,
}

/// What was done and seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Hold {
    /// Readings when the hold began.
    pub start: Moment,
    /// Readings when it ended.
    pub end: Moment,
    /// How long it lasted, in minutes.
    pub minutes: u32,
    /// Whether a leak was seen.
    pub leak: Leak,
}

/// What the test must show.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Required {
    /// Least gauge pressure all through the hold.
    pub pressure: StampedPressure,
    /// Least time.
    pub minutes: u32,
    /// Drop not explained by temperature that still counts as none: the plant's setting.
    pub allowed_drop: StampedPressure,
}

/// How well the instruments tell.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Telling {
    /// Standard uncertainty of one pressure reading.
    pub pressure: StampedPressure,
    /// Standard uncertainty of one temperature reading, in kelvin, including how far the
    /// thermometer may lag behind the water.
    pub temperature_k: f64,
    /// Relative standard uncertainty of the change computed from temperature, 0 to 1: gaskets, glass
    /// and bolting give in ways no simple shape knows.
    pub model: f64,
    /// Guard band of the plant.
    pub guard: Guard,
}

/// Why the hold failed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Failure {
    /// A leak was seen; no reading can outweigh that.
    VisibleLeak,
    /// The pressure fell by more than temperature and instruments explain.
    UnexplainedDrop,
}

/// Why the readings cannot tell.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Doubt {
    /// The required pressure was not there all through the hold.
    PressureTooLow,
    /// It was not held long enough.
    HeldTooShort,
    /// Without temperatures a change of pressure means nothing.
    NoTemperature,
    /// So great a change of temperature that trapped water would boil, or press beyond any test.
    TemperatureTooFar,
    /// The instruments could not show a drop as small as the allowed one.
    InstrumentsTooCoarse,
    /// The unexplained drop is too near the allowed one for these instruments.
    DropUnclear,
    /// The pressure is higher than temperature explains: something may be feeding the test, and
    /// would hide a leak.
    UnexplainedRise,
    /// The answer depends on how much air stayed in.
    AirMatters,
}

impl Doubt {
    /// The doubt in words for the page and the paper.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::PressureTooLow => "the required pressure was not kept through the whole hold",
            Self::HeldTooShort => "it was held for less than the required time",
            Self::NoTemperature => {
                "no temperatures were read, so a change of pressure cannot be told from a leak"
            }
            Self::TemperatureTooFar => {
                "the temperature changed so far that trapped water could not have kept any test pressure"
            }
            Self::InstrumentsTooCoarse => {
                "these instruments cannot show a drop as small as the allowed one"
            }
            Self::DropUnclear => {
                "the drop left after temperature is too near the allowed one for these instruments"
            }
            Self::UnexplainedRise => {
                "the pressure is higher than temperature explains; a passing valve may be feeding the test and would hide a leak"
            }
            Self::AirMatters => "the answer depends on how much air stayed in",
        }
    }
}

/// What may be said of the hold.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "verdict", rename_all = "kebab-case")]
pub enum Verdict {
    /// No leak seen, and no drop beyond the allowed one.
    Pass,
    /// It leaks.
    Fail {
        /// How that is known.
        why: Failure,
    },
    /// Neither can be said.
    NotDecidable {
        /// All reasons, the most basic first.
        why: Vec<Doubt>,
    },
}

impl Verdict {
    /// The verdict in words for the page and the paper.
    #[must_use]
    pub fn words(&self) -> String {
        match self {
            Self::Pass => "passed".to_owned(),
            Self::Fail {
                why: Failure::VisibleLeak,
            } => "failed: a leak was seen".to_owned(),
            Self::Fail {
                why: Failure::UnexplainedDrop,
            } => "failed: the pressure fell by more than temperature explains".to_owned(),
            Self::NotDecidable { why } => {
                let why: Vec<&str> = why.iter().map(|doubt| doubt.words()).collect();
                format!("not decidable: {}", why.join("; "))
            }
        }
    }
}

/// The hold as judged.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Judgement {
    /// Pass, fail or not decidable.
    pub verdict: Verdict,
    /// Gauge pressure in Pa that the end temperature alone would give (vented), if temperatures were read.
    pub expected_pa: Option<f64>,
    /// Read less expected, in Pa (vented); negative is a drop.
    pub unexplained_pa: Option<f64>,
    /// Standard uncertainty of that, in Pa.
    pub uncertainty_pa: Option<f64>,
    /// Probability that the unexplained drop is no more than the allowed one (vented).
    pub probability: Option<f64>,
    /// How it was judged.
    pub working: Working,
}

/// Judges a pressure hold.
///
/// # Formula
/// pₑ: pressure after the change of temperature alone (water: [`pressure_after`]; gas: p₁·T₂/T₁);
/// y = p₂ − pₑ; u² = 2·uₚ² + 2·(b·uₜ)² + (r·(pₑ − p₁))²; g = k·u. Drop: passes if y ≥ −a + g, fails
/// if y < −a − g. Rise: passes only if y ≤ a − g. With air, both without any and with all of it.
///
/// # Symbols
/// p: pressure, Pa; T: temperature, K; b: slope of pressure with temperature, Pa/K, the steeper of
/// both ends; uₚ, uₜ: standard uncertainties of one reading; r: that of the computed change, as a
/// part of it; a: allowed drop; k: guard factor.
///
/// # Valid range
/// Water: that of [`super::water::at`]. Gas: 200 K to 700 K, as an ideal gas. Gauge pressures 0 to
/// 100 megapascal; uncertainty of pressure above 0, of temperature 0 to 20 K, of the computed change
/// 0 to 1; allowed drop not negative.
///
/// # Errors
/// [`OutOfRange`] outside that; but a visible leak fails whatever the readings are.
///
/// # Source
/// Any visible leak fails: common practice, no source (EN 13480-5 clause 9.3.2.2.2, second hand, asks
/// the same). Between allowed drop and doubt: JCGM 106:2012 and ILAC-G8:09/2019 clause 4.2.3.
pub fn judge(
    hold: &Hold,
    required: &Required,
    telling: &Telling,
    contents: Contents,
) -> Result<Judgement, OutOfRange> {
    let read = check(hold, required, telling).and_then(|()| residuals(hold, telling, contents));
    let (cases, mut doubts) = match (hold.leak, read) {
        (_, Ok(Ok(cases))) => (cases, Vec::new()),
        (_, Ok(Err(doubt))) => (Vec::new(), vec![doubt]),
        (Leak::Seen, Err(_)) => (Vec::new(), Vec::new()),
        (Leak::NoneSeen, Err(refused)) => return Err(refused),
    };
    if hold.minutes < required.minutes {
        doubts.insert(0, Doubt::HeldTooShort);
    }
    let least = hold.start.pressure.si().min(hold.end.pressure.si());
    if least < required.pressure.si() * (1.0 - 1e-9) {
        doubts.insert(0, Doubt::PressureTooLow);
    }
    let allowed = required.allowed_drop.si();
    let found = against_allowed(&cases, allowed, telling.guard);
    let verdict = if hold.leak == Leak::Seen {
        Verdict::Fail {
            why: Failure::VisibleLeak,
        }
    } else if found == Found::Drop {
        Verdict::Fail {
            why: Failure::UnexplainedDrop,
        }
    } else {
        if let Found::Doubt(doubt) = found {
            doubts.push(doubt);
        }
        if doubts.is_empty() {
            Verdict::Pass
        } else {
            Verdict::NotDecidable { why: doubts }
        }
    };
    let vented = cases.first();
    let likely = vented.and_then(|c| probability(c.y, c.u, -allowed, f64::INFINITY).ok());
    let working = working::working(hold, required, telling, (vented, likely), &verdict);
    Ok(Judgement {
        expected_pa: vented.map(|c| c.expected),
        unexplained_pa: vented.map(|c| c.y),
        uncertainty_pa: vented.map(|c| c.u),
        probability: likely,
        verdict,
        working,
    })
}

/// What the readings say about a drop, before time and pressure are asked for.
#[derive(PartialEq)]
enum Found {
    Nothing,
    Drop,
    Doubt(Doubt),
}

/// Compares every way of reading the change with the allowed drop; all must agree.
fn against_allowed(cases: &[Residual], allowed: f64, guard: Guard) -> Found {
    let band = |case: &Residual| guard.factor() * case.u;
    let all = |what: Against, lower: f64, upper: f64| {
        cases
            .iter()
            .all(|c| compare(c.y, lower, upper, band(c)) == what)
    };
    if cases.is_empty() {
        Found::Nothing
    } else if all(Against::Reject, -allowed, f64::INFINITY) {
        Found::Drop
    } else if all(Against::Accept, -allowed, f64::INFINITY) {
        if all(Against::Accept, f64::NEG_INFINITY, allowed) {
            Found::Nothing
        } else {
            Found::Doubt(Doubt::UnexplainedRise)
        }
    } else if cases.iter().all(|c| band(c) > allowed) {
        Found::Doubt(Doubt::InstrumentsTooCoarse)
    } else if all(Against::Undecided, -allowed, f64::INFINITY) {
        Found::Doubt(Doubt::DropUnclear)
    } else {
        Found::Doubt(Doubt::AirMatters)
    }
}

/// One way the change of pressure may be read.
struct Residual {
    expected: f64,
    slope: f64,
    y: f64,
    u: f64,
}

fn check(hold: &Hold, required: &Required, telling: &Telling) -> Result<(), OutOfRange> {
    for (name, pressure) in [
        ("pressure at the start", hold.start.pressure),
        ("pressure at the end", hold.end.pressure),
        ("required test pressure", required.pressure),
        ("allowed drop", required.allowed_drop),
    ] {
        if !(0.0..=100e6).contains(&pressure.si()) {
            return Err(OutOfRange::new(name, pressure, "0 to 100 MPa"));
        }
    }
    if !(telling.pressure.si() > 0.0 && telling.pressure.si() <= 100e6) {
        return Err(OutOfRange::new(
            "uncertainty of the pressure reading",
            telling.pressure,
            "greater than 0",
        ));
    }
    if !(0.0..=20.0).contains(&telling.temperature_k) {
        return Err(OutOfRange::new(
            "uncertainty of the temperature reading",
            format!("{} K", telling.temperature_k),
            "0 to 20 K",
        ));
    }
    if !(0.0..=1.0).contains(&telling.model) {
        return Err(OutOfRange::new(
            "uncertainty of the computed change",
            telling.model,
            "0 to 1",
        ));
    }
    Ok(())
}

/// The vented reading first; with possible air a second one with all of it.
fn residuals(
    hold: &Hold,
    telling: &Telling,
    contents: Contents,
) -> Result<Result<Vec<Residual>, Doubt>, OutOfRange> {
    let (Some(warm1), Some(warm2)) = (hold.start.temperature, hold.end.temperature) else {
        return Ok(Err(Doubt::NoTemperature));
    };
    let state = |moment: &Moment, warm: StampedTemperature| State {
        temperature: warm.temperature(),
        pressure: moment.pressure.gauge().absolute(),
    };
    let (start, end) = (state(&hold.start, warm1), state(&hold.end, warm2));
    let one = |expected: AbsolutePressure, slope: f64| {
        let explained = expected.pa() - start.pressure.pa();
        let readings =
            std::f64::consts::SQRT_2 * telling.pressure.si().hypot(slope * telling.temperature_k);
        Residual {
            expected: expected.gauge().pa(),
            slope,
            y: end.pressure.pa() - expected.pa(),
            u: readings.hypot(telling.model * explained),
        }
    };
    match contents {
        Contents::Gas => {
            let (t1, t2) = (gas_temperature(start)?, gas_temperature(end)?);
            let expected = AbsolutePressure::from_pa(start.pressure.pa() * t2 / t1);
            Ok(Ok(vec![one(expected, start.pressure.pa() / t1.min(t2))]))
        }
        Contents::Water(enclosure) => {
            // Says which of the readings cannot be, before the physics is asked.
            water::at(start.temperature, start.pressure)?;
            water::temperature_in_range(end.temperature)?;
            let mut cases = Vec::new();
            for case in [
                Some(enclosure.vented()),
                (enclosure.air() > 0.0).then_some(enclosure),
            ] {
                let Some(case) = case else { continue };
                let Ok(expected) = pressure_after(case, start, end.temperature) else {
                    return Ok(Err(Doubt::TemperatureTooFar));
                };
                let after = State {
                    temperature: end.temperature,
                    pressure: expected,
                };
                let steeper = slope(case, start)?.abs().max(slope(case, after)?.abs());
                cases.push(one(expected, steeper));
            }
            Ok(Ok(cases))
        }
    }
}
