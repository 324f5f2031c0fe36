//! Gauges that fail more often than others of their service class, and whether failures come faster.
//! The lives are cut in `life`; the tests themselves are in `calc`.

use std::collections::BTreeMap;

use time::Date;

use super::gauge::Standing;
use super::ids::{GaugeId, ServiceClassId, TagNumber};
use super::life::{Life, Lives, OneGauge};
use crate::calc::OutOfRange;
use crate::calc::excess::{Excess, excess};
use crate::calc::life::{AgeUnit, Confidence};
use crate::calc::trend::{FEWEST_FOR_TREND, History, PowerLaw, Trend, Watched, power_law, trend};

/// Days of a year, as rates are given.
const YEAR: f64 = 365.25;

/// A gauge with its failures against those of its class.
#[derive(Debug, Clone)]
pub struct Actor {
    /// The gauge.
    pub gauge: GaugeId,
    /// Its tag number.
    pub tag: TagNumber,
    /// Its class's name.
    pub class: String,
    /// Its failures.
    pub failures: u32,
    /// Years it was watched.
    pub years: f64,
    /// Failures to expect of a gauge of its class in these years.
    pub expected: f64,
    /// How the two stand against each other.
    pub excess: Excess,
    /// Whether its failures come faster, from four on.
    pub trend: Option<(Trend, Option<PowerLaw>)>,
}

/// The gauges that failed, the least explained first, and the trend of all together.
#[derive(Debug, Clone)]
pub struct Actors {
    /// The gauges.
    pub actors: Vec<Actor>,
    /// All failures of the set together.
    pub together: Option<Trend>,
    /// Failures and years watched of each class.
    pub classes: Vec<(String, u32, f64)>,
    /// Gauges watched.
    pub gauges: usize,
}

#[derive(Default)]
struct Record {
    failed: Vec<Date>,
    days: f64,
    begins: Option<Date>,
}

impl Actors {
    /// Sets the failures of each gauge against its class.
    ///
    /// # Errors
    /// A count outside what can be computed with.
    pub fn of(
        gauges: &[OneGauge],
        lives: &Lives,
        confidence: Confidence,
        today: Date,
    ) -> Result<Self, OutOfRange> {
        let mut records: BTreeMap<GaugeId, Record> = BTreeMap::new();
        for life in &lives.lives {
            let record = records.entry(life.gauge).or_default();
            let begins = life.began_on + time::Duration::days(life.since);
            record.begins = Some(record.begins.map_or(begins, |earlier| earlier.min(begins)));
            record.days += watched(life);
            if life.how.failed() {
                record.failed.push(life.ended_on);
            }
        }
        let mut classes: BTreeMap<ServiceClassId, (String, u32, f64)> = BTreeMap::new();
        for gauge in gauges {
            if let Some(record) = records.get(&gauge.id) {
                let class = classes
                    .entry(gauge.class)
                    .or_insert_with(|| (gauge.class_name.clone(), 0, 0.0));
                class.1 += count(record.failed.len());
                class.2 += record.days / YEAR;
            }
        }
        let (mut actors, mut histories) = (Vec::new(), Vec::new());
        for gauge in gauges {
            let Some(record) = records.get(&gauge.id) else {
                continue;
            };
            let history = history(gauge, record, today)?;
            if !record.failed.is_empty() {
                let class = &classes[&gauge.class];
                let years = record.days / YEAR;
                let expected = f64::from(class.1) / class.2 * years;
                let trend = match &history {
                    Some(one) if record.failed.len() >= FEWEST_FOR_TREND => {
                        let found = trend(std::slice::from_ref(one), confidence)?;
                        Some((found, power_law(one, confidence).ok()))
                    }
                    _ => None,
                };
                actors.push(Actor {
                    gauge: gauge.id,
                    tag: gauge.tag.clone(),
                    class: class.0.clone(),
                    failures: count(record.failed.len()),
                    years,
                    expected,
                    excess: excess(count(record.failed.len()), expected)?,
                    trend,
                });
            }
            histories.extend(history);
        }
        actors.sort_by(|a, b| {
            a.excess
                .chance
                .total_cmp(&b.excess.chance)
                .then_with(|| a.tag.cmp(&b.tag))
        });
        Ok(Self {
            actors,
            together: trend(&histories, confidence).ok(),
            classes: classes.into_values().collect(),
            gauges: records.len(),
        })
    }
}

fn watched(life: &Life) -> f64 {
    (life.age() - life.observation(true).since).max(0.0)
}

fn count(number: usize) -> u32 {
    u32::try_from(number).unwrap_or(u32::MAX)
}

/// The failures of a gauge as days since it was first watched; none where it was watched for no day.
fn history(gauge: &OneGauge, record: &Record, today: Date) -> Result<Option<History>, OutOfRange> {
    let Some(begins) = record.begins else {
        return Ok(None);
    };
    let ends = match (gauge.standing, gauge.out_on) {
        (Standing::InService, _) | (_, None) => today,
        (_, Some(out)) => out,
    };
    let days = |on: Date| {
        let days = (on - begins).whole_days();
        i32::try_from(days).map_or(0.5, f64::from).max(0.5)
    };
    let mut failed: Vec<f64> = record.failed.iter().map(|on| days(*on)).collect();
    failed.sort_by(f64::total_cmp);
    let end = failed.last().copied().unwrap_or(0.0).max(days(ends));
    History::new(AgeUnit::Days, failed, Watched::Until(end)).map(Some)
}
