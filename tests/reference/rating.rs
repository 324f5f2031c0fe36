//! Rated pressures at temperatures against rating tables and hand interpolation.
//! What a test has to reach because of a rating is checked in `pressure_test`.

use gaugewright::calc::quantity::{
    PressureUnit, StampedPressure, StampedTemperature, TemperatureUnit, decimal,
};
use gaugewright::calc::rating::{Point, at};
use proptest::prelude::*;
use rust_decimal::Decimal;

fn number(text: &str) -> Decimal {
    decimal("number", text).unwrap()
}

fn celsius(text: &str) -> StampedTemperature {
    StampedTemperature::new(number(text), TemperatureUnit::Celsius)
}

fn fahrenheit(text: &str) -> StampedTemperature {
    StampedTemperature::new(number(text), TemperatureUnit::Fahrenheit)
}

fn table(
    temperatures: &str,
    pressures: &str,
    scale: TemperatureUnit,
    unit: PressureUnit,
) -> Vec<Point> {
    temperatures
        .split(' ')
        .zip(pressures.split(' '))
        .map(|(t, p)| Point {
            temperature: StampedTemperature::new(number(t), scale),
            pressure: StampedPressure::new(number(p), unit),
        })
        .collect()
}

/// published: ASME B16.5-2009, Table 2-1.1, material group 1.1, in bar; the first row holds from
/// -29 to 38 °C and is therefore two points.
const GROUP_1_1_CELSIUS: &str = "-29 38 50 100 150 200 250 300 325 350 375 400 425";
#[rustfmt::skip]
const GROUP_1_1_BAR: [(&str, &str); 3] = [
    ("150", "19.6 19.6 19.2 17.7 15.8 13.8 12.1 10.2 9.3 8.4 7.4 6.5 5.5"),
    ("300", "51.1 51.1 50.1 46.6 45.1 43.8 41.9 39.8 38.7 37.6 36.4 34.7 28.8"),
    ("600", "102.1 102.1 100.2 93.2 90.2 87.6 83.9 79.6 77.4 75.1 72.7 69.4 57.5"),
];

/// published: ASME B16.5-2003, Table F2-1.2, material group 1.2, in psi.
const GROUP_1_2_FAHRENHEIT: &str = "100 200 300 400 500 600 650 700 750 800 850 900";
#[rustfmt::skip]
const GROUP_1_2_PSI: [(&str, &str); 3] = [
    ("150", "290 260 230 200 170 140 125 110 95 80 65 50"),
    ("300", "750 750 730 705 665 605 590 555 505 410 320 225"),
    ("600", "1500 1500 1455 1405 1330 1210 1175 1110 1015 825 640 445"),
];

fn group_1_1(class: &str) -> Vec<Point> {
    let row = GROUP_1_1_BAR
        .iter()
        .find(|(name, _)| *name == class)
        .unwrap()
        .1;
    table(
        GROUP_1_1_CELSIUS,
        row,
        TemperatureUnit::Celsius,
        PressureUnit::Bar,
    )
}

fn group_1_2(class: &str) -> Vec<Point> {
    let row = GROUP_1_2_PSI
        .iter()
        .find(|(name, _)| *name == class)
        .unwrap()
        .1;
    table(
        GROUP_1_2_FAHRENHEIT,
        row,
        TemperatureUnit::Fahrenheit,
        PressureUnit::Psi,
    )
}

/// published: the tables above, read at their own points.
#[test]
fn a_tabulated_rating_is_returned_as_it_stands() {
    for (class, row) in GROUP_1_1_BAR {
        let points = group_1_1(class);
        for (t, p) in GROUP_1_1_CELSIUS.split(' ').zip(row.split(' ')) {
            assert_eq!(
                at(&points, celsius(t)).unwrap().pressure.to_string(),
                format!("{p} bar")
            );
        }
    }
    for (class, row) in GROUP_1_2_PSI {
        let points = group_1_2(class);
        for (t, p) in GROUP_1_2_FAHRENHEIT.split(' ').zip(row.split(' ')) {
            assert_eq!(
                at(&points, fahrenheit(t)).unwrap().pressure.to_string(),
                format!("{p} psi")
            );
        }
    }
}

/// published: the tables above; the straight line between neighbours drawn by hand, exact decimals.
#[test]
fn between_points_the_rating_is_a_straight_line() {
    #[rustfmt::skip]
    let cases = [
        ("150", "120", "16.94"),
        ("150", "44", "19.4"),
        ("150", "232", "12.712"),
        ("300", "275", "40.85"),
        ("300", "310", "39.36"),
        ("300", "90", "47.3"),
        ("300", "232", "42.584"),
        ("600", "410", "64.64"),
        ("600", "180", "88.64"),
        ("600", "333", "76.664"),
        ("300", "0", "51.1"),
    ];
    for (class, t, wanted) in cases {
        let found = at(&group_1_1(class), celsius(t)).unwrap();
        assert_eq!(
            found.pressure,
            StampedPressure::new(number(wanted), PressureUnit::Bar),
            "{class} {t}"
        );
        assert_eq!(found.working.answer().unwrap(), format!("{wanted} bar"));
    }
    #[rustfmt::skip]
    let cases = [
        ("300", "350", "717.5"),
        ("150", "250", "245"),
        ("600", "425", "1386.25"),
        ("300", "625", "597.5"),
        ("150", "780", "86"),
    ];
    for (class, t, wanted) in cases {
        let found = at(&group_1_2(class), fahrenheit(t)).unwrap().pressure;
        assert_eq!(
            found,
            StampedPressure::new(number(wanted), PressureUnit::Psi),
            "{class} {t}"
        );
    }
}

/// published: an older edition of the same table in kPa (300 °C, class 300: 3870 and not 3980); the
/// edition belongs to the table, so both are right in their own.
#[test]
fn the_table_decides_not_the_edition() {
    let points = table(
        "38 50 100 150 200 250",
        "5110 5010 4640 4520 4380 4170",
        TemperatureUnit::Celsius,
        PressureUnit::KiloPascal,
    );
    for (t, wanted) in [("75", "4825"), ("212", "4329.6")] {
        let found = at(&points, celsius(t)).unwrap().pressure;
        assert_eq!(
            found,
            StampedPressure::new(number(wanted), PressureUnit::KiloPascal)
        );
    }
}

/// published: ASME B16.5 gives no rating beyond its table.
#[test]
fn beyond_the_table_there_is_no_rating() {
    let refused = at(&group_1_2("300"), fahrenheit("950")).unwrap_err();
    assert_eq!(refused.input, "temperature");
    assert!(
        refused.allowed.contains("100 °F") && refused.allowed.contains("900 °F"),
        "{refused}"
    );
    assert!(at(&group_1_2("300"), fahrenheit("900.001")).is_err());
    assert!(
        at(&group_1_2("300"), fahrenheit("50")).is_err(),
        "a first row that is one point"
    );
    assert!(at(&group_1_1("300"), celsius("-29.1")).is_err());
    assert!(at(&group_1_1("300"), celsius("426")).is_err());
}

#[test]
fn the_scale_of_the_thermometer_does_not_matter() {
    let points = group_1_1("300");
    // 212 °F is 100 °C and 373.15 K exactly, points of the table; 302 °F is 150 °C.
    assert_eq!(
        at(&points, fahrenheit("212")).unwrap().pressure.to_string(),
        "46.6 bar"
    );
    assert_eq!(
        at(&points, fahrenheit("302")).unwrap().pressure.to_string(),
        "45.1 bar"
    );
    let kelvin = StampedTemperature::new(number("373.15"), TemperatureUnit::Kelvin);
    assert_eq!(
        at(&points, kelvin).unwrap().pressure.to_string(),
        "46.6 bar"
    );
    // 239 °F is 115 °C: 46.6 - 1.5 · 15/50 = 46.15 bar, by hand.
    assert_eq!(
        at(&points, fahrenheit("239")).unwrap().pressure.value,
        number("46.15")
    );
}

#[test]
fn what_does_not_end_is_cut_off_on_the_safe_side() {
    let points = table("0 3", "10 9", TemperatureUnit::Celsius, PressureUnit::Bar);
    assert_eq!(
        at(&points, celsius("1")).unwrap().pressure.value,
        number("9.666666")
    );
    assert_eq!(
        at(&points, celsius("2")).unwrap().pressure.value,
        number("9.333333")
    );
}

#[test]
fn a_table_that_is_none_is_refused() {
    assert!(at(&[], celsius("20")).is_err());
    let one = table("100", "40", TemperatureUnit::Celsius, PressureUnit::Bar);
    assert_eq!(
        at(&one, celsius("100")).unwrap().pressure.to_string(),
        "40 bar"
    );
    assert!(at(&one, celsius("99")).is_err() && at(&one, celsius("101")).is_err());
    let twice = table(
        "100 200 100",
        "40 30 40",
        TemperatureUnit::Celsius,
        PressureUnit::Bar,
    );
    assert_eq!(
        at(&twice, celsius("150")).unwrap_err().input,
        "temperature of a rating point"
    );
    let mut mixed = table(
        "100 200",
        "40 30",
        TemperatureUnit::Celsius,
        PressureUnit::Bar,
    );
    mixed[1].pressure.unit = PressureUnit::Psi;
    assert_eq!(
        at(&mixed, celsius("150")).unwrap_err().input,
        "rated pressure"
    );
    for bad in ["0", "-40"] {
        let points = table(
            "100 200",
            &format!("40 {bad}"),
            TemperatureUnit::Celsius,
            PressureUnit::Bar,
        );
        assert!(at(&points, celsius("150")).is_err());
    }
    let cold = table(
        "-300 200",
        "40 30",
        TemperatureUnit::Celsius,
        PressureUnit::Bar,
    );
    assert!(at(&cold, celsius("150")).is_err(), "below absolute zero");
    let many = vec![one[0]; 101];
    assert!(at(&many, celsius("100")).is_err());
    let huge = StampedTemperature::new(Decimal::MAX, TemperatureUnit::Celsius);
    assert!(at(&one, huge).is_err());
}

proptest! {
    #[test]
    fn the_order_of_the_points_does_not_matter(t in -290_i64..=4250, turn in 0_usize..13, class in prop::sample::select(vec!["150", "300", "600"])) {
        let mut points = group_1_1(class);
        let temperature = StampedTemperature::new(Decimal::new(t, 1), TemperatureUnit::Celsius);
        let sorted = at(&points, temperature).unwrap();
        points.rotate_left(turn);
        points.swap(0, 7);
        prop_assert_eq!(at(&points, temperature).unwrap(), sorted);
    }

    #[test]
    fn a_rating_lies_between_its_neighbours(t in -290_i64..=4250, class in prop::sample::select(vec!["150", "300", "600"])) {
        let points = group_1_1(class);
        let found = at(&points, StampedTemperature::new(Decimal::new(t, 1), TemperatureUnit::Celsius)).unwrap().pressure.value;
        let here = Decimal::new(t, 1);
        let below = points.iter().rfind(|point| point.temperature.value <= here).unwrap();
        let above = points.iter().find(|point| point.temperature.value >= here).unwrap();
        prop_assert!(found <= below.pressure.value);
        prop_assert!(found >= above.pressure.value);
    }

    #[test]
    fn a_rating_never_rises_with_temperature_where_the_table_does_not(a in -290_i64..=4250, b in -290_i64..=4250) {
        let points = group_1_1("300");
        let rated = |t| at(&points, StampedTemperature::new(Decimal::new(t, 1), TemperatureUnit::Celsius)).unwrap().pressure.value;
        prop_assert!(rated(a.max(b)) <= rated(a.min(b)));
    }
}
