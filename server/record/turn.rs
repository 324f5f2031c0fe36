//! Whose turn it is at the shelf: what is left of a kit for a rebuild once those that come before it have
//! had theirs. Which lots they take is decided in `kit.rs`, as a window's plan and the storeroom ask it.

use time::Date;

use super::ids::RebuildId;
use super::kit::{self, Lot};
use crate::calc::lots::Wanted;

/// How many of the rebuilds that come before one a page names.
pub const NAMED: usize = 5;

/// Kits an open rebuild still wants from the shelf.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Turn {
    /// The day it is planned for.
    pub on: Date,
    /// The rebuild.
    pub rebuild: RebuildId,
    /// How many.
    pub kits: u32,
}

/// The shelf of one kit and the open rebuilds that want of it, in the order in which they come: by the day
/// they are planned for, those of one day as they were planned.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Queue {
    /// The lots on hand.
    pub shelf: Vec<Lot>,
    /// Who wants of them, in order.
    pub turns: Vec<Turn>,
}

/// What the shelf holds for one rebuild.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Left {
    /// Kits that may be used on its day.
    pub usable: u32,
    /// How many of these the rebuilds that come before it take.
    pub reserved: u32,
}

impl Left {
    /// Kits it can have.
    pub const fn kits(self) -> u32 {
        self.usable.saturating_sub(self.reserved)
    }

    /// What others take of them, to stand behind what it can have; empty where they take nothing.
    pub fn told(self) -> String {
        match self.reserved {
            0 => String::new(),
            1 => ", 1 is reserved for a rebuild that comes before it".to_owned(),
            kits => format!(", {kits} are reserved for rebuilds that come before it"),
        }
    }
}

impl Queue {
    /// Those that come before a rebuild of this planned day, in order.
    pub fn before(&self, own: (Date, RebuildId)) -> impl Iterator<Item = &Turn> {
        let before = move |turn: &&Turn| (turn.on, turn.rebuild) < own;
        self.turns.iter().take_while(before)
    }

    /// What is left for a rebuild of this planned day that fits its kits on a day. One whose own day is
    /// past takes its kits today.
    pub fn left(&self, own: (Date, RebuildId), day: Date, today: Date) -> Left {
        let usable: u32 = self
            .shelf
            .iter()
            .filter(|lot| lot.usable_on(day))
            .map(|lot| u32::try_from(lot.on_hand).unwrap_or(0))
            .sum();
        let mut wants: Vec<Wanted> = Vec::new();
        for turn in self.before(own) {
            let on = turn.on.max(today);
            match wants.last_mut() {
                Some(last) if last.on == on => {
                    last.quantity = last.quantity.saturating_add(turn.kits);
                }
                _ => wants.push(Wanted {
                    on,
                    quantity: turn.kits,
                }),
            }
        }
        // A day beyond the calendar promises nothing.
        let reserved = kit::shared(&self.shelf, &wants).map_or(usable, |shares| {
            let taken = shares.iter().flat_map(|share| &share.promised);
            taken
                .filter(|promised| promised.expires_on.is_none_or(|last| last >= day))
                .map(|promised| promised.kits)
                .sum()
        });
        Left { usable, reserved }
    }
}

#[cfg(test)]
mod tests {
    use time::macros::date;

    use super::*;
    use crate::record::kit::Part;
    use crate::record::{KitId, LotId, RecallId};

    const TODAY: Date = date!(2026 - 03 - 02);

    fn lot(row: i64, on_hand: i64, expires_on: Option<Date>) -> Lot {
        Lot {
            id: LotId(row),
            kit_id: KitId(1),
            kit: "SW-K-190R".parse().unwrap_or_else(|_| unreachable!()),
            number: format!("A-{row}")
                .parse()
                .unwrap_or_else(|_| unreachable!()),
            received_on: date!(2026 - 01 - 10),
            expires_on,
            place: String::new(),
            on_hand,
            elsewhere: Vec::new(),
            held_back: None,
        }
    }

    fn turn(on: Date, rebuild: i64, kits: u32) -> Turn {
        Turn {
            on,
            rebuild: RebuildId(rebuild),
            kits,
        }
    }

    /// What is left for one that stands in the queue.
    fn left(queue: &Queue, at: usize) -> (u32, u32) {
        let own = queue.turns[at];
        let left = queue.left((own.on, own.rebuild), own.on.max(TODAY), TODAY);
        (left.kits(), left.reserved)
    }

    /// common practice, no source; by hand: six on the shelf, four wanted each on one day.
    #[test]
    fn of_one_day_the_rebuild_planned_first_takes_its_kits_first() {
        let day = date!(2026 - 05 - 04);
        let queue = Queue {
            shelf: vec![lot(1, 6, None)],
            turns: vec![turn(day, 3, 4), turn(day, 5, 4), turn(day, 8, 4)],
        };
        assert_eq!(left(&queue, 0), (6, 0));
        // 6 - 4 = 2, and nothing is left of them for the third.
        assert_eq!(left(&queue, 1), (2, 4));
        assert_eq!(left(&queue, 2), (0, 6));
    }

    /// common practice, no source; by hand: four until the end of September and four that keep, six taken
    /// in May. First expired, first out leaves two of those that keep, and October has these two.
    #[test]
    fn kits_that_expire_before_a_rebuild_are_neither_left_for_it_nor_taken_from_it() {
        let queue = Queue {
            shelf: vec![lot(1, 4, Some(date!(2026 - 09 - 30))), lot(2, 4, None)],
            turns: vec![
                turn(date!(2026 - 05 - 04), 3, 3),
                turn(date!(2026 - 05 - 11), 5, 3),
                turn(date!(2026 - 10 - 02), 1, 3),
            ],
        };
        assert_eq!(left(&queue, 2), (2, 2));
    }

    /// common practice, no source; by hand: of four held back and six that are not, four are taken, so two
    /// are left. Four held back are nobody's.
    #[test]
    fn a_lot_that_is_held_back_is_neither_left_for_a_rebuild_nor_taken_by_one_before_it() {
        let day = date!(2026 - 05 - 04);
        let held = Lot {
            held_back: Some(RecallId(7)),
            ..lot(1, 4, Some(date!(2026 - 09 - 30)))
        };
        let queue = Queue {
            shelf: vec![held, lot(2, 6, None)],
            turns: vec![turn(day, 3, 4), turn(day, 5, 4)],
        };
        assert_eq!(left(&queue, 0), (6, 0));
        assert_eq!(left(&queue, 1), (2, 4));
    }

    #[test]
    fn those_of_an_earlier_day_or_planned_sooner_for_the_same_come_before() {
        let day = date!(2026 - 05 - 04);
        let queue = Queue {
            shelf: Vec::new(),
            turns: vec![
                turn(date!(2026 - 04 - 04), 9, 1),
                turn(day, 3, 1),
                turn(day, 5, 1),
                turn(date!(2026 - 06 - 04), 1, 1),
            ],
        };
        let before: Vec<i64> = queue
            .before((day, RebuildId(5)))
            .map(|turn| turn.rebuild.0)
            .collect();
        assert_eq!(before, [9, 3]);
    }

    /// common practice, no source; by hand: six until the end of September, of which four lie elsewhere, and
    /// four that keep. Five and three are taken in May, the six first: two of those that keep are left, and the
    /// third takes these.
    #[test]
    fn a_lot_in_several_places_is_one_lot_in_whose_order_it_is_taken() {
        let part = |place: &str, kits| Part {
            place: Some(place.to_owned()),
            kits,
        };
        let spread = Lot {
            elsewhere: vec![part("Shelf 9", 3), part("Van 2", 1)],
            ..lot(1, 6, Some(date!(2026 - 09 - 30)))
        };
        let queue = Queue {
            shelf: vec![spread, lot(2, 4, None)],
            turns: vec![
                turn(date!(2026 - 05 - 04), 3, 5),
                turn(date!(2026 - 05 - 11), 5, 3),
                turn(date!(2026 - 05 - 18), 8, 3),
                turn(date!(2026 - 10 - 02), 1, 3),
            ],
        };
        // 10 - 5 = 5, then 10 - 8 = 2; in October the last two of the four that keep are gone, too.
        assert_eq!(left(&queue, 1), (5, 5));
        assert_eq!(left(&queue, 2), (2, 8));
        assert_eq!(left(&queue, 3), (0, 4));
    }

    /// common practice, no source; by hand: the lot that expired yesterday serves nobody, also not the one
    /// who should have had it last week; it takes three of the four others, and one is left.
    #[test]
    fn a_rebuild_whose_day_is_past_takes_what_may_be_used_today() {
        let queue = Queue {
            shelf: vec![lot(1, 4, Some(date!(2026 - 03 - 01))), lot(2, 4, None)],
            turns: vec![
                turn(date!(2026 - 02 - 23), 3, 3),
                turn(date!(2026 - 02 - 24), 5, 3),
            ],
        };
        assert_eq!(left(&queue, 0), (4, 0));
        assert_eq!(left(&queue, 1), (1, 3));
    }
}
