//! The Weibull log-likelihood of checked life data, its slopes, and its maximum on the plane and on lines.
//! What the maximum means, its bounds and its wording are not here.
//!
//! The parameters are β and ν = β (ln η − o), where o is the logarithm of the longest age. In these
//! the log-likelihood of exact, right-, left- and interval-censored lives is concave (the density
//! of ln t is log-concave), so Newton steps with halving always reach its one maximum. Late entry
//! adds a convex term; the halving still makes every step an improvement.

use crate::calc::life::{FLATTEST, LifeData, LifeError, STEEPEST, Seen};
use crate::calc::numeric::real;

/// Beyond this exponent `exp` of a float is infinite or nothing is left of the term.
const FAR: f64 = 700.0;

/// The lives as centred logarithms, sorted by what they add to the likelihood.
pub(super) struct Likelihood {
    /// Ages at which a life was exposed to its end: failures and good-until ages.
    exposed: Vec<f64>,
    /// Ages at which records began, where later than 0: exposure that was not watched.
    unwatched: Vec<f64>,
    /// Last seen good (−∞ for never) and found failed.
    found: Vec<(f64, f64)>,
    failed: f64,
    sum_failed: f64,
    sum_ln_age: f64,
    origin: f64,
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
    pub fn new(data: &LifeData) -> Self {
        let longest = data.observations().iter().map(|o| match o.seen {
            Seen::Failed { at } => at,
            Seen::Good { until } => until,
            Seen::FoundFailed { by, .. } => by,
        });
        let longest = longest.fold(f64::MIN_POSITIVE, f64::max);
        let origin = longest.ln();
        let mut made = Self {
            exposed: Vec::new(),
            unwatched: Vec::new(),
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
                    made.exposed.push(at.ln() - origin);
                }
                Seen::Good { until } if until > observation.since => {
                    made.exposed.push(until.ln() - origin);
                }
                Seen::Good { .. } => continue,
                Seen::FoundFailed { after, by } => {
                    made.found.push((after.ln() - origin, by.ln() - origin));
                }
            }
            if observation.since > 0.0 {
                made.unwatched.push(observation.since.ln() - origin);
            }
        }
        made
    }

    /// The logarithm of the longest age, which ν is counted from.
    pub fn origin(&self) -> f64 {
        self.origin
    }

    /// Whether every failure has its exact age.
    pub fn all_exact(&self) -> bool {
        self.found.is_empty()
    }

    /// Σ t^β over all watched exposure, in units of the longest age to the power β; a life found
    /// failed counts only as far as it was seen good.
    pub fn exposure(&self, shape: f64) -> f64 {
        let sum = |ages: &[f64]| ages.iter().map(|x| (shape * x).exp()).sum::<f64>();
        let seen_good: f64 = self.found.iter().map(|(after, _)| (shape * after).exp()).sum();
        sum(&self.exposed) + seen_good - sum(&self.unwatched)
    }

    /// The log-likelihood and its slopes at (β, ν).
    pub fn at(&self, shape: f64, place: f64) -> Slopes {
        let (mut w0, mut w1, mut w2) = (0.0, 0.0, 0.0);
        for &x in &self.exposed {
            let w = (shape * x - place).exp();
            w0 += w;
            w1 += w * x;
            w2 += w * x * x;
        }
        for &x in &self.unwatched {
            let w = (shape * x - place).exp();
            w0 -= w;
            w1 -= w * x;
            w2 -= w * x * x;
        }
        let mut s = Slopes {
            value: self.failed * (shape.ln() - place) + shape * self.sum_failed - w0 - self.sum_ln_age,
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
    pub fn peak(&self) -> Result<Peak, LifeError> {
        let rough: f64 = self.exposure(1.0)
            + self.found.iter().map(|(after, by)| 0.5 * (by.exp() - after.exp())).sum::<f64>();
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
        let found = Peak { shape, place, slopes: here };
        let Slopes { shape_shape: a, shape_place: b, place_place: c, .. } = here;
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
    pub fn best_place(&self, shape: f64, start: f64) -> (f64, f64) {
        let mut place = start;
        if self.all_exact() {
            place = (self.exposure(shape) / self.failed).ln();
            return (place, self.at(shape, place).value);
        }
        let mut here = self.at(shape, place);
        for _ in 0..300 {
            let step = (-here.by_place / here.place_place).clamp(-4.0, 4.0);
            let gain = step * here.by_place;
            let mut part = 1.0;
            for _ in 0..60 {
                let next = self.at(shape, place + part * step);
                if next.value >= here.value - 1e-13 * here.value.abs() {
                    place += part * step;
                    here = next;
                    break;
                }
                part *= 0.5;
            }
            if gain < 1e-20 || place.abs() > FAR {
                break;
            }
        }
        (place, here.value)
    }

    /// The best log-likelihood along a line, with the β where it is reached.
    pub fn best_on(&self, line: Line, start: f64) -> (f64, f64) {
        let Line { tilt, offset } = line;
        let mut shape = start;
        let mut here = self.at(shape, tilt * shape + offset);
        for _ in 0..300 {
            let slope = here.by_shape + tilt * here.by_place;
            let bend = here.shape_shape + 2.0 * tilt * here.shape_place + tilt * tilt * here.place_place;
            let raw = if bend < 0.0 { -slope / bend } else { slope.signum() * shape };
            let step = raw.clamp(-0.7 * shape, 2.0 * shape);
            let gain = step * slope;
            let mut part = 1.0;
            for _ in 0..60 {
                let tried = shape + part * step;
                let next = self.at(tried, tilt * tried + offset);
                if next.value >= here.value - 1e-13 * here.value.abs() {
                    shape = tried;
                    here = next;
                    break;
                }
                part *= 0.5;
            }
            if gain < 1e-20 || !(1e-9..1e9).contains(&shape) {
                break;
            }
        }
        (shape, here.value)
    }
}

impl Slopes {
    /// Adds ln(R(after) − R(by)) of one life found failed.
    fn add_found(&mut self, shape: f64, place: f64, after: f64, by: f64) {
        let z_by = shape * by - place;
        let w_by = z_by.exp();
        let never_seen = after == f64::NEG_INFINITY;
        let (x_after, w_after, between) = if never_seen {
            (0.0, 0.0, w_by)
        } else {
            let z_after = shape * after - place;
            let w_after = z_after.exp();
            (after, w_after, w_after * (z_by - z_after).exp_m1())
        };
        self.value += (-(-between).exp_m1()).ln() - w_after;
        // q = 1/(e^D − 1) with D the hazard between the looks.
        let q = if between < FAR { between.exp_m1().recip() } else { 0.0 };
        let wq = if between < FAR { w_by * q } else { 0.0 };
        let a = -w_after * (1.0 + q);
        let aa = a - w_after * w_after * q * (1.0 + q);
        let bb = wq - wq * w_by * (1.0 + q);
        let ab = w_after * wq * (1.0 + q);
        self.by_shape += a * x_after + wq * by;
        self.by_place -= a + wq;
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
