//! Thousands of random programmes and small fleets, compared with high-precision series, another
//! discretisation and an independent simulation; `differential/fleet.py` makes them.
//!
//! library: mpmath 1.4.1 (power series of the renewal function with 60 digits), numpy 2.4.6
//! (discretised densities; a plain event-by-event simulation of the rules of bench and windows).

use gaugewright::calc::life::{AgeUnit, Life};
use gaugewright::calc::outlook::{Access, Bench, Chance, Demand, Fleet, Member, Service, outlook};
use gaugewright::calc::rebuild_age::Costs;
use gaugewright::calc::renewal::{Programme, expected_failures, next_failure};
use serde_json::Value;

use super::differential_life::{Deviations, cases, number};

fn life(case: &Value) -> Life {
    Life::new(
        number(case, "shape"),
        number(case, "scale"),
        AgeUnit::Months,
    )
    .unwrap()
}

fn next(case: &Value, d: &mut Deviations) {
    let found = next_failure(life(case), number(case, "age"), number(case, "ahead")).unwrap();
    // A difference of two powers: a short time ahead of a long age loses three digits.
    d.relative(
        "next failure: chance",
        found.chance,
        number(case, "chance"),
        1e-11,
        case,
    );
    d.relative(
        "next failure: patched",
        found.patched_failures,
        number(case, "patched"),
        1e-11,
        case,
    );
}

fn renewal(case: &Value, d: &mut Deviations) {
    let steep = number(case, "shape") >= 1.0;
    let horizon = number(case, "horizon");
    let once = expected_failures(life(case), Programme::AtFailureOnly, horizon).unwrap();
    // The sum errs by more at its start where the hazard falls from infinity.
    let (what, allowed) = if steep {
        ("renewal: wear", 5e-8)
    } else {
        ("renewal: early failures", 5e-7)
    };
    d.relative(what, once.failures, number(case, "failures"), allowed, case);
    let (every, horizon) = (
        case["calendar"][0].as_f64().unwrap(),
        case["calendar"][1].as_f64().unwrap(),
    );
    let calendar = expected_failures(life(case), Programme::Calendar { every }, horizon).unwrap();
    d.relative(
        "renewal: calendar",
        calendar.failures,
        case["calendar"][2].as_f64().unwrap(),
        5e-7,
        case,
    );
    d.relative(
        "renewal: planned",
        calendar.planned_rebuilds,
        case["calendar"][3].as_f64().unwrap(),
        0.0,
        case,
    );
    let patched =
        expected_failures(life(case), Programme::PatchBetween { every }, horizon).unwrap();
    d.relative(
        "renewal: patched",
        patched.failures,
        number(case, "patched"),
        1e-11,
        case,
    );
}

fn total(case: &Value, members: Vec<Member>, bench: Bench, runs: u32) -> Demand {
    let windows = case["windows"].as_array().map_or(vec![], |all| {
        all.iter().map(|w| w.as_f64().unwrap()).collect()
    });
    let service = Service {
        life: life(case),
        every: number(case, "every"),
        costs: Costs {
            planned: 1.0,
            failure: 10.0,
        },
    };
    let fleet = Fleet {
        services: vec![service],
        members,
        windows,
        bench,
    };
    let years = u32::try_from(case["years"].as_u64().unwrap()).unwrap();
    outlook(&fleet, years, Chance { runs, seed: 7 })
        .unwrap()
        .total
}

fn aged(case: &Value, d: &mut Deviations) {
    let gauge = Member {
        service: 0,
        age: number(case, "age"),
        kits: 1,
        access: Access::AnyTime,
    };
    let found = total(case, vec![gauge], Bench::AsMany, 30);
    // Ours is cut into 64 steps a characteristic life, theirs into 160 an interval: both err in the fifth digit.
    let off = (found.failures.value - number(case, "failures")).abs();
    d.note("outlook: failures of an aged gauge", off, 5e-5, case);
    let off = (found.planned_rebuilds.value - number(case, "planned")).abs();
    d.note("outlook: rebuilds of an aged gauge", off, 5e-5, case);
    let horizon = 12.0 * number(case, "years");
    let programme = Programme::Age {
        every: number(case, "every"),
    };
    let new = expected_failures(life(case), programme, horizon).unwrap();
    let off = (new.failures - number(case, "new_failures")).abs();
    d.note("renewal: failures by age", off, 5e-5, case);
    let off = (new.planned_rebuilds - number(case, "new_planned")).abs();
    d.note("renewal: rebuilds by age", off, 5e-5, case);
}

fn played(case: &Value, d: &mut Deviations) {
    let members = case["gauges"]
        .as_array()
        .unwrap()
        .iter()
        .map(|gauge| Member {
            service: 0,
            age: gauge[0].as_f64().unwrap(),
            kits: u32::try_from(gauge[1].as_u64().unwrap()).unwrap(),
            access: if gauge[2].as_bool().unwrap() {
                Access::OnlyInWindows
            } else {
                Access::AnyTime
            },
        });
    let members: Vec<Member> = members.collect();
    let gauges = f64::from(u16::try_from(members.len()).unwrap());
    let bench = Bench::PerMonth(u32::try_from(case["bench"].as_u64().unwrap()).unwrap());
    let found = total(case, members, bench, 300);
    let months = 12.0 * gauges * number(case, "years");
    let ours = [
        found.failures,
        found.planned_rebuilds,
        found.kits,
        found.overdue_share,
    ];
    let names = [
        "played: failures",
        "played: rebuilds",
        "played: kits",
        "played: overdue",
    ];
    for (i, (ours, name)) in ours.into_iter().zip(names).enumerate() {
        let scale = if i == 3 { months } else { 1.0 };
        let (value, error) = (ours.value * scale, ours.standard_error.unwrap() * scale);
        let wanted = case["mean"][i].as_f64().unwrap();
        let joint = error.hypot(case["error"][i].as_f64().unwrap());
        // Two independent simulations of 300 runs: 4000 differences, of which the largest should be
        // near 4 joint standard errors; where nothing varies they must be equal. Rare events
        // make the error itself uncertain, so one event in all runs is allowed besides.
        let slack = if i == 3 { 0.05 } else { 0.01 };
        let off = ((value - wanted).abs() - slack).max(0.0) / joint.max(1e-9);
        d.note(name, off, 5.0, case);
    }
}

#[test]
fn programmes_and_fleets_agree_with_independent_computations() {
    let Some(all) = cases("fleet.jsonl") else {
        return;
    };
    let mut deviations = Deviations::default();
    for case in &all {
        let d = &mut deviations;
        match case["ask"].as_str().unwrap() {
            "next" => next(case, d),
            "renewal" => renewal(case, d),
            "aged" => aged(case, d),
            "played" => played(case, d),
            other => panic!("unknown question {other}"),
        }
    }
    // The renewal function is split into wear and early failures.
    deviations.report(("fleet", "mpmath 1.4.1, numpy 2.4.6"), 100);
}
