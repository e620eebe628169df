//! A `null` where a list or an answer is expected counts as not given.
use serde::{Deserialize, Deserializer};

/// The value, or its default for `null`.
pub fn null_as_default<'de, D, T>(from: D) -> Result<T, D::Error>
where
    D: Deserializer<'de>,
    T: Default + Deserialize<'de>,
{
    Ok(Option::<T>::deserialize(from)?.unwrap_or_default())
}
