//! Tests beside the rebuilds' own: planned ones, several gauges on one pump, repeated ones, gas with
//! a second approval, and what plant, class and gauge chose.

use axum::http::StatusCode;
use gaugewright::calc::pressure_test::Code;
use gaugewright::store::columns::word;
use time::macros::datetime;

use super::world::{FORM, GAUGE, PASSED, plant, signs, sound, take_in, tested, with};
use crate::plant::Plant;

const PLAN: &str = "/pressure-tests/plan";

#[tokio::test]
async fn a_planned_test_ends_in_a_passed_one_and_outlasts_a_failed_one() {
    let plant = plant().await;
    let mut inspector = plant.inspector().await;
    let fields = [
        ("tags", GAUGE),
        ("day", "2026-04-01"),
        ("witnessed", "yes"),
        ("note", "insurer"),
    ];
    inspector
        .fill(PLAN, PLAN, &fields)
        .await
        .is(StatusCode::SEE_OTHER);
    inspector
        .get(PLAN)
        .await
        .says("1 test is planned")
        .says("insurer");
    inspector
        .fill(PLAN, PLAN, &fields)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("A test of LG-1107A is planned already");
    let leaks = with(PASSED, &[("leak", "weep"), ("note", "at the drain")]);
    let mut technician = plant.technician().await;
    let first = tested(&mut technician, &leaks).await;
    inspector.get(PLAN).await.says("1 test is planned");
    // Until it passes, everybody who opens the gauge reads that it failed.
    let failed = "It failed its last pressure test";
    let gauge = format!("/gauges/{GAUGE}");
    technician.get(&gauge).await.says(failed).says(&first);
    let second = tested(&mut technician, PASSED).await;
    inspector.get(PLAN).await.says("No test is planned");
    technician.get(&gauge).await.does_not_say(failed);
    // Both stand together, on either page and on the certificate.
    for number in [&first, &second] {
        technician
            .get(&format!("/pressure-tests/{number}"))
            .await
            .says("Tests that belong together")
            .says(&first)
            .says(&second);
    }
    signs(&mut inspector, &second, "witness")
        .await
        .is(StatusCode::SEE_OTHER);
    inspector
        .get(&format!("/pressure-tests/{second}/certificate"))
        .await
        .says(&format!("An earlier test, {first}, on 2 Mar 2026 failed"));
    sound(&plant).await;
}

#[tokio::test]
async fn a_planned_test_is_dropped_with_a_reason_only() {
    let plant = plant().await;
    let mut engineer = plant.engineer().await;
    let fields = [("tags", GAUGE), ("day", "2026-04-01")];
    engineer
        .fill(PLAN, PLAN, &fields)
        .await
        .is(StatusCode::SEE_OTHER);
    let drop = "/pressure-tests/plan/LG-1107A/drop";
    engineer
        .fill(PLAN, drop, &[("why", "")])
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Say why");
    engineer
        .fill(PLAN, drop, &[("why", "the insurer waived it")])
        .await
        .is(StatusCode::SEE_OTHER);
    engineer.get(PLAN).await.says("No test is planned");
    sound(&plant).await;
}

const PUMP: &str = "/pressure-tests/pump?tags=LG-1107A+LG-1107B";

fn on_the_pump() -> Vec<(&'static str, &'static str)> {
    let mut fields = with(PASSED, &[("leak", "")]);
    fields.push(("leak:LG-1107A", "none"));
    fields.push(("leak:LG-1107B", "weep"));
    fields.push(("note:LG-1107B", "at the lower valve"));
    fields
}

#[tokio::test]
async fn several_gauges_on_one_pump_get_a_test_each_under_one_roof() {
    let plant = plant().await;
    take_in(&plant, &[("tag", "LG-1107B")]).await;
    let mut technician = plant.technician().await;
    technician
        .get(PUMP)
        .await
        .says("Prove 2 gauges on one pump at 1500 psi");
    let answer = technician.fill(PUMP, PUMP, &on_the_pump()).await;
    answer.is(StatusCode::SEE_OTHER);
    technician
        .get(answer.goes_to())
        .await
        .says("LG-1107A passed its test")
        .says("On the same pump")
        .says("LG-1107B");
    technician
        .get("/pressure-tests/TW-T-2026-0002")
        .await
        .says("LG-1107B failed its test")
        .says("at the lower valve");
    sound(&plant).await;
}

#[tokio::test]
async fn gauges_that_ask_for_different_pressures_do_not_stand_on_one_pump() {
    let plant = plant().await;
    take_in(&plant, &[("tag", "LG-1107B"), ("rating", "900")]).await;
    let mut technician = plant.technician().await;
    technician
        .get(PUMP)
        .await
        .says("on one pump both would see the same")
        .does_not_say("Record 2 tests");
}

#[tokio::test]
async fn gas_is_used_only_after_a_second_person_approved_it_and_the_record_names_all_its_bounds() {
    let plant = plant().await;
    let gas = with(PASSED, &[("medium", "nitrogen")]);
    let mut technician = plant.technician().await;
    technician
        .fill(FORM, FORM, &gas)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("needs a second person\u{2019}s approval");
    let page =
        "/pressure-tests/gas/LG-1107A?pressure=1600&pressure_unit=[psi]&litres=4&edition=of2022"
            .replace("[psi]", "%5Bpsi%5D");
    let shown = technician.get(&page).await;
    shown.is(StatusCode::OK);
    let edition = shown.field("edition");
    let asked = [
        ("pressure", "1600"),
        ("pressure_unit", "[psi]"),
        ("litres", "4"),
        ("edition", edition.as_str()),
        ("reason", "the chamber must stay dry for its service"),
    ];
    let at = "/pressure-tests/gas/LG-1107A";
    let answer = technician.fill(&page, at, &asked).await;
    answer.is(StatusCode::SEE_OTHER);
    technician
        .get(at)
        .await
        .says("waits for a second person")
        .says("least distance 30 m")
        .does_not_say("Approve ");
    let mut inspector = plant.inspector().await;
    let given = [
        ("request", "1"),
        ("approved", "yes"),
        ("until", "2026-03-20"),
        ("words", "yard closed to 30 m, behind the wall"),
    ];
    let to = "/pressure-tests/gas/LG-1107A/answer";
    // Refused, nothing that was written is lost.
    let too_long: Vec<(&str, &str)> = given
        .iter()
        .map(|(name, value)| {
            (
                *name,
                if *name == "until" {
                    "2027-03-20"
                } else {
                    value
                },
            )
        })
        .collect();
    let refused = inspector.fill(at, to, &too_long).await;
    refused.is(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(
        refused
            .text
            .contains("yard closed to 30 m, behind the wall")
    );
    assert!(refused.text.contains("2027-03-20"));
    inspector
        .fill(at, to, &given)
        .await
        .is(StatusCode::SEE_OTHER);
    inspector
        .fill("/people/password", to, &given)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("answered this already");
    // A hold that began before it was approved, at nine, does not rest on it.
    technician
        .fill(FORM, FORM, &gas)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("given before the test began");
    plant.turn_to(datetime!(2026-03-02 10:00 UTC));
    let after = with(&gas, &[("began_at", "09:30")]);
    let number = tested(&mut technician, &after).await;
    let bounds = "approved by Test inspector from 2 Mar 2026 at 09:00 to 20 Mar 2026, for at most 1600 psi and 4 L (yard closed to 30 m, behind the wall)";
    technician
        .get(&format!("/pressure-tests/{number}"))
        .await
        .says("Tested with gas: asked for by Test technician, ")
        .says(bounds)
        .says("everybody beyond the least distance")
        .does_not_say("all air vented");
    // The certificate states them among its deviations.
    signs(&mut inspector, &number, "witness")
        .await
        .is(StatusCode::SEE_OTHER);
    let issued = signs(&mut inspector, &number, "certificate").await;
    inspector.get(issued.goes_to()).await.says(bounds);
    sound(&plant).await;
}

#[tokio::test]
async fn whoever_approves_a_gas_test_sees_what_the_gauge_has_to_be_proved_at() {
    let plant = plant().await;
    let mut technician = plant.technician().await;
    let at = "/pressure-tests/gas/LG-1107A";
    let cannot = "A test at 300 psi cannot pass";
    for (pressure, low) in [("300", true), ("1500", false)] {
        let page =
            format!("{at}?pressure={pressure}&pressure_unit=%5Bpsi%5D&litres=4&edition=of2022");
        let shown = technician.get(&page).await;
        let edition = shown.field("edition");
        if low {
            shown.says(cannot);
        } else {
            shown.does_not_say("A test at 1500 psi cannot pass");
        }
        let asked = [
            ("pressure", pressure),
            ("pressure_unit", "[psi]"),
            ("litres", "4"),
            ("edition", edition.as_str()),
            ("reason", "the chamber must stay dry for its service"),
        ];
        technician
            .fill(&page, at, &asked)
            .await
            .is(StatusCode::SEE_OTHER);
    }
    let mut inspector = plant.inspector().await;
    inspector
        .get(at)
        .await
        .says("This gauge has to be proved at 1500 psi")
        .says(cannot)
        .does_not_say("A test at 1500 psi cannot pass");
}

#[tokio::test]
async fn the_board_leads_to_the_gas_test_that_waits_and_leaves_out_what_one_asked_for_oneself() {
    let plant = plant().await;
    let mut engineer = plant.engineer().await;
    let at = "/pressure-tests/gas/LG-1107A";
    let page = format!("{at}?pressure=1600&pressure_unit=%5Bpsi%5D&litres=4&edition=of2022");
    let edition = engineer.get(&page).await.field("edition");
    let asked = [
        ("pressure", "1600"),
        ("pressure_unit", "[psi]"),
        ("litres", "4"),
        ("edition", edition.as_str()),
        ("reason", "the chamber must stay dry for its service"),
    ];
    engineer
        .fill(&page, at, &asked)
        .await
        .is(StatusCode::SEE_OTHER);
    engineer
        .get("/")
        .await
        .does_not_say("gas test waits for its approval");
    engineer
        .get("/pressure-tests/inspect")
        .await
        .says("Gas tests to approve None is asked for.")
        .says("Your own of LG-1107A waits for somebody else\u{2019}s approval");
    let mut inspector = plant.inspector().await;
    // What the inspector can do is named first, and no empty box stands before it.
    inspector
        .get("/pressure-tests/inspect")
        .await
        .says("1 gas test waits for its approval All tests")
        .says("No test to witness, no certificate to sign, no certificate in question")
        .does_not_say("No test waits");
    let board = inspector.get("/").await;
    board.says("1 gas test waits for its approval");
    assert!(
        board
            .text
            .contains(&format!("<a href=\"{at}\">1 gas test waits")),
        "{}",
        board.text
    );
    // Of several the page that lists them.
    engineer
        .fill(&page, at, &asked)
        .await
        .is(StatusCode::SEE_OTHER);
    let board = inspector.get("/").await;
    assert!(
        board
            .text
            .contains("<a href=\"/pressure-tests/inspect\">2 gas tests wait"),
        "{}",
        board.text
    );
}

async fn chosen(plant: &Plant, whose: &str, fields: &[(&str, &str)]) {
    let page = format!("/plant/test-plan{whose}");
    let mut all = vec![
        ("limit_unit", "[psi]"),
        ("drop_unit", "[psi]"),
        ("paper", "a4"),
    ];
    all.extend_from_slice(fields);
    plant
        .engineer()
        .await
        .fill(&page, &page, &all)
        .await
        .is(StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn the_nearer_choice_counts_and_stands_on_the_certificate_with_its_ground() {
    let plant = plant().await;
    chosen(
        &plant,
        "?class=saturated%20steam",
        &[
            ("code", &word(&Code::AsmeB313)),
            ("ground", "piping class 12"),
        ],
    )
    .await;
    let mut technician = plant.technician().await;
    technician
        .get(FORM)
        .await
        .says("held for 10 min")
        .says("chosen for the service class: piping class 12");
    chosen(
        &plant,
        "?gauge=LG-1107A",
        &[
            ("code", &word(&Code::AsmeViiiUg99)),
            ("hold_minutes", "5"),
            ("ground", "drawing 4711"),
        ],
    )
    .await;
    technician
        .get(FORM)
        .await
        .says("at 1300 psi")
        .says("chosen for this gauge: drawing 4711");
}

#[tokio::test]
async fn an_allowed_drop_makes_an_unexplained_one_fail_though_nobody_saw_a_leak() {
    let plant = plant().await;
    chosen(
        &plant,
        "",
        &[
            ("drop", "20"),
            ("guard", "none"),
            ("thermometer", "0.1"),
            ("ground", "procedure TP-7 issue 2"),
        ],
    )
    .await;
    let falls = with(
        PASSED,
        &[("minute", ""), ("pressure", ""), ("temperature", "")],
    );
    let mut fields = falls;
    for (name, value) in [
        ("minute", "0"),
        ("pressure", "1700"),
        ("temperature", "18.0"),
        ("minute", "5"),
        ("pressure", "1510"),
        ("temperature", "18.0"),
    ] {
        fields.push((name, value));
    }
    let number = tested(&mut plant.technician().await, &fields).await;
    plant
        .technician()
        .await
        .get(&format!("/pressure-tests/{number}"))
        .await
        .says("the pressure fell by more than temperature explains")
        .says("The change of pressure");
}

#[tokio::test]
async fn the_head_of_water_is_taken_off_for_the_highest_point() {
    let plant = plant().await;
    // 2 m of water are about 2.8 psi: 1501 psi at the pump is 1498 at the top.
    let low = [
        ("above_lowest", "0"),
        ("below_highest", "2"),
        ("height_unit", "m"),
        ("pressure", ""),
        ("minute", ""),
        ("temperature", ""),
    ];
    let mut fields = with(PASSED, &low);
    for (minute, pressure) in [("0", "1501"), ("5", "1501")] {
        fields.extend([
            ("minute", minute),
            ("pressure", pressure),
            ("temperature", "18"),
        ]);
    }
    let number = tested(&mut plant.technician().await, &fields).await;
    plant
        .technician()
        .await
        .get(&format!("/pressure-tests/{number}"))
        .await
        .says("was not proven by its test")
        .says("the highest point saw 1498.");
}

#[tokio::test]
async fn a_choice_names_its_ground_and_a_drop_its_band() {
    let plant = plant().await;
    let mut engineer = plant.engineer().await;
    let page = "/plant/test-plan";
    engineer
        .get(page)
        .await
        .says("as in the plant\u{2019}s settings")
        .does_not_say("as chosen further up");
    let base = [
        ("limit_unit", "[psi]"),
        ("drop_unit", "[psi]"),
        ("paper", "letter"),
    ];
    engineer
        .fill(page, page, &base)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Name the procedure");
    let mut drop = base.to_vec();
    drop.extend([("drop", "20"), ("ground", "procedure TP-7")]);
    engineer
        .fill(page, page, &drop)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("choose both");
    engineer
        .get("/pressure-tests/inspect")
        .await
        .says("Nothing waits for an inspector");
}

#[tokio::test]
async fn a_pressure_above_the_stated_limit_is_said_with_what_was_done_about_it() {
    let plant = plant().await;
    chosen(
        &plant,
        "?gauge=LG-1107A",
        &[("limit", "1600"), ("ground", "drawing 4711")],
    )
    .await;
    let mut technician = plant.technician().await;
    let mut over = with(
        PASSED,
        &[("minute", ""), ("pressure", ""), ("temperature", "")],
    );
    for (minute, pressure) in [("0", "1650"), ("5", "1505")] {
        over.extend([
            ("minute", minute),
            ("pressure", pressure),
            ("temperature", "18"),
        ]);
    }
    let says = "1650 psi at minute 0 is above the stated limit of 1600 psi";
    technician
        .fill(FORM, FORM, &over)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says(says)
        .says("Say here what was done about it");
    over.push(("note", "glass renewed, tested again"));
    let number = tested(&mut technician, &over).await;
    technician
        .get(&format!("/pressure-tests/{number}"))
        .await
        .says(says);
    let mut inspector = plant.inspector().await;
    signs(&mut inspector, &number, "witness")
        .await
        .is(StatusCode::SEE_OTHER);
    // Among the deviations of the certificate, with the note.
    inspector
        .get(&format!("/pressure-tests/{number}/certificate"))
        .await
        .says(says)
        .says("The tester noted: glass renewed, tested again");
    sound(&plant).await;
}

#[tokio::test]
async fn a_limit_is_judged_at_the_lowest_point_from_the_highest_reading() {
    let plant = plant().await;
    // 10 m of water are about 14 psi: 1505 psi at the pump is about 1519 at the bottom.
    chosen(
        &plant,
        "?gauge=LG-1107A",
        &[("limit", "1510"), ("ground", "drawing 4711")],
    )
    .await;
    let mut fields = with(
        PASSED,
        &[
            ("above_lowest", "10"),
            ("below_highest", "0"),
            ("height_unit", "m"),
            ("pressure", ""),
            ("minute", ""),
            ("temperature", ""),
        ],
    );
    for (minute, pressure) in [("0", "1505"), ("5", "1500")] {
        fields.extend([
            ("minute", minute),
            ("pressure", pressure),
            ("temperature", "18"),
        ]);
    }
    plant
        .technician()
        .await
        .fill(FORM, FORM, &fields)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("The lowest point of the gauge saw up to 1519.")
        .says("above the stated limit of 1510 psi");
}

#[tokio::test]
async fn a_planned_test_that_asks_for_no_witness_does_not_wait_for_one_and_may_still_get_one() {
    let plant = plant().await;
    let mut inspector = plant.inspector().await;
    let fields = [("tags", GAUGE), ("day", "2026-04-01")];
    inspector
        .fill(PLAN, PLAN, &fields)
        .await
        .is(StatusCode::SEE_OTHER);
    let number = tested(&mut plant.technician().await, PASSED).await;
    inspector
        .get("/pressure-tests/inspect")
        .await
        .says("Nothing waits for an inspector");
    signs(&mut inspector, &number, "witness")
        .await
        .is(StatusCode::SEE_OTHER);
    inspector
        .get("/pressure-tests?waiting=certificate")
        .await
        .says(&number);
    signs(&mut inspector, &number, "certificate")
        .await
        .is(StatusCode::SEE_OTHER);
    inspector
        .get("/pressure-tests/inspect")
        .await
        .says("Nothing waits for an inspector");
    sound(&plant).await;
}

#[tokio::test]
async fn the_inspector_s_page_says_what_waits_what_is_questioned_and_what_runs_out() {
    let plant = plant().await;
    take_in(&plant, &[("tag", "LG-1107B")]).await;
    let mut inspector = plant.inspector().await;
    let first = tested(&mut plant.technician().await, PASSED).await;
    inspector
        .get("/pressure-tests/inspect")
        .await
        .says("1 test waits for a witness, 0 for a signature")
        .says(&first);
    signs(&mut inspector, &first, "witness").await;
    inspector
        .get("/pressure-tests/inspect")
        .await
        .says("0 tests wait for a witness, 1 for a signature");
    signs(&mut inspector, &first, "certificate").await;
    // The pressure gauge is found bad: the certificate is in question.
    let page = "/instruments/PG-22/calibrate";
    plant
        .engineer()
        .await
        .fill(
            page,
            page,
            &[
                ("calibrated_on", "2026-03-02"),
                ("due_on", "2026-04-01"),
                ("reference", "CAL 26/009"),
                ("found", "out-of-tolerance"),
                ("note", ""),
            ],
        )
        .await
        .is(StatusCode::SEE_OTHER);
    inspector
        .get("/pressure-tests/inspect")
        .await
        .says("1 certificate is in question")
        .says("TW-C-2026-0001")
        .says("PG-22")
        .says("found out of tolerance on 2 Mar 2026")
        .does_not_say("good to 1 Apr 2026");
    inspector
        .get("/")
        .await
        .says("1 certificate is in question");
    plant
        .engineer()
        .await
        .get("/")
        .await
        .says("1 certificate is in question");
}
