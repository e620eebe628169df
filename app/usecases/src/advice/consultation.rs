//! Whether leaseholders are to be consulted before works are ordered: the test on the largest share, and drafted dates.
//! A reminder, not legal advice: the threshold and the periods are those of England as read, and are under review.
use chrono::NaiveDate;
use inspection::calendar::add_days;
use inspection::clock::{Notice, Section20Query, WorkingDays, section20};
use serde_json::json;
use store::Tx;
use terms::{BuildingId, Pence, Role, UsedAs};

use crate::founding::consult_above;
use crate::{Error, Seat, World};

/// Days to send the first notice.
const TO_SEND: i64 = 3;
/// A day more than the period that begins with the notice itself is left, both times: never short (common practice, no
/// source). The periods are `inspection::clock::section20`'s.
const SPARE: i64 = 1;
/// Days from the first notice to the statement of estimates: observations, then at least two estimates (common practice, no
/// source).
const TO_ESTIMATES: i64 = 56;

/// The dates of a consultation that began today.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Steps {
    /// First notice to every leaseholder and recognised association.
    pub notice: NaiveDate,
    /// Observations and nominations until then.
    pub observations_until: NaiveDate,
    /// Statement of estimates, with a summary of the observations.
    pub estimates: NaiveDate,
    /// Observations on them until then.
    pub second_until: NaiveDate,
    /// First day on which it can be decided.
    pub decide_from: NaiveDate,
    /// Reasons at the latest, if it is contracted on that day.
    pub reasons_until: NaiveDate,
}

/// The test.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Consultation {
    /// What the works cost, VAT in it.
    pub cost: Pence,
    /// The largest share of any one leaseholder, per cent.
    pub share: f64,
    /// Whether that share was stated; else every flat is taken to bear the same.
    pub stated: bool,
    /// What falls on that leaseholder.
    pub largest: Pence,
    /// More than this needs consulting about, by the row of the trade's data in force today.
    pub above: Pence,
    /// The dates, where it is more than the threshold.
    pub steps: Option<Steps>,
}

/// The dates of a consultation drafted on `today`.
pub fn steps_from(today: NaiveDate) -> Steps {
    let notice = add_days(today, TO_SEND);
    let estimates = add_days(notice, TO_ESTIMATES);
    let received = |on: NaiveDate| {
        Some(Notice {
            received_on: Some(on),
            posted_on: None,
            post_working_days: 0,
            stated_end: None,
        })
    };
    // Received on its day: nothing is counted in working days here.
    let days = WorkingDays::default();
    let run = |contract_on: Option<NaiveDate>| {
        let query = Section20Query {
            intention: received(notice),
            estimates: received(estimates),
            contract_on,
            lowest_or_nominated: false,
        };
        section20(&days, &query)
    };
    let spared = |day: Option<NaiveDate>| add_days(day.unwrap_or(today), SPARE);
    let periods = run(None);
    let decide_from = spared(periods.contract_earliest);
    Steps {
        notice,
        observations_until: spared(periods.intention_ends),
        estimates,
        second_until: spared(periods.estimates_ends),
        decide_from,
        reasons_until: run(Some(decide_from)).reasons_by.unwrap_or(decide_from),
    }
}

/// The threshold in force on a day. England's is used everywhere: no other country's rules are held.
fn above_on(day: NaiveDate) -> Result<Pence, Error> {
    consult_above()?
        .into_iter()
        .filter(|row| row.from_on <= day)
        .max_by_key(|row| row.from_on)
        .map(|row| row.above)
        .ok_or(Error::NotFound("threshold of consultation"))
}

fn key(building: BuildingId) -> String {
    format!("lease_share_{building}")
}

/// The largest share stated for a building, per cent.
pub(crate) fn stated_share(tx: &mut Tx<'_>, building: BuildingId) -> Result<Option<f64>, Error> {
    let text = tx.setting(&key(building))?;
    Ok(text
        .and_then(|t| t.parse::<f64>().ok())
        .filter(|share| (0.0..=100.0).contains(share)))
}

/// The test of works at `cost` in a building; `None` where there are no flats to share it.
pub(crate) fn consultation(
    tx: &mut Tx<'_>,
    building: BuildingId,
    cost: Pence,
) -> Result<Option<Consultation>, Error> {
    let stated = stated_share(tx, building)?;
    let spaces = tx.spaces(Some(building))?;
    let flats = spaces.iter().filter(|s| s.used_as == UsedAs::Flat).count();
    if flats == 0 {
        return Ok(None);
    }
    let share = stated.unwrap_or(100.0 / flats as f64);
    // Up to the next penny: the test must not be passed by rounding.
    let largest = Pence((cost.0 as f64 * share / 100.0 - 1e-6).ceil() as i64);
    let today = tx.today();
    let above = above_on(today)?;
    Ok(Some(Consultation {
        cost,
        share,
        stated: stated.is_some(),
        largest,
        above,
        steps: (largest > above).then(|| steps_from(today)),
    }))
}

/// States the largest share that any one leaseholder of a building bears, per cent.
///
/// # Errors
/// [`Error::Invalid`] at `share` outside 0 to 100; [`Error::NotFound`] outside the seat's reach.
pub fn state_largest_share(
    world: &World,
    seat: &Seat,
    (building, share): (BuildingId, f64),
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    seat.must_reach(building)?;
    if !(0.0..=100.0).contains(&share) || share == 0.0 {
        return Err(Error::field(
            "share",
            "A share lies above 0 and up to 100 per cent.",
        ));
    }
    world.acting(seat, |tx| {
        tx.building(building)?;
        tx.once(once, &("largest share", building, share), |tx| {
            tx.set(&key(building), &share.to_string())?;
            let body = json!({ "per_cent": share });
            tx.note(
                "largest share stated",
                &format!("building {building}"),
                &body,
            );
            Ok(())
        })
    })
}

#[cfg(test)]
mod tests {
    use super::{above_on, steps_from};
    use crate::Error;
    use terms::Pence;

    /// More than £250 for any one leaseholder (SI 2003/1987 reg. 6, from memory); before the rule's day there is none.
    #[test]
    fn the_threshold_is_the_row_in_force_on_the_day() {
        let day = |text: &str| text.parse().unwrap();
        assert_eq!(above_on(day("2026-11-25")).unwrap(), Pence(25_000));
        assert_eq!(above_on(day("2003-10-31")).unwrap(), Pence(25_000));
        assert!(matches!(
            above_on(day("2003-10-30")),
            Err(Error::NotFound(_))
        ));
    }

    /// Counted on a calendar.
    #[test]
    fn the_dates_of_a_consultation() {
        let day = |text: &str| text.parse().unwrap();
        let steps = steps_from(day("2026-11-25"));
        assert_eq!(steps.notice, day("2026-11-28"));
        assert_eq!(steps.observations_until, day("2026-12-28"));
        assert_eq!(steps.estimates, day("2027-01-23"));
        assert_eq!(steps.second_until, day("2027-02-22"));
        assert_eq!(steps.decide_from, day("2027-02-23"));
        assert_eq!(steps.reasons_until, day("2027-03-16"));
    }
}
