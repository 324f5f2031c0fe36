//! Failures to expect under a programme of rebuilds, against a published table and high-precision
//! arithmetic. Whole fleets are checked in `outlook`.

use gaugewright::calc::life::{AgeUnit, Life};
use gaugewright::calc::renewal::{Expected, Programme, expected_failures, next_failure};
use proptest::prelude::*;

use super::life_data::close;

fn life(shape: f64, scale: f64) -> Life {
    Life::new(shape, scale, AgeUnit::Months).unwrap()
}

fn expect(shape: f64, scale: f64, programme: Programme, horizon: f64) -> Expected {
    expected_failures(life(shape, scale), programme, horizon).unwrap()
}

#[test]
fn the_renewal_function_agrees_with_the_published_table() {
    // published: H. C. Tijms, A First Course in Stochastic Models (2003), Table 8.1.1, Weibull lives
    // of mean 1 with squared coefficient of variation 0.25 and 2: t, printed, and the same by
    // library: mpmath 1.4.1, power series with 80 digits. At 0.8 the printed 0.4141 is one too high in
    // its last digit (the page says that it was computed with steps of 0.02).
    let quarter = (2.101_349_095, 1.129_063_390);
    let two = (0.720_904_742, 0.811_793_351);
    for ((shape, scale), t, printed, series) in [
        (quarter, 0.1, "0.0061", 0.006_122_577_1),
        (quarter, 0.2, "0.0261", 0.026_087_508),
        (quarter, 0.4, "0.1087", 0.108_655_27),
        (quarter, 0.6, "0.2422", 0.242_239_97),
        (quarter, 0.8, "0.4140", 0.414_048_89),
        (quarter, 1.0, "0.6091", 0.609_090_99),
        (quarter, 1.2, "0.8143", 0.814_335_61),
        (quarter, 1.5, "1.124", 1.123_739_1),
        (quarter, 2.0, "1.627", 1.626_673_2),
        (quarter, 2.5, "2.125", 2.124_822_2),
        (two, 0.2, "0.3841", 0.384_128_14),
        (two, 0.5, "0.7785", 0.778_509_1),
        (two, 1.0, "1.357", 1.357_456_5),
        (two, 1.5, "1.901", 1.900_910_6),
        (two, 2.0, "2.428", 2.428_234_8),
        (two, 2.5, "2.947", 2.946_624_2),
        (two, 3.0, "3.460", 3.459_537_6),
        (two, 3.5, "3.969", 3.968_877_7),
        (two, 5.0, "5.485", 5.484_936_7),
        (two, 7.5, "7.995", 7.994_884_6),
    ] {
        let found = expect(shape, scale, Programme::AtFailureOnly, t);
        let places = printed.len() - 2;
        assert_eq!(format!("{:.places$}", found.failures), printed, "t = {t}");
        close(found.failures, series, 1e-6, "series");
    }
}

#[test]
fn the_renewal_function_agrees_with_high_precision_series() {
    // library: mpmath 1.4.1, power series of Smith and Leadbetter with 80 to 120 digits; η = 1.
    for (shape, t, series) in [
        (1.0, 1.0, 1.0),
        (0.8, 1.0, 1.098_508_832),
        (1.5, 1.0, 0.841_578_136_6),
        (1.5, 2.0, 1.945_500_8),
        (2.0, 0.5, 0.230_793_893_6),
        (2.0, 1.0, 0.753_691_277_5),
        (2.0, 2.0, 1.894_039_347),
        (2.0, 3.0, 3.021_745_009),
        (2.5, 1.0, 0.702_507_125_5),
        (2.5, 2.0, 1.843_907_558),
        (3.0, 1.0, 0.672_329_100_2),
        (3.0, 2.0, 1.801_075_257),
        (0.5, 1.0, 1.307_984_264_2),
        (0.5, 3.0, 2.701_406_361_6),
        (0.8, 5.0, 4.701_659_029_8),
        (2.5, 5.0, 5.226_855_653_8),
        (3.5, 2.0, 1.769_010_642_8),
    ] {
        let found = expect(shape, 1.0, Programme::AtFailureOnly, t);
        close(found.failures, series, 1e-7, "M");
        assert!(
            (found.failures - series).abs() <= found.accuracy + 1e-9,
            "β {shape} t {t}"
        );
        assert!(found.planned_rebuilds.abs() < 1e-300);
    }
    // A constant rate: M(t) = t/η, far out as well.
    close(
        expect(1.0, 1.0, Programme::AtFailureOnly, 100.0).failures,
        100.0,
        1e-8,
        "constant rate",
    );
}

#[test]
fn calendar_rebuilds_renew_at_every_interval() {
    // library: mpmath 1.4.1 and numpy 2.4.6, two methods: horizon, interval, β, η, per gauge.
    for (horizon, every, shape, scale, failures, planned) in [
        (120.0, 24.0, 2.5, 60.0, 0.485_787_702, 4.0),
        (120.0, 36.0, 2.5, 60.0, 0.767_684_986, 3.0),
        (60.0, 48.0, 3.0, 60.0, 0.420_375_08, 1.0),
        (72.0, 24.0, 1.5, 36.0, 1.475_502_33, 2.0),
    ] {
        let found = expect(shape, scale, Programme::Calendar { every }, horizon);
        close(found.failures, failures, 1e-8, "calendar");
        // The rebuild planned for the very end belongs to the next horizon.
        close(found.planned_rebuilds, planned, 0.0, "planned");
    }
    let once = expect(2.5, 60.0, Programme::Calendar { every: 200.0 }, 120.0);
    close(
        once.failures,
        1.843_907_558,
        1e-9,
        "no rebuild within the horizon",
    );
    close(once.planned_rebuilds, 0.0, 0.0, "none planned");
}

#[test]
fn patched_failures_follow_the_cumulative_hazard() {
    // library: numpy 2.4.6: fleets of 40, 40, 100 and 10 gauges.
    for (horizon, every, shape, scale, gauges, failures) in [
        (120.0, 24.0, 2.5, 60.0, 40.0, 20.238_577_0),
        (120.0, 36.0, 2.5, 60.0, 40.0, 34.178_117_9),
        (60.0, 48.0, 3.0, 60.0, 100.0, 52.0),
        (72.0, 24.0, 1.5, 36.0, 10.0, 16.329_931_6),
    ] {
        let found = expect(shape, scale, Programme::PatchBetween { every }, horizon);
        close(gauges * found.failures, failures, 3e-9, "patched");
    }
}

#[test]
fn rebuilds_by_age_agree_with_discretised_and_simulated_values() {
    // library: numpy 2.4.6, trapezoidal discretisation with extrapolation, good to 1e-6; beside it a
    // Monte Carlo of 400 000 runs (6 million for the first) with its standard error.
    for (horizon, every, shape, scale, value, simulated, error) in [
        (120.0, 24.0, 2.5, 60.0, 0.487_118, 0.48685, 0.00028),
        (120.0, 40.0, 2.5, 60.0, 0.960_032, 0.9601, 0.0014),
        (72.0, 24.0, 1.5, 36.0, 1.501_183, 1.5019, 0.0018),
        (60.0, 48.0, 3.0, 60.0, 0.444_761, 0.4452, 0.0009),
    ] {
        let found = expect(shape, scale, Programme::Age { every }, horizon);
        assert!(
            (found.failures - value).abs() < 1.1e-6,
            "{}",
            found.failures
        );
        assert!((found.failures - simulated).abs() < 3.0 * error);
        let calendar = expect(shape, scale, Programme::Calendar { every }, horizon);
        assert!(found.planned_rebuilds < calendar.planned_rebuilds);
    }
    // An age never reached within the horizon changes nothing.
    let never = expect(2.5, 60.0, Programme::Age { every: 120.0 }, 120.0);
    close(never.failures, 1.843_907_558, 1e-9, "no planned rebuild");
    close(never.planned_rebuilds, 0.0, 0.0, "none planned");
}

#[test]
fn a_constant_rate_makes_planned_rebuilds_useless() {
    // By hand: with β = 1 failures come at 1/η whatever is planned; after (H − T) the planned
    // rebuilds of age T are a renewal process with gaps T or a failure, here only bounded.
    for every in [7.0, 24.0, 50.0] {
        let found = expect(1.0, 40.0, Programme::Age { every }, 100.0);
        close(found.failures, 2.5, 1e-7, "by age");
        let found = expect(1.0, 40.0, Programme::Calendar { every }, 100.0);
        close(found.failures, 2.5, 1e-9, "by calendar");
        let found = expect(1.0, 40.0, Programme::PatchBetween { every }, 100.0);
        close(found.failures, 2.5, 1e-12, "patched");
    }
}

#[test]
fn horizons_and_intervals_out_of_range_are_refused() {
    let ask = |programme, horizon| expected_failures(life(2.5, 60.0), programme, horizon);
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY, 1.1e9] {
        assert!(ask(Programme::AtFailureOnly, bad).is_err());
        assert!(ask(Programme::Age { every: bad }, 100.0).is_err());
        assert!(ask(Programme::Calendar { every: bad }, 100.0).is_err());
        assert!(ask(Programme::PatchBetween { every: bad }, 100.0).is_err());
    }
    // At most 200 intervals, and intervals of at most 128 η/β: here 3072.
    assert!(ask(Programme::Age { every: 1.0 }, 200.0).is_ok());
    assert!(ask(Programme::Age { every: 1.0 }, 201.0).is_err());
    assert!(ask(Programme::Calendar { every: 1.0 }, 201.0).is_err());
    assert!(ask(Programme::AtFailureOnly, 3071.0).is_ok());
    let refused = ask(Programme::AtFailureOnly, 3073.0).unwrap_err();
    assert!(refused.allowed.contains("3072"), "{refused}");
}

#[test]
fn the_next_failure_of_an_aged_gauge() {
    // library: numpy 2.4.6: age, time ahead, β, η, expected if patched, chance.
    for (age, ahead, shape, scale, patched, chance) in [
        (18.0, 6.0, 2.5, 60.0, 0.051_897_854_9, 0.050_574_159_0),
        (30.0, 6.0, 2.5, 60.0, 0.102_078_105_6, 0.097_040_977_3),
        (0.0, 12.0, 1.5, 36.0, 0.192_450_089_7, 0.175_064_510_1),
    ] {
        let found = next_failure(life(shape, scale), age, ahead).unwrap();
        close(found.patched_failures, patched, 2e-9, "patched");
        close(found.chance, chance, 2e-9, "chance");
        assert!(found.working.answer().unwrap().ends_with('%'));
    }
    assert!(next_failure(life(2.5, 60.0), -1.0, 5.0).is_err());
    assert!(next_failure(life(2.5, 60.0), f64::NAN, 5.0).is_err());
    assert!(next_failure(life(2.5, 60.0), 1.0, 0.0).is_err());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(16))]

    #[test]
    fn failures_lie_between_one_life_and_patching(
        shape in 0.5_f64..6.0, horizon in 1.0_f64..200.0
    ) {
        let found = expect(shape, 60.0, Programme::AtFailureOnly, horizon).failures;
        let once = life(shape, 60.0).failed_by(horizon);
        prop_assert!(found >= once * (1.0 - 1e-6));
        let patched = life(shape, 60.0).cumulative_hazard(horizon);
        if shape > 1.0 {
            prop_assert!(found <= patched * (1.0 + 1e-6));
        } else {
            prop_assert!(found >= patched * (1.0 - 1e-6));
        }
    }

    #[test]
    fn planned_rebuilds_help_against_wear_only(
        shape in 0.5_f64..6.0, every in 5.0_f64..80.0
    ) {
        let with = expect(shape, 60.0, Programme::Age { every }, 120.0).failures;
        let without = expect(shape, 60.0, Programme::AtFailureOnly, 120.0).failures;
        if shape > 1.0 {
            prop_assert!(with <= without * (1.0 + 1e-5));
        } else {
            prop_assert!(with >= without * (1.0 - 1e-5));
        }
    }

    #[test]
    fn every_failure_and_rebuild_starts_a_life(
        shape in 0.6_f64..6.0, every in 5.0_f64..80.0
    ) {
        // Far out, the time per rebuild is the mean cycle ∫R, here by Simpson's rule.
        let horizon = 12.0 * every;
        let found = expect(shape, 60.0, Programme::Age { every }, horizon);
        let panels = 2_000_u32;
        let step = every / f64::from(panels);
        let mut cycle = 0.0;
        for i in 0..=panels {
            let weight = if i == 0 || i == panels { 1.0 } else if i % 2 == 1 { 4.0 } else { 2.0 };
            cycle += weight * life(shape, 60.0).survival(f64::from(i) * step);
        }
        cycle *= step / 3.0;
        let rebuilds = found.failures + found.planned_rebuilds;
        // The count of renewals exceeds or misses t/μ by less than two.
        prop_assert!((rebuilds - horizon / cycle).abs() < 2.0, "{} {}", rebuilds, horizon / cycle);
    }
}
