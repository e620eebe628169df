//! The reference runner's library: cases with known answers from outside code, computed with the
//! product's own pure rooms and judged within each case's stated tolerance.
pub mod reference;
