//! Every computation under its name: by command line, by page, and refused with the path to what is
//! wrong. The values themselves are checked in `reference`.

use axum::http::StatusCode;
use gaugewright::workings::{self, Kind};
use serde_json::{Value, json};

use crate::plant::Plant;

mod compute;
mod pages;

/// Every place in a value where a number stands, as a JSON pointer.
fn numbers(value: &Value, at: &str, found: &mut Vec<String>) {
    match value {
        Value::Number(_) => found.push(at.to_owned()),
        Value::Object(own) => {
            for (name, value) in own {
                numbers(value, &format!("{at}/{name}"), found);
            }
        }
        Value::Array(list) => {
            for (index, value) in list.iter().enumerate() {
                numbers(value, &format!("{at}/{index}"), found);
            }
        }
        _ => {}
    }
}

#[test]
fn every_sample_computes_and_shows_its_working() {
    for one in workings::all() {
        let answer = one
            .run(&one.sample())
            .unwrap_or_else(|e| panic!("{}: {e}", one.name));
        assert!(
            !answer.working.steps.is_empty(),
            "{} shows no working",
            one.name
        );
        assert!(
            answer.working.answer().is_some_and(|a| !a.is_empty()),
            "{}",
            one.name
        );
        assert!(
            !one.purpose.is_empty() && !one.purpose.ends_with('.'),
            "{}",
            one.name
        );
        assert!(
            !one.fields().is_empty() && !one.result().is_empty(),
            "{}",
            one.name
        );
    }
}

#[test]
fn names_are_words_and_stand_once() {
    let mut names: Vec<&str> = workings::all().iter().map(|one| one.name).collect();
    names.sort_unstable();
    let count = names.len();
    names.dedup();
    assert_eq!(names.len(), count);
    assert!(
        names
            .iter()
            .all(|n| n.bytes().all(|b| b.is_ascii_lowercase() || b == b'-'))
    );
}

/// A number pushed far out of range is refused, and the path leads to the input it stands in.
#[test]
fn a_number_out_of_range_is_refused_at_its_path() {
    let mut wrong = Vec::new();
    for one in workings::all() {
        let sample = one.sample();
        let mut places = Vec::new();
        numbers(&sample, "", &mut places);
        for place in places {
            for bad in [
                json!(-1e9),
                json!(1e12),
                json!(1e40),
                json!("x"),
                Value::Null,
            ] {
                let mut input = sample.clone();
                *input.pointer_mut(&place).unwrap() = bad.clone();
                let Err(refused) = one.run(&input) else {
                    continue;
                };
                let first = place.split('/').nth(1).unwrap_or_default();
                let blames_a_field = one.fields().iter().any(|f| {
                    refused.path.starts_with(&format!("$.{}", f.name)) || f.name.is_empty()
                });
                // What is of the wrong kind is always blamed itself.
                let own = refused.path.starts_with(&format!("$.{first}"));
                if !blames_a_field || (!own && (bad.is_string() || bad.is_null())) {
                    wrong.push(format!("{} {place} = {bad}: {refused}", one.name));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n"));
}

#[test]
fn an_unknown_name_in_the_input_is_refused() {
    for one in workings::all() {
        let mut input = one.sample();
        input["no_such_thing"] = json!(1);
        assert!(one.run(&input).is_err(), "{} takes anything", one.name);
    }
}

#[test]
fn every_schema_names_each_field_its_units_and_what_is_needed() {
    for one in workings::all() {
        let schema = one.schema();
        for field in one.fields() {
            let own = &schema["input"]["properties"][&field.name];
            assert!(own.is_object(), "{}: no {}", one.name, field.name);
            assert!(
                own["description"].is_string(),
                "{}: {} is not said",
                one.name,
                field.name
            );
            if let Kind::Quantity(units) = &field.kind {
                assert!(!units.is_empty(), "{}: {}", one.name, field.name);
            }
        }
        assert!(
            schema["output"]["properties"]["result"].is_object(),
            "{}",
            one.name
        );
        assert!(
            schema["output"]["properties"]["working"].is_object(),
            "{}",
            one.name
        );
    }
}
