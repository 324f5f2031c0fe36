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

/// By hand: 0.005 in lost in 100 days. Another 100 days on, read as 0.150 in, it counts as 0.120 in: 0.020 in
/// last 400 days, of which half after 18 September 2026.
#[test]
fn a_wall_that_grew_lasts_as_long_as_the_register_says() {
    let input = |decimals: &str| {
        format!(
            r#"{{"readings": [{{"on": "2026-03-02", "thickness": {{"value": 0.13, "unit": "[in_i]"}}, "decimals": 3}}, {{"on": "2026-06-10", "thickness": {{"value": 0.125, "unit": "[in_i]"}}}}, {{"on": "2026-09-18", "thickness": {{"value": 0.15, "unit": "[in_i]"}}, "standard": {{"value": 0.0004, "unit": "[in_i]"}}, "decimals": {decimals}}}], "limit": {{"value": 0.1, "unit": "[in_i]"}}, "interval_months": 240}}"#
        )
    };
    let (code, out, err) = compute(&["wall-life"], &input("3"));
    assert_eq!(code, Some(0), "{err}");
    let answer: Value = serde_json::from_str(&out).expect("JSON");
    let result = &answer["result"];
    assert_eq!(result["next_measurement"], "2027-04-06");
    assert_eq!(result["kept"]["on"], "2026-06-10");
    assert_eq!(result["kept"]["thickness"]["value"], 0.125);
    assert_eq!(result["counts_as"]["value"], 0.12);
    let (code, _, err) = compute(&["wall-life"], &input("12"));
    assert_eq!(code, Some(2));
    assert!(err.contains("$.readings[2].decimals"), "{err}");
}

/// By hand after JCGM 100:2008, 5.1.2 and F.2.2.1: 2·√2·0.001/√12 = 0.00082; one of them to 0.01 in, 0.0059.
#[test]
fn a_wall_is_held_against_an_earlier_reading_by_the_digits_it_was_written_with() {
    for (decimals, unexplained, expanded) in [
        (r#", "later_decimals": 3"#, true, 0.000_82),
        ("", false, 0.0059),
    ] {
        let (code, out, err) = compute(
            &["wall-growth"],
            &format!(
                r#"{{"earlier": {{"value": 0.118, "unit": "[in_i]"}}, "later": {{"value": 0.12, "unit": "[in_i]"}}{decimals}}}"#
            ),
        );
        assert_eq!(code, Some(0), "{err}");
        let answer: Value = serde_json::from_str(&out).expect("JSON");
        assert_eq!(answer["result"]["unexplained"], unexplained);
        let found = answer["result"]["expanded"]["value"].as_f64();
        assert!(
            found.is_some_and(|found| (found - expanded).abs() < 1e-9),
            "{out}"
        );
    }
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
