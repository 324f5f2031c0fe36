//! Water shut in by closed valves: how its pressure follows its temperature, and what a lost volume
//! does to it. Whether a test held is judged in `hold`.

use serde::{Deserialize, Serialize};
use uom::si::f64::ThermodynamicTemperature;
use uom::si::thermodynamic_temperature::kelvin;

use super::quantity::AbsolutePressure;
use super::{OutOfRange, saturation, water};

/// What the wall around the water is made of.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Metal {
    /// Linear thermal expansion in 1/K.
    pub expansion: f64,
    /// Young's modulus in Pa.
    pub stiffness: f64,
    /// Poisson's ratio.
    pub poisson: f64,
}

impl Metal {
    /// Carbon and low-alloy steel near room temperature.
    pub const CARBON_STEEL: Self = Self {
        expansion: 11.7e-6,
        stiffness: 200e9,
        poisson: 0.3,
    };
    /// Austenitic steel near room temperature. Tables give 15.3 to 17.3 millionths a kelvin for the
    /// common grades; the choice moves the slope at 20 °C by less than 2 %.
    pub const AUSTENITIC: Self = Self {
        expansion: 16.5e-6,
        stiffness: 193e9,
        poisson: 0.3,
    };
}

/// The shape of the wall, which says how much it gives under pressure.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Shape {
    /// Does not give at all.
    Rigid,
    /// A bore in a thick block, ends closed; the block may be taken as round.
    ThickBore {
        /// Outer over inner radius, above 1.
        ratio: f64,
    },
    /// A thin tube with closed ends, free to lengthen.
    Tube {
        /// Diameter over wall thickness.
        ratio: f64,
    },
    /// A thin tube held at both ends.
    HeldTube {
        /// Diameter over wall thickness.
        ratio: f64,
    },
}

/// What encloses the water.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Enclosure {
    /// Relative growth of the enclosed volume a kelvin, 1/K.
    expansion: f64,
    /// Relative growth of the enclosed volume a pascal, 1/Pa.
    compliance: f64,
    /// Part of the volume taken by trapped air at the start, 0 to 1.
    air: f64,
}

impl Enclosure {
    /// An enclosure of a metal in a shape, fully vented.
    ///
    /// # Formula
    /// Volume growth by warmth 3·αₛ (held tube: 2·(1 + ν)·αₛ). Volume growth by pressure: thick bore with
    /// closed ends c = [2(1 + ν)·k² + 3(1 − 2ν)] / [E·(k² − 1)]; thin tube c = (D/t)·(5/4 − ν)/E;
    /// held tube c = (D/t)·(1 − ν²)/E.
    ///
    /// # Symbols
    /// αₛ: linear expansion, 1/K; E: Young's modulus, Pa; ν: Poisson's ratio; k: outer over inner
    /// radius; D/t: diameter over wall.
    ///
    /// # Valid range
    /// αₛ 0 to 1e-4, E 1e9 to 1e12 Pa, ν 0 to 0.5; k above 1 to 100; D/t 10 to 1000 (thinner-walled
    /// than one tenth of the diameter, as the thin-wall formula wants).
    ///
    /// # Errors
    /// [`OutOfRange`] outside that.
    ///
    /// # Source
    /// Thick bore: Lamé's solution for a cylinder under inner pressure, as in any textbook of
    /// elasticity. Tubes: Hooke's law on the membrane stresses. API RP 1110 (second hand) has the same
    /// growth by pressure, but 2·αₛ for the warmth of a held tube: it leaves out that a tube which may not
    /// lengthen widens the more, so it explains a few per cent more of a drop than warmth can.
    pub fn new(metal: Metal, shape: Shape) -> Result<Self, OutOfRange> {
        let within = |name, value: f64, low: f64, high: f64, words: &str| {
            if value >= low && value <= high {
                Ok(value)
            } else {
                Err(OutOfRange::new(name, value, words))
            }
        };
        let alpha = within(
            "linear expansion",
            metal.expansion,
            0.0,
            1e-4,
            "0 to 1e-4 a kelvin",
        )?;
        let e = within(
            "Young's modulus",
            metal.stiffness,
            1e9,
            1e12,
            "1e9 to 1e12 Pa",
        )?;
        let nu = within("Poisson's ratio", metal.poisson, 0.0, 0.5, "0 to 0.5")?;
        let tube = |ratio| within("diameter over wall", ratio, 10.0, 1_000.0, "10 to 1000");
        let (expansion, compliance) = match shape {
            Shape::Rigid => (3.0 * alpha, 0.0),
            Shape::ThickBore { ratio } => {
                if !(ratio > 1.0 && ratio <= 100.0) {
                    return Err(OutOfRange::new(
                        "outer over inner radius",
                        ratio,
                        "above 1, up to 100",
                    ));
                }
                let square = ratio * ratio;
                let c = (2.0 * (1.0 + nu) * square + 3.0 * (1.0 - 2.0 * nu)) / (e * (square - 1.0));
                (3.0 * alpha, c)
            }
            Shape::Tube { ratio } => (3.0 * alpha, tube(ratio)? * (1.25 - nu) / e),
            Shape::HeldTube { ratio } => {
                (2.0 * (1.0 + nu) * alpha, tube(ratio)? * (1.0 - nu * nu) / e)
            }
        };
        Ok(Self {
            expansion,
            compliance,
            air: 0.0,
        })
    }

    /// The same with a part of its volume taken by trapped air.
    ///
    /// # Valid range
    /// 0 to 0.1 of the volume at the start, without unit.
    ///
    /// # Errors
    /// [`OutOfRange`] for a part below 0 or above a tenth: that is no filled test.
    ///
    /// # Source
    /// The range is our own.
    pub fn with_air(self, part: f64) -> Result<Self, OutOfRange> {
        if (0.0..=0.1).contains(&part) {
            Ok(Self { air: part, ..self })
        } else {
            Err(OutOfRange::new(
                "trapped air",
                part,
                "0 to 0.1 of the volume",
            ))
        }
    }

    /// The same, fully vented.
    #[must_use]
    pub const fn vented(self) -> Self {
        Self { air: 0.0, ..self }
    }

    /// Part of the volume taken by air at the start.
    #[must_use]
    pub const fn air(self) -> f64 {
        self.air
    }

    /// Room made a pascal by water, air and wall together, in 1/Pa.
    fn give(self, water: f64, pressure: AbsolutePressure) -> f64 {
        (1.0 - self.air) * water + self.compliance + self.air / pressure.pa()
    }

    /// Relative growth of the enclosed volume a pascal, in 1/Pa.
    #[must_use]
    pub const fn compliance(self) -> f64 {
        self.compliance
    }
}

/// Temperature and pressure of what is shut in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct State {
    /// Temperature of the water.
    pub temperature: ThermodynamicTemperature,
    /// Pressure above vacuum.
    pub pressure: AbsolutePressure,
}

/// How fast the pressure of shut-in water rises with its temperature, in Pa/K.
///
/// # Formula
/// b = [(1 − x)·αᵥ − γ + x/T] / [(1 − x)·κₜ + c + x/p].
///
/// # Symbols
/// αᵥ: thermal expansion of water, 1/K; γ: that of the enclosed volume ([`Enclosure::new`]), 1/K; κₜ:
/// compressibility of water, 1/Pa; c: compliance of the wall, 1/Pa; x: part of air; T, p: state.
///
/// # Valid range
/// That of [`water::at`]. Near 4 to 7 °C the slope goes through zero: below, warming lowers the
/// pressure.
///
/// # Errors
/// [`OutOfRange`] from [`water::at`].
///
/// # Source
/// Definitions of the coefficients and conservation of mass; water by IAPWS R6-95(2018). The terms
/// are those of the blocked-in-liquid equation of API 521 (second hand).
pub fn slope(enclosure: Enclosure, at: State) -> Result<f64, OutOfRange> {
    let liquid = water::at(at.temperature, at.pressure)?;
    let air = enclosure.air;
    let growth =
        (1.0 - air) * liquid.expansion - enclosure.expansion + air / at.temperature.get::<kelvin>();
    Ok(growth / enclosure.give(liquid.compressibility, at.pressure))
}

/// The pressure shut-in water has after its temperature changed and nothing was lost.
///
/// # Formula
/// Solves (1 − x)·ρ₁/ρ(p₂, T₂) + x·(p₁/p₂)·(T₂/T₁) = 1 + γ·(T₂ − T₁) + c·(p₂ − p₁) for p₂: water
/// and air fill the enclosure before and after. No slope is taken as constant, so large steps are
/// as good as small ones.
///
/// # Symbols
/// As in [`slope`]; ρ: density of water.
///
/// # Valid range
/// That of [`water::at`] at both ends.
///
/// # Errors
/// [`OutOfRange`] if the pressure would fall to boiling (a vapour space opens) or pass 100 megapascal.
///
/// # Source
/// Conservation of mass; water by IAPWS R6-95(2018).
pub fn pressure_after(
    enclosure: Enclosure,
    start: State,
    end: ThermodynamicTemperature,
) -> Result<AbsolutePressure, OutOfRange> {
    let before = water::at(start.temperature, start.pressure)?;
    let (t1, t2, p1) = (
        start.temperature.get::<kelvin>(),
        end.get::<kelvin>(),
        start.pressure.pa(),
    );
    let air = enclosure.air;
    // What has no room at p₂ (positive: too little room, the pressure must be higher), and its slope.
    let excess = |p: f64| -> Result<(f64, f64), OutOfRange> {
        let after = water::at(end, AbsolutePressure::from_pa(p))?;
        let liquid = (1.0 - air) * (before.density / after.density).value;
        let gas = air * (p1 / p) * (t2 / t1);
        let room = 1.0 + enclosure.expansion * (t2 - t1) + enclosure.compliance * (p - p1);
        let slope = -liquid * after.compressibility - gas / p - enclosure.compliance;
        Ok((liquid + gas - room, slope))
    };
    water::temperature_in_range(end)?;
    let (mut low, mut high) = (saturation::pressure_pa(t2) * 1.002, water::HIGHEST_PA);
    if excess(low)?.0 < 0.0 || excess(high)?.0 > 0.0 {
        return Err(OutOfRange::new(
            "change of temperature",
            format!("{:.2} K", t2 - t1),
            "so that the trapped water neither boils nor passes 100 MPa",
        ));
    }
    let mut p = p1.clamp(low, high);
    for _ in 0..200 {
        let (off, slope) = excess(p)?;
        if off > 0.0 {
            low = p;
        } else {
            high = p;
        }
        let newton = p - off / slope;
        if (newton - p).abs() <= 1e-9 * p {
            return Ok(AbsolutePressure::from_pa(newton));
        }
        // A step that leaves the bracket is replaced by halving it.
        p = if newton > low && newton < high {
            newton
        } else {
            low.midpoint(high)
        };
    }
    Ok(AbsolutePressure::from_pa(p))
}

/// The volume that left an enclosure when its pressure fell by so much at constant temperature, in m³.
///
/// # Formula
/// ΔV = Δp·[(1 − x)·κₜ + c + x/p]·V, symbols as in [`slope`]; V: enclosed volume, m³; Δp: drop, Pa.
///
/// # Valid range
/// V above 0 to 1 m³; Δp small against the reach of the linear formula (a few megapascal). A negative drop
/// gives a negative loss: something flowed in.
///
/// # Errors
/// [`OutOfRange`] for a volume outside that, or from [`water::at`].
///
/// # Source
/// Definition of compressibility.
pub fn lost_volume(
    enclosure: Enclosure,
    at: State,
    drop_pa: f64,
    volume_m3: f64,
) -> Result<f64, OutOfRange> {
    if !(volume_m3 > 0.0 && volume_m3 <= 1.0) {
        return Err(OutOfRange::new(
            "enclosed volume",
            format!("{volume_m3} m³"),
            "above 0, up to 1 m³",
        ));
    }
    if !drop_pa.is_finite() {
        return Err(OutOfRange::new("pressure drop", drop_pa, "a finite number"));
    }
    let liquid = water::at(at.temperature, at.pressure)?;
    Ok(drop_pa * enclosure.give(liquid.compressibility, at.pressure) * volume_m3)
}
