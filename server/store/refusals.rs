//! Refusals of the schema in plain words: the keys of triggers, unique numbers, named CHECKs.
//! They are the last net. Whoever writes should have asked before, so most of these are races.

mod in_service;
mod storeroom;

mod checks;

use crate::record::Refusal;
use crate::record::words::capital;
use checks::CHECKS;

/// The keys RAISE texts begin with; what follows the key is already plain words.
const KEYS: &[&str] = &[
    "rebuild-finished",
    "rebuild-kept",
    "rebuild-day",
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
    "hold-unchanged",
    "order-kept",
    "document-kept",
    "cost-kept",
    "re-torque-unchanged",
    "hand-over-unchanged",
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

/// Translates a refusal of the schema into plain words; nothing where the database itself failed.
pub(super) fn by_schema(error: &sqlx::Error) -> Option<Refusal> {
    let sqlx::Error::Database(database) = error else {
        return None;
    };
    let message = database.message();
    if let Some((key, words)) = message.split_once(": ")
        && KEYS.contains(&key)
    {
        return Some(Refusal::NotNow(capital(words)));
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
            .chain(in_service::CHECKS)
            .chain(storeroom::CHECKS)
            .find(|(name, ..)| message.ends_with(&format!(": {name}")))
            .map(|(_, field, words)| Refusal::field(*field, *words));
    }
    database.is_foreign_key_violation().then(|| {
        Refusal::not_now("Something this refers to is not in the register; load the page again")
    })
}
