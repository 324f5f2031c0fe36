//! Liquid water by IAPWS-95: density, thermal expansion and compressibility at a temperature and an
//! absolute pressure. Boiling is in `saturation`; what trapped water does to a test is in `trapped`.

mod residual;

use uom::si::f64::{MassDensity, ThermodynamicTemperature};
use uom::si::mass_density::kilogram_per_cubic_meter;
use uom::si::thermodynamic_temperature::kelvin;

use super::OutOfRange;
use super::quantity::AbsolutePressure;
use super::saturation;
use residual::{CRITICAL_DENSITY, CRITICAL_K, GAS_CONSTANT, Residual};

/// Coldest water computed, in kelvin: the ice point.
pub const COLDEST_K: f64 = 273.15;
/// Hottest water computed, in kelvin: 300 °C.
pub const HOTTEST_K: f64 = 573.15;
/// Highest pressure computed, in pascal above vacuum.
pub const HIGHEST_PA: f64 = 100e6;

/// What matters of liquid water at one state.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Water {
    /// Density.
    pub density: MassDensity,
    /// Relative growth in volume a kelvin at constant pressure, in 1/K; negative below about 4 °C.
    pub expansion: f64,
    /// Relative loss in volume a pascal at constant temperature, in 1/Pa.
    pub compressibility: f64,
}

/// Density, expansion and compressibility of liquid water.
///
/// # Formula
/// p = ρ·R·T·(1 + δ·∂φ/∂δ), solved for ρ by Newton's rule from the dense side;
/// κₜ = 1/(ρ·∂p/∂ρ); αᵥ = ∂p/∂T · κₜ.
///
/// # Symbols
/// T: temperature, K; p: pressure above vacuum, Pa; ρ: density, kg/m³; δ = ρ/322; τ = 647.096/T;
/// R = 461.51805 J/(kg·K); φ: residual part of the reduced Helmholtz energy, indices its derivatives.
///
/// # Valid range
/// 273.15 K to 573.15 K, from the boiling pressure up to 100 megapascal above vacuum: liquid only. (The
/// formulation itself reaches 1273 K and 1000 megapascal; no level gauge needs that.)
///
/// # Errors
/// [`OutOfRange`] outside it, steam included.
///
/// # Source
/// IAPWS R6-95(2018), Revised Release on the IAPWS Formulation 1995 for the Thermodynamic Properties
/// of Ordinary Water Substance for General and Scientific Use, tables 1, 2, 3 and 5. It is used and
/// not IAPWS-IF97 because the two differ visibly in expansion near 4 °C.
pub fn at(
    temperature: ThermodynamicTemperature,
    pressure: AbsolutePressure,
) -> Result<Water, OutOfRange> {
    let (t, p) = (temperature.get::<kelvin>(), pressure.pa());
    temperature_in_range(temperature)?;
    // One part in a thousand above the boiling pressure: the two formulations differ by less.
    let boiling = saturation::pressure_pa(t) * 1.001;
    if !(p >= boiling && p <= HIGHEST_PA) {
        return Err(OutOfRange::new(
            "water pressure",
            format!("{p} Pa above vacuum"),
            format!("{boiling:.0} Pa (boiling) to 100 MPa above vacuum"),
        ));
    }
    // Denser than any water in range; from there the pressure is rising and convex, so every step
    // lands on the dense side again and closes in without overshooting.
    let mut density = 1_120.0;
    for _ in 0..60 {
        let state = State::at(t, density);
        let step = (state.pressure - p) / state.by_density;
        density -= step;
        if step.abs() <= 1e-13 * density {
            break;
        }
    }
    let state = State::at(t, density);
    let compressibility = (density * state.by_density).recip();
    Ok(Water {
        density: MassDensity::new::<kilogram_per_cubic_meter>(density),
        expansion: state.by_temperature * compressibility,
        compressibility,
    })
}

/// The pressure of water of a given density, liquid or steam, above vacuum.
///
/// # Formula
/// p = ρ·R·T·(1 + δ·∂φ/∂δ), symbols as in [`at`].
///
/// # Valid range
/// 273.15 K to 1273 K, density above 0 to 1 250 kg/m³; between boiling liquid and dry steam the
/// value is that of the formulation's loop and no state of rest.
///
/// # Errors
/// [`OutOfRange`] outside that.
///
/// # Source
/// IAPWS R6-95(2018), table 3; its table 7 gives values to check a program with.
pub fn pressure(
    temperature: ThermodynamicTemperature,
    density: MassDensity,
) -> Result<AbsolutePressure, OutOfRange> {
    let (t, rho) = (
        temperature.get::<kelvin>(),
        density.get::<kilogram_per_cubic_meter>(),
    );
    if !(COLDEST_K..=1_273.0).contains(&t) {
        return Err(OutOfRange::new(
            "water temperature",
            format!("{t} K"),
            "273.15 K to 1273 K",
        ));
    }
    if !(rho > 0.0 && rho <= 1_250.0) {
        return Err(OutOfRange::new(
            "water density",
            format!("{rho} kg/m³"),
            "above 0, up to 1250 kg/m³",
        ));
    }
    Ok(AbsolutePressure::from_pa(State::at(t, rho).pressure))
}

/// Whether liquid water of this temperature is computed here.
pub(super) fn temperature_in_range(
    temperature: ThermodynamicTemperature,
) -> Result<(), OutOfRange> {
    let t = temperature.get::<kelvin>();
    if !(COLDEST_K..=HOTTEST_K).contains(&t) {
        return Err(OutOfRange::new(
            "water temperature",
            format!("{t} K"),
            "273.15 K to 573.15 K (0 °C to 300 °C)",
        ));
    }
    Ok(())
}

/// Pressure and its slopes at one temperature and density.
struct State {
    pressure: f64,
    by_density: f64,
    by_temperature: f64,
}

impl State {
    fn at(t: f64, density: f64) -> Self {
        let (delta, tau) = (density / CRITICAL_DENSITY, CRITICAL_K / t);
        let phi = Residual::at(delta, tau);
        let ideal = GAS_CONSTANT * t;
        Self {
            pressure: density * ideal * (1.0 + delta * phi.d),
            by_density: ideal * (1.0 + 2.0 * delta * phi.d + delta * delta * phi.dd),
            by_temperature: density * GAS_CONSTANT * (1.0 + delta * phi.d - delta * tau * phi.dt),
        }
    }
}
