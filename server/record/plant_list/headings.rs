//! From the words people put over a column to what it holds: exact names, common misspellings,
//! units behind the name. Only guesses are made here; a person confirms every one of them.

use super::field::{Field, ListUnit};
use super::folded;

/// A guess for one column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Guess {
    /// What the column seems to hold.
    pub field: Option<Field>,
    /// The unit its heading names.
    pub unit: Option<ListUnit>,
}

/// How well a name fits: higher is better; only the order matters.
const EXACT: u32 = 1000;
/// Two slips of the pen in a long word cost less than one word too many.
const SLIP: u32 = 60;
const WITHIN: u32 = 700;
/// Longer text over a column is a remark, not its name.
const LONGEST: usize = 80;
/// A line that names so many columns is the line of headings; nothing below it can be better.
const ENOUGH: usize = 5;

/// A heading as names are compared: lower case, letters and digits with single spaces.
#[must_use]
pub fn plain(heading: &str) -> String {
    let spaced: String = heading
        .chars()
        .map(|c| if c.is_alphanumeric() { c } else { ' ' })
        .collect();
    folded(&spaced)
}

/// Slips of the pen a name of this length may have and still be known.
fn slips(name: &str) -> usize {
    match name.chars().count() {
        0..=3 => 0,
        4..=7 => 1,
        _ => 2,
    }
}

/// How well plain words fit a field's names; nothing if not at all.
fn fits(words: &str, field: Field) -> Option<u32> {
    let shown = plain(field.shown());
    let length = words.chars().count();
    field
        .names()
        .iter()
        .copied()
        .chain(std::iter::once(shown.as_str()))
        .filter_map(|name| {
            if words == name {
                return Some(EXACT);
            }
            let most = slips(name);
            if length.abs_diff(name.chars().count()) <= most {
                let apart = strsim::osa_distance(words, name);
                if apart <= most {
                    return u32::try_from(apart).ok().map(|n| EXACT - 100 - n * SLIP);
                }
            }
            // "level gauge tag number per P&ID" holds "gauge tag"; a single word proves too little.
            let whole = format!(" {words} ").contains(&format!(" {name} "));
            (whole && name.contains(' '))
                .then(|| WITHIN + u32::try_from(name.len().min(99)).unwrap_or(0))
        })
        .max()
}

/// A heading split into a name and what may be a unit behind it.
struct Split {
    name: String,
    unit: String,
    /// Whether the rest stands in brackets, where it may be passed over if it is no unit.
    bracketed: bool,
}

impl Split {
    fn new(name: &str, unit: &str, bracketed: bool) -> Self {
        Self {
            name: plain(name),
            unit: unit.to_owned(),
            bracketed,
        }
    }
}

/// The ways a heading may split.
fn splits(heading: &str) -> Vec<Split> {
    let mut found = Vec::new();
    for (open, close) in [('(', ')'), ('[', ']'), ('{', '}')] {
        if let (Some(from), Some(to)) = (heading.rfind(open), heading.rfind(close))
            && from < to
        {
            let name = format!("{} {}", &heading[..from], &heading[to + close.len_utf8()..]);
            let inside = &heading[from + open.len_utf8()..to];
            found.push(Split::new(&name, inside, true));
        }
    }
    for mark in [",", ";", ":", " in ", " / "] {
        if let Some((name, unit)) = heading.rsplit_once(mark) {
            found.push(Split::new(name, unit, false));
        }
    }
    let spaced = heading.replace('_', " ");
    let words: Vec<&str> = spaced.split_whitespace().collect();
    for behind in 1..=3 {
        if words.len() > behind {
            let (name, unit) = words.split_at(words.len() - behind);
            found.push(Split::new(&name.join(" "), &unit.join(" "), false));
        }
    }
    found.retain(|split| !split.name.is_empty());
    found
}

/// Every way a heading can be understood, with how well.
fn candidates(heading: &str) -> Vec<(u32, Guess)> {
    let words = plain(heading);
    if words.is_empty() || words.len() > LONGEST || !words.contains(char::is_alphabetic) {
        return Vec::new();
    }
    let mut found = Vec::new();
    let mut note = |score: u32, field: Field, unit: Option<ListUnit>| {
        found.push((
            score,
            Guess {
                field: Some(field),
                unit,
            },
        ));
    };
    let parts = splits(heading);
    for &field in Field::ALL {
        if let Some(score) = fits(&words, field) {
            note(score, field, None);
        }
        for split in &parts {
            let Some(score) = fits(&split.name, field) else {
                continue;
            };
            match field
                .quantity()
                .and_then(|q| ListUnit::read(q, &split.unit))
            {
                // A unit of the right kind behind the name speaks for the field.
                Some(unit) => note(score + 20, field, Some(unit)),
                // "Sections (no.)": what stands in brackets explains and may be passed over.
                None if split.bracketed => note(score - 10, field, None),
                None => {}
            }
        }
    }
    found
}

/// Guesses what each column holds. Each field is given once, to the column it fits best.
#[must_use]
pub fn guess(headings: &[String]) -> Vec<Guess> {
    let none = Guess {
        field: None,
        unit: None,
    };
    let mut guesses = vec![none; headings.len()];
    let mut all: Vec<(u32, usize, Guess)> = headings
        .iter()
        .enumerate()
        .flat_map(|(column, heading)| {
            candidates(heading)
                .into_iter()
                .map(move |(score, guess)| (score, column, guess))
        })
        .collect();
    all.sort_by_key(|(score, column, guess)| {
        (std::cmp::Reverse(*score), *column, guess.unit.is_none())
    });
    let mut given: Vec<Field> = Vec::new();
    for (_, column, guess) in all {
        let Some(field) = guess.field else { continue };
        let taken = given.contains(&field) || opposite(field).is_some_and(|o| given.contains(&o));
        if guesses[column].field.is_none() && !taken {
            guesses[column] = guess;
            given.push(field);
        }
    }
    beside(headings, &mut guesses);
    guesses
}

/// The field that says the same the other way round.
#[must_use]
pub const fn opposite(field: Field) -> Option<Field> {
    match field {
        Field::CanIsolate => Some(Field::NeedsShutdown),
        Field::NeedsShutdown => Some(Field::CanIsolate),
        _ => None,
    }
}

/// A column headed just "Unit" right of a value column holds the units of those values.
fn beside(headings: &[String], guesses: &mut [Guess]) {
    for column in 1..headings.len() {
        let bare = matches!(
            plain(&headings[column]).as_str(),
            "unit" | "units" | "uom" | "u"
        );
        let of = guesses[column - 1].field.and_then(Field::unit_field);
        if let (true, Some(field)) = (bare, of)
            && !guesses.iter().any(|g| g.field == Some(field))
        {
            guesses[column] = Guess {
                field: Some(field),
                unit: None,
            };
        }
    }
}

/// How many columns a line would name if it were the line of headings.
#[must_use]
pub fn recognised(cells: &[String]) -> usize {
    guess(cells).iter().filter(|g| g.field.is_some()).count()
}

/// Which of the first lines is the line of headings: the one that names most columns; where none
/// names any, the first with two filled cells.
#[must_use]
pub fn heading_line(lines: &[&[String]]) -> Option<usize> {
    let filled = |cells: &[String]| cells.iter().filter(|c| !c.trim().is_empty()).count();
    let mut best: Option<(usize, usize)> = None;
    for (index, cells) in lines.iter().enumerate() {
        let named = recognised(cells);
        if named > best.map_or(0, |(named, _)| named) {
            best = Some((named, index));
        }
        if named >= ENOUGH {
            break;
        }
    }
    // One named cell in a wide line is chance: a title may hold the word "gauge".
    match best {
        Some((named, index)) if named >= 2 || filled(lines[index]) <= 2 => Some(index),
        _ => lines
            .iter()
            .position(|cells| filled(cells) >= 2)
            .or_else(|| lines.iter().position(|cells| filled(cells) >= 1)),
    }
}

/// Whether a line right below the headings holds only units, which then belong to the headings.
#[must_use]
pub fn is_unit_line(cells: &[String]) -> bool {
    use super::field::Quantity::{Length, Pressure, Temperature, Torque};
    let filled: Vec<&String> = cells.iter().filter(|c| !c.trim().is_empty()).collect();
    !filled.is_empty()
        && filled.iter().all(|cell| {
            let cell = cell.trim().trim_matches(['(', ')', '[', ']']);
            // A bare figure or a lone letter is data, not a unit.
            !cell
                .chars()
                .any(|c| c.is_ascii_digit() && !matches!(c, '2'))
                && [Pressure, Temperature, Torque, Length]
                    .iter()
                    .any(|q| ListUnit::read(*q, cell).is_some())
        })
}
