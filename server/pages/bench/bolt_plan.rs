//! The cover of one section drawn from the gauge's own layout, its nuts numbered in the order they
//! are tightened or loosened. The order itself is computed in `calc::tighten`.

use std::borrow::Borrow;

use crate::calc::tighten::{Bolt, Rail, loosening, order, u_bolts_in_order};
use crate::record::gauge::{BoltForm, Gauge};

/// In which order the nuts are numbered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Order {
    /// From the centre outwards.
    Tightening,
    /// From the ends inwards.
    Loosening,
}

/// A nut in the picture.
#[derive(Debug, Clone)]
pub struct Nut {
    /// Its turn, from 1: nuts are tightened one by one, those of a U-bolt one after the other.
    pub turn: usize,
    /// Its number as it stands in the drawing: the station, with a letter where two nuts share one.
    pub label: String,
    /// Its place from the upper end, from 1.
    pub place: usize,
    /// Whether it is on the right rail.
    pub right: bool,
    /// Middle, across.
    pub x: u32,
    /// Middle, down.
    pub y: u32,
    /// The corners of its hexagon.
    pub points: String,
}

impl Nut {
    /// How it is drawn while the nut of this turn comes next; 0 for no such nut.
    pub fn look(&self, at: impl Borrow<usize>) -> &'static str {
        match self.turn.cmp(at.borrow()) {
            _ if *at.borrow() == 0 => "",
            std::cmp::Ordering::Less => " tight",
            std::cmp::Ordering::Equal => " next",
            std::cmp::Ordering::Greater => "",
        }
    }
}

/// The picture, ready to draw.
#[derive(Debug, Clone)]
pub struct BoltPlan {
    /// Width of the drawing.
    pub width: u32,
    /// The nuts.
    pub nuts: Vec<Nut>,
    /// Where U-bolts join two nuts, across.
    pub bars: Vec<u32>,
    /// What the picture shows.
    pub title: String,
    /// The same order in words.
    pub words: Vec<String>,
    /// In which order they are numbered.
    pub numbered: &'static str,
}

const STEP: u32 = 110;
const EDGE: u32 = 70;
const RIGHT_RAIL: u32 = 58;
const LEFT_RAIL: u32 = 210;

impl BoltPlan {
    /// Draws one section of a gauge; none where the layout of its bolting is not known.
    pub fn of(gauge: &Gauge, which: Order) -> Option<Self> {
        let count = gauge.particulars.bolts_per_rail?;
        let way = match which {
            Order::Tightening => "tightened, from the centre outwards",
            Order::Loosening => "loosened, from the ends inwards",
        };
        let mut nuts = Vec::new();
        let (bars, words, what) = if gauge.particulars.bolt_form == BoltForm::UBolts {
            let mut places = u_bolts_in_order(count).ok()?;
            if which == Order::Loosening {
                places.reverse();
            }
            let mut words = Vec::new();
            for (number, place) in (1_usize..).zip(&places) {
                for (leg, rail) in [("a", Rail::Left), ("b", Rail::Right)] {
                    let turn = nuts.len() + 1;
                    nuts.push(nut((turn, format!("{number}{leg}")), *place, rail));
                }
                words.push(format!(
                    "{number}: U-bolt {place} from the upper end, both legs drawn up evenly: {number}a on the left rail, then {number}b on the right"
                ));
            }
            (
                places.iter().map(|place| across(*place)).collect(),
                words,
                "U-bolts",
            )
        } else {
            let bolts: Vec<Bolt> = match which {
                Order::Tightening => order(count).ok()?,
                Order::Loosening => loosening(count).ok()?,
            };
            let mut words = Vec::new();
            for (number, bolt) in (1_usize..).zip(&bolts) {
                nuts.push(nut((number, number.to_string()), bolt.position, bolt.rail));
                let rail = match bolt.rail {
                    Rail::Left => "left",
                    Rail::Right => "right",
                };
                words.push(format!(
                    "{number}: {rail} rail, {} from the upper end",
                    bolt.position
                ));
            }
            (Vec::new(), words, "nuts")
        };
        Some(Self {
            width: EDGE * 2 + STEP * u32::from(count.saturating_sub(1)),
            title: format!(
                "{} {what} of one section in the order they are {way}",
                words.len()
            ),
            nuts,
            bars,
            words,
            numbered: match which {
                Order::Tightening => "Numbered in the order of tightening.",
                Order::Loosening => "Numbered in the order of loosening.",
            },
        })
    }

    /// Where the glass begins.
    pub const fn glass_from(&self) -> u32 {
        40
    }

    /// How long the glass is drawn.
    pub const fn glass_width(&self) -> u32 {
        self.width - 80
    }

    /// How many turns there are: one a nut.
    pub fn places(&self) -> usize {
        self.nuts.len()
    }

    /// How the nut of a turn is called; nothing where there is none.
    pub fn label(&self, turn: usize) -> &str {
        let mut nuts = self.nuts.iter();
        nuts.find(|nut| nut.turn == turn)
            .map_or("", |nut| nut.label.as_str())
    }

    /// How much of the glass is drawn dark: the share of the passes done.
    pub fn dark(&self, done: impl Borrow<usize>, passes: impl Borrow<usize>) -> u32 {
        let part = |n: usize| u32::try_from(n).unwrap_or(0);
        self.glass_width() * part(*done.borrow()) / part(*passes.borrow()).max(1)
    }
}

fn across(place: u8) -> u32 {
    EDGE + STEP * u32::from(place.saturating_sub(1))
}

/// The gauge lies with its upper end to the left, so its right rail is above.
fn nut((turn, label): (usize, String), place: u8, rail: Rail) -> Nut {
    let x = across(place);
    let y = match rail {
        Rail::Right => RIGHT_RAIL,
        Rail::Left => LEFT_RAIL,
    };
    let points = [
        (46, 0),
        (23, 40),
        (-23, 40),
        (-46, 0),
        (-23, -40),
        (23, -40),
    ]
    .map(|(dx, dy)| {
        format!(
            "{},{}",
            x.saturating_add_signed(dx),
            y.saturating_add_signed(dy)
        )
    })
    .join(" ");
    Nut {
        turn,
        label,
        place: usize::from(place),
        right: rail == Rail::Right,
        x,
        y,
        points,
    }
}
