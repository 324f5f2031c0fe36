//! What happens at the edges, one test an edge: nothing, less than nothing, no number, too much, one
//! point, one line, no failure, ties, month's ends, leap days, empty fleets, the last usable day.
//!
//! Every answer here is a refusal, plain arithmetic or a rule of the calendar; where a value comes
//! from elsewhere it is said beside it.

use gaugewright::calc::bolting::{Lubrication, NutFactor, load, wrench_fits};
use gaugewright::calc::calendar::{add_months, last_of_month, months_before};
use gaugewright::calc::conformance::{Guard, Limit, Verdict, decide, probability};
use gaugewright::calc::demand::{KitsPerEvent, expected_events, poisson};
use gaugewright::calc::due::{Facts, governing_only};
use gaugewright::calc::flatness::{FlatnessError, Station, minimum_zone};
use gaugewright::calc::life::{AgeUnit, Confidence, Life, LifeData, LifeError};
use gaugewright::calc::lots::{Lot, Release, Usability, Wanted, cover, replay, usability};
use gaugewright::calc::needs::failure_rate;
use gaugewright::calc::outlook::{Bench, Chance, Fleet, outlook};
use gaugewright::calc::pressure_test::head::of_column;
use gaugewright::calc::pressure_test::{Code, Request, required, stress_ratio};
use gaugewright::calc::quantity::{
    AbsolutePressure, LengthUnit, PressureUnit, Stamped, StampedPressure, TemperatureUnit,
    ThermodynamicTemperature, TorqueUnit, Unit, decimal, significant,
};
use gaugewright::calc::ranks::{RankEstimate, adjusted_ranks, median_rank};
use gaugewright::calc::rating::{Point, at};
use gaugewright::calc::rebuild_age::{Costs, best_rebuild_age};
use gaugewright::calc::renewal::next_failure;
use gaugewright::calc::stock_plan::expected_wants;
use gaugewright::calc::stored_energy::{Edition, Gas, gas_test};
use gaugewright::calc::survival::{BoundsOn, kaplan_meier};
use gaugewright::calc::tighten::{order, passes};
use gaugewright::calc::trend::{History, Watched, power_law, trend};
use gaugewright::calc::uncertainty::{Influence, Known, combine, coverage_factor};
use gaugewright::calc::wall::{Outlook, Taken, WallReading, remaining_life};
use gaugewright::calc::weibull::{Assessment, AssumedShape, assess, fit};
use gaugewright::calc::{saturation, water};
use rust_decimal::Decimal;
use time::Date;
use time::macros::date;
use uom::si::f64::{MassDensity, Volume};
use uom::si::mass_density::kilogram_per_cubic_meter;
use uom::si::thermodynamic_temperature::kelvin;
use uom::si::volume::cubic_meter;

use super::life_data::{failed, good, lives};

fn stamped<U: Unit>(value: &str, unit: U) -> Stamped<U> {
    Stamped::new(decimal("value", value).unwrap(), unit)
}

fn psi(value: &str) -> StampedPressure {
    stamped(value, PressureUnit::Psi)
}

fn asked(rating: StampedPressure, stress_ratio: Option<f64>) -> Request {
    Request {
        rating,
        code: Code::CommonPractice,
        stress_ratio,
        factor: None,
        component_limit: None,
    }
}

fn sure(level: f64) -> Confidence {
    Confidence::new(level).unwrap()
}

fn station(x: f64, y: f64, height: f64) -> Station {
    Station { x, y, height }
}

fn lot(received: Date, last_usable: Date, quantity: u32) -> Lot<&'static str> {
    Lot {
        key: "A",
        received,
        last_usable: Some(last_usable),
        quantity,
        release: Release::Released,
    }
}

#[test]
fn nothing_and_less_than_nothing_are_refused_where_they_mean_nothing() {
    let nm = |value| stamped(value, TorqueUnit::NewtonMetre);
    let thread = "M12".parse().unwrap();
    for bad in ["0", "-1"] {
        assert!(passes(nm(bad), nm("5")).is_err());
        assert!(passes(nm("30"), nm(bad)).is_err());
        assert!(wrench_fits(nm(bad), nm("0"), nm("100")).is_err());
        assert!(load(nm(bad), thread, NutFactor::of(Lubrication::Dry), None).is_err());
        assert!(required(&asked(psi(bad), None)).is_err());
        assert!(stress_ratio(psi(bad), psi("1000"), None).is_err());
        let gas = Volume::new::<cubic_meter>(1.0);
        assert!(gas_test(psi(bad), gas, Gas::AirOrNitrogen, Edition::Of2022).is_err());
    }
    assert!(order(0).is_err());
    assert!(median_rank(0.0, 5, RankEstimate::Exact).is_err());
    assert!(failure_rate(0, 0.0).is_err());
    assert!(probability(1.0, 0.0, 0.0, 2.0).is_err());
    // Where nothing has a meaning it is computed: no gauges fail not at all, a column of no height
    // presses with nothing, no demand is met by no kits.
    assert!(expected_events(0.3, 0, 365).unwrap().abs() < f64::EPSILON);
    let water = MassDensity::new::<kilogram_per_cubic_meter>(998.2);
    let none = of_column(water, stamped("0", LengthUnit::Metre)).unwrap();
    assert!(none.pa().abs() < f64::EPSILON);
    assert_eq!(poisson(0.0).unwrap().largest(), 0);
    assert_eq!(expected_wants(0.0, date!(2026 - 01 - 31), 12).unwrap(), []);
    assert_eq!(significant(0.0, 4), "0");
}

#[test]
fn what_is_no_number_is_refused_everywhere() {
    for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
        assert!(NutFactor::new(bad, bad, bad).is_err());
        assert!(required(&asked(psi("100"), Some(bad))).is_err());
        assert!(stress_ratio(psi("100"), psi("100"), Some(bad)).is_err());
        assert!(minimum_zone(&[station(0.0, 0.0, bad); 4]).is_err());
        assert!(probability(bad, 1.0, 0.0, 2.0).is_err());
        assert!(probability(1.0, bad, 0.0, 2.0).is_err());
        assert!(Guard::of(bad).is_err());
        assert!(coverage_factor(bad, None).is_err());
        let known = Known::Standard {
            value: bad,
            freedom: None,
        };
        let name = "dial".to_owned();
        assert!(combine(&[Influence { name, known }]).is_err());
        assert!(Life::new(bad, 1.0, AgeUnit::Years).is_err());
        assert!(Life::new(1.0, bad, AgeUnit::Years).is_err());
        assert!(Confidence::new(bad).is_err());
        assert!(AssumedShape::new(bad).is_err());
        assert!(LifeData::new(AgeUnit::Days, vec![failed(bad)]).is_err());
        assert!(History::new(AgeUnit::Days, vec![bad], Watched::ToLastFailure).is_err());
        assert!(expected_events(bad, 1, 1).is_err());
        assert!(poisson(bad).is_err());
        assert!(KitsPerEvent::new(&[(1, bad)]).is_err());
        assert!(failure_rate(1, bad).is_err());
        assert!(expected_wants(bad, date!(2026 - 01 - 01), 3).is_err());
        assert!(saturation::temperature(AbsolutePressure::from_pa(bad)).is_err());
        let warm = ThermodynamicTemperature::new::<kelvin>(bad);
        assert!(saturation::pressure(warm).is_err());
        assert!(water::at(warm, AbsolutePressure::from_pa(1e6)).is_err());
        let costs = Costs {
            planned: bad,
            failure: 1.0,
        };
        let life = Life::new(2.0, 10.0, AgeUnit::Years).unwrap();
        assert!(best_rebuild_age(life, costs, None).is_err());
        assert!(next_failure(life, bad, 1.0).is_err());
        assert!(next_failure(life, 1.0, bad).is_err());
    }
    for text in ["NaN", "inf", "-", ".", "1e400"] {
        assert!(decimal("value", text).is_err(), "{text}");
    }
}

#[test]
fn too_much_is_refused_and_never_overflows() {
    let huge = Stamped::new(Decimal::MAX, PressureUnit::Psi);
    assert!(required(&asked(huge, None)).is_err());
    assert!(stress_ratio(huge, psi("1"), None).is_err());
    let torque = Stamped::new(Decimal::MAX, TorqueUnit::NewtonMetre);
    assert!(passes(torque, torque).is_err());
    assert!(wrench_fits(torque, torque, torque).is_err());
    let tall = Stamped::new(Decimal::MAX, LengthUnit::Metre);
    let water = MassDensity::new::<kilogram_per_cubic_meter>(998.2);
    assert!(of_column(water, tall).is_err());
    let point = Point {
        temperature: stamped("20", TemperatureUnit::Celsius),
        pressure: huge,
    };
    assert!(at(&[point], stamped("20", TemperatureUnit::Celsius)).is_err());
    assert!(minimum_zone(&[station(1e300, 0.0, 0.0); 5]).is_err());
    assert!(poisson(1e300).is_err());
    assert!(failure_rate(u32::MAX, 1e300).is_err());
    assert!(add_months(date!(2026 - 01 - 31), u32::MAX).is_err());
    assert!(months_before(date!(2026 - 01 - 31), u32::MAX).is_err());
    assert!(Life::new(2.0, 1e300, AgeUnit::Hours).is_err());
    // Ages up to a thousand million are computed, and nothing becomes infinite on the way.
    let life = Life::new(100.0, 1e9, AgeUnit::Hours).unwrap();
    assert!(next_failure(life, 1e9, 1e9).unwrap().chance <= 1.0);
    assert!(coverage_factor(0.95, Some(f64::MAX)).unwrap().is_finite());
}

#[test]
fn one_point_is_taken_for_what_it_is() {
    // One point of a rating table rates its own temperature and nothing beside it.
    let celsius = |value| stamped(value, TemperatureUnit::Celsius);
    let only = [Point {
        temperature: celsius("38"),
        pressure: psi("285"),
    }];
    assert_eq!(at(&only, celsius("38")).unwrap().pressure, psi("285"));
    assert!(at(&only, celsius("37.9")).is_err() && at(&only, celsius("38.1")).is_err());
    // One station has no flatness, one wall reading no rate, one failure no curve and no trend.
    assert_eq!(
        minimum_zone(&[station(1.0, 1.0, 1.0)]),
        Err(FlatnessError::TooFewStations { given: 1 })
    );
    let reading = WallReading {
        on: date!(2024 - 02 - 29),
        thickness: stamped("4", LengthUnit::Millimetre),
        taken: Taken::AfterService,
    };
    let limit = stamped("2.54", LengthUnit::Millimetre);
    let alone = remaining_life(&[reading], limit, 12).unwrap();
    assert_eq!(
        (alone.outlook, alone.governing),
        (Outlook::RateUnknown, None)
    );
    let single = lives(&[100.0], &[]);
    assert!(matches!(
        fit(&single),
        Err(LifeError::TooFewFailures { .. })
    ));
    // published: the median of Beta(1, 1) is one half (any table of median ranks, n = 1).
    let ranks = adjusted_ranks(&single, RankEstimate::Exact).unwrap();
    assert!((ranks[0].share - 0.5).abs() < 1e-12);
    let one = History::new(AgeUnit::Days, vec![5.0], Watched::Until(10.0)).unwrap();
    assert!(power_law(&one, sure(0.9)).is_err() && trend(&[one], sure(0.9)).is_err());
    // One reading has no scatter.
    let known = Known::Readings { values: vec![1.0] };
    let name = "reading".to_owned();
    assert!(combine(&[Influence { name, known }]).is_err());
}

#[test]
fn stations_in_one_line_tell_straightness_and_not_flatness() {
    for (dx, dy) in [(1.0, 0.0), (0.0, 1.0), (3.0, -2.0), (1.0, 1e-9)] {
        let line: Vec<Station> = (0_u8..12)
            .map(|i| station(dx * f64::from(i), dy * f64::from(i), f64::from(i % 3)))
            .collect();
        assert_eq!(
            minimum_zone(&line),
            Err(FlatnessError::OneLine),
            "{dx} {dy}"
        );
    }
    // All at one spot: no line even.
    assert_eq!(
        minimum_zone(&[station(7.0, 7.0, 0.1); 6]),
        Err(FlatnessError::OneLine)
    );
}

#[test]
fn when_no_life_has_ended_only_a_bound_is_given() {
    let data = LifeData::new(AgeUnit::Hours, vec![good(500.0), good(800.0), good(300.0)]).unwrap();
    assert_eq!(
        fit(&data),
        Err(LifeError::TooFewFailures {
            failures: 0,
            units: 3,
            needed: 3
        })
    );
    assert!(adjusted_ranks(&data, RankEstimate::Exact).is_err());
    let curve = kaplan_meier(&data, sure(0.95), BoundsOn::LogLog).unwrap();
    assert_eq!((curve.levels.len(), curve.median), (0, None));
    assert!((curve.known_until - 800.0).abs() < f64::EPSILON);
    match assess(&data, AssumedShape::new(1.0).unwrap(), sure(0.9)).unwrap() {
        Assessment::BoundOnly { bound, .. } => {
            assert_eq!(bound.life, None);
            // published: NIST/SEMATECH e-Handbook 8.4.5.1: without a failure the bound of a constant
            // rate is T/(−ln(1 − c)): 1600 h over 2.302585 at 90 %.
            assert!((bound.at_least.scale() - 1600.0 / std::f64::consts::LN_10).abs() < 1e-6);
        }
        Assessment::Curve(_) => panic!("a curve from no failure"),
    }
}

#[test]
fn ties_are_settled_the_same_way_each_time() {
    // Two failures at one age are one step of the curve; a life good until then is still at risk.
    let tied = lives(&[10.0, 10.0], &[(10.0, 2)]);
    let curve = kaplan_meier(&tied, sure(0.9), BoundsOn::Plain).unwrap();
    assert_eq!(curve.levels.len(), 1);
    assert_eq!((curve.levels[0].at_risk, curve.levels[0].failures), (4, 2));
    assert!((curve.levels[0].survival - 0.5).abs() < 1e-15);
    assert_eq!(fit(&lives(&[10.0; 5], &[])), Err(LifeError::AllAtOneAge));
    // A value on the limit keeps it, on either side and in either unit.
    let tenth = |value, unit| stamped(value, unit);
    let inch = LengthUnit::Inch;
    for limit in [
        Limit::at_most(tenth("0.1", inch)),
        Limit::at_least(tenth("2.54", LengthUnit::Millimetre)),
    ] {
        let found = decide(tenth("0.1", inch), tenth("0.001", inch), limit, Guard::NONE).unwrap();
        assert_eq!(found.verdict, Verdict::Accept);
    }
    // At the same date the graver rule is named.
    let same = date!(2026 - 05 - 04);
    let facts = Facts {
        gasket_due: Some(same),
        recall_on: Some(same),
        wall_due: Some(same),
        ..Facts::default()
    };
    let due = governing_only(&facts).unwrap();
    assert_eq!(due.governing.unwrap().rule.words(), "recall");
    // Two highest stations of one height: the zone is the same whichever is named.
    let flat = [
        station(0.0, 0.0, 0.0),
        station(4.0, 0.0, 1.0),
        station(0.0, 4.0, 1.0),
        station(4.0, 4.0, 0.0),
    ];
    assert!((minimum_zone(&flat).unwrap().minimum_zone - 1.0).abs() < 1e-14);
}

#[test]
fn month_ends_and_leap_days_are_kept_by_the_calendar() {
    // library: python-dateutil 4.0.0, relativedelta.
    for (from, months, to) in [
        (date!(2026 - 01 - 31), 1, date!(2026 - 02 - 28)),
        (date!(2028 - 01 - 31), 1, date!(2028 - 02 - 29)),
        (date!(2024 - 02 - 29), 12, date!(2025 - 02 - 28)),
        (date!(2024 - 02 - 29), 48, date!(2028 - 02 - 29)),
        (date!(2096 - 02 - 29), 48, date!(2100 - 02 - 28)),
        (date!(2026 - 08 - 31), 6, date!(2027 - 02 - 28)),
    ] {
        assert_eq!(add_months(from, months).unwrap(), to);
    }
    assert_eq!(
        months_before(date!(2028 - 03 - 31), 1).unwrap(),
        date!(2028 - 02 - 29)
    );
    assert_eq!(last_of_month(date!(2100 - 02 - 01)), date!(2100 - 02 - 28));
    let facts = Facts {
        anchor: Some(date!(2024 - 02 - 29)),
        rebuild_months: Some(24),
        ..Facts::default()
    };
    assert_eq!(
        governing_only(&facts).unwrap().latest_date,
        Some(date!(2026 - 02 - 28))
    );
}

#[test]
fn an_empty_fleet_asks_for_nothing_or_is_named() {
    assert!(KitsPerEvent::from_fleet(&[]).is_err());
    let nobody = Fleet {
        services: vec![],
        members: vec![],
        windows: vec![],
        bench: Bench::AsMany,
    };
    let chance = Chance { runs: 100, seed: 1 };
    assert!(outlook(&nobody, 5, chance).is_err_and(|e| e.input == "number of gauges"));
    assert!(
        LifeData::new(AgeUnit::Days, vec![]).is_err_and(|e| e.input == "number of gauge lives")
    );
    assert!(trend(&[], sure(0.9)).is_err());
    let due = governing_only(&Facts::default()).unwrap();
    assert_eq!((due.governing, due.latest_date), (None, None));
    let today = date!(2026 - 03 - 02);
    let shelf = cover::<&str>(&[], &[], today, today).unwrap();
    assert_eq!((shelf.usable, shelf.short, shelf.short_on), (0, 0, None));
}

#[test]
fn stock_that_expires_on_the_day_still_serves_that_day() {
    // common practice, no source: the last usable day is a usable day.
    let last = date!(2028 - 02 - 29);
    let shelf = [lot(date!(2026 - 01 - 01), last, 2)];
    assert_eq!(usability(&shelf[0], last, 0), Usability::Usable);
    assert_eq!(usability(&shelf[0], last, 1), Usability::TooFewDaysLeft);
    let next = last.next_day().unwrap();
    assert_eq!(usability(&shelf[0], next, 0), Usability::Expired);
    let want = |on| Wanted { on, quantity: 1 };
    let played = replay(&shelf, &[want(last), want(next)], 0, next).unwrap();
    assert_eq!(played.picks.len(), 1);
    assert_eq!(played.picks[0].on, last);
    assert_eq!(played.missing, [want(next)]);
    assert_eq!(played.expired, [("A", 1)]);
    // Received on its last usable day it serves that one day.
    let short_lived = [lot(last, last, 1)];
    assert_eq!(usability(&short_lived[0], last, 0), Usability::Usable);
}
