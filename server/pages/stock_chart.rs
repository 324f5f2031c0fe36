//! The projected stock of a kit as a drawing: what is left at the end of each month without another
//! order, what is missing, the same as proposed, and the day to order. The figures stand in a table.

use std::fmt::Write as _;

use time::Date;

use crate::acts::needs::Asked;
use crate::calc::stock_plan::Row;
use crate::pages::show::place;

const LEFT: f64 = 44.0;
const WIDE: f64 = 640.0;
const TOP: f64 = 24.0;
/// Height of what is left and what is missing together.
const ROOM: f64 = 208.0;
const MONTHS: [&str; 12] = [
    "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
];

/// One month, in figures and as drawn.
#[derive(Debug, Clone)]
pub struct Bar {
    /// The month in words.
    pub name: String,
    /// Its three letters.
    pub short: &'static str,
    /// Its year, where it is the first month drawn or a January.
    pub year: Option<i32>,
    /// Kits for planned rebuilds.
    pub planned: u32,
    /// Kits for failures to be expected.
    pub expected: u32,
    /// Kits on the way that arrive.
    pub arriving: u32,
    /// Kits that expire.
    pub expired: u32,
    /// Left without another order.
    pub left: u32,
    /// Missing without another order.
    pub missing: u32,
    /// Left as proposed.
    pub proposed: u32,
    /// Kits whose order has to be placed this month.
    pub ordered: u32,
    /// Where the bar begins.
    pub x: String,
    /// Its middle.
    pub middle: String,
    /// Top of what is left.
    pub y: String,
    /// Height of what is left.
    pub height: String,
    /// Height of what is missing, below the line.
    pub lack: String,
}

/// A drawn projection.
#[derive(Debug, Clone)]
pub struct StockChart {
    /// The months.
    pub bars: Vec<Bar>,
    /// Width of a bar.
    pub wide: String,
    /// The line of the stock as proposed.
    pub proposed: String,
    /// Height of the line of what is kept for failures, if anything is.
    pub cover: Option<String>,
    /// Height of the line nothing is left at.
    pub zero: String,
    /// Where what is missing begins, below that line.
    pub below: String,
    /// Where the day to order stands, its words, and on which side of it they stand.
    pub order_by: Option<(String, String, &'static str)>,
    /// Marks at the left: height and words.
    pub marks: Vec<(String, String)>,
    /// What the drawing shows, in words.
    pub says: String,
}

impl StockChart {
    /// Draws an answer.
    pub fn of(asked: &Asked, today: Date) -> Self {
        let answer = &asked.answer;
        let (unaided, aided) = (&answer.unaided.rows, &answer.aided.rows);
        let months = f64::from(u32::try_from(unaided.len()).unwrap_or(1).max(1));
        let step = (WIDE - LEFT) / months;
        let highest = unaided
            .iter()
            .chain(aided)
            .map(|row| row.projected)
            .chain([answer.point.cover, 1])
            .max()
            .unwrap_or(1);
        let deepest = unaided.iter().map(missing).max().unwrap_or(0);
        let (kit, zero) = scale(highest, deepest);
        let y = |kits: u32| zero - f64::from(kits) * kit;
        let mut at = LEFT;
        let mut bars = Vec::with_capacity(unaided.len());
        let mut line = Vec::with_capacity(unaided.len());
        for (row, planned) in unaided.iter().zip(aided) {
            let lack = f64::from(missing(row)) * kit;
            let middle = at + step / 2.0;
            line.push(format!("{},{}", place(middle), place(y(planned.projected))));
            bars.push(bar(
                row,
                planned,
                (at + step * 0.15, middle),
                (y(row.projected), zero),
                lack,
            ));
            at += step;
        }
        if let (Some(first), Some(row)) = (bars.first_mut(), unaided.first()) {
            first.year = Some(row.month.year());
        }
        let order_by = answer.order_by.as_ref().map(|by| {
            let x = across(by.date.max(today), unaided, step);
            let words = if by.date < today {
                format!(
                    "today; the day to order was {}",
                    super::show::date(&by.date)
                )
            } else {
                format!("order by {}", super::show::date(&by.date))
            };
            let side = if x > WIDE / 2.0 { "end" } else { "start" };
            (place(x.min(WIDE - 4.0)), words, side)
        });
        Self {
            wide: place(step * 0.7),
            proposed: line.join(" "),
            cover: (answer.point.cover > 0).then(|| place(y(answer.point.cover))),
            marks: marks((highest, deepest), (kit, zero)),
            zero: place(zero),
            below: place(zero + 2.0),
            says: says(asked, today),
            order_by,
            bars,
        }
    }
}

/// The height of one kit, left or missing, and of the line between the two: one scale for both, so that
/// they can be compared.
fn scale(highest: u32, deepest: u32) -> (f64, f64) {
    let kit = ROOM / f64::from(highest.saturating_add(deepest).max(1));
    (kit, TOP + kit * f64::from(highest))
}

/// Marks at the left: the most that is left, nothing, and the most that is missing.
fn marks((highest, deepest): (u32, u32), (kit, zero): (f64, f64)) -> Vec<(String, String)> {
    let mut marks = vec![
        (place(TOP + 5.0), highest.to_string()),
        (place(zero + 5.0), "0".to_owned()),
    ];
    let low = f64::from(deepest) * kit;
    // A mark that would stand in the nought is left out; the table has the number.
    if low > 14.0 {
        marks.push((place(zero + low + 5.0), format!("\u{2212}{deepest}")));
    }
    marks
}

/// What a month lacks by itself: the plan without orders keeps nothing back.
fn missing(row: &Row) -> u32 {
    row.net
}

fn bar(
    row: &Row,
    planned: &Row,
    (x, middle): (f64, f64),
    (top, zero): (f64, f64),
    lack: f64,
) -> Bar {
    let number = usize::from(u8::from(row.month.month()) - 1);
    let short = MONTHS.get(number).copied().unwrap_or_default();
    Bar {
        name: format!("{short} {}", row.month.year()),
        short,
        year: (number == 0).then(|| row.month.year()),
        planned: row.planned,
        expected: row.expected,
        arriving: row.receipts,
        expired: row.expired,
        left: row.projected,
        missing: missing(row),
        proposed: planned.projected,
        ordered: planned.planned_release,
        x: place(x),
        middle: place(middle),
        y: place(top),
        height: place(zero - top),
        lack: place(lack),
    }
}

/// Where a day stands between the first and the last month.
fn across(day: Date, rows: &[Row], step: f64) -> f64 {
    let mut at = LEFT;
    for row in rows {
        let (year, month) = (row.month.year(), row.month.month());
        if (day.year(), day.month()) == (year, month) {
            let share = f64::from(day.day() - 1) / f64::from(month.length(year));
            return at + share * step;
        }
        at += step;
    }
    at
}

fn says(asked: &Asked, today: Date) -> String {
    let rows = &asked.answer.unaided.rows;
    let last = rows.last().map_or(0, |row| row.projected);
    let lacking: u32 = rows.iter().map(missing).fold(0, u32::saturating_add);
    let mut words = format!(
        "Stock over {} months without another order: {} usable today, {last} left at the end",
        rows.len(),
        asked.answer.usable
    );
    if lacking > 0 {
        let _ = write!(words, ", {lacking} missing on the way");
    }
    if let Some(by) = &asked.answer.order_by {
        let day = super::show::date(&by.date);
        let _ = if by.date < today {
            write!(words, "; the day to order was {day}")
        } else {
            write!(words, "; order by {day}")
        };
    }
    words
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_kit_that_is_missing_is_drawn_as_tall_as_one_that_is_left() {
        for (highest, deepest) in [(20, 16), (160, 16), (1, 400), (7, 0)] {
            let (kit, zero) = scale(highest, deepest);
            let (left, missing) = (zero - TOP, TOP + ROOM - zero);
            assert!((left - kit * f64::from(highest)).abs() < 1e-9);
            assert!((missing - kit * f64::from(deepest)).abs() < 1e-9);
        }
        // Half as many below the line as above it: a third of the height.
        let (_, zero) = scale(20, 10);
        assert!((TOP + ROOM - zero - ROOM / 3.0).abs() < 1e-9);
    }

    #[test]
    fn the_axis_says_how_many_are_missing_where_there_is_room_for_it() {
        let words = |highest, deepest| {
            let marks = marks((highest, deepest), scale(highest, deepest));
            marks
                .into_iter()
                .map(|(_, words)| words)
                .collect::<Vec<_>>()
        };
        assert_eq!(words(20, 16), ["20", "0", "\u{2212}16"]);
        assert_eq!(words(160, 1), ["160", "0"]);
        assert_eq!(words(7, 0), ["7", "0"]);
    }
}
