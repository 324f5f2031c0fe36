//! The Weibull log-likelihood of checked life data, its slopes, and its maximum on the plane and on lines.
//! What the maximum means, its bounds and its wording are not here.
//!
//! The parameters are β and ν = β (ln η − o), where o is the logarithm of the longest age. In these
//! the log-likelihood of exact, right-, left- and interval-censored lives is concave (the density
//! of ln t is log-concave), so Newton steps with halving always reach its one maximum. Late entry
//! adds a convex term; the halving still makes every step an improvement.

use std::collections::HashMap;

use crate::calc::life::{FLATTEST, LifeData, LifeError, STEEPEST, Seen};
use crate::calc::numeric::real;

/// Beyond this exponent `exp` of a float is infinite or nothing is left of the term.
const FAR: f64 = 700.0;

/// The lives as centred logarithms, sorted by what they add to the likelihood.
pub(super) struct Likelihood {
    /// Ages at which a life was exposed to its end: failures and good-until ages.
    exposed: Ages,
    /// Ages at which records began, where later than 0: exposure that was not watched.
    unwatched: Ages,
    /// Last seen good (−∞ for never) and found failed.
    found: Vec<(f64, f64)>,
    failed: f64,
    sum_failed: f64,
    sum_ln_age: f64,
    origin: f64,
}

/// Ages as centred logarithms, equal ones together: a fleet of many thousands has only as many
/// different ages as days, and every evaluation walks the different ones alone.
#[derive(Default)]
struct Ages {
    counted: Vec<(f64, f64)>,
    places: HashMap<u64, usize>,
}

impl Ages {
    fn add(&mut self, age: f64) {
        let next = self.counted.len();
        let place = *self.places.entry(age.to_bits()).or_insert(next);
        if place == next {
            self.counted.push((age, 1.0));
        } else {
            self.counted[place].1 += 1.0;
        }
    }

    fn sum(&self, shape: f64) -> f64 {
        self.counted
            .iter()
            .map(|(x, n)| n * (shape * x).exp())
            .sum()
    }
}

/// The log-likelihood at one point with its first and second slopes.
#[derive(Clone, Copy)]
pub(super) struct Slopes {
    pub value: f64,
    by_shape: f64,
    by_place: f64,
    pub shape_shape: f64,
    pub shape_place: f64,
    pub place_place: f64,
}

/// A maximum: where, and how the log-likelihood bends there.
#[derive(Clone, Copy)]
pub(super) struct Peak {
    pub shape: f64,
    pub place: f64,
    pub slopes: Slopes,
}

/// A line through the plane on which one quantity keeps its value: ν = `tilt`·β + `offset`.
#[derive(Clone, Copy)]
pub(super) struct Line {
    pub tilt: f64,
    pub offset: f64,
}

impl Likelihood {
    /// Prepares the data; lives that tell nothing (good until the age their records begin) drop out.
    pub(super) fn new(data: &LifeData) -> Self {
        let longest = data.observations().iter().map(|o| match o.seen {
            Seen::Failed { at } => at,
            Seen::Good { until } => until,
            Seen::FoundFailed { by, .. } => by,
        });
        let longest = longest.fold(f64::MIN_POSITIVE, f64::max);
        let origin = longest.ln();
        let mut made = Self {
            exposed: Ages::default(),
            unwatched: Ages::default(),
            found: Vec::new(),
            failed: 0.0,
            sum_failed: 0.0,
            sum_ln_age: 0.0,
            origin,
        };
        for observation in data.observations() {
            match observation.seen {
                Seen::Failed { at } => {
                    made.failed += 1.0;
                    made.sum_failed += at.ln() - origin;
                    made.sum_ln_age += at.ln();
                    made.exposed.add(at.ln() - origin);
                }
                Seen::Good { until } if until > observation.since => {
                    made.exposed.add(until.ln() - origin);
                }
                Seen::Good { .. } => continue,
                Seen::FoundFailed { after, by } => {
                    made.found.push((after.ln() - origin, by.ln() - origin));
                }
            }
            if observation.since > 0.0 {
                made.unwatched.add(observation.since.ln() - origin);
            }
        }
        made
    }

    /// The logarithm of the longest age, which ν is counted from.
    pub(super) fn origin(&self) -> f64 {
        self.origin
    }

    /// Whether every failure has its exact age.
    pub(super) fn all_exact(&self) -> bool {
        self.found.is_empty()
    }

    /// Σ t^β over all watched exposure, in units of the longest age to the power β; a life found
    /// failed counts only as far as it was seen good.
    pub(super) fn exposure(&self, shape: f64) -> f64 {
        let seen_good: f64 = self
            .found
            .iter()
            .map(|(after, _)| (shape * after).exp())
            .sum();
        self.exposed.sum(shape) + seen_good - self.unwatched.sum(shape)
    }

    /// The log-likelihood and its slopes at (β, ν).
    pub(super) fn at(&self, shape: f64, place: f64) -> Slopes {
        let (mut w0, mut w1, mut w2) = (0.0, 0.0, 0.0);
        for &(x, n) in &self.exposed.counted {
            let w = n * (shape * x - place).exp();
            w0 += w;
            w1 += w * x;
            w2 += w * x * x;
        }
        for &(x, n) in &self.unwatched.counted {
            let w = n * (shape * x - place).exp();
            w0 -= w;
            w1 -= w * x;
            w2 -= w * x * x;
        }
        let mut s = Slopes {
            value: self.failed * (shape.ln() - place) + shape * self.sum_failed
                - w0
                - self.sum_ln_age,
            by_shape: self.failed / shape + self.sum_failed - w1,
            by_place: w0 - self.failed,
            shape_shape: -self.failed / (shape * shape) - w2,
            shape_place: w1,
            place_place: -w0,
        };
        for &(after, by) in &self.found {
            s.add_found(shape, place, after, by);
        }
        s
    }

    /// The maximum over both parameters.
    pub(super) fn peak(&self) -> Result<Peak, LifeError> {
        let rough: f64 = self.exposure(1.0)
            + self
                .found
                .iter()
                .map(|(after, by)| 0.5 * (by.exp() - after.exp()))
                .sum::<f64>();
        let failures = self.failed + real(self.found.len());
        let mut shape = 1.0;
        let mut place = (rough.max(1e-12) / failures).ln();
        let mut here = self.at(shape, place);
        for _ in 0..300 {
            let (d_shape, d_place, gain) = here.newton();
            let mut part = (2.0 * shape / d_shape.abs()).min(1.0);
            if d_shape < 0.0 {
                part = part.min(-0.7 * shape / d_shape);
            }
            let start = (shape, place);
            for _ in 0..60 {
                let next = self.at(start.0 + part * d_shape, start.1 + part * d_place);
                if next.value >= here.value - 1e-13 * here.value.abs() {
                    (shape, place) = (start.0 + part * d_shape, start.1 + part * d_place);
                    here = next;
                    break;
                }
                part *= 0.5;
            }
            if shape > 10.0 * STEEPEST {
                return Err(LifeError::AllAtOneAge);
            }
            if shape < 0.1 * FLATTEST {
                return Err(LifeError::ShapeNotFixed);
            }
            if gain < 1e-20 {
                break;
            }
        }
        let found = Peak {
            shape,
            place,
            slopes: here,
        };
        let Slopes {
            shape_shape: a,
            shape_place: b,
            place_place: c,
            ..
        } = here;
        if shape > STEEPEST {
            Err(LifeError::AllAtOneAge)
        } else if shape < FLATTEST || !(a < 0.0 && a * c - b * b > 1e-10 * a * c) {
            Err(LifeError::ShapeNotFixed)
        } else {
            Ok(found)
        }
    }

    /// The ν that is best for a given β, with the log-likelihood there; ν runs away to −∞ when
    /// everything was found failed at its first look.
    pub(super) fn best_place(&self, shape: f64, start: f64) -> (f64, f64) {
        if self.all_exact() {
            let place = (self.exposure(shape) / self.failed).ln();
            return (place, self.at(shape, place).value);
        }
        crest(start, |place| {
            let here = self.at(shape, place);
            [here.value, here.by_place, here.place_place]
        })
    }

    /// The best log-likelihood along a line, with the β where it is reached.
    pub(super) fn best_on(&self, line: Line, start: f64) -> (f64, f64) {
        let Line { tilt, offset } = line;
        let (ln_shape, value) = crest(start.ln(), |ln_shape| {
            let shape = ln_shape.exp();
            let here = self.at(shape, tilt * shape + offset);
            let slope = here.by_shape + tilt * here.by_place;
            let bend =
                here.shape_shape + 2.0 * tilt * here.shape_place + tilt * tilt * here.place_place;
            [
                here.value,
                shape * slope,
                shape * shape * bend + shape * slope,
            ]
        });
        (ln_shape.exp(), value)
    }

    /// The best log-likelihood along a curve ν(β), with the β where it is reached: golden sections of
    /// a bracket about the start that moves while the top lies at its edge.
    pub(super) fn best_along(&self, place: impl Fn(f64) -> f64, start: f64) -> (f64, f64) {
        let height = |ln_shape: f64| {
            let shape = ln_shape.exp();
            self.at(shape, place(shape)).value
        };
        let mut centre = start.ln();
        let mut found = (start, f64::NEG_INFINITY);
        for _ in 0..8 {
            let (mut low, mut high) = (centre - 1.0, centre + 1.0);
            let (mut a, mut b) = (high - GOLDEN * (high - low), low + GOLDEN * (high - low));
            let (mut at_a, mut at_b) = (height(a), height(b));
            while high - low > 1e-7 {
                if at_a > at_b {
                    (high, b, at_b) = (b, a, at_a);
                    a = high - GOLDEN * (high - low);
                    at_a = height(a);
                } else {
                    (low, a, at_a) = (a, b, at_b);
                    b = low + GOLDEN * (high - low);
                    at_b = height(b);
                }
            }
            let top = f64::midpoint(low, high);
            found = (top.exp(), height(top));
            if (top - centre).abs() < 0.999 {
                break;
            }
            centre = top;
        }
        found
    }
}

/// The golden section of a bracket.
const GOLDEN: f64 = 0.618_033_988_749_894_9;

/// The top of a function with one top and its height there, from its value, slope and bend: Newton
/// steps while they are short, else within a bracket that only shrinks. A top farther than [`FAR`]
/// from the start is given as the place where the search ended.
fn crest(start: f64, mut at: impl FnMut(f64) -> [f64; 3]) -> (f64, f64) {
    // A step that promises less than this leaves nothing to gain after it.
    const NOTHING: f64 = 1e-13;
    let mut x = start;
    let [mut value, mut slope, mut bend] = at(x);
    for _ in 0..8 {
        let newton = -slope / bend;
        if !(bend < 0.0 && newton.abs() < 0.5) {
            break;
        }
        let gain = newton * slope;
        x += newton;
        [value, slope, bend] = at(x);
        if gain < NOTHING {
            return (x, value);
        }
    }
    let (up, mut step) = (slope > 0.0, 0.5);
    let (mut low, mut high) = (x, x);
    while (slope > 0.0) == up {
        (low, high) = if up { (x, high) } else { (low, x) };
        x += if up { step } else { -step };
        step *= 2.0;
        [value, slope, bend] = at(x);
        if (x - start).abs() > FAR {
            return (x, value);
        }
    }
    (low, high) = if up { (low, x) } else { (x, high) };
    for _ in 0..200 {
        let newton = x - slope / bend;
        let inside = bend < 0.0 && newton > low && newton < high;
        let gain = if inside {
            (newton - x) * slope
        } else {
            f64::INFINITY
        };
        x = if inside {
            newton
        } else {
            f64::midpoint(low, high)
        };
        [value, slope, bend] = at(x);
        if slope > 0.0 {
            low = x;
        } else {
            high = x;
        }
        if gain < NOTHING || high - low <= 1e-14 * (1.0 + x.abs()) {
            break;
        }
    }
    (x, value)
}

impl Slopes {
    /// Adds ln(R(after) − R(by)) of one life found failed.
    ///
    /// D is the hazard between the two looks; its ratios to the hazards at both looks stay finite
    /// where D itself is too small or too large for a float.
    fn add_found(&mut self, shape: f64, place: f64, after: f64, by: f64) {
        let z_by = shape * by - place;
        let (x_after, w_after, by_ratio) = if after == f64::NEG_INFINITY {
            (0.0, 0.0, 1.0)
        } else {
            let w_after = (shape * after - place).min(FAR).exp();
            (after, w_after, -(-shape * (by - after)).exp_m1().recip())
        };
        let after_ratio = by_ratio - 1.0;
        let ln_d = z_by - by_ratio.ln();
        let d = ln_d.min(FAR).exp();
        self.value += if d < 1e-8 {
            ln_d
        } else {
            (-(-d).exp_m1()).ln()
        } - w_after;
        let (q, sinh) = if d < 1e-8 {
            (1.0, 1.0)
        } else {
            (d / d.exp_m1(), 2.0 * (d / 2.0).sinh() / d)
        };
        let k = 1.0 / (sinh * sinh);
        let by_after = -w_after - after_ratio * q;
        let by_by = by_ratio * q;
        let aa = by_after - after_ratio * after_ratio * k;
        let bb = by_by - by_ratio * by_ratio * k;
        let ab = after_ratio * by_ratio * k;
        self.by_shape += by_after * x_after + by_by * by;
        self.by_place -= by_after + by_by;
        self.shape_shape += aa * x_after * x_after + 2.0 * ab * x_after * by + bb * by * by;
        self.shape_place -= aa * x_after + ab * (x_after + by) + bb * by;
        self.place_place += aa + 2.0 * ab + bb;
    }

    /// The Newton step and the gain it promises; where the surface does not bend down, the
    /// diagonal is strengthened until it does.
    fn newton(&self) -> (f64, f64, f64) {
        let mut extra = 0.0;
        for _ in 0..60 {
            let a = -self.shape_shape + extra;
            let c = -self.place_place + extra;
            let det = a * c - self.shape_place * self.shape_place;
            if a > 0.0 && c > 0.0 && det > 1e-14 * a * c {
                let d_shape = (c * self.by_shape + self.shape_place * self.by_place) / det;
                let d_place = (a * self.by_place + self.shape_place * self.by_shape) / det;
                let gain = d_shape * self.by_shape + d_place * self.by_place;
                return (d_shape, d_place, gain);
            }
            extra = if extra == 0.0 {
                1e-6 * (1.0 + self.shape_shape.abs() + self.place_place.abs())
            } else {
                10.0 * extra
            };
        }
        (0.0, 0.0, 0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calc::OutOfRange;
    use crate::calc::life::{AgeUnit, Observation};

    fn mixed() -> Result<Likelihood, OutOfRange> {
        let seen = [
            (Seen::Failed { at: 31.0 }, 0.0),
            (Seen::Failed { at: 18.0 }, 4.0),
            (Seen::Good { until: 40.0 }, 10.0),
            (Seen::Good { until: 3.0 }, 3.0),
            (
                Seen::FoundFailed {
                    after: 0.0,
                    by: 24.0,
                },
                0.0,
            ),
            (
                Seen::FoundFailed {
                    after: 24.0,
                    by: 36.0,
                },
                5.0,
            ),
        ];
        let all = seen.map(|(seen, since)| Observation { seen, since });
        let data = LifeData::new(AgeUnit::Months, all.to_vec())?;
        Ok(Likelihood::new(&data))
    }

    #[test]
    fn slopes_are_those_of_the_value() -> Result<(), OutOfRange> {
        let (likelihood, h) = (mixed()?, 1e-5);
        for (shape, place) in [
            (0.4, -0.3),
            (1.0, 0.0),
            (2.5, 1.0),
            (6.0, -4.0),
            (20.0, 3.0),
        ] {
            let here = likelihood.at(shape, place);
            let up = likelihood.at(shape + h, place);
            let down = likelihood.at(shape - h, place);
            let right = likelihood.at(shape, place + h);
            let left = likelihood.at(shape, place - h);
            let same = |slope: f64, difference: f64| {
                let off = (slope - difference / (2.0 * h)).abs();
                assert!(
                    off < 1e-5 * (1.0 + slope.abs()),
                    "{slope} {}",
                    difference / (2.0 * h)
                );
            };
            same(here.by_shape, up.value - down.value);
            same(here.by_place, right.value - left.value);
            same(here.shape_shape, up.by_shape - down.by_shape);
            same(here.shape_place, right.by_shape - left.by_shape);
            same(here.shape_place, up.by_place - down.by_place);
            same(here.place_place, right.by_place - left.by_place);
        }
        Ok(())
    }

    #[test]
    fn equal_ages_together_count_as_often_as_they_stand() -> Result<(), OutOfRange> {
        let one = |at| Observation {
            seen: Seen::Failed { at },
            since: 0.0,
        };
        let data = LifeData::new(AgeUnit::Days, vec![one(3.0), one(5.0), one(3.0), one(3.0)])?;
        let likelihood = Likelihood::new(&data);
        assert_eq!(likelihood.exposed.counted.len(), 2);
        // Σ t² in units of the longest age: (3·9 + 25) / 25.
        assert!((likelihood.exposure(2.0) - 52.0 / 25.0).abs() < 1e-14);
        Ok(())
    }

    #[test]
    fn far_from_the_data_the_slopes_stay_numbers() -> Result<(), OutOfRange> {
        let likelihood = mixed()?;
        for (shape, place) in [
            (100.0, 500.0),
            (900.0, -600.0),
            (0.01, 650.0),
            (50.0, -690.0),
        ] {
            let here = likelihood.at(shape, place);
            assert!(
                here.by_place.is_finite() && here.place_place.is_finite(),
                "{shape} {place}"
            );
        }
        Ok(())
    }
}
