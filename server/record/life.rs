//! The rule by which a gauge's history is cut into lives of its glass and gaskets, and how each counts.
//! What the lives tell about a service is worked out in `life_study`.

use time::Date;

use super::bench::Facts;
use super::found::{GasketFound, GlassFound, LeakPath};
use super::gauge::Standing;
use super::ids::{GaugeId, RebuildId, ServiceClassId, TagNumber};
use super::rebuild::{Cause, FailureKind};
use crate::calc::life::{Observation, Seen};

/// Days after installation within which a gauge taken in still counts as watched from its beginning.
pub const SOON_TAKEN_IN: i64 = 31;

/// The rule in the words pages print it in.
pub const RULES: &[&str] = &[
    "A life begins with the gauge\u{2019}s installation or its return from a rebuild.",
    "It ended in a failure on the day a leak, cracked glass, etched or clouded glass or something else was reported; a stuck gauge valve ends no life of glass and gaskets.",
    "Without a report, a rebuild planned because of a leak, a cracked glass or a clouded glass ended it in a failure on the day it was planned.",
    "Without either, a rebuild that found cracked glass, a leak past gasket, glass or bolting, or a torn gasket when it was first stripped, or named a leak or cracked glass as the cause of the work, found it failed: it failed between the last look-over that found it sound and that day.",
    "Every other rebuild (interval, shutdown, worn face, recall) replaced glass and gaskets before they failed: suspended at that age. Hardened gaskets and etched, clouded or chipped glass found only at the bench are wear, not failures.",
    "A gauge in service is suspended at today\u{2019}s age, one at the bench on the day it came there, one put to rest or retired on that day.",
    "A gauge counts in the service class, area and kit it has today. Times of rest in between are not taken off.",
    "A life that began more than 31 days before the gauge was taken into the register is left out, since earlier rebuilds may be unknown; counted on demand, it counts from the installation date and only from the day it was taken in.",
];

/// What is known of a gauge.
#[derive(Debug, Clone)]
pub struct OneGauge {
    /// The row.
    pub id: GaugeId,
    /// Its tag number.
    pub tag: TagNumber,
    /// Its service class.
    pub class: ServiceClassId,
    /// That class's name.
    pub class_name: String,
    /// When it was installed.
    pub installed_on: Option<Date>,
    /// When it was taken into the register.
    pub taken_in_on: Option<Date>,
    /// In service, resting or retired.
    pub standing: Standing,
    /// Since when it is not in service.
    pub out_on: Option<Date>,
    /// Since when it is at the bench.
    pub bench_on: Option<Date>,
}

/// What is known of a finished rebuild of a gauge.
#[derive(Debug, Clone)]
pub struct OneRebuild {
    /// The row.
    pub id: RebuildId,
    /// The gauge.
    pub gauge: GaugeId,
    /// Counts the rebuilds of the gauge.
    pub ordinal: i64,
    /// Why it was done.
    pub cause: Cause,
    /// When it was planned.
    pub planned_on: Date,
    /// When the gauge came to the bench.
    pub bench_on: Date,
    /// When the gauge was returned.
    pub ended_on: Date,
    /// The last look-over before it that found the gauge sound.
    pub sound_on: Option<Date>,
    /// What stripping it found that makes it a failure.
    pub found: Option<FoundFailed>,
}

/// A reported failure of a gauge.
#[derive(Debug, Clone)]
pub struct OneFailure {
    /// The gauge.
    pub gauge: GaugeId,
    /// The day it was seen.
    pub seen_on: Date,
    /// What went wrong.
    pub kind: FailureKind,
    /// The rebuild that answered it; none while it is open.
    pub rebuild: Option<RebuildId>,
}

/// What makes a gauge found failed when it is stripped.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FoundFailed {
    /// A glass was cracked.
    CrackedGlass,
    /// It had leaked.
    Leak(LeakPath),
    /// A gasket was torn or blown.
    TornGasket,
    /// What was named as the cause of the work when the gauge was open.
    AsTheCause(Cause),
}

impl FoundFailed {
    /// What stripping a section found, if that is a failure.
    pub fn of(facts: &Facts) -> Option<Self> {
        let Facts::Stripped(found) = facts else {
            return None;
        };
        let glasses = [Some(found.glass), found.back_glass];
        if glasses.contains(&Some(GlassFound::Cracked)) {
            return Some(Self::CrackedGlass);
        }
        if matches!(
            found.leak,
            LeakPath::SealGasket | LeakPath::ThroughGlass | LeakPath::Bolting
        ) {
            return Some(Self::Leak(found.leak));
        }
        let mut sides = std::iter::once(&found.front).chain(&found.back);
        if sides.any(|side| [side.seal, side.cushion].contains(&GasketFound::Torn)) {
            return Some(Self::TornGasket);
        }
        match found.cause {
            // A leaking gauge valve is no matter of glass and gaskets.
            Some(Cause::Leak) if found.leak == LeakPath::Valve => None,
            Some(cause @ (Cause::Leak | Cause::CrackedGlass)) => Some(Self::AsTheCause(cause)),
            _ => None,
        }
    }

    /// In words.
    pub fn words(self) -> String {
        match self {
            Self::CrackedGlass => "cracked glass".to_owned(),
            Self::Leak(path) => format!("a leak {}", path.shown()),
            Self::TornGasket => "a torn gasket".to_owned(),
            Self::AsTheCause(cause) => format!("{cause} as the cause of the work"),
        }
    }
}

/// How a life ended, or that it goes on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum How {
    /// A failure was reported.
    Reported(FailureKind),
    /// The rebuild was planned because of a failure that nobody reported by itself.
    CalledFor(Cause),
    /// It was found failed when it was stripped.
    Found(FoundFailed),
    /// It was rebuilt before it failed.
    RebuiltSound(Cause),
    /// It is in service.
    Running,
    /// It came to the bench and is not judged yet.
    AtTheBench,
    /// It was taken out of service.
    Out(Standing),
}

impl How {
    /// Whether the life ended in a failure.
    pub const fn failed(self) -> bool {
        matches!(
            self,
            Self::Reported(_) | Self::CalledFor(_) | Self::Found(_)
        )
    }

    /// Whether the life goes on: it has no end yet but the day it is looked at.
    pub const fn runs(self) -> bool {
        matches!(self, Self::Running)
    }

    /// How it was counted: "failed", "found failed", "suspended".
    pub const fn counted(self) -> &'static str {
        match self {
            Self::Reported(_) | Self::CalledFor(_) => "failed",
            Self::Found(_) => "found failed",
            _ => "suspended",
        }
    }

    /// Why it was counted so.
    pub fn why(self) -> String {
        match self {
            Self::Reported(kind) => format!("{kind} reported"),
            Self::CalledFor(cause) => format!("rebuilt because of {cause}"),
            Self::Found(found) => format!("stripping found {}", found.words()),
            Self::RebuiltSound(cause) => format!("rebuilt before it failed ({cause})"),
            Self::Running => "still running today".to_owned(),
            Self::AtTheBench => "at the bench, not judged yet".to_owned(),
            Self::Out(standing) => format!("taken out of service before it failed ({standing})"),
        }
    }
}

/// One life of the glass and gaskets of a gauge.
#[derive(Debug, Clone)]
pub struct Life {
    /// The gauge.
    pub gauge: GaugeId,
    /// Its tag number.
    pub tag: TagNumber,
    /// Its service class.
    pub class: ServiceClassId,
    /// When it began.
    pub began_on: Date,
    /// The rebuild it began with; none for the installation.
    pub began_by: Option<i64>,
    /// When it ended, or the last day it was known to be good.
    pub ended_on: Date,
    /// The rebuild that ended it; none where none did yet.
    pub ended_by: Option<i64>,
    /// How it ended.
    pub how: How,
    /// Days of age at which its records begin.
    pub since: i64,
    /// The last day before the end on which it was looked over and sound.
    pub sound_on: Option<Date>,
}

impl Life {
    /// Whole days from the beginning to the end.
    pub fn days(&self) -> i64 {
        (self.ended_on - self.began_on).whole_days().max(0)
    }

    /// Its age at the end, in days; a failure on the very first day came half a day after the return.
    pub fn age(&self) -> f64 {
        let days = real(self.days());
        if self.how.failed() {
            days.max(0.5)
        } else {
            days
        }
    }

    /// The age when it was last known to be good, of one found failed.
    pub fn good_until(&self) -> Option<f64> {
        matches!(self.how, How::Found(_)).then(|| {
            let seen = self
                .sound_on
                .map_or(0, |on| (on - self.began_on).whole_days());
            real(seen.max(self.since))
        })
    }

    /// What the statistics make of it. Where `exactly` is asked for, one found failed counts at the
    /// age it was found, for the methods that know no other.
    pub fn observation(&self, exactly: bool) -> Observation {
        let by = self.age();
        let seen = match self.good_until() {
            Some(after) if !exactly && after < by => Seen::FoundFailed { after, by },
            _ if self.how.failed() => Seen::Failed { at: by },
            _ => Seen::Good { until: by },
        };
        Observation {
            seen,
            since: real(self.since),
        }
    }
}

fn real(days: i64) -> f64 {
    // Days of the register's calendar are far below 2^32.
    i32::try_from(days).map_or(f64::from(i32::MAX), f64::from)
}

/// What to do with lives that began before the gauge was taken into the register.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Early {
    /// They are left out.
    #[default]
    LeaveOut,
    /// They count from the installation date, watched from the day the gauge was taken in.
    Count,
}

/// The lives of some gauges, with what was left out.
#[derive(Debug, Clone, Default)]
pub struct Lives {
    /// The lives, gauge by gauge.
    pub lives: Vec<Life>,
    /// Lives whose beginning is not known.
    pub no_beginning: usize,
    /// Lives that began before the gauge was taken into the register and were left out.
    pub early: usize,
}

impl Lives {
    /// Cuts the history of one gauge into lives and adds them. Rebuilds come by ordinal.
    pub fn add(
        &mut self,
        gauge: &OneGauge,
        rebuilds: &[OneRebuild],
        failures: &[OneFailure],
        (today, early): (Date, Early),
    ) {
        let mut began = gauge.installed_on;
        let mut began_by = None;
        for rebuild in rebuilds {
            let reported = first(failures, Some(rebuild.id));
            let (ended_on, how) = ending(rebuild, reported);
            self.one(
                gauge,
                (began, began_by),
                (ended_on, Some(rebuild), how),
                early,
            );
            began = Some(rebuild.ended_on);
            began_by = Some(rebuild.ordinal);
        }
        let (ended_on, how) = match first(failures, None) {
            Some(failure) => (failure.seen_on, How::Reported(failure.kind)),
            None => match (gauge.standing, gauge.bench_on) {
                (_, Some(on)) => (on, How::AtTheBench),
                (Standing::InService, None) => (today, How::Running),
                (other, None) => (gauge.out_on.unwrap_or(today), How::Out(other)),
            },
        };
        self.one(gauge, (began, began_by), (ended_on, None, how), early);
    }

    fn one(
        &mut self,
        gauge: &OneGauge,
        (began, began_by): (Option<Date>, Option<i64>),
        (ended_on, rebuild, how): (Date, Option<&OneRebuild>, How),
        early: Early,
    ) {
        let Some(began_on) = began else {
            self.no_beginning += 1;
            return;
        };
        let since = match (began_by, gauge.taken_in_on) {
            (None, Some(taken_in)) => {
                let days = (taken_in - began_on).whole_days();
                if days > SOON_TAKEN_IN { days } else { 0 }
            }
            _ => 0,
        };
        let life = Life {
            gauge: gauge.id,
            tag: gauge.tag.clone(),
            class: gauge.class,
            began_on,
            began_by,
            ended_on: ended_on.max(began_on),
            ended_by: rebuild.map(|rebuild| rebuild.ordinal),
            how,
            since,
            sound_on: rebuild
                .and_then(|rebuild| rebuild.sound_on)
                .filter(|on| *on >= began_on),
        };
        // What ended before the gauge was taken in was never watched.
        if since > 0 && (early == Early::LeaveOut || life.age() <= real(since)) {
            self.early += 1;
        } else {
            self.lives.push(life);
        }
    }

    /// How many ended in a failure.
    pub fn failures(&self) -> usize {
        self.lives.iter().filter(|life| life.how.failed()).count()
    }
}

/// The first failure that counts among those a rebuild answered, or among those still open.
fn first(failures: &[OneFailure], rebuild: Option<RebuildId>) -> Option<&OneFailure> {
    failures
        .iter()
        .filter(|failure| failure.rebuild == rebuild && failure.kind != FailureKind::StuckValve)
        .min_by_key(|failure| failure.seen_on)
}

fn ending(rebuild: &OneRebuild, reported: Option<&OneFailure>) -> (Date, How) {
    if let Some(failure) = reported {
        return (
            failure.seen_on.min(rebuild.bench_on),
            How::Reported(failure.kind),
        );
    }
    match rebuild.cause {
        Cause::Leak | Cause::CrackedGlass | Cause::CloudedGlass => (
            rebuild.planned_on.min(rebuild.bench_on),
            How::CalledFor(rebuild.cause),
        ),
        cause => (
            rebuild.bench_on,
            rebuild.found.map_or(How::RebuiltSound(cause), How::Found),
        ),
    }
}

/// What a rebuild of a service class costs, as somebody stated it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ClassCost {
    /// A planned rebuild with everything it causes.
    pub planned: rust_decimal::Decimal,
    /// A failure with everything it causes.
    pub failure: rust_decimal::Decimal,
    /// Hours at the bench one rebuild takes.
    pub bench_hours: Option<rust_decimal::Decimal>,
    /// Where the figures come from.
    pub ground: String,
}
