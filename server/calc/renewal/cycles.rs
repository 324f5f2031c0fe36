//! Expected failures and planned rebuilds when every gauge is rebuilt at failure or at a fixed age, as a table over time.
//! The questions put to it are in `renewal` and `outlook`; nothing is simulated here.

use crate::calc::OutOfRange;
use crate::calc::life::Life;
use crate::calc::numeric::real;
use crate::calc::quantity::significant;

/// The most rebuild intervals a horizon may hold.
pub(crate) const MOST_INTERVALS: f64 = 200.0;
/// The fewest and the most steps one rebuild interval is cut into.
const STEPS: (f64, f64) = (128.0, 4096.0);
/// About the most nodes a table has: a second's work.
const MOST_NODES: f64 = 65_536.0;
/// The coarsest grid that still follows the life: steps a characteristic life, times β above 1.
const COARSEST: f64 = 32.0;

/// Expected numbers by time since a gauge was new, on a grid that divides the rebuild interval.
///
/// With N failures by time t, T the rebuild interval and F the share failed by an age,
/// ```text
/// N(t) = F(t)            + ∫₀ᵗ    F(t − s) dN(s)   for t < T
/// N(t) = F(T) + N(t − T) + ∫ₜ₋ₜᵗ  F(t − s) dN(s)   from t − T to t, for t ≥ T
/// ```
/// which is the renewal equation of age replacement integrated by parts. The integral is a
/// Riemann-Stieltjes sum with F taken at the middle of each cell, after M. Xie, "On the solution
/// of renewal-type integral equations", Communications in Statistics B 18 (1989) 281 (from
/// memory). Two grids, one twice as fine, are extrapolated.
pub(crate) struct Cycles {
    life: Life,
    every: f64,
    step: f64,
    steps: usize,
    failures: Vec<f64>,
    /// Planned rebuilds but for the jumps at whole intervals, which gauges that never failed make.
    planned: Vec<f64>,
    accuracy: f64,
}

impl Cycles {
    /// Fills the table up to `horizon` with `fineness` steps a characteristic life, as far as the
    /// limits of steps allow. `every` and `horizon` are positive and in the unit of the life.
    pub(crate) fn new(
        life: Life,
        every: f64,
        horizon: f64,
        fineness: f64,
    ) -> Result<Self, OutOfRange> {
        let coarsest = COARSEST * life.shape().max(1.0) / life.scale();
        if coarsest * every > STEPS.1 {
            let most = significant(STEPS.1 / coarsest, 4);
            return Err(OutOfRange::new(
                "time between rebuilds",
                every,
                format!("at most {most} for this life"),
            ));
        }
        let most = (MOST_NODES / coarsest).min(MOST_INTERVALS * every);
        if horizon > most {
            return Err(OutOfRange::new(
                "horizon",
                horizon,
                format!(
                    "at most {} for this life and interval",
                    significant(most, 4)
                ),
            ));
        }
        let wanted = (fineness / life.scale())
            .min(MOST_NODES / horizon)
            .max(coarsest);
        let steps = whole((wanted * every).clamp(STEPS.0, STEPS.1).ceil());
        let step = every / real(steps);
        let nodes = whole((horizon / step).ceil()) + 2;
        let coarse = grid(life, every, steps, nodes);
        let fine = grid(life, every, 2 * steps, 2 * nodes);
        // The sum errs by h² where F is smooth and by h^(1 + β) at its start.
        let gain = 2f64.powf((1.0 + life.shape()).min(2.0)) - 1.0;
        let mut accuracy: f64 = 0.0;
        let failures: Vec<f64> = coarse
            .iter()
            .zip(fine.iter().step_by(2))
            .map(|(rough, better)| {
                accuracy = accuracy.max((better - rough).abs() / gain);
                better + (better - rough) / gain
            })
            .collect();
        let keep = life.survival(every);
        let mut planned: Vec<f64> = vec![0.0; failures.len()];
        for i in steps..failures.len() {
            planned[i] = keep * (failures[i - steps] + planned[i - steps]);
        }
        Ok(Self {
            life,
            every,
            step,
            steps,
            failures,
            planned,
            accuracy,
        })
    }

    /// An upper estimate of the error of the failures at a time: the largest change the last
    /// halving of the step made anywhere, and the bend of the curve between two nodes.
    pub(crate) fn accuracy(&self, at: f64) -> f64 {
        let i = whole((at / self.step).floor()).clamp(1, self.failures.len() - 2);
        let bend = self.failures[i + 1] - 2.0 * self.failures[i] + self.failures[i - 1];
        let share = (at / self.step).fract();
        self.accuracy + bend.abs() * share * (1.0 - share) / 2.0
    }

    /// Expected failures and planned rebuilds by time `at` of a gauge that is new now; a rebuild
    /// planned for that very time is not counted.
    pub(crate) fn of_new(&self, at: f64) -> (f64, f64) {
        let (failures, planned) = self.smooth(at);
        (failures, planned + self.jumps(0.0, at, |_| 1.0))
    }

    /// The same for a gauge of an age below the rebuild interval.
    ///
    /// Its first failure follows F given survival to `age`; afterwards it is as a new one.
    pub(crate) fn of_aged(&self, at: f64, age: f64) -> (f64, f64) {
        let spent = self.life.cumulative_hazard(age);
        let failed = |time: f64| -(spent - self.life.cumulative_hazard(age + time)).exp_m1();
        let left = self.every - age;
        let (from, mut failures, mut planned);
        if at <= left {
            (from, failures, planned) = (0.0, failed(at), 0.0);
        } else {
            from = at - left;
            let later = self.of_new(from);
            (failures, planned) = (failed(left) + later.0, 1.0 - failed(left) + later.1);
        }
        let (mut begin, mut before) = (from, self.smooth(from));
        let first = whole((from / self.step).floor()) + 1;
        let last = whole((at / self.step).floor());
        let nodes =
            (first..=last).map(|i| (real(i) * self.step, (self.failures[i], self.planned[i])));
        for (end, after) in nodes.chain([(at, self.smooth(at))]) {
            let weight = failed((at - f64::midpoint(begin, end)).max(0.0));
            failures += weight * (after.0 - before.0);
            planned += weight * (after.1 - before.1);
            (begin, before) = (end, after);
        }
        planned += self.jumps(from, at, |whole| failed(at - whole));
        (failures, planned)
    }

    /// Both curves between the nodes, without the jumps of the second: parabolas through three
    /// nodes of one interval. Right after a rebuild the failures of a falling hazard rise as F does.
    fn smooth(&self, at: f64) -> (f64, f64) {
        let i = whole((at / self.step).floor()).min(self.failures.len() - 3);
        let first = i.is_multiple_of(self.steps);
        let mut share = (at / self.step - real(i)).clamp(0.0, 1.0);
        let mut bow = share * (share - 1.0) / 2.0;
        if first && self.life.shape() < 1.0 {
            share = self.life.failed_by(share * self.step) / self.life.failed_by(self.step);
            bow = 0.0;
        }
        let middle = if first { i + 1 } else { i };
        let between = |curve: &[f64]| {
            let bend = curve[middle + 1] - 2.0 * curve[middle] + curve[middle - 1];
            curve[i] + share * (curve[i + 1] - curve[i]) + bow * bend
        };
        (between(&self.failures), between(&self.planned))
    }

    /// Sum of the jumps R(T)^k at whole intervals kT after `from` and before `to`, each weighted.
    fn jumps(&self, from: f64, to: f64, weight: impl Fn(f64) -> f64) -> f64 {
        let keep = self.life.survival(self.every);
        let (mut sum, mut jump, mut k) = (0.0, keep, 1);
        loop {
            let at = real(k) * self.every;
            if at >= to * (1.0 - 1e-12) {
                return sum;
            }
            if at >= from * (1.0 - 1e-12) {
                sum += jump * weight(at);
            }
            jump *= keep;
            k += 1;
        }
    }
}

/// The renewal equation on one grid.
fn grid(life: Life, every: f64, steps: usize, nodes: usize) -> Vec<f64> {
    let step = every / real(steps);
    // weights[k] = F at the middle of the cell that ends k steps back, the newest last.
    let mut weights: Vec<f64> = (0..steps)
        .map(|k| life.failed_by((real(k) + 0.5) * step))
        .collect();
    let newest = weights[0];
    weights.reverse();
    let mut failures = Vec::with_capacity(nodes + 1);
    let mut added: Vec<f64> = Vec::with_capacity(nodes);
    failures.push(0.0);
    for i in 1..=nodes {
        let back = i.min(steps);
        let base = if i < steps {
            life.failed_by(real(i) * step)
        } else {
            life.failed_by(every) + failures[i - steps]
        };
        let earlier = &added[i - back..];
        let sum: f64 = earlier
            .iter()
            .zip(&weights[steps - back..])
            .map(|(n, w)| n * w)
            .sum();
        let now = (base + sum - newest * failures[i - 1]) / (1.0 - newest);
        added.push(now - failures[i - 1]);
        failures.push(now);
    }
    failures
}

/// A whole number from a float that holds one; table sizes are bounded well below 2^32.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "callers pass non-negative numbers of steps, slots and years, far below 2^32"
)]
pub(crate) fn whole(value: f64) -> usize {
    value as usize
}
