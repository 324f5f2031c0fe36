//! The small drawn glass that shows how much of a gauge's interval is left.
//! Shape and words carry the meaning; colour only helps.

use time::Date;

use crate::record::gauge::Standing;

/// Near due means within this many days.
pub const NEAR_DAYS: i64 = 30;

/// A glass, ready to draw.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Glass {
    /// The word for its look: `left`, `near`, `past`, `resting`, `none`.
    pub look: &'static str,
    /// Height of the dark column in hundredths of the glass.
    pub column: u8,
    /// What it says, in words.
    pub says: String,
}

impl Glass {
    /// Draws the time left of a gauge.
    pub fn of(standing: Standing, due: Option<Date>, since: Option<Date>, today: Date) -> Self {
        match (standing, due) {
            (Standing::Resting, _) => Self::plain("resting", "resting"),
            (Standing::Retired, _) => Self::plain("resting", "retired"),
            (Standing::InService, None) => Self::plain("none", "no due date"),
            (Standing::InService, Some(due)) => {
                let left = (due - today).whole_days();
                let says = super::show::distance(&due, &today);
                if left < 0 {
                    return Self {
                        look: "past",
                        column: 0,
                        says: format!("past due, {says}"),
                    };
                }
                let whole = since.map_or(365, |since| (due - since).whole_days()).max(1);
                let share = (left * 100 / whole).clamp(0, 100);
                let column = u8::try_from(share).unwrap_or(100);
                if left <= NEAR_DAYS {
                    Self {
                        look: "near",
                        column: column.max(6),
                        says: format!("due {says}"),
                    }
                } else {
                    Self {
                        look: "left",
                        column: column.max(6),
                        says: format!("due {says}"),
                    }
                }
            }
        }
    }

    fn plain(look: &'static str, says: &str) -> Self {
        Self {
            look,
            column: 0,
            says: says.to_owned(),
        }
    }

    /// Top of the column in the drawing, whose glass runs from 3 to 47.
    pub fn top(&self) -> u32 {
        47 - self.height()
    }

    /// Height of the column in the drawing.
    pub fn height(&self) -> u32 {
        u32::from(self.column) * 44 / 100
    }
}
