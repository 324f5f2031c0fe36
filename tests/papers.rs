//! The papers as a reader, a printer and an archive see them: text, pages, tags, attached record.
//! What a certificate should state is decided elsewhere; here it must stand on the page unharmed.
//!
//! The PDFs are read with poppler (`pdftotext`, `pdfinfo`) and qpdf, which know nothing of us.

#![expect(
    clippy::expect_used,
    reason = "a paper that cannot be read is a failed test"
)]

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::process::Command;

use gaugewright::calc::working::{Source, Step, Working};
use gaugewright::papers::certificate::{
    Amount, CAUTIONS, CertificateRecord, FaceResult, GaugeTested, GaugeType, HeadCorrection,
    InstrumentUsed, Mark, Paper, PaperError, PartRenewed, Party, Reading, Requirement, SCOPE,
    Signature, Superseded, TestDone, TestResult, Tightening, pdf,
};
use rust_decimal::Decimal;
use serde_json::Value;
use time::macros::{date, datetime};
use time::{Duration, OffsetDateTime};

/// 20 mm in points, the margin at the left and right of every paper.
const MARGIN: f64 = 20.0 / 25.4 * 72.0;

#[expect(
    clippy::unnecessary_wraps,
    reason = "spells the optional fields of a record"
)]
fn text(given: &str) -> Option<String> {
    Some(given.to_owned())
}

fn amount(value: &str, unit: &str) -> Amount {
    Amount::new(value, unit)
}

fn also(value: &str, unit: &str, other: &str) -> Amount {
    Amount {
        also: text(other),
        ..amount(value, unit)
    }
}

fn reading(at: OffsetDateTime, pressure: i64, temperature: i64) -> Reading {
    Reading {
        at,
        pressure: Decimal::new(pressure, 1),
        temperature: Some(Decimal::new(temperature, 1)),
    }
}

fn person(name: &str, role: &str, at: OffsetDateTime) -> Signature {
    Signature {
        name: name.to_owned(),
        role: role.to_owned(),
        firm: None,
        at,
        how: text("signed in the register, password given"),
        meaning: None,
        reason: None,
    }
}

fn required() -> Working {
    Working::new("Required test pressure")
        .step(
            Step::new(
                "S_T/S",
                "stress ratio",
                "S_T ÷ S, not below 1",
                Source::FromMemory("ASME B31.3 table A-1".to_owned()),
            )
            .with(
                "S_T",
                "allowable stress at the test temperature",
                "20.0 ksi",
                Source::published("ASME B31.3-2022 table A-1, A106 B"),
            )
            .with(
                "S",
                "allowable stress at the design temperature",
                "20.0 ksi",
                Source::published("ASME B31.3-2022 table A-1, A106 B"),
            )
            .gives("1.000"),
        )
        .step(
            Step::new(
                "P_T",
                "required test pressure",
                "f · P · S_T/S",
                Source::published("ASME B31.3-2022, 345.4.2"),
            )
            .with("f", "test factor", "1.5", Source::Plant)
            .with("P", "rating", "39.0 bar", Source::Nameplate)
            .with("S_T/S", "stress ratio", "1.000", Source::Arithmetic)
            .rounded("up to the next 0.5 bar")
            .gives("58.5 bar"),
        )
        .remark("The stated test pressure of glass and gaskets is not exceeded (≤ 60 bar).")
}

fn head() -> Working {
    Working::new("Head between test gauge and item").step(
        Step::new("Δp", "head of water", "ρ · g · h", Source::CommonPractice)
            .with(
                "ρ",
                "density of water at 18.2 °C",
                "998.6 kg/m³",
                Source::published("IAPWS-95"),
            )
            .with(
                "g",
                "standard acceleration",
                "9.80665 m/s²",
                Source::Arithmetic,
            )
            .with(
                "h",
                "height of the test gauge above the item",
                "0.60 m",
                Source::Entered,
            )
            .gives("0.06 bar"),
    )
}

fn gauge() -> GaugeTested {
    GaugeTested {
        tag: "LG-1107A".to_owned(),
        vessel: "BH-D-101, steam drum".to_owned(),
        area: "Boiler House".to_owned(),
        maker: text("Fennel Gauge"),
        order_number: text("FG-88214/3"),
        kind: GaugeType::Reflex,
        sections: 2,
        glass_length: Some(amount("250", "mm")),
        rating: also("39.0", "bar", "565.6 psi"),
        rating_temperature: Some(also("250", "°C", "482 °F")),
        rating_source: text("nameplate, photographed 11 March 2026"),
        materials: text("A105 chamber, B7 studs"),
        condition: text("stripped and rebuilt, clean and dry"),
    }
}

fn test_done() -> TestDone {
    TestDone {
        place: text("Bench, instrument workshop"),
        method: "hydrostatic; filled from below, vented at the top, raised in three stages"
            .to_owned(),
        medium: "potable water".to_owned(),
        chloride: Some(amount("38", "mg/L")),
        applied: also("58.8", "bar", "852.8 psi"),
        measured_at: text("at the pump, 0.60 m above the lowest glass"),
        head: Some(HeadCorrection {
            elevation: amount("0.60", "m"),
            amount: amount("+0.06", "bar"),
            at_item: amount("58.86", "bar"),
            working: Some(head()),
        }),
        water_start: Some(amount("18.2", "°C")),
        water_end: Some(amount("18.0", "°C")),
        metal: Some(amount("17.5", "°C")),
        started: datetime!(2026-03-14 09:05:00 +1),
        ended: datetime!(2026-03-14 09:15:30 +1),
        held_seconds: 630,
        pressure_unit: "bar".to_owned(),
        temperature_unit: "°C".to_owned(),
        readings: vec![
            reading(datetime!(2026-03-14 09:05:00 +1), 588, 182),
            reading(datetime!(2026-03-14 09:07:00 +1), 588, 182),
            reading(datetime!(2026-03-14 09:10:00 +1), 587, 181),
            reading(datetime!(2026-03-14 09:12:30 +1), 587, 181),
            reading(datetime!(2026-03-14 09:15:30 +1), 586, 180),
        ],
        pressure_change: text("−0.2 bar; the cooling of the water explains it"),
        pressure_change_working: Some(
            Working::new("Change of pressure over the hold").step(
                Step::new(
                    "Δp",
                    "expected from temperature",
                    "b · ΔT",
                    Source::published("IAPWS-95"),
                )
                .with(
                    "b",
                    "pressure per kelvin, blocked in",
                    "3.1 bar/K",
                    Source::Arithmetic,
                )
                .with("ΔT", "change of temperature", "−0.2 K", Source::Entered)
                .gives("−0.6 bar"),
            ),
        ),
    }
}

fn instrument(number: &str, what: &str, calibration: &str) -> InstrumentUsed {
    InstrumentUsed {
        number: number.to_owned(),
        what: what.to_owned(),
        range: text("0 to 100 bar"),
        class: text("class 0.6"),
        calibration: text(calibration),
        due: Some(date!(2026 - 09 - 30)),
    }
}

fn part(what: &str, lot: &str) -> PartRenewed {
    PartRenewed {
        what: what.to_owned(),
        place: text("sections 1 and 2"),
        quantity: Some(2),
        kit: text("SW-K-250B"),
        lot: text(lot),
    }
}

fn face(place: &str, value: &str) -> FaceResult {
    FaceResult {
        shown: None,
        place: place.to_owned(),
        measured: "flatness".to_owned(),
        value: Some(amount(value, "mm")),
        uncertainty: text("0.010 mm (k = 2)"),
        limit: "at most 0.050 mm".to_owned(),
        statement: "within".to_owned(),
    }
}

/// A full record, as a rebuild and its witnessed test leave it.
pub fn record() -> CertificateRecord {
    CertificateRecord {
        number: "SW-C-2026-0147".to_owned(),
        revision: 0,
        supersedes: None,
        title: "Pressure test certificate".to_owned(),
        issuer: Party {
            name: "Saltmarsh Works".to_owned(),
            address: vec![
                "Instrument workshop".to_owned(),
                "1 Saltern Lane".to_owned(),
                "Saltmarsh".to_owned(),
            ],
        },
        owner: Party {
            name: "Saltmarsh Works, Boiler House".to_owned(),
            address: vec!["1 Saltern Lane, Saltmarsh".to_owned()],
        },
        gauge: gauge(),
        requirement: Requirement {
            code: "ASME B31.3-2022, 345.4.2".to_owned(),
            procedure: text("SW-P-31, issue 4"),
            pressure: also("58.5", "bar", "848.5 psi"),
            working: required(),
            hold_seconds: 600,
        },
        test: test_done(),
        result: TestResult::NoVisibleLeak,
        decision_rule:
            "passed when no leak is visible over the whole hold and the applied pressure, less its \
                        uncertainty of 0.3 bar (k = 2), is not below the required one"
                .to_owned(),
        choices: Vec::new(),
        deviations: vec!["The hold was lengthened by 30 s; a reading was late.".to_owned()],
        instruments: vec![
            instrument("PG-22", "Pressure gauge, applied pressure", "C-2025-3311"),
            instrument("TW-07", "Torque wrench, cover bolting", "C-2025-2987"),
        ],
        tightening: vec![Tightening {
            place: None,
            target: also("43.4", "N·m", "32 ft·lbf"),
            passes: ["6.8", "13.6", "20.3", "27.1", "33.9", "43.4"]
                .map(str::to_owned)
                .to_vec(),
            order: text("from the centre outwards, each pass"),
            lubricant: text("molybdenum paste"),
            wrench: text("TW-07"),
            source: text("nameplate"),
        }],
        parts_renewed: vec![
            part("Glass, reflex, 250 mm", "L-4471"),
            part("Seal gasket, graphite", "L-4398"),
            part("Cushion gasket", "L-4399"),
        ],
        faces: vec![
            face("Section 1, chamber face", "0.018"),
            face("Section 2, chamber face", "0.022"),
        ],
        tested_by: person(
            "Wendeline Marrow",
            "technician",
            datetime!(2026-03-14 09:22 +1),
        ),
        witnessed_by: Some(person(
            "Corvin Dapple",
            "inspector",
            datetime!(2026-03-14 09:31 +1),
        )),
        issued_by: person(
            "Corvin Dapple",
            "inspector",
            datetime!(2026-03-14 10:02:11 +1),
        ),
        scope: SCOPE.to_owned(),
        cautions: CAUTIONS.map(str::to_owned).to_vec(),
        check_at: text("https://register.saltmarsh.example/certificates/SW-C-2026-0147"),
    }
}

/// The same with everything left out that may be.
fn bare() -> CertificateRecord {
    let full = record();
    CertificateRecord {
        gauge: GaugeTested {
            maker: None,
            order_number: None,
            rating_temperature: None,
            rating_source: None,
            materials: None,
            condition: None,
            ..full.gauge
        },
        requirement: Requirement {
            procedure: None,
            ..full.requirement
        },
        test: TestDone {
            place: None,
            chloride: None,
            measured_at: None,
            head: None,
            water_start: None,
            water_end: None,
            metal: None,
            readings: Vec::new(),
            pressure_change: None,
            pressure_change_working: None,
            ..full.test
        },
        choices: Vec::new(),
        deviations: Vec::new(),
        instruments: vec![InstrumentUsed {
            range: None,
            class: None,
            calibration: None,
            due: None,
            ..instrument("PG-22", "Pressure gauge", "")
        }],
        tightening: Vec::new(),
        parts_renewed: Vec::new(),
        faces: Vec::new(),
        witnessed_by: None,
        check_at: None,
        ..full
    }
}

/// A PDF in a folder of its own that goes with it.
struct Printed {
    folder: tempfile::TempDir,
    bytes: Vec<u8>,
}

fn print_on(record: &CertificateRecord, paper: Paper) -> Printed {
    let bytes = pdf(record, Mark::Unsigned, paper).expect("the record can be printed");
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("paper.pdf"), &bytes).expect("written");
    Printed { folder, bytes }
}

fn print(record: &CertificateRecord) -> Printed {
    print_on(record, Paper::A4)
}

impl Printed {
    fn path(&self) -> PathBuf {
        self.folder.path().join("paper.pdf")
    }

    /// Runs a tool on the paper; `None` where the tool is not installed and this is not CI.
    fn ask(&self, tool: &str, before: &[&str], after: &[&str]) -> Option<Vec<u8>> {
        ask(tool, before, &self.path(), after)
    }

    /// The text in reading order, without any white space: where a line breaks is no matter.
    fn text(&self) -> Option<String> {
        self.ask("pdftotext", &["-raw"], &["-"])
            .map(|out| squeeze(&String::from_utf8_lossy(&out)))
    }

    fn pages(&self) -> Option<Vec<String>> {
        let out = self.ask("pdftotext", &["-raw"], &["-"])?;
        let text = String::from_utf8_lossy(&out).into_owned();
        Some(
            text.trim_end_matches('\u{c}')
                .split('\u{c}')
                .map(squeeze)
                .collect(),
        )
    }
}

pub fn ask(tool: &str, before: &[&str], paper: &Path, after: &[&str]) -> Option<Vec<u8>> {
    match Command::new(tool)
        .args(before)
        .arg(paper)
        .args(after)
        .output()
    {
        Ok(out) => {
            let said = String::from_utf8_lossy(&out.stderr).into_owned();
            assert!(
                out.status.success(),
                "{tool}: {}{said}",
                String::from_utf8_lossy(&out.stdout),
            );
            // What a reader complains of is a fault of the paper, also where it goes on reading; the
            // reader of squares complains of the machine it runs on.
            if tool != "zbarimg" {
                assert_eq!(said, "", "{tool} {before:?}");
            }
            Some(out.stdout)
        }
        Err(error) => {
            assert!(
                std::env::var("CI").as_deref() != Ok("true"),
                "{tool} is needed here: {error}"
            );
            eprintln!(
                "*** SKIPPED: {tool} is not installed ({error}); install poppler-utils and qpdf ***"
            );
            None
        }
    }
}

/// Has every reader at hand read a paper to its end: none of them may have anything to say.
pub fn read_without_complaint(pdf: &[u8]) {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("paper.pdf");
    std::fs::write(&file, pdf).expect("written");
    let picture = folder.path().join("page");
    let picture = picture.to_str().expect("a path");
    let readers: [(&str, &[&str], &[&str]); 6] = [
        ("pdfinfo", &["-struct-text"], &[]),
        ("pdftotext", &["-layout"], &["-"]),
        ("pdftoppm", &["-r", "36"], &[picture]),
        ("pdffonts", &[], &[]),
        ("pdfdetach", &["-list"], &[]),
        ("qpdf", &["--check"], &[]),
    ];
    for (tool, before, after) in readers {
        if ask(tool, before, &file, after).is_none() {
            return;
        }
    }
    let faults = faults(&file);
    assert!(faults.as_ref().is_none_or(Vec::is_empty), "{faults:?}");
}

/// What an independent validator holds against a paper as PDF/A-3a and PDF/UA-1; `None` where it is not
/// installed and this is not CI.
fn faults(paper: &Path) -> Option<Vec<String>> {
    let Ok(python) = std::env::var("GAUGEWRIGHT_VALIDATOR") else {
        assert!(
            std::env::var("CI").as_deref() != Ok("true"),
            "GAUGEWRIGHT_VALIDATOR names the Python with the validator; tests/run sets it"
        );
        eprintln!("*** SKIPPED: no validator of PDF/A and PDF/UA; tests/run installs it ***");
        return None;
    };
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/archive.py");
    let out = Command::new(python)
        .arg(script)
        .arg(paper)
        .output()
        .expect("the validator runs");
    assert!(
        out.status.success(),
        "{}",
        String::from_utf8_lossy(&out.stderr)
    );
    let said = String::from_utf8_lossy(&out.stdout);
    Some(said.lines().map(str::to_owned).collect())
}

/// The validator is none that lets everything through: an untagged paper is no PDF/A-3a.
#[test]
fn the_validator_of_archive_and_accessibility_refuses_an_untagged_paper() {
    let printed = print(&record());
    let Some(found) = faults(&printed.path()) else {
        return;
    };
    assert!(found.is_empty(), "{found:?}");
    let mut bytes = printed.bytes.clone();
    let tagged = b"/Marked true";
    let at = bytes
        .windows(tagged.len())
        .position(|window| window == tagged)
        .expect("it is tagged");
    bytes[at..at + tagged.len()].fill(b' ');
    std::fs::write(printed.path(), &bytes).expect("written");
    let found = faults(&printed.path()).expect("it ran before");
    assert!(!found.is_empty());
}

/// Drops white space, and the underscore that stands for "set lower" in formulas.
fn squeeze(text: &str) -> String {
    text.chars()
        .filter(|&c| !c.is_whitespace() && c != '_' && c != '\u{200b}')
        .collect()
}

/// Fails with the first of the wanted texts that is not on the paper.
fn assert_states(page: &str, wanted: &[&str]) {
    for text in wanted {
        assert!(
            page.contains(&squeeze(text)),
            "\u{201c}{text}\u{201d} is not in {page}"
        );
    }
}

fn texts_of(value: &Value, found: &mut BTreeSet<String>) {
    match value {
        Value::String(text) => {
            found.insert(text.clone());
        }
        Value::Array(items) => items.iter().for_each(|item| texts_of(item, found)),
        Value::Object(fields) => fields.values().for_each(|field| texts_of(field, found)),
        Value::Null | Value::Bool(_) | Value::Number(_) => {}
    }
}

#[test]
fn every_text_of_the_record_stands_on_the_paper() {
    let record = record();
    let Some(page) = print(&record).text() else {
        return;
    };
    let mut texts = BTreeSet::new();
    texts_of(&serde_json::to_value(&record).expect("json"), &mut texts);
    let kinds = [
        "no-visible-leak",
        "published",
        "from-memory",
        "common-practice",
        "nameplate",
        "plant",
        "entered",
    ];
    for text in texts {
        let is_instant = text.len() > 10
            && time::OffsetDateTime::parse(&text, &time::format_description::well_known::Rfc3339)
                .is_ok();
        let is_day = text.len() == 10 && text.starts_with("20") && text.matches('-').count() == 2;
        if !is_instant && !is_day && !kinds.contains(&text.as_str()) {
            assert_states(&page, &[&text]);
        }
    }
}

#[test]
fn dates_times_and_counts_are_written_out() {
    let Some(page) = print(&record()).text() else {
        return;
    };
    assert_states(
        &page,
        &[
            "issued 14 March 2026",
            "14 March 2026, 09:05 to 09:15:30 (UTC+01:00)",
            "10 min 30 s",
            "at least 10 min",
            "30 September 2026",
            "14 March 2026, 10:02:11 (UTC+01:00)",
            "2, glass length 250 mm",
            "6.8, 13.6, 20.3, 27.1, 33.9, 43.4 N·m",
            "working A, page",
        ],
    );
}

#[test]
fn each_page_bears_the_number_and_its_place_among_the_pages_and_the_last_the_end_mark() {
    let Some(pages) = print(&record()).pages() else {
        return;
    };
    assert!(pages.len() > 1);
    for (index, page) in pages.iter().enumerate() {
        assert_states(
            page,
            &[
                "SW-C-2026-0147",
                &format!("page {} of {}", index + 1, pages.len()),
            ],
        );
        assert_eq!(
            page.contains("EndofcertificateSW-C-2026-0147"),
            index + 1 == pages.len()
        );
    }
}

#[test]
fn sources_read_on_paper_as_they_do_on_the_pages() {
    let sources = [
        Source::published("ISO 1"),
        Source::CommonPractice,
        Source::FromMemory("EN 2".to_owned()),
        Source::Nameplate,
        Source::Entered,
        Source::Plant,
        Source::Arithmetic,
    ];
    let mut record = bare();
    record.requirement.working = sources
        .iter()
        .fold(Working::new("Sources"), |working, source| {
            working.step(Step::new("x", "a step", "y", source.clone()).gives("1"))
        });
    let Some(page) = print(&record).text() else {
        return;
    };
    for source in sources {
        assert_states(
            &page,
            &[&format!("Source of the formula: {}", source.words())],
        );
    }
}

#[test]
fn what_is_absent_is_said_to_be_not_recorded() {
    let Some(page) = print(&bare()).text() else {
        return;
    };
    for label in [
        "Maker",
        "Maker's order no.",
        "At temperature",
        "Water",
        "Measured",
        "Head correction",
        "Hold record",
        "Cover bolting",
        "Faces",
    ] {
        assert_states(&page, &[&format!("{label} not recorded")]);
    }
    assert_states(
        &page,
        &[
            "no witness recorded",
            "Parts renewed None recorded.",
            "Deviations None.",
        ],
    );
    assert!(!page.contains("none,") && !page.contains("null"));
}

#[test]
fn a_leak_or_an_unproven_test_never_reads_as_passed() {
    let leak = TestResult::Leak {
        place: "section 2, seal gasket".to_owned(),
        disposition: text("Gauge stripped again."),
    };
    let unproven = TestResult::NotProven {
        reason: "the pressure gauge was out of calibration".to_owned(),
    };
    for (result, words) in [
        (
            leak,
            [
                "Failed: visible leak",
                "Leak seen: section 2, seal gasket.",
                "Gauge stripped again.",
            ],
        ),
        (
            unproven,
            [
                "Failed: not proven",
                "Not proven:",
                "the pressure gauge was out of calibration",
            ],
        ),
    ] {
        let Some(page) = print(&CertificateRecord { result, ..record() }).text() else {
            return;
        };
        assert_states(&page, &words);
        assert!(!page.contains("Passed:"));
        assert!(!page.contains("Novisibleleak"));
    }
}

#[test]
fn an_instrument_past_its_date_at_the_test_is_marked() {
    let mut late = record();
    late.instruments[0].due = Some(date!(2026 - 03 - 13));
    let Some(page) = print(&late).text() else {
        return;
    };
    assert_eq!(page.matches("pastdueatthetest").count(), 1);

    late.instruments[0].due = Some(date!(2026 - 03 - 14));
    let Some(page) = print(&late).text() else {
        return;
    };
    assert!(
        !page.contains("pastdue"),
        "on the day it is due it still counts"
    );
}

#[test]
fn a_correction_names_the_certificate_it_replaces() {
    let corrected = CertificateRecord {
        revision: 1,
        supersedes: Some(Superseded {
            number: "SW-C-2026-0147".to_owned(),
            reason: "the vessel tag was wrong".to_owned(),
        }),
        ..record()
    };
    let Some(page) = print(&corrected).text() else {
        return;
    };
    assert_states(
        &page,
        &[
            "revision 1",
            "This certificate replaces SW-C-2026-0147: the vessel tag was wrong",
            "End of certificate SW-C-2026-0147 rev. 1",
        ],
    );
}

#[test]
fn greek_cyrillic_and_accented_names_can_be_read_back() {
    let mut record = record();
    let names = [
        "Ευφροσύνη Αλμυρού",
        "Пелагея Солончакова",
        "Žofie Łąkowska-Þórðardóttir",
        "Ngọc Đầm Muối",
    ];
    record.tested_by.name = names[0].to_owned();
    record.issued_by.name = names[1].to_owned();
    record.gauge.vessel = names[2].to_owned();
    record.owner.name = names[3].to_owned();
    let Some(page) = print(&record).text() else {
        return;
    };
    assert_states(&page, &names);
}

#[test]
fn characters_no_font_can_show_are_named_and_refused() {
    let mut record = record();
    record.gauge.vessel = "drum 鼓\u{7}".to_owned();
    let refused = pdf(&record, Mark::Unsigned, Paper::A4).expect_err("cannot be shown");
    assert!(matches!(refused, PaperError::Unprintable { .. }));
    assert!(refused.to_string().contains("“鼓” (U+9F13)"));
    assert!(refused.to_string().contains("U+0007"));
}

#[test]
fn white_space_as_typed_is_a_space() {
    let mut record = record();
    record.deviations = vec!["one\r\ntwo\tthree\u{2028}four".to_owned()];
    let Some(out) = print(&record).ask("pdftotext", &["-raw"], &["-"]) else {
        return;
    };
    let page = String::from_utf8_lossy(&out);
    let words: Vec<&str> = page.split_whitespace().collect();
    assert!(
        words
            .windows(4)
            .any(|four| four == ["one", "two", "three", "four"])
    );
}

#[test]
fn each_line_of_an_address_stands_on_a_line_of_its_own() {
    let Some(out) = print(&record()).ask("pdftotext", &["-raw"], &["-"]) else {
        return;
    };
    let page = String::from_utf8_lossy(&out);
    for line in [
        "Saltmarsh Works",
        "Instrument workshop",
        "1 Saltern Lane",
        "technician",
    ] {
        assert!(page.lines().any(|printed| printed == line), "{line}");
    }
}

#[test]
fn any_number_of_readings_can_be_printed() {
    let mut record = record();
    let start = record.test.started;
    for count in [0, 1, 2, 10, 11, 12, 85] {
        for (pressure, every) in [(0, 7), (588, 0), (-3, 90)] {
            record.test.readings = (0..count)
                .map(|n| Reading {
                    at: start + Duration::seconds(every * n),
                    pressure: Decimal::new(pressure, 1),
                    temperature: (n % 2 == 1).then(|| Decimal::new(-51, 1)),
                })
                .collect();
            assert!(
                pdf(&record, Mark::Unsigned, Paper::A4).is_ok(),
                "{count} of {pressure} every {every} s"
            );
        }
    }
}

#[test]
fn typed_marks_are_printed_not_obeyed() {
    let typed = r#"#panic() *bold* _low_ $x$ <label> @ref // \ [b] "q" -- ..."#;
    let mut record = record();
    record.gauge.condition = text(typed);
    record.gauge.tag = "#LG*1_".to_owned();
    let Some(page) = print(&record).text() else {
        return;
    };
    assert_states(&page, &[typed, "#LG*1_"]);
}

#[test]
fn the_file_is_sound() {
    let printed = print(&record());
    if let Some(out) = printed.ask("qpdf", &["--check"], &[]) {
        let said = String::from_utf8_lossy(&out).into_owned();
        assert!(
            said.contains("No syntax or stream encoding errors found"),
            "{said}"
        );
    }
}

#[test]
fn the_file_declares_the_archive_and_the_accessibility_profile() {
    let printed = print(&record());
    let Some(out) = printed.ask("pdfinfo", &["-meta"], &[]) else {
        return;
    };
    let meta = String::from_utf8_lossy(&out);
    for claim in [
        "<pdfaid:part>3</pdfaid:part>",
        "<pdfaid:conformance>A</pdfaid:conformance>",
        "<pdfuaid:part>1</pdfuaid:part>",
        "Pressure test certificate SW-C-2026-0147",
        "2026-03-14T10:02:11+01:00",
    ] {
        assert!(meta.contains(claim), "{claim} is not in {meta}");
    }
    let Some(out) = printed.ask("pdfinfo", &[], &[]) else {
        return;
    };
    assert!(
        String::from_utf8_lossy(&out)
            .lines()
            .any(|line| line.starts_with("Tagged:") && line.ends_with("yes"))
    );
}

/// What ISO 19005-3 (PDF/A-3) and ISO 14289-1 (PDF/UA-1) ask of the document's catalog and of what it
/// carries, read by qpdf. The whole of both is held against a validator by `read_without_complaint`.
#[test]
fn the_catalog_carries_what_archive_and_accessibility_ask_for() {
    let Some(out) = print(&record()).ask("qpdf", &["--json=2"], &[]) else {
        return;
    };
    let told: Value = serde_json::from_slice(&out).expect("qpdf's JSON");
    let objects = told["qpdf"][1].as_object().expect("objects");
    let at = |value: &Value| -> Value {
        match value.as_str().filter(|text| text.ends_with(" R")) {
            Some(reference) => {
                let object = &objects[&format!("obj:{reference}")];
                object
                    .get("value")
                    .or_else(|| object["stream"].get("dict"))
                    .cloned()
                    .unwrap_or_default()
            }
            None => value.clone(),
        }
    };
    let trailer = &objects["trailer"]["value"];
    // ISO 19005-3, 6.1.3: an identifier, and no encryption.
    assert_eq!(trailer["/ID"].as_array().map(Vec::len), Some(2));
    assert!(trailer.get("/Encrypt").is_none());
    let root = at(&trailer["/Root"]);
    // ISO 14289-1, 7.1 and 7.2: tagged, in a language, the title shown in place of the file's name.
    assert_eq!(at(&root["/MarkInfo"])["/Marked"], Value::Bool(true));
    assert!(root.get("/StructTreeRoot").is_some());
    assert!(
        root["/Lang"]
            .as_str()
            .is_some_and(|lang| lang.starts_with("u:en"))
    );
    assert_eq!(
        at(&root["/ViewerPreferences"])["/DisplayDocTitle"],
        Value::Bool(true)
    );
    // ISO 19005-3, 6.2.3: what colours mean, where they are those of a device.
    let intents = at(&root["/OutputIntents"]);
    let intent = at(&intents[0]);
    assert_eq!(intent["/S"], "/GTS_PDFA1");
    assert!(intent.get("/DestOutputProfile").is_some());
    // ISO 19005-3, 6.8: every file says how it belongs to the document, and its type.
    let files = at(&root["/AF"]);
    let files = files.as_array().expect("associated files");
    assert!(!files.is_empty());
    for file in files {
        let file = at(file);
        assert_eq!(file["/AFRelationship"], "/Data");
        assert!(file.get("/UF").is_some() && file.get("/Desc").is_some());
        let stream = at(&at(&file["/EF"])["/F"]);
        assert_eq!(stream["/Subtype"], "/application/json");
        assert!(at(&stream["/Params"]).get("/ModDate").is_some());
    }
    // ISO 19005-3, 6.5 and 6.6: no action but going to a place, no script, no form that moves.
    for (name, object) in objects {
        let value = &object["value"];
        if let Some(action) = value.get("/S").and_then(Value::as_str) {
            assert!(
                !["/JavaScript", "/Launch", "/Movie", "/Sound", "/ImportData"].contains(&action),
                "{name}: {action}"
            );
        }
        assert!(value.get("/AA").is_none(), "{name}");
        // 6.1.7: nothing packed with LZW, nothing outside the file.
        let dict = &object["stream"]["dict"];
        assert_ne!(dict["/Filter"], "/LZWDecode", "{name}");
        assert!(dict.get("/FFilter").is_none(), "{name}");
    }
}

#[test]
fn every_font_is_embedded_with_its_characters() {
    let Some(out) = print(&record()).ask("pdffonts", &[], &[]) else {
        return;
    };
    let list = String::from_utf8_lossy(&out);
    let fonts: Vec<&str> = list.lines().skip(2).collect();
    assert!(fonts.len() >= 4, "{list}");
    for font in fonts {
        assert!(
            font.contains(" yes yes yes "),
            "embedded, subset, readable: {font}"
        );
    }
}

#[test]
fn headings_tables_row_heads_and_the_chart_are_tagged() {
    let Some(out) = print(&record()).ask("pdfinfo", &["-struct"], &[]) else {
        return;
    };
    let tags = String::from_utf8_lossy(&out);
    for tag in [
        "H1", "H2", "H3", "Table", "TH", "TD", "Figure", "L", "Document",
    ] {
        assert!(
            tags.lines()
                .any(|line| line.trim_start().split([' ', '(', ':']).next() == Some(tag)),
            "no {tag} in {tags}"
        );
    }
}

#[test]
fn the_same_record_gives_the_same_bytes() {
    let first = print(&record()).bytes;
    assert_eq!(first, print(&record()).bytes);
    let other = std::thread::spawn(|| {
        print(&bare());
        print(&record()).bytes
    });
    assert_eq!(first, other.join().expect("the thread ends"));
    assert_ne!(first, print(&bare()).bytes);
}

#[test]
fn the_attached_record_is_the_record() {
    let record = record();
    let Some(attached) = print(&record).ask("qpdf", &["--show-attachment=certificate.json"], &[])
    else {
        return;
    };
    assert_eq!(
        serde_json::from_slice::<CertificateRecord>(&attached).expect("a record"),
        record
    );
}

#[test]
fn a4_and_letter_have_their_sizes() {
    for (paper, size) in [
        (Paper::A4, "595.276 x 841.89 pts (A4)"),
        (Paper::Letter, "612 x 792 pts (letter)"),
    ] {
        let Some(out) = print_on(&record(), paper).ask("pdfinfo", &[], &[]) else {
            return;
        };
        let info = String::from_utf8_lossy(&out);
        assert!(info.contains(size), "{info}");
    }
}

/// A record with long values everywhere, and a reading every ten seconds for an hour.
fn crowded() -> CertificateRecord {
    let mut record = record();
    let long = "SEVENTY-CHARACTERS-WITHOUT-ANY-PLACE-TO-BREAK"
        .repeat(2)
        .replace('-', "");
    record.gauge.vessel.clone_from(&long);
    record.gauge.order_number = text(&long);
    record.gauge.tag.clone_from(&long[..40].to_owned());
    record.tested_by.name = "Wendeline Theodora Marrow-Saltwater of the Northern Marshes".into();
    record.instruments[0].calibration = text(&long);
    record.instruments[0].what =
        "Pressure gauge, applied pressure, with diaphragm seal and 2 m of capillary".into();
    record.parts_renewed[0].lot = text(&long);
    record.issuer.name =
        "Saltmarsh Works, Company for Brine, Steam and Other Necessary Things of the Coast".into();
    record.faces[0].limit =
        "at most 0.050 mm over the whole length of the sealing face, measured free".into();
    record.requirement.working.steps[1].result =
        "58.5 bar, as the greater of the two values found before".into();
    record.requirement.working.steps[1].inputs[0].value =
        "1.5 for the gauge, 1.25 for the valves on either side of it".into();
    record.requirement.working.steps[0].formula = "max(1, S_T(θ) ÷ S(θ)) · ".repeat(12);
    let start = record.test.started;
    record.test.readings = (0..360)
        .map(|n| {
            reading(
                start + Duration::seconds(10 * n),
                588 - n / 90,
                182 - n / 120,
            )
        })
        .collect();
    record
}

/// The words of a page that reach into the margins or lie on top of one another.
fn misplaced(bbox: &str) -> Vec<String> {
    let number = |line: &str, name: &str| -> f64 {
        let from = line.find(&format!("{name}=\"")).expect("an attribute") + name.len() + 2;
        line[from..]
            .split('"')
            .next()
            .expect("a value")
            .parse()
            .expect("a number")
    };
    let mut wrong = Vec::new();
    let mut width = 0.0;
    let mut words: Vec<[f64; 4]> = Vec::new();
    for line in bbox.lines().map(str::trim_start) {
        if line.starts_with("<page ") {
            width = number(line, "width");
            words.clear();
        } else if line.starts_with("<word ") {
            let [x0, y0, x1, y1] = ["xMin", "yMin", "xMax", "yMax"].map(|name| number(line, name));
            // Half a point for side bearings; boxes of lines may touch, so their middles count.
            if x0 < MARGIN - 0.5 || x1 > width - MARGIN + 0.5 {
                wrong.push(format!("in the margin: {line}"));
            }
            let middle = f64::midpoint(y0, y1);
            let covered = words.iter().any(|&[a0, b0, a1, b1]| {
                x0 < a1 - 0.5 && a0 < x1 - 0.5 && b0 < middle && middle < b1
            });
            if covered {
                wrong.push(format!("on another word: {line}"));
            }
            words.push([x0, y0, x1, y1]);
        }
    }
    wrong
}

#[test]
fn nothing_leaves_the_margins_or_covers_another_word() {
    for record in [record(), bare(), crowded()] {
        for paper in [Paper::A4, Paper::Letter] {
            let Some(out) = print_on(&record, paper).ask("pdftotext", &["-bbox"], &["-"]) else {
                return;
            };
            let wrong = misplaced(&String::from_utf8_lossy(&out));
            assert!(wrong.is_empty(), "{}", wrong.join("\n"));
        }
    }
}

#[test]
fn every_reading_of_a_long_hold_is_printed() {
    let record = crowded();
    let Some(page) = print(&record).text() else {
        return;
    };
    assert_states(&page, &["09:05:00 58.8 18.2", "10:04:50 58.5 18.0"]);
    for reading in &record.test.readings {
        let (h, m, s) = reading.at.to_hms();
        assert_states(
            &page,
            &[&format!("{h:02}:{m:02}:{s:02} {}", reading.pressure)],
        );
    }
}
