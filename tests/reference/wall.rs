//! Skims, wear and remaining life of the wall against worked examples and exact arithmetic.
//! Calendar arithmetic itself is checked in `dates`.

use gaugewright::calc::quantity::{LengthUnit, Stamped, StampedLength, decimal};
use gaugewright::calc::wall::{
    Carried, DAYS_A_YEAR, Measured, Outlook, Skim, Taken, WallReading, WearRate, growth,
    life_after_skim, life_of_grown, outlook, plan_skim, remaining_life, skims_possible, wear_rate,
};
use proptest::prelude::*;
use rust_decimal::Decimal;
use time::{Date, Duration, macros::date};

/// Skims allowed.
const MOST: u8 = 2;

fn inch(text: &str) -> StampedLength {
    Stamped::new(decimal("length", text).unwrap(), LengthUnit::Inch)
}

fn mm(text: &str) -> StampedLength {
    Stamped::new(decimal("length", text).unwrap(), LengthUnit::Millimetre)
}

fn read(on: Date, thickness: &str) -> WallReading {
    WallReading {
        on,
        thickness: inch(thickness),
        taken: Taken::AfterService,
    }
}

#[test]
fn a_skim_is_allowed_while_the_limit_stays() {
    // common practice, no source: 0.100 in must stay, and no more than two skims. Exact decimals.
    for (wall, cut, done, skim, left, more) in [
        ("0.123", "0.005", 0, Skim::Allowed, "0.118 in", 1),
        ("0.123", "0.005", 1, Skim::Allowed, "0.118 in", 0),
        ("0.123", "0.005", 2, Skim::TooOften, "0.118 in", 0),
        ("0.105", "0.005", 0, Skim::Allowed, "0.1 in", 0),
        ("0.1049", "0.005", 0, Skim::TooThin, "0.0999 in", 0),
        ("0.104", "0.005", 2, Skim::TooThin, "0.099 in", 0),
        ("0.100", "0.001", 0, Skim::TooThin, "0.099 in", 0),
        ("0.110", "0.005", 0, Skim::Allowed, "0.105 in", 1),
        ("0.109", "0.005", 0, Skim::Allowed, "0.104 in", 0),
        ("0.123", "0.005", 255, Skim::TooOften, "0.118 in", 0),
    ] {
        let found = plan_skim(inch(wall), inch(cut), inch("0.100"), done, MOST).unwrap();
        assert_eq!(
            (found.skim, found.skims_left),
            (skim, more),
            "{wall} {cut} {done}"
        );
        assert_eq!(found.left.to_string(), left);
    }
}

#[test]
fn units_of_a_skim_may_be_mixed() {
    // published: NIST SP 811 (2008), inch of 25.4 mm, mil of 25.4 µm: all these lie on the limit.
    let mil = Stamped::new(Decimal::from(10), LengthUnit::Thousandth);
    let found = plan_skim(mm("2.794"), mil, inch("0.1"), 0, MOST).unwrap();
    assert_eq!(
        (found.skim, found.left.to_string().as_str()),
        (Skim::Allowed, "2.54 mm")
    );
    let found = plan_skim(mm("2.7939"), mil, inch("0.1"), 0, MOST).unwrap();
    assert_eq!(found.skim, Skim::TooThin);
    // What stays is rounded down, never up.
    let found = plan_skim(inch("0.11"), mm("0.1"), inch("0.1"), 0, MOST).unwrap();
    assert_eq!(found.left.to_string(), "0.106062992 in");
    assert_eq!(found.working.answer(), Some("may be skimmed"));
}

#[test]
fn skims_left_are_counted_in_exact_decimals() {
    // Worked by hand. Binary arithmetic gives 3 for the second line and 5 for the fourth.
    for (wall, cut, count) in [
        ("0.123", "0.005", 4),
        ("0.112", "0.003", 4),
        ("0.1005", "0.001", 0),
        ("0.160", "0.010", 6),
        ("0.150", "0.008", 6),
        ("0.1375", "0.005", 7),
        ("0.100", "0.005", 0),
        ("0.090", "0.005", 0),
    ] {
        assert_eq!(
            skims_possible(inch(wall), inch(cut), inch("0.100")).unwrap(),
            count,
            "{wall}"
        );
    }
}

#[test]
fn a_cut_as_deep_as_the_wall_is_refused() {
    let limit = inch("0.1");
    assert!(plan_skim(inch("0.1"), inch("0.1"), limit, 0, MOST).is_err());
    for bad in ["0", "-0.1", "40"] {
        assert!(
            plan_skim(inch(bad), inch("0.01"), limit, 0, MOST).is_err(),
            "{bad}"
        );
        assert!(
            plan_skim(inch("0.2"), inch(bad), limit, 0, MOST).is_err(),
            "{bad}"
        );
        assert!(
            plan_skim(inch("0.2"), inch("0.01"), inch(bad), 0, MOST).is_err(),
            "{bad}"
        );
        assert!(
            skims_possible(inch("0.2"), inch(bad), limit).is_err(),
            "{bad}"
        );
    }
}

#[test]
fn wear_rates_are_those_of_worked_examples() {
    // published: worked form after API 510, 10th edition, 7.1.1 and 7.2.1 (pdfcoffee.com, "API 510
    // Corr. Rate & Rem Life Cal."): 0.413 to 0.352 in 5 years, 0.012; 0.5 to 0.4 in 1 year, 0.100.
    // published: form after API 570 (ar.scribd.com/document/387358665): 7.8 to 3.24 mm in 15 years,
    // 0.304 mm a year.
    let printed = [
        ("0.413", "0.352", 5.0, 0.012, 0.000_5),
        ("0.5", "0.4", 1.0, 0.100, 0.000_5),
        ("7.8", "3.24", 15.0, 0.304, 0.000_5),
    ];
    // Worked by hand: exact fractions.
    let worked = [
        ("0.140", "0.122", 9.0, 0.002, 1e-15),
        ("0.128", "0.122", 3.0, 0.002, 1e-15),
        ("0.250", "0.230", 12.0, 0.02 / 12.0, 1e-15),
        ("0.236", "0.230", 4.0, 0.0015, 1e-15),
        ("0.375", "0.345", 20.0, 0.0015, 1e-15),
        ("0.160", "0.135", 10.0, 0.0025, 1e-15),
        ("0.125", "0.104", 2.0, 0.0105, 1e-15),
        ("0.124", "0.125", 2.0, -0.0005, 1e-15),
        ("0.500", "0.500", 5.0, 0.0, 0.0),
    ];
    for (earlier, later, years, rate, off) in printed.into_iter().chain(worked) {
        let found = wear_rate(inch(earlier), inch(later), years).unwrap();
        assert!(
            (found.per_year - rate).abs() <= off,
            "{earlier} {later}: {}",
            found.per_year
        );
        assert_eq!(found.unit, LengthUnit::Inch);
    }
    // The rate is told in the unit of the later reading.
    let mixed = wear_rate(inch("0.5"), mm("11.7"), 2.0).unwrap();
    assert!((mixed.per_year - 0.5).abs() < 1e-15 && mixed.unit == LengthUnit::Millimetre);
}

#[test]
fn remaining_years_are_those_of_worked_examples() {
    // published: the two forms named above print 1.00 years and 8.441 years.
    let of = |per_year: f64| WearRate {
        per_year,
        unit: LengthUnit::Inch,
    };
    let printed = [
        ("0.4", "0.3", 0.1, 1.0, 0.005),
        ("3.24", "0.37", 0.34, 8.441, 0.000_5),
    ];
    // Worked by hand.
    let worked = [
        ("0.122", "0.100", 0.002, 11.0, 1e-12),
        ("0.230", "0.100", 0.02 / 12.0, 78.0, 1e-11),
        ("5.62", "2.54", 0.072, 42.777_777_777_8, 1e-10),
        ("0.103", "0.100", 0.0035, 0.857_142_857_143, 1e-11),
        ("0.345", "0.250", 0.005, 19.0, 1e-12),
        ("0.104", "0.100", 0.0105, 0.380_952_380_952, 1e-11),
        ("11.5", "8.0", 0.2, 17.5, 1e-12),
    ];
    for (now, limit, rate, years, off) in printed.into_iter().chain(worked) {
        let Outlook::Lasts { years: found } = outlook(inch(now), inch(limit), of(rate)).unwrap()
        else {
            panic!("{now} should last");
        };
        assert!((found - years).abs() < off, "{now}: {found}");
    }
    // In another unit than the rate's.
    let found = outlook(
        inch("0.2"),
        inch("0.1"),
        WearRate {
            per_year: 0.254,
            unit: LengthUnit::Millimetre,
        },
    );
    assert!(matches!(found, Ok(Outlook::Lasts { years }) if (years - 10.0).abs() < 1e-12));
}

#[test]
fn a_wall_at_its_limit_is_spent_and_no_loss_promises_nothing() {
    let of = |per_year: f64| WearRate {
        per_year,
        unit: LengthUnit::Inch,
    };
    for (now, rate, expected) in [
        ("0.100", 0.001, Outlook::Spent),
        ("0.099", 0.001, Outlook::Spent),
        ("0.099", -0.001, Outlook::Spent),
        ("0.101", 0.0, Outlook::NoLossFound),
        ("0.101", -0.001, Outlook::NoLossFound),
    ] {
        assert_eq!(
            outlook(inch(now), inch("0.100"), of(rate)).unwrap(),
            expected,
            "{now} {rate}"
        );
    }
    for bad in [f64::NAN, f64::INFINITY] {
        assert!(outlook(inch("0.2"), inch("0.1"), of(bad)).is_err());
    }
    assert!(outlook(inch("0"), inch("0.1"), of(0.1)).is_err());
    for years in [0.0, -1.0, f64::NAN, 301.0] {
        assert!(
            wear_rate(inch("0.2"), inch("0.1"), years).is_err(),
            "{years}"
        );
    }
}

#[test]
fn the_next_measurement_is_half_the_life_away_at_most() {
    // published: the form after API 510, 10th edition, 6.5.1.1 named above: one year left on 11 Aug
    // 2014, next inspection due on 9 Feb 2015.
    let first = remaining_life(
        &[
            read(date!(2013 - 08 - 11), "0.5"),
            read(date!(2014 - 08 - 11), "0.4"),
        ],
        inch("0.3"),
        120,
    )
    .unwrap();
    assert_eq!(first.next_measurement, date!(2015 - 02 - 09));
    // library: Python 3.11 datetime and fractions, python-dateutil for the interval.
    for (readings, months, next) in [
        (
            [
                read(date!(2015 - 01 - 01), "0.140"),
                read(date!(2021 - 01 - 01), "0.128"),
                read(date!(2024 - 01 - 01), "0.122"),
            ],
            120,
            date!(2029 - 06 - 30),
        ),
        (
            [
                read(date!(2012 - 03 - 31), "0.250"),
                read(date!(2020 - 03 - 31), "0.236"),
                read(date!(2024 - 03 - 31), "0.230"),
            ],
            120,
            date!(2034 - 03 - 31),
        ),
        (
            [
                read(date!(2018 - 06 - 30), "0.120"),
                read(date!(2022 - 06 - 30), "0.110"),
                read(date!(2024 - 06 - 30), "0.103"),
            ],
            60,
            date!(2024 - 12 - 03),
        ),
        (
            [
                read(date!(2019 - 05 - 01), "0.130"),
                read(date!(2022 - 05 - 01), "0.124"),
                read(date!(2024 - 05 - 01), "0.125"),
            ],
            120,
            date!(2034 - 05 - 01),
        ),
    ] {
        let found = remaining_life(&readings, inch("0.100"), months).unwrap();
        assert_eq!(found.next_measurement, next);
        assert_eq!(found.working.answer(), Some(super::said(next).as_str()));
    }
}

#[test]
fn the_larger_rate_governs_and_growth_is_scatter() {
    // library: Python 3.11 fractions, years of 365.25 days.
    let found = remaining_life(
        &[
            read(date!(2018 - 06 - 30), "0.120"),
            read(date!(2022 - 06 - 30), "0.110"),
            read(date!(2024 - 06 - 30), "0.103"),
        ],
        inch("0.100"),
        60,
    )
    .unwrap();
    assert!((found.long_term.unwrap().per_year - 0.002_832_687_043_795_6).abs() < 1e-15);
    assert!((found.short_term.unwrap().per_year - 0.003_497_606_019_151_8).abs() < 1e-15);
    assert_eq!(found.governing, found.short_term);
    let grown = remaining_life(
        &[
            read(date!(2019 - 05 - 01), "0.130"),
            read(date!(2022 - 05 - 01), "0.124"),
            read(date!(2024 - 05 - 01), "0.125"),
        ],
        inch("0.100"),
        120,
    )
    .unwrap();
    assert_eq!(grown.governing, grown.long_term);
    assert!(
        matches!(grown.outlook, Outlook::Lasts { years } if (years - 25.010_266_940_451_746).abs() < 1e-9)
    );
    assert!(grown.working.remarks.iter().any(|r| r.contains("thicker")));
}

#[test]
fn a_skim_begins_the_wear_afresh() {
    // Worked by hand: a cut of 0.020 in is a step; counted as wear it would give 0.012 in a year.
    let after = WallReading {
        taken: Taken::AfterSkim,
        ..read(date!(2020 - 01 - 01), "0.150")
    };
    let readings = [
        read(date!(2018 - 01 - 01), "0.174"),
        read(date!(2020 - 01 - 01), "0.170"),
        after,
        read(date!(2024 - 01 - 01), "0.146"),
    ];
    let found = remaining_life(&readings, inch("0.100"), 120).unwrap();
    let rate = 0.004 / (1_461.0 / DAYS_A_YEAR);
    assert!((found.long_term.unwrap().per_year - rate).abs() < 1e-15);
    assert!((found.short_term.unwrap().per_year - rate).abs() < 1e-15);
}

#[test]
fn without_a_second_day_the_interval_governs() {
    let one = remaining_life(&[read(date!(2024 - 01 - 31), "0.150")], inch("0.100"), 1).unwrap();
    assert_eq!(
        (one.outlook, one.next_measurement),
        (Outlook::RateUnknown, date!(2024 - 02 - 29))
    );
    assert_eq!((one.long_term, one.governing), (None, None));
    let twice = [
        read(date!(2024 - 01 - 31), "0.150"),
        read(date!(2024 - 01 - 31), "0.149"),
    ];
    assert_eq!(
        remaining_life(&twice, inch("0.100"), 1).unwrap().outlook,
        Outlook::RateUnknown
    );
    // Spent: at once.
    let spent = remaining_life(&[read(date!(2024 - 01 - 31), "0.100")], inch("0.100"), 12).unwrap();
    assert_eq!(
        (spent.outlook, spent.next_measurement),
        (Outlook::Spent, date!(2024 - 01 - 31))
    );
}

#[test]
fn of_two_readings_of_one_day_the_thinnest_counts() {
    // common practice, no source: a place is as thin as it was ever found; worked by hand.
    let day = date!(2024 - 01 - 01);
    let of = |walls: &[(Date, &str)]| {
        let readings: Vec<WallReading> = walls.iter().map(|(on, wall)| read(*on, wall)).collect();
        remaining_life(&readings, inch("0.100"), 120).unwrap()
    };
    let first = (date!(2020 - 01 - 01), "0.150");
    let thin_then_thick = of(&[first, (day, "0.140"), (day, "0.146")]);
    let thick_then_thin = of(&[first, (day, "0.146"), (day, "0.140")]);
    let once = of(&[first, (day, "0.140")]);
    assert_eq!(thin_then_thick, once);
    assert_eq!(thick_then_thin, once);
    // 0.010 in over 1461 days, 0.040 in left: 16 years, of which half.
    assert!(matches!(once.outlook, Outlook::Lasts { years } if (years - 16.0).abs() < 1e-9));
    // The same in other units: 3.7 mm is 0.1457 in.
    let mm_reading = WallReading {
        thickness: mm("3.7"),
        ..read(day, "0.146")
    };
    let mixed = remaining_life(
        &[read(first.0, first.1), read(day, "0.146"), mm_reading],
        inch("0.1"),
        120,
    );
    assert_eq!(
        mixed.unwrap().long_term.unwrap().unit,
        LengthUnit::Millimetre
    );
    // The thinnest may be at the limit although a later reading of the day is not.
    assert_eq!(
        of(&[(day, "0.100"), (day, "0.150")]).outlook,
        Outlook::Spent
    );
}

#[test]
fn readings_that_make_no_history_are_refused() {
    let good = read(date!(2024 - 01 - 31), "0.150");
    assert!(remaining_life(&[], inch("0.1"), 12).is_err());
    assert!(
        remaining_life(
            &[good, read(date!(2023 - 01 - 31), "0.160")],
            inch("0.1"),
            12
        )
        .is_err()
    );
    assert!(remaining_life(&[read(date!(1899 - 12 - 31), "0.150")], inch("0.1"), 12).is_err());
    assert!(remaining_life(&[read(date!(2024 - 01 - 31), "0")], inch("0.1"), 12).is_err());
    for months in [0, 241] {
        assert!(
            remaining_life(&[good], inch("0.1"), months).is_err(),
            "{months}"
        );
    }
    // An interval that ends after 2200 has no date.
    assert!(remaining_life(&[read(date!(2190 - 01 - 31), "0.150")], inch("0.1"), 240).is_err());
}

fn measured(thickness: StampedLength, standard: Option<&str>) -> Measured {
    Measured {
        thickness,
        standard: standard.map(inch),
    }
}

#[test]
fn growth_is_held_against_what_both_readings_can_be_off() {
    // By hand after JCGM 100:2008, 5.1.2 and F.2.2.1: U is twice the root of the sum of squares; a reading
    // to 0.001 in lies within half of that, 0.001/√12 = 0.000289 in; to 0.01 in, 0.00289 in.
    for (before, u1, now, u2, unexplained, off) in [
        // 2·√2·0.000289 = 0.000816
        ("0.118", None, "0.119", None, true, "0.00082 in"),
        ("0.118", None, "0.150", None, true, "0.00082 in"),
        // 2·√(0.000289² + 0.00289²) = 0.00580
        ("0.118", None, "0.12", None, false, "0.0059 in"),
        // 2·√2·0.0005 = 0.001414
        (
            "0.118",
            Some("0.0005"),
            "0.119",
            Some("0.0005"),
            false,
            "0.0015 in",
        ),
        (
            "0.118",
            Some("0.0005"),
            "0.120",
            Some("0.0005"),
            true,
            "0.0015 in",
        ),
        // What the instrument tells finer than is written down is not told: the digits count.
        (
            "0.118",
            Some("0.0001"),
            "0.119",
            Some("0"),
            true,
            "0.00082 in",
        ),
        // Thinner is no growth.
        ("0.118", None, "0.110", None, false, "0.00082 in"),
    ] {
        let found = growth(measured(inch(before), u1), measured(inch(now), u2)).unwrap();
        assert_eq!(found.unexplained, unexplained, "{before} {now}");
        assert_eq!(found.expanded.to_string(), off, "{before} {now}");
    }
    // 3.00 mm is 0.11811 in (25.4 mm to the inch, NIST SP 811), 3.10 mm is 0.12205 in.
    let was = measured(inch("0.118"), None);
    assert!(!growth(was, measured(mm("3.00"), None)).unwrap().unexplained);
    assert!(growth(was, measured(mm("3.10"), None)).unwrap().unexplained);
}

#[test]
fn growth_of_just_what_both_can_be_off_is_explained() {
    // By hand: 2·√(0.0003² + 0.0004²) = 0.0010.
    let was = measured(inch("0.1180"), Some("0.0003"));
    let of = |now: &str| growth(was, measured(inch(now), Some("0.0004"))).unwrap();
    assert_eq!(of("0.1190").expanded.to_string(), "0.001 in");
    assert!(!of("0.1190").unexplained);
    assert!(of("0.1191").unexplained);
}

#[test]
fn what_is_no_wall_or_no_uncertainty_is_no_growth() {
    let good = measured(inch("0.118"), None);
    for (wall, standard) in [
        ("0", None),
        ("40", None),
        ("0.118", Some("-0.001")),
        ("0.118", Some("40")),
    ] {
        let bad = measured(inch(wall), standard);
        assert!(growth(good, bad).is_err(), "{wall}");
        assert!(growth(bad, good).is_err(), "{wall}");
    }
}

fn life_of(walls: &[(Date, &str)]) -> gaugewright::calc::wall::KeptLife {
    let readings: Vec<(WallReading, Option<StampedLength>)> = walls
        .iter()
        .map(|(on, wall)| (read(*on, wall), None))
        .collect();
    life_of_grown(&readings, inch("0.100"), 240).unwrap()
}

#[test]
fn a_wall_that_grew_wears_on_at_the_faster_rate_from_what_it_was() {
    // By hand: 0.005 in lost in 100 days. Another 100 days on, read as 0.150 in, it counts as 0.120 in:
    // 0.020 in last 400 days, of which half after 18 September 2026.
    let first = (date!(2026 - 03 - 02), "0.130");
    let second = (date!(2026 - 06 - 10), "0.125");
    let grown = life_of(&[first, second, (date!(2026 - 09 - 18), "0.150")]);
    assert_eq!(grown.kept, Some(read(second.0, second.1)));
    assert!(
        matches!(grown.life.outlook, Outlook::Lasts { years } if (years * DAYS_A_YEAR - 400.0).abs() < 1e-6)
    );
    assert_eq!(grown.life.next_measurement, date!(2027 - 04 - 06));
    assert_eq!(grown.counts_as, Some(inch("0.12")));
    assert!(
        grown
            .life
            .working
            .remarks
            .iter()
            .any(|r| r.contains("does not grow"))
    );
    // By hand: lost since it grew, 0.004 in in 730 days. At that rate the 0.018 in over the least wall of
    // 1 January 2020 last 3285 days; 1461 of them are gone, 1824 are left, of which 912 are half: 731 end
    // with 2025, and 181 more lead to 1 July. It counts as 0.118 − 0.004·1461/730 = 0.1099945 in.
    let since = life_of(&[
        (date!(2020 - 01 - 01), "0.118"),
        (date!(2022 - 01 - 01), "0.150"),
        (date!(2024 - 01 - 01), "0.146"),
    ]);
    assert_eq!(since.life.next_measurement, date!(2026 - 07 - 01));
    assert_eq!(since.counts_as, Some(inch("0.10999452")));
    // Back where it was: the reading that grew in between makes the loss since it the larger rate.
    let back = life_of(&[
        (date!(2020 - 01 - 01), "0.118"),
        (date!(2022 - 01 - 01), "0.150"),
        (date!(2024 - 01 - 01), "0.117"),
    ]);
    assert_eq!(back.kept, None);
    // By hand: 0.033 in in 730 days, 0.017 in left: 376 days, half of them 188.
    assert_eq!(back.life.next_measurement, date!(2024 - 07 - 07));
    // Once it would have worn down to the least wall it is used up, whatever is read.
    let late = life_of(&[first, second, (date!(2028 - 06 - 10), "0.150")]);
    assert_eq!(late.life.outlook, Outlook::Spent);
    assert_eq!(late.life.next_measurement, date!(2028 - 06 - 10));
}

#[test]
fn no_loss_between_readings_is_forgotten_for_one_that_grew() {
    let first = (date!(2020 - 01 - 01), "0.118");
    let grown = (date!(2022 - 01 - 01), "0.150");
    // By hand: from 2022 on 0.0045 in are lost in 1461 days, by the last pair only 0.0005 in in 731. At the
    // faster rate the 0.018 in of 2020 last 5844 days; 2192 of them are gone, 3652 left, half of them 1826.
    let run = life_of(&[
        first,
        grown,
        (date!(2024 - 01 - 01), "0.146"),
        (date!(2026 - 01 - 01), "0.1455"),
    ]);
    assert_eq!(run.life.next_measurement, date!(2031 - 01 - 01));
    assert_eq!(run.kept, Some(read(first.0, first.1)));
    // By hand: it grew once more; 0.004 in in 730 days stay the rate. 3285 days less 2192 are 1093, half 546.
    let twice = life_of(&[
        first,
        grown,
        (date!(2024 - 01 - 01), "0.146"),
        (date!(2026 - 01 - 01), "0.160"),
    ]);
    assert_eq!(twice.life.next_measurement, date!(2027 - 07 - 01));
    // By hand: it had come back to what it was, 0.003 in lost in 730 days, and grew again. The 0.017 in left
    // on 1 January 2024 last 4136.7 days; 731 of them are gone, 3405.7 left, half of them 1702 whole ones.
    let again = life_of(&[
        first,
        (date!(2022 - 01 - 01), "0.120"),
        (date!(2024 - 01 - 01), "0.117"),
        (date!(2026 - 01 - 01), "0.120"),
    ]);
    assert_eq!(again.life.next_measurement, date!(2030 - 08 - 30));
    assert_eq!(again.kept, Some(read(date!(2024 - 01 - 01), "0.117")));
    // By hand: known from the kept readings alone, 0.002 in in 731 days, it goes on after them: the 0.016 in
    // left on 1 January 2022 last 5848 days, so at the reading of 2026, 1461 days on, 4387, half 2193.
    let kept = life_of(&[
        first,
        (date!(2022 - 01 - 01), "0.116"),
        (date!(2026 - 01 - 01), "0.125"),
    ]);
    assert_eq!(kept.life.next_measurement, date!(2032 - 01 - 03));
}

#[test]
fn a_reading_nobody_believes_puts_the_next_measurement_off_by_half_of_the_time_since() {
    // common practice, no source; by hand: 0.002 in in 730 days, 0.016 in left on 1 January 2023 last 5840
    // days, of which half are 2920. A reading that grew 730 days later leaves the end where it was: 5110
    // days, half of them 2555, are 3285 after the first one, so 365 later than before.
    let readings = [
        (date!(2021 - 01 - 01), "0.118"),
        (date!(2023 - 01 - 01), "0.116"),
    ];
    let before = life_of(&readings);
    let after = life_of(&[readings[0], readings[1], (date!(2024 - 12 - 31), "0.125")]);
    let days = |day: Date| (day - date!(2023 - 01 - 01)).whole_days();
    assert_eq!(days(before.life.next_measurement), 2920);
    assert_eq!(days(after.life.next_measurement), 3285);
    assert!(
        matches!(after.life.outlook, Outlook::Lasts { years } if (years * DAYS_A_YEAR - 5110.0).abs() < 1e-6)
    );
}

#[test]
fn a_wall_that_grew_over_its_only_reading_has_no_known_rate() {
    // common practice, no source: that no loss was found is not said of a reading that grew.
    let grown = life_of(&[
        (date!(2025 - 04 - 14), "0.118"),
        (date!(2026 - 11 - 30), "0.150"),
    ]);
    assert_eq!(grown.life.outlook, Outlook::RateUnknown);
    assert_eq!(grown.life.governing, None);
    assert_eq!(grown.kept, Some(read(date!(2025 - 04 - 14), "0.118")));
    // At the least wall before it grew it is used up.
    let spent = life_of(&[
        (date!(2025 - 04 - 14), "0.100"),
        (date!(2026 - 11 - 30), "0.150"),
    ]);
    assert_eq!(spent.life.outlook, Outlook::Spent);
    // Scatter is no growth: then the life is that of the readings as they are.
    let scattered = [
        read(date!(2019 - 05 - 01), "0.130"),
        read(date!(2022 - 05 - 01), "0.124"),
        read(date!(2024 - 05 - 01), "0.1245"),
    ];
    let known = scattered.map(|reading| (reading, Some(inch("0.0005"))));
    let found = life_of_grown(&known, inch("0.100"), 120).unwrap();
    assert_eq!(found.kept, None);
    assert_eq!(
        found.life,
        remaining_life(&scattered, inch("0.100"), 120).unwrap()
    );
    assert!(life_of_grown(&[], inch("0.100"), 120).is_err());
    assert!(life_of_grown(&known, inch("0.100"), 241).is_err());
    // An uncertainty that cannot be is refused whether the wall grew or not.
    let bad = scattered.map(|reading| (reading, Some(inch("-0.0005"))));
    assert!(life_of_grown(&bad, inch("0.100"), 120).is_err());
}

fn skimmed(on: Date, thickness: &str) -> (WallReading, Option<StampedLength>) {
    let taken = Taken::AfterSkim;
    (
        WallReading {
            taken,
            ..read(on, thickness)
        },
        None,
    )
}

#[test]
fn a_skimmed_wall_wears_on_as_before_its_skim() {
    // By hand: 0.005 in lost in 100 days. Skimmed to 0.120 in that day, 0.020 in last 400 days, of which half,
    // 200 days, after 10 June 2026 (20 of June, 31, 31, 30, 31 and 30 make 173 on 30 November) are on 27
    // December. A slower wall beside it does not count, nor a faster one.
    let readings = [
        (read(date!(2026 - 03 - 02), "0.130"), None),
        (read(date!(2026 - 06 - 10), "0.125"), None),
        skimmed(date!(2026 - 06 - 10), "0.120"),
    ];
    for per_year in [0.001, 0.5] {
        let unit = LengthUnit::Inch;
        let beside = [WearRate { per_year, unit }];
        let found = life_after_skim(&readings, &beside, inch("0.100"), 240)
            .unwrap()
            .unwrap();
        assert_eq!(found.carried, Carried::BeforeSkim);
        assert_eq!(found.life.next_measurement, date!(2026 - 12 - 27));
        assert!(
            matches!(found.life.outlook, Outlook::Lasts { years } if (years * DAYS_A_YEAR - 400.0).abs() < 1e-6)
        );
    }
    // Skimmed once more before it was read on another day, the rate before the first skim still counts.
    let mut twice = readings.to_vec();
    twice.push(skimmed(date!(2026 - 06 - 10), "0.110"));
    let found = life_after_skim(&twice, &[], inch("0.100"), 240).unwrap();
    // By hand: 0.010 in last 200 days, half of them end on 18 September.
    assert_eq!(found.unwrap().life.next_measurement, date!(2026 - 09 - 18));
}

#[test]
fn without_a_rate_before_the_skim_the_fastest_of_the_gauge_counts() {
    // By hand: 0.0182625 in a year are 0.005 in in 100 days; 0.020 in last 400 of them.
    let rates = [0.001, 0.018_262_5, -0.2].map(|per_year| WearRate {
        per_year,
        unit: LengthUnit::Inch,
    });
    let readings = [skimmed(date!(2026 - 06 - 10), "0.120")];
    let found = life_after_skim(&readings, &rates, inch("0.100"), 240)
        .unwrap()
        .unwrap();
    assert_eq!(found.carried, Carried::OfGauge);
    assert_eq!(found.life.next_measurement, date!(2026 - 12 - 27));
    // Where no wall of the gauge shows a loss, none is made up.
    let none = life_after_skim(&readings, &[], inch("0.100"), 240).unwrap();
    assert_eq!(none, None);
    // Nor for a wall that was not skimmed, or that shows a rate of its own since.
    let unskimmed = [(read(date!(2026 - 06 - 10), "0.120"), None)];
    let found = life_after_skim(&unskimmed, &rates, inch("0.100"), 240);
    assert_eq!(found.unwrap(), None);
    let later = [
        skimmed(date!(2026 - 06 - 10), "0.120"),
        (read(date!(2027 - 06 - 10), "0.119"), None),
    ];
    let found = life_after_skim(&later, &rates, inch("0.100"), 240);
    assert_eq!(found.unwrap(), None);
}

#[test]
fn a_skimmed_wall_at_its_limit_is_used_up_whatever_its_rate() {
    // common practice, no source: at the least wall of 0.100 in nothing is left to wear.
    let rates = [WearRate {
        per_year: 0.001,
        unit: LengthUnit::Inch,
    }];
    let at = [skimmed(date!(2026 - 06 - 10), "0.100")];
    assert_eq!(
        life_after_skim(&at, &rates, inch("0.100"), 240).unwrap(),
        None
    );
    let own = life_of_grown(&at, inch("0.100"), 240).unwrap();
    assert_eq!(own.life.outlook, Outlook::Spent);
    assert!(life_after_skim(&[], &rates, inch("0.100"), 240).is_err());
    assert!(life_after_skim(&at, &rates, inch("0.100"), 241).is_err());
}

fn history() -> impl Strategy<Value = Vec<WallReading>> {
    prop::collection::vec((1_i64..3_000, 900_i64..2_000), 1..7).prop_map(|steps| {
        let mut on = date!(2000 - 01 - 01);
        steps
            .into_iter()
            .map(|(days, wall)| {
                on += Duration::days(days);
                let thickness = Stamped::new(Decimal::new(wall, 4), LengthUnit::Inch);
                WallReading {
                    on,
                    thickness,
                    taken: Taken::AfterService,
                }
            })
            .collect()
    })
}

/// A history with skims, several readings a day and what is known of the instruments.
fn known_history() -> impl Strategy<Value = Vec<(WallReading, Option<StampedLength>)>> {
    let day = prop_oneof![1 => Just(0_i64), 5 => 1_i64..3_000];
    let taken = prop_oneof![4 => Just(Taken::AfterService), 1 => Just(Taken::AfterSkim)];
    let standard = prop::option::of(0_i64..150);
    let one = (day, 900_i64..2_000, taken, standard);
    prop::collection::vec(one, 1..9).prop_map(|steps| {
        let of = |n: i64| Stamped::new(Decimal::new(n, 4), LengthUnit::Inch);
        let mut on = date!(2000 - 01 - 01);
        steps
            .into_iter()
            .map(|(days, wall, taken, standard)| {
                on += Duration::days(days);
                let reading = WallReading {
                    on,
                    thickness: of(wall),
                    taken,
                };
                (reading, standard.map(of))
            })
            .collect()
    })
}

fn days_between(from: Date, to: Date) -> f64 {
    f64::from(to.to_julian_day() - from.to_julian_day())
}

proptest! {
    #[test]
    fn the_next_measurement_is_never_after_the_interval_nor_after_the_end_of_life(readings in history(), months in 1_u32..240) {
        let found = remaining_life(&readings, inch("0.100"), months).unwrap();
        let last = readings.last().unwrap().on;
        prop_assert!(found.next_measurement >= last);
        let longest = gaugewright::calc::calendar::add_months(last, months).unwrap();
        prop_assert!(found.next_measurement <= longest);
        if let Outlook::Lasts { years } = found.outlook {
            prop_assert!(years > 0.0);
            let days = (found.next_measurement - last).whole_days();
            prop_assert!(f64::from(i32::try_from(days).unwrap()) <= years * DAYS_A_YEAR / 2.0 + 1e-3);
        }
    }

    #[test]
    fn a_thicker_first_reading_never_lengthens_the_life(readings in history(), more in 1_i64..500) {
        let before = remaining_life(&readings, inch("0.100"), 120).unwrap();
        let mut worn = readings;
        worn[0].thickness.value += Decimal::new(more, 4);
        if worn.len() > 1 {
            let after = remaining_life(&worn, inch("0.100"), 120).unwrap();
            prop_assert!(after.next_measurement <= before.next_measurement);
        }
    }

    #[test]
    fn a_reading_that_grew_never_puts_the_next_measurement_off_past_the_life_before_it(known in known_history()) {
        let limit = inch("0.100");
        let readings: Vec<WallReading> = known.iter().map(|(reading, _)| *reading).collect();
        let all = life_of_grown(&known, limit, 240).unwrap();
        let plain = remaining_life(&readings, limit, 240).unwrap();
        let (next, last) = (all.life.next_measurement, readings.last().unwrap().on);
        prop_assert!(next <= plain.next_measurement);
        prop_assert!(next >= last);
        prop_assert!(all.kept.is_none() || all.life.outlook != Outlook::NoLossFound);
        // What was reckoned on the last day a reading is kept of ends no later for those that grew since.
        if let Some(before) = all.kept {
            let until: Vec<_> = known.iter().copied().filter(|(reading, _)| reading.on <= before.on).collect();
            let then = life_of_grown(&until, limit, 240).unwrap();
            match then.life.outlook {
                Outlook::Spent => prop_assert_eq!(all.life.outlook, Outlook::Spent),
                Outlook::Lasts { years } => {
                    let end = years * DAYS_A_YEAR;
                    prop_assert!(days_between(before.on, next) <= end.max(days_between(before.on, last)) + 1e-3);
                    if let Outlook::Lasts { years } = all.life.outlook {
                        prop_assert!(days_between(before.on, last) + years * DAYS_A_YEAR <= end * (1.0 + 1e-6) + 1e-3);
                    }
                }
                Outlook::NoLossFound | Outlook::RateUnknown => {}
            }
        }
    }

    #[test]
    fn an_allowed_skim_leaves_the_limit(wall in 900_i64..2_000, cut in 1_i64..300, done in 0_u8..4) {
        let of = |n: i64| Stamped::new(Decimal::new(n, 4), LengthUnit::Inch);
        let found = plan_skim(of(wall), of(cut), inch("0.1"), done, MOST).unwrap();
        prop_assert_eq!(found.skim == Skim::Allowed, wall - cut >= 1_000 && done < 2);
        prop_assert_eq!(found.left.value, Decimal::new(wall - cut, 4).normalize());
        prop_assert_eq!(i64::from(skims_possible(of(wall), of(cut), inch("0.1")).unwrap()), ((wall - 1_000) / cut).max(0));
    }
}
