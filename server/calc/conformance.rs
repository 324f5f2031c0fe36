//! Deciding whether a measured value keeps a limit when the measurement itself is uncertain.
//! How the uncertainty is put together is not said here; it comes in as one standard uncertainty.

use serde::{Deserialize, Serialize};
use statrs::distribution::{ContinuousCDF, Normal};

use super::OutOfRange;
use super::quantity::{Stamped, Unit, significant};
use super::working::{Source, Step, Working};

/// Two values closer than this part of the larger count as equal, so that a decimal value lying
/// exactly on a guarded limit is not thrown over it by binary rounding.
const SAME: f64 = 1e-12;

/// What a value must keep to; the limit itself is still allowed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(
    tag = "kind",
    rename_all = "kebab-case",
    bound(serialize = "U: Serialize", deserialize = "U: Deserialize<'de>")
)]
pub enum Limit<U> {
    /// The value may not be more (flatness).
    AtMost {
        /// The greatest value allowed.
        limit: Stamped<U>,
    },
    /// The value may not be less (wall).
    AtLeast {
        /// The least value allowed.
        limit: Stamped<U>,
    },
    /// The value must lie between two limits.
    Between {
        /// The least value allowed.
        least: Stamped<U>,
        /// The greatest value allowed.
        most: Stamped<U>,
    },
}

impl<U: Unit> Limit<U> {
    /// Not more than this.
    pub const fn at_most(limit: Stamped<U>) -> Self {
        Self::AtMost { limit }
    }

    /// Not less than this.
    pub const fn at_least(limit: Stamped<U>) -> Self {
        Self::AtLeast { limit }
    }

    /// Not less than the one and not more than the other.
    pub const fn between(least: Stamped<U>, most: Stamped<U>) -> Self {
        Self::Between { least, most }
    }

    /// The unit in which the decision is made.
    const fn unit(&self) -> U {
        match self {
            Self::AtMost { limit } | Self::AtLeast { limit } => limit.unit,
            Self::Between { most, .. } => most.unit,
        }
    }

    /// Lower and upper limit as numbers in [`Self::unit`]; a missing one is infinite.
    fn bounds(&self) -> (f64, f64) {
        match self {
            Self::AtMost { limit } => (f64::NEG_INFINITY, limit.number()),
            Self::AtLeast { limit } => (limit.number(), f64::INFINITY),
            Self::Between { least, most } => (least.in_unit(most.unit), most.number()),
        }
    }
}

/// How wide a band beside each limit the plant keeps free, in standard uncertainties.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Guard(f64);

impl Guard {
    /// No band: the reading is taken as the truth ("simple acceptance").
    pub const NONE: Self = Self(0.0);
    /// At least 95 % probability that an accepted value conforms to a single limit.
    pub const NINETY_FIVE: Self = Self(1.644_853_626_951_472_2);
    /// The band of the expanded uncertainty with coverage factor 2.
    pub const EXPANDED: Self = Self(2.0);

    /// A band of k standard uncertainties.
    ///
    /// # Valid range
    /// 0 ≤ k ≤ 10, without unit.
    ///
    /// # Errors
    /// [`OutOfRange`] for k below 0, above 10 or not a number.
    ///
    /// # Source
    /// JCGM 106:2012 clause 8, guard bands as multiples of the uncertainty; the range is our own.
    pub fn of(k: f64) -> Result<Self, OutOfRange> {
        if (0.0..=10.0).contains(&k) {
            Ok(Self(k))
        } else {
            Err(OutOfRange::new("guard band factor", k, "between 0 and 10"))
        }
    }

    /// The number of standard uncertainties.
    #[must_use]
    pub const fn factor(self) -> f64 {
        self.0
    }
}

/// What may be said about the value.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// The value keeps the limit, the guard band included.
    Accept,
    /// The value breaks the limit, even given the guard band.
    Reject,
    /// The measurement is not good enough to say either.
    Undecided,
}

/// The decision about one value against its limit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Decision {
    /// Accept, reject or undecided.
    pub verdict: Verdict,
    /// Probability that the true value keeps the limit, 0 to 1.
    pub probability: f64,
    /// How it was decided.
    pub working: Working,
}

/// Decides whether a measured value keeps a limit.
///
/// # Formula
/// g = k·u. Upper limit T: accept if y ≤ T − g, reject if y > T + g, else undecided; lower limit
/// likewise, mirrored; both: accept inside both, reject outside either. Probability of conformance
/// p = Φ((Tᵤ − y)/u) − Φ((Tₗ − y)/u), a missing limit being infinite.
///
/// # Symbols
/// y: measured value; u: its standard uncertainty; T: limit; k: guard factor; g: guard band; all but
/// k in the unit of the limit. Φ: standard normal distribution function.
///
/// # Valid range
/// u > 0; every value finite; the lower limit below the upper. Values are compared to one part in
/// 10¹², so a decimal value on a guarded limit counts as on it.
///
/// # Errors
/// [`OutOfRange`] for an uncertainty of zero or less, or limits the wrong way round.
///
/// # Source
/// JCGM 106:2012 clauses 7 and 8 (conformance probability, guard bands); ILAC-G8:09/2019 clauses
/// 4.2.1 and 4.2.3 (simple acceptance; a value on the outer guarded limit is not yet a failure). Its
/// "conditional" pass and fail are one answer here: undecided.
pub fn decide<U: Unit>(
    measured: Stamped<U>,
    uncertainty: Stamped<U>,
    limit: Limit<U>,
    guard: Guard,
) -> Result<Decision, OutOfRange> {
    let unit = limit.unit();
    let (y, u) = (measured.in_unit(unit), uncertainty.in_unit(unit));
    let (lower, upper) = limit.bounds();
    let probability = probability(y, u, lower, upper)?;
    let band = guard.0 * u;
    let verdict = compare(y, lower, upper, band);
    let mut decision = Decision {
        verdict,
        probability,
        working: Working::new("Decision against the limit"),
    };
    decision.working = working((measured, uncertainty), limit, guard, &decision);
    Ok(decision)
}

/// Probability that the true value lies between two limits, given a reading and its uncertainty.
///
/// # Formula
/// p = Φ((Tᵤ − y)/u) − Φ((Tₗ − y)/u); a missing limit is given as an infinite one.
///
/// # Valid range
/// u > 0 and finite, y finite, Tₗ < Tᵤ, limits not NaN.
///
/// # Errors
/// [`OutOfRange`] outside that.
///
/// # Source
/// JCGM 106:2012 clause 7.
pub fn probability(
    measured: f64,
    uncertainty: f64,
    lower: f64,
    upper: f64,
) -> Result<f64, OutOfRange> {
    if !measured.is_finite() {
        return Err(OutOfRange::new(
            "measured value",
            measured,
            "a finite number",
        ));
    }
    if !(uncertainty > 0.0 && uncertainty.is_finite()) {
        return Err(OutOfRange::new(
            "standard uncertainty",
            uncertainty,
            "greater than 0",
        ));
    }
    if lower.partial_cmp(&upper) != Some(std::cmp::Ordering::Less) {
        return Err(OutOfRange::new(
            "lower limit",
            lower,
            format!("less than the upper limit {upper}"),
        ));
    }
    let below = |limit: f64| Normal::standard().cdf((limit - measured) / uncertainty);
    let above = |limit: f64| Normal::standard().cdf((measured - limit) / uncertainty);
    // Work in the tail on the far side, where the difference of two near-ones would cancel.
    let p = if lower == f64::NEG_INFINITY {
        below(upper)
    } else if upper == f64::INFINITY {
        above(lower)
    } else if measured <= lower {
        above(lower) - above(upper)
    } else {
        below(upper) - below(lower)
    };
    Ok(p.clamp(0.0, 1.0))
}

/// The rule of [`decide`] on plain numbers of one unit; a missing limit is infinite.
pub(super) fn compare(y: f64, lower: f64, upper: f64, band: f64) -> Verdict {
    let slack = |limit: f64| {
        if limit.is_finite() {
            SAME * limit.abs().max(y.abs())
        } else {
            0.0
        }
    };
    // Distance by which the value keeps each limit; negative when it breaks it.
    let (above, below) = (y - lower, upper - y);
    let keeps = |kept: f64, limit: f64| kept >= band - slack(limit);
    let breaks = |kept: f64, limit: f64| kept < -band - slack(limit);
    if keeps(above, lower) && keeps(below, upper) {
        Verdict::Accept
    } else if breaks(above, lower) || breaks(below, upper) {
        Verdict::Reject
    } else {
        Verdict::Undecided
    }
}

fn working<U: Unit>(
    (measured, uncertainty): (Stamped<U>, Stamped<U>),
    limit: Limit<U>,
    guard: Guard,
    decision: &Decision,
) -> Working {
    let unit = limit.unit();
    let band = guard.0 * uncertainty.in_unit(unit);
    let show = |value: f64| format!("{} {}", significant(value, 6), unit.symbol());
    let (lower, upper) = limit.bounds();
    let (formula, allowed) = match limit {
        Limit::AtMost { limit } => ("y ≤ T − g", format!("at most {limit}")),
        Limit::AtLeast { limit } => ("y ≥ T + g", format!("at least {limit}")),
        Limit::Between { least, most } => ("Tₗ + g ≤ y ≤ Tᵤ − g", format!("{least} to {most}")),
    };
    let said = match decision.verdict {
        Verdict::Accept => "accepted",
        Verdict::Reject => "rejected",
        Verdict::Undecided => "undecided",
    };
    let jcgm = Source::published("JCGM 106:2012, clauses 7 and 8");
    let mut working = decision
        .working
        .clone()
        .step(
            Step::new("g", "guard band", "k·u", jcgm.clone())
                .with("k", "guard factor", significant(guard.0, 5), Source::Plant)
                .with("u", "standard uncertainty", uncertainty, Source::Entered)
                .gives(show(band)),
        )
        .step(
            Step::new(
                "p",
                "probability that the limit is kept",
                "Φ((Tᵤ − y)/u) − Φ((Tₗ − y)/u)",
                jcgm,
            )
            .with("y", "measured value", measured, Source::Entered)
            .with("T", "limit", &allowed, Source::Plant)
            .gives(significant(decision.probability, 4)),
        )
        .step(
            Step::new(
                "verdict",
                "decision",
                formula,
                Source::published("ILAC-G8:09/2019, clause 4.2"),
            )
            .with("T", "limit", allowed, Source::Plant)
            .gives(said),
        );
    if guard.0 == 0.0 {
        working = working.remark("No guard band is kept (simple acceptance): a value on the limit is accepted with a probability of one half.");
    }
    if upper - lower < 2.0 * band {
        working = working
            .remark("The guard bands meet: with this uncertainty no value could be accepted.");
    }
    if decision.verdict == Verdict::Undecided {
        working = working
            .remark("A better measurement is needed before the value can be accepted or rejected.");
    }
    working
}
