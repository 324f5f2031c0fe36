//! Quantities as people stamp and type them, and their exact conversion into SI.
//! The units here are the trade's; dimensions inside computations are `uom` types.
//!
//! Factors follow NIST SP 811 (2008) Appendix B and the definitions it rests on: the inch of
//! 0.0254 m, the pound of 0.45359237 kg and the standard acceleration of 9.80665 m/s². `uom`'s own
//! constants for pound-force units are rounded, so they are not used.

use std::fmt::{self, Debug, Display};
use std::str::FromStr;

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use serde::{Deserialize, Serialize};
use uom::si::length::meter;
use uom::si::pressure::pascal;
use uom::si::thermodynamic_temperature::kelvin;
use uom::si::torque::newton_meter;

use super::OutOfRange;

pub use uom::si::f64::{Area, Force, Length, Pressure, Ratio, ThermodynamicTemperature, Torque};

/// The standard atmosphere in pascal (exact, ISO 2533 and SP 811).
pub const STANDARD_ATMOSPHERE_PA: f64 = 101_325.0;

/// A unit of one kind of quantity.
pub trait Unit: Copy + Eq + Debug + Display + FromStr + 'static {
    /// Every unit of this kind, the most usual first.
    const ALL: &'static [Self];
    /// What this kind of quantity is called ("pressure").
    const KIND: &'static str;
    /// The symbol on screens and papers.
    fn symbol(self) -> &'static str;
    /// The UCUM code, which is also what the database keeps.
    fn ucum(self) -> &'static str;
    /// A value in this unit, in the SI unit of its kind.
    fn to_si(self, value: f64) -> f64;
    /// A value in the SI unit of its kind, in this unit.
    #[expect(
        clippy::wrong_self_convention,
        reason = "the unit is what converts, both ways"
    )]
    fn from_si(self, value: f64) -> f64;
    /// The unit with this UCUM code.
    fn from_ucum(code: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|unit| unit.ucum() == code)
    }
}

/// A text that names no known unit of the wanted kind.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("\u{201c}{given}\u{201d} is not a unit of {kind} used here; use one of {known}")]
pub struct UnknownUnit {
    /// What was written.
    pub given: String,
    /// The kind of quantity wanted.
    pub kind: &'static str,
    /// The units that would do.
    pub known: String,
}

macro_rules! units {
    ($(#[$doc:meta])* $name:ident, $kind:literal, { $($variant:ident: $symbol:literal, $ucum:literal, $factor:expr, $offset:expr, [$($alias:literal),*];)+ }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
        pub enum $name {
            $(#[doc = $symbol] #[serde(rename = $ucum)] $variant,)+
        }

        impl Unit for $name {
            const ALL: &'static [Self] = &[$(Self::$variant),+];
            const KIND: &'static str = $kind;
            fn symbol(self) -> &'static str {
                match self { $(Self::$variant => $symbol,)+ }
            }
            fn ucum(self) -> &'static str {
                match self { $(Self::$variant => $ucum,)+ }
            }
            fn to_si(self, value: f64) -> f64 {
                match self { $(Self::$variant => (value + $offset) * $factor,)+ }
            }
            fn from_si(self, value: f64) -> f64 {
                match self { $(Self::$variant => value / $factor - $offset,)+ }
            }
        }

        impl Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(self.symbol())
            }
        }

        impl FromStr for $name {
            type Err = UnknownUnit;
            fn from_str(text: &str) -> Result<Self, UnknownUnit> {
                let plain: String = text
                    .chars()
                    .filter(|c| !c.is_whitespace() && !matches!(c, '.' | '·' | '*' | '-' | '_' | '(' | ')' | '°'))
                    .flat_map(char::to_lowercase)
                    .map(|c| if c == '²' { '2' } else { c })
                    .collect();
                for &unit in Self::ALL {
                    if unit.ucum() == text.trim() {
                        return Ok(unit);
                    }
                }
                match plain.as_str() {
                    $($($alias)|* => Ok(Self::$variant),)+
                    _ => Err(UnknownUnit {
                        given: text.trim().to_owned(),
                        kind: $kind,
                        known: Self::ALL.iter().map(|u| u.symbol()).collect::<Vec<_>>().join(", "),
                    }),
                }
            }
        }
    };
}

units! {
    /// Units of pressure.
    PressureUnit, "pressure", {
        Psi: "psi", "[psi]", 6_894.757_293_168_361, 0.0, ["psi", "psig", "lbf/in2", "lb/in2", "lbs/in2", "#"];
        Bar: "bar", "bar", 100_000.0, 0.0, ["bar", "barg", "bars"];
        KiloPascal: "kPa", "kPa", 1_000.0, 0.0, ["kpa", "kpag"];
        MegaPascal: "MPa", "MPa", 1_000_000.0, 0.0, ["mpa", "mpag", "n/mm2"];
        KgfPerCm2: "kgf/cm²", "kgf/cm2", 98_066.5, 0.0, ["kgf/cm2", "kg/cm2", "kgcm2", "kgfcm2", "kg/cm2g", "ksc"];
    }
}

units! {
    /// Units of torque.
    TorqueUnit, "torque", {
        FootPound: "ft·lbf", "[ft_i].[lbf_av]", 1.355_817_948_331_400_4, 0.0, ["ftlbf", "ftlb", "ftlbs", "lbft", "lbfft", "footpound", "footpounds", "lbsft"];
        InchPound: "in·lbf", "[in_i].[lbf_av]", 0.112_984_829_027_616_7, 0.0, ["inlbf", "inlb", "inlbs", "lbin", "lbfin", "inchpounds", "inchpound"];
        NewtonMetre: "N·m", "N.m", 1.0, 0.0, ["nm", "newtonmetre", "newtonmetres", "newtonmeter", "newtonmeters"];
        KgfMetre: "kgf·m", "kgf.m", 9.806_65, 0.0, ["kgfm", "kgm", "mkg", "mkgf"];
    }
}

units! {
    /// Units of length.
    LengthUnit, "length", {
        Inch: "in", "[in_i]", 0.025_4, 0.0, ["in", "inch", "inches", "\"", "″", "''"];
        Millimetre: "mm", "mm", 0.001, 0.0, ["mm", "millimetre", "millimetres", "millimeter", "millimeters"];
        Thousandth: "mil", "[mil_i]", 0.000_025_4, 0.0, ["mil", "mils", "thou", "thousandth"];
        Micrometre: "µm", "um", 0.000_001, 0.0, ["µm", "μm", "um", "micron", "microns", "micrometre"];
        Metre: "m", "m", 1.0, 0.0, ["m", "metre", "metres", "meter"];
    }
}

units! {
    /// Units of temperature on a scale (not of a difference).
    TemperatureUnit, "temperature", {
        Fahrenheit: "°F", "[degF]", 5.0 / 9.0, 459.67, ["f", "degf", "fahrenheit"];
        Celsius: "°C", "Cel", 1.0, 273.15, ["c", "degc", "celsius", "cel", "centigrade"];
        Kelvin: "K", "K", 1.0, 0.0, ["k", "kelvin"];
    }
}

units! {
    /// Units of volume.
    VolumeUnit, "volume", {
        Litre: "L", "L", 0.001, 0.0, ["l", "litre", "litres", "liter", "liters", "dm3"];
        CubicMetre: "m³", "m3", 1.0, 0.0, ["m3", "m³", "cubicmetre", "cubicmetres"];
        Millilitre: "mL", "mL", 0.000_001, 0.0, ["ml", "cm3", "cm³", "cc"];
        CubicFoot: "ft³", "[cft_i]", 0.028_316_846_592, 0.0, ["ft3", "cuft", "cubicfoot", "cubicfeet"];
        CubicInch: "in³", "[cin_i]", 0.000_016_387_064, 0.0, ["in3", "cuin", "cubicinch", "cubicinches"];
        Gallon: "US gal", "[gal_us]", 0.003_785_411_784, 0.0, ["usgal", "gal", "gallon", "gallons"];
    }
}

/// A value as stamped or typed, with its unit: kept unchanged, converted only to compute and show.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Stamped<U> {
    /// The number, with the digits it was given with.
    pub value: Decimal,
    /// The unit it was given in.
    pub unit: U,
}

/// A pressure as stamped or typed.
pub type StampedPressure = Stamped<PressureUnit>;
/// A torque as stamped or typed.
pub type StampedTorque = Stamped<TorqueUnit>;
/// A length as stamped or typed.
pub type StampedLength = Stamped<LengthUnit>;
/// A volume as typed.
pub type StampedVolume = Stamped<VolumeUnit>;
/// A temperature as stamped or typed.
pub type StampedTemperature = Stamped<TemperatureUnit>;

impl<U: Unit> Stamped<U> {
    /// Puts a number and its unit together.
    pub const fn new(value: Decimal, unit: U) -> Self {
        Self { value, unit }
    }

    /// The number as a float, in the unit it was given in.
    pub fn number(self) -> f64 {
        self.value.to_f64().unwrap_or(f64::NAN)
    }

    /// The value in the SI unit of its kind (Pa, N·m, m, K).
    pub fn si(self) -> f64 {
        self.unit.to_si(self.number())
    }

    /// The value in another unit of its kind; a value already in that unit comes back unchanged.
    pub fn in_unit(self, unit: U) -> f64 {
        if unit == self.unit {
            self.number()
        } else {
            unit.from_si(self.si())
        }
    }

    /// Number and unit in another unit of the kind, with a few significant digits, for display.
    pub fn shown_in(self, unit: U) -> String {
        self.shown_to(unit, Side::Nearest)
    }

    /// The same rounded to a side: up for what has to be reached, down for what must not be passed.
    pub fn shown_to(self, unit: U, side: Side) -> String {
        if unit == self.unit {
            self.to_string()
        } else {
            let number = significant_to(self.in_unit(unit), 4, side);
            format!("{number} {}", unit.symbol())
        }
    }
}

impl<U: Unit> Display for Stamped<U> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.value, self.unit.symbol())
    }
}

impl StampedPressure {
    /// The gauge pressure this stands for.
    pub fn gauge(self) -> GaugePressure {
        GaugePressure(Pressure::new::<pascal>(self.si()))
    }
}

impl StampedTorque {
    /// The torque in newton metres as an exact decimal; every unit of torque here is one by
    /// definition. None where the number has too many digits to multiply exactly.
    pub fn newton_metres(self) -> Option<Decimal> {
        self.value.checked_mul(self.unit.newton_metres())
    }

    /// The torque as a dimensioned quantity.
    pub fn torque(self) -> Torque {
        Torque::new::<newton_meter>(self.si())
    }
}

impl TorqueUnit {
    /// One of this unit in newton metres, exact by definition.
    pub fn newton_metres(self) -> Decimal {
        match self {
            Self::FootPound => Decimal::from_i128_with_scale(13_558_179_483_314_004, 16),
            Self::InchPound => Decimal::from_i128_with_scale(1_129_848_290_276_167, 16),
            Self::NewtonMetre => Decimal::ONE,
            Self::KgfMetre => Decimal::from_i128_with_scale(980_665, 5),
        }
    }
}

impl StampedLength {
    /// The length as a dimensioned quantity.
    pub fn length(self) -> Length {
        Length::new::<meter>(self.si())
    }
}

impl StampedTemperature {
    /// The temperature as a dimensioned quantity.
    pub fn temperature(self) -> ThermodynamicTemperature {
        ThermodynamicTemperature::new::<kelvin>(self.si())
    }
}

/// A pressure above the surrounding atmosphere.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct GaugePressure(pub Pressure);

/// A pressure above vacuum.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct AbsolutePressure(pub Pressure);

impl GaugePressure {
    /// From pascal above atmosphere.
    pub fn from_pa(pa: f64) -> Self {
        Self(Pressure::new::<pascal>(pa))
    }

    /// In pascal above atmosphere.
    pub fn pa(self) -> f64 {
        self.0.get::<pascal>()
    }

    /// The value in a unit of pressure.
    pub fn get(self, unit: PressureUnit) -> f64 {
        unit.from_si(self.pa())
    }

    /// Above vacuum, under the standard atmosphere.
    pub fn absolute(self) -> AbsolutePressure {
        AbsolutePressure::from_pa(self.pa() + STANDARD_ATMOSPHERE_PA)
    }
}

impl AbsolutePressure {
    /// From pascal above vacuum.
    pub fn from_pa(pa: f64) -> Self {
        Self(Pressure::new::<pascal>(pa))
    }

    /// In pascal above vacuum.
    pub fn pa(self) -> f64 {
        self.0.get::<pascal>()
    }

    /// Above the standard atmosphere.
    pub fn gauge(self) -> GaugePressure {
        GaugePressure::from_pa(self.pa() - STANDARD_ATMOSPHERE_PA)
    }
}

/// Reads a decimal number as people type it: spaces, a thousands comma ("1,500") and a decimal
/// comma ("12,5") are understood where they are not ambiguous.
///
/// # Formula
/// Spaces are dropped. Beside a point, or where three digits follow it, a comma parts thousands;
/// any other single comma is a decimal comma.
///
/// # Valid range
/// Text of at most 12 digits with at most one sign in front.
///
/// # Errors
/// Refuses text that is no number or has more than 12 digits.
///
/// # Source
/// Decimal point or comma: ISO 80000-1:2022, 7.3.2, from memory. Thousands comma: common practice,
/// no source.
pub fn decimal(input: &'static str, text: &str) -> Result<Decimal, OutOfRange> {
    let trimmed: String = text
        .trim()
        .chars()
        .filter(|c| !matches!(c, ' ' | '\u{a0}' | '\u{202f}' | '_'))
        .collect();
    let refuse =
        |allowed: &str| OutOfRange::new(input, format!("\u{201c}{}\u{201d}", text.trim()), allowed);
    let commas = trimmed.matches(',').count();
    let normal = match (commas, trimmed.contains('.')) {
        (0, _) => trimmed,
        (1, false) => {
            let (head, tail) = trimmed.split_once(',').unwrap_or((&trimmed, ""));
            // No thousands begin with a nought: "0,002" is two thousandths.
            let nought = head.trim_start_matches(['-', '+', '0']).is_empty();
            if tail.len() == 3 && !nought {
                trimmed.replace(',', "")
            } else {
                trimmed.replace(',', ".")
            }
        }
        _ => trimmed.replace(',', ""),
    };
    let shape_ok = !normal.is_empty()
        && normal.chars().filter(char::is_ascii_digit).count() <= 12
        && normal.chars().any(|c| c.is_ascii_digit())
        && normal
            .chars()
            .enumerate()
            .all(|(i, c)| c.is_ascii_digit() || c == '.' || (i == 0 && matches!(c, '-' | '+')));
    if !shape_ok {
        return Err(refuse("a number such as 1500 or 12.5"));
    }
    Decimal::from_str(normal.trim_start_matches('+'))
        .map_err(|_| refuse("a number such as 1500 or 12.5"))
}

/// Which side a converted value is rounded to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// The nearest: only read.
    Nearest,
    /// Never below the value: a least that has to be reached.
    Up,
    /// Never above the value: a most that must not be passed.
    Down,
}

/// A float with so many significant digits, rounded to a side.
///
/// # Formula
/// As `significant`; to a side, the next number of so many digits there. A value that is such a number
/// but for the last digits a float carries (1 part in 10⁹) is that number.
///
/// # Valid range
/// Every float; one that is not finite is written as such.
///
/// # Source
/// Rounding to the safe side where a limit is given: ISO 80000-1:2009, annex B, from memory.
pub fn significant_to(value: f64, digits: i32, side: Side) -> String {
    let nearest = significant(value, digits);
    let shown: f64 = nearest.parse().unwrap_or(value);
    let off = shown - value;
    let right = match side {
        Side::Nearest => true,
        Side::Up => off >= -1e-9 * value.abs(),
        Side::Down => off <= 1e-9 * value.abs(),
    };
    if right || !value.is_finite() {
        return nearest;
    }
    let step = 10_f64.powi((magnitude(value) + 1 - digits).min(0));
    significant(
        if side == Side::Up {
            shown + step
        } else {
            shown - step
        },
        digits,
    )
}

/// The power of ten of the first digit of a float other than zero.
#[expect(
    clippy::cast_possible_truncation,
    reason = "the magnitude of an f64 is within ±308"
)]
fn magnitude(value: f64) -> i32 {
    value.abs().log10().floor() as i32
}

/// A float with so many significant digits, without a trailing ".0", for display only.
///
/// # Formula
/// Rounded to the nearest at the place digits − 1 − ⌊log₁₀|x|⌋ behind the point, never before it;
/// zeros at the end of the decimals are dropped.
///
/// # Valid range
/// Every float; one that is not finite is written as such.
///
/// # Source
/// Rounding of numbers: NIST SP 811 (2008), B.7.1.
pub fn significant(value: f64, digits: i32) -> String {
    if value == 0.0 || !value.is_finite() {
        return if value == 0.0 {
            "0".to_owned()
        } else {
            value.to_string()
        };
    }
    let places = usize::try_from((digits - 1 - magnitude(value)).max(0)).unwrap_or(0);
    let text = format!("{value:.places$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}
