//! The age at which rebuilding is cheapest in the long run, when a failure costs more than a rebuild.
//! Fixed calendar intervals and finite horizons are in `renewal`; what is due when is in `due`.

use serde::{Deserialize, Serialize};
use statrs::function::gamma::{checked_gamma_lr, gamma};

use super::OutOfRange;
use super::life::Life;
use super::numeric::{positive, root};
use super::quantity::significant;
use super::working::{Source, Step, Working};

/// A saving below this share of the cost without planned rebuilds is no ground for rebuilding by age.
pub const LEAST_SAVING: f64 = 0.05;
/// Ages whose cost is within this share of the least are as good as the best one.
pub const NEAR_ENOUGH: f64 = 0.05;
/// A best age beyond this many characteristic lives is no advice.
const FARTHEST: f64 = 1e3;

/// What a rebuild costs when planned and when a failure forces it, in one money.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Costs {
    /// A planned rebuild with everything it causes.
    pub planned: f64,
    /// A failure with everything it causes: outage, clean-up, the rebuild itself.
    pub failure: f64,
}

impl Costs {
    pub(crate) fn checked(self) -> Result<Self, OutOfRange> {
        positive("cost of a planned rebuild", self.planned, 1e12)?;
        positive("cost of a failure", self.failure, 1e12)?;
        Ok(self)
    }
}

/// The cheapest age, as far as one exists.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RebuildAge {
    /// What to do.
    pub advice: Advice,
    /// Long-run cost per unit of age when rebuilding only after failures.
    pub cost_rate_at_failure_only: f64,
    /// Whether the data behind the shape already show wear.
    pub wear: Wear,
    /// The shown calculation.
    pub working: Working,
}

/// Whether failures are known to come faster with age, which every rebuild by age rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Wear {
    /// The lower bound of the shape is above 1.
    Shown,
    /// The bounds of the shape reach down to 1 or below: more failures are needed to tell.
    NotYetShown,
    /// The shape was assumed, so the data say nothing about it.
    Assumed,
}

/// What the costs and the life advise.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "advice")]
pub enum Advice {
    /// Rebuild at about this age.
    Rebuild(BestAge),
    /// There is a cheapest age, but it saves too little to matter.
    SavesTooLittle(BestAge),
    /// Failures do not come faster with age (β ≤ 1): a rebuild prevents none.
    NeverByAge,
    /// A failure costs no more than a planned rebuild, or so little more that waiting for it is best.
    NeverAtTheseCosts,
}

/// The cheapest age and how sharply it is defined.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct BestAge {
    /// The age of least cost, in the unit of the life.
    pub age: f64,
    /// Long-run cost per unit of age there.
    pub cost_rate: f64,
    /// Share saved against rebuilding only after failures.
    pub saving: f64,
    /// The youngest age that costs at most [`NEAR_ENOUGH`] more.
    pub from: f64,
    /// The oldest such age; `None` where even waiting for the failure costs no more than that.
    pub to: Option<f64>,
}

/// ∫₀ˣ exp(−y^β) dy, the mean time to rebuild in units of η when rebuilding at age xη.
pub(crate) fn mean_cycle(shape: f64, x: f64) -> f64 {
    let reach = x.powf(shape);
    if reach < 1e-8 {
        // First terms of the series: the incomplete gamma function would lose digits here.
        return x * (1.0 - reach / (shape + 1.0));
    }
    let part = if reach > 700.0 {
        1.0
    } else {
        checked_gamma_lr(1.0 / shape, reach).unwrap_or(f64::NAN)
    };
    gamma(1.0 + 1.0 / shape) * part
}

/// The long-run cost per unit of age when every gauge is rebuilt at failure or at age `at`.
///
/// # Formula
/// ```text
/// C(T) = [C_p R(T) + C_f F(T)] / ∫₀ᵀ R(t) dt,  ∫₀ᵀ R = (η/β) γ(1/β, (T/η)^β)
/// ```
/// T rebuild age and η characteristic life in the unit of the life; `C_p` and `C_f` costs of a planned
/// rebuild and of a failure in one money; γ lower incomplete gamma function; C money per unit of age.
///
/// # Valid range
/// T above 0 and at most 10⁹; costs above 0 and at most 10¹².
///
/// # Errors
/// [`OutOfRange`] outside it.
///
/// # Source
/// R. E. Barlow and F. Proschan, Mathematical Theory of Reliability (1965), age replacement (from
/// memory).
pub fn cost_rate(life: Life, costs: Costs, at: f64) -> Result<f64, OutOfRange> {
    let Costs { planned, failure } = costs.checked()?;
    let at = positive("rebuild age", at, super::life::LONGEST_AGE)?;
    let cycle = life.scale() * mean_cycle(life.shape(), at / life.scale());
    Ok((planned * life.survival(at) + failure * life.failed_by(at)) / cycle)
}

/// Finds the age at which rebuilding is cheapest in the long run.
///
/// # Formula
/// ```text
/// h(T) ∫₀ᵀ R(t) dt − F(T) = C_p / (C_f − C_p),   C(T) = (C_f − C_p) h(T)
/// C(∞) = C_f / (η Γ(1 + 1/β))
/// ```
/// h hazard, F share failed, R share good at age T, otherwise as [`cost_rate`]. `shape_at_least` is
/// the lower bound of β, where it was fitted; it decides [`Wear`] and nothing else.
///
/// # Valid range
/// Any Weibull life; costs above 0 and at most 10¹². A best age exists only for β above 1 and a
/// failure dearer than a planned rebuild, and is given up to 1000 η; otherwise the advice says why
/// there is none.
///
/// # Errors
/// [`OutOfRange`] for costs.
///
/// # Source
/// R. E. Barlow and F. Proschan, Mathematical Theory of Reliability (1965), age replacement (from
/// memory). That a saving under 5 % is no advice is our own choice: the curve is flat and β uncertain.
pub fn best_rebuild_age(
    life: Life,
    costs: Costs,
    shape_at_least: Option<f64>,
) -> Result<RebuildAge, OutOfRange> {
    let costs = costs.checked()?;
    let wear = match shape_at_least {
        Some(bound) if bound > 1.0 => Wear::Shown,
        Some(_) => Wear::NotYetShown,
        None => Wear::Assumed,
    };
    let never = costs.failure / life.mean();
    let advice = if life.shape() <= 1.0 {
        Advice::NeverByAge
    } else if costs.failure <= costs.planned {
        Advice::NeverAtTheseCosts
    } else {
        match least_cost(life, costs, never) {
            Some(best) if best.saving >= LEAST_SAVING => Advice::Rebuild(best),
            Some(best) => Advice::SavesTooLittle(best),
            None => Advice::NeverAtTheseCosts,
        }
    };
    Ok(RebuildAge {
        advice,
        cost_rate_at_failure_only: never,
        wear,
        working: shown(life, costs, advice, never).remark(match wear {
            Wear::Shown => "The lower bound of β is above 1: the data show wear.",
            Wear::NotYetShown => {
                "The bounds of β reach below 1: the data do not yet support rebuilding by age."
            }
            Wear::Assumed => "The shape was assumed; the data do not show wear by themselves.",
        }),
    })
}

fn least_cost(life: Life, costs: Costs, never: f64) -> Option<BestAge> {
    let (beta, eta) = (life.shape(), life.scale());
    let ratio = costs.planned / (costs.failure - costs.planned);
    // In x = T/η: β x^(β−1) ∫ − F − ratio rises from −ratio without limit.
    let excess = |ln_x: f64| {
        let x: f64 = ln_x.exp();
        let reach = x.powf(beta);
        beta * x.powf(beta - 1.0) * mean_cycle(beta, x) + (-reach).exp_m1() - ratio
    };
    let (mut high, farthest) = (0.0_f64, FARTHEST.ln());
    while excess(high) < 0.0 {
        if high >= farthest {
            return None;
        }
        high = (high + 1.0).min(farthest);
    }
    let mut low = high - 1.0;
    while excess(low) > 0.0 {
        low -= 1.0;
        if low < -700.0 {
            return None;
        }
    }
    let x = root(excess, low, high).exp();
    let rate = |x: f64| {
        let failed = -(-x.powf(beta)).exp_m1();
        (costs.planned + (costs.failure - costs.planned) * failed) / (eta * mean_cycle(beta, x))
    };
    let least = rate(x);
    let near = |ln_x: f64| rate(ln_x.exp()) - (1.0 + NEAR_ENOUGH) * least;
    let ln_x = x.ln();
    let from = root(near, ln_x - 1.0, ln_x).exp() * eta;
    let to = (never > (1.0 + NEAR_ENOUGH) * least).then(|| {
        let mut far = ln_x + 0.1;
        while near(far) < 0.0 && far < ln_x + 20.0 {
            far += 0.1;
        }
        root(near, ln_x, far).exp() * eta
    });
    Some(BestAge {
        age: x * eta,
        cost_rate: least,
        saving: 1.0 - least / never,
        from,
        to,
    })
}

fn shown(life: Life, costs: Costs, advice: Advice, never: f64) -> Working {
    let unit = life.unit().symbol();
    let source = || Source::FromMemory("Barlow and Proschan 1965, age replacement".to_owned());
    let baseline = Step::new(
        "C(∞)",
        "cost rate when rebuilding only after failures",
        "C_f / (η Γ(1 + 1/β))",
        source(),
    )
    .with(
        "β",
        "shape",
        significant(life.shape(), 5),
        Source::Arithmetic,
    )
    .with(
        "η",
        "characteristic life",
        format!("{} {unit}", significant(life.scale(), 5)),
        Source::Arithmetic,
    )
    .with(
        "C_f",
        "cost of a failure",
        significant(costs.failure, 6),
        Source::Entered,
    )
    .gives(format!(
        "{} per unit of age ({unit})",
        significant(never, 5)
    ));
    let best = Step::new(
        "T",
        "age of least cost",
        "h(T) ∫₀ᵀ R dt − F(T) = C_p/(C_f − C_p)",
        source(),
    )
    .with(
        "C_p",
        "cost of a planned rebuild",
        significant(costs.planned, 6),
        Source::Entered,
    )
    .with(
        "C_f",
        "cost of a failure",
        significant(costs.failure, 6),
        Source::Entered,
    );
    let near = |best: BestAge| {
        let to = best
            .to
            .map_or("any later age".to_owned(), |to| significant(to, 3));
        format!(
            "{} to {to} {unit} cost at most 5 % more",
            significant(best.from, 3)
        )
    };
    let words = match advice {
        Advice::Rebuild(at) => format!(
            "{} {unit}; {}; saves {} %",
            significant(at.age, 3),
            near(at),
            significant(100.0 * at.saving, 2)
        ),
        Advice::SavesTooLittle(at) => format!(
            "{} {unit}, but it saves only {} %: no ground for rebuilding by age",
            significant(at.age, 3),
            significant(100.0 * at.saving, 2)
        ),
        Advice::NeverByAge => {
            "none: failures do not come faster with age, so a rebuild prevents none".to_owned()
        }
        Advice::NeverAtTheseCosts => {
            "none: a failure costs too little more than a planned rebuild".to_owned()
        }
    };
    Working::new("Cheapest rebuild age")
        .step(baseline)
        .step(best.gives(words))
        .remark("Costs alone: where a failure can hurt someone, the interval set for safety goes before the cheapest one.")
}
