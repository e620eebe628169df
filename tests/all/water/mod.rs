//! Site staff's temperature round, its log, and what the desk keeps of it.
mod desk;
mod estate;
mod phone;
mod printed;
mod round;
