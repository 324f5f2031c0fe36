//! The storeroom: kits, lots, movements and the ledger, through the pages and with many at once.

use axum::http::StatusCode;
use gaugewright::acts::{self, stock};
use gaugewright::record::audit::sha256_hex;
use gaugewright::record::person::Role;
use gaugewright::record::rebuild::Cause;
use gaugewright::record::{LotId, RebuildId};
use gaugewright::store;
use sqlx::Row;
use std::collections::HashMap;
use time::macros::date;

use crate::plant::{Answer, Plant, Visitor};

/// A kit that keeps, ten days on the way, in packs of five.
pub const KIT: &[(&str, &str)] = &[
    ("number", "TW-K-250R"),
    ("name", "reflex 250 mm, steam"),
    ("kind", "reflex"),
    ("glass_length_mm", "250"),
    ("contents", "1 glass\n1 seal gasket\n1 cushion gasket"),
    ("shelf_life_months", ""),
    ("lead_days", "10"),
    ("pack", "5"),
    ("minimum", "5"),
];

/// The fields with some of them written differently.
fn but<'a>(
    fields: &[(&'a str, &'a str)],
    changes: &[(&'a str, &'a str)],
) -> Vec<(&'a str, &'a str)> {
    let mut list: Vec<_> = fields
        .iter()
        .copied()
        .filter(|(name, _)| changes.iter().all(|(changed, _)| changed != name))
        .collect();
    list.extend_from_slice(changes);
    list
}

async fn adds_kit(keeper: &mut Visitor, changes: &[(&str, &str)]) -> String {
    let answer = keeper
        .fill(
            "/storeroom/new-kit",
            "/storeroom/new-kit",
            &but(KIT, changes),
        )
        .await;
    answer.is(StatusCode::SEE_OTHER);
    answer.goes_to().to_owned()
}

/// Receives a lot on the plant's day and gives its address.
async fn receives(
    keeper: &mut Visitor,
    kit: &str,
    (lot, quantity): (&str, &str),
    last_day: &str,
) -> String {
    let page = format!("{kit}/receive");
    let fields = [
        ("lot", lot),
        ("quantity", quantity),
        ("received_on", "2026-01-05"),
        ("expires_on", last_day),
        ("place", "rack 3, bay B"),
    ];
    let answer = keeper.fill(&page, &page, &fields).await;
    answer.is(StatusCode::SEE_OTHER);
    answer.goes_to().to_owned()
}

/// Fills the form of a movement of a lot.
async fn moves(keeper: &mut Visitor, lot: &str, movement: &str, fields: &[(&str, &str)]) -> Answer {
    let page = format!("{lot}/{movement}");
    keeper.fill(&page, &page, fields).await
}

/// A gauge of four sections that takes this kit and is rebuilt by 30 April 2026: installed on
/// 31 October 2024, every 18 months. Its look-over is long past and hides the rebuild in the due list.
async fn takes_in_gauge(engineer: &mut Visitor, tag: &str, kit: &str) {
    let fields = [
        ("tag", tag),
        ("area", "1"),
        ("class", "1"),
        ("vessel", "BH-D-101"),
        ("kind", "reflex"),
        ("sections", "4"),
        ("bolt_form", "bolts"),
        ("isolation", "in-service"),
        ("installed_on", "2024-10-31"),
        ("kit", kit),
        ("kits_per_rebuild", "4"),
    ];
    engineer
        .fill("/gauges/new", "/gauges/new", &fields)
        .await
        .is(StatusCode::SEE_OTHER);
}

/// Plans a rebuild of a gauge, past the pages.
async fn plans_rebuild(plant: &Plant, tag: &str) -> RebuildId {
    let mut deed = plant.deed_of(Role::Engineer).await;
    let gauge = store::gauges::id_of(deed.db(), tag).await.unwrap().unwrap();
    let new = store::rebuilds::NewRebuild {
        gauge,
        cause: Cause::Interval,
        planned_for: date!(2026 - 04 - 01),
        note: "",
    };
    let (person, now) = (deed.person().unwrap(), deed.now());
    let id = store::rebuilds::add(deed.db(), &new, person, now)
        .await
        .unwrap();
    deed.touch(gauge);
    deed.commit("").await.unwrap();
    id
}

async fn lot_id(plant: &Plant, number: &str) -> LotId {
    let mut db = plant.store.read().await.unwrap();
    store::kits::lot_by_number(&mut db, "TW-K-250R", number)
        .await
        .unwrap()
        .unwrap()
        .id
}

/// Balance of the last line, sum of the quantities, number of lines.
async fn ledger_of(plant: &Plant, number: &str) -> (i64, i64, i64) {
    let lot = lot_id(plant, number).await;
    let mut db = plant.store.read().await.unwrap();
    let row = sqlx::query(
        "SELECT (SELECT balance FROM stock_line WHERE lot_id = ?1 ORDER BY id DESC LIMIT 1), sum(quantity), count(*), min(balance)
         FROM stock_line WHERE lot_id = ?1",
    )
    .bind(lot)
    .fetch_one(&mut *db)
    .await
    .unwrap();
    assert!(row.get::<i64, _>(3) >= 0, "a balance below zero");
    (row.get(0), row.get(1), row.get(2))
}

/// Every row of these tables carries a seal of its text as it stands, and every projection agrees
/// with what it is made from.
pub async fn all_is_sealed_and_true(plant: &Plant) {
    let mut db = plant.store.read().await.unwrap();
    let mut seals: HashMap<String, String> = HashMap::new();
    for kept in store::audit::lines_after(&mut db, 0, 100_000)
        .await
        .unwrap()
    {
        let facts: serde_json::Value = serde_json::from_str(&kept.line.facts).unwrap();
        for seal in facts["seals"].as_array().into_iter().flatten() {
            let (row, sha) = seal.as_str().unwrap().rsplit_once('/').unwrap();
            seals.insert(row.to_owned(), sha.to_owned());
        }
    }
    for table in ["kit", "lot", "stock_line", "instrument", "calibration"] {
        let sql = store::audit::all_rows(table, plant.store.canonical(table));
        for row in sqlx::query(sqlx::AssertSqlSafe(sql))
            .fetch_all(&mut *db)
            .await
            .unwrap()
        {
            let key = format!("{table}/{}", row.get::<i64, _>(0));
            let text: String = row.get(1);
            assert_eq!(
                seals.get(&key),
                Some(&sha256_hex(text.as_bytes())),
                "{key} is not sealed as it stands"
            );
        }
    }
    assert_eq!(store::stock::astray(&mut db).await.unwrap(), 0);
    for need in store::stock::needs_after(&mut db, gaugewright::record::GaugeId(0), 1000)
        .await
        .unwrap()
    {
        let computed = acts::refresh_due::computed_need(&mut db, need.gauge_id)
            .await
            .unwrap();
        assert_eq!(computed, Some(need));
    }
}

mod list {
    use super::*;

    #[tokio::test]
    async fn an_empty_storeroom_says_how_it_is_filled_and_by_whom() {
        let plant = Plant::new().await;
        let mut keeper = plant.storekeeper().await;
        keeper
            .get("/storeroom")
            .await
            .is(StatusCode::OK)
            .says("Add the first kit");
        let mut technician = plant.technician().await;
        technician
            .get("/storeroom")
            .await
            .is(StatusCode::OK)
            .says("A storekeeper or the reliability engineer adds them");
    }

    #[tokio::test]
    async fn a_kit_is_short_where_less_may_be_used_than_falls_due_within_ninety_days() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let kit = adds_kit(&mut engineer, &[]).await;
        receives(&mut engineer, &kit, ("A1", "1"), "").await;
        takes_in_gauge(&mut engineer, "LG-1107A", "1").await;
        // 4 wanted by 30 April, 1 on hand: 3 missing; ten days earlier is 20 April; a pack is 5.
        engineer
            .get("/storeroom")
            .await
            .says("1 kit is short for the next 90 days")
            .says("1 4 3 30 Apr 2026 20 Apr 2026 in 49 days; order 5");
        engineer
            .get(&kit)
            .await
            .says("TW-K-250R is 3 short for the next 90 days")
            .says("Order 5 by 20 Apr 2026")
            .says("LG-1107A BH-D-101 30 Apr 2026");
        receives(&mut engineer, &kit, ("A2", "3"), "").await;
        engineer
            .get("/storeroom")
            .await
            .says("Every kit covers the next 90 days");
        all_is_sealed_and_true(&plant).await;
    }

    #[tokio::test]
    async fn a_rebuild_beyond_ninety_days_wants_nothing_yet() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let kit = adds_kit(&mut engineer, &[]).await;
        takes_in_gauge(&mut engineer, "LG-1107A", "1").await;
        // 30 April less 90 days is 30 January.
        plant.turn_to(time::macros::datetime!(2026-01-29 12:00 UTC));
        let mut engineer = plant.engineer().await;
        engineer
            .get(&kit)
            .await
            .says("has nothing on the shelf and nothing wants it");
        plant.turn_to(time::macros::datetime!(2026-01-30 12:00 UTC));
        let mut engineer = plant.engineer().await;
        engineer.get(&kit).await.says("is 4 short");
    }

    #[tokio::test]
    async fn expired_kits_do_not_count_as_stock_that_may_be_used() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let kit = adds_kit(&mut engineer, &[("shelf_life_months", "24")]).await;
        receives(&mut engineer, &kit, ("OLD", "6"), "2026-03-01").await;
        receives(&mut engineer, &kit, ("LAST", "2"), "2026-03-02").await;
        takes_in_gauge(&mut engineer, "LG-1107A", "1").await;
        // Today is 2 March: a last day of today still counts for today, yesterday's does not.
        engineer
            .get("/storeroom")
            .await
            .says("2 on the shelf may be used, 6 may not");
        engineer
            .get(&kit)
            .await
            .says("no, expired")
            .says("Take lot LAST first");
    }

    #[tokio::test]
    async fn a_lot_that_expires_before_the_day_it_is_wanted_does_not_cover_it() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let kit = adds_kit(&mut engineer, &[("shelf_life_months", "24")]).await;
        receives(&mut engineer, &kit, ("SOON", "10"), "2026-04-29").await;
        takes_in_gauge(&mut engineer, "LG-1107A", "1").await;
        engineer
            .get(&kit)
            .await
            .says("TW-K-250R is 4 short")
            .says("10 kits on the shelf expire unused within 90 days");
        receives(&mut engineer, &kit, ("LATER", "4"), "2026-04-30").await;
        engineer
            .get(&kit)
            .await
            .says("TW-K-250R covers the next 90 days");
    }

    #[tokio::test]
    async fn kits_in_hand_for_an_open_rebuild_are_not_wanted_twice() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let kit = adds_kit(&mut engineer, &[]).await;
        receives(&mut engineer, &kit, ("A1", "4"), "").await;
        takes_in_gauge(&mut engineer, "LG-1107A", "1").await;
        let rebuild = plans_rebuild(&plant, "LG-1107A").await;
        let lot = lot_id(&plant, "A1").await;
        let mut deed = plant.deed_of(Role::Technician).await;
        stock::issue(&mut deed, rebuild, lot, 3).await.unwrap();
        deed.commit("").await.unwrap();
        engineer
            .get(&kit)
            .await
            .says("1 on the shelf may be used, 1 wanted");
        let mut deed = plant.deed_of(Role::Storekeeper).await;
        stock::take_back(&mut deed, lot, Some(rebuild), 1, "")
            .await
            .unwrap();
        deed.commit("").await.unwrap();
        engineer
            .get(&kit)
            .await
            .says("2 on the shelf may be used, 2 wanted");
        let mut deed = plant.deed_of(Role::Technician).await;
        stock::issue(&mut deed, rebuild, lot, 2).await.unwrap();
        deed.commit("").await.unwrap();
        engineer
            .get(&kit)
            .await
            .says("has nothing on the shelf and nothing wants it");
        // The lot's ledger names the rebuild, and the gauge's history the movement.
        let mut db = plant.store.read().await.unwrap();
        let gauge = store::gauges::id_of(&mut db, "LG-1107A")
            .await
            .unwrap()
            .unwrap();
        let history = store::audit::of_gauge(&mut db, gauge, i64::MAX, 10)
            .await
            .unwrap();
        assert_eq!(history[0].deed, "issued");
        assert_eq!(history[0].subject, "kit TW-K-250R lot A1");
        all_is_sealed_and_true(&plant).await;
    }

    /// Corrects the gauge's kit from the version that was read.
    async fn names_kit(engineer: &mut Visitor, (kit, version): (&str, &str)) {
        let fields = [
            ("tag", "LG-1107A"),
            ("area", "1"),
            ("class", "1"),
            ("kind", "reflex"),
            ("sections", "4"),
            ("bolt_form", "bolts"),
            ("isolation", "in-service"),
            ("installed_on", "2024-10-31"),
            ("kit", kit),
            ("kits_per_rebuild", "4"),
            ("version", version),
        ];
        let page = "/gauges/LG-1107A/edit";
        engineer
            .fill(page, page, &fields)
            .await
            .is(StatusCode::SEE_OTHER);
    }

    #[tokio::test]
    async fn a_gauge_that_names_no_kit_is_said_so_and_naming_one_moves_the_want() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let kit = adds_kit(&mut engineer, &[]).await;
        let other = adds_kit(&mut engineer, &[("number", "TW-K-320R")]).await;
        takes_in_gauge(&mut engineer, "LG-1107A", "").await;
        engineer
            .get("/storeroom")
            .await
            .says("1 gauge due in that time names no kit");
        names_kit(&mut engineer, ("1", "1")).await;
        engineer.get(&kit).await.says("is 4 short");
        names_kit(&mut engineer, ("2", "2")).await;
        engineer.get(&kit).await.says("nothing wants it");
        engineer.get(&other).await.says("is 4 short");
        all_is_sealed_and_true(&plant).await;
    }

    #[tokio::test]
    async fn the_list_goes_on_by_kit_number_and_is_searched_by_number_or_name() {
        let plant = Plant::new().await;
        let mut deed = plant.deed_of(Role::Engineer).await;
        for n in 0..53 {
            let kit = gaugewright::record::kit::Kit {
                id: gaugewright::record::KitId(0),
                number: format!("TW-K-{n:03}").parse().unwrap(),
                name: format!("kit of length {n}"),
                kind: gaugewright::record::gauge::Kind::Reflex,
                glass_length_mm: None,
                contents: String::new(),
                shelf_life_months: None,
                lead_days: 1,
                pack: 1,
                minimum: 1,
                version: 0,
            };
            acts::kits::add(&mut deed, &kit).await.unwrap();
        }
        deed.commit("").await.unwrap();
        let mut inspector = plant.inspector().await;
        inspector
            .get("/storeroom")
            .await
            .says("TW-K-049")
            .does_not_say("TW-K-050")
            .says("Next 50");
        inspector
            .get("/storeroom?after=TW-K-049")
            .await
            .says("TW-K-050")
            .says("TW-K-052")
            .does_not_say("TW-K-049")
            .does_not_say("Next 50");
        inspector
            .get("/storeroom?q=LENGTH%2017")
            .await
            .says("TW-K-017")
            .does_not_say("TW-K-018");
    }
}

mod kit {
    use super::*;

    #[tokio::test]
    async fn the_lot_that_expires_first_stands_first_and_lots_that_keep_stand_last() {
        let plant = Plant::new().await;
        let mut keeper = plant.storekeeper().await;
        let kit = adds_kit(&mut keeper, &[]).await;
        receives(&mut keeper, &kit, ("KEEPS", "2"), "").await;
        receives(&mut keeper, &kit, ("LATE", "2"), "2027-01-31").await;
        receives(&mut keeper, &kit, ("EARLY", "2"), "2026-06-30").await;
        let page = keeper.get(&kit).await;
        page.says("Take lot EARLY first, at rack 3, bay B");
        let at = |lot: &str| page.text.find(&format!("/lots/{lot}\"")).unwrap();
        assert!(at("EARLY") < at("LATE") && at("LATE") < at("KEEPS"));
        keeper
            .get("/storeroom/kits/TW-K-250R/lots/LATE/issue")
            .await
            .says("Lot EARLY goes out before this one");
    }

    #[tokio::test]
    async fn a_used_up_lot_leaves_the_shelf_and_stays_in_the_register() {
        let plant = Plant::new().await;
        let mut keeper = plant.storekeeper().await;
        let kit = adds_kit(&mut keeper, &[]).await;
        let lot = receives(&mut keeper, &kit, ("A1", "2"), "").await;
        moves(
            &mut keeper,
            &lot,
            "scrap",
            &[("quantity", "2"), ("reason", "chipped glass")],
        )
        .await
        .is(StatusCode::SEE_OTHER);
        keeper
            .get(&kit)
            .await
            .says("Nothing lies on the shelf")
            .says("Lots used up A1");
        keeper.get(&lot).await.says("Lot A1 holds 0");
        all_is_sealed_and_true(&plant).await;
    }

    #[tokio::test]
    async fn a_kit_that_is_not_there_is_said_so() {
        let plant = Plant::new().await;
        let mut keeper = plant.storekeeper().await;
        for path in [
            "/storeroom/kits/NONE",
            "/storeroom/kits/NONE/edit",
            "/storeroom/kits/NONE/receive",
            "/storeroom/kits/NONE/lots/A1",
            "/storeroom/kits/NONE/lots/A1/count",
            "/storeroom/kits/NONE/lots/A1/edit",
        ] {
            keeper.get(path).await.is(StatusCode::NOT_FOUND);
        }
    }
}

mod edit_kit {
    use super::*;

    #[tokio::test]
    async fn a_kit_is_known_by_a_number_with_any_letters() {
        let plant = Plant::new().await;
        let mut keeper = plant.storekeeper().await;
        let kit = adds_kit(&mut keeper, &[("number", "ŚW.K_Länge-250ß")]).await;
        assert_eq!(kit, "/storeroom/kits/%C5%9AW.K_L%C3%A4nge-250%C3%9F");
        keeper
            .get(&kit)
            .await
            .is(StatusCode::OK)
            .says("ŚW.K_Länge-250ß");
        let lot = receives(&mut keeper, &kit, ("A1", "2"), "").await;
        keeper.get(&lot).await.says("ŚW.K_Länge-250ß");
    }

    #[tokio::test]
    async fn pressing_twice_adds_one_kit() {
        let plant = Plant::new().await;
        let mut keeper = plant.storekeeper().await;
        let key = keeper.get("/storeroom/new-kit").await.field("key");
        let mut fields = vec![("key", key.as_str())];
        fields.extend_from_slice(KIT);
        let first = keeper.post("/storeroom/new-kit", &fields).await;
        let second = keeper.post("/storeroom/new-kit", &fields).await;
        assert_eq!(first.goes_to(), second.goes_to());
        keeper.get("/storeroom").await.says("1 kit;");
    }

    #[tokio::test]
    async fn a_number_that_is_taken_is_refused_whatever_its_case_and_what_was_typed_stays() {
        let plant = Plant::new().await;
        let mut keeper = plant.storekeeper().await;
        adds_kit(&mut keeper, &[]).await;
        let again = but(KIT, &[("number", "tw-k-250r"), ("name", "another")]);
        let answer = keeper
            .fill("/storeroom/new-kit", "/storeroom/new-kit", &again)
            .await;
        answer
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("Another kit is tw-k-250r already");
        assert_eq!(answer.field("name"), "another");
    }

    #[tokio::test]
    async fn every_fault_of_the_form_is_named_at_once() {
        let plant = Plant::new().await;
        let mut keeper = plant.storekeeper().await;
        let wrong = but(
            KIT,
            &[
                ("number", "A B"),
                ("name", " "),
                ("lead_days", "soon"),
                ("pack", "0"),
                ("shelf_life_months", "9999"),
            ],
        );
        keeper
            .fill("/storeroom/new-kit", "/storeroom/new-kit", &wrong)
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("a space is not allowed")
            .says("Say what it is for")
            .says("Write a whole number from 0 to 1000")
            .says("Write a whole number from 1 to 1000")
            .says("Write a whole number from 1 to 240");
    }

    #[tokio::test]
    async fn the_second_saver_sees_what_the_first_one_changed_and_loses_nothing() {
        let plant = Plant::new().await;
        let mut keeper = plant.storekeeper().await;
        let mut engineer = plant.engineer().await;
        let kit = adds_kit(&mut keeper, &[]).await;
        let page = format!("{kit}/edit");
        let slower = keeper.get(&page).await;
        let first = but(KIT, &[("lead_days", "30"), ("version", "1")]);
        engineer
            .fill(&page, &page, &first)
            .await
            .is(StatusCode::SEE_OTHER);
        let key = slower.field("key");
        let second = but(
            KIT,
            &[("name", "mine"), ("version", "1"), ("key", key.as_str())],
        );
        let refused = keeper.post(&page, &second).await;
        refused
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says(
                "Kit TW-K-250R was changed by Test reliability engineer since you opened this page",
            )
            .says("30 days");
        assert_eq!(refused.field("name"), "mine");
        assert_eq!(refused.field("version"), "2");
        all_is_sealed_and_true(&plant).await;
    }
}

mod receive {
    use super::*;

    #[tokio::test]
    async fn a_lot_is_kept_under_the_number_its_maker_marked() {
        let plant = Plant::new().await;
        let mut keeper = plant.storekeeper().await;
        let kit = adds_kit(&mut keeper, &[]).await;
        for number in [
            "24/117 #3",
            "Ł-0,5% (b)?&a=b",
            "..",
            "a+b%2Fc",
            "\"><b>'",
            "批号 7",
        ] {
            if number == ".." {
                let page = format!("{kit}/receive");
                let fields = [
                    ("lot", number),
                    ("quantity", "1"),
                    ("received_on", "2026-01-05"),
                ];
                keeper
                    .fill(&page, &page, &fields)
                    .await
                    .is(StatusCode::UNPROCESSABLE_ENTITY)
                    .says("A lot number needs a letter or a digit");
                continue;
            }
            let lot = receives(&mut keeper, &kit, (number, "3"), "").await;
            keeper.get(&lot).await.is(StatusCode::OK).says("holds 3");
            moves(
                &mut keeper,
                &lot,
                "issue",
                &[("quantity", "1"), ("reason", "bench training")],
            )
            .await
            .is(StatusCode::SEE_OTHER);
            keeper.get(&lot).await.says("holds 2");
        }
    }

    #[tokio::test]
    async fn the_last_day_follows_from_the_day_made_and_the_shelf_life_in_calendar_months() {
        let plant = Plant::new().await;
        let mut keeper = plant.storekeeper().await;
        let kit = adds_kit(&mut keeper, &[("shelf_life_months", "18")]).await;
        let page = format!("{kit}/receive");
        let made = [
            ("lot", "A1"),
            ("quantity", "4"),
            ("received_on", "2026-01-05"),
            ("made_on", "31 Aug 2025"),
        ];
        let answer = keeper.fill(&page, &page, &made).await;
        answer.is(StatusCode::SEE_OTHER);
        // library: python-dateutil (2025-08-31 + 18 months = 2027-02-28)
        keeper.get(answer.goes_to()).await.says("28 Feb 2027");
        let longer = but(&made, &[("lot", "A2"), ("expires_on", "2027-03-01")]);
        keeper
            .fill(&page, &page, &longer)
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("it may be used until 2027-02-28; the day written here is later");
        let neither = but(&made, &[("lot", "A3"), ("made_on", "")]);
        keeper
            .fill(&page, &page, &neither)
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("This kit keeps 18 months");
    }

    #[tokio::test]
    async fn what_cannot_have_come_is_refused_and_nothing_is_half_written() {
        let plant = Plant::new().await;
        let mut keeper = plant.storekeeper().await;
        let kit = adds_kit(&mut keeper, &[]).await;
        let page = format!("{kit}/receive");
        let good = [
            ("lot", "A1"),
            ("quantity", "4"),
            ("received_on", "2026-03-02"),
        ];
        for (change, words) in [
            (("received_on", "2026-03-03"), "This day is still to come"),
            (("expires_on", "2026-03-01"), "had expired when it came"),
            (("quantity", "0"), "Write a whole number from 1 to 10000"),
            (("quantity", "4.5"), "Write a whole number"),
            (("lot", ""), "A lot number is needed"),
            (("received_on", "02/03/26"), "Write the date as"),
        ] {
            keeper
                .fill(&page, &page, &but(&good, &[change]))
                .await
                .is(StatusCode::UNPROCESSABLE_ENTITY)
                .says(words);
        }
        keeper.get(&kit).await.says("Nothing lies on the shelf");
        keeper
            .fill(&page, &page, &good)
            .await
            .is(StatusCode::SEE_OTHER);
        keeper
            .fill(&page, &page, &good)
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("receive more into it on its own page");
        assert_eq!(ledger_of(&plant, "A1").await, (4, 4, 1));
    }

    #[tokio::test]
    async fn pressing_twice_receives_one_lot() {
        let plant = Plant::new().await;
        let mut keeper = plant.storekeeper().await;
        let kit = adds_kit(&mut keeper, &[]).await;
        let page = format!("{kit}/receive");
        let key = keeper.get(&page).await.field("key");
        let fields = [
            ("key", key.as_str()),
            ("lot", "A1"),
            ("quantity", "4"),
            ("received_on", "2026-03-02"),
        ];
        let first = keeper.post(&page, &fields).await;
        let second = keeper.post(&page, &fields).await;
        assert_eq!(first.goes_to(), second.goes_to());
        assert_eq!(ledger_of(&plant, "A1").await, (4, 4, 1));
    }
}

mod movement {
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
                let (movement, quantity) =
                    [("issue", "3"), ("scrap", "2"), ("receipt", "1")][n % 3];
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
            .says("may not be used any more: its last day was 2026-03-02");
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
            .says("The register says 10; say why it differs");
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
            .says("count \u{2212}2 8 two found broken Test storekeeper");
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
        keeper.get(&lot).await.says("count +1 9").says("count 0 8");
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
            .says("return +4 8 LG-1107A , rebuild 1");
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
        keeper.get(&lot).await.says("scrap \u{2212}1 2 wet gaskets");
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
            .says("20 Feb 2026 receipt +2 5 note 117");
        for (day, words) in [
            ("2026-03-03", "This day is still to come"),
            ("2026-01-04", "This lot first came on 2026-01-05"),
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
}

mod edit_lot {
    use super::*;

    #[tokio::test]
    async fn a_lot_is_moved_without_a_reason_and_its_last_day_corrected_with_one() {
        let plant = Plant::new().await;
        let mut keeper = plant.storekeeper().await;
        let kit = adds_kit(&mut keeper, &[]).await;
        let lot = receives(&mut keeper, &kit, ("A1", "3"), "2026-06-30").await;
        let page = format!("{lot}/edit");
        let was = [
            ("was_place", "rack 3, bay B"),
            ("was_expires_on", "2026-06-30"),
        ];
        let moved = but(&was, &[("place", "rack 1"), ("expires_on", "2026-06-30")]);
        keeper
            .fill(&page, &page, &moved)
            .await
            .is(StatusCode::SEE_OTHER);
        keeper.get(&lot).await.says("at rack 1");
        let was = [("was_place", "rack 1"), ("was_expires_on", "2026-06-30")];
        let later = but(&was, &[("place", "rack 1"), ("expires_on", "2027-06-30")]);
        keeper
            .fill(&page, &page, &later)
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("Say why the last day is another");
        keeper
            .fill(
                &page,
                &page,
                &but(&later, &[("reason", "maker's letter of 3 Feb")]),
            )
            .await
            .is(StatusCode::SEE_OTHER);
        keeper.get(&lot).await.says("30 Jun 2027");
        all_is_sealed_and_true(&plant).await;
    }

    #[tokio::test]
    async fn the_second_mover_of_a_lot_is_told() {
        let plant = Plant::new().await;
        let mut keeper = plant.storekeeper().await;
        let kit = adds_kit(&mut keeper, &[]).await;
        let lot = receives(&mut keeper, &kit, ("A1", "3"), "").await;
        let page = format!("{lot}/edit");
        let was = [("was_place", "rack 3, bay B"), ("was_expires_on", "")];
        keeper
            .fill(
                &page,
                &page,
                &but(&was, &[("place", "rack 1"), ("expires_on", "")]),
            )
            .await
            .is(StatusCode::SEE_OTHER);
        keeper
            .fill(
                &page,
                &page,
                &but(&was, &[("place", "rack 2"), ("expires_on", "")]),
            )
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("Lot A1 was changed by Test storekeeper")
            .says("the register now holds: rack 1");
    }
}

mod lot {
    use super::*;

    #[tokio::test]
    async fn the_ledger_of_a_lot_shows_the_running_balance_page_by_page() {
        let plant = Plant::new().await;
        let mut keeper = plant.storekeeper().await;
        let kit = adds_kit(&mut keeper, &[]).await;
        let page = receives(&mut keeper, &kit, ("A1", "100"), "").await;
        let lot = lot_id(&plant, "A1").await;
        for _ in 0..60 {
            let mut deed = plant.deed_of(Role::Storekeeper).await;
            stock::issue_without_rebuild(&mut deed, lot, 1, "bench training")
                .await
                .unwrap();
            deed.commit("").await.unwrap();
        }
        let first = keeper.get(&page).await;
        first
            .says("holds 40")
            .says("issue \u{2212}1 40")
            .says("issue \u{2212}1 89");
        let at = first.text.find("?before=").unwrap();
        let next: String = first.text[at..].chars().take_while(|c| *c != '"').collect();
        keeper
            .get(&format!("{page}{next}"))
            .await
            .says("issue \u{2212}1 90")
            .says("receipt +100 100")
            .does_not_say("issue \u{2212}1 89");
    }
}

mod ledger {
    use super::*;

    #[tokio::test]
    async fn every_movement_of_the_storeroom_stands_in_the_ledger_the_latest_first() {
        let plant = Plant::new().await;
        let mut keeper = plant.storekeeper().await;
        keeper
            .get("/storeroom/ledger")
            .await
            .says("Nothing has moved in the storeroom");
        let kit = adds_kit(&mut keeper, &[]).await;
        receives(&mut keeper, &kit, ("A1", "3"), "").await;
        receives(&mut keeper, &kit, ("A2", "5"), "").await;
        let page = keeper.get("/storeroom/ledger").await;
        page.says("5 Jan 2026 TW-K-250R A2 receipt +5 5")
            .says("5 Jan 2026 TW-K-250R A1 receipt +3 3");
        assert!(page.text.find("lots/A2").unwrap() < page.text.find("lots/A1").unwrap());
        keeper
            .get("/storeroom/ledger?before=2")
            .await
            .says("A1")
            .does_not_say("A2");
    }

    #[tokio::test]
    async fn neither_a_line_nor_a_lot_nor_a_kit_can_be_changed_or_taken_away() {
        let plant = Plant::new().await;
        let mut keeper = plant.storekeeper().await;
        let kit = adds_kit(&mut keeper, &[]).await;
        receives(&mut keeper, &kit, ("A1", "3"), "").await;
        for (statement, words) in [
            (
                "UPDATE stock_line SET quantity = 2, balance = 2",
                "A stock line is never changed",
            ),
            (
                "UPDATE stock_line SET reason = 'x'",
                "A stock line is never changed",
            ),
            ("DELETE FROM stock_line", "A stock line is never deleted"),
            (
                "DELETE FROM lot",
                "A lot is used up or scrapped, never deleted",
            ),
            ("UPDATE lot SET number = 'B1'", "are never changed"),
            (
                "UPDATE lot SET received_on = '2020-01-01'",
                "are never changed",
            ),
            ("DELETE FROM kit", "A kit is never deleted"),
            (
                "INSERT INTO stock_line (lot_id, kind, quantity, balance, at, on_date, person_id, reason) VALUES (1, 'issue', -1, 3, 'x', '2026-03-02', 1, 'free')",
                "The balance of the lot moved meanwhile",
            ),
            (
                "INSERT INTO stock_line (lot_id, kind, quantity, balance, at, on_date, person_id, reason) VALUES (1, 'issue', -4, -1, 'x', '2026-03-02', 1, 'free')",
                "The lot does not hold that many any more",
            ),
        ] {
            let mut tx = plant.store.write().await.unwrap();
            let error = sqlx::query(statement).execute(&mut *tx).await.unwrap_err();
            let refusal = store::Error::from(error);
            assert!(
                matches!(&refusal, store::Error::Refused(why) if why.to_string().contains(words)),
                "{statement}: {refusal}"
            );
        }
        assert_eq!(ledger_of(&plant, "A1").await, (3, 3, 1));
    }
}

mod roles {
    use super::*;
    use gaugewright::pages::routes::{Access, table};

    #[tokio::test]
    async fn storekeepers_and_engineers_keep_the_storeroom_and_everybody_sees_it() {
        let plant = Plant::new().await;
        let mut keeper = plant.storekeeper().await;
        let kit = adds_kit(&mut keeper, &[]).await;
        receives(&mut keeper, &kit, ("A1", "3"), "").await;
        for role in Role::ALL {
            let mut somebody = plant.signed_in(*role).await;
            let keeps = matches!(role, Role::Storekeeper | Role::Engineer);
            for route in table() {
                if !route.path.starts_with("/storeroom") {
                    continue;
                }
                let path = route
                    .path
                    .replace("{kit}", "TW-K-250R")
                    .replace("{lot}", "A1")
                    .replace("{movement}", "count");
                let forms = route.access != Access::Roles(Role::ALL);
                let answer = if route.method == axum::http::Method::GET {
                    somebody.get(&path).await
                } else {
                    somebody.post(&path, &[]).await
                };
                let expected = match (forms && !keeps, route.method.as_str()) {
                    (true, _) => StatusCode::FORBIDDEN,
                    (false, "GET") => StatusCode::OK,
                    // Let in, and refused for the form's missing key.
                    (false, _) => StatusCode::BAD_REQUEST,
                };
                assert_eq!(answer.status, expected, "{role}: {} {path}", route.method);
            }
            let page = somebody.get("/storeroom/kits/TW-K-250R/lots/A1").await;
            assert_eq!(page.text.contains("/count\""), keeps, "{role}");
        }
    }
}
