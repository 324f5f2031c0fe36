//! Taking a gauge to the bench: how far its planned day is off, and what is asked where it cannot be
//! isolated in service and no shutdown window of its area is open.

use axum::http::StatusCode;
use time::macros::datetime;

use super::world::{Bench, MADE_SAFE, SHEET};
use crate::windows::agree;

const PLAN: &str = "/gauges/LG-1107A/rebuild";
const ENTER: &str = "/bench/LG-1107A/enter";
const TICK: &str = "name=\"stands\"";

/// What a sheet on paper says of a gauge that was made safe.
const SAFE: &[(&str, &str)] = &[
    ("safe-isolated", "yes"),
    ("safe-vessel", "yes"),
    ("safe-locked", "yes"),
    ("safe-drained", "yes"),
    ("safe-vented", "yes"),
    ("safe-zero", "yes"),
    ("safe-cold", "yes"),
    ("safe-permit", "P-4711"),
    ("safe-lock", "L-12"),
];

/// A rebuild planned for the first day of a window of 6 to 12 April; today is 2 March.
async fn planned_into_a_window(isolation: &str) -> Bench {
    let mut bench = Bench::with(&[("sections", "1"), ("isolation", isolation)]).await;
    let days = ("2026-04-06", "2026-04-12");
    agree(&mut bench.engineer, "1", "spring stop", days)
        .await
        .is(StatusCode::SEE_OTHER);
    let fields = [("cause", "interval"), ("planned_for", "2026-04-06")];
    bench
        .engineer
        .fill(PLAN, PLAN, &fields)
        .await
        .is(StatusCode::SEE_OTHER);
    bench
}

#[tokio::test]
async fn a_gauge_that_cannot_be_isolated_in_service_is_taken_early_with_a_tick_and_a_reason_only() {
    let mut bench = planned_into_a_window("shutdown-only").await;
    let sheet = bench.sheet().await;
    sheet
        .says("This gauge cannot be isolated in service, and today lies in no shutdown window of Boiler House.")
        .says("Its rebuild is planned for 6 Apr 2026, in 35 days, in the window spring stop");
    assert!(sheet.text.contains(TICK));
    let refused = bench.press("start").await;
    refused
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("This gauge cannot be isolated in service, and 2 Mar 2026 lies in no shutdown window of Boiler House")
        .says("Say why it is taken to the bench outside of a shutdown window");
    for field in ["stands", "stands_reason"] {
        assert!(
            refused.text.contains(&format!("href=\"#{field}\"")),
            "{field}"
        );
        assert!(
            refused.text.contains(&format!("id=\"{field}-wrong\"")),
            "{field}"
        );
    }
    // One without the other does not do, and what was said stays.
    let reason = ("stands_reason", "the drum is down for a leaking tube");
    bench
        .go("start", &[reason])
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("2 Mar 2026 lies in no shutdown window of Boiler House")
        .says("the drum is down for a leaking tube")
        .does_not_say("Say why it is taken");
    let refused = bench.go("start", &[("stands", "yes")]).await;
    refused
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Say why it is taken")
        .does_not_say("2 Mar 2026 lies in no shutdown window");
    assert!(
        refused
            .text
            .contains("name=\"stands\" value=\"yes\" checked")
    );
    bench.sheet().await.says("Take it to the bench");

    bench
        .go("start", &[("stands", "yes"), reason])
        .await
        .is(StatusCode::SEE_OTHER);
    bench
        .sheet()
        .await
        .says("Make it safe")
        .says("Taken to the bench by")
        .says("Recorded so far To the bench");
    bench
        .its_record()
        .await
        .says("Outside of every shutdown window; its vessel is out of service and the gauge is isolated from it; both stay so until it is back. Why: the drum is down for a leaking tube");
    let audited: String = {
        let mut db = bench.plant.store.read().await.expect("a reader");
        sqlx::query_scalar("SELECT facts FROM audit WHERE deed = 'took to the bench'")
            .fetch_one(&mut *db)
            .await
            .expect("an audit line")
    };
    for part in [
        "its vessel is out of service",
        "the drum is down for a leaking tube",
    ] {
        assert!(audited.contains(part), "{audited}");
    }
    bench.is_sound().await;
}

#[tokio::test]
async fn in_a_window_of_its_area_nothing_more_is_asked() {
    let mut bench = planned_into_a_window("shutdown-only").await;
    bench.plant.turn_to(datetime!(2026-04-12 09:00 UTC));
    bench.technician = bench.plant.technician().await;
    let sheet = bench.sheet().await;
    sheet
        .says("This gauge cannot be isolated in service. It is taken to the bench in a shutdown window only")
        .does_not_say("today lies in no shutdown window");
    assert!(!sheet.text.contains(TICK));
    bench.press("start").await.is(StatusCode::SEE_OTHER);
    bench
        .its_record()
        .await
        .does_not_say("Outside of every shutdown window");
}

#[tokio::test]
async fn of_a_gauge_that_can_be_isolated_in_service_only_the_distance_is_said() {
    let mut bench = planned_into_a_window("in-service").await;
    let sheet = bench.sheet().await;
    sheet
        .says("Planned for 6 Apr 2026 , in 35 days")
        .does_not_say("cannot be isolated in service");
    assert!(!sheet.text.contains(TICK));
    bench.press("start").await.is(StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn a_sheet_on_paper_is_asked_the_same() {
    let mut bench = Bench::with(&[("sections", "1"), ("isolation", "shutdown-only")]).await;
    let plan = [
        ("cause", "leak"),
        ("planned_for", "2026-03-02"),
        ("stands_anyway", "yes"),
        ("note", "the drum is down for a leaking tube"),
    ];
    bench
        .engineer
        .fill(PLAN, PLAN, &plan)
        .await
        .is(StatusCode::SEE_OTHER);
    let begun = [("who", "1"), ("on", "2026-03-02"), ("at", "08:30")];
    let page = bench.engineer.get(ENTER).await;
    page.says("Why it came to the bench outside of every shutdown window");
    let (key, seen) = (page.field("key"), page.field("seen"));
    let mut fields = vec![("key", key.as_str()), ("seen", seen.as_str())];
    fields.extend(begun);
    fields.extend(SAFE);
    let refused = bench.engineer.post(ENTER, &fields).await;
    refused
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("2 Mar 2026 lies in no shutdown window of Boiler House")
        .says("Say why it is taken to the bench outside of a shutdown window");
    for field in ["stands", "stands_reason"] {
        assert!(
            refused.text.contains(&format!("href=\"#{field}\"")),
            "{field}"
        );
    }
    assert_eq!(refused.field("safe-lock"), "L-12");
    let key = refused.field("key");
    fields[0] = ("key", key.as_str());
    fields.extend([("stands", "yes"), ("stands_reason", "a leaking tube")]);
    bench
        .engineer
        .post(ENTER, &fields)
        .await
        .is(StatusCode::SEE_OTHER);
    bench.technician.get(SHEET).await.says("Strip the gauge");
    bench
        .its_record()
        .await
        .says("Outside of every shutdown window")
        .says("Why: a leaking tube");
    bench.is_sound().await;
}

/// Both days of a shutdown window belong to it: common practice, no source. The window is 6 to 12 April, the
/// sheet on paper is entered on the 13th.
#[tokio::test]
async fn from_paper_the_first_and_the_last_day_of_a_window_lie_in_it_and_the_days_beside_do_not() {
    for (day, outside) in [
        ("2026-04-05", Some("5 Apr 2026")),
        ("2026-04-06", None),
        ("2026-04-12", None),
        ("2026-04-13", Some("13 Apr 2026")),
    ] {
        let mut bench = planned_into_a_window("shutdown-only").await;
        bench.plant.turn_to(datetime!(2026-04-13 12:00 UTC));
        bench.engineer = bench.plant.engineer().await;
        let page = bench.engineer.get(ENTER).await;
        let (key, seen) = (page.field("key"), page.field("seen"));
        let mut fields = vec![("key", key.as_str()), ("seen", seen.as_str())];
        fields.extend([("who", "1"), ("on", day), ("at", "08:30")]);
        fields.extend(SAFE);
        let answer = bench.engineer.post(ENTER, &fields).await;
        if let Some(said) = outside {
            answer.is(StatusCode::UNPROCESSABLE_ENTITY).says(&format!(
                "{said} lies in no shutdown window of Boiler House"
            ));
            continue;
        }
        answer.is(StatusCode::SEE_OTHER);
        bench.technician = bench.plant.technician().await;
        bench
            .its_record()
            .await
            .does_not_say("Outside of every shutdown window");
        bench.is_sound().await;
    }
}

/// That no valve keeps such a gauge apart from its vessel is common practice, no source.
#[tokio::test]
async fn of_a_gauge_that_cannot_be_isolated_it_is_confirmed_that_its_vessel_is_out_of_service() {
    let mut bench = planned_into_a_window("shutdown-only").await;
    let told = [
        ("stands", "yes"),
        ("stands_reason", "the drum is down for a leaking tube"),
    ];
    bench.go("start", &told).await.is(StatusCode::SEE_OTHER);
    let line =
        "Its vessel is out of service and free of pressure, and stays so until the work is done";
    bench
        .sheet()
        .await
        .says(line)
        .does_not_say("Both gauge valves are shut and the gauge is isolated");
    bench
        .send("made-safe", MADE_SAFE)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says(&format!(
            "{line}: tick this when it is so; nothing is loosened before that"
        ));
    let mut all = MADE_SAFE.to_vec();
    all.push(("vessel", "yes"));
    bench.record("made-safe", &all).await;
    bench
        .its_record()
        .await
        .says("Vessel its vessel is out of service and free of pressure")
        .does_not_say("Isolation both gauge valves");
    bench.is_sound().await;
}

#[tokio::test]
async fn why_it_was_taken_out_of_its_window_stands_on_its_sheet_until_it_is_back() {
    let mut bench = planned_into_a_window("shutdown-only").await;
    let why = "Outside of every shutdown window; its vessel is out of service and the gauge is isolated from it; both stay so until it is back. Why: a leaking tube.";
    bench.sheet().await.does_not_say("Taken to the bench by");
    let told = [("stands", "yes"), ("stands_reason", "a leaking tube")];
    bench.go("start", &told).await.is(StatusCode::SEE_OTHER);
    let mut safe = MADE_SAFE.to_vec();
    safe.push(("vessel", "yes"));
    bench.record("made-safe", &safe).await;
    // Whoever comes next reads it, whatever was recorded since.
    bench.engineer.get(SHEET).await.says("Strip").says(why);
    bench
        .engineer
        .get(&format!("{SHEET}/remark"))
        .await
        .says(why);
}

#[tokio::test]
async fn what_is_only_assumed_of_isolation_is_looked_at_before_the_gauge_is_taken() {
    let mut bench = planned_into_a_window("in-service").await;
    bench
        .plant
        .run(r#"UPDATE gauge SET assumed = '["isolation"]'"#)
        .await
        .expect("an assumption");
    let line = "Somebody looked at this gauge before it was taken: it can be isolated in service";
    bench.sheet().await.says(line);
    bench
        .press("start")
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says(&format!("{line}: tick this when it is so"));
    bench
        .go("start", &[("looked", "yes")])
        .await
        .is(StatusCode::SEE_OTHER);
    bench.its_record().await.says(
        "How it is isolated was only assumed; somebody looked at this gauge before it was taken",
    );
}

#[tokio::test]
async fn a_sheet_on_paper_of_such_a_gauge_is_asked_whether_somebody_looked() {
    let mut bench = planned_into_a_window("in-service").await;
    bench
        .plant
        .run(r#"UPDATE gauge SET assumed = '["isolation"]'"#)
        .await
        .expect("an assumption");
    let page = bench.engineer.get(ENTER).await;
    page.says("Somebody looked at this gauge before it was taken");
    let (key, seen) = (page.field("key"), page.field("seen"));
    let mut fields = vec![("key", key.as_str()), ("seen", seen.as_str())];
    fields.extend([("who", "1"), ("on", "2026-03-02"), ("at", "08:30")]);
    fields.extend(SAFE);
    let refused = bench.engineer.post(ENTER, &fields).await;
    refused.is(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.text.contains("href=\"#looked\""));
    let key = refused.field("key");
    fields[0] = ("key", key.as_str());
    fields.push(("looked", "yes"));
    bench
        .engineer
        .post(ENTER, &fields)
        .await
        .is(StatusCode::SEE_OTHER);
    bench.technician.get(SHEET).await.says("Strip the gauge");
}
