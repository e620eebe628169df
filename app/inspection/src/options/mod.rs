//! What may take a unit's place here: what the site rules out and why. Whether a size will do is worked out by the
//! rule book's formulas `size.…`. Figures for planning; a survey by a licensed person decides.
mod feasibility;

pub use feasibility::{Feasibility, feasibility, reason_words};
