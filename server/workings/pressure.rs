//! Pressure tests and ratings: rating at temperature, test pressure, test gauge, head, and the hold.
//! The rules are in `calc::rating`, `calc::pressure_test` and `calc::hold`.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use uom::si::mass_density::kilogram_per_cubic_meter;

use super::registry::{Care, Computation, Found, No, Part, computation};
use super::typed::{Exact, Length, Measure, Pressure, Quantity, Temperature};
use crate::calc::conformance::Guard;
use crate::calc::hold::{self, Contents, Doubt, Leak, Verdict};
use crate::calc::pressure_test::head::{Elevations, at_ends, reading_for};
use crate::calc::pressure_test::{
    Code, GaugeFit, Request, USUAL_READING_SHARE, gauge_fits, reading_fits, required,
    stress_ratio as ratio_of,
};
use crate::calc::quantity::{StampedPressure, StampedTemperature, significant};
use crate::calc::trapped::{Enclosure, Metal as MetalOf, Shape as ShapeOf};
use crate::calc::working::{Source, Step, Working};
use crate::calc::{rating, water};

const CARE: &[Care] = &[Care::Pressure];

pub(super) fn list() -> Vec<Computation> {
    vec![
        computation(
            (
                "rated-pressure",
                "The rated pressure at a temperature, from the nameplate\u{2019}s points",
            ),
            (Part::Pressure, CARE),
            r#"{"points": [{"temperature": {"value": 38, "unit": "Cel"}, "pressure": {"value": 51.1, "unit": "bar"}}, {"temperature": {"value": 100, "unit": "Cel"}, "pressure": {"value": 46.6, "unit": "bar"}}, {"temperature": {"value": 150, "unit": "Cel"}, "pressure": {"value": 45.1, "unit": "bar"}}], "temperature": {"value": 120, "unit": "Cel"}}"#,
            rated,
        ),
        computation(
            (
                "stress-ratio",
                "The ratio of allowable stresses that raises a test pressure",
            ),
            (Part::Pressure, CARE),
            r#"{"at_test": {"value": 138, "unit": "MPa"}, "at_design": {"value": 118, "unit": "MPa"}}"#,
            stress_ratio,
        ),
        computation(
            (
                "test-pressure",
                "The least pressure of a hydrostatic test and the shortest hold",
            ),
            (Part::Pressure, CARE),
            r#"{"rating": {"value": 1000, "unit": "[psi]"}, "code": "common-practice"}"#,
            test_pressure,
        ),
        computation(
            (
                "test-gauge",
                "Whether a pressure gauge suits a test by range and division",
            ),
            (Part::Pressure, CARE),
            r#"{"full_scale": {"value": 3000, "unit": "[psi]"}, "test_pressure": {"value": 1500, "unit": "[psi]"}, "division": {"value": 20, "unit": "[psi]"}}"#,
            test_gauge,
        ),
        computation(
            (
                "head",
                "The pressure at the lowest and highest point while the test gauge reads so",
            ),
            (Part::Pressure, CARE),
            r#"{"reading": {"value": 100, "unit": "bar"}, "water": {"value": 20, "unit": "Cel"}, "above_lowest": {"value": 2, "unit": "m"}, "below_highest": {"value": 0.5, "unit": "m"}}"#,
            head,
        ),
        computation(
            (
                "test-reading",
                "What the test gauge has to show for the highest point to see the test pressure",
            ),
            (Part::Pressure, CARE),
            r#"{"required": {"value": 1500, "unit": "[psi]"}, "water": {"value": 20, "unit": "Cel"}, "above_lowest": {"value": 2, "unit": "m"}, "below_highest": {"value": 0.5, "unit": "m"}}"#,
            test_reading,
        ),
        computation(
            (
                "hold",
                "Whether a pressure hold passed, failed or cannot be decided, and why",
            ),
            (Part::Pressure, CARE),
            r#"{"contents": "water", "start_pressure": {"value": 104, "unit": "bar"}, "start_temperature": {"value": 20, "unit": "Cel"}, "end_pressure": {"value": 103.2, "unit": "bar"}, "end_temperature": {"value": 19.8, "unit": "Cel"}, "minutes": 10, "leak": "none-seen", "required_pressure": {"value": 100, "unit": "bar"}, "required_minutes": 5, "allowed_drop": {"value": 2, "unit": "bar"}, "pressure_uncertainty": {"value": 0.1, "unit": "bar"}, "temperature_uncertainty_k": 0.1, "model_uncertainty": 0.1, "metal": "carbon-steel", "shape": "thick-bore", "ratio": 3}"#,
            judge,
        ),
    ]
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct PointOf {
    /// Temperature of the point.
    #[schemars(extend("x-named" = ["temperature of a rating point"]))]
    temperature: Temperature,
    /// Rated pressure.
    pressure: Pressure,
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct RatedOf {
    /// Rating table.
    points: Vec<PointOf>,
    /// Temperature.
    temperature: Temperature,
}

fn rated(of: RatedOf) -> Found<Measure> {
    let points: Vec<rating::Point> = of
        .points
        .iter()
        .map(|point| rating::Point {
            temperature: point.temperature.stamped(),
            pressure: point.pressure.stamped(),
        })
        .collect();
    let found = rating::at(&points, of.temperature.stamped())?;
    Ok((found.pressure.into(), found.working))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct RatioOf {
    /// Allowable stress at test temperature.
    at_test: Pressure,
    /// Allowable stress at design temperature.
    at_design: Pressure,
    /// Cap of the stress ratio.
    ///
    /// Where the edition in force has one.
    cap: Option<f64>,
}

fn stress_ratio(of: RatioOf) -> Found<Measure> {
    let found = ratio_of(of.at_test.stamped(), of.at_design.stamped(), of.cap)?;
    Ok((Measure::new(found.ratio, "1"), found.working))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct TestOf {
    /// Rated pressure.
    rating: Pressure,
    /// Rule.
    code: Code,
    /// Stress ratio.
    ///
    /// Allowable stress at test over that at design temperature; 1 where left out.
    stress_ratio: Option<f64>,
    /// Test factor.
    ///
    /// The plant's own, with common practice only.
    factor: Option<Exact>,
    /// Component limit.
    ///
    /// The lowest pressure any part may see in a test, where one is stated.
    component_limit: Option<Pressure>,
}

#[derive(Debug, Serialize, JsonSchema)]
struct TestFound {
    /// Required test pressure.
    pressure: Measure,
    /// Before rounding up.
    unrounded: Measure,
    /// Shortest hold.
    hold: Measure,
}

fn test_pressure(of: TestOf) -> Found<TestFound> {
    let found = required(&Request {
        rating: of.rating.stamped(),
        code: of.code,
        stress_ratio: of.stress_ratio,
        factor: of.factor.map(Exact::decimal),
        component_limit: of.component_limit.map(Quantity::stamped),
    })?;
    let answer = TestFound {
        pressure: found.pressure.into(),
        unrounded: StampedPressure::new(found.unrounded, found.pressure.unit).into(),
        hold: Measure::new(f64::from(found.hold_minutes), "min"),
    };
    Ok((answer, found.working))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct GaugeOf {
    /// Full scale.
    full_scale: Pressure,
    /// Test pressure.
    test_pressure: Pressure,
    /// Division of the gauge.
    ///
    /// The smallest division or digit.
    division: Option<Pressure>,
    /// Share of one division.
    ///
    /// The largest allowed, of the test pressure; 0.02 where left out.
    limit: Option<f64>,
}

#[derive(Debug, Serialize, JsonSchema)]
struct GaugeFound {
    /// How the range suits.
    fit: GaugeFit,
    /// Full scale over test pressure.
    ratio: Option<f64>,
    /// Whether it reads finely enough.
    fine_enough: Option<bool>,
}

fn test_gauge(of: GaugeOf) -> Found<GaugeFound> {
    let (full, test) = (of.full_scale.stamped(), of.test_pressure.stamped());
    let range = gauge_fits(full, test);
    if range.fit == GaugeFit::Undefined {
        let name = if full.si() > 0.0 {
            "test_pressure"
        } else {
            "full_scale"
        };
        return Err(No::At(name, "it must be greater than 0".to_owned()));
    }
    let mut working = range.working;
    let fine_enough = match of.division {
        None => None,
        Some(division) => {
            let limit = of.limit.unwrap_or(USUAL_READING_SHARE);
            let verdict = reading_fits(division.stamped(), test, limit)?;
            working.steps.extend(verdict.working.steps);
            Some(verdict.fine_enough)
        }
    };
    let found = GaugeFound {
        fit: range.fit,
        ratio: range.ratio,
        fine_enough,
    };
    Ok((found, working))
}

/// Water of a temperature under a gauge pressure, with the step that finds its density.
fn density(
    temperature: StampedTemperature,
    under: StampedPressure,
) -> Result<(uom::si::f64::MassDensity, Step), No> {
    let found = water::at(temperature.temperature(), under.gauge().absolute())?;
    let step = Step::new(
        "ρ",
        "density of the water",
        "ρ(T, p)",
        Source::published("IAPWS R6-95(2018)"),
    )
    .with(
        "T",
        "temperature of the water",
        temperature,
        Source::Entered,
    )
    .with("p", "gauge pressure", under, Source::Entered)
    .gives(format!(
        "{} kg/m³",
        significant(found.density.get::<kilogram_per_cubic_meter>(), 6)
    ));
    Ok((found.density, step))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct HeadOf {
    /// Reading of the test gauge.
    #[schemars(extend("x-named" = ["water pressure"]))]
    reading: Pressure,
    /// Temperature of the water.
    #[schemars(extend("x-named" = ["water temperature"]))]
    water: Temperature,
    /// Height of the gauge above the lowest point.
    above_lowest: Length,
    /// Height of the highest point above the gauge.
    below_highest: Length,
}

#[derive(Debug, Serialize, JsonSchema)]
struct HeadFound {
    /// At the lowest point.
    lowest: Measure,
    /// At the highest point.
    highest: Measure,
}

fn head(of: HeadOf) -> Found<HeadFound> {
    let reading = of.reading.stamped();
    let (density, first) = density(of.water.stamped(), reading)?;
    let ends = at_ends(
        reading,
        density,
        Elevations {
            above_lowest: of.above_lowest.stamped(),
            below_highest: of.below_highest.stamped(),
        },
    )?;
    let found = HeadFound {
        lowest: Measure::of(ends.lowest, ends.unit),
        highest: Measure::of(ends.highest, ends.unit),
    };
    let mut working = ends.working;
    working.steps.insert(0, first);
    Ok((found, working))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct ReadingOf {
    /// Required test pressure.
    #[schemars(extend("x-named" = ["test pressure", "water pressure"]))]
    required: Pressure,
    /// Temperature of the water.
    #[schemars(extend("x-named" = ["water temperature"]))]
    water: Temperature,
    /// Height of the gauge above the lowest point.
    above_lowest: Length,
    /// Height of the highest point above the gauge.
    below_highest: Length,
    /// Component limit.
    component_limit: Option<Pressure>,
}

#[derive(Debug, Serialize, JsonSchema)]
struct ReadingFound {
    /// Least reading.
    reading: Measure,
    /// Pressure at the lowest point then.
    lowest: Measure,
}

fn test_reading(of: ReadingOf) -> Found<ReadingFound> {
    let required = of.required.stamped();
    let (density, first) = density(of.water.stamped(), required)?;
    let reading = reading_for(
        required,
        density,
        Elevations {
            above_lowest: of.above_lowest.stamped(),
            below_highest: of.below_highest.stamped(),
        },
        of.component_limit.map(Quantity::stamped),
    )?;
    let found = ReadingFound {
        reading: reading.reading.into(),
        lowest: Measure::of(reading.lowest, required.unit),
    };
    let mut working = reading.working;
    working.steps.insert(0, first);
    Ok((found, working))
}

/// What a wall is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Metal {
    /// Carbon or low-alloy steel.
    CarbonSteel,
    /// Austenitic steel.
    Austenitic,
}

/// How the wall gives under pressure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Shape {
    /// Does not give at all.
    Rigid,
    /// A bore in a thick block.
    ThickBore,
    /// A thin tube, free to lengthen.
    Tube,
    /// A thin tube held at both ends.
    HeldTube,
}

/// The enclosure of a metal in a shape; thick bore and tubes need their ratio.
pub(super) fn enclosure(
    metal: Metal,
    shape: Shape,
    ratio: Option<f64>,
    air: Option<f64>,
) -> Result<Enclosure, No> {
    let metal = match metal {
        Metal::CarbonSteel => MetalOf::CARBON_STEEL,
        Metal::Austenitic => MetalOf::AUSTENITIC,
    };
    let need =
        || ratio.ok_or_else(|| No::At("ratio", "it is missing: this shape needs it".to_owned()));
    let shape = match shape {
        Shape::Rigid => ShapeOf::Rigid,
        Shape::ThickBore => ShapeOf::ThickBore { ratio: need()? },
        Shape::Tube => ShapeOf::Tube { ratio: need()? },
        Shape::HeldTube => ShapeOf::HeldTube { ratio: need()? },
    };
    Ok(Enclosure::new(metal, shape)?.with_air(air.unwrap_or(0.0))?)
}

/// What is shut in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
enum ShutIn {
    /// Water.
    Water,
    /// Air or nitrogen.
    Gas,
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct HoldOf {
    /// Shut in.
    contents: ShutIn,
    /// Pressure at the start.
    start_pressure: Pressure,
    /// Temperature at the start.
    #[schemars(extend("x-named" = ["water temperature", "gas temperature"]))]
    start_temperature: Option<Temperature>,
    /// Pressure at the end.
    end_pressure: Pressure,
    /// Temperature at the end.
    #[schemars(extend("x-named" = ["water temperature", "gas temperature"]))]
    end_temperature: Option<Temperature>,
    /// Minutes held.
    minutes: u32,
    /// Leak.
    leak: Leak,
    /// Required test pressure.
    required_pressure: Pressure,
    /// Required minutes.
    required_minutes: u32,
    /// Allowed drop.
    ///
    /// Not explained by temperature; the plant's setting.
    allowed_drop: Pressure,
    /// Uncertainty of one pressure reading.
    ///
    /// One standard deviation.
    #[schemars(extend("x-named" = ["uncertainty of the pressure reading"]))]
    pressure_uncertainty: Pressure,
    /// Uncertainty of one temperature reading, K.
    ///
    /// One standard deviation, with the lag of the thermometer.
    #[schemars(extend("x-named" = ["uncertainty of the temperature reading"]))]
    temperature_uncertainty_k: f64,
    /// Uncertainty of the computed change, as a share.
    ///
    /// 0 to 1: gaskets, glass and bolting give in ways no simple shape knows.
    #[schemars(extend("x-named" = ["uncertainty of the computed change"]))]
    model_uncertainty: f64,
    /// Guard band factor.
    ///
    /// In standard uncertainties; 1.645 where left out.
    guard: Option<f64>,
    /// Metal of the wall.
    ///
    /// For water.
    metal: Option<Metal>,
    /// Shape of the wall.
    ///
    /// For water.
    shape: Option<Shape>,
    /// Ratio of the shape.
    ///
    /// Thick bore: outer over inner radius. Tubes: diameter over wall.
    #[schemars(extend("x-named" = ["outer over inner radius", "diameter over wall"]))]
    ratio: Option<f64>,
    /// Trapped air, at most.
    ///
    /// As a share of the volume, 0 to 0.1; none where left out.
    #[schemars(extend("x-named" = ["trapped air"]))]
    air: Option<f64>,
}

#[derive(Debug, Serialize, JsonSchema)]
struct HoldFound {
    /// Verdict.
    verdict: &'static str,
    /// In words.
    words: String,
    /// Reasons, where it cannot be decided.
    doubts: Vec<Doubt>,
    /// Pressure at the end by temperature alone.
    expected: Option<Measure>,
    /// Read minus expected.
    unexplained: Option<Measure>,
    /// Standard uncertainty of that.
    uncertainty: Option<Measure>,
    /// Probability that the drop is no more than allowed.
    probability: Option<f64>,
}

fn judge(of: HoldOf) -> Found<HoldFound> {
    let contents = match of.contents {
        ShutIn::Gas => Contents::Gas,
        ShutIn::Water => {
            let (Some(metal), Some(shape)) = (of.metal, of.shape) else {
                let name = if of.metal.is_none() { "metal" } else { "shape" };
                return Err(No::At(name, "it is missing: water needs it".to_owned()));
            };
            Contents::Water(enclosure(metal, shape, of.ratio, of.air)?)
        }
    };
    let moment = |pressure: Pressure, temperature: Option<Temperature>| hold::Moment {
        pressure: pressure.stamped(),
        temperature: temperature.map(Quantity::stamped),
    };
    let found = hold::judge(
        &hold::Hold {
            start: moment(of.start_pressure, of.start_temperature),
            end: moment(of.end_pressure, of.end_temperature),
            minutes: of.minutes,
            leak: of.leak,
        },
        &hold::Required {
            pressure: of.required_pressure.stamped(),
            minutes: of.required_minutes,
            allowed_drop: of.allowed_drop.stamped(),
        },
        &hold::Telling {
            pressure: of.pressure_uncertainty.stamped(),
            temperature_k: of.temperature_uncertainty_k,
            model: of.model_uncertainty,
            guard: of.guard.map_or(Ok(Guard::NINETY_FIVE), Guard::of)?,
        },
        contents,
    )?;
    let unit = of.required_pressure.stamped().unit;
    let measure = |pa: Option<f64>| {
        pa.map(|pa| Measure::of(crate::calc::quantity::Unit::from_si(unit, pa), unit))
    };
    let (verdict, doubts) = match &found.verdict {
        Verdict::Pass => ("pass", Vec::new()),
        Verdict::Fail { .. } => ("fail", Vec::new()),
        Verdict::NotDecidable { why } => ("not-decidable", why.clone()),
    };
    let answer = HoldFound {
        verdict,
        words: found.verdict.words(),
        doubts,
        expected: measure(found.expected_pa),
        unexplained: measure(found.unexplained_pa),
        uncertainty: measure(found.uncertainty_pa),
        probability: found.probability,
    };
    Ok((answer, found.working))
}

/// A working of several steps whose parts come from elsewhere.
pub(super) fn steps(title: &str, steps: Vec<Step>) -> Working {
    steps.into_iter().fold(Working::new(title), Working::step)
}
