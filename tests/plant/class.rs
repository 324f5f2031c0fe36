//! Service classes: their intervals move due dates, and the page says how many before it saves.

use axum::http::StatusCode;

use super::{Answer, Plant, Visitor};
use crate::bench::world::{Bench, RETURNED};

const STEAM: &str = "/plant/class/saturated%20steam";

/// Sends the form with the hidden fields of the page it came from.
async fn send(visitor: &mut Visitor, page: &Answer, typed: &[(&str, &str)]) -> Answer {
    let hidden: Vec<(&str, String)> = ["key", "row", "version", "opened", "weighed"]
        .iter()
        .map(|name| (*name, page.field(name).replace("&#34;", "\"")))
        .collect();
    let mut fields: Vec<(&str, &str)> = hidden.iter().map(|(n, v)| (*n, v.as_str())).collect();
    fields.push(("name", "saturated steam"));
    fields.extend_from_slice(typed);
    visitor.post(STEAM, &fields).await
}

const SHORTER: &[(&str, &str)] = &[("rebuild_months", "12"), ("look_over_months", "3")];

#[tokio::test]
async fn other_intervals_are_weighed_before_they_are_saved_and_then_move_the_dates() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    // Rebuilds due 18 months on; look-overs every 3 months. The third gauge is of another class.
    for (tag, installed, class) in [
        ("LG-1", "2025-12-01", "1"),
        ("LG-2", "2025-01-15", "1"),
        ("LG-3", "2025-12-01", "2"),
    ] {
        crate::gauges::hang(
            &mut engineer,
            &[("tag", tag), ("installed_on", installed), ("class", class)],
        )
        .await;
    }
    for tag in ["LG-1", "LG-2"] {
        let page = format!("/gauges/{tag}/look-over");
        engineer
            .fill(&page, &page, &[("found", "sound"), ("on", "2026-02-28")])
            .await
            .is(StatusCode::SEE_OTHER);
    }
    engineer.get("/gauges/LG-2").await.says("Due 28 May 2026");
    let opened = engineer.get(STEAM).await;
    let weighed = send(&mut engineer, &opened, SHORTER).await;
    // LG-2: 15 January 2025 and 12 months is 15 January 2026, before today; LG-1 stays with its
    // look-over. Calendar arithmetic as python-dateutil's relativedelta.
    weighed
        .is(StatusCode::OK)
        .says("1 due date moves")
        .says("Of 2 gauges in service 1 fall due sooner and 0 later")
        .says("1 gauge that is in time today would be overdue at once.")
        .says("Nothing was saved yet");
    engineer.get("/gauges/LG-2").await.says("Due 28 May 2026");
    send(&mut engineer, &weighed, SHORTER)
        .await
        .is(StatusCode::SEE_OTHER);
    engineer
        .get("/gauges/LG-2")
        .await
        .says("Due 15 Jan 2026")
        .says("rebuild every 12 months, look-over every 3 months");
    engineer
        .get("/due?rule=rebuild-interval")
        .await
        .says("LG-2");
    engineer
        .get("/plant")
        .await
        .says("every 12 months every 3 months");
}

#[tokio::test]
async fn intervals_changed_after_weighing_are_weighed_again() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    crate::gauges::hang(&mut engineer, &[]).await;
    let opened = engineer.get(STEAM).await;
    let weighed = send(&mut engineer, &opened, SHORTER).await;
    send(
        &mut engineer,
        &weighed,
        &[("rebuild_months", "6"), ("look_over_months", "1")],
    )
    .await
    .is(StatusCode::OK)
    .says("Nothing was saved yet");
    engineer
        .get("/plant")
        .await
        .says("every 18 months every 3 months");
}

#[tokio::test]
async fn a_class_without_intervals_gives_no_due_date() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    crate::gauges::hang(&mut engineer, &[]).await;
    let opened = engineer.get(STEAM).await;
    let none = &[("rebuild_months", ""), ("look_over_months", "")];
    let weighed = send(&mut engineer, &opened, none).await;
    weighed.says("1 lose theirs");
    send(&mut engineer, &weighed, none)
        .await
        .is(StatusCode::SEE_OTHER);
    engineer
        .get("/gauges/LG-1107A")
        .await
        .says("No due date")
        .says("the service class has no interval");
    engineer.get("/due").await.does_not_say("LG-1107A");
}

#[tokio::test]
async fn another_name_alone_is_saved_at_once() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    let page = engineer.get(STEAM).await;
    let same = [
        ("rebuild_months", "18"),
        ("look_over_months", "3"),
        ("description", "up to 100 bar"),
    ];
    send(&mut engineer, &page, &same)
        .await
        .is(StatusCode::SEE_OTHER);
    engineer.get("/plant").await.says("up to 100 bar");
}

#[tokio::test]
async fn the_second_saver_of_a_class_loses_nothing() {
    let plant = Plant::new().await;
    let (mut engineer, mut administrator) = (plant.engineer().await, plant.administrator().await);
    let stale = administrator.get(STEAM).await;
    let opened = engineer.get(STEAM).await;
    let weighed = send(&mut engineer, &opened, SHORTER).await;
    send(&mut engineer, &weighed, SHORTER)
        .await
        .is(StatusCode::SEE_OTHER);
    let answer = send(
        &mut administrator,
        &stale,
        &[("rebuild_months", "24"), ("look_over_months", "3")],
    )
    .await;
    answer.is(StatusCode::UNPROCESSABLE_ENTITY).says(
        "The register now holds 12 months, saved by Test reliability engineer; you typed 24 months",
    );
    assert_eq!(answer.field("rebuild_months"), "24");
}

#[tokio::test]
async fn a_new_class_needs_a_name_of_its_own_and_months_in_range() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    for (fields, says) in [
        (
            vec![("name", "Cold Water")],
            "There is a service class of this name already",
        ),
        (vec![("name", "")], "A name has 1 to 60 characters"),
        (
            vec![("name", "brine"), ("rebuild_months", "241")],
            "Write a whole number from 1 to 240",
        ),
        (
            vec![("name", "brine"), ("look_over_months", "0")],
            "Write a whole number from 1 to 120",
        ),
    ] {
        engineer
            .fill("/plant/class", "/plant/class", &fields)
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says(says);
    }
    engineer
        .fill(
            "/plant/class",
            "/plant/class",
            &[("name", "brine"), ("rebuild_months", "36")],
        )
        .await
        .is(StatusCode::SEE_OTHER);
    engineer
        .get("/plant")
        .await
        .says("brine every 36 months no interval");
}

/// The days of the re-torque as the class's own form has them.
#[tokio::test]
async fn the_days_of_the_re_torque_are_saved_shown_and_asked_for_at_the_next_return() {
    let mut bench = Bench::new().await.on_test().await;
    let opened = bench.engineer.get(STEAM).await;
    assert_eq!(opened.field("re_torque_days"), "");
    let with = |days| {
        [
            ("rebuild_months", "18"),
            ("look_over_months", "3"),
            ("re_torque_days", days),
        ]
    };
    for nonsense in ["0", "366", "-1", "ten", "1.5"] {
        let refused = send(&mut bench.engineer, &opened, &with(nonsense)).await;
        refused
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("Write a whole number from 1 to 365");
        assert!(refused.text.contains("href=\"#re_torque_days\""));
        // What was typed stays, and nothing else of the form is lost.
        assert_eq!(refused.field("re_torque_days"), nonsense);
        assert_eq!(refused.field("rebuild_months"), "18");
    }
    let saved = send(&mut bench.engineer, &opened, &with("10")).await;
    if saved.status == StatusCode::OK {
        send(&mut bench.engineer, &saved, &with("10"))
            .await
            .is(StatusCode::SEE_OTHER);
    } else {
        saved.is(StatusCode::SEE_OTHER);
    }
    let shown = bench.engineer.get(STEAM).await;
    assert_eq!(shown.field("re_torque_days"), "10");
    bench
        .engineer
        .get("/gauges/LG-1107A")
        .await
        .says("tightened again within 10 days of a return");
    bench.tested("passed").await;
    bench.go("return", RETURNED).await.is(StatusCode::SEE_OTHER);
    // 2 March and 10 days.
    bench
        .engineer
        .get("/gauges/LG-1107A")
        .await
        .says("Tighten again, by 12 Mar 2026")
        .says("re-torque after the first heat cycle");
    bench.is_sound().await;
}
