//! A wall that was skimmed: until it was read on another day it is reckoned to wear on as before.

use time::macros::datetime;

use super::thicker::{returned, walled};
use super::world::Bench;

const GAUGE: &str = "/gauges/LG-1107A";

/// By hand: 0.005 in lost in the 100 days to 10 June; of 0.120 in left by the skim 0.020 in last 400 days, half of
/// which end on 27 December.
#[tokio::test]
async fn a_skimmed_wall_keeps_the_rate_it_wore_at_before_and_is_due_by_it() {
    let mut bench = Bench::new().await.stripped().await;
    bench.record("bolting", &[("done", "renewed")]).await;
    bench.record("face", &walled("0.130")).await;
    let mut bench = returned(bench).await;
    bench.plant.turn_to(datetime!(2026-06-10 09:00 UTC));
    bench.technician = bench.plant.technician().await;
    bench.engineer = bench.plant.engineer().await;
    let mut bench = bench.stripped().await;
    bench.record("bolting", &[("done", "renewed")]).await;
    for (wall, seen) in [("0.125", "pitted"), ("0.120", "skimmed")] {
        let mut read = walled(wall);
        read[2] = ("seen_as", seen);
        bench.record("face", &read).await;
    }
    bench
        .technician
        .get("/bench/LG-1107A/face?section=1&face=chamber")
        .await
        .says("It was not read since its skim, and before it wore 0.018 in")
        .says("Measure again by 27 Dec 2026");
    let mut bench = returned(bench).await;
    bench
        .engineer
        .get(GAUGE)
        .await
        .says("reaches the least wall in 1.1 years; not read since its skim, so at the rate before it 27 Dec 2026")
        .says("Remaining life of a wall that was skimmed")
        .says("half-life of a worn wall");
    bench.is_sound().await;
}
