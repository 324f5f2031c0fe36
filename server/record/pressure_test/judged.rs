//! What the readings of a hold say beside what was seen: the head of liquid between pressure gauge and
//! glass, and the change of pressure freed from temperature. How it is computed is in `calc`.

use rust_decimal::prelude::{FromPrimitive, ToPrimitive};
use rust_decimal::{Decimal, RoundingStrategy};
use serde::{Deserialize, Serialize};

use super::{LeakSeen, TestFacts};
use crate::calc::OutOfRange;
use crate::calc::hold::{self, Contents, Hold, Leak, Moment, Required, Telling, Verdict};
use crate::calc::pressure_test::head::{Elevations, at_ends};
use crate::calc::quantity::{StampedPressure, Unit};
use crate::calc::trapped::{Enclosure, Metal, Shape};
use crate::calc::water;
use crate::calc::working::Working;
use crate::record::test_plan::Rules;

/// Relative standard uncertainty of the change computed from temperature: gaskets, glass and bolting
/// give in ways no simple shape knows. Common practice, no source; it stands in the working.
const MODEL: f64 = 0.2;

/// Where the pressure gauge sat while it was read, and what the gauge under test saw.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Heights {
    /// As measured.
    pub elevations: Elevations,
    /// The pressure at the lowest point at the lowest reading of the hold.
    pub at_lowest: StampedPressure,
    /// The pressure at the highest point at the lowest reading of the hold.
    pub at_highest: StampedPressure,
    /// The most the lowest point saw: at the highest reading, rounded up, for a limit from above.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub most_at_lowest: Option<StampedPressure>,
    /// How both were found.
    pub working: Working,
}

impl Heights {
    /// What the readings become at the ends of the gauge under test. Gas has no head that counts.
    ///
    /// # Errors
    /// Readings or heights outside the range of water's known properties, or another liquid.
    pub fn of(facts: &TestFacts, elevations: Elevations) -> Result<Self, OutOfRange> {
        let refuse = |why: &str| OutOfRange::new("heights", "as written", why);
        if !facts.medium.is_water() {
            return Err(refuse("left out: the density is known of water only"));
        }
        let lowest = facts.lowest().ok_or_else(|| refuse("with a reading"))?;
        let warm = facts
            .readings
            .iter()
            .find_map(|reading| reading.temperature)
            .ok_or_else(|| refuse("with a temperature of the water"))?;
        let state = water::at(warm.temperature(), lowest.gauge().absolute())?;
        let ends = at_ends(lowest, state.density, elevations)?;
        let highest = facts.highest();
        let squeezed = water::at(warm.temperature(), highest.gauge().absolute())?;
        let most = at_ends(highest, squeezed.density, elevations)?;
        let stamped = |value: f64, unit, to| {
            let value = Decimal::from_f64(value).unwrap_or_default();
            StampedPressure::new(value.round_dp_with_strategy(2, to).normalize(), unit)
        };
        // The pressure reached is rounded down, the most that was seen is rounded up.
        let down = |value| stamped(value, ends.unit, RoundingStrategy::ToNegativeInfinity);
        Ok(Self {
            elevations,
            at_lowest: down(ends.lowest),
            at_highest: down(ends.highest),
            most_at_lowest: Some(stamped(
                most.lowest,
                most.unit,
                RoundingStrategy::ToPositiveInfinity,
            )),
            working: ends.working,
        })
    }

    /// Whether the highest point saw the required pressure.
    pub fn reached(&self, required: StampedPressure) -> bool {
        self.at_highest.si() >= required.si() * (1.0 - 1e-9)
    }
}

/// What the change of pressure says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    /// No drop beyond the allowed one.
    Passed,
    /// It leaks, though nobody saw it.
    Failed,
    /// The readings cannot tell.
    NotDecidable,
}

/// The change of pressure over the hold as it was judged on the day.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct HoldJudged {
    /// What it says.
    pub outcome: Outcome,
    /// It in words.
    pub words: String,
    /// How it was judged.
    pub working: Working,
}

/// Judges the change of pressure over a hold by what its rules allow; nothing where they state
/// no allowed drop, guard band or thermometer, or where the readings are those of a leak.
///
/// # Errors
/// Readings outside what is known of water or gas.
pub fn judge(facts: &TestFacts, rules: &Rules) -> Result<Option<HoldJudged>, OutOfRange> {
    let (Some(allowed_drop), Some(guard), Some(kelvin)) =
        (rules.allowed_drop, rules.guard, rules.thermometer)
    else {
        return Ok(None);
    };
    let (Some(first), Some(last)) = (facts.readings.first(), facts.readings.last()) else {
        return Ok(None);
    };
    let Some(step) = facts.instrument.resolution else {
        return Ok(None);
    };
    if facts.leak != LeakSeen::None || !(facts.medium.is_water() || facts.medium.is_gas()) {
        return Ok(None);
    }
    let moment = |reading: &super::Reading| Moment {
        pressure: reading.pressure,
        temperature: reading.temperature,
    };
    // A reading lies anywhere within half a step: a rectangle, whose deviation is step / square
    // root of 12 (JCGM 100:2008, 4.3.7).
    let step = facts.instrument.unit.to_si(step.to_f64().unwrap_or(0.0)) / 12.0_f64.sqrt();
    let unit = facts.required.unit;
    let pressure = StampedPressure::new(
        Decimal::from_f64(unit.from_si(step))
            .unwrap_or_default()
            .round_dp(6),
        unit,
    );
    let contents = if facts.medium.is_gas() {
        Contents::Gas
    } else {
        Contents::Water(Enclosure::new(Metal::CARBON_STEEL, Shape::Rigid)?)
    };
    let judged = hold::judge(
        &Hold {
            start: moment(first),
            end: moment(last),
            minutes: facts.held(),
            leak: Leak::NoneSeen,
        },
        &Required {
            pressure: facts.required,
            minutes: facts.hold_required,
            allowed_drop,
        },
        &Telling {
            pressure,
            temperature_k: kelvin.to_f64().unwrap_or(0.0),
            model: MODEL,
            guard: guard.guard(),
        },
        contents,
    )?;
    let outcome = match judged.verdict {
        Verdict::Pass => Outcome::Passed,
        Verdict::Fail { .. } => Outcome::Failed,
        Verdict::NotDecidable { .. } => Outcome::NotDecidable,
    };
    let mut working = judged.working;
    working = working.remark(
        "The body is taken as rigid carbon steel; a softer one moves less with temperature.",
    );
    Ok(Some(HoldJudged {
        outcome,
        words: judged.verdict.words(),
        working,
    }))
}
