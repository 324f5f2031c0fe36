//! What happens when two people edit the same thing: the second saver sees both values beside each
//! field they both changed, keeps what they typed, and takes over what only the other one changed.

use rust_decimal::Decimal;
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::{Map, Value};

use super::form::{Errors, read_date};
use crate::calc::calendar::worded;

/// A field of a form, or the parts of one that belong together (a value and its unit).
#[derive(Debug, Clone, Copy)]
pub struct Field {
    /// The field messages are said beside.
    pub name: &'static str,
    /// The parts in the form, the field itself among them.
    pub parts: &'static [&'static str],
}

/// What was typed, kept in the page so that the next save can tell who changed what.
pub fn opened<T: Serialize>(typed: &T) -> String {
    serde_json::to_string(typed).unwrap_or_default()
}

/// Puts three states of a form together: as it was opened, as it was typed, and as the register
/// holds it now. Where nobody can say how it was opened, every difference counts as typed.
///
/// `shown` gives a field's value as people read it; `by` is whoever saved meanwhile.
pub fn merge<T: Serialize + DeserializeOwned>(
    opened: &str,
    (typed, now): (T, &T),
    fields: &[Field],
    by: &str,
    shown: impl Fn(&str, &[String]) -> String,
) -> (T, Errors) {
    let opened: Option<Map<String, Value>> = serde_json::from_str(opened).ok();
    let (Some(mut mine), Some(theirs)) = (map(&typed), map(now)) else {
        return (typed, Errors::none());
    };
    let mut errors = Errors::none();
    errors.add(
        "",
        format!("{by} saved this while you were editing. Nothing of yours is lost: where you both changed a field, both values stand below; save once more when it is right"),
    );
    for field in fields {
        let (typed, now) = (values(&mine, field), values(&theirs, field));
        if alike(&typed, &now) {
            continue;
        }
        let before = opened.as_ref().map(|map| values(map, field));
        let say = |values: &[Value]| {
            let text = worded(&shown(field.name, &texts(values)));
            if text.trim().is_empty() {
                "nothing".to_owned()
            } else {
                text
            }
        };
        match before {
            Some(before) if alike(&before, &now) => {}
            Some(before) if alike(&before, &typed) => {
                for (part, value) in field.parts.iter().zip(&now) {
                    mine.insert((*part).to_owned(), value.clone());
                }
                errors.add(
                    field.name,
                    format!(
                        "{by} changed this from {} to {}; it is taken over here",
                        say(&before),
                        say(&now)
                    ),
                );
            }
            _ => errors.add(
                field.name,
                format!(
                    "The register now holds {}, saved by {by}; you typed {}",
                    say(&now),
                    say(&typed)
                ),
            ),
        }
    }
    match serde_json::from_value(Value::Object(mine)) {
        Ok(merged) => (merged, errors),
        Err(_) => (typed, errors),
    }
}

fn map<T: Serialize>(typed: &T) -> Option<Map<String, Value>> {
    match serde_json::to_value(typed) {
        Ok(Value::Object(map)) => Some(map),
        _ => None,
    }
}

/// The parts of a field; empty rows at the end of a list are none.
fn values(map: &Map<String, Value>, field: &Field) -> Vec<Value> {
    field
        .parts
        .iter()
        .map(|part| match map.get(*part) {
            Some(Value::Array(list)) => {
                let filled = list
                    .iter()
                    .rposition(|v| v.as_str().is_some_and(|t| !t.trim().is_empty()))
                    .map_or(0, |last| last + 1);
                Value::Array(list[..filled].to_vec())
            }
            Some(Value::String(text)) => Value::String(text.trim().to_owned()),
            Some(value) => value.clone(),
            None => Value::Null,
        })
        .collect()
}

/// Whether two states of a field say the same; a day and a number may be written in two forms.
fn alike(one: &[Value], other: &[Value]) -> bool {
    let same = |(one, other): (&Value, &Value)| match (one, other) {
        (Value::String(one), Value::String(other)) => {
            let days = read_date(one).zip(read_date(other));
            let numbers = one.parse::<Decimal>().ok().zip(other.parse().ok());
            one == other
                || days.is_some_and(|(one, other)| one == other)
                || numbers.is_some_and(|(one, other)| one == other)
        }
        (one, other) => one == other,
    };
    one.len() == other.len() && one.iter().zip(other).all(same)
}

fn texts(values: &[Value]) -> Vec<String> {
    values
        .iter()
        .map(|value| match value {
            Value::String(text) => text.clone(),
            Value::Array(list) => list
                .iter()
                .map(|v| v.as_str().unwrap_or_default())
                .collect::<Vec<_>>()
                .join(", "),
            Value::Null => String::new(),
            other => other.to_string(),
        })
        .collect()
}
