//! The one refusal of the computation core: an input outside its allowed range.
//! What a person should do about it is said by whoever asked.

use super::calendar::worded;

/// Why a computation was refused: which input, what it was, and what would have been allowed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{input} is {given}; it must be {allowed}")]
pub struct OutOfRange {
    /// The offending input, in the words of the trade ("target torque").
    pub input: &'static str,
    /// The value that was given, with its unit.
    pub given: String,
    /// The allowed range, in words ("greater than 0").
    pub allowed: String,
}

impl OutOfRange {
    /// Names an input, what it was and what it may be.
    pub fn new(input: &'static str, given: impl ToString, allowed: impl Into<String>) -> Self {
        Self {
            input,
            given: worded(&given),
            allowed: allowed.into(),
        }
    }
}
