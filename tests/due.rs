//! The due list: by real latest date, with the rule that set it.

mod by_hand;
pub mod work;

mod list {
    use crate::gauges::hang;
    use crate::plant::{Plant, plain};

    /// Look-overs every 3 months in area 1, every 12 in area 2 of the test plant.
    async fn three() -> (Plant, crate::plant::Visitor) {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        for (tag, area, class, installed) in [
            ("LG-1", "1", "1", "2026-02-20"),
            ("LG-2", "1", "1", "2024-01-31"),
            ("LG-3", "2", "2", "2025-03-15"),
        ] {
            let fields = [
                ("tag", tag),
                ("area", area),
                ("class", class),
                ("installed_on", installed),
            ];
            hang(&mut engineer, &fields).await;
        }
        (plant, engineer)
    }

    #[tokio::test]
    async fn gauges_stand_by_their_latest_date_with_the_rule_beside_it() {
        let (_plant, mut engineer) = three().await;
        let page = engineer.get("/due").await;
        page.says("1 gauge past due")
            .says("LG-2 BH-D-101 steam drum look-over interval rebuild by 31 Jul 2025 30 Apr 2024");
        let text = plain(&page.text);
        let place = |tag: &str| text.find(tag).expect(tag);
        assert!(place("LG-2") < place("LG-3") && place("LG-3") < place("LG-1"));
    }

    /// What is due is a look at the gauge and no rebuild; who may do it is led to it.
    #[tokio::test]
    async fn each_line_offers_the_work_its_rule_asks_for_to_those_who_do_it() {
        let (plant, mut engineer) = three().await;
        let look_over = "href=\"/gauges/LG-2/look-over\"";
        for mut who in [plant.technician().await, plant.inspector().await] {
            let page = who.get("/due").await;
            page.says("What to do").says("look over LG-2");
            assert!(page.text.contains(look_over), "{}", page.text);
        }
        let page = plant.storekeeper().await.get("/due").await;
        assert!(!page.text.contains(look_over), "{}", page.text);
        // Looked over today, LG-2 is still past the rebuild of 31 July 2025: that is planned.
        let done = [("found", "sound"), ("on", "2026-03-02")];
        let address = "/gauges/LG-2/look-over";
        engineer.fill(address, address, &done).await;
        engineer.get("/due").await.says("plan a rebuild LG-2");
        plant
            .technician()
            .await
            .get("/due")
            .await
            .says("rebuild interval 31 Jul 2025")
            .says("not planned");
    }

    /// The look-over of LG-2 is due since 2024, and its rebuild since 31 July 2025: neither waits for the
    /// other. LG-1 is rebuilt by 20 August 2027 only, which is not near.
    #[tokio::test]
    async fn a_look_over_before_a_rebuild_past_due_offers_both() {
        let (plant, mut engineer) = three().await;
        let page = engineer.get("/due").await;
        page.says("look over LG-2 · plan a rebuild LG-2")
            .says("no kit named look over LG-2")
            .says("takes none look over LG-1")
            .does_not_say("plan a rebuild LG-1");
        plant
            .technician()
            .await
            .get("/due")
            .await
            .says("look over LG-2 · rebuild not planned");
        // 2 October 2024 and 18 months is 2 April 2026: 31 days from 2 March there is nothing to plan yet,
        // 30 days from 3 March there is. Looked over on 20 December, it is to be looked over by 20 March.
        let fields = [
            ("tag", "LG-4"),
            ("class", "1"),
            ("installed_on", "2024-10-02"),
        ];
        hang(&mut engineer, &fields).await;
        let address = "/gauges/LG-4/look-over";
        let done = [("found", "sound"), ("on", "2025-12-20")];
        let answer = engineer.fill(address, address, &done).await;
        answer.is(axum::http::StatusCode::SEE_OTHER);
        engineer
            .get("/due")
            .await
            .says("look over LG-4")
            .does_not_say("plan a rebuild LG-4");
        plant.turn_to(time::macros::datetime!(2026-03-03 09:00 UTC));
        let mut engineer = plant.engineer().await;
        engineer.get("/due").await.says("plan a rebuild LG-4");
        // Planned: the list says so and offers it no more.
        let fields = [("cause", "interval"), ("planned_for", "2026-03-20")];
        let page = "/gauges/LG-2/rebuild";
        let answer = engineer.fill(page, page, &fields).await;
        answer.is(axum::http::StatusCode::SEE_OTHER);
        engineer
            .get("/due")
            .await
            .says("look over LG-2 planned")
            .does_not_say("plan a rebuild LG-2");
    }

    #[tokio::test]
    async fn area_rule_and_day_filter_the_list_in_the_address() {
        let (_plant, mut engineer) = three().await;
        for (asked, there, not_there) in [
            ("area=2", "LG-3", "LG-1"),
            ("until=2026-04-01", "LG-3", "LG-1"),
            ("rule=look-over&area=1", "LG-1", "LG-3"),
        ] {
            engineer
                .get(&format!("/due?{asked}"))
                .await
                .says(there)
                .does_not_say(not_there);
        }
        engineer
            .get("/due?rule=recall")
            .await
            .says("Nothing falls due here");
    }

    #[tokio::test]
    async fn what_is_taken_away_as_a_table_is_what_the_page_shows_in_its_order() {
        use calamine::{Reader, Xlsx};
        let (_plant, mut engineer) = three().await;
        let page = engineer.get("/due?area=1").await;
        assert!(page.text.contains("/due/list.xlsx?area=1"), "{}", page.text);
        let sheet = engineer.get("/due/list.xlsx?area=1").await;
        let mut book: Xlsx<_> =
            calamine::open_workbook_from_rs(std::io::Cursor::new(sheet.bytes)).expect("a workbook");
        let range = book.worksheet_range_at(0).expect("a sheet").expect("cells");
        let cells: Vec<Vec<String>> = range
            .rows()
            .map(|row| row.iter().map(ToString::to_string).collect())
            .collect();
        let tags: Vec<&str> = cells.iter().map(|row| row[0].as_str()).collect();
        assert!(tags.contains(&"Area: Boiler House"), "{tags:?}");
        assert!(tags.ends_with(&["LG-2", "LG-1"]), "{tags:?}");
        let text = engineer.get("/due/list.csv?area=1").await.text;
        let lines: Vec<&str> = text.trim_start_matches('\u{feff}').lines().collect();
        assert_eq!(lines.len(), 3, "{text}");
        assert!(
            lines[1].starts_with("LG-2,BH-D-101,steam drum,look-over interval,2024-04-30,,"),
            "{text}"
        );
        assert!(
            lines[1].contains(",2024-04-30,-671,Boiler House,"),
            "{text}"
        );
        assert!(lines[2].starts_with("LG-1,"), "{text}");
        engineer
            .get("/due/list.txt")
            .await
            .is(axum::http::StatusCode::NOT_FOUND);
    }

    /// The look-over is due first; the rebuild of 20 March 2026 is near, so the page names its kits and its day.
    #[tokio::test]
    async fn the_table_names_the_near_rebuild_its_kits_and_what_to_do_as_the_page_does() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        crate::needs::adds_kit(&mut engineer).await;
        let fields = [
            ("tag", "LG-1"),
            ("class", "2"),
            ("installed_on", "2021-03-20"),
            ("kit", "1"),
            ("kits_per_rebuild", "2"),
        ];
        hang(&mut engineer, &fields).await;
        engineer
            .get("/due")
            .await
            .says("look-over interval rebuild by 20 Mar 2026")
            .says("2 × TW-K-250R");
        let table = engineer.get("/due/list.csv").await.text;
        let heads = "Window,Rebuild by,Latest date,Days left,Area,Kit,Kits,What to do,Rebuild";
        assert!(table.contains(heads), "{table}");
        let line = table.lines().nth(1).expect("a line");
        assert!(line.contains(",2026-03-20,"), "{line}");
        assert!(line.contains(",TW-K-250R,2,"), "{line}");
        assert!(line.contains("look over"), "{line}");
    }

    #[tokio::test]
    async fn the_state_of_a_rebuild_is_told_in_words() {
        let bench = crate::bench::world::Bench::new().await.on_test().await;
        let mut engineer = bench.plant.engineer().await;
        let page = engineer.get("/due").await;
        page.says("on test").does_not_say("on-test");
        let table = engineer.get("/due/list.csv").await;
        assert!(table.text.contains(",on test"), "{}", table.text);
    }

    #[tokio::test]
    async fn a_look_over_asks_for_no_kit_and_no_window_and_names_the_rebuild_beside_it() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        // Cold water: look-over every 12 months, rebuild every 60; no window is agreed.
        let fields = [
            ("tag", "LG-1"),
            ("class", "2"),
            ("isolation", "shutdown-only"),
            ("installed_on", "2025-05-20"),
        ];
        hang(&mut engineer, &fields).await;
        engineer
            .get("/due")
            .await
            .says("look-over interval rebuild by 20 May 2030, no shutdown window before it 20 May 2026")
            .does_not_say("no kit named");
        engineer.get("/").await.says("Next due");
    }

    #[tokio::test]
    async fn a_date_pulled_far_forward_says_that_a_later_window_would_move_it() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let fields = [
            ("tag", "LG-1"),
            ("isolation", "shutdown-only"),
            ("installed_on", "2026-02-20"),
        ];
        hang(&mut engineer, &fields).await;
        crate::windows::agree(&mut engineer, "1", "spring", ("2026-04-01", "2026-04-10")).await;
        // Rebuild by 20 August 2027, the only window ends on 10 April 2026: before the look-over, too.
        engineer
            .get("/due")
            .await
            .says("rebuild interval pulled to a window 20 Aug 2027, pulled to the last window agreed before it: 16 months early, until a later one is agreed 10 Apr 2026");
    }
}
