//! Instants as the register keeps them, and the clock that gives them.
//! Civil dates are `time::Date`; turning an instant into the plant's date needs its time zone.

use std::fmt;
use std::sync::{Arc, Mutex, PoisonError};

use sqlx::encode::IsNull;
use sqlx::error::BoxDynError;
use sqlx::sqlite::{Sqlite, SqliteArgumentsBuffer, SqliteTypeInfo, SqliteValueRef};
use sqlx::{Decode, Encode, Type};
use time::format_description::BorrowedFormatItem;
use time::macros::format_description;
use time::{Date, Duration, OffsetDateTime, PrimitiveDateTime, Time, UtcOffset};

const FIXED: &[BorrowedFormatItem<'static>] =
    format_description!("[year]-[month]-[day]T[hour]:[minute]:[second].[subsecond digits:3]Z");

/// An instant in UTC, kept to the millisecond as text of fixed width so that text order is time order.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Moment(OffsetDateTime);

impl Moment {
    /// From any instant; what is finer than a millisecond is dropped.
    pub fn new(at: OffsetDateTime) -> Self {
        let at = at.to_offset(UtcOffset::UTC);
        let rest = at.nanosecond() % 1_000_000;
        Self(at - Duration::nanoseconds(i64::from(rest)))
    }

    /// The instant itself.
    pub const fn at(self) -> OffsetDateTime {
        self.0
    }

    /// Later (or earlier) by a duration.
    #[must_use]
    pub fn plus(self, by: Duration) -> Self {
        Self(self.0.saturating_add(by))
    }

    /// The text the register keeps.
    pub fn text(self) -> String {
        self.0.format(&FIXED).unwrap_or_default()
    }

    /// Reads the text the register keeps.
    ///
    /// # Errors
    /// Refuses any other form.
    pub fn parse(text: &str) -> Result<Self, time::error::Parse> {
        PrimitiveDateTime::parse(text, &FIXED).map(|at| Self(at.assume_utc()))
    }
}

impl fmt::Display for Moment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text())
    }
}

impl fmt::Debug for Moment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text())
    }
}

impl serde::Serialize for Moment {
    fn serialize<S: serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(&self.text())
    }
}

impl<'de> serde::Deserialize<'de> for Moment {
    fn deserialize<D: serde::Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let text = <std::borrow::Cow<'de, str>>::deserialize(from)?;
        Self::parse(&text).map_err(serde::de::Error::custom)
    }
}

impl Type<Sqlite> for Moment {
    fn type_info() -> SqliteTypeInfo {
        <String as Type<Sqlite>>::type_info()
    }
}

impl<'q> Encode<'q, Sqlite> for Moment {
    fn encode_by_ref(&self, to: &mut SqliteArgumentsBuffer) -> Result<IsNull, BoxDynError> {
        <String as Encode<'q, Sqlite>>::encode(self.text(), to)
    }
}

impl<'r> Decode<'r, Sqlite> for Moment {
    fn decode(value: SqliteValueRef<'r>) -> Result<Self, BoxDynError> {
        Ok(Self::parse(<&str as Decode<'r, Sqlite>>::decode(value)?)?)
    }
}

/// Where "now" comes from: the machine, or a hand that tests and the demo plant turn.
#[derive(Debug, Clone)]
pub enum Clock {
    /// The machine's clock.
    Machine,
    /// A clock that stands until it is set.
    Set(Arc<Mutex<Moment>>),
}

impl Clock {
    /// A clock that stands at this moment.
    pub fn standing(at: Moment) -> Self {
        Self::Set(Arc::new(Mutex::new(at)))
    }

    /// The present moment.
    pub fn now(&self) -> Moment {
        match self {
            #[expect(
                clippy::disallowed_methods,
                reason = "the one place that reads the machine's clock"
            )]
            Self::Machine => Moment::new(OffsetDateTime::now_utc()),
            Self::Set(at) => *at.lock().unwrap_or_else(PoisonError::into_inner),
        }
    }

    /// Sets a standing clock; the machine's clock is not touched.
    pub fn set(&self, to: Moment) {
        if let Self::Set(at) = self {
            *at.lock().unwrap_or_else(PoisonError::into_inner) = to;
        }
    }
}

/// A plant's time zone by its name in the public time zone database.
#[derive(Debug, Clone)]
pub struct Zone {
    name: String,
    rules: jiff::tz::TimeZone,
}

impl Zone {
    /// Looks a zone up by name, such as `Europe/Lisbon`.
    ///
    /// # Errors
    /// Says so in plain words when no such zone is known.
    pub fn named(name: &str) -> Result<Self, String> {
        let name = name.trim();
        jiff::tz::TimeZone::get(name)
            .map(|rules| Self { name: name.to_owned(), rules })
            .map_err(|_| format!("\u{201c}{name}\u{201d} is not a time zone; write one such as Europe/Lisbon or UTC"))
    }

    /// The names of every zone known, for choosing one.
    pub fn names() -> Vec<String> {
        jiff::tz::db()
            .available()
            .map(|name| name.to_string())
            .filter(|name| name.contains('/') || name == "UTC")
            .collect()
    }

    /// Coordinated universal time.
    pub fn utc() -> Self {
        Self {
            name: "UTC".to_owned(),
            rules: jiff::tz::TimeZone::UTC,
        }
    }

    /// The zone's name.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The instant as the plant's clocks show it.
    pub fn local(&self, moment: Moment) -> OffsetDateTime {
        let stamp = jiff::Timestamp::from_second(moment.at().unix_timestamp()).unwrap_or_default();
        let seconds = self.rules.to_offset(stamp).seconds();
        let offset = UtcOffset::from_whole_seconds(seconds).unwrap_or(UtcOffset::UTC);
        moment.at().to_offset(offset)
    }

    /// The instant at which the plant's clocks show a date and a time; of the two in an hour that
    /// comes twice the first, and in an hour that is left out the one as much later.
    pub fn moment(&self, date: Date, time: Time) -> Option<Moment> {
        let small = |number: u8| i8::try_from(number).ok();
        let civil = jiff::civil::DateTime::new(
            i16::try_from(date.year()).ok()?,
            small(u8::from(date.month()))?,
            small(date.day())?,
            small(time.hour())?,
            small(time.minute())?,
            small(time.second())?,
            0,
        )
        .ok()?;
        let stamp = self.rules.to_timestamp(civil).ok()?;
        OffsetDateTime::from_unix_timestamp(stamp.as_second())
            .ok()
            .map(Moment::new)
    }

    /// The plant's civil date at that instant.
    pub fn date(&self, moment: Moment) -> Date {
        self.local(moment).date()
    }
}
