//! Orders from draft to the last receipt, through the pages, with their paper and spreadsheet.

use axum::http::StatusCode;

use crate::needs::{KIT, adds_kit, small_plant};
use crate::plant::{Answer, Plant, Visitor};
use crate::storeroom::all_is_sealed_and_true;

const ORDER: &str = "/orders/TW-O-2026-0001";

async fn step(visitor: &mut Visitor, step: &str, fields: &[(&str, &str)]) -> Answer {
    let opened = visitor.get(ORDER).await;
    let (key, version) = (opened.field("key"), opened.field("version"));
    let mut all = vec![("key", key.as_str()), ("version", version.as_str())];
    all.extend_from_slice(fields);
    visitor.post(&format!("{ORDER}/{step}"), &all).await
}

async fn drafted() -> (Plant, Visitor) {
    let plant = Plant::new().await;
    let mut keeper = plant.storekeeper().await;
    adds_kit(&mut keeper).await;
    let fields = [("kit", KIT), ("quantity", "10")];
    let answer = keeper.fill("/orders/new", "/orders/new", &fields).await;
    answer.is(StatusCode::SEE_OTHER);
    assert_eq!(answer.goes_to(), ORDER);
    (plant, keeper)
}

async fn placed() -> (Plant, Visitor) {
    let (plant, mut keeper) = drafted().await;
    let fields = [
        ("supplier", "Fennel Gauge"),
        ("reference", "F-77"),
        ("placed_on", "2026-02-10"),
        ("promised_on", "2026-02-27"),
    ];
    step(&mut keeper, "place", &fields)
        .await
        .is(StatusCode::SEE_OTHER);
    (plant, keeper)
}

/// Receives kits that are stamped with a last day.
async fn receives_until(keeper: &mut Visitor, lot: &str, last_day: &str, place: &str) -> Answer {
    let page = format!("{ORDER}/receive/{KIT}");
    let fields = [
        ("lot", lot),
        ("quantity", "2"),
        ("received_on", "2026-03-01"),
        ("expires_on", last_day),
        ("place", place),
    ];
    keeper.fill(&page, &page, &fields).await
}

async fn receives(keeper: &mut Visitor, lot: &str, quantity: &str) -> Answer {
    let page = format!("{ORDER}/receive/{KIT}");
    let fields = [
        ("lot", lot),
        ("quantity", quantity),
        ("received_on", "2026-03-01"),
        ("place", "rack 3"),
    ];
    keeper.fill(&page, &page, &fields).await
}

/// Placed by telephone three weeks ago and written down today: the page does not say it was drafted after
/// it was placed.
#[tokio::test]
async fn an_order_written_down_after_it_was_placed_says_so() {
    let (_plant, mut keeper) = placed().await;
    keeper
        .get(ORDER)
        .await
        .says("written down 2 Mar 2026 by Test storekeeper, placed 10 Feb 2026")
        .does_not_say("drafted");
}

/// Who looks at a lot finds the order it came by; what came without one names none.
#[tokio::test]
async fn a_receipt_against_an_order_names_it_in_the_ledger() {
    let (_plant, mut keeper) = placed().await;
    receives(&mut keeper, "A1", "4")
        .await
        .is(StatusCode::SEE_OTHER);
    crate::needs::receives(&mut keeper, "B1", "3", "").await;
    let lot = format!("/storeroom/kits/{KIT}/lots/A1");
    for page in [lot.as_str(), "/storeroom/ledger"] {
        let page = keeper.get(page).await;
        page.says("order TW-O-2026-0001");
        let link = format!("href=\"{ORDER}\"");
        assert!(page.text.contains(&link), "{}", page.text);
    }
    keeper
        .get(&format!("/storeroom/kits/{KIT}/lots/B1"))
        .await
        .says("receipt +3 balance 3 –")
        .does_not_say("order TW-O");
}

mod new {
    use super::*;

    #[tokio::test]
    async fn the_lines_ticked_on_the_needs_page_make_a_draft_that_is_not_awaited_yet() {
        let (plant, mut engineer) = small_plant().await;
        let ticked = format!("{KIT}=10");
        let answer = engineer
            .fill("/needs", "/orders/new", &[("kit", ticked.as_str())])
            .await;
        answer.is(StatusCode::SEE_OTHER);
        engineer
            .get(answer.goes_to())
            .await
            .says("Order TW-O-2026-0001 is draft")
            .says("TW-K-250R reflex 250 mm, steam 10");
        engineer
            .get("/orders")
            .await
            .says("Nothing is awaited")
            .says("Drafts TW-O-2026-0001");
        all_is_sealed_and_true(&plant).await;
    }

    #[tokio::test]
    async fn nothing_ticked_and_a_kit_that_is_none_are_refused() {
        let plant = Plant::new().await;
        let mut keeper = plant.storekeeper().await;
        for (fields, says) in [
            (vec![], "Tick or write the kit to order"),
            (
                vec![("kit", "NONE"), ("quantity", "2")],
                "No kit has the number NONE",
            ),
            (
                vec![("kit", "NONE"), ("quantity", "0")],
                "Write a whole number",
            ),
        ] {
            keeper
                .fill("/orders/new", "/orders/new", &fields)
                .await
                .is(StatusCode::UNPROCESSABLE_ENTITY)
                .says(says);
        }
    }

    #[tokio::test]
    async fn orders_of_a_year_are_numbered_one_after_the_other() {
        let (_plant, mut keeper) = drafted().await;
        let fields = [("kit", KIT), ("quantity", "5")];
        let second = keeper.fill("/orders/new", "/orders/new", &fields).await;
        assert_eq!(second.goes_to(), "/orders/TW-O-2026-0002");
    }
}

mod show {
    use super::*;

    #[tokio::test]
    async fn a_draft_changes_until_it_is_placed_and_nothing_does_afterwards() {
        let (plant, mut keeper) = drafted().await;
        step(&mut keeper, "line", &[("kit", KIT), ("quantity", "15")])
            .await
            .is(StatusCode::SEE_OTHER);
        keeper
            .get(ORDER)
            .await
            .says("TW-K-250R reflex 250 mm, steam 15");
        step(
            &mut keeper,
            "place",
            &[("supplier", ""), ("placed_on", "2026-03-01")],
        )
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Say who supplies the kits");
        step(
            &mut keeper,
            "place",
            &[("supplier", "Fennel Gauge"), ("placed_on", "2026-03-01")],
        )
        .await
        .is(StatusCode::SEE_OTHER);
        // Without a promise it is the lead time after the day it was placed: ten days.
        keeper.get(ORDER).await.says("15 0 15 11 Mar 2026");
        step(&mut keeper, "line", &[("kit", KIT), ("quantity", "5")])
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("only a draft is changed");
        all_is_sealed_and_true(&plant).await;
    }

    #[tokio::test]
    async fn what_was_promised_for_a_day_that_is_past_is_late_until_it_is_promised_again() {
        let (_plant, mut keeper) = placed().await;
        keeper.get(ORDER).await.says("is late");
        keeper
            .get("/orders")
            .await
            .says("1 line is awaited, 1 is late")
            .says("27 Feb 2026 3 days over");
        step(
            &mut keeper,
            "promise",
            &[
                ("kit", KIT),
                ("promised_on", "2026-03-20"),
                ("reason", "glass late"),
            ],
        )
        .await
        .is(StatusCode::SEE_OTHER);
        keeper
            .get(ORDER)
            .await
            .says("is placed")
            .says("20 Mar 2026");
    }

    #[tokio::test]
    async fn a_withdrawn_order_awaits_nothing_and_says_why() {
        let (plant, mut keeper) = placed().await;
        step(&mut keeper, "withdraw", &[("reason", "")])
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("Say why");
        step(&mut keeper, "withdraw", &[("reason", "maker stopped it")])
            .await
            .is(StatusCode::SEE_OTHER);
        keeper
            .get(ORDER)
            .await
            .says("is withdrawn")
            .says("maker stopped it");
        keeper.get("/orders").await.says("Nothing is awaited");
        all_is_sealed_and_true(&plant).await;
    }

    #[tokio::test]
    async fn the_second_of_two_people_is_told() {
        let (_plant, mut keeper) = drafted().await;
        let stale = keeper.get(ORDER).await;
        let (key, version) = (stale.field("key"), stale.field("version"));
        step(&mut keeper, "line", &[("kit", KIT), ("quantity", "20")]).await;
        let fields = [
            ("key", key.as_str()),
            ("version", version.as_str()),
            ("kit", KIT),
            ("quantity", "30"),
        ];
        keeper
            .post(&format!("{ORDER}/line"), &fields)
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("Order TW-O-2026-0001");
    }
}

mod receive {
    use super::*;

    #[tokio::test]
    async fn a_delivery_with_another_last_day_is_not_of_the_lot_that_is_known() {
        let (plant, mut keeper) = placed().await;
        receives_until(&mut keeper, "L-7", "2027-05-31", "rack 3")
            .await
            .is(StatusCode::SEE_OTHER);
        let answer = receives_until(&mut keeper, "L-7", "2026-12-31", "rack 3").await;
        answer
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("with its last day 31 May 2027, and these kits say 31 Dec 2026");
        assert!(
            answer.text.contains("id=\"expires_on-wrong\""),
            "beside the field"
        );
        receives_until(&mut keeper, "L-7", "", "rack 9")
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("Lot L-7 lies at rack 3");
        receives_until(&mut keeper, "L-7", "2027-05-31", "rack 3")
            .await
            .is(StatusCode::SEE_OTHER);
        all_is_sealed_and_true(&plant).await;
    }

    #[tokio::test]
    async fn a_part_comes_the_rest_stays_awaited_and_the_last_part_closes_the_order() {
        let (plant, mut keeper) = placed().await;
        receives(&mut keeper, "L-1", "4")
            .await
            .is(StatusCode::SEE_OTHER);
        keeper
            .get(ORDER)
            .await
            .says("10 4 6")
            .says("What came Day Kit Lot Kits Who 1 Mar 2026 TW-K-250R L-1 4");
        keeper
            .get(&format!("/storeroom/kits/{KIT}"))
            .await
            .says("4 on the shelf may be used");
        receives(&mut keeper, "L-2", "7")
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("6 of this line are still to come");
        // More of the lot that came first.
        receives(&mut keeper, "L-1", "6")
            .await
            .is(StatusCode::SEE_OTHER);
        keeper.get(ORDER).await.says("is received");
        keeper
            .get("/orders")
            .await
            .says("Nothing is awaited")
            .says("Closed");
        receives(&mut keeper, "L-3", "1")
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("Nothing of TW-K-250R is awaited");
        all_is_sealed_and_true(&plant).await;
    }

    #[tokio::test]
    async fn pressing_twice_receives_once() {
        let (plant, mut keeper) = placed().await;
        let page = format!("{ORDER}/receive/{KIT}");
        let key = keeper.get(&page).await.field("key");
        let fields = [
            ("key", key.as_str()),
            ("lot", "L-1"),
            ("quantity", "4"),
            ("received_on", "2026-03-01"),
        ];
        keeper.post(&page, &fields).await.is(StatusCode::SEE_OTHER);
        keeper.post(&page, &fields).await.is(StatusCode::SEE_OTHER);
        keeper.get(ORDER).await.says("10 4 6");
        all_is_sealed_and_true(&plant).await;
    }
}

mod paper {
    use super::*;

    #[tokio::test]
    async fn the_order_is_a_paper_and_a_spreadsheet_with_the_same_lines() {
        use calamine::{Reader, Xlsx};
        let (_plant, mut keeper) = drafted().await;
        let paper = keeper.get(&format!("{ORDER}/order.pdf")).await;
        paper.is(StatusCode::OK);
        assert!(paper.bytes.starts_with(b"%PDF-1.7"));
        let again = keeper.get(&format!("{ORDER}/order.pdf")).await;
        assert_eq!(paper.bytes, again.bytes, "the same order, the same bytes");
        let letter = keeper.get(&format!("{ORDER}/order.pdf?paper=letter")).await;
        assert_ne!(paper.bytes, letter.bytes);
        crate::papers::read_without_complaint(&paper.bytes);
        let sheet = keeper.get(&format!("{ORDER}/order.xlsx")).await;
        sheet.is(StatusCode::OK);
        let mut book: Xlsx<_> =
            calamine::open_workbook_from_rs(std::io::Cursor::new(sheet.bytes)).expect("a workbook");
        let range = book.worksheet_range_at(0).expect("a sheet").expect("cells");
        let row = range.rows().find(|row| row[0] == KIT).expect("the line");
        assert_eq!(row[3].to_string(), "10");
        assert_eq!(row[1].to_string(), "reflex 250 mm, steam");
    }
}

/// One kit comes from Fennel Gauge and one from Northquay: what was ticked together is two drafts.
#[tokio::test]
async fn ticked_kits_of_two_suppliers_are_drafted_as_an_order_each() {
    let plant = Plant::new().await;
    let mut keeper = plant.storekeeper().await;
    adds_kit(&mut keeper).await;
    let mut other: Vec<(&str, &str)> = crate::storeroom::KIT
        .iter()
        .copied()
        .filter(|(name, _)| *name != "number")
        .collect();
    other.push(("number", "TW-K-190R"));
    keeper
        .fill("/storeroom/new-kit", "/storeroom/new-kit", &other)
        .await
        .is(StatusCode::SEE_OTHER);
    plant
        .run("INSERT INTO kit_terms (id, supplier) VALUES (1, 'Fennel Gauge'), (2, 'Northquay')")
        .await
        .expect("terms");
    let ticked = [("kit", "TW-K-250R=5"), ("kit", "TW-K-190R=4")];
    let drafted = keeper.fill("/orders/new", "/orders/new", &ticked).await;
    drafted.is(StatusCode::SEE_OTHER);
    assert_eq!(drafted.goes_to(), "/orders");
    keeper
        .get("/orders")
        .await
        .says("Fennel Gauge")
        .says("Northquay");
}
