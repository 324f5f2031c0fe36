//! The register of certificates and what is taken out of it: filters in the address, lists of exactly
//! what is shown, and the ZIP for an audit, read by programs of its own kind.

use std::io::{Cursor, Read};

use axum::http::StatusCode;
use gaugewright::record::audit::sha256_hex;

use super::world::{certified, plant};
use crate::plant::Plant;

#[tokio::test]
async fn the_register_is_filtered_in_the_address() {
    let plant = plant().await;
    let number = certified(&plant).await;
    let mut reader = plant.storekeeper().await;
    for (query, there) in [
        ("", true),
        ("?q=lg-1107a", true),
        ("?q=TW-C-2026-0001", true),
        ("?q=steam", true),
        ("?q=nothing-such", false),
        ("?area=1", true),
        ("?area=2", false),
        ("?from=2026-03-01&to=2026-03-31", true),
        ("?from=2026-03-03", false),
        ("?to=2026-03-01", false),
        ("?standing=stands", true),
        ("?standing=withdrawn", false),
        ("?window=99", false),
    ] {
        let page = reader
            .get(&format!("/pressure-tests/certificates{query}"))
            .await;
        page.is(StatusCode::OK);
        let link = format!("/pressure-tests/certificates/{number}\"");
        assert_eq!(page.text.contains(&link), there, "{query}");
    }
}

#[tokio::test]
async fn a_shutdown_window_chooses_its_area_and_days() {
    let plant = plant().await;
    let number = certified(&plant).await;
    plant
        .run("INSERT INTO shutdown_window (area_id, name, starts_on, ends_on) VALUES (1, 'spring', '2026-03-01', '2026-03-05'), (2, 'spring', '2026-03-01', '2026-03-05'), (1, 'autumn', '2026-09-01', '2026-09-05')")
        .await
        .unwrap();
    let mut reader = plant.inspector().await;
    for (window, there) in [(1, true), (2, false), (3, false)] {
        let page = reader
            .get(&format!("/pressure-tests/certificates?window={window}"))
            .await;
        let link = format!("/pressure-tests/certificates/{number}\"");
        assert_eq!(page.text.contains(&link), there, "{window}");
    }
}

#[tokio::test]
async fn the_lists_hold_exactly_what_is_shown() {
    let plant = plant().await;
    certified(&plant).await;
    let mut reader = plant.storekeeper().await;
    let csv = reader
        .get("/pressure-tests/certificates/list.csv?area=1")
        .await;
    csv.is(StatusCode::OK);
    assert!(
        csv.text.contains("TW-C-2026-0001,stands,LG-1107A"),
        "{}",
        csv.text
    );
    let none = reader
        .get("/pressure-tests/certificates/list.csv?area=2")
        .await;
    assert!(!none.text.contains("TW-C-2026-0001"));
    let book = reader.get("/pressure-tests/certificates/list.xlsx").await;
    assert_eq!(&book.bytes[..2], b"PK");
}

async fn zip(plant: &Plant, query: &str) -> zip::ZipArchive<Cursor<Vec<u8>>> {
    let path = format!("/pressure-tests/certificates/export.zip{query}");
    let answer = plant.inspector().await.get(&path).await;
    assert_eq!(answer.status, StatusCode::OK);
    assert_eq!(answer.headers["content-type"], "application/zip");
    zip::ZipArchive::new(Cursor::new(answer.bytes)).unwrap()
}

#[tokio::test]
async fn the_export_holds_papers_records_seals_an_index_keys_and_a_manifest_that_fits() {
    let plant = plant().await;
    let number = certified(&plant).await;
    let mut archive = zip(&plant, "?area=1&ticket=0011&paper=letter").await;
    let mut manifest = String::new();
    archive
        .by_name("SHA256SUMS")
        .unwrap()
        .read_to_string(&mut manifest)
        .unwrap();
    for name in [
        format!("certificates/{number}.pdf"),
        format!("records/{number}.json"),
        format!("records/{number}.seal.json"),
        "index.xlsx".to_owned(),
        "about.txt".to_owned(),
    ] {
        let mut bytes = Vec::new();
        archive
            .by_name(&name)
            .unwrap()
            .read_to_end(&mut bytes)
            .unwrap();
        assert!(
            manifest.contains(&format!("{}  {name}\n", sha256_hex(&bytes))),
            "{name}"
        );
    }
    assert!(
        archive
            .file_names()
            .any(|name| name.is_ok_and(|name| name.starts_with("keys/")))
    );
    let paper = {
        let mut bytes = Vec::new();
        let mut file = archive
            .by_name(&format!("certificates/{number}.pdf"))
            .unwrap();
        file.read_to_end(&mut bytes).unwrap();
        bytes
    };
    plant
        .visitor()
        .upload("/check", &[], ("file", "c.pdf", &paper))
        .await
        .says("byte for byte, a paper this register handed out");
    plant
        .inspector()
        .await
        .get("/pressure-tests/certificates/export?ticket=0011")
        .await
        .says("All 1 certificate written");
}

#[tokio::test]
async fn an_export_of_nothing_is_a_whole_zip() {
    let plant = plant().await;
    let mut archive = zip(&plant, "").await;
    assert!(archive.by_name("index.xlsx").is_ok());
}
