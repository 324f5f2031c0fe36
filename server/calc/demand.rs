//! How many kits failures ask for over a span of time: Poisson and compound Poisson demand, exact.
//! Planned rebuilds are not random and not in here; see `reorder` for the stock that covers both.

use serde::{Deserialize, Serialize};

use super::OutOfRange;

/// Days of a year where rates per year meet days (the Julian year).
const DAYS_PER_YEAR: f64 = 365.25;
/// The largest number of events a span may be expected to hold.
const MOST_EVENTS: f64 = 10_000.0;
/// The largest number of kits one event may take.
const MOST_KITS: u32 = 1_000;
/// The largest expected number of kits.
const MOST_MEAN: f64 = 100_000.0;
/// The recursion stops where a whole window of terms is this small against the sum so far.
const NEGLIGIBLE: f64 = 1e-19;
/// Terms are scaled down by this exact power of two before they could overflow.
const SCALE: f64 = 1.0 / 1.340_780_792_994_259_7e154;

/// How many kits one failure takes, as shares of the fleet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "Vec<(u32, f64)>", into = "Vec<(u32, f64)>")]
pub struct KitsPerEvent {
    /// Kits and their share, ascending by kits, each number once, no zero shares.
    shares: Vec<(u32, f64)>,
}

impl KitsPerEvent {
    /// A distribution from kits and shares that add up to one.
    ///
    /// # Formula
    /// Σ pₖ = 1; shares of the same number of kits are added.
    ///
    /// # Valid range
    /// Each number of kits 0 to 1000, each share 0 to 1, their sum 1 within 10⁻⁹.
    ///
    /// # Errors
    /// [`OutOfRange`] naming the kits, the share or the sum.
    ///
    /// # Source
    /// The definition of a probability distribution.
    pub fn new(shares: &[(u32, f64)]) -> Result<Self, OutOfRange> {
        let mut sorted = shares.to_vec();
        sorted.sort_by_key(|&(kits, _)| kits);
        let mut kept: Vec<(u32, f64)> = Vec::with_capacity(sorted.len());
        for (kits, share) in sorted {
            if kits > MOST_KITS {
                return Err(OutOfRange::new("kits per failure", kits, "at most 1000"));
            }
            if !(0.0..=1.0).contains(&share) {
                return Err(OutOfRange::new(
                    "share of failures",
                    share,
                    "between 0 and 1",
                ));
            }
            match kept.last_mut() {
                Some((last, sum)) if *last == kits => *sum += share,
                _ if share > 0.0 => kept.push((kits, share)),
                _ => {}
            }
        }
        let sum: f64 = kept.iter().map(|&(_, share)| share).sum();
        if (sum - 1.0).abs() > 1e-9 {
            return Err(OutOfRange::new("sum of the shares", sum, "1"));
        }
        Ok(Self { shares: kept })
    }

    /// The distribution of the fleet: so many gauges take so many kits each.
    ///
    /// # Formula
    /// pₖ = gauges that take k kits / all gauges.
    ///
    /// # Valid range
    /// At least one gauge; kits 0 to 1000.
    ///
    /// # Errors
    /// [`OutOfRange`] where there is no gauge, or kits are out of range.
    ///
    /// # Source
    /// That any gauge of a service class is as likely to fail as another: common practice, no
    /// source.
    pub fn from_fleet(gauges: &[(u32, u32)]) -> Result<Self, OutOfRange> {
        let all: f64 = gauges.iter().map(|&(_, count)| f64::from(count)).sum();
        if all <= 0.0 {
            return Err(OutOfRange::new("number of gauges", 0, "at least 1"));
        }
        let shares: Vec<(u32, f64)> = gauges
            .iter()
            .map(|&(kits, count)| (kits, f64::from(count) / all))
            .collect();
        Self::new(&shares)
    }

    /// One kit a failure, always.
    #[must_use]
    pub fn one() -> Self {
        Self {
            shares: vec![(1, 1.0)],
        }
    }

    /// Kits and their shares, ascending.
    #[must_use]
    pub fn shares(&self) -> &[(u32, f64)] {
        &self.shares
    }

    /// The expected number of kits one failure takes, E\[K\] = Σ k pₖ.
    #[must_use]
    pub fn mean(&self) -> f64 {
        self.moment(1)
    }

    fn moment(&self, power: i32) -> f64 {
        self.shares
            .iter()
            .map(|&(kits, share)| f64::from(kits).powi(power) * share)
            .sum()
    }
}

impl TryFrom<Vec<(u32, f64)>> for KitsPerEvent {
    type Error = OutOfRange;
    fn try_from(shares: Vec<(u32, f64)>) -> Result<Self, OutOfRange> {
        Self::new(&shares)
    }
}

impl From<KitsPerEvent> for Vec<(u32, f64)> {
    fn from(kits: KitsPerEvent) -> Self {
        kits.shares
    }
}

/// The probability of each number of kits over a span of time.
#[derive(Debug, Clone, PartialEq)]
pub struct KitDemand {
    exactly: Vec<f64>,
    at_most: Vec<f64>,
    more_than: Vec<f64>,
    /// Σ over m ≥ n of P(D > m), which is the expected excess over n.
    excess: Vec<f64>,
    mean: f64,
    variance: f64,
}

/// The expected number of failures of a group of gauges over a span of days.
///
/// # Formula
/// Λ = λ · n · d / 365.25, with λ failures per gauge and year (1/a), n gauges, d days.
///
/// # Valid range
/// λ ≥ 0 and finite; Λ at most 10 000. Zero gauges or zero days give zero.
///
/// # Errors
/// [`OutOfRange`] for a negative, infinite or missing rate, or a Λ beyond the range.
///
/// # Source
/// A Poisson process of constant rate; the year as the Julian year of 365.25 days.
pub fn expected_events(rate_per_year: f64, gauges: u32, days: u32) -> Result<f64, OutOfRange> {
    if !rate_per_year.is_finite() || rate_per_year < 0.0 {
        return Err(OutOfRange::new(
            "failures per gauge and year",
            rate_per_year,
            "0 or more",
        ));
    }
    checked_events(rate_per_year * f64::from(gauges) * f64::from(days) / DAYS_PER_YEAR)
}

/// Several service classes that draw on the same kit, as one.
///
/// # Formula
/// Λ = Σ Λᵢ; pₖ = Σ Λᵢ pₖᵢ / Λ. Without any events: Λ = 0, one kit an event.
///
/// # Valid range
/// Each Λᵢ and their sum 0 to 10 000.
///
/// # Errors
/// [`OutOfRange`] for a number of events out of range.
///
/// # Source
/// Superposition of independent Poisson processes (any textbook of stochastic models).
pub fn pool(classes: &[(f64, KitsPerEvent)]) -> Result<(f64, KitsPerEvent), OutOfRange> {
    let mut events = 0.0;
    for &(own, _) in classes {
        events += checked_events(own)?;
    }
    checked_events(events)?;
    if events <= 0.0 {
        return Ok((0.0, KitsPerEvent::one()));
    }
    let shares: Vec<(u32, f64)> = classes
        .iter()
        .flat_map(|(own, kits)| kits.shares.iter().map(move |&(k, p)| (k, p * own / events)))
        .collect();
    KitsPerEvent::new(&shares).map(|kits| (events, kits))
}

/// Poisson demand: one kit an event.
///
/// # Formula
/// P(D = n) = e^(−μ) μⁿ / n!.
///
/// # Valid range
/// 0 ≤ μ ≤ 10 000.
///
/// # Errors
/// [`OutOfRange`] for any other `mean`.
///
/// # Source
/// Any textbook of probability; computed as [`compound_poisson`] with one kit an event.
pub fn poisson(mean: f64) -> Result<KitDemand, OutOfRange> {
    compound_poisson(mean, &KitsPerEvent::one())
}

/// Compound Poisson demand: a Poisson number of failures, each taking kits after its own
/// distribution; exact, by Panjer's recursion.
///
/// The recursion fixes every term up to one common factor, e^(−Λ(1−p₀)), which would vanish in
/// floating point beyond Λ of about 745. So the recursion starts at 1, is scaled by exact powers of
/// two on its way, and the factor follows at the end from Σ f = 1. The list ends where what is left
/// out is below 10⁻¹⁵.
///
/// # Formula
/// f(0) = e^(−Λ(1−p₀)); f(n) = (Λ/n) Σₖ₌₁ⁿ k pₖ f(n−k). Mean Λ·E\[K\], variance Λ·E\[K²\].
/// Λ expected failures in the span, pₖ share of failures that take k kits.
///
/// # Valid range
/// 0 ≤ Λ ≤ 10 000; expected kits Λ·E\[K\] at most 100 000.
///
/// # Errors
/// [`OutOfRange`] for a Λ or an expected demand out of range.
///
/// # Source
/// H. H. Panjer, Recursive evaluation of a family of compound distributions, ASTIN Bulletin 12
/// (1981) 22-26; R. M. Adelson, Compound Poisson distributions, Operational Research Quarterly 17
/// (1966) 73-75 (from memory); H. C. Tijms, A First Course in Stochastic Models, section 1.2.
pub fn compound_poisson(events: f64, kits: &KitsPerEvent) -> Result<KitDemand, OutOfRange> {
    checked_events(events)?;
    let mean = events * kits.moment(1);
    if mean > MOST_MEAN {
        return Err(OutOfRange::new(
            "expected number of kits",
            mean,
            "at most 100000",
        ));
    }
    let exactly = panjer(events, kits, mean);
    Ok(KitDemand::new(exactly, mean, events * kits.moment(2)))
}

fn checked_events(events: f64) -> Result<f64, OutOfRange> {
    if (0.0..=MOST_EVENTS).contains(&events) {
        Ok(events)
    } else {
        Err(OutOfRange::new(
            "expected number of failures",
            events,
            "between 0 and 10000",
        ))
    }
}

/// The terms f(0), f(1), … normalised to a sum of one.
fn panjer(events: f64, kits: &KitsPerEvent, mean: f64) -> Vec<f64> {
    let weights: Vec<(usize, f64)> = kits
        .shares
        .iter()
        .filter(|&&(count, _)| count > 0)
        .filter_map(|&(count, share)| {
            let reach = usize::try_from(count).ok()?;
            Some((reach, events * f64::from(count) * share))
        })
        .collect();
    let window = weights.iter().map(|&(reach, _)| reach).max().unwrap_or(0);
    if mean <= 0.0 || window == 0 {
        return vec![1.0];
    }
    let mut terms = vec![1.0_f64];
    let mut sum = 1.0_f64;
    let mut small_run = 0_usize;
    let mut at = 0.0_f64;
    loop {
        at += 1.0;
        let next = terms.len();
        let term = weights
            .iter()
            .take_while(|&&(reach, _)| reach <= next)
            .map(|&(reach, weight)| weight * terms[next - reach])
            .sum::<f64>()
            / at;
        terms.push(term);
        sum += term;
        if term > 1.0 / SCALE {
            // What underflows here is below 10⁻³⁰⁰ of the largest term.
            for one in &mut terms {
                *one *= SCALE;
            }
            sum *= SCALE;
        }
        small_run = if term <= sum * NEGLIGIBLE {
            small_run + 1
        } else {
            0
        };
        if at > mean && small_run >= window {
            break;
        }
    }
    let total = backwards_sums(&terms).first().copied().unwrap_or(sum);
    for one in &mut terms {
        *one /= total;
    }
    terms
}

/// For each place the sum from there to the end, added from the small end with compensation.
fn backwards_sums(terms: &[f64]) -> Vec<f64> {
    let mut sums = running_sums(terms.iter().rev());
    sums.reverse();
    sums
}

/// Running sums after Neumaier, so that thousands of terms cost no digits.
fn running_sums<'a>(terms: impl Iterator<Item = &'a f64>) -> Vec<f64> {
    let mut sum = 0.0_f64;
    let mut lost = 0.0_f64;
    terms
        .map(|&term| {
            let next = sum + term;
            lost += if sum.abs() >= term.abs() {
                (sum - next) + term
            } else {
                (term - next) + sum
            };
            sum = next;
            sum + lost
        })
        .collect()
}

fn place(number: u32) -> usize {
    usize::try_from(number).unwrap_or(usize::MAX)
}

impl KitDemand {
    fn new(exactly: Vec<f64>, mean: f64, variance: f64) -> Self {
        let at_most = running_sums(exactly.iter())
            .into_iter()
            .map(|sum| sum.min(1.0))
            .collect();
        let more_than: Vec<f64> = backwards_sums(&exactly)
            .into_iter()
            .skip(1)
            .chain([0.0])
            .collect();
        let excess = backwards_sums(&more_than);
        Self {
            exactly,
            at_most,
            more_than,
            excess,
            mean,
            variance,
        }
    }

    /// P(D = n). Beyond the end of the list it is below 10⁻¹⁵ and given as zero.
    #[must_use]
    pub fn exactly(&self, number: u32) -> f64 {
        self.exactly.get(place(number)).copied().unwrap_or(0.0)
    }

    /// P(D ≤ n), summed from zero upwards.
    #[must_use]
    pub fn at_most(&self, number: u32) -> f64 {
        self.at_most.get(place(number)).copied().unwrap_or(1.0)
    }

    /// P(D > n), summed from the far end, so that small chances keep their digits.
    #[must_use]
    pub fn more_than(&self, number: u32) -> f64 {
        self.more_than.get(place(number)).copied().unwrap_or(0.0)
    }

    /// E(D − n)⁺ = Σ P(D > m) over m ≥ n: the kits that are missing on average with n in stock.
    #[must_use]
    pub fn expected_excess(&self, number: u32) -> f64 {
        self.excess.get(place(number)).copied().unwrap_or(0.0)
    }

    /// E(n − D)⁺ = Σ P(D ≤ m) over m < n: the kits that are left over on average out of n.
    #[must_use]
    pub fn expected_left(&self, number: u32) -> f64 {
        let inside = self.at_most.len().min(place(number));
        let beyond = f64::from(number) - f64::from(u32::try_from(inside).unwrap_or(number));
        let sum = running_sums(self.at_most.iter().take(inside))
            .last()
            .copied()
            .unwrap_or(0.0);
        sum + beyond
    }

    /// The expected number of kits, Λ·E\[K\].
    #[must_use]
    pub fn mean(&self) -> f64 {
        self.mean
    }

    /// The variance of the number of kits, Λ·E\[K²\].
    #[must_use]
    pub fn variance(&self) -> f64 {
        self.variance
    }

    /// The largest number of kits in the list; more than this has a chance below 10⁻¹⁵.
    #[must_use]
    pub fn largest(&self) -> u32 {
        u32::try_from(self.exactly.len().saturating_sub(1)).unwrap_or(u32::MAX)
    }
}
