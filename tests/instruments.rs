//! Instruments: the list by next calibration, one instrument, taking in, calibrating and retiring.

use axum::http::StatusCode;
use gaugewright::record::person::Role;
use gaugewright::store;

use crate::plant::{Answer, Plant, Visitor};
use crate::storeroom::all_is_sealed_and_true;

const WRENCH: &[(&str, &str)] = &[
    ("number", "TW-07"),
    ("kind", "torque-wrench"),
    ("description", "click wrench, serial 4711"),
    ("range_low", "10"),
    ("range_high", "80"),
    ("unit", "[ft_i].[lbf_av]"),
    ("resolution", "0.5"),
];

const CALIBRATION: &[(&str, &str)] = &[
    ("calibrated_on", "2025-03-03"),
    ("due_on", "2026-03-02"),
    ("reference", "CAL 25/118"),
    ("found", "within-tolerance"),
    ("note", ""),
];

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

async fn takes_in(engineer: &mut Visitor, changes: &[(&str, &str)]) -> String {
    let answer = engineer
        .fill(
            "/instruments/new",
            "/instruments/new",
            &but(WRENCH, changes),
        )
        .await;
    answer.is(StatusCode::SEE_OTHER);
    answer.goes_to().to_owned()
}

async fn calibrates(engineer: &mut Visitor, one: &str, changes: &[(&str, &str)]) -> Answer {
    let page = format!("{one}/calibrate");
    engineer
        .fill(&page, &page, &but(CALIBRATION, changes))
        .await
}

mod mistake {
    use super::*;

    #[tokio::test]
    async fn a_calibration_of_another_instrument_is_taken_back_while_nothing_relied_on_it() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let one = takes_in(&mut engineer, &[]).await;
        calibrates(&mut engineer, &one, &[])
            .await
            .is(StatusCode::SEE_OTHER);
        let slip = [
            ("calibrated_on", "2026-02-10"),
            ("due_on", "2027-02-09"),
            ("reference", "CAL 26/007"),
        ];
        calibrates(&mut engineer, &one, &slip)
            .await
            .is(StatusCode::SEE_OTHER);
        engineer
            .get(&one)
            .await
            .says("Calibrated until 9 Feb 2027")
            .says("take it back");
        let back = format!("{one}/calibrate/2");
        engineer
            .fill(&back, &back, &[("why", "")])
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("Say what the mistake was");
        engineer
            .fill(&back, &back, &[("why", "it is the certificate of TW-04")])
            .await
            .is(StatusCode::SEE_OTHER);
        engineer
            .get(&one)
            .await
            .says("Calibrated until 2 Mar 2026")
            .says("Taken back by Test reliability engineer as recorded by mistake: it is the certificate of TW-04");
        all_is_sealed_and_true(&plant).await;
    }

    /// A rebuild of LG-1107A relied on the first instrument on a day.
    async fn is_used(plant: &Plant, engineer: &mut Visitor, on: &str) {
        crate::gauges::hang(engineer, &[]).await;
        let mut deed = plant.deed_of(Role::Engineer).await;
        let rebuild = "INSERT INTO rebuild (gauge_id, ordinal, state, cause, planned_for, planned_at, planned_by) VALUES (1, 1, 'at-the-bench', 'leak', ?1, '2026-01-01T08:00:00.000Z', 1)";
        let relied =
            "INSERT INTO instrument_use (instrument_id, rebuild_id, used_on) VALUES (1, 1, ?1)";
        for written in [rebuild, relied] {
            sqlx::query(written)
                .bind(on)
                .execute(deed.db())
                .await
                .expect("used");
        }
        deed.commit("").await.expect("kept");
    }

    #[tokio::test]
    async fn a_recall_that_began_on_the_day_of_a_calibration_taken_back_is_widened() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let one = takes_in(&mut engineer, &[]).await;
        for (on, reference, found) in [
            ("2025-03-03", "CAL 25/118", "within-tolerance"),
            ("2026-02-10", "CAL 26/007", "within-tolerance"),
            ("2026-02-27", "CAL 26/011", "out-of-tolerance"),
        ] {
            let fields = [
                ("calibrated_on", on),
                ("due_on", "2026-12-31"),
                ("reference", reference),
                ("found", found),
            ];
            calibrates(&mut engineer, &one, &fields)
                .await
                .is(StatusCode::SEE_OTHER);
        }
        is_used(&plant, &mut engineer, "2026-01-15").await;
        engineer
            .get("/recalls/1")
            .await
            .says("from 10 Feb 2026, when it was last found within tolerance")
            .says("0 rebuilds and tests");
        engineer.get(&one).await.says("take it back");
        let back = format!("{one}/calibrate/2");
        engineer
            .fill(&back, &back, &[("why", "it is the certificate of TW-04")])
            .await
            .is(StatusCode::SEE_OTHER);
        engineer
            .get("/recalls/2")
            .await
            .says("calibration CAL 26/007 was taken back, so recall 1 began too late")
            .says("from 3 Mar 2025, when it was last found within tolerance")
            .says("1 rebuild or test")
            .says("LG-1107A");
    }

    #[tokio::test]
    async fn a_calibration_that_something_relied_on_stays() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let one = takes_in(&mut engineer, &[]).await;
        calibrates(&mut engineer, &one, &[])
            .await
            .is(StatusCode::SEE_OTHER);
        is_used(&plant, &mut engineer, "2026-03-01").await;
        engineer.get(&one).await.does_not_say("take it back");
        let back = format!("{one}/calibrate/1");
        engineer
            .fill(&back, &back, &[("why", "wrong instrument")])
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("was relied on since that day");
    }

    #[tokio::test]
    async fn a_calibration_that_opened_a_recall_is_not_taken_back() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let one = takes_in(&mut engineer, &[]).await;
        calibrates(&mut engineer, &one, &[("found", "out-of-tolerance")])
            .await
            .is(StatusCode::SEE_OTHER);
        let back = format!("{one}/calibrate/1");
        engineer
            .fill(&back, &back, &[("why", "wrong instrument")])
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("It opened a recall");
    }
}

mod list {
    use super::*;

    /// published: NIST SP 811 (2008), B.8: ft·lbf to N·m 1.355818; a difference of 1 °C is one of 1.8 °F.
    #[tokio::test]
    async fn ranges_and_steps_are_read_in_the_person_s_unit_a_step_being_a_difference() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        takes_in(&mut engineer, &[]).await;
        let warm = [
            ("number", "TH-1"),
            ("kind", "thermometer"),
            ("range_low", "0"),
            ("range_high", "100"),
            ("unit", "Cel"),
            ("resolution", "0.1"),
        ];
        takes_in(&mut engineer, &warm).await;
        engineer.reads("si").await;
        engineer
            .get("/instruments")
            .await
            .says("10 to 80 ft·lbf (13.56 to 108.4 N·m) reads to 0.5 ft·lbf (0.6779 N·m)")
            .says("0 to 100 °C reads to 0.1 °C");
        engineer.reads("us-customary").await;
        for page in ["/instruments", "/instruments/TH-1"] {
            engineer
                .get(page)
                .await
                .says("0 to 100 °C (32 to 212 °F)")
                .says("reads to 0.1 °C (0.18 °F)");
        }
    }

    #[tokio::test]
    async fn the_next_calibration_stands_first_and_before_it_what_nothing_covers() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        engineer
            .get("/instruments")
            .await
            .says("No instruments yet");
        for (number, due, found) in [
            ("LATE", "2027-01-01", "within-tolerance"),
            ("SOON", "2026-03-20", "within-tolerance"),
            ("GONE", "2026-03-01", "within-tolerance"),
            ("BAD", "2027-06-01", "out-of-tolerance"),
        ] {
            let one = takes_in(&mut engineer, &[("number", number)]).await;
            calibrates(&mut engineer, &one, &[("due_on", due), ("found", found)])
                .await
                .is(StatusCode::SEE_OTHER);
        }
        takes_in(&mut engineer, &[("number", "NEVER")]).await;
        let page = engineer.get("/instruments").await;
        page.says("5 instruments, 3 not to be used today")
            .says("1 more calibration runs out within 30 days")
            .says("found out of tolerance on 3 Mar 2025")
            .says("no calibration on record")
            .says("calibration ran out on 1 Mar 2026");
        let places: Vec<usize> = ["BAD", "NEVER", "GONE", "SOON", "LATE"]
            .iter()
            .map(|n| page.text.find(&format!("/instruments/{n}\"")).unwrap())
            .collect();
        assert!(places.is_sorted(), "{places:?}");
        all_is_sealed_and_true(&plant).await;
    }

    #[tokio::test]
    async fn the_list_goes_on_by_the_date_and_is_filtered_by_kind() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let mut deed = plant.deed_of(Role::Engineer).await;
        for n in 0..53_u32 {
            let instrument = gaugewright::record::instrument::Instrument {
                id: gaugewright::record::InstrumentId(0),
                number: format!("PG-{n:02}").parse().unwrap(),
                kind: gaugewright::record::instrument::InstrumentKind::PressureGauge,
                description: String::new(),
                range_low: 0.into(),
                range_high: 100.into(),
                unit: "bar".to_owned(),
                resolution: None,
                cycle_limit: None,
                retired: false,
                calibration: None,
                version: 0,
            };
            gaugewright::acts::instruments::add(&mut deed, &instrument)
                .await
                .unwrap();
        }
        deed.commit("").await.unwrap();
        takes_in(&mut engineer, &[]).await;
        let first = engineer.get("/instruments?kind=pressure-gauge").await;
        first
            .says("PG-49")
            .does_not_say("PG-50")
            .does_not_say("TW-07");
        let at = first.text.find("after=").unwrap();
        let next: String = first.text[at..].chars().take_while(|c| *c != '"').collect();
        engineer
            .get(&format!("/instruments?kind=pressure-gauge&{next}"))
            .await
            .says("PG-50")
            .says("PG-52")
            .does_not_say("PG-49");
    }
}

mod show {
    use super::*;

    #[tokio::test]
    async fn the_last_day_a_calibration_covers_still_counts() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let one = takes_in(&mut engineer, &[]).await;
        engineer
            .get(&one)
            .await
            .says("TW-07 is not to be used today")
            .says("no calibration on record")
            .says("10 to 80 ft·lbf, reads to 0.5 ft·lbf");
        calibrates(&mut engineer, &one, &[])
            .await
            .is(StatusCode::SEE_OTHER);
        engineer
            .get(&one)
            .await
            .says("TW-07 may be used today")
            .says("CAL 25/118");
        plant.turn_to(time::macros::datetime!(2026-03-03 00:00 UTC));
        let mut engineer = plant.engineer().await;
        engineer
            .get(&one)
            .await
            .says("is not to be used today")
            .says("calibration ran out on 2 Mar 2026");
    }

    #[tokio::test]
    async fn what_relied_on_an_instrument_found_out_of_tolerance_is_named() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let one = takes_in(&mut engineer, &[]).await;
        calibrates(&mut engineer, &one, &[])
            .await
            .is(StatusCode::SEE_OTHER);
        let gauge = [
            ("tag", "LG-1107A"),
            ("area", "1"),
            ("class", "1"),
            ("kind", "reflex"),
            ("sections", "1"),
            ("bolt_form", "bolts"),
            ("isolation", "in-service"),
        ];
        engineer
            .fill("/gauges/new", "/gauges/new", &gauge)
            .await
            .is(StatusCode::SEE_OTHER);
        let mut tx = plant.store.write().await.unwrap();
        sqlx::query("INSERT INTO rebuild (gauge_id, ordinal, state, cause, planned_for, planned_at, planned_by) VALUES (1, 1, 'planned', 'interval', '2025-05-01', '2025-05-01T00:00:00.000Z', 1)")
            .execute(&mut *tx)
            .await
            .unwrap();
        // One use before the sound calibration, one after it.
        for day in [
            time::macros::date!(2025 - 03 - 02),
            time::macros::date!(2025 - 05 - 01),
        ] {
            store::instruments::note_use(
                &mut tx,
                gaugewright::record::InstrumentId(1),
                Some(gaugewright::record::RebuildId(1)),
                None,
                day,
            )
            .await
            .unwrap();
        }
        tx.commit().await.unwrap();
        let bad = [
            ("calibrated_on", "2026-02-20"),
            ("due_on", "2027-02-19"),
            ("found", "out-of-tolerance"),
            ("reference", "CAL 26/9"),
        ];
        calibrates(&mut engineer, &one, &bad)
            .await
            .is(StatusCode::SEE_OTHER);
        engineer
            .get(&one)
            .await
            .says("found out of tolerance on 20 Feb 2026")
            .says("what relied on it from 3 Mar 2025 on, when it was last found within tolerance, is judged again. 1 rebuild or test relied on it: Recall 1 lists each of them")
            .says("1 May 2025 LG-1107A rebuild 1 planned");
        // Adjusted and found right the same day, it may be used again.
        let right = but(
            &bad,
            &[("found", "within-tolerance"), ("reference", "CAL 26/9b")],
        );
        calibrates(&mut engineer, &one, &right)
            .await
            .is(StatusCode::SEE_OTHER);
        engineer
            .get(&one)
            .await
            .says("TW-07 may be used today")
            .says("CAL 26/9 ");
    }
}

mod edit {
    use super::*;

    #[tokio::test]
    async fn range_unit_and_resolution_have_to_fit_the_kind() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        for (change, words) in [
            (
                ("unit", "bar"),
                "A torque wrench does not read in this unit",
            ),
            (("unit", ""), "A torque wrench does not read in this unit"),
            (
                ("range_high", "10"),
                "The top of the range lies above its bottom",
            ),
            (
                ("range_low", "-5"),
                "A torque wrench reads from zero upwards",
            ),
            (("resolution", "0"), "The smallest step is above zero"),
            (("resolution", "71"), "The smallest step is above zero"),
            (("range_low", "ten"), "Write a number such as 1500 or 12.5"),
            (("number", "new"), "names a page of the register"),
        ] {
            engineer
                .fill(
                    "/instruments/new",
                    "/instruments/new",
                    &but(WRENCH, &[change]),
                )
                .await
                .is(StatusCode::UNPROCESSABLE_ENTITY)
                .says(words);
        }
        for (number, kind, unit) in [
            ("CAL-1", "caliper", "mm"),
            ("DM-1", "depth-micrometer", "um"),
            ("DI-1", "dial-indicator", "[mil_i]"),
            ("FS-1", "feeler-set", "[in_i]"),
            ("PG-1", "pressure-gauge", "kPa"),
            ("TH-1", "thermometer", "Cel"),
        ] {
            takes_in(
                &mut engineer,
                &[("number", number), ("kind", kind), ("unit", unit)],
            )
            .await;
        }
        engineer.get("/instruments").await.says("6 instruments");
    }

    /// The one barred instrument does not look like the others where the last column is out of sight.
    #[tokio::test]
    async fn a_calibration_that_ran_out_stands_out_in_the_list() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let one = takes_in(&mut engineer, &[]).await;
        calibrates(&mut engineer, &one, &[])
            .await
            .is(StatusCode::SEE_OTHER);
        let out = "<strong class=\"late\">2\u{a0}Mar\u{a0}2026</strong>";
        assert!(!engineer.get("/instruments").await.text.contains(out));
        plant.turn_to(time::macros::datetime!(2026-04-04 09:00 UTC));
        let mut engineer = plant.engineer().await;
        let page = engineer.get("/instruments").await;
        assert!(page.text.contains(out), "{}", page.text);
        page.says("2 Mar 2026 33 days over");
    }

    #[tokio::test]
    async fn an_instrument_is_known_by_a_number_with_any_letters() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let one = takes_in(&mut engineer, &[("number", "ЩМ-07.ä_1")]).await;
        engineer
            .get(&one)
            .await
            .is(StatusCode::OK)
            .says("ЩМ-07.ä_1");
        calibrates(&mut engineer, &one, &[])
            .await
            .is(StatusCode::SEE_OTHER);
        engineer
            .fill(
                "/instruments/new",
                "/instruments/new",
                &but(WRENCH, &[("number", "ЩМ-07.ä_1")]),
            )
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("already");
    }

    #[tokio::test]
    async fn the_second_saver_sees_what_the_first_one_changed() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let mut administrator = plant.administrator().await;
        let one = takes_in(&mut engineer, &[]).await;
        let page = format!("{one}/edit");
        let first = but(WRENCH, &[("range_high", "100"), ("version", "1")]);
        administrator
            .fill(&page, &page, &first)
            .await
            .is(StatusCode::SEE_OTHER);
        let second = but(WRENCH, &[("description", "mine"), ("version", "1")]);
        let refused = engineer.fill(&page, &page, &second).await;
        refused
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("Instrument TW-07 was changed by Test administrator")
            .says("10 to 100 ft·lbf");
        assert_eq!(refused.field("description"), "mine");
        all_is_sealed_and_true(&plant).await;
    }

    #[tokio::test]
    async fn pressing_twice_takes_one_instrument_in() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let key = engineer.get("/instruments/new").await.field("key");
        let mut fields = vec![("key", key.as_str())];
        fields.extend_from_slice(WRENCH);
        let first = engineer.post("/instruments/new", &fields).await;
        let second = engineer.post("/instruments/new", &fields).await;
        assert_eq!(first.goes_to(), second.goes_to());
        engineer.get("/instruments").await.says("1 instrument,");
    }
}

mod calibrate {
    use super::*;

    #[tokio::test]
    async fn days_that_look_like_a_slip_of_the_year_are_asked_about() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let one = takes_in(&mut engineer, &[]).await;
        let far = [("calibrated_on", "2026-01-01"), ("due_on", "2099-01-01")];
        calibrates(&mut engineer, &one, &far)
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("It would cover more than three times the usual 12 months");
        let old = [("calibrated_on", "2010-01-01"), ("due_on", "2011-01-01")];
        calibrates(&mut engineer, &one, &old)
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("16 years ago");
        let stated = [
            ("calibrated_on", "2026-01-01"),
            ("due_on", "2029-01-01"),
            ("stated", "yes"),
        ];
        calibrates(&mut engineer, &one, &stated)
            .await
            .is(StatusCode::SEE_OTHER);
        // Of one day the one recorded last counts: a slip is put right by recording it again.
        let right = [("calibrated_on", "2026-01-01"), ("due_on", "2027-01-01")];
        calibrates(&mut engineer, &one, &right)
            .await
            .is(StatusCode::SEE_OTHER);
        engineer.get(&one).await.says("1 Jan 2027");
    }

    #[tokio::test]
    async fn a_calibration_needs_its_certificate_and_days_that_can_be() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let one = takes_in(&mut engineer, &[]).await;
        for (change, words) in [
            (
                ("reference", " "),
                "Write the reference of the calibration certificate",
            ),
            (("calibrated_on", "2026-03-03"), "This day is still to come"),
            (("due_on", "2025-03-03"), "comes after the day it was done"),
            (("found", ""), "Choose what the calibration found"),
            (("calibrated_on", ""), "Write the date as"),
        ] {
            let changes = [change, ("note", "kept")];
            let refused = calibrates(&mut engineer, &one, &changes).await;
            refused
                .is(StatusCode::UNPROCESSABLE_ENTITY)
                .says(words)
                .says("kept");
        }
        engineer.get(&one).await.says("No calibration is on record");
    }

    #[tokio::test]
    async fn the_form_opens_with_the_interval_of_the_calibration_before() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let one = takes_in(&mut engineer, &[]).await;
        let page = format!("{one}/calibrate");
        assert_eq!(engineer.get(&page).await.field("due_on"), "2 Mar 2027");
        calibrates(&mut engineer, &one, &[("due_on", "2025-09-03")])
            .await
            .is(StatusCode::SEE_OTHER);
        assert_eq!(engineer.get(&page).await.field("due_on"), "2 Sep 2026");
    }

    #[tokio::test]
    async fn an_older_certificate_found_later_does_not_take_the_place_of_the_latest() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let one = takes_in(&mut engineer, &[]).await;
        calibrates(&mut engineer, &one, &[])
            .await
            .is(StatusCode::SEE_OTHER);
        let older = [
            ("calibrated_on", "2024-03-03"),
            ("due_on", "2025-03-02"),
            ("found", "out-of-tolerance"),
            ("reference", "CAL 24/1"),
        ];
        calibrates(&mut engineer, &one, &older)
            .await
            .is(StatusCode::SEE_OTHER);
        engineer.get(&one).await.says("TW-07 may be used today");
        all_is_sealed_and_true(&plant).await;
    }

    #[tokio::test]
    async fn a_calibration_is_never_changed_nor_an_instrument_taken_away() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let one = takes_in(&mut engineer, &[]).await;
        calibrates(&mut engineer, &one, &[])
            .await
            .is(StatusCode::SEE_OTHER);
        for (statement, words) in [
            (
                "UPDATE calibration SET due_on = '2030-01-01'",
                "A calibration is evidence",
            ),
            ("DELETE FROM calibration", "A calibration is never deleted"),
            (
                "DELETE FROM instrument",
                "An instrument is retired, never deleted",
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
    }

    #[tokio::test(flavor = "multi_thread", worker_threads = 4)]
    async fn pressing_twice_records_one_calibration() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let one = takes_in(&mut engineer, &[]).await;
        let page = format!("{one}/calibrate");
        let key = engineer.get(&page).await.field("key");
        let mut all = tokio::task::JoinSet::new();
        for _ in 0..4 {
            let (mut engineer, page, key) = (engineer.clone(), page.clone(), key.clone());
            all.spawn(async move {
                let mut fields = vec![("key", key.as_str())];
                fields.extend_from_slice(CALIBRATION);
                engineer.post(&page, &fields).await.status
            });
        }
        while let Some(status) = all.join_next().await {
            assert_eq!(status.unwrap(), StatusCode::SEE_OTHER);
        }
        let text = engineer.get(&one).await.text;
        assert_eq!(text.matches("CAL 25/118").count(), 1);
    }
}

mod uncertainty {
    use super::*;

    const STATED: &[(&str, &str)] = &[
        ("uncertainty", "1.2"),
        ("uncertainty_unit", "%"),
        ("coverage", "2"),
    ];

    #[tokio::test]
    async fn the_certificate_s_uncertainty_is_kept_with_its_unit_and_coverage_factor() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let one = takes_in(&mut engineer, &[]).await;
        calibrates(&mut engineer, &one, STATED)
            .await
            .is(StatusCode::SEE_OTHER);
        engineer
            .get(&one)
            .await
            .says("1.2 % of the reading (k = 2)");
        all_is_sealed_and_true(&plant).await;
    }

    #[tokio::test]
    async fn what_no_certificate_states_is_refused_beside_its_field() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let one = takes_in(&mut engineer, &[]).await;
        for (change, words) in [
            (("uncertainty", "0"), "An uncertainty lies above zero"),
            (("uncertainty", "small"), "Write a number such as"),
            (("uncertainty_unit", "bar"), "is not stated in this unit"),
            (("coverage", ""), "Write a number such as"),
            (("coverage", "95"), "The coverage factor k"),
        ] {
            calibrates(&mut engineer, &one, &but(STATED, &[change]))
                .await
                .is(StatusCode::UNPROCESSABLE_ENTITY)
                .says(words);
        }
        engineer.get(&one).await.says("No calibration is on record");
    }

    #[tokio::test]
    async fn a_limit_of_loadings_is_for_torque_wrenches_only() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let fields = but(
            WRENCH,
            &[
                ("number", "CA-1"),
                ("kind", "caliper"),
                ("unit", "mm"),
                ("cycle_limit", "5000"),
            ],
        );
        engineer
            .fill("/instruments/new", "/instruments/new", &fields)
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("Only the loadings of a torque wrench are counted");
        let one = takes_in(&mut engineer, &[("cycle_limit", "900")]).await;
        calibrates(&mut engineer, &one, &[])
            .await
            .is(StatusCode::SEE_OTHER);
        engineer
            .get(&one)
            .await
            .says("0 loadings since its calibration")
            .says("after 900 it is calibrated again");
        engineer.get("/instruments").await.says("0 of 900 loadings");
    }
}

mod papers {
    use super::*;

    #[tokio::test]
    async fn a_calibration_keeps_the_papers_that_came_with_it() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let one = takes_in(&mut engineer, &[]).await;
        calibrates(&mut engineer, &one, &[])
            .await
            .is(StatusCode::SEE_OTHER);
        let page = format!("{one}/papers");
        let form = engineer.get(&page).await;
        form.says("No calibration paper of TW-07 is kept");
        let key = form.field("key");
        let pdf = b"%PDF-1.7 a certificate".as_slice();
        let fields = [
            ("key", key.as_str()),
            ("calibration", "1"),
            ("title", "Certificate CAL 25/118"),
        ];
        let text = ("paper", "a.txt", b"no paper".as_slice());
        engineer
            .upload(&page, &fields, text)
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("Choose a PDF, JPEG or PNG file");
        for _ in 0..2 {
            engineer
                .upload(&page, &fields, ("paper", "c.pdf", pdf))
                .await
                .is(StatusCode::SEE_OTHER);
        }
        let shown = engineer.get(&page).await;
        shown.says("1 calibration paper of TW-07");
        engineer.get(&one).await.says("1 paper");
        let at = shown.text.find("mark=").expect("a link");
        let link: String = shown.text[at..].chars().take_while(|c| *c != '"').collect();
        let mut technician = plant.technician().await;
        let file = technician.get(&format!("{page}?{link}")).await;
        file.is(StatusCode::OK);
        assert!(file.text.starts_with("%PDF-1.7 a certificate"));
        all_is_sealed_and_true(&plant).await;
    }

    #[tokio::test]
    async fn a_paper_belongs_to_a_calibration_of_its_own_instrument() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let one = takes_in(&mut engineer, &[]).await;
        let other = takes_in(&mut engineer, &[("number", "TW-08")]).await;
        for instrument in [&one, &other] {
            calibrates(&mut engineer, instrument, &[])
                .await
                .is(StatusCode::SEE_OTHER);
        }
        let page = format!("{one}/papers");
        let key = engineer.get(&page).await.field("key");
        let fields = [
            ("key", key.as_str()),
            ("calibration", "2"),
            ("title", "Certificate"),
        ];
        engineer
            .upload(&page, &fields, ("paper", "c.pdf", b"%PDF-1.7"))
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("Choose the calibration it belongs to");
    }
}

mod retire {
    use super::*;

    #[tokio::test]
    async fn a_retired_instrument_leaves_the_list_and_can_be_brought_back() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let one = takes_in(&mut engineer, &[]).await;
        calibrates(&mut engineer, &one, &[])
            .await
            .is(StatusCode::SEE_OTHER);
        let page = format!("{one}/retire");
        engineer
            .fill(&page, &page, &[("retire", "yes"), ("version", "1")])
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("Say why in a few words");
        let fields = [("retire", "yes"), ("version", "1"), ("reason", "dropped")];
        engineer
            .fill(&page, &page, &fields)
            .await
            .is(StatusCode::SEE_OTHER);
        engineer
            .get(&one)
            .await
            .says("out of use")
            .says("CAL 25/118");
        engineer.get("/instruments").await.does_not_say("TW-07");
        engineer.get("/instruments?retired=yes").await.says("TW-07");
        calibrates(&mut engineer, &one, &[])
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("TW-07 is out of use");
        let stale = [
            ("retire", "no"),
            ("version", "1"),
            ("reason", "found right"),
        ];
        engineer
            .fill(&page, &page, &stale)
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("was changed by");
        engineer
            .fill(&page, &page, &but(&stale, &[("version", "2")]))
            .await
            .is(StatusCode::SEE_OTHER);
        engineer.get(&one).await.says("TW-07 may be used today");
        engineer.get("/instruments").await.says("TW-07");
        all_is_sealed_and_true(&plant).await;
    }
}

mod roles {
    use super::*;
    use gaugewright::pages::routes::{Access, table};

    #[tokio::test]
    async fn engineers_and_administrators_keep_the_instruments_and_everybody_sees_them() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let one = takes_in(&mut engineer, &[]).await;
        calibrates(&mut engineer, &one, &[])
            .await
            .is(StatusCode::SEE_OTHER);
        for role in Role::ALL {
            let mut somebody = plant.signed_in(*role).await;
            let keeps = matches!(role, Role::Engineer | Role::Administrator);
            for route in table() {
                if !route.path.starts_with("/instruments") {
                    continue;
                }
                let path = route.path.replace("{number}", "TW-07");
                let path = path.replace("{calibration}", "1");
                let forms = route.access != Access::Roles(Role::ALL);
                let answer = if route.method == axum::http::Method::GET {
                    somebody.get(&path).await
                } else {
                    somebody.post(&path, &[]).await
                };
                let expected = match (forms && !keeps, route.method.as_str()) {
                    (true, _) => StatusCode::FORBIDDEN,
                    (false, "GET") => StatusCode::OK,
                    (false, _) => StatusCode::BAD_REQUEST,
                };
                assert_eq!(answer.status, expected, "{role}: {} {path}", route.method);
            }
        }
    }
}
