//! Sentences of the register's own that hold quantities: words and typed values in a row, so that a page
//! can show each value in a reader's unit too. Words that people wrote stand in it as words and stay so.

use std::fmt::{self, Display};

use crate::calc::quantity::{
    Side, StampedLength, StampedPressure, StampedTemperature, StampedTorque,
};

/// A typed value of a sentence.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Figure {
    /// A pressure.
    Pressure(StampedPressure),
    /// A torque.
    Torque(StampedTorque),
    /// A length.
    Length(StampedLength),
    /// A temperature.
    Temperature(StampedTemperature),
}

impl Display for Figure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Pressure(value) => value.fmt(f),
            Self::Torque(value) => value.fmt(f),
            Self::Length(value) => value.fmt(f),
            Self::Temperature(value) => value.fmt(f),
        }
    }
}

macro_rules! figures {
    ($($kind:ident: $of:ty),+) => {
        $(impl From<$of> for Figure {
            fn from(value: $of) -> Self {
                Self::$kind(value)
            }
        })+
    };
}

figures!(Pressure: StampedPressure, Torque: StampedTorque, Length: StampedLength, Temperature: StampedTemperature);

/// What stands in a sentence.
#[derive(Debug, Clone, PartialEq)]
pub enum Part {
    /// Words, shown as they are.
    Words(String),
    /// A value, and the side its conversion is rounded to; the usual one of its kind where none is said.
    Figure(Figure, Option<Side>),
    /// Torques of one unit, joined by commas, the unit behind the last of them.
    Passes(Vec<StampedTorque>),
}

/// Words and values in a row. It displays as it is kept: values as stamped, typed or computed.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Sentence(Vec<Part>);

impl Sentence {
    /// Begins with words.
    pub fn of(words: impl Display) -> Self {
        Self::default().words(words)
    }

    /// Goes on with words.
    #[must_use]
    pub fn words(mut self, words: impl Display) -> Self {
        self.0.push(Part::Words(words.to_string()));
        self
    }

    /// Goes on with a value.
    #[must_use]
    pub fn figure(mut self, value: impl Into<Figure>) -> Self {
        self.0.push(Part::Figure(value.into(), None));
        self
    }

    /// Goes on with a value that has to be reached.
    #[must_use]
    pub fn at_least(mut self, value: impl Into<Figure>) -> Self {
        self.0.push(Part::Figure(value.into(), Some(Side::Up)));
        self
    }

    /// Goes on with a value that must not be passed.
    #[must_use]
    pub fn at_most(mut self, value: impl Into<Figure>) -> Self {
        self.0.push(Part::Figure(value.into(), Some(Side::Down)));
        self
    }

    /// Goes on with the passes of a tightening.
    #[must_use]
    pub fn passes(mut self, passes: impl IntoIterator<Item = StampedTorque>) -> Self {
        self.0.push(Part::Passes(passes.into_iter().collect()));
        self
    }

    /// What stands in it, in order.
    pub fn parts(&self) -> &[Part] {
        &self.0
    }
}

impl Display for Sentence {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for part in &self.0 {
            match part {
                Part::Words(words) => f.write_str(words)?,
                Part::Figure(value, _) => value.fmt(f)?,
                Part::Passes(passes) => {
                    let Some((last, before)) = passes.split_last() else {
                        continue;
                    };
                    for pass in before {
                        write!(f, "{}, ", pass.value)?;
                    }
                    last.fmt(f)?;
                }
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use rust_decimal::Decimal;

    use super::*;
    use crate::calc::quantity::{PressureUnit, TorqueUnit};

    #[test]
    fn a_sentence_displays_as_it_is_kept() {
        let torque = |n: i64| StampedTorque::new(Decimal::from(n), TorqueUnit::FootPound);
        let told = Sentence::of("never below ")
            .at_least(StampedPressure::new(Decimal::from(1500), PressureUnit::Psi))
            .words("; passes ")
            .passes([torque(5), torque(10)]);
        assert_eq!(
            told.to_string(),
            "never below 1500 psi; passes 5, 10 ft·lbf"
        );
    }
}
