//! The certificate: what it states, its hash, and its paper read by poppler and qpdf.

use axum::http::StatusCode;
use gaugewright::acts::certificates::Marking;
use gaugewright::acts::{self, Deed, Who};
use gaugewright::calc::quantity::{LengthUnit, StampedLength};
use gaugewright::pages::address;
use gaugewright::record::bench::Facts;
use gaugewright::record::certificate::{self, CertificateRecord};
use gaugewright::record::certificate_mark::MarkKind;
use gaugewright::record::face::{FaceOf, Reading, Thicker};
use gaugewright::record::person::Role;
use gaugewright::store;
use time::macros::datetime;

use super::world::{
    FORM, PASSED, certified, inspected, opened_again, plant, plant_with, rebuilt, rebuilt_to,
    signs, sound, tested, tightened_again, with,
};
use crate::gauges::edit::NAMEPLATE;
use crate::papers::ask;
use crate::plant::{Plant, Visitor};

async fn kept(plant: &Plant, number: &str) -> (CertificateRecord, String, String) {
    let mut db = plant.store.read().await.unwrap();
    let kept = store::issued::by_number(&mut db, number)
        .await
        .unwrap()
        .unwrap();
    let record = serde_json::from_str(&kept.record).unwrap();
    (record, kept.record, kept.sha256)
}

/// The words of a downloaded paper, without white space.
fn words(pdf: &[u8]) -> Option<String> {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("certificate.pdf");
    std::fs::write(&file, pdf).unwrap();
    ask("qpdf", &["--check"], &file, &[])?;
    let text = ask("pdftotext", &["-raw"], &file, &["-"])?;
    Some(squeezed(&String::from_utf8(text).unwrap()))
}

fn squeezed(text: &str) -> String {
    text.chars()
        .filter(|c| !c.is_whitespace() && *c != '\u{200b}')
        .collect()
}

fn pages_are(pdf: &[u8], size: &str) {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("certificate.pdf");
    std::fs::write(&file, pdf).unwrap();
    if let Some(told) = ask("pdfinfo", &[], &file, &[]) {
        let told = String::from_utf8(told).unwrap();
        assert!(told.contains(size), "{told}");
    }
}

async fn paper(visitor: &mut Visitor, number: &str, query: &str) -> Vec<u8> {
    let answer = visitor
        .get(&format!("/pressure-tests/certificates/{number}.pdf{query}"))
        .await;
    assert_eq!(answer.status, StatusCode::OK);
    assert_eq!(answer.headers["content-type"], "application/pdf");
    let name = answer.headers["content-disposition"].to_str().unwrap();
    assert_eq!(name, format!("attachment; filename=\"{number}.pdf\""));
    answer.bytes
}

#[tokio::test]
async fn the_paper_of_a_rebuilt_gauge_states_all_that_was_recorded() {
    let plant = plant().await;
    rebuilt(&plant).await;
    let number = certified(&plant).await;
    let bytes = paper(&mut plant.storekeeper().await, &number, "").await;
    pages_are(&bytes, "A4");
    let Some(page) = words(&bytes) else { return };
    for wanted in [
        "TW-C-2026-0001",
        "Passed: no visible leak",
        "LG-1107A",
        "BH-D-101, steam drum",
        "Test Works",
        "Test Owner",
        // published: NIST SP 811 (2008), B.8: 1000 psi are 68.9476 bar, a limit; 1500 psi are 103.4214
        // bar, to be reached; 32 ft·lbf are 43.386 N·m, not to be passed.
        "1000 psi (68.94 bar)",
        "1500 psi (103.5 bar)",
        "1505 psi",
        "at least 5 min",
        "2 March 2026, 08:50 to 08:55 (UTC)",
        "1.5 times the rating, common practice",
        "stripped and rebuilt (rebuild 1 of this gauge)",
        "all air vented",
        // Instruments with the calibration of the day.
        "PG-22",
        "0 to 3000 psi, read to 10 psi",
        "CAL-2026-01-10",
        "TW-07",
        "CAL-2025-11-03",
        "DI-3",
        "CA-9",
        // Tightening
        "32 ft·lbf (43.38 N·m), nameplate",
        "5, 10, 15, 20, 25, 32 ft·lbf",
        "molybdenum paste",
        // Parts with their lot
        "Kit reflex 250 mm, borosilicate",
        "SW-K-250B",
        "L-4471",
        "Cover bolting, bolts and nuts",
        // Faces
        "Section 2, chamber recess",
        "at most 0.002 in",
        "0.131 in",
        "at least 0.100 in",
        "no pits or gouges",
        "flatness, straightedge",
        "Cover (cover recess)",
        "new part, clean",
        // People
        "Test technician",
        "Test inspector",
        "recorded in the register as TW-T-2026-0001",
        "signed in the register",
        "End of certificate TW-C-2026-0001",
    ] {
        assert!(
            page.contains(&squeezed(wanted)),
            "{wanted:?} is not on the paper:\n{page}"
        );
    }
    sound(&plant).await;
}

/// By hand: the rails differ by a wedge, which flatness does not see. On the right rail one station
/// stands 0.0012 in above the straight line of its two neighbours; no plane passes under the one
/// and over the others with less than that between, and one does with just that.
#[tokio::test]
async fn the_flatness_on_the_certificate_is_that_of_the_heights() {
    let plant = plant().await;
    rebuilt(&plant).await;
    let (record, _, _) = kept(&plant, &certified(&plant).await).await;
    let flat = record
        .faces
        .iter()
        .find(|f| f.measured == "flatness")
        .unwrap();
    assert_eq!(flat.value.as_ref().unwrap().value, "0.0012");
    assert_eq!(flat.statement, "within");
    assert_eq!(
        record
            .faces
            .iter()
            .filter(|f| f.measured == "surface")
            .count(),
        8
    );
    assert_eq!(record.parts_renewed[0].quantity, Some(4));
}

#[tokio::test]
async fn sections_tightened_differently_stand_apart_with_where_the_torque_comes_from() {
    let plant = plant_with(&[("torque", "")]).await;
    rebuilt_to(&plant, ["32", "32", "30", "32"], Some("drawing 118")).await;
    let (record, _, _) = kept(&plant, &certified(&plant).await).await;
    let told: Vec<_> = record
        .tightening
        .iter()
        .map(|t| (t.place.as_deref(), t.source.as_deref()))
        .collect();
    assert_eq!(
        told,
        [
            (Some("sections 1, 2 and 4"), Some("drawing 118")),
            (Some("section 3"), Some("drawing 118")),
        ]
    );
}

#[tokio::test]
async fn a_torque_the_nameplate_does_not_state_any_more_is_a_deviation() {
    let plant = plant().await;
    rebuilt(&plant).await;
    let edit = "/gauges/LG-1107A/edit";
    let corrected = with(NAMEPLATE, &[("torque", "30"), ("version", "1")]);
    plant
        .engineer()
        .await
        .fill(edit, edit, &corrected)
        .await
        .is(StatusCode::SEE_OTHER);
    let (record, _, _) = kept(&plant, &certified(&plant).await).await;
    assert_eq!(
        record.deviations,
        ["Tightened to 32 ft·lbf; the nameplate states 30 ft·lbf."]
    );
}

#[tokio::test]
async fn a_test_without_a_rebuild_is_certified_as_found() {
    let plant = plant().await;
    let number = certified(&plant).await;
    let (record, _, _) = kept(&plant, &number).await;
    assert_eq!(
        record.gauge.condition.as_deref(),
        Some("as found, tested without a rebuild")
    );
    assert!(record.tightening.is_empty() && record.parts_renewed.is_empty());
    assert_eq!(
        record.test.pressure_change.as_deref(),
        Some("−5 psi, while the temperature moved by −0.2 °C")
    );
    let bytes = paper(&mut plant.technician().await, &number, "?paper=letter").await;
    pages_are(&bytes, "letter");
    let Some(page) = words(&bytes) else { return };
    assert!(page.contains(&squeezed("as found, tested without a rebuild")));
}

#[tokio::test]
async fn the_kept_record_is_canonical_hashed_and_gives_the_same_bytes_for_ever() {
    let plant = plant().await;
    let number = certified(&plant).await;
    let (record, text, sha256) = kept(&plant, &number).await;
    assert_eq!(record.canonical().unwrap(), text);
    assert_eq!(certificate::hash(&text), sha256);
    // RFC 8785: keys in order, no white space between them.
    assert!(text.starts_with("{\"cautions\":["));
    let keys: Vec<_> = [
        "\"check_at\"",
        "\"decision_rule\"",
        "\"faces\"",
        "\"gauge\"",
        "\"number\"",
        "\"witnessed_by\"",
    ]
    .iter()
    .map(|key| text.find(key).unwrap())
    .collect();
    assert!(keys.is_sorted());
    let mut technician = plant.technician().await;
    let first = paper(&mut technician, &number, "").await;
    plant.turn_to(datetime!(2026-03-02 17:00 UTC));
    let second = paper(&mut technician, &number, "?paper=a4").await;
    assert!(first == second, "the same record gives the same bytes");
    technician
        .get(&format!("/pressure-tests/certificates/{number}"))
        .await
        .says(&sha256)
        .says("which is unchanged");
}

#[tokio::test]
async fn what_a_reader_has_to_know_stands_among_the_deviations() {
    let plant = plant().await;
    let mut technician = plant.technician().await;
    let address = "/pressure-tests/new/LG-1107A?limit=1508&limit_unit=%5Bpsi%5D";
    let fields = with(PASSED, &[("note", "The pump lost its prime once.")]);
    let answer = technician.fill(address, address, &fields).await;
    answer.is(StatusCode::SEE_OTHER);
    let number = answer.goes_to().rsplit('/').next().unwrap().to_owned();
    let mut inspector = plant.inspector().await;
    signs(&mut inspector, &number, "witness")
        .await
        .is(StatusCode::SEE_OTHER);
    signs(&mut inspector, &number, "certificate")
        .await
        .is(StatusCode::SEE_OTHER);
    let (record, _, _) = kept(&plant, "TW-C-2026-0001").await;
    assert_eq!(
        record.deviations,
        [
            "1510 psi at minute 0 is above the stated limit of 1508 psi.",
            "The tester noted: The pump lost its prime once.",
        ]
    );
}

/// The chamber recess of section 2 with a wall that was read thicker than before, read again and explained.
fn grown() -> Box<Reading> {
    let Facts::Face(mut face) = inspected(2, FaceOf::Chamber) else {
        panic!("a face");
    };
    face.wall = Some(StampedLength::new(
        "0.150".parse().unwrap(),
        LengthUnit::Inch,
    ));
    face.thicker = Some(Thicker {
        read_again: true,
        reason: "the caliper stood askew".to_owned(),
        before: None,
    });
    face
}

#[tokio::test]
async fn a_wall_read_thicker_than_before_stands_among_the_deviations_with_what_was_said_of_it() {
    let plant = plant().await;
    let id = rebuilt(&plant).await;
    opened_again(&plant, id, Facts::Face(grown())).await;
    let number = certified(&plant).await;
    let (record, _, _) = kept(&plant, &number).await;
    // By hand: each reading is off by 0.001/√6 in, both by 2·√2 times that.
    assert_eq!(
        record.deviations,
        [
            "Section 2, chamber recess: a wall of 0.150 in, thicker than 0.131 in on 2 Mar 2026 by more than both readings can be off (0.0012 in, k = 2). Confirmed: it was read again, at the right place, in the right unit and with the right instrument, and is so. Why: the caliper stood askew",
        ]
    );
    sound(&plant).await;
}

#[tokio::test]
async fn a_wall_that_grew_stays_among_the_deviations_when_its_face_is_read_once_more() {
    let plant = plant().await;
    let id = rebuilt(&plant).await;
    let mut face = grown();
    opened_again(&plant, id, Facts::Face(face.clone())).await;
    face.wall = None;
    face.wall_instrument = None;
    face.thicker = None;
    opened_again(&plant, id, Facts::Face(face)).await;
    let number = certified(&plant).await;
    let (record, _, _) = kept(&plant, &number).await;
    assert!(
        record.deviations.iter().any(|one| one.starts_with(
            "Section 2, chamber recess: a wall of 0.150 in, thicker than 0.131 in on 2 Mar 2026"
        )),
        "{:?}",
        record.deviations
    );
    sound(&plant).await;
}

#[tokio::test]
async fn a_section_that_was_tightened_again_says_its_passes_and_that_it_came_back() {
    let plant = plant().await;
    let id = rebuilt(&plant).await;
    tightened_again(&plant, id).await;
    let number = certified(&plant).await;
    let (record, _, _) = kept(&plant, &number).await;
    assert_eq!(
        record.deviations,
        [
            "Section 2 was tightened in passes of 5, 10, 15, 20, 25, 32 ft·lbf with TW-07, came back from its test with its cover closed and was tightened again, once round.",
        ]
    );
    let passes: Vec<(Option<&str>, usize)> = record
        .tightening
        .iter()
        .map(|how| (how.place.as_deref(), how.passes.len()))
        .collect();
    assert_eq!(
        passes,
        [(Some("sections 1, 3 and 4"), 6), (Some("section 2"), 1)]
    );
    sound(&plant).await;
}

#[tokio::test]
async fn a_face_measured_with_no_instrument_of_the_register_stands_among_the_deviations() {
    let plant = plant().await;
    let id = rebuilt(&plant).await;
    let Facts::Face(mut face) = inspected(2, FaceOf::Cover) else {
        panic!("a face");
    };
    face.instrument = None;
    opened_again(&plant, id, Facts::Face(face)).await;
    let number = certified(&plant).await;
    let (record, _, _) = kept(&plant, &number).await;
    assert_eq!(
        record.deviations,
        ["Measured with no instrument of the register named: section 2, cover recess."]
    );
}

#[tokio::test]
async fn a_certificate_that_no_paper_can_show_is_not_issued() {
    let plant = plant().await;
    let note = with(PASSED, &[("note", "試験")]);
    let number = tested(&mut plant.technician().await, &note).await;
    let mut inspector = plant.inspector().await;
    signs(&mut inspector, &number, "witness")
        .await
        .is(StatusCode::SEE_OTHER);
    signs(&mut inspector, &number, "certificate")
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("The certificate cannot be printed")
        .says("U+8A66");
    let mut db = plant.store.read().await.unwrap();
    assert_eq!(store::issued::count_in(&mut db, 2026).await.unwrap(), 0);
}

/// The register keeps the number of an instrument that was relied on; a file somebody changed past it
/// does not, and a certificate that left the wrench out would state less than was relied on.
#[tokio::test]
async fn nothing_is_certified_while_an_instrument_has_lost_the_number_it_was_relied_on_by() {
    let plant = plant().await;
    rebuilt(&plant).await;
    let number = tested(&mut plant.technician().await, PASSED).await;
    let mut inspector = plant.inspector().await;
    signs(&mut inspector, &number, "witness")
        .await
        .is(StatusCode::SEE_OTHER);
    let renumbered = "UPDATE instrument SET number = 'TW-70' WHERE number = 'TW-07'";
    plant.run(renumbered).await.expect("another number");
    let refused = signs(&mut inspector, &number, "certificate").await;
    refused
        .is(StatusCode::CONFLICT)
        .says("The rebuild relied on TW-07, and no instrument has that number any more");
    {
        let mut db = plant.store.read().await.expect("a reader");
        let issued = store::issued::count_in(&mut db, 2026).await;
        assert_eq!(issued.expect("a count"), 0);
    }
    let back = "UPDATE instrument SET number = 'TW-07' WHERE number = 'TW-70'";
    plant.run(back).await.expect("its own number");
    signs(&mut inspector, &number, "certificate")
        .await
        .is(StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn everybody_reads_certificates_and_nobody_one_that_was_not_issued() {
    let plant = plant().await;
    let number = certified(&plant).await;
    for role in Role::ALL {
        let mut visitor = plant.signed_in(*role).await;
        visitor
            .get(&format!("/pressure-tests/certificates/{number}"))
            .await
            .is(StatusCode::OK)
            .says("LG-1107A held 1505 psi");
        for missing in [
            "TW-C-2026-0002",
            "TW-C-2026-0002.pdf",
            "TW-C-2026-0001.pdf?paper=a3",
        ] {
            visitor
                .get(&format!("/pressure-tests/certificates/{missing}"))
                .await
                .is(StatusCode::NOT_FOUND);
        }
    }
    let mut nobody = plant.visitor();
    nobody
        .get(&format!("/pressure-tests/certificates/{number}.pdf"))
        .await
        .is(StatusCode::SEE_OTHER);
}

async fn marked(plant: &Plant, number: &str, kind: MarkKind, reason: &str) -> acts::Result<()> {
    let mut db = plant.store.read().await.unwrap();
    let (engineer, _) = store::people::by_sign_in(&mut db, "engineer")
        .await
        .unwrap()
        .unwrap();
    drop(db);
    let mut deed = Deed::begin(&plant.store, &plant.clock, Who::from(&engineer), None).await?;
    let marking = Marking {
        kind,
        reason,
        recall: None,
    };
    acts::certificates::mark(&mut deed, &number.parse().unwrap(), marking).await?;
    deed.commit("").await
}

#[tokio::test]
async fn what_was_said_of_a_certificate_stands_on_its_page() {
    let plant = plant().await;
    rebuilt(&plant).await;
    let number = certified(&plant).await;
    let mut reader = plant.storekeeper().await;
    let page = address::certificate(&number);
    assert!(!reader.get(&page).await.text.contains("Questioned."));
    marked(&plant, &number, MarkKind::Questioned, "torque in doubt")
        .await
        .unwrap();
    let shown = reader.get(&page).await;
    shown.says("Questioned.");
    shown.says("torque in doubt");
    marked(&plant, &number, MarkKind::Stands, "within its margin")
        .await
        .unwrap();
    let shown = reader.get(&page).await;
    assert!(!shown.text.contains("Questioned."));
    shown.says("within its margin");
}

#[tokio::test]
async fn a_certificate_in_question_is_said_beside_the_pressure_gauge_it_was_made_with_and_bars_nothing()
 {
    let plant = plant().await;
    let number = certified(&plant).await;
    let said = format!(
        "PG-22 : certificate {number} , made with it on 2 Mar 2026, is in question: it read low"
    );
    let pages = ["/instruments/PG-22", FORM];
    let mut technician = plant.technician().await;
    for page in pages {
        technician.get(page).await.does_not_say("is in question");
    }
    marked(&plant, &number, MarkKind::Questioned, "it read low")
        .await
        .unwrap();
    for page in pages {
        technician.get(page).await.says(&said);
    }
    technician
        .get("/instruments/PG-22")
        .await
        .says("may be used today");
    tested(&mut technician, PASSED).await;
    // Once the doubt is settled nothing is said any more.
    marked(&plant, &number, MarkKind::Stands, "within its margin")
        .await
        .unwrap();
    for page in pages {
        technician.get(page).await.does_not_say("is in question");
    }
}

#[tokio::test]
async fn a_withdrawn_certificate_stays_withdrawn_and_a_mark_needs_a_reason() {
    let plant = plant().await;
    rebuilt(&plant).await;
    let number = certified(&plant).await;
    let none = marked(&plant, &number, MarkKind::Questioned, " ").await;
    assert!(none.unwrap_err().to_string().contains("Say why"));
    marked(&plant, &number, MarkKind::Withdrawn, "it leaked")
        .await
        .unwrap();
    let page = address::certificate(&number);
    let shown = plant.storekeeper().await.get(&page).await;
    shown.says("Withdrawn.");
    let again = marked(&plant, &number, MarkKind::Stands, "it did not").await;
    assert!(again.unwrap_err().to_string().contains("final"));
}

#[tokio::test]
async fn a_gauge_whose_certificate_is_withdrawn_is_due_for_a_test_from_that_day_until_one_is_passed()
 {
    let plant = plant().await;
    rebuilt(&plant).await;
    let number = certified(&plant).await;
    marked(
        &plant,
        &number,
        MarkKind::Withdrawn,
        "made out for the wrong gauge",
    )
    .await
    .unwrap();
    let mut inspector = plant.inspector().await;
    inspector
        .get("/gauges/LG-1107A")
        .await
        .says("certificate withdrawn")
        .says("It has no valid certificate.")
        .says("made out for the wrong gauge");
    inspector.get("/due?rule=withdrawn").await.says("LG-1107A");
    inspector
        .get("/")
        .await
        .says("gauge is to be tested again, its certificate withdrawn");
    plant
        .technician()
        .await
        .get("/")
        .await
        .says("gauge is to be tested again, its certificate withdrawn");
    sound(&plant).await;
}

#[tokio::test]
async fn what_is_signed_and_printed_stays_as_stamped_whoever_reads_it() {
    let plant = plant().await;
    let mut inspector = plant.inspector().await;
    inspector.reads("si").await;
    let number = tested(&mut plant.technician().await, PASSED).await;
    signs(&mut inspector, &number, "witness").await;
    inspector
        .get(&format!("/pressure-tests/{number}/certificate"))
        .await
        .says("held 1505 psi (103.8 bar)")
        .says("What stands in brackets in your unit is for reading and is not part of it");
    signs(&mut inspector, &number, "certificate").await;
    let certificate = "/pressure-tests/certificates/TW-C-2026-0001";
    inspector
        .get(certificate)
        .await
        .says("held 1505 psi (103.8 bar)");
    let mut engineer = plant.engineer().await;
    for part in [".json", ".pdf"] {
        let address = format!("{certificate}{part}");
        let (si, stamped) = (inspector.get(&address).await, engineer.get(&address).await);
        assert_eq!(si.bytes, stamped.bytes, "{part}");
    }
}
