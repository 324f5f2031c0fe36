//! The least zone by linear programming with four unknowns: the simplex rule on the dual problem.
//! It knows rows and heights only; stations, units and planes are left outside.

use super::frame::inner;

/// Violations below this part of the largest least-squares residual are rounding.
const ROUNDING: f64 = 1e-13;

/// The answer: weights of the middle plane, and the rows that touch the zone.
pub(super) struct Zone {
    pub(super) weights: [f64; 3],
    pub(super) carrying: Vec<usize>,
}

/// One of the four constraints that hold the zone: a station, and on which side it touches.
#[derive(Clone, Copy, PartialEq)]
struct Touch {
    at: usize,
    side: f64,
}

/// Finds the least zone by exchanging touching stations: every round takes in a station outside the
/// zone of the present four and lets go the one that keeps all four multipliers non-negative.
pub(super) fn exchange(rows: &[[f64; 3]], heights: &[f64]) -> Option<Zone> {
    let mut basis = start(rows)?;
    let greedy_rounds = rows.len() + 32;
    for round in 0..greedy_rounds + 4 * rows.len() + 1_000 {
        let matrix = [0, 1, 2, 3].map(|k| column(rows, basis[k]));
        // Transposed system: side·(row·w) + h = side·height for each touching station.
        let solution = solve(
            matrix,
            [0, 1, 2, 3].map(|k| basis[k].side * heights[basis[k].at]),
        )?;
        let weights = [solution[0], solution[1], solution[2]];
        let half = solution[3];
        let outside = |at: usize| (heights[at] - inner(&rows[at], &weights)).abs() - half;
        let entering = if round < greedy_rounds {
            let mut most = (0, f64::NEG_INFINITY);
            for at in 0..rows.len() {
                if outside(at) > most.1 {
                    most = (at, outside(at));
                }
            }
            (most.1 > ROUNDING).then_some(most.0)
        } else {
            (0..rows.len()).find(|&at| outside(at) > ROUNDING)
        };
        let Some(at) = entering else {
            let mut carrying: Vec<usize> = basis.iter().map(|touch| touch.at).collect();
            carrying.sort_unstable();
            carrying.dedup();
            return Some(Zone { weights, carrying });
        };
        let side = if heights[at] >= inner(&rows[at], &weights) {
            1.0
        } else {
            -1.0
        };
        let entering = Touch { at, side };
        let columns = transposed(matrix);
        let multipliers = solve(columns, [0.0, 0.0, 0.0, 1.0])?;
        let direction = solve(columns, column(rows, entering))?;
        let leaving = leaving(&basis, &multipliers, &direction)?;
        basis[leaving] = entering;
    }
    None
}

fn leaving(basis: &[Touch; 4], multipliers: &[f64; 4], direction: &[f64; 4]) -> Option<usize> {
    let mut best: Option<(usize, f64)> = None;
    for k in 0..4 {
        if direction[k] > 1e-12 {
            let ratio = multipliers[k].max(0.0) / direction[k];
            let better = best.is_none_or(|(j, least)| {
                ratio < least - 1e-14 || (ratio <= least + 1e-14 && basis[k].at < basis[j].at)
            });
            if better {
                best = Some((k, ratio));
            }
        }
    }
    best.map(|(k, _)| k)
}

/// Four stations to begin with: far apart, not in one line, sides by the sign of their dependence.
fn start(rows: &[[f64; 3]]) -> Option<[Touch; 4]> {
    let furthest = |measure: &dyn Fn(&[f64; 3]) -> f64| -> usize {
        let mut best = (0, f64::NEG_INFINITY);
        for (at, row) in rows.iter().enumerate() {
            if measure(row) > best.1 {
                best = (at, measure(row));
            }
        }
        best.0
    };
    let first = furthest(&|row| row[1]);
    let second = furthest(&|row| (row[1] - rows[first][1]).hypot(row[2] - rows[first][2]));
    let (a, b) = (rows[first], rows[second]);
    let away = |row: &[f64; 3]| (b[1] - a[1]) * (row[2] - a[2]) - (b[2] - a[2]) * (row[1] - a[1]);
    let third = furthest(&|row| away(row).abs());
    let fourth = (0..rows.len()).find(|at| ![first, second, third].contains(at))?;
    let base = [rows[first], rows[second], rows[third]];
    // rows[fourth] = Σ share·base; the dependence is (share, −1).
    let padded = [
        [base[0][0], base[1][0], base[2][0], 0.0],
        [base[0][1], base[1][1], base[2][1], 0.0],
        [base[0][2], base[1][2], base[2][2], 0.0],
        [0.0, 0.0, 0.0, 1.0],
    ];
    let last = rows[fourth];
    let share = solve(padded, [last[0], last[1], last[2], -1.0])?;
    let side = |k: usize| if share[k] < 0.0 { -1.0 } else { 1.0 };
    Some([
        Touch {
            at: first,
            side: side(0),
        },
        Touch {
            at: second,
            side: side(1),
        },
        Touch {
            at: third,
            side: side(2),
        },
        Touch {
            at: fourth,
            side: -1.0,
        },
    ])
}

fn column(rows: &[[f64; 3]], touch: Touch) -> [f64; 4] {
    let row = &rows[touch.at];
    [
        touch.side * row[0],
        touch.side * row[1],
        touch.side * row[2],
        1.0,
    ]
}

fn transposed(m: [[f64; 4]; 4]) -> [[f64; 4]; 4] {
    [0, 1, 2, 3].map(|r| [0, 1, 2, 3].map(|c| m[c][r]))
}

/// Solves four equations by elimination with row pivoting; nothing if they are dependent.
fn solve(mut m: [[f64; 4]; 4], mut right: [f64; 4]) -> Option<[f64; 4]> {
    for k in 0..4 {
        let mut pivot = k;
        for row in k + 1..4 {
            if m[row][k].abs() > m[pivot][k].abs() {
                pivot = row;
            }
        }
        if m[pivot][k].abs() < 1e-14 {
            return None;
        }
        m.swap(k, pivot);
        right.swap(k, pivot);
        for row in k + 1..4 {
            let factor = m[row][k] / m[k][k];
            let above = m[k];
            for (cell, above) in m[row].iter_mut().zip(above) {
                *cell -= factor * above;
            }
            right[row] -= factor * right[k];
        }
    }
    for k in (0..4).rev() {
        for col in k + 1..4 {
            right[k] -= m[k][col] * right[col];
        }
        right[k] /= m[k][k];
    }
    Some(right)
}
