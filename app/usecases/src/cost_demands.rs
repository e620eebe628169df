//! The eighteen months of section 20B: by when a cost is demanded from those who pay towards it, or notice of it given.
//!
//! Law text read; Landlord and Tenant Act 1985 section 20B. Counted from the invoice's own date: a cost is not incurred
//! before it was billed, so the day said is never too late (ours: common practice, no source).
use chrono::NaiveDate;
use inspection::calendar::add_months;
use inspection::clock::{DemandOrNotice, Section20b, section20b};
use serde::Serialize;
use serde_json::json;
use store::Tx;
use store::cost_demands::CostDemand;
use terms::{Country, JobId, Role};

use crate::work::{must_see, wall};
use crate::{Error, FieldError, Seat, World};

/// How the days are known.
pub const STATUS: &str =
    "law text read; counted from the invoice’s own date, which is ours: common practice, no source";
/// Months after which nobody is reminded any more: what was not demanded by then was not going to be.
const REMIND_MONTHS: i32 = 24;

/// How an invoice's cost stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Recovery {
    /// Its dates; none where no rules are held for the building's country.
    pub clock: Option<Section20b>,
    /// The country, where none are held.
    pub country: Country,
    /// What was served of it, the earliest first.
    pub served: Vec<CostDemand>,
}

impl Recovery {
    /// By when, or how it was served, in a sentence.
    pub fn sentence(&self) -> String {
        let Some(clock) = &self.clock else {
            return format!(
                "By when those who pay towards it are asked is not held for {}; nothing is guessed.",
                self.country
            );
        };
        match self.served.as_slice() {
            [] => format!(
                "Where leaseholders pay towards it: {} After that it may not be recoverable.",
                clock.sentence()
            ),
            served => {
                let said: Vec<String> = served.iter().map(told).collect();
                format!("{} {}", said.join(" "), clock.sentence())
            }
        }
    }
}

fn told(demand: &CostDemand) -> String {
    let on = inspection::calendar::date_words(demand.served_on);
    match demand.served.as_str() {
        "demand" => format!("Demanded on {on}."),
        _ => format!("Notice of it given on {on}."),
    }
}

/// A cost that is neither demanded nor notified.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Undemanded {
    /// The job it bills.
    pub job: JobId,
    /// The job's number.
    pub job_number: String,
    /// The building.
    pub building: terms::BuildingId,
    /// The building's name.
    pub building_name: String,
    /// The invoice's own number.
    pub number: String,
    /// The last day to be on the safe side.
    pub work_to: NaiveDate,
    /// Its dates in a sentence.
    pub sentence: String,
}

/// What is served of a cost.
#[derive(Clone, Debug, Serialize)]
pub struct ServeForm {
    /// The job it bills.
    pub job: JobId,
    /// The invoice by its own number.
    pub number: String,
    /// "demand" or "notice".
    pub served: String,
    /// The day.
    pub on: NaiveDate,
    /// How.
    pub words: String,
}

/// How the cost of an invoice dated `dated` stands: what was served first speaks.
pub(crate) fn recovery(
    dated: NaiveDate,
    country: Country,
    served: Vec<CostDemand>,
) -> Result<Recovery, Error> {
    let first = served.first();
    let kind: DemandOrNotice = match first {
        Some(first) => first
            .served
            .parse()
            .map_err(|e: inspection::InspectionError| Error::Internal(e.to_string()))?,
        None => DemandOrNotice::Notice,
    };
    Ok(Recovery {
        clock: (country == Country::England)
            .then(|| section20b(dated, first.map(|s| s.served_on), kind)),
        country,
        served,
    })
}

/// Writes down that a cost was demanded, or notice of it given.
///
/// # Errors
/// [`Error::Invalid`] at `served` and `served_on`; [`Error::NotFound`] without such an invoice.
pub fn serve(world: &World, seat: &Seat, form: &ServeForm, once: &str) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        tx.once(once, form, |tx| {
            let job = tx.job(form.job)?;
            must_see(tx, seat, &job)?;
            let invoice = tx
                .invoices_of(job.id)?
                .into_iter()
                .find(|i| i.number == form.number)
                .ok_or(Error::NotFound("invoice"))?;
            let mut wrongs = Vec::new();
            if form.served.parse::<DemandOrNotice>().is_err() {
                wrongs.push(FieldError::at(
                    "served",
                    "Say whether it was demanded, or notice of it given.",
                ));
            }
            if form.on > wall::day(tx.at()) {
                wrongs.push(FieldError::at("served_on", "That day has not come yet."));
            } else if form.on < invoice.dated {
                wrongs.push(FieldError::at(
                    "served_on",
                    "That is before the invoice’s own date.",
                ));
            }
            Error::unless_empty(wrongs)?;
            tx.state_cost_demand(&CostDemand {
                job: job.id,
                number: invoice.number.clone(),
                served: form.served.clone(),
                served_on: form.on,
                words: form.words.trim().to_owned(),
            })?;
            tx.note(
                "cost served",
                &job.id.to_string(),
                &json!({ "invoice": invoice.number, "served": form.served, "on": form.on }),
            );
            Ok(())
        })
    })
}

/// Costs whose day comes within three months and of which nothing was served, the nearest first. One long past is not
/// asked for any more.
pub fn undemanded(world: &World, seat: &Seat) -> Result<Vec<Undemanded>, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        let today = wall::day(tx.at());
        let served = tx.cost_demands_of(None)?;
        let mut found = Vec::new();
        // The sweep begins fifteen months after the cost: older than that, and not past asking.
        let between = (add_months(today, -REMIND_MONTHS), add_months(today, -14));
        for (job, number, dated) in tx.invoices_dated(between)? {
            if served.iter().any(|s| s.job == job && s.number == number) {
                continue;
            }
            found.extend(one(tx, seat, (job, number, dated), today)?);
        }
        found.sort_by(|a, b| (a.work_to, &a.number).cmp(&(b.work_to, &b.number)));
        Ok(found)
    })
}

fn one(
    tx: &mut Tx<'_>,
    seat: &Seat,
    (job, number, dated): (JobId, String, NaiveDate),
    today: NaiveDate,
) -> Result<Option<Undemanded>, Error> {
    let job = tx.job(job)?;
    if !seat.grant().reaches(job.building) {
        return Ok(None);
    }
    let building = tx.building(job.building)?;
    let recovery = recovery(dated, building.country, Vec::new())?;
    Ok(recovery
        .clock
        .filter(|clock| clock.sweep_on <= today)
        .map(|clock| Undemanded {
            job: job.id,
            job_number: job.number,
            building: building.id,
            building_name: building.name,
            number,
            work_to: clock.work_to,
            sentence: recovery.sentence(),
        }))
}
