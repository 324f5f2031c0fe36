//! The record of a rebuild, open or finished, as everybody reads it.

use axum::http::StatusCode;

use crate::bench::world::{Bench, MADE_SAFE};

#[tokio::test]
async fn an_open_rebuild_s_record_can_be_read_by_everybody() {
    let mut bench = Bench::new().await.started().await;
    bench.record("made-safe", MADE_SAFE).await;
    let mut storekeeper = bench.plant.storekeeper().await;
    storekeeper
        .get("/gauges/LG-1107A/rebuilds/1")
        .await
        .is(StatusCode::OK)
        .says("Rebuild 1 of LG-1107A : at the bench")
        .says("Planned for 2 Mar 2026 by Test reliability engineer on 2 Mar 2026, 09:00")
        .says("To the bench Test technician, 2 Mar 2026, 09:00")
        .says("P-4711");
}

#[tokio::test]
async fn a_rebuild_that_never_was_is_not_found() {
    let mut bench = Bench::new().await;
    for address in [
        "/gauges/LG-1107A/rebuilds/1",
        "/gauges/LG-1107A/rebuilds/first",
        "/gauges/LG-9999/rebuilds/1",
    ] {
        bench.engineer.get(address).await.is(StatusCode::NOT_FOUND);
    }
}
