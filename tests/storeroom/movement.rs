//! The movements of a lot, one at a time and many at once.

use super::*;

async fn one_lot(plant: &Plant, quantity: &str) -> (Visitor, String) {
    let mut keeper = plant.storekeeper().await;
    let kit = adds_kit(&mut keeper, &[]).await;
    let lot = receives(&mut keeper, &kit, ("A1", quantity), "").await;
    (keeper, lot)
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn of_forty_people_who_want_the_last_ten_kits_exactly_ten_get_one() {
    let plant = Plant::new().await;
    let (keeper, lot) = one_lot(&plant, "10").await;
    let page = format!("{lot}/issue");
    let mut keys = Vec::new();
    for _ in 0..40 {
        keys.push(keeper.clone().get(&page).await.field("key"));
    }
    let mut all = tokio::task::JoinSet::new();
    for key in keys {
        let (mut one, page) = (keeper.clone(), page.clone());
        all.spawn(async move {
            let fields = [
                ("key", key.as_str()),
                ("quantity", "1"),
                ("reason", "bench training"),
            ];
            one.post(&page, &fields).await
        });
    }
    let (mut issued, mut refused) = (0, 0);
    while let Some(answer) = all.join_next().await {
        let answer = answer.unwrap();
        match answer.status {
            StatusCode::SEE_OTHER => issued += 1,
            StatusCode::UNPROCESSABLE_ENTITY => {
                answer.says("Lot A1 holds 0");
                refused += 1;
            }
            other => panic!("{other}: {}", answer.text),
        }
    }
    assert_eq!((issued, refused), (10, 30));
    // One receipt and ten issues; the sum of the lines is the balance.
    assert_eq!(ledger_of(&plant, "A1").await, (0, 0, 11));
    all_is_sealed_and_true(&plant).await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn however_movements_of_many_people_fall_the_ledger_adds_up() {
    let plant = Plant::new().await;
    let (keeper, lot) = one_lot(&plant, "25").await;
    let mut all = tokio::task::JoinSet::new();
    for n in 0..36_usize {
        let (mut one, lot) = (keeper.clone(), lot.clone());
        all.spawn(async move {
            let (movement, quantity) = [("issue", "3"), ("scrap", "2"), ("receipt", "1")][n % 3];
            let fields = [
                ("quantity", quantity),
                ("reason", "a good reason"),
                ("received_on", "2026-03-02"),
            ];
            let answer = moves(&mut one, &lot, movement, &fields).await;
            (movement, answer.status)
        });
    }
    let mut expected = 25;
    while let Some(done) = all.join_next().await {
        let (movement, status) = done.unwrap();
        if status == StatusCode::SEE_OTHER {
            expected += match movement {
                "issue" => -3,
                "scrap" => -2,
                _ => 1,
            };
        } else {
            assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
        }
    }
    let (balance, sum, _) = ledger_of(&plant, "A1").await;
    assert_eq!((balance, sum), (expected, expected));
    assert!(balance >= 0);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn a_button_pressed_many_times_at_once_writes_one_line() {
    let plant = Plant::new().await;
    let (mut keeper, lot) = one_lot(&plant, "10").await;
    let page = format!("{lot}/issue");
    let key = keeper.get(&page).await.field("key");
    let mut all = tokio::task::JoinSet::new();
    for _ in 0..8 {
        let (mut one, page, key) = (keeper.clone(), page.clone(), key.clone());
        all.spawn(async move {
            let fields = [
                ("key", key.as_str()),
                ("quantity", "2"),
                ("reason", "bench training"),
            ];
            one.post(&page, &fields).await
        });
    }
    while let Some(answer) = all.join_next().await {
        let answer = answer.unwrap();
        answer.is(StatusCode::SEE_OTHER);
        assert_eq!(answer.goes_to(), lot);
    }
    assert_eq!(ledger_of(&plant, "A1").await, (8, 8, 2));
}

#[tokio::test]
async fn an_issue_without_a_rebuild_needs_its_reason() {
    let plant = Plant::new().await;
    let (mut keeper, lot) = one_lot(&plant, "5").await;
    moves(&mut keeper, &lot, "issue", &[("quantity", "1")])
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Say what they are for");
    moves(
        &mut keeper,
        &lot,
        "issue",
        &[("quantity", "6"), ("reason", "lent to the next works")],
    )
    .await
    .is(StatusCode::UNPROCESSABLE_ENTITY)
    .says("Lot A1 holds 5");
    assert_eq!(ledger_of(&plant, "A1").await, (5, 5, 1));
}

#[tokio::test]
async fn an_expired_lot_is_not_issued_from_its_last_day_s_morrow_on() {
    let plant = Plant::new().await;
    let mut keeper = plant.storekeeper().await;
    let kit = adds_kit(&mut keeper, &[]).await;
    let lot = receives(&mut keeper, &kit, ("OLD", "5"), "2026-03-02").await;
    let fields = [("quantity", "1"), ("reason", "bench training")];
    moves(&mut keeper, &lot, "issue", &fields)
        .await
        .is(StatusCode::SEE_OTHER);
    plant.turn_to(time::macros::datetime!(2026-03-03 00:00 UTC));
    let mut keeper = plant.storekeeper().await;
    moves(&mut keeper, &lot, "issue", &fields)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("may not be used any more: its last day was 2 Mar 2026");
    keeper.get(&lot).await.says("expired on 2 Mar 2026");
    // It may still be counted and scrapped.
    moves(
        &mut keeper,
        &lot,
        "scrap",
        &[("quantity", "4"), ("reason", "expired")],
    )
    .await
    .is(StatusCode::SEE_OTHER);
    assert_eq!(ledger_of(&plant, "OLD").await, (0, 0, 3));
}

#[tokio::test]
async fn an_expired_lot_is_not_issued_to_a_rebuild_either() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    let kit = adds_kit(&mut engineer, &[]).await;
    receives(&mut engineer, &kit, ("OLD", "5"), "2026-03-01").await;
    takes_in_gauge(&mut engineer, "LG-1107A", "1").await;
    let rebuild = plans_rebuild(&plant, "LG-1107A").await;
    let lot = lot_id(&plant, "OLD").await;
    let mut deed = plant.deed_of(Role::Technician).await;
    let refused = stock::issue(&mut deed, rebuild, lot, 1).await.unwrap_err();
    assert!(format!("{refused:?}").contains("may not be used any more"));
}

#[tokio::test]
async fn a_count_writes_the_difference_with_its_reason() {
    let plant = Plant::new().await;
    let (mut keeper, lot) = one_lot(&plant, "10").await;
    let blind = keeper.get(&format!("{lot}/count")).await;
    blind.does_not_say("10 on hand");
    let count = [("quantity", "8"), ("seen", "10")];
    moves(&mut keeper, &lot, "count", &count)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("The register says another figure; count again, and if it stays, say why it differs");
    moves(
        &mut keeper,
        &lot,
        "count",
        &but(&count, &[("reason", "two found broken")]),
    )
    .await
    .is(StatusCode::SEE_OTHER);
    keeper
        .get(&lot)
        .await
        .says("count \u{2212}2 balance 8 two found broken Test storekeeper");
    // A count that agrees is a line of nothing, and more than the register says is found too.
    moves(
        &mut keeper,
        &lot,
        "count",
        &[("quantity", "8"), ("seen", "8")],
    )
    .await
    .is(StatusCode::SEE_OTHER);
    let found = [
        ("quantity", "9"),
        ("seen", "8"),
        ("reason", "one behind the rack"),
    ];
    moves(&mut keeper, &lot, "count", &found)
        .await
        .is(StatusCode::SEE_OTHER);
    keeper
        .get(&lot)
        .await
        .says("count +1 balance 9")
        .says("count 0 balance 8");
    assert_eq!(ledger_of(&plant, "A1").await, (9, 9, 4));
}

#[tokio::test]
async fn a_count_begun_before_the_lot_moved_is_refused() {
    let plant = Plant::new().await;
    let (mut keeper, lot) = one_lot(&plant, "10").await;
    let begun = keeper.get(&format!("{lot}/count")).await;
    assert_eq!(begun.field("seen"), "10");
    moves(
        &mut keeper.clone(),
        &lot,
        "issue",
        &[("quantity", "2"), ("reason", "bench training")],
    )
    .await
    .is(StatusCode::SEE_OTHER);
    let fields = [
        ("key", begun.field("key")),
        ("quantity", "10".to_owned()),
        ("seen", "10".to_owned()),
    ];
    let fields: Vec<(&str, &str)> = fields.iter().map(|(n, v)| (*n, v.as_str())).collect();
    keeper
        .post(&format!("{lot}/count"), &fields)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("the register said 10 and now says 8. Count again");
    assert_eq!(ledger_of(&plant, "A1").await, (8, 8, 2));
}

#[tokio::test]
async fn no_more_comes_back_than_went_out() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    let kit = adds_kit(&mut engineer, &[]).await;
    let page = receives(&mut engineer, &kit, ("A1", "10"), "").await;
    takes_in_gauge(&mut engineer, "LG-1107A", "1").await;
    engineer
        .get(&format!("{page}/return"))
        .await
        .says("Nothing of this lot is out that could come back");
    let rebuild = plans_rebuild(&plant, "LG-1107A").await;
    let lot = lot_id(&plant, "A1").await;
    let mut deed = plant.deed_of(Role::Technician).await;
    stock::issue(&mut deed, rebuild, lot, 4).await.unwrap();
    deed.commit("").await.unwrap();
    let issue = [("quantity", "2"), ("reason", "bench training")];
    moves(&mut engineer, &page, "issue", &issue)
        .await
        .is(StatusCode::SEE_OTHER);
    engineer
        .get(&format!("{page}/return"))
        .await
        .says("LG-1107A, rebuild 1: 4 out")
        .says("without a rebuild: 2 out")
        .says("Only kits that were never opened come back");
    let from = rebuild.0.to_string();
    let five = [("quantity", "5"), ("from", from.as_str())];
    moves(&mut engineer, &page, "return", &five)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("That rebuild has 4 of lot A1");
    moves(
        &mut engineer,
        &page,
        "return",
        &[("quantity", "3"), ("from", "")],
    )
    .await
    .is(StatusCode::UNPROCESSABLE_ENTITY)
    .says("2 of lot A1 are out without a rebuild");
    moves(
        &mut engineer,
        &page,
        "return",
        &but(&five, &[("quantity", "4")]),
    )
    .await
    .is(StatusCode::SEE_OTHER);
    moves(
        &mut engineer,
        &page,
        "return",
        &[("quantity", "2"), ("from", "")],
    )
    .await
    .is(StatusCode::SEE_OTHER);
    assert_eq!(ledger_of(&plant, "A1").await, (10, 10, 5));
    engineer
        .get(&page)
        .await
        .says("return +4 balance 8 from LG-1107A , rebuild 1");
    all_is_sealed_and_true(&plant).await;
}

#[tokio::test]
async fn a_finished_rebuild_neither_takes_nor_gives_kits() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    let kit = adds_kit(&mut engineer, &[]).await;
    receives(&mut engineer, &kit, ("A1", "10"), "").await;
    takes_in_gauge(&mut engineer, "LG-1107A", "1").await;
    let rebuild = plans_rebuild(&plant, "LG-1107A").await;
    let lot = lot_id(&plant, "A1").await;
    let mut deed = plant.deed_of(Role::Technician).await;
    stock::issue(&mut deed, rebuild, lot, 4).await.unwrap();
    deed.commit("").await.unwrap();
    let mut tx = plant.store.write().await.unwrap();
    sqlx::query(
        "UPDATE rebuild SET state = 'abandoned', ended_on = '2026-03-02', abandoned_reason = 'the vessel is gone' WHERE id = ?1",
    )
    .bind(rebuild)
    .execute(&mut *tx)
    .await
    .unwrap();
    tx.commit().await.unwrap();
    for taking in [true, false] {
        let mut deed = plant.deed_of(Role::Storekeeper).await;
        let done = if taking {
            stock::issue(&mut deed, rebuild, lot, 1).await
        } else {
            stock::take_back(&mut deed, lot, Some(rebuild), 1, "").await
        };
        let refused = done.unwrap_err();
        assert!(refused.to_string().contains("This rebuild is abandoned"));
    }
    assert_eq!(ledger_of(&plant, "A1").await, (6, 6, 2));
}

#[tokio::test]
async fn scrap_needs_a_reason_and_takes_no_more_than_is_there() {
    let plant = Plant::new().await;
    let (mut keeper, lot) = one_lot(&plant, "3").await;
    moves(
        &mut keeper,
        &lot,
        "scrap",
        &[("quantity", "1"), ("reason", " x ")],
    )
    .await
    .is(StatusCode::UNPROCESSABLE_ENTITY)
    .says("Say why they are thrown away");
    moves(
        &mut keeper,
        &lot,
        "scrap",
        &[("quantity", "4"), ("reason", "wet gaskets")],
    )
    .await
    .is(StatusCode::UNPROCESSABLE_ENTITY)
    .says("Lot A1 holds 3");
    moves(
        &mut keeper,
        &lot,
        "scrap",
        &[("quantity", "1"), ("reason", "wet gaskets")],
    )
    .await
    .is(StatusCode::SEE_OTHER);
    keeper
        .get(&lot)
        .await
        .says("scrap \u{2212}1 balance 2 wet gaskets");
}

#[tokio::test]
async fn more_of_a_lot_is_received_into_it() {
    let plant = Plant::new().await;
    let (mut keeper, lot) = one_lot(&plant, "3").await;
    let more = [
        ("quantity", "2"),
        ("received_on", "2026-02-20"),
        ("reason", "note 117"),
    ];
    moves(&mut keeper, &lot, "receipt", &more)
        .await
        .is(StatusCode::SEE_OTHER);
    keeper
        .get(&lot)
        .await
        .says("20 Feb 2026 receipt +2 balance 5 note 117");
    for (day, words) in [
        ("2026-03-03", "This day is still to come"),
        ("2026-01-04", "This lot first came on 5 Jan 2026"),
    ] {
        moves(
            &mut keeper,
            &lot,
            "receipt",
            &but(&more, &[("received_on", day)]),
        )
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says(words);
    }
}

#[tokio::test]
async fn a_movement_nobody_knows_is_no_page() {
    let plant = Plant::new().await;
    let (mut keeper, lot) = one_lot(&plant, "3").await;
    keeper
        .get(&format!("{lot}/gift"))
        .await
        .is(StatusCode::NOT_FOUND);
}
