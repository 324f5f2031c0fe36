//! Refusals of the schema in plain words: the keys of triggers, unique numbers, named CHECKs.
//! They are the last net. Whoever writes should have asked before, so most of these are races.

mod storeroom;

use crate::record::Refusal;

/// The keys RAISE texts begin with; what follows the key is already plain words.
const KEYS: &[&str] = &[
    "rebuild-finished",
    "rebuild-kept",
    "rebuild-reason",
    "rebuild-unproved",
    "move-unchanged",
    "entry-unchanged",
    "stock-balance",
    "stock-unchanged",
    "kit-kept",
    "lot-kept",
    "instrument-kept",
    "calibration-kept",
    "failure-unchanged",
    "look-over-unchanged",
    "deferral-unchanged",
    "test-unchanged",
    "certificate-unchanged",
    "key-unchanged",
    "paper-unchanged",
    "rule-kept",
    "planned-test-kept",
    "gas-unchanged",
    "use-unchanged",
    "audit-unchanged",
    "gauge-kept",
    "photo-unchanged",
    "recall-unchanged",
    "mark-unchanged",
    "lot-held-back",
    "order-kept",
    "document-kept",
];

/// Columns that are unique together, the field to say it beside, and the words.
const UNIQUE: &[(&str, &str, &str)] = &[
    (
        "gauge.tag",
        "tag",
        "Another gauge hangs under this tag number already",
    ),
    (
        "kit.number",
        "number",
        "Another kit has this number already",
    ),
    (
        "lot.kit_id, lot.number",
        "lot",
        "This kit has a lot of this number already",
    ),
    (
        "instrument.number",
        "number",
        "Another instrument has this number already",
    ),
    (
        "person.sign_in",
        "sign_in",
        "Somebody signs in under this name already",
    ),
    ("area.name", "name", "There is an area of this name already"),
    (
        "service_class.name",
        "name",
        "There is a service class of this name already",
    ),
    (
        "rebuild.gauge_id, rebuild.ordinal",
        "tag",
        "This gauge was given a rebuild meanwhile; try again",
    ),
    (
        "rebuild.gauge_id",
        "tag",
        "A rebuild of this gauge is open already",
    ),
    (
        "pressure_test.number",
        "number",
        "This test number was given meanwhile; try again",
    ),
    (
        "certificate.number",
        "number",
        "This certificate number was given meanwhile; try again",
    ),
    (
        "certificate.supersedes",
        "reason",
        "This certificate was corrected already; correct the later one",
    ),
    ("signing_key.fingerprint", "", "This key is known already"),
    (
        "index 'test_rule_scope'",
        "",
        "This was chosen by somebody else meanwhile; load the page again",
    ),
    (
        "planned_test.gauge_id",
        "tags",
        "A test of this gauge is planned already",
    ),
    (
        "certificate_paper.sha256",
        "",
        "This paper was handed out before",
    ),
    (
        "bench_entry.supersedes",
        "supersedes",
        "This entry was corrected already; correct the later one",
    ),
];

/// Named CHECKs, the field to say it beside, and the words.
const CHECKS: &[(&str, &str, &str)] = &[
    ("move_from", "", "A rebuild moves from a state that is open"),
    ("move_to", "", "A rebuild moves to one of its states"),
    (
        "move_rework",
        "rework",
        "Choose what has to be done again from the list",
    ),
    ("move_section", "section", "A gauge has sections 1 to 12"),
    (
        "move_after_entry",
        "",
        "A move comes after so many bench entries, none at least",
    ),
    (
        "move_after_test",
        "",
        "A move comes after so many pressure tests, none at least",
    ),
    ("move_reasoned", "reason", "Say why in a few words"),
    ("one_plant", "", "A register holds one plant"),
    (
        "plant_name",
        "name",
        "The plant\u{2019}s name has 1 to 120 characters",
    ),
    (
        "plant_code",
        "test_code",
        "Choose the code of reference from the list",
    ),
    (
        "plant_hold",
        "hold_minutes",
        "The hold is 5 to 1440 minutes",
    ),
    (
        "plant_skims",
        "skim_limit",
        "A chamber is skimmed 0 to 9 times",
    ),
    (
        "plant_prefix",
        "number_prefix",
        "Numbers begin with 1 to 8 characters",
    ),
    ("plant_demo", "", "A plant is invented or it is not"),
    (
        "person_sign_in",
        "sign_in",
        "A sign-in name has 2 to 60 characters",
    ),
    ("person_name", "name", "A name has 1 to 120 characters"),
    ("person_role", "role", "Choose a role from the list"),
    (
        "address_purpose",
        "",
        "A one-time address is for a first administrator or for a password",
    ),
    (
        "area_name",
        "name",
        "An area\u{2019}s name has 1 to 60 characters",
    ),
    (
        "class_name",
        "name",
        "A service class\u{2019}s name has 1 to 60 characters",
    ),
    (
        "class_rebuild",
        "rebuild_months",
        "A rebuild interval is 1 to 240 months",
    ),
    (
        "class_look_over",
        "look_over_months",
        "A look-over interval is 1 to 120 months",
    ),
    (
        "kit_number",
        "number",
        "A kit number has 1 to 40 characters",
    ),
    (
        "kit_name",
        "name",
        "A kit\u{2019}s name has 1 to 120 characters",
    ),
    (
        "kit_kind",
        "kind",
        "A kit is for reflex or transparent gauges",
    ),
    (
        "kit_length",
        "glass_length_mm",
        "A glass is 50 to 1000 mm long",
    ),
    (
        "kit_shelf_life",
        "shelf_life_months",
        "A shelf life is 1 to 240 months",
    ),
    ("kit_lead", "lead_days", "A lead time is 0 to 1000 days"),
    ("kit_pack", "pack", "Kits come in packs of 1 to 1000"),
    ("kit_minimum", "minimum", "A least order is 1 to 10000"),
    ("lot_number", "lot", "A lot number has 1 to 40 characters"),
    (
        "lot_received",
        "received_on",
        "Write the day of receipt as 2026-12-31",
    ),
    (
        "lot_expires",
        "expires_on",
        "Write the last day of use as 2026-12-31",
    ),
    (
        "instrument_number",
        "number",
        "An instrument number has 1 to 40 characters",
    ),
    (
        "instrument_kind",
        "kind",
        "Choose what the instrument is from the list",
    ),
    (
        "calibration_on",
        "calibrated_on",
        "Write the day of the calibration as 2026-12-31",
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
        "Choose what the calibration found from the list",
    ),
    ("gauge_tag", "tag", "A tag number has 2 to 40 characters"),
    (
        "gauge_standing",
        "standing",
        "A gauge is in service, resting or retired",
    ),
    ("gauge_kind", "kind", "A gauge is reflex or transparent"),
    ("gauge_sections", "sections", "A gauge has 1 to 12 sections"),
    (
        "gauge_bolts",
        "bolts_per_rail",
        "A section has 1 to 12 bolts on each rail",
    ),
    (
        "gauge_bolt_form",
        "bolt_form",
        "Covers are held by bolts, studs or U-bolts",
    ),
    (
        "gauge_length",
        "glass_length_mm",
        "A glass is 50 to 1000 mm long",
    ),
    (
        "gauge_isolation",
        "isolation",
        "Choose when the gauge can be worked on from the list",
    ),
    (
        "gauge_installed",
        "installed_on",
        "Write the day of installation as 2026-12-31",
    ),
    (
        "gauge_kits",
        "kits_per_rebuild",
        "A rebuild takes 1 to 48 kits",
    ),
    (
        "gauge_rating_pair",
        "rating",
        "A rating is a number and its unit",
    ),
    (
        "gauge_temperature_pair",
        "rating_temperature",
        "A temperature is a number and its unit",
    ),
    (
        "gauge_torque_pair",
        "torque",
        "A torque is a number and its unit",
    ),
    (
        "window_name",
        "name",
        "A window\u{2019}s name has 1 to 80 characters",
    ),
    (
        "window_starts",
        "starts_on",
        "Write the first day as 2026-12-31",
    ),
    ("window_ends", "ends_on", "Write the last day as 2026-12-31"),
    (
        "window_order",
        "ends_on",
        "A window ends on or after its first day",
    ),
    ("rebuild_ordinal", "", "Rebuilds are counted from 1"),
    ("rebuild_state", "state", "A rebuild has no such state"),
    (
        "rebuild_cause",
        "cause",
        "Choose the cause of the rebuild from the list",
    ),
    (
        "rebuild_planned_for",
        "planned_for",
        "Write the planned day as 2026-12-31",
    ),
    (
        "rebuild_ended",
        "ended_on",
        "Write the day it ended as 2026-12-31",
    ),
    (
        "rebuild_end",
        "ended_on",
        "A finished rebuild has a last day, an open one has none",
    ),
    (
        "rebuild_reason",
        "reason",
        "Say why the rebuild is abandoned",
    ),
    ("entry_topic", "", "There is no such step of a rebuild"),
    ("entry_section", "section", "A gauge has 1 to 12 sections"),
    (
        "entry_facts",
        "",
        "A bench entry could not be kept as it was",
    ),
    ("line_kind", "kind", "There is no such movement of stock"),
    (
        "line_balance",
        "quantity",
        "The lot does not hold that many any more",
    ),
    (
        "line_date",
        "on_date",
        "Write the day of the movement as 2026-12-31",
    ),
    (
        "line_sign",
        "quantity",
        "Receipts and returns add, issues and scrap take away",
    ),
    ("line_issue", "reason", "Say what the kits are issued for"),
    (
        "failure_seen",
        "seen_on",
        "Write the day it was seen as 2026-12-31",
    ),
    (
        "failure_kind",
        "kind",
        "Choose what went wrong from the list",
    ),
    (
        "look_over_on",
        "on",
        "Write the day of the look-over as 2026-12-31",
    ),
    (
        "look_over_found",
        "found",
        "Choose what the look-over found from the list",
    ),
    (
        "deferral_until",
        "until",
        "Write the later date as 2026-12-31",
    ),
    (
        "deferral_limit",
        "hard_limit",
        "The date no deferral passes is not before the deferral",
    ),
    (
        "deferral_reason",
        "reason",
        "A reason has 3 to 2000 characters",
    ),
    (
        "test_number",
        "number",
        "A test number has 1 to 40 characters",
    ),
    (
        "test_on",
        "tested_on",
        "Write the day of the test as 2026-12-31",
    ),
    ("test_result", "result", "A test is passed or failed"),
    (
        "test_facts",
        "",
        "A pressure test could not be kept as it was",
    ),
    (
        "certificate_number",
        "number",
        "A certificate number has 1 to 40 characters",
    ),
    (
        "certificate_record",
        "",
        "A certificate could not be kept as it was",
    ),
    (
        "certificate_hash",
        "",
        "A certificate carries the mark of its record",
    ),
    ("certificate_signature", "", "A signature has 128 digits"),
    ("certificate_signed", "", "A signature names its key"),
    ("key_fingerprint", "", "A key is named by 16 digits"),
    ("key_public", "", "A public key has 64 digits"),
    ("key_reason", "reason", "Say why in 3 to 400 characters"),
    ("rule_code", "code", "Choose the code of reference"),
    (
        "rule_hold",
        "hold_minutes",
        "A hold lasts 5 to 1440 minutes",
    ),
    ("rule_guard", "guard", "Choose the guard band"),
    ("rule_paper", "paper", "Choose A4 or Letter"),
    (
        "rule_ground",
        "ground",
        "Say on what ground, in 3 to 400 characters",
    ),
    (
        "rule_of_one",
        "",
        "A choice is of a class or of a gauge, not of both",
    ),
    ("rule_units", "", "A pressure has a unit"),
    ("planned_test_day", "day", "A test is planned for a day"),
    ("planned_test_witnessed", "", "A test is witnessed or not"),
    (
        "planned_test_dropped",
        "why",
        "Say why in 3 to 400 characters",
    ),
    (
        "planned_test_end",
        "",
        "A planned test is made or dropped, not both",
    ),
    ("gas_facts", "", "A request could not be kept as it was"),
    ("gas_reason", "reason", "Say why no liquid can be used"),
    ("gas_approved", "", "A request is approved or refused"),
    ("gas_until", "until", "Write the last day it covers"),
    ("gas_words", "words", "Say on what conditions, or why not"),
    (
        "gas_until_approved",
        "until",
        "An approval covers days; a refusal none",
    ),
    ("paper_size", "paper", "A paper is A4 or Letter"),
    ("paper_hash", "", "A paper carries its hash"),
    (
        "waiting_what",
        "",
        "A test waits for a witness or for a certificate",
    ),
    (
        "use_of",
        "",
        "An instrument is used for a rebuild or a test",
    ),
    (
        "bring_in_matching",
        "",
        "The matching of columns could not be kept as it was",
    ),
    (
        "bring_in_sha256",
        "",
        "The mark of a list could not be kept as it was",
    ),
    (
        "bring_in_found",
        "",
        "What was found in a list could not be kept as it was",
    ),
    ("bring_in_lines", "", "A list has no fewer than no lines"),
    (
        "bring_in_refused",
        "",
        "A list has no fewer than no refused rows",
    ),
    (
        "bring_in_passed_over",
        "",
        "A list has no fewer than no rows passed over",
    ),
    ("bring_in_once", "", "A list is taken in or left, not both"),
    (
        "audit_facts",
        "",
        "A line of the audit chain could not be kept as it was",
    ),
    (
        "audit_hash",
        "",
        "A line of the audit chain carries its hash",
    ),
    ("due_date", "", "A due date is a date"),
    ("due_latest", "", "A latest date is a date"),
    (
        "due_pull",
        "",
        "A due date is pulled to a window, or it is not",
    ),
    ("need_date", "", "The day kits are wanted is a date"),
    ("need_kits", "", "A rebuild wants at least one kit"),
    (
        "need_day_kits",
        "",
        "Kits wanted on a day cannot be counted below none",
    ),
    (
        "count_not_negative",
        "",
        "Gauges cannot be counted below none",
    ),
    ("due_day_gauges", "", "Gauges cannot be counted below none"),
    ("due_window", "", "A window\u{2019}s last day is a date"),
    (
        "recall_since",
        "since_on",
        "Write the last day it was known to be good as 2026-12-31",
    ),
    (
        "recall_until",
        "until_on",
        "Write the day it was found as 2026-12-31",
    ),
    (
        "recall_reason",
        "reason",
        "Say what was found, in 3 to 2000 characters",
    ),
    (
        "recall_of_one",
        "",
        "A recall is of one instrument or of one lot",
    ),
    (
        "recall_order",
        "since_on",
        "It was known to be good before it was found bad",
    ),
    ("decision_word", "decision", "Choose whether it stands"),
    (
        "decision_reason",
        "reason",
        "Say why, in 3 to 2000 characters",
    ),
    ("decision_on", "", "A decision is made on a day"),
    (
        "decision_about",
        "",
        "A decision is about one rebuild or one test",
    ),
    (
        "decision_gauge",
        "",
        "A decision about a rebuild or a test names its gauge",
    ),
    (
        "mark_kind",
        "kind",
        "A certificate is questioned, stands or is withdrawn",
    ),
    ("mark_reason", "reason", "Say why, in 3 to 2000 characters"),
];

/// Translates a refusal of the schema into plain words; nothing where the database itself failed.
pub(super) fn by_schema(error: &sqlx::Error) -> Option<Refusal> {
    let sqlx::Error::Database(database) = error else {
        return None;
    };
    let message = database.message();
    if let Some((key, words)) = message.split_once(": ")
        && KEYS.contains(&key)
    {
        let mut chars = words.chars();
        let first = chars.next().map(|c| c.to_uppercase().to_string());
        return Some(Refusal::NotNow(first.unwrap_or_default() + chars.as_str()));
    }
    if database.is_unique_violation() {
        return UNIQUE
            .iter()
            .chain(storeroom::UNIQUE)
            .find(|(columns, ..)| message.ends_with(&format!(": {columns}")))
            .map(|(_, field, words)| Refusal::field(*field, *words));
    }
    if database.is_check_violation() {
        return CHECKS
            .iter()
            .chain(storeroom::CHECKS)
            .find(|(name, ..)| message.ends_with(&format!(": {name}")))
            .map(|(_, field, words)| Refusal::field(*field, *words));
    }
    database.is_foreign_key_violation().then(|| {
        Refusal::not_now("Something this refers to is not in the register; load the page again")
    })
}
