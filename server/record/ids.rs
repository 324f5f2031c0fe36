//! Row ids and the numbers people know things by, as types of their own.
//! Row ids never appear in addresses; tag, kit, lot, instrument and certificate numbers do. Only a
//! list on its way in has no number of its own, and its row is never given again.

use std::fmt;
use std::str::FromStr;

macro_rules! row_ids {
    ($($(#[$doc:meta])* $name:ident),+ $(,)?) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize, serde::Deserialize, sqlx::Type)]
        #[sqlx(transparent)]
        #[serde(transparent)]
        pub struct $name(pub i64);
    )+};
}

row_ids! {
    /// A gauge's row.
    GaugeId,
    /// An area's row.
    AreaId,
    /// A service class's row.
    ServiceClassId,
    /// A kit's row.
    KitId,
    /// A lot's row.
    LotId,
    /// A line of the stock ledger.
    StockLineId,
    /// An instrument's row.
    InstrumentId,
    /// A calibration's row.
    CalibrationId,
    /// A person's row.
    PersonId,
    /// A rebuild's row.
    RebuildId,
    /// An entry made at the bench.
    EntryId,
    /// A rebuild's step from state to state.
    MoveId,
    /// A pressure test's row.
    TestId,
    /// A certificate's row.
    CertificateId,
    /// A signing key's row.
    KeyId,
    /// A planned re-test.
    PlannedTestId,
    /// A request for a gas test.
    GasRequestId,
    /// A mark put on a certificate.
    MarkId,
    /// A recall; counted through the plant, so the row is its number.
    RecallId,
    /// A hold under way.
    HoldId,
    /// A shutdown window's row.
    WindowId,
    /// A reported failure.
    FailureId,
    /// A look-over.
    LookOverId,
    /// A plant's list on its way in.
    BringInId,
    /// A nameplate photograph.
    PhotoId,
    /// An order of kits.
    OrderId,
    /// A line of an order.
    OrderLineId,
    /// A paper that came with a lot.
    DocumentId,
    /// A deferral that was asked for.
    RequestId,
    /// A private calendar address.
    FeedId,
    /// What a service class costs, as stated once.
    CostId,
    /// Bolting tightened again after the return.
    ReTorqueId,
    /// A rebuild handed from one person to another.
    HandOverId,
}

macro_rules! numbers {
    ($($(#[$doc:meta])* $name:ident, $what:literal, $rule:ident),+ $(,)?) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize, serde::Deserialize, sqlx::Type)]
        #[sqlx(transparent)]
        #[serde(transparent)]
        pub struct $name(String);

        impl $name {
            /// The number as text.
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl FromStr for $name {
            type Err = String;
            fn from_str(text: &str) -> Result<Self, String> {
                $rule($what, text).map(Self)
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(&self.0)
            }
        }
    )+};
}

numbers! {
    /// The tag number a gauge hangs under, such as LG-1107A.
    TagNumber, "A tag number", plain_number,
    /// A kit's number in the plant's own scheme.
    KitNumber, "A kit number", plain_number,
    /// A lot's number, as its maker marked it.
    LotNumber, "A lot number", marked_number,
    /// An instrument's number.
    InstrumentNumber, "An instrument number", plain_number,
    /// A pressure test's number.
    TestNumber, "A test number", plain_number,
    /// An order's number.
    OrderNumber, "An order number", plain_number,
    /// A certificate's number.
    CertificateNumber, "A certificate number", plain_number,
}

/// Last words of addresses that stand beside a number: a thing of that name could not be opened.
const TAKEN: [&str; 2] = ["new", "bring-in"];

/// What somebody else marked is kept as marked: any printing characters, such as "24/117 #3", with
/// runs of spaces folded so that no two lots differ by what nobody sees.
fn marked_number(what: &str, text: &str) -> Result<String, String> {
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    if text.is_empty() {
        return Err(format!("{what} is needed"));
    }
    if text.chars().count() > 40 {
        return Err(format!("{what} has at most 40 characters"));
    }
    if text.chars().any(char::is_control) {
        return Err(format!("{what} holds a character that does not print"));
    }
    if !text.chars().any(char::is_alphanumeric) {
        return Err(format!("{what} needs a letter or a digit"));
    }
    Ok(text)
}

/// Numbers are written in addresses, on labels and in file names, so they keep to letters, digits
/// and a few marks. Inner spaces become a hyphen-free refusal rather than a silent change.
fn plain_number(what: &str, text: &str) -> Result<String, String> {
    let text = text.trim();
    if text.is_empty() {
        return Err(format!("{what} is needed"));
    }
    if text.chars().count() > 40 {
        return Err(format!("{what} has at most 40 characters"));
    }
    if let Some(bad) = text
        .chars()
        .find(|c| !(c.is_alphanumeric() || matches!(c, '-' | '.' | '_')))
    {
        let shown = if bad == ' ' {
            "a space".to_owned()
        } else {
            format!("\u{201c}{bad}\u{201d}")
        };
        return Err(format!(
            "{what} holds letters, digits, hyphen, dot and underscore only; {shown} is not allowed"
        ));
    }
    if text.chars().count() < 2 {
        return Err(format!("{what} has at least 2 characters"));
    }
    if TAKEN.contains(&text) {
        return Err(format!(
            "\u{201c}{text}\u{201d} names a page of the register; add something to it"
        ));
    }
    if !text.chars().any(char::is_alphanumeric) {
        return Err(format!("{what} needs a letter or a digit"));
    }
    Ok(text.to_owned())
}

impl fmt::Display for RecallId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}
