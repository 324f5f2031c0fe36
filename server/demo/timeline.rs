//! What happens to each gauge of the invented plant over six years, as dated steps in order.
//! The steps are carried out, through the same deeds people do, in `past.rs`.

use std::collections::VecDeque;

use rust_decimal::prelude::ToPrimitive;
use time::{Date, Duration, OffsetDateTime, Time};

use super::dice::Dice;
use super::fleet::Member;
use super::plant::{CLASSES, RE_TORQUED};
use crate::record::rebuild::{Cause, FailureKind};

/// How far back the history reaches, in days.
pub const YEARS_OF_HISTORY: i64 = 6 * 365 + 1;

/// One thing done to one gauge.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Step {
    /// Looked over in service.
    LookOver,
    /// Reported as failed.
    Fail(FailureKind),
    /// A rebuild is planned.
    Plan(Cause),
    /// Kits are issued to it.
    Issue,
    /// It comes to the bench.
    Start,
    /// Made safe.
    MadeSafe,
    /// A section is stripped.
    Strip(u8),
    /// The bolting is brought in order.
    Bolting,
    /// The faces of a section are read.
    Faces(u8),
    /// Assembled.
    Assemble,
    /// A section is tightened.
    Tighten(u8),
    /// Sent to its pressure test.
    SendToTest,
    /// Tested; once in a while the first test fails.
    Test {
        /// Whether it weeps.
        weeps: bool,
    },
    /// Taken back to the bench to be tightened again.
    TakeBack,
    /// Witnessed.
    Witness,
    /// Certified.
    Certify,
    /// Returned to service.
    Return,
    /// Tightened again after the first heat cycle.
    ReTorque,
}

/// A step with its moment and its gauge.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Event {
    /// When.
    pub at: OffsetDateTime,
    /// The gauge, by its number in the fleet.
    pub gauge: u32,
    /// What.
    pub step: Step,
}

/// How far a rebuild under way has come today.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reached {
    /// Only planned.
    Planned,
    /// Stripped and looked at.
    AtTheBench,
    /// Waiting for its test.
    OnTest,
}

/// How dense the history is: the whole life for a plant of usual size, a part of it for a fleet
/// made to measure speed with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Density {
    /// Every rebuild and look-over of six years.
    Whole,
    /// About ten lines a gauge: every fifth gauge one rebuild, all of them look-overs.
    Thin,
}

/// The steps of one gauge, in order of time.
pub fn of(member: &Member, today: Date, density: Density) -> Vec<Event> {
    let mut dice = Dice::new(1_000_000 + u64::from(member.number));
    let begins = today - Duration::days(YEARS_OF_HISTORY);
    let mut events = Vec::new();
    match density {
        Density::Thin => thin(member, begins, today, &mut dice, &mut events),
        Density::Whole => whole(member, begins, today, &mut dice, &mut events),
    }
    events.sort_by_key(|event| event.at);
    if density == Density::Thin {
        tighten_at_once(&mut events);
    }
    events
}

/// A large fleet shares the few wrenches of the plant, and one that is on a gauge is on no other: each
/// gauge is tightened within one moment.
fn tighten_at_once(events: &mut [Event]) {
    let mut first = None;
    for event in events {
        first = match event.step {
            Step::Tighten(_) => Some(*first.get_or_insert(event.at)),
            _ => None,
        };
        if let Some(at) = first {
            event.at = at;
        }
    }
}

/// How long somebody waits before asking again whether a wrench has come free.
const ASK_AGAIN: Duration = Duration::minutes(5);

/// The plant has few wrenches and one that is on a gauge is on no other: the step that found none waits,
/// and with it what is still to come of its rebuild. `to_come` is in order of time, and stays so.
pub fn wait_for_a_wrench(to_come: &mut VecDeque<Event>, waits: Event) {
    let gauge = waits.gauge;
    let alone = waits.step == Step::ReTorque;
    let mut later = vec![waits];
    while !alone
        && later.last().is_some_and(|last| last.step != Step::Return)
        && let Some(at) = to_come.iter().position(|event| event.gauge == gauge)
    {
        later.extend(to_come.remove(at));
    }
    for mut event in later {
        event.at += ASK_AGAIN;
        let place = to_come.partition_point(|other| (other.at, other.gauge) <= (event.at, gauge));
        to_come.insert(place, event);
    }
}

fn thin(member: &Member, begins: Date, today: Date, dice: &mut Dice, events: &mut Vec<Event>) {
    let mut day = begins + Duration::days(dice.between(30, 200));
    for _ in 0..5 {
        day += Duration::days(dice.between(120, 400));
        if day < today {
            events.push(Event {
                at: moment(day, dice.between(7 * 60, 15 * 60)),
                gauge: member.number,
                step: Step::LookOver,
            });
        }
    }
    if member.number.is_multiple_of(5) {
        let months = i64::from(CLASSES[member.class].2);
        let due =
            today - Duration::days(dice.between(10, (months * 30).min(YEARS_OF_HISTORY - 40)));
        rebuild(member, due, Cause::Interval, dice, events);
    }
}

fn whole(member: &Member, begins: Date, today: Date, dice: &mut Dice, events: &mut Vec<Event>) {
    let (_, _, months, look_over) = CLASSES[member.class];
    let interval = i64::from(months) * 30 + i64::from(months) * 7 / 16;
    // The life before the register began ends somewhere in its first interval.
    let mut day = begins + Duration::days(dice.between(20, interval.min(900)));
    let mut cause = Cause::Interval;
    loop {
        // The last weeks before today are left to the people who try the demo.
        if day + Duration::days(4) >= today {
            break;
        }
        rebuild(member, day, cause, dice, events);
        let lasts = lasts(member, interval, dice);
        if lasts < interval {
            let failed = day + Duration::days(lasts.max(3));
            if failed + Duration::days(12) < today {
                let kind = *dice
                    .pick(&[
                        FailureKind::Leak,
                        FailureKind::Leak,
                        FailureKind::CloudedGlass,
                        FailureKind::CrackedGlass,
                    ])
                    .unwrap_or(&FailureKind::Leak);
                events.push(Event {
                    at: moment(failed, dice.between(6 * 60, 16 * 60)),
                    gauge: member.number,
                    step: Step::Fail(kind),
                });
                cause = match kind {
                    FailureKind::CrackedGlass => Cause::CrackedGlass,
                    FailureKind::CloudedGlass => Cause::CloudedGlass,
                    _ => Cause::Leak,
                };
                day = failed + Duration::days(dice.between(1, 9));
                continue;
            }
        }
        cause = Cause::Interval;
        day += Duration::days(interval + dice.between(-50, 12));
    }
    if let Some(months) = look_over {
        let mut look = begins + Duration::days(dice.between(5, 120));
        while look < today {
            events.push(Event {
                at: moment(look, dice.between(7 * 60, 15 * 60)),
                gauge: member.number,
                step: Step::LookOver,
            });
            look += Duration::days(i64::from(months) * 30 + dice.between(-25, 2));
        }
    }
    if member.number % 11 == 7 {
        leave_undone(look_over, today, dice, events);
    }
}

/// How glass and gaskets wear in each service class: Weibull shape, and characteristic life in rebuild
/// intervals. Invented: steam and brine wear them out, solvents show early failures.
const WEAR: &[(f64, f64)] = &[
    (2.6, 1.5),
    (2.0, 2.5),
    (1.8, 2.8),
    (0.8, 9.0),
    (2.4, 1.6),
    (1.5, 8.0),
    (1.2, 6.0),
];

/// The days glass and gaskets of a gauge last, drawn from the law of its class; a few gauges hang
/// where they shake and last less than half as long.
fn lasts(member: &Member, interval: i64, dice: &mut Dice) -> i64 {
    let (shape, scale) = WEAR.get(member.class).copied().unwrap_or((1.0, 10.0));
    let shakes = if member.number % 37 == 5 { 0.4 } else { 1.0 };
    let outlived = dice.between(1, 9_999).to_f64().unwrap_or(1.0) / 10_000.0;
    let days =
        interval.to_f64().unwrap_or(0.0) * scale * shakes * (-outlived.ln()).powf(1.0 / shape);
    days.round().to_i64().unwrap_or(i64::MAX)
}

/// No plant does everything in time: what would have been done lately on a few gauges was not, so
/// that they are past due today.
fn leave_undone(look_over: Option<u32>, today: Date, dice: &mut Dice, events: &mut Vec<Event>) {
    if let Some(months) = look_over {
        let missed = today - Duration::days(i64::from(months) * 31 + dice.between(4, 50));
        events.retain(|event| event.step != Step::LookOver || event.at.date() < missed);
    }
    let lately = today - Duration::days(120);
    let last = events
        .iter()
        .filter(|event| matches!(event.step, Step::Plan(_)))
        .max_by_key(|event| event.at)
        .cloned();
    if let Some(last) = last.filter(|last| last.step == Step::Plan(Cause::Interval))
        && last.at.date() >= lately
    {
        events.retain(|event| event.step == Step::LookOver || event.at < last.at);
    }
}

/// The steps of a whole rebuild done on a day.
fn rebuild(member: &Member, day: Date, cause: Cause, dice: &mut Dice, events: &mut Vec<Event>) {
    let planned = day
        - Duration::days(if cause == Cause::Interval {
            dice.between(8, 25)
        } else {
            1
        });
    let mut push = |at: OffsetDateTime, step: Step| {
        events.push(Event {
            at,
            gauge: member.number,
            step,
        });
    };
    push(
        moment(planned, dice.between(8 * 60, 15 * 60)),
        Step::Plan(cause),
    );
    let mut minute = dice.between(6 * 60 + 30, 8 * 60);
    push(moment(day, minute - 20), Step::Issue);
    let mut next = |step: Step, minutes: i64| {
        minute += minutes;
        push(moment(day, minute), step);
    };
    for (step, minutes) in bench(member) {
        next(step, minutes);
    }
    next(Step::SendToTest, 5);
    if dice.chance(4) {
        next(Step::Test { weeps: true }, 13);
        next(Step::TakeBack, 4);
        for section in 1..=member.particulars.sections {
            next(Step::Tighten(section), 10);
        }
        next(Step::SendToTest, 5);
    }
    next(Step::Test { weeps: false }, 14);
    next(Step::Witness, 6);
    next(Step::Certify, 15);
    next(Step::Return, 25);
    if RE_TORQUED.iter().any(|(class, _)| *class == member.class) {
        let later = day + Duration::days(3 + i64::from(member.number % 9));
        push(moment(later, 10 * 60 + 15), Step::ReTorque);
    }
}

/// The steps at the bench with the minutes each takes.
fn bench(member: &Member) -> Vec<(Step, i64)> {
    let sections = member.particulars.sections;
    let mut steps = vec![(Step::Start, 0), (Step::MadeSafe, 25)];
    steps.extend((1..=sections).map(|s| (Step::Strip(s), 12)));
    steps.push((Step::Bolting, 10));
    steps.extend((1..=sections).map(|s| (Step::Faces(s), 9)));
    steps.push((Step::Assemble, 20));
    steps.extend((1..=sections).map(|s| (Step::Tighten(s), 14)));
    steps
}

/// The steps of a rebuild that is not finished yet.
pub fn under_way(member: &Member, today: Date, reached: Reached) -> Vec<Event> {
    let event = |at, step| Event {
        at,
        gauge: member.number,
        step,
    };
    let mut events = vec![event(
        moment(today - Duration::days(6), 9 * 60),
        Step::Plan(Cause::Interval),
    )];
    if reached == Reached::Planned {
        return events;
    }
    let day = today - Duration::days(1);
    events.push(event(moment(day, 7 * 60), Step::Issue));
    let mut minute = 7 * 60 + 30;
    for (step, minutes) in bench(member) {
        if reached == Reached::AtTheBench && matches!(step, Step::Bolting) {
            return events;
        }
        minute += minutes;
        events.push(event(moment(day, minute), step));
    }
    events.push(event(moment(day, minute + 5), Step::SendToTest));
    events
}

/// A moment of a day by its minute, UTC.
pub fn moment(day: Date, minute: i64) -> OffsetDateTime {
    day.with_time(Time::MIDNIGHT).assume_utc() + Duration::minutes(minute)
}

#[cfg(test)]
mod tests {
    use time::macros::datetime;

    use super::*;

    fn event(minute: i64, gauge: u32, step: Step) -> Event {
        Event {
            at: datetime!(2026-03-02 08:00 UTC) + Duration::minutes(minute),
            gauge,
            step,
        }
    }

    #[test]
    fn what_waits_for_a_wrench_moves_its_rebuild_back_and_nothing_else() {
        let mut to_come = VecDeque::from([
            event(1, 2, Step::LookOver),
            event(4, 1, Step::Tighten(2)),
            event(6, 1, Step::Return),
            event(9, 3, Step::LookOver),
            event(12, 1, Step::LookOver),
        ]);
        wait_for_a_wrench(&mut to_come, event(0, 1, Step::Tighten(1)));
        let expected = [
            event(1, 2, Step::LookOver),
            event(5, 1, Step::Tighten(1)),
            event(9, 1, Step::Tighten(2)),
            event(9, 3, Step::LookOver),
            event(11, 1, Step::Return),
            event(12, 1, Step::LookOver),
        ];
        assert_eq!(to_come, expected);
    }

    #[test]
    fn tightening_again_waits_alone() {
        let mut to_come = VecDeque::from([event(2, 1, Step::Start), event(9, 1, Step::Return)]);
        wait_for_a_wrench(&mut to_come, event(0, 1, Step::ReTorque));
        let expected = [
            event(2, 1, Step::Start),
            event(5, 1, Step::ReTorque),
            event(9, 1, Step::Return),
        ];
        assert_eq!(to_come, expected);
    }
}
