//! The storeroom: kits and whether they cover what falls due, their lots, every movement, and the
//! ledger. Everybody signed in may look; storekeepers and engineers receive, issue, count and scrap.

pub mod count;
pub mod edit_kit;
pub mod edit_lot;
pub mod gasket_age;
pub mod kit;
pub mod ledger;
pub mod list;
pub mod lot;
pub mod move_part;
pub mod movement;
pub mod papers;
pub mod receive;

use super::answer::PageError;
use crate::calc::OutOfRange;
use crate::record::StockLineId;
use crate::record::kit::Lot;
use crate::store;
use crate::store::stock::{Before, LedgerLine, Moved};

/// What a form calls a lot's own place.
const OWN: &str = "own";
/// What stands before the name of another one.
const AT: &str = "at:";

/// What a form calls a place.
fn place_word(place: Option<&str>) -> String {
    place.map_or_else(|| OWN.to_owned(), |place| format!("{AT}{place}"))
}

/// The place a form names: none is the lot's own. A lot that lies in one place needs no choice.
///
/// # Errors
/// Says that one has to be chosen.
fn read_place(lot: &Lot, word: &str) -> Result<Option<String>, &'static str> {
    match (word.strip_prefix(AT), word) {
        (Some(place), _) => Ok(Some(place.to_owned())),
        (None, OWN) => Ok(None),
        (None, _) if !lot.several() => Ok(None),
        _ => Err("This lot lies in several places: choose which"),
    }
}

/// The places of a lot for a choice: with how many lie there, or without the figures.
fn places(lot: &Lot, figures: bool) -> Vec<(String, String)> {
    let none = (String::new(), "choose".to_owned());
    let named = lot.parts().into_iter().map(|part| {
        let place = part.place.as_deref();
        let mut shown = lot.called(place).to_owned();
        if figures {
            shown = format!("{shown}: {}", part.kits);
        }
        (place_word(place), shown)
    });
    std::iter::once(none).chain(named).collect()
}

/// How many lie where a form says.
fn lie_there(lot: &Lot, word: &str) -> i64 {
    let place = read_place(lot, word).ok().flatten();
    lot.lie_at(place.as_deref())
}

/// A row of a ledger as pages show it.
enum Entry {
    /// A line, which changes a balance.
    Line(LedgerLine),
    /// A move, which changes none.
    Move(Moved),
}

impl Entry {
    /// The place in the ledger the page after it begins at.
    fn place(&self) -> Before {
        match self {
            Self::Line(line) => Before {
                line: line.id,
                moved: None,
            },
            Self::Move(moved) => Before {
                line: moved.after_line,
                moved: Some(moved.id),
            },
        }
    }
}

/// Rows of a ledger on a page.
const ROWS: usize = 50;
/// As many and one more, which tells whether the ledger goes on.
const ASKED: i64 = 51;

/// Lines and the moves between them, the latest first, as many as a page has; and where the next page
/// begins, if there is one.
fn woven(lines: Vec<LedgerLine>, moves: Vec<Moved>) -> (Vec<Entry>, Option<String>) {
    let mut moves = moves.into_iter().peekable();
    let mut rows = Vec::with_capacity(ROWS + 1);
    for line in lines {
        while let Some(moved) = moves.next_if(|moved| moved.after_line.0 >= line.id.0) {
            rows.push(Entry::Move(moved));
        }
        rows.push(Entry::Line(line));
    }
    rows.extend(moves.map(Entry::Move));
    let more = rows.len() > ROWS;
    rows.truncate(ROWS);
    let next = rows.last().filter(|_| more).map(|row| {
        let Before { line, moved } = row.place();
        moved.map_or_else(|| line.0.to_string(), |moved| format!("{}.{moved}", line.0))
    });
    (rows, next)
}

/// The place in a ledger as an address says it: "117", or "117.4" for a move made after line 117.
fn read_before(text: &str) -> Before {
    let (line, moved) = match text.split_once('.') {
        Some((line, moved)) => (line, moved.parse().ok()),
        None => (text, None),
    };
    line.parse().map_or(Before::LATEST, |line| Before {
        line: StockLineId(line),
        moved,
    })
}

/// A record lies outside what can be computed with: ours to mend, not the visitor's.
#[expect(
    clippy::needless_pass_by_value,
    reason = "the shape of a function for map_err"
)]
fn beyond(error: OutOfRange) -> PageError {
    PageError::Store(store::Error::Unreadable(error.to_string()))
}
