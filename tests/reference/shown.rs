//! How many digits of a result are shown: those that its readings and its uncertainty carry, rounded up.
//! How an uncertainty is put together is checked in `uncertainty`.

use gaugewright::calc::quantity::{LengthUnit, StampedLength, decimal};
use gaugewright::calc::shown::{Shown, at_most};

const INCH: LengthUnit = LengthUnit::Inch;
const MM: LengthUnit = LengthUnit::Millimetre;

fn length(value: &str, unit: LengthUnit) -> StampedLength {
    StampedLength::new(decimal("length", value).unwrap(), unit)
}

fn shown(value: &str, decimals: u32, uncertainty: &str, limit: &str) -> Shown<LengthUnit> {
    let expanded = (!uncertainty.is_empty()).then(|| length(uncertainty, INCH));
    at_most(
        length(value, INCH),
        (decimals, expanded),
        length(limit, INCH),
    )
    .unwrap()
}

/// published: ISO/IEC Guide 98-3:2008 (JCGM 100:2008), 7.2.6: 10.057 62 with an uncertainty of 0.027 is
/// stated as 10.058; an uncertainty of 10.47 may be rounded up to 11.
#[test]
fn digits_follow_the_uncertainty_as_in_the_guide() {
    let stated = shown("10.05762", 5, "0.027", "20");
    assert_eq!(stated.value.to_string(), "10.058 in");
    assert_eq!(stated.uncertainty.unwrap().to_string(), "0.027 in");
    assert!(
        stated
            .working
            .steps
            .iter()
            .any(|step| step.source.words().contains("7.2.6"))
    );
    let up = shown("123.4", 2, "10.47", "200");
    assert_eq!(up.uncertainty.unwrap().to_string(), "11 in");
    assert_eq!(up.value.to_string(), "124 in");
}

/// By hand: a zone of 0.0008667 in, read in steps of 0.0001 in, is 0.0009 in; the uncertainty of such an
/// indicator keeps no finer place either, though it has two digits there.
#[test]
fn a_flatness_is_shown_to_the_step_of_its_indicator_and_never_below_itself() {
    let plain = shown("0.0008667", 4, "", "0.002");
    assert_eq!(plain.value.to_string(), "0.0009 in");
    assert_eq!(plain.uncertainty, None);
    let with = shown("0.0008667", 4, "0.000082", "0.002");
    assert_eq!(with.value.to_string(), "0.0009 in");
    assert_eq!(with.uncertainty.unwrap().to_string(), "0.0001 in");
    assert_eq!(with.working.answer(), Some("0.0009 in"));
    // To the nearest it would be 0.0008 in, which is less than was found.
    assert_eq!(
        shown("0.00082", 4, "", "0.002").value.to_string(),
        "0.0009 in"
    );
    // A poor instrument takes digits away: U = 0.0013 in keeps four decimals, U = 0.013 in three.
    assert_eq!(
        shown("0.00123", 5, "0.0013", "0.01").value.to_string(),
        "0.0013 in"
    );
    assert_eq!(
        shown("0.00123", 5, "0.013", "0.01").value.to_string(),
        "0.002 in"
    );
    // 0.0254 mm is a thousandth of an inch (NIST SP 811): two digits of it are 0.0010 in.
    let mixed = at_most(
        length("0.00123", INCH),
        (6, Some(length("0.0254", MM))),
        length("0.01", INCH),
    )
    .unwrap();
    assert_eq!(mixed.value.to_string(), "0.0013 in");
    assert_eq!(mixed.uncertainty.unwrap().to_string(), "0.0010 in");
}

/// By hand: 0.00196 in keeps 0.00199 in; to four decimals it would read 0.0020 in. What breaks its limit
/// reads beyond it at every place, being rounded up.
#[test]
fn a_result_that_keeps_its_limit_never_reads_beyond_it() {
    assert_eq!(
        shown("0.00196", 4, "", "0.002").value.to_string(),
        "0.0020 in"
    );
    let finer = shown("0.00196", 4, "", "0.00199");
    assert_eq!(finer.value.to_string(), "0.00196 in");
    assert!(!finer.working.remarks.is_empty());
    assert_eq!(
        shown("0.002001", 4, "", "0.002").value.to_string(),
        "0.0021 in"
    );
    assert_eq!(
        shown("0.002", 4, "", "0.002").value.to_string(),
        "0.0020 in"
    );
    // 0.0508 mm is 0.002 in (NIST SP 811): a limit in the other unit is the same limit.
    let other = at_most(length("0.0508", MM), (4, None), length("0.002", INCH)).unwrap();
    assert_eq!(other.value.to_string(), "0.0508 mm");
    assert_eq!(shown("0", 4, "", "0.002").value.to_string(), "0.0000 in");
}

#[test]
fn what_cannot_be_rounded_is_refused() {
    let limit = length("0.002", INCH);
    let value = length("0.001", INCH);
    assert!(at_most(value, (13, None), limit).is_err());
    assert!(at_most(value, (4, Some(length("0", INCH))), limit).is_err());
    assert!(at_most(length("-0.001", INCH), (4, None), limit).is_err());
    assert!(at_most(value, (4, None), length("-0.002", INCH)).is_err());
}
