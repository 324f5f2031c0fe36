//! Labels: which ones, on which sheet, and that another library reads the code that was printed.

use std::process::Command;

use axum::http::StatusCode;

use crate::gauges::hang;
use crate::plant::Plant;

/// The codes on the first page of a PDF, drawn by poppler and read by rqrr; none without poppler.
fn codes(pdf: &[u8]) -> Option<Vec<String>> {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("labels.pdf");
    std::fs::write(&file, pdf).expect("written");
    let page = folder.path().join("page");
    let drawn = Command::new("pdftoppm")
        .args(["-gray", "-r", "400", "-f", "1", "-l", "1", "-singlefile"])
        .args([&file, &page])
        .status();
    if !drawn.is_ok_and(|status| status.success()) {
        println!("SKIPPED: no pdftoppm (poppler-utils) to draw the labels with");
        return None;
    }
    let bytes = std::fs::read(page.with_extension("pgm")).expect("a picture");
    // Portable graymap (netpbm): P5, width, height, depth, then a byte a point.
    let mut fields = Vec::new();
    let mut at = 0;
    while fields.len() < 4 {
        let end = bytes[at..]
            .iter()
            .position(u8::is_ascii_whitespace)
            .expect("a head")
            + at;
        fields.push(String::from_utf8_lossy(&bytes[at..end]).into_owned());
        at = end + 1;
    }
    let (wide, high): (usize, usize) = (
        fields[1].parse().expect("wide"),
        fields[2].parse().expect("high"),
    );
    let points = &bytes[at..];
    let mut picture =
        rqrr::PreparedImage::prepare_from_greyscale(wide, high, |x, y| points[y * wide + x]);
    let mut found: Vec<String> = picture
        .detect_grids()
        .into_iter()
        .filter_map(|grid| grid.decode().ok())
        .map(|(_, text)| text)
        .collect();
    found.sort();
    Some(found)
}

async fn some_gauges() -> Plant {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    for (tag, area) in [("LG-1107A", "1"), ("LG-1107B", "1"), ("LG-2001", "2")] {
        hang(&mut engineer, &[("tag", tag), ("area", area)]).await;
    }
    plant
}

mod sheet {
    use super::*;

    #[tokio::test]
    async fn each_code_opens_the_page_of_its_gauge() {
        let plant = some_gauges().await;
        let mut technician = plant.technician().await;
        for sheet in ["a4-24", "a4-21", "a4-65", "letter-30", "letter-10"] {
            let answer = technician
                .get(&format!(
                    "/labels/sheet.pdf?of=gauges&area=1&sheet={sheet}&from=3"
                ))
                .await;
            answer.is(StatusCode::OK);
            crate::papers::read_without_complaint(&answer.bytes);
            if let Some(found) = codes(&answer.bytes) {
                let expected = [
                    "http://plant.test/gauges/LG-1107A",
                    "http://plant.test/gauges/LG-1107B",
                ];
                assert_eq!(found, expected, "{sheet}");
            }
        }
        technician.get("/gauges/LG-1107A").await.is(StatusCode::OK);
    }

    #[tokio::test]
    async fn a_lot_marked_as_its_maker_likes_is_found_again_by_its_code() {
        let plant = Plant::new().await;
        let mut keeper = plant.storekeeper().await;
        crate::needs::adds_kit(&mut keeper).await;
        crate::needs::receives(&mut keeper, "24/117 #3", "6", "2026-12-31").await;
        let answer = keeper
            .get("/labels/sheet.pdf?of=lots&sheet=single-62x29")
            .await;
        answer.is(StatusCode::OK);
        crate::papers::read_without_complaint(&answer.bytes);
        let Some(found) = codes(&answer.bytes) else {
            return;
        };
        assert_eq!(
            found,
            ["http://plant.test/storeroom/kits/TW-K-250R/lots/24%2F117%20%233"]
        );
        // What a scanner types into the field for counting leads to the lot.
        let label = gaugewright::pages::address::encoded(&found[0]);
        keeper
            .get(&format!("/storeroom/count?label={label}"))
            .await
            .says("How many lie there?")
            .says("Lot 24/117 #3 of TW-K-250R");
    }

    #[tokio::test]
    async fn the_label_of_a_lot_tells_what_stays_and_neither_how_many_nor_where() {
        let plant = Plant::new().await;
        let mut keeper = plant.storekeeper().await;
        crate::needs::adds_kit(&mut keeper).await;
        crate::needs::receives(&mut keeper, "A1", "6", "2026-12-31").await;
        let part = "/storeroom/kits/TW-K-250R/lots/A1/move-part";
        keeper
            .fill(part, part, &[("quantity", "2"), ("to", "drawer 2")])
            .await
            .is(StatusCode::SEE_OTHER);
        let answer = keeper
            .get("/labels/sheet.pdf?of=lots&sheet=single-62x29")
            .await;
        answer.is(StatusCode::OK);
        let folder = tempfile::tempdir().expect("a folder");
        let file = folder.path().join("labels.pdf");
        std::fs::write(&file, &answer.bytes).expect("written");
        let Ok(text) = Command::new("pdftotext").arg(&file).arg("-").output() else {
            println!("SKIPPED: no pdftotext (poppler-utils) to read the label with");
            return;
        };
        let text = String::from_utf8_lossy(&text.stdout).replace('\u{200b}', "");
        for words in ["A1", "TW-K-250R", "use until 31 Dec 2026"] {
            assert!(text.contains(words), "{words} is not in: {text}");
        }
        for words in ["rack 3", "drawer", " at "] {
            assert!(!text.contains(words), "{words} is in: {text}");
        }
    }

    #[tokio::test]
    async fn a_choice_that_fits_nothing_and_a_sheet_that_is_none_are_said_so() {
        let plant = some_gauges().await;
        let mut technician = plant.technician().await;
        technician
            .get("/labels/sheet.pdf?of=gauges&which=LG-9")
            .await
            .is(StatusCode::CONFLICT)
            .says("Nothing in the register fits this choice");
        technician
            .get("/labels/sheet.pdf?sheet=a0")
            .await
            .is(StatusCode::NOT_FOUND);
    }
}

mod choose {
    use super::*;

    #[tokio::test]
    async fn the_form_offers_sheets_and_printers() {
        let plant = some_gauges().await;
        plant
            .technician()
            .await
            .get("/labels")
            .await
            .says("A4, 24 labels of 70 × 37 mm")
            .says("one by one, 62 × 29 mm");
    }
}

#[tokio::test]
async fn labels_and_recalls_stand_in_the_part_of_the_register_they_are_reached_from() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    for (page, part) in [("/labels", "/storeroom"), ("/recalls", "/instruments")] {
        let shown = engineer.get(page).await;
        let marked = format!("<a href=\"{part}\" aria-current=\"page\">");
        assert!(shown.text.contains(&marked), "{page}");
        assert_eq!(shown.text.matches("aria-current=\"page\"").count(), 1);
    }
}
