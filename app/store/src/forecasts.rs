//! Rows of `forecasts`.
