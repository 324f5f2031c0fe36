//! The Weibull plot as a drawing: failures as points, the fitted line, the band its bounds leave.
//! Ages stand on a logarithmic scale and shares so that every Weibull law is a straight line.

use crate::calc::quantity::significant;
use crate::pages::show::place;
use crate::record::life_study::{Along, Curve, DRAWN, Point};

const LEFT: f64 = 60.0;
const RIGHT: f64 = 712.0;
const TOP: f64 = 16.0;
const FLOOR: f64 = 372.0;

/// Shares that get a line, as fractions.
const SHARES: &[f64] = &[
    0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 0.9, 0.99,
];

/// A drawn plot.
#[derive(Debug, Clone)]
pub struct Plot {
    /// The points.
    pub dots: Vec<(String, String)>,
    /// The fitted line.
    pub line: String,
    /// The band.
    pub band: String,
    /// Lines at ages: place and words.
    pub ages: Vec<(String, String)>,
    /// Lines at shares: place, place of the words, words.
    pub shares: Vec<(String, String, String)>,
    /// Where 63.2 % have failed, if that is in the drawing.
    pub scale: Option<String>,
    /// What it shows, in words.
    pub says: String,
}

/// The scale on which a Weibull law is a straight line.
fn reduced(share: f64) -> f64 {
    (-(-share).ln_1p()).ln()
}

impl Plot {
    /// Draws a fitted life with its failures.
    pub fn of(curve: &Curve, points: &[Point]) -> Self {
        let least = |values: &mut dyn Iterator<Item = f64>| values.fold(f64::INFINITY, f64::min);
        let ages = || {
            points
                .iter()
                .map(|p| p.age)
                .chain(curve.band.iter().map(|a| a.age))
        };
        let (young, old) = (least(&mut ages()) / 1.1, ages().fold(1.0, f64::max) * 1.02);
        let lines = curve.band.first().map(|along| along.failed);
        let floor = (least(&mut points.iter().map(|p| p.share).chain(lines)) / 1.6).max(0.0005);
        let roof = points
            .iter()
            .map(|p| p.share)
            .chain(curve.band.last().map(|along| along.failed))
            .fold(0.5, f64::max);
        let roof = (1.0 - (1.0 - roof) / 2.0).min(0.995);
        let x = |age: f64| LEFT + (age / young).ln() / (old / young).ln() * (RIGHT - LEFT);
        let (low, high) = (reduced(floor), reduced(roof));
        let y = |share: f64| {
            let at = reduced(share.clamp(floor, roof));
            FLOOR - (at - low) / (high - low) * (FLOOR - TOP)
        };
        let at = |age: f64, share: f64| format!("{},{}", place(x(age)), place(y(share)));
        // The line leaves the drawing where it does and is not bent along its edge.
        let within = |along: &&Along| (floor..=roof).contains(&along.failed);
        let line: Vec<String> = curve
            .band
            .iter()
            .filter(within)
            .map(|along| at(along.age, along.failed))
            .collect();
        let upper = curve.band.iter().map(|along| at(along.age, along.high));
        let lower = curve
            .band
            .iter()
            .rev()
            .map(|along| at(along.age, along.low));
        let band: Vec<String> = upper.chain(lower).collect();
        let every = points.len().div_ceil(DRAWN).max(1);
        Self {
            dots: points
                .iter()
                .step_by(every)
                .map(|p| (place(x(p.age)), place(y(p.share))))
                .collect(),
            line: line.join(" "),
            band: band.join(" "),
            ages: ticks(young, old)
                .into_iter()
                .map(|age| (place(x(age)), significant(age, 6)))
                .collect(),
            shares: SHARES
                .iter()
                .filter(|share| (floor..=roof).contains(*share))
                .map(|share| {
                    let at = y(*share);
                    (
                        place(at),
                        place(at + 5.0),
                        format!("{} %", significant(100.0 * share, 3)),
                    )
                })
                .collect(),
            scale: (roof > 0.632 && floor < 0.632).then(|| place(y(0.632_120_6))),
            says: format!(
                "{} failures on Weibull axes from {} to {} days; the fitted line has shape {} and characteristic life {} days, with a band of its bounds at {} %.",
                points.len(),
                significant(points.first().map_or(0.0, |p| p.age), 4),
                significant(points.last().map_or(0.0, |p| p.age), 4),
                significant(curve.fit.life.shape(), 4),
                significant(curve.fit.life.scale(), 4),
                significant(
                    curve
                        .figures
                        .first()
                        .map_or(0.0, |figure| 100.0 * figure.bounded.confidence.level()),
                    3
                )
            ),
        }
    }
}

/// Round ages between two: 1, 2 and 5 times powers of ten, and more of them where the span is short.
fn ticks(young: f64, old: f64) -> Vec<f64> {
    let steps: &[f64] = if old / young < 20.0 {
        &[1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 7.0]
    } else {
        &[1.0, 2.0, 5.0]
    };
    let mut all = Vec::new();
    let mut decade = 0.1;
    while decade <= old {
        let ages = steps.iter().map(|step| decade * step);
        all.extend(ages.filter(|age| (young..=old).contains(age)));
        decade *= 10.0;
    }
    all
}
