//! Help that stands apart: the words of the trade, each where pages link to, and the keys.

use axum::http::StatusCode;
use gaugewright::record::person::Role;

use crate::plant::Plant;

#[tokio::test]
async fn everybody_finds_the_words_of_the_trade_from_the_foot_of_every_page() {
    let plant = Plant::new().await;
    for role in Role::ALL {
        let mut person = plant.signed_in(*role).await;
        let board = person.get("/").await;
        assert!(board.text.contains("href=\"/help/words\""), "{role}");
        person
            .get("/help/words")
            .await
            .is(StatusCode::OK)
            .says("Seal gasket The gasket between glass and chamber");
    }
}

#[tokio::test]
async fn a_word_has_one_meaning_and_one_mark() {
    let plant = Plant::new().await;
    let page = plant.technician().await.get("/help/words").await;
    let marks: Vec<&str> = page
        .text
        .split("<dt id=\"")
        .skip(1)
        .filter_map(|rest| rest.split('"').next())
        .collect();
    let mut once = marks.clone();
    once.sort_unstable();
    once.dedup();
    assert!(marks.len() > 40, "{}", marks.len());
    assert_eq!(once.len(), marks.len());
}

#[tokio::test]
async fn the_keys_are_listed_with_where_they_lead_for_this_person() {
    let plant = Plant::new().await;
    let page = plant.technician().await.get("/help/keys").await;
    page.says("1 Board").says("2 Gauges").does_not_say("People");
    plant
        .administrator()
        .await
        .get("/help/keys")
        .await
        .says("Plant");
}
