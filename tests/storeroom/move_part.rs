//! A part of a lot in another place: moved there and back, taken, counted and received there, and the
//! sum of all places always what the ledger says.

use super::*;

async fn one_lot(plant: &Plant, quantity: &str) -> (Visitor, String) {
    let mut keeper = plant.storekeeper().await;
    let kit = adds_kit(&mut keeper, &[]).await;
    let lot = receives(&mut keeper, &kit, ("A1", quantity), "").await;
    (keeper, lot)
}

/// The lot as it lies: its own place first, then the others by name.
async fn lies(plant: &Plant) -> Vec<(Option<String>, i64)> {
    let mut db = plant.store.read().await.unwrap();
    let lot = store::kits::lot_by_number(&mut db, "TW-K-250R", "A1")
        .await
        .unwrap()
        .unwrap();
    let parts: Vec<_> = lot
        .parts()
        .into_iter()
        .map(|part| (part.place, part.kits))
        .collect();
    let sum: i64 = parts.iter().map(|(_, kits)| kits).sum();
    assert_eq!(sum, lot.on_hand, "the places hold what the lot holds");
    assert!(parts.iter().all(|(_, kits)| *kits >= 0), "{parts:?}");
    parts
}

fn at(place: &str, kits: i64) -> (Option<String>, i64) {
    (Some(place.to_owned()), kits)
}

async fn puts(keeper: &mut Visitor, lot: &str, fields: &[(&str, &str)]) -> Answer {
    moves(keeper, lot, "move-part", fields).await
}

#[tokio::test]
async fn a_part_is_moved_and_the_balance_stays() {
    let plant = Plant::new().await;
    let (mut keeper, lot) = one_lot(&plant, "10").await;
    let answer = puts(&mut keeper, &lot, &[("quantity", "4"), ("to", "rack 5")]).await;
    answer.is(StatusCode::SEE_OTHER);
    assert_eq!(answer.goes_to(), lot);
    assert_eq!(lies(&plant).await, [(None, 6), at("rack 5", 4)]);
    // No line of the ledger: how many there are did not change.
    assert_eq!(ledger_of(&plant, "A1").await, (10, 10, 1));
    keeper
        .get(&lot)
        .await
        .says("holds 10")
        .says("in 2 places")
        .says("move 4 from rack 3, bay B to rack 5 Test storekeeper");
    keeper
        .get("/storeroom/ledger")
        .await
        .says("A1 move 4 from rack 3, bay B to rack 5");
    keeper
        .get("/storeroom/kits/TW-K-250R")
        .await
        .says("6 at rack 3, bay B, 4 at rack 5");
    all_is_sealed_and_true(&plant).await;
}

#[tokio::test]
async fn it_goes_on_to_a_third_place_and_back_and_one_place_has_one_spelling() {
    let plant = Plant::new().await;
    let (mut keeper, lot) = one_lot(&plant, "10").await;
    for (fields, expected) in [
        (
            [("place", "own"), ("quantity", "4"), ("to", "Rack 5")],
            vec![(None, 6), at("Rack 5", 4)],
        ),
        (
            [("place", "own"), ("quantity", "1"), ("to", "rack  5")],
            vec![(None, 5), at("Rack 5", 5)],
        ),
        (
            [("place", "at:Rack 5"), ("quantity", "2"), ("to", "van")],
            vec![(None, 5), at("Rack 5", 3), at("van", 2)],
        ),
        (
            [
                ("place", "at:Rack 5"),
                ("quantity", "3"),
                ("to", "RACK 3, bay b"),
            ],
            vec![(None, 8), at("van", 2)],
        ),
        (
            [
                ("place", "at:van"),
                ("quantity", "2"),
                ("to", "rack 3, bay B"),
            ],
            vec![(None, 10)],
        ),
    ] {
        puts(&mut keeper, &lot, &fields)
            .await
            .is(StatusCode::SEE_OTHER);
        assert_eq!(lies(&plant).await, expected, "{fields:?}");
    }
    keeper.get(&lot).await.does_not_say("Where it lies");
    assert_eq!(ledger_of(&plant, "A1").await, (10, 10, 1));
    all_is_sealed_and_true(&plant).await;
}

#[tokio::test]
async fn what_cannot_be_moved_is_refused_beside_its_field_and_stays_typed() {
    let plant = Plant::new().await;
    let (mut keeper, lot) = one_lot(&plant, "10").await;
    for (fields, field, words) in [
        (
            [("quantity", "11"), ("to", "rack 5"), ("reason", "full")],
            "quantity",
            "At rack 3, bay B lie 10",
        ),
        (
            [("quantity", "0"), ("to", "rack 5"), ("reason", "full")],
            "quantity",
            "",
        ),
        (
            [("quantity", "2"), ("to", " "), ("reason", "full")],
            "to",
            "Write where they go",
        ),
        (
            [
                ("quantity", "2"),
                ("to", "Rack 3, bay B"),
                ("reason", "full"),
            ],
            "to",
            "They lie there already",
        ),
    ] {
        let refused = puts(&mut keeper, &lot, &fields).await;
        refused.is(StatusCode::UNPROCESSABLE_ENTITY).says(words);
        assert!(
            refused.text.contains(&format!("id=\"{field}-wrong\"")),
            "{fields:?}: {}",
            refused.text
        );
        assert_eq!(
            refused.field("quantity"),
            fields[0].1,
            "what was typed stays"
        );
        assert!(refused.text.contains(">full</textarea>"));
    }
    assert_eq!(lies(&plant).await, [(None, 10)]);
}

#[tokio::test]
async fn where_a_lot_lies_in_several_places_each_movement_asks_which() {
    let plant = Plant::new().await;
    let (mut keeper, lot) = one_lot(&plant, "10").await;
    puts(&mut keeper, &lot, &[("quantity", "4"), ("to", "rack 5")])
        .await
        .is(StatusCode::SEE_OTHER);
    let issue = [("quantity", "3"), ("reason", "bench training")];
    moves(&mut keeper, &lot, "issue", &issue)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("This lot lies in several places: choose which");
    let there = but(&issue, &[("place", "at:rack 5")]);
    moves(&mut keeper, &lot, "issue", &there)
        .await
        .is(StatusCode::SEE_OTHER);
    assert_eq!(lies(&plant).await, [(None, 6), at("rack 5", 1)]);
    keeper
        .get(&lot)
        .await
        .says("issue at rack 5 \u{2212}3 balance 7 bench training");
    // One is left there, though the lot holds seven.
    moves(&mut keeper, &lot, "issue", &there)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("At rack 5 lie 1 of lot A1, which lies in several places: 6 at rack 3, bay B, 1 at rack 5");
    moves(
        &mut keeper,
        &lot,
        "scrap",
        &[("quantity", "7"), ("reason", "chipped"), ("place", "own")],
    )
    .await
    .is(StatusCode::UNPROCESSABLE_ENTITY)
    .says("At rack 3, bay B lie 6");
    let back = [("from", ""), ("quantity", "2"), ("place", "own")];
    moves(&mut keeper, &lot, "return", &back)
        .await
        .is(StatusCode::SEE_OTHER);
    assert_eq!(lies(&plant).await, [(None, 8), at("rack 5", 1)]);
    let more = [
        ("quantity", "5"),
        ("received_on", "2026-03-02"),
        ("place", "at:rack 5"),
    ];
    moves(&mut keeper, &lot, "receipt", &more)
        .await
        .is(StatusCode::SEE_OTHER);
    assert_eq!(lies(&plant).await, [(None, 8), at("rack 5", 6)]);
    assert_eq!(ledger_of(&plant, "A1").await, (14, 14, 4));
    all_is_sealed_and_true(&plant).await;
}

#[tokio::test]
async fn each_place_is_counted_by_itself_and_is_not_told_its_figure() {
    let plant = Plant::new().await;
    let (mut keeper, lot) = one_lot(&plant, "10").await;
    puts(&mut keeper, &lot, &[("quantity", "4"), ("to", "rack 5")])
        .await
        .is(StatusCode::SEE_OTHER);
    let page = keeper.get(&format!("{lot}/count")).await;
    page.says("each is counted by itself")
        .does_not_say("6 at")
        .does_not_say("4 at");
    let page = keeper
        .get(&format!("{lot}/count?place=at%3Arack%205"))
        .await;
    page.says("at rack 5").does_not_say("4 on hand");
    assert_eq!(page.field("seen"), "4");
    let count = [
        ("place", "at:rack 5"),
        ("seen", "4"),
        ("quantity", "3"),
        ("reason", "one fell down"),
    ];
    keeper
        .fill(
            &format!("{lot}/count?place=at%3Arack%205"),
            &format!("{lot}/count"),
            &count,
        )
        .await
        .is(StatusCode::SEE_OTHER);
    assert_eq!(lies(&plant).await, [(None, 6), at("rack 5", 3)]);
    // In the aisle every pile has its own form.
    let aisle = keeper.get("/storeroom/count?label=A1").await;
    aisle.says("rack 3, bay B").says("rack 5");
    let lot = lot_id(&plant, "A1").await.0.to_string();
    let key = aisle.field("key");
    let fields = [
        ("key", key.as_str()),
        ("lot", lot.as_str()),
        ("place", "own"),
        ("seen", "6"),
        ("quantity", "6"),
    ];
    keeper
        .post("/storeroom/count", &fields)
        .await
        .is(StatusCode::SEE_OTHER);
    assert_eq!(lies(&plant).await, [(None, 6), at("rack 5", 3)]);
    assert_eq!(ledger_of(&plant, "A1").await, (9, 9, 3));
    all_is_sealed_and_true(&plant).await;
}

#[tokio::test]
async fn the_rest_that_moves_to_where_a_part_lies_is_one_with_it() {
    let plant = Plant::new().await;
    let (mut keeper, lot) = one_lot(&plant, "10").await;
    puts(&mut keeper, &lot, &[("quantity", "4"), ("to", "rack 5")])
        .await
        .is(StatusCode::SEE_OTHER);
    let page = format!("{lot}/edit");
    let to = |place| {
        [
            ("was_place", "rack 3, bay B"),
            ("was_expires_on", ""),
            ("place", place),
            ("expires_on", ""),
        ]
    };
    keeper
        .fill(&page, &page, &to("rack 5"))
        .await
        .is(StatusCode::SEE_OTHER);
    assert_eq!(lies(&plant).await, [(None, 10)]);
    keeper.get(&lot).await.says("at rack 5");
    all_is_sealed_and_true(&plant).await;
}

#[tokio::test]
async fn a_rebuild_takes_kits_from_the_place_that_was_chosen() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    let kit = adds_kit(&mut engineer, &[]).await;
    let lot = receives(&mut engineer, &kit, ("A1", "6"), "").await;
    puts(
        &mut engineer,
        &lot,
        &[("quantity", "4"), ("to", "bench cupboard")],
    )
    .await
    .is(StatusCode::SEE_OTHER);
    takes_in_gauge(&mut engineer, "LG-1107A", "1").await;
    plans_rebuild(&plant, "LG-1107A").await;
    let mut technician = plant.technician().await;
    let page = technician.get("/bench/LG-1107A/kits").await;
    page.says("2 on hand")
        .says("4 on hand")
        .says("bench cupboard");
    let id = lot_id(&plant, "A1").await.0;
    let cupboard = format!("{id}@bench cupboard");
    let fields = [
        ("lot", cupboard.as_str()),
        ("kit", "TW-K-250R"),
        ("quantity", "4"),
    ];
    technician
        .fill("/bench/LG-1107A/kits", "/bench/LG-1107A/kits", &fields)
        .await
        .is(StatusCode::SEE_OTHER);
    assert_eq!(lies(&plant).await, [(None, 2)]);
    all_is_sealed_and_true(&plant).await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn of_many_who_move_the_last_kits_of_a_place_no_two_move_the_same() {
    let plant = Plant::new().await;
    let (keeper, lot) = one_lot(&plant, "10").await;
    let mut all = tokio::task::JoinSet::new();
    for n in 0..24_usize {
        let (mut one, lot) = (keeper.clone(), lot.clone());
        all.spawn(async move {
            // Some move a part away while others take kits of the place it lies in.
            if n.is_multiple_of(2) {
                let fields = [("place", "own"), ("quantity", "2"), ("to", "rack 5")];
                puts(&mut one, &lot, &fields).await.status
            } else {
                let fields = [
                    ("place", "own"),
                    ("quantity", "1"),
                    ("reason", "bench training"),
                ];
                moves(&mut one, &lot, "issue", &fields).await.status
            }
        });
    }
    while let Some(status) = all.join_next().await {
        let status = status.unwrap();
        assert!(
            status == StatusCode::SEE_OTHER || status == StatusCode::UNPROCESSABLE_ENTITY,
            "{status}"
        );
    }
    let parts = lies(&plant).await;
    assert_eq!(parts[0], (None, 0), "all of it was wanted: {parts:?}");
    let (balance, sum, _) = ledger_of(&plant, "A1").await;
    assert_eq!(balance, sum);
    all_is_sealed_and_true(&plant).await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn a_button_pressed_many_times_moves_once() {
    let plant = Plant::new().await;
    let (mut keeper, lot) = one_lot(&plant, "10").await;
    let page = format!("{lot}/move-part");
    let key = keeper.get(&page).await.field("key");
    let mut all = tokio::task::JoinSet::new();
    for _ in 0..8 {
        let (mut one, page, key) = (keeper.clone(), page.clone(), key.clone());
        all.spawn(async move {
            let fields = [("key", key.as_str()), ("quantity", "3"), ("to", "rack 5")];
            one.post(&page, &fields).await
        });
    }
    while let Some(answer) = all.join_next().await {
        let answer = answer.unwrap();
        assert_eq!(answer.goes_to(), lot, "{} {}", answer.status, answer.text);
    }
    assert_eq!(lies(&plant).await, [(None, 7), at("rack 5", 3)]);
}

#[tokio::test]
async fn a_move_is_never_changed_and_verify_finds_places_that_do_not_add_up() {
    for (sql, refused) in [
        ("UPDATE lot_move SET quantity = 1", true),
        ("DELETE FROM lot_move", true),
        ("UPDATE lot_elsewhere SET kits = 1", false),
        ("DELETE FROM lot_elsewhere", false),
    ] {
        let plant = Plant::new().await;
        let (mut keeper, lot) = one_lot(&plant, "10").await;
        puts(&mut keeper, &lot, &[("quantity", "4"), ("to", "rack 5")])
            .await
            .is(StatusCode::SEE_OTHER);
        let done = plant.run(sql).await;
        assert_eq!(done.is_err(), refused, "{sql}");
        let mut db = plant.store.read().await.unwrap();
        let report = acts::verify::verify(&mut db).await.unwrap();
        let found = report
            .findings
            .iter()
            .any(|one| one.contains("places hold another number of kits"));
        assert_eq!(found, !refused, "{sql}: {:?}", report.findings);
    }
}

/// Every row of the ledger, page after page.
async fn rows_of(visitor: &mut Visitor, ledger: &str) -> (usize, usize, usize) {
    let (mut pages, mut moves, mut lines) = (0, 0, 0);
    let mut next = Some(ledger.to_owned());
    while let Some(page) = next {
        let answer = visitor.get(&page).await;
        answer.is(StatusCode::OK);
        pages += 1;
        moves += answer.text.matches("<td>move</td>").count();
        lines +=
            answer.text.matches("<td>receipt").count() + answer.text.matches("<td>issue").count();
        next = answer
            .text
            .split("href=\"")
            .find(|link| link.contains("before="))
            .and_then(|link| link.split('"').next())
            .map(|link| link.replace("&#38;", "&"));
        assert!(pages < 40, "the ledger has no end");
    }
    (pages, moves, lines)
}

/// 640 moves between two lines are 642 rows, thirteen pages of fifty.
#[tokio::test]
async fn every_move_is_reached_however_many_were_made_between_two_lines() {
    let plant = Plant::new().await;
    let (mut keeper, lot) = one_lot(&plant, "10").await;
    plant
        .run(
            "WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 640)
             INSERT INTO lot_move (lot_id, from_place, to_place, own_place, quantity, after_line, at, on_date, person_id, reason)
             SELECT 1, iif(i % 2, NULL, 'rack 5'), iif(i % 2, 'rack 5', NULL), 'rack 3, bay B', 1, (SELECT max(id) FROM stock_line),
               '2026-03-02T09:00:00.000Z', '2026-03-02', (SELECT min(id) FROM person), 'move ' || i FROM n ORDER BY i",
        )
        .await
        .unwrap();
    let issue = [("quantity", "1"), ("reason", "bench training")];
    moves(&mut keeper, &lot, "issue", &issue)
        .await
        .is(StatusCode::SEE_OTHER);
    for ledger in ["/storeroom/ledger", lot.as_str()] {
        assert_eq!(rows_of(&mut keeper, ledger).await, (13, 640, 2), "{ledger}");
    }
    // In the order they were made in, the latest first: the second page begins with the fiftieth from it.
    let first = keeper.get(&lot).await;
    first
        .says("move 640")
        .says("move 592")
        .does_not_say("move 591");
}

#[tokio::test]
async fn more_of_a_lot_is_received_into_a_place_that_is_new_to_it() {
    let plant = Plant::new().await;
    let (mut keeper, lot) = one_lot(&plant, "10").await;
    keeper
        .get(&format!("{lot}/receipt"))
        .await
        .says("Another place If they are not put at rack 3, bay B");
    let more = [
        ("quantity", "5"),
        ("received_on", "2026-03-02"),
        ("to", " rack 9 "),
    ];
    moves(&mut keeper, &lot, "receipt", &more)
        .await
        .is(StatusCode::SEE_OTHER);
    assert_eq!(lies(&plant).await, [(None, 10), at("rack 9", 5)]);
    // One place has one spelling, and its own place is its own however it is typed.
    for to in ["RACK 9", "rack 3, bay b"] {
        moves(&mut keeper, &lot, "receipt", &but(&more, &[("to", to)]))
            .await
            .is(StatusCode::SEE_OTHER);
    }
    assert_eq!(lies(&plant).await, [(None, 15), at("rack 9", 10)]);
    moves(
        &mut keeper,
        &lot,
        "receipt",
        &but(&more, &[("to", &"x".repeat(61))]),
    )
    .await
    .is(StatusCode::UNPROCESSABLE_ENTITY)
    .says("At most 60 characters");
    all_is_sealed_and_true(&plant).await;
}
