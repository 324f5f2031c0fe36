//! Flatness checked against linear programming, exact fractions and plain geometry.
//! Random cases against the library are in the differential tests.

use gaugewright::calc::flatness::{Flatness, FlatnessError, Plane, Station, minimum_zone};
use gaugewright::calc::quantity::LengthUnit;
use proptest::prelude::*;

fn rails(x: &[f64], rails: &[(f64, &[f64])], unit: f64) -> Vec<Station> {
    rails
        .iter()
        .flat_map(|(y, heights)| {
            x.iter().zip(*heights).map(move |(x, z)| Station {
                x: *x,
                y: *y,
                height: z * unit,
            })
        })
        .collect()
}

fn points(list: &[(f64, f64, f64)]) -> Vec<Station> {
    list.iter()
        .map(|&(x, y, height)| Station { x, y, height })
        .collect()
}

fn spaced(step: f64, count: u32) -> Vec<f64> {
    (0..count).map(|i| step * f64::from(i)).collect()
}

/// Faces with minimum zone, least-squares peak to valley and root mean square.
///
/// library: scipy 1.17.1 linprog and numpy 2.4.6 lstsq; the zones also as exact fractions by
/// enumerating all dual solutions with Python's `fractions`.
#[expect(clippy::too_many_lines, reason = "a table")]
fn faces() -> Vec<(&'static str, Vec<Station>, f64, f64, f64)> {
    let tenths = 0.0001;
    let thousandths = 0.001;
    let grid = |n: u32, step: f64, height: &dyn Fn(u32, u32) -> f64| -> Vec<Station> {
        (0..n)
            .flat_map(|i| (0..n).map(move |j| (i, j)))
            .map(|(i, j)| Station {
                x: step * f64::from(i),
                y: step * f64::from(j),
                height: height(i, j),
            })
            .collect()
    };
    let bow: Vec<f64> = spaced(2.0, 9)
        .iter()
        .map(|x| 0.004 * (1.0 - ((x - 8.0) / 8.0).powi(2)))
        .collect();
    vec![
        (
            "F1 twisted corners, in",
            points(&[
                (0.0, 0.0, 0.0),
                (4.0, 0.0, 0.0),
                (0.0, 1.0, 0.0),
                (4.0, 1.0, 0.004),
            ]),
            1.0 / 500.0,
            0.002,
            0.001,
        ),
        (
            "F2 two rails, in",
            rails(
                &spaced(2.0, 5),
                &[
                    (0.0, &[0.0, 4.0, 9.0, 6.0, 1.0]),
                    (1.5, &[2.0, 8.0, 14.0, 9.0, 3.0]),
                ],
                tenths,
            ),
            23.0 / 20_000.0,
            0.001_17,
            0.000_382_557_185,
        ),
        (
            "F3 two rails, mm",
            rails(
                &spaced(40.0, 9),
                &[
                    (
                        0.0,
                        &[0.0, -6.0, -11.0, -15.0, -17.0, -14.0, -12.0, -5.0, 1.0],
                    ),
                    (34.0, &[12.0, 5.0, -2.0, -4.0, -9.0, -3.0, 0.0, 7.0, 15.0]),
                ],
                thousandths,
            ),
            9.0 / 400.0,
            0.023_033_333_3,
            0.006_833_525_29,
        ),
        (
            "F4 three by three, mm",
            rails(
                &spaced(50.0, 3),
                &[
                    (0.0, &[3.0, 1.0, 0.0]),
                    (50.0, &[2.0, 9.0, 4.0]),
                    (100.0, &[0.0, 2.0, 5.0]),
                ],
                thousandths,
            ),
            9.0 / 1_000.0,
            0.009_166_666_67,
            0.002_597_482_16,
        ),
        (
            "F6 five by five, mm",
            grid(5, 20.0, &|i, j| {
                f64::from((7 * i + 3 * j * j + 5 * i * j) % 11) / 1_000.0
            }),
            17.0 / 2_000.0,
            0.0085,
            0.002_343_843,
        ),
        (
            "F7 bump inside a square, mm",
            points(&[
                (0.0, 0.0, 0.0),
                (10.0, 0.0, 0.0),
                (0.0, 10.0, 0.0),
                (10.0, 10.0, 0.0),
                (3.0, 3.0, 0.009),
            ]),
            9.0 / 1_000.0,
            0.009_812_030_08,
            0.003_490_050_3,
        ),
        (
            "F8 steep, mm, along the height",
            points(&[
                (0.0, 0.0, 0.0),
                (10.0, 0.0, 3.006),
                (20.0, 0.0, 5.996),
                (0.0, 5.0, 0.503),
                (10.0, 5.0, 3.493),
                (20.0, 5.0, 6.505),
            ]),
            11.0 / 1_000.0,
            0.012_666_666_7,
            0.004_696_334_27,
        ),
        (
            "F9 tilted rails, in",
            rails(
                &spaced(1.5, 7),
                &[
                    (0.0, &[0.0, 6.0, 11.0, 18.0, 23.0, 31.0, 35.0]),
                    (1.125, &[2.0, 7.0, 15.0, 19.0, 27.0, 30.0, 33.0]),
                ],
                tenths,
            ),
            2.0 / 4_375.0,
            0.000_535_714_286,
            0.000_129_952_896,
        ),
        (
            "S2 bow",
            rails(&spaced(2.0, 9), &[(0.0, &bow), (2.0, &bow)], 1.0),
            1.0 / 250.0,
            0.004,
            0.001_462_494,
        ),
        (
            "S3 rails, in",
            rails(
                &spaced(2.0, 7),
                &[
                    (0.0, &[0.0, 3.0, 5.0, 6.0, 5.0, 2.0, -1.0]),
                    (2.0, &[1.0, 3.0, 6.0, 8.0, 6.0, 4.0, 1.0]),
                ],
                thousandths,
            ),
            7.0 / 1_000.0,
            0.007_553_571,
            0.002_472_037,
        ),
        (
            "S4 rails, in",
            rails(
                &spaced(1.5, 9),
                &[
                    (0.0, &[0.0, 0.4, 0.9, 1.1, 1.3, 1.2, 0.8, 0.5, 0.1]),
                    (1.75, &[0.2, 0.7, 1.0, 1.6, 1.5, 1.4, 1.2, 0.6, 0.4]),
                ],
                thousandths,
            ),
            53.0 / 40_000.0,
            0.001_367_5,
            0.000_461_166,
        ),
        (
            "S5 one high corner",
            rails(
                &spaced(1.0, 5),
                &[(0.0, &[0.0, 0.0, 0.0, 0.0, 10.0]), (1.0, &[0.0; 5])],
                thousandths,
            ),
            1.0 / 125.0,
            0.009,
            0.002_449_49,
        ),
        (
            "S6 rails, mm",
            rails(
                &spaced(50.0, 6),
                &[
                    (0.0, &[12.0, 20.0, 31.0, 27.0, 18.0, 22.0]),
                    (40.0, &[5.0, 16.0, 24.0, 33.0, 29.0, 14.0]),
                ],
                thousandths,
            ),
            113.0 / 5_000.0,
            0.0228,
            0.007_313_325,
        ),
        (
            "S7 rails, in",
            rails(
                &spaced(3.0, 6),
                &[
                    (0.0, &[0.0, 2.0, 1.0, 3.0, 1.0, 2.0]),
                    (2.5, &[1.0, 0.0, 2.0, 1.0, 4.0, 1.0]),
                ],
                thousandths,
            ),
            13.0 / 4_000.0,
            0.003_285_714,
            0.001_005_935,
        ),
        (
            "S8 bump amid nine",
            grid(3, 1.0, &|i, j| if i == 1 && j == 1 { 0.003 } else { 0.0 }),
            3.0 / 1_000.0,
            0.003,
            0.000_942_809,
        ),
    ]
}

#[test]
fn the_zone_of_known_faces_is_found() {
    // Zones are fractions of readings and must agree to rounding; the other two were printed with
    // seven to nine digits.
    for (name, stations, zone, least_squares, rms) in faces() {
        let found = minimum_zone(&stations).unwrap();
        assert!(
            (found.minimum_zone - zone).abs() < 1e-14,
            "{name}: {}",
            found.minimum_zone
        );
        assert!(
            (found.least_squares - least_squares).abs() < 1e-9,
            "{name}: {}",
            found.least_squares
        );
        assert!(
            (found.root_mean_square - rms).abs() < 1e-9,
            "{name}: {}",
            found.root_mean_square
        );
    }
}

#[test]
fn peak_and_valley_about_the_least_squares_plane_are_told() {
    // library: numpy 2.4.6 lstsq.
    for (name, peak, valley) in [
        ("F2", 0.000_68, 0.000_49),
        ("F3", 0.0117, 0.011_333_333_3),
        ("F4", 0.006_111_111_1, 0.003_055_555_6),
        ("S3", 0.003_857_143, 0.003_696_429),
    ] {
        let faces = faces();
        let (_, stations, ..) = faces.iter().find(|face| face.0.starts_with(name)).unwrap();
        let found = minimum_zone(stations).unwrap();
        let off = |s: &Station| s.height - found.least_squares_plane.height_at(s);
        let high = stations.iter().map(off).fold(f64::MIN, f64::max);
        let low = stations.iter().map(off).fold(f64::MAX, f64::min);
        assert!(
            (high - peak).abs() < 1e-9 && (low + valley).abs() < 1e-9,
            "{name} {high} {low}"
        );
    }
}

#[test]
fn the_planes_of_a_known_face_are_found() {
    // library: scipy 1.17.1 linprog and numpy 2.4.6 lstsq, set S3.
    let faces = faces();
    let (_, stations, ..) = faces.iter().find(|face| face.0.starts_with("S3")).unwrap();
    let found = minimum_zone(stations).unwrap();
    let near = |plane: Plane, along: f64, across: f64, at_origin: f64| {
        (plane.along - along).abs() < 1e-9
            && (plane.across - across).abs() < 1e-9
            && (plane.at_origin - at_origin).abs() < 1e-9
    };
    assert!(near(found.plane, 0.0, 0.001, 0.0025), "{:?}", found.plane);
    assert!(
        near(
            found.least_squares_plane,
            -2.678_571e-5,
            6.428_571e-4,
            3.017_857e-3
        ),
        "{:?}",
        found.least_squares_plane
    );
}

#[test]
fn a_twist_counts_although_each_rail_is_straight() {
    // Plain geometry: half of the one raised corner.
    let found = minimum_zone(&faces()[0].1).unwrap();
    assert!((found.minimum_zone - 0.002).abs() < 1e-15);
    assert_eq!(found.carrying, vec![0, 1, 2, 3]);
}

#[test]
fn a_tilted_plane_is_flat() {
    // Plain geometry: a plane has no deviation however it lies.
    let mut stations = Vec::new();
    for x in [0.0, 10.0, 25.0, 40.0] {
        for y in [0.0, 5.0, 12.0] {
            stations.push(Station {
                x,
                y,
                height: 0.002 * x - 0.001 * y + 0.007,
            });
        }
    }
    let found = minimum_zone(&stations).unwrap();
    assert!(found.minimum_zone < 1e-12 && found.least_squares < 1e-12);
    assert!(
        (found.plane.along - 0.002).abs() < 1e-12 && (found.plane.across + 0.001).abs() < 1e-12
    );
}

#[test]
fn the_value_can_be_stamped_without_binary_noise() {
    // library: scipy 1.17.1 linprog gives this zone; a binary value shows no more digits than it has.
    let found = minimum_zone(&faces()[1].1).unwrap();
    assert_eq!(
        found.stamped(LengthUnit::Inch).unwrap().to_string(),
        "0.00115 in"
    );
    assert!(
        Flatness {
            minimum_zone: f64::NAN,
            ..found
        }
        .stamped(LengthUnit::Inch)
        .is_err()
    );
}

#[test]
fn the_working_ends_in_the_zone() {
    let found = minimum_zone(&faces()[1].1).unwrap();
    assert_eq!(found.working.answer(), Some("0.00115"));
}

#[test]
fn too_few_stations_have_no_flatness() {
    let three = points(&[(0.0, 0.0, 0.0), (1.0, 0.0, 0.1), (0.0, 1.0, 0.0)]);
    assert_eq!(
        minimum_zone(&three),
        Err(FlatnessError::TooFewStations { given: 3 })
    );
    assert_eq!(
        minimum_zone(&[]),
        Err(FlatnessError::TooFewStations { given: 0 })
    );
}

#[test]
fn one_rail_alone_has_no_flatness() {
    for (dx, dy) in [(1.0, 0.0), (0.0, 1.0), (1.0, 0.37), (0.0, 0.0)] {
        let line: Vec<Station> = (0..9)
            .map(|i| Station {
                x: 3.0 + dx * f64::from(i),
                y: dy * f64::from(i),
                height: 0.001 * f64::from(i % 2),
            })
            .collect();
        assert_eq!(
            minimum_zone(&line),
            Err(FlatnessError::OneLine),
            "{dx} {dy}"
        );
    }
}

#[test]
fn readings_that_are_no_numbers_are_refused() {
    for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1.1e9] {
        for field in 0..3 {
            let mut stations = faces()[1].1.clone();
            match field {
                0 => stations[4].x = bad,
                1 => stations[4].y = bad,
                _ => stations[4].height = bad,
            }
            assert!(
                matches!(minimum_zone(&stations), Err(FlatnessError::OutOfRange(_))),
                "{bad} {field}"
            );
        }
    }
    let many = vec![
        Station {
            x: 0.0,
            y: 0.0,
            height: 0.0
        };
        10_001
    ];
    assert!(matches!(
        minimum_zone(&many),
        Err(FlatnessError::OutOfRange(_))
    ));
}

#[test]
fn a_face_read_twice_keeps_its_zone() {
    for (name, mut stations, zone, ..) in faces() {
        stations.extend(stations.clone());
        let found = minimum_zone(&stations).unwrap();
        assert!((found.minimum_zone - zone).abs() < 1e-14, "{name}");
    }
}

#[test]
fn two_readings_of_one_spot_that_disagree_count_in_full() {
    // Plain geometry: nothing can bring two heights of one place nearer to each other.
    let stations = points(&[
        (0.0, 0.0, 0.0),
        (4.0, 0.0, 0.0),
        (0.0, 1.0, 0.0),
        (0.0, 1.0, 0.003),
    ]);
    assert!((minimum_zone(&stations).unwrap().minimum_zone - 0.003).abs() < 1e-15);
}

/// Two to four rails, readings in whole steps of an indicator, so that ties are common.
fn face() -> impl Strategy<Value = Vec<Station>> {
    (2_usize..5, 3_usize..9, 1_i32..40)
        .prop_flat_map(|(rails, along, span)| {
            (
                Just((rails, along)),
                prop::collection::vec(-span..=span, rails * along),
            )
        })
        .prop_map(|((rails, along), steps)| {
            let mut stations = Vec::new();
            for rail in 0..rails {
                for at in 0..along {
                    #[expect(clippy::cast_precision_loss, reason = "small counts")]
                    let (x, y) = (at as f64 * 25.0, rail as f64 * 34.0);
                    stations.push(Station {
                        x,
                        y,
                        height: f64::from(steps[rail * along + at]) * 0.0001,
                    });
                }
            }
            stations
        })
}

/// Range of the raw heights.
fn range(stations: &[Station]) -> f64 {
    let high = stations.iter().map(|s| s.height).fold(f64::MIN, f64::max);
    let low = stations.iter().map(|s| s.height).fold(f64::MAX, f64::min);
    high - low
}

/// Every extreme solution of the dual problem, one by one: four stations, or three in one line.
fn by_enumeration(stations: &[Station]) -> f64 {
    let mut most: f64 = 0.0;
    let n = stations.len();
    for a in 0..n {
        for b in a + 1..n {
            for c in b + 1..n {
                for d in c + 1..n {
                    let four = [a, b, c, d].map(|k| stations[k]);
                    let minor = |p: Station, q: Station, r: Station| {
                        (q.x - p.x) * (r.y - p.y) - (r.x - p.x) * (q.y - p.y)
                    };
                    let weights = [
                        minor(four[1], four[2], four[3]),
                        -minor(four[0], four[2], four[3]),
                        minor(four[0], four[1], four[3]),
                        -minor(four[0], four[1], four[2]),
                    ];
                    let total: f64 = weights.iter().map(|w| w.abs()).sum();
                    if total > 0.0 {
                        let moment: f64 = weights.iter().zip(four).map(|(w, s)| w * s.height).sum();
                        most = most.max(2.0 * moment.abs() / total);
                    }
                }
                let (p, q, r) = (stations[a], stations[b], stations[c]);
                let along = |s: Station| (s.x - p.x) + (s.y - p.y);
                let area = (q.x - p.x) * (r.y - p.y) - (r.x - p.x) * (q.y - p.y);
                if area == 0.0 && along(q) != 0.0 && (along(r) - along(q)).abs() > 0.0 {
                    let weights = [along(r) - along(q), -along(r), along(q)];
                    let total: f64 = weights.iter().map(|w| w.abs()).sum();
                    let moment =
                        weights[0] * p.height + weights[1] * q.height + weights[2] * r.height;
                    most = most.max(2.0 * moment.abs() / total);
                }
            }
        }
    }
    most
}

proptest! {
    #[test]
    fn the_zone_holds_every_station_and_is_not_more_than_the_others(stations in face()) {
        let found = minimum_zone(&stations).unwrap();
        prop_assert!(found.minimum_zone <= found.least_squares);
        prop_assert!(found.minimum_zone <= range(&stations) + 1e-15);
        for station in &stations {
            let off = (station.height - found.plane.height_at(station)).abs();
            prop_assert!(off <= found.minimum_zone / 2.0 + 1e-14);
        }
    }

    #[test]
    fn the_zone_is_the_best_of_all_dual_solutions(stations in face()) {
        let small: Vec<Station> = stations.into_iter().take(20).collect();
        if let Ok(found) = minimum_zone(&small) {
            prop_assert!((found.minimum_zone - by_enumeration(&small)).abs() < 1e-14);
        }
    }

    #[test]
    fn tilt_and_shift_change_nothing(stations in face(), a in -0.01_f64..0.01, b in -0.01_f64..0.01, c in -1.0_f64..1.0) {
        let before = minimum_zone(&stations).unwrap();
        let tilted: Vec<Station> = stations.iter()
            .map(|s| Station { height: s.height + a * s.x + b * s.y + c, x: s.x + 1_000.0, y: s.y - 500.0 })
            .collect();
        let after = minimum_zone(&tilted).unwrap();
        // The tilt adds heights of up to some units; 1e-13 is a few hundred of their last places.
        prop_assert!((before.minimum_zone - after.minimum_zone).abs() < 1e-13);
        prop_assert!((before.least_squares - after.least_squares).abs() < 1e-13);
    }

    #[test]
    fn the_zone_scales_with_the_heights(stations in face(), factor in 0.001_f64..1_000.0) {
        let before = minimum_zone(&stations).unwrap();
        for sign in [1.0, -1.0] {
            let scaled: Vec<Station> = stations.iter().map(|s| Station { height: s.height * factor * sign, ..*s }).collect();
            let after = minimum_zone(&scaled).unwrap();
            prop_assert!((before.minimum_zone * factor - after.minimum_zone).abs() <= 1e-12 * factor);
        }
    }

    #[test]
    fn another_station_never_makes_a_face_flatter(stations in face(), x in 0.0_f64..200.0, y in 0.0_f64..100.0, z in -0.01_f64..0.01) {
        let before = minimum_zone(&stations).unwrap();
        let mut more = stations;
        more.push(Station { x, y, height: z });
        prop_assert!(minimum_zone(&more).unwrap().minimum_zone >= before.minimum_zone - 1e-14);
    }

    #[test]
    fn the_order_of_reading_does_not_matter(stations in face(), turn in 0_usize..30) {
        let before = minimum_zone(&stations).unwrap();
        let mut turned = stations;
        let by = turn % turned.len();
        turned.rotate_left(by);
        turned.reverse();
        prop_assert!((minimum_zone(&turned).unwrap().minimum_zone - before.minimum_zone).abs() < 1e-14);
    }
}
