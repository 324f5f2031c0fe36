//! What was typed and what is wrong with it, by field; shared by all forms. Parsing gathers every
//! message before refusing, so that a person mends a form once.

use std::str::FromStr;

use axum::body::Bytes;
use axum::extract::{FromRequest, Request};
use rust_decimal::Decimal;
use serde::de::DeserializeOwned;
use time::format_description::BorrowedFormatItem;
use time::macros::format_description;
use time::{Date, Time};

use super::answer::PageError;
use super::chrome::Signed;
use crate::acts;
use crate::calc::quantity::{self, Stamped, Unit};
use crate::record::{FieldError, Refusal};

/// Messages by field, and messages that belong to no field.
#[derive(Debug, Clone, Default)]
pub struct Errors(Vec<FieldError>);

impl Errors {
    /// No messages.
    pub fn none() -> Self {
        Self::default()
    }

    /// The message beside a field; empty where it is right.
    pub fn on(&self, field: &str) -> &str {
        self.0
            .iter()
            .find(|e| e.field == field)
            .map_or("", |e| e.message.as_str())
    }

    /// Whether anything is wrong.
    pub fn any(&self) -> bool {
        !self.0.is_empty()
    }

    /// Every message, for the summary on top.
    pub fn all(&self) -> &[FieldError] {
        &self.0
    }

    /// The messages as a refusal, for what is refused further down.
    pub fn into_refusal(self) -> Refusal {
        Refusal::Fields(self.0)
    }

    /// The messages of a field put beside another one, on a page with two forms that ask for the same.
    #[must_use]
    pub fn moved(mut self, from: &str, to: &str) -> Self {
        for error in self.0.iter_mut().filter(|error| error.field == from) {
            to.clone_into(&mut error.field);
        }
        self
    }

    /// Adds a message.
    pub fn add(&mut self, field: impl Into<String>, message: impl Into<String>) {
        self.0.push(FieldError::new(field, message));
    }
}

impl From<Refusal> for Errors {
    fn from(refusal: Refusal) -> Self {
        match refusal {
            Refusal::Fields(fields) => Self(fields),
            other => Self(vec![FieldError::new("", other.to_string())]),
        }
    }
}

impl From<validator::ValidationErrors> for Errors {
    fn from(errors: validator::ValidationErrors) -> Self {
        Self(
            errors
                .field_errors()
                .into_iter()
                .flat_map(|(field, list)| {
                    list.iter().map(move |e| {
                        let words = e.message.as_ref().map_or_else(
                            || "This does not fit here".to_owned(),
                            ToString::to_string,
                        );
                        FieldError::new(field.to_string(), words)
                    })
                })
                .collect(),
        )
    }
}

/// Turns a refusal into messages for the form; anything else is not the form's affair.
///
/// # Errors
/// The store's failure, or the address an earlier press of the same button led to.
pub fn refused(error: acts::Error) -> Result<Errors, PageError> {
    match error {
        acts::Error::Refused(Refusal::Missing(what)) => Err(PageError::NotFound(what)),
        acts::Error::Refused(refusal) => Ok(refusal.into()),
        other => Err(other.into()),
    }
}

/// Reads typed text into values and gathers the messages.
#[derive(Debug, Default)]
pub struct Reader {
    errors: Errors,
}

impl Reader {
    /// Begins with nothing wrong.
    pub fn new() -> Self {
        Self::default()
    }

    /// Keeps the value or the message.
    pub fn take<T, E: ToString>(&mut self, field: &str, result: Result<T, E>) -> Option<T> {
        match result {
            Ok(value) => Some(value),
            Err(message) => {
                self.errors.add(field, message.to_string());
                None
            }
        }
    }

    /// Anything that reads itself from text.
    pub fn parse<T: FromStr>(&mut self, field: &str, text: &str) -> Option<T>
    where
        T::Err: ToString,
    {
        self.take(field, text.trim().parse::<T>())
    }

    /// A whole number in a range; empty text is a missing value.
    pub fn whole(
        &mut self,
        field: &str,
        text: &str,
        range: std::ops::RangeInclusive<u32>,
    ) -> Option<u32> {
        let text = text.trim();
        if text.is_empty() {
            return None;
        }
        let (low, high) = (*range.start(), *range.end());
        match text.parse::<u32>() {
            Ok(number) if range.contains(&number) => Some(number),
            _ => {
                self.errors
                    .add(field, format!("Write a whole number from {low} to {high}"));
                None
            }
        }
    }

    /// A whole number that has to be there.
    pub fn needed_whole(
        &mut self,
        field: &str,
        text: &str,
        range: std::ops::RangeInclusive<u32>,
    ) -> Option<u32> {
        if text.trim().is_empty() {
            self.errors.add(
                field,
                format!(
                    "Write a whole number from {} to {}",
                    range.start(),
                    range.end()
                ),
            );
            return None;
        }
        self.whole(field, text, range)
    }

    /// A date as 2 Dec 2026 or 2026-12-02; empty text is a missing value.
    pub fn date(&mut self, field: &str, text: &str) -> Option<Date> {
        let text = text.trim();
        if text.is_empty() {
            return None;
        }
        let found = read_date(text);
        if found.is_none() {
            self.errors
                .add(field, "Write the date as 31 Dec 2026 or 2026-12-31");
        }
        found
    }

    /// A date that has to be there.
    pub fn needed_date(&mut self, field: &str, text: &str) -> Option<Date> {
        if text.trim().is_empty() {
            self.errors
                .add(field, "Write the date as 31 Dec 2026 or 2026-12-31");
            return None;
        }
        self.date(field, text)
    }

    /// A time of the day that has to be there.
    pub fn needed_time(&mut self, field: &str, text: &str) -> Option<Time> {
        let found = read_time(text);
        if found.is_none() {
            self.errors.add(field, "Write the time as 14:05");
        }
        found
    }

    /// A decimal number.
    pub fn decimal(&mut self, field: &'static str, text: &str) -> Option<Decimal> {
        self.take(
            field,
            quantity::decimal(field, text).map_err(|_| "Write a number such as 1500 or 12.5"),
        )
    }

    /// A positive value with its unit; empty text is a missing value.
    pub fn stamped<U: Unit>(
        &mut self,
        field: &'static str,
        value: &str,
        unit: &str,
    ) -> Option<Stamped<U>>
    where
        U::Err: ToString,
    {
        self.any_stamped(field, value, unit)
            .filter(|s: &Stamped<U>| {
                let positive = s.value > Decimal::ZERO;
                if !positive {
                    self.errors.add(field, "Write a number above zero");
                }
                positive
            })
    }

    /// A value of either sign with its unit (a temperature); empty text is a missing value.
    pub fn any_stamped<U: Unit>(
        &mut self,
        field: &'static str,
        value: &str,
        unit: &str,
    ) -> Option<Stamped<U>>
    where
        U::Err: ToString,
    {
        if value.trim().is_empty() {
            return None;
        }
        let value = self.decimal(field, value);
        let unit = U::from_ucum(unit).map_or_else(|| self.parse::<U>(field, unit), Some);
        Some(Stamped::new(value?, unit?))
    }

    /// A text that has to be there, of at most so many characters.
    pub fn needed(
        &mut self,
        field: &str,
        text: &str,
        most: usize,
        message: &str,
    ) -> Option<String> {
        let text = text.trim();
        if text.is_empty() || text.chars().count() > most {
            self.errors.add(field, message);
            return None;
        }
        Some(text.to_owned())
    }

    /// A text that may be empty, of at most so many characters.
    pub fn text(&mut self, field: &str, text: &str, most: usize) -> String {
        let text = text.trim();
        if text.chars().count() > most {
            self.errors.add(field, format!("At most {most} characters"));
        }
        text.to_owned()
    }

    /// Adds a message.
    pub fn refuse(&mut self, field: &str, message: impl Into<String>) {
        self.errors.add(field, message);
    }

    /// The messages gathered.
    pub fn into_errors(self) -> Errors {
        self.errors
    }

    /// The value, if nothing was wrong.
    ///
    /// # Errors
    /// Every message gathered.
    pub fn finish<T>(mut self, value: Option<T>) -> Result<T, Errors> {
        match value {
            Some(value) if !self.errors.any() => Ok(value),
            _ => {
                if !self.errors.any() {
                    self.errors.add("", "Something is missing in this form");
                }
                Err(self.errors)
            }
        }
    }
}

/// Reads a date as people write it where no two readings are possible. Spaces that do not break, as pages
/// write them, are spaces.
pub fn read_date(text: &str) -> Option<Date> {
    let text = text.replace(super::show::KEPT, " ");
    let text = text.trim();
    let forms: [&[BorrowedFormatItem<'static>]; 3] = [
        format_description!("[year]-[month]-[day]"),
        format_description!("[day padding:none] [month repr:short case_sensitive:false] [year]"),
        format_description!("[day padding:none] [month repr:long case_sensitive:false] [year]"),
    ];
    forms
        .iter()
        .find_map(|form| Date::parse(text, form).ok())
        .filter(|date| crate::calc::calendar::in_range(*date))
}

/// Reads a time of the day: hours and minutes, with a colon or a dot between.
pub fn read_time(text: &str) -> Option<Time> {
    let (hours, minutes) = text.trim().split_once([':', '.'])?;
    let plain = |part: &str| part.len() <= 2 && part.bytes().all(|b| b.is_ascii_digit());
    if !plain(hours) || minutes.len() != 2 || !plain(minutes) {
        return None;
    }
    Time::from_hms(hours.parse().ok()?, minutes.parse().ok()?, 0).ok()
}

/// A posted form whose key was made for the person who sends it.
#[derive(Debug)]
pub struct Posted<T> {
    /// What was typed.
    pub form: T,
    /// The form's key: the same key is never done twice.
    pub key: String,
    /// The rebuild the form was opened for, where it says so: its number on the gauge.
    pub rebuild: String,
}

#[derive(serde::Deserialize)]
struct Carried {
    #[serde(default)]
    key: String,
    #[serde(default)]
    rebuild: String,
}

impl<S: Send + Sync, T: DeserializeOwned> FromRequest<S> for Posted<T> {
    type Rejection = PageError;

    async fn from_request(request: Request, state: &S) -> Result<Self, PageError> {
        let signed = request
            .extensions()
            .get::<Signed>()
            .cloned()
            .ok_or_else(|| PageError::BadForm("nobody is signed in".to_owned()))?;
        let bytes = Bytes::from_request(request, state)
            .await
            .map_err(|_| PageError::TooLarge)?;
        let Carried { key, rebuild } =
            serde_html_form::from_bytes(&bytes).map_err(|e| PageError::BadForm(e.to_string()))?;
        if !signed.takes(&key) {
            return Err(PageError::BadForm(
                "the form's key is not of this person".to_owned(),
            ));
        }
        let form =
            serde_html_form::from_bytes(&bytes).map_err(|e| PageError::BadForm(e.to_string()))?;
        Ok(Self { form, key, rebuild })
    }
}
