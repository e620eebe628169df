//! Room `numerics`: mathematics without trade words, where no library serves.
//!
//! Special functions come from `statrs`, linear algebra from `nalgebra`; what stands here is the glue those two leave
//! open: a Newton maximiser that ends with a verdict, quantiles by root finding where the library's are coarse, count
//! laws that stay exact from overdispersed to Poisson, quadrature nodes and fixed (never random) normal draws.
//!
//! Floor 0: pure functions, no I/O, no clock, no randomness.
pub mod count;
pub mod draws;
pub mod jet;
pub mod newton;
pub mod profile;
pub mod quadrature;
pub mod root;
pub mod special;

pub use count::CountLaw;
pub use newton::{End, Local, Optimum, maximise};
