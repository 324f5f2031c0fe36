//! The bench sheet on paper: the same numbers as on the screen, read back by poppler and qpdf.

use axum::http::StatusCode;

use super::world::Bench;
use crate::papers::{ask, read_without_complaint};

/// The words of the sheet on one size of paper, without their spaces.
async fn printed(bench: &mut Bench, paper: &str) -> Option<String> {
    let address = format!("/bench/LG-1107A/sheet.pdf?paper={paper}");
    let answer = bench.technician.get(&address).await;
    answer.is(StatusCode::OK);
    assert_eq!(answer.headers["content-type"], "application/pdf");
    read_without_complaint(&answer.bytes);
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("sheet.pdf");
    std::fs::write(&file, &answer.bytes).unwrap();
    ask("qpdf", &["--check"], &file, &[])?;
    let told = String::from_utf8(ask("pdfinfo", &[], &file, &[])?).unwrap();
    let size = if paper == "a4" { "(A4)" } else { "(letter)" };
    assert!(told.contains(size), "{told}");
    let text = ask("pdftotext", &["-raw"], &file, &["-"])?;
    let words = String::from_utf8(text).unwrap();
    Some(words.replace('\u{200b}', "").split_whitespace().collect())
}

#[tokio::test]
async fn the_paper_carries_plan_limits_cautions_and_fields() {
    let mut bench = Bench::with(&[("sections", "4")]).await.planned().await;
    for paper in ["a4", "letter"] {
        let Some(words) = printed(&mut bench, paper).await else {
            return;
        };
        for wanted in [
            "Bench sheet LG-1107A",
            "rebuild 1, leak",
            "reflex, 4 sections",
            "Locked out and tagged",
            "Glass and gaskets are thrown away, always",
            "flat within 0.002 in, at least 0.1",
            "32 ft·lbf (43.38 N·m), nameplate",
            "5 ft·lbf, 10 ft·lbf, 15 ft·lbf, 20 ft·lbf, 25 ft·lbf, 32 ft·lbf",
            "The last pass rises by 7 ft·lbf and not by 5 ft·lbf",
            "Never tighten a gauge under pressure",
            "Required: 1500 psi, held for at least 5 min",
            "Wrench, calibrated until",
        ] {
            let wanted: String = wanted.split_whitespace().collect();
            assert!(words.contains(&wanted), "{paper}: {wanted} not in {words}");
        }
    }
}

#[tokio::test]
async fn a_transparent_gauge_has_the_faces_of_both_sides_on_paper() {
    let changes = [("sections", "3"), ("kind", "transparent"), ("kit", "2")];
    let mut bench = Bench::with(&changes).await.planned().await;
    let Some(words) = printed(&mut bench, "a4").await else {
        return;
    };
    assert!(words.contains("coverrecessattheback"), "{words}");
}

/// Asserts that the sheet says each of these on A4 and on Letter, and none of those.
async fn both_say(bench: &mut Bench, says: &[&str], says_not: &[&str]) {
    let folded = |words: &str| words.split_whitespace().collect::<String>();
    for paper in ["a4", "letter"] {
        let Some(words) = printed(bench, paper).await else {
            return;
        };
        for wanted in says {
            assert!(
                words.contains(&folded(wanted)),
                "{paper}: {wanted} not in {words}"
            );
        }
        for unwanted in says_not {
            assert!(!words.contains(&folded(unwanted)), "{paper}: {unwanted}");
        }
    }
}

/// What the trade asks to be written down at each step: common practice, no source; the conditions before
/// a cover is loosened follow 29 CFR 1910.147(d) (shut off, isolate, lock and tag, relieve, verify).
#[tokio::test]
async fn each_condition_finding_station_and_reading_has_its_field_on_both_papers() {
    let changes = [("sections", "3"), ("kind", "transparent"), ("kit", "2")];
    let mut bench = Bench::with(&changes).await.planned().await;
    bench
        .plant
        .run("UPDATE service_class SET flush = 1, re_torque_days = 14")
        .await
        .unwrap();
    both_say(
        &mut bench,
        &[
            // Made safe, each condition by itself.
            "Both gauge valves are shut and the gauge is isolated",
            "Locked out and tagged",
            "Hazardous contents flushed out",
            "Drained",
            "Vented",
            "Proved free of pressure",
            "Cold enough to touch",
            "Permit Lock and tag Name, date and time",
            // Findings of each side of each section.
            "Section Glass Seal gasket Cushion gasket Shield Leak path Bolting as found",
            "1 front 1 back 2 front 2 back 3 front 3 back",
            "Old glass and gaskets are thrown away",
            "Cause of the work as it shows now",
            // Stations along both rails of each face, the wall behind it and what was decided.
            "Heights left / right, or feeler",
            "Wall",
            "Read with",
            "Cut planned",
            "Accept, skim, scrap",
            "3 cover recess at the back",
            // Kits, with a reason for another lot.
            "Why another lot than the first, if one",
            // Readings of the hold.
            "Clock Minute Pressure Temperature",
            "Every joint looked at, no leak",
            "Test gauge, calibrated until",
            // The return, each condition by itself, and what follows it.
            "Gauge valves opened slowly",
            "Brought to its working temperature slowly",
            "Looked at again under working conditions",
            "8 Tightened again",
            "within 14 days of the return",
            "Did nuts move",
            "Handed over",
            // Cautions.
            "Hot, pressurised or toxic contents stand behind glass",
            "Eye protection and gloves. Loosen from the ends inwards",
            "never weld or blast a gasket face",
            "A scratched or chipped glass is scrap",
            "Never tighten a gauge under pressure. A nut that hangs stops the pass",
            "Vent all air: trapped air stores energy",
            "stand clear of the glass line",
            "a cold glass that is heated fast cracks",
            "never under pressure or hot",
            "local codes and licensed practice decide",
        ],
        &["Prisms always face the chamber"],
    )
    .await;
}

#[tokio::test]
async fn a_reflex_gauge_has_one_side_and_prisms_and_no_re_torque_where_none_is_asked_for() {
    let mut bench = Bench::with(&[("sections", "2")]).await.planned().await;
    both_say(
        &mut bench,
        &[
            "Section Glass Seal gasket Cushion gasket Leak path Bolting as found 1 2",
            "Prisms always face the chamber",
            "Clock Minute Pressure Temperature",
        ],
        &[
            "Shield",
            "1 back",
            "8 Tightened again",
            "Hazardous contents flushed out",
        ],
    )
    .await;
}
