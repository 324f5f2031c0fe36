//! Decisions under uncertainty against published examples and a statistics library.
//! How an uncertainty is put together is checked in `uncertainty`.

use gaugewright::calc::conformance::{Guard, Limit, Verdict, decide, probability};
use gaugewright::calc::quantity::{
    LengthUnit, PressureUnit, Stamped, StampedLength, StampedPressure, Unit, decimal,
};
use proptest::prelude::*;
use rust_decimal::Decimal;

const INF: f64 = f64::INFINITY;

fn inch(text: &str) -> StampedLength {
    Stamped::new(decimal("length", text).unwrap(), LengthUnit::Inch)
}

fn psi(text: &str) -> StampedPressure {
    Stamped::new(decimal("pressure", text).unwrap(), PressureUnit::Psi)
}

fn verdict<U: Unit>(y: Stamped<U>, u: Stamped<U>, limit: Limit<U>, guard: Guard) -> Verdict {
    decide(y, u, limit, guard).unwrap().verdict
}

#[test]
fn probabilities_agree_with_published_examples() {
    // from memory: JCGM 106:2012, clause 7, Zener voltage (0.92) and engine oil, inputs and printed
    // value. The digits beyond: library: scipy 1.17.1 stats.norm.
    let zener = probability(-5.47, 0.05, -INF, -5.40).unwrap();
    assert!((zener - 0.919_243_340_8).abs() < 1e-9 && (zener - 0.92).abs() < 0.005);
    let oil = probability(13.6, 1.8, 12.5, 16.3).unwrap();
    assert!((oil - 0.662_629_8).abs() < 5e-8, "{oil}");
    // from memory: JCGM 106:2012, clause 7.3, table 1 (z to two decimals).
    for (z, p) in [
        (0.84, 0.80),
        (1.28, 0.90),
        (1.64, 0.95),
        (2.33, 0.99),
        (3.09, 0.999),
    ] {
        let found = probability(-z, 1.0, -INF, 0.0).unwrap();
        assert!((found - p).abs() < 0.0015, "{z} {found}");
    }
    // from memory: JCGM 106:2012, speed limit of 100 km/h measured to 2 %, about 107 km/h for 99.9 %.
    // The sure speed itself: library: scipy 1.17.1.
    let sure = 106.587_6;
    let not_over = probability(sure, 0.02 * sure, -INF, 100.0).unwrap();
    assert!((not_over - 0.001).abs() < 1e-7, "{not_over}");
    // published: ILAC-G8:09/2019, as quoted at tla.sgs.com/thelabsgs/Decision-Rule.php: with a guard
    // band equal to the expanded uncertainty (k = 2) less than 2.5 % false acceptance, without 50 %.
    assert!(1.0 - probability(-2.0, 1.0, -INF, 0.0).unwrap() < 0.025);
    assert!((probability(0.0, 1.0, -INF, 0.0).unwrap() - 0.5).abs() < 1e-15);
}

#[test]
fn probabilities_agree_with_a_statistics_library() {
    // library: scipy 1.17.1 stats.norm.cdf. y, u, lower, upper, probability.
    for (y, u, lower, upper, p) in [
        (0.001_15, 0.000_3, -INF, 0.002, 0.997_697),
        (0.001_8, 0.000_3, -INF, 0.002, 0.747_507),
        (0.002_0, 0.000_3, -INF, 0.002, 0.5),
        (0.002_2, 0.000_3, -INF, 0.002, 0.252_493),
        (0.104, 0.002, 0.100, INF, 0.977_250),
        (0.101, 0.002, 0.100, INF, 0.691_462),
        (10.02, 0.02, 9.95, 10.05, 0.932_960),
        (0.101_2, 0.001, 0.100, INF, 0.884_930),
        (0.001_6, 0.000_2, -INF, 0.002, 0.977_250),
        (1_126.0, 4.0, 1_125.0, INF, 0.598_706),
        (1_131.0, 4.0, 1_125.0, INF, 0.933_193),
        (0.102_5, 0.001_5, 0.100, INF, 0.952_210),
    ] {
        let found = probability(y, u, lower, upper).unwrap();
        assert!((found - p).abs() < 6e-7, "{y} {u}: {found}");
    }
}

#[test]
fn the_verdict_follows_the_guarded_limits() {
    // published: ILAC-G8:09/2019, clauses 4.2.1 and 4.2.3: pass up to the guarded limit, fail beyond
    // the limit and its guard band, conditional between. The cases are worked by hand from it.
    use Verdict::{Accept, Reject, Undecided};
    let wall = Limit::at_least(inch("0.100"));
    let flat = Limit::at_most(inch("0.002"));
    let (none, two, ninety_five) = (Guard::NONE, Guard::EXPANDED, Guard::NINETY_FIVE);
    for (y, u, limit, guard, expected) in [
        ("0.1012", "0.0010", wall, none, Accept),
        ("0.1012", "0.0010", wall, two, Undecided),
        ("0.1025", "0.0015", wall, two, Undecided),
        ("0.1025", "0.0015", wall, ninety_five, Accept),
        ("0.1030", "0.0015", wall, two, Accept),
        ("0.1000", "0.0010", wall, none, Accept),
        ("0.0999", "0.0010", wall, none, Reject),
        ("0.0980", "0.0010", wall, two, Undecided),
        ("0.0979", "0.0010", wall, two, Reject),
        ("0.0016", "0.0002", flat, two, Accept),
        ("0.0016001", "0.0002", flat, two, Undecided),
        ("0.0024", "0.0002", flat, two, Undecided),
        ("0.0024001", "0.0002", flat, two, Reject),
        ("0.0014", "0.0003", flat, two, Accept),
        ("0.001506", "0.0003", flat, ninety_five, Accept),
        ("0.001507", "0.0003", flat, ninety_five, Undecided),
    ] {
        assert_eq!(verdict(inch(y), inch(u), limit, guard), expected, "{y} {u}");
    }
    let test = Limit::at_least(psi("1125"));
    assert_eq!(verdict(psi("1126"), psi("4"), test, two), Undecided);
    assert_eq!(verdict(psi("1131"), psi("4"), test, two), Undecided);
    assert_eq!(verdict(psi("1133"), psi("4"), test, two), Accept);
    let band = Limit::between(psi("9.95"), psi("10.05"));
    assert_eq!(verdict(psi("10.02"), psi("0.02"), band, none), Accept);
    assert_eq!(verdict(psi("10.02"), psi("0.02"), band, two), Undecided);
    assert_eq!(verdict(psi("10.10"), psi("0.02"), band, two), Reject);
    assert_eq!(verdict(psi("9.90"), psi("0.02"), band, two), Reject);
}

#[test]
fn units_may_be_mixed() {
    // published: NIST SP 811 (2008), the inch of 25.4 mm: 2.54 mm is the limit itself.
    let limit = Limit::at_least(inch("0.100"));
    let mm = |text: &str| Stamped::new(decimal("length", text).unwrap(), LengthUnit::Millimetre);
    assert_eq!(
        verdict(mm("2.54"), mm("0.05"), limit, Guard::NONE),
        Verdict::Accept
    );
    assert_eq!(
        verdict(mm("2.5399"), mm("0.05"), limit, Guard::NONE),
        Verdict::Reject
    );
    let decision = decide(mm("2.60"), mm("0.05"), limit, Guard::EXPANDED).unwrap();
    assert_eq!(decision.verdict, Verdict::Undecided);
    assert_eq!(decision.working.answer(), Some("undecided"));
}

#[test]
fn an_uncertainty_of_nothing_is_refused() {
    for u in ["0", "-0.001"] {
        assert!(
            decide(
                inch("0.1"),
                inch(u),
                Limit::at_least(inch("0.1")),
                Guard::NONE
            )
            .is_err()
        );
    }
    for (y, u, lower, upper) in [
        (f64::NAN, 1.0, 0.0, 1.0),
        (INF, 1.0, 0.0, 1.0),
        (0.0, f64::NAN, 0.0, 1.0),
        (0.0, INF, 0.0, 1.0),
        (0.0, 0.0, 0.0, 1.0),
        (0.0, 1.0, 1.0, 1.0),
        (0.0, 1.0, 2.0, 1.0),
        (0.0, 1.0, f64::NAN, 1.0),
    ] {
        assert!(
            probability(y, u, lower, upper).is_err(),
            "{y} {u} {lower} {upper}"
        );
    }
    assert!(
        decide(
            psi("1"),
            psi("1"),
            Limit::between(psi("2"), psi("2")),
            Guard::NONE
        )
        .is_err()
    );
}

#[test]
fn guard_factors_keep_their_range() {
    assert!((Guard::of(1.5).unwrap().factor() - 1.5).abs() < 1e-15);
    assert!(Guard::of(0.0).is_ok() && Guard::of(10.0).is_ok());
    for k in [-0.1, 10.1, f64::NAN, INF] {
        assert!(Guard::of(k).is_err(), "{k}");
    }
    // library: scipy 1.17.1 stats.norm.ppf(0.95).
    assert!((Guard::NINETY_FIVE.factor() - 1.644_853_626_951_472_2).abs() < 1e-14);
}

#[test]
fn values_far_away_are_certain() {
    assert!((probability(0.0, 1.0, -INF, 50.0).unwrap() - 1.0).abs() < 1e-15);
    assert!(probability(50.0, 1.0, -INF, 0.0).unwrap() < 1e-100);
    assert!(probability(1e300, 1e-300, -INF, 0.0).unwrap() == 0.0);
}

proptest! {
    #[test]
    fn what_is_accepted_with_a_wider_guard_is_accepted_with_a_narrower(
        y in -1000_i64..1000, u in 1_i64..100, k in 0.0_f64..5.0, less in 0.0_f64..1.0,
    ) {
        let of = |n: i64| Stamped::new(Decimal::new(n, 3), PressureUnit::Bar);
        let limit = Limit::at_most(of(100));
        let wide = decide(of(y), of(u), limit, Guard::of(k).unwrap()).unwrap();
        let narrow = decide(of(y), of(u), limit, Guard::of(k * less).unwrap()).unwrap();
        if wide.verdict != Verdict::Undecided {
            prop_assert_eq!(wide.verdict, narrow.verdict);
        }
        // The verdict and the probability tell the same story.
        prop_assert_eq!((wide.probability - narrow.probability).abs() < 1e-15, true);
        match wide.verdict {
            Verdict::Accept => prop_assert!(wide.probability >= 0.5 - 1e-9),
            Verdict::Reject => prop_assert!(wide.probability <= 0.5 + 1e-9),
            Verdict::Undecided => {}
        }
    }

    #[test]
    fn an_upper_limit_is_a_lower_one_in_the_mirror(y in -50.0_f64..50.0, u in 0.01_f64..20.0, limit in -50.0_f64..50.0) {
        let upper = probability(y, u, -INF, limit).unwrap();
        let lower = probability(-y, u, -limit, INF).unwrap();
        prop_assert!((upper - lower).abs() < 1e-14);
        // Inside, below and above make one.
        let inside = probability(y, u, limit, limit + 7.0).unwrap();
        let below = probability(y, u, -INF, limit).unwrap();
        let above = probability(y, u, limit + 7.0, INF).unwrap();
        prop_assert!((inside + below + above - 1.0).abs() < 1e-12);
    }
}
