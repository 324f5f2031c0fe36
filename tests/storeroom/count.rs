//! Counting in the aisle: the label typed or scanned, the number written, on to the next lot.

use super::*;

async fn counts(keeper: &mut Visitor, label: &str, fields: &[(&str, &str)]) -> Answer {
    let page = keeper.get(&format!("/storeroom/count?label={label}")).await;
    page.says("How many lie there?");
    let (key, lot, seen) = (page.field("key"), page.field("lot"), page.field("seen"));
    let mut all = vec![
        ("key", key.as_str()),
        ("lot", lot.as_str()),
        ("seen", seen.as_str()),
    ];
    all.extend_from_slice(fields);
    keeper.post("/storeroom/count", &all).await
}

#[tokio::test]
async fn a_count_that_agrees_is_one_number_and_leads_to_the_next_lot() {
    let plant = Plant::new().await;
    let mut keeper = plant.storekeeper().await;
    let kit = adds_kit(&mut keeper, &[]).await;
    receives(&mut keeper, &kit, ("A1", "10"), "").await;
    let answer = counts(&mut keeper, "A1", &[("quantity", "10")]).await;
    answer.is(StatusCode::SEE_OTHER);
    keeper
        .get(answer.goes_to())
        .await
        .says("Counted A1: 10. The next one:");
    // A count that agrees stands in the ledger too, as a line of nought.
    assert_eq!(ledger_of(&plant, "A1").await, (10, 10, 2));
    all_is_sealed_and_true(&plant).await;
}

#[tokio::test]
async fn a_difference_needs_its_reason_and_then_moves_the_stock() {
    let plant = Plant::new().await;
    let mut keeper = plant.storekeeper().await;
    let kit = adds_kit(&mut keeper, &[]).await;
    receives(&mut keeper, &kit, ("A1", "10"), "").await;
    let refused = counts(&mut keeper, "A1", &[("quantity", "8")]).await;
    refused.is(StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(refused.field("quantity"), "8", "what was typed stays");
    counts(
        &mut keeper,
        "A1",
        &[("quantity", "8"), ("reason", "two broken in the rack")],
    )
    .await
    .is(StatusCode::SEE_OTHER);
    assert_eq!(ledger_of(&plant, "A1").await, (8, 8, 2));
    all_is_sealed_and_true(&plant).await;
}

#[tokio::test]
async fn a_kit_s_number_offers_all_its_lots_and_a_label_nobody_knows_is_said_so() {
    let plant = Plant::new().await;
    let mut keeper = plant.storekeeper().await;
    let kit = adds_kit(&mut keeper, &[]).await;
    receives(&mut keeper, &kit, ("A1", "10"), "").await;
    receives(&mut keeper, &kit, ("A2", "3"), "").await;
    keeper
        .get("/storeroom/count?label=TW-K-250R")
        .await
        .says("Lot A1 of TW-K-250R")
        .says("Lot A2 of TW-K-250R");
    keeper
        .get("/storeroom/count?label=NONE")
        .await
        .says("No lot and no kit has this number");
}
