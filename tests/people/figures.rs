//! How people read figures: chosen by each for themselves, kept, audited, and never in the record.

use axum::http::StatusCode;

use crate::gauges::hang;
use crate::plant::{Plant, Visitor};
use crate::storeroom::all_is_sealed_and_true;

const PAGE: &str = "/people/figures";

async fn reads(visitor: &mut Visitor, says: &str) {
    visitor.get("/gauges/LG-1107A").await.says(says);
}

#[tokio::test]
async fn the_choice_is_each_person_s_own_and_survives_signing_out() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(&mut engineer, &[]).await;
    engineer
        .get(PAGE)
        .await
        .says("You read figures as stamped only");
    engineer.reads("si").await;
    engineer
        .get(PAGE)
        .await
        .says("You read figures with SI units");
    engineer.post("/people/sign-out", &[]).await;
    // published: NIST SP 811 (2008), B.8: 1000 psi are 68.94757 bar.
    reads(&mut plant.engineer().await, "1000 psi (68.94 bar)").await;
    let mut technician = plant.technician().await;
    reads(&mut technician, "Rating 1000 psi at temperature").await;
    // Somebody who goes back to what is stamped sees that alone.
    let mut engineer = plant.engineer().await;
    engineer.reads("as-stamped").await;
    reads(&mut engineer, "Rating 1000 psi at temperature").await;
}

#[tokio::test]
async fn a_choice_stands_in_the_audit_chain_and_the_row_stays_sealed() {
    let plant = Plant::new().await;
    plant.technician().await.reads("us-customary").await;
    let facts: Vec<(String, String, String)> = {
        let mut db = plant.store.read().await.expect("a reader");
        sqlx::query_as(
            "SELECT who, subject, facts FROM audit WHERE deed = 'chose how figures are read by'",
        )
        .fetch_all(&mut *db)
        .await
        .expect("the audit")
    };
    let [(who, subject, facts)] = facts.as_slice() else {
        panic!("one line, not {facts:?}");
    };
    assert!(who.contains("technician"), "{who}");
    assert_eq!(subject, "person technician");
    assert!(
        facts.contains("as-stamped") && facts.contains("us-customary"),
        "{facts}"
    );
    all_is_sealed_and_true(&plant).await;
    // A row changed past the program is found, this column like the others.
    plant
        .run("UPDATE person SET reads = 'si' WHERE sign_in = 'technician'")
        .await
        .expect("written");
    let mut db = plant.store.read().await.expect("a reader");
    let report = gaugewright::acts::verify::verify(&mut db).await;
    assert!(format!("{report:?}").contains("person"), "{report:?}");
}

#[tokio::test]
async fn what_is_not_on_the_list_is_refused_beside_the_choice() {
    let plant = Plant::new().await;
    let mut technician = plant.technician().await;
    for word in ["", "cubits"] {
        technician
            .fill(PAGE, PAGE, &[("reads", word)])
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("Choose how you read figures");
    }
    technician
        .get(PAGE)
        .await
        .says("You read figures as stamped only");
}
