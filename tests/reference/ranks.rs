//! Median ranks, adjusted ranks and Weibull lines through them, against published examples and
//! libraries. The likelihood fit of the same data is checked in `weibull`.

use gaugewright::calc::life::{AgeUnit, LifeData, LifeError, Observation};
use gaugewright::calc::ranks::{
    LeastSquaresIn, RankEstimate, adjusted_ranks, median_rank, rank_regression,
};
use proptest::prelude::*;

use super::life_data::{close, diesel_fans, failed, found, good, lives, nist, shock_absorbers};

#[test]
fn single_median_ranks_agree_with_the_beta_law() {
    // library: scipy 1.17.1 stats.beta.ppf(0.5, i, n - i + 1); Bernard's value beside it by its formula.
    for (i, n, bernard, exact) in [
        (1.0, 5, 0.129_630, 0.129_449),
        (3.0, 5, 0.5, 0.5),
        (1.0, 10, 0.067_308, 0.066_967),
        (10.0, 10, 0.932_692, 0.933_033),
        (5.0, 20, 0.230_392, 0.229_668),
    ] {
        let by_formula = median_rank(i, n, RankEstimate::Bernard).unwrap();
        let by_law = median_rank(i, n, RankEstimate::Exact).unwrap();
        assert!((by_formula - bernard).abs() < 5e-7, "{by_formula}");
        assert!((by_law - exact).abs() < 5e-7, "{by_law}");
    }
    // One life: the median of a uniform law.
    close(
        median_rank(1.0, 1, RankEstimate::Exact).unwrap(),
        0.5,
        1e-14,
        "1 of 1",
    );
    for (rank, lives) in [
        (0.9, 5),
        (5.1, 5),
        (f64::NAN, 5),
        (1.0, 0),
        (1.0, 1_000_001),
    ] {
        assert!(median_rank(rank, lives, RankEstimate::Exact).is_err());
    }
}

/// published: R package pivotals, help page `MRRw2pxy` (after Abernethy):
/// <https://rdrr.io/rforge/pivotals/man/MRRw2pxy.html>; failures 90 96 30 49 82, rebuilt 100 45 10.
fn abernethy() -> LifeData {
    lives(
        &[90.0, 96.0, 30.0, 49.0, 82.0],
        &[(100.0, 1), (45.0, 1), (10.0, 1)],
    )
}

#[test]
fn censored_lives_raise_the_ranks_after_them() {
    // library: scipy 1.17.1 for the shares; the ranks follow from the formula by hand.
    let exact = adjusted_ranks(&abernethy(), RankEstimate::Exact).unwrap();
    let bernard = adjusted_ranks(&abernethy(), RankEstimate::Bernard).unwrap();
    for (i, (at, rank, by_formula, by_law)) in [
        (30.0, 1.125, 0.098_214, 0.097_564),
        (49.0, 2.4375, 0.254_464, 0.253_308),
        (82.0, 3.75, 0.410_714, 0.410_237),
        (90.0, 5.0625, 0.566_964, 0.567_325),
        (96.0, 6.375, 0.723_214, 0.724_300),
    ]
    .into_iter()
    .enumerate()
    {
        close(exact[i].at, at, 0.0, "age");
        close(exact[i].rank, rank, 1e-12, "rank");
        assert!((exact[i].share - by_law).abs() < 6e-7);
        assert!((bernard[i].share - by_formula).abs() < 6e-7);
    }
    // published: R package pivotals, help page `mrank`: failed and rebuilt in turn 1 0 1 1 0 1 0 0 1 1.
    let in_turn = [1, 0, 1, 1, 0, 1, 0, 0, 1, 1];
    let all = in_turn.iter().zip(1_u8..).map(|(fails, age)| {
        if *fails == 1 {
            failed(f64::from(age))
        } else {
            good(f64::from(age))
        }
    });
    let data = LifeData::new(AgeUnit::Hours, all.collect()).unwrap();
    let ranks = adjusted_ranks(&data, RankEstimate::Bernard).unwrap();
    let wanted = [1.0, 2.111_111, 3.222_222, 4.518_519, 6.679_012, 8.839_506];
    assert_eq!(ranks.len(), wanted.len());
    for (found, wanted) in ranks.iter().zip(wanted) {
        assert!((found.rank - wanted).abs() < 6e-7, "{}", found.rank);
    }
    // library: adjusted ranks of the shock absorbers, computed with numpy 2.4.6.
    let ranks = adjusted_ranks(&shock_absorbers(), RankEstimate::Exact).unwrap();
    close(ranks[2].rank, 3.452_910, 2e-7, "third");
    close(ranks[10].rank, 25.145_750, 2e-7, "last");
}

#[test]
fn lines_through_median_ranks_agree_with_the_libraries() {
    use LeastSquaresIn::{Age, Share};
    use RankEstimate::{Bernard, Exact};
    // library: numpy 2.4.6 and scipy 1.17.1; the Bernard rows of the NIST data and of the shock
    // absorbers also as library: reliability 0.9.0, RRX and RRY. Ties of a failure and a rebuild count the
    // failure first.
    let cases: &[(LifeData, RankEstimate, LeastSquaresIn, f64, f64)] = &[
        (abernethy(), Bernard, Age, 94.997_943, 2.024_259),
        (abernethy(), Bernard, Share, 96.889_399, 1.929_418),
        (abernethy(), Exact, Age, 94.930_942, 2.032_707),
        (abernethy(), Exact, Share, 96.819_794, 1.937_372),
        (nist(), Bernard, Age, 601.959_890, 1.625_962_8),
        (nist(), Bernard, Share, 667.336_364, 1.457_518_9),
        (nist(), Exact, Age, 601.384_129, 1.632_198_3),
        (nist(), Exact, Share, 667.312_571, 1.461_591_4),
        (shock_absorbers(), Bernard, Age, 28554.7956, 2.753_265_28),
        (shock_absorbers(), Bernard, Share, 28720.4505, 2.726_169_11),
        (diesel_fans(), Bernard, Age, 16868.0296, 1.251_150_80),
    ];
    for (data, estimate, least, scale, shape) in cases {
        let line = rank_regression(data, *estimate, *least).unwrap();
        close(line.life.scale(), *scale, 4e-7, "η");
        close(line.life.shape(), *shape, 4e-7, "β");
        assert!(line.working.answer().unwrap().starts_with("β = "));
    }
    let line = rank_regression(&abernethy(), Bernard, Age).unwrap();
    close(line.r_squared, 0.953_148, 1e-6, "r²");
    let line = rank_regression(&abernethy(), Exact, Age).unwrap();
    close(line.r_squared, 0.953_099, 1e-6, "r²");
    assert_eq!(line.points.len(), 5);
}

#[test]
fn lives_without_an_exact_age_or_a_start_cannot_be_ranked() {
    let rank = |all: Vec<Observation>| {
        let data = LifeData::new(AgeUnit::Days, all).unwrap();
        adjusted_ranks(&data, RankEstimate::Exact).unwrap_err()
    };
    assert_eq!(
        rank(vec![failed(3.0), found(1.0, 2.0)]),
        LifeError::FoundBetweenLooks
    );
    let late = Observation {
        since: 1.0,
        ..failed(3.0)
    };
    assert_eq!(rank(vec![failed(3.0), late]), LifeError::SeenLate);
    assert!(matches!(
        rank(vec![good(3.0)]),
        LifeError::TooFewFailures { .. }
    ));
    let line = |data: &LifeData| {
        rank_regression(data, RankEstimate::Exact, LeastSquaresIn::Age).unwrap_err()
    };
    assert_eq!(
        line(&lives(&[5.0, 5.0, 5.0], &[(9.0, 2)])),
        LifeError::AllAtOneAge
    );
    assert!(matches!(
        line(&lives(&[5.0, 6.0], &[(9.0, 2)])),
        LifeError::TooFewFailures {
            failures: 2,
            units: 4,
            needed: 3
        }
    ));
}

proptest! {
    #[test]
    fn ranks_rise_and_stay_below_the_number_of_lives(
        ages in prop::collection::vec((1_u16..500, any::<bool>()), 1..40)
    ) {
        let all = ages.iter().map(|&(age, fails)| {
            if fails { failed(f64::from(age)) } else { good(f64::from(age)) }
        });
        let data = LifeData::new(AgeUnit::Days, all.collect()).unwrap();
        if let Ok(ranks) = adjusted_ranks(&data, RankEstimate::Exact) {
            let most = f64::from(u16::try_from(ages.len()).unwrap());
            for pair in ranks.windows(2) {
                prop_assert!(pair[0].rank < pair[1].rank && pair[0].share < pair[1].share);
            }
            for point in &ranks {
                prop_assert!(point.rank >= 1.0 && point.rank <= most);
            }
            if ages.iter().all(|(_, fails)| *fails) {
                for (i, point) in (1_u16..).zip(&ranks) {
                    prop_assert!((point.rank - f64::from(i)).abs() < 1e-9);
                }
            }
        }
    }

    #[test]
    fn bernard_is_close_to_the_exact_median(lives in 5_u32..2000, place in 0.0_f64..1.0) {
        let rank = 1.0 + place * (f64::from(lives) - 1.0);
        let exact = median_rank(rank, lives, RankEstimate::Exact).unwrap();
        let bernard = median_rank(rank, lives, RankEstimate::Bernard).unwrap();
        // from memory: Bernard's approximation is good to about 1 % of the share for n above 5.
        prop_assert!((exact - bernard).abs() < 0.002, "{} {}", exact, bernard);
    }
}
