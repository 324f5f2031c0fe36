//! What a set of lives tells: a fitted life with its bounds, the points and the band of its plot, the
//! curve without a law, and what to be wary of. The statistics themselves are in `calc`.

use super::life::{Life, Lives};
use crate::calc::life::{AgeUnit, Confidence, LifeData, LifeError};
use crate::calc::ranks::{LeastSquaresIn, RankEstimate, RankFit, adjusted_ranks, rank_regression};
use crate::calc::survival::{BoundsOn, SurvivalCurve, kaplan_meier};
use crate::calc::weibull::{
    Assessment, AssumedShape, Bounded, Fit, Of, OneParameter, assess, curvature_bounds,
    likelihood_bounds,
};

/// Ages of the band of the plot.
const BAND: u32 = 24;
/// From so many failures on the bounds by curvature are as good, and quicker.
const MANY: usize = 100;
/// Median ranks are exact up to so many failures and approximated beyond.
const EXACT: usize = 1_000;
/// Points drawn at most.
pub const DRAWN: usize = 240;

/// A value of the fitted life with its bounds.
#[derive(Debug, Clone)]
pub struct Figure {
    /// Its symbol.
    pub symbol: &'static str,
    /// What it is.
    pub meaning: &'static str,
    /// The value with its bounds.
    pub bounded: Bounded,
    /// Whether it is an age, in days.
    pub age: bool,
}

/// The fitted curve at one age, with its bounds.
#[derive(Debug, Clone, Copy)]
pub struct Along {
    /// The age, days.
    pub age: f64,
    /// Share failed.
    pub failed: f64,
    /// Lower bound of it.
    pub low: f64,
    /// Upper bound of it.
    pub high: f64,
}

/// A failure as it stands in the plot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// The age, days.
    pub age: f64,
    /// Its rank among all lives, where lives could be ranked.
    pub rank: Option<f64>,
    /// Estimated share failed by then.
    pub share: f64,
}

/// What the lives allow.
#[derive(Debug, Clone)]
pub enum Drawn {
    /// A curve.
    Curve(Box<Curve>),
    /// A bound under an assumed shape, and why there is no more.
    Bound {
        /// Why.
        because: LifeError,
        /// The bound.
        bound: Box<OneParameter>,
    },
    /// Nothing at all: no life was watched.
    Nothing,
}

/// A fitted life with what is drawn of it.
#[derive(Debug, Clone)]
pub struct Curve {
    /// The fit.
    pub fit: Fit,
    /// Shape, characteristic life, age at 10 %, mean.
    pub figures: Vec<Figure>,
    /// The line and its band.
    pub band: Vec<Along>,
    /// The line through the ranked points, as a check of the eye.
    pub line: Option<RankFit>,
}

/// A study of lives.
#[derive(Debug, Clone)]
pub struct Study {
    /// What the lives allow.
    pub drawn: Drawn,
    /// The failures as points.
    pub points: Vec<Point>,
    /// The curve without a law; none without lives.
    pub survival: Option<SurvivalCurve>,
    /// What to be wary of.
    pub warnings: Vec<String>,
    /// Lives that ended in a failure.
    pub failures: usize,
    /// The longest age, days.
    pub longest: f64,
    /// Days watched, all lives together.
    pub watched: f64,
}

impl Study {
    /// Works out what the lives tell.
    ///
    /// # Errors
    /// An age outside what can be computed with.
    pub fn of(
        lives: &Lives,
        confidence: Confidence,
        shape: AssumedShape,
    ) -> Result<Self, LifeError> {
        let all = &lives.lives;
        let watched = |life: &Life| life.age() - life.observation(true).since;
        let mut study = Self {
            drawn: Drawn::Nothing,
            points: Vec::new(),
            survival: None,
            warnings: Vec::new(),
            failures: lives.failures(),
            longest: all.iter().map(Life::age).fold(0.0, f64::max),
            watched: all.iter().map(watched).sum(),
        };
        if study.watched <= 0.0 {
            return Ok(study);
        }
        let data = LifeData::new(
            AgeUnit::Days,
            all.iter().map(|life| life.observation(false)).collect(),
        )?;
        let exact = LifeData::new(
            AgeUnit::Days,
            all.iter().map(|life| life.observation(true)).collect(),
        )?;
        let survival = kaplan_meier(&exact, confidence, BoundsOn::LogLog)?;
        let estimate = if study.failures > EXACT {
            RankEstimate::Bernard
        } else {
            RankEstimate::Exact
        };
        study.points = points(&exact, estimate, &survival);
        study.drawn = match assess(&data, shape, confidence)? {
            Assessment::BoundOnly { because, bound } => Drawn::Bound {
                because,
                bound: Box::new(bound),
            },
            Assessment::Curve(fit) => {
                let line = rank_regression(&exact, estimate, LeastSquaresIn::Age).ok();
                Drawn::Curve(Box::new(Curve {
                    figures: figures(&data, &fit, confidence)?,
                    band: band(&data, &fit, confidence, study.longest)?,
                    fit,
                    line,
                }))
            }
        };
        study.survival = Some(survival);
        study.warn(all);
        Ok(study)
    }

    /// The fitted curve, where there is one.
    pub fn curve(&self) -> Option<&Curve> {
        match &self.drawn {
            Drawn::Curve(curve) => Some(curve),
            _ => None,
        }
    }

    fn warn(&mut self, all: &[Life]) {
        let mut say = Vec::new();
        if let Some(curve) = self.curve() {
            let (shape, scale) = (curve.fit.life.shape(), curve.fit.life.scale());
            if self.failures < 10 {
                say.push(format!(
                    "Only {} failures: the bounds are wide, and a few more failures may move the line a long way.",
                    self.failures
                ));
            }
            let bounds = curve
                .figures
                .iter()
                .find(|figure| figure.symbol == "β")
                .map(|figure| (figure.bounded.lower, figure.bounded.upper));
            match bounds {
                Some((_, Some(upper))) if upper < 1.0 => say.push("The whole range of β lies below 1: gauges fail early. Look at fitting and tightening before shortening the interval.".to_owned()),
                Some((lower, _)) if lower.is_none_or(|lower| lower <= 1.0) => say.push("The range of β includes 1: it is not shown that failures come with age, so it is not shown that rebuilding sooner prevents any.".to_owned()),
                _ => {}
            }
            if scale > 1.5 * self.longest {
                say.push("The characteristic life lies far beyond the longest age seen: what the line says there is drawn on, not observed.".to_owned());
            }
            match &curve.line {
                Some(line) if line.r_squared < 0.9 => say.push("The points bend away from a straight line: perhaps several causes or services in one set. Look at areas and kits apart.".to_owned()),
                Some(line) if !(0.67..=1.5).contains(&(line.life.shape() / shape)) => say.push("The line through the points is far from the fitted one: a few points pull it.".to_owned()),
                _ => {}
            }
        }
        let mut classes: Vec<_> = all.iter().map(|life| life.class).collect();
        classes.sort_unstable();
        classes.dedup();
        if classes.len() > 1 {
            say.push(format!(
                "Lives of {} service classes stand together; they hardly follow one law.",
                classes.len()
            ));
        }
        if all.iter().any(|life| life.good_until().is_some()) {
            say.push("Some were found failed at the bench. The fit takes them as failed between the last sound look and that day; points and the curve without a law take the day they were found.".to_owned());
        }
        if all.iter().any(|life| life.since > 0) {
            say.push("Lives begun before the register are counted from their installation dates; rebuilds nobody recorded would make these ages wrong. The points are then placed by the curve without a law, since such lives cannot be ranked.".to_owned());
        }
        self.warnings = say;
    }
}

/// Points by adjusted median ranks; where lives came under observation late, midway down each step
/// of the curve without a law.
fn points(data: &LifeData, estimate: RankEstimate, survival: &SurvivalCurve) -> Vec<Point> {
    if let Ok(ranked) = adjusted_ranks(data, estimate) {
        return ranked
            .into_iter()
            .map(|one| Point {
                age: one.at,
                rank: Some(one.rank),
                share: one.share,
            })
            .collect();
    }
    let mut before = 1.0;
    survival
        .levels
        .iter()
        .map(|level| {
            let middle = f64::midpoint(before, level.survival);
            before = level.survival;
            Point {
                age: level.at,
                rank: None,
                share: 1.0 - middle,
            }
        })
        .collect()
}

fn bounds(
    data: &LifeData,
    fit: &Fit,
    of: Of,
    confidence: Confidence,
) -> Result<Bounded, LifeError> {
    Ok(if fit.failures < MANY {
        likelihood_bounds(data, fit, of, confidence)?
    } else {
        curvature_bounds(fit, of, confidence)?
    })
}

fn figures(data: &LifeData, fit: &Fit, confidence: Confidence) -> Result<Vec<Figure>, LifeError> {
    let figure = |symbol, meaning, of, age| {
        Ok::<_, LifeError>(Figure {
            symbol,
            meaning,
            bounded: bounds(data, fit, of, confidence)?,
            age,
        })
    };
    Ok(vec![
        figure(
            "β",
            "shape: below 1 early failures, 1 by chance, above 1 wear",
            Of::Shape,
            false,
        )?,
        figure(
            "η",
            "characteristic life: 63.2 % have failed",
            Of::Scale,
            true,
        )?,
        figure(
            "B10",
            "age at which 10 % have failed",
            Of::AgeAtShare(0.1),
            true,
        )?,
        figure("mean", "average age at failure", Of::Mean, true)?,
    ])
}

fn band(
    data: &LifeData,
    fit: &Fit,
    confidence: Confidence,
    longest: f64,
) -> Result<Vec<Along>, LifeError> {
    let youngest = fit.life.age_at_share(0.005)?.min(longest / 4.0).max(0.5);
    let reach = (1.2 * longest / youngest).ln();
    (0..=BAND)
        .map(|step| {
            let age = youngest * (reach * f64::from(step) / f64::from(BAND)).exp();
            let found = bounds(data, fit, Of::SurvivalAt(age), confidence)?;
            Ok(Along {
                age,
                failed: fit.life.failed_by(age),
                low: 1.0 - found.upper.unwrap_or(1.0),
                high: 1.0 - found.lower.unwrap_or(0.0),
            })
        })
        .collect()
}
