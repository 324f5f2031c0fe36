//! What would happen to every line of a list: taken in, refused with reasons, or passed over as a
//! remark; and which areas and service classes would be new. Nothing is written here.

use std::collections::{BTreeMap, HashMap};

use super::draft::{Fault, Known, Named};
use super::field::Field;
use super::matching::Matching;
use super::row::Checker;
use super::table::{Line, Table};
use super::words::says_nothing;
use super::{folded, tidy};
use crate::record::TagNumber;
use crate::record::gauge::Assumed;

/// More new areas than this mean that the wrong column was matched.
const MOST_NEW_AREAS: usize = 200;
/// More new service classes than this mean that the wrong column was matched.
const MOST_NEW_CLASSES: usize = 100;
/// Lines named in one message.
const NAMED: usize = 4;

/// What happens to one line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Outcome {
    /// It can be taken in. What was read is not kept: a list is long, and reading a line again is
    /// cheap.
    Good,
    /// It cannot, for these reasons.
    Refused(Vec<Fault>),
    /// It is no gauge: a title between the lines, headings once more, a remark below the list.
    PassedOver,
}

/// A name the register would learn.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewName {
    /// As the list first writes it.
    pub name: String,
    /// How many gauges would go there.
    pub gauges: usize,
    /// A name so much like it that one of the two may be a slip of the pen.
    pub like: Option<String>,
}

/// What would happen to a list.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Plan {
    /// One outcome a line of the table.
    pub outcomes: Vec<Outcome>,
    /// Lines that can be taken in.
    pub good: usize,
    /// Lines that cannot.
    pub refused: usize,
    /// Lines that are no gauges.
    pub passed_over: usize,
    /// Areas that would be made.
    pub new_areas: Vec<NewName>,
    /// Service classes that would be made.
    pub new_classes: Vec<NewName>,
    /// What would be assumed where the list says nothing, and of how many gauges.
    pub assumed: BTreeMap<Assumed, usize>,
    /// Good lines that say nothing of the cover bolt torque, for which nothing is assumed.
    pub without_torque: usize,
    /// Good lines that say nothing of the rated pressure, for which nothing is assumed.
    pub without_rating: usize,
    /// Why nothing of the list can be taken in as it is matched.
    pub blocked: Option<String>,
}

impl Plan {
    /// Reads every line.
    #[must_use]
    pub fn of(table: &Table, matching: &Matching, known: &Known) -> Self {
        let mut checker = Checker::new(matching, known);
        let over = passed_over(table, &checker);
        let mut twice = given_twice(table, &checker, &over);
        let mut plan = Self::default();
        let (mut areas, mut classes) = (Names::default(), Names::default());
        for (index, line) in table.lines.iter().enumerate() {
            let outcome = if over[index] {
                plan.passed_over += 1;
                Outcome::PassedOver
            } else {
                match (checker.read(line), twice.remove(&index)) {
                    (Ok(draft), None) => {
                        plan.good += 1;
                        for one in draft.assumed() {
                            *plan.assumed.entry(*one).or_default() += 1;
                        }
                        plan.without_torque += usize::from(draft.lacks_torque());
                        plan.without_rating += usize::from(draft.lacks_rating());
                        areas.note(&draft.area);
                        classes.note(&draft.class);
                        Outcome::Good
                    }
                    (read, twice) => {
                        plan.refused += 1;
                        let mut faults = read.err().unwrap_or_default();
                        faults.extend(twice.map(|twice| twice.fault(table, &plan.outcomes)));
                        Outcome::Refused(faults)
                    }
                }
            };
            plan.outcomes.push(outcome);
        }
        plan.learn(&areas, &classes, known);
        plan
    }

    /// Keeps the names that would be new.
    fn learn(&mut self, areas: &Names, classes: &Names, known: &Known) {
        self.new_areas = areas.gathered(known.areas.values().map(|(_, name)| name.as_str()));
        self.new_classes = classes.gathered(known.classes.values().map(|(_, name)| name.as_str()));
        for (found, most, what) in [
            (self.new_areas.len(), MOST_NEW_AREAS, "areas"),
            (self.new_classes.len(), MOST_NEW_CLASSES, "service classes"),
        ] {
            if found > most {
                self.blocked = Some(format!(
                    "The list names {found} new {what}; at most {most} are made from one list. Look whether the right column was matched"
                ));
            }
        }
    }
}

#[derive(Default)]
struct Names {
    order: Vec<String>,
    found: HashMap<String, (String, usize)>,
}

impl Names {
    fn note<Id>(&mut self, name: &Named<Id>) {
        if let Named::New(name) = name {
            let key = folded(name);
            let entry = self.found.entry(key.clone()).or_insert_with(|| {
                self.order.push(key);
                (name.clone(), 0)
            });
            entry.1 += 1;
        }
    }

    fn gathered<'k>(&self, known: impl Iterator<Item = &'k str>) -> Vec<NewName> {
        let known: Vec<&str> = known.collect();
        let mut list: Vec<NewName> = Vec::with_capacity(self.order.len());
        for key in &self.order {
            let Some((name, gauges)) = self.found.get(key) else {
                continue;
            };
            let others = list.iter().map(|earlier| earlier.name.as_str());
            // Comparing each with each is for the few names a plant has.
            let like = (self.order.len() <= MOST_NEW_AREAS)
                .then(|| {
                    known
                        .iter()
                        .copied()
                        .chain(others)
                        .find(|other| alike(name, other))
                })
                .flatten();
            list.push(NewName {
                name: name.clone(),
                gauges: *gauges,
                like: like.map(ToOwned::to_owned),
            });
        }
        list
    }
}

/// Most letters that may differ between two names for one of them to be a slip of the pen.
const MOST_SLIPS: usize = 2;

/// Whether two names differ by no more than a slip of the pen. They are compared word by word, so that
/// "North Hall" and "South Hall" are two names; a figure is never a slip, so "Tank Row 1" and "Tank Row 2"
/// are two as well.
fn alike(one: &str, other: &str) -> bool {
    let (a, b) = (parts(one), parts(other));
    if a.len() == b.len() {
        let apart: Option<usize> = a.iter().zip(&b).map(|(a, b)| slips(a, b)).sum();
        return apart.is_some_and(|apart| apart <= MOST_SLIPS);
    }
    // Words written together or apart, the figures among them as they were.
    let figures = |parts: &[String]| -> Vec<String> {
        let figures = parts.iter().filter(|part| is_figure(part));
        figures.cloned().collect()
    };
    a.concat() == b.concat() && figures(&a) == figures(&b)
}

/// The words and the figures of a name, marks and spaces between them left out.
fn parts(name: &str) -> Vec<String> {
    let letters: Vec<char> = folded(name).chars().collect();
    let kind = |c: &char| (c.is_alphabetic(), c.is_numeric());
    letters
        .chunk_by(|a, b| kind(a) == kind(b))
        .filter(|part| part.iter().all(|c| c.is_alphanumeric()))
        .map(|part| part.iter().collect())
        .collect()
}

/// Whether a part of a name numbers it: in figures, or in the first Roman ones.
fn is_figure(part: &str) -> bool {
    part.chars().all(char::is_numeric) || part.chars().all(|c| matches!(c, 'i' | 'v' | 'x'))
}

/// How many slips of the pen two words are apart; none where they are two words. A letter left out or put
/// in, and two that changed places, are a slip in words of three letters or more. Another letter is one only
/// where enough others stay: in a short word it makes another word, East and Cast, CWS and CWR. Two slips
/// are believed of a long word that begins alike: Northern and Southern share an ending.
fn slips(one: &str, other: &str) -> Option<usize> {
    if one == other {
        return Some(0);
    }
    if is_figure(one) || is_figure(other) {
        return None;
    }
    let (a, b): (Vec<char>, Vec<char>) = (one.chars().collect(), other.chars().collect());
    let begin_alike = a.first() == b.first();
    let another_letter =
        a.len() == b.len() && a.iter().zip(&b).filter(|(a, b)| a != b).count() == 1;
    let apart = strsim::osa_distance(one, other);
    let slip = match (apart, a.len().min(b.len())) {
        (1, 6..) => true,
        (1, 4..=5) => begin_alike || !another_letter,
        (1, 3) => !another_letter,
        (2, 6..) => begin_alike,
        _ => false,
    };
    slip.then_some(apart)
}

/// Which lines are no gauges. A title between the lines has one filled cell; below the last gauge
/// remarks may have two; headings repeated on every printed page are the headings again.
fn passed_over(table: &Table, checker: &Checker<'_>) -> Vec<bool> {
    let tagged = |line: &Line| {
        tidy(checker.cell(line, Field::Tag))
            .parse::<TagNumber>()
            .is_ok()
    };
    let last_tagged = table.lines.iter().rposition(tagged);
    let headings: Vec<String> = table.headings.iter().map(|h| folded(h)).collect();
    table
        .lines
        .iter()
        .enumerate()
        .map(|(index, line)| {
            let filled = line.cells.iter().filter(|c| !c.trim().is_empty()).count();
            if repeats_headings(&headings, checker.column(Field::Tag), line, filled) {
                return true;
            }
            let below = last_tagged.is_some_and(|last| index > last);
            !tagged(line) && filled <= if below { 2 } else { 1 }
        })
        .collect()
}

/// Whether a line is the line of headings once more; `tag` is the column of tag numbers, which tells
/// most lines apart at once.
fn repeats_headings(headings: &[String], tag: Option<usize>, line: &Line, filled: usize) -> bool {
    let repeated = |column: usize| {
        let cell = folded(line.cell(column));
        !cell.is_empty() && headings.get(column).is_some_and(|h| h.starts_with(&cell))
    };
    if tag.is_some_and(|column| !repeated(column)) {
        return false;
    }
    let same = (0..line.cells.len())
        .filter(|column| repeated(*column))
        .count();
    same >= 2 && same * 2 > filled
}

/// A tag number that stands in an earlier or a later line too.
enum Twice {
    /// With the same data as the line of this index, the first of them.
    Same(usize),
    /// With different data, in these words.
    Differently(String),
}

impl Twice {
    /// What is wrong with the line, the lines above it being judged already.
    fn fault(self, table: &Table, above: &[Outcome]) -> Fault {
        let message = match self {
            Self::Same(first) => {
                let line = table.lines[first].number;
                if above.get(first) == Some(&Outcome::Good) {
                    format!("The same as line {line}, which is taken")
                } else {
                    format!(
                        "The same as line {line}, which is refused too; mend one of them and leave the other out"
                    )
                }
            }
            Self::Differently(words) => words,
        };
        Fault {
            field: Field::Tag,
            message,
        }
    }
}

/// Tag numbers that stand in several lines, by the lines that cannot be taken for it. Where all those
/// lines say the same, the first one counts; where they differ nobody can know which is right, so none
/// does.
fn given_twice(table: &Table, checker: &Checker<'_>, over: &[bool]) -> HashMap<usize, Twice> {
    let mut by_tag: HashMap<String, Vec<usize>> = HashMap::new();
    for (index, line) in table.lines.iter().enumerate() {
        let tag = folded(checker.cell(line, Field::Tag));
        if !over[index] && !says_nothing(&tag) {
            by_tag.entry(tag).or_default().push(index);
        }
    }
    let mut twice = HashMap::new();
    for lines in by_tag.values().filter(|lines| lines.len() > 1) {
        let says = |index: usize| -> Vec<String> {
            let line = &table.lines[index];
            Field::ALL
                .iter()
                .map(|f| folded(checker.cell(line, *f)))
                .collect()
        };
        let first = says(lines[0]);
        if lines[1..].iter().all(|index| says(*index) == first) {
            for index in &lines[1..] {
                twice.insert(*index, Twice::Same(lines[0]));
            }
            continue;
        }
        let number = |index: &usize| table.lines[*index].number;
        let mut named: Vec<String> = lines
            .iter()
            .take(NAMED)
            .map(|i| number(i).to_string())
            .collect();
        if lines.len() > NAMED {
            named.push(format!("{} more", lines.len() - NAMED));
        }
        let tag = tidy(checker.cell(&table.lines[lines[0]], Field::Tag));
        for index in lines {
            twice.insert(
                *index,
                Twice::Differently(format!(
                    "{tag} stands in lines {} with different data; keep the one that is right",
                    named.join(", ")
                )),
            );
        }
    }
    twice
}
