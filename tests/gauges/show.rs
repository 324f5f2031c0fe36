//! A gauge's page: what stands on it and for whom.

use axum::http::StatusCode;

use super::hang;
use crate::plant::{Answer, Plant};

#[tokio::test]
async fn a_person_who_reads_si_sees_the_stamped_value_first_then_bar() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(&mut engineer, &[("torque", "32.0")]).await;
    engineer.reads("si").await;
    // NIST SP 811 (2008), Appendix B.8: 1 psi = 6.894757 kPa, 1 ft·lbf = 1.355818 N·m, t/°C = (t/°F − 32)/1.8.
    engineer
        .get("/gauges/LG-1107A")
        .await
        .says("1000 psi (68.94 bar)")
        // 32 ft·lbf are 43.386 N·m: never rounded past the nameplate's.
        .says("32.0 ft·lbf (43.38 N·m)")
        .says("100 °F (37.78 °C)");
}

#[tokio::test]
async fn a_person_who_reads_us_customary_units_sees_a_metric_nameplate_in_them_too() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(
        &mut engineer,
        &[
            ("rating", "69"),
            ("rating_unit", "bar"),
            ("rating_temperature", "38"),
            ("rating_temperature_unit", "Cel"),
            ("torque", "45"),
            ("torque_unit", "N.m"),
        ],
    )
    .await;
    engineer.reads("us-customary").await;
    // NIST SP 811 (2008), Appendix B.8: 1 bar = 14.50377 psi, 1 N·m = 0.7375621 ft·lbf.
    engineer
        .get("/gauges/LG-1107A")
        .await
        .says("69 bar (1000 psi)")
        .says("45 N·m (33.19 ft·lbf)")
        .says("38 °C (100.4 °F)");
}

#[tokio::test]
async fn a_torque_nobody_can_read_is_said_so_and_never_guessed() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(
        &mut engineer,
        &[("torque", ""), ("torque_unreadable", "yes")],
    )
    .await;
    for page in ["/gauges/LG-1107A", "/gauges/LG-1107A/rebuild"] {
        engineer
            .get(page)
            .await
            .says("not readable; ask the maker before tightening");
    }
}

#[tokio::test]
async fn a_torque_nobody_looked_for_is_read_from_the_nameplate_before_the_maker_is_asked() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(&mut engineer, &[("torque", ""), ("rating", "")]).await;
    for page in ["/gauges/LG-1107A", "/gauges/LG-1107A/rebuild"] {
        engineer
            .get(page)
            .await
            .says("not in the register; read it from the nameplate")
            .does_not_say("not readable");
    }
}

#[tokio::test]
async fn a_torque_is_written_down_or_not_readable_and_never_both() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    let mut fields = super::edit::NAMEPLATE.to_vec();
    fields.push(("torque_unreadable", "yes"));
    engineer
        .fill("/gauges/new", "/gauges/new", &fields)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Either write it as it is stamped, or tick that it cannot be read");
}

#[tokio::test]
async fn the_due_date_stands_with_the_rule_that_governs_and_the_others_considered() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(&mut engineer, &[]).await;
    // Installed 31 January 2024; 3 and 18 months on, clamped to the month's end as python-dateutil
    // (relativedelta) does: 30 April 2024 and 31 July 2025.
    engineer
        .get("/gauges/LG-1107A")
        .await
        .says("look-over interval 30 Apr 2024 governs")
        .says("rebuild interval 31 Jul 2025 considered")
        .says("Working: Due date");
}

#[tokio::test]
async fn the_bolts_are_drawn_in_the_order_they_are_tightened_from_the_centre_outwards() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(&mut engineer, &[]).await;
    let page = engineer.get("/gauges/LG-1107A").await;
    // Common practice, no source: the first nuts are the middle ones of the rails.
    page.says("4 sections, 6 bolts on each rail of a section");
    assert_eq!(page.text.matches("class=\"nut\"").count(), 12);
    let order = page
        .text
        .split("class=\"figure\">")
        .find(|part| part.starts_with('L') || part.starts_with('R'))
        .expect("the order in words");
    let first: Vec<&str> = order.split(", ").take(4).collect();
    for middle in ["L3", "R3", "L4", "R4"] {
        assert!(
            first.contains(&middle),
            "{middle} is a middle bolt: {first:?}"
        );
    }
}

#[tokio::test]
async fn a_gauge_without_known_bolts_says_how_to_add_them() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(&mut engineer, &[("bolts_per_rail", "")]).await;
    engineer
        .get("/gauges/LG-1107A")
        .await
        .says("The number of bolts on a rail is not in the register. Add it");
}

#[tokio::test]
async fn pressure_temperature_points_stand_with_both_units() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(
        &mut engineer,
        &[
            ("point_temperature", "400"),
            ("point_pressure", "900"),
            ("point_temperature", "100"),
            ("point_pressure", "1000"),
            ("point_temperature_unit", "[degF]"),
            ("point_pressure_unit", "[psi]"),
        ],
    )
    .await;
    engineer
        .get("/gauges/LG-1107A")
        .await
        .says("100 °F 1000 psi 400 °F 900 psi");
    engineer.reads("si").await;
    engineer
        .get("/gauges/LG-1107A")
        .await
        .says("100 °F (37.78 °C) 1000 psi (68.94 bar) 400 °F (204.4 °C) 900 psi (62.05 bar)");
}

#[tokio::test]
async fn everybody_reports_failures_and_only_those_who_may_see_the_rest() {
    let plant = Plant::new().await;
    hang(&mut plant.engineer().await, &[]).await;
    for (role, sees, does_not_see) in [
        (
            "storekeeper",
            vec!["Report a failure"],
            vec![
                "Record a look-over",
                "Deferral",
                "Correct",
                "Rest or retire",
                "Add a photograph",
            ],
        ),
        (
            "technician",
            vec!["Report a failure", "Record a look-over", "Add a photograph"],
            vec!["Deferral", "Rest or retire"],
        ),
        (
            "engineer",
            vec![
                "Record a look-over",
                "Deferral",
                "Correct",
                "Rest or retire",
                "Add a photograph",
            ],
            vec![],
        ),
        (
            "administrator",
            vec!["Report a failure", "Correct", "Rest or retire"],
            vec!["Record a look-over"],
        ),
    ] {
        let mut visitor = plant.signed_in(role.parse().expect("a role")).await;
        let page = visitor.get("/gauges/LG-1107A").await;
        for words in sees {
            page.says(words);
        }
        for words in does_not_see {
            page.does_not_say(words);
        }
    }
}

/// The button that stands out is the work that governs the date, for those whose work it is.
#[tokio::test]
async fn the_work_that_governs_the_date_stands_out_among_what_can_be_done() {
    let plant = Plant::new().await;
    hang(&mut plant.engineer().await, &[]).await;
    // Never looked over since 31 January 2024, every three months: the look-over governs.
    let dark = |page: &Answer| {
        let at = page.text.find("class=\"button\"").expect("a button");
        let rest = &page.text[at..];
        let from = rest.find('>').expect("its end") + 1;
        rest[from..rest.find("</a>").expect("its words")].to_owned()
    };
    let address = "/gauges/LG-1107A";
    for mut who in [plant.technician().await, plant.inspector().await] {
        assert_eq!(dark(&who.get(address).await), "Record a look-over");
    }
    let page = plant.storekeeper().await.get(address).await;
    assert_eq!(dark(&page), "Report a failure");
    let mut engineer = plant.engineer().await;
    let form = "/gauges/LG-1107A/look-over";
    let done = [("found", "sound"), ("on", "2026-03-02")];
    engineer.fill(form, form, &done).await;
    // Looked over today: the rebuild that was due 18 months after installation governs.
    assert_eq!(dark(&engineer.get(address).await), "Plan a rebuild");
}

#[tokio::test]
async fn a_tag_that_hangs_nowhere_is_not_in_the_register() {
    let plant = Plant::new().await;
    let mut technician = plant.technician().await;
    technician
        .get("/gauges/LG-0000")
        .await
        .is(StatusCode::NOT_FOUND)
        .says("There is no gauge under this address");
}
