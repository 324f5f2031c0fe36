//! The instruments of the invented plant and when each of them is calibrated.

use std::collections::VecDeque;

use rust_decimal::Decimal;
use time::{Date, Duration};

use super::past::Past;
use super::plant::{INSTRUMENTS, InstrumentPlan, SHARE_WRENCHES, stated};
use super::timeline::{self, Density};
use crate::acts::instruments::{self, Calibrated};
use crate::acts::{Deed, Result};
use crate::record::instrument::{Found, Instrument, InstrumentKind};
use crate::record::moment::Clock;
use crate::record::{InstrumentId, Moment, Refusal};
use crate::store::Store;

/// Calibrations still to come, the next one first.
pub type Calibrations = VecDeque<(Moment, InstrumentId, Calibrated)>;

impl Past {
    /// Sets of torque wrenches: a large fleet has more of them, each counted by itself.
    fn wrench_sets(&self) -> u32 {
        let fleet = u32::try_from(self.members.len()).unwrap_or(u32::MAX);
        fleet.div_ceil(SHARE_WRENCHES).max(1)
    }

    /// How often a wrench may tighten between two calibrations by the plant's own procedure: more than
    /// the busiest of them makes in a year, four or five times what was counted for such a history.
    fn loadings(&self) -> u32 {
        let fleet = u32::try_from(self.members.len()).unwrap_or(u32::MAX);
        let share = fleet.min(SHARE_WRENCHES);
        let a_gauge = match self.density {
            Density::Whole => 250,
            Density::Thin => 60,
        };
        share.saturating_mul(a_gauge).max(40_000)
    }

    /// The instruments there are: those of the plan, its torque wrenches once for each set.
    fn plans(&self) -> impl Iterator<Item = (String, &'static InstrumentPlan)> {
        let sets = self.wrench_sets();
        INSTRUMENTS.iter().flat_map(move |plan| {
            let copies = if plan.1 == InstrumentKind::TorqueWrench {
                sets
            } else {
                1
            };
            (1..=copies).map(move |set| {
                let number = match set {
                    1 => plan.0.to_owned(),
                    again => format!("{}-{again:02}", plan.0),
                };
                (number, plan)
            })
        })
    }

    /// Takes the instruments in; answers when each is calibrated.
    pub(super) async fn instruments(
        &self,
        store: &Store,
        clock: &Clock,
        today: Date,
    ) -> Result<Calibrations> {
        let begins = clock.now();
        let mut calibrations = Vec::new();
        for (at, (number, plan)) in self.plans().enumerate() {
            let (_, kind, description, (low, high), unit, resolution, since) = *plan;
            let mut deed = Deed::begin(store, clock, self.people.engineer.clone(), None).await?;
            let decimal = |text: &str| {
                text.parse::<Decimal>()
                    .map_err(|e| Refusal::NotNow(e.to_string()))
            };
            let instrument = Instrument {
                id: InstrumentId(0),
                number: number.parse().map_err(Refusal::NotNow)?,
                kind,
                description: description.to_owned(),
                range_low: decimal(low)?,
                range_high: decimal(high)?,
                unit: unit.to_owned(),
                resolution: Some(decimal(resolution)?),
                cycle_limit: (kind == InstrumentKind::TorqueWrench).then(|| self.loadings()),
                retired: false,
                calibration: None,
                version: 0,
            };
            let id = instruments::add(&mut deed, &instrument).await?;
            // Calibrated every year, the last time so many days ago.
            let mut day = today - Duration::days(since + 365 * 6);
            while day <= today - Duration::days(since) {
                let calibrated = Calibrated {
                    calibrated_on: day,
                    due_on: day + Duration::days(367),
                    reference: format!("CAL-{}-{:03}", day.year(), at * 7 + 11),
                    found: Found::WithinTolerance,
                    uncertainty: stated(kind, unit)?,
                    note: String::new(),
                    stated: true,
                };
                let at = Moment::new(timeline::moment(day, 5 * 60)).max(begins);
                calibrations.push((at, id, calibrated));
                day += Duration::days(365);
            }
            deed.commit("").await?;
        }
        calibrations.sort_by_key(|(at, ..)| *at);
        Ok(calibrations.into())
    }
}
