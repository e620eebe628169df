//! One cause for several homes: proposed by the rule, joined by a person, answered by one job, ended with a proof; and
//! the pipes over time. Scenario ours; trade facts are common practice, no source.
mod estate;
mod joined;
mod pipes;

pub use estate::Network;
