//! The energy a gas test stores, shown before anyone plans one: energy, TNT equivalent, distance.
//! It advises against gas; whether a gas test may be done is for a competent person to approve.

use serde::{Deserialize, Serialize};
use uom::si::f64::Volume;
use uom::si::volume::cubic_meter;

use super::OutOfRange;
use super::quantity::{PressureUnit, StampedPressure, Unit, significant};
use super::working::{Source, Step, Working};

/// The atmosphere of the method, in pascal. It is not the standard atmosphere.
const METHOD_ATMOSPHERE_PA: f64 = 101_000.0;
/// Exponent (k − 1)/k of the method for air and nitrogen; 2/7 to three places.
const AIR_EXPONENT: f64 = 0.286;
/// Energy of a kilogram of TNT in joules, as the method has it.
const JOULES_PER_KG_TNT: f64 = 4_266_920.0;
/// Scaled distance in m/kg^(1/3) below which windows break.
const SCALED_DISTANCE: f64 = 20.0;
/// Energy above which one test is to be divided, in joules.
const MOST_JOULES: f64 = 271.0e6;

/// The gas a test would be done with.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Gas {
    /// Air or nitrogen.
    AirOrNitrogen,
    /// Another gas, by its ratio of specific heats.
    Other {
        /// Ratio of specific heats, k.
        k: f64,
    },
}

/// The edition of ASME PCC-2 the distance is taken from; they differ.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Edition {
    /// 2008: fixed distances to 271 MJ, or the formula with the plain TNT mass where that is more.
    Of2008,
    /// Between: the fixed distances of 2008, the formula with twice the TNT mass.
    Between,
    /// 2022: 30 m to 8.13 MJ, above it the formula with twice the TNT mass.
    Of2022,
}

/// What a gas test would store.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StoredEnergy {
    /// Stored energy in joules.
    pub joules: f64,
    /// The mass of TNT with the same energy, in kilograms.
    pub tnt_kg: f64,
    /// Distance by the formula alone, in metres.
    pub blast_m: f64,
    /// Least distance of every person, in metres, rounded up to 0.1 m.
    pub distance_m: f64,
    /// Whether the energy is beyond what one test may store.
    pub beyond_one_test: bool,
    /// How all of it was found.
    pub working: Working,
}

/// Distance by the formula and distance to keep, in metres.
fn distances(joules: f64, tnt_kg: f64, edition: Edition) -> (f64, f64) {
    let mass = match edition {
        Edition::Of2008 => tnt_kg,
        Edition::Between | Edition::Of2022 => 2.0 * tnt_kg,
    };
    let blast = SCALED_DISTANCE * mass.cbrt();
    let fixed = match edition {
        Edition::Of2008 | Edition::Between if joules <= 135.5e6 => Some(30.0),
        Edition::Of2008 | Edition::Between if joules <= MOST_JOULES => Some(60.0),
        Edition::Of2022 if joules <= 8.13e6 => return (blast, 30.0),
        _ => None,
    };
    (blast, fixed.map_or(blast, |fixed: f64| fixed.max(blast)))
}

/// The energy a gas test stores and the distance it asks for.
///
/// # Formula
/// `E = 1/(k−1)·P_at·V·[1 − (P_a/P_at)^((k−1)/k)]`; air and nitrogen `E = 2.5·P_at·V·[1 −
/// (P_a/P_at)^0.286]`. E in J, `P_at` = gauge pressure + `P_a` in Pa above vacuum, `P_a` = 101 000
/// Pa, V volume in m³. TNT = E / 4 266 920 kg. Distance `R = 20·TNT^(1/3)` m (2008) or
/// `20·(2·TNT)^(1/3)` m, beside the fixed distances of the [`Edition`].
///
/// # Valid range
/// 0 < gauge pressure ≤ 1000 bar; 0 < V ≤ 1000 m³; 1 < k ≤ 5/3.
///
/// # Errors
/// An input outside the range.
///
/// # Source
/// ASME PCC-2, Article 501 (5.1 in 2008), mandatory appendices II and III: 2008 (read in excerpt) and
/// 2022 (read in a copy); the form between from a secondary page. Everything is computed in SI:
/// the method's constant for pounds of TNT (1 488 617 ft·lbf) is 4.3 % away from that for kilograms.
/// The exponent 0.286 stands in the method; 2/7 changes E by up to 0.1 %.
/// Shorter distances by a smaller scaled distance accept injured people and are not offered.
pub fn gas_test(
    pressure: StampedPressure,
    volume: Volume,
    gas: Gas,
    edition: Edition,
) -> Result<StoredEnergy, OutOfRange> {
    let gauge = pressure.si();
    if !(gauge > 0.0 && gauge <= 100.0e6) {
        return Err(OutOfRange::new(
            "test pressure",
            pressure,
            "greater than 0 and at most 1000 bar",
        ));
    }
    let v = volume.get::<cubic_meter>();
    if !(v > 0.0 && v <= 1000.0) {
        return Err(OutOfRange::new(
            "volume",
            format!("{v} m³"),
            "greater than 0 and at most 1000 m³",
        ));
    }
    let (factor, exponent) = match gas {
        Gas::AirOrNitrogen => (2.5, AIR_EXPONENT),
        Gas::Other { k } if k > 1.0 && k <= 5.0 / 3.0 => (1.0 / (k - 1.0), (k - 1.0) / k),
        Gas::Other { k } => {
            return Err(OutOfRange::new(
                "ratio of specific heats",
                k,
                "greater than 1 and at most 5/3",
            ));
        }
    };
    let absolute = gauge + METHOD_ATMOSPHERE_PA;
    // 1 − x^n by exp_m1, so that a low pressure does not cancel to nothing.
    let share = -(exponent * (METHOD_ATMOSPHERE_PA / absolute).ln()).exp_m1();
    let joules = factor * absolute * v * share;
    let tnt_kg = joules / JOULES_PER_KG_TNT;
    let (blast_m, keep) = distances(joules, tnt_kg, edition);
    let distance_m = (keep * 10.0 * (1.0 - f64::EPSILON)).ceil() / 10.0;
    let beyond_one_test = joules > MOST_JOULES;
    let source = || Source::published(edition.name());
    let mut working = Working::new("Energy stored in a gas test")
        .step(
            Step::new("E", "stored energy", "E = 1/(k−1)·P_at·V·[1 − (P_a/P_at)^((k−1)/k)]", source())
                .with("p", "test pressure above atmosphere", pressure, Source::Entered)
                .with(
                    "P_at",
                    "test pressure above vacuum",
                    format!("{} kPa", significant(PressureUnit::KiloPascal.from_si(absolute), 6)),
                    Source::Arithmetic,
                )
                .with("P_a", "atmosphere of the method", "101 kPa", source())
                .with("V", "volume", format!("{} m³", significant(v, 4)), Source::Entered)
                .with("1/(k−1)", "factor", significant(factor, 4), source())
                .with("(k−1)/k", "exponent", significant(exponent, 4), source())
                .gives(format!("{} kJ", significant(joules / 1000.0, 4))),
        )
        .step(
            Step::new("TNT", "mass of TNT with the same energy", "TNT = E / 4 266 920", source())
                .gives(format!("{} kg", significant(tnt_kg, 4))),
        )
        .step(
            Step::new("R", "least distance of every person", edition.rule(), source())
                .rounded("up to the next 0.1 m")
                .gives(format!("{distance_m} m")),
        )
        .remark("A gas test is not proposed. Test with liquid; gas only where liquid cannot be used and a competent person has approved test and exclusion distance.")
        .remark("The distance is for blast. Fragments of glass fly further than blast reaches.");
    if beyond_one_test {
        working = working.remark("More than 271 MJ: not to be stored in one test.");
    }
    Ok(StoredEnergy {
        joules,
        tnt_kg,
        blast_m,
        distance_m,
        beyond_one_test,
        working,
    })
}

impl Edition {
    /// Every edition, the newest first.
    pub const ALL: [Self; 3] = [Self::Of2022, Self::Between, Self::Of2008];

    /// The name on screens and papers.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Of2008 => "ASME PCC-2-2008, Article 5.1, appendices II and III",
            Self::Between => {
                "ASME PCC-2, editions between 2008 and 2022, Article 501, appendices II and III"
            }
            Self::Of2022 => "ASME PCC-2-2022, Article 501, appendices 501-II and 501-III",
        }
    }

    fn rule(self) -> &'static str {
        match self {
            Self::Of2008 => "30 m to 135.5 MJ, 60 m to 271 MJ, and at least 20·TNT^(1/3)",
            Self::Between => "30 m to 135.5 MJ, 60 m to 271 MJ, and at least 20·(2·TNT)^(1/3)",
            Self::Of2022 => "30 m to 8.13 MJ, above it 20·(2·TNT)^(1/3)",
        }
    }
}
