//! The outlook of a fleet: the formula against single gauges and published values, the simulation
//! against the formula, and its rules by hand. Random fleets are in `differential_life`.

use gaugewright::calc::life::{AgeUnit, Life};
use gaugewright::calc::outlook::{
    Access, Bench, Chance, Estimate, Fleet, Member, Method, Outlook, Service, outlook,
};
use gaugewright::calc::rebuild_age::Costs;
use proptest::prelude::*;

use super::life_data::close;

const COSTS: Costs = Costs {
    planned: 400.0,
    failure: 2600.0,
};
const CHANCE: Chance = Chance {
    runs: 400,
    seed: 20_260_101,
};

fn service(shape: f64, scale: f64, every: f64) -> Service {
    Service {
        life: Life::new(shape, scale, AgeUnit::Months).unwrap(),
        every,
        costs: COSTS,
    }
}

fn member(age: f64) -> Member {
    Member {
        service: 0,
        age,
        kits: 1,
        access: Access::AnyTime,
    }
}

fn fleet(service: Service, members: Vec<Member>, bench: Bench) -> Fleet {
    Fleet {
        services: vec![service],
        members,
        windows: vec![],
        bench,
    }
}

fn look(fleet: &Fleet, years: u32) -> Outlook {
    outlook(fleet, years, CHANCE).unwrap()
}

#[test]
fn new_gauges_fail_as_the_renewal_values_say() {
    // library: numpy 2.4.6 discretisation with extrapolation (as in `renewal`), 10 and 6 years.
    for (every, shape, scale, years, failures) in [
        (24.0, 2.5, 60.0, 10, 0.487_118),
        (40.0, 2.5, 60.0, 10, 0.960_032),
        (24.0, 1.5, 36.0, 6, 1.501_183),
        (48.0, 3.0, 60.0, 5, 0.444_761),
    ] {
        let found = look(
            &fleet(
                service(shape, scale, every),
                vec![member(0.0); 40],
                Bench::AsMany,
            ),
            years,
        );
        assert_eq!(found.method, Method::Renewal);
        // The table of a fleet is coarser than that of one gauge: 1e-5 of a failure.
        close(
            found.total.failures.value / 40.0,
            failures,
            2e-5,
            "failures",
        );
        assert_eq!(found.total.failures.standard_error, None);
        let by_year: f64 = found.years.iter().map(|year| year.failures.value).sum();
        close(
            by_year,
            found.total.failures.value,
            1e-12,
            "sum of the years",
        );
    }
}

#[test]
fn kits_and_money_follow_the_rebuilds() {
    let mut members = vec![member(3.0); 20];
    for gauge in &mut members {
        gauge.kits = 3;
    }
    let found = look(&fleet(service(2.5, 60.0, 24.0), members, Bench::AsMany), 10).total;
    let (failures, planned) = (found.failures.value, found.planned_rebuilds.value);
    close(found.kits.value, 3.0 * (failures + planned), 1e-12, "kits");
    close(
        found.cost.value,
        2600.0 * failures + 400.0 * planned,
        1e-12,
        "cost",
    );
}

#[test]
fn gauges_that_never_fail_are_rebuilt_on_their_dates() {
    // By hand. Life of 1e9 months: only the calendar is left. Interval 24 months, ages 0, 10, 23 and 30: first
    // rebuilds at 24, 14, 1 and at once, then every 24 months, before month 60.
    let ages = [0.0, 10.0, 23.0, 30.0];
    let members: Vec<Member> = ages.into_iter().map(member).collect();
    let plan = |bench| fleet(service(2.0, 1e9, 24.0), members.clone(), bench);
    for bench in [Bench::AsMany, Bench::PerMonth(5)] {
        let found = look(&plan(bench), 5);
        let planned: Vec<f64> = found
            .years
            .iter()
            .map(|y| y.planned_rebuilds.value)
            .collect();
        // 24 48 | 14 38 | 1 25 49 | 0 24 48
        for (year, (found, wanted)) in planned.iter().zip([2.0, 1.0, 3.0, 1.0, 3.0]).enumerate() {
            close(*found, wanted, 1e-9, &format!("{bench:?} year {year}"));
        }
        close(found.total.overdue_share.value, 0.0, 1e-12, "overdue");
    }
}

#[test]
fn a_full_bench_makes_gauges_wait_longest_due_first() {
    // Never failing, four gauges all due now, one rebuild a month, interval 24: at months 0, 1, 2, 3
    // they are rebuilt, so 0 + 1 + 2 + 3 gauge months are overdue; again at 24 to 27 without waiting.
    let all = vec![member(24.0); 4];
    let found = look(
        &fleet(service(2.0, 1e9, 24.0), all.clone(), Bench::PerMonth(1)),
        3,
    );
    assert_eq!(found.method, Method::Simulation(CHANCE));
    close(
        found.years[0].overdue_share.value,
        6.0 / 48.0,
        1e-12,
        "first year",
    );
    close(found.years[2].overdue_share.value, 0.0, 1e-12, "third year");
    close(found.total.planned_rebuilds.value, 8.0, 1e-12, "rebuilds");
    assert_eq!(found.total.planned_rebuilds.standard_error, Some(0.0));
    // A bench of none: planned rebuilds never happen and all are overdue throughout.
    let found = look(&fleet(service(2.0, 1e9, 24.0), all, Bench::PerMonth(0)), 3);
    close(
        found.total.overdue_share.value,
        1.0,
        1e-12,
        "overdue throughout",
    );
    close(found.total.planned_rebuilds.value, 0.0, 0.0, "none");
}

#[test]
fn gauges_that_need_a_window_are_pulled_to_the_last_one_before_they_are_due() {
    // Never failing, interval 24, windows at 6, 20 and 40. Age 10: due at 14, pulled to 6; then due
    // at 30, pulled to 20; then due at 44, pulled to 40. Age 20: due at 4, no window before it, so
    // overdue until 6; then as the other. Age 10 in service: 14 and 38.
    let mut members = vec![member(10.0), member(20.0)];
    for gauge in &mut members {
        gauge.access = Access::OnlyInWindows;
    }
    let mut plan = fleet(service(2.0, 1e9, 24.0), members, Bench::AsMany);
    plan.windows = vec![6.0, 20.0, 40.0];
    let found = look(&plan, 4);
    let planned: Vec<f64> = found
        .years
        .iter()
        .map(|y| y.planned_rebuilds.value)
        .collect();
    assert_eq!(planned, [2.0, 2.0, 0.0, 2.0]);
    close(
        found.years[0].overdue_share.value,
        2.0 / 24.0,
        1e-12,
        "two months of two gauges",
    );
    close(found.years[1].overdue_share.value, 0.0, 1e-12, "none after");
    // No window at all: overdue from the due date to the end.
    plan.windows = vec![];
    let found = look(&plan, 4);
    close(
        found.total.overdue_share.value,
        (34.0 + 44.0) / 96.0,
        1e-12,
        "no window",
    );
}

fn within(simulated: Estimate, exact: Estimate, what: &str) {
    let error = simulated.standard_error.unwrap();
    let off = (simulated.value - exact.value).abs() / error.max(1e-9);
    assert!(
        off < 4.5,
        "{what}: {} ± {error} is not {}",
        simulated.value,
        exact.value
    );
}

#[test]
fn an_ample_bench_plays_out_as_the_formula_says() {
    let members: Vec<Member> = (0_u8..60)
        .map(|i| Member {
            service: usize::from(i % 2),
            age: f64::from(i % 29),
            kits: u32::from(1 + i % 3),
            access: Access::AnyTime,
        })
        .collect();
    let mut plan = fleet(service(2.5, 60.0, 24.0), members, Bench::AsMany);
    plan.services.push(service(1.5, 36.0, 18.0));
    let exact = look(&plan, 10);
    plan.bench = Bench::PerMonth(1000);
    let played = look(&plan, 10);
    for (played, exact) in played
        .years
        .iter()
        .zip(&exact.years)
        .chain([(&played.total, &exact.total)])
    {
        within(played.failures, exact.failures, "failures");
        within(played.planned_rebuilds, exact.planned_rebuilds, "planned");
        within(played.kits, exact.kits, "kits");
        within(played.cost, exact.cost, "cost");
    }
    assert!(
        played
            .working
            .steps
            .iter()
            .any(|step| step.result.contains('±'))
    );
}

#[test]
fn the_same_seed_gives_the_same_outlook_and_another_seed_another() {
    let plan = fleet(
        service(2.5, 60.0, 24.0),
        vec![member(5.0); 30],
        Bench::PerMonth(2),
    );
    let one = look(&plan, 10);
    assert_eq!(one, look(&plan, 10));
    let other = outlook(&plan, 10, Chance { seed: 1, ..CHANCE }).unwrap();
    assert!((one.total.failures.value - other.total.failures.value).abs() > 1e-9);
    let error = one.total.failures.standard_error.unwrap();
    assert!((one.total.failures.value - other.total.failures.value).abs() < 6.0 * error);
}

#[test]
fn a_gauge_far_older_than_its_life_fails_at_once() {
    // Survival to 1200 months at η = 10, β = 3 is below the smallest float.
    for bench in [Bench::AsMany, Bench::PerMonth(9)] {
        let mut plan = fleet(service(3.0, 10.0, 6.0), vec![member(1200.0)], bench);
        plan.members[0].access = Access::OnlyInWindows;
        let found = look(&plan, 1);
        assert!(
            found.years[0].failures.value >= 1.0,
            "{:?}",
            found.years[0].failures
        );
    }
}

#[test]
fn a_tight_bench_costs_more_failures() {
    let plan = |bench| fleet(service(3.0, 40.0, 18.0), vec![member(9.0); 60], bench);
    let ample = look(&plan(Bench::PerMonth(1000)), 10).total;
    let tight = look(&plan(Bench::PerMonth(2)), 10).total;
    assert!(tight.failures.value > ample.failures.value);
    assert!(tight.overdue_share.value > 0.05 && ample.overdue_share.value < 1e-12);
}

#[test]
fn impossible_fleets_are_refused_by_name() {
    let good = || {
        fleet(
            service(2.5, 60.0, 24.0),
            vec![member(5.0); 3],
            Bench::AsMany,
        )
    };
    let refuse = |plan: &Fleet, years, chance| outlook(plan, years, chance).unwrap_err().input;
    assert_eq!(refuse(&good(), 0, CHANCE), "years of the outlook");
    assert_eq!(refuse(&good(), 51, CHANCE), "years of the outlook");
    assert_eq!(
        refuse(&good(), 5, Chance { runs: 29, seed: 0 }),
        "runs of the simulation"
    );
    let with = |change: &dyn Fn(&mut Fleet)| {
        let mut plan = good();
        change(&mut plan);
        refuse(&plan, 50, CHANCE)
    };
    assert_eq!(with(&|f| f.members.clear()), "number of gauges");
    assert_eq!(
        with(&|f| f.services[0].every = 0.0),
        "time between rebuilds in months"
    );
    assert_eq!(
        with(&|f| f.services[0].every = 2.9),
        "time between rebuilds in months"
    );
    assert_eq!(
        with(&|f| f.services[0].costs.failure = f64::NAN),
        "cost of a failure"
    );
    assert_eq!(with(&|f| f.members[1].service = 1), "service of a gauge");
    assert_eq!(
        with(&|f| f.members[1].age = -1.0),
        "months since the last rebuild"
    );
    assert_eq!(with(&|f| f.members[1].kits = 101), "kits a rebuild");
    assert_eq!(
        with(&|f| f.windows = vec![5.0, 4.0]),
        "month of a shutdown window"
    );
    assert_eq!(
        with(&|f| f.windows = vec![f64::NAN]),
        "month of a shutdown window"
    );
    assert_eq!(
        with(&|f| f.services = vec![f.services[0]; 201]),
        "number of kinds of service"
    );
    // A life of a ten-thousandth of a month would fail a million times: neither way computes it.
    let mut dense = good();
    dense.services[0].life = Life::new(2.5, 1e-4, AgeUnit::Months).unwrap();
    assert_eq!(refuse(&dense, 5, CHANCE), "time between rebuilds");
    dense.bench = Bench::PerMonth(1);
    assert_eq!(
        refuse(
            &dense,
            5,
            Chance {
                runs: 10_000,
                seed: 0
            }
        ),
        "runs of the simulation"
    );
    // At the limit: 50 years of an interval of 3 months are 200 intervals.
    let mut plan = good();
    plan.services[0].every = 3.0;
    assert!(outlook(&plan, 50, CHANCE).is_ok());
    plan.services[0].every = 1200.0;
    assert!(outlook(&plan, 50, CHANCE).is_ok());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn one_gauge_more_adds_what_it_would_ask_for_alone(
        shape in 0.7_f64..5.0, every in 6.0_f64..60.0, ages in prop::collection::vec(0.0_f64..90.0, 2..6)
    ) {
        let plan = |ages: &[f64]| {
            let members = ages.iter().copied().map(member).collect();
            look(&fleet(service(shape, 50.0, every), members, Bench::AsMany), 8).total
        };
        let all = plan(&ages);
        let (mut failures, mut planned) = (0.0, 0.0);
        for age in &ages {
            let alone = plan(&[*age]);
            failures += alone.failures.value;
            planned += alone.planned_rebuilds.value;
        }
        prop_assert!((all.failures.value / failures - 1.0).abs() < 1e-9);
        prop_assert!((all.planned_rebuilds.value - planned).abs() < 1e-9 * (1.0 + planned));
    }

    #[test]
    fn the_unit_of_the_life_does_not_matter(shape in 0.7_f64..5.0, every in 6.0_f64..60.0) {
        let mut plan = fleet(service(shape, 48.0, every), vec![member(7.0)], Bench::AsMany);
        let months = look(&plan, 8).total;
        plan.services[0].life = Life::new(shape, 4.0, AgeUnit::Years).unwrap();
        let years = look(&plan, 8).total;
        prop_assert!((months.failures.value / years.failures.value - 1.0).abs() < 1e-12);
    }
}
