//! The few numerical tools the life statistics share: counts as floats, quantiles, one root finder.
//! Nothing of gauges is known here; the special functions themselves come from `statrs`.

use statrs::distribution::{Beta, ChiSquared, Continuous, ContinuousCDF, Normal};

use super::OutOfRange;

/// A count as a float; counts here stay far below 2^53, where the conversion is exact.
#[expect(
    clippy::cast_precision_loss,
    reason = "counts of gauges and runs are below 2^53"
)]
pub(crate) fn real(count: usize) -> f64 {
    count as f64
}

/// A finite number above zero and at most `most`, or the refusal that names it.
pub(crate) fn positive(input: &'static str, value: f64, most: f64) -> Result<f64, OutOfRange> {
    if value > 0.0 && value <= most {
        Ok(value)
    } else {
        Err(OutOfRange::new(
            input,
            value,
            format!("greater than 0 and at most {most}"),
        ))
    }
}

/// The standard normal quantile of probability `p`, 0 < p < 1.
pub(crate) fn normal_quantile(p: f64) -> f64 {
    Normal::standard().inverse_cdf(p)
}

/// The two-sided tail probability beyond a standard normal deviate.
pub(crate) fn two_sided_tail(z: f64) -> f64 {
    2.0 * Normal::standard().sf(z.abs())
}

/// The chi-squared quantile of probability `p` with `df` degrees of freedom.
///
/// The library's quantile stops at a relative step of 1e-9 or so; two Newton steps on its own
/// distribution function bring it to the last digits.
pub(crate) fn chi_squared_quantile(p: f64, df: f64) -> f64 {
    ChiSquared::new(df).map_or(f64::NAN, |law| polished(&law, p, law.inverse_cdf(p)))
}

/// The probabilities below and above `x` of a chi-squared law with `df` degrees of freedom.
pub(crate) fn chi_squared_tails(x: f64, df: f64) -> (f64, f64) {
    ChiSquared::new(df).map_or((f64::NAN, f64::NAN), |law| (law.cdf(x), law.sf(x)))
}

/// The median of the beta law with parameters `a` and `b`.
pub(crate) fn beta_median(a: f64, b: f64) -> f64 {
    Beta::new(a, b).map_or(f64::NAN, |law| polished(&law, 0.5, law.inverse_cdf(0.5)))
}

fn polished<L>(law: &L, p: f64, start: f64) -> f64
where
    L: ContinuousCDF<f64, f64> + Continuous<f64, f64>,
{
    let mut x = start;
    for _ in 0..2 {
        let step = (law.cdf(x) - p) / law.pdf(x);
        if step.is_finite() && step.abs() < 0.1 * x {
            x -= step;
        }
    }
    x
}

/// The root of `f` between two points where it has different signs, to the last digits of a float.
///
/// Inverse quadratic interpolation where it is safe and bisection elsewhere, after T. R.
/// Chandrupatla, "A new hybrid quadratic/bisection algorithm for finding the zero of a nonlinear
/// function without using derivatives", Advances in Engineering Software 28 (1997) 145. With equal
/// signs at both ends the answer is one of the ends: callers bracket first.
pub(crate) fn root(mut f: impl FnMut(f64) -> f64, from: f64, to: f64) -> f64 {
    let (mut a, mut b) = (from, to);
    let (mut fa, mut fb) = (f(a), f(b));
    let mut share = 0.5;
    for _ in 0..200 {
        let new = a + share * (b - a);
        let f_new = f(new);
        let (c, fc);
        if (f_new > 0.0) == (fa > 0.0) {
            (c, fc) = (a, fa);
        } else {
            (c, fc) = (b, fb);
            (b, fb) = (a, fa);
        }
        (a, fa) = (new, f_new);
        let (best, f_best) = if fa.abs() < fb.abs() {
            (a, fa)
        } else {
            (b, fb)
        };
        let least = (2.0 * f64::EPSILON * best.abs() + f64::MIN_POSITIVE) / (b - c).abs();
        if least > 0.5 || f_best == 0.0 {
            return best;
        }
        let (xi, phi) = ((a - b) / (c - b), (fa - fb) / (fc - fb));
        share = if phi * phi < xi && (1.0 - phi) * (1.0 - phi) < 1.0 - xi {
            fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb)
        } else {
            0.5
        };
        share = share.clamp(least, 1.0 - least);
    }
    if fa.abs() < fb.abs() { a } else { b }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_root_is_found_to_the_last_digits() {
        let found = root(|x| x * x - 2.0, 0.0, 2.0);
        assert!((found - std::f64::consts::SQRT_2).abs() < 1e-15, "{found}");
        let steep = root(|x| (x - 1.0).powi(9), -3.0, 5.0);
        assert!((steep - 1.0).abs() < 1e-6, "{steep}");
        assert!((root(f64::ln, 1e-9, 1e9) - 1.0).abs() < 1e-14);
    }

    #[test]
    fn a_root_at_an_end_is_found() {
        assert!(root(|x| x, 0.0, 1.0).abs() < 1e-300);
        assert!((root(|x| x - 1.0, 0.0, 1.0) - 1.0).abs() < 1e-15);
    }

    #[test]
    fn only_finite_positive_numbers_pass() {
        for bad in [0.0, -1.0, f64::NAN, f64::INFINITY, 11.0] {
            assert!(positive("age", bad, 10.0).is_err(), "{bad}");
        }
        assert!(positive("age", 10.0, 10.0).is_ok());
    }
}
