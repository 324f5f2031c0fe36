//! What the plant's procedures chose: its name on papers, its time zone, the code of reference, the
//! hold, the tightening step and the limits of a worn face. The first administrator types the same.

use askama::Template;
use axum::extract::State;
use serde::{Deserialize, Serialize};

use crate::acts;
use crate::acts::plant::SAYS_THIS_TOO;
use crate::calc::pressure_test::Code;
use crate::calc::quantity::{
    LengthUnit, Side, Stamped, TorqueUnit, Unit, significant, significant_to,
};
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::merge::{self, Field};
use crate::pages::{App, address};
use crate::record::Refusal;
use crate::record::moment::Zone;
use crate::record::plant::Plant;
use crate::store;
use crate::store::columns::{from_word, word};

/// What is typed, all of it text.
#[derive(Debug, Default, Clone, Serialize, Deserialize)]
#[serde(default)]
pub struct Typed {
    /// The plant's name.
    pub name: String,
    /// Who owns it.
    pub owner: String,
    /// Where it stands.
    pub address: String,
    /// Its time zone.
    pub zone: String,
    /// The code of reference.
    pub test_code: String,
    /// The hold in minutes.
    pub hold_minutes: String,
    /// The tightening step.
    pub step: String,
    /// Its unit.
    pub step_unit: String,
    /// The flatness limit.
    pub flatness: String,
    /// Its unit.
    pub flatness_unit: String,
    /// The least wall.
    pub wall: String,
    /// Its unit.
    pub wall_unit: String,
    /// How often a chamber may be skimmed.
    pub skim_limit: String,
    /// What numbers begin with.
    pub number_prefix: String,
    /// Who or what says so.
    pub ground: String,
    /// Whether a ground left as it was says the changed choices too.
    #[serde(skip_serializing)]
    ground_stands: String,
    version: i64,
    #[serde(skip_serializing)]
    opened: String,
}

const FIELDS: &[Field] = &[
    Field {
        name: "name",
        parts: &["name"],
    },
    Field {
        name: "owner",
        parts: &["owner"],
    },
    Field {
        name: "address",
        parts: &["address"],
    },
    Field {
        name: "zone",
        parts: &["zone"],
    },
    Field {
        name: "test_code",
        parts: &["test_code"],
    },
    Field {
        name: "hold_minutes",
        parts: &["hold_minutes"],
    },
    Field {
        name: "step",
        parts: &["step", "step_unit"],
    },
    Field {
        name: "flatness",
        parts: &["flatness", "flatness_unit"],
    },
    Field {
        name: "wall",
        parts: &["wall", "wall_unit"],
    },
    Field {
        name: "skim_limit",
        parts: &["skim_limit"],
    },
    Field {
        name: "number_prefix",
        parts: &["number_prefix"],
    },
    Field {
        name: "ground",
        parts: &["ground"],
    },
];

type Options = Vec<(String, String)>;

fn units<U: Unit>() -> Options {
    U::ALL
        .iter()
        .map(|unit| (unit.ucum().to_owned(), unit.symbol().to_owned()))
        .collect()
}

impl Typed {
    /// What is proposed to a new plant. The limits and the step are common practice and the hold is
    /// the code's own; the owner's procedures and the maker's instructions decide.
    pub fn proposed() -> Self {
        Self {
            test_code: word(&Code::CommonPractice),
            hold_minutes: Code::CommonPractice.hold_minutes().to_string(),
            step: "5".to_owned(),
            step_unit: TorqueUnit::FootPound.ucum().to_owned(),
            flatness: "0.002".to_owned(),
            flatness_unit: LengthUnit::Inch.ucum().to_owned(),
            wall: "0.100".to_owned(),
            wall_unit: LengthUnit::Inch.ucum().to_owned(),
            skim_limit: "2".to_owned(),
            ..Self::default()
        }
    }

    fn of(plant: &Plant) -> Self {
        let typed = Self {
            name: plant.name.clone(),
            owner: plant.owner.clone(),
            address: plant.address.clone(),
            zone: plant.zone.name().to_owned(),
            test_code: word(&plant.test_code),
            hold_minutes: plant.hold_minutes.to_string(),
            step: plant.tightening_step.value.to_string(),
            step_unit: plant.tightening_step.unit.ucum().to_owned(),
            flatness: plant.flatness_limit.value.to_string(),
            flatness_unit: plant.flatness_limit.unit.ucum().to_owned(),
            wall: plant.wall_limit.value.to_string(),
            wall_unit: plant.wall_limit.unit.ucum().to_owned(),
            skim_limit: plant.skim_limit.to_string(),
            number_prefix: plant.number_prefix.clone(),
            ground: plant.ground.clone(),
            ground_stands: String::new(),
            version: plant.version,
            opened: String::new(),
        };
        Self {
            opened: merge::opened(&typed),
            ..typed
        }
    }

    /// The codes of reference, for choosing one.
    pub fn codes() -> Options {
        Code::ALL
            .iter()
            .map(|code| (word(code), code.name().to_owned()))
            .collect()
    }

    /// Units of torque.
    pub fn torques() -> Options {
        units::<TorqueUnit>()
    }

    /// Units of length.
    pub fn lengths() -> Options {
        units::<LengthUnit>()
    }

    /// Time zones, for choosing one.
    pub fn zones() -> Vec<String> {
        Zone::names()
    }

    /// What the ground stands for.
    fn choices(&self) -> [&str; 9] {
        [
            &self.test_code,
            &self.hold_minutes,
            &self.step,
            &self.step_unit,
            &self.flatness,
            &self.flatness_unit,
            &self.wall,
            &self.wall_unit,
            &self.skim_limit,
        ]
        .map(|typed| typed.trim())
    }

    /// Reads what was typed but for the ground, which each page asks for in its own place, with messages
    /// gathered in the reader.
    pub fn read(&self, read: &mut Reader, demo: bool) -> Option<Plant> {
        let name = read.needed(
            "name",
            &self.name,
            120,
            "Write the plant\u{2019}s name in 1 to 120 characters",
        );
        let zone = read.take("zone", Zone::named(&self.zone));
        let code: Option<Code> = read.take(
            "test_code",
            from_word(&self.test_code).ok_or("Choose the code of reference"),
        );
        let hold = read.needed_whole("hold_minutes", &self.hold_minutes, 5..=1440);
        if let (Some(code), Some(hold)) = (code, hold)
            && hold < code.hold_minutes()
        {
            read.refuse(
                "hold_minutes",
                format!(
                    "{} asks for at least {} minutes",
                    code.name(),
                    code.hold_minutes()
                ),
            );
        }
        let step = read.stamped::<TorqueUnit>("step", &self.step, &self.step_unit);
        if step.is_none() && self.step.trim().is_empty() {
            read.refuse("step", "Write the step of the tightening passes");
        }
        let flatness = read.stamped::<LengthUnit>("flatness", &self.flatness, &self.flatness_unit);
        if flatness.is_none() && self.flatness.trim().is_empty() {
            read.refuse("flatness", "Write how flat a seating face has to be");
        }
        let wall = read.stamped::<LengthUnit>("wall", &self.wall, &self.wall_unit);
        if wall.is_none() && self.wall.trim().is_empty() {
            read.refuse("wall", "Write the least wall that may stay");
        }
        within(read, "step", step, STEP_NM);
        within(read, "flatness", flatness, FLATNESS_MM);
        within(read, "wall", wall, WALL_MM);
        let skims = read.needed_whole("skim_limit", &self.skim_limit, 0..=9);
        let prefix = read.needed(
            "number_prefix",
            &self.number_prefix,
            8,
            "Write 1 to 8 letters, digits or hyphens, such as SW",
        );
        if prefix
            .as_ref()
            .is_some_and(|p| !p.chars().all(|c| c.is_ascii_alphanumeric() || c == '-'))
        {
            read.refuse("number_prefix", "Letters, digits and hyphens only");
        }
        let owner = read.text("owner", &self.owner, 200);
        let address = read.text("address", &self.address, 400);
        Some(Plant {
            name: name?,
            owner,
            address,
            zone: zone?,
            test_code: code?,
            hold_minutes: hold?,
            tightening_step: step?,
            flatness_limit: flatness?,
            wall_limit: wall?,
            skim_limit: u8::try_from(skims?).ok()?,
            number_prefix: prefix?,
            ground: String::new(),
            // The deed knows whether anything is chosen anew.
            settled_on: None,
            demo,
            version: self.version,
        })
    }
}

/// The most letters of a ground, as of those written for tests.
const GROUND: usize = 400;

/// What a limit can be meant as, in the unit named: outside is a slip of the unit or the point.
/// Common practice, no source.
struct Plausible<U> {
    unit: U,
    other: U,
    low: f64,
    high: f64,
    of: &'static str,
}

const STEP_NM: Plausible<TorqueUnit> = Plausible {
    unit: TorqueUnit::NewtonMetre,
    other: TorqueUnit::FootPound,
    low: 0.5,
    high: 40.0,
    of: "a step of the tightening passes",
};
const FLATNESS_MM: Plausible<LengthUnit> = Plausible {
    unit: LengthUnit::Millimetre,
    other: LengthUnit::Inch,
    low: 0.005,
    high: 0.25,
    of: "how flat a seating face has to be",
};
const WALL_MM: Plausible<LengthUnit> = Plausible {
    unit: LengthUnit::Millimetre,
    other: LengthUnit::Inch,
    low: 0.5,
    high: 25.0,
    of: "a least wall",
};

/// Refuses a limit that cannot be meant: says what was typed in the other usual unit too, where a slip of
/// the unit shows, and what it may be in the unit that was typed, its ends rounded inwards.
fn within<U: Unit>(read: &mut Reader, field: &str, typed: Option<Stamped<U>>, range: Plausible<U>) {
    let Some(typed) = typed else { return };
    let value = typed.in_unit(range.unit);
    if value < range.low * (1.0 - 1e-9) || value > range.high * (1.0 + 1e-9) {
        let other = if typed.unit == range.unit {
            range.other
        } else {
            range.unit
        };
        let end = |end: f64, side: Side| {
            significant_to(typed.unit.from_si(range.unit.to_si(end)), 2, side)
        };
        let words = format!(
            "{typed} ({} {}) is not {}; {} to {} {} is",
            significant(typed.in_unit(other), 3),
            other.symbol(),
            range.of,
            end(range.low, Side::Up),
            end(range.high, Side::Down),
            typed.unit.symbol()
        );
        read.refuse(field, words);
    }
}

#[derive(Template)]
#[template(path = "plant/settings.html")]
struct Page {
    chrome: Chrome,
    typed: Typed,
    errors: Errors,
}

impl Page {
    /// Whether it is asked if the ground left as it was says the changed choices too.
    fn asks(&self) -> bool {
        let mut messages = self.errors.all().iter();
        let asked = messages.any(|error| error.message == SAYS_THIS_TOO);
        asked || !self.typed.ground_stands.is_empty()
    }
}

/// The page.
pub async fn show(chrome: Chrome) -> Answer {
    answer::page(&Page {
        typed: Typed::of(&chrome.plant),
        chrome,
        errors: Errors::none(),
    })
}

/// Saves it.
pub async fn save(State(app): State<App>, chrome: Chrome, posted: Posted<Typed>) -> Answer {
    let mut read = Reader::new();
    let plant = posted.form.read(&mut read, chrome.plant.demo);
    let ground = read.text("ground", &posted.form.ground, GROUND);
    let plant = plant.map(|plant| Plant { ground, ..plant });
    let errors = match read.finish(plant) {
        Ok(plant) => match save_one(&chrome, &posted, &plant).await {
            Ok(to) => return Ok(see_other(&to)),
            Err(acts::Error::Refused(Refusal::Changed { by, .. })) => {
                return second_saver(&app, chrome, posted.form, &by).await;
            }
            Err(error) => form::refused(error)?,
        },
        Err(errors) => errors,
    };
    answer::refused(&Page {
        chrome,
        typed: posted.form,
        errors,
    })
}

async fn save_one(chrome: &Chrome, posted: &Posted<Typed>, plant: &Plant) -> acts::Result<String> {
    let mut deed = chrome.deed(&posted.key).await?;
    if posted.form.ground_stands.is_empty() {
        acts::plant::settle_asking(&mut deed, plant).await?;
    } else {
        acts::plant::settle(&mut deed, plant).await?;
    }
    deed.commit(address::PLANT).await?;
    Ok(address::PLANT.to_owned())
}

async fn second_saver(app: &App, chrome: Chrome, typed: Typed, by: &str) -> Answer {
    let mut db = app.store().read().await?;
    let now = store::plant::find(&mut db)
        .await?
        .ok_or(PageError::NotFound("plant"))?;
    let fresh = Typed::of(&now);
    let (opened, mine) = (typed.opened.clone(), typed.clone());
    let (merged, mut errors) =
        merge::merge(&opened, (typed, &fresh), FIELDS, by, |field, values| {
            let second = values.get(1).map_or("", String::as_str);
            let symbol = |options: Options| {
                options
                    .into_iter()
                    .find(|(word, _)| word == second)
                    .map_or_else(String::new, |(_, symbol)| symbol)
            };
            let first = values.first().cloned().unwrap_or_default();
            match field {
                "test_code" => {
                    from_word::<Code>(&first).map_or(first, |code| code.name().to_owned())
                }
                "step" => format!("{first} {}", symbol(Typed::torques())),
                "flatness" | "wall" => format!("{first} {}", symbol(Typed::lengths())),
                _ => first,
            }
        });
    // One's ground and the other's choices come together here, and nobody said so.
    let left = merged.ground.trim() == fresh.ground.trim();
    let other = if left { &fresh } else { &mine };
    if !merged.ground.trim().is_empty() && merged.choices() != other.choices() {
        errors.add("ground", SAYS_THIS_TOO);
    }
    answer::refused(&Page {
        chrome,
        typed: Typed {
            version: fresh.version,
            opened: fresh.opened,
            ..merged
        },
        errors,
    })
}
