//! The residual Helmholtz energy of IAPWS-95: its coefficients and the derivatives a pressure needs.
//! Pressure, density and what follows from them are in the file above.

/// Critical temperature of water in kelvin, the reducing temperature of IAPWS-95.
pub(super) const CRITICAL_K: f64 = 647.096;
/// Critical density of water in kg/m³, the reducing density of IAPWS-95.
pub(super) const CRITICAL_DENSITY: f64 = 322.0;
/// Specific gas constant of water in J/(kg·K) as IAPWS-95 fixes it.
pub(super) const GAS_CONSTANT: f64 = 461.518_05;

/// Derivatives of the residual Helmholtz energy: by δ, twice by δ, by δ and τ.
#[derive(Default)]
pub(super) struct Residual {
    pub(super) d: f64,
    pub(super) dd: f64,
    pub(super) dt: f64,
}

impl Residual {
    pub(super) fn at(delta: f64, tau: f64) -> Self {
        let mut sum = Self::default();
        for &(n, c, d, t) in &POWERS {
            sum.add_power(delta, tau, (n, c, d, t));
        }
        for &(n, t, beta, gamma) in &BELLS {
            sum.add_bell(delta, tau, (n, t, beta, gamma));
        }
        for &(n, b, c, d) in &NEAR_CRITICAL {
            sum.add_near_critical(delta, tau, (n, b, c, d));
        }
        sum
    }

    /// n·δ^d·τ^t, damped by exp(−δ^c) where c is not 0.
    fn add_power(&mut self, delta: f64, tau: f64, (n, c, d, t): (f64, i32, i32, f64)) {
        let (damping, bend) = if c == 0 {
            (1.0, 0.0)
        } else {
            ((-delta.powi(c)).exp(), delta.powi(c))
        };
        let (c, order) = (f64::from(c), f64::from(d));
        let base = n * damping * delta.powi(d - 2) * tau.powf(t);
        let slope = order - c * bend;
        self.d += base * delta * slope;
        self.dd += base * (slope * (slope - 1.0) - c * c * bend);
        self.dt += base * delta * slope * t / tau;
    }

    /// n·δ³·τ^t·exp(−20·(δ − 1)² − β·(τ − γ)²).
    fn add_bell(&mut self, delta: f64, tau: f64, (n, t, beta, gamma): (f64, i32, f64, f64)) {
        let (off, warm) = (delta - 1.0, tau - gamma);
        let base = n * delta * tau.powi(t) * (-20.0 * off * off - beta * warm * warm).exp();
        let slope = 3.0 - 40.0 * delta * off;
        self.d += base * delta * slope;
        self.dd += base * (slope * (slope - 1.0) - 40.0 * delta * (2.0 * delta - 1.0));
        self.dt += base * delta * slope * (f64::from(t) / tau - 2.0 * beta * warm);
    }

    /// n·Δ^b·δ·ψ, which shapes the neighbourhood of the critical point.
    fn add_near_critical(&mut self, delta: f64, tau: f64, (n, b, c, d): (f64, f64, f64, f64)) {
        const A: f64 = 0.32;
        const B: f64 = 0.2;
        const SHARP: f64 = 3.5;
        const BETA: f64 = 0.3;
        let off = delta - 1.0;
        // At the critical density itself the terms are finite only as a limit; step beside it.
        let off = if off.abs() < 1e-9 { 1e-9 } else { off };
        let square = off * off;
        let (power, warm) = (1.0 / (2.0 * BETA), tau - 1.0);
        let theta = -warm + A * square.powf(power);
        let distance = theta * theta + B * square.powf(SHARP);
        let bent = square.powf(power - 1.0);
        let by_density =
            off * (A * theta * (2.0 / BETA) * bent + 2.0 * B * SHARP * square.powf(SHARP - 1.0));
        let twice = by_density / off
            + square
                * (4.0 * B * SHARP * (SHARP - 1.0) * square.powf(SHARP - 2.0)
                    + 2.0 * (A / BETA * bent).powi(2)
                    + A * theta * (4.0 / BETA) * (power - 1.0) * square.powf(power - 2.0));
        let low = b * distance.powf(b - 1.0);
        let lower = b * (b - 1.0) * distance.powf(b - 2.0);
        let raised = distance.powf(b);
        let raised_d = low * by_density;
        let raised_dd = low * twice + lower * by_density * by_density;
        let raised_t = -2.0 * theta * low;
        let raised_mixed = -A * (2.0 / BETA) * low * off * bent - 2.0 * theta * lower * by_density;
        let psi = (-c * square - d * warm * warm).exp();
        let psi_d = -2.0 * c * off * psi;
        let psi_dd = 2.0 * c * psi * (2.0 * c * square - 1.0);
        let psi_t = -2.0 * d * warm * psi;
        let psi_mixed = 4.0 * c * d * off * warm * psi;
        self.d += n * (raised * (psi + delta * psi_d) + raised_d * delta * psi);
        self.dd += n
            * (raised * (2.0 * psi_d + delta * psi_dd)
                + 2.0 * raised_d * (psi + delta * psi_d)
                + raised_dd * delta * psi);
        self.dt += n
            * (raised * (psi_t + delta * psi_mixed)
                + delta * raised_d * psi_t
                + raised_t * (psi + delta * psi_d)
                + raised_mixed * delta * psi);
    }
}

/// n, t, β, γ of terms 52 to 54 of table 2.
const BELLS: [(f64, i32, f64, f64); 3] = [
    (-31.306_260_323_435, 0, 150.0, 1.21),
    (31.546_140_237_781, 1, 150.0, 1.21),
    (-2_521.315_434_169_5, 4, 250.0, 1.25),
];

/// n, b, C, D of terms 55 and 56 of table 2.
const NEAR_CRITICAL: [(f64, f64, f64, f64); 2] = [
    (-0.148_746_408_567_24, 0.85, 28.0, 700.0),
    (0.318_061_108_784_44, 0.95, 32.0, 800.0),
];

/// n, c, d, t of terms 1 to 51 of table 2.
const POWERS: [(f64, i32, i32, f64); 51] = [
    (0.012_533_547_935_523, 0, 1, -0.5),
    (7.895_763_472_282_8, 0, 1, 0.875),
    (-8.780_320_330_356_1, 0, 1, 1.0),
    (0.318_025_093_454_18, 0, 2, 0.5),
    (-0.261_455_338_593_58, 0, 2, 0.75),
    (-0.007_819_975_168_798_1, 0, 3, 0.375),
    (0.008_808_949_310_213_4, 0, 4, 1.0),
    (-0.668_565_723_079_65, 1, 1, 4.0),
    (0.204_338_109_509_65, 1, 1, 6.0),
    (-6.621_260_503_968_7e-5, 1, 1, 12.0),
    (-0.192_327_211_560_02, 1, 2, 1.0),
    (-0.257_090_430_034_38, 1, 2, 5.0),
    (0.160_748_684_862_51, 1, 3, 4.0),
    (-0.040_092_828_925_807, 1, 4, 2.0),
    (3.934_342_260_325_4e-7, 1, 4, 13.0),
    (-7.594_137_708_814_4e-6, 1, 5, 9.0),
    (0.000_562_509_793_518_88, 1, 7, 3.0),
    (-1.560_865_225_713_5e-5, 1, 9, 4.0),
    (1.153_799_642_295_1e-9, 1, 10, 11.0),
    (3.658_216_514_420_4e-7, 1, 11, 4.0),
    (-1.325_118_007_466_8e-12, 1, 13, 13.0),
    (-6.263_958_691_245_4e-10, 1, 15, 1.0),
    (-0.107_936_009_089_32, 2, 1, 7.0),
    (0.017_611_491_008_752, 2, 2, 1.0),
    (0.221_322_951_675_46, 2, 2, 9.0),
    (-0.402_476_697_635_28, 2, 2, 10.0),
    (0.580_833_999_857_59, 2, 3, 10.0),
    (0.004_996_914_699_080_6, 2, 4, 3.0),
    (-0.031_358_700_712_549, 2, 4, 7.0),
    (-0.743_159_297_103_41, 2, 4, 10.0),
    (0.478_073_299_154_8, 2, 5, 10.0),
    (0.020_527_940_895_948, 2, 6, 6.0),
    (-0.136_364_351_103_43, 2, 6, 10.0),
    (0.014_180_634_400_617, 2, 7, 10.0),
    (0.008_332_650_488_071_3, 2, 9, 1.0),
    (-0.029_052_336_009_585, 2, 9, 2.0),
    (0.038_615_085_574_206, 2, 9, 3.0),
    (-0.020_393_486_513_704, 2, 9, 4.0),
    (-0.001_655_405_006_373_4, 2, 9, 8.0),
    (0.001_995_557_197_954_1, 2, 10, 6.0),
    (0.000_158_703_083_241_57, 2, 10, 9.0),
    (-1.638_856_834_253e-5, 2, 12, 8.0),
    (0.043_613_615_723_811, 3, 3, 16.0),
    (0.034_994_005_463_765, 3, 4, 22.0),
    (-0.076_788_197_844_621, 3, 4, 23.0),
    (0.022_446_277_332_006, 3, 5, 23.0),
    (-6.268_971_041_468_5e-5, 4, 14, 10.0),
    (-5.571_111_856_564_5e-10, 6, 3, 50.0),
    (-0.199_057_183_544_08, 6, 6, 44.0),
    (0.317_774_973_307_38, 6, 6, 46.0),
    (-0.118_411_824_259_81, 6, 6, 50.0),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn residual_derivatives_are_those_of_the_release() {
        // published: IAPWS R6-95(2018), table 6, T = 500 K, ρ = 838.025 kg/m³.
        let phi = Residual::at(838.025 / CRITICAL_DENSITY, CRITICAL_K / 500.0);
        for (found, printed) in [
            (phi.d, -0.364_366_650),
            (phi.dd, 0.856_063_701),
            (phi.dt, -1.121_769_15),
        ] {
            assert!((found - printed).abs() < 1e-8, "{found} {printed}");
        }
        // published: the same table, T = 647 K, ρ = 358 kg/m³, where the last two terms count most.
        let phi = Residual::at(358.0 / CRITICAL_DENSITY, CRITICAL_K / 647.0);
        for (found, printed) in [
            (phi.d, -0.714_012_024),
            (phi.dd, 0.475_730_696),
            (phi.dt, -1.332_147_20),
        ] {
            assert!((found - printed).abs() < 1e-8, "{found} {printed}");
        }
    }
}
