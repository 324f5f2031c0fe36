//! Every way the register says no, in words a person can act on.
//! The cause for the log is another matter: see the errors of the store.

use super::words::capital;

/// A refusal that belongs to one field of a form.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FieldError {
    /// The field's name in the form.
    pub field: String,
    /// What is wrong and what would be right.
    pub message: String,
}

impl FieldError {
    /// A message for a field. It is a sentence of its own and begins as one, whatever it was made from;
    /// a number, a unit or a tag it may begin with stays as it is written.
    pub fn new(field: impl Into<String>, message: impl Into<String>) -> Self {
        Self {
            field: field.into(),
            message: begun(message.into()),
        }
    }
}

fn begun(message: String) -> String {
    let word = message.split(' ').next().unwrap_or_default();
    let plain = word.trim_end_matches([',', ':', ';', '.']);
    let mut rest = message.chars();
    match rest.next() {
        Some(first) if plain.len() > 1 && plain.chars().all(|c| c.is_ascii_lowercase()) => {
            first.to_ascii_uppercase().to_string() + rest.as_str()
        }
        _ => message,
    }
}

/// What is said of a condition that was not ticked: which one, and why it has to be so.
pub fn unticked(condition: impl std::fmt::Display, why: &str) -> String {
    let end = if why.is_empty() { "" } else { "; " };
    format!("{}: tick this when it is so{end}{why}", capital(condition))
}

/// Why a deed was not done.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Refusal {
    /// Some fields need mending.
    #[error("{}", .0.iter().map(|fault| fault.message.as_str()).collect::<Vec<_>>().join("; "))]
    Fields(Vec<FieldError>),
    /// Somebody else changed the same thing since the page was opened.
    #[error("{what} was changed by {by} since you opened this page")]
    Changed {
        /// What was being edited.
        what: String,
        /// Who changed it meanwhile.
        by: String,
    },
    /// The thing is not in the register.
    #[error("there is no {0} of that name in the register")]
    Missing(&'static str),
    /// The state of things does not allow it.
    #[error("{0}")]
    NotNow(String),
}

impl Refusal {
    /// A refusal of one field.
    pub fn field(field: impl Into<String>, message: impl Into<String>) -> Self {
        Self::Fields(vec![FieldError::new(field, message)])
    }

    /// A refusal by the state of things.
    pub fn not_now(why: impl Into<String>) -> Self {
        Self::NotNow(why.into())
    }
}

#[cfg(test)]
mod tests {
    use super::FieldError;

    #[test]
    fn a_message_begins_as_a_sentence_and_a_number_or_a_name_of_a_thing_stays_as_written() {
        for (given, told) in [
            ("choose a role", "Choose a role"),
            ("pressure is 5, not above 0", "Pressure is 5, not above 0"),
            ("a.17 is no lot", "a.17 is no lot"),
            ("pg-22 is out of calibration", "pg-22 is out of calibration"),
            ("1500 psi is too much", "1500 psi is too much"),
            ("Write the day", "Write the day"),
            ("", ""),
        ] {
            assert_eq!(FieldError::new("field", given).message, told);
        }
    }
}
