//! Shutdown windows: agreeing and moving them moves the gauges that wait for a shutdown.

mod filling;
mod moved;
mod plan;

use axum::http::StatusCode;

use crate::gauges::hang;
use crate::plant::{Answer, Plant, Visitor};

pub async fn agree(visitor: &mut Visitor, area: &str, name: &str, days: (&str, &str)) -> Answer {
    visitor
        .fill(
            "/windows/new",
            "/windows/new",
            &[
                ("area", area),
                ("name", name),
                ("starts_on", days.0),
                ("ends_on", days.1),
            ],
        )
        .await
}

/// A gauge that waits for a shutdown, rebuilt every 60 months: due 20 September 2026.
const WAITS: &[(&str, &str)] = &[
    ("isolation", "shutdown-only"),
    ("installed_on", "2021-09-20"),
    ("class", "2"),
];

async fn looked_over(visitor: &mut Visitor) {
    visitor
        .fill(
            "/gauges/LG-1107A/look-over",
            "/gauges/LG-1107A/look-over",
            &[("found", "sound"), ("on", "2026-03-01")],
        )
        .await
        .is(StatusCode::SEE_OTHER);
}

mod list {
    use super::*;

    #[tokio::test]
    async fn a_gauge_that_waits_for_a_shutdown_finds_none_until_one_is_agreed() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        hang(&mut engineer, WAITS).await;
        looked_over(&mut engineer).await;
        let mut technician = plant.technician().await;
        technician
            .get("/windows")
            .await
            .says("No shutdown window ahead, 1 gauge finds none in time")
            .says("Boiler House: 1 gauge finds no window before its date")
            .says("LG-1107A BH-D-101 steam drum rebuild interval 20 Sep 2026");
        agree(
            &mut engineer,
            "1",
            "spring shutdown",
            ("2026-05-04", "2026-05-15"),
        )
        .await
        .is(StatusCode::SEE_OTHER);
        technician
            .get("/windows")
            .await
            .says("1 shutdown window ahead")
            .does_not_say("finds none")
            .says("Boiler House spring shutdown 4 May 2026 in 2 months 15 May 2026 1 gauge");
    }

    /// A look-over needs no shutdown: that of LG-8 was due long ago, and its rebuild comes last.
    #[tokio::test]
    async fn gauges_without_a_window_stand_by_the_date_of_the_work_that_needs_one() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let later = [
            ("tag", "LG-8"),
            ("isolation", "shutdown-only"),
            ("installed_on", "2022-03-20"),
            ("class", "2"),
        ];
        hang(&mut engineer, &later).await;
        hang(&mut engineer, WAITS).await;
        looked_over(&mut engineer).await;
        engineer.get("/windows").await.says(
            "LG-1107A BH-D-101 steam drum rebuild interval 20 Sep 2026 in 7 months LG-8 BH-D-101 steam drum rebuild interval 20 Mar 2027",
        );
    }

    #[tokio::test]
    async fn windows_that_are_over_stand_apart() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        agree(
            &mut engineer,
            "1",
            "spring shutdown",
            ("2026-02-20", "2026-03-04"),
        )
        .await
        .is(StatusCode::SEE_OTHER);
        engineer.get("/windows").await.says("stands now");
        plant.turn_to(time::macros::datetime!(2026-03-05 01:00 UTC));
        let mut engineer = plant.engineer().await;
        engineer
            .get("/windows")
            .await
            .says("No shutdown window ahead")
            .says("Windows that are over (1)");
    }
}

mod show {
    use super::*;

    #[tokio::test]
    async fn a_window_lists_the_gauges_that_have_to_be_done_in_it() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        hang(&mut engineer, WAITS).await;
        hang(&mut engineer, &[("tag", "LG-2"), ("class", "2")]).await;
        looked_over(&mut engineer).await;
        for days in [
            ("2026-05-04", "2026-05-15"),
            ("2026-09-01", "2026-09-10"),
            ("2026-11-01", "2026-11-09"),
        ] {
            agree(&mut engineer, "1", "shutdown", days).await;
        }
        // Due 20 September: the last window that ends by then is September's.
        engineer
            .get("/windows/Boiler%20House/2026-09-01")
            .await
            .says("Boiler House stands 1 Sep 2026 to 10 Sep 2026: 1 gauge has to be done")
            .says("LG-1107A BH-D-101 steam drum rebuild interval 20 Sep 2026")
            .does_not_say("LG-2");
        for other in ["2026-05-04", "2026-11-01"] {
            engineer
                .get(&format!("/windows/Boiler%20House/{other}"))
                .await
                .says("no gauge waits for it");
        }
        engineer
            .get("/gauges/LG-1107A")
            .await
            .says("Due 10 Sep 2026")
            .says("it has to be done in the shutdown window from 1 Sep 2026 to 10 Sep 2026");
    }

    #[tokio::test]
    async fn a_window_that_is_none_is_not_in_the_register() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        for page in [
            "/windows/Boiler%20House/2026-05-04",
            "/windows/Nowhere/soon",
        ] {
            engineer.get(page).await.is(StatusCode::NOT_FOUND);
        }
    }
}

mod edit {
    use super::*;

    #[tokio::test]
    async fn moving_a_window_past_the_date_moves_the_gauge_out_of_it() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        hang(&mut engineer, WAITS).await;
        looked_over(&mut engineer).await;
        agree(&mut engineer, "1", "shutdown", ("2026-09-01", "2026-09-10")).await;
        engineer
            .get("/gauges/LG-1107A")
            .await
            .says("Due 10 Sep 2026");
        let page = "/windows/Boiler%20House/2026-09-01/move";
        let opened = engineer.get(page).await;
        let (row, version) = (opened.field("row"), opened.field("version"));
        let answer = engineer
            .fill(
                page,
                page,
                &[
                    ("row", row.as_str()),
                    ("version", version.as_str()),
                    ("name", "shutdown"),
                    ("starts_on", "2026-10-01"),
                    ("ends_on", "2026-10-10"),
                    ("weighed", "2026-10-01/2026-10-10"),
                ],
            )
            .await;
        answer.is(StatusCode::SEE_OTHER);
        assert_eq!(answer.goes_to(), "/windows/Boiler%20House/2026-10-01");
        engineer
            .get("/gauges/LG-1107A")
            .await
            .says("Due 20 Sep 2026")
            .says("no shutdown window ends before its date");
    }

    #[tokio::test]
    async fn a_window_of_another_area_changes_nothing() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        hang(&mut engineer, WAITS).await;
        looked_over(&mut engineer).await;
        agree(&mut engineer, "2", "shutdown", ("2026-09-01", "2026-09-10")).await;
        engineer
            .get("/gauges/LG-1107A")
            .await
            .says("Due 20 Sep 2026");
    }

    #[tokio::test]
    async fn the_last_day_may_be_the_due_day_itself() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        hang(&mut engineer, WAITS).await;
        looked_over(&mut engineer).await;
        agree(&mut engineer, "1", "shutdown", ("2026-09-15", "2026-09-20")).await;
        engineer
            .get("/gauges/LG-1107A")
            .await
            .says("Due 20 Sep 2026")
            .says("has to be done in the shutdown window");
    }

    #[tokio::test]
    async fn days_in_the_wrong_order_overlaps_and_the_past_are_refused_and_stay_typed() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        agree(&mut engineer, "1", "spring", ("2026-05-04", "2026-05-15")).await;
        for (area, name, days, says) in [
            (
                "1",
                "again",
                ("2026-06-15", "2026-06-04"),
                "A window ends on or after its first day",
            ),
            (
                "1",
                "again",
                ("2026-05-15", "2026-05-20"),
                "Boiler House stands already from 4 May 2026 to 15 May 2026",
            ),
            (
                "1",
                "again",
                ("2026-01-01", "2026-01-10"),
                "This window is over already",
            ),
            (
                "1",
                "again",
                ("2026-05-20", "2028-05-20"),
                "A window lasts a year at most",
            ),
            (
                "",
                "again",
                ("2026-06-01", "2026-06-10"),
                "Choose the area that stands",
            ),
            (
                "1",
                "",
                ("2026-06-01", "2026-06-10"),
                "Name the window in 1 to 80 characters",
            ),
            (
                "1",
                "again",
                ("June", "2026-06-10"),
                "Write the date as 31 Dec 2026",
            ),
        ] {
            let answer = agree(&mut engineer, area, name, days).await;
            answer.is(StatusCode::UNPROCESSABLE_ENTITY).says(says);
            assert_eq!(answer.field("starts_on"), days.0);
        }
        agree(&mut engineer, "2", "spring", ("2026-05-04", "2026-05-15"))
            .await
            .is(StatusCode::SEE_OTHER);
        engineer
            .get("/windows")
            .await
            .says("2 shutdown windows ahead");
    }

    #[tokio::test]
    async fn pressing_twice_agrees_one_window() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let key = engineer.get("/windows/new").await.field("key");
        let fields = [
            ("key", key.as_str()),
            ("area", "1"),
            ("name", "spring"),
            ("starts_on", "2026-05-04"),
            ("ends_on", "2026-05-15"),
        ];
        for _ in 0..2 {
            engineer
                .post("/windows/new", &fields)
                .await
                .is(StatusCode::SEE_OTHER);
        }
        engineer
            .get("/windows")
            .await
            .says("1 shutdown window ahead");
    }

    #[tokio::test]
    async fn the_second_of_two_people_who_move_a_window_sees_both_days() {
        let plant = Plant::new().await;
        let (mut engineer, mut administrator) =
            (plant.engineer().await, plant.administrator().await);
        agree(&mut engineer, "1", "spring", ("2026-05-04", "2026-05-15")).await;
        let page = "/windows/Boiler%20House/2026-05-04/move";
        let stale = administrator.get(page).await;
        let hidden: Vec<(&str, String)> = ["key", "row", "version", "opened"]
            .iter()
            .map(|name| (*name, stale.field(name).replace("&#34;", "\"")))
            .collect();
        engineer
            .fill(
                page,
                page,
                &[
                    ("row", "1"),
                    ("version", "1"),
                    ("name", "spring"),
                    ("starts_on", "2026-05-11"),
                    ("ends_on", "2026-05-22"),
                    ("weighed", "2026-05-11/2026-05-22"),
                ],
            )
            .await
            .is(StatusCode::SEE_OTHER);
        let mut fields: Vec<(&str, &str)> = hidden.iter().map(|(n, v)| (*n, v.as_str())).collect();
        fields.extend([
            ("name", "spring"),
            ("starts_on", "2026-05-04"),
            ("ends_on", "2026-05-18"),
        ]);
        let answer = administrator.post(page, &fields).await;
        answer
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("The register now holds 22 May 2026, saved by Test reliability engineer; you typed 18 May 2026")
            .says("changed this from 4 May 2026 to 11 May 2026; it is taken over here");
    }

    #[tokio::test]
    async fn only_engineers_and_administrators_agree_windows() {
        let plant = Plant::new().await;
        for mut visitor in [
            plant.technician().await,
            plant.storekeeper().await,
            plant.inspector().await,
        ] {
            visitor.get("/windows/new").await.is(StatusCode::FORBIDDEN);
            visitor.get("/windows").await.is(StatusCode::OK);
        }
    }
}
