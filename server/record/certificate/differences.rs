//! What two certificates of one test state differently, value by value, for whoever corrects one or
//! compares a file with the register. Numbers, signatures and dates of issue always differ and are
//! left out.

use std::collections::BTreeMap;

use serde_json::Value;

use super::CertificateRecord;
use crate::calc::calendar::worded;

/// What belongs to the issue and not to the test.
const OF_THE_ISSUE: [&str; 5] = ["number", "revision", "supersedes", "issued_by", "check_at"];

/// One value that differs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Difference {
    /// Where, in words ("gauge, order number").
    pub what: String,
    /// What the first states; empty where it states nothing.
    pub before: String,
    /// What the second states; empty where it states nothing.
    pub after: String,
}

/// What the second record states differently from the first.
pub fn differences(before: &CertificateRecord, after: &CertificateRecord) -> Vec<Difference> {
    let (before, after) = (values(before), values(after));
    let mut places: Vec<&String> = before.keys().chain(after.keys()).collect();
    places.sort_unstable();
    places.dedup();
    places
        .into_iter()
        .filter_map(|place| {
            let read =
                |from: &BTreeMap<String, String>| from.get(place).cloned().unwrap_or_default();
            let (before, after) = (read(&before), read(&after));
            (before != after).then(|| Difference {
                what: place.clone(),
                before,
                after,
            })
        })
        .collect()
}

/// What a correction changes: what the new record states differently, without what the old one did not
/// hold at all because it is older than that statement (uncertainties, and the digits they carry),
/// without days that are only written in another form, and without brackets in another unit that follow
/// from a value which stays.
pub fn changes(before: &CertificateRecord, after: &CertificateRecord) -> Vec<Difference> {
    let all = differences(before, after);
    let differs = |place: String| all.iter().any(|one| one.what == place);
    all.iter()
        .filter(|one| !newly_stated(one) && days_as_said(&one.before) != one.after)
        .filter(|one| match one.what.strip_suffix(", also") {
            Some(amount) => {
                differs(format!("{amount}, value")) || differs(format!("{amount}, unit"))
            }
            None => true,
        })
        .cloned()
        .collect()
}

/// Whether the second record only adds the uncertainty of what both state.
fn newly_stated(one: &Difference) -> bool {
    let face = one.what.starts_with("faces ")
        && (one.what.ends_with(", uncertainty") || one.what.contains(", shown, "));
    let instrument = one.what.starts_with("instruments ") && one.what.ends_with(", class");
    if instrument {
        let added = one.after.strip_prefix(one.before.as_str());
        return added.is_some_and(|added| {
            let added = added.strip_prefix("; ").unwrap_or(added);
            added.starts_with("U = ")
        });
    }
    face && one.before.is_empty()
}

/// A sentence of an older record with its days as newer ones write them: "2 Mar 2026" for 2026-03-02.
fn days_as_said(text: &str) -> String {
    let words: Vec<String> = text
        .split(' ')
        .map(|word| {
            let day = word.trim_end_matches(|sign: char| !sign.is_ascii_digit());
            worded(&day) + word.strip_prefix(day).unwrap_or_default()
        })
        .collect();
    words.join(" ")
}

fn values(record: &CertificateRecord) -> BTreeMap<String, String> {
    let mut found = BTreeMap::new();
    if let Ok(Value::Object(fields)) = serde_json::to_value(record) {
        for (name, value) in fields {
            if !OF_THE_ISSUE.contains(&name.as_str()) {
                gather(&name.replace('_', " "), &value, &mut found);
            }
        }
    }
    found
}

fn gather(place: &str, value: &Value, found: &mut BTreeMap<String, String>) {
    match value {
        Value::Null => {}
        Value::Object(fields) => {
            for (name, value) in fields {
                gather(
                    &format!("{place}, {}", name.replace('_', " ")),
                    value,
                    found,
                );
            }
        }
        Value::Array(items) => {
            for (i, value) in items.iter().enumerate() {
                gather(&format!("{place} {}", i + 1), value, found);
            }
        }
        Value::String(text) => {
            found.insert(place.to_owned(), text.clone());
        }
        other => {
            found.insert(place.to_owned(), other.to_string());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn one(what: &str, before: &str, after: &str) -> Difference {
        Difference {
            what: what.to_owned(),
            before: before.to_owned(),
            after: after.to_owned(),
        }
    }

    #[test]
    fn an_uncertainty_the_old_record_did_not_hold_is_no_change_and_another_one_is() {
        for added in [
            one("faces 2, uncertainty", "", "0.0004 in (k = 2)"),
            one("faces 2, shown, value", "", "0.0013"),
            one(
                "instruments 1, class",
                "read to 5 psi",
                "read to 5 psi; U = 4 psi (k = 2)",
            ),
            one("instruments 2, class", "", "U = 0.5 ft\u{b7}lbf (k = 2)"),
        ] {
            assert!(newly_stated(&added), "{}", added.what);
        }
        for changed in [
            one(
                "faces 2, uncertainty",
                "0.0003 in (k = 2)",
                "0.0004 in (k = 2)",
            ),
            one("faces 2, limit", "", "at most 0.002 in"),
            one(
                "instruments 1, class",
                "read to 5 psi",
                "read to 10 psi; U = 4 psi (k = 2)",
            ),
            one(
                "instruments 1, class",
                "read to 5 psi; U = 4 psi (k = 2)",
                "read to 5 psi",
            ),
            one("requirement, procedure", "", "P-7 issue 2"),
        ] {
            assert!(!newly_stated(&changed), "{}", changed.what);
        }
    }

    #[test]
    fn a_day_in_another_form_is_no_change_and_another_day_is() {
        let old = "entered in the register as PT-2026-7 by A. Reed on 2026-03-02";
        assert_eq!(
            days_as_said(old),
            "entered in the register as PT-2026-7 by A. Reed on 2 Mar 2026"
        );
        assert_eq!(
            days_as_said("An earlier test, PT-2026-6, on 2026-03-01, failed: it leaked."),
            "An earlier test, PT-2026-6, on 1 Mar 2026, failed: it leaked."
        );
        assert_ne!(days_as_said(old), days_as_said(&old.replace("-02", "-03")));
    }
}
