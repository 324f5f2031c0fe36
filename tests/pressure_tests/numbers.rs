//! Numbers of tests and certificates: one after the other, none twice, none left out.

use axum::http::StatusCode;
use gaugewright::record::person::Role;
use gaugewright::store;
use time::macros::datetime;
use tokio::task::JoinSet;

use super::world::{FORM, PASSED, certified, plant, signs, sound, tested, with};

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn twenty_people_at_once_leave_no_gap_and_no_double() {
    let plant = plant().await;
    let technician = plant.technician().await;
    let mut everybody = JoinSet::new();
    for place in 0..25 {
        let mut visitor = technician.clone();
        everybody.spawn(async move {
            // Five of them held too short and are refused in between.
            let fields = if place % 5 == 4 {
                with(PASSED, &[("minute", "0"), ("minute", "2")])
            } else {
                PASSED.to_vec()
            };
            let answer = visitor.fill(FORM, FORM, &fields).await;
            (answer.status, answer.goes_to().to_owned())
        });
    }
    let mut numbers: Vec<String> = everybody
        .join_all()
        .await
        .into_iter()
        .filter(|(status, _)| *status == StatusCode::SEE_OTHER)
        .map(|(_, to)| to.rsplit('/').next().unwrap().to_owned())
        .collect();
    numbers.sort();
    let wanted: Vec<String> = (1..=20).map(|n| format!("TW-T-2026-{n:04}")).collect();
    assert_eq!(numbers, wanted);

    let inspector = plant.inspector().await;
    let mut everybody = JoinSet::new();
    for number in wanted {
        let mut visitor = inspector.clone();
        everybody.spawn(async move {
            signs(&mut visitor, &number, "witness")
                .await
                .is(StatusCode::SEE_OTHER);
            let issued = signs(&mut visitor, &number, "certificate").await;
            issued.is(StatusCode::SEE_OTHER);
            issued.goes_to().rsplit('/').next().unwrap().to_owned()
        });
    }
    let mut numbers = everybody.join_all().await;
    numbers.sort();
    let wanted: Vec<String> = (1..=20).map(|n| format!("TW-C-2026-{n:04}")).collect();
    assert_eq!(numbers, wanted);
    sound(&plant).await;
}

#[tokio::test]
async fn each_year_begins_anew_and_a_new_prefix_does_not() {
    let plant = plant().await;
    assert_eq!(certified(&plant).await, "TW-C-2026-0001");
    let mut deed = plant.deed_of(Role::Engineer).await;
    let mut settings = store::plant::find(deed.db()).await.unwrap().unwrap();
    settings.number_prefix = "QW".to_owned();
    gaugewright::acts::plant::settle(&mut deed, &settings)
        .await
        .unwrap();
    deed.commit("").await.unwrap();
    assert_eq!(
        tested(&mut plant.technician().await, PASSED).await,
        "QW-T-2026-0002"
    );
    plant.turn_to(datetime!(2026-12-31 23:50 UTC));
    let fields = with(PASSED, &[("began_on", "2026-12-31"), ("began_at", "23:40")]);
    assert_eq!(
        tested(&mut plant.technician().await, &fields).await,
        "QW-T-2026-0003"
    );
    plant.turn_to(datetime!(2027-01-01 00:10 UTC));
    // Of the old year, recorded in the new one: the number tells when it was recorded.
    assert_eq!(
        tested(&mut plant.technician().await, &fields).await,
        "QW-T-2027-0001"
    );
}
