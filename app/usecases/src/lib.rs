//! Room `usecases`.
