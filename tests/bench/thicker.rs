//! A wall that is thicker than when it was last read: it is asked about, recorded with a tick and a reason
//! only, and never taken for metal that grew.

use axum::http::StatusCode;
use time::macros::datetime;

use super::world::{ASSEMBLED, Bench, RETURNED, clean, send};

const GAUGE: &str = "/gauges/LG-1107A";

/// A clean chamber face with this wall.
pub fn walled(wall: &str) -> Vec<(&str, &str)> {
    let mut fields = clean("chamber");
    fields.extend([
        ("wall", wall),
        ("wall_unit", "[in_i]"),
        ("wall_instrument", "CA-03"),
    ]);
    fields
}

/// The same with what is said of it.
pub fn saying<'a>(wall: &'a str, again: &'a str, reason: &'a str) -> Vec<(&'a str, &'a str)> {
    let mut fields = walled(wall);
    fields.extend([("again", again), ("again_reason", reason)]);
    fields
}

/// From the inspected gauge to its return.
pub async fn returned(mut bench: Bench) -> Bench {
    bench.record("face", &clean("cover")).await;
    bench
        .record("kits", &[("lot", "1"), ("quantity", "1")])
        .await;
    bench.record("assembled", ASSEMBLED).await;
    bench.record("tightened", &[("wrench", "TW-07")]).await;
    bench.press("test").await.is(StatusCode::SEE_OTHER);
    bench.tested("passed").await;
    bench.go("return", RETURNED).await.is(StatusCode::SEE_OTHER);
    bench
}

/// Rebuilt on 2 March with a wall of 0.118 in, and open again on 10 June.
async fn rebuilt_and_open_again() -> Bench {
    let mut bench = Bench::new().await.stripped().await;
    bench.record("bolting", &[("done", "renewed")]).await;
    bench.record("face", &walled("0.118")).await;
    let mut bench = returned(bench).await;
    bench.plant.turn_to(datetime!(2026-06-10 09:00 UTC));
    bench.technician = bench.plant.technician().await;
    bench.engineer = bench.plant.engineer().await;
    let mut bench = bench.stripped().await;
    bench.record("bolting", &[("done", "renewed")]).await;
    bench
}

#[tokio::test]
async fn a_wall_thicker_than_when_it_was_last_read_is_taken_with_a_tick_and_a_reason_only() {
    let mut bench = rebuilt_and_open_again().await;
    bench
        .technician
        .get("/bench/LG-1107A/face?section=1&face=chamber")
        .await
        .does_not_say("Why it is thicker than before");
    // Read to 0.001 in each: 2·√2·0.001/√12 = 0.00082 in by hand.
    let asked = "0.150 in, read on 10 Jun 2026, is thicker than 0.118 in, read on 2 Mar 2026, by more than both readings can be off (0.00082 in, k = 2). Metal does not grow: was it the right place, the right unit, the right instrument?";
    let refused = bench.send("face", &walled("0.150")).await;
    refused
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says(asked)
        .says("Read it again, and tick this only when it is so")
        .says("Say why it is thicker, such as what was wrong with the earlier reading");
    for field in ["wall", "again", "again_reason"] {
        assert!(
            refused.text.contains(&format!("href=\"#{field}\"")),
            "{field}"
        );
        assert!(
            refused.text.contains(&format!("id=\"{field}-wrong\"")),
            "{field}"
        );
    }
    assert_eq!(refused.field("wall"), "0.150");
    // One without the other does not do, and what was said stays.
    let refused = bench
        .send(
            "face",
            &saying("0.150", "", "the caliper was not zeroed then"),
        )
        .await;
    refused
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Read it again, and tick this only when it is so")
        .says("the caliper was not zeroed then")
        .does_not_say("Say why it is thicker");
    let refused = bench.send("face", &saying("0.150", "yes", " ")).await;
    refused
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Say why it is thicker")
        .does_not_say("Read it again, and tick this only");
    assert!(
        refused
            .text
            .contains("name=\"again\" value=\"yes\" checked")
    );
    bench
        .sheet()
        .await
        .does_not_say("0.150 in")
        .says("Inspect the chamber recess");

    bench
        .record(
            "face",
            &saying("0.150", "yes", "the caliper was not zeroed then"),
        )
        .await;
    for page in ["/bench/LG-1107A", "/gauges/LG-1107A/rebuilds/2"] {
        bench
            .technician
            .get(page)
            .await
            .says("Thicker than before 0.118 in on 2 Mar 2026; the two readings can be off by 0.00082 in")
            .says("Confirmed it was read again, at the right place")
            .says("Why thicker the caliper was not zeroed then");
    }
    bench
        .technician
        .get("/gauges/LG-1107A/rebuilds/2")
        .await
        .says("A wall thicker than before");
    // That no loss was found is not said of it, and the earlier reading is kept.
    let mut bench = returned(bench).await;
    bench
        .engineer
        .get(GAUGE)
        .await
        .says("chamber recess, section 1 0.150 in 10 Jun 2026 no rate known; read thicker than before, which is not taken for metal: it counts as no thicker than 0.118 in on 2 Mar 2026 at the next rebuild")
        .does_not_say("no loss found");
    bench.is_sound().await;
}

#[tokio::test]
async fn a_wall_within_what_both_readings_can_be_off_is_taken_as_it_is() {
    let mut bench = Bench::new().await.stripped().await;
    bench
        .plant
        .run("UPDATE instrument SET resolution = '0.001' WHERE number = 'CA-03'")
        .await
        .expect("a step");
    bench.record("bolting", &[("done", "renewed")]).await;
    // By hand: each off by 0.001/√6 = 0.000408 in, both by 2·√2·0.000408 = 0.00115 in.
    bench.record("face", &walled("0.118")).await;
    bench
        .record("face", &saying("0.119", "yes", "kept from before"))
        .await;
    bench
        .its_record()
        .await
        .says("0.119 in")
        .does_not_say("Thicker than before")
        .does_not_say("kept from before");
    bench
        .send("face", &walled("0.121"))
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("is thicker than 0.119 in, read on 2 Mar 2026, by more than both readings can be off (0.0012 in, k = 2)");
}

#[tokio::test]
async fn a_reading_whose_uncertainty_was_not_kept_is_off_by_its_last_digit_here_and_on_its_gauge() {
    // Nothing is known of the caliper yet, so nothing is kept of what it can be off.
    let mut bench = Bench::new().await.stripped().await;
    bench.record("bolting", &[("done", "renewed")]).await;
    bench.record("face", &walled("0.1180")).await;
    let mut bench = returned(bench).await;
    bench
        .plant
        .run("UPDATE instrument SET resolution = '0.001' WHERE number = 'CA-03'")
        .await
        .expect("a step");
    bench.plant.turn_to(datetime!(2026-06-10 09:00 UTC));
    bench.technician = bench.plant.technician().await;
    bench.engineer = bench.plant.engineer().await;
    let mut bench = bench.stripped().await;
    bench.record("bolting", &[("done", "renewed")]).await;
    // By hand: the old one off by 0.0001/√12 = 0.0000289 in, this one by 0.001/√6 = 0.000408 in, the two by
    // 2·√(0.0000289² + 0.000408²) = 0.000818 in. By the caliper’s step of today they were off by 0.00115 in.
    bench
        .send("face", &walled("0.1190"))
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("is thicker than 0.1180 in, read on 2 Mar 2026, by more than both readings can be off (0.00082 in, k = 2)");
    bench
        .record("face", &saying("0.1190", "yes", "the face was dirty then"))
        .await;
    let mut bench = returned(bench).await;
    bench
        .engineer
        .get(GAUGE)
        .await
        .says("which is not taken for metal: it counts as no thicker than 0.1180 in on 2 Mar 2026");
}

#[tokio::test]
async fn a_wall_at_its_limit_names_no_day_to_wait_for() {
    let mut bench = Bench::new().await.stripped().await;
    bench.record("bolting", &[("done", "renewed")]).await;
    bench.record("face", &walled("0.100")).await;
    bench
        .technician
        .get("/bench/LG-1107A/face?section=1&face=chamber")
        .await
        .says("It is at or under the least wall.")
        .does_not_say("Measure again by");
    let mut bench = returned(bench).await;
    bench
        .engineer
        .get(GAUGE)
        .await
        .says("chamber recess, section 1 0.100 in 2 Mar 2026 at or under the least wall at once");
}

#[tokio::test]
async fn a_new_part_may_be_thicker_and_begins_afresh() {
    let mut bench = rebuilt_and_open_again().await;
    let mut renewed = walled("0.150");
    renewed[2] = ("seen_as", "renewed");
    bench.record("face", &renewed).await;
    bench.record("face", &walled("0.150")).await;
    bench
        .send("face", &walled("0.160"))
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("is thicker than 0.150 in, read on 10 Jun 2026");
}

#[tokio::test]
async fn a_correction_is_held_against_the_reading_before_what_it_corrects() {
    let mut bench = Bench::new().await.stripped().await;
    bench.record("bolting", &[("done", "renewed")]).await;
    bench.record("face", &walled("0.118")).await;
    bench.record("face", &walled("0.110")).await;
    // The first reading has none before it, and the one after it says nothing of it.
    let mut first = walled("0.119");
    first.push(("reason", "read off wrongly"));
    send(&mut bench.technician, &Bench::correction("face", 4), &first)
        .await
        .is(StatusCode::SEE_OTHER);
    let mut second = walled("0.150");
    second.push(("reason", "a digit was turned"));
    send(
        &mut bench.technician,
        &Bench::correction("face", 5),
        &second,
    )
    .await
    .is(StatusCode::UNPROCESSABLE_ENTITY)
    .says("0.150 in, read on 2 Mar 2026, is thicker than 0.119 in");
    second.extend([("again", "yes"), ("again_reason", "the jaws were dirty")]);
    send(
        &mut bench.technician,
        &Bench::correction("face", 5),
        &second,
    )
    .await
    .is(StatusCode::SEE_OTHER);
    bench.sheet().await.says("Why thicker the jaws were dirty");
    // What the register found of it is no change of what was said.
    second[9] = ("reason", "once more");
    send(
        &mut bench.technician,
        &Bench::correction("face", 7),
        &second,
    )
    .await
    .is(StatusCode::UNPROCESSABLE_ENTITY)
    .says("This says what the entry says already");
}

#[tokio::test]
async fn a_correction_of_a_wall_that_grew_keeps_what_was_confirmed_while_the_wall_stays() {
    let mut bench = Bench::new().await.stripped().await;
    bench.record("bolting", &[("done", "renewed")]).await;
    bench.record("face", &walled("0.110")).await;
    bench
        .record("face", &saying("0.150", "yes", "the jaws were dirty"))
        .await;
    let at = Bench::correction("face", 5);
    let page = bench.technician.get(&at).await;
    page.says("the jaws were dirty")
        .says("Another wall is read again and confirmed anew");
    assert!(!page.text.contains("name=\"again\" value=\"yes\" checked"));
    // Another number is asked about, whatever was said of the first one.
    let mut other = saying("0.180", "", "the jaws were dirty");
    other.push(("reason", "a digit was turned"));
    send(&mut bench.technician, &at, &other)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("0.180 in, read on 2 Mar 2026, is thicker than 0.110 in, read on 2 Mar 2026")
        .says("Read it again, and tick this only when it is so");
    let mut noted = walled("0.150");
    noted.extend([
        ("note", "seen from the left"),
        ("reason", "a note was missing"),
    ]);
    send(&mut bench.technician, &at, &noted)
        .await
        .is(StatusCode::SEE_OTHER);
    bench
        .sheet()
        .await
        .says("seen from the left")
        .says("Confirmed it was read again, at the right place")
        .says("Why thicker the jaws were dirty");
    bench.is_sound().await;
}

#[tokio::test]
async fn a_corrected_reading_keeps_the_day_on_which_it_was_read() {
    let mut bench = Bench::new().await.stripped().await;
    bench.record("bolting", &[("done", "renewed")]).await;
    bench.record("face", &walled("0.118")).await;
    bench.plant.turn_to(datetime!(2026-03-12 09:00 UTC));
    bench.technician = bench.plant.technician().await;
    let mut corrected = walled("0.117");
    corrected.push(("reason", "read off wrongly"));
    send(
        &mut bench.technician,
        &Bench::correction("face", 4),
        &corrected,
    )
    .await
    .is(StatusCode::SEE_OTHER);
    bench
        .technician
        .get(GAUGE)
        .await
        .says("chamber recess, section 1 0.117 in 2 Mar 2026");
    bench
        .send("face", &walled("0.150"))
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("0.150 in, read on 12 Mar 2026, is thicker than 0.117 in, read on 2 Mar 2026");
    bench.is_sound().await;
}

#[tokio::test]
async fn a_corrected_reading_of_the_old_part_is_none_of_the_new_one() {
    let mut bench = Bench::new().await.stripped().await;
    bench.record("bolting", &[("done", "renewed")]).await;
    bench.record("face", &walled("0.098")).await;
    let mut renewed = walled("0.150");
    renewed[2] = ("seen_as", "renewed");
    bench.record("face", &renewed).await;
    let mut noted = walled("0.098");
    noted.extend([
        ("note", "seen from the left"),
        ("reason", "a note was missing"),
    ]);
    send(&mut bench.technician, &Bench::correction("face", 4), &noted)
        .await
        .is(StatusCode::SEE_OTHER);
    bench
        .technician
        .get(GAUGE)
        .await
        .says("chamber recess, section 1 0.150 in 2 Mar 2026 one reading, no rate known yet");
    bench.record("face", &walled("0.149")).await;
    bench
        .sheet()
        .await
        .says("Inspect the cover recess")
        .does_not_say("falls due again at once");
    bench.is_sound().await;
}

#[tokio::test]
async fn a_corrected_entry_of_a_new_part_does_not_undo_the_skim_after_it() {
    let mut bench = Bench::new().await.stripped().await;
    bench.record("bolting", &[("done", "renewed")]).await;
    let mut renewed = walled("0.150");
    renewed[2] = ("seen_as", "renewed");
    bench.record("face", &renewed).await;
    let mut skimmed = walled("0.112");
    skimmed[2] = ("seen_as", "skimmed");
    bench.record("face", &skimmed).await;
    renewed.extend([("note", "from the store"), ("reason", "a note was missing")]);
    send(
        &mut bench.technician,
        &Bench::correction("face", 4),
        &renewed,
    )
    .await
    .is(StatusCode::SEE_OTHER);
    let face = "/bench/LG-1107A/face?section=1&face=chamber";
    bench
        .technician
        .get(face)
        .await
        .says("This face has been skimmed once");
    let mut bench = returned(bench).await;
    bench.plant.turn_to(datetime!(2026-06-10 09:00 UTC));
    bench.technician = bench.plant.technician().await;
    bench.engineer = bench.plant.engineer().await;
    let mut bench = bench.stripped().await;
    bench
        .technician
        .get(face)
        .await
        .says("This face has been skimmed once");
    bench
        .technician
        .get(GAUGE)
        .await
        .says("chamber recess, section 1 0.112 in 2 Mar 2026");
    bench.is_sound().await;
}
