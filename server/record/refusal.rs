//! Every way the register says no, in words a person can act on.
//! The cause for the log is another matter: see the errors of the store.

/// A refusal that belongs to one field of a form.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FieldError {
    /// The field's name in the form.
    pub field: String,
    /// What is wrong and what would be right.
    pub message: String,
}

impl FieldError {
    /// A message for a field.
    pub fn new(field: impl Into<String>, message: impl Into<String>) -> Self {
        Self {
            field: field.into(),
            message: message.into(),
        }
    }
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
