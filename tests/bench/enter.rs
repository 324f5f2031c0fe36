//! Entering a sheet filled in by pen: everything in one go, by the same rules, with who did the work
//! and when beside who entered it; or nothing, and what is wrong where.

use axum::http::StatusCode;
use time::macros::datetime;

use super::world::{Bench, SHEET};
use crate::papers::ask;
use crate::people::names::renames;
use crate::plant::Answer;
use crate::pressure_tests::world::signs;

const PAGE: &str = "/bench/LG-1107A/enter";

/// The whole sheet of a reflex gauge of one section, done on 2 March 2026 from half past seven.
const WHOLE: &[(&str, &str)] = &[
    ("who", "1"),
    ("on", "2026-03-02"),
    ("at", "07:30"),
    ("safe-isolated", "yes"),
    ("safe-locked", "yes"),
    ("safe-drained", "yes"),
    ("safe-vented", "yes"),
    ("safe-zero", "yes"),
    ("safe-cold", "yes"),
    ("safe-permit", "P-4711"),
    ("safe-lock", "L-12"),
    ("strip1-when", "08:00"),
    ("strip1-bolting", "uneven"),
    ("strip1-glass", "etched"),
    ("strip1-seal", "hardened"),
    ("strip1-cushion", "sound"),
    ("strip1-leak", "seal-gasket"),
    ("strip1-cause", "leak"),
    ("strip1-thrown", "yes"),
    ("boltingall-when", "08:30"),
    ("boltingall-done", "renewed"),
    ("face1-chamber-seen_as", "clean"),
    ("face1-chamber-feeler", "0.002"),
    ("face1-chamber-feeler_unit", "[in_i]"),
    ("face1-chamber-instrument", "FS-01"),
    ("face1-cover-seen_as", "clean"),
    ("face1-cover-feeler", "0.002"),
    ("face1-cover-feeler_unit", "[in_i]"),
    ("face1-cover-instrument", "FS-01"),
    ("kits-lot", "1"),
    ("kits-quantity", "1"),
    ("assembledall-gaskets", "yes"),
    ("assembledall-glass", "yes"),
    ("assembledall-nameplate", "yes"),
    ("assembledall-nuts", "yes"),
    ("assembledall-lubricant", "molybdenum"),
    ("tight1-when", "09:30"),
    ("tight1-wrench", "TW-07"),
    ("test-when", "10:00"),
    ("test-medium", "water"),
    ("test-instrument", "PG-05"),
    ("test-confirmed", "yes"),
    ("test-readings", "0 1510 18.5\n5 1506 18.4"),
    ("test-readings_unit", "[psi]"),
    ("test-degrees_unit", "Cel"),
    ("test-leak", "none"),
    ("return-when", "10:40"),
    ("return-drained", "yes"),
    ("return-opened", "yes"),
    ("return-warmed", "yes"),
    ("return-watched", "yes"),
];

/// Fields with others in their place.
fn but<'a>(changes: &[(&'a str, &'a str)]) -> Vec<(&'a str, &'a str)> {
    let kept = WHOLE
        .iter()
        .filter(|(name, _)| changes.iter().all(|(changed, _)| changed != name));
    kept.chain(changes).copied().collect()
}

/// Only the parts up to this one.
fn up_to<'a>(last: &str, fields: &[(&'a str, &'a str)]) -> Vec<(&'a str, &'a str)> {
    let end = fields.iter().rposition(|(name, _)| name.starts_with(last));
    fields[..=end.expect("such a part")].to_vec()
}

/// At the end of the day of the work, the engineer enters the sheet.
async fn sent(bench: &mut Bench, fields: &[(&str, &str)]) -> Answer {
    let page = bench.engineer.get(PAGE).await;
    page.is(StatusCode::OK);
    let (key, seen) = (page.field("key"), page.field("seen"));
    let mut all = vec![("key", key.as_str()), ("seen", seen.as_str())];
    all.extend_from_slice(fields);
    bench.engineer.post(PAGE, &all).await
}

async fn evening() -> Bench {
    let bench = Bench::new().await.planned().await;
    bench.plant.turn_to(datetime!(2026-03-02 17:00 UTC));
    // A pressure gauge of the right range for 1500 psi.
    let mut engineer = bench.plant.engineer().await;
    for (page, fields) in [
        (
            "/instruments/new",
            &[
                ("number", "PG-05"),
                ("kind", "pressure-gauge"),
                ("description", ""),
                ("range_low", "0"),
                ("range_high", "3000"),
                ("unit", "[psi]"),
                ("resolution", "5"),
            ][..],
        ),
        (
            "/instruments/PG-05/calibrate",
            &[
                ("calibrated_on", "2026-01-05"),
                ("due_on", "2027-01-05"),
                ("reference", "CAL-PG-05"),
                ("found", "within-tolerance"),
            ][..],
        ),
    ] {
        engineer
            .fill(page, page, fields)
            .await
            .is(StatusCode::SEE_OTHER);
    }
    bench
}

#[tokio::test]
async fn who_did_the_work_is_chosen_by_whoever_types_a_sheet_that_is_not_their_own() {
    let mut bench = Bench::new().await.planned().await;
    let own = |page: &Answer, id: u8| {
        let option = format!("<option value=\"{id}\" selected>");
        let who = page.text.split("id=\"who\"").nth(1).expect("a field");
        who.split("</select>")
            .next()
            .is_some_and(|list| list.contains(&option))
    };
    let page = bench.technician.get(PAGE).await;
    assert!(own(&page, 1), "the technician types their own sheet");
    let page = bench.engineer.get(PAGE).await;
    assert!(!own(&page, 4), "the engineer types somebody else's");
}

#[tokio::test]
async fn the_readings_of_a_sheet_are_taken_in_the_units_of_the_page_that_holds_the_pressure() {
    // The nameplate states its rating in psi at a temperature in °F.
    let mut bench = Bench::new().await.planned().await;
    let page = bench.engineer.get(PAGE).await;
    for unit in ["[psi]", "[degF]"] {
        let option = format!("<option value=\"{unit}\" selected>");
        assert!(page.text.contains(&option), "{unit}");
    }
}

#[tokio::test]
async fn a_whole_sheet_is_entered_at_once_with_who_did_the_work_and_when() {
    let mut bench = evening().await;
    bench
        .engineer
        .get(PAGE)
        .await
        .says("1 Made safe")
        .says("7 Returned");
    sent(&mut bench, WHOLE).await.is(StatusCode::SEE_OTHER);
    bench
        .its_record()
        .await
        .says("returned on 2 Mar 2026")
        .says("Test technician, 2 Mar 2026, 07:30; entered from paper by Test reliability engineer, 2 Mar 2026, 17:00")
        .says("Test technician, 2 Mar 2026, 09:30; entered from paper")
        .says("TW-07")
        .says("passed on 2 Mar 2026, Test technician (entered from paper by Test reliability engineer)");
}

#[tokio::test]
async fn a_test_entered_from_paper_names_who_made_it_on_page_list_and_certificate() {
    let mut bench = evening().await;
    sent(&mut bench, WHOLE).await.is(StatusCode::SEE_OTHER);
    let page = "/pressure-tests/TW-T-2026-0001";
    bench
        .engineer
        .get(page)
        .await
        .says("Tested by Test technician, technician 2 Mar 2026, 10:00; entered from paper by Test reliability engineer, 2 Mar 2026, 17:00");
    bench
        .engineer
        .get("/pressure-tests")
        .await
        .says("Test technician");
    bench
        .engineer
        .get("/gauges/LG-1107A/history")
        .await
        .says("Test technician");
    let mut inspector = bench.plant.inspector().await;
    for what in ["witness", "certificate"] {
        signs(&mut inspector, "TW-T-2026-0001", what)
            .await
            .is(StatusCode::SEE_OTHER);
    }
    let certificate = "/pressure-tests/certificates/TW-C-2026-0001";
    let how = "written on the sheet on paper; entered in the register as TW-T-2026-0001 by Test reliability engineer on 2 Mar 2026";
    inspector
        .get(certificate)
        .await
        .says("Tested by Test technician, technician")
        .says(how);
    let printed = inspector.get(&format!("{certificate}.pdf")).await;
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("certificate.pdf");
    std::fs::write(&file, &printed.bytes).unwrap();
    if let Some(text) = ask("pdftotext", &["-raw"], &file, &["-"]) {
        let run_together = |text: &str| text.split_whitespace().collect::<String>();
        let text = run_together(&String::from_utf8(text).unwrap().replace('\u{200b}', ""));
        assert!(text.contains(&run_together("Test technician")), "{text}");
        assert!(text.contains(&run_together(how)), "{text}");
    }
    bench.is_sound().await;
}

#[tokio::test]
async fn who_did_the_work_is_named_as_they_were_called_then() {
    let mut bench = evening().await;
    bench.plant.turn_to(datetime!(2026-03-02 12:00 UTC));
    renames(&bench.plant, "technician", "Nell Harrow", "1").await;
    bench.plant.turn_to(datetime!(2026-03-02 17:00 UTC));
    sent(&mut bench, WHOLE).await.is(StatusCode::SEE_OTHER);
    bench
        .its_record()
        .await
        .says("Test technician, 2 Mar 2026, 07:30; entered from paper by")
        .says("passed on 2 Mar 2026, Test technician (entered from paper by")
        .does_not_say("Nell Harrow, 2 Mar 2026");
    bench.is_sound().await;
}

/// Neither who made a test nor who entered it is its witness.
#[tokio::test]
async fn who_made_a_test_on_paper_does_not_witness_it() {
    let mut bench = evening().await;
    let mut inspector = bench.plant.inspector().await;
    let by: i64 = {
        let mut db = bench.plant.store.read().await.unwrap();
        sqlx::query_scalar("SELECT id FROM person WHERE role = 'inspector'")
            .fetch_one(&mut *db)
            .await
            .unwrap()
    };
    let by = by.to_string();
    sent(&mut bench, &but(&[("test-who", &by)]))
        .await
        .is(StatusCode::SEE_OTHER);
    signs(&mut inspector, "TW-T-2026-0001", "witness")
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("the witness is another person than the tester");
    // The schema's own net knows it as well.
    let past_the_rule = format!(
        "INSERT INTO witnessing (test_id, person_id, at) SELECT id, {by}, '2026-03-02T17:00:00.000Z' FROM pressure_test"
    );
    assert!(bench.plant.run(&past_the_rule).await.is_err());
}

#[tokio::test]
async fn one_wrong_part_and_nothing_is_entered_and_what_was_typed_stays() {
    for (change, field, words) in [
        (("safe-permit", ""), "safe-permit", "Write the permit"),
        (
            ("strip1-thrown", ""),
            "strip1-thrown",
            "Old glass and gaskets are thrown away",
        ),
        (
            ("face1-cover-instrument", "TW-07"),
            "face1-cover-instrument",
            "TW-07",
        ),
        (("kits-lot", "3"), "kits-lot", "its last day was 1 Mar 2026"),
        (
            ("tight1-wrench", "FS-01"),
            "tight1-wrench",
            "FS-01 is no torque wrench",
        ),
        (
            ("test-readings", "0 1510 18.5\n3 1506 18.4"),
            "test-readings",
            "The hold lasted 3 min",
        ),
        (
            ("return-warmed", ""),
            "return-warmed",
            "Brought to its working temperature slowly: tick this when it is so",
        ),
        (
            ("tight1-when", "08:10"),
            "tight1-when",
            "This lies before the part of the sheet that comes first",
        ),
        (("test-when", "18:00"), "test-when", "This is still to come"),
        (("on", "someday"), "on", "Write the date as"),
    ] {
        let mut bench = evening().await;
        let refused = sent(&mut bench, &but(&[change])).await;
        refused.is(StatusCode::UNPROCESSABLE_ENTITY).says(words);
        assert!(
            refused.text.contains(&format!("href=\"#{field}\"")),
            "{field}: {}",
            crate::plant::plain(&refused.text)
        );
        assert_eq!(refused.field("safe-lock"), "L-12");
        bench
            .its_record()
            .await
            .says("Nothing was recorded yet")
            .says("none issued");
    }
}

#[tokio::test]
async fn a_sheet_is_entered_as_far_as_it_is_filled_and_the_rest_later() {
    let mut bench = evening().await;
    let begun = up_to("face1-cover", WHOLE);
    sent(&mut bench, &begun).await.is(StatusCode::SEE_OTHER);
    bench.sheet().await.says("Issue 1 new kit");
    let page = bench.engineer.get(PAGE).await;
    page.does_not_say("1 Made safe").says("4 Assembled");
    // What is entered already is not asked for again; the rest is.
    let rest: Vec<(&str, &str)> = WHOLE
        .iter()
        .copied()
        .filter(|(name, _)| !begun.iter().skip(3).any(|(done, _)| done == name))
        .map(|(name, value)| {
            if name == "at" {
                (name, "08:45")
            } else {
                (name, value)
            }
        })
        .collect();
    sent(&mut bench, &rest).await.is(StatusCode::SEE_OTHER);
    bench.its_record().await.says("returned on 2 Mar 2026");
}

#[tokio::test]
async fn a_part_left_out_in_between_is_named() {
    let mut bench = evening().await;
    let gap: Vec<(&str, &str)> = WHOLE
        .iter()
        .copied()
        .filter(|(name, _)| !name.starts_with("face1-cover"))
        .collect();
    sent(&mut bench, &gap)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("“Inspected” comes first: the cover recess is not recorded");
    bench.its_record().await.says("Nothing was recorded yet");
}

#[tokio::test]
async fn pressed_twice_it_is_entered_once_and_a_colleague_s_entry_meanwhile_is_not_overwritten() {
    let mut bench = evening().await;
    let page = bench.engineer.get(PAGE).await;
    let key = page.field("key");
    let mut fields = vec![("key", key.as_str()), ("seen", "0")];
    fields.extend(up_to("safe-", WHOLE));
    for _ in 0..2 {
        bench
            .engineer
            .post(PAGE, &fields)
            .await
            .is(StatusCode::SEE_OTHER);
    }
    let record = bench.its_record().await;
    assert_eq!(record.text.matches("P-4711").count(), 1);
    // A page that was opened before that entry does not know of it.
    let key = bench.engineer.get(PAGE).await.field("key");
    let mut late = vec![("key", key.as_str()), ("seen", "0")];
    late.extend(WHOLE);
    bench
        .engineer
        .post(PAGE, &late)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Somebody recorded on this sheet since you opened this page");
    bench.technician.get(SHEET).await.says("Strip the gauge");
}

#[tokio::test]
async fn a_wall_thicker_than_when_it_was_last_read_is_asked_about_on_paper_too() {
    let mut bench = evening().await;
    let mut begun = up_to("boltingall", WHOLE);
    begun.extend([
        ("face1-chamber-when", "08:40"),
        ("face1-chamber-seen_as", "pitted"),
        ("face1-chamber-wall", "0.118"),
        ("face1-chamber-wall_unit", "[in_i]"),
        ("face1-chamber-wall_instrument", "CA-03"),
    ]);
    sent(&mut bench, &begun).await.is(StatusCode::SEE_OTHER);
    bench.technician = bench.plant.technician().await;
    let face = [
        ("who", "1"),
        ("on", "2026-03-02"),
        ("at", "08:45"),
        ("face1-chamber-seen_as", "clean"),
        ("face1-chamber-feeler", "0.002"),
        ("face1-chamber-feeler_unit", "[in_i]"),
        ("face1-chamber-instrument", "FS-01"),
        ("face1-chamber-wall", "0.150"),
        ("face1-chamber-wall_unit", "[in_i]"),
        ("face1-chamber-wall_instrument", "CA-03"),
    ];
    bench
        .engineer
        .get(PAGE)
        .await
        .does_not_say("Why it is thicker than before");
    let refused = sent(&mut bench, &face).await;
    refused
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("is thicker than 0.118 in, read on 2 Mar 2026")
        .says("Why it is thicker than before");
    for field in ["wall", "again", "again_reason"] {
        let to = format!("href=\"#face1-chamber-{field}\"");
        assert!(refused.text.contains(&to), "{field}");
    }
    let mut again = face.to_vec();
    again.extend([
        ("face1-chamber-again", "yes"),
        ("face1-chamber-again_reason", "the pit was measured first"),
    ]);
    sent(&mut bench, &again).await.is(StatusCode::SEE_OTHER);
    bench
        .its_record()
        .await
        .says("Why thicker the pit was measured first");
    bench.is_sound().await;
}

#[tokio::test]
async fn a_wall_read_before_its_part_was_renewed_is_none_of_the_new_part_though_it_is_entered_later()
 {
    let mut bench = evening().await;
    let begun = up_to("boltingall", WHOLE);
    sent(&mut bench, &begun).await.is(StatusCode::SEE_OTHER);
    bench.technician = bench.plant.technician().await;
    let walled = |seen_as: &'static str, feeler: &'static str, wall: &'static str| {
        [
            ("section", "1"),
            ("face", "chamber"),
            ("seen_as", seen_as),
            ("feeler", feeler),
            ("feeler_unit", "[in_i]"),
            ("instrument", "FS-01"),
            ("wall", wall),
            ("wall_unit", "[in_i]"),
            ("wall_instrument", "CA-03"),
        ]
    };
    // Renewed at five, not flat yet; the sheet on paper holds what was read of the old part.
    bench
        .record("face", &walled("renewed", "0.005", "0.150"))
        .await;
    let old = [
        ("who", "1"),
        ("on", "2026-03-02"),
        ("at", "08:45"),
        ("face1-chamber-seen_as", "pitted"),
        ("face1-chamber-wall", "0.118"),
        ("face1-chamber-wall_unit", "[in_i]"),
        ("face1-chamber-wall_instrument", "CA-03"),
    ];
    sent(&mut bench, &old).await.is(StatusCode::SEE_OTHER);
    bench
        .record("face", &walled("clean", "0.002", "0.149"))
        .await;
    bench
        .technician
        .get("/gauges/LG-1107A")
        .await
        .says("chamber recess, section 1 0.149 in 2 Mar 2026 one reading, no rate known yet");
    bench.is_sound().await;
}

#[tokio::test]
async fn who_worked_on_a_stage_and_when_stands_for_each_of_its_sections() {
    let mut bench = Bench::with(&[("sections", "2")]).await.planned().await;
    bench.plant.turn_to(datetime!(2026-03-02 17:00 UTC));
    bench.engineer = bench.plant.engineer().await;
    bench
        .engineer
        .get(PAGE)
        .await
        .says("Section 2, to 32 ft·lbf")
        .says("The sections in the order they are tightened")
        .says("Required: 1500 psi, held at least 5 min");
    let by: i64 = {
        let mut db = bench.plant.store.read().await.unwrap();
        sqlx::query_scalar("SELECT id FROM person WHERE role = 'engineer'")
            .fetch_one(&mut *db)
            .await
            .unwrap()
    };
    let by = by.to_string();
    let mut fields = up_to("safe-", WHOLE);
    let strip: Vec<(String, &str)> = WHOLE
        .iter()
        .filter(|(name, _)| name.starts_with("strip1-"))
        .flat_map(|(name, value)| {
            let second = name.replace("strip1-", "strip2-");
            [((*name).to_owned(), *value), (second, *value)]
        })
        .filter(|(name, _)| name != "strip2-when")
        .collect();
    fields.extend(strip.iter().map(|(name, value)| (name.as_str(), *value)));
    fields.push(("strip1-who", &by));
    sent(&mut bench, &fields).await.is(StatusCode::SEE_OTHER);
    let record = bench.its_record().await;
    for section in [1, 2] {
        record.says(&format!(
            "Stripped, section {section} Test reliability engineer, 2 Mar 2026, 08:00; entered from paper by Test reliability engineer, 2 Mar 2026, 17:00"
        ));
    }
}
