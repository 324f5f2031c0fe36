//! The share of gauges still good by age as a drawing: steps without a law, the band of Greenwood's
//! bounds, and the fitted law as a dashed line where there is one.

use std::fmt::Write as _;

use crate::calc::life::Life;
use crate::calc::quantity::significant;
use crate::calc::survival::{Level, SurvivalCurve};
use crate::pages::show::place;
use crate::record::life_study::DRAWN;

const LEFT: f64 = 60.0;
const RIGHT: f64 = 712.0;
const TOP: f64 = 16.0;
const FLOOR: f64 = 292.0;
/// Steps the dashed line is drawn with.
const STEPS: u32 = 48;

/// A drawn survival curve.
#[derive(Debug, Clone)]
pub struct Survival {
    /// The steps.
    pub steps: String,
    /// The band.
    pub band: String,
    /// The fitted law.
    pub law: Option<String>,
    /// Lines at ages: place and words.
    pub ages: Vec<(String, String)>,
    /// Lines at shares: place, place of the words, words.
    pub shares: Vec<(String, String, String)>,
    /// What it shows, in words.
    pub says: String,
}

impl Survival {
    /// Draws a curve.
    pub fn of(found: &SurvivalCurve, law: Option<Life>) -> Self {
        let until = found.known_until.max(1.0);
        let x = |age: f64| LEFT + age / until * (RIGHT - LEFT);
        let y = |share: f64| FLOOR - share * (FLOOR - TOP);
        let every = found.levels.len().div_ceil(DRAWN).max(1);
        // The last level always stands, so that the curve ends where it does.
        let last = found.levels.len().saturating_sub(1);
        let levels: Vec<&Level> = found
            .levels
            .iter()
            .enumerate()
            .filter(|(i, _)| i % every == 0 || *i == last)
            .map(|(_, level)| level)
            .collect();
        let mut steps = format!("M{} {}", place(x(0.0)), place(y(1.0)));
        for level in &levels {
            let _ = write!(
                steps,
                "H{}V{}",
                place(x(level.at)),
                place(y(level.survival))
            );
        }
        let _ = write!(steps, "H{}", place(x(until)));
        let bound = |level: &Level, upper: bool| {
            level
                .bounds
                .map(|(low, high)| y(if upper { high } else { low }))
        };
        let (mut upper, mut lower) = (Vec::new(), Vec::new());
        let (mut up, mut down) = (y(1.0), y(1.0));
        for level in &levels {
            let at = place(x(level.at));
            upper.push(format!("{at},{}", place(up)));
            lower.push(format!("{at},{}", place(down)));
            (up, down) = (
                bound(level, true).unwrap_or(up),
                bound(level, false).unwrap_or(FLOOR),
            );
            upper.push(format!("{at},{}", place(up)));
            lower.push(format!("{at},{}", place(down)));
        }
        if !levels.is_empty() {
            upper.push(format!("{},{}", place(x(until)), place(up)));
            lower.push(format!("{},{}", place(x(until)), place(down)));
        }
        lower.reverse();
        upper.extend(lower);
        Self {
            steps,
            band: upper.join(" "),
            law: law.map(|life| {
                let points: Vec<String> = (0..=STEPS)
                    .map(|step| {
                        let age = until * f64::from(step) / f64::from(STEPS);
                        format!("{},{}", place(x(age)), place(y(life.survival(age))))
                    })
                    .collect();
                points.join(" ")
            }),
            ages: round(until)
                .into_iter()
                .map(|age| (place(x(age)), significant(age, 6)))
                .collect(),
            shares: [0.0, 0.25, 0.5, 0.75, 1.0]
                .into_iter()
                .map(|share| {
                    (
                        place(y(share)),
                        place(y(share) + 5.0),
                        format!("{} %", significant(100.0 * share, 3)),
                    )
                })
                .collect(),
            says: says(found),
        }
    }
}

fn says(found: &SurvivalCurve) -> String {
    let last = found.levels.last();
    last.map_or_else(
        || {
            format!(
                "No failure up to {} days: all are still good.",
                significant(found.known_until, 4)
            )
        },
        |level| {
            format!(
                "Share still good by age, in steps: {} % after the last failure at {} days; known until {} days.",
                significant(100.0 * level.survival, 3),
                significant(level.at, 4),
                significant(found.known_until, 4)
            )
        },
    )
}

/// Five or so round ages from 0 on.
fn round(until: f64) -> Vec<f64> {
    let raw = until / 6.0;
    let decade = 10_f64.powf(raw.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|times| times * decade)
        .find(|step| *step >= raw)
        .unwrap_or(10.0 * decade);
    let mut all = Vec::new();
    let mut age = 0.0;
    while age <= until {
        all.push(age);
        age += step;
    }
    all
}
