//! Gauges: the register's list, one gauge, taking in and correcting, and what is recorded in service.

mod bring_in;
mod deferral;
mod failure;
mod history;
mod list_rules;
mod look_over;
mod messy_list;
mod photo;
mod second_saver;
mod show;
mod standing;

use axum::http::StatusCode;

use crate::plant::Visitor;

/// Takes a gauge into the register: the usual nameplate with these fields instead.
pub async fn hang(visitor: &mut Visitor, instead: &[(&str, &str)]) {
    let mut fields: Vec<(&str, &str)> = edit::NAMEPLATE
        .iter()
        .copied()
        .filter(|(name, _)| !instead.iter().any(|(other, _)| other == name))
        .collect();
    fields.extend_from_slice(instead);
    visitor
        .fill("/gauges/new", "/gauges/new", &fields)
        .await
        .is(StatusCode::SEE_OTHER);
}

pub mod edit {
    use axum::http::StatusCode;

    use crate::plant::Plant;

    pub const NAMEPLATE: &[(&str, &str)] = &[
        ("tag", "LG-1107A"),
        ("area", "1"),
        ("class", "1"),
        ("vessel", "BH-D-101"),
        ("service", "steam drum"),
        ("kind", "reflex"),
        ("sections", "4"),
        ("bolts_per_rail", "6"),
        ("bolt_thread", "1/2-13"),
        ("bolt_form", "bolts"),
        ("glass_length_mm", "250"),
        ("isolation", "in-service"),
        ("installed_on", "2024-01-31"),
        ("maker", "Fennel Gauge"),
        ("rating", "1000"),
        ("rating_unit", "[psi]"),
        ("rating_temperature", "100"),
        ("rating_temperature_unit", "[degF]"),
        ("torque", "32"),
        ("torque_unit", "[ft_i].[lbf_av]"),
        ("kits_per_rebuild", ""),
    ];

    #[tokio::test]
    async fn a_gauge_taken_in_is_due_a_look_over_three_months_after_installation_clamped_to_the_month_s_end()
     {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let answer = engineer.fill("/gauges/new", "/gauges/new", NAMEPLATE).await;
        answer.is(StatusCode::SEE_OTHER);
        assert_eq!(answer.goes_to(), "/gauges/LG-1107A");
        // 31 January + 3 months is 30 April: calendar arithmetic as python-dateutil's relativedelta.
        engineer
            .get("/gauges/LG-1107A")
            .await
            .says("30 Apr 2024")
            .says("look-over interval");
    }

    #[tokio::test]
    async fn pressing_twice_takes_one_gauge_in() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let key = engineer.get("/gauges/new").await.field("key");
        let mut fields = vec![("key", key.as_str())];
        fields.extend_from_slice(NAMEPLATE);
        let first = engineer.post("/gauges/new", &fields).await;
        let second = engineer.post("/gauges/new", &fields).await;
        assert_eq!(first.goes_to(), second.goes_to());
        engineer
            .get("/gauges")
            .await
            .says("1 gauge in the register");
    }

    #[tokio::test]
    async fn a_form_without_this_session_s_key_changes_nothing() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let mut other = plant.engineer().await;
        let key = other.get("/gauges/new").await.field("key");
        let mut fields = vec![("key", key.as_str())];
        fields.extend_from_slice(NAMEPLATE);
        engineer
            .post("/gauges/new", &fields)
            .await
            .is(StatusCode::BAD_REQUEST);
        engineer
            .get("/gauges")
            .await
            .says("0 gauges in the register");
    }
}

mod rebuild {
    use axum::http::StatusCode;

    use crate::bench::world::Bench;

    const PLAN: &str = "/gauges/LG-1107A/rebuild";
    const TODAY: &[(&str, &str)] = &[("cause", "interval"), ("planned_for", "2026-03-02")];

    #[tokio::test]
    async fn planning_proposes_the_cause_and_the_day_and_says_what_it_takes() {
        let mut bench = Bench::new().await;
        let page = bench.engineer.get(PLAN).await;
        page.says("1 of SW-K-250R ; 8 in the storeroom may be used on that day")
            .says("32 ft·lbf");
        // Due since 30 April 2024, so today is proposed.
        assert_eq!(page.field("planned_for"), "2026-03-02");
    }

    #[tokio::test]
    async fn a_planned_rebuild_waits_on_its_bench_sheet() {
        let mut bench = Bench::new().await;
        let answer = bench.engineer.fill(PLAN, PLAN, TODAY).await;
        answer.is(StatusCode::SEE_OTHER);
        assert_eq!(answer.goes_to(), "/bench/LG-1107A");
    }

    #[tokio::test]
    async fn a_gauge_has_one_open_rebuild_at_a_time() {
        let mut bench = Bench::new().await;
        let first = bench.engineer.get(PLAN).await.field("key");
        bench
            .engineer
            .fill(PLAN, PLAN, TODAY)
            .await
            .is(StatusCode::SEE_OTHER);
        bench.engineer.get(PLAN).await.says("Rebuild 1 is planned");
        let mut again = vec![("key", first.as_str())];
        again.extend_from_slice(TODAY);
        bench
            .engineer
            .post(PLAN, &again)
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("Rebuild 1 of LG-1107A is planned; a gauge has one open rebuild at a time");
    }

    #[tokio::test]
    async fn pressing_twice_plans_one_rebuild() {
        let mut bench = Bench::new().await;
        let key = bench.engineer.get(PLAN).await.field("key");
        let mut fields = vec![("key", key.as_str())];
        fields.extend_from_slice(TODAY);
        for _ in 0..2 {
            let answer = bench.engineer.post(PLAN, &fields).await;
            assert_eq!(answer.goes_to(), "/bench/LG-1107A");
        }
    }

    #[tokio::test]
    async fn two_people_planning_at_once_plan_one_rebuild() {
        let mut bench = Bench::new().await;
        let mut other = bench.plant.engineer().await;
        let (a, b) = (
            bench.engineer.get(PLAN).await.field("key"),
            other.get(PLAN).await.field("key"),
        );
        let one = [("key", a.as_str()), TODAY[0], TODAY[1]];
        let two = [("key", b.as_str()), TODAY[0], TODAY[1]];
        let (first, second) = tokio::join!(bench.engineer.post(PLAN, &one), other.post(PLAN, &two));
        let mut statuses = [first.status, second.status];
        statuses.sort();
        assert_eq!(
            statuses,
            [StatusCode::SEE_OTHER, StatusCode::UNPROCESSABLE_ENTITY]
        );
    }

    #[tokio::test]
    async fn only_engineers_plan() {
        let bench = Bench::new().await;
        for mut visitor in [
            bench.plant.technician().await,
            bench.plant.storekeeper().await,
            bench.plant.inspector().await,
            bench.plant.administrator().await,
        ] {
            visitor.get(PLAN).await.is(StatusCode::FORBIDDEN);
        }
    }

    #[tokio::test]
    async fn a_day_that_is_past_is_refused_and_what_was_typed_stays() {
        let mut bench = Bench::new().await;
        let answer = bench
            .engineer
            .fill(
                PLAN,
                PLAN,
                &[
                    ("cause", "leak"),
                    ("planned_for", "2026-03-01"),
                    ("note", "bring the long key"),
                ],
            )
            .await;
        answer
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("This day is past")
            .says("bring the long key");
        assert_eq!(answer.field("planned_for"), "2026-03-01");
    }

    #[tokio::test]
    async fn a_gauge_that_cannot_be_isolated_is_planned_into_a_shutdown_window() {
        let mut bench = Bench::with(&[("sections", "1"), ("isolation", "shutdown-only")]).await;
        let mut deed = bench
            .plant
            .deed_of(gaugewright::record::person::Role::Engineer)
            .await;
        let window = gaugewright::store::windows::add(
            deed.db(),
            gaugewright::record::AreaId(1),
            "spring stop",
            time::macros::date!(2026 - 04 - 06),
            time::macros::date!(2026 - 04 - 12),
        )
        .await
        .expect("a window");
        deed.record(
            "added",
            "window",
            None,
            serde_json::json!({}),
            &[("shutdown_window", window.0)],
        )
        .await
        .expect("sealed");
        deed.commit("").await.expect("committed");

        let page = bench.engineer.get(PLAN).await;
        page.says("spring stop, 6 Apr 2026 to 12 Apr 2026");
        assert_eq!(page.field("planned_for"), "2026-04-06");
        for day in ["2026-04-05", "2026-04-13"] {
            bench
                .engineer
                .fill(PLAN, PLAN, &[("cause", "interval"), ("planned_for", day)])
                .await
                .is(StatusCode::UNPROCESSABLE_ENTITY)
                .says("no shutdown window of its area covers the day");
        }
        let anyway = [
            ("cause", "interval"),
            ("planned_for", "2026-04-05"),
            ("stands_anyway", "yes"),
        ];
        bench
            .engineer
            .fill(PLAN, PLAN, &anyway)
            .await
            .says("Say why the vessel stands on that day");
        bench
            .engineer
            .fill(
                PLAN,
                PLAN,
                &[("cause", "interval"), ("planned_for", "2026-04-12")],
            )
            .await
            .is(StatusCode::SEE_OTHER);
    }
}

mod rebuild_record {
    use axum::http::StatusCode;

    use crate::bench::world::{Bench, MADE_SAFE};

    #[tokio::test]
    async fn an_open_rebuild_s_record_can_be_read_by_everybody() {
        let mut bench = Bench::new().await.started().await;
        bench.record("made-safe", MADE_SAFE).await;
        let mut storekeeper = bench.plant.storekeeper().await;
        storekeeper
            .get("/gauges/LG-1107A/rebuilds/1")
            .await
            .is(StatusCode::OK)
            .says("Rebuild 1 of LG-1107A : at the bench")
            .says("Planned for 2 Mar 2026 by Test reliability engineer on 2 Mar 2026, 09:00")
            .says("To the bench Test technician, 2 Mar 2026, 09:00")
            .says("P-4711");
    }

    #[tokio::test]
    async fn a_rebuild_that_never_was_is_not_found() {
        let mut bench = Bench::new().await;
        for address in ["/gauges/LG-1107A/rebuilds/1", "/gauges/LG-9999/rebuilds/1"] {
            bench.engineer.get(address).await.is(StatusCode::NOT_FOUND);
        }
    }
}
