//! Where water boils: saturation temperature and pressure by IAPWS-IF97, region 4.
//! What follows for the glass of a gauge is advised in `glass`.

mod glass;

use uom::si::f64::ThermodynamicTemperature;
use uom::si::thermodynamic_temperature::kelvin;

use super::OutOfRange;
use super::quantity::AbsolutePressure;

pub use glass::{Advice, GlassLimits, Shield, SteamGlass, steam_glass};

/// Lowest temperature of the equation in kelvin.
pub const LOWEST_K: f64 = 273.15;
/// Critical temperature in kelvin: above it there is no boiling.
pub const CRITICAL_K: f64 = 647.096;
/// Lowest pressure of the equation in pascal, that of boiling at 273.15 K.
pub const LOWEST_PA: f64 = 611.213;
/// Critical pressure in pascal.
pub const CRITICAL_PA: f64 = 22.064e6;

/// n1 to n10 of table 34.
const N: [f64; 10] = [
    1_167.052_145_276_7,
    -724_213.167_032_06,
    -17.073_846_940_092,
    12_020.824_702_47,
    -3_232_555.032_233_3,
    14.915_108_613_53,
    -4_823.265_736_159_1,
    405_113.405_420_57,
    -0.238_555_575_678_49,
    650.175_348_447_98,
];

/// The pressure at which water of this temperature boils.
///
/// # Formula
/// p = 1 megapascal · [2C / (−B + √(B² − 4AC))]⁴ with A = ϑ² + n1·ϑ + n2, B = n3·ϑ² + n4·ϑ + n5,
/// C = n6·ϑ² + n7·ϑ + n8, ϑ = T + n9/(T − n10).
///
/// # Symbols
/// T: temperature, K; p: pressure above vacuum; n1 to n10: table 34 of the release.
///
/// # Valid range
/// 273.15 K to 647.096 K.
///
/// # Errors
/// [`OutOfRange`] outside it: above the critical temperature nothing boils.
///
/// # Source
/// IAPWS R7-97(2012), equation 30; check values in its table 35.
pub fn pressure(at: ThermodynamicTemperature) -> Result<AbsolutePressure, OutOfRange> {
    let t = at.get::<kelvin>();
    if !(LOWEST_K..=CRITICAL_K).contains(&t) {
        return Err(OutOfRange::new(
            "temperature of boiling",
            format!("{t} K"),
            "273.15 K to 647.096 K (0 °C to 373.946 °C)",
        ));
    }
    Ok(AbsolutePressure::from_pa(pressure_pa(t)))
}

/// The temperature at which water boils under this pressure.
///
/// # Formula
/// T = [n10 + D − √((n10 + D)² − 4·(n9 + n10·D))]/2 with D = 2G/(−F − √(F² − 4EG)),
/// E = β² + n3·β + n6, F = n1·β² + n4·β + n7, G = n2·β² + n5·β + n8, β = (p/1 megapascal)^¼.
///
/// # Symbols
/// As in [`pressure`].
///
/// # Valid range
/// 611.213 Pa to 22.064 megapascal above vacuum.
///
/// # Errors
/// [`OutOfRange`] outside it.
///
/// # Source
/// IAPWS R7-97(2012), equation 31; check values in its table 36.
pub fn temperature(at: AbsolutePressure) -> Result<ThermodynamicTemperature, OutOfRange> {
    let pa = at.pa();
    if !(LOWEST_PA..=CRITICAL_PA).contains(&pa) {
        return Err(OutOfRange::new(
            "pressure of boiling",
            format!("{pa} Pa above vacuum"),
            "611.213 Pa to 22.064 MPa above vacuum",
        ));
    }
    let beta = (pa / 1e6).powf(0.25);
    let e = beta * beta + N[2] * beta + N[5];
    let f = N[0] * beta * beta + N[3] * beta + N[6];
    let g = N[1] * beta * beta + N[4] * beta + N[7];
    let d = 2.0 * g / (-f - (f * f - 4.0 * e * g).sqrt());
    let sum = N[9] + d;
    Ok(ThermodynamicTemperature::new::<kelvin>(
        (sum - (sum * sum - 4.0 * (N[8] + N[9] * d)).sqrt()) / 2.0,
    ))
}

/// The equation itself for callers that have checked the range.
pub(super) fn pressure_pa(t: f64) -> f64 {
    let theta = t + N[8] / (t - N[9]);
    let a = theta * theta + N[0] * theta + N[1];
    let b = N[2] * theta * theta + N[3] * theta + N[4];
    let c = N[5] * theta * theta + N[6] * theta + N[7];
    1e6 * (2.0 * c / (-b + (b * b - 4.0 * a * c).sqrt())).powi(4)
}
