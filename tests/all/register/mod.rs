//! The register by its pages: a building drawn, units entered, corrected, replaced, found; and who may read what.
mod buildings;
mod corrected;
pub mod estate;
mod found;
mod needed;
mod reach;
mod units;
