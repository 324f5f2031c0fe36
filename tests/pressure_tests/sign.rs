//! Signing a certificate: the signature shows who, when, what it means and why, and none of it is empty.

use axum::http::StatusCode;

use super::world::{PASSED, plant, signs, sound, tested};
use crate::papers::read_without_complaint;
use crate::plant::PASSWORD;

#[tokio::test]
async fn a_certificate_is_not_signed_without_its_reason() {
    let plant = plant().await;
    let number = tested(&mut plant.technician().await, PASSED).await;
    let mut inspector = plant.inspector().await;
    signs(&mut inspector, &number, "witness")
        .await
        .is(StatusCode::SEE_OTHER);
    let page = format!("/pressure-tests/{number}/certificate");
    let long = "x".repeat(201);
    for empty in ["", "   ", "ok", long.as_str()] {
        let refused = inspector
            .fill(&page, &page, &[("reason", empty), ("password", PASSWORD)])
            .await;
        refused
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("Nothing was saved yet")
            .says("Say in 3 to 200 characters why it is issued");
        assert!(refused.text.contains("id=\"reason-wrong\""));
        assert!(refused.text.contains("href=\"#reason\""));
        assert_eq!(refused.field("reason"), empty, "what was typed stays");
    }
    let list = inspector.get("/pressure-tests/certificates").await;
    list.does_not_say("TW-C-2026-0001");
    let fields = [("reason", "Return to service"), ("password", PASSWORD)];
    let issued = inspector.fill(&page, &page, &fields).await;
    issued.is(StatusCode::SEE_OTHER);
    inspector
        .get(issued.goes_to())
        .await
        .says("Reason Return to service");
    sound(&plant).await;
}

#[tokio::test]
async fn the_draft_and_the_certificate_are_read_without_complaint() {
    let plant = plant().await;
    let number = tested(&mut plant.technician().await, PASSED).await;
    let mut inspector = plant.inspector().await;
    signs(&mut inspector, &number, "witness")
        .await
        .is(StatusCode::SEE_OTHER);
    let draft = inspector
        .get(&format!("/pressure-tests/{number}/draft.pdf"))
        .await;
    draft.is(StatusCode::OK);
    read_without_complaint(&draft.bytes);
    let issued = signs(&mut inspector, &number, "certificate").await;
    for paper in ["a4", "letter"] {
        let file = format!("{}.pdf?paper={paper}", issued.goes_to());
        read_without_complaint(&inspector.get(&file).await.bytes);
    }
}
