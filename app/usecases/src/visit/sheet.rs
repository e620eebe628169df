//! A job sheet as typed. Its keys are those of the forms; judging reads it, never changes it.
use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use terms::JobState;

use crate::Error;

/// The ways a visit may end, in the order they are offered.
pub const ENDS: [JobState; 6] = [
    JobState::Done,
    JobState::WaitingForDecision,
    JobState::WaitingForPart,
    JobState::MadeSafe,
    JobState::NoAccess,
    JobState::LeftIsolated,
];

/// What was typed, by key:
///
/// * `r.FIELD`, `a.FIELD`: a reading's field before and after the work; `no.READING`: why it was not taken;
///   `i.READING`: the instrument's id; `cal.READING`: its last day of calibration, when it has no id;
///   `cond.READING`: the conditions it was taken under;
/// * `p.READING`: what the phone's own rules said of it; `p.ranking`, `p.completion`: what they said of the likely parts
///   and of the blocks; `d.` and the same: what stands here when that is something else;
/// * `o.OBSERVATION`: `seen` or `not`;
/// * `cause`: the part that failed, or `none_found`; `fitted`: the part put in; `old_part`, `work`: words;
/// * `gas_work`, `gas_alternative`, `elec`, `elec_dead`, `elec_mohm`, `wet`, `leak`, `bar_lost`, `route_seen`,
///   `outlet`, `works_after`, `asbestos`, `fire_opened`, `fire_good`, `fire_photo`, `co_job_date`;
/// * `duty.RULE`: `yes` when every item was examined; `gc.N.name`, `gc.N.where`, `gc.N.result`, `gc_signed`;
///   `gc_defects` (`none`, `found`) with `gc_d.N.words`, `gc_d.N.action`; `gc_26_9`: regulation 26(9) was kept to;
/// * `unsafe` (`ID`, `AR`, `none`), `unsafe_words`, `unsafe_notice`, `unsafe_isolated`, `unsafe_refused`,
///   `clear.NOTICE`; `told_resident`, `told_agent`, `told_landlord`, `told_network`: at what time of the day;
///   `heat` (`lent`, `declined`, `none`, `not_needed`), `heat_what`, `heat_at`;
/// * `label_matches`, `told`, `set_point`, `soft.KEY`: the reason typed for a soft block;
/// * `outcome`: a job state's code; `next_words`, `cost`, `left_behind`, `access_words`;
/// * `new.kind`, `new.serial`, `new.rated_kw`, `new.litres`, `new.filter`, `new.reducer`, `new.warranty`, `new.discharge_cold`, `new.cutout_proved`,
///   `new.co_alarm_works`, `old_fate`: at a replacement, the unit that came and how the old one ended;
/// * `site.FACT`: a fact of the place as found or as left, such as `site.cold_pipe_mm`;
/// * `q.N.what`, `q.N.net`, `q.N.vat`, `q_until`, `q_words`, `q_part`: a quote.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Sheet {
    typed: BTreeMap<String, String>,
}

impl Sheet {
    /// An empty sheet.
    pub fn new() -> Self {
        Self::default()
    }

    /// A key's text, without space around; empty when absent.
    pub fn get(&self, key: &str) -> &str {
        self.typed.get(key).map_or("", |v| v.trim())
    }

    /// Whether something stands under a key.
    pub fn has(&self, key: &str) -> bool {
        !self.get(key).is_empty()
    }

    /// Whether a key says yes.
    pub fn yes(&self, key: &str) -> bool {
        self.get(key) == "yes"
    }

    /// "yes" and "no" as such; `None` when not answered.
    pub fn yes_no(&self, key: &str) -> Option<bool> {
        match self.get(key) {
            "yes" => Some(true),
            "no" => Some(false),
            _ => None,
        }
    }

    /// Sets a key.
    pub fn set(&mut self, key: impl Into<String>, value: impl Into<String>) {
        self.typed.insert(key.into(), value.into());
    }

    /// The same, for building in one expression.
    #[must_use]
    pub fn with(mut self, key: impl Into<String>, value: impl Into<String>) -> Self {
        self.set(key, value);
        self
    }

    /// Everything typed, by key.
    pub fn all(&self) -> impl Iterator<Item = (&str, &str)> {
        self.typed.iter().map(|(k, v)| (k.as_str(), v.as_str()))
    }

    /// The keys behind a prefix, without it, with their text.
    pub fn behind<'a>(&'a self, prefix: &'a str) -> impl Iterator<Item = (&'a str, &'a str)> {
        self.all()
            .filter_map(move |(k, v)| Some((k.strip_prefix(prefix)?, v.trim())))
    }

    /// Lays what was typed now over what was typed before. Keys that are none of a sheet's are left out.
    ///
    /// # Errors
    /// A text too long for a sheet.
    pub fn lay_over(&mut self, typed: &BTreeMap<String, String>) -> Result<(), Error> {
        for (key, value) in typed {
            if !is_key(key) {
                continue;
            }
            if value.chars().count() > 4000 {
                return Err(Error::field(key, "That is longer than a sheet takes."));
            }
            self.typed.insert(key.clone(), value.clone());
        }
        if self.typed.len() > 600 {
            return Err(Error::field("work", "That is more than a sheet takes."));
        }
        Ok(())
    }

    /// How it ends, when said.
    pub fn outcome(&self) -> Option<JobState> {
        let state = self.get("outcome").parse().ok()?;
        ENDS.contains(&state).then_some(state)
    }
}

fn is_key(key: &str) -> bool {
    !key.is_empty()
        && key.len() <= 60
        && !matches!(key, "once" | "version" | "to" | "token")
        // An override is a supervisor's, written by the desk's own use case.
        && !key.starts_with("override")
        // A difference is found here, never sent.
        && !key.starts_with("d.")
        && key.bytes().all(|b| {
            b.is_ascii_lowercase()
                || b.is_ascii_digit()
                || matches!(b, b'_' | b'.' | b'-')
                || b.is_ascii_uppercase()
        })
}
