//! The readings a visit takes: thin doors to the rule book's sets for the pages of the job sheet.
use crate::InspectionError;
use crate::expr::Values;
use crate::rulebook::{ReadingSpec, RuleBook};

pub use crate::rulebook::{Answer, Choice, FieldSpec};

/// The least a service of this unit kind records, in the order of the sheet; empty for kinds the
/// trade files have no set for.
pub fn set_for<'a>(book: &'a RuleBook, kind: &str) -> &'a [ReadingSpec] {
    book.set(kind).map_or(&[], |set| set.readings.as_slice())
}

/// What may be measured besides, at a service or a repair; never missed.
pub fn tests_for<'a>(book: &'a RuleBook, kind: &str) -> &'a [ReadingSpec] {
    book.set(kind).map_or(&[], |set| set.tests.as_slice())
}

/// Reads typed fields `(code, text)` of one unit kind. Blank fields are left out.
///
/// # Errors
/// The first field that is unknown, unreadable or cannot be.
pub fn read_fields<'a>(
    book: &RuleBook,
    kind: &str,
    typed: impl IntoIterator<Item = (&'a str, &'a str)>,
) -> Result<Values, InspectionError> {
    let mut values = Values::new();
    for (code, text) in typed {
        let field = set_for(book, kind)
            .iter()
            .chain(tests_for(book, kind))
            .flat_map(|reading| &reading.fields)
            .find(|field| field.code == code)
            .ok_or_else(|| InspectionError::unknown("the readings set", code))?;
        let value = field.read(text)?;
        if !value.is_blank() {
            values.set(code, value);
        }
    }
    Ok(values)
}
