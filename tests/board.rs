//! The board: the plant as racks of glasses by area, and the guide of its first hour.

mod guide;

mod racks {
    use crate::gauges::hang;
    use crate::plant::Plant;

    #[tokio::test]
    async fn an_empty_register_says_how_to_fill_it_to_those_who_may() {
        let plant = Plant::new().await;
        plant
            .engineer()
            .await
            .get("/")
            .await
            .says("0 gauges")
            .says("Bring in the plant\u{2019}s list");
        plant
            .technician()
            .await
            .get("/")
            .await
            .says("The reliability engineer brings in the plant\u{2019}s list");
    }

    #[tokio::test]
    async fn every_gauge_in_service_stands_as_a_glass_in_the_rack_of_its_area() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        for (tag, area, installed) in [
            ("LG-1", "1", "2024-01-31"),
            ("LG-2", "1", "2026-02-20"),
            ("LG-3", "2", "2025-12-20"),
        ] {
            let fields = [("tag", tag), ("area", area), ("installed_on", installed)];
            hang(&mut engineer, &fields).await;
        }
        let page = engineer.get("/").await;
        // Look-overs every three months: LG-1 is past, LG-3 is due on 20 March, LG-2 on 20 May.
        page.says("3 gauges, 1 past due")
            .says("1 more falls due within 30 days")
            .says("Boiler House 2 gauges with a date 1 past due, none within 30 days")
            .says("Tank Row 1 gauge with a date 1 within 30 days");
        for words in [
            "aria-label=\"LG-1, past due",
            "aria-label=\"LG-2, due in",
            "aria-label=\"LG-3, due in 18 days",
        ] {
            assert!(page.text.contains(words), "{words}");
        }
    }

    #[tokio::test]
    async fn an_area_of_more_than_sixty_gauges_stands_as_bars_with_their_figures() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        for n in 1..=61 {
            let tag = format!("LG-{n}");
            // Look-overs every three months: one is past due, sixty fall due on 20 May.
            let installed = if n == 1 { "2024-01-31" } else { "2026-02-20" };
            hang(&mut engineer, &[("tag", &tag), ("installed_on", installed)]).await;
        }
        let page = engineer.get("/").await;
        page.says("61 gauges, 1 past due")
            .says("Boiler House 61 gauges with a date 1 past due, none within 30 days")
            .says("past due 1 61 to 90 days 60");
        assert!(
            page.text
                .contains("aria-label=\"Boiler House: 1 past due, 0 within 30 days, 60 later")
        );
        assert!(!page.text.contains("aria-label=\"LG-2, due"));
    }

    #[tokio::test]
    async fn a_gauge_due_in_thirty_days_is_near_as_bar_and_as_glass_and_a_day_later_it_is_not() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        // Look-overs every three months, and today is 2 March 2026.
        for (n, installed) in [(1, "2026-01-01"), (2, "2026-01-02")] {
            let tag = format!("LG-{n}");
            hang(&mut engineer, &[("tag", &tag), ("installed_on", installed)]).await;
        }
        engineer
            .get("/")
            .await
            .says("Boiler House 2 gauges with a date 1 within 30 days");
        for n in 3..=61 {
            let tag = format!("LG-{n}");
            hang(
                &mut engineer,
                &[("tag", &tag), ("installed_on", "2026-01-02")],
            )
            .await;
        }
        engineer
            .get("/")
            .await
            .says("within 30 days 1 31 to 60 days 60");
    }

    #[tokio::test]
    async fn a_resting_gauge_stands_in_its_rack_as_an_outline() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        hang(&mut engineer, &[]).await;
        let standing = "/gauges/LG-1107A/standing";
        engineer
            .fill(
                standing,
                standing,
                &[
                    ("to", "resting"),
                    ("reason", "column out of use"),
                    ("version", "1"),
                ],
            )
            .await;
        let page = engineer.get("/").await;
        page.says("0 gauges with a date, 1 resting");
        assert!(page.text.contains("aria-label=\"LG-1107A, resting\""));
    }
}

mod undated {
    use crate::gauges::hang;
    use crate::plant::Plant;

    async fn two() -> Plant {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        for tag in ["LG-1", "LG-2"] {
            hang(&mut engineer, &[("tag", tag), ("installed_on", "")]).await;
        }
        plant
    }

    #[tokio::test]
    async fn a_plant_none_of_whose_gauges_has_a_date_is_not_said_to_be_past_none() {
        let plant = two().await;
        let mut engineer = plant.engineer().await;
        let none = "2 gauges, none of them with a due date yet";
        let board = engineer.get("/").await;
        board
            .says(none)
            .says("2 gauges have none , and the service classes hold the intervals")
            .does_not_say("none past due")
            .does_not_say("None falls due");
        assert!(board.text.contains("href=\"/gauges?due=none\""));
        engineer
            .get("/due")
            .await
            .says(none)
            .does_not_say("Nothing past due")
            .does_not_say("fall due within 30 days");
        // Who sets no interval is not sent there.
        plant
            .technician()
            .await
            .get("/")
            .await
            .says(none)
            .does_not_say("the service classes hold");
    }

    #[tokio::test]
    async fn gauges_without_a_date_are_counted_beside_the_others_and_listed() {
        let plant = two().await;
        let mut engineer = plant.engineer().await;
        hang(
            &mut engineer,
            &[("tag", "LG-3"), ("installed_on", "2026-02-20")],
        )
        .await;
        engineer
            .get("/")
            .await
            .says("3 gauges, none past due, 2 without a date");
        engineer
            .get("/due")
            .await
            .says("Nothing past due, 2 gauges without a date");
        engineer
            .get("/gauges?due=none")
            .await
            .says("2 of 3 gauges fit")
            .says("LG-1")
            .does_not_say("LG-3");
        engineer
            .get("/gauges?due=none&q=LG-3")
            .await
            .says("No gauge fits");
        // Looked over, one has a date; at rest, the other asks for none.
        let page = "/gauges/LG-1/look-over";
        engineer
            .fill(page, page, &[("found", "sound"), ("on", "2026-03-01")])
            .await;
        let page = "/gauges/LG-2/standing";
        let rest = [
            ("to", "resting"),
            ("reason", "column out of use"),
            ("version", "1"),
        ];
        engineer.fill(page, page, &rest).await;
        engineer
            .get("/")
            .await
            .says("3 gauges, none past due")
            .does_not_say("without a date");
        engineer.get("/gauges?due=none").await.says("No gauge fits");
        let findings = crate::verify::report(&plant).await.findings;
        assert!(findings.is_empty(), "{findings:?}");
    }
}

mod narrow {
    use crate::gauges::hang;
    use crate::plant::Plant;

    /// The column of kits is left out on a phone, and what stood in it stands beneath the date.
    #[tokio::test]
    async fn on_a_phone_the_kits_stand_beneath_the_date_and_not_in_a_column_that_is_cut() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        crate::needs::adds_kit(&mut engineer).await;
        let fields = [
            ("class", "1"),
            ("installed_on", "2024-10-31"),
            ("kit", "1"),
            ("kits_per_rebuild", "2"),
        ];
        hang(&mut engineer, &fields).await;
        let found = [("found", "sound"), ("on", "2026-03-01")];
        let look_over = "/gauges/LG-1107A/look-over";
        engineer.fill(look_over, look_over, &found).await;
        for (page, kits) in [
            ("/", "2 × TW-K-250R 2 × TW-K-250R"),
            (
                "/due",
                "Boiler House 2 × TW-K-250R Boiler House 2 × TW-K-250R",
            ),
        ] {
            let shown = engineer.get(page).await;
            assert!(
                shown
                    .text
                    .contains("<th scope=\"col\" class=\"spare\">Kits</th>"),
                "{page}"
            );
            shown.says(kits);
        }
    }

    #[test]
    fn what_slides_sideways_shows_a_shade_at_the_edge_where_more_stands() {
        let style = include_str!("../static/style.css");
        let rule = style
            .split(".scroll,")
            .find(|rule| rule.contains("no-repeat local"))
            .expect("a rule of what slides");
        let rule = rule.split('}').next().unwrap_or_default();
        assert_eq!(rule.matches("no-repeat local").count(), 2, "{rule}");
        assert_eq!(rule.matches("var(--shade)").count(), 2, "{rule}");
    }
}

mod today {
    use time::macros::datetime;

    use crate::bench::world::Bench;
    use crate::gauges::hang;
    use crate::plant::Plant;

    #[tokio::test]
    async fn a_failure_in_service_is_named_first_to_those_who_answer_it() {
        let plant = Plant::new().await;
        hang(&mut plant.engineer().await, &[]).await;
        let failure = "/gauges/LG-1107A/failure";
        plant
            .technician()
            .await
            .fill(failure, failure, &[("kind", "leak")])
            .await;
        for mut who in [plant.technician().await, plant.engineer().await] {
            who.get("/")
                .await
                .says("For you today 1 gauge failed in service");
        }
        // An earlier date of another rule governs, and the leak is still found.
        plant
            .engineer()
            .await
            .get("/due?rule=failure")
            .await
            .says("LG-1107A")
            .says("look-over interval");
        plant
            .storekeeper()
            .await
            .get("/")
            .await
            .does_not_say("failed in service");
    }

    #[tokio::test]
    async fn a_technician_is_told_of_look_overs_past_due_and_of_rebuilds_that_should_have_begun() {
        let bench = Bench::new().await.planned().await;
        // Never looked over since 31 January 2024; the rebuild is planned for today.
        let mut technician = bench.plant.technician().await;
        let board = technician.get("/").await;
        board
            .says("1 look-over is past due")
            .does_not_say("past its planned day");
        let past = "href=\"/due?rule=look-over&#38;until=2026-03-01\"";
        assert!(board.text.contains(past), "{}", board.text);
        technician
            .get("/due?rule=look-over&until=2026-03-01")
            .await
            .says("LG-1107A");
        bench.plant.turn_to(datetime!(2026-03-03 09:00 UTC));
        let mut technician = bench.plant.technician().await;
        technician
            .get("/")
            .await
            .says("1 rebuild is past its planned day and not begun");
        let found = [("found", "sound"), ("on", "2026-03-03")];
        let look_over = "/gauges/LG-1107A/look-over";
        technician.fill(look_over, look_over, &found).await;
        technician
            .get("/")
            .await
            .does_not_say("look-over is past due");
    }

    #[tokio::test]
    async fn a_storekeeper_is_told_of_lots_near_their_last_day_and_of_drafts_not_placed() {
        let plant = Plant::new().await;
        let mut keeper = plant.storekeeper().await;
        crate::needs::adds_kit(&mut keeper).await;
        // The thirtieth day from 2 March, and the one after it.
        crate::needs::receives(&mut keeper, "L-1", "3", "2026-04-01").await;
        crate::needs::receives(&mut keeper, "L-2", "3", "2026-04-02").await;
        let fields = [("kit", crate::needs::KIT), ("quantity", "10")];
        keeper.fill("/orders/new", "/orders/new", &fields).await;
        keeper
            .get("/")
            .await
            .says("1 lot on the shelf has its last day within 30 days")
            .says("1 order is drafted and not placed");
        plant
            .technician()
            .await
            .get("/")
            .await
            .does_not_say("last day within 30 days");
    }

    #[tokio::test]
    async fn an_administrator_is_asked_only_for_what_they_can_do() {
        let plant = Plant::new().await;
        hang(&mut plant.engineer().await, &[]).await;
        let failure = "/gauges/LG-1107A/failure";
        plant
            .technician()
            .await
            .fill(failure, failure, &[("kind", "leak")])
            .await;
        plant
            .administrator()
            .await
            .get("/")
            .await
            .does_not_say("failed in service");
    }
}
