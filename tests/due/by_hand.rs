//! Every rule of the due date, asked of the pages of a small plant whose answers were worked by hand:
//! the arithmetic stands beside each. Today is Monday 2 March 2026. That the earliest rule governs and
//! a gauge bound to a shutdown is done in the last window that ends in time: common practice, no source.

use axum::http::StatusCode;
use gaugewright::acts;
use gaugewright::calc::quantity::{LengthUnit, Stamped};
use gaugewright::record::person::Role;
use gaugewright::store;
use rust_decimal::Decimal;
use time::macros::datetime;

use crate::bench::world::{ASSEMBLED, Bench, MADE_SAFE, RETURNED, STRIPPED, clean};
use crate::gauges::hang;
use crate::plant::{Answer, PASSWORD, Plant, Visitor};
use crate::storeroom::all_is_sealed_and_true;

const GAUGE: &str = "/gauges/LG-1107A";
/// Look-over every 12 months, rebuild every 60.
const COLD_WATER: (&str, &str) = ("class", "2");

async fn looked_over(visitor: &mut Visitor, on: &str) {
    let page = format!("{GAUGE}/look-over");
    visitor
        .fill(&page, &page, &[("found", "sound"), ("on", on)])
        .await
        .is(StatusCode::SEE_OTHER);
}

async fn stands(visitor: &mut Visitor, area: &str, name: &str, days: (&str, &str)) {
    let fields = [
        ("area", area),
        ("name", name),
        ("starts_on", days.0),
        ("ends_on", days.1),
    ];
    visitor
        .fill("/windows/new", "/windows/new", &fields)
        .await
        .is(StatusCode::SEE_OTHER);
}

async fn hung(fields: &[(&str, &str)]) -> (Plant, Visitor) {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(&mut engineer, fields).await;
    (plant, engineer)
}

#[tokio::test]
async fn the_rebuild_interval_counts_calendar_months_and_takes_the_last_day_of_a_short_month() {
    // 31 August 2021 and 60 months is 31 August 2026; the look-over of 1 March 2026 and 12 months is
    // 1 March 2027, later.
    let (_plant, mut engineer) = hung(&[COLD_WATER, ("installed_on", "2021-08-31")]).await;
    looked_over(&mut engineer, "2026-03-01").await;
    engineer
        .get(GAUGE)
        .await
        .says("Due 31 Aug 2026 (in 6 months): rebuild interval")
        .says("rebuild interval 31 Aug 2026 governs")
        .says("look-over interval 1 Mar 2027 considered");
    // Steam, every 18 months: 31 August 2025 and 18 months would be 31 February 2027; February 2027
    // has 28 days.
    let (_plant, mut engineer) = hung(&[("installed_on", "2025-08-31")]).await;
    engineer
        .get(GAUGE)
        .await
        .says("rebuild interval 28 Feb 2027 considered");
}

#[tokio::test]
async fn the_look_over_counts_from_the_last_one() {
    // 30 November 2025 and 3 months would be 30 February 2026: 28 February, two days before today.
    let (_plant, mut engineer) = hung(&[("installed_on", "2025-10-31")]).await;
    looked_over(&mut engineer, "2025-11-30").await;
    engineer
        .get(GAUGE)
        .await
        .says("Due 28 Feb 2026 (2 days over): look-over interval")
        // 31 October 2025 and 18 months would be 31 April 2027: April has 30 days.
        .says("rebuild interval 30 Apr 2027 considered");
    engineer
        .get("/due")
        .await
        .says("1 gauge past due")
        .says("LG-1107A BH-D-101 steam drum look-over interval rebuild by 30 Apr 2027 28 Feb 2026");
}

#[tokio::test]
async fn a_failure_is_due_the_day_it_was_seen_and_governs_what_falls_on_the_same_day() {
    // The look-over of 2 December 2025 and 3 months is 2 March 2026, today; so is the failure. At the
    // same date the graver reason is named.
    let (_plant, mut engineer) = hung(&[("installed_on", "2025-10-31")]).await;
    looked_over(&mut engineer, "2025-12-02").await;
    let page = format!("{GAUGE}/failure");
    engineer.fill(&page, &page, &[("kind", "leak")]).await;
    engineer
        .get(GAUGE)
        .await
        .says("Due 2 Mar 2026 (today): failure in service")
        .says("failure in service 2 Mar 2026 governs look-over interval 2 Mar 2026 considered");
}

#[tokio::test]
async fn a_deferral_of_the_rebuild_stands_in_for_its_date_alone_and_stops_at_its_hard_limit() {
    // Rebuild: 1 October 2024 and 18 months, 1 April 2026. Look-over: 1 October 2024 and 3 months,
    // 1 January 2025. Both fall before 30 June; 30 June stands in for the rebuild, which it names, and
    // leaves the look-over where it is.
    let (plant, mut engineer) = hung(&[("installed_on", "2024-10-01")]).await;
    let page = format!("{GAUGE}/deferral");
    let ask = [
        ("moves", "rebuild"),
        ("until", "2026-06-30"),
        ("hard_limit", "2026-07-31"),
        ("reason", "kit comes in May"),
        ("risk", "the gasket hardens further"),
        ("mitigations", "looked over weekly"),
    ];
    engineer.fill(&page, &page, &ask).await;
    let mut inspector = plant.inspector().await;
    let request = inspector.get(&page).await.field("request");
    let sign = [
        ("request", request.as_str()),
        ("decision", "sign"),
        ("password", PASSWORD),
    ];
    inspector
        .fill(&page, &format!("{page}/decide"), &sign)
        .await
        .is(StatusCode::SEE_OTHER);
    engineer
        .get(GAUGE)
        .await
        .says("look-over interval 1 Jan 2025 governs")
        .says("deferral 30 Jun 2026 considered")
        .says("rebuild interval 1 Apr 2026 deferred");
    // One day past the hard limit of 31 July is refused, the limit itself is not.
    for (until, status) in [
        ("2026-08-01", StatusCode::UNPROCESSABLE_ENTITY),
        ("2026-07-31", StatusCode::SEE_OTHER),
    ] {
        let again = [
            ask[0],
            ("until", until),
            ("hard_limit", until),
            ask[3],
            ask[4],
            ask[5],
        ];
        engineer.fill(&page, &page, &again).await.is(status);
    }
}

#[tokio::test]
async fn a_gauge_bound_to_a_shutdown_is_done_in_the_last_window_that_ends_on_or_before_its_date() {
    // Rebuild by 31 August 2026 as above. Spring ends on 15 May; autumn ends after the day and is no
    // help; late summer ends on the day itself, which is still in time.
    let bound = [
        COLD_WATER,
        ("installed_on", "2021-08-31"),
        ("isolation", "shutdown-only"),
    ];
    let (plant, mut engineer) = hung(&bound).await;
    looked_over(&mut engineer, "2026-03-01").await;
    engineer
        .get(GAUGE)
        .await
        .says("no shutdown window ends before its date")
        .says("Due 31 Aug 2026");
    engineer
        .get("/windows")
        .await
        .says("Boiler House: 1 gauge finds no window before its date");
    stands(&mut engineer, "1", "spring", ("2026-05-04", "2026-05-15")).await;
    engineer
        .get(GAUGE)
        .await
        .says("Due 15 May 2026")
        .says("in the shutdown window from 4 May 2026 to 15 May 2026");
    stands(&mut engineer, "1", "autumn", ("2026-09-01", "2026-09-10")).await;
    engineer.get(GAUGE).await.says("Due 15 May 2026");
    // Another area's window is none of its.
    stands(&mut engineer, "2", "tanks", ("2026-08-03", "2026-08-14")).await;
    engineer.get(GAUGE).await.says("Due 15 May 2026");
    stands(
        &mut engineer,
        "1",
        "late summer",
        ("2026-08-24", "2026-08-31"),
    )
    .await;
    engineer
        .get(GAUGE)
        .await
        .says("Due 31 Aug 2026")
        .says("in the shutdown window from 24 Aug 2026 to 31 Aug 2026");
    all_is_sealed_and_true(&plant).await;
}

const KIT: &str = "/storeroom/kits/TW-K-250R";

/// Sends the form of the gasket age with the hidden fields of the page it came from.
async fn ages(visitor: &mut Visitor, page: &Answer, (kit, months): (&str, &str)) -> Answer {
    let hidden: Vec<(&str, String)> = ["key", "version", "weighed"]
        .iter()
        .map(|name| (*name, page.field(name)))
        .collect();
    let mut fields: Vec<(&str, &str)> = hidden.iter().map(|(n, v)| (*n, v.as_str())).collect();
    fields.push(("months", months));
    fields.push(("ground", "data sheet of the gasket, 180 °C"));
    visitor.post(&format!("{kit}/gasket-age"), &fields).await
}

#[tokio::test]
async fn the_age_of_the_gaskets_is_weighed_before_it_is_saved_and_then_governs_when_it_comes_first()
{
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    crate::needs::adds_kit(&mut engineer).await;
    // Installed 31 January 2023: rebuilt by 31 January 2028, looked over by 1 March 2027. Gaskets of 37
    // months: 31 February 2026 would be, 28 February 2026 is, and that was the day before yesterday.
    let fields = [
        COLD_WATER,
        ("installed_on", "2023-01-31"),
        ("kit", "1"),
        ("kits_per_rebuild", "1"),
    ];
    hang(&mut engineer, &fields).await;
    looked_over(&mut engineer, "2026-03-01").await;
    engineer.get(GAUGE).await.says("Due 1 Mar 2027");
    engineer
        .get(KIT)
        .await
        .says("Gaskets in service no age stated");
    let page = engineer.get(&format!("{KIT}/gasket-age")).await;
    let weighed = ages(&mut engineer, &page, (KIT, "37")).await;
    weighed
        .is(StatusCode::OK)
        .says("1 due date moves")
        .says("Of 1 gauge in service 1 fall due sooner and 0 later")
        .says("1 gauge that is in time today would be overdue at once.")
        .says("Nothing was saved yet");
    engineer.get(GAUGE).await.says("Due 1 Mar 2027");
    ages(&mut engineer, &weighed, (KIT, "37"))
        .await
        .is(StatusCode::SEE_OTHER);
    engineer
        .get(GAUGE)
        .await
        .says("Due 28 Feb 2026 (2 days over): gasket age")
        .says("gasket age 28 Feb 2026 governs")
        .says("rebuild interval 31 Jan 2028 considered");
    engineer
        .get(KIT)
        .await
        .says("Gaskets in service at most 37 months data sheet of the gasket, 180 °C")
        // The rebuild comes sooner, and with it the day its kit is wanted.
        .says("LG-1107A BH-D-101 28 Feb 2026");
    all_is_sealed_and_true(&plant).await;
    // 38 months: 31 March 2026.
    let page = engineer.get(&format!("{KIT}/gasket-age")).await;
    let weighed = ages(&mut engineer, &page, (KIT, "38")).await;
    ages(&mut engineer, &weighed, (KIT, "38")).await;
    engineer.get(GAUGE).await.says("Due 31 Mar 2026");
    // Taken back: the look-over governs again.
    let page = engineer.get(&format!("{KIT}/gasket-age")).await;
    let weighed = ages(&mut engineer, &page, (KIT, "")).await;
    weighed.says("fall due sooner and 1 later");
    ages(&mut engineer, &weighed, (KIT, "")).await;
    engineer.get(GAUGE).await.says("Due 1 Mar 2027");
    all_is_sealed_and_true(&plant).await;
}

#[tokio::test]
async fn a_gasket_age_needs_its_ground_is_in_range_and_is_the_engineer_s_to_state() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    crate::needs::adds_kit(&mut engineer).await;
    let page = format!("{KIT}/gasket-age");
    for (fields, says) in [
        (
            [("months", "601"), ("ground", "data sheet")],
            "Write a whole number from 1 to 600",
        ),
        (
            [("months", "60"), ("ground", "")],
            "Say in 3 to 500 characters what it stands on",
        ),
    ] {
        engineer
            .fill(&page, &page, &fields)
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says(says);
    }
    let mut keeper = plant.storekeeper().await;
    keeper.get(&page).await.is(StatusCode::FORBIDDEN);
    keeper.get(KIT).await.does_not_say("state it");
    // Two engineers on the same page: the second is told who was there.
    let mut administrator = plant.administrator().await;
    let stale = administrator.get(&page).await;
    let opened = engineer.get(&page).await;
    let weighed = ages(&mut engineer, &opened, (KIT, "48")).await;
    ages(&mut engineer, &weighed, (KIT, "48")).await;
    ages(&mut administrator, &stale, (KIT, "60"))
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Test reliability engineer");
    engineer.get(KIT).await.says("at most 48 months");
}

/// The rebuild of the bench's gauge from the stripped gauge on, with this wall behind the chamber face.
async fn rebuilt(bench: Bench, wall: &str) -> Bench {
    rebuilt_saying(bench, wall, &[]).await
}

/// The same with what is said of the wall.
async fn rebuilt_saying(mut bench: Bench, wall: &str, said: &[(&str, &str)]) -> Bench {
    let mut chamber = clean("chamber");
    chamber.extend([
        ("wall", wall),
        ("wall_unit", "[in_i]"),
        ("wall_instrument", "CA-03"),
    ]);
    chamber.extend_from_slice(said);
    bench.record("bolting", &[("done", "renewed")]).await;
    bench.record("face", &chamber).await;
    bench.record("face", &clean("cover")).await;
    bench
        .record("kits", &[("lot", "1"), ("quantity", "1")])
        .await;
    bench.record("assembled", ASSEMBLED).await;
    bench.record("tightened", &[("wrench", "TW-07")]).await;
    bench.press("test").await.is(StatusCode::SEE_OTHER);
    bench.tested("passed").await;
    bench.go("return", RETURNED).await.is(StatusCode::SEE_OTHER);
    bench
}

/// The bench's gauge stripped once more on a day.
async fn open_again(mut bench: Bench, at: time::OffsetDateTime) -> Bench {
    bench.plant.turn_to(at);
    bench.engineer = bench.plant.engineer().await;
    bench.technician = bench.plant.technician().await;
    bench.stripped().await
}

#[tokio::test]
async fn a_wall_that_grew_wears_on_from_what_it_was_by_the_faster_rate() {
    let bench = Bench::with(&[("sections", "1"), COLD_WATER]).await;
    let bench = rebuilt(bench.stripped().await, "0.130").await;
    let bench = open_again(bench, datetime!(2026-06-10 09:00 UTC)).await;
    let bench = rebuilt(bench, "0.125").await;
    let bench = open_again(bench, datetime!(2026-09-18 09:00 UTC)).await;
    let said = [
        ("again", "yes"),
        ("again_reason", "both earlier ones were read askew"),
    ];
    let mut bench = rebuilt_saying(bench, "0.150", &said).await;
    // 0.005 in lost in the 100 days to 10 June. Another 100 days on it counts as 0.120 in, whatever was read:
    // 0.020 in left last 400 days; half of them, 200 days, after 18 September 2026 (12 of September, 31, 30,
    // 31, 31, 28 and 31 make 194 on 31 March) is 6 April 2027.
    bench
        .engineer
        .get(GAUGE)
        .await
        .says("Due 6 Apr 2027 (in 7 months): half-life of a worn wall")
        .says("reaches the least wall in 1.1 years; read thicker than before, which is not taken for metal: it counts as no thicker than 0.125 in on 10 Jun 2026")
        .says("Remaining life of a wall read thicker than before")
        .says("Metal does not grow");
    bench.is_sound().await;
}

#[tokio::test]
async fn a_worn_wall_is_measured_again_at_half_of_what_is_left_of_its_life() {
    // API 510, 10th edition, 7.1.1 and 7.2.1 (rate and remaining life) and 6.5.1.1 (half of it).
    let bench = Bench::with(&[("sections", "1"), COLD_WATER]).await;
    let mut bench = rebuilt(bench.stripped().await, "0.130").await;
    // One reading knows no rate: the look-over, 12 months after the return of 2 March 2026, governs.
    bench
        .engineer
        .get(GAUGE)
        .await
        .says("Due 2 Mar 2027")
        .says("chamber recess, section 1 0.130 in 2 Mar 2026 one reading, no rate known yet at the next rebuild")
        .does_not_say("half-life of a worn wall");
    // A hundred days later 0.125 in: 0.005 in lost in 100 days, 0.025 in left over the least wall of
    // 0.100 in, so 500 days last; half of them, 250 days, after 10 June 2026 (29 days of June taken
    // from its 30: 20 left, July 31, August 31, September 30, October 31, November 30, December 31,
    // January 31 make 235) is 15 February 2027.
    bench.plant.turn_to(datetime!(2026-06-10 09:00 UTC));
    bench.engineer = bench.plant.engineer().await;
    bench.technician = bench.plant.technician().await;
    let page = format!("{GAUGE}/rebuild");
    let fields = [("cause", "interval"), ("planned_for", "2026-06-10")];
    bench
        .engineer
        .fill(&page, &page, &fields)
        .await
        .is(StatusCode::SEE_OTHER);
    bench.press("start").await.is(StatusCode::SEE_OTHER);
    bench.record("made-safe", MADE_SAFE).await;
    bench.record("stripped", STRIPPED).await;
    let mut bench = rebuilt(bench, "0.125").await;
    bench
        .engineer
        .get(GAUGE)
        .await
        .says("Due 15 Feb 2027 (in 8 months): half-life of a worn wall")
        // 10 June 2026 and 60 months; and 12 months.
        .says("rebuild interval 10 Jun 2031 considered")
        .says("look-over interval 10 Jun 2027 considered")
        .says("chamber recess, section 1 0.125 in 10 Jun 2026")
        .says("15 Feb 2027");
    bench
        .engineer
        .get("/due?rule=wall-half-life")
        .await
        .says("LG-1107A");
    bench.is_sound().await;
    // The plant asks for 0.110 in: 0.015 in left last 300 days, half of them end 150 days after
    // 10 June 2026 (20, 31, 31, 30, 31 make 143), on 7 November 2026.
    let mut deed = bench.plant.deed_of(Role::Engineer).await;
    let mut plant = store::plant::find(deed.db()).await.unwrap().unwrap();
    plant.wall_limit = Stamped::new(Decimal::new(110, 3), LengthUnit::Inch);
    acts::plant::settle(&mut deed, &plant).await.unwrap();
    deed.commit("").await.unwrap();
    bench.engineer.get(GAUGE).await.says("Due 7 Nov 2026");
    bench.is_sound().await;
}

#[tokio::test]
async fn the_kit_the_last_rebuild_fitted_says_how_old_its_gaskets_may_become() {
    // Returned 2 March 2026; gaskets of 9 months are due by 2 December 2026, before the look-over of
    // 2 March 2027.
    let bench = Bench::with(&[("sections", "1"), COLD_WATER]).await;
    let mut bench = rebuilt(bench.stripped().await, "0.130").await;
    let kit = "/storeroom/kits/SW-K-250R";
    let page = bench.engineer.get(&format!("{kit}/gasket-age")).await;
    let weighed = ages(&mut bench.engineer, &page, (kit, "9")).await;
    weighed.says("1 due date moves");
    ages(&mut bench.engineer, &weighed, (kit, "9"))
        .await
        .is(StatusCode::SEE_OTHER);
    bench
        .engineer
        .get(GAUGE)
        .await
        .says("Due 2 Dec 2026 (in 9 months): gasket age");
    bench.is_sound().await;
}

#[tokio::test]
async fn a_recalled_test_that_is_done_again_is_due_the_day_that_was_decided() {
    use crate::pressure_tests::world::{certified, plant, rebuilt};
    let plant = plant().await;
    rebuilt(&plant).await;
    certified(&plant).await;
    let mut engineer = plant.engineer().await;
    let page = "/instruments/PG-22/calibrate";
    let fields = [
        ("calibrated_on", "2026-03-02"),
        ("due_on", "2027-03-01"),
        ("reference", "CAL 26/009"),
        ("found", "out-of-tolerance"),
        ("note", ""),
    ];
    engineer.fill(page, page, &fields).await;
    let recall = engineer.get("/recalls/1").await;
    let at = recall.text.find("value=\"test-").expect("a test") + "value=\"".len();
    let test = recall.text[at..].split('"').next().unwrap_or("").to_owned();
    let decision = [
        ("about", test.as_str()),
        ("decision", "repeat"),
        ("reason", "the proof was short of 1500 psi"),
    ];
    engineer
        .fill("/recalls/1", "/recalls/1/decide", &decision)
        .await
        .is(StatusCode::SEE_OTHER);
    // Decided today, 2 March 2026. Installed 31 January 2024, the gauge is also overdue for its look-over
    // (3 months: 30 April 2024) and its rebuild (18 months: 31 July 2025), which come first.
    engineer
        .get(GAUGE)
        .await
        .says("look-over interval 30 Apr 2024 governs rebuild interval 31 Jul 2025 considered recall 2 Mar 2026 considered");
    // Without intervals the recall alone is left.
    let mut deed = plant.deed_of(Role::Engineer).await;
    let class = store::plant::service_class_named(deed.db(), "saturated steam")
        .await
        .unwrap()
        .unwrap();
    let none = gaugewright::record::plant::ServiceClass {
        rebuild_months: None,
        look_over_months: None,
        ..class
    };
    acts::plant::change_service_class(&mut deed, &none)
        .await
        .unwrap();
    deed.commit("").await.unwrap();
    engineer
        .get(GAUGE)
        .await
        .says("Due 2 Mar 2026 (today): recall")
        .says("recall 2 Mar 2026 governs");
}
