//! What whoever fills a window is told beside its gauges: what falls due before it begins, what stays when a
//! gauge is left out, of which gauge something is not known, and what the pack says of kits and order.

use axum::http::StatusCode;

use super::plan::{pack, september, step};
use crate::gauges::hang;
use crate::needs::receives;
use crate::plant::{Plant, Visitor};
use crate::storeroom::all_is_sealed_and_true;

const PLAN: &str = "/windows/Boiler%20House/2026-09-01/plan";

async fn chosen(engineer: &mut Visitor, gauges: &[&str]) {
    let fields: Vec<_> = gauges.iter().map(|row| ("gauge", *row)).collect();
    step(engineer, "choose", &fields)
        .await
        .is(StatusCode::SEE_OTHER);
}

async fn planned_for(engineer: &mut Visitor, tag: &str, day: &str) {
    let page = format!("/gauges/{tag}/rebuild");
    let fields = [
        ("cause", "interval"),
        ("planned_for", day),
        ("stands_anyway", "yes"),
        ("note", "the drum is down for its inspection"),
    ];
    engineer
        .fill(&page, &page, &fields)
        .await
        .is(StatusCode::SEE_OTHER);
}

/// So many finished rebuilds of LG-1, each begun at eight and over at eleven.
async fn finished(plant: &Plant, (from, to): (u32, u32), state: &str, reason: &str) {
    plant
        .run(&format!(
            "WITH RECURSIVE n (i) AS (SELECT {from} UNION ALL SELECT i + 1 FROM n WHERE i < {to})
             INSERT INTO rebuild (gauge_id, ordinal, state, cause, planned_for, planned_at, planned_by, started_at, ended_on, ended_at, ended_by, abandoned_reason)
               SELECT 1, i, '{state}', 'interval', '2021-09-20', '2021-09-01T08:00:00.000Z', 4, '2021-09-20T08:00:00.000Z', '2021-09-20',
                 '2021-09-20T11:00:00.000Z', 4, {reason} FROM n"
        ))
        .await
        .unwrap();
}

/// Three hours for two sections are one and a half a section. What was planned, or abandoned, after them took
/// nothing that is known.
#[tokio::test]
async fn the_hours_of_a_section_are_those_of_rebuilds_that_were_returned() {
    let (plant, mut engineer) = september().await;
    finished(&plant, (1, 6), "returned", "NULL").await;
    finished(&plant, (7, 206), "abandoned", "'not today'").await;
    chosen(&mut engineer, &["1", "3"]).await;
    let took =
        "The last 6 rebuilds that were returned within a day took 1.5 hours a section, all told.";
    engineer.get(PLAN).await.says(took);
    step(&mut engineer, "rebuilds", &[])
        .await
        .is(StatusCode::SEE_OTHER);
    engineer.get(PLAN).await.says(took);
}

#[tokio::test]
async fn a_gauge_whose_torque_is_not_readable_is_named_where_the_maker_is_to_be_asked() {
    let (plant, mut engineer) = september().await;
    chosen(&mut engineer, &["1", "3"]).await;
    plant
        .run("UPDATE gauge SET torque_value = NULL, torque_unit = NULL, torque_unreadable = 1 WHERE tag = 'LG-3'")
        .await
        .unwrap();
    let page = engineer.get(PLAN).await;
    page.says("1 gauge whose torque is not readable: LG-3 . Ask the maker before the window.");
    let (_, after) = page.text.split_once("torque is not readable").unwrap();
    assert!(
        after
            .trim_start_matches(": ")
            .starts_with("<a class=\"tag\" href=\"/gauges/LG-3\">")
    );
}

/// LG-2 is to be rebuilt by 20 March 2026, and no window stands before September.
#[tokio::test]
async fn a_gauge_without_a_window_in_time_is_chosen_or_deferred_and_then_no_longer_asked_for() {
    let (_plant, mut engineer) = september().await;
    let page = engineer.get(PLAN).await;
    page.says("Choose it into this one if it comes in time, agree an earlier one, or ask for a deferral of LG-2");
    assert!(page.text.contains("href=\"/gauges/LG-2/deferral\""));
    chosen(&mut engineer, &["2"]).await;
    engineer
        .get(PLAN)
        .await
        .does_not_say("finds no window before its date")
        .does_not_say("Choose it into this one");
}

#[tokio::test]
async fn chosen_gauges_that_fall_due_before_the_window_begins_are_named_with_their_day() {
    let (plant, mut engineer) = september().await;
    chosen(&mut engineer, &["1", "2", "3"]).await;
    let page = engineer.get(PLAN).await;
    page.says("1 chosen gauge falls due before the window begins: LG-2 on 20 Mar 2026. Do it before, or agree an earlier window; where a deferral may be asked for, the row below leads to it.");
    assert!(page.text.contains("href=\"/gauges/LG-2/deferral\""));
    let mut technician = plant.technician().await;
    let page = technician.get(PLAN).await;
    page.says("LG-2 on 20 Mar 2026. Do it before, or agree an earlier window.")
        .does_not_say("ask for a deferral");
    // Its rebuild is planned for a day before that: it falls due no more.
    planned_for(&mut engineer, "LG-2", "2026-03-10").await;
    engineer
        .get(PLAN)
        .await
        .does_not_say("due before the window begins");
}

#[tokio::test]
async fn a_gauge_left_out_while_its_rebuild_is_planned_says_that_rebuild_and_kits_stay() {
    let (plant, mut engineer) = september().await;
    planned_for(&mut engineer, "LG-3", "2026-03-10").await;
    chosen(&mut engineer, &["1", "3"]).await;
    let left = step(&mut engineer, "leave-out", &[("gauge", "3")]).await;
    left.is(StatusCode::SEE_OTHER);
    let page = engineer.get(left.goes_to()).await;
    page.says("autumn: 1 gauge chosen")
        .says("LG-3 is left out. Its rebuild 1 stays planned, for 10 Mar 2026, and 2 × TW-K-250R stay reserved for it. If it is not to be done, abandon it with the reason; that sets its kits free. Or give it another day .");
    assert!(page.text.contains("href=\"/bench/LG-3/abandon\""));
    // One without a rebuild leaves nothing behind.
    let left = step(&mut engineer, "leave-out", &[("gauge", "1")]).await;
    engineer
        .get(left.goes_to())
        .await
        .says("autumn: 0 gauges chosen")
        .does_not_say("is left out");
    all_is_sealed_and_true(&plant).await;
}

#[tokio::test]
async fn a_gauge_whose_rebuild_is_planned_into_the_window_offers_to_abandon_that_first() {
    let (_plant, mut engineer) = september().await;
    chosen(&mut engineer, &["1"]).await;
    let abandon = "href=\"/bench/LG-1/abandon\"";
    let page = engineer.get(PLAN).await;
    page.says("leave out").does_not_say("can be left out once");
    assert!(!page.text.contains(abandon));
    step(&mut engineer, "rebuilds", &[]).await;
    let page = engineer.get(PLAN).await;
    page.says("A gauge whose rebuild is planned into the window can be left out once that rebuild is abandoned, with its reason; until then the rebuild and the kits reserved for it stay.")
        .does_not_say("leave out");
    assert!(page.text.contains(abandon));
}

#[tokio::test]
async fn every_gauge_stands_once_and_the_button_that_chooses_stands_above_and_below_them() {
    let (_plant, mut engineer) = september().await;
    chosen(&mut engineer, &["1", "3"]).await;
    let page = engineer.get(PLAN).await;
    for tag in ["LG-1", "LG-3"] {
        let named = page.text.matches(&format!("/gauges/{tag}\"")).count();
        assert_eq!(named, 1, "{tag}");
        page.does_not_say(&format!("Choose {tag}"));
    }
    page.says("Have to be done in it, not chosen yet")
        .says("Choose LG-2");
    let button = "<button>Choose those ticked</button>";
    let places: Vec<usize> = page.text.match_indices(button).map(|(at, _)| at).collect();
    let box_of_the_other = page.text.find("Choose LG-2").unwrap();
    let [above, below] = places.as_slice() else {
        panic!("{places:?}");
    };
    assert!((*above..*below).contains(&box_of_the_other));
    assert!(page.text.contains("href=\"#gauge\">Choose more</a>"));
    // Where nothing is left to tick there is no button for it.
    chosen(&mut engineer, &["2"]).await;
    engineer
        .get(PLAN)
        .await
        .says("All that have to be done in it are chosen.")
        .does_not_say("Choose those ticked")
        .does_not_say("Choose more");
}

/// A day outside of the window, or before it, is said in words; red is kept for what cannot go.
#[tokio::test]
async fn red_stands_only_where_something_cannot_go() {
    let (_plant, mut engineer) = september().await;
    planned_for(&mut engineer, "LG-3", "2026-03-10").await;
    receives(&mut engineer, "K", "12", "").await;
    chosen(&mut engineer, &["1", "2", "3"]).await;
    let page = engineer.get(PLAN).await;
    page.says("for 10 Mar 2026, outside of the window")
        .says("before the window begins");
    let (_, table) = page.text.split_once("<table class=\"planned\">").unwrap();
    let (table, _) = table.split_once("</table>").unwrap();
    assert!(!table.contains("late\""), "{table}");
    // No wrench is there for their torque: that is red.
    assert!(
        page.text
            .contains("<strong class=\"late\">no wrench</strong>")
    );
}

/// Two gauges of two kits each, one kit on the shelf, four on the way before the window and two after it;
/// others want two: 4 + 2 - 1 - 4 = 1, by hand.
#[tokio::test]
async fn the_pack_says_what_is_on_the_way_for_when_and_the_same_short_figure_as_the_plan() {
    let (plant, mut engineer) = september().await;
    receives(&mut engineer, "K", "1", "").await;
    let mut keeper = plant.storekeeper().await;
    for (order, quantity, day) in [
        ("TW-O-2026-0001", "4", "2026-08-20"),
        ("TW-O-2026-0002", "2", "2026-09-05"),
    ] {
        let fields = [("kit", "TW-K-250R"), ("quantity", quantity)];
        let drafted = keeper.fill("/orders/new", "/orders/new", &fields).await;
        assert_eq!(drafted.goes_to(), format!("/orders/{order}"));
        let opened = keeper.get(drafted.goes_to()).await;
        let (key, version) = (opened.field("key"), opened.field("version"));
        let fields = [
            ("key", key.as_str()),
            ("version", version.as_str()),
            ("supplier", "Fennel Gauge"),
            ("reference", order),
            ("placed_on", "2026-02-10"),
            ("promised_on", day),
        ];
        keeper
            .post(&format!("/orders/{order}/place"), &fields)
            .await
            .is(StatusCode::SEE_OTHER);
    }
    chosen(&mut engineer, &["1", "3"]).await;
    engineer.get(PLAN).await.says("TW-K-250R 4 2 1 4 1");
    let Some(text) = pack(&mut engineer).await else {
        return;
    };
    let words = "TW-K-250R: 3 of 4 without a lot on the shelf. On the way: 4 promised for 20 Aug 2026; 2 promised for 5 Sep 2026, after the window begins. Short: 1.";
    assert!(text.contains(words), "{words} is not in: {text}");
}

/// The middle section first, then outwards; twelve nuts, the rails by turns from the middle outwards, the right
/// rail above: common practice, no source; the turns written down by hand.
#[tokio::test]
async fn the_pack_gives_the_order_of_the_sections_and_of_the_nuts_as_the_bench_does() {
    let (_plant, mut engineer) = september().await;
    let fields = [
        ("tag", "LG-4"),
        ("class", "2"),
        ("sections", "4"),
        ("bolts_per_rail", "6"),
    ];
    hang(&mut engineer, &fields).await;
    chosen(&mut engineer, &["4"]).await;
    let Some(text) = pack(&mut engineer).await else {
        return;
    };
    for words in [
        "Sections in the order 2, 3, 1, 4.",
        "Each pass in the numbered order",
        "12 8 4 2 6 10",
        "9 5 1 3 7 11",
    ] {
        assert!(text.contains(words), "{words} is not in: {text}");
    }
}
