//! What a gas test lost: the drop freed from temperature, and the leak rate it stands for.
//! Whether that passes is judged in the file above; stored energy is in `stored_energy`.

use serde::{Deserialize, Serialize};
use uom::si::thermodynamic_temperature::kelvin;

use super::super::OutOfRange;
use super::super::trapped::State;

/// What left a gas-filled volume between two moments.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct GasLoss {
    /// Drop in pressure as it would have been at the starting temperature, Pa; negative if gas came in.
    pub drop_pa: f64,
    /// Leak rate at the starting temperature, Pa·m³/s.
    pub rate: f64,
}

/// The drop and leak rate of a gas test, freed from the change of temperature.
///
/// # Formula
/// Δp = p₁ − p₂·T₁/T₂; Q = V·Δp/t.
///
/// # Symbols
/// p: pressure above vacuum, Pa; T: temperature, K; V: enclosed volume, m³; t: time, s.
///
/// # Valid range
/// 200 K to 700 K; pressures above 0 up to 100 megapascal, as an ideal gas (air within some per cent
/// up to 10 megapascal); V above 0 to 1 m³; t from 1 s.
///
/// # Errors
/// [`OutOfRange`] outside that.
///
/// # Source
/// Ideal-gas law.
pub fn gas_loss(
    start: State,
    end: State,
    volume_m3: f64,
    seconds: u32,
) -> Result<GasLoss, OutOfRange> {
    for state in [start, end] {
        gas_temperature(state)?;
        let p = state.pressure.pa();
        if !(p > 0.0 && p <= 100e6) {
            return Err(OutOfRange::new(
                "gas pressure",
                format!("{p} Pa above vacuum"),
                "above 0, up to 100 MPa",
            ));
        }
    }
    if !(volume_m3 > 0.0 && volume_m3 <= 1.0) {
        return Err(OutOfRange::new(
            "enclosed volume",
            format!("{volume_m3} m³"),
            "above 0, up to 1 m³",
        ));
    }
    if seconds == 0 {
        return Err(OutOfRange::new("time of the test", "0 s", "at least 1 s"));
    }
    let drop_pa =
        start.pressure.pa() - end.pressure.pa() * gas_temperature(start)? / gas_temperature(end)?;
    Ok(GasLoss {
        drop_pa,
        rate: volume_m3 * drop_pa / f64::from(seconds),
    })
}

/// The temperature of a gas in kelvin, where the ideal-gas law may be used.
pub(super) fn gas_temperature(state: State) -> Result<f64, OutOfRange> {
    let t = state.temperature.get::<kelvin>();
    if (200.0..=700.0).contains(&t) {
        Ok(t)
    } else {
        Err(OutOfRange::new(
            "gas temperature",
            format!("{t} K"),
            "200 K to 700 K",
        ))
    }
}
