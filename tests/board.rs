//! The board: the plant as racks of glasses by area.

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
}
