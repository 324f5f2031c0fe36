//! The named CHECKs of what is recorded about gauges in service and about instruments: the field to say it
//! beside, and the words.

/// Named CHECKs, the field to say it beside, and the words.
pub(super) const CHECKS: &[(&str, &str, &str)] = &[
    (
        "rebuild_day_for",
        "planned_for",
        "Write the other day as 31 Dec 2026",
    ),
    (
        "rebuild_day_reason",
        "reason",
        "Say why it is given another day, in at most 400 characters",
    ),
    (
        "rebuild_day_another",
        "planned_for",
        "It is planned for that day already",
    ),
    (
        "class_look_over",
        "look_over_months",
        "A look-over interval is 1 to 120 months",
    ),
    (
        "instrument_number",
        "number",
        "An instrument number has 1 to 40 characters",
    ),
    (
        "instrument_kind",
        "kind",
        "Choose one: what the instrument is",
    ),
    (
        "calibration_on",
        "calibrated_on",
        "Write the day of the calibration as 31 Dec 2026",
    ),
    (
        "instrument_cycles",
        "cycle_limit",
        "Only the loadings of a torque wrench are counted, 1 to 1000000 of them",
    ),
    (
        "calibration_uncertainty",
        "coverage",
        "An uncertainty has its unit and its coverage factor",
    ),
    (
        "calibration_due",
        "due_on",
        "A calibration covers days after the one it was done on",
    ),
    (
        "calibration_reference",
        "reference",
        "A calibration\u{2019}s reference has 1 to 80 characters",
    ),
    (
        "calibration_found",
        "found",
        "Choose one: what the calibration found",
    ),
    (
        "failure_seen",
        "seen_on",
        "Write the day it was seen as 31 Dec 2026",
    ),
    (
        "calibration_taken_back",
        "why",
        "Say what the mistake was, in 3 to 2000 characters",
    ),
    (
        "look_over_taken_back",
        "why",
        "Say what the mistake was, in 3 to 2000 characters",
    ),
    (
        "failure_taken_back",
        "why",
        "Say what the mistake was, in 3 to 2000 characters",
    ),
    ("failure_kind", "kind", "Choose one: what went wrong"),
    (
        "look_over_on",
        "on",
        "Write the day of the look-over as 31 Dec 2026",
    ),
    (
        "look_over_found",
        "found",
        "Choose one: what the look-over found",
    ),
];
