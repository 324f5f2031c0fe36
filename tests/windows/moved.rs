//! A window that is moved takes the rebuilds planned into it with it, and names what does not go.

use axum::http::StatusCode;

use super::agree;
use super::plan::{september, step};
use crate::gauges::hang;
use crate::plant::{Answer, Plant, Visitor};
use crate::storeroom::all_is_sealed_and_true;

const MOVE: &str = "/windows/Boiler%20House/2026-09-01/move";

/// What is sent after the days from 1 to 10 October were weighed and the tick was left as it was set.
const TICKED: &[(&str, &str)] = &[
    ("weighed", "2026-10-01/2026-10-10"),
    ("with_rebuilds", "yes"),
];

/// Sends the form as it was opened, with these days and these fields beside them.
async fn send(
    visitor: &mut Visitor,
    (starts, ends): (&str, &str),
    more: &[(&str, &str)],
) -> Answer {
    let opened = visitor.get(MOVE).await;
    let (row, version) = (opened.field("row"), opened.field("version"));
    let mut fields = vec![
        ("row", row.as_str()),
        ("version", version.as_str()),
        ("name", "autumn"),
        ("starts_on", starts),
        ("ends_on", ends),
    ];
    fields.extend_from_slice(more);
    visitor.fill(MOVE, MOVE, &fields).await
}

/// Shows what other days would do, and then moves the window to them if the answer is to be so.
async fn moved(
    engineer: &mut Visitor,
    (starts, ends): (&str, &str),
    with_rebuilds: Option<bool>,
) -> Answer {
    let shown = send(engineer, (starts, ends), &[]).await;
    shown.is(StatusCode::OK);
    let Some(with_rebuilds) = with_rebuilds else {
        return shown;
    };
    let weighed = shown.field("weighed");
    let mut more = vec![("weighed", weighed.as_str())];
    if with_rebuilds {
        more.push(("with_rebuilds", "yes"));
    }
    let answer = send(engineer, (starts, ends), &more).await;
    answer.is(StatusCode::SEE_OTHER);
    answer
}

async fn planned(engineer: &mut Visitor, gauges: &[&str]) {
    let chosen: Vec<_> = gauges.iter().map(|row| ("gauge", *row)).collect();
    step(engineer, "choose", &chosen)
        .await
        .is(StatusCode::SEE_OTHER);
    step(engineer, "rebuilds", &[])
        .await
        .is(StatusCode::SEE_OTHER);
}

/// Takes a gauge with a planned rebuild to the bench.
async fn to_the_bench(plant: &Plant, tag: &str) {
    let mut technician = plant.technician().await;
    let sheet = format!("/bench/{tag}");
    let version = technician.get(&sheet).await.field("version");
    technician
        .fill(
            &sheet,
            &format!("{sheet}/start"),
            &[("version", version.as_str())],
        )
        .await
        .is(StatusCode::SEE_OTHER);
}

async fn on_another_day(engineer: &mut Visitor, tag: &str, day: &str) {
    let page = format!("/gauges/{tag}/rebuild");
    let opened = engineer.get(&page).await;
    let (row, version) = (opened.field("rebuild"), opened.field("version"));
    let fields = [
        ("rebuild", row.as_str()),
        ("version", version.as_str()),
        ("planned_for", day),
        ("reason", "after the scaffold"),
    ];
    engineer
        .fill(&page, &format!("{page}/day"), &fields)
        .await
        .is(StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn the_rebuilds_planned_into_a_window_go_with_it_and_so_do_their_kits() {
    let (plant, mut engineer) = september().await;
    planned(&mut engineer, &["1", "3"]).await;
    moved(&mut engineer, ("2026-10-01", "2026-10-10"), None)
        .await
        .says("Move its 2 rebuilds along, which are not begun")
        .says("Nothing was saved yet");
    moved(&mut engineer, ("2026-10-01", "2026-10-10"), Some(true)).await;
    engineer
        .get("/windows/Boiler%20House/2026-10-01/plan")
        .await
        .says("planned for 1 Oct 2026")
        .does_not_say("outside of the window");
    engineer
        .get("/gauges/LG-3/rebuilds/1")
        .await
        .says("Planned for 1 Oct 2026")
        .says("Other days 1 Sep 2026 to 1 Oct 2026: The window autumn was moved to 1 Oct 2026 to 10 Oct 2026");
    engineer
        .get("/needs/kits/TW-K-250R")
        .await
        .says("LG-3 1 Oct 2026 2");
    all_is_sealed_and_true(&plant).await;
}

/// The window began on the 1st: the 4th is three days behind it, the 10th nine, which is more than the five
/// days the window then has.
#[tokio::test]
async fn a_rebuild_keeps_its_distance_from_the_first_day_and_stays_within_the_window() {
    let (plant, mut engineer) = september().await;
    planned(&mut engineer, &["1", "3"]).await;
    on_another_day(&mut engineer, "LG-1", "2026-09-04").await;
    on_another_day(&mut engineer, "LG-3", "2026-09-10").await;
    moved(&mut engineer, ("2026-08-17", "2026-08-21"), Some(true)).await;
    for (tag, day) in [("LG-1", "20 Aug 2026"), ("LG-3", "21 Aug 2026")] {
        engineer
            .get(&format!("/gauges/{tag}"))
            .await
            .says(&format!("planned for {day}"));
    }
    all_is_sealed_and_true(&plant).await;
}

#[tokio::test]
async fn rebuilds_left_behind_are_moved_into_their_window_with_one_button() {
    let (plant, mut engineer) = september().await;
    planned(&mut engineer, &["1", "3"]).await;
    moved(&mut engineer, ("2026-10-01", "2026-10-10"), Some(false)).await;
    let plan = "/windows/Boiler%20House/2026-10-01/plan";
    engineer
        .get(plan)
        .await
        .says("for 1 Sep 2026, outside of the window")
        .says("Move 2 rebuilds to 1 Oct 2026");
    let seen = [("seen", "1/2026-09-01"), ("seen", "3/2026-09-01")];
    engineer
        .fill(plan, &format!("{plan}/rebuild-days"), &seen)
        .await
        .is(StatusCode::SEE_OTHER);
    engineer
        .get(plan)
        .await
        .does_not_say("outside of the window")
        .does_not_say("Move 2 rebuilds");
    engineer
        .get("/gauges/LG-1/rebuilds/1")
        .await
        .says("1 Sep 2026 to 1 Oct 2026: Moved into the window autumn");
    all_is_sealed_and_true(&plant).await;
}

#[tokio::test]
async fn rebuilds_are_moved_into_their_window_as_they_were_seen_or_not_at_all() {
    let (plant, mut engineer) = september().await;
    planned(&mut engineer, &["1", "3"]).await;
    moved(&mut engineer, ("2026-10-01", "2026-10-10"), Some(false)).await;
    let plan = "/windows/Boiler%20House/2026-10-01/plan";
    let shown = engineer.get(plan).await;
    assert_eq!(shown.field("seen"), "3/2026-09-01");
    on_another_day(&mut engineer, "LG-3", "2026-09-07").await;
    let seen = [("seen", "1/2026-09-01"), ("seen", "3/2026-09-01")];
    engineer
        .fill(plan, &format!("{plan}/rebuild-days"), &seen)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("given another day meanwhile; look at them again")
        .says("Move 2 rebuilds to 1 Oct 2026");
    for (tag, day) in [("LG-1", "1 Sep 2026"), ("LG-3", "7 Sep 2026")] {
        engineer
            .get(&format!("/gauges/{tag}"))
            .await
            .says(&format!("planned for {day}"));
    }
    all_is_sealed_and_true(&plant).await;
}

/// LG-1 is to be rebuilt by 20 September 2026, before the window that was moved begins; LG-3 by 20 December.
#[tokio::test]
async fn who_moves_rebuilds_into_a_window_is_told_which_are_then_done_after_their_date() {
    let (_plant, mut engineer) = september().await;
    planned(&mut engineer, &["1", "3"]).await;
    moved(&mut engineer, ("2026-10-01", "2026-10-10"), Some(false)).await;
    engineer
        .get("/windows/Boiler%20House/2026-10-01/plan")
        .await
        .says("1 of them would be done after it falls due: LG-1 on 20 Sep 2026");
}

#[tokio::test]
async fn a_rebuild_under_way_keeps_its_day_and_is_named_before_the_window_moves() {
    let (plant, mut engineer) = september().await;
    planned(&mut engineer, &["1", "3"]).await;
    to_the_bench(&plant, "LG-3").await;
    moved(&mut engineer, ("2026-10-01", "2026-10-10"), None)
        .await
        .says("Under way already, so its rebuild keeps its day: LG-3")
        .says("Move its rebuild along, which is not begun");
    moved(&mut engineer, ("2026-10-01", "2026-10-10"), Some(true)).await;
    engineer
        .get("/gauges/LG-3")
        .await
        .says("planned for 1 Sep 2026");
    engineer
        .get("/gauges/LG-1")
        .await
        .says("planned for 1 Oct 2026");
}

/// LG-1 waits for a shutdown and is to be rebuilt by 20 September 2026; LG-3 can be isolated in service and is
/// to be by 20 December.
#[tokio::test]
async fn chosen_gauges_that_fall_due_before_the_moved_window_begins_are_named() {
    let (_plant, mut engineer) = september().await;
    let both = [("gauge", "1"), ("gauge", "3")];
    step(&mut engineer, "choose", &both)
        .await
        .is(StatusCode::SEE_OTHER);
    moved(&mut engineer, ("2027-01-05", "2027-01-15"), None)
        .await
        .says("2 chosen gauges fall due before it begins: LG-1 on 20 Sep 2026, LG-3 on 20 Dec 2026. Do them before, or agree an earlier window.");
    moved(&mut engineer, ("2026-12-10", "2026-12-22"), None)
        .await
        .says("1 chosen gauge falls due before it begins: LG-1 on 20 Sep 2026. Do it before, or agree an earlier window.");
    moved(&mut engineer, ("2026-09-15", "2026-09-25"), None)
        .await
        .does_not_say("due before it begins");
}

#[tokio::test]
async fn a_gauge_whose_rebuild_is_under_way_or_planned_in_time_is_not_called_due_before_the_window()
{
    let (plant, mut engineer) = september().await;
    planned(&mut engineer, &["3"]).await;
    let january = ("2027-01-05", "2027-01-15");
    moved(&mut engineer, january, None)
        .await
        .says("LG-3 on 20 Dec 2026");
    on_another_day(&mut engineer, "LG-3", "2026-11-02").await;
    moved(&mut engineer, january, None)
        .await
        .does_not_say("due before it begins");
    on_another_day(&mut engineer, "LG-3", "2026-09-02").await;
    to_the_bench(&plant, "LG-3").await;
    moved(&mut engineer, january, None)
        .await
        .does_not_say("due before it begins")
        .says("Under way already, so its rebuild keeps its day: LG-3");
}

/// LG-1 is to be rebuilt by 20 September 2026, LG-5 by the 25th, and no other window is agreed.
#[tokio::test]
async fn two_gauges_find_no_window_before_their_date_and_one_before_its() {
    let (_plant, mut engineer) = september().await;
    let october = ("2026-10-01", "2026-10-10");
    moved(&mut engineer, october, None)
        .await
        .says("1 gauge then finds no window before its date.");
    let fields = [
        ("tag", "LG-5"),
        ("class", "2"),
        ("isolation", "shutdown-only"),
        ("installed_on", "2021-09-25"),
    ];
    hang(&mut engineer, &fields).await;
    let look_over = "/gauges/LG-5/look-over";
    engineer
        .fill(
            look_over,
            look_over,
            &[("found", "sound"), ("on", "2026-03-01")],
        )
        .await
        .is(StatusCode::SEE_OTHER);
    moved(&mut engineer, october, None)
        .await
        .says("2 gauges then find no window before their date.");
}

#[tokio::test]
async fn who_does_not_plan_rebuilds_moves_a_window_and_leaves_them_on_their_day() {
    let (plant, mut engineer) = september().await;
    planned(&mut engineer, &["1"]).await;
    let mut administrator = plant.administrator().await;
    let october = ("2026-10-01", "2026-10-10");
    moved(&mut administrator, october, None)
        .await
        .says("Its rebuild, which is not begun, stays on the day it has; the reliability engineer gives it another.")
        .does_not_say("Move its rebuild");
    send(&mut administrator, october, TICKED)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("The reliability engineer gives rebuilds another day");
    moved(&mut administrator, october, Some(false)).await;
    engineer
        .get("/gauges/LG-1")
        .await
        .says("planned for 1 Sep 2026");
    all_is_sealed_and_true(&plant).await;
}

/// Nothing is planned into it when other days are weighed first, so the tick is not yet asked then.
#[tokio::test]
async fn the_tick_is_set_where_it_is_first_asked_and_stays_as_it_was_left() {
    const SET: &str = "name=\"with_rebuilds\" value=\"yes\" checked";
    let (_plant, mut engineer) = september().await;
    let october = ("2026-10-01", "2026-10-10");
    let shown = moved(&mut engineer, october, None).await;
    shown.does_not_say("along, which is not begun");
    planned(&mut engineer, &["1"]).await;
    let days = ("2026-10-02", "2026-10-11");
    let mut more = vec![("weighed", "2026-10-01/2026-10-10")];
    let shown = send(&mut engineer, days, &more).await;
    shown.says("Move its rebuild along, which is not begun");
    assert!(shown.text.contains(SET));
    let asked = shown.field("asked");
    more.push(("asked", asked.as_str()));
    let shown = send(&mut engineer, days, &more).await;
    shown.says("Move its rebuild along, which is not begun");
    assert!(!shown.text.contains(SET));
}

#[tokio::test]
async fn a_window_that_moves_onto_another_moves_no_rebuild() {
    let (plant, mut engineer) = september().await;
    planned(&mut engineer, &["1"]).await;
    agree(&mut engineer, "1", "october", ("2026-10-05", "2026-10-12"))
        .await
        .is(StatusCode::SEE_OTHER);
    send(&mut engineer, ("2026-10-01", "2026-10-10"), TICKED)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("stands already from 5 Oct 2026 to 12 Oct 2026");
    engineer
        .get("/gauges/LG-1")
        .await
        .says("planned for 1 Sep 2026");
    all_is_sealed_and_true(&plant).await;
}

/// The form that plans a rebuild proposes the window's first day and chooses the gauge into no window.
#[tokio::test]
async fn a_rebuild_planned_into_the_window_goes_with_it_though_its_gauge_is_not_chosen() {
    let (plant, mut engineer) = september().await;
    let page = "/gauges/LG-1/rebuild";
    let fields = [("cause", "interval"), ("planned_for", "2026-09-02")];
    engineer
        .fill(page, page, &fields)
        .await
        .is(StatusCode::SEE_OTHER);
    moved(&mut engineer, ("2026-10-01", "2026-10-10"), None)
        .await
        .says("Move its rebuild along, which is not begun");
    moved(&mut engineer, ("2026-10-01", "2026-10-10"), Some(true)).await;
    engineer
        .get("/gauges/LG-1")
        .await
        .says("planned for 2 Oct 2026");
    all_is_sealed_and_true(&plant).await;
}

/// Other days are weighed, and then those it has are typed again: nothing moves, and nothing says it did.
#[tokio::test]
async fn a_window_that_keeps_its_days_moves_no_rebuild() {
    let (plant, mut engineer) = september().await;
    planned(&mut engineer, &["1"]).await;
    plant.turn_to(time::macros::datetime!(2026-09-03 09:00 UTC));
    let mut engineer = plant.engineer().await;
    let other = [
        ("weighed", "2026-09-02/2026-09-11"),
        ("with_rebuilds", "yes"),
    ];
    send(&mut engineer, ("2026-09-01", "2026-09-10"), &other)
        .await
        .is(StatusCode::SEE_OTHER);
    engineer
        .get("/gauges/LG-1/rebuilds/1")
        .await
        .says("Planned for 1 Sep 2026")
        .does_not_say("was moved to");
}

#[tokio::test]
async fn a_rebuild_made_ready_that_goes_with_its_window_is_made_ready_again() {
    let (plant, mut engineer) = september().await;
    crate::needs::receives(&mut engineer, "K", "4", "").await;
    planned(&mut engineer, &["3"]).await;
    plant
        .run("UPDATE rebuild SET state = 'ready'")
        .await
        .expect("ready");
    moved(&mut engineer, ("2026-10-01", "2026-10-10"), Some(true)).await;
    engineer
        .get("/gauges/LG-3")
        .await
        .says("is planned: rebuild interval, planned for 1 Oct 2026");
}
