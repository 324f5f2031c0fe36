//! The chance of so many failures by luck against Poisson sums worked by hand and tables of the law.

use gaugewright::calc::excess::excess;

fn is(seen: u32, expected: f64, chance: f64, within: f64) {
    let found = excess(seen, expected).expect("in range").chance;
    assert!(
        (found - chance).abs() < within,
        "{seen} {expected}: {found}"
    );
}

#[test]
fn a_few_failures_are_summed_by_hand() {
    // By hand: P(N ≥ 1) = 1 − e^−m and P(N ≥ 2) = 1 − (1 + m) e^−m, from the Poisson law itself.
    is(1, 0.3, 1.0 - (-0.3_f64).exp(), 1e-13);
    is(2, 1.0, 1.0 - 2.0 / std::f64::consts::E, 1e-13);
    is(0, 2.0, 1.0, 1e-15);
}

#[test]
fn tables_of_the_poisson_law_agree() {
    // Cumulative Poisson tables, four decimals: P(N ≤ 5 | 3) = 0.9161, P(N ≤ 2 | 1) = 0.9197,
    // P(N ≤ 9 | 5) = 0.9682; library: scipy 1.17.1 stats.poisson.cdf gives the same four.
    is(6, 3.0, 1.0 - 0.9161, 5.1e-5);
    is(3, 1.0, 1.0 - 0.9197, 5.1e-5);
    is(10, 5.0, 1.0 - 0.9682, 5.1e-5);
}

#[test]
fn far_out_the_first_term_is_all_there_is() {
    // m^n / n! e^−m (1 + m/(n+1) + …) with m = 0.01, n = 3.
    let first = 0.01_f64.powi(3) / 6.0 * (-0.01_f64).exp();
    let found = excess(3, 0.01).expect("in range");
    assert!(
        (found.chance / first - 1.0).abs() < 0.003,
        "{}",
        found.chance
    );
    assert!((found.ratio - 300.0).abs() < 1e-9);
}

#[test]
fn nothing_expected_is_refused() {
    for expected in [0.0, -1.0, f64::NAN, 1e7] {
        assert!(excess(1, expected).is_err(), "{expected}");
    }
    assert!(excess(100_001, 1.0).is_err());
}
