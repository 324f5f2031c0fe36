//! Survival curves with Greenwood's bounds and the mean time between failures, against published
//! tables and libraries. Weibull lives of the same data are checked in `weibull`.

use gaugewright::calc::life::{AgeUnit, Confidence, LifeData, LifeError, Observation};
use gaugewright::calc::survival::{
    BoundsOn, Ended, Exposure, kaplan_meier, mean_time_between_failures,
};
use proptest::prelude::*;

use super::life_data::{close, failed, found, good, lives, nist};

fn sure(level: f64) -> Confidence {
    Confidence::new(level).unwrap()
}

/// Age, at risk, failed, survival, standard error, bounds plain, log and log-log.
type Row = (f64, usize, usize, f64, f64, [f64; 6]);

fn check(data: &LifeData, rows: &[Row]) {
    for (column, on) in [BoundsOn::Plain, BoundsOn::Log, BoundsOn::LogLog]
        .into_iter()
        .enumerate()
    {
        let curve = kaplan_meier(data, sure(0.95), on).unwrap();
        assert_eq!(curve.levels.len(), rows.len());
        for (level, row) in curve.levels.iter().zip(rows) {
            assert_eq!((level.at_risk, level.failures), (row.1, row.2));
            close(level.at, row.0, 0.0, "age");
            // Six decimals are given.
            assert!((level.survival - row.3).abs() < 6e-7, "S at {}", row.0);
            assert!((level.standard_error.unwrap() - row.4).abs() < 6e-7);
            let (low, high) = level.bounds.unwrap();
            assert!(
                (low - row.5[2 * column]).abs() < 1e-6,
                "{on:?} {low} at {}",
                row.0
            );
            assert!(
                (high - row.5[2 * column + 1]).abs() < 1e-6,
                "{on:?} {high} at {}",
                row.0
            );
        }
    }
}

#[test]
fn the_remission_data_give_the_textbook_curve() {
    // published: weeks of Freireich et al. 1963 as printed at
    // <http://talkstats.com/threads/greenwoods-formula.591/>; textbook column from memory: 0.857
    // 0.807 0.753 0.690 0.627 0.538 0.448, errors 0.076 0.087 0.096 0.107 0.114 0.128 0.135; further
    // digits library: lifelines 0.30.3 and statsmodels 0.15.0.
    let data = lives(
        &[6.0, 6.0, 6.0, 7.0, 10.0, 13.0, 16.0, 22.0, 23.0],
        &[6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35].map(|week: u8| (f64::from(week), 1)),
    );
    #[rustfmt::skip]
    check(&data, &[
        (6.0, 21, 3, 0.857_143, 0.076_360, [0.707_479, 1.0, 0.719_817, 1.0, 0.619_718, 0.951_552]),
        (7.0, 17, 1, 0.806_723, 0.086_935, [0.636_333, 0.977_113, 0.653_124, 0.996_444, 0.563_147, 0.922_809]),
        (10.0, 15, 1, 0.752_941, 0.096_350, [0.564_099, 0.941_783, 0.585_919, 0.967_575, 0.503_200, 0.889_362]),
        (13.0, 12, 1, 0.690_196, 0.106_815, [0.480_843, 0.899_549, 0.509_613, 0.934_769, 0.431_610, 0.849_066]),
        (16.0, 11, 1, 0.627_451, 0.114_054, [0.403_910, 0.850_992, 0.439_394, 0.895_995, 0.367_511, 0.804_912]),
        (22.0, 7, 1, 0.537_815, 0.128_234, [0.286_482, 0.789_149, 0.337_037, 0.858_201, 0.267_779, 0.746_791]),
        (23.0, 6, 1, 0.448_179, 0.134_591, [0.184_385, 0.711_974, 0.248_788, 0.807_372, 0.188_052, 0.680_143]),
    ]);
    let curve = kaplan_meier(&data, sure(0.95), BoundsOn::LogLog).unwrap();
    assert_eq!((curve.median, curve.known_until), (Some(23.0), 35.0));
}

#[test]
fn the_leukaemia_data_give_the_library_curve() {
    // published: R. G. Miller, Survival Analysis (1981), page 49, maintained arm, as in the data set
    // `aml` of the R package survival; values library: lifelines 0.30.3 and statsmodels 0.15.0.
    let data = lives(
        &[9.0, 13.0, 18.0, 23.0, 31.0, 34.0, 48.0],
        &[(13.0, 1), (28.0, 1), (45.0, 1), (161.0, 1)],
    );
    #[rustfmt::skip]
    check(&data, &[
        (9.0, 11, 1, 0.909_091, 0.086_678, [0.739_204, 1.0, 0.754_134, 1.0, 0.508_080, 0.986_674]),
        (13.0, 10, 1, 0.818_182, 0.116_291, [0.590_255, 1.0, 0.619_249, 1.0, 0.447_429, 0.951_162]),
        (18.0, 8, 1, 0.715_909, 0.139_665, [0.442_171, 0.989_647, 0.488_426, 1.0, 0.350_190, 0.899_024]),
        (23.0, 7, 1, 0.613_636, 0.152_632, [0.314_482, 0.912_790, 0.376_867, 0.999_158, 0.265_752, 0.835_299]),
        (31.0, 5, 1, 0.490_909, 0.164_193, [0.169_096, 0.812_722, 0.254_860, 0.945_585, 0.167_331, 0.753_400]),
        (34.0, 4, 1, 0.368_182, 0.162_669, [0.049_357, 0.687_007, 0.154_877, 0.875_261, 0.092_830, 0.657_041]),
        (48.0, 2, 1, 0.184_091, 0.153_493, [0.0, 0.484_931, 0.035_918, 0.943_526, 0.011_738, 0.525_015]),
    ]);
}

#[test]
fn a_curve_that_ends_in_a_failure_ends_at_zero_without_bounds() {
    // published: Bewick et al., Critical Care 2004 8:389, Table 2,
    // <http://ccforum.com/content/8/5/389/table/T2>: 0.750, 0.625, 0.500, 0.333, 0.000.
    let data = lives(&[1.0, 1.0, 4.0, 5.0, 9.0, 22.0], &[(6.0, 1), (9.0, 1)]);
    let curve = kaplan_meier(&data, sure(0.95), BoundsOn::Plain).unwrap();
    let printed: Vec<String> = curve
        .levels
        .iter()
        .map(|l| format!("{:.3}", l.survival))
        .collect();
    assert_eq!(printed, ["0.750", "0.625", "0.500", "0.333", "0.000"]);
    let last = curve.levels[4];
    assert_eq!((last.standard_error, last.bounds), (None, None));
    assert_eq!(curve.median, Some(5.0));
    // library: lifelines 0.30.3 (fourth row).
    let row = curve.levels[3];
    assert!((row.standard_error.unwrap() - 0.180_021).abs() < 6e-7);
    assert!((row.bounds.unwrap().1 - 0.686_167).abs() < 1e-6);
}

#[test]
fn a_curve_that_ends_censored_stays_where_it_is() {
    // published data: NIST/SEMATECH e-Handbook 8.4.1.3; values library: lifelines 0.30.3.
    let curve = kaplan_meier(&nist(), sure(0.95), BoundsOn::LogLog).unwrap();
    let (first, last) = (curve.levels[0], curve.levels[9]);
    assert!((first.survival - 0.95).abs() < 1e-12 && (last.survival - 0.5).abs() < 1e-12);
    assert!((first.standard_error.unwrap() - 0.048_734).abs() < 6e-7);
    let (low, high) = last.bounds.unwrap();
    assert!((low - 0.271_328).abs() < 1e-6 && (high - 0.691_892).abs() < 1e-6);
    // At exactly one half the first age counts; other programs average over the flat step.
    assert_eq!((curve.median, curve.known_until), (Some(386.0), 500.0));
    let none = kaplan_meier(&lives(&[], &[(5.0, 3)]), sure(0.9), BoundsOn::Log).unwrap();
    assert!(none.levels.is_empty() && none.median.is_none());
    assert!(none.working.steps[0].result.starts_with("1: no failure"));
}

#[test]
fn a_life_whose_records_begin_late_is_at_risk_only_from_then() {
    // By hand: at 4 two lives are at risk (the third enters at 5), at 8 two, at 9 one.
    let late = Observation {
        since: 5.0,
        ..failed(9.0)
    };
    let data = LifeData::new(AgeUnit::Years, vec![failed(4.0), failed(8.0), late]).unwrap();
    let curve = kaplan_meier(&data, sure(0.95), BoundsOn::Plain).unwrap();
    let at_risk: Vec<usize> = curve.levels.iter().map(|l| l.at_risk).collect();
    assert_eq!(at_risk, [2, 2, 1]);
    close(curve.levels[1].survival, 0.25, 1e-15, "S(8)");
}

#[test]
fn a_failure_found_between_looks_has_no_place_on_the_curve() {
    let data = LifeData::new(AgeUnit::Years, vec![failed(4.0), found(1.0, 2.0)]).unwrap();
    assert_eq!(
        kaplan_meier(&data, sure(0.9), BoundsOn::Log).unwrap_err(),
        LifeError::FoundBetweenLooks
    );
}

fn exposure(time: f64, failures: u32, ended: Ended) -> Exposure {
    Exposure {
        time,
        unit: AgeUnit::Hours,
        failures,
        ended,
    }
}

#[test]
fn mean_time_between_failures_agrees_with_the_handbook_and_the_library() {
    use Ended::{ByFailure, ByTime};
    // published: NIST/SEMATECH e-Handbook 8.4.5.1, first row: 800 h, 2 failures, 90 %, 127 to 2251 h.
    // The others and all digits library: scipy 1.17.1 stats.chi2.ppf. The second row is the first
    // with twice the time.
    for (time, failures, level, ended, low, high, at_least) in [
        (
            800.0,
            2,
            0.90,
            ByTime,
            127.068_968,
            2_251.228_611,
            150.310_381,
        ),
        (
            1600.0,
            2,
            0.90,
            ByTime,
            254.137_936,
            4_502.457_222,
            300.620_762,
        ),
        (
            5000.0,
            10,
            0.95,
            ByFailure,
            292.657_742,
            1_042.668_346,
            318.365_559,
        ),
        (
            5000.0,
            10,
            0.95,
            ByTime,
            271.881_631,
            1_042.668_346,
            294.772_749,
        ),
        (
            87600.0,
            3,
            0.80,
            ByTime,
            13_112.235_363,
            79_487.120_912,
            15_883.821_191,
        ),
    ] {
        let found =
            mean_time_between_failures(exposure(time, failures, ended), sure(level)).unwrap();
        close(
            found.estimate.unwrap(),
            time / f64::from(failures),
            1e-15,
            "T/r",
        );
        let (lower, upper) = found.bounds.unwrap();
        close(lower, low, 4e-9, "lower");
        close(upper, high, 4e-9, "upper");
        close(found.at_least, at_least, 4e-9, "one-sided");
    }
}

#[test]
fn without_a_failure_only_a_lower_bound_can_be_said() {
    // T / (−ln(1 − c)): 1000/ln 10 and 1000/(−ln 0.4).
    for (level, at_least) in [(0.90, 434.294_481_903), (0.60, 1_091.356_667_943)] {
        let found =
            mean_time_between_failures(exposure(1000.0, 0, Ended::ByTime), sure(level)).unwrap();
        assert_eq!((found.estimate, found.bounds), (None, None));
        close(found.at_least, at_least, 1e-11, "lower bound");
        assert!(found.working.steps[0].result.starts_with("none"));
    }
    for (time, failures, ended) in [
        (0.0, 1, Ended::ByTime),
        (f64::NAN, 1, Ended::ByTime),
        (1000.0, 0, Ended::ByFailure),
        (1000.0, 100_001, Ended::ByTime),
    ] {
        assert!(mean_time_between_failures(exposure(time, failures, ended), sure(0.9)).is_err());
    }
    // library: scipy 1.17.1, at the limit of the range: 100 000 failures in 1e9 h, 90 %, by time.
    let many =
        mean_time_between_failures(exposure(1e9, 100_000, Ended::ByTime), sure(0.9)).unwrap();
    close(many.bounds.unwrap().0, 9_948.098_889_662, 1e-10, "lower");
}

proptest! {
    #[test]
    fn without_censoring_the_curve_counts_what_is_left(
        ages in prop::collection::vec(1_u16..60, 1..40)
    ) {
        let all: Vec<Observation> = ages.iter().map(|age| failed(f64::from(*age))).collect();
        let data = LifeData::new(AgeUnit::Days, all).unwrap();
        let curve = kaplan_meier(&data, sure(0.9), BoundsOn::LogLog).unwrap();
        let lives = f64::from(u16::try_from(ages.len()).unwrap());
        for level in &curve.levels {
            let left = ages.iter().filter(|age| f64::from(**age) > level.at).count();
            let left = f64::from(u16::try_from(left).unwrap());
            prop_assert!((level.survival - left / lives).abs() < 1e-12);
        }
    }

    #[test]
    fn bounds_hold_the_share_and_stay_between_none_and_all(
        ages in prop::collection::vec((1_u16..60, any::<bool>()), 1..40)
    ) {
        let all = ages.iter().map(|&(age, fails)| {
            if fails { failed(f64::from(age)) } else { good(f64::from(age)) }
        });
        let data = LifeData::new(AgeUnit::Days, all.collect()).unwrap();
        for on in [BoundsOn::Plain, BoundsOn::Log, BoundsOn::LogLog] {
            let curve = kaplan_meier(&data, sure(0.9), on).unwrap();
            let mut before = 1.0;
            for level in &curve.levels {
                prop_assert!(level.survival < before);
                before = level.survival;
                if let Some((low, high)) = level.bounds {
                    prop_assert!(0.0 <= low && low <= level.survival);
                    prop_assert!(level.survival <= high && high <= 1.0);
                }
            }
        }
    }

    #[test]
    fn mean_time_bounds_scale_with_time_and_widen_with_confidence(
        time in 1.0_f64..1e6, failures in 1_u32..200
    ) {
        let at = |time, level| {
            let found = mean_time_between_failures(exposure(time, failures, Ended::ByTime), sure(level));
            found.unwrap().bounds.unwrap()
        };
        let (low, high) = at(time, 0.8);
        let (lower, higher) = at(time, 0.95);
        prop_assert!(lower < low && high < higher);
        let twice = at(2.0 * time, 0.8);
        prop_assert!((twice.0 / low - 2.0).abs() < 1e-12 && (twice.1 / high - 2.0).abs() < 1e-12);
    }
}
