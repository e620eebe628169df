//! The laws of the comparison, and known answers of what stands beside it.
#![expect(
    clippy::unwrap_used,
    reason = "helpers of tests: a panic is how a test fails"
)]
mod cases;
mod in_warranty;
mod invoices;
mod knowing;
mod properties;
mod reserve;
mod slow_chance;
mod slow_way;
mod staying;
mod steps;
mod winter;
mod written_off;
