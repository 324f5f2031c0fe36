//! Areas: adding one and giving one another name.

use axum::http::StatusCode;

use super::Plant;

#[tokio::test]
async fn an_added_area_can_be_hung_in() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    engineer
        .fill("/plant/area", "/plant/area", &[("name", " Column Hall ")])
        .await
        .is(StatusCode::SEE_OTHER);
    engineer
        .get("/plant")
        .await
        .says("3 areas")
        .says("Column Hall");
    engineer.get("/gauges/new").await.says("Column Hall");
}

#[tokio::test]
async fn a_name_that_is_taken_or_empty_is_refused() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    for (name, says) in [
        ("boiler house", "There is an area of this name already"),
        ("  ", "A name has 1 to 60 characters"),
    ] {
        engineer
            .fill("/plant/area", "/plant/area", &[("name", name)])
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says(says);
    }
    let page = "/plant/area/Tank%20Row";
    engineer
        .fill(page, page, &[("name", "Boiler House")])
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("There is an area of this name already");
}

#[tokio::test]
async fn a_renamed_area_keeps_its_gauges() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    crate::gauges::hang(&mut engineer, &[]).await;
    let page = "/plant/area/Boiler%20House";
    engineer
        .fill(page, page, &[("name", "Steam / Power")])
        .await
        .is(StatusCode::SEE_OTHER);
    engineer.get("/gauges/LG-1107A").await.says("Steam / Power");
    engineer
        .get("/plant/area/Steam%20%2F%20Power")
        .await
        .is(StatusCode::OK);
    engineer.get(page).await.is(StatusCode::NOT_FOUND);
}
