//! Stations in coordinates fit for computing: the columns 1, x and y made orthonormal.
//! The zone is sought in `exchange`; here is the least-squares plane and the way back to x and y.

use super::{FlatnessError, Plane, Station};

/// Stations whose spread across their main direction is less than this part of the spread along
/// it count as lying in one line: a plane through them would tilt freely.
const LEAST_WIDTH: f64 = 1e-6;

/// The columns 1, x and y made orthonormal over the stations, so that every later solution is well
/// conditioned whatever the units and wherever the origin lies.
pub(super) struct Frame {
    pub(super) rows: Vec<[f64; 3]>,
    centre: (f64, f64),
    /// Which of x and y spreads further and came first.
    x_first: bool,
    first: f64,
    shared: f64,
    second: f64,
    unit: f64,
}

impl Frame {
    pub(super) fn through(stations: &[Station]) -> Result<Self, FlatnessError> {
        let n = count(stations.len());
        let cx = stations.iter().map(|s| s.x / n).sum::<f64>();
        let cy = stations.iter().map(|s| s.y / n).sum::<f64>();
        let norm = |values: &[f64]| values.iter().map(|v| v * v).sum::<f64>().sqrt();
        let xs: Vec<f64> = stations.iter().map(|s| s.x - cx).collect();
        let ys: Vec<f64> = stations.iter().map(|s| s.y - cy).collect();
        let x_first = norm(&xs) >= norm(&ys);
        let (main, cross) = if x_first { (xs, ys) } else { (ys, xs) };
        let first = norm(&main);
        if first <= 0.0 {
            return Err(FlatnessError::OneLine);
        }
        let along: Vec<f64> = main.iter().map(|v| v / first).collect();
        let shared: f64 = along.iter().zip(&cross).map(|(a, b)| a * b).sum();
        let rest: Vec<f64> = cross
            .iter()
            .zip(&along)
            .map(|(c, a)| c - shared * a)
            .collect();
        let second = norm(&rest);
        if second <= LEAST_WIDTH * first {
            return Err(FlatnessError::OneLine);
        }
        let unit = n.sqrt().recip();
        let rows = along
            .iter()
            .zip(&rest)
            .map(|(a, r)| [unit, *a, r / second])
            .collect();
        Ok(Self {
            rows,
            centre: (cx, cy),
            x_first,
            first,
            shared,
            second,
            unit,
        })
    }

    pub(super) fn project(&self, heights: &[f64]) -> [f64; 3] {
        // A second round on what is left takes out the rounding of the first.
        let once = self.dot(heights);
        let rest = self.residuals(heights, once);
        let again = self.dot(&rest);
        [0, 1, 2].map(|k| once[k] + again[k])
    }

    fn dot(&self, values: &[f64]) -> [f64; 3] {
        let mut sum = [0.0; 3];
        for (row, value) in self.rows.iter().zip(values) {
            for k in 0..3 {
                sum[k] += row[k] * value;
            }
        }
        sum
    }

    pub(super) fn residuals(&self, heights: &[f64], weights: [f64; 3]) -> Vec<f64> {
        self.rows
            .iter()
            .zip(heights)
            .map(|(row, z)| z - inner(row, &weights))
            .collect()
    }

    pub(super) fn plane(&self, weights: [f64; 3]) -> Plane {
        let cross = weights[2] / self.second;
        let main = (weights[1] - self.shared * cross) / self.first;
        let (along, across) = if self.x_first {
            (main, cross)
        } else {
            (cross, main)
        };
        let at_origin = weights[0] * self.unit - along * self.centre.0 - across * self.centre.1;
        Plane {
            along,
            across,
            at_origin,
        }
    }
}

pub(super) fn inner(row: &[f64; 3], weights: &[f64; 3]) -> f64 {
    row[0] * weights[0] + row[1] * weights[1] + row[2] * weights[2]
}

#[expect(clippy::cast_precision_loss, reason = "at most 10 000 stations")]
pub(super) fn count(n: usize) -> f64 {
    n as f64
}
