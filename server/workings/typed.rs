//! The kinds of values that go in and come out: quantities with UCUM units, civil dates, tables of
//! rows. How they are computed with is the affair of `calc`.

use std::borrow::Cow;
use std::str::FromStr;

use rust_decimal::Decimal;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::Error as _;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use time::Date;

use crate::calc::calendar::iso_date;
use crate::calc::quantity::{
    LengthUnit, PressureUnit, Stamped, TemperatureUnit, TorqueUnit, Unit, VolumeUnit,
};

/// A value with its unit, as it goes in: `{"value": 32, "unit": "[ft_i].[lbf_av]"}`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(
    deny_unknown_fields,
    bound(serialize = "U: Serialize", deserialize = "U: Deserialize<'de>")
)]
pub struct Quantity<U> {
    /// The number, digit for digit.
    value: Exact,
    /// The unit's UCUM code.
    unit: U,
}

/// A torque.
pub type Torque = Quantity<TorqueUnit>;
/// A gauge pressure, or a stress.
pub type Pressure = Quantity<PressureUnit>;
/// A length.
pub type Length = Quantity<LengthUnit>;
/// A temperature.
pub type Temperature = Quantity<TemperatureUnit>;
/// A volume.
pub type Volume = Quantity<VolumeUnit>;

impl<U: Unit> Quantity<U> {
    /// The value as `calc` takes it.
    pub fn stamped(self) -> Stamped<U> {
        Stamped::new(self.value.0, self.unit)
    }
}

impl<U: Unit> JsonSchema for Quantity<U> {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        U::KIND.into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        let codes: Vec<&str> = U::ALL.iter().map(|unit| unit.ucum()).collect();
        json_schema!({
            "type": "object",
            "properties": {
                "value": { "type": "number" },
                "unit": { "type": "string", "enum": codes },
            },
            "required": ["value", "unit"],
            "additionalProperties": false,
        })
    }
}

/// A number whose decimal digits are kept: 0.3 is three tenths.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Exact(Decimal);

impl Exact {
    /// The number.
    pub const fn decimal(self) -> Decimal {
        self.0
    }
}

impl Serialize for Exact {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        rust_decimal::prelude::ToPrimitive::to_f64(&self.0)
            .unwrap_or(f64::NAN)
            .serialize(to)
    }
}

impl<'de> Deserialize<'de> for Exact {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let float = f64::deserialize(from)?;
        // The shortest text that reads back as this float is what was written.
        Decimal::from_str_exact(&float.to_string())
            .map(Self)
            .map_err(|_| D::Error::custom(format!("{float} has more digits than are kept (28)")))
    }
}

impl JsonSchema for Exact {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        "number".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "number" })
    }
}

/// A civil date as ISO 8601 writes it: "2026-12-31".
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Day(#[serde(with = "iso_date")] pub Date);

impl JsonSchema for Day {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        "date".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "string", "format": "date" })
    }
}

/// A computed value with its unit's UCUM code.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
#[schemars(inline)]
pub struct Measure {
    /// The number.
    pub value: f64,
    /// The unit's UCUM code; "1" for a plain number.
    pub unit: &'static str,
}

impl Measure {
    /// A number in a unit given by its UCUM code.
    pub const fn new(value: f64, unit: &'static str) -> Self {
        Self { value, unit }
    }

    /// A number in a unit of the product.
    pub fn of<U: Unit>(value: f64, unit: U) -> Self {
        Self::new(value, unit.ucum())
    }
}

impl<U: Unit> From<Stamped<U>> for Measure {
    fn from(stamped: Stamped<U>) -> Self {
        Self::of(stamped.number(), stamped.unit)
    }
}

/// A unit of any kind, by its UCUM code.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AnyUnit {
    /// Of pressure.
    Pressure(PressureUnit),
    /// Of torque.
    Torque(TorqueUnit),
    /// Of length.
    Length(LengthUnit),
    /// Of temperature.
    Temperature(TemperatureUnit),
    /// Of volume.
    Volume(VolumeUnit),
}

impl AnyUnit {
    /// The kind and every code and symbol of it.
    fn every() -> Vec<(&'static str, &'static str)> {
        fn of<U: Unit>() -> impl Iterator<Item = (&'static str, &'static str)> {
            U::ALL.iter().map(|unit| (unit.ucum(), unit.symbol()))
        }
        of::<PressureUnit>()
            .chain(of::<TorqueUnit>())
            .chain(of::<LengthUnit>())
            .chain(of::<TemperatureUnit>())
            .chain(of::<VolumeUnit>())
            .collect()
    }
}

impl FromStr for AnyUnit {
    type Err = String;
    fn from_str(code: &str) -> Result<Self, String> {
        PressureUnit::from_ucum(code)
            .map(Self::Pressure)
            .or_else(|| TorqueUnit::from_ucum(code).map(Self::Torque))
            .or_else(|| LengthUnit::from_ucum(code).map(Self::Length))
            .or_else(|| TemperatureUnit::from_ucum(code).map(Self::Temperature))
            .or_else(|| VolumeUnit::from_ucum(code).map(Self::Volume))
            .ok_or_else(|| {
                let codes: Vec<&str> = Self::every().iter().map(|(code, _)| *code).collect();
                format!(
                    "unknown unit `{code}`, expected one of {}",
                    codes.join(", ")
                )
            })
    }
}

impl<'de> Deserialize<'de> for AnyUnit {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        String::deserialize(from)?.parse().map_err(D::Error::custom)
    }
}

impl JsonSchema for AnyUnit {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        "unit".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        let choices: Vec<serde_json::Value> = Self::every()
            .iter()
            .map(|(code, symbol)| {
                serde_json::json!({ "type": "string", "const": code, "description": symbol })
            })
            .collect();
        json_schema!({ "oneOf": choices })
    }
}

/// The symbol people read for a UCUM code; the code itself where it has none.
pub fn symbol(code: &str) -> &str {
    if let Some((_, symbol)) = AnyUnit::every().into_iter().find(|(own, _)| *own == code) {
        return symbol;
    }
    match code {
        "1" => "",
        "%" => "%",
        "h" => "hours",
        "d" => "days",
        "mo" => "months",
        "a" => "years",
        "min" => "min",
        "mm2" => "mm²",
        "[sin_i]" => "in²",
        "kg/m3" => "kg/m³",
        "[lbf_av]" => "lbf",
        "MPa/K" => "MPa/K",
        "1/K" => "1/K",
        "1/GPa" => "1/GPa",
        "Pa.m3/s" => "Pa·m³/s",
        "mm/a" => "mm per year",
        "[in_i]/a" => "in per year",
        "[mil_i]/a" => "mil per year",
        "um/a" => "µm per year",
        "m/a" => "m per year",
        other => other,
    }
}
