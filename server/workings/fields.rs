//! The fields of a computation, read from its JSON schema: name, words, what may be written into it,
//! and which field a refusal of `calc` speaks of. How a page shows them is the page's affair.

use schemars::Schema;
use serde_json::Value;

use super::typed::symbol;
use crate::calc::OutOfRange;
use crate::calc::quantity::significant;

/// One field.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Field {
    /// Its name in JSON.
    pub name: String,
    /// What it is called.
    pub label: String,
    /// What else is to know about it; may be empty.
    pub hint: String,
    /// Whether it has to be there.
    pub needed: bool,
    /// What is written into it.
    pub kind: Kind,
    /// What a refusal calls it, where that is not the label.
    named: Vec<String>,
}

/// What is written into a field.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Kind {
    /// A number with one of these units: UCUM code and symbol.
    Quantity(Vec<(String, String)>),
    /// A number.
    Number,
    /// A whole number.
    Whole,
    /// One of these: the word and what it means.
    Choice(Vec<(String, String)>),
    /// A civil date.
    Day,
    /// Words.
    Text,
    /// Several numbers.
    Numbers,
    /// Several words.
    Words,
    /// Rows of fields.
    Rows(Vec<Field>),
    /// A group of fields.
    Group(Vec<Field>),
}

impl Field {
    /// The fields of a schema: their order from the form in which every field is written, whether
    /// they are needed from the form that is read.
    pub fn of(written: &Schema, read: &Schema) -> Vec<Self> {
        fields(written.as_value(), read.as_value())
    }

    fn answers_to(&self, input: &str) -> bool {
        self.label.eq_ignore_ascii_case(input) || self.named.iter().any(|name| name == input)
    }
}

fn fields(written: &Value, read: &Value) -> Vec<Field> {
    let (Some(order), Some(properties)) = (
        written["required"].as_array(),
        written["properties"].as_object(),
    ) else {
        return Vec::new();
    };
    let needed: Vec<&str> = read["required"]
        .as_array()
        .into_iter()
        .flatten()
        .filter_map(Value::as_str)
        .collect();
    order
        .iter()
        .filter_map(Value::as_str)
        .filter_map(|name| {
            let own = properties.get(name)?;
            let (label, hint) = words(own);
            Some(Field {
                name: name.to_owned(),
                label: if label.is_empty() {
                    name.replace('_', " ")
                } else {
                    label
                },
                hint,
                needed: needed.contains(&name),
                kind: kind(own, &read["properties"][name]),
                named: strings(&own["x-named"]),
            })
        })
        .collect()
}

/// The first paragraph of a description without its full stop, and what follows it.
fn words(schema: &Value) -> (String, String) {
    let text = schema["description"].as_str().unwrap_or_default();
    let flat = |part: &str| part.split_whitespace().collect::<Vec<_>>().join(" ");
    let (label, hint) = text.split_once("\n\n").unwrap_or((text, ""));
    (flat(label).trim_end_matches('.').to_owned(), flat(hint))
}

fn strings(list: &Value) -> Vec<String> {
    list.as_array()
        .into_iter()
        .flatten()
        .filter_map(|one| one.as_str().map(str::to_owned))
        .collect()
}

/// The schema without the part that says it may be null.
fn present(schema: &Value) -> &Value {
    schema["anyOf"]
        .as_array()
        .and_then(|parts| parts.iter().find(|part| part["type"] != "null"))
        .unwrap_or(schema)
}

fn is(schema: &Value, name: &str) -> bool {
    let kind = &schema["type"];
    kind == name
        || kind
            .as_array()
            .is_some_and(|kinds| kinds.iter().any(|kind| kind == name))
}

fn kind(written: &Value, read: &Value) -> Kind {
    let (written, read) = (present(written), present(read));
    if let Some(choices) = choices(written) {
        return Kind::Choice(choices);
    }
    if is(written, "object") {
        let unit = &written["properties"]["unit"];
        if written["properties"]["value"].is_object() && unit.is_object() {
            let units = strings(&unit["enum"]);
            return Kind::Quantity(
                units
                    .into_iter()
                    .map(|code| {
                        let shown = symbol(&code).to_owned();
                        (code, shown)
                    })
                    .collect(),
            );
        }
        return Kind::Group(fields(written, read));
    }
    if is(written, "array") {
        let (own, read) = (&written["items"], &read["items"]);
        return if is(own, "object") {
            Kind::Rows(match kind(own, read) {
                Kind::Group(columns) => columns,
                // A list of quantities is a table of one column.
                single => vec![Field {
                    name: String::new(),
                    label: "value".to_owned(),
                    hint: String::new(),
                    needed: true,
                    kind: single,
                    named: Vec::new(),
                }],
            })
        } else if is(own, "string") || own["oneOf"].is_array() {
            Kind::Words
        } else {
            Kind::Numbers
        };
    }
    if written["format"] == "date" {
        Kind::Day
    } else if is(written, "integer") {
        Kind::Whole
    } else if is(written, "number") {
        Kind::Number
    } else {
        Kind::Text
    }
}

/// The words of an enumeration with what they mean.
fn choices(schema: &Value) -> Option<Vec<(String, String)>> {
    if let Some(parts) = schema["oneOf"].as_array() {
        let mut found = Vec::new();
        for part in parts {
            let (label, _) = words(part);
            let of = part["const"].as_str().map(str::to_owned);
            for word in of.into_iter().chain(strings(&part["enum"])) {
                let shown = if label.is_empty() {
                    word.replace('-', " ")
                } else {
                    label.clone()
                };
                found.push((word, shown));
            }
        }
        return (!found.is_empty()).then_some(found);
    }
    let listed = strings(&schema["enum"]);
    (!listed.is_empty()).then(|| {
        listed
            .into_iter()
            .map(|word| {
                let shown = word.replace('-', " ");
                (word, shown)
            })
            .collect()
    })
}

/// The JSON path of the input a refusal names; `$` where no field goes by that name.
///
/// Where several go by it, the one that holds the value given.
pub fn path_of(fields: &[Field], input: &Value, refused: &OutOfRange) -> String {
    let mut found = Vec::new();
    for field in fields {
        let own = &input[field.name.as_str()];
        if field.answers_to(refused.input) {
            found.push((format!("$.{}", field.name), own));
        }
        match &field.kind {
            Kind::Rows(columns) => {
                for (row, index) in own.as_array().into_iter().flatten().zip(0..) {
                    for column in columns.iter().filter(|c| c.answers_to(refused.input)) {
                        found.push((
                            format!("$.{}[{index}].{}", field.name, column.name),
                            &row[column.name.as_str()],
                        ));
                    }
                }
            }
            Kind::Group(parts) => {
                for part in parts.iter().filter(|p| p.answers_to(refused.input)) {
                    found.push((
                        format!("$.{}.{}", field.name, part.name),
                        &own[part.name.as_str()],
                    ));
                }
            }
            _ => {}
        }
    }
    found
        .iter()
        .find(|(_, value)| says(value, &refused.given))
        .or_else(|| found.iter().find(|(_, value)| !value.is_null()))
        .or_else(|| found.first())
        .map_or_else(|| "$".to_owned(), |(path, _)| path.clone())
}

/// Whether a refusal's words for a value are this value's.
fn says(value: &Value, given: &str) -> bool {
    let number = |value: &Value| value.as_f64();
    if let Some(text) = value.as_str() {
        return text == given;
    }
    let (value, unit) = if value.is_object() {
        (&value["value"], value["unit"].as_str())
    } else {
        (value, None)
    };
    let Some(number) = number(value) else {
        return value.as_array().is_some_and(|list| {
            list.iter()
                .any(|one| one.as_f64().is_some_and(|one| one.to_string() == given))
        });
    };
    let head = given.split_whitespace().next().unwrap_or_default();
    let same = head.parse::<f64>().is_ok_and(|said| {
        (said - number).abs() <= 1e-12 * number.abs() || significant(number, 6) == head
    });
    same && unit.is_none_or(|code| given.contains(symbol(code)))
}
