//! The shown calculation: the ordered steps behind a number, as data that pages and papers print.
//! Nothing here computes; each computation writes its own steps once, where it computes.

use serde::{Deserialize, Serialize};

use super::calendar::worded;

/// Where a formula or a value comes from, so that a reader can weigh it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(tag = "kind", content = "of", rename_all = "kebab-case")]
pub enum Source {
    /// A published standard, handbook or regulation: title, edition, clause.
    Published(String),
    /// Common practice of the trade; no source can be named.
    CommonPractice,
    /// Remembered, not confirmed at the source.
    FromMemory(String),
    /// Read from the gauge's nameplate.
    Nameplate,
    /// Measured or entered by a person, or read from an instrument.
    Entered,
    /// Chosen by the plant in its settings.
    Plant,
    /// Follows from the steps before by arithmetic.
    Arithmetic,
}

impl Source {
    /// A published source by title, edition and clause.
    pub fn published(what: impl Into<String>) -> Self {
        Self::Published(what.into())
    }

    /// The words printed beside a step.
    pub fn words(&self) -> String {
        match self {
            Self::Published(what) => what.clone(),
            Self::CommonPractice => "common practice, no source".to_owned(),
            Self::FromMemory(what) => format!("{what} (from memory)"),
            Self::Nameplate => "nameplate".to_owned(),
            Self::Entered => "as entered".to_owned(),
            Self::Plant => "the plant's setting".to_owned(),
            Self::Arithmetic => "arithmetic".to_owned(),
        }
    }
}

/// One symbol of a formula with the value it had.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Input {
    /// The symbol as it stands in the formula.
    pub symbol: String,
    /// What the symbol means.
    pub meaning: String,
    /// The value with its unit, as used.
    pub value: String,
    /// Where the value comes from.
    pub source: Source,
}

/// One line of a calculation.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Step {
    /// The symbol this step finds.
    pub symbol: String,
    /// What it is, in words.
    pub meaning: String,
    /// The formula in symbols.
    pub formula: String,
    /// The values put into it.
    pub inputs: Vec<Input>,
    /// The result with its unit, after rounding.
    pub result: String,
    /// How the result was rounded, where it was.
    pub rounding: Option<String>,
    /// Where the formula comes from.
    pub source: Source,
}

impl Step {
    /// Begins a step: the symbol found, what it is, the formula and its source.
    pub fn new(
        symbol: impl Into<String>,
        meaning: impl Into<String>,
        formula: impl Into<String>,
        source: Source,
    ) -> Self {
        Self {
            symbol: symbol.into(),
            meaning: meaning.into(),
            formula: formula.into(),
            inputs: Vec::new(),
            result: String::new(),
            rounding: None,
            source,
        }
    }

    /// Adds one value that goes into the formula.
    #[must_use]
    pub fn with(
        mut self,
        symbol: impl Into<String>,
        meaning: impl Into<String>,
        value: impl ToString,
        source: Source,
    ) -> Self {
        self.inputs.push(Input {
            symbol: symbol.into(),
            meaning: meaning.into(),
            value: worded(&value),
            source,
        });
        self
    }

    /// Says how the result was rounded.
    #[must_use]
    pub fn rounded(mut self, how: impl Into<String>) -> Self {
        self.rounding = Some(how.into());
        self
    }

    /// Closes the step with its result.
    #[must_use]
    pub fn gives(mut self, result: impl ToString) -> Self {
        self.result = worded(&result);
        self
    }
}

/// The whole calculation behind one number.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Working {
    /// What was computed ("Required test pressure").
    pub title: String,
    /// The steps in order; the last one gives the number that was asked for.
    pub steps: Vec<Step>,
    /// What the reader should keep in mind about the result: limits, conventions, warnings.
    pub remarks: Vec<String>,
}

impl Working {
    /// An empty calculation with its title.
    pub fn new(title: impl Into<String>) -> Self {
        Self {
            title: title.into(),
            steps: Vec::new(),
            remarks: Vec::new(),
        }
    }

    /// Adds a step.
    #[must_use]
    pub fn step(mut self, step: Step) -> Self {
        self.steps.push(step);
        self
    }

    /// Adds a remark.
    #[must_use]
    pub fn remark(mut self, remark: impl Into<String>) -> Self {
        self.remarks.push(remark.into());
        self
    }

    /// The result of the last step, which is the number asked for.
    pub fn answer(&self) -> Option<&str> {
        self.steps.last().map(|step| step.result.as_str())
    }
}
