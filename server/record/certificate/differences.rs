//! What two certificates of one test state differently, value by value, for whoever corrects one or
//! compares a file with the register. Numbers, signatures and dates of issue always differ and are
//! left out.

use std::collections::BTreeMap;

use serde_json::Value;

use super::CertificateRecord;

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
