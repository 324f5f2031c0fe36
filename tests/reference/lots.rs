//! First expired, first out: what may be used on a day, what goes out first, what is lost.
//! Month-by-month stock is checked in `stock_projection`.

use std::error::Error;

use gaugewright::calc::calendar::add_months;
use gaugewright::calc::demand::poisson;
use gaugewright::calc::lots::{
    Lot, Release, Replay, Usability, Wanted, cover, expected_expiry_loss, first_expired_first,
    last_usable_day, pick, replay, usability, usable_quantity,
};
use proptest::prelude::*;
use time::macros::date;
use time::{Date, Duration};

type Checked = Result<(), Box<dyn Error>>;

fn lot(key: &'static str, received: Date, last: Date, quantity: u32) -> Lot<&'static str> {
    Lot {
        key,
        received,
        last_usable: Some(last),
        quantity,
        release: Release::Released,
    }
}

fn wanted(list: &[(Date, u32)]) -> Vec<Wanted> {
    list.iter()
        .map(|&(on, quantity)| Wanted { on, quantity })
        .collect()
}

fn picks(replay: &Replay<&'static str>) -> Vec<(Date, &'static str, u32)> {
    replay
        .picks
        .iter()
        .map(|one| (one.on, one.key, one.quantity))
        .collect()
}

fn missing(replay: &Replay<&'static str>) -> Vec<(Date, u32)> {
    replay
        .missing
        .iter()
        .map(|one| (one.on, one.quantity))
        .collect()
}

fn three_lots() -> (Vec<Lot<&'static str>>, Vec<Wanted>) {
    (
        vec![
            lot("C", date!(2026 - 01 - 15), date!(2027 - 01 - 31), 8),
            lot("A", date!(2025 - 09 - 01), date!(2026 - 03 - 31), 6),
            lot("B", date!(2025 - 06 - 01), date!(2026 - 06 - 30), 10),
        ],
        wanted(&[
            (date!(2026 - 02 - 02), 2),
            (date!(2026 - 03 - 02), 3),
            (date!(2026 - 04 - 01), 4),
            (date!(2026 - 05 - 04), 2),
            (date!(2026 - 06 - 30), 5),
            (date!(2026 - 07 - 01), 6),
        ]),
    )
}

#[test]
fn the_lot_that_expires_first_goes_out_first() -> Checked {
    // common practice, no source: worked by hand
    let (lots, wants) = three_lots();
    let played = replay(&lots, &wants, 0, date!(2026 - 12 - 31))?;
    assert_eq!(
        picks(&played),
        [
            (date!(2026 - 02 - 02), "A", 2),
            (date!(2026 - 03 - 02), "A", 3),
            (date!(2026 - 04 - 01), "B", 4),
            (date!(2026 - 05 - 04), "B", 2),
            (date!(2026 - 06 - 30), "B", 4),
            (date!(2026 - 06 - 30), "C", 1),
            (date!(2026 - 07 - 01), "C", 6),
        ]
    );
    assert!(played.missing.is_empty());
    assert_eq!(played.expired, [("A", 1)]);
    assert_eq!(played.left, [("C", 1)]);
    Ok(())
}

#[test]
fn a_use_that_asks_for_days_of_shelf_life_passes_short_lots_over() -> Checked {
    // common practice, no source: worked by hand
    let (lots, wants) = three_lots();
    let played = replay(&lots, &wants, 30, date!(2026 - 12 - 31))?;
    assert_eq!(
        picks(&played),
        [
            (date!(2026 - 02 - 02), "A", 2),
            (date!(2026 - 03 - 02), "B", 3),
            (date!(2026 - 04 - 01), "B", 4),
            (date!(2026 - 05 - 04), "B", 2),
            (date!(2026 - 06 - 30), "C", 5),
            (date!(2026 - 07 - 01), "C", 3),
        ]
    );
    assert_eq!(missing(&played), [(date!(2026 - 07 - 01), 3)]);
    assert_eq!(played.expired, [("A", 4), ("B", 1)]);
    assert!(played.left.is_empty());
    Ok(())
}

#[test]
fn the_order_of_receipt_does_not_decide() -> Checked {
    // common practice, no source: worked by hand
    let lots = [
        lot("P", date!(2026 - 01 - 05), date!(2026 - 12 - 31), 4),
        lot("Q", date!(2026 - 02 - 01), date!(2026 - 05 - 31), 4),
    ];
    let wants = wanted(&[
        (date!(2026 - 06 - 01), 2),
        (date!(2026 - 03 - 01), 3),
        (date!(2026 - 05 - 31), 3),
    ]);
    let played = replay(&lots, &wants, 0, date!(2026 - 12 - 31))?;
    assert_eq!(
        picks(&played),
        [
            (date!(2026 - 03 - 01), "Q", 3),
            (date!(2026 - 05 - 31), "Q", 1),
            (date!(2026 - 05 - 31), "P", 2),
            (date!(2026 - 06 - 01), "P", 2),
        ]
    );
    assert!(played.missing.is_empty() && played.expired.is_empty() && played.left.is_empty());
    Ok(())
}

#[test]
fn lots_alike_in_date_go_out_by_their_name() -> Checked {
    // common practice, no source: worked by hand
    let lots = [
        lot("Z", date!(2025 - 02 - 01), date!(2026 - 08 - 01), 5),
        lot("Y", date!(2025 - 01 - 01), date!(2026 - 04 - 10), 3),
        lot("X", date!(2025 - 01 - 01), date!(2026 - 04 - 10), 3),
    ];
    let wants = wanted(&[
        (date!(2026 - 04 - 01), 4),
        (date!(2026 - 04 - 10), 1),
        (date!(2026 - 04 - 11), 3),
    ]);
    let played = replay(&lots, &wants, 0, date!(2026 - 12 - 31))?;
    assert_eq!(
        picks(&played),
        [
            (date!(2026 - 04 - 01), "X", 3),
            (date!(2026 - 04 - 01), "Y", 1),
            (date!(2026 - 04 - 10), "Y", 1),
            (date!(2026 - 04 - 11), "Z", 3),
        ]
    );
    assert_eq!(played.expired, [("Y", 1), ("Z", 2)]);
    let strict = replay(&lots, &wants, 15, date!(2026 - 12 - 31))?;
    assert_eq!(
        picks(&strict),
        [
            (date!(2026 - 04 - 01), "Z", 4),
            (date!(2026 - 04 - 10), "Z", 1)
        ]
    );
    assert_eq!(missing(&strict), [(date!(2026 - 04 - 11), 3)]);
    assert_eq!(strict.expired, [("X", 3), ("Y", 3)]);
    Ok(())
}

#[test]
fn a_lot_counts_only_while_it_may_be_used() {
    // common practice, no source
    let day = date!(2026 - 03 - 31);
    let good = lot("A", date!(2026 - 01 - 01), day, 6);
    assert_eq!(
        usability(&good, day, 0),
        Usability::Usable,
        "the last day itself"
    );
    assert_eq!(
        usability(&good, date!(2026 - 04 - 01), 0),
        Usability::Expired
    );
    assert_eq!(
        usability(&good, date!(2026 - 01 - 01), 0),
        Usability::Usable
    );
    assert_eq!(
        usability(&good, date!(2025 - 12 - 31), 0),
        Usability::NotYetReceived
    );
    assert_eq!(
        usability(&good, date!(2026 - 03 - 01), 30),
        Usability::Usable
    );
    assert_eq!(
        usability(&good, date!(2026 - 03 - 02), 30),
        Usability::TooFewDaysLeft
    );
    let held = Lot {
        release: Release::HeldBack,
        ..good.clone()
    };
    assert_eq!(usability(&held, day, 0), Usability::HeldBack);
    let keeps = Lot {
        last_usable: None,
        ..good.clone()
    };
    assert_eq!(
        usability(&keeps, date!(2199 - 01 - 01), u32::MAX),
        Usability::Usable
    );
    assert_eq!(
        usable_quantity(&[good.clone(), held, keeps.clone()], day, 0),
        12
    );
    assert_eq!(
        usable_quantity(&[good.clone(), keeps.clone()], date!(2026 - 04 - 01), 0),
        6
    );
    assert!(
        first_expired_first(&good, &keeps).is_lt(),
        "kits that keep go last"
    );
}

#[test]
fn the_order_lots_go_out_in_is_by_expiry_then_receipt_then_name() {
    // common practice, no source: first expired, first out; the rest settles ties.
    let (early, late) = (date!(2026 - 01 - 01), date!(2026 - 02 - 01));
    let (soon, later) = (date!(2027 - 02 - 28), date!(2028 - 02 - 29));
    let keeps = Lot {
        last_usable: None,
        ..lot("A", early, soon, 1)
    };
    let mut shelf = [
        keeps.clone(),
        lot("B", early, later, 1),
        lot("D", late, soon, 1),
        lot("C", early, soon, 1),
        lot("A", early, soon, 1),
    ];
    shelf.sort_by(first_expired_first);
    let order: Vec<(&str, Option<Date>, Date)> = shelf
        .iter()
        .map(|one| (one.key, one.last_usable, one.received))
        .collect();
    assert_eq!(
        order,
        [
            ("A", Some(soon), early),
            ("C", Some(soon), early),
            ("D", Some(soon), late),
            ("B", Some(later), early),
            ("A", None, early),
        ]
    );
    assert!(first_expired_first(&keeps, &keeps).is_eq());
}

#[test]
fn the_shelf_life_runs_in_calendar_months_from_the_day_made() -> Checked {
    // library: python-dateutil 4.0.0, relativedelta(months=n)
    for (made, months) in [
        (date!(2024 - 08 - 31), 18),
        (date!(2024 - 02 - 29), 24),
        (date!(2025 - 01 - 31), 13),
        (date!(2023 - 11 - 30), 27),
    ] {
        assert_eq!(last_usable_day(made, months)?, date!(2026 - 02 - 28));
    }
    assert!(last_usable_day(date!(2025 - 01 - 31), 0).is_err());
    assert!(last_usable_day(date!(2199 - 01 - 31), 36).is_err());
    Ok(())
}

#[test]
fn a_pick_names_its_lots_and_what_is_missing() -> Checked {
    // Worked by hand from the three lots; first expired first out is common practice, no source.
    let (lots, _) = three_lots();
    let want = Wanted {
        on: date!(2026 - 03 - 30),
        quantity: 20,
    };
    let picking = pick(&lots, want, 0)?;
    let taken: Vec<(&str, u32)> = picking
        .picks
        .iter()
        .map(|it| (it.key, it.quantity))
        .collect();
    assert_eq!(taken, [("A", 6), ("B", 10), ("C", 4)]);
    assert_eq!(picking.missing, 0);
    assert_eq!(picking.working.answer(), Some("20 taken, 0 missing"));
    assert_eq!(
        pick(
            &lots,
            Wanted {
                quantity: 30,
                ..want
            },
            0
        )?
        .missing,
        6
    );
    assert_eq!(pick::<&str>(&[], want, 0)?.missing, 20);
    assert!(
        pick(
            &lots,
            Wanted {
                quantity: 0,
                ..want
            },
            0
        )
        .is_err()
    );
    assert!(
        pick(
            &lots,
            Wanted {
                on: date!(2201 - 01 - 01),
                ..want
            },
            0
        )
        .is_err()
    );
    assert!(replay(&lots, &[want], 0, date!(1899 - 01 - 01)).is_err());
    assert!(
        replay(
            &lots,
            &[Wanted {
                on: date!(1899 - 01 - 01),
                ..want
            }],
            0,
            want.on
        )
        .is_err()
    );
    Ok(())
}

#[test]
fn the_loss_to_expect_of_a_lot_is_what_demand_leaves() -> Checked {
    // library: scipy 1.17.1, sums over scipy.stats.poisson.pmf
    for (quantity, mean, expected, chance) in [
        (6, 4.0, 2.195_434_581_463, 0.785_130_387_030),
        (10, 7.5, 2.799_322_736_636, 0.776_407_613_020),
        (8, 8.0, 1.116_692_255_605, 0.452_960_809_487),
    ] {
        let loss = expected_expiry_loss(quantity, &poisson(mean)?);
        assert!((loss.expected - expected).abs() < 1e-12, "{loss:?}");
        assert!((loss.chance - chance).abs() < 1e-12, "{loss:?}");
        assert_eq!(
            loss.working.answer(),
            Some(format!("{expected:.2}").as_str())
        );
    }
    let none = expected_expiry_loss(0, &poisson(4.0)?);
    assert!(none.expected.abs() < f64::EPSILON && none.chance.abs() < f64::EPSILON);
    let sure = expected_expiry_loss(1000, &poisson(0.0)?);
    assert!((sure.expected - 1000.0).abs() < 1e-9 && (sure.chance - 1.0).abs() < 1e-12);
    Ok(())
}

#[test]
fn a_shelf_covers_what_is_wanted_day_by_day() -> Checked {
    // worked by hand; first expired first out is common practice, no source
    let today = date!(2026 - 03 - 02);
    let limit = date!(2026 - 05 - 31);
    let lots = vec![
        lot("A", date!(2025 - 09 - 01), date!(2026 - 03 - 31), 6),
        lot("B", date!(2025 - 06 - 01), date!(2026 - 06 - 30), 10),
        lot("gone", date!(2024 - 06 - 01), date!(2026 - 03 - 01), 7),
    ];
    // Sixteen are wanted and sixteen may be used today, but two of A expire before April.
    let wants = wanted(&[
        (date!(2026 - 01 - 10), 4),
        (date!(2026 - 04 - 10), 8),
        (date!(2026 - 04 - 15), 4),
        (date!(2026 - 06 - 01), 100),
    ]);
    let found = cover(&lots, &wants, today, limit)?;
    assert_eq!((found.usable, found.unusable), (16, 7));
    assert_eq!((found.wanted, found.short), (16, 2));
    assert_eq!(found.short_on, Some(date!(2026 - 04 - 15)));
    assert_eq!(found.expiring, 2);
    assert_eq!(found.working.answer(), Some("2, from 15 Apr 2026"));

    // A want that was due before the first day counts on it, and the last usable day still serves.
    let late = cover(&lots[2..], &wants[..1], date!(2026 - 03 - 01), limit)?;
    assert_eq!((late.usable, late.short, late.expiring), (7, 0, 3));
    let too_late = cover(&lots[2..], &wants[..1], today, limit)?;
    assert_eq!((too_late.usable, too_late.short), (0, 4));
    assert_eq!(too_late.short_on, Some(today));

    let nothing = cover::<&str>(&[], &[], today, today)?;
    assert_eq!(
        (nothing.wanted, nothing.short, nothing.short_on),
        (0, 0, None)
    );
    let refused = cover(&lots, &wants, today, date!(2026 - 03 - 01));
    assert!(refused.is_err_and(|error| error.input == "last day"));
    assert!(cover(&lots, &wants, date!(1899 - 12 - 31), limit).is_err());
    Ok(())
}

fn some_lots() -> impl Strategy<Value = Vec<Lot<usize>>> {
    let one = (
        0_i64..300,
        proptest::option::weighted(0.8, 0_i64..500),
        0_u32..12,
        any::<bool>(),
    );
    proptest::collection::vec(one, 0..6).prop_map(|rows| {
        rows.into_iter()
            .enumerate()
            .map(|(key, (received, life, quantity, held))| {
                let received = date!(2026 - 01 - 01).saturating_add(Duration::days(received));
                Lot {
                    key,
                    received,
                    last_usable: life.map(|days| received.saturating_add(Duration::days(days))),
                    quantity,
                    release: if held && key % 3 == 0 {
                        Release::HeldBack
                    } else {
                        Release::Released
                    },
                }
            })
            .collect()
    })
}

fn some_wants() -> impl Strategy<Value = Vec<Wanted>> {
    proptest::collection::vec((0_i64..700, 0_u32..6), 0..15).prop_map(|rows| {
        rows.into_iter()
            .map(|(days, quantity)| Wanted {
                on: date!(2026 - 01 - 01).saturating_add(Duration::days(days)),
                quantity,
            })
            .collect()
    })
}

/// The most wanted kits that can be met at all: each single kit wanted is matched with a single
/// kit it may use, by augmenting paths, which knows nothing of the order lots go out in.
fn most_that_can_be_met(lots: &[Lot<usize>], wants: &[Wanted]) -> usize {
    let kits: Vec<&Lot<usize>> = lots
        .iter()
        .flat_map(|lot| (0..lot.quantity).map(move |_| lot))
        .collect();
    let days: Vec<Date> = wants
        .iter()
        .flat_map(|want| (0..want.quantity).map(|_| want.on))
        .collect();
    let mut taken_by: Vec<Option<usize>> = vec![None; kits.len()];
    let mut met = 0;
    for day in 0..days.len() {
        let mut seen = vec![false; kits.len()];
        if augment(day, &days, &kits, &mut taken_by, &mut seen) {
            met += 1;
        }
    }
    met
}

fn augment(
    day: usize,
    days: &[Date],
    kits: &[&Lot<usize>],
    taken_by: &mut [Option<usize>],
    seen: &mut [bool],
) -> bool {
    for kit in 0..kits.len() {
        if seen[kit] || usability(kits[kit], days[day], 0) != Usability::Usable {
            continue;
        }
        seen[kit] = true;
        let free = match taken_by[kit] {
            None => true,
            Some(other) => augment(other, days, kits, taken_by, seen),
        };
        if free {
            taken_by[kit] = Some(day);
            return true;
        }
    }
    false
}

proptest! {
    #[test]
    fn no_other_way_of_picking_meets_more(lots in some_lots(), wants in some_wants()) {
        let Ok(played) = replay(&lots, &wants, 0, date!(2029 - 12 - 31)) else {
            return Err(TestCaseError::fail("refused"));
        };
        let met: u32 = played.picks.iter().map(|one| one.quantity).sum();
        prop_assert_eq!(u32::try_from(most_that_can_be_met(&lots, &wants)), Ok(met));
    }

    #[test]
    fn the_ledger_of_a_lot_is_never_negative(lots in some_lots(), wants in some_wants(), margin in 0_u32..60) {
        let Ok(played) = replay(&lots, &wants, margin, date!(2029 - 12 - 31)) else {
            return Err(TestCaseError::fail("refused"));
        };
        // Receipts first, then what is taken, in the order it is taken: the balance of every lot
        // after every single movement.
        let mut balance: Vec<i64> = lots.iter().map(|lot| i64::from(lot.quantity)).collect();
        for taken in &played.picks {
            prop_assert!(taken.quantity > 0);
            balance[taken.key] -= i64::from(taken.quantity);
            prop_assert!(balance[taken.key] >= 0, "lot {} after {}", taken.key, taken.on);
        }
        for (key, left) in played.expired.iter().chain(&played.left) {
            balance[*key] -= i64::from(*left);
        }
        prop_assert!(balance.iter().all(|left| *left == 0), "{:?}", balance);
    }

    #[test]
    fn no_kit_is_lost_or_made(lots in some_lots(), wants in some_wants(), margin in 0_u32..60) {
        let Ok(played) = replay(&lots, &wants, margin, date!(2027 - 06 - 30)) else {
            return Err(TestCaseError::fail("refused"));
        };
        let all: u32 = lots.iter().map(|one| one.quantity).sum();
        let out: u32 = played.picks.iter().map(|one| one.quantity).sum();
        let rest: u32 = played.expired.iter().chain(&played.left).map(|one| one.1).sum();
        prop_assert_eq!(all, out + rest);
        let asked: u32 = wants.iter().filter(|one| one.on <= date!(2027 - 06 - 30)).map(|one| one.quantity).sum();
        let lacking: u32 = played.missing.iter().map(|one| one.quantity).sum();
        prop_assert_eq!(asked, out + lacking);
        for one in &played.picks {
            let from = lots.iter().find(|lot| lot.key == one.key);
            prop_assert!(from.is_some_and(|lot| usability(lot, one.on, margin) == Usability::Usable));
        }
    }

    #[test]
    fn a_kit_is_short_by_what_no_way_of_picking_could_meet(lots in some_lots(), wants in some_wants(), days in 0_i64..400) {
        let at = date!(2026 - 01 - 01).saturating_add(Duration::days(days));
        let limit = at.saturating_add(Duration::days(90));
        let Ok(found) = cover(&lots, &wants, at, limit) else {
            return Err(TestCaseError::fail("refused"));
        };
        let counted: Vec<Wanted> = wants
            .iter()
            .filter(|one| one.on <= limit)
            .map(|one| Wanted { on: one.on.max(at), ..*one })
            .collect();
        let met = most_that_can_be_met(&lots, &counted);
        prop_assert_eq!(usize::try_from(found.wanted - found.short), Ok(met));
        prop_assert_eq!(found.short_on.is_some(), found.short > 0);
        prop_assert_eq!(found.usable, usable_quantity(&lots, at, 0));
        prop_assert_eq!(found.usable + found.unusable, lots.iter().map(|one| one.quantity).sum::<u32>());
        prop_assert!(found.expiring <= found.usable);
    }

    #[test]
    fn a_longer_shelf_life_never_ends_earlier(days in 0_i64..30_000, months in 1_u32..120) {
        let made = date!(1950 - 01 - 01).saturating_add(Duration::days(days));
        prop_assert_eq!(last_usable_day(made, months), add_months(made, months));
        if let (Ok(shorter), Ok(longer)) = (last_usable_day(made, months), last_usable_day(made, months + 1)) {
            prop_assert!(shorter < longer);
        }
    }
}
