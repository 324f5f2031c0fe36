//! The command: a name, JSON in, JSON out, and exit code 2 with a path where the input is wrong.

use std::io::Write;
use std::process::{Command, Stdio};

use serde_json::Value;

fn compute(arguments: &[&str], input: &str) -> (Option<i32>, String, String) {
    let mut child = Command::new(env!("CARGO_BIN_EXE_gaugewright"))
        .arg("compute")
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("it starts");
    // A command that refuses its arguments ends without reading.
    let _ = child
        .stdin
        .take()
        .expect("stdin")
        .write_all(input.as_bytes());
    let out = child.wait_with_output().expect("it ends");
    (
        out.status.code(),
        String::from_utf8_lossy(&out.stdout).into_owned(),
        String::from_utf8_lossy(&out.stderr).into_owned(),
    )
}

/// common practice, no source: 32 ft·lbf by 5 gives 5, 10, 15, 20, 25, 32.
#[test]
fn a_plan_comes_back_with_its_working() {
    let (code, out, err) = compute(
        &["tightening-plan"],
        r#"{"target": {"value": 32, "unit": "[ft_i].[lbf_av]"}, "step": {"value": 5, "unit": "[ft_i].[lbf_av]"}}"#,
    );
    assert_eq!(code, Some(0), "{err}");
    let answer: Value = serde_json::from_str(&out).expect("JSON");
    let passes: Vec<f64> = answer["result"]["passes"]
        .as_array()
        .expect("passes")
        .iter()
        .map(|pass| pass["value"].as_f64().expect("a number"))
        .collect();
    assert_eq!(passes, [5.0, 10.0, 15.0, 20.0, 25.0, 32.0]);
    assert_eq!(answer["result"]["passes"][0]["unit"], "[ft_i].[lbf_av]");
    assert_eq!(answer["working"]["steps"][2]["symbol"], "passes");
}

/// published: IAPWS R7-97(2012), table 36: at 1 megapascal water boils at 453.035632 K.
#[test]
fn a_value_of_the_steam_tables_comes_back() {
    let (code, out, err) = compute(
        &["boiling"],
        r#"{"pressure": {"value": 1, "unit": "MPa"}, "above": "vacuum"}"#,
    );
    assert_eq!(code, Some(0), "{err}");
    let answer: Value = serde_json::from_str(&out).expect("JSON");
    let celsius = answer["result"]["temperature"]["value"]
        .as_f64()
        .expect("a number");
    assert!((celsius - (453.035_632 - 273.15)).abs() < 5e-7, "{celsius}");
}

#[test]
fn wrong_input_ends_with_code_two_and_its_path() {
    let plan =
        |target: &str| format!(r#"{{"target": {target}, "step": {{"value": 5, "unit": "N.m"}}}}"#);
    for (input, path) in [
        (plan(r#"{"value": -3, "unit": "N.m"}"#), "$.target"),
        (plan(r#"{"value": 3, "unit": "Nm"}"#), "$.target.unit"),
        (plan(r#"{"value": "3", "unit": "N.m"}"#), "$.target.value"),
        (plan(r#"{"value": 3}"#), "$.target"),
        ("{}".to_owned(), "$"),
        ("not JSON".to_owned(), "$"),
    ] {
        let (code, out, err) = compute(&["tightening-plan"], &input);
        assert_eq!(code, Some(2), "{input}: {out}");
        assert!(err.contains(&format!("{path}: ")), "{input}: {err}");
        assert!(out.is_empty(), "{out}");
    }
}

#[test]
fn a_row_that_is_wrong_is_named_by_its_number() {
    let (code, _, err) = compute(
        &["wall-life"],
        r#"{"readings": [{"on": "2020-01-01", "thickness": {"value": 4, "unit": "mm"}}, {"on": "2021-01-01", "thickness": {"value": -1, "unit": "mm"}}], "limit": {"value": 2, "unit": "mm"}, "interval_months": 24}"#,
    );
    assert_eq!(code, Some(2));
    assert!(err.contains("$.readings[1].thickness"), "{err}");
}

#[test]
fn the_list_names_all_and_a_schema_is_printed_for_each() {
    let (code, out, _) = compute(&["--list"], "");
    assert_eq!(code, Some(0));
    assert_eq!(out.lines().count(), gaugewright::workings::all().len());
    let (code, out, _) = compute(&["--schema", "hold"], "");
    assert_eq!(code, Some(0));
    let schema: Value = serde_json::from_str(&out).expect("JSON");
    assert_eq!(
        schema["input"]["$schema"],
        "https://json-schema.org/draft/2020-12/schema"
    );
    assert_eq!(
        schema["input"]["properties"]["leak"]["oneOf"][1]["const"],
        "seen"
    );
}

#[test]
fn a_name_that_is_none_is_answered_with_the_one_most_like_it() {
    let (code, _, err) = compute(&["tightning-plan"], "{}");
    assert_eq!(code, Some(2));
    assert!(err.contains("Did you mean tightening-plan?"), "{err}");
    assert_eq!(compute(&[], "").0, Some(2));
}
