//! Published life data that several checks of life statistics are made on, each with its source.
//! The values expected from them stand in the checks themselves.

use gaugewright::calc::life::{AgeUnit, LifeData, Observation, Seen};

/// A life that failed at this age.
pub fn failed(at: f64) -> Observation {
    Observation {
        seen: Seen::Failed { at },
        since: 0.0,
    }
}

/// A life still good at this age.
pub fn good(until: f64) -> Observation {
    Observation {
        seen: Seen::Good { until },
        since: 0.0,
    }
}

/// A life last seen good at one age and found failed at another.
pub fn found(after: f64, by: f64) -> Observation {
    Observation {
        seen: Seen::FoundFailed { after, by },
        since: 0.0,
    }
}

/// Lives from ages at failure and ages with how many were still good then.
pub fn lives(failures: &[f64], still_good: &[(f64, usize)]) -> LifeData {
    let mut all: Vec<Observation> = failures.iter().copied().map(failed).collect();
    for &(until, count) in still_good {
        all.extend(std::iter::repeat_n(good(until), count));
    }
    LifeData::new(AgeUnit::Hours, all).unwrap()
}

/// published: NIST/SEMATECH e-Handbook 8.4.1.3,
/// <https://www.itl.nist.gov/div898/handbook/apr/section4/apr413.htm>; 20 units, stopped at 500 h.
pub fn nist() -> LifeData {
    lives(
        &[
            54.0, 187.0, 216.0, 240.0, 244.0, 335.0, 361.0, 373.0, 375.0, 386.0,
        ],
        &[(500.0, 10)],
    )
}

/// published: data set `shockabsorber` of the R package SMRD (Meeker and Escobar 1998, after
/// O'Connor 1985), miles, all modes together.
#[rustfmt::skip]
pub fn shock_absorbers() -> LifeData {
    lives(
        &[
            6700.0, 9120.0, 12200.0, 13150.0, 14300.0, 17520.0, 20100.0, 20900.0, 22700.0, 26510.0,
            27490.0,
        ],
        &[
            6950, 7820, 8790, 9660, 9820, 11310, 11690, 11850, 11880, 12140, 12870, 13330, 13470,
            14040, 17540, 17890, 18450, 18960, 18980, 19410, 20100, 20150, 20320, 23490, 27410,
            27890, 28100,
        ]
        .map(|miles: u16| (f64::from(miles), 1)),
    )
}

/// published: data set `lzbearing` of the R package SMRD (Lieblein and Zelen 1956), million
/// revolutions, all failed.
#[rustfmt::skip]
pub fn ball_bearings() -> LifeData {
    lives(
        &[
            17.88, 28.92, 33.0, 41.52, 42.12, 45.6, 48.4, 51.84, 51.96, 54.12, 55.56, 67.8, 68.64,
            68.64, 68.88, 84.12, 93.12, 98.64, 105.12, 105.84, 127.92, 128.04, 173.4,
        ],
        &[],
    )
}

/// published: data set `genfan` of the R package survival (Nelson 1982), hours.
#[rustfmt::skip]
pub fn diesel_fans() -> LifeData {
    lives(
        &[
            450.0, 1150.0, 1150.0, 1600.0, 2070.0, 2070.0, 2080.0, 3100.0, 3450.0, 4600.0, 6100.0,
            8750.0,
        ],
        &[
            (460.0, 1), (1560.0, 1), (1660.0, 1), (1850.0, 5), (2030.0, 3), (2200.0, 1),
            (3000.0, 4), (3200.0, 1), (3750.0, 2), (4150.0, 4), (4300.0, 4), (4850.0, 4),
            (5000.0, 3), (6100.0, 3), (6300.0, 1), (6450.0, 2), (6700.0, 1), (7450.0, 1),
            (7800.0, 2), (8100.0, 2), (8200.0, 1), (8500.0, 3), (8750.0, 2), (9400.0, 1),
            (9900.0, 1), (10100.0, 3), (11500.0, 1),
        ],
    )
}

/// published: data set `bearingcage` of the R package SMRD (Abernethy; Meeker and Escobar 1998),
/// hours, 6 of 1703 failed.
#[rustfmt::skip]
pub fn bearing_cages() -> LifeData {
    lives(
        &[230.0, 334.0, 423.0, 990.0, 1009.0, 1510.0],
        &[
            (50.0, 288), (150.0, 148), (250.0, 124), (350.0, 111), (450.0, 106), (550.0, 99),
            (650.0, 110), (750.0, 114), (850.0, 119), (950.0, 127), (1050.0, 123), (1150.0, 93),
            (1250.0, 47), (1350.0, 41), (1450.0, 27), (1550.0, 11), (1650.0, 6), (1850.0, 1),
            (2050.0, 2),
        ],
    )
}

/// published: data set `cracks` of the R package survival, days: 167 parts looked at eight times.
#[rustfmt::skip]
pub fn cracked_parts() -> LifeData {
    let mut all = vec![good(1932.0); 73];
    for (after, by, count) in [
        (0.0, 186.0, 5), (186.0, 606.0, 16), (606.0, 902.0, 12), (902.0, 1077.0, 18),
        (1077.0, 1209.0, 18), (1209.0, 1377.0, 2), (1377.0, 1592.0, 6), (1592.0, 1932.0, 17),
    ] {
        all.extend(std::iter::repeat_n(found(after, by), count));
    }
    LifeData::new(AgeUnit::Days, all).unwrap()
}

/// published: data set `turbine` of the R package survival, hundreds of hours: 432 wheels looked
/// at once each (looked at, of them cracked).
#[rustfmt::skip]
pub fn turbine_wheels() -> LifeData {
    let mut all = Vec::new();
    for (age, looked_at, cracked) in [
        (4.0, 39, 0), (10.0, 53, 4), (14.0, 33, 2), (18.0, 73, 7), (22.0, 30, 5), (26.0, 39, 9),
        (30.0, 42, 9), (34.0, 13, 6), (38.0, 34, 22), (42.0, 40, 21), (46.0, 36, 21),
    ] {
        all.extend(std::iter::repeat_n(found(0.0, age), cracked));
        all.extend(std::iter::repeat_n(good(age), looked_at - cracked));
    }
    LifeData::new(AgeUnit::Hours, all).unwrap()
}

/// published: data set `heatexchanger` of the R package SMRD, years, three plants pooled.
#[rustfmt::skip]
pub fn exchanger_tubes() -> LifeData {
    let mut all = Vec::new();
    for (after, by, count) in [(0.0, 1.0, 4), (1.0, 2.0, 5), (2.0, 3.0, 2)] {
        all.extend(std::iter::repeat_n(found(after, by), count));
    }
    for (until, count) in [(1.0, 99), (2.0, 95), (3.0, 95)] {
        all.extend(std::iter::repeat_n(good(until), count));
    }
    LifeData::new(AgeUnit::Years, all).unwrap()
}

/// Fails unless a value is within a relative deviation of the one wanted.
pub fn close(found: f64, wanted: f64, relative: f64, what: &str) {
    let deviation = if wanted == 0.0 {
        found.abs()
    } else {
        ((found - wanted) / wanted).abs()
    };
    assert!(
        deviation <= relative,
        "{what}: {found} is not {wanted} (off by {deviation:e})"
    );
}
