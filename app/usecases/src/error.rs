//! What a use case answers when it does not do what was asked: few kinds, two voices.

/// One field of a form and the sentence that belongs beside it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FieldError {
    /// The field's name in the form.
    pub field: String,
    /// What was found and what would pass.
    pub sentence: String,
}

impl FieldError {
    /// `sentence` at `field`.
    pub fn at(field: impl Into<String>, sentence: impl Into<String>) -> Self {
        Self {
            field: field.into(),
            sentence: sentence.into(),
        }
    }
}

/// Why a use case did not do what was asked.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// Somebody else was first, or the thing is in another state now. The sentence is for the person.
    #[error("{0}")]
    Conflict(String),
    /// It was open once and is over. The sentence is for the person.
    #[error("{0}")]
    Gone(String),
    /// Not theirs to see or do. Pages answer as if it were not there.
    #[error("not allowed: {0}")]
    Forbidden(&'static str),
    /// The form cannot be taken as typed.
    #[error("{} fields cannot be taken as typed", .0.len())]
    Invalid(Vec<FieldError>),
    /// Our fault; the person is told only that, the log gets the cause.
    #[error("{0}")]
    Internal(String),
    /// No such thing in this estate.
    #[error("no such {0}")]
    NotFound(&'static str),
    /// Not now; trying again may help.
    #[error("not now")]
    Unavailable,
}

impl Error {
    /// One field's error.
    pub fn field(field: impl Into<String>, sentence: impl Into<String>) -> Self {
        Self::Invalid(vec![FieldError::at(field, sentence)])
    }

    /// `Ok` when there is nothing wrong.
    pub fn unless_empty(wrongs: Vec<FieldError>) -> Result<(), Self> {
        if wrongs.is_empty() {
            Ok(())
        } else {
            Err(Self::Invalid(wrongs))
        }
    }
}

impl From<store::Error> for Error {
    fn from(error: store::Error) -> Self {
        match error {
            store::Error::Busy => Self::Unavailable,
            store::Error::NotFound(what) => Self::NotFound(what),
            store::Error::Conflict(what) => {
                Self::Conflict(format!("Somebody else was first ({what}). Nothing was changed by you."))
            }
            store::Error::KeyReused => Self::Conflict(
                "This form was already sent with other contents. Open the page again to see how it stands."
                    .to_owned(),
            ),
            other => Self::Internal(other.to_string()),
        }
    }
}
