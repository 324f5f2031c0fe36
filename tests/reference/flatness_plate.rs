//! A measured surface from the literature: the plate of J. C. Moody, with the least zone worked by hand.
//! Faces made up for the tests, and the laws of the zone, are in `flatness`.

use gaugewright::calc::flatness::{Station, minimum_zone};

/// One line of readings: where it begins and ends, and the heights at equal steps between.
type Line = ((f64, f64), (f64, f64), &'static [f64]);

/// published: J. C. Moody, How to calibrate surface plates in the plant, The Tool Engineer 35 (October
/// 1955) 85-91: the eight lines of his example, with the heights he works out from the autocollimator, as
/// kept in <https://github.com/ballen4705/Moody-Method>, `Moody_data/gnuplot.dat`. Places in tenths of
/// the short and sixteenths of the long side; heights in the unit of that file.
#[rustfmt::skip]
const PLATE: [Line; 8] = [
    ((0.0, 10.0), (16.0, 0.0), &[
        6.205_611, 8.920_568, 10.665_896, 10.471_972, 10.665_896, 11.441_598, 12.411_225,
        13.186_928, 12.993_002, 13.768_703, 13.186_928, 12.993_004, 13.186_928, 13.574_778,
        13.186_931, 12.217_303, 10.471_972, 10.859_820, 10.471_969, 9.308_419, 6.205_611,
    ]),
    ((16.0, 10.0), (0.0, 0.0), &[
        2.908_881, 6.321_968, 7.407_951, 8.493_934, 9.192_065, 10.471_972, 12.139_730,
        12.450_010, 12.760_291, 13.846_274, 13.186_928, 12.333_656, 11.674_312, 11.014_964,
        10.937_392, 9.696_272, 8.455_150, 7.214_028, 7.136_460, 6.089_264, 2.908_881,
    ]),
    ((16.0, 10.0), (0.0, 10.0), &[
        2.908_881, 5.526_869, 6.593_460, 9.211_453, 11.441_594, 13.477_812, 14.932_251,
        14.641_363, 15.320_102, 14.641_361, 13.574_773, 12.702_110, 11.635_522, 10.181_081,
        8.920_567, 8.629_680, 6.205_611,
    ]),
    ((16.0, 0.0), (0.0, 0.0), &[
        6.205_611, 9.744_754, 10.568_937, 12.556_673, 14.350_483, 15.368_592, 16.774_553,
        17.792_662, 17.841_145, 16.726_072, 14.641_376, 12.556_676, 10.084_127, 7.611_578,
        5.332_953, 4.217_880, 2.908_881,
    ]),
    ((16.0, 5.0), (0.0, 5.0), &[
        1.939_253, 3.005_844, 5.429_910, 7.272_202, 9.890_195, 11.538_562, 12.217_300,
        12.896_040, 13.186_928, 13.477_815, 11.829_450, 11.150_712, 9.502_346, 7.272_203,
        6.399_539, 4.945_097, 3.490_656,
    ]),
    ((16.0, 10.0), (16.0, 0.0), &[
        2.908_881, 3.684_582, 1.745_328, 0.581_776, 0.000_000, 0.581_776, 0.775_701,
        1.551_402, 3.296_731, 5.429_910, 6.205_611,
    ]),
    ((0.0, 10.0), (0.0, 0.0), &[
        6.205_611, 7.407_949, 5.895_331, 4.188_787, 2.870_095, 2.133_178, 0.426_635,
        1.435_048, 2.637_385, 3.839_723, 2.908_881,
    ]),
    ((8.0, 10.0), (8.0, 0.0), &[
        15.320_102, 15.126_178, 14.544_402, 13.768_703, 13.380_852, 13.186_928, 13.574_780,
        15.126_184, 16.483_664, 17.259_365, 17.841_145,
    ]),
];

fn stations(lines: &[Line]) -> Vec<Station> {
    let mut all = Vec::new();
    for (from, to, heights) in lines {
        let steps = f64::from(u32::try_from(heights.len()).unwrap() - 1);
        for (place, height) in (0_u32..).zip(*heights) {
            let share = f64::from(place) / steps;
            all.push(Station {
                x: from.0 + share * (to.0 - from.0),
                y: from.1 + share * (to.1 - from.1),
                height: *height,
            });
        }
    }
    all
}

#[test]
fn the_zone_of_a_published_plate_is_what_two_crossing_chords_prove() {
    let all = stations(&PLATE);
    assert_eq!(all.len(), 126);
    let found = minimum_zone(&all).unwrap();
    // By hand: two high places, (8, 10) and (8, 0), and two low ones, (16, 6) and (0, 4), lie in pairs
    // about the middle (8, 5). No plane can bring the middles of the two chords nearer to each other, so
    // the zone is at least (15.320102 + 17.841145)/2 − (0 + 0.426635)/2 = 16.367306; that it is no
    // more, library: scipy 1.17.1 linprog.
    assert!(
        (found.minimum_zone - 16.367_306).abs() < 1e-12,
        "{}",
        found.minimum_zone
    );
    // library: numpy 2.4.6 lstsq.
    assert!((found.least_squares - 17.537_145_779_5).abs() < 1e-9);
    assert!((found.root_mean_square - 4.624_067_642_87).abs() < 1e-9);
    // published: about the plane of the diagonals, which the method prescribes, the plate is 17.841145
    // out of flat, from the lowest to the highest of its heights.
    assert!(found.minimum_zone < found.least_squares && found.least_squares < 17.841_145);
    for place in &found.carrying {
        let station = all[*place];
        let off = (station.height - found.plane.height_at(&station)).abs();
        assert!(
            (off - found.minimum_zone / 2.0).abs() < 1e-12,
            "{station:?}"
        );
    }
}

/// The two long sides of the plate alone, as two rails of a face are read.
#[test]
fn the_zone_of_two_sides_of_the_plate_is_less() {
    // library: scipy 1.17.1 linprog, numpy 2.4.6 lstsq.
    let found = minimum_zone(&stations(&PLATE[2..4])).unwrap();
    assert!(
        (found.minimum_zone - 13.671_742_5).abs() < 1e-11,
        "{}",
        found.minimum_zone
    );
    assert!((found.least_squares - 14.941_761_333_3).abs() < 1e-9);
    assert!((found.root_mean_square - 4.202_252_498_42).abs() < 1e-9);
}
