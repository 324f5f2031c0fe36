//! The drawn bolt layout of a gauge: its sections one above the other, and one cover with its nuts
//! numbered in the order they are tightened. The order itself is computed in `calc::tighten`.

use crate::calc::tighten;
use crate::record::gauge::{BoltForm, Particulars};

/// From nut to nut along a rail, in units of the drawing.
const PITCH: u32 = 28;
/// From the cover's edge to its first nut.
const EDGE: u32 = 22;
/// Where the two rails and the cover stand.
const COVER: u32 = 56;
const LEFT: u32 = COVER + 18;
const RIGHT: u32 = COVER + 78;

/// A nut, ready to draw.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Nut {
    /// Across.
    pub x: u32,
    /// Down.
    pub y: u32,
    /// Its turn, from 1.
    pub turn: usize,
    /// What it is called: L3 is the third from the top on the left.
    pub name: String,
}

/// A gauge's bolting, ready to draw.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Layout {
    /// Height of the drawing.
    pub height: u32,
    /// Top and height of each section in the stack, from the top.
    pub sections: Vec<(u32, u32)>,
    /// The nuts of one cover, in the order of their turns.
    pub nuts: Vec<Nut>,
    /// Heights at which a U-bolt runs across behind the glass.
    pub across: Vec<u32>,
    /// What it shows, in words.
    pub says: String,
}

impl Layout {
    /// Draws a gauge's bolting; nothing where the number of bolts is not known.
    pub fn of(p: &Particulars) -> Option<Self> {
        let per_rail = p.bolts_per_rail?;
        let height = EDGE * 2 + PITCH * u32::from(per_rail).saturating_sub(1);
        let down = |position: u8| EDGE + PITCH * u32::from(position).saturating_sub(1);
        let (nuts, across) = if p.bolt_form == BoltForm::UBolts {
            let turns = tighten::u_bolts_in_order(per_rail).ok()?;
            let nuts = turns
                .iter()
                .zip(1..)
                .flat_map(|(&position, turn)| {
                    [(LEFT, 'L'), (RIGHT, 'R')].map(|(x, rail)| Nut {
                        x,
                        y: down(position),
                        turn,
                        name: format!("{rail}{position}"),
                    })
                })
                .collect();
            (nuts, (1..=per_rail).map(down).collect())
        } else {
            let turns = tighten::order(per_rail).ok()?;
            let nuts = turns
                .iter()
                .zip(1..)
                .map(|(bolt, turn)| Nut {
                    x: match bolt.rail {
                        tighten::Rail::Left => LEFT,
                        tighten::Rail::Right => RIGHT,
                    },
                    y: down(bolt.position),
                    turn,
                    name: bolt.to_string(),
                })
                .collect();
            (nuts, Vec::new())
        };
        let count = u32::from(p.sections.max(1));
        let each = height / count;
        let sections = (0..count)
            .map(|i| (i * each, each.saturating_sub(3).max(1)))
            .collect();
        Some(Self {
            height,
            sections,
            nuts,
            across,
            says: format!(
                "{}, {per_rail} {} on each rail of a section, numbered in the order they are tightened",
                super::show::count(i64::from(p.sections), "section", "sections"),
                p.bolt_form
            ),
        })
    }

    /// The names of the nuts in the order of their turns, for those who cannot see the drawing.
    pub fn order(&self) -> String {
        self.nuts
            .iter()
            .map(|nut| nut.name.as_str())
            .collect::<Vec<_>>()
            .join(", ")
    }
}
