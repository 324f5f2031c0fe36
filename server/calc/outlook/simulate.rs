//! The years of a fleet played through by chance, event by event, where gauges wait for the bench or a window.
//! What is asked of it and how the sums become an outlook stands in `outlook`.
//!
//! One number u drawn at a rebuild decides the gauge's next failure: it fails at the age x where
//! R(x) = u. As long as its planned rebuild comes first, comparing u with R is enough and x is
//! never worked out, which is most of the time. Events are kept in short slots of time and put in
//! order only when their slot is reached.

use std::collections::VecDeque;
use std::sync::atomic::{AtomicU32, Ordering};

use rand_pcg::Pcg64;
use rand_pcg::rand_core::Rng;

use super::{Access, Bench, Chance, Fleet, Member, Monthly, Sums, YEAR};
use crate::calc::numeric::real;
use crate::calc::renewal::whole;

/// Slots a month is cut into: powers of two keep the slot of an event exact.
const SLOTS: f64 = 8.0;

/// Months of waiting within which most gauges do not fail, so that their failure need not be worked out.
const PATIENCE: f64 = 12.0;

/// The default stream of the generator as its author publishes it.
const STREAM: u128 = 0x0a02_bdbf_7bb3_c0a7_ac28_fa16_a64a_bf96;

/// Runs that share one stream of random numbers and are played by one thread.
const CHUNK: u32 = 25;

/// Means over all runs, each with its standard error.
pub(super) struct Played {
    pub years: Vec<[(f64, Option<f64>); 5]>,
    pub total: [(f64, Option<f64>); 5],
}

/// What comes next for a gauge.
#[derive(Clone, Copy, PartialEq)]
enum Kind {
    Failure,
    /// Its interval has passed; it needs the bench.
    Due,
    /// Its shutdown window is here; the window's crew rebuilds it.
    Window,
    /// It has waited for [`PATIENCE`]; until here it cannot have failed.
    StillWaiting,
}

/// One event ahead. It is void once the gauge's serial has moved on.
#[derive(Clone, Copy)]
struct Event {
    at: f64,
    gauge: u32,
    serial: u16,
    kind: Kind,
}

/// A gauge within a run, with what is asked of it at every event beside it.
#[derive(Clone, Copy)]
struct Now {
    /// Time of its last rebuild, below 0 if before the start.
    rebuilt: f64,
    /// The share that outlives it: it fails at the age x with R(x) = u.
    outlived: f64,
    service: u32,
    kits: u16,
    serial: u16,
    access: Access,
}

/// A service as the loop needs it.
struct Law {
    shape_inverse: f64,
    every: f64,
    /// R at the interval.
    keeps: f64,
    /// R at the interval and [`PATIENCE`] more.
    keeps_waiting: f64,
    service: Monthly,
}

/// What never changes during a run.
struct Setting<'a> {
    fleet: &'a Fleet,
    /// Share of the gauges like each that reached its age now.
    reached: Vec<f64>,
    /// Gauges already due, longest first.
    late: Vec<(f64, u32)>,
    laws: Vec<Law>,
    horizon: f64,
    /// Rebuilds the bench can do a month.
    bench: u32,
}

/// One run, and room for the next.
struct Run {
    chance: Pcg64,
    gauges: Vec<Now>,
    slots: Vec<Vec<Event>>,
    waiting: VecDeque<(u32, u16)>,
    sums: Vec<Sums>,
}

pub(super) fn play(fleet: &Fleet, services: &[Monthly], years: u32, chance: Chance) -> Played {
    let horizon = YEAR * f64::from(years);
    let law = |&service: &Monthly| Law {
        shape_inverse: 1.0 / service.life.shape(),
        every: service.every,
        keeps: service.life.survival(service.every),
        keeps_waiting: service.life.survival(service.every + PATIENCE),
        service,
    };
    let reached = |member: &Member| services[member.service].life.survival(member.age);
    let due = |member: &Member| services[member.service].every - member.age;
    let mut late: Vec<(f64, u32)> = (0..)
        .zip(&fleet.members)
        .filter(|(_, member)| member.access == Access::AnyTime && due(member) <= 0.0)
        .map(|(gauge, member)| (due(member), gauge))
        .collect();
    late.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    let setting = Setting {
        fleet,
        reached: fleet.members.iter().map(reached).collect(),
        late,
        laws: services.iter().map(law).collect(),
        horizon,
        bench: match fleet.bench {
            Bench::AsMany => u32::MAX,
            Bench::PerMonth(most) => most,
        },
    };
    let year_count = whole(f64::from(years));
    let tally = tallied(&setting, year_count, chance);
    let runs = f64::from(chance.runs);
    let mut years: Vec<[(f64, Option<f64>); 5]> = tally
        .iter()
        .map(|row| {
            row.map(|(sum, squares): (f64, f64)| {
                let mean = sum / runs;
                let variance = ((squares - sum * mean) / (runs - 1.0)).max(0.0);
                (mean, Some((variance / runs).sqrt()))
            })
        })
        .collect();
    let total = years.pop().unwrap_or([(0.0, None); 5]);
    Played { years, total }
}

/// Sums and sums of squares of every run: a row a year, and one of all years together.
type Tally = Vec<[(f64, f64); 5]>;

/// All runs, in chunks that share out to the machine's processors. Each chunk has a stream of random
/// numbers of its own and the chunks are added in their order, so the same seed gives the same
/// figures to the last digit on any number of processors.
fn tallied(setting: &Setting, years: usize, chance: Chance) -> Tally {
    let chunks = chance.runs.div_ceil(CHUNK);
    let next = AtomicU32::new(0);
    let work = || {
        let mut done = Vec::new();
        loop {
            let chunk = next.fetch_add(1, Ordering::Relaxed);
            if chunk >= chunks {
                return done;
            }
            let runs = CHUNK.min(chance.runs - chunk * CHUNK);
            done.push((chunk, tally_of(setting, years, (chance.seed, chunk), runs)));
        }
    };
    // One processor is left to whoever else is there: these runs take seconds, a page milliseconds.
    let processors = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    let workers = processors.saturating_sub(1).max(1);
    let others = workers.min(whole(f64::from(chunks))).saturating_sub(1);
    let mut done = std::thread::scope(|scope| {
        let handles: Vec<_> = (0..others).map(|_| scope.spawn(work)).collect();
        let mut done = work();
        for handle in handles {
            match handle.join() {
                Ok(part) => done.extend(part),
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
        done
    });
    done.sort_unstable_by_key(|(chunk, _)| *chunk);
    let mut sum = vec![[(0.0, 0.0); 5]; years + 1];
    for (_, part) in done {
        for (into, row) in sum.iter_mut().zip(part) {
            for (into, (value, square)) in into.iter_mut().zip(row) {
                into.0 += value;
                into.1 += square;
            }
        }
    }
    sum
}

/// The runs of one chunk.
fn tally_of(setting: &Setting, years: usize, (seed, chunk): (u64, u32), runs: u32) -> Tally {
    let mut run = Run {
        chance: Pcg64::new(u128::from(seed), STREAM + u128::from(chunk)),
        gauges: Vec::with_capacity(setting.fleet.members.len()),
        slots: vec![Vec::new(); whole(setting.horizon * SLOTS)],
        waiting: VecDeque::new(),
        sums: vec![[0.0; 5]; years],
    };
    let mut tally = vec![[(0.0, 0.0); 5]; years + 1];
    for _ in 0..runs {
        run.play(setting);
        let mut total = [0.0; 5];
        for (sums, into) in run.sums.iter().zip(&mut tally) {
            for i in 0..5 {
                total[i] += sums[i];
                count(&mut into[i], sums[i]);
            }
        }
        for i in 0..5 {
            count(&mut tally[years][i], total[i]);
        }
    }
    tally
}

fn count(into: &mut (f64, f64), value: f64) {
    into.0 += value;
    into.1 += value * value;
}

impl Run {
    fn play(&mut self, setting: &Setting) {
        self.begin(setting);
        let limited = setting.bench != u32::MAX;
        let mut free = setting.bench;
        for slot in 0..self.slots.len() {
            if slot.is_multiple_of(whole(SLOTS)) {
                free = self.serve_waiting(setting, real(slot) / SLOTS);
            }
            let mut events = std::mem::take(&mut self.slots[slot]);
            if limited {
                events.sort_unstable_by(|a, b| a.at.total_cmp(&b.at));
            }
            let mut next = 0;
            while next < events.len() {
                let event = events[next];
                next += 1;
                if self.gauges[index(event.gauge)].serial != event.serial {
                    continue;
                }
                match event.kind {
                    Kind::Due if free == 0 => self.wait(setting, event),
                    Kind::StillWaiting => self.fail_later(setting, event),
                    Kind::Window => self.rebuild(setting, event),
                    Kind::Due | Kind::Failure => {
                        if limited {
                            free = free.saturating_sub(1);
                        }
                        self.rebuild(setting, event);
                    }
                }
                // What is now planned into this same slot goes in at its place.
                while let Some(new) = self.slots[slot].pop() {
                    let place = next + events[next..].partition_point(|e| e.at <= new.at);
                    events.insert(place, new);
                }
            }
            events.clear();
            self.slots[slot] = events;
        }
        for gauge in 0..self.gauges.len() {
            // Overdue time of gauges that were not rebuilt before the end.
            let now = self.gauges[gauge];
            let due = now.rebuilt + setting.laws[index(now.service)].every;
            self.overdue(due, setting.horizon);
        }
    }

    /// Rebuilds those that wait, longest due first, at the start of a month; says what is left of
    /// the bench.
    fn serve_waiting(&mut self, setting: &Setting, at: f64) -> u32 {
        let mut free = setting.bench;
        while free > 0 {
            let Some((gauge, serial)) = self.waiting.pop_front() else {
                break;
            };
            if self.gauges[index(gauge)].serial == serial {
                self.rebuild(
                    setting,
                    Event {
                        at,
                        gauge,
                        serial,
                        kind: Kind::Due,
                    },
                );
                free -= 1;
            }
        }
        free
    }

    /// Draws every gauge's next failure given its age now.
    fn begin(&mut self, setting: &Setting) {
        self.gauges.clear();
        self.waiting.clear();
        for sums in &mut self.sums {
            *sums = [0.0; 5];
        }
        for (gauge, member) in (0..).zip(&setting.fleet.members) {
            // A gauge far older than its life has outlived all but the last float: it fails at once.
            let outlived = (setting.reached[index(gauge)] * self.draw()).max(f64::MIN_POSITIVE);
            self.gauges.push(Now {
                rebuilt: -member.age,
                outlived,
                service: u32::try_from(member.service).unwrap_or(u32::MAX),
                kits: u16::try_from(member.kits).unwrap_or(u16::MAX),
                serial: 0,
                access: member.access,
            });
            if member.access == Access::OnlyInWindows
                || member.age < setting.laws[member.service].every
            {
                self.plan(setting, gauge);
            }
        }
        for &(at, gauge) in &setting.late {
            self.wait(
                setting,
                Event {
                    at,
                    gauge,
                    serial: 0,
                    kind: Kind::Due,
                },
            );
        }
    }

    /// A uniform number above 0 and at most 1.
    fn draw(&mut self) -> f64 {
        #[expect(clippy::cast_precision_loss, reason = "53 bits fit an f64 exactly")]
        let whole = ((self.chance.next_u64() >> 11) + 1) as f64;
        whole / 9_007_199_254_740_992.0
    }

    /// Finds what comes next for a gauge: its planned rebuild or its failure.
    fn plan(&mut self, setting: &Setting, gauge: u32) {
        let now = self.gauges[index(gauge)];
        let law = &setting.laws[index(now.service)];
        let due = now.rebuilt + law.every;
        let (planned, kind, fails) = match now.access {
            Access::AnyTime => (due, Kind::Due, now.outlived > law.keeps),
            Access::OnlyInWindows => {
                let at = window(&setting.fleet.windows, now.rebuilt, due);
                let until = at.min(setting.horizon) - now.rebuilt;
                (
                    at,
                    Kind::Window,
                    now.outlived > law.service.life.survival(until),
                )
            }
        };
        let (at, kind) = if fails {
            (law.failure(&now).max(0.0), Kind::Failure)
        } else {
            (planned, kind)
        };
        self.put(
            setting,
            Event {
                at,
                gauge,
                serial: now.serial,
                kind,
            },
        );
    }

    /// A gauge that is due and finds no free bench: it waits, and may fail while waiting.
    fn wait(&mut self, setting: &Setting, event: Event) {
        let now = self.gauges[index(event.gauge)];
        let law = &setting.laws[index(now.service)];
        self.waiting.push_back((event.gauge, now.serial));
        if now.outlived <= law.keeps_waiting {
            let at = now.rebuilt + law.every + PATIENCE;
            self.put(
                setting,
                Event {
                    at: at.max(0.0),
                    kind: Kind::StillWaiting,
                    ..event
                },
            );
        } else {
            self.fail_later(setting, event);
        }
    }

    /// Plans the failure of a gauge that waits.
    fn fail_later(&mut self, setting: &Setting, event: Event) {
        let now = self.gauges[index(event.gauge)];
        let at = setting.laws[index(now.service)].failure(&now);
        self.put(
            setting,
            Event {
                at: at.max(event.at).max(0.0),
                kind: Kind::Failure,
                ..event
            },
        );
    }

    fn put(&mut self, setting: &Setting, event: Event) {
        if event.at < setting.horizon {
            self.slots[whole(event.at * SLOTS)].push(event);
        }
    }

    /// Rebuilds a gauge, books it to its year, and draws its next life.
    fn rebuild(&mut self, setting: &Setting, event: Event) {
        let Event {
            at, gauge, kind, ..
        } = event;
        let outlived = self.draw();
        let now = &mut self.gauges[index(gauge)];
        let law = &setting.laws[index(now.service)];
        let due = now.rebuilt + law.every;
        now.rebuilt = at;
        now.outlived = outlived;
        now.serial = now.serial.wrapping_add(1);
        let sums = &mut self.sums[whole(at / YEAR)];
        if kind == Kind::Failure {
            sums[0] += 1.0;
            sums[3] += law.service.costs.failure;
        } else {
            sums[1] += 1.0;
            sums[3] += law.service.costs.planned;
        }
        sums[2] += f64::from(now.kits);
        self.overdue(due, at);
        self.plan(setting, gauge);
    }

    /// Spreads the time from `due` to `done` over the years it falls into.
    fn overdue(&mut self, due: f64, done: f64) {
        let mut from = due.max(0.0);
        while from < done {
            let year = whole(from / YEAR);
            let until = done.min(YEAR * real(year + 1));
            self.sums[year][4] += until - from;
            from = until;
        }
    }
}

impl Law {
    /// When a gauge fails if it is not rebuilt before: at the age η (−ln u)^(1/β).
    fn failure(&self, now: &Now) -> f64 {
        let ln_age = (-now.outlived.ln()).ln() * self.shape_inverse;
        now.rebuilt + self.service.life.scale() * ln_age.exp()
    }
}

/// The last window after the rebuild and not after the due date, else the next one after it.
fn window(windows: &[f64], rebuilt: f64, due: f64) -> f64 {
    let later = windows.partition_point(|at| *at <= due);
    match later.checked_sub(1).map(|last| windows[last]) {
        Some(last) if last > rebuilt => last,
        _ => windows.get(later).copied().unwrap_or(f64::INFINITY),
    }
}

/// A gauge's number as an index; fleets are checked to be far smaller than 2^32.
fn index(gauge: u32) -> usize {
    gauge as usize
}
