//! What an empty plant is asked about its pressure tests beside code and hold: whether the change of
//! pressure over a hold is judged, by what, and on what ground. Later it is changed in `test_plan.rs`.

use rust_decimal::Decimal;
use serde::Deserialize;

use crate::calc::quantity::{PressureUnit, Unit};
use crate::pages::form::Reader;
use crate::record::plant::Paper;
use crate::record::test_plan::{GuardBand, Rule};

/// What is typed, all of it text.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    /// Whether the change of pressure is judged: `no`, `yes`, or nothing yet.
    pub judged: String,
    /// The drop that still counts as none.
    pub drop: String,
    /// Its unit.
    pub drop_unit: String,
    /// The guard band beside it.
    pub guard: String,
    /// The thermometer's standard uncertainty, kelvin.
    pub thermometer: String,
    /// The size of paper.
    pub paper: String,
    /// Who or what says so.
    pub ground: String,
}

type Options = Vec<(String, String)>;

fn options<'a>(unchosen: &str, list: impl Iterator<Item = (&'a str, &'a str)>) -> Options {
    let chosen = list.map(|(word, shown)| (word.to_owned(), shown.to_owned()));
    std::iter::once((String::new(), unchosen.to_owned()))
        .chain(chosen)
        .collect()
}

impl Typed {
    /// What an empty form holds: units, and nothing that the plant has to choose.
    pub fn proposed() -> Self {
        Self {
            drop_unit: PressureUnit::Psi.ucum().to_owned(),
            ..Self::default()
        }
    }

    /// Whether the change of pressure is judged.
    pub fn judgings() -> Options {
        let list = [
            (
                "no",
                "no: it is printed; a visible leak or a low reading fails",
            ),
            ("yes", "yes: by the drop left after temperature"),
        ];
        options("choose", list.into_iter())
    }

    /// Guard bands, for choosing one.
    pub fn guards() -> Options {
        let list = GuardBand::ALL.iter().map(|g| (g.word(), g.shown()));
        options("not chosen", list)
    }

    /// Sizes of paper, for choosing one.
    pub fn papers() -> Options {
        options("choose", Paper::ALL.iter().map(|p| (p.word(), p.shown())))
    }

    /// Units of pressure.
    pub fn pressures() -> Options {
        PressureUnit::ALL
            .iter()
            .map(|unit| (unit.ucum().to_owned(), unit.symbol().to_owned()))
            .collect()
    }

    /// Reads what was typed, with messages gathered in the reader.
    pub fn read(&self, read: &mut Reader) -> Option<Rule> {
        let judged = match self.judged.as_str() {
            "yes" => Some(true),
            "no" => Some(false),
            _ => {
                read.refuse("judged", "Choose whether it is judged");
                None
            }
        };
        let paper = read.take(
            "paper",
            self.paper
                .parse::<Paper>()
                .map_err(|_| "Choose the paper certificates are printed on"),
        );
        let ground = read.needed(
            "ground",
            &self.ground,
            400,
            "Name the procedure with its issue, or who decided; it stands on every certificate",
        );
        let mut rule = Rule {
            paper: Some(paper?),
            ground: ground?,
            ..Rule::default()
        };
        if judged? {
            rule.allowed_drop = read.stamped::<PressureUnit>("drop", &self.drop, &self.drop_unit);
            if rule.allowed_drop.is_none() && self.drop.trim().is_empty() {
                read.refuse("drop", "Write the drop that still counts as none");
            }
            rule.guard = read.take(
                "guard",
                self.guard
                    .parse::<GuardBand>()
                    .map_err(|_| "Choose the guard band beside the allowed drop"),
            );
            let words = "Write the standard uncertainty of a temperature in kelvin, above zero";
            if self.thermometer.trim().is_empty() {
                read.refuse("thermometer", words);
            } else {
                rule.thermometer = read.decimal("thermometer", &self.thermometer);
                if rule.thermometer.is_some_and(|k| k <= Decimal::ZERO) {
                    read.refuse("thermometer", words);
                }
            }
        }
        Some(rule)
    }
}
