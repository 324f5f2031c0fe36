//! What is kept beside the date that governs, for the lists of a shutdown window: what asks for the work that
//! may need one, and for the next rebuild. Each value worked by hand; today is 2 March 2026.

use axum::http::StatusCode;
use gaugewright::calc::due::{Candidate, Rule};
use gaugewright::store;
use gaugewright::store::due::Row;
use time::Date;
use time::macros::date;

use crate::gauges::edit::NAMEPLATE;
use crate::gauges::hang;
use crate::plant::Plant;
use crate::storeroom::all_is_sealed_and_true;

/// What is kept of a gauge that falls due.
pub async fn kept(plant: &Plant, tag: &str) -> Row {
    let mut db = plant.store.read().await.expect("a reader");
    let id = store::gauges::id_of(&mut db, tag).await.expect("asked");
    let found = store::due::find(&mut db, id.expect("a gauge")).await;
    found.expect("asked").expect("a date")
}

/// Asserts what asks for the work, what for the next rebuild, and the latest day of that rebuild.
pub fn asks(row: &Row, work: (Rule, Date), rebuild: (Rule, Date), rebuild_on: Date) {
    let cause = |rule: Option<Rule>, date: Option<Date>| {
        let (rule, date) = rule.zip(date)?;
        Some(Candidate { rule, date })
    };
    let wanted = |(rule, date)| Some(Candidate { rule, date });
    assert_eq!(cause(row.work_rule, row.work_date), wanted(work));
    assert_eq!(cause(row.rebuild_rule, row.rebuild_date), wanted(rebuild));
    assert_eq!(row.rebuild_on, Some(rebuild_on));
}

/// Rebuilt every 60 months: 20 September 2021 and 60 months is 20 September 2026.
#[tokio::test]
async fn a_gauge_moved_to_another_area_is_done_in_a_window_of_that_one() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    let waits = [
        ("class", "2"),
        ("isolation", "shutdown-only"),
        ("installed_on", "2021-09-20"),
    ];
    hang(&mut engineer, &waits).await;
    let look_over = "/gauges/LG-1107A/look-over";
    let sound = [("found", "sound"), ("on", "2026-03-01")];
    engineer
        .fill(look_over, look_over, &sound)
        .await
        .is(StatusCode::SEE_OTHER);
    for (area, days) in [
        ("1", ("2026-09-01", "2026-09-10")),
        ("2", ("2026-08-01", "2026-08-12")),
    ] {
        crate::windows::agree(&mut engineer, area, "outage", days)
            .await
            .is(StatusCode::SEE_OTHER);
    }
    let rebuild = (Rule::RebuildInterval, date!(2026 - 09 - 20));
    let before = kept(&plant, "LG-1107A").await;
    asks(&before, rebuild, rebuild, date!(2026 - 09 - 10));
    let mut moved: Vec<(&str, &str)> = NAMEPLATE.to_vec();
    moved.retain(|(name, _)| *name != "area" && waits.iter().all(|(other, _)| other != name));
    moved.extend(waits);
    moved.extend([("area", "2"), ("version", "1")]);
    let page = "/gauges/LG-1107A/edit";
    engineer
        .fill(page, page, &moved)
        .await
        .is(StatusCode::SEE_OTHER);
    let after = kept(&plant, "LG-1107A").await;
    asks(&after, rebuild, rebuild, date!(2026 - 08 - 12));
    assert_ne!(before.area_id, after.area_id);
    assert_eq!(after.window_ends_on, Some(date!(2026 - 08 - 12)));
    all_is_sealed_and_true(&plant).await;
}
