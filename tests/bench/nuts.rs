//! Tightening seen closely: nut by nut, what the torque does to a bolt, and a wrench in other hands.

use axum::http::StatusCode;

use super::world::{Bench, SHEET};
use crate::pressure_tests::world::tightened;

#[tokio::test]
async fn nut_by_nut_the_next_one_is_named_and_the_last_leads_to_the_next_pass() {
    let mut bench = Bench::new().await.assembled().await;
    let page = format!("{SHEET}/tightened?section=1&wrench=TW-07&pass=4");
    bench
        .technician
        .get(&page)
        .await
        .says("Every nut in the numbered order to 20 ft·lbf")
        .says("Nut by nut");
    let first = bench.technician.get(&format!("{page}&nut=1")).await;
    first.says("Nut 1 next, from the centre outwards, to 20 ft·lbf");
    assert!(first.text.contains("pass=4&#38;nut=2"), "{}", first.text);
    let last = bench.technician.get(&format!("{page}&nut=12")).await;
    assert!(last.text.contains("pass=5&#38;nut=1"), "{}", last.text);
    let end = format!("{SHEET}/tightened?section=1&wrench=TW-07&pass=6&nut=11");
    bench.technician.get(&end).await.does_not_say("it is tight");
    let end = format!("{SHEET}/tightened?section=1&wrench=TW-07&pass=6&nut=12");
    bench.technician.get(&end).await.says("it is tight");
}

#[tokio::test]
async fn the_last_pass_asks_for_one_more_round_before_its_button_and_for_words_after_it() {
    let mut bench = Bench::new().await.assembled().await;
    let end = format!("{SHEET}/tightened?section=1&wrench=TW-07&pass=6");
    bench.technician.get(&end).await.says(
        "Then once more round, until no nut moves. All nuts at 32 ft·lbf: it is tight Anything else",
    );
}

#[tokio::test]
async fn passes_begun_without_a_wrench_say_so_beside_the_wrench() {
    let mut bench = Bench::new().await.assembled().await;
    let page = format!("{SHEET}/tightened?section=1");
    bench
        .technician
        .get(&page)
        .await
        .does_not_say("Choose the wrench first");
    for (chosen, words) in [
        ("", "Choose the wrench first"),
        ("TW-99", "No torque wrench in use has the number TW-99"),
        ("TW-08", "The calibration of TW-08 ran out on 1 Mar 2026"),
    ] {
        let page = bench
            .technician
            .get(&format!("{page}&wrench={chosen}&begin=yes"))
            .await;
        page.says(words);
        assert!(page.text.contains("id=\"wrench-wrong\""), "{}", page.text);
    }
    bench
        .technician
        .get(&format!("{page}&wrench=TW-07&begin=yes"))
        .await
        .says("Tighten, pass 1 of 6")
        .does_not_say("Nothing was saved yet");
}

#[tokio::test]
async fn of_a_u_bolt_one_nut_comes_next_and_then_the_other() {
    let mut bench = Bench::with(&[
        ("sections", "1"),
        ("bolt_form", "u-bolts"),
        ("bolts_per_rail", "5"),
    ])
    .await
    .assembled()
    .await;
    let page = format!("{SHEET}/tightened?wrench=TW-07&pass=1");
    for (nut, name) in [(1, "1a"), (2, "1b"), (10, "5b")] {
        let page = bench.technician.get(&format!("{page}&nut={nut}")).await;
        page.says(&format!("Nut {name} next"))
            .says("1: U-bolt 3 from the upper end, both legs drawn up evenly: 1a on the left rail, then 1b on the right");
        assert_eq!(page.text.matches("class=\"nut next\"").count(), 1);
        assert_eq!(page.text.matches("class=\"nut tight\"").count(), nut - 1);
    }
    let last = bench.technician.get(&format!("{page}&nut=10")).await;
    assert!(last.text.contains("pass=2&#38;nut=1"), "{}", last.text);
}

/// 1/2-13 at 32 ft·lbf with K = 0.15: F = T/(K·d) = 5120 lbf = 22.8 kN, on 0.1419 in² (ASME B1.1
/// table) 36.1 ksi = 249 MPa.
#[tokio::test]
async fn the_bolt_stress_stands_beside_the_torque() {
    let mut bench = Bench::new().await.assembled().await;
    let page = format!("{SHEET}/tightened?section=1&wrench=TW-07&pass=1");
    let stamped = bench.technician.get(&page).await;
    stamped
        .says("about 5120 lbf, 36100 psi in each bolt")
        .says("depending on thread friction");
    bench.technician.reads("si").await;
    let converted = bench.technician.get(&page).await;
    converted.says("about 22.8 kN, 249 MPa in each bolt");
}

/// Another gauge of two sections at the bench, whose first was tightened with TW-07 at ten to nine.
async fn tightened_next_door(bench: &Bench) {
    let facts = serde_json::to_string(&tightened("32", None)).unwrap();
    bench
        .plant
        .run(&format!(
            "INSERT INTO gauge (tag, area_id, service_class_id, standing, kind, sections, isolation)
               VALUES ('LG-1107B', 1, 1, 'in-service', 'reflex', 2, 'in-service');
             INSERT INTO rebuild (gauge_id, ordinal, state, cause, planned_for, planned_at, planned_by)
               SELECT id, 1, 'at-the-bench', 'leak', '2026-03-02', '2026-03-01T08:00:00.000Z', 4 FROM gauge WHERE tag = 'LG-1107B';
             INSERT INTO bench_entry (rebuild_id, topic, section, facts, at, person_id)
               SELECT max(id), 'tightened', 1, '{facts}', '2026-03-02T08:50:00.000Z', 1 FROM rebuild",
        ))
        .await
        .unwrap();
}

#[tokio::test]
async fn a_wrench_in_use_on_another_gauge_is_refused_with_its_tag() {
    let mut bench = Bench::new().await.assembled().await;
    tightened_next_door(&bench).await;
    bench
        .technician
        .get(SHEET)
        .await
        .says("TW-07 is in use on LG-1107B");
    let refused = bench
        .send("tightened", &[("section", "1"), ("wrench", "TW-07")])
        .await;
    refused.is(StatusCode::UNPROCESSABLE_ENTITY);
    refused.says("TW-07 is in use on LG-1107B");
    // Half an hour after it was last used there it is free again.
    bench
        .plant
        .turn_to(time::macros::datetime!(2026-03-02 09:21 UTC));
    bench
        .record("tightened", &[("section", "1"), ("wrench", "TW-07")])
        .await;
}

#[tokio::test]
async fn a_section_written_wrongly_and_corrected_does_not_set_the_wrench_free() {
    let mut bench = Bench::new().await.assembled().await;
    tightened_next_door(&bench).await;
    // Section 1 was a slip for section 2: one section is tightened, not two.
    bench
        .plant
        .run(
            "INSERT INTO bench_entry (rebuild_id, topic, section, facts, at, person_id, supersedes, correction_reason)
               SELECT rebuild_id, topic, 2, facts, '2026-03-02T08:55:00.000Z', person_id, id, 'the other section'
               FROM bench_entry WHERE at = '2026-03-02T08:50:00.000Z'",
        )
        .await
        .unwrap();
    bench
        .send("tightened", &[("section", "1"), ("wrench", "TW-07")])
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("TW-07 is in use on LG-1107B");
}

/// Six bolts a rail are twelve nuts, and six passes to 32 ft·lbf by five make 72 loadings.
#[tokio::test]
async fn a_wrench_is_calibrated_again_after_so_many_loadings() {
    let mut bench = Bench::new().await.assembled().await;
    bench
        .plant
        .run("UPDATE instrument SET cycle_limit = 80 WHERE number = 'TW-07'")
        .await
        .unwrap();
    bench
        .engineer
        .get("/instruments/TW-07")
        .await
        .says("0 loadings since its calibration");
    tightened_next_door(&bench).await;
    // That gauge's layout is not in the register: its nuts are counted as the most a section has.
    bench
        .plant
        .run("UPDATE gauge SET bolts_per_rail = 6 WHERE tag = 'LG-1107B'")
        .await
        .unwrap();
    bench
        .plant
        .turn_to(time::macros::datetime!(2026-03-02 09:21 UTC));
    bench
        .technician
        .get(SHEET)
        .await
        .says("8 more times before it is calibrated again, and this section takes 72");
    bench
        .plant
        .run("UPDATE gauge SET bolts_per_rail = NULL WHERE tag = 'LG-1107B'")
        .await
        .unwrap();
    let worn =
        "TW-07 has tightened 144 times since its calibration; after 80 it is calibrated again";
    bench.technician.get(SHEET).await.says(worn);
    bench
        .send("tightened", &[("section", "1"), ("wrench", "TW-07")])
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says(worn);
    bench
        .engineer
        .get("/instruments/TW-07")
        .await
        .says("is not to be used today")
        .says("has made all its loadings since its calibration");
    // Calibrated anew it begins from nothing.
    let page = "/instruments/TW-07/calibrate";
    let fields = [
        ("calibrated_on", "2026-03-03"),
        ("due_on", "2027-03-03"),
        ("reference", "CAL 26/051"),
        ("found", "within-tolerance"),
    ];
    bench
        .plant
        .turn_to(time::macros::datetime!(2026-03-03 09:00 UTC));
    bench.engineer = bench.plant.engineer().await;
    bench
        .engineer
        .fill(page, page, &fields)
        .await
        .is(StatusCode::SEE_OTHER);
    bench.technician = bench.plant.technician().await;
    bench
        .record("tightened", &[("section", "1"), ("wrench", "TW-07")])
        .await;
    bench
        .engineer
        .get("/instruments/TW-07")
        .await
        .says("72 loadings since its calibration");
}

/// What a page noted of the six passes to 32 ft·lbf, each a minute after the other.
fn noted(from: &str, torques: &[&str]) -> String {
    let hour = &from[..2];
    let minute: u32 = from[3..].parse().unwrap();
    let all = torques
        .iter()
        .zip(minute..)
        .map(|(torque, minute)| format!("{torque} 2026-03-02T{hour}:{minute:02}:00.000Z"));
    all.collect::<Vec<_>>().join(",")
}

const PASSES: &[&str] = &["5", "10", "15", "20", "25", "32"];

#[tokio::test]
async fn the_record_holds_when_each_pass_was_finished_and_a_correction_keeps_it() {
    let mut bench = Bench::new().await.assembled().await;
    bench
        .plant
        .turn_to(time::macros::datetime!(2026-03-02 10:00 UTC));
    let finished = noted("09:20", PASSES);
    let fields = [
        ("section", "1"),
        ("wrench", "TW-07"),
        ("finished", &finished),
    ];
    bench.record("tightened", &fields).await;
    let words = "Finished, as pressed 5 ft·lbf : 2 Mar 2026, 09:20 10 ft·lbf : 09:21 15 ft·lbf : 09:22 20 ft·lbf : 09:23 25 ft·lbf : 09:24 32 ft·lbf : 09:25";
    bench.sheet().await.says(words);
    bench.its_record().await.says(words);
    let entry: i64 = {
        let mut db = bench.plant.store.read().await.unwrap();
        sqlx::query_scalar("SELECT max(id) FROM bench_entry")
            .fetch_one(&mut *db)
            .await
            .unwrap()
    };
    let correction = [
        ("section", "1"),
        ("wrench", "TW-07"),
        ("note", "paste on every thread"),
        ("reason", "forgot the note"),
    ];
    bench
        .technician
        .get(&Bench::correction("tightened", entry))
        .await
        .is(StatusCode::OK);
    let address = Bench::correction("tightened", entry);
    crate::bench::world::send(&mut bench.technician, &address, &correction)
        .await
        .is(StatusCode::SEE_OTHER);
    bench
        .sheet()
        .await
        .says("paste on every thread")
        .says(words);
    // Corrected, it loaded the wrench once and not twice.
    bench
        .engineer
        .get("/instruments/TW-07")
        .await
        .says("72 loadings since its calibration");
    bench.is_sound().await;
}

#[tokio::test]
async fn loadings_that_the_entries_do_not_give_are_found() {
    let mut bench = Bench::new().await.assembled().await;
    bench
        .record("tightened", &[("section", "1"), ("wrench", "TW-07")])
        .await;
    bench.is_sound().await;
    bench
        .plant
        .run("UPDATE wrench_day SET made = 12")
        .await
        .unwrap();
    let mut db = bench.plant.store.read().await.unwrap();
    let report = gaugewright::acts::verify::verify(&mut db).await.unwrap();
    assert!(
        report
            .findings
            .iter()
            .any(|f| f.contains("loadings of wrenches differ")),
        "{:?}",
        report.findings
    );
}

#[tokio::test]
async fn a_time_that_cannot_be_becomes_the_registers_own_and_passes_left_out_are_not_noted() {
    let mut bench = Bench::new().await.assembled().await;
    bench
        .plant
        .turn_to(time::macros::datetime!(2026-03-02 10:00 UTC));
    // One before the section was assembled at nine, one in its order, one still to come.
    let finished =
        "5 2026-03-02T08:00:00.000Z,10 2026-03-02T09:30:00.000Z,32 2026-03-02T11:00:00.000Z";
    let fields = [
        ("section", "1"),
        ("wrench", "TW-07"),
        ("finished", finished),
    ];
    bench.record("tightened", &fields).await;
    bench.its_record().await.says(
        "5 ft·lbf : 2 Mar 2026, 10:00 10 ft·lbf : 10:00 15 ft·lbf : not noted 20 ft·lbf : not noted 25 ft·lbf : not noted 32 ft·lbf : 10:00",
    );
}

#[tokio::test]
async fn passes_out_of_order_or_of_another_plan_are_refused_and_nothing_is_recorded() {
    let mut bench = Bench::new().await.assembled().await;
    let other = "The passes noted on this page are not those of the plan, which are 5, 10, 15, 20, 25, 32 ft·lbf";
    for (torques, words) in [
        (&["5", "15", "10"][..], other),
        (&["5", "5"], other),
        (&["7", "14", "32"], other),
        (
            &["five"],
            "What this page noted of the passes cannot be read",
        ),
    ] {
        let finished = noted("09:00", torques);
        let fields = [
            ("section", "1"),
            ("wrench", "TW-07"),
            ("finished", &finished),
        ];
        bench
            .send("tightened", &fields)
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says(words);
    }
    bench.its_record().await.does_not_say("Tightened Test");
}

/// Tightened at ten past nine and sent when the connection was back, after a colleague took the wrench.
#[tokio::test]
async fn a_section_sent_late_is_judged_by_when_it_was_tightened() {
    let mut bench = Bench::new().await.assembled().await;
    tightened_next_door(&bench).await;
    bench
        .plant
        .run("INSERT INTO bench_entry (rebuild_id, topic, section, facts, at, person_id)
              SELECT rebuild_id, topic, 1, facts, '2026-03-02T09:50:00.000Z', person_id FROM bench_entry WHERE at = '2026-03-02T08:50:00.000Z'")
        .await
        .unwrap();
    bench
        .plant
        .turn_to(time::macros::datetime!(2026-03-02 10:00 UTC));
    let late = [("section", "1"), ("wrench", "TW-07")];
    bench
        .send("tightened", &late)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("TW-07 is in use on LG-1107B");
    let finished = noted("09:21", PASSES);
    let sent = [
        ("section", "1"),
        ("wrench", "TW-07"),
        ("finished", &finished),
    ];
    bench.record("tightened", &sent).await;
}
