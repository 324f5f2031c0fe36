//! What to order of a kit, asked of the pages and worked by hand: the arithmetic stands beside each
//! number. Today is 2 March 2026; an order is ten days on the way, the storeroom is looked at every
//! thirty. The Poisson values are in any printed table: mean 3, P(D ≤ 5) = 0.9161, P(D ≤ 6) = 0.9665,
//! P(D ≤ 7) = 0.9881. That planned rebuilds and a cover for failures are kept apart, and that the
//! first day they cannot both be met is the shortfall: common practice, no source.

use axum::http::StatusCode;

use super::{KIT, receives, small_plant};
use crate::plant::{Answer, Plant, Visitor};
use crate::storeroom::all_is_sealed_and_true;

/// Places an order of so many for this day.
async fn awaits(engineer: &mut Visitor, quantity: &str, promised: &str) {
    let fields = [("kit", KIT), ("quantity", quantity)];
    let answer = engineer.fill("/orders/new", "/orders/new", &fields).await;
    let order = answer.goes_to().to_owned();
    let opened = engineer.get(&order).await;
    let (key, version) = (opened.field("key"), opened.field("version"));
    let fields = [
        ("key", key.as_str()),
        ("version", version.as_str()),
        ("supplier", "Fennel Gauge"),
        ("placed_on", "2026-03-02"),
        ("promised_on", promised),
    ];
    engineer
        .post(&format!("{order}/place"), &fields)
        .await
        .is(StatusCode::SEE_OTHER);
}

async fn needs(engineer: &mut Visitor) -> Answer {
    engineer.get(&format!("/needs/kits/{KIT}")).await
}

/// Packs and least order of the kit, written anew.
async fn packed(engineer: &mut Visitor, (pack, minimum): (&str, &str)) {
    let page = format!("/storeroom/kits/{KIT}/edit");
    let opened = engineer.get(&page).await;
    let hidden: Vec<(&str, String)> = ["key", "row", "version", "opened"]
        .iter()
        .filter(|name| opened.text.contains(&format!("name=\"{name}\"")))
        .map(|name| (*name, opened.field(name).replace("&#34;", "\"")))
        .collect();
    let mut fields: Vec<(&str, &str)> = hidden.iter().map(|(n, v)| (*n, v.as_str())).collect();
    fields.extend(
        crate::storeroom::KIT
            .iter()
            .filter(|(name, _)| !matches!(*name, "pack" | "minimum")),
    );
    fields.extend([("pack", pack), ("minimum", minimum)]);
    engineer
        .post(&page, &fields)
        .await
        .is(StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn planned_rebuilds_are_taken_off_day_by_day_and_what_failures_may_take_is_kept() {
    let (_plant, mut engineer) = small_plant().await;
    receives(&mut engineer, "K", "8", "").await;
    // Failures: 9.13125 a gauge and year × 3 gauges × 40 days / 365.25 = 3.00; the least number that
    // covers 95 % is 6 (0.9665; 5 would cover 0.9161).
    // Shelf: 8, after 30 April 7, after 30 May 6, after 15 December 5, which is one less than the 6.
    // Ten days before 15 December is 5 December. Placed then the order lasts 40 days, to 14 January
    // 2027: 3 planned + 6 kept − 8 there = 1 missing, and kits come in fives.
    let page = needs(&mut engineer).await;
    page.says("Order 5 of TW-K-250R by 5 Dec 2026")
        .says("On 15 Dec 2026 planned rebuilds and 6 kept for failures are 1 more")
        .says("Planned rebuilds by then 3")
        .says("Kept for failures 6 3.00 on average in 40 days")
        .says("On the way by 14 Jan 2027 0")
        // The chart goes on with average failures; what the five are for is not ordered for a second time.
        .does_not_say("as foreseen");
    engineer.get("/needs").await.says(
        "TW-K-250R reflex 250 mm, steam 5 Dec 2026 in 9 months 5 14 Jan 2027 8 0 3 6 15 Dec 2026",
    );
}

#[tokio::test]
async fn the_order_is_rounded_up_to_packs_and_to_the_least_the_supplier_sends() {
    let (plant, mut engineer) = small_plant().await;
    receives(&mut engineer, "K", "8", "").await;
    // One is missing: in packs of 4 at least 10 are two packs and a half, so three packs, 12.
    packed(&mut engineer, ("4", "10")).await;
    needs(&mut engineer)
        .await
        .says("Order 12 of TW-K-250R by 5 Dec 2026");
    // By ones, no least order: 1.
    packed(&mut engineer, ("1", "1")).await;
    needs(&mut engineer)
        .await
        .says("Order 1 of TW-K-250R by 5 Dec 2026");
    all_is_sealed_and_true(&plant).await;
}

#[tokio::test]
async fn kits_that_expire_leave_on_the_day_after_their_last_and_are_named_as_a_loss() {
    let (_plant, mut engineer) = small_plant().await;
    receives(&mut engineer, "K", "5", "").await;
    receives(&mut engineer, "OLD", "3", "2026-05-15").await;
    // First expired first out: 30 April takes one of OLD. Two of OLD are left on 15 May and gone on the
    // 16th: 5 stay for the 6 that are kept. Ten days before 16 May is 6 May; 40 days after 6 May is
    // 15 June. To then: 2 planned + 6 kept, of the 5 + 1 that serve: 2 missing, five ordered.
    let page = needs(&mut engineer).await;
    page.says("Order 5 of TW-K-250R by 6 May 2026")
        .says("On 16 May 2026 planned rebuilds and 6 kept for failures are 1 more")
        .says("Foreseen to expire unused, if no failure takes any: 2 of lot OLD");
}

#[tokio::test]
async fn what_is_on_the_way_counts_from_the_day_it_was_promised_for() {
    let (plant, mut engineer) = small_plant().await;
    receives(&mut engineer, "K", "6", "").await;
    // 6 there, 6 kept: the rebuild of 30 April is one too many; ten days before is 20 April.
    needs(&mut engineer)
        .await
        .says("Order 5 of TW-K-250R by 20 Apr 2026");
    // Five that come on 30 April itself are in time: 6 + 5 − 1 = 10, after 30 May 9, after
    // 15 December 8; 6 are kept all the time.
    awaits(&mut engineer, "5", "2026-04-30").await;
    needs(&mut engineer)
        .await
        .says("TW-K-250R lasts through the time looked ahead");
    all_is_sealed_and_true(&plant).await;
}

#[tokio::test]
async fn what_comes_a_day_too_late_is_hurried_and_not_ordered_twice() {
    let (plant, mut engineer) = small_plant().await;
    receives(&mut engineer, "K", "6", "").await;
    awaits(&mut engineer, "5", "2026-05-01").await;
    // Short on 30 April by one, for one day; from 1 May on 6 − 1 + 5 = 10 are there. Nothing is to be
    // ordered; what is on the way has to be hurried.
    needs(&mut engineer)
        .await
        .says("TW-K-250R : hurry what is on the way")
        .says("Order nothing")
        .says("On 30 Apr 2026")
        // Six are there for the one rebuild of 30 April: only what is kept for failures is broken into.
        .says("planned rebuilds are met, and until it comes fewer are kept for failures")
        .does_not_say("move a rebuild");
    engineer
        .get("/needs")
        .await
        .says("– hurry what is on the way; rebuilds are met");
    engineer
        .get("/")
        .await
        .says("What is on the way of 1 kit is to be hurried.")
        .says("Kits that fall short Kit May be used Order Order by TW-K-250R 6 – hurry what is on the way")
        .does_not_say("Kits are to be ordered");
    all_is_sealed_and_true(&plant).await;
}

/// Nothing is kept for failures, since no rate is known. Two are wanted on 30 April, none is there, and five
/// come the day after.
#[tokio::test]
async fn what_comes_after_a_rebuild_that_waits_for_it_is_hurried_for_that_rebuild() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    super::adds_kit(&mut engineer).await;
    let fields = [
        ("tag", "LG-1"),
        ("installed_on", "2024-10-31"),
        ("kit", "1"),
        ("kits_per_rebuild", "2"),
    ];
    crate::gauges::hang(&mut engineer, &fields).await;
    awaits(&mut engineer, "5", "2026-05-01").await;
    needs(&mut engineer)
        .await
        .says("TW-K-250R : hurry what is on the way")
        .does_not_say("planned rebuilds are met");
    engineer
        .get("/needs")
        .await
        .says("Nothing to order within 30 days; hurry what is on the way of 1 kit")
        .says("hurry what is on the way: rebuilds are short on 30 Apr 2026");
    all_is_sealed_and_true(&plant).await;
}

#[tokio::test]
async fn a_day_to_order_that_is_past_is_said_plainly() {
    let (_plant, mut engineer) = small_plant().await;
    // Nothing there: already today 6 are missing; ten days before 2 March is 20 February, ten days
    // over. To 11 April (40 days after today) nothing is planned: 6 kept, in fives 10.
    let page = needs(&mut engineer).await;
    page.says("Order 10 of TW-K-250R now, then 5 by 21 Apr 2026")
        .says("The day to order was 20 Feb 2026: ask for quick delivery");
    // Drawn at today, and called so: the day itself lies left of the drawing.
    page.says("today; the day to order was 20 Feb 2026")
        .does_not_say("order by 20 Feb 2026, past")
        .says("Mar 2026 Apr May");
    engineer
        .get("/needs")
        .await
        .says("1 kit to order now")
        .says("20 Feb 2026 10 days over 10 11 Apr 2026 0 0 0 6 2 Mar 2026");
    engineer
        .get("/")
        .await
        .says("Kits are to be ordered; the first order was to be placed by 20 Feb 2026 .")
        .does_not_say("is to be hurried");
}

#[tokio::test]
async fn a_kit_nobody_could_fail_with_wants_only_what_is_planned() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    super::adds_kit(&mut engineer).await;
    // A young register draws no rate and none is stated: nothing is kept for failures. Two kits for the
    // rebuild of 31 October 2024 + 18 months = 30 April 2026, none there: 20 April, and a pack of 5.
    let fields = [
        ("tag", "LG-1"),
        ("installed_on", "2024-10-31"),
        ("kit", "1"),
        ("kits_per_rebuild", "2"),
    ];
    crate::gauges::hang(&mut engineer, &fields).await;
    let page = needs(&mut engineer).await;
    page.says("Order 5 of TW-K-250R by 20 Apr 2026")
        .says("On 30 Apr 2026 planned rebuilds and 0 kept for failures are 2 more")
        .says("Kept for failures 0");
    engineer
        .get("/storeroom")
        .await
        .says("Nothing to order within 30 days, 1 kit later")
        // By, how many, up to (20 April and 40 days), may be used, on the way, short from: as above.
        .says("20 Apr 2026 in 49 days 5 30 May 2026 0 0 30 Apr 2026");
}

#[tokio::test]
async fn an_order_says_up_to_which_day_it_is_for_and_which_one_follows_it_by_when() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    super::adds_kit(&mut engineer).await;
    // No rate is known, so nothing is kept for failures. Two kits by 30 April 2026 (31 October 2024 and 18
    // months), four by 15 December 2026 (15 June 2025 and 18 months), none on the shelf.
    for (tag, isolation, installed, kits) in [
        ("LG-1", "in-service", "2024-10-31", "2"),
        ("LG-2", "shutdown-only", "2025-06-15", "4"),
    ] {
        let fields = [
            ("tag", tag),
            ("isolation", isolation),
            ("installed_on", installed),
            ("kit", "1"),
            ("kits_per_rebuild", kits),
        ];
        crate::gauges::hang(&mut engineer, &fields).await;
    }
    // By 20 April, ten days before; that order lasts forty days, to 30 May: two, in fives 5. Three of them
    // are left for the four of 15 December: one more, in fives 5, ten days before, 5 December.
    let page = needs(&mut engineer).await;
    page.says("Order 5 of TW-K-250R by 20 Apr 2026, then 5 by 5 Dec 2026")
        .says("The order of 5 is for what is wanted up to 30 May 2026 , through lead time and review.")
        .says("Then, as foreseen, 5 more by 5 Dec 2026 , for 15 Dec 2026.")
        // From 5 December it lasts forty days; two and four are wanted by then, five are there.
        .says("The 5 of the order that follows: up to 14 Jan 2027 rebuilds want 6, failures take 0 on average and 0 more are kept for them; 5 are there by then, with what is on the way and the order before.")
        .says("A shutdown window’s plan counts rebuilds alone");
    let shelf = format!("/storeroom/kits/{KIT}");
    engineer
        .get(&shelf)
        .await
        .says("Order 5 by 20 Apr 2026 (in 49 days), for what is wanted up to 30 May 2026 ; then 5 more by 5 Dec 2026 , for 15 Dec 2026. Short from 30 Apr 2026");
    engineer
        .get("/needs")
        .await
        .says("Nothing to order within 30 days, 1 kit later; a second order follows for 1 kit")
        .says("Order for needs up to")
        .says("20 Apr 2026 in 49 days 5 30 May 2026 0 0")
        .says("then for 15 Dec 2026 5 Dec 2026 5");
    engineer
        .get("/storeroom")
        .await
        .says("20 Apr 2026 in 49 days 5 30 May 2026 then 5 by 5 Dec 2026 0 0");
    engineer
        .get("/")
        .await
        .says("TW-K-250R 0 5 20 Apr 2026 for needs up to 30 May 2026");
    // Both are ticked and drafted together: one line of ten.
    let ticked = [("kit", "TW-K-250R=5"), ("kit", "TW-K-250R=5")];
    let draft = engineer.fill("/needs", "/orders/new", &ticked).await;
    draft.is(StatusCode::SEE_OTHER);
    let order = draft.goes_to().to_owned();
    engineer
        .get(&order)
        .await
        .says("TW-K-250R reflex 250 mm, steam 10");
    // Until it is placed nothing of it is counted; whoever looks again is told of it.
    let number = order.rsplit('/').next().unwrap_or_default().to_owned();
    engineer
        .get("/needs")
        .await
        .says(&format!("10 in draft {number}"));
    needs(&mut engineer).await.says(&format!(
        "10 in draft {number} , not placed and not counted yet."
    ));
    // In a window that ends on 10 December the four are wanted by then: ten days before is 30 November.
    let days = ("2026-12-01", "2026-12-10");
    crate::windows::agree(&mut engineer, "1", "winter stop", days)
        .await
        .is(StatusCode::SEE_OTHER);
    needs(&mut engineer)
        .await
        .says("5 more by 30 Nov 2026 , for 10 Dec 2026 (winter stop).");
    engineer
        .get("/needs")
        .await
        .says("then for 10 Dec 2026 (winter stop) 30 Nov 2026 5");
    engineer
        .get(&shelf)
        .await
        .says("then 5 more by 30 Nov 2026 , for 10 Dec 2026 (winter stop). Short from 30 Apr 2026");
    // With a fifth of them on the shelf beside the first order nothing else is to follow.
    receives(&mut engineer, "K", "1", "").await;
    needs(&mut engineer)
        .await
        .says("Order 5 of TW-K-250R by 20 Apr 2026")
        .does_not_say("as foreseen");
    engineer
        .get(&shelf)
        .await
        .says("for what is wanted up to 30 May 2026 . Short from 30 Apr 2026");
    all_is_sealed_and_true(&plant).await;
}

/// Two are wanted by 30 April (31 October 2024 and 18 months), four by 15 December (15 June 2025 and 18 months);
/// none is there, five come on 1 May. No rate is known. The waiting rebuild takes two of the five, three are left
/// for the four: five more ten days before 15 December.
#[tokio::test]
async fn the_order_after_what_is_hurried_stands_in_its_line_and_may_be_ticked() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    super::adds_kit(&mut engineer).await;
    for (tag, installed, kits) in [("LG-1", "2024-10-31", "2"), ("LG-2", "2025-06-15", "4")] {
        let fields = [
            ("tag", tag),
            ("installed_on", installed),
            ("kit", "1"),
            ("kits_per_rebuild", kits),
        ];
        crate::gauges::hang(&mut engineer, &fields).await;
    }
    awaits(&mut engineer, "5", "2026-05-01").await;
    needs(&mut engineer)
        .await
        .says("TW-K-250R : hurry what is on the way, then order 5 by 5 Dec 2026");
    let list = engineer.get("/needs").await;
    list.says("Nothing to order within 30 days, 1 kit later; hurry what is on the way of 1 kit")
        .says("hurry what is on the way: rebuilds are short on 30 Apr 2026")
        .says("then for 15 Dec 2026 5 Dec 2026 5");
    let tick = format!("value=\"{KIT}=5\"");
    assert!(list.text.contains(&tick), "{}", list.text);
    engineer
        .get("/")
        .await
        .says("the first order is to be placed by 5 Dec 2026 .")
        .says("What is on the way of 1 kit is to be hurried.");
    all_is_sealed_and_true(&plant).await;
}
