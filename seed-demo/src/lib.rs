//! Fills an empty database with an invented estate, through the use cases.
