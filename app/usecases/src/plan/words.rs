//! Why a visit found no day, in a sentence.
use chrono::NaiveDate;
use inspection::calendar::{date_words, day_count};
use planning::rounds::{Rule, WhyNot};

/// The reason, and the first day on which there is room.
pub(super) fn why_not(why: &WhyNot, first_room: Option<NaiveDate>) -> String {
    let reason = match why {
        WhyNot::WindowShut { first, last } => format!(
            "its days do not meet: not before {}, not after {}",
            date_words(*first),
            date_words(*last)
        ),
        WhyNot::LateAlready { deadline, days } => format!(
            "its last day, {}, was {} ago",
            date_words(*deadline),
            day_count(*days)
        ),
        WhyNot::OpensLater { first } => {
            format!("its window opens only on {}", date_words(*first))
        }
        WhyNot::NoWorkingDay { first, last } => format!(
            "no working day lies between {} and {}",
            date_words(*first),
            date_words(*last)
        ),
        WhyNot::NobodyQualified { needs } => {
            let needs: Vec<&str> = needs.iter().map(|n| n.words()).collect();
            format!(
                "nobody who gives this estate time holds a qualification in date for {}",
                needs.join(" and ")
            )
        }
        WhyNot::TooLong { minutes, longest } => format!(
            "it takes {minutes} minutes, and the longest visit there can be is {longest} minutes"
        ),
        WhyNot::PromisedToNobody { day, .. } => format!(
            "it was promised for {} by somebody who is not on the list any more",
            date_words(*day)
        ),
        WhyNot::HeatingSeason => {
            "heat goes off for it, and all its days lie in the heating season".to_owned()
        }
        WhyNot::NoAccess => {
            "when somebody opens there and it is light, nobody able works long enough".to_owned()
        }
        WhyNot::NoPair => "it takes two of one firm, and two are never there".to_owned(),
        WhyNot::HoursFull { engineers, .. } => {
            let who = if *engineers == 1 {
                "the one qualified engineer is".to_owned()
            } else {
                format!("all {engineers} qualified engineers are")
            };
            format!("{who} full on every working day of its window")
        }
    };
    match first_room {
        Some(day) => format!("{reason}; the first day with room is {}", date_words(day)),
        None => reason,
    }
}

/// What a visit would break where a person wants it.
pub(super) fn broken(rule: &Rule, window: (NaiveDate, NaiveDate)) -> String {
    match rule {
        Rule::OutsideWindow => format!(
            "Its days run from {} to {}, and nobody can come before tomorrow.",
            date_words(window.0),
            date_words(window.1)
        ),
        Rule::NotWorking => {
            "That is a Saturday, Sunday, bank holiday or another day on which the firm does not work, or the engineer is \
             away."
                .to_owned()
        }
        Rule::OutsideHours => {
            "It would not end within the firm’s hours: 08:30 to 16:30, unless it states others.".to_owned()
        }
        Rule::NoAccess => "Nobody opens there on that day at that time.".to_owned(),
        Rule::Dark => "It is work outside, and it would not be light.".to_owned(),
        Rule::HeatOff => {
            "Heat goes off for it, and that day lies in the heating season, 1 October to 31 March.".to_owned()
        }
        Rule::NotTogether => {
            "It takes two of one firm, and no second is free then.".to_owned()
        }
        Rule::NotQualified => {
            "The engineer holds no qualification in date for it on that day.".to_owned()
        }
        Rule::Overlap => {
            "Another visit stands in the way, or there is no time to get there.".to_owned()
        }
        Rule::FirmOver { .. } => "The firm’s hours of that week are full.".to_owned(),
        Rule::EngineerOver { .. } => "The engineer’s hours of that week are full.".to_owned(),
        Rule::WrongFirm | Rule::EngineerUnknown => {
            "That engineer gives this estate no time.".to_owned()
        }
        Rule::JobUnknown | Rule::JobTwice | Rule::JobLost | Rule::PromiseBroken => {
            "The round has changed since you read it. Open it again.".to_owned()
        }
    }
}
