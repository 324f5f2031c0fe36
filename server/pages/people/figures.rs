//! How somebody reads figures: as stamped only, or with US customary or SI units beside them. Everybody
//! chooses for themselves; records and papers stay as stamped whatever is chosen.

use askama::Template;
use serde::Deserialize;

use crate::acts;
use crate::calc::quantity::{
    LengthUnit, PressureUnit, Stamped, StampedLength, StampedPressure, StampedTemperature,
    StampedTorque, TemperatureUnit, TorqueUnit,
};
use crate::pages::answer::{self, Answer, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::{address, show};
use crate::record::person::Reads;

/// What is chosen.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    reads: String,
}

#[derive(Template)]
#[template(path = "people/figures.html")]
struct Page {
    chrome: Chrome,
    typed: Typed,
    errors: Errors,
}

impl Page {
    /// Each choice with what it means, and the same figures as it shows them.
    fn choices() -> Vec<(Reads, &'static str, String)> {
        Reads::ALL
            .iter()
            .map(|&reads| {
                let means = match reads {
                    Reads::AsStamped => "nothing is added",
                    Reads::UsCustomary => "psi, ft·lbf, in and °F in brackets",
                    Reads::Si => "bar, N·m, mm (µm where small) and °C in brackets",
                };
                (reads, means, example(reads))
            })
            .collect()
    }
}

/// Two nameplates of either kind, as somebody reads them.
fn example(reads: Reads) -> String {
    let pressure = StampedPressure::new(1440.into(), PressureUnit::Psi);
    let torque = StampedTorque::new(43.into(), TorqueUnit::NewtonMetre);
    let length: StampedLength = Stamped::new(25.into(), LengthUnit::Millimetre);
    let warm = StampedTemperature::new(100.into(), TemperatureUnit::Fahrenheit);
    format!(
        "{}; {}; {}; {}",
        reads.of(&pressure),
        reads.of(&torque),
        reads.of(&length),
        reads.of(&warm)
    )
}

/// The page.
pub async fn show(chrome: Chrome) -> Answer {
    answer::page(&Page {
        typed: Typed {
            reads: chrome.reads().word().to_owned(),
        },
        chrome,
        errors: Errors::none(),
    })
}

/// Keeps the choice.
pub async fn choose(chrome: Chrome, posted: Posted<Typed>) -> Answer {
    let mut read = Reader::new();
    let reads = read.take(
        "reads",
        posted
            .form
            .reads
            .parse::<Reads>()
            .map_err(|_| "Choose how you read figures"),
    );
    let errors = match read.finish(reads) {
        Ok(reads) => match choose_one(&chrome, &posted.key, reads).await {
            Ok(()) => return Ok(see_other(address::FIGURES)),
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

async fn choose_one(chrome: &Chrome, key: &str, reads: Reads) -> acts::Result<()> {
    let mut deed = chrome.deed(key).await?;
    acts::people::read_in(&mut deed, chrome.person(), reads).await?;
    deed.commit(address::FIGURES).await
}
