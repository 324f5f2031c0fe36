//! What a pressure test rests on: basis, readings, what was seen; whether that may be recorded, and
//! what came of it.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use time::Duration;

use super::{Basis, Heights, HoldJudged, LeakSeen, Medium, Outcome, Relied, TestResult};
use crate::calc::pressure_test::Code;
use crate::calc::quantity::{StampedPressure, StampedTemperature, Unit};
use crate::calc::working::Working;
use crate::record::Moment;
use crate::record::certificate::Choice;
use crate::record::person::Role;
use crate::record::refusal::FieldError;
use crate::record::sentence::Sentence;
use crate::record::words::capital;

/// What is confirmed before the pressure is raised; nothing is recorded without it.
pub const CONFIRMED: &str = "filled from below, all air vented, nobody in line with the glass, \
    pressure raised in steps";
/// The same where the gauge is filled with gas.
pub const CONFIRMED_OF_GAS: &str = "everybody beyond the least distance, nobody in line with the glass, \
    pressure raised in steps";

/// One reading during the hold.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Reading {
    /// Whole minutes since the hold began.
    pub minute: u32,
    /// Seconds past that minute, where the clock told them; typed readings have none.
    #[serde(default, skip_serializing_if = "none")]
    pub second: u32,
    /// Pressure read.
    pub pressure: StampedPressure,
    /// Temperature read, where it was.
    pub temperature: Option<StampedTemperature>,
}

impl Reading {
    /// Seconds since the hold began.
    pub const fn seconds(&self) -> u32 {
        self.minute.saturating_mul(60).saturating_add(self.second)
    }

    /// When it was read, as people say it: "5", or "5:30" where seconds are known.
    pub fn after(&self) -> String {
        match self.second {
            0 => self.minute.to_string(),
            second => format!("{}:{second:02}", self.minute),
        }
    }
}

#[expect(
    clippy::trivially_copy_pass_by_ref,
    reason = "serde hands over references"
)]
const fn none(second: &u32) -> bool {
    *second == 0
}

/// Where and under what circumstances a test was made; each may be left out.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Circumstances {
    /// The place: bench, or in place.
    pub place: String,
    /// Where the pressure was read.
    pub read_at: String,
    /// The plant's procedure with its issue.
    pub procedure: String,
    /// The lowest temperature of the metal.
    pub metal: Option<StampedTemperature>,
    /// Chloride content of the water, mg/L.
    pub chloride: Option<Decimal>,
}

/// What a test rests on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TestFacts {
    /// The code of reference.
    pub code: Code,
    /// What was chosen for the required pressure.
    pub basis: Basis,
    /// The rating the test was taken from.
    pub rating: StampedPressure,
    /// The required test pressure.
    pub required: StampedPressure,
    /// The shortest hold, minutes.
    pub hold_required: u32,
    /// The working of the required pressure.
    pub working: Working,
    /// The pressure that is not to be exceeded: the lower of what plan and tester state.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub limit: Option<StampedPressure>,
    /// The pressure gauge as it stood on the day.
    pub instrument: Relied,
    /// The role in which the tester tested.
    pub tester_role: Option<Role>,
    /// When the hold began.
    pub began: Moment,
    /// What the gauge was filled with.
    pub medium: Medium,
    /// What was confirmed before the pressure was raised.
    pub confirmed: String,
    /// Readings by time, the first at the start of the hold.
    pub readings: Vec<Reading>,
    /// What was seen.
    pub leak: LeakSeen,
    /// Where and under what circumstances.
    pub circumstances: Circumstances,
    /// Anything else, such as where it leaked.
    pub note: String,
    /// What plant, class and gauge chose for the test, as it stood on the day.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub choices: Vec<Choice>,
    /// Where the pressure gauge sat, and what the liquid between changes; where it was measured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub heights: Option<Heights>,
    /// The change of pressure over the hold, judged; where an allowed drop was chosen.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub judged: Option<HoldJudged>,
    /// The approval a gas test rests on, in a sentence.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gas: Option<String>,
    /// Rating and limit as they stood when the hold began, where either was put right while it ran.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at_first: Option<AtFirst>,
}

/// Rating and limit as they stood when a hold began that is judged by another one of either.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct AtFirst {
    /// The rating.
    pub rating: StampedPressure,
    /// The highest test pressure stated.
    pub limit: Option<StampedPressure>,
}

/// Most readings of one test.
pub const MOST_READINGS: usize = 500;
/// Longest hold that is taken as meant, minutes: a week.
const LONGEST_HOLD: u32 = 7 * 24 * 60;
/// Temperatures outside are typing errors, in kelvin: -40 and 150 degrees Celsius.
const READABLE_K: std::ops::RangeInclusive<f64> = 233.15..=423.15;

/// Above this share of the required pressure a hold begins only when somebody says that the maker
/// states so much; common practice, no source.
const WELL_ABOVE: f64 = 1.10;

impl Reading {
    /// What makes a reading impossible, by field of the form: beyond the range of the pressure gauge
    /// that was read, or a temperature no test is made at.
    pub fn faults(&self, instrument: &Relied) -> Vec<FieldError> {
        let mut faults = Vec::new();
        if above(self.pressure, instrument.full_scale()) {
            let words = format!(
                "{} cannot have been read: {} reads to {}. Check the unit",
                self.pressure,
                instrument.number,
                instrument.full_scale()
            );
            faults.push(FieldError::new("pressure", words));
        }
        if let Some(t) = self.temperature
            && !READABLE_K.contains(&t.si())
        {
            let words = format!("{t} is no temperature of a test. Check the unit");
            faults.push(FieldError::new("temperature", words));
        }
        faults
    }

    /// How much of the required pressure was reached in whole percent, where that is well above it.
    pub fn well_above(&self, required: StampedPressure) -> Option<u32> {
        let share = self.pressure.si() / required.si();
        (share > WELL_ABOVE * (1.0 + 1e-9))
            .then(|| format!("{:.0}", share * 100.0).parse().unwrap_or(u32::MAX))
    }
}

impl TestFacts {
    /// What keeps the test from being recorded, by field of the form: readings that cannot be, and
    /// a hold that is too short to say anything. A visible leak needs no hold: it has failed.
    pub fn faults(&self) -> Vec<FieldError> {
        let mut faults = Vec::new();
        let mut fault = |field: &str, words: String| faults.push(FieldError::new(field, words));
        let leaks = self.leak != LeakSeen::None;
        match self.readings.as_slice() {
            [] => fault(
                "readings",
                "Write the reading at the start of the hold".to_owned(),
            ),
            [first, ..] if first.seconds() != 0 => fault(
                "readings",
                "The first reading is the one at minute 0, when the hold begins".to_owned(),
            ),
            list if list.len() > MOST_READINGS => fault(
                "readings",
                format!("A test has at most {MOST_READINGS} readings"),
            ),
            [_] if !leaks => fault(
                "readings",
                "Write at least the readings at the start and at the end of the hold".to_owned(),
            ),
            _ => {}
        }
        if let Some(pair) = self
            .readings
            .windows(2)
            .find(|p| p[0].seconds() >= p[1].seconds())
        {
            let words = format!("Two readings stand at minute {}", pair[1].after());
            fault("readings", words);
        }
        if self.held() > LONGEST_HOLD {
            fault(
                "readings",
                "A hold lasts a week at the most; check the minutes".to_owned(),
            );
        }
        for reading in &self.readings {
            if above(reading.pressure, self.instrument.full_scale()) {
                fault(
                    "readings",
                    format!(
                        "{} at minute {} cannot have been read: {} reads to {}",
                        reading.pressure,
                        reading.after(),
                        self.instrument.number,
                        self.instrument.full_scale()
                    ),
                );
            }
            if let Some(t) = reading.temperature
                && !READABLE_K.contains(&t.si())
            {
                let words = format!(
                    "{t} at minute {} is no temperature of a test",
                    reading.after()
                );
                fault("readings", words);
            }
        }
        if self.note.trim().is_empty()
            && let Some(words) = self.above_limit().first()
        {
            let words = format!(
                "{words} Say here what was done about it; it stands on the certificate with the reading"
            );
            fault("note", words);
        }
        if leaks {
            if self.note.trim().is_empty() {
                fault("note", "Say where it leaked".to_owned());
            }
            return faults;
        }
        let ends = [self.readings.first(), self.readings.last()];
        if ends
            .iter()
            .flatten()
            .any(|reading| reading.temperature.is_none())
        {
            let words = "Write the temperature at the start and at the end: without it a change of pressure says nothing";
            fault("readings", words.to_owned());
        }
        if self.readings.len() > 1 && self.held() < self.hold_required {
            fault(
                "readings",
                format!(
                    "The hold lasted {} min and has to last at least {} min. Nothing was recorded: hold on and add the last reading, or say what leaked",
                    self.held(),
                    self.hold_required
                ),
            );
        }
        faults
    }

    /// When the hold ended.
    pub fn ended(&self) -> Moment {
        self.began
            .plus(Duration::seconds(i64::from(self.held_seconds())))
    }

    /// The lowest pressure read.
    pub fn lowest(&self) -> Option<StampedPressure> {
        self.readings
            .iter()
            .map(|reading| reading.pressure)
            .reduce(|least, next| if below(next, least) { next } else { least })
    }

    /// The pressure that was held, where it is less than what the test asked for.
    pub fn fell_short(&self) -> Option<StampedPressure> {
        self.lowest().filter(|low| below(*low, self.required))
    }

    /// The highest pressure read; the required one where nothing was.
    pub fn highest(&self) -> StampedPressure {
        self.readings
            .iter()
            .map(|reading| reading.pressure)
            .reduce(|most, next| if above(next, most) { next } else { most })
            .unwrap_or(self.required)
    }

    /// What a reader has to know to weigh the result, beside the result itself.
    pub fn remarks(&self) -> Vec<String> {
        self.remarked().iter().map(ToString::to_string).collect()
    }

    /// The same as sentences whose values a page can show in another unit too.
    pub fn remarked(&self) -> Vec<Sentence> {
        let mut remarks = Vec::new();
        if self.instrument.coarse_for(self.required)
            && let Some(step) = self.instrument.resolution
        {
            remarks.push(
                Sentence::of(format!(
                    "{} reads in steps of {} {}, coarse for ",
                    self.instrument.number, step, self.instrument.unit
                ))
                .at_least(self.required)
                .words("."),
            );
        }
        if let Some(gas) = &self.gas {
            remarks.push(Sentence::of(format!("Tested with gas: {gas}")));
        }
        remarks.extend(self.put_right());
        remarks.extend(self.above());
        remarks
    }

    /// What nameplate, maker or drawing stated otherwise when the hold began.
    fn put_right(&self) -> Vec<Sentence> {
        let Some(first) = &self.at_first else {
            return Vec::new();
        };
        let held = "While it was held,";
        let mut list = Vec::new();
        if first.rating != self.rating {
            list.push(
                rating_corrected(held, first.rating, self.rating)
                    .words("; it was judged by ")
                    .at_most(self.rating)
                    .words("."),
            );
        }
        let limit = limit_changed(held, first.limit, self.limit);
        list.extend(limit.map(|told| told.words(".")));
        list
    }

    /// Where the gauge saw more than the stated limit, in sentences: every reading above it, and the
    /// lowest point of the gauge, on which the liquid stands as well. Where no limit says so, a reading well
    /// above what was required once the rating was put right downwards.
    pub fn above_limit(&self) -> Vec<String> {
        self.above().iter().map(ToString::to_string).collect()
    }

    fn above(&self) -> Vec<Sentence> {
        let list = self.above_stated();
        let lowered = self.at_first.as_ref();
        if !list.is_empty() || lowered.is_none_or(|first| !below(self.rating, first.rating)) {
            return list;
        }
        let highest = self.highest();
        let read = self.readings.iter().find(|one| one.pressure == highest);
        let told = read.and_then(|read| {
            let percent = read.well_above(self.required)?;
            Some(
                Sentence::default()
                    .figure(read.pressure)
                    .words(format!(
                        " at minute {} is {percent} % of the required ",
                        read.after()
                    ))
                    .at_least(self.required)
                    .words("."),
            )
        });
        told.into_iter().collect()
    }

    fn above_stated(&self) -> Vec<Sentence> {
        // Tests older than the field kept what the tester stated only.
        let Some(limit) = self.limit.or(self.basis.limit) else {
            return Vec::new();
        };
        let mut list: Vec<Sentence> = self
            .readings
            .iter()
            .filter(|reading| above(reading.pressure, limit))
            .map(|reading| {
                Sentence::default()
                    .figure(reading.pressure)
                    .words(format!(
                        " at minute {} is above the stated limit of ",
                        reading.after()
                    ))
                    .at_most(limit)
                    .words(".")
            })
            .collect();
        let most = self.heights.as_ref().and_then(|h| h.most_at_lowest);
        if let Some(most) = most.filter(|most| above(*most, limit)) {
            list.push(
                Sentence::of("The lowest point of the gauge saw up to ")
                    .figure(most)
                    .words(", above the stated limit of ")
                    .at_most(limit)
                    .words("."),
            );
        }
        list
    }

    /// Whether the test neither held nor leaked: the readings do not tell.
    pub fn not_proven(&self) -> bool {
        self.leak == LeakSeen::None && self.verdict().1.starts_with("not ")
    }

    /// How long the hold lasted, in whole minutes: from the first to the last reading.
    pub fn held(&self) -> u32 {
        self.held_seconds() / 60
    }

    /// The same to the second.
    pub fn held_seconds(&self) -> u32 {
        match (self.readings.first(), self.readings.last()) {
            (Some(first), Some(last)) => last.seconds().saturating_sub(first.seconds()),
            _ => 0,
        }
    }

    /// Judges the test: any visible leak fails, and so does a reading under the required pressure.
    /// Fails with the reason in words.
    pub fn verdict(&self) -> (TestResult, String) {
        let (result, why) = self.judged_in_words();
        (result, why.to_string())
    }

    /// The same with its reason as a sentence whose values a page can show in another unit too.
    pub fn judged_in_words(&self) -> (TestResult, Sentence) {
        if self.leak != LeakSeen::None {
            let why = format!(
                "{} was seen; any visible leak fails the test",
                capital(self.leak.shown())
            );
            return (TestResult::Failed, Sentence::of(why));
        }
        let low = self
            .readings
            .iter()
            .find(|reading| below(reading.pressure, self.required));
        if low.is_none()
            && let Some(top) = self.heights.as_ref().filter(|h| !h.reached(self.required))
        {
            let why = Sentence::of("not proven: the highest point saw ")
                .figure(top.at_highest)
                .words(" while ")
                .at_least(self.required)
                .words(" was required there; the gauge stood lower");
            return (TestResult::Failed, why);
        }
        if low.is_none()
            && let Some(judged) = self
                .judged
                .as_ref()
                .filter(|j| j.outcome != Outcome::Passed)
        {
            return (TestResult::Failed, Sentence::of(&judged.words));
        }
        match low {
            Some(reading) => (
                TestResult::Failed,
                Sentence::default()
                    .figure(reading.pressure)
                    .words(format!(
                        " at minute {} is below the required ",
                        reading.after()
                    ))
                    .at_least(self.required),
            ),
            None => (
                TestResult::Passed,
                Sentence::of("no visible leak, and never below the required ")
                    .at_least(self.required)
                    .words(format!(" for {} minutes", self.held())),
            ),
        }
    }
}

/// That a rating was corrected; what follows from it is said behind.
pub(super) fn rating_corrected(
    when: &str,
    before: StampedPressure,
    now: StampedPressure,
) -> Sentence {
    Sentence::of(format!("{when} the rating was corrected from "))
        .at_most(before)
        .words(" to ")
        .at_most(now)
}

/// That the highest pressure maker or drawing state was put right; nothing where it stands as it did.
pub(super) fn limit_changed(
    when: &str,
    before: Option<StampedPressure>,
    now: Option<StampedPressure>,
) -> Option<Sentence> {
    match (before, now) {
        (Some(before), Some(now)) if before != now => Some(
            Sentence::of(format!("{when} the stated limit was changed from "))
                .at_most(before)
                .words(" to ")
                .at_most(now),
        ),
        (None, Some(now)) => Some(
            Sentence::of(format!("{when} a limit of "))
                .at_most(now)
                .words(" was stated"),
        ),
        (Some(before), None) => Some(
            Sentence::of(format!("{when} the stated limit of "))
                .at_most(before)
                .words(" was taken back"),
        ),
        _ => None,
    }
}

/// Whether one pressure is below another, compared as decimals where the unit is the same so that
/// a reading exactly at the limit is not lost to rounding.
fn below(a: StampedPressure, b: StampedPressure) -> bool {
    if a.unit == b.unit {
        a.value < b.value
    } else {
        a.unit.to_si(a.number()) < b.unit.to_si(b.number()) * (1.0 - 1e-9)
    }
}

fn above(a: StampedPressure, b: StampedPressure) -> bool {
    below(b, a)
}
