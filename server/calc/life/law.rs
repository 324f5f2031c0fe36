//! The Weibull law of a life: shares good and failed by an age, hazard, mean, and ages by share.
//! How shape and characteristic life are found is in `weibull` and `ranks`.

use serde::Serialize;
use statrs::function::gamma::gamma;

use super::{AgeUnit, FLATTEST, LONGEST_AGE, STEEPEST};
use crate::calc::OutOfRange;
use crate::calc::numeric::positive;

/// A life that follows a two-parameter Weibull law.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Life {
    shape: f64,
    scale: f64,
    unit: AgeUnit,
}

impl Life {
    /// A Weibull life from shape β and characteristic life η.
    ///
    /// # Valid range
    /// β from 0.1 to 100, η above 0 and at most 10⁹ in its unit.
    ///
    /// # Errors
    /// [`OutOfRange`] outside it.
    ///
    /// # Source
    /// IEC 61649:2008 uses the same two parameters (from memory); the range is our own.
    pub fn new(shape: f64, scale: f64, unit: AgeUnit) -> Result<Self, OutOfRange> {
        if !(FLATTEST..=STEEPEST).contains(&shape) {
            return Err(OutOfRange::new("Weibull shape β", shape, "from 0.1 to 100"));
        }
        let scale = positive("characteristic life η", scale, LONGEST_AGE)?;
        Ok(Self { shape, scale, unit })
    }

    /// Shape β: below 1 early failures, 1 by chance, above 1 wear.
    #[must_use]
    pub const fn shape(self) -> f64 {
        self.shape
    }

    /// Characteristic life η: the age by which 63.2 % have failed.
    #[must_use]
    pub const fn scale(self) -> f64 {
        self.scale
    }

    /// The unit of η and of every age put to this life.
    #[must_use]
    pub const fn unit(self) -> AgeUnit {
        self.unit
    }

    /// The same life with its ages in another unit.
    ///
    /// # Formula
    /// η′ = η u/u′ with u, u′ the hours of the old and the new unit; β stays.
    ///
    /// # Valid range
    /// Any life and unit.
    ///
    /// # Errors
    /// None.
    ///
    /// # Source
    /// The units of [`AgeUnit::hours`].
    #[must_use]
    pub fn in_unit(self, unit: AgeUnit) -> Self {
        let scale = if unit == self.unit {
            self.scale
        } else {
            self.scale * self.unit.hours() / unit.hours()
        };
        Self {
            scale,
            unit,
            ..self
        }
    }

    /// Cumulative hazard: the failures to expect by an age if each is only patched.
    ///
    /// # Formula
    /// H(t) = (t/η)^β; t age in the unit of the life, H without unit.
    ///
    /// # Valid range
    /// Any age; below 0 counts as 0.
    ///
    /// # Errors
    /// None.
    ///
    /// # Source
    /// NIST/SEMATECH e-Handbook 8.1.6.2 (from memory).
    #[must_use]
    pub fn cumulative_hazard(self, at: f64) -> f64 {
        (at.max(0.0) / self.scale).powf(self.shape)
    }

    /// Survival: the share still good at an age.
    ///
    /// # Formula
    /// R(t) = exp(−(t/η)^β); t age in the unit of the life, R without unit.
    ///
    /// # Valid range
    /// Any age; below 0 counts as 0.
    ///
    /// # Errors
    /// None.
    ///
    /// # Source
    /// NIST/SEMATECH e-Handbook 8.1.6.2 (from memory).
    #[must_use]
    pub fn survival(self, at: f64) -> f64 {
        (-self.cumulative_hazard(at)).exp()
    }

    /// The share failed by an age, without loss of digits for small shares.
    ///
    /// # Formula
    /// F(t) = 1 − exp(−(t/η)^β); t age in the unit of the life, F without unit.
    ///
    /// # Valid range
    /// Any age; below 0 counts as 0.
    ///
    /// # Errors
    /// None.
    ///
    /// # Source
    /// NIST/SEMATECH e-Handbook 8.1.6.2 (from memory).
    #[must_use]
    pub fn failed_by(self, at: f64) -> f64 {
        -(-self.cumulative_hazard(at)).exp_m1()
    }

    /// Hazard: failures to expect per unit of age among those still good.
    ///
    /// # Formula
    /// h(t) = (β/η)(t/η)^(β−1); t age in the unit of the life, h per that unit.
    ///
    /// # Valid range
    /// Any age; below 0 counts as 0, where h is infinite for β below 1.
    ///
    /// # Errors
    /// None.
    ///
    /// # Source
    /// NIST/SEMATECH e-Handbook 8.1.6.2 (from memory).
    #[must_use]
    pub fn hazard(self, at: f64) -> f64 {
        self.shape / self.scale * (at.max(0.0) / self.scale).powf(self.shape - 1.0)
    }

    /// Mean life.
    ///
    /// # Formula
    /// η Γ(1 + 1/β), in the unit of the life.
    ///
    /// # Valid range
    /// Any life.
    ///
    /// # Errors
    /// None.
    ///
    /// # Source
    /// NIST/SEMATECH e-Handbook 8.1.6.2 (from memory).
    #[must_use]
    pub fn mean(self) -> f64 {
        self.scale * gamma(1.0 + 1.0 / self.shape)
    }

    /// Standard deviation of the life.
    ///
    /// # Formula
    /// η √(Γ(1 + 2/β) − Γ²(1 + 1/β)), in the unit of the life.
    ///
    /// # Valid range
    /// Any life.
    ///
    /// # Errors
    /// None.
    ///
    /// # Source
    /// NIST/SEMATECH e-Handbook 8.4.1.3, whose printed formula has lost the minus sign.
    #[must_use]
    pub fn standard_deviation(self) -> f64 {
        let first = gamma(1.0 + 1.0 / self.shape);
        self.scale
            * (gamma(1.0 + 2.0 / self.shape) - first * first)
                .max(0.0)
                .sqrt()
    }

    /// The age by which a share has failed: B10 for a share of 0.1.
    ///
    /// # Formula
    /// B = η (−ln(1 − p))^(1/β); p share failed without unit, B in the unit of the life.
    ///
    /// # Valid range
    /// Share above 0 and below 1.
    ///
    /// # Errors
    /// [`OutOfRange`] outside it.
    ///
    /// # Source
    /// Inverse of F; IEC 61649:2008 (from memory).
    pub fn age_at_share(self, failed: f64) -> Result<f64, OutOfRange> {
        if failed > 0.0 && failed < 1.0 {
            Ok(self.scale * (-(-failed).ln_1p()).powf(1.0 / self.shape))
        } else {
            Err(OutOfRange::new(
                "share of gauges failed",
                failed,
                "greater than 0 and less than 1",
            ))
        }
    }
}
