//! Response times: when somebody has to be there, by the rule book, and what a caller who smells gas is told first.
use chrono::{DateTime, Utc};
use inspection::clock::{
    Deadline, LocalTime, ResponseQuery, ResponseTargets, WorkingDays, response,
};
use inspection::{InspectionError, RuleBook};
use store::Tx;
use terms::{Country, FunctionLost};

use super::by_law;
use super::calls::LeakKind;
use super::wall;
use crate::{Error, World};

/// The clock of a report.
#[derive(Clone, Debug)]
pub(crate) struct Due {
    /// Somebody is there by then.
    pub at: Option<DateTime<Utc>>,
    /// The rule in a sentence.
    pub why: String,
}

/// What is said first to a caller who smells gas or hears a carbon monoxide alarm.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct GasScript {
    /// The gas emergency service's number.
    pub number: String,
    /// Where the number comes from and the day it was true.
    pub number_status: String,
    /// To be read out, in this order.
    pub lines: Vec<String>,
}

/// What is known of the home a report comes from.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Home {
    /// Somebody there needs heat the same day.
    pub same_day: bool,
    /// It is held by a council's secure tenant: the right to repair caps the times.
    pub council_secure: bool,
}

/// The working days of England, by the bank holidays on record.
pub(crate) fn working_days(world: &World) -> Result<WorkingDays, Error> {
    let days = world
        .pool
        .at_door::<_, Error>(|door| Ok(door.bank_holidays(Country::England)?))?;
    Ok(WorkingDays::england_published(&days))
}

/// The rule book's row for a report.
pub(crate) fn report_code(lost: FunctionLost, leak: Option<LeakKind>) -> &'static str {
    match (lost, leak) {
        (FunctionLost::Heating | FunctionLost::HeatingAndHotWater, _) => "no_heat_or_hot_water",
        (FunctionLost::HotWater, _) => "no_hot_water_only",
        (FunctionLost::Leak, Some(LeakKind::OnElectrics)) => "water_on_electrics",
        (FunctionLost::Leak, Some(LeakKind::Contained)) => "leak_contained",
        (FunctionLost::Leak, _) => "leak_uncontrolled",
        (FunctionLost::Noise, _) => "noise",
        (FunctionLost::GasOrCo, _) => "gas_smell_or_co",
        (FunctionLost::Other, _) => "partial_heating",
    }
}

/// The rule book's row for a function whose details are not known any more.
pub(crate) fn report_of(lost: FunctionLost) -> &'static str {
    report_code(lost, None)
}

/// When somebody has to be there.
pub(crate) fn due_by_attendance(
    days: &WorkingDays,
    country: Country,
    report: &str,
    at: DateTime<Utc>,
    home: Home,
) -> Result<Due, Error> {
    due(days, country, report, (at, home), |t| {
        t.attend_by.or(t.finish_by)
    })
}

/// When it has to be put right.
pub(crate) fn due_by_finish(
    days: &WorkingDays,
    country: Country,
    report: &str,
    at: DateTime<Utc>,
    home: Home,
) -> Result<Due, Error> {
    due(days, country, report, (at, home), |t| {
        t.finish_by.or(t.attend_by)
    })
}

fn due(
    days: &WorkingDays,
    country: Country,
    report: &str,
    (at, home): (DateTime<Utc>, Home),
    pick: impl Fn(&ResponseTargets) -> Option<Deadline>,
) -> Result<Due, Error> {
    let book = RuleBook::shipped().map_err(|e| Error::Internal(e.to_string()))?;
    let query = ResponseQuery {
        country: country.code().to_owned(),
        report: report.to_owned(),
        reported_local: LocalTime(wall::local(at)),
        vulnerable: home.same_day,
        council_secure_tenant: home.council_secure,
    };
    let targets = match response(book, days, &query) {
        Ok(targets) => targets,
        Err(InspectionError::NoRuleSet(_)) => {
            return Ok(Due {
                at: None,
                why: format!("No response times are held for {country}; nothing is guessed."),
            });
        }
        Err(other) => return Err(Error::Internal(other.to_string())),
    };
    let instant = pick(&targets).and_then(by_law::instant);
    let need = if home.same_day {
        " Somebody there needs heat the same day, so the clock is shorter."
    } else {
        ""
    };
    Ok(Due {
        at: instant,
        why: format!(
            "{}{need} Landlord's own times, starting values: common practice, no source.",
            sentence_without_first(&targets)
        ),
    })
}

/// The times alone; what a caller is told first stands in the script.
fn sentence_without_first(targets: &ResponseTargets) -> String {
    let plain = ResponseTargets {
        say: None,
        ..targets.clone()
    };
    plain.sentence()
}

/// The script for the building's country. The number is a dated setting.
pub fn gas_script(tx: &mut Tx<'_>, country: Country) -> Result<GasScript, Error> {
    let kept = tx.setting("gas_emergency_number")?;
    let (number, number_status) = match (kept, country) {
        (Some(number), _) => (number, "set by this estate".to_owned()),
        (None, Country::NorthernIreland) => (
            "0800 002 001".to_owned(),
            "Northern Ireland, as pages of the gas trade publish it, read on 30 November 2026; check it for your network".to_owned(),
        ),
        (None, _) => (
            "0800 111 999".to_owned(),
            "Great Britain, as pages of the gas trade publish it, read on 30 November 2026; check it for your network".to_owned(),
        ),
    };
    let lines = vec![
        "Do not switch anything on or off. No flames, no smoking.".to_owned(),
        "Open the windows and doors.".to_owned(),
        "Turn the gas off at the emergency control valve, unless the meter is in a cellar or basement.".to_owned(),
        "Get everybody out of the flat.".to_owned(),
        format!("From outside, ring the gas emergency service: {number}."),
        "A carbon monoxide alarm: get out, turn the gas off if you pass the valve, ring from outside.".to_owned(),
        "Headache or sickness that is better outdoors: treat it as carbon monoxide and see a doctor.".to_owned(),
    ];
    Ok(GasScript {
        number,
        number_status,
        lines,
    })
}
