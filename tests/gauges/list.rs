//! The register: what is found by which words, and what the page says of it.

use super::hang;
use crate::plant::Plant;

async fn three(plant: &Plant) {
    let mut engineer = plant.engineer().await;
    for (tag, vessel) in [
        ("LG-1107A", "BH-D-101"),
        ("LG-1108", "BH-D-102"),
        ("LI-11071", "TR-T-7"),
    ] {
        hang(&mut engineer, &[("tag", tag), ("vessel", vessel)]).await;
    }
}

#[tokio::test]
async fn any_piece_of_a_tag_finds_its_gauge() {
    let plant = Plant::new().await;
    three(&plant).await;
    let mut technician = plant.technician().await;
    for words in ["LG-1107A", "lg-1107", "1107a", "lg 1107"] {
        technician
            .get(&format!("/gauges?q={}", words.replace(' ', "+")))
            .await
            .says("One of 3 gauges fits")
            .says("LG-1107A")
            .does_not_say("LG-1108");
    }
    technician
        .get("/gauges?q=1107")
        .await
        .says("2 of 3 gauges fit");
    technician.get("/gauges?q=d-102").await.says("LG-1108");
}

#[tokio::test]
async fn words_that_nothing_has_say_so_and_marks_alone_are_no_words() {
    let plant = Plant::new().await;
    three(&plant).await;
    let mut technician = plant.technician().await;
    technician
        .get("/gauges?q=1109")
        .await
        .says("No gauge fits")
        .says("Nothing in the register fits this search");
    technician
        .get("/gauges?q=1108+-")
        .await
        .says("One of 3 gauges fits");
    technician
        .get("/gauges?q=%22%22")
        .await
        .says("LG-1107A")
        .says("LG-1108");
}

#[tokio::test]
async fn a_filter_that_fits_more_than_a_page_says_so_without_counting_the_fleet() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    for n in 1..=51 {
        hang(&mut engineer, &[("tag", &format!("LG-{n}"))]).await;
    }
    engineer
        .get("/gauges")
        .await
        .says("51 gauges in the register");
    engineer
        .get("/gauges?kind=reflex")
        .await
        .says("More than 50 of 51 gauges fit");
    engineer
        .get("/gauges?kind=transparent")
        .await
        .says("No gauge fits");
}

#[tokio::test]
async fn a_date_that_is_past_stands_out_in_the_list_with_how_long_it_is_past() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(&mut engineer, &[]).await;
    let fields = [("tag", "LG-2"), ("installed_on", "2026-02-20")];
    hang(&mut engineer, &fields).await;
    // Look-overs every three months: that of the first was due on 30 April 2024, 671 days ago.
    let page = engineer.get("/gauges").await;
    page.says("30 Apr 2024 22 months over look-over interval")
        .says("20 May 2026 look-over interval");
    assert!(
        page.text
            .contains("<strong class=\"past\">30\u{a0}Apr\u{a0}2024</strong>")
    );
    assert!(
        !page
            .text
            .contains("<strong class=\"past\">20\u{a0}May\u{a0}2026</strong>")
    );
}

#[tokio::test]
async fn a_page_further_down_a_list_says_so_and_leads_back_to_where_it_begins() {
    let plant = Plant::new().await;
    three(&plant).await;
    let mut engineer = plant.engineer().await;
    for (page, beginning) in [
        ("/gauges?kind=reflex&after=LG-1107A", "/gauges?kind=reflex"),
        (
            "/due?rule=look-over&after=2024-01-01_0",
            "/due?rule=look-over",
        ),
    ] {
        engineer
            .get(beginning)
            .await
            .does_not_say("This page goes on with the list");
        let further = engineer.get(page).await;
        further.says("This page goes on with the list. From its beginning");
        let link = format!("<a href=\"{beginning}\">From its beginning</a>");
        assert!(further.text.contains(&link), "{}", further.text);
    }
    for (page, newest) in [
        ("/pressure-tests?after=2026-01-01_9", "/pressure-tests"),
        (
            "/pressure-tests/certificates?standing=stands&after=9",
            "/pressure-tests/certificates?standing=stands",
        ),
        ("/recalls?before=9", "/recalls"),
        ("/storeroom/ledger?before=9", "/storeroom/ledger"),
    ] {
        engineer
            .get(newest)
            .await
            .does_not_say("Newer ones than these");
        let older = engineer.get(page).await;
        older.says("Newer ones than these are on record. From the newest");
        let link = format!("<a href=\"{newest}\">From the newest</a>");
        assert!(older.text.contains(&link), "{}", older.text);
    }
}
