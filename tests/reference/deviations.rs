//! The table of what was compared with general-purpose libraries and the largest deviation found,
//! `DEVIATIONS.md`: each topic holds its lines against what it has just computed.

use std::fs;
use std::path::PathBuf;
use std::sync::Mutex;

/// One thing compared: its words, how many cases, the largest deviation and what is allowed.
pub type Line<'a> = (&'a str, usize, f64, f64);

/// Topics write one after the other.
static FILE: Mutex<()> = Mutex::new(());

fn path() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/reference/DEVIATIONS.md")
}

/// The whole table as it is kept.
pub fn text() -> String {
    fs::read_to_string(path()).unwrap_or_default()
}

/// Below this a deviation is a matter of the last digits, which other processors round differently.
const LAST_DIGITS: f64 = 1e-13;

/// Holds a topic's lines of the table against what was found, or writes them where
/// `GAUGEWRIGHT_WRITE_DEVIATIONS` is set.
pub fn keep(topic: &str, library: &str, lines: &[Line]) {
    let _one_at_a_time = FILE
        .lock()
        .unwrap_or_else(std::sync::PoisonError::into_inner);
    let text = fs::read_to_string(path()).unwrap_or_default();
    if std::env::var_os("GAUGEWRIGHT_WRITE_DEVIATIONS").is_some() {
        write(topic, library, lines, &text);
        return;
    }
    for (what, count, largest, _) in lines {
        let begins = format!("| {topic} | {what} | {count} | ");
        let kept: f64 = text
            .lines()
            .find_map(|line| line.strip_prefix(&begins))
            .and_then(|rest| rest.split(' ').next())
            .and_then(|number| number.parse().ok())
            .unwrap_or_else(|| {
                panic!(
                    "DEVIATIONS.md has no line {begins}…; run with GAUGEWRIGHT_WRITE_DEVIATIONS=1"
                )
            });
        // Another processor or library of elementary functions may find less, but not much more.
        let alike = *largest <= LAST_DIGITS.max(kept * 10.0);
        assert!(
            alike,
            "{topic}: {what} deviates by {largest:.1e}, the table says {kept:.1e}; run with GAUGEWRIGHT_WRITE_DEVIATIONS=1"
        );
    }
}

fn write(topic: &str, library: &str, lines: &[Line], text: &str) {
    let own = format!("| {topic} | ");
    let by_topic = text.split("\n## By function").next().unwrap_or_default();
    let mut rows: Vec<String> = by_topic
        .lines()
        .filter(|line| line.starts_with("| ") && !line.starts_with(&own))
        .filter(|line| !line.starts_with("| topic ") && !line.starts_with("| --- "))
        .map(str::to_owned)
        .collect();
    rows.extend(lines.iter().map(|(what, count, largest, allowed)| {
        format!("| {topic} | {what} | {count} | {largest:.1e} | {allowed:.1e} | {library} |")
    }));
    rows.sort();
    let head = "# Largest deviations\n\n\
        Random cases against general-purpose libraries, seeds in `differential/`. Written by\n\
        `GAUGEWRIGHT_WRITE_DEVIATIONS=1 cargo test --test tests differential`; the same tests hold it\n\
        against what they find. Deviations are relative where the value is not a share or a date.\n\
        Published values stand beside their checks in the files of this folder. The second table lists\n\
        every public computation with its source and the tests that hold it.\n\n\
        | topic | what | cases | largest | allowed | library |\n\
        | --- | --- | --- | --- | --- | --- |\n";
    let lines: Vec<&str> = rows.iter().map(String::as_str).collect();
    let by_function = super::by_function::section(&lines);
    fs::write(path(), format!("{head}{}\n{by_function}", rows.join("\n"))).expect("the table");
}
