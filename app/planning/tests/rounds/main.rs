//! Rounds: what the plain method does, what the audit sees, properties of every plan. Data invented by us.
#![expect(
    clippy::unwrap_used,
    reason = "helpers of tests: a panic is how a test fails"
)]
mod demands;
mod estate;
mod optimal;
mod plain;
mod promises;
mod properties;
