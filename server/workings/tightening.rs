//! Tightening and bolting: passes and order, the load behind a torque, wrench, nut, thread, material.
//! The rules are in `calc::tighten` and `calc::bolting`.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::registry::{Care, Computation, Found, No, Part, computation};
use super::typed::{Exact, Measure, Pressure, Torque};
use crate::calc::bolting::materials::{Material, yield_strength as yield_of};
use crate::calc::bolting::nuts::{NutSeries, nut_size as nut_of};
use crate::calc::bolting::threads::{Thread, stress_area as area_of};
use crate::calc::bolting::{self, Lubrication, NutFactor, WrenchFit};
use crate::calc::tighten::{self, Shares};

const CARE: &[Care] = &[Care::Tightening];

pub(super) fn list() -> Vec<Computation> {
    vec![
        computation(
            (
                "tightening-plan",
                "The passes from a low start up to the nameplate torque, and the order of the nuts",
            ),
            (Part::Tightening, CARE),
            r#"{"target": {"value": 32, "unit": "[ft_i].[lbf_av]"}, "step": {"value": 5, "unit": "[ft_i].[lbf_av]"}, "bolts_per_rail": 5}"#,
            plan,
        ),
        computation(
            (
                "bolt-load",
                "Load and stress of a bolt behind a torque, as a band of the nut factor",
            ),
            (Part::Tightening, CARE),
            r#"{"target": {"value": 32, "unit": "[ft_i].[lbf_av]"}, "thread": "1/2-13", "lubrication": "paste", "material": "b7"}"#,
            load,
        ),
        computation(
            (
                "torque-wrench",
                "Whether a torque lies in the range a torque wrench is good for",
            ),
            (Part::Tightening, CARE),
            r#"{"target": {"value": 32, "unit": "[ft_i].[lbf_av]"}, "low": {"value": 10, "unit": "[ft_i].[lbf_av]"}, "high": {"value": 50, "unit": "[ft_i].[lbf_av]"}}"#,
            wrench,
        ),
        computation(
            ("stress-area", "The tensile stress area of a thread"),
            (Part::Tightening, CARE),
            r#"{"thread": "1/2-13"}"#,
            stress_area,
        ),
        computation(
            (
                "yield-strength",
                "The least yield strength of a bolting material at a size",
            ),
            (Part::Tightening, CARE),
            r#"{"material": "b7", "thread": "1/2-13"}"#,
            yield_strength,
        ),
        computation(
            ("nut-size", "The nut for a thread and the wrench it takes"),
            (Part::Tightening, CARE),
            r#"{"thread": "1/2-13", "series": "heavy"}"#,
            nut_size,
        ),
    ]
}

/// How the passes are laid.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
enum Way {
    /// Equal steps up to the target.
    #[default]
    Steps,
    /// Shares of the target: two passes, then the whole.
    Shares,
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct PlanOf {
    /// Target torque.
    ///
    /// As the nameplate has it.
    target: Torque,
    /// How the passes are laid.
    #[serde(default)]
    way: Way,
    /// Torque step.
    ///
    /// For equal steps.
    step: Option<Torque>,
    /// First pass, % of the target.
    ///
    /// For shares: 20 to 30; 30 where left out.
    #[schemars(extend("x-named" = ["first pass", "share of the first pass"]))]
    first: Option<Exact>,
    /// Second pass, % of the target.
    ///
    /// For shares: 50 to 70; 60 where left out.
    #[schemars(extend("x-named" = ["second pass", "share of the second pass"]))]
    second: Option<Exact>,
    /// Bolts a rail.
    ///
    /// Of one section; gives the order of the nuts.
    #[schemars(extend("x-named" = ["bolts per rail", "bolts a rail of a section"]))]
    bolts_per_rail: Option<u8>,
}

#[derive(Debug, Serialize, JsonSchema)]
struct PlanFound {
    /// Passes.
    passes: Vec<Measure>,
    /// Order of the nuts in each pass, L and R for the rails, counted from the top.
    order: Vec<String>,
    /// Order of loosening.
    loosening: Vec<String>,
}

fn plan(of: PlanOf) -> Found<PlanFound> {
    let target = of.target.stamped();
    let plan = match (of.way, of.step) {
        (Way::Steps, Some(step)) => tighten::plan(target, step.stamped())?,
        (Way::Steps, None) => {
            return Err(No::At(
                "step",
                "it is missing: equal steps need it".to_owned(),
            ));
        }
        (Way::Shares, _) => {
            let usual = Shares::default();
            tighten::by_percent(
                target,
                Shares {
                    first: of.first.map_or(usual.first, Exact::decimal),
                    second: of.second.map_or(usual.second, Exact::decimal),
                },
            )?
        }
    };
    let named = |bolts: Vec<tighten::Bolt>| bolts.iter().map(ToString::to_string).collect();
    let (order, loosening) = match of.bolts_per_rail {
        Some(bolts) => (
            named(tighten::order(bolts)?),
            named(tighten::loosening(bolts)?),
        ),
        None => (Vec::new(), Vec::new()),
    };
    let passes = plan
        .passes
        .iter()
        .map(|&value| crate::calc::quantity::StampedTorque::new(value, plan.unit).into())
        .collect();
    let found = PlanFound {
        passes,
        order,
        loosening,
    };
    Ok((found, plan.working))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct LoadOf {
    /// Target torque.
    target: Torque,
    /// Thread.
    ///
    /// Such as 1/2-13 or M12.
    #[schemars(with = "String")]
    thread: Thread,
    /// Lubrication.
    ///
    /// Left out with a nut factor of your own.
    lubrication: Option<Lubrication>,
    /// Nut factor, lowest.
    #[schemars(extend("x-named" = ["nut factor"]))]
    factor_low: Option<f64>,
    /// Nut factor, likely.
    factor_likely: Option<f64>,
    /// Nut factor, highest.
    factor_high: Option<f64>,
    /// Bolting material.
    ///
    /// For the share of the yield strength.
    material: Option<Material>,
    /// Yield strength.
    ///
    /// In place of a material.
    yield_strength: Option<Pressure>,
}

#[derive(Debug, Serialize, JsonSchema)]
struct OneLoad {
    /// Nut factor it holds for.
    nut_factor: String,
    /// Bolt load.
    force: Measure,
    /// Stress.
    stress: Measure,
    /// Share of the yield strength.
    of_yield: Option<f64>,
}

#[derive(Debug, Serialize, JsonSchema)]
struct LoadFound {
    /// Loads from the highest to the lowest nut factor.
    loads: Vec<OneLoad>,
}

fn load(of: LoadOf) -> Found<LoadFound> {
    let factor = match (
        of.lubrication,
        of.factor_low,
        of.factor_likely,
        of.factor_high,
    ) {
        (Some(lubrication), None, None, None) => NutFactor::of(lubrication),
        (None, Some(low), Some(likely), Some(high)) => NutFactor::new(low, likely, high)?,
        (None, None, None, None) => NutFactor::of(Lubrication::Unknown),
        (Some(_), ..) => {
            return Err(No::At(
                "lubrication",
                "it must be left out beside a nut factor of your own".to_owned(),
            ));
        }
        _ => {
            return Err(No::At(
                "factor_low",
                "a nut factor of your own needs all three values".to_owned(),
            ));
        }
    };
    let (strength, before) = match (of.material, of.yield_strength) {
        (Some(_), Some(_)) => {
            return Err(No::At(
                "yield_strength",
                "it must be left out beside a material".to_owned(),
            ));
        }
        (Some(material), None) => {
            let found = yield_of(material, of.thread)?;
            (Some(found.strength), Some(found.working))
        }
        (None, given) => (given.map(super::typed::Quantity::stamped), None),
    };
    let band = bolting::load(of.target.stamped(), of.thread, factor, strength)?;
    let one = |words: &str, load: &bolting::Load| OneLoad {
        nut_factor: words.to_owned(),
        force: if of.thread.is_metric() {
            Measure::new(load.force_n / 1000.0, "kN")
        } else {
            Measure::new(load.pounds_force(), "[lbf_av]")
        },
        stress: if of.thread.is_metric() {
            Measure::new(load.stress_pa / 1e6, "MPa")
        } else {
            Measure::new(
                load.stress_in(crate::calc::quantity::PressureUnit::Psi),
                "[psi]",
            )
        },
        of_yield: load.of_yield,
    };
    let found = LoadFound {
        loads: vec![
            one("highest", &band.low),
            one("likely", &band.likely),
            one("lowest", &band.high),
        ],
    };
    let mut working = band.working;
    if let Some(before) = before {
        working.steps.splice(0..0, before.steps);
    }
    Ok((found, working))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct WrenchOf {
    /// Target torque.
    target: Torque,
    /// Lowest value of the wrench.
    low: Torque,
    /// Highest value of the wrench.
    high: Torque,
}

#[derive(Debug, Serialize, JsonSchema)]
struct WrenchFound {
    /// Where the target lies.
    fit: WrenchFit,
    /// Usable from.
    usable_from: Measure,
    /// Usable to.
    usable_to: Measure,
}

fn wrench(of: WrenchOf) -> Found<WrenchFound> {
    let verdict = bolting::wrench_fits(of.target.stamped(), of.low.stamped(), of.high.stamped())?;
    let found = WrenchFound {
        fit: verdict.fit,
        usable_from: verdict.usable_from.into(),
        usable_to: verdict.usable_to.into(),
    };
    Ok((found, verdict.working))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct ThreadOf {
    /// Thread.
    ///
    /// Such as 1/2-13 or M12.
    #[schemars(with = "String")]
    thread: Thread,
}

#[derive(Debug, Serialize, JsonSchema)]
struct AreaFound {
    /// Stress area, metric.
    metric: Measure,
    /// Stress area, inch.
    inch: Measure,
}

#[expect(
    clippy::unnecessary_wraps,
    reason = "every computation of the list has this form"
)]
fn stress_area(of: ThreadOf) -> Found<AreaFound> {
    let area = area_of(of.thread);
    let found = AreaFound {
        metric: Measure::new(area.mm2, "mm2"),
        inch: Measure::new(area.in2(), "[sin_i]"),
    };
    Ok((found, area.working))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct YieldOf {
    /// Bolting material.
    material: Material,
    /// Thread.
    ///
    /// Such as 1/2-13 or M12.
    #[schemars(with = "String")]
    thread: Thread,
}

fn yield_strength(of: YieldOf) -> Found<Measure> {
    let found = yield_of(of.material, of.thread)?;
    Ok((found.strength.into(), found.working))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct NutOf {
    /// Thread.
    ///
    /// Such as 1/2-13 or M12.
    #[schemars(with = "String", extend("x-named" = ["nut"]))]
    thread: Thread,
    /// Series.
    series: NutSeries,
}

#[derive(Debug, Serialize, JsonSchema)]
struct NutFound {
    /// Across flats.
    across_flats: Measure,
    /// Wrench.
    wrench: String,
}

fn nut_size(of: NutOf) -> Found<NutFound> {
    let found = nut_of(of.thread, of.series)?;
    let size = NutFound {
        across_flats: found.across_flats.into(),
        wrench: found.wrench,
    };
    Ok((size, found.working))
}
