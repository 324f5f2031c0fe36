//! Tightening seen closely: nut by nut, what the torque does to a bolt, and a wrench in other hands.

use axum::http::StatusCode;

use super::world::{Bench, SHEET};

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

/// 1/2-13 at 32 ft·lbf with K = 0.15: F = T/(K·d) = 5120 lbf = 22.8 kN, on 0.1419 in² (ASME B1.1
/// table) 36.1 ksi = 249 MPa.
#[tokio::test]
async fn the_bolt_stress_stands_beside_the_torque() {
    let mut bench = Bench::new().await.assembled().await;
    let page = format!("{SHEET}/tightened?section=1&wrench=TW-07&pass=1");
    bench
        .technician
        .get(&page)
        .await
        .says("about 22.8 kN, 249 MPa in each bolt");
}

#[tokio::test]
async fn a_wrench_in_use_on_another_gauge_is_refused_with_its_tag() {
    let mut bench = Bench::new().await.assembled().await;
    bench
        .plant
        .run(
            "INSERT INTO gauge (tag, area_id, service_class_id, standing, kind, sections, isolation)
               VALUES ('LG-1107B', 1, 1, 'in-service', 'reflex', 2, 'in-service');
             INSERT INTO rebuild (gauge_id, ordinal, state, cause, planned_for, planned_at, planned_by)
               SELECT id, 1, 'at-the-bench', 'leak', '2026-03-02', '2026-03-01T08:00:00.000Z', 4 FROM gauge WHERE tag = 'LG-1107B';
             INSERT INTO bench_entry (rebuild_id, topic, section, facts, at, person_id)
               SELECT max(id), 'tightened', 1, '{\"what\":\"tightened\",\"wrench\":\"TW-07\"}', '2026-03-02T08:50:00.000Z', 1 FROM rebuild",
        )
        .await
        .unwrap();
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
