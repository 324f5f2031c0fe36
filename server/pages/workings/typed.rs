//! What was typed into a computation's fields, as JSON and back: numbers with units, dates, and
//! tables with a line a row. Whether the numbers make sense is for the computation to say.

use serde_json::{Map, Number, Value, json};

use crate::calc::calendar::worded;
use crate::calc::quantity;
use crate::pages::form::{self, Errors};
use crate::workings::{Field, Kind};

/// What was typed, as names and values.
#[derive(Debug, Clone, Default)]
pub struct Typed(pub Vec<(String, String)>);

impl Typed {
    /// The text of a field; empty where nothing was typed.
    pub fn get(&self, name: &str) -> &str {
        self.0
            .iter()
            .find(|(own, _)| own == name)
            .map_or("", |(_, value)| value.as_str())
    }

    /// What would be typed for an input.
    pub fn of(fields: &[Field], input: &Value) -> Self {
        let mut typed = Vec::new();
        for field in fields {
            let own = &input[field.name.as_str()];
            if own.is_null() {
                continue;
            }
            match &field.kind {
                Kind::Quantity(_) => {
                    typed.push((field.name.clone(), plain(&own["value"])));
                    typed.push((format!("{}_unit", field.name), plain(&own["unit"])));
                }
                Kind::Rows(columns) => typed.push((field.name.clone(), lines(columns, own))),
                _ => typed.push((field.name.clone(), cell(&field.kind, own))),
            }
        }
        Self(typed)
    }

    /// Reads every field.
    ///
    /// # Errors
    /// A message for each field that is missing or cannot be read.
    pub fn read(&self, fields: &[Field]) -> Result<Value, Errors> {
        let mut errors = Errors::none();
        let mut input = Map::new();
        for field in fields {
            let text = self.get(&field.name).trim();
            if text.is_empty() {
                if field.needed {
                    errors.add(&field.name, format!("{} is missing", field.label));
                }
                continue;
            }
            let unit = self.get(&format!("{}_unit", field.name));
            match value(field, text, unit) {
                Ok(value) => {
                    input.insert(field.name.clone(), value);
                }
                Err(words) => errors.add(&field.name, words),
            }
        }
        if errors.any() {
            Err(errors)
        } else {
            Ok(Value::Object(input))
        }
    }
}

fn plain(value: &Value) -> String {
    value
        .as_str()
        .map_or_else(|| value.to_string(), str::to_owned)
}

fn lines(columns: &[Field], rows: &Value) -> String {
    rows.as_array()
        .into_iter()
        .flatten()
        .map(|row| {
            let cells: Vec<String> = columns
                .iter()
                .map(|column| cell(&column.kind, &row[column.name.as_str()]))
                .collect();
            cells.join("; ").trim_end_matches([' ', ';']).to_owned()
        })
        .collect::<Vec<_>>()
        .join("\n")
}

fn cell(kind: &Kind, value: &Value) -> String {
    if value.is_null() {
        return String::new();
    }
    match kind {
        Kind::Quantity(units) => {
            let code = plain(&value["unit"]);
            let symbol = units
                .iter()
                .find(|(own, _)| *own == code)
                .map_or(code.as_str(), |(_, symbol)| symbol.as_str());
            format!("{} {symbol}", plain(&value["value"]))
        }
        Kind::Numbers | Kind::Words => value
            .as_array()
            .into_iter()
            .flatten()
            .map(plain)
            .collect::<Vec<_>>()
            .join(" "),
        Kind::Day => worded(&plain(value)),
        _ => plain(value),
    }
}

/// The value of one field, or what is wrong with its text.
fn value(field: &Field, text: &str, unit: &str) -> Result<Value, String> {
    match &field.kind {
        Kind::Quantity(units) if !unit.is_empty() => {
            if !units.iter().any(|(code, _)| code == unit) {
                return Err("Choose one of the units".to_owned());
            }
            Ok(json!({ "value": number(text)?, "unit": unit }))
        }
        Kind::Rows(columns) => text
            .lines()
            .zip(1..)
            .filter(|(line, _)| !line.trim().is_empty())
            .map(|(line, at)| row(columns, line).map_err(|words| format!("Line {at}: {words}")))
            .collect::<Result<Vec<_>, String>>()
            .map(Value::Array),
        kind => one(kind, text),
    }
}

fn row(columns: &[Field], line: &str) -> Result<Value, String> {
    let cells: Vec<&str> = if line.contains(';') {
        line.split(';').collect()
    } else if line.contains('\t') {
        line.split('\t').collect()
    } else if columns.iter().any(|c| !single(&c.kind)) {
        vec![line]
    } else {
        line.split_whitespace().collect()
    };
    if cells.len() > columns.len() {
        return Err(format!(
            "{} values, but there are {} columns",
            cells.len(),
            columns.len()
        ));
    }
    let mut row = Map::new();
    let texts = cells
        .iter()
        .map(|cell| cell.trim())
        .chain(std::iter::repeat(""));
    for (column, text) in columns.iter().zip(texts) {
        if text.is_empty() {
            if column.needed {
                return Err(format!("{} is missing", column.label));
            }
            continue;
        }
        let value =
            one(&column.kind, text).map_err(|words| format!("{}: {words}", column.label))?;
        row.insert(column.name.clone(), value);
    }
    Ok(Value::Object(row))
}

/// Whether a value of this kind never holds a space.
fn single(kind: &Kind) -> bool {
    matches!(kind, Kind::Number | Kind::Whole | Kind::Choice(_))
}

fn one(kind: &Kind, text: &str) -> Result<Value, String> {
    match kind {
        Kind::Number => number(text).map(Value::Number),
        Kind::Whole => text
            .parse::<u64>()
            .map(Value::from)
            .map_err(|_| "Write a whole number, such as 12".to_owned()),
        Kind::Day => form::read_date(text)
            .map(|date| Value::from(date.to_string()))
            .ok_or_else(|| "Write the date as 31 Dec 2026 or 2026-12-31".to_owned()),
        Kind::Choice(choices) => choices
            .iter()
            .find(|(word, shown)| word == text || shown.eq_ignore_ascii_case(text))
            .map(|(word, _)| Value::from(word.as_str()))
            .ok_or_else(|| {
                let words: Vec<&str> = choices.iter().map(|(word, _)| word.as_str()).collect();
                format!("Write one of {}", words.join(", "))
            }),
        Kind::Quantity(units) => {
            let end = text
                .find(|c: char| !(c.is_ascii_digit() || " .,+-\u{a0}\u{202f}".contains(c)))
                .unwrap_or(text.len());
            let (value, unit) = text.split_at(end);
            let unit = unit.trim();
            let found = units.iter().find(|(code, symbol)| {
                code == unit
                    || symbol
                        .replace('·', "")
                        .eq_ignore_ascii_case(&unit.replace(['·', '.'], ""))
            });
            if let Some((code, _)) = found {
                return Ok(json!({ "value": number(value)?, "unit": code }));
            }
            let symbols: Vec<&str> = units.iter().map(|(_, s)| s.as_str()).collect();
            Err(format!("Write a number and one of {}", symbols.join(", ")))
        }
        Kind::Numbers => text
            .replace(", ", " ")
            .split_whitespace()
            .map(|one| number(one).map(Value::Number))
            .collect::<Result<Vec<_>, _>>()
            .map(Value::Array),
        Kind::Text => Ok(Value::from(text)),
        Kind::Words | Kind::Rows(_) | Kind::Group(_) => Err("This cannot be typed here".to_owned()),
    }
}

fn number(text: &str) -> Result<Number, String> {
    let refuse = || "Write a number such as 1500 or 12.5".to_owned();
    let decimal = quantity::decimal("number", text).map_err(|_| refuse())?;
    decimal
        .to_string()
        .parse::<f64>()
        .ok()
        .and_then(Number::from_f64)
        .ok_or_else(refuse)
}
