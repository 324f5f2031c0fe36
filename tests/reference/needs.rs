//! What to order, against answers worked by hand. Poisson values are those of the published table in
//! `kit_demand.rs` (mean 3: 0.9161 at 5, 0.9665 at 6) or sums made with Python's `math`.

use gaugewright::calc::calendar::add_months;
use gaugewright::calc::lots::{Lot, Release, Wanted};
use gaugewright::calc::needs::{Answer, ClassDemand, Question, Terms, ask, failure_rate};
use gaugewright::calc::reorder::{Packing, ServiceLevel, Timing};
use gaugewright::calc::stock_plan::{LeadTime, Outlook, Policy, Purpose, Receipt, Want, unaided};
use time::Date;
use time::macros::date;

const TODAY: Date = date!(2026 - 03 - 02);

fn lot(key: &'static str, quantity: u32, last_usable: Option<Date>) -> Lot<&'static str> {
    Lot {
        key,
        received: date!(2026 - 01 - 05),
        last_usable,
        quantity,
        release: Release::Released,
    }
}

fn wanted(on: Date, quantity: u32) -> Wanted {
    Wanted { on, quantity }
}

/// Ten days on the way, looked at every 30, in packs of five. Three gauges of one kit each that fail
/// so often that three failures are expected in the 40 days.
fn question() -> Question<&'static str> {
    Question {
        lots: vec![lot("K", 8, None)],
        receipts: Vec::new(),
        planned: vec![
            wanted(date!(2026 - 04 - 30), 1),
            wanted(date!(2026 - 05 - 30), 1),
            wanted(date!(2026 - 12 - 15), 1),
        ],
        failures: vec![ClassDemand {
            name: "steam".to_owned(),
            // 9.13125 · 3 · 40 / 365.25 = 3.
            rate: 9.131_25,
            gauges: vec![(1, 3)],
            stated: false,
            ground: "stated".to_owned(),
        }],
        terms: Terms {
            lead_days: 10,
            review_days: 30,
            level: ServiceLevel::new(0.95).unwrap(),
            packing: Packing::new(5, 5).unwrap(),
            shelf_months: None,
        },
        today: TODAY,
        months: 13,
    }
}

fn numbers(answer: &Answer<&'static str>) -> (u32, u32, u32, u32) {
    (
        answer.point.cover,
        answer.point.planned,
        answer.suggestion.missing,
        answer.suggestion.quantity,
    )
}

/// common practice, no source; the Poisson value: any table, mean 3.
#[test]
fn the_cover_is_kept_back_and_the_first_day_it_cannot_be_is_the_shortfall() {
    let answer = ask(&question()).unwrap();
    assert!((answer.mean - 3.0).abs() < 1e-9);
    // 8 on the shelf: 7 after April, 6 after May, 5 after 15 December, and 6 are kept.
    assert_eq!(answer.short, Some(wanted(date!(2026 - 12 - 15), 1)));
    let by = answer.order_by.clone().unwrap();
    assert_eq!(by.date, date!(2026 - 12 - 05));
    assert!(matches!(by.timing, Timing::InTime(278)));
    // Placed on 5 December it lasts 40 days, to 14 January; three rebuilds and six kept are nine,
    // eight are there, one is missing, and kits come in fives.
    assert_eq!(answer.until, date!(2027 - 01 - 14));
    assert_eq!(numbers(&answer), (6, 3, 1, 5));
}

/// common practice, no source.
#[test]
fn kits_that_expire_before_their_use_do_not_count() {
    let mut q = question();
    q.lots = vec![
        lot("K", 5, None),
        lot("OLD", 3, Some(date!(2026 - 05 - 15))),
    ];
    let answer = ask(&q).unwrap();
    // April takes one of OLD; the other two fall out after 15 May, which leaves five for the six.
    assert_eq!(answer.short, Some(wanted(date!(2026 - 05 - 16), 1)));
    assert_eq!(answer.order_by.clone().unwrap().date, date!(2026 - 05 - 06));
    assert_eq!(answer.losses, vec![("OLD", 2)]);
    // To 15 June: two rebuilds and six kept, of what was taken (2) and is left (4).
    assert_eq!(answer.until, date!(2026 - 06 - 15));
    assert_eq!(numbers(&answer), (6, 2, 2, 5));
}

/// common practice, no source.
#[test]
fn kits_on_the_way_count_from_their_day_and_an_order_by_date_that_is_past_is_said() {
    let mut q = question();
    q.lots = vec![lot("K", 6, None)];
    let answer = ask(&q).unwrap();
    // Six are kept from the first day on; the rebuild of 30 April is one too many.
    assert_eq!(answer.short, Some(wanted(date!(2026 - 04 - 30), 1)));
    q.receipts = vec![Receipt {
        on: date!(2026 - 04 - 30),
        quantity: 5,
        last_usable: None,
    }];
    assert_eq!(ask(&q).unwrap().short, None);
    q.receipts[0].on = date!(2026 - 05 - 01);
    let late = ask(&q).unwrap();
    // A day too late: nothing more is to be ordered, what is on the way has to be hurried.
    assert_eq!(late.short, Some(wanted(date!(2026 - 04 - 30), 1)));
    assert_eq!(late.suggestion.quantity, 0);
    q.lots.clear();
    q.receipts.clear();
    let bare = ask(&q).unwrap();
    assert_eq!(bare.short.unwrap().on, TODAY);
    assert!(matches!(bare.order_by.unwrap().timing, Timing::Past(10)));
}

/// The published table: 0.9881 at 7, 0.9962 at 8 for a mean of 3. Mean 6.75, summed with Python's
/// `math`: 0.918272 at 10, 0.957150 at 11.
#[test]
fn a_longer_lead_time_and_a_higher_service_level_keep_more_for_failures() {
    let mut q = question();
    q.terms.lead_days = 60;
    assert_eq!(ask(&q).unwrap().point.cover, 11);
    let mut q = question();
    q.terms.level = ServiceLevel::new(0.99).unwrap();
    assert_eq!(ask(&q).unwrap().point.cover, 8);
}

#[test]
fn nothing_wanted_and_nobody_who_could_fail_asks_for_nothing() {
    let mut q = question();
    q.planned.clear();
    q.failures.clear();
    q.lots.clear();
    let answer = ask(&q).unwrap();
    assert_eq!((answer.short, answer.order_by), (None, None));
    assert_eq!(answer.suggestion.quantity, 0);
}

/// H. Jeffreys, Proc. R. Soc. A 186 (1946): Gamma(n + ½, T), mean (n + ½) / T.
#[test]
fn a_rate_from_few_failures_is_never_zero_and_goes_over_into_the_quotient() {
    assert!((failure_rate(0, 10.0).unwrap() - 0.05).abs() < 1e-12);
    assert!((failure_rate(4, 102.0).unwrap() - 4.5 / 102.0).abs() < 1e-12);
    let many = failure_rate(10_000, 50_000.0).unwrap();
    assert!((many / 0.2 - 1.0).abs() < 1e-4);
    // library: scipy 1.17.1 stats.gamma.mean(n + 0.5, scale=1/T), at both ends of the range.
    assert!((failure_rate(0, 0.01).unwrap() - 50.0).abs() < 1e-12);
    assert!((failure_rate(3, 1e9).unwrap() - 3.5e-9).abs() < 1e-22);
    assert!(failure_rate(1, 0.009).is_err() && failure_rate(1, 1.1e9).is_err());
    assert!(failure_rate(1, 0.0).is_err());
    assert!(failure_rate(1, f64::NAN).is_err());
}

/// Arithmetic: 5 on hand, 2 wanted each month; the third month lacks one.
#[test]
fn the_months_without_an_order_say_what_is_left_and_what_is_missing() {
    let wants = (0..4)
        .map(|month| Want {
            on: add_months(date!(2026 - 03 - 15), month).unwrap(),
            quantity: 2,
            purpose: Purpose::Planned,
        })
        .collect();
    let outlook = Outlook {
        lots: vec![lot("K", 5, None)],
        receipts: Vec::new(),
        wants,
    };
    let policy = Policy {
        safety: 0,
        packing: Packing::single(),
        lead: LeadTime::Days(10),
        shelf_months: None,
        days_left: 0,
    };
    let plan = unaided(&outlook, &policy, TODAY, 4).unwrap();
    let left: Vec<(u32, u32)> = plan
        .rows
        .iter()
        .map(|row| (row.projected, row.net))
        .collect();
    assert_eq!(left, vec![(3, 0), (1, 0), (0, 1), (0, 2)]);
    assert_eq!(plan.first_shortfall, Some(wanted(date!(2026 - 05 - 15), 1)));
    // Worked by hand: a receipt of three on 1 April puts the lack off to the fourth month, and a lot
    // that ends in March takes its rest along.
    let helped = Outlook {
        receipts: vec![Receipt {
            on: date!(2026 - 04 - 01),
            quantity: 3,
            last_usable: None,
        }],
        ..outlook.clone()
    };
    let plan = unaided(&helped, &policy, TODAY, 4).unwrap();
    let left: Vec<u32> = plan.rows.iter().map(|row| row.projected).collect();
    assert_eq!((left, plan.first_shortfall), (vec![3, 4, 2, 0], None));
    let ending = Outlook {
        lots: vec![lot("K", 5, Some(date!(2026 - 03 - 31)))],
        ..outlook.clone()
    };
    let plan = unaided(&ending, &policy, TODAY, 120).unwrap();
    let first = plan.rows[0];
    assert_eq!(
        (first.expired, first.projected, plan.rows.len()),
        (3, 0, 120)
    );
    assert_eq!(plan.first_shortfall, Some(wanted(date!(2026 - 04 - 15), 2)));
    assert!(unaided(&outlook, &policy, TODAY, 121).is_err());
    assert!(unaided(&outlook, &policy, TODAY, 0).is_err());
}

#[test]
fn a_span_beyond_the_calendar_is_refused() {
    let mut q = question();
    q.today = date!(2200 - 12 - 01);
    assert!(ask(&q).is_err());
}

/// common practice, no source: kits foreseen to be ordered expire like those on the shelf.
#[test]
fn orders_that_are_foreseen_expire_too() {
    let mut q = question();
    q.lots.clear();
    q.failures.clear();
    q.planned = vec![
        wanted(date!(2026 - 04 - 30), 1),
        wanted(date!(2026 - 12 - 15), 1),
    ];
    let months = |answer: &Answer<&'static str>| -> Vec<u32> {
        answer
            .aided
            .rows
            .iter()
            .map(|row| row.planned_release)
            .collect()
    };
    // Five that keep: the first order serves both rebuilds.
    let keeps = ask(&q).unwrap();
    assert_eq!(months(&keeps).iter().sum::<u32>(), 5);
    // Five that keep half a year: in November they are past, and five more are to be ordered for December.
    q.terms.shelf_months = Some(6);
    let short_lived = ask(&q).unwrap();
    assert_eq!(months(&short_lived).iter().sum::<u32>(), 10);
    assert!(short_lived.aided.rows.iter().all(|row| row.net == 0));
}

/// common practice, no source.
#[test]
fn orders_that_follow_come_no_sooner_than_they_can_and_none_is_placed_twice() {
    let mut q = question();
    q.lots.clear();
    let answer = ask(&q).unwrap();
    // Nothing there: six are kept to 11 April, in fives ten, placed today and there in ten days.
    assert_eq!(answer.suggestion.quantity, 10);
    let rows = &answer.aided.rows;
    let ordered: Vec<u32> = rows.iter().map(|row| row.planned_release).collect();
    assert_eq!(ordered[0], 10);
    // About 27 failures a year and three rebuilds are met by orders of five, not by more than they take.
    let all: u32 = ordered.iter().sum();
    assert!((30..=60).contains(&all), "{ordered:?}");
    assert!(rows.iter().skip(1).all(|row| row.net == 0), "{rows:?}");
    assert!(rows.iter().all(|row| row.projected <= 20), "{rows:?}");
}

/// Worked by hand: six are kept, five are there, so the shortfall is today and the day to order was ten
/// days ago. Twenty come a week from now, sooner than an order could: nothing is ordered for that lack.
/// Failures take 27 a year, so the 25 run out within the year, and orders that follow have to be foreseen.
#[test]
fn a_kit_that_is_late_orders_today_at_the_earliest_and_goes_on_with_the_orders_that_follow() {
    let mut q = question();
    q.lots = vec![lot("K", 5, None)];
    q.receipts = vec![Receipt {
        on: date!(2026 - 03 - 09),
        quantity: 20,
        last_usable: None,
    }];
    let answer = ask(&q).unwrap();
    let by = answer.order_by.clone().unwrap();
    assert!(matches!(by.timing, Timing::Past(10)));
    assert_eq!(answer.suggestion.quantity, 0);
    let said = by.working.remarks.join(" ");
    assert!(
        said.starts_with(
            "Late by 10 days: kits ordered today, 2 Mar 2026, come on 12 Mar 2026, 10 days after the shortfall"
        ),
        "{said}"
    );
    let rows = &answer.aided.rows;
    let ordered: u32 = rows.iter().map(|row| row.planned_release).sum();
    assert!(ordered >= 5, "{rows:?}");
    assert!(rows.iter().skip(1).all(|row| row.net == 0), "{rows:?}");
    // An order that has to be placed at once is placed today, not before it, and comes after its lead time.
    q.receipts.clear();
    let bare = ask(&q).unwrap();
    assert!(matches!(
        bare.order_by.clone().unwrap().timing,
        Timing::Past(10)
    ));
    assert_eq!(bare.aided.rows[0].planned_release % 5, 0);
    assert!(bare.aided.rows[0].planned_release >= bare.suggestion.quantity);
    assert!(
        bare.aided
            .rows
            .iter()
            .skip(1)
            .map(|row| row.planned_release)
            .sum::<u32>()
            > 0
    );
}

/// common practice, no source. Worked by hand: nothing there, two wanted on 30 April, four on 15 December.
/// Five are ordered by 20 April, ten days before, and last forty days; three are left for the four, so
/// five more are ordered by 5 December.
#[test]
fn the_order_that_follows_is_placed_its_lead_time_before_the_next_lack() {
    let mut q = question();
    q.lots.clear();
    q.failures.clear();
    q.planned = vec![
        wanted(date!(2026 - 04 - 30), 2),
        wanted(date!(2026 - 12 - 15), 4),
    ];
    let answer = ask(&q).unwrap();
    assert_eq!(answer.suggestion.quantity, 5);
    assert_eq!(answer.until, date!(2026 - 05 - 30));
    let next = answer.following.unwrap();
    let days = (next.placed, next.arrives);
    assert_eq!(next.quantity, 5);
    assert_eq!(days, (date!(2026 - 12 - 05), date!(2026 - 12 - 15)));
    // One of them there already: five last for all.
    q.lots = vec![lot("K", 1, None)];
    assert_eq!(ask(&q).unwrap().following, None);
}

/// common practice, no source. Eight wanted on 30 April, three come on 10 May: five are ordered, and that
/// the three come late is no reason to order others in their place.
#[test]
fn what_is_on_the_way_and_late_is_not_told_as_an_order_that_follows() {
    let mut q = question();
    q.lots.clear();
    q.failures.clear();
    q.planned = vec![wanted(date!(2026 - 04 - 30), 8)];
    q.receipts = vec![Receipt {
        on: date!(2026 - 05 - 10),
        quantity: 3,
        last_usable: None,
    }];
    let answer = ask(&q).unwrap();
    assert_eq!(answer.suggestion.quantity, 5);
    assert_eq!(answer.following, None);
    // Where nothing is ordered and nothing is wanted later, nothing follows.
    q.receipts[0].quantity = 8;
    let hurried = ask(&q).unwrap();
    assert_eq!(hurried.suggestion.quantity, 0);
    assert_eq!(hurried.following, None);
}

/// common practice, no source. Eight are there and six of them kept: the first order is for what is wanted
/// up to 14 January. Average failures would have emptied the shelf by then, which the chart shows; the cover
/// of the first order is for them, and nobody is to order for December twice.
#[test]
fn an_order_that_follows_is_not_told_for_days_the_first_one_is_for() {
    let answer = ask(&question()).unwrap();
    assert_eq!(answer.until, date!(2027 - 01 - 14));
    assert_eq!(answer.suggestion.quantity, 5);
    let rows = &answer.aided.rows;
    let drawn: u32 = rows.iter().map(|row| row.planned_release).sum();
    assert!(drawn > 5, "the chart goes on: {rows:?}");
    assert_eq!(answer.following, None);
}

/// Rates, shelves, lead times, reviews and what is on the way, in every mixture: in time and late.
#[test]
fn no_order_that_follows_arrives_on_or_before_the_last_day_the_first_one_is_for() {
    let late = |days, quantity| Receipt {
        on: TODAY + time::Duration::days(days),
        quantity,
        last_usable: None,
    };
    let busy = vec![
        wanted(date!(2026 - 04 - 30), 8),
        wanted(date!(2026 - 07 - 01), 2),
        wanted(date!(2026 - 07 - 20), 3),
        wanted(date!(2027 - 02 - 01), 4),
    ];
    let mut told = (0, 0, 0, 0);
    for shelf in [0, 3, 8] {
        for rate in [0.0, 0.4, 2.0, 9.131_25] {
            for (lead, review) in [(0, 30), (10, 0), (10, 30), (10, 90), (60, 30), (60, 90)] {
                for coming in [vec![], vec![late(5, 3)], vec![late(40, 8)]] {
                    for planned in [question().planned, busy.clone()] {
                        let mut q = question();
                        q.lots[0].quantity = shelf;
                        q.failures[0].rate = rate;
                        q.terms.lead_days = lead;
                        q.terms.review_days = review;
                        q.receipts.clone_from(&coming);
                        q.planned = planned;
                        let answer = ask(&q).unwrap();
                        let Some(next) = answer.following else {
                            continue;
                        };
                        let by = answer.order_by.clone().unwrap();
                        assert!(next.arrives > answer.until, "{q:?}");
                        assert!(next.placed > by.date.max(TODAY), "{q:?}");
                        told.0 += 1;
                        told.1 += u32::from(rate > 0.0);
                        told.2 += u32::from(matches!(by.timing, Timing::Past(_)));
                        told.3 += u32::from(!coming.is_empty());
                    }
                }
            }
        }
    }
    let enough = told.1 > 50 && told.2 > 20 && told.3 > 50;
    assert!(enough, "of all, with failures, late, more coming: {told:?}");
}

/// common practice, no source. Worked by hand: five by 20 April for the two of 30 April, three are left. Four
/// are wanted on 1 August and five come on the 5th: nothing to order, that has to be hurried. Four are then
/// left for the six of 15 December: two are missing, five more by 5 December.
#[test]
fn what_only_bridges_days_until_kits_come_hides_no_order_that_is_needed_later() {
    let mut q = question();
    q.lots.clear();
    q.failures.clear();
    q.planned = vec![
        wanted(date!(2026 - 04 - 30), 2),
        wanted(date!(2026 - 08 - 01), 4),
        wanted(date!(2026 - 12 - 15), 6),
    ];
    q.receipts = vec![Receipt {
        on: date!(2026 - 08 - 05),
        quantity: 5,
        last_usable: None,
    }];
    let answer = ask(&q).unwrap();
    assert_eq!(answer.suggestion.quantity, 5);
    let next = answer.following.unwrap();
    assert_eq!(next.quantity, 5);
    let days = (next.placed, next.arrives);
    assert_eq!(days, (date!(2026 - 12 - 05), date!(2026 - 12 - 15)));
}

/// common practice, no source. Worked by hand: two are wanted on 30 April, none is there, five come the day
/// after: nothing to order now, what is on the way has to be hurried. The rebuild that waits takes two of them;
/// three are left for the four of 15 December: one is missing, five more by 5 December.
#[test]
fn the_order_after_what_has_to_be_hurried_is_told_and_counts_on_what_the_waiting_rebuild_leaves() {
    let mut q = question();
    q.lots.clear();
    q.failures.clear();
    q.planned = vec![
        wanted(date!(2026 - 04 - 30), 2),
        wanted(date!(2026 - 12 - 15), 4),
    ];
    q.receipts = vec![Receipt {
        on: date!(2026 - 05 - 01),
        quantity: 5,
        last_usable: None,
    }];
    let answer = ask(&q).unwrap();
    assert_eq!(answer.suggestion.quantity, 0);
    assert_eq!(answer.rebuilds_short, Some(date!(2026 - 04 - 30)));
    let next = answer.following.unwrap();
    let days = (next.placed, next.arrives);
    assert_eq!(next.quantity, 5);
    assert_eq!(days, (date!(2026 - 12 - 05), date!(2026 - 12 - 15)));
}

/// common practice, no source. Six are there and kept, five come on 1 May: the rebuild of 30 April takes one of
/// the six, and no rebuild is short before they come. That fifty of 15 December are too many asks for an order
/// in its time, not for what is on the way to come sooner.
#[test]
fn what_rebuilds_lack_after_the_span_of_the_order_hurries_nothing_that_is_on_the_way() {
    let mut q = question();
    q.lots = vec![lot("K", 6, None)];
    q.planned = vec![
        wanted(date!(2026 - 04 - 30), 1),
        wanted(date!(2026 - 12 - 15), 50),
    ];
    q.receipts = vec![Receipt {
        on: date!(2026 - 05 - 01),
        quantity: 5,
        last_usable: None,
    }];
    let answer = ask(&q).unwrap();
    assert_eq!(answer.suggestion.quantity, 0);
    assert_eq!(answer.short, Some(wanted(date!(2026 - 04 - 30), 1)));
    assert_eq!(answer.rebuilds_short, None);
}

/// common practice, no source. Worked by hand: 0.304375 a gauge and year × 3 gauges × 40 days / 365.25 = 0.1
/// failures; P(D = 0) = 0.905, so one is kept. None is there: five today, for the one. On average failures take
/// one kit in the year, and one less one is kept beside it. Up to 14 January rebuilds want 2 + 4 and failures 1;
/// five are there: two are missing, in fives 5.
#[test]
fn the_number_of_an_order_that_follows_is_told_with_what_it_is_reckoned_from() {
    let mut q = question();
    q.lots.clear();
    q.failures[0].rate = 0.304_375;
    q.planned = vec![
        wanted(date!(2026 - 04 - 30), 2),
        wanted(date!(2026 - 12 - 15), 4),
    ];
    let answer = ask(&q).unwrap();
    assert_eq!((answer.point.cover, answer.suggestion.quantity), (1, 5));
    let next = answer.following.unwrap();
    assert_eq!((next.placed, next.quantity), (date!(2026 - 12 - 05), 5));
    let tally = next.tally.unwrap();
    assert_eq!(tally.until, date!(2027 - 01 - 14));
    let numbers = (tally.planned, tally.failures, tally.kept, tally.there);
    assert_eq!(numbers, (6, 1, 0, 5));
}
