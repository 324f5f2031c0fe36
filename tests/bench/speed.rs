//! How long the heavy computations take: by criterion, and one timing at a time for `paired.py`,
//! which takes them in turns with general-purpose libraries. Nothing is asserted here.

#![expect(
    clippy::unwrap_used,
    reason = "a benchmark that cannot go on should stop"
)]

use std::hint::black_box;
use std::io::BufRead;
use std::time::{Duration, Instant};

use criterion::{Criterion, criterion_group};
use gaugewright::calc::demand::{KitsPerEvent, compound_poisson};
use gaugewright::calc::due::{Deferral, Facts, Isolation, Moves, Window, governing_only};
use gaugewright::calc::flatness::{Station, minimum_zone};
use gaugewright::calc::life::{AgeUnit, Life, LifeData, Observation, Seen};
use gaugewright::calc::outlook::{Access, Bench, Chance, Fleet, Member, Service, outlook};
use gaugewright::calc::rebuild_age::Costs;
use gaugewright::calc::weibull::fit;
use rand_pcg::Pcg64Mcg;
use rand_pcg::rand_core::Rng;
use time::macros::date;

/// Numbers between 0 and 1, the same at every run.
struct Dice(Pcg64Mcg);

impl Dice {
    fn new() -> Self {
        Self(Pcg64Mcg::new(0xcafe_f00d_d15e_a5e5))
    }
    fn draw(&mut self) -> f64 {
        (f64::from(self.0.next_u32()) + 0.5) / 4_294_967_296.0
    }
    fn below(&mut self, most: u32) -> u32 {
        self.0.next_u32() % most
    }
}

/// 10 000 gauge lives, six in ten failed, the rest good until then.
fn lives() -> LifeData {
    let mut dice = Dice::new();
    let lives = (0..10_000).map(|_| {
        let age = 60.0 * (-dice.draw().ln()).powf(0.5);
        let until = 20.0 + 100.0 * dice.draw();
        let seen = if age < until {
            Seen::Failed { at: age }
        } else {
            Seen::Good { until }
        };
        Observation { seen, since: 0.0 }
    });
    LifeData::new(AgeUnit::Months, lives.collect()).unwrap()
}

/// 40 stations along two rails.
fn stations() -> Vec<Station> {
    let mut dice = Dice::new();
    (0..40_u32)
        .map(|i| Station {
            x: f64::from(i / 2) * 10.0,
            y: f64::from(i % 2) * 40.0,
            height: dice.draw() * 2.0,
        })
        .collect()
}

/// What is known of 100 000 gauges.
fn gauges() -> Vec<Facts> {
    let mut dice = Dice::new();
    let window = |starts, ends| Window { starts, ends };
    let windows = vec![
        window(date!(2026 - 03 - 02), date!(2026 - 03 - 13)),
        window(date!(2026 - 09 - 07), date!(2026 - 09 - 18)),
        window(date!(2027 - 03 - 01), date!(2027 - 03 - 12)),
    ];
    (0..100_000_u32)
        .map(|i| {
            let from = date!(2020 - 01 - 01) + time::Duration::days(i64::from(dice.below(2_000)));
            Facts {
                anchor: Some(from),
                rebuild_months: Some(24 + dice.below(48)),
                look_over_anchor: Some(from),
                look_over_months: Some(6),
                wall_due: (i % 7 == 0).then_some(date!(2027 - 05 - 01)),
                deferral: (i % 11 == 0).then_some(Deferral {
                    moves: Moves::All,
                    until: date!(2027 - 01 - 31),
                    hard_limit: date!(2027 - 06 - 30),
                }),
                isolation: if i % 3 == 0 {
                    Isolation::ShutdownOnly
                } else {
                    Isolation::InService
                },
                windows: windows.clone(),
                ..Facts::default()
            }
        })
        .collect()
}

/// Failures and sizes of 5 000 kits.
fn kits() -> Vec<(f64, KitsPerEvent)> {
    let mut dice = Dice::new();
    (0..5_000)
        .map(|_| {
            let one = 0.4 + 0.5 * dice.draw();
            let sizes = [(1, one), (2, (1.0 - one) * 0.7), (4, (1.0 - one) * 0.3)];
            (6.0 * dice.draw(), KitsPerEvent::new(&sizes).unwrap())
        })
        .collect()
}

/// 5 000 gauges in ten kinds of service, a third only in windows, a bench with a limit.
fn fleet() -> Fleet {
    let mut dice = Dice::new();
    let services = (0..10_u32)
        .map(|i| Service {
            life: Life::new(
                1.5 + 0.2 * f64::from(i),
                60.0 + 6.0 * f64::from(i),
                AgeUnit::Months,
            )
            .unwrap(),
            every: 36.0,
            costs: Costs {
                planned: 300.0,
                failure: 2_400.0,
            },
        })
        .collect();
    let members = (0..5_000_usize)
        .map(|i| Member {
            service: i % 10,
            age: 36.0 * dice.draw(),
            kits: 1 + dice.below(3),
            access: if i % 3 == 0 {
                Access::OnlyInWindows
            } else {
                Access::AnyTime
            },
        })
        .collect();
    Fleet {
        services,
        members,
        windows: (0..20_u32).map(|i| 3.0 + 6.0 * f64::from(i)).collect(),
        bench: Bench::PerMonth(110),
    }
}

/// One computation with its data.
type Timed = Box<dyn Fn()>;
/// What makes one with its data.
type Made = fn() -> Timed;

/// Every computation under the name the figures are told by; its data are made when it is asked for.
const COMPUTATIONS: [(&str, Made); 5] = [
    ("weibull of 10 000", || {
        let lives = lives();
        Box::new(move || {
            black_box(fit(black_box(&lives)).unwrap());
        })
    }),
    ("flatness of 40 stations", || {
        let stations = stations();
        Box::new(move || {
            black_box(minimum_zone(black_box(&stations)).unwrap());
        })
    }),
    ("due dates of 100 000 gauges", || {
        let gauges = gauges();
        Box::new(move || {
            for facts in black_box(&gauges) {
                black_box(governing_only(facts).unwrap());
            }
        })
    }),
    ("demand of 5 000 kits", || {
        let kits = kits();
        Box::new(move || {
            for (failures, sizes) in black_box(&kits) {
                black_box(compound_poisson(*failures, sizes).unwrap());
            }
        })
    }),
    ("outlook of 5 000 gauges", || {
        let fleet = fleet();
        Box::new(move || {
            let chance = Chance {
                runs: 1_000,
                seed: 7,
            };
            black_box(outlook(black_box(&fleet), 10, chance).unwrap());
        })
    }),
];

fn all(criterion: &mut Criterion) {
    for (name, made) in COMPUTATIONS {
        let computation = made();
        let mut group = criterion.benchmark_group("calc");
        group
            .sample_size(10)
            .measurement_time(Duration::from_secs(3));
        group.bench_function(name, |bench| bench.iter(&computation));
        group.finish();
    }
}

criterion_group!(benches, all);

/// Writes the data the libraries are timed with, as JSON.
fn data() -> serde_json::Value {
    let lives = lives();
    let (mut ages, mut failed) = (Vec::new(), Vec::new());
    for one in lives.observations() {
        let (age, end) = match one.seen {
            Seen::Failed { at } => (at, true),
            Seen::Good { until } => (until, false),
            Seen::FoundFailed { by, .. } => (by, true),
        };
        ages.push(age);
        failed.push(end);
    }
    let stations: Vec<[f64; 3]> = stations().iter().map(|s| [s.x, s.y, s.height]).collect();
    serde_json::json!({ "ages": ages, "failed": failed, "stations": stations })
}

/// Answers each name on standard input with the seconds one computation took, averaged over as many
/// as fit a twentieth of a second.
fn one_at_a_time() {
    let mut ready: Option<(String, Timed)> = None;
    for line in std::io::stdin().lock().lines() {
        let line = line.unwrap();
        if line == "data" {
            println!("{}", data());
            continue;
        }
        if ready.as_ref().is_none_or(|(name, _)| *name != line) {
            let (_, made) = COMPUTATIONS.iter().find(|(name, _)| *name == line).unwrap();
            ready = Some((line, made()));
        }
        let (_, computation) = ready.as_ref().unwrap();
        let (begun, mut times) = (Instant::now(), 0_u32);
        while times == 0 || begun.elapsed() < Duration::from_millis(50) {
            computation();
            times += 1;
        }
        println!("{:e}", begun.elapsed().as_secs_f64() / f64::from(times));
    }
}

fn main() {
    if std::env::var_os("GAUGEWRIGHT_PAIRED").is_some() {
        one_at_a_time();
    } else {
        benches();
        Criterion::default().configure_from_args().final_summary();
    }
}
