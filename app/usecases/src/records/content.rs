//! What a record says, and what it lacks.
use chrono::{DateTime, NaiveDate, Utc};
use inspection::RuleBook;
use inspection::records::{RecordKind as Listed, missing};
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value as Json, json};
use sha2::{Digest, Sha256};
use terms::{JobState, RecordKind, hex};

use crate::Error;
use crate::letterhead::Letterhead;

/// An appliance or flue of a gas safety check.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Item {
    /// Its number on the sheet, from 1.
    pub n: usize,
    /// What it is.
    pub description: String,
    /// Where in the premises it stands.
    pub location: String,
    /// As the engineer wrote it.
    pub result: String,
}

/// A safety defect and what was done about it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Defect {
    /// Its number on the sheet, from 1; `None` for an unsafe situation.
    pub n: Option<usize>,
    /// What was found.
    pub text: String,
    /// What was done.
    pub action: String,
}

/// One reading, before and after the work.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ReadingLine {
    /// The reading of the set it belongs to.
    pub reading: String,
    /// "Hot water: flow"
    pub label: String,
    /// As found, with its unit; empty when not taken.
    pub before: String,
    /// As left, with its unit; empty when not taken again.
    pub after: String,
    /// What it was taken with; empty when none was named.
    pub instrument: String,
    /// Last day of that instrument's calibration.
    pub calibrated_until: Option<NaiveDate>,
}

/// What the visit did to a duty.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct DutyLine {
    /// "Gas safety check"
    pub name: String,
    /// The day it was done; `None` when nothing of this job is on record for it.
    pub done_on: Option<NaiveDate>,
    /// Every item was examined.
    pub whole: bool,
    /// The deadline it left.
    pub next: Option<NaiveDate>,
}

/// Everything a record says.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Content {
    /// Which record.
    pub kind: RecordKind,
    /// The job's number.
    pub job_number: String,
    /// The day of the visit.
    pub on: NaiveDate,
    /// When the engineer came.
    pub arrived_at: DateTime<Utc>,
    /// When they left.
    pub left_at: Option<DateTime<Utc>>,
    /// "phone", "paper" or "mail".
    pub source: String,
    /// "Flat 14, Alder House"
    pub place: String,
    /// The building's address.
    pub address: String,
    /// Landlord or agent.
    pub sender: Letterhead,
    /// The unit's lasting number.
    pub unit_number: String,
    /// "combi gas boiler"
    pub unit_kind: String,
    /// "CB"
    pub kind_code: String,
    /// The firm.
    pub firm: String,
    /// Who did the visit.
    pub engineer: String,
    /// Their registration number in date on the day; empty when there is none.
    pub registration: String,
    /// Appliances and flues.
    pub items: Vec<Item>,
    /// Safety defects; `None` when the question was not answered.
    pub defects: Option<Vec<Defect>>,
    /// The matters of regulation 26(9) were examined.
    pub examined_26_9: bool,
    /// Readings, in the order of the sheet.
    pub readings: Vec<ReadingLine>,
    /// Readings not taken: label and the reason typed.
    pub not_taken: Vec<(String, String)>,
    /// Codes of the set's readings that are there or have a reason.
    pub answered: Vec<(String, String)>,
    /// No reading of the unit was on record before.
    pub first_service: bool,
    /// What was done.
    pub work: String,
    /// A part fitted; may be empty.
    pub fitted: String,
    /// How it was left.
    pub left: JobState,
    /// What comes next; may be empty.
    pub next_words: String,
    /// Whether the resident knows what comes next.
    pub told: Option<bool>,
    /// Why not, when they do not; may be empty.
    pub not_told_why: String,
    /// Findings that ask for something, in words.
    pub findings: Vec<String>,
    /// What the visit did to its duties.
    pub duties: Vec<DutyLine>,
    /// As typed by the engineer; empty until issued.
    pub signature: String,
    /// The digest of the rule book the sheet was judged by.
    pub rule_book: String,
}

impl Content {
    /// Space, building and address in one line.
    pub fn premises(&self) -> String {
        if self.address.is_empty() {
            String::new()
        } else {
            format!("{}, {}", self.place, self.address)
        }
    }

    /// What it lacks, as paths of the list of items, in the list's order.
    ///
    /// # Errors
    /// The rule book has no set for the unit's kind.
    pub fn missing(&self) -> Result<Vec<String>, Error> {
        let internal = |e: inspection::InspectionError| Error::Internal(e.to_string());
        let book = RuleBook::shipped().map_err(internal)?;
        let listed = match self.kind {
            RecordKind::GasSafety => Listed::GasSafetyRecord,
            RecordKind::Service => Listed::ServiceSheet,
        };
        missing(book, listed, &self.as_listed()).map_err(internal)
    }

    /// SHA-256 of the content as text, in hexadecimal.
    ///
    /// # Errors
    /// It cannot be written as text.
    pub fn digest(&self) -> Result<String, Error> {
        let text = serde_json::to_vec(self).map_err(|e| Error::Internal(e.to_string()))?;
        Ok(hex(&Sha256::digest(text)))
    }

    /// In the names of the list.
    fn as_listed(&self) -> Map<String, Json> {
        let record = match self.kind {
            RecordKind::GasSafety => json!({
                "check_date": self.on,
                "property_address": self.premises(),
                "landlord_or_agent_name": self.sender.name,
                "landlord_or_agent_address": self.sender.address,
                "items": self.items,
                "defects": self.defects,
                "examination_26_9_confirmed": self.examined_26_9,
                "engineer_name": self.engineer,
                "registration_number": self.registration,
                "signature": self.signature,
            }),
            RecordKind::Service => {
                let told = match self.told {
                    Some(true) => "yes",
                    Some(false) => self.not_told_why.as_str(),
                    None => "",
                };
                let readings: Map<String, Json> = self
                    .answered
                    .iter()
                    .map(|(code, words)| (code.clone(), Json::from(words.as_str())))
                    .collect();
                json!({
                    "unit_kind": self.kind_code,
                    "first_service": self.first_service,
                    "on": self.on,
                    "unit_number": self.unit_number,
                    "engineer_name": self.engineer,
                    "readings": readings,
                    "work_done": self.work,
                    "state_after": self.left.words(),
                    "resident_told": told,
                })
            }
        };
        match record {
            Json::Object(map) => map,
            _ => Map::new(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn content(kind: RecordKind) -> Content {
        Content {
            kind,
            job_number: "J-00001".to_owned(),
            on: NaiveDate::from_ymd_opt(2026, 11, 25).unwrap(),
            arrived_at: "2026-11-25T09:00:00Z".parse().unwrap(),
            left_at: None,
            source: "phone".to_owned(),
            place: "Flat 14, Alder House".to_owned(),
            address: "1 Alder Way".to_owned(),
            sender: Letterhead {
                name: "An Agent".to_owned(),
                address: "2 Long Street".to_owned(),
                telephone: String::new(),
            },
            unit_number: "AH-14-1".to_owned(),
            unit_kind: "combi gas boiler".to_owned(),
            kind_code: "CB".to_owned(),
            firm: "Firm A".to_owned(),
            engineer: "Anna Arrow".to_owned(),
            registration: "200417".to_owned(),
            items: vec![Item {
                n: 1,
                description: "boiler".to_owned(),
                location: "kitchen".to_owned(),
                result: "safe".to_owned(),
            }],
            defects: Some(Vec::new()),
            examined_26_9: true,
            readings: Vec::new(),
            not_taken: Vec::new(),
            answered: Vec::new(),
            first_service: false,
            work: "Serviced.".to_owned(),
            fitted: String::new(),
            left: JobState::Done,
            next_words: String::new(),
            told: Some(true),
            not_told_why: String::new(),
            findings: Vec::new(),
            duties: Vec::new(),
            signature: "A Arrow".to_owned(),
            rule_book: "abc".to_owned(),
        }
    }

    // The items of regulation 36(3)(c), from a public guidance page read: each one taken away is missed.
    #[test]
    fn each_item_the_regulation_lists_is_missed_when_it_is_not_there() {
        let whole = content(RecordKind::GasSafety);
        assert_eq!(whole.missing().unwrap(), Vec::<String>::new());
        type Spoil = fn(&mut Content);
        let spoils: [(&str, Spoil); 10] = [
            ("property_address", |c| c.address.clear()),
            ("landlord_or_agent_name", |c| c.sender.name.clear()),
            ("landlord_or_agent_address", |c| c.sender.address.clear()),
            ("items", |c| c.items.clear()),
            ("items[0].location", |c| c.items[0].location.clear()),
            ("defects", |c| c.defects = None),
            ("examination_26_9_confirmed", |c| c.examined_26_9 = false),
            ("engineer_name", |c| c.engineer.clear()),
            ("registration_number", |c| c.registration.clear()),
            ("signature", |c| c.signature.clear()),
        ];
        for (path, spoil) in spoils {
            let mut spoiled = whole.clone();
            spoil(&mut spoiled);
            assert_eq!(spoiled.missing().unwrap(), vec![path.to_owned()]);
            assert_ne!(spoiled.digest().unwrap(), whole.digest().unwrap());
        }
    }

    #[test]
    fn a_service_sheet_owes_the_set_of_its_kind_and_says_who_was_told() {
        let mut sheet = content(RecordKind::Service);
        let gaps = sheet.missing().unwrap();
        assert!(gaps.contains(&"readings.co_ppm".to_owned()), "{gaps:?}");
        assert!(!gaps.contains(&"readings.hardness".to_owned()), "{gaps:?}");
        sheet.told = Some(false);
        assert!(
            sheet
                .missing()
                .unwrap()
                .contains(&"resident_told".to_owned())
        );
        "nobody lives there now".clone_into(&mut sheet.not_told_why);
        assert!(
            !sheet
                .missing()
                .unwrap()
                .contains(&"resident_told".to_owned())
        );
    }
}
