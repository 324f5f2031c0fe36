//! How far the truth may lie from a fitted Weibull life: bounds by curvature and by likelihood ratio.
//! The fit itself is made in `weibull`; life tables without a law are in `survival`.

use serde::Serialize;
use statrs::function::gamma::{digamma, ln_gamma};

use super::Fit;
use super::likelihood::{Likelihood, Line};
use crate::calc::OutOfRange;
use crate::calc::life::{Confidence, LONGEST_AGE, LifeData};
use crate::calc::numeric::{chi_squared_quantile, normal_quantile, positive, root};
use crate::calc::quantity::significant;
use crate::calc::working::{Source, Step, Working};

/// A quantity of a fitted life that bounds can be put on.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Of {
    /// The shape β.
    Shape,
    /// The characteristic life η.
    Scale,
    /// The age by which this share has failed: 0.1 for B10.
    AgeAtShare(f64),
    /// The share still good at this age.
    SurvivalAt(f64),
    /// The mean life.
    Mean,
}

/// How bounds were found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum BoundsFrom {
    /// Curvature of the log-likelihood at its maximum (Fisher matrix), on a logarithmic scale.
    Curvature,
    /// All values whose likelihood is not too far below the highest.
    LikelihoodRatio,
}

/// A value with its two-sided bounds.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Bounded {
    /// What was asked for.
    pub of: Of,
    /// The value at the maximum.
    pub value: f64,
    /// The lower bound; `None` where the data set none.
    pub lower: Option<f64>,
    /// The upper bound; `None` where the data set none.
    pub upper: Option<f64>,
    /// The confidence of the two bounds together.
    pub confidence: Confidence,
    /// How they were found.
    pub from: BoundsFrom,
    /// The shown calculation.
    pub working: Working,
}

/// Bounds by the curvature of the log-likelihood (Fisher matrix), symmetric on a logarithmic scale.
///
/// # Formula
/// ```text
/// β exp(±z √V_λλ),  η exp(±z √V_μμ)
/// B exp(±z √(V_μμ + 2σu V_μλ + σ²u² V_λλ)),  u = ln(−ln(1 − p))
/// R: exp(−exp(w ± z √(V_μμ/σ² + 2w V_μλ/σ + w² V_λλ))),  w = (ln t − ln η)/σ
/// mean exp(±z √(V_μμ + 2g V_μλ + g² V_λλ)),  g = σ ψ(1 + σ)
/// ```
/// ψ digamma function; μ = ln η, σ = 1/β, λ = ln σ, V their covariance ([`super::Spread`]); z standard normal quantile
/// of (1 + confidence)/2; p share failed; t age; u, w reduced log-ages; no unit but that of η and t.
///
/// # Valid range
/// Share between 0 and 1; age above 0 and at most 10⁹. Good for many failures; with fewer than
/// about 20 prefer [`likelihood_bounds`].
///
/// # Errors
/// [`OutOfRange`] for share or age.
///
/// # Source
/// Meeker and Escobar, Statistical Methods for Reliability Data (1998), section 8.4 (from memory).
pub fn curvature_bounds(fit: &Fit, of: Of, confidence: Confidence) -> Result<Bounded, OutOfRange> {
    let (centre, spread) = reduced(fit, of)?;
    let reach = normal_quantile(confidence.upper_tail_point()) * spread;
    Ok(bounded(
        fit,
        of,
        confidence,
        BoundsFrom::Curvature,
        [Some(centre - reach), Some(centre + reach)],
    ))
}

/// Bounds by likelihood ratio: every value whose best log-likelihood is close enough to the highest.
///
/// # Formula
/// ```text
/// 2 [ℓ(β̂, η̂) − max ℓ(β, η | θ)] ≤ χ²(confidence; 1)
/// ```
/// θ the quantity asked for, held fixed while β and η are chosen best; χ² quantile with one degree
/// of freedom (3.841459 at 95 %).
///
/// # Valid range
/// As [`curvature_bounds`]; `data` must be those the fit was made from. A side on which the ratio
/// never passes the limit within e^±60 of the value has no bound.
///
/// # Errors
/// [`OutOfRange`] for share or age.
///
/// # Source
/// Meeker and Escobar, Statistical Methods for Reliability Data (1998), section 8.3 (from memory).
pub fn likelihood_bounds(
    data: &LifeData,
    fit: &Fit,
    of: Of,
    confidence: Confidence,
) -> Result<Bounded, OutOfRange> {
    let (centre, spread) = reduced(fit, of)?;
    let likelihood = Likelihood::new(data);
    let limit = chi_squared_quantile(confidence.level(), 1.0);
    let place = fit.life.shape() * (fit.life.scale().ln() - likelihood.origin());
    let peak = likelihood.at(fit.life.shape(), place).value;
    let side = |sign: f64| {
        let mut warm = if of == Of::Shape {
            place
        } else {
            fit.life.shape()
        };
        let mut excess = |reduced: f64| {
            let best = match line(of, reduced, likelihood.origin()) {
                Some(line) => likelihood.best_on(line, warm),
                None if of == Of::Mean => likelihood.best_along(
                    |shape| shape * (reduced - likelihood.origin() - ln_gamma(1.0 + 1.0 / shape)),
                    warm,
                ),
                None => likelihood.best_place(reduced.exp(), warm),
            };
            if best.0.is_finite() && best.1.is_finite() {
                warm = best.0;
            }
            if best.1.is_nan() {
                f64::INFINITY
            } else {
                2.0 * (peak - best.1) - limit
            }
        };
        let (mut near, mut step) = (centre, sign * spread.max(1e-6));
        loop {
            let far = near + step;
            if (far - centre).abs() > 60.0 {
                return None;
            }
            if excess(far) > 0.0 {
                return Some(root(&mut excess, near, far));
            }
            near = far;
            step *= 1.5;
        }
    };
    let ends = [side(-1.0), side(1.0)];
    Ok(bounded(
        fit,
        of,
        confidence,
        BoundsFrom::LikelihoodRatio,
        ends,
    ))
}

/// The quantity on the scale its bounds are found on, and its standard error there.
fn reduced(fit: &Fit, of: Of) -> Result<(f64, f64), OutOfRange> {
    let (mu, sigma) = (fit.life.scale().ln(), 1.0 / fit.life.shape());
    let v = fit.spread;
    Ok(match of {
        Of::Shape => (fit.life.shape().ln(), v.ln_sigma.sqrt()),
        Of::Scale => (mu, v.ln_scale.sqrt()),
        Of::AgeAtShare(share) => {
            let age = fit.life.age_at_share(share)?;
            let su = sigma * reduced_share(share);
            let variance = v.ln_scale + 2.0 * su * v.both + su * su * v.ln_sigma;
            (age.ln(), variance.sqrt())
        }
        Of::Mean => {
            let g = sigma * digamma(1.0 + sigma);
            let variance = v.ln_scale + 2.0 * g * v.both + g * g * v.ln_sigma;
            (fit.life.mean().ln(), variance.sqrt())
        }
        Of::SurvivalAt(at) => {
            let w = (positive("age", at, LONGEST_AGE)?.ln() - mu) / sigma;
            let variance =
                v.ln_scale / (sigma * sigma) + 2.0 * w * v.both / sigma + w * w * v.ln_sigma;
            (w, variance.sqrt())
        }
    })
}

/// ln(−ln(1 − p)).
fn reduced_share(failed: f64) -> f64 {
    (-(-failed).ln_1p()).ln()
}

/// The line on which the quantity keeps the value `reduced`; the shape is no line but a
/// fixed β, and the mean is kept on a curve.
fn line(of: Of, reduced: f64, origin: f64) -> Option<Line> {
    match of {
        Of::Shape | Of::Mean => None,
        Of::Scale => Some(Line {
            tilt: reduced - origin,
            offset: 0.0,
        }),
        Of::AgeAtShare(share) => Some(Line {
            tilt: reduced - origin,
            offset: -reduced_share(share),
        }),
        Of::SurvivalAt(at) => Some(Line {
            tilt: at.ln() - origin,
            offset: -reduced,
        }),
    }
}

fn bounded(
    fit: &Fit,
    of: Of,
    confidence: Confidence,
    from: BoundsFrom,
    ends: [Option<f64>; 2],
) -> Bounded {
    let unit = fit.life.unit().symbol();
    let (symbol, meaning, value) = match of {
        Of::Shape => ("β", "shape".to_owned(), fit.life.shape()),
        Of::Scale => ("η", "characteristic life".to_owned(), fit.life.scale()),
        Of::AgeAtShare(share) => (
            "B",
            format!(
                "age by which {} % have failed",
                significant(100.0 * share, 4)
            ),
            fit.life.age_at_share(share).unwrap_or(f64::NAN),
        ),
        Of::Mean => ("mean", "mean life".to_owned(), fit.life.mean()),
        Of::SurvivalAt(at) => (
            "R",
            format!("share still good at {} {unit}", significant(at, 5)),
            fit.life.survival(at),
        ),
    };
    let survival = matches!(of, Of::SurvivalAt(_));
    let back = |end: f64| {
        if survival {
            (-end.exp()).exp()
        } else {
            end.exp()
        }
    };
    let [mut lower, mut upper] = ends.map(|end| end.map(back));
    if survival {
        (lower, upper) = (upper, lower);
    }
    let (formula, source, remark) = match from {
        BoundsFrom::Curvature => (
            "estimate ± z standard errors, on the logarithmic scale",
            "Meeker and Escobar 1998, section 8.4",
            "Bounds by curvature are too narrow with few failures; the likelihood-ratio bounds are the better ones.",
        ),
        BoundsFrom::LikelihoodRatio => (
            "2 (ℓ̂ − ℓ) ≤ χ²(confidence; 1)",
            "Meeker and Escobar 1998, section 8.3",
            "The bounds hold for gauges like those in the data, under the same service.",
        ),
    };
    let in_words = |end: Option<f64>| end.map_or("no bound".to_owned(), |end| significant(end, 5));
    let suffix = if matches!(of, Of::Scale | Of::AgeAtShare(_) | Of::Mean) {
        format!(" {unit}")
    } else {
        String::new()
    };
    let step = Step::new(
        symbol,
        meaning,
        formula,
        Source::FromMemory(source.to_owned()),
    )
    .with(
        "confidence",
        "of both bounds together",
        confidence.percent(),
        Source::Plant,
    )
    .with(
        symbol,
        "at the highest likelihood",
        format!("{}{suffix}", significant(value, 5)),
        Source::Arithmetic,
    )
    .gives(format!(
        "{} to {}{suffix}",
        in_words(lower),
        in_words(upper)
    ));
    Bounded {
        of,
        value,
        lower,
        upper,
        confidence,
        from,
        working: Working::new("Bounds of a fitted life")
            .step(step)
            .remark(remark),
    }
}
