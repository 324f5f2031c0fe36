//! The record a pressure test certificate states, frozen when it is issued, and its canonical text.
//! It is filled in `compose.rs`; setting it on paper is the affair of the papers.
//!
//! The record is written whole into the PDF as an associated file, so what a machine reads later
//! is what the page was set from. Every value is as it was stamped, typed or computed on the day;
//! nothing is worked out again when a certificate is printed anew.

mod bench;
mod compose;
mod differences;

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use time::{Date, OffsetDateTime};

pub use bench::relied_on;
pub use compose::{Grounds, Taken, Used, compose};
pub use differences::{Difference, changes, differences};

use super::audit::sha256_hex;
use super::seal;
use crate::calc::quantity::{Side, Stamped, Unit};
use crate::calc::working::Working;

time::serde::format_description!(civil, Date, "[year]-[month]-[day]");

/// What a certificate says of itself where the issuer has no wording of its own.
pub const SCOPE: &str = "This certificate relates only to the item tested and to its condition on \
    the day of the test. It does not release the item for service; that stays with the owner.";

/// The cautions a certificate carries: the usual ones of the trade, in the order of the work.
pub const CAUTIONS: [&str; 4] = [
    "Warm up and fill slowly with the drain and vent at hand; nobody stands in line with the glass.",
    "Never tighten the cover hot or under pressure. Re-torque cold and without pressure where the \
     plant's practice asks for it.",
    "A scratched, chipped or clouded glass is scrap, whatever this certificate says.",
    "The nameplate, the maker's instructions, the owner's procedures, local codes and licensed \
     practice decide; this certificate replaces none of them.",
];

/// Everything a pressure test certificate states, frozen when it is issued.
///
/// An absent value is printed as "not recorded" where a reader would look for it, and left out
/// otherwise. Empty lists of deviations are printed as "none".
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CertificateRecord {
    /// The certificate's unique number, as on each page.
    pub number: String,
    /// Zero for the first issue, counted up by each correction.
    pub revision: u32,
    /// The certificate this one replaces and why, for a correction.
    pub supersedes: Option<Superseded>,
    /// The document's title ("Pressure test certificate").
    pub title: String,
    /// Who issues: the plant and its address.
    pub issuer: Party,
    /// Whose gauge it is.
    pub owner: Party,
    /// The item tested.
    pub gauge: GaugeTested,
    /// What the pressure had to be, and why.
    pub requirement: Requirement,
    /// What was done.
    pub test: TestDone,
    /// What came out.
    pub result: TestResult,
    /// How a result is turned into a statement of conformity.
    pub decision_rule: String,
    /// Departures from the procedure, or anything a reader must know to weigh the result.
    pub deviations: Vec<String>,
    /// What the plant's procedures chose where a choice had to be made, each with its ground.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub choices: Vec<Choice>,
    /// Every instrument a result rests on.
    pub instruments: Vec<InstrumentUsed>,
    /// How the cover bolting was tightened before the test; one entry where all was tightened alike.
    pub tightening: Vec<Tightening>,
    /// Parts put in new before the test.
    pub parts_renewed: Vec<PartRenewed>,
    /// What was measured on the faces.
    pub faces: Vec<FaceResult>,
    /// Who tested.
    pub tested_by: Signature,
    /// Who witnessed the test, where somebody did.
    pub witnessed_by: Option<Signature>,
    /// Who authorises this certificate; the instant is also the date of the document.
    pub issued_by: Signature,
    /// What the certificate covers and what not; [`SCOPE`] unless the plant says otherwise.
    pub scope: String,
    /// Cautions printed with the result; [`CAUTIONS`] and what the service adds.
    pub cautions: Vec<String>,
    /// The address at which this certificate can be compared with the register.
    pub check_at: Option<String>,
}

/// Something a procedure had to choose.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Choice {
    /// What ("allowed drop").
    pub what: String,
    /// What was chosen ("10 psi").
    pub chosen: String,
    /// Who or what says so ("the plant's procedure", "ASME B31.3, 345.4.2").
    pub ground: String,
}

/// What the issuer says with the signature.
pub const MEANING_ISSUED: &str = "I examined the record of this test and authorise this certificate: \
    what it states was done, read and seen as stated.";

/// What the witness says with the signature.
pub const MEANING_WITNESSED: &str = "I saw this test, and the record is what I saw.";

/// The certificate a corrected one replaces.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Superseded {
    /// Its number and revision, as printed on it.
    pub number: String,
    /// Why it was replaced.
    pub reason: String,
}

/// A plant, firm or owner with its postal address.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Party {
    /// Its name.
    pub name: String,
    /// The address, a line each.
    pub address: Vec<String>,
}

/// A value as it is printed: the digits as given, the unit, and the same in another unit.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Amount {
    /// The number with the digits it was given with.
    pub value: String,
    /// The symbol of the unit.
    pub unit: String,
    /// The same amount in the other unit, rounded for the eye ("31.03 bar").
    pub also: Option<String>,
}

impl Amount {
    /// A value and its unit as they stand.
    pub fn new(value: impl Into<String>, unit: impl Into<String>) -> Self {
        Self {
            value: value.into(),
            unit: unit.into(),
            also: None,
        }
    }

    /// A stamped value with the same amount in another unit beside it, rounded to a side: down for a
    /// limit, up for what has to be reached.
    pub fn stamped<U: Unit>(stamped: Stamped<U>, also: U, side: Side) -> Self {
        Self {
            also: (also != stamped.unit).then(|| stamped.shown_to(also, side)),
            ..Self::from(stamped)
        }
    }
}

impl<U: Unit> From<Stamped<U>> for Amount {
    fn from(stamped: Stamped<U>) -> Self {
        Self::new(stamped.value.to_string(), stamped.unit.symbol())
    }
}

/// Reflex or transparent.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum GaugeType {
    /// One prismed glass a section.
    Reflex,
    /// Two glasses a section, front and back.
    Transparent,
}

/// The gauge as the register and its nameplate name it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct GaugeTested {
    /// Tag number.
    pub tag: String,
    /// Tag and service of the vessel it hangs on.
    pub vessel: String,
    /// Area of the plant.
    pub area: String,
    /// Maker as stamped.
    pub maker: Option<String>,
    /// The maker's order number as stamped.
    pub order_number: Option<String>,
    /// Reflex or transparent.
    pub kind: GaugeType,
    /// Number of sections.
    pub sections: u32,
    /// Length of one glass.
    pub glass_length: Option<Amount>,
    /// Rating as stamped.
    pub rating: Amount,
    /// The temperature the rating is stamped at.
    pub rating_temperature: Option<Amount>,
    /// Where the rating was read, when it was not on the nameplate or in some other way matters.
    pub rating_source: Option<String>,
    /// Materials as stamped.
    pub materials: Option<String>,
    /// State of the item when it came to the test.
    pub condition: Option<String>,
}

/// The pressure asked for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Requirement {
    /// Code of reference with edition and clause.
    pub code: String,
    /// The plant's procedure with its revision.
    pub procedure: Option<String>,
    /// The required test pressure.
    pub pressure: Amount,
    /// How it was found.
    pub working: Working,
    /// The hold asked for, in seconds.
    pub hold_seconds: u32,
}

/// The test as it was carried out.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct TestDone {
    /// Where: bench, in place.
    pub place: Option<String>,
    /// How it was done ("hydrostatic; filled from below, vented at the top").
    pub method: String,
    /// The medium.
    pub medium: String,
    /// Chloride content of the water, where the material asks for it.
    pub chloride: Option<Amount>,
    /// The pressure applied, as read.
    pub applied: Amount,
    /// Where the pressure was read.
    pub measured_at: Option<String>,
    /// What the column of liquid between reading and item changes.
    pub head: Option<HeadCorrection>,
    /// Temperature of the water at the start.
    pub water_start: Option<Amount>,
    /// Temperature of the water at the end.
    pub water_end: Option<Amount>,
    /// Lowest temperature of the metal.
    pub metal: Option<Amount>,
    /// Begin of the hold.
    #[serde(with = "time::serde::rfc3339")]
    pub started: OffsetDateTime,
    /// End of the hold.
    #[serde(with = "time::serde::rfc3339")]
    pub ended: OffsetDateTime,
    /// The hold kept, in seconds.
    pub held_seconds: u32,
    /// Unit of the pressures read.
    pub pressure_unit: String,
    /// Unit of the temperatures read.
    pub temperature_unit: String,
    /// The readings in order of time.
    pub readings: Vec<Reading>,
    /// What the change of pressure over the hold means, in a sentence.
    pub pressure_change: Option<String>,
    /// How that was found.
    pub pressure_change_working: Option<Working>,
}

/// One line of the hold record.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Reading {
    /// When it was read.
    #[serde(with = "time::serde::rfc3339")]
    pub at: OffsetDateTime,
    /// The pressure as read, in the unit of the record.
    pub pressure: Decimal,
    /// The temperature as read, in the unit of the record.
    pub temperature: Option<Decimal>,
}

/// The static head between the place of reading and the item.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct HeadCorrection {
    /// How far the reading stands above (or, negative, below) the lowest point of the item.
    pub elevation: Amount,
    /// What it adds at the lowest point.
    pub amount: Amount,
    /// The pressure at the item, corrected.
    pub at_item: Amount,
    /// How it was found.
    pub working: Option<Working>,
}

/// What came out of the test; only a test without visible leak has passed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum TestResult {
    /// Held, and no leak seen: passed.
    NoVisibleLeak,
    /// A leak was seen: failed.
    Leak {
        /// Where it was seen.
        place: String,
        /// What was done about it.
        disposition: Option<String>,
    },
    /// No leak seen, yet the test does not prove what was asked: failed.
    NotProven {
        /// Why not.
        reason: String,
    },
}

/// An instrument a result rests on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct InstrumentUsed {
    /// Its number in the plant.
    pub number: String,
    /// What it is and what it was used for ("Pressure gauge, applied pressure").
    pub what: String,
    /// Measuring range.
    pub range: Option<String>,
    /// Accuracy class or resolution.
    pub class: Option<String>,
    /// Reference of the calibration it was used under.
    pub calibration: Option<String>,
    /// When that calibration was due again.
    #[serde(with = "civil::option")]
    pub due: Option<Date>,
}

/// How the cover bolting was tightened.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Tightening {
    /// Which sections ("section 2"); absent for the whole gauge.
    pub place: Option<String>,
    /// The final torque aimed at.
    pub target: Amount,
    /// The passes in order, in the unit of the target.
    pub passes: Vec<String>,
    /// The order of the nuts ("from the centre outwards").
    pub order: Option<String>,
    /// Lubricant on threads and nut faces.
    pub lubricant: Option<String>,
    /// Number of the wrench, which is also among the instruments.
    pub wrench: Option<String>,
    /// Where the target comes from ("nameplate").
    pub source: Option<String>,
}

/// A part put in new.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PartRenewed {
    /// What it is ("Glass, reflex, 250 mm").
    pub what: String,
    /// Where it went ("section 1").
    pub place: Option<String>,
    /// How many, where it was counted.
    pub quantity: Option<u32>,
    /// The plant's kit number.
    pub kit: Option<String>,
    /// The lot.
    pub lot: Option<String>,
}

/// What was measured or seen on one face.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct FaceResult {
    /// Which face ("Section 1, chamber face").
    pub place: String,
    /// What was measured ("flatness", "wall left") or looked at ("surface").
    pub measured: String,
    /// The result; absent where the face was looked at and nothing measured.
    pub value: Option<Amount>,
    /// The result to the digits it carries, where that is fewer than were computed. The paper shows this one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shown: Option<Amount>,
    /// Expanded uncertainty with its coverage ("0.0004 in (k = 2)").
    pub uncertainty: Option<String>,
    /// The limit in words and digits ("at most 0.002 in").
    pub limit: String,
    /// The statement under the decision rule ("within").
    pub statement: String,
}

impl FaceResult {
    /// The result as papers and pages show it.
    pub fn stated(&self) -> Option<&Amount> {
        self.shown.as_ref().or(self.value.as_ref())
    }
}

/// The results face by face, in the order of the record.
pub fn by_face(faces: &[FaceResult]) -> Vec<(&str, Vec<&FaceResult>)> {
    let mut list: Vec<(&str, Vec<&FaceResult>)> = Vec::new();
    for one in faces {
        match list.iter_mut().find(|(place, _)| *place == one.place) {
            Some((_, found)) => found.push(one),
            None => list.push((&one.place, vec![one])),
        }
    }
    list
}

/// A person's name under the record.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Signature {
    /// Name.
    pub name: String,
    /// Role or qualification in which the person signs.
    pub role: String,
    /// The firm, where it is not the issuer.
    pub firm: Option<String>,
    /// When it was signed.
    #[serde(with = "time::serde::rfc3339")]
    pub at: OffsetDateTime,
    /// How it was signed ("signed in the register, password given"); absent leaves room for ink.
    pub how: Option<String>,
    /// What the signature means, in the words the person signed under.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub meaning: Option<String>,
    /// Why it was signed, where a reason was asked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reason: Option<String>,
}

impl CertificateRecord {
    /// The record as canonical JSON (RFC 8785), the text that is kept, hashed and signed.
    ///
    /// # Errors
    /// A record that cannot be written down.
    pub fn canonical(&self) -> Result<String, serde_json::Error> {
        seal::canonical(self)
    }
}

/// The hash of a kept record, in hexadecimal.
pub fn hash(kept: &str) -> String {
    sha256_hex(kept.as_bytes())
}
