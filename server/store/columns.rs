//! How a few types of the lower floors are kept in a column: decimals and units as text.
//! Nothing here decides anything; a text that cannot be read back is a damaged database.

use rust_decimal::Decimal;
use sqlx::encode::IsNull;
use sqlx::error::BoxDynError;
use sqlx::sqlite::{Sqlite, SqliteArgumentsBuffer, SqliteTypeInfo, SqliteValueRef};
use sqlx::{Decode, Encode, Type};

use crate::calc::due::{Moves, Rule, WindowPull};
use crate::calc::pressure_test::Code;
use crate::calc::quantity::{LengthUnit, PressureUnit, Stamped, TemperatureUnit, TorqueUnit, Unit};
use crate::record::words::words;

words! {
    /// What the shutdown windows did to a due date.
    Pull, "what the windows did" {
        NotNeeded: "not-needed", "no window needed";
        Pulled: "pulled", "pulled to a window";
        NoWindow: "no-window", "no window";
    }
}

impl From<WindowPull> for Pull {
    fn from(pull: WindowPull) -> Self {
        match pull {
            WindowPull::NotNeeded => Self::NotNeeded,
            WindowPull::PulledTo(_) => Self::Pulled,
            WindowPull::NoWindow => Self::NoWindow,
        }
    }
}

/// Makes a type a text column by a way to text and a way back.
macro_rules! text_column {
    ($name:ty, $to:expr, $from:expr) => {
        impl Type<Sqlite> for $name {
            fn type_info() -> SqliteTypeInfo {
                <String as Type<Sqlite>>::type_info()
            }
            fn compatible(ty: &SqliteTypeInfo) -> bool {
                <String as Type<Sqlite>>::compatible(ty)
            }
        }

        impl<'q> Encode<'q, Sqlite> for $name {
            fn encode_by_ref(
                &self,
                buffer: &mut SqliteArgumentsBuffer,
            ) -> Result<IsNull, BoxDynError> {
                let to: fn(&$name) -> String = $to;
                <String as Encode<'q, Sqlite>>::encode(to(self), buffer)
            }
        }

        impl<'r> Decode<'r, Sqlite> for $name {
            fn decode(value: SqliteValueRef<'r>) -> Result<Self, BoxDynError> {
                let text = <&str as Decode<'r, Sqlite>>::decode(value)?;
                let from: fn(&str) -> Option<$name> = $from;
                from(text).ok_or_else(|| {
                    format!("cannot read {text:?} back as {}", stringify!($name)).into()
                })
            }
        }
    };
}

/// A decimal number kept as text, digit for digit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Digits(pub Decimal);

text_column!(Digits, |d| d.0.to_string(), |t| t.parse().ok().map(Digits));
text_column!(
    PressureUnit,
    |u| u.ucum().to_owned(),
    PressureUnit::from_ucum
);
text_column!(TorqueUnit, |u| u.ucum().to_owned(), TorqueUnit::from_ucum);
text_column!(LengthUnit, |u| u.ucum().to_owned(), LengthUnit::from_ucum);
text_column!(
    TemperatureUnit,
    |u| u.ucum().to_owned(),
    TemperatureUnit::from_ucum
);
text_column!(Moves, |m| word(m), |t| from_word(t));
text_column!(Rule, |r| word(r), |t| from_word(t));
text_column!(Code, |c| code_word(*c).to_owned(), |t| Code::ALL
    .into_iter()
    .find(|code| code_word(*code) == t));

/// The word the schema allows for a code of reference.
const fn code_word(code: Code) -> &'static str {
    match code {
        Code::CommonPractice => "common-practice",
        Code::AsmeB313 => "asme-b31-3",
        Code::AsmeViiiUg99 => "asme-viii-ug-99",
        Code::Ped => "ped",
    }
}

/// The word serde gives a plain enum, which is also the word the register keeps.
pub fn word<T: serde::Serialize>(value: &T) -> String {
    match serde_json::to_value(value) {
        Ok(serde_json::Value::String(text)) => text,
        _ => String::new(),
    }
}

/// The plain enum with that word.
pub fn from_word<T: serde::de::DeserializeOwned>(text: &str) -> Option<T> {
    serde_json::from_value(serde_json::Value::String(text.to_owned())).ok()
}

/// Puts the two columns of a stamped value together again.
pub fn stamped<U: Unit>(value: Option<Digits>, unit: Option<U>) -> Option<Stamped<U>> {
    Some(Stamped::new(value?.0, unit?))
}
