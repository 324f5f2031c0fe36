//! What to order, through the pages, on a small plant whose answers were worked by hand: see
//! `reference/needs.rs` for the arithmetic and its sources.

mod by_hand;

use axum::http::StatusCode;

use crate::gauges::hang;
use crate::plant::{Plant, Visitor};
use crate::storeroom::all_is_sealed_and_true;

/// The kit of the small plant: keeps, ten days on the way, in packs of five.
pub const KIT: &str = "TW-K-250R";

pub async fn adds_kit(keeper: &mut Visitor) {
    keeper
        .fill(
            "/storeroom/new-kit",
            "/storeroom/new-kit",
            crate::storeroom::KIT,
        )
        .await
        .is(StatusCode::SEE_OTHER);
}

pub async fn receives(keeper: &mut Visitor, lot: &str, quantity: &str, last_day: &str) {
    let page = format!("/storeroom/kits/{KIT}/receive");
    let fields = [
        ("lot", lot),
        ("quantity", quantity),
        ("received_on", "2026-01-05"),
        ("expires_on", last_day),
        ("place", "rack 3"),
    ];
    keeper
        .fill(&page, &page, &fields)
        .await
        .is(StatusCode::SEE_OTHER);
}

/// Three gauges of one kit each, rebuilt by 30 April, 30 May and 15 December 2026; a stated rate that
/// makes three failures in 40 days.
pub async fn small_plant() -> (Plant, Visitor) {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    adds_kit(&mut engineer).await;
    for (tag, installed) in [
        ("LG-1", "2024-10-31"),
        ("LG-2", "2024-11-30"),
        ("LG-3", "2025-06-15"),
    ] {
        let fields = [
            ("tag", tag),
            ("installed_on", installed),
            ("kit", "1"),
            ("kits_per_rebuild", "1"),
        ];
        hang(&mut engineer, &fields).await;
    }
    let page = "/needs/rates/saturated%20steam";
    engineer
        .fill(
            page,
            page,
            &[("per_year", "9.13125"), ("ground", "made up for this test")],
        )
        .await
        .is(StatusCode::SEE_OTHER);
    (plant, engineer)
}

mod show {
    use super::*;

    #[tokio::test]
    async fn what_when_and_how_many_are_those_worked_by_hand() {
        let (plant, mut engineer) = small_plant().await;
        receives(&mut engineer, "K", "8", "").await;
        let page = engineer.get(&format!("/needs/kits/{KIT}")).await;
        page.says("Order 5 of TW-K-250R by 5 Dec 2026")
            .says("On 15 Dec 2026 planned rebuilds and 6 kept for failures are 1 more than what may be used")
            .says("On the way by 14 Jan 2027 0")
            .says("Planned rebuilds by then 3")
            .says("Kept for failures 6 3.00 on average in 40 days")
            // P(D ≤ 6) = 0.96649 at a mean of 3, any Poisson table.
            .says("Service level 95 % asked, 96.64 % reached")
            .says("packs of 5, at least 5")
            .says("Working: Reorder point")
            .says("Working: Failures to be expected")
            .says("as stated: made up for this test");
        all_is_sealed_and_true(&plant).await;
    }

    #[tokio::test]
    async fn a_lot_that_expires_first_brings_the_day_forward_and_is_named_as_a_loss() {
        let (_plant, mut engineer) = small_plant().await;
        receives(&mut engineer, "K", "5", "").await;
        receives(&mut engineer, "OLD", "3", "2026-05-15").await;
        engineer
            .get(&format!("/needs/kits/{KIT}"))
            .await
            .says("Order 5 of TW-K-250R by 6 May 2026")
            .says("Foreseen to expire unused, if no failure takes any: 2 of lot OLD");
    }

    #[tokio::test]
    async fn what_if_stands_in_the_address_and_changes_nothing() {
        let (_plant, mut engineer) = small_plant().await;
        receives(&mut engineer, "K", "8", "").await;
        engineer
            .get(&format!("/needs/kits/{KIT}?lead=60"))
            .await
            .says("What if: order")
            .says("Kept for failures 6 11");
        engineer
            .get(&format!("/needs/kits/{KIT}?level=99"))
            .await
            .says("Kept for failures 6 8");
        // Every six months LG-1 and LG-2 are past due at once and come round again.
        engineer
            .get(&format!("/needs/kits/{KIT}?interval=6"))
            .await
            .says("What if: order");
        engineer
            .get(&format!("/needs/kits/{KIT}?level=101"))
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("Write a percentage from 50 to 99.9999")
            .says("Order 5 of TW-K-250R by 5 Dec 2026");
        engineer
            .get(&format!("/needs/kits/{KIT}"))
            .await
            .does_not_say("What if: order");
    }

    #[tokio::test]
    async fn a_kit_that_is_not_there_is_said_so() {
        let plant = Plant::new().await;
        plant
            .storekeeper()
            .await
            .get("/needs/kits/NONE")
            .await
            .is(StatusCode::NOT_FOUND);
    }
}

mod list {
    use super::*;

    /// Nothing lies there: the kit is late. With eight it falls short in December, later than 30 days.
    #[tokio::test]
    async fn the_same_count_is_told_in_the_same_words_on_every_page() {
        let (_plant, mut engineer) = small_plant().await;
        for page in ["/needs", "/storeroom"] {
            engineer.get(page).await.says("1 kit to order now");
        }
        receives(&mut engineer, "K", "8", "").await;
        for page in ["/needs", "/storeroom"] {
            engineer
                .get(page)
                .await
                .says("Nothing to order within 30 days, 1 kit later")
                .says("Kits that fall short, by the day of their order");
        }
        // Another one with nothing on the shelf, which nobody wants: it is in neither count.
        let another = [("number", "TW-K-140R")];
        let fields: Vec<_> = crate::storeroom::KIT
            .iter()
            .copied()
            .filter(|(name, _)| *name != "number")
            .chain(another)
            .collect();
        engineer
            .fill("/storeroom/new-kit", "/storeroom/new-kit", &fields)
            .await
            .is(StatusCode::SEE_OTHER);
        for page in ["/needs", "/storeroom"] {
            engineer
                .get(page)
                .await
                .says("Nothing to order within 30 days, 1 kit later");
        }
    }

    #[tokio::test]
    async fn the_list_says_the_same_as_the_kit_s_page_and_follows_every_movement() {
        let (_plant, mut engineer) = small_plant().await;
        engineer.get("/needs").await.says("1 kit to order now");
        receives(&mut engineer, "K", "8", "").await;
        engineer
            .get("/needs")
            .await
            .says("Nothing to order within 30 days")
            .says("TW-K-250R reflex 250 mm, steam 5 Dec 2026 in 9 months 5 14 Jan 2027 8 0 3 6 15 Dec 2026");
        // A failure reported makes LG-3 due today: its kit is wanted now, and the shelf is one short.
        engineer
            .fill(
                "/gauges/LG-3/failure",
                "/gauges/LG-3/failure",
                &[("kind", "leak")],
            )
            .await
            .is(StatusCode::SEE_OTHER);
        engineer.get("/needs").await.says("20 May 2026");
    }

    #[tokio::test]
    async fn a_rebuild_planned_for_another_day_moves_the_need_and_reserves_its_kits() {
        let (plant, mut engineer) = small_plant().await;
        receives(&mut engineer, "K", "8", "").await;
        let page = "/gauges/LG-3/rebuild";
        engineer
            .fill(
                page,
                page,
                &[("cause", "interval"), ("planned_for", "2026-04-10")],
            )
            .await
            .is(StatusCode::SEE_OTHER);
        engineer
            .get(&format!("/needs/kits/{KIT}"))
            .await
            .says("by 20 May 2026")
            .says("Reserved by planned rebuilds LG-3 1 for 10 Apr 2026");
        // Eight may be used and one is reserved: eight are not given away for something else.
        let lot = format!("/storeroom/kits/{KIT}/lots/K/issue");
        let fields = [("quantity", "8"), ("reason", "lent to another works")];
        engineer
            .fill(&lot, &lot, &fields)
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("Planned rebuilds reserve 1 of the 8 that may be used");
        let knowingly = [fields[0], fields[1], ("despite", "yes")];
        engineer
            .fill(&lot, &lot, &knowingly)
            .await
            .is(StatusCode::SEE_OTHER);
        all_is_sealed_and_true(&plant).await;
    }
}

mod rules {
    use super::*;

    #[tokio::test]
    async fn the_plant_s_service_level_and_a_kit_s_own_are_reckoned_with() {
        let (plant, mut engineer) = small_plant().await;
        receives(&mut engineer, "K", "8", "").await;
        let page = "/needs/rules";
        let version = engineer.get(page).await.field("version");
        let fields = [
            ("version", version.as_str()),
            ("service_level", "99"),
            ("review_days", "30"),
            ("currency", "EUR"),
        ];
        engineer
            .fill(page, page, &fields)
            .await
            .is(StatusCode::SEE_OTHER);
        let needs = format!("/needs/kits/{KIT}");
        engineer.get(&needs).await.says("Kept for failures 8");
        let page = format!("{needs}/terms");
        let fields = [
            ("cost", "41.50"),
            ("supplier", "Fennel Gauge"),
            ("service_level", "95"),
            ("review_days", ""),
            ("version", "0"),
        ];
        engineer
            .fill(&page, &page, &fields)
            .await
            .is(StatusCode::SEE_OTHER);
        engineer
            .get(&needs)
            .await
            .says("Kept for failures 6")
            .says("Value 207.50 EUR");
        // From the page as it was before: somebody else has been here.
        engineer
            .fill(&page, &page, &fields)
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("saved this while you were editing");
        let wrong = [
            ("service_level", "20"),
            ("review_days", "30"),
            ("version", "1"),
        ];
        engineer
            .fill("/needs/rules", "/needs/rules", &wrong)
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("Write a percentage from 50 to 99.9999");
        all_is_sealed_and_true(&plant).await;
    }
}

mod rates {
    use super::*;

    #[tokio::test]
    async fn a_young_register_draws_no_rate_and_an_old_one_counts_half_a_failure_more() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        hang(&mut engineer, &[("tag", "LG-1")]).await;
        hang(&mut engineer, &[("tag", "LG-2")]).await;
        engineer
            .get("/needs/rates")
            .await
            .says("younger than a year, so no rate is drawn from it");
        plant.turn_to(time::macros::datetime!(2028-03-02 09:00 UTC));
        let mut engineer = plant.engineer().await;
        engineer
            .fill(
                "/gauges/LG-1/failure",
                "/gauges/LG-1/failure",
                &[("kind", "leak")],
            )
            .await;
        // 731 days of two gauges are 4.0027 gauge-years; 1.5 / 4.0027 = 0.3747.
        engineer
            .get("/needs/rates")
            .await
            .says("From the record since 2 Mar 2026, 2.0 years")
            .says("Failures per gauge and year")
            .says("saturated steam 2 1 0.3747");
    }
}

mod rate {
    use super::*;

    const PAGE: &str = "/needs/rates/saturated%20steam";

    #[tokio::test]
    async fn the_second_of_two_people_sees_both_rates_even_after_a_typing_error() {
        let (plant, mut first) = small_plant().await;
        let mut second = plant.administrator().await;
        let opened = second.get(PAGE).await;
        let (version, as_opened) = (opened.field("version"), opened.field("opened"));
        let as_opened = as_opened.replace("&#34;", "\"");
        first
            .fill(
                PAGE,
                PAGE,
                &[
                    ("per_year", "0.2"),
                    ("ground", "life data of 2025"),
                    ("version", "1"),
                ],
            )
            .await
            .is(StatusCode::SEE_OTHER);
        let fields = |ground| {
            [
                ("per_year", "0.3"),
                ("ground", ground),
                ("version", version.as_str()),
                ("opened", as_opened.as_str()),
            ]
        };
        let refused = second.fill(PAGE, PAGE, &fields("")).await;
        refused.is(StatusCode::UNPROCESSABLE_ENTITY);
        assert_eq!(refused.field("version"), "1", "the version that was read");
        second
            .fill(PAGE, PAGE, &fields("told by the maker"))
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("The register now holds 0.2, saved by Test reliability engineer; you typed 0.3");
        all_is_sealed_and_true(&plant).await;
    }

    #[tokio::test]
    async fn a_rate_that_kits_cannot_be_reckoned_with_is_refused() {
        let (plant, mut engineer) = small_plant().await;
        many(&plant, 1000).await;
        engineer
            .fill(
                PAGE,
                PAGE,
                &[
                    ("per_year", "100"),
                    ("ground", "a slip of the point"),
                    ("version", "1"),
                ],
            )
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("With this rate what to order of kit TW-K-250R cannot be reckoned");
    }

    /// That many more gauges of the class and kit, straight into the table.
    async fn many(plant: &Plant, gauges: u32) {
        plant
            .run(&format!(
                "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < {gauges})
                 INSERT INTO gauge (tag, area_id, service_class_id, standing, kind, sections, isolation, kit_id, kits_per_rebuild)
                 SELECT 'LX-' || i, 1, 1, 'in-service', 'reflex', 1, 'in-service', 1, 1 FROM n"
            ))
            .await
            .expect("gauges");
    }

    #[tokio::test]
    async fn a_kit_that_cannot_be_reckoned_is_named_and_holds_no_other_up() {
        let (plant, mut engineer) = small_plant().await;
        let mut other = crate::storeroom::KIT.to_vec();
        other.retain(|(name, _)| *name != "number");
        other.push(("number", "TW-K-250G"));
        engineer
            .fill("/storeroom/new-kit", "/storeroom/new-kit", &other)
            .await
            .is(StatusCode::SEE_OTHER);
        many(&plant, 1000).await;
        plant
            .run("UPDATE class_rate SET failures_per_year = '100'")
            .await
            .expect("a rate");
        plant.turn_to(time::macros::datetime!(2026-03-03 09:00 UTC));
        let today = time::macros::date!(2026 - 03 - 03);
        let more = gaugewright::acts::needs::new_day(&plant.store, today).await;
        assert!(!more.expect("reckoned"), "it is tried once a day");
        let mut db = plant.store.read().await.expect("a reader");
        let left: i64 = sqlx::query_scalar(
            "SELECT count(*) FROM kit_outlook WHERE stale = 1 OR reckoned_on <> '2026-03-03'",
        )
        .fetch_one(&mut *db)
        .await
        .expect("a count");
        drop(db);
        assert_eq!(left, 0, "every kit was tried today");
        let mut keeper = plant.storekeeper().await;
        keeper
            .get("/needs")
            .await
            .says("What to order of these kits cannot be reckoned")
            .says(KIT);
    }
}

mod terms {
    use super::*;

    #[tokio::test]
    async fn the_second_of_two_people_sees_both_prices() {
        let (plant, mut first) = small_plant().await;
        let mut second = plant.storekeeper().await;
        let page = format!("/needs/kits/{KIT}/terms");
        let opened = second.get(&page).await;
        let (version, as_opened) = (opened.field("version"), opened.field("opened"));
        let as_opened = as_opened.replace("&#34;", "\"");
        first
            .fill(&page, &page, &[("cost", "120"), ("version", &version)])
            .await
            .is(StatusCode::SEE_OTHER);
        second
            .fill(
                &page,
                &page,
                &[
                    ("cost", "140"),
                    ("supplier", "Fennel Gauge"),
                    ("version", &version),
                    ("opened", &as_opened),
                ],
            )
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("The register now holds 120, saved by Test reliability engineer; you typed 140");
        all_is_sealed_and_true(&plant).await;
    }

    #[tokio::test]
    async fn a_kit_that_may_stand_in_is_named_with_what_has_to_be_minded() {
        let (plant, mut engineer) = small_plant().await;
        let mut other = crate::storeroom::KIT.to_vec();
        other.retain(|(name, _)| *name != "number");
        other.push(("number", "TW-K-250G"));
        engineer
            .fill("/storeroom/new-kit", "/storeroom/new-kit", &other)
            .await
            .is(StatusCode::SEE_OTHER);
        let page = format!("/needs/kits/{KIT}/terms");
        let action = format!("/needs/kits/{KIT}/stand-in");
        for (other, note, says) in [
            ("NONE", "fits", "No kit has this number"),
            (KIT, "fits", "That is this kit itself"),
            (
                "TW-K-250G",
                "",
                "Say in 3 to 500 characters what has to be minded",
            ),
        ] {
            engineer
                .fill(&page, &action, &[("other", other), ("note", note)])
                .await
                .is(StatusCode::UNPROCESSABLE_ENTITY)
                .says(says);
        }
        let fields = [("other", "TW-K-250G"), ("note", "graphite gaskets only")];
        engineer
            .fill(&page, &action, &fields)
            .await
            .is(StatusCode::SEE_OTHER);
        engineer
            .get(&format!("/storeroom/kits/{KIT}"))
            .await
            .says("May stand in: TW-K-250G (0 on the shelf; graphite gaskets only)");
        all_is_sealed_and_true(&plant).await;
    }
}
