//! Search: anything people know by a number, found from the field in the frame of every page.

mod find {
    use axum::http::StatusCode;

    use crate::gauges::hang;
    use crate::plant::Plant;

    async fn furnished() -> Plant {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        hang(&mut engineer, &[("tag", "LG-1107A")]).await;
        hang(&mut engineer, &[("tag", "LG-1107B")]).await;
        plant
            .run(
                "INSERT INTO kit (number, name, kind, lead_days) VALUES ('TW-K-250R', 'Reflex 250', 'reflex', 30), ('TW-K-100%', 'All of it', 'reflex', 30);
                 INSERT INTO lot (kit_id, number, received_on) VALUES (1, 'L-2601', '2026-01-10');
                 INSERT INTO instrument (number, kind, description, range_low, range_high, unit) VALUES ('TQ-07', 'torque-wrench', 'short wrench', '10', '60', '[ft_i].[lbf_av]');
                 INSERT INTO kit_order (number, state, supplier, made_on, made_by) VALUES ('TW-O-2026-0001', 'draft', 'Northquay', '2026-02-01', 1);",
            )
            .await
            .expect("rows");
        plant
    }

    #[tokio::test]
    async fn a_tag_typed_whole_leads_straight_to_the_gauge_whatever_its_case() {
        let plant = furnished().await;
        let answer = plant.technician().await.get("/search?q=lg-1107a").await;
        assert_eq!(answer.status, StatusCode::SEE_OTHER);
        assert_eq!(answer.goes_to(), "/gauges/LG-1107A");
    }

    #[tokio::test]
    async fn a_piece_of_a_tag_lists_all_gauges_that_hold_it() {
        let plant = furnished().await;
        plant
            .technician()
            .await
            .get("/search?q=1107")
            .await
            .says("2 things hold \u{201c}1107\u{201d}")
            .says("LG-1107A")
            .says("LG-1107B");
    }

    #[tokio::test]
    async fn kits_lots_instruments_and_orders_are_found_by_their_numbers() {
        let plant = furnished().await;
        let mut keeper = plant.storekeeper().await;
        for (typed, page) in [
            ("tw-k-250r", "/storeroom/kits/TW-K-250R"),
            ("l-2601", "/storeroom/kits/TW-K-250R/lots/L-2601"),
            ("tq-07", "/instruments/TQ-07"),
            ("tw-o-2026-0001", "/orders/TW-O-2026-0001"),
        ] {
            let answer = keeper.get(&format!("/search?q={typed}")).await;
            assert_eq!(answer.status, StatusCode::SEE_OTHER, "{typed}");
            assert_eq!(answer.goes_to(), page);
        }
        keeper.get("/search?q=wrench").await.says("TQ-07");
    }

    #[tokio::test]
    async fn signs_that_mean_something_to_the_database_mean_themselves() {
        let plant = furnished().await;
        let mut keeper = plant.storekeeper().await;
        keeper.get("/search?q=100%25").await.says("TW-K-100%");
        for typed in ["%25%25", "_", "%22", "*", "LG-1107A%22%20OR%20%22"] {
            keeper
                .get(&format!("/search?q={typed}"))
                .await
                .is(StatusCode::OK);
        }
    }

    #[tokio::test]
    async fn what_nothing_holds_is_said_and_an_empty_search_says_what_can_be_found() {
        let plant = furnished().await;
        let mut inspector = plant.inspector().await;
        inspector
            .get("/search?q=XYZ-9")
            .await
            .says("Nothing holds \u{201c}XYZ-9\u{201d}");
        inspector
            .get("/search")
            .await
            .says("Find anything by its number");
    }
}
