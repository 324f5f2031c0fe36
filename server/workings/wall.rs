//! The wall between through-bore and recess: whether it grew, how it wears, whether it bears a skim.
//! The rules are in `calc::wall`; a wall against its limit alone stands in `faces`.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::registry::{Care, Computation, Found, Part, computation};
use super::typed::{Day, Length, Measure};
use crate::calc::OutOfRange;
use crate::calc::quantity::{LengthUnit, StampedLength};
use crate::calc::wall::{
    self, Measured, Outlook, Skim, Taken, WallReading, growth, life_of_grown, plan_skim,
};

const CARE: &[Care] = &[Care::Parts];

/// The most decimals a reading is written with.
const MOST_DECIMALS: u32 = 9;

pub(super) fn list() -> Vec<Computation> {
    vec![
        computation(
            (
                "wall-growth",
                "Whether a wall was read thicker than before by more than the two readings can be off",
            ),
            (Part::Faces, CARE),
            r#"{"earlier": {"value": 0.118, "unit": "[in_i]"}, "earlier_standard": {"value": 0.0005, "unit": "[in_i]"}, "later": {"value": 0.12, "unit": "[in_i]"}, "later_standard": {"value": 0.0005, "unit": "[in_i]"}, "later_decimals": 3}"#,
            wall_growth,
        ),
        computation(
            (
                "wall-life",
                "How fast a wall wears, how long it lasts and when to measure it again, also where it was read thicker than before",
            ),
            (Part::Faces, CARE),
            r#"{"readings": [{"on": "2018-03-01", "thickness": {"value": 0.15, "unit": "[in_i]"}, "standard": {"value": 0.0004, "unit": "[in_i]"}, "decimals": 3}, {"on": "2022-03-01", "thickness": {"value": 0.138, "unit": "[in_i]"}, "standard": {"value": 0.0004, "unit": "[in_i]"}}, {"on": "2026-03-01", "thickness": {"value": 0.128, "unit": "[in_i]"}, "standard": {"value": 0.0004, "unit": "[in_i]"}}], "limit": {"value": 0.1, "unit": "[in_i]"}, "interval_months": 48}"#,
            wall_life,
        ),
        computation(
            (
                "skim",
                "Whether a planned skim leaves enough wall and is not one too many",
            ),
            (Part::Faces, CARE),
            r#"{"thickness": {"value": 0.13, "unit": "[in_i]"}, "cut": {"value": 0.01, "unit": "[in_i]"}, "limit": {"value": 0.1, "unit": "[in_i]"}, "skims_done": 0, "most_skims": 2}"#,
            skim,
        ),
    ]
}

/// A reading with the noughts at its end, which say how finely it was read.
fn as_written(length: Length, decimals: Option<u32>) -> Result<StampedLength, OutOfRange> {
    let mut read = length.stamped();
    let decimals = decimals.unwrap_or(0);
    if decimals > MOST_DECIMALS {
        return Err(OutOfRange::new(
            "decimals as written",
            decimals,
            format!("0 to {MOST_DECIMALS}"),
        ));
    }
    if decimals > read.value.scale() {
        read.value.rescale(decimals);
    }
    Ok(read)
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct WallGrowthOf {
    /// Earlier wall.
    #[schemars(extend("x-named" = ["earlier wall thickness"]))]
    earlier: Length,
    /// Standard uncertainty of the earlier wall.
    ///
    /// Of the instrument, as kept with the reading; where left out, the last digit alone counts.
    #[schemars(extend("x-named" = ["standard uncertainty"]))]
    earlier_standard: Option<Length>,
    /// Decimals of the earlier wall as written.
    ///
    /// Where it ends with a nought, which a number does not keep: 3 for 0.150.
    #[schemars(extend("x-named" = ["decimals as written"]))]
    earlier_decimals: Option<u32>,
    /// Later wall.
    #[schemars(extend("x-named" = ["wall thickness"]))]
    later: Length,
    /// Standard uncertainty of the later wall.
    #[schemars(extend("x-named" = ["standard uncertainty"]))]
    later_standard: Option<Length>,
    /// Decimals of the later wall as written.
    #[schemars(extend("x-named" = ["decimals as written"]))]
    later_decimals: Option<u32>,
}

#[derive(Debug, Serialize, JsonSchema)]
struct WallGrowthFound {
    /// Thicker by more than they can be off.
    unexplained: bool,
    /// What the two readings can be off (k = 2).
    expanded: Measure,
}

fn wall_growth(of: WallGrowthOf) -> Found<WallGrowthFound> {
    let measured = |wall, decimals, standard: Option<Length>| {
        as_written(wall, decimals).map(|thickness| Measured {
            thickness,
            standard: standard.map(Length::stamped),
        })
    };
    let found = growth(
        measured(of.earlier, of.earlier_decimals, of.earlier_standard)?,
        measured(of.later, of.later_decimals, of.later_standard)?,
    )?;
    let answer = WallGrowthFound {
        unexplained: found.unexplained,
        expanded: found.expanded.into(),
    };
    Ok((answer, found.working))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct ReadingOf {
    /// Day of a wall reading.
    #[schemars(extend("x-named" = ["day of the wall reading"]))]
    on: Day,
    /// Wall thickness.
    #[schemars(extend("x-named" = ["earlier wall thickness"]))]
    thickness: Length,
    /// Taken after.
    ///
    /// Service where left out.
    taken: Option<Taken>,
    /// Standard uncertainty.
    ///
    /// Of the instrument, as kept with the reading; where left out, the last digit alone counts.
    standard: Option<Length>,
    /// Decimals as written.
    ///
    /// Where a reading ends with a nought, which a number does not keep: 3 for 0.150.
    decimals: Option<u32>,
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct WallLifeOf {
    /// Wall readings.
    readings: Vec<ReadingOf>,
    /// Least wall.
    limit: Length,
    /// Measuring interval, months.
    #[schemars(extend("x-named" = ["measuring interval"]))]
    interval_months: u32,
}

#[derive(Debug, Serialize, JsonSchema)]
struct KeptReading {
    /// Day.
    on: Day,
    /// Wall thickness.
    thickness: Measure,
}

#[derive(Debug, Serialize, JsonSchema)]
struct WallLifeFound {
    /// Long-term rate of all readings.
    long_term: Option<Measure>,
    /// Short-term rate of all readings.
    short_term: Option<Measure>,
    /// Governing rate.
    governing: Option<Measure>,
    /// Outlook.
    outlook: &'static str,
    /// Remaining life.
    remaining: Option<Measure>,
    /// Measure again by.
    next_measurement: Day,
    /// Wall reckoned with.
    counts_as: Option<Measure>,
    /// Reading that is kept.
    ///
    /// Where a later one grew: the wall counts as no thicker.
    kept: Option<KeptReading>,
}

fn wall_life(of: WallLifeOf) -> Found<WallLifeFound> {
    let readings = of
        .readings
        .iter()
        .map(|reading| {
            let read = WallReading {
                on: reading.on.0,
                thickness: as_written(reading.thickness, reading.decimals)?,
                taken: reading.taken.unwrap_or(Taken::AfterService),
            };
            Ok((read, reading.standard.map(Length::stamped)))
        })
        .collect::<Result<Vec<_>, OutOfRange>>()?;
    let reckoned = life_of_grown(&readings, of.limit.stamped(), of.interval_months)?;
    let found = reckoned.life;
    let rate = |rate: Option<wall::WearRate>| {
        rate.map(|rate| {
            let unit = match rate.unit {
                LengthUnit::Inch => "[in_i]/a",
                LengthUnit::Millimetre => "mm/a",
                LengthUnit::Thousandth => "[mil_i]/a",
                LengthUnit::Micrometre => "um/a",
                LengthUnit::Metre => "m/a",
            };
            Measure::new(rate.per_year, unit)
        })
    };
    let (outlook, remaining) = match found.outlook {
        Outlook::Spent => ("spent", None),
        Outlook::Lasts { years } => ("lasts", Some(Measure::new(years, "a"))),
        Outlook::NoLossFound => ("no loss found", None),
        Outlook::RateUnknown => ("rate not known yet", None),
    };
    let answer = WallLifeFound {
        long_term: rate(found.long_term),
        short_term: rate(found.short_term),
        governing: rate(found.governing),
        outlook,
        remaining,
        next_measurement: Day(found.next_measurement),
        counts_as: reckoned.counts_as.map(Measure::from),
        kept: reckoned.kept.map(|kept| KeptReading {
            on: Day(kept.on),
            thickness: kept.thickness.into(),
        }),
    };
    Ok((answer, found.working))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct SkimOf {
    /// Wall thickness.
    thickness: Length,
    /// Planned cut.
    cut: Length,
    /// Least wall.
    limit: Length,
    /// Skims done before.
    skims_done: u8,
    /// Skims allowed.
    most_skims: u8,
}

#[derive(Debug, Serialize, JsonSchema)]
struct SkimFound {
    /// Verdict.
    verdict: Skim,
    /// Wall that would stay.
    left: Measure,
    /// Skims of the same depth still possible after it.
    skims_left: u32,
}

fn skim(of: SkimOf) -> Found<SkimFound> {
    let found = plan_skim(
        of.thickness.stamped(),
        of.cut.stamped(),
        of.limit.stamped(),
        of.skims_done,
        of.most_skims,
    )?;
    let answer = SkimFound {
        verdict: found.skim,
        left: found.left.into(),
        skims_left: found.skims_left,
    };
    Ok((answer, found.working))
}
