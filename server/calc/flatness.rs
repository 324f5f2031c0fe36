//! Flatness of a seating face from height readings: minimum zone, and the least-squares value beside it.
//! Whether a flatness is good enough is decided in `conformance`; nothing here knows a limit.

mod exchange;
mod frame;

use rust_decimal::Decimal;
use rust_decimal::prelude::FromPrimitive;
use serde::{Deserialize, Serialize};

use super::OutOfRange;
use super::quantity::{LengthUnit, StampedLength, significant};
use super::working::{Source, Step, Working};
use exchange::exchange;
use frame::{Frame, count};

/// The most stations one face may have.
pub const MOST_STATIONS: usize = 10_000;

/// Largest magnitude a coordinate or a height may have.
const LARGEST: f64 = 1e9;

/// One place on the face where the height was read.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Station {
    /// Along the rail; any unit, the same as `y`.
    pub x: f64,
    /// Across the rails; the same unit as `x`.
    pub y: f64,
    /// Height read there, positive outwards; metres or any one unit, which the results share.
    pub height: f64,
}

/// A plane `height = at_origin + along · x + across · y`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Plane {
    /// Slope along x, height unit per x unit.
    pub along: f64,
    /// Slope along y.
    pub across: f64,
    /// Height at x = 0, y = 0.
    pub at_origin: f64,
}

impl Plane {
    /// Height of the plane under a station.
    #[must_use]
    pub fn height_at(&self, station: &Station) -> f64 {
        self.at_origin + self.along * station.x + self.across * station.y
    }
}

/// The flatness of a face in the unit of the heights.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Flatness {
    /// Least distance between two parallel planes that hold every reading between them.
    pub minimum_zone: f64,
    /// Peak-to-valley deviation from the least-squares plane; never less than the minimum zone.
    pub least_squares: f64,
    /// Root mean square deviation from the least-squares plane.
    pub root_mean_square: f64,
    /// Middle plane of the minimum zone.
    pub plane: Plane,
    /// The least-squares plane.
    pub least_squares_plane: Plane,
    /// Positions (in the order given) of the stations that carry the zone: its high and low points.
    pub carrying: Vec<usize>,
    /// How the values came about.
    pub working: Working,
}

impl Flatness {
    /// The minimum zone as a length in the unit the heights were read in, rounded to ten significant
    /// digits so that binary noise does not push a value over a limit it lies on.
    ///
    /// # Valid range
    /// Every zone [`minimum_zone`] finds.
    ///
    /// # Errors
    /// [`OutOfRange`] for a value that is no number or too large to be written as a decimal one.
    ///
    /// # Source
    /// Rounding of numbers: NIST SP 811 (2008), B.7.1.
    pub fn stamped(&self, unit: LengthUnit) -> Result<StampedLength, OutOfRange> {
        Decimal::from_f64(self.minimum_zone)
            .and_then(|value| value.round_sf(10))
            .map(|value| StampedLength::new(value.normalize(), unit))
            .ok_or_else(|| {
                OutOfRange::new(
                    "flatness",
                    self.minimum_zone,
                    "a number that can be written out",
                )
            })
    }
}

/// Why no flatness can be stated.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum FlatnessError {
    /// Three points always lie in a plane, so fewer than four tell nothing.
    #[error("{given} stations are not enough; flatness needs at least 4")]
    TooFewStations {
        /// How many there were.
        given: usize,
    },
    /// All stations in one line: that is straightness, and says nothing about twist.
    #[error("all stations lie in one line; read along both rails to get flatness")]
    OneLine,
    /// A coordinate or a height that cannot be used.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    /// The search found no answer within its bound of steps; nothing is reported rather than a guess.
    #[error("no minimum zone was found for these readings; check them for mistakes")]
    NotSettled,
}

/// Flatness of a face: the least zone between two parallel planes that holds every reading.
///
/// # Formula
/// minimise h over a, b, c subject to |zᵢ − (a·xᵢ + b·yᵢ + c)| ≤ h; minimum zone = 2·h.
/// Solved exactly as a linear programme with four unknowns by exchanging one of four carrying
/// stations at a time; Bland's rule keeps ties from cycling. Beside it the peak-to-valley and the
/// root-mean-square deviation from the least-squares plane (found by orthogonal columns).
///
/// Deviations are taken along the height axis, not normal to the plane, because heights and
/// positions may have different units. That is never less than the deviation normal to the plane,
/// and for a slope of 0.001 it is 0.5 millionths more.
///
/// # Symbols
/// x, y: position along and across (one unit); z: height (one unit); a, b: slopes; c: height at the
/// origin; h: half the zone.
///
/// # Valid range
/// 4 to 10 000 stations, not all in one line (width at least a millionth of the length), every
/// number finite and at most 1e9. Repeated stations are allowed: both readings must fit.
///
/// # Errors
/// [`FlatnessError`] names what is missing or wrong.
///
/// # Source
/// Definition: ISO 1101 (tolerance zone of two parallel planes) and ISO 12781-1:2011 (minimum-zone
/// and least-squares reference planes). Method: duality of linear programming; the exchange is the
/// simplex method on the dual, finite by Bland's rule.
pub fn minimum_zone(stations: &[Station]) -> Result<Flatness, FlatnessError> {
    check(stations)?;
    let frame = Frame::through(stations)?;
    let heights: Vec<f64> = stations.iter().map(|s| s.height).collect();
    let least = frame.project(&heights);
    let residuals = frame.residuals(&heights, least);
    let scale = residuals.iter().fold(0.0_f64, |most, r| most.max(r.abs()));
    let size = heights.iter().fold(0.0_f64, |most, z| most.max(z.abs()));
    let (weights, carrying) = if scale <= f64::EPSILON * 8.0 * size {
        (least, Vec::new())
    } else {
        let scaled: Vec<f64> = residuals.iter().map(|r| r / scale).collect();
        let zone = exchange(&frame.rows, &scaled).ok_or(FlatnessError::NotSettled)?;
        let weights = [0, 1, 2].map(|k| least[k] + scale * zone.weights[k]);
        (weights, zone.carrying)
    };
    let zone_residuals = frame.residuals(&heights, weights);
    let (low, high) = extremes(&zone_residuals);
    let (valley, peak) = extremes(&residuals);
    let mut plane = frame.plane(weights);
    plane.at_origin += low.midpoint(high);
    // The least-squares plane is itself a candidate: rounding must not turn the order round.
    let minimum_zone = (high - low).min(peak - valley);
    let least_squares = peak - valley;
    let root_mean_square =
        (residuals.iter().map(|r| r * r).sum::<f64>() / count(stations.len())).sqrt();
    let mut flatness = Flatness {
        minimum_zone,
        least_squares,
        root_mean_square,
        plane,
        least_squares_plane: frame.plane(least),
        carrying,
        working: Working::new("Flatness of the face"),
    };
    flatness.working = working(stations, &flatness);
    Ok(flatness)
}

fn check(stations: &[Station]) -> Result<(), FlatnessError> {
    if stations.len() < 4 {
        return Err(FlatnessError::TooFewStations {
            given: stations.len(),
        });
    }
    if stations.len() > MOST_STATIONS {
        return Err(OutOfRange::new("number of stations", stations.len(), "at most 10 000").into());
    }
    for station in stations {
        for (name, value) in [
            ("station position along", station.x),
            ("station position across", station.y),
            ("station height", station.height),
        ] {
            if value.is_nan() || value.abs() > LARGEST {
                return Err(OutOfRange::new(name, value, "a number between -1e9 and 1e9").into());
            }
        }
    }
    Ok(())
}

fn extremes(values: &[f64]) -> (f64, f64) {
    values
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| {
            (low.min(*v), high.max(*v))
        })
}

fn working(stations: &[Station], flatness: &Flatness) -> Working {
    let definition =
        Source::published("ISO 12781-1:2011, minimum-zone and least-squares reference planes");
    let heights: Vec<f64> = stations.iter().map(|s| s.height).collect();
    let (low, high) = extremes(&heights);
    let show = |value: f64| significant(value, 6);
    let tell = |plane: &Plane| {
        format!(
            "z = {} + {}·x + {}·y",
            show(plane.at_origin),
            show(plane.along),
            show(plane.across)
        )
    };
    Working::new("Flatness of the face")
        .step(
            Step::new("LS", "peak to valley about the least-squares plane", "max(zᵢ − LSᵢ) − min(zᵢ − LSᵢ)", definition.clone())
                .with("n", "stations read", stations.len(), Source::Entered)
                .with("zᵢ", "heights, lowest to highest", format!("{} to {}", show(low), show(high)), Source::Entered)
                .with("LSᵢ", "least-squares plane", tell(&flatness.least_squares_plane), Source::Arithmetic)
                .gives(show(flatness.least_squares)),
        )
        .step(
            Step::new("MZ", "least distance of two parallel planes that hold all readings", "2·h, with least h so that |zᵢ − (a·xᵢ + b·yᵢ + c)| ≤ h", definition)
                .with("plane", "middle of the zone", tell(&flatness.plane), Source::Arithmetic)
                .gives(show(flatness.minimum_zone)),
        )
        .remark("All values are in the unit of the heights. Deviations are taken along the height, which is never less than square to the plane.")
        .remark("What lies between the stations is not seen; damage between them must be looked for by eye and straightedge.")
}
