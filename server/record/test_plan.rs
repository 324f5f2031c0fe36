//! How a gauge's pressure test is planned and judged: what the plant, its service class and the
//! gauge itself chose, the nearer one counting, and the ground of each choice.

use rust_decimal::Decimal;

use super::certificate::Choice;
use super::plant::{Paper, Plant};
use super::words::words;
use crate::calc::conformance::Guard;
use crate::calc::pressure_test::Code;
use crate::calc::quantity::StampedPressure;

words! {
    /// How wide a band beside the allowed drop is kept free.
    GuardBand, "the guard band" {
        None: "none", "none: readings are taken as they stand";
        NinetyFive: "ninety-five", "1.64 standard uncertainties: accepted with 95 % probability";
        Expanded: "expanded", "2 standard uncertainties: the expanded uncertainty";
    }
}

impl GuardBand {
    /// The band in standard uncertainties.
    pub const fn guard(self) -> Guard {
        match self {
            Self::None => Guard::NONE,
            Self::NinetyFive => Guard::NINETY_FIVE,
            Self::Expanded => Guard::EXPANDED,
        }
    }
}

/// Whose choice it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scope {
    /// The plant's.
    Plant,
    /// The service class's.
    Class,
    /// The gauge's own.
    Gauge,
}

impl Scope {
    /// In words, for the ground of a choice.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Plant => "chosen for the plant",
            Self::Class => "chosen for the service class",
            Self::Gauge => "chosen for this gauge",
        }
    }

    /// Who asks, where the choice asks for something.
    pub const fn whose(self) -> &'static str {
        match self {
            Self::Plant => "the plant",
            Self::Class => "the service class",
            Self::Gauge => "the rule of this gauge",
        }
    }
}

/// How the highest test pressure that maker or drawing state is called among the choices.
pub const LIMIT: &str = "highest test pressure stated";

/// What was chosen at one place; what is not said there is asked one place further.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Rule {
    /// Code of reference.
    pub code: Option<Code>,
    /// Factor on the rating in place of 1.5, with common practice only.
    pub factor: Option<Decimal>,
    /// Shortest hold, minutes.
    pub hold_minutes: Option<u32>,
    /// Allowable stress at test temperature over that at design temperature.
    pub stress_ratio: Option<Decimal>,
    /// The highest test pressure stated for the assembly.
    pub limit: Option<StampedPressure>,
    /// Drop not explained by temperature that still counts as none.
    pub allowed_drop: Option<StampedPressure>,
    /// Guard band beside it.
    pub guard: Option<GuardBand>,
    /// Standard uncertainty of a temperature reading, kelvin.
    pub thermometer: Option<Decimal>,
    /// Size of paper; the plant's only.
    pub paper: Option<Paper>,
    /// The procedure, drawing or person that says so.
    pub ground: String,
    /// Counts the changes; none where nothing was chosen yet.
    pub version: i64,
}

/// A value with whose choice it is and on what ground.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Chosen<T> {
    /// The value.
    pub value: T,
    /// Whose choice.
    pub scope: Scope,
    /// The ground that was given.
    pub ground: String,
}

/// How one gauge is tested.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TestPlan {
    /// Code of reference.
    pub code: Chosen<Code>,
    /// Factor on the rating, where another than the code's was chosen.
    pub factor: Option<Chosen<Decimal>>,
    /// Shortest hold, minutes; the code may ask for more.
    pub hold_minutes: Chosen<u32>,
    /// Ratio of allowable stresses.
    pub stress_ratio: Option<Chosen<Decimal>>,
    /// Highest test pressure stated.
    pub limit: Option<Chosen<StampedPressure>>,
    /// Drop that still counts as none; without it a change of pressure is not judged.
    pub allowed_drop: Option<Chosen<StampedPressure>>,
    /// Guard band beside it.
    pub guard: Option<Chosen<GuardBand>>,
    /// Standard uncertainty of a temperature reading, kelvin.
    pub thermometer: Option<Chosen<Decimal>>,
    /// The ground on which no allowed drop was chosen, where the plant said so.
    pub unjudged: Option<String>,
}

/// The values of a plan alone: what a test has to reach and is judged by.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rules {
    /// Code of reference.
    pub code: Code,
    /// Factor on the rating, where another than the code's was chosen.
    pub factor: Option<Decimal>,
    /// Shortest hold, minutes; the code may ask for more.
    pub hold_minutes: u32,
    /// Ratio of allowable stresses.
    pub stress_ratio: Option<Decimal>,
    /// Highest test pressure stated.
    pub limit: Option<StampedPressure>,
    /// Drop that still counts as none; without it a change of pressure is not judged.
    pub allowed_drop: Option<StampedPressure>,
    /// Guard band beside it.
    pub guard: Option<GuardBand>,
    /// Standard uncertainty of a temperature reading, kelvin.
    pub thermometer: Option<Decimal>,
}

impl TestPlan {
    /// Its values, without whose choice each is.
    pub fn rules(&self) -> Rules {
        Rules {
            code: self.code.value,
            factor: value_of(self.factor.as_ref()),
            hold_minutes: self.hold_minutes.value,
            stress_ratio: value_of(self.stress_ratio.as_ref()),
            limit: value_of(self.limit.as_ref()),
            allowed_drop: value_of(self.allowed_drop.as_ref()),
            guard: value_of(self.guard.as_ref()),
            thermometer: value_of(self.thermometer.as_ref()),
        }
    }

    /// The plan of a gauge: its own rule first, then its class's, then the plant's.
    pub fn of(plant: &Plant, own: &Rule, class: Option<&Rule>, gauge: Option<&Rule>) -> Self {
        let places = [
            (Scope::Gauge, gauge),
            (Scope::Class, class),
            (Scope::Plant, Some(own)),
        ];
        let settings = |value| Chosen {
            value,
            scope: Scope::Plant,
            ground: plant.ground_said(),
        };
        let code = nearest(&places, |rule| rule.code);
        // A factor is one of common practice; it does not outlive the choice of a code nearer by.
        let factor = nearest(&places, |rule| rule.factor);
        let code = code.unwrap_or_else(|| Chosen {
            value: plant.test_code,
            scope: Scope::Plant,
            ground: plant.ground_said(),
        });
        let factor = factor.filter(|_| code.value == Code::CommonPractice);
        let hold = nearest(&places, |rule| rule.hold_minutes);
        Self {
            code,
            factor,
            hold_minutes: hold.unwrap_or_else(|| settings(plant.hold_minutes)),
            stress_ratio: nearest(&places, |rule| rule.stress_ratio),
            limit: nearest(&places, |rule| rule.limit),
            allowed_drop: nearest(&places, |rule| rule.allowed_drop),
            guard: nearest(&places, |rule| rule.guard),
            thermometer: nearest(&places, |rule| rule.thermometer),
            unjudged: Some(own.ground.clone()).filter(|ground| !ground.is_empty()),
        }
    }

    /// Every choice with its ground, as a certificate prints them.
    pub fn choices(&self) -> Vec<Choice> {
        fn one<T>(what: &str, chosen: &Chosen<T>, shown: String) -> Choice {
            Choice {
                what: what.to_owned(),
                chosen: shown,
                ground: format!("{}: {}", chosen.scope.words(), chosen.ground),
            }
        }
        let mut list = vec![
            one(
                "code of reference",
                &self.code,
                self.code.value.name().to_owned(),
            ),
            one(
                "shortest hold",
                &self.hold_minutes,
                format!("{} min", self.hold_minutes.value),
            ),
        ];
        if let Some(factor) = &self.factor {
            list.push(one(
                "factor on the rating",
                factor,
                factor.value.normalize().to_string(),
            ));
        }
        if let Some(ratio) = &self.stress_ratio {
            list.push(one(
                "ratio of allowable stresses",
                ratio,
                ratio.value.normalize().to_string(),
            ));
        }
        if let Some(limit) = &self.limit {
            list.push(one(LIMIT, limit, limit.value.to_string()));
        }
        // That nothing was chosen is a choice too, and a reader has to know it.
        list.push(match &self.allowed_drop {
            Some(drop) => one("drop that counts as none", drop, drop.value.to_string()),
            None => Choice {
                what: "change of pressure over the hold".to_owned(),
                chosen: "printed, not judged".to_owned(),
                ground: self.unjudged.as_ref().map_or_else(
                    || "no allowed drop was chosen".to_owned(),
                    |ground| format!("{}: {ground}", Scope::Plant.words()),
                ),
            },
        });
        if let Some(guard) = &self.guard {
            list.push(one("guard band", guard, guard.value.to_string()));
        }
        if let Some(kelvin) = &self.thermometer {
            let shown = format!("{} K", kelvin.value.normalize());
            list.push(one("standard uncertainty of a temperature", kelvin, shown));
        }
        list
    }
}

fn value_of<T: Copy>(chosen: Option<&Chosen<T>>) -> Option<T> {
    chosen.map(|chosen| chosen.value)
}

fn nearest<T>(
    places: &[(Scope, Option<&Rule>); 3],
    read: impl Fn(&Rule) -> Option<T>,
) -> Option<Chosen<T>> {
    places.iter().find_map(|(scope, rule)| {
        let rule = (*rule)?;
        Some(Chosen {
            value: read(rule)?,
            scope: *scope,
            ground: rule.ground.clone(),
        })
    })
}
