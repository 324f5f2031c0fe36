//! Seating faces and measurement: flatness, straightedge, wall, decisions under uncertainty. The rules are
//! in `calc::flatness`, `seat`, `conformance` and `uncertainty`; how a wall wears is computed in `wall`.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::pressure::steps;
use super::registry::{Care, Computation, Found, No, Part, computation};
use super::typed::{Length, Measure};
use crate::calc::conformance::{Guard, Limit, Verdict, decide};
use crate::calc::flatness::{Plane, Station, minimum_zone};
use crate::calc::quantity::{LengthUnit, StampedLength, significant};
use crate::calc::seat::{flat, under_straightedge, wall as against_least};
use crate::calc::uncertainty::{Influence, Known, combine, coverage_factor as factor_of};
use crate::calc::working::{Source, Step};

const CARE: &[Care] = &[Care::Parts];

pub(super) fn list() -> Vec<Computation> {
    vec![
        computation(
            (
                "flatness",
                "The flatness of a face from heights read at stations: minimum zone and least squares",
            ),
            (Part::Faces, CARE),
            r#"{"unit": "[mil_i]", "stations": [{"x": 0, "y": 0, "height": 0}, {"x": 50, "y": 0, "height": 0.6}, {"x": 100, "y": 0, "height": 0.2}, {"x": 0, "y": 40, "height": 0.3}, {"x": 50, "y": 40, "height": 0.1}, {"x": 100, "y": 40, "height": 0.9}], "limit": {"value": 0.002, "unit": "[in_i]"}}"#,
            flatness,
        ),
        computation(
            (
                "straightedge",
                "Whether the feeler that does not pass under a straightedge keeps the flatness limit",
            ),
            (Part::Faces, CARE),
            r#"{"feeler": {"value": 0.0015, "unit": "[in_i]"}, "limit": {"value": 0.002, "unit": "[in_i]"}}"#,
            straightedge,
        ),
        computation(
            (
                "wall",
                "Whether the wall between through-bore and recess is thick enough",
            ),
            (Part::Faces, CARE),
            r#"{"measured": {"value": 0.112, "unit": "[in_i]"}, "least": {"value": 0.1, "unit": "[in_i]"}}"#,
            wall_kept,
        ),
        computation(
            (
                "conformance",
                "Whether a measured value keeps its limit, given the uncertainty of the measurement",
            ),
            (Part::Faces, CARE),
            r#"{"measured": {"value": 0.0016, "unit": "[in_i]"}, "uncertainty": {"value": 0.0002, "unit": "[in_i]"}, "at_most": {"value": 0.002, "unit": "[in_i]"}}"#,
            conformance,
        ),
        computation(
            (
                "uncertainty",
                "A standard uncertainty put together from its influences",
            ),
            (Part::Faces, &[]),
            r#"{"influences": [{"name": "readings", "known": "readings", "values": [1.2, 1.4, 1.3, 1.3]}, {"name": "scale", "known": "steps", "values": [0.1]}, {"name": "calibration", "known": "certificate", "values": [0.2, 2]}], "level": 0.95}"#,
            uncertainty,
        ),
        computation(
            (
                "coverage-factor",
                "The factor that widens a standard uncertainty to a level of confidence",
            ),
            (Part::Faces, &[]),
            r#"{"level": 0.95, "freedom": 10}"#,
            coverage_factor,
        ),
    ]
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct StationOf {
    /// Station position along.
    ///
    /// In any one unit.
    x: f64,
    /// Station position across.
    y: f64,
    /// Station height.
    height: f64,
}

/// A unit of length.
#[derive(Debug, Clone, Copy, Deserialize, JsonSchema)]
enum HeightUnit {
    /// Thousandths of an inch.
    #[serde(rename = "[mil_i]")]
    Thousandth,
    /// Inches.
    #[serde(rename = "[in_i]")]
    Inch,
    /// Micrometres.
    #[serde(rename = "um")]
    Micrometre,
    /// Millimetres.
    #[serde(rename = "mm")]
    Millimetre,
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct FlatnessOf {
    /// Unit of the heights.
    unit: HeightUnit,
    /// Stations.
    #[schemars(extend("x-named" = ["number of stations"]))]
    stations: Vec<StationOf>,
    /// Flatness limit.
    limit: Option<Length>,
}

#[derive(Debug, Serialize, JsonSchema)]
struct PlaneFound {
    /// Slope along.
    along: f64,
    /// Slope across.
    across: f64,
    /// Height at the origin.
    at_origin: f64,
}

impl From<Plane> for PlaneFound {
    fn from(plane: Plane) -> Self {
        Self {
            along: plane.along,
            across: plane.across,
            at_origin: plane.at_origin,
        }
    }
}

#[derive(Debug, Serialize, JsonSchema)]
struct FlatnessFound {
    /// Minimum zone.
    minimum_zone: Measure,
    /// Peak to valley about the least-squares plane.
    least_squares: Measure,
    /// Root mean square about it.
    root_mean_square: Measure,
    /// Whether the limit is kept.
    kept: Option<bool>,
    /// Stations that carry the zone, counted from 1.
    carrying: Vec<usize>,
    /// Middle plane of the zone.
    plane: PlaneFound,
}

fn flatness(of: FlatnessOf) -> Found<FlatnessFound> {
    let unit = match of.unit {
        HeightUnit::Thousandth => LengthUnit::Thousandth,
        HeightUnit::Inch => LengthUnit::Inch,
        HeightUnit::Micrometre => LengthUnit::Micrometre,
        HeightUnit::Millimetre => LengthUnit::Millimetre,
    };
    let stations: Vec<Station> = of
        .stations
        .iter()
        .map(|station| Station {
            x: station.x,
            y: station.y,
            height: station.height,
        })
        .collect();
    let found = minimum_zone(&stations)?;
    let (kept, working) = match of.limit {
        None => (None, found.working.clone()),
        Some(limit) => {
            let judged = flat(&stations, unit, limit.stamped())?;
            (Some(judged.kept), judged.working)
        }
    };
    let answer = FlatnessFound {
        minimum_zone: Measure::of(found.minimum_zone, unit),
        least_squares: Measure::of(found.least_squares, unit),
        root_mean_square: Measure::of(found.root_mean_square, unit),
        kept,
        carrying: found.carrying.iter().map(|at| at + 1).collect(),
        plane: found.plane.into(),
    };
    Ok((answer, working))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct StraightedgeOf {
    /// Feeler.
    ///
    /// The thinnest that does not pass.
    feeler: Length,
    /// Flatness limit.
    limit: Length,
}

#[derive(Debug, Serialize, JsonSchema)]
struct Kept {
    /// Whether the limit is kept.
    kept: bool,
}

fn straightedge(of: StraightedgeOf) -> Found<Kept> {
    let judged = under_straightedge(of.feeler.stamped(), of.limit.stamped())?;
    Ok((Kept { kept: judged.kept }, judged.working))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct WallOf {
    /// Wall.
    measured: Length,
    /// Least wall.
    least: Length,
}

fn wall_kept(of: WallOf) -> Found<Kept> {
    let judged = against_least(of.measured.stamped(), of.least.stamped())?;
    Ok((Kept { kept: judged.kept }, judged.working))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct ConformanceOf {
    /// Measured value.
    measured: Length,
    /// Standard uncertainty.
    uncertainty: Length,
    /// At least.
    ///
    /// One of the two limits, or both.
    #[schemars(extend("x-named" = ["lower limit"]))]
    at_least: Option<Length>,
    /// At most.
    at_most: Option<Length>,
    /// Guard band factor.
    ///
    /// In standard uncertainties; 1.645 where left out, 0 for none.
    guard: Option<f64>,
}

#[derive(Debug, Serialize, JsonSchema)]
struct ConformanceFound {
    /// Verdict.
    verdict: Verdict,
    /// Probability that the limit is kept.
    probability: f64,
}

fn conformance(of: ConformanceOf) -> Found<ConformanceFound> {
    let stamp = |length: Length| -> StampedLength { length.stamped() };
    let limit = match (of.at_least.map(stamp), of.at_most.map(stamp)) {
        (Some(least), Some(most)) => Limit::between(least, most),
        (Some(least), None) => Limit::at_least(least),
        (None, Some(most)) => Limit::at_most(most),
        (None, None) => {
            return Err(No::At(
                "at_most",
                "it is missing: give at least one limit".to_owned(),
            ));
        }
    };
    let guard = of.guard.map_or(Ok(Guard::NINETY_FIVE), Guard::of)?;
    let found = decide(
        of.measured.stamped(),
        of.uncertainty.stamped(),
        limit,
        guard,
    )?;
    let answer = ConformanceFound {
        verdict: found.verdict,
        probability: found.probability,
    };
    Ok((answer, found.working))
}

/// How an influence is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
enum KnownBy {
    /// Repeated readings: the values.
    Readings,
    /// Anything within limits: half their width.
    Within,
    /// The step of a display or scale.
    Steps,
    /// A certificate: expanded uncertainty and coverage factor.
    Certificate,
    /// A standard uncertainty, and its degrees of freedom where known.
    Standard,
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct InfluenceOf {
    /// Name of the influence.
    name: String,
    /// Known by.
    known: KnownBy,
    /// Values.
    ///
    /// One or more numbers, as the way it is known asks for.
    #[schemars(extend("x-named" = ["number of readings", "reading", "half width", "step", "expanded uncertainty", "coverage factor", "standard uncertainty", "degrees of freedom"]))]
    values: Vec<f64>,
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct UncertaintyOf {
    /// Influences.
    ///
    /// All in one unit.
    #[schemars(extend("x-named" = ["combined uncertainty"]))]
    influences: Vec<InfluenceOf>,
    /// Level of confidence.
    ///
    /// For the expanded uncertainty; 0.95 where left out.
    level: Option<f64>,
}

#[derive(Debug, Serialize, JsonSchema)]
struct UncertaintyFound {
    /// Standard uncertainty.
    standard: f64,
    /// Effective degrees of freedom.
    freedom: Option<f64>,
    /// Coverage factor.
    factor: f64,
    /// Expanded uncertainty.
    expanded: f64,
}

fn uncertainty(of: UncertaintyOf) -> Found<UncertaintyFound> {
    let influences = of
        .influences
        .into_iter()
        .map(|influence| {
            let values = influence.values;
            let known = match (influence.known, values.as_slice()) {
                (KnownBy::Readings, _) => Known::Readings { values },
                (KnownBy::Within, &[half_width]) => Known::Within { half_width },
                (KnownBy::Steps, &[step]) => Known::Steps { step },
                (KnownBy::Certificate, &[expanded, factor]) => {
                    Known::Certificate { expanded, factor }
                }
                (KnownBy::Standard, &[value]) => Known::Standard {
                    value,
                    freedom: None,
                },
                (KnownBy::Standard, &[value, freedom]) => Known::Standard {
                    value,
                    freedom: Some(freedom),
                },
                _ => {
                    return Err(No::At(
                        "influences",
                        format!(
                            "\u{201c}{}\u{201d} has {} values, which its kind does not take",
                            influence.name,
                            values.len()
                        ),
                    ));
                }
            };
            Ok(Influence {
                name: influence.name,
                known,
            })
        })
        .collect::<Result<Vec<_>, No>>()?;
    let found = combine(&influences)?;
    let level = of.level.unwrap_or(0.95);
    // Fewer than one degree of freedom are widened as one.
    let freedom = found.freedom.map(|nu| nu.max(1.0));
    let factor = factor_of(level, freedom)?;
    let working = found.working.step(widened(level, freedom, factor)).step(
        Step::new(
            "U",
            "expanded uncertainty",
            "k·u",
            Source::published("JCGM 100:2008, clause 6.2.1"),
        )
        .gives(significant(factor * found.standard, 4)),
    );
    let answer = UncertaintyFound {
        standard: found.standard,
        freedom: found.freedom,
        factor,
        expanded: factor * found.standard,
    };
    Ok((answer, working))
}

fn widened(level: f64, freedom: Option<f64>, factor: f64) -> Step {
    Step::new(
        "k",
        "coverage factor",
        "tₚ(⌊ν⌋), two-sided",
        Source::published("JCGM 100:2008, clauses G.3 and G.4, table G.2"),
    )
    .with("p", "level of confidence", level, Source::Entered)
    .with(
        "ν",
        "degrees of freedom",
        freedom.map_or_else(|| "without bound".to_owned(), |nu| significant(nu, 4)),
        Source::Arithmetic,
    )
    .gives(significant(factor, 5))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct FactorOf {
    /// Level of confidence.
    level: f64,
    /// Degrees of freedom.
    ///
    /// Without bound where left out.
    freedom: Option<f64>,
}

fn coverage_factor(of: FactorOf) -> Found<Measure> {
    let factor = factor_of(of.level, of.freedom)?;
    let working = steps(
        "Coverage factor",
        vec![widened(of.level, of.freedom, factor)],
    );
    Ok((Measure::new(factor, "1"), working))
}
