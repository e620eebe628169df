//! What a job's page lists: what happened, offers, calls, visits, tries.
use terms::{JobState, SpaceId};
use wording::Row;
use wording::sentences::{capital, dates, ended, glue};

use super::job::JobPage;
use super::words::lost_words;
use crate::when;

impl JobPage {
    pub(super) fn events(&self) -> Vec<Row> {
        self.view
            .events
            .iter()
            .enumerate()
            .rev()
            .map(|(n, event)| {
                let who = self.view.accounts.get(&event.by);
                let who = who.map_or("the program", String::as_str);
                let words = match event.words.as_str() {
                    "" => capital(event.state.words()) + ".",
                    words => ended(words),
                };
                let mut row =
                    Row::plain(format!("event-{n}"), format!("{words} Written by {who}."));
                row.at = dates::day_brief(when::local_day(event.at));
                row.figure(
                    when::local(event.at).format("%H:%M").to_string(),
                    event.state.words(),
                )
            })
            .collect()
    }

    pub(super) fn offers(&self) -> Vec<Row> {
        self.view
            .offers
            .iter()
            .enumerate()
            .map(|(n, offer)| {
                let firm = self.view.names.firm(offer.firm);
                let until = dates::appointment(when::local(offer.until_at));
                let said = match offer.answer.as_deref() {
                    Some("taken") => "taken".to_owned(),
                    Some("declined") => format!("declined: {}", offer.reason),
                    Some(_) => "ended without an answer".to_owned(),
                    None if offer.is_open(self.now) => format!("open until {until}"),
                    None => format!("ran out, {until}"),
                };
                Row::plain(format!("offer-{n}"), format!("{firm}: {said}."))
            })
            .collect()
    }

    pub(super) fn calls(&self) -> Vec<Row> {
        self.view
            .calls
            .iter()
            .enumerate()
            .map(|(n, call)| {
                let said = if call.words.is_empty() {
                    String::new()
                } else {
                    format!(" “{}”", ended(&call.words))
                };
                let since = dates::moment(when::local(call.since_at));
                // Of an outage the calls are several homes'.
                let lost = match self.home_of(call.space) {
                    Some(home) => format!("{home}: {}", lost_words(call.function_lost)),
                    None => capital(lost_words(call.function_lost)),
                };
                Row::plain(
                    format!("call-{n}"),
                    glue(&format!(
                        "{lost} since {since}.{said} Told: {}",
                        call.answered
                    )),
                )
            })
            .collect()
    }

    /// The home a call came from, where the job stands elsewhere.
    pub(super) fn home_of(&self, space: SpaceId) -> Option<&str> {
        let outage = self.view.outage.as_ref()?;
        let home = outage.homes.iter().find(|h| h.space == space)?;
        Some(&home.space_name)
    }

    pub(super) fn visits(&self) -> Vec<Row> {
        self.view
            .visits
            .iter()
            .enumerate()
            .map(|(n, visit)| {
                let who = match visit.engineer {
                    Some(e) => self.view.names.engineer(e),
                    None => "somebody of the firm",
                };
                let ended = match visit
                    .outcome
                    .as_deref()
                    .and_then(|o| o.parse::<JobState>().ok())
                {
                    Some(JobState::NoAccess) => "nobody opened".to_owned(),
                    Some(state) => format!("left {state}"),
                    None => "not ended yet".to_owned(),
                };
                let source = match visit.source.as_str() {
                    "paper" => ", typed in from paper",
                    "photo" => ", typed in from a photograph of the sheet",
                    "mail" => ", typed in from mail",
                    "telephone" => ", typed in from a telephone call",
                    _ => "",
                };
                let mut row = Row::plain(
                    format!("visit-{n}"),
                    format!(
                        "{who}, {}: {ended}{source}.",
                        dates::moment(when::local(visit.arrived_at))
                    ),
                );
                let overrides = self.view.overrides.iter();
                row.more
                    .extend(overrides.filter(|o| o.visit == visit.id).map(|o| {
                        format!(
                            "Overridden by {}, {}: “{}”",
                            o.by,
                            dates::moment(when::local(o.at)),
                            o.reason
                        )
                    }));
                row
            })
            .collect()
    }

    pub(super) fn attempts(&self) -> Vec<Row> {
        self.view
            .attempts
            .iter()
            .enumerate()
            .map(|(n, a)| {
                let at = dates::moment(when::local(a.at));
                let left = a.left_behind.trim_end_matches('.');
                let sentence = format!("Attempt {}: {at}. Left behind: {left}. {}", n + 1, a.words);
                Row::plain(format!("attempt-{n}"), sentence)
            })
            .collect()
    }

    /// "Quillet Heating until Wednesday 25 November, 11:40", for each offer that is open.
    pub(super) fn open_offers(&self) -> Vec<String> {
        let open = self.view.offers.iter().filter(|o| o.is_open(self.now));
        open.map(|o| {
            let until = dates::appointment(when::local(o.until_at));
            format!("{} until {until}", self.view.names.firm(o.firm))
        })
        .collect()
    }
}
