//! The papers that came with a lot: kept byte for byte, served to keep, never taken away.

use super::*;

const PDF: &[u8] = b"%PDF-1.4\n1 0 obj << /Type /Catalog >> endobj\ntrailer << >>\n%%EOF\n";

async fn adds_paper(keeper: &mut Visitor, page: &str, title: &str, bytes: &[u8]) -> Answer {
    let key = keeper.get(page).await.field("key");
    keeper
        .upload(
            page,
            &[("key", key.as_str()), ("title", title)],
            ("paper", "certificate.pdf", bytes),
        )
        .await
}

#[tokio::test]
async fn a_material_certificate_stays_with_its_lot_byte_for_byte() {
    let plant = Plant::new().await;
    let mut keeper = plant.storekeeper().await;
    let kit = adds_kit(&mut keeper, &[]).await;
    let lot = receives(&mut keeper, &kit, ("A1", "5"), "").await;
    let page = format!("{lot}/papers");
    keeper
        .get(&page)
        .await
        .says("No paper of lot A1 is kept yet");
    let answer = adds_paper(&mut keeper, &page, "material certificate 3.1", PDF).await;
    answer.is(StatusCode::SEE_OTHER);
    let mut inspector = plant.inspector().await;
    let shown = inspector.get(&page).await;
    shown
        .says("1 paper of lot A1")
        .says("material certificate 3.1 Test storekeeper");
    let at = shown.text.find("/papers?mark=").expect("a link");
    let mark: String = shown.text[at + "/papers?mark=".len()..]
        .chars()
        .take_while(char::is_ascii_hexdigit)
        .collect();
    let paper = inspector.get(&format!("{page}?mark={mark}")).await;
    paper.is(StatusCode::OK);
    assert_eq!(paper.bytes, PDF);
    assert_eq!(paper.headers["content-type"], "application/pdf");
    assert!(
        paper.headers["content-disposition"]
            .to_str()
            .unwrap()
            .starts_with("attachment")
    );
    all_is_sealed_and_true(&plant).await;
}

#[tokio::test]
async fn what_is_no_paper_and_what_has_no_name_are_refused() {
    let plant = Plant::new().await;
    let mut keeper = plant.storekeeper().await;
    let kit = adds_kit(&mut keeper, &[]).await;
    let lot = receives(&mut keeper, &kit, ("A1", "5"), "").await;
    let page = format!("{lot}/papers");
    for (title, bytes) in [("delivery note", b"<html></html>".as_slice()), ("", PDF)] {
        adds_paper(&mut keeper, &page, title, bytes)
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY);
    }
    keeper
        .get(&format!("{page}?mark=00"))
        .await
        .is(StatusCode::NOT_FOUND);
    // Everybody reads them; who does not keep the storeroom adds none.
    let mut technician = plant.technician().await;
    let key = technician.get("/people/password").await.field("key");
    technician
        .upload(
            &page,
            &[("key", key.as_str()), ("title", "note")],
            ("paper", "note.pdf", PDF),
        )
        .await
        .is(StatusCode::FORBIDDEN);
}
