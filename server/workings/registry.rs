//! The list of computations and how one is run: JSON in, result and working or a refusal with the
//! path to the offending input out.

use std::fmt;
use std::sync::LazyLock;

use schemars::generate::SchemaSettings;
use schemars::{JsonSchema, Schema};
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::{Value, json};

use super::fields::{Field, path_of};
use super::{
    dates, faces, fleet, kits, life, orders, pressure, repair, tightening, units, wall, water,
};
use crate::calc::OutOfRange;
use crate::calc::flatness::FlatnessError;
use crate::calc::life::LifeError;
use crate::calc::working::Working;

/// What a computation is about; the order of the list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Part {
    /// Units.
    Units,
    /// Tightening and bolting.
    Tightening,
    /// Pressure tests and ratings.
    Pressure,
    /// Water, steam and gas.
    Water,
    /// Seating faces and measurement.
    Faces,
    /// Dates.
    Dates,
    /// Kits and lots.
    Kits,
    /// How long gauges last.
    Life,
    /// Intervals and the fleet.
    Fleet,
}

impl Part {
    /// Every part, in the order of the list.
    pub const ALL: [Self; 9] = [
        Self::Units,
        Self::Tightening,
        Self::Pressure,
        Self::Water,
        Self::Faces,
        Self::Dates,
        Self::Kits,
        Self::Life,
        Self::Fleet,
    ];

    /// What it is called.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Units => "Units",
            Self::Tightening => "Tightening and bolting",
            Self::Pressure => "Pressure tests and ratings",
            Self::Water => "Water, steam and gas",
            Self::Faces => "Seating faces and measurement",
            Self::Dates => "Dates",
            Self::Kits => "Kits",
            Self::Life => "How long gauges last",
            Self::Fleet => "Intervals and the fleet",
        }
    }
}

/// What a reader has to be warned of, because the result touches it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Care {
    /// Bolting is tightened by the result.
    Tightening,
    /// A pressure test is done by the result.
    Pressure,
    /// Compressed gas.
    Gas,
    /// Glass, faces or gaskets that hold pressure are judged by the result.
    Parts,
}

/// A computation as JSON in, result and working out; the fields lead a refusal to its path.
type Run = dyn Fn(&Value, &[Field]) -> Result<(Value, Working), Refused> + Send + Sync;

/// A computation under its name.
pub struct Computation {
    /// The name on the command line and in the address.
    pub name: &'static str,
    /// What it gives, in one line.
    pub purpose: &'static str,
    /// What it is about.
    pub part: Part,
    /// What its reader is warned of.
    pub cares: &'static [Care],
    /// An input to begin with, as JSON.
    pub sample: &'static str,
    fields: Vec<Field>,
    result: Vec<Field>,
    schemas: fn() -> (Schema, Schema),
    run: Box<Run>,
}

impl fmt::Debug for Computation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name)
    }
}

/// The result of a computation with its working.
#[derive(Debug, Clone, Serialize)]
pub struct Answer {
    /// The name of the computation.
    pub computation: &'static str,
    /// What was asked for.
    pub result: Value,
    /// How it was found.
    pub working: Working,
}

/// Why an input was refused: where in it, and what is wrong there.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{path}: {words}")]
pub struct Refused {
    /// The JSON path of the offending input, such as `$.target.value`; `$` for the whole.
    pub path: String,
    /// What is wrong with it.
    pub words: String,
}

/// Why a function of `calc` refused, before its input is looked up in the JSON.
#[derive(Debug)]
pub(super) enum No {
    /// An input out of range, by its name.
    Named(OutOfRange),
    /// What is wrong with one input, by its JSON name.
    At(&'static str, String),
}

/// What a computation's function gives.
pub(super) type Found<O> = Result<(O, Working), No>;

impl From<OutOfRange> for No {
    fn from(refused: OutOfRange) -> Self {
        Self::Named(refused)
    }
}

impl From<LifeError> for No {
    fn from(error: LifeError) -> Self {
        match error {
            LifeError::OutOfRange(refused) => Self::Named(refused),
            other => Self::At("lives", other.to_string()),
        }
    }
}

impl From<FlatnessError> for No {
    fn from(error: FlatnessError) -> Self {
        match error {
            FlatnessError::OutOfRange(refused) => Self::Named(refused),
            other => Self::At("stations", other.to_string()),
        }
    }
}

impl Computation {
    /// What goes in, in the order people are asked for it.
    pub fn fields(&self) -> &[Field] {
        &self.fields
    }

    /// What comes out, in the order people read it.
    pub fn result(&self) -> &[Field] {
        &self.result
    }

    /// The sample as a value.
    pub fn sample(&self) -> Value {
        serde_json::from_str(self.sample).unwrap_or(Value::Null)
    }

    /// The JSON schemas of input and output (JSON Schema 2020-12).
    pub fn schema(&self) -> Value {
        let (input, result) = (self.schemas)();
        json!({
            "computation": self.name,
            "purpose": self.purpose,
            "input": input,
            "output": {
                "type": "object",
                "properties": {
                    "computation": { "const": self.name },
                    "result": result,
                    "working": schema_of::<Working>(Side::Out),
                },
                "required": ["computation", "result", "working"],
            },
            "sample": self.sample(),
        })
    }

    /// Runs it on a JSON value.
    ///
    /// # Errors
    /// [`Refused`] with the path of the input that is missing, of the wrong kind or out of range.
    pub fn run(&self, input: &Value) -> Result<Answer, Refused> {
        let (result, working) = (self.run)(input, &self.fields)?;
        Ok(Answer {
            computation: self.name,
            result,
            working,
        })
    }

    /// Runs it on JSON text.
    ///
    /// # Errors
    /// As [`Self::run`]; text that is no JSON is refused as a whole.
    pub fn run_text(&self, text: &str) -> Result<Answer, Refused> {
        let input: Value = serde_json::from_str(text).map_err(|error| Refused {
            path: "$".to_owned(),
            words: format!("not JSON: {error}"),
        })?;
        self.run(&input)
    }
}

#[derive(Clone, Copy)]
enum Side {
    In,
    /// As it is written out; for an input this names every field in its order.
    Out,
}

fn schema_of<T: JsonSchema>(side: Side) -> Schema {
    let settings = SchemaSettings::draft2020_12().with(|settings| {
        settings.inline_subschemas = true;
    });
    match side {
        Side::In => settings.for_deserialize(),
        Side::Out => settings.for_serialize(),
    }
    .into_generator()
    .into_root_schema_for::<T>()
}

/// Puts a computation together from its types and its function.
pub(super) fn computation<I, O>(
    (name, purpose): (&'static str, &'static str),
    (part, cares): (Part, &'static [Care]),
    sample: &'static str,
    function: fn(I) -> Found<O>,
) -> Computation
where
    I: DeserializeOwned + JsonSchema + 'static,
    O: Serialize + JsonSchema + 'static,
{
    let run = move |input: &Value, fields: &[Field]| {
        let read: I = serde_path_to_error::deserialize(input).map_err(|error| Refused {
            path: json_path(error.path()),
            words: in_words(&error.inner().to_string()),
        })?;
        let (found, working) = function(read).map_err(|no| match no {
            No::Named(refused) => Refused {
                path: path_of(fields, input, &refused),
                words: refused.to_string(),
            },
            No::At(name, words) => Refused {
                path: format!("$.{name}"),
                words,
            },
        })?;
        let result = serde_json::to_value(found).map_err(|error| Refused {
            path: "$".to_owned(),
            words: format!("the result cannot be written: {error}"),
        })?;
        Ok((result, working))
    };
    Computation {
        name,
        purpose,
        part,
        cares,
        sample,
        fields: Field::of(&schema_of::<I>(Side::Out), &schema_of::<I>(Side::In)),
        result: Field::of(&schema_of::<O>(Side::Out), &schema_of::<O>(Side::Out)),
        schemas: || (schema_of::<I>(Side::In), schema_of::<O>(Side::Out)),
        run: Box::new(run),
    }
}

/// What a reader of JSON says of a word that is none of a list, in plain words; anything else as it is.
fn in_words(said: &str) -> String {
    let list = said
        .strip_prefix("unknown variant ")
        .and_then(|rest| rest.split_once(", expected "));
    let Some((given, choices)) = list else {
        return said.to_owned();
    };
    let choices = choices.strip_prefix("one of ").unwrap_or(choices);
    format!(
        "{} is none of the words known here; choose {}",
        given.replace('`', "\""),
        choices.replace('`', "\"")
    )
}

fn json_path(path: &serde_path_to_error::Path) -> String {
    use serde_path_to_error::Segment;
    path.iter().fold("$".to_owned(), |mut text, segment| {
        match segment {
            Segment::Seq { index } => {
                text.push('[');
                text.push_str(&index.to_string());
                text.push(']');
            }
            Segment::Map { key } => {
                text.push('.');
                text.push_str(key);
            }
            Segment::Enum { variant } => {
                text.push('.');
                text.push_str(variant);
            }
            Segment::Unknown => {}
        }
        text
    })
}

static ALL: LazyLock<Vec<Computation>> = LazyLock::new(|| {
    let mut all = units::list();
    all.extend(tightening::list());
    all.extend(pressure::list());
    all.extend(water::list());
    all.extend(faces::list());
    all.extend(wall::list());
    all.extend(dates::list());
    all.extend(kits::list());
    all.extend(orders::list());
    all.extend(life::list());
    all.extend(repair::list());
    all.extend(fleet::list());
    all
});

/// Every computation, part by part.
pub fn all() -> &'static [Computation] {
    &ALL
}

/// The computation of this name.
pub fn find(name: &str) -> Option<&'static Computation> {
    all().iter().find(|one| one.name == name)
}

/// The name most like one that does not exist.
pub fn nearest(name: &str) -> Option<&'static str> {
    all()
        .iter()
        .map(|one| (strsim::jaro_winkler(name, one.name), one.name))
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .filter(|(likeness, _)| *likeness > 0.7)
        .map(|(_, name)| name)
}
