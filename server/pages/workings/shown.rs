//! A result as lines and tables for people, from its JSON and the words of its fields.
//! Numbers are rounded for reading only; the command line prints them in full.

use serde_json::Value;

use crate::calc::quantity::significant;
use crate::workings::{Field, Kind, symbol};

/// Digits a number is shown with.
const DIGITS: i32 = 6;

/// A table of a result.
#[derive(Debug, Clone, Default)]
pub struct Table {
    /// What it holds.
    pub title: String,
    /// The columns.
    pub heads: Vec<String>,
    /// The rows.
    pub rows: Vec<Vec<String>>,
}

/// A result, ready to show.
#[derive(Debug, Clone, Default)]
pub struct Shown {
    /// What was found, line by line.
    pub lines: Vec<(String, String)>,
    /// What is a list.
    pub tables: Vec<Table>,
}

impl Shown {
    /// A result by its fields; what was not found is left out.
    pub fn of(fields: &[Field], result: &Value) -> Self {
        let mut shown = Self::default();
        if result["value"].is_number() && result["unit"].is_string() {
            shown.lines.push(("Result".to_owned(), text(None, result)));
            return shown;
        }
        for field in fields {
            let own = &result[field.name.as_str()];
            if own.is_null() || own.as_array().is_some_and(Vec::is_empty) {
                continue;
            }
            match &field.kind {
                Kind::Rows(columns) if columns.iter().all(|c| !c.name.is_empty()) => {
                    shown.tables.push(table(field, columns, own));
                }
                Kind::Group(parts) => {
                    for part in parts {
                        let words = text(Some(part), &own[part.name.as_str()]);
                        shown
                            .lines
                            .push((format!("{}: {}", field.label, part.label), words));
                    }
                }
                _ => shown
                    .lines
                    .push((field.label.clone(), text(Some(field), own))),
            }
        }
        shown
    }
}

fn table(field: &Field, columns: &[Field], rows: &Value) -> Table {
    let rows: Vec<&Value> = rows.as_array().into_iter().flatten().collect();
    // A column nobody has anything in says nothing.
    let columns: Vec<&Field> = columns
        .iter()
        .filter(|column| rows.iter().any(|row| !row[column.name.as_str()].is_null()))
        .collect();
    Table {
        title: field.label.clone(),
        heads: columns.iter().map(|column| column.label.clone()).collect(),
        rows: rows
            .iter()
            .map(|row| {
                columns
                    .iter()
                    .map(|column| text(Some(column), &row[column.name.as_str()]))
                    .collect()
            })
            .collect(),
    }
}

fn text(field: Option<&Field>, value: &Value) -> String {
    match value {
        Value::Null => "\u{2013}".to_owned(),
        Value::Bool(true) => "yes".to_owned(),
        Value::Bool(false) => "no".to_owned(),
        Value::Number(number) => match (number.as_i64(), number.as_f64()) {
            (Some(whole), _) => whole.to_string(),
            (None, Some(float)) => significant(float, DIGITS),
            (None, None) => number.to_string(),
        },
        Value::String(word) => field
            .and_then(|field| match &field.kind {
                Kind::Choice(choices) => choices
                    .iter()
                    .find(|(own, _)| own == word)
                    .map(|(_, shown)| shown.clone()),
                _ => None,
            })
            .unwrap_or_else(|| word.clone()),
        Value::Array(list) => list
            .iter()
            // A line may end between two of a list, never between a number and its unit.
            .map(|one| text(None, one).replace(' ', "\u{a0}"))
            .collect::<Vec<_>>()
            .join(", "),
        Value::Object(own) => {
            let number = own.get("value").map(|value| text(None, value));
            let unit = own.get("unit").and_then(Value::as_str).map(symbol);
            format!(
                "{} {}",
                number.unwrap_or_default(),
                unit.unwrap_or_default()
            )
            .trim_end()
            .to_owned()
        }
    }
}
