//! What is going on in the demo estate today: calls, jobs at every stage, a quote to decide, an isolated unit.
//! Done through the same use cases as on any day, with the clock moved to each hour.
mod papers;
mod settled;
mod standing_by;

use std::collections::BTreeMap;
use std::sync::Arc;

use chrono::{DateTime, Days, NaiveDate, NaiveTime, TimeDelta, Timelike, Utc};
use terms::place::SpaceCard;
use terms::{DutyId, FixedClock, FunctionLost, JobId, JobKind, Role, SpaceId, UnitId};
use usecases::work::{
    Booking, FaultCall, OfferForm, OpenJob, book, log_call, offer, open_job, take,
};
use usecases::{Error, Seat, World};

use crate::people::People;

/// Units in service by "Building Space" and kind.
pub type Units = BTreeMap<(String, String), UnitId>;

/// The agent's morning.
const MORNING: NaiveTime = match NaiveTime::from_hms_opt(7, 40, 0) {
    Some(time) => time,
    None => NaiveTime::MIN,
};

struct Scene<'a> {
    world: &'a World,
    clock: &'a Arc<FixedClock>,
    desk: Seat,
    road: Seat,
    people: &'a People,
    units: &'a Units,
    spaces: BTreeMap<String, SpaceCard>,
    /// The morning the scene is told from, so that it can be told at any hour of the day.
    now: DateTime<Utc>,
    /// The instant it is really made.
    made: DateTime<Utc>,
}

/// Sets the scene up to `now`.
///
/// # Errors
/// Whatever a use case refuses.
pub fn set_the_scene(
    (world, clock): (&World, &Arc<FixedClock>),
    seat: &Seat,
    people: &People,
    units: &Units,
    now: DateTime<Utc>,
) -> Result<(), Error> {
    let of = |account, role| {
        let person = usecases::door::person_of(world, account)?;
        Seat::first(&person, &[role])
    };
    let spaces = world.acting(seat, |tx| Ok(tx.spaces(None)?))?;
    let scene = Scene {
        world,
        clock,
        desk: of(people.agent, Role::Agent)?,
        road: of(people.on_the_road, Role::Contractor)?,
        people,
        units,
        spaces: spaces
            .into_iter()
            .map(|s| (format!("{} {}", s.building_name, s.name), s))
            .collect(),
        now: now.min(now.date_naive().and_time(MORNING).and_utc()),
        made: now,
    };
    scene.what_may_be_agreed(&of(people.landlord, Role::Landlord)?)?;
    scene.in_whose_name()?;
    scene.who_lives_there()?;
    scene.what_options_need_to_know()?;
    scene.a_service_is_on_record()?;
    scene.nobody_answers()?;
    scene.one_is_isolated()?;
    scene.two_wait_for_a_decision()?;
    scene.one_waits_for_a_part()?;
    scene.nobody_took_it()?;
    scene.one_is_booked_today()?;
    scene.who_stands_by()?;
    scene.heaters_to_lend()?;
    scene.a_service_is_booked_today()
}

impl Scene<'_> {
    fn space(&self, name: &str) -> Result<SpaceId, Error> {
        self.spaces
            .get(name)
            .map(|s| s.id)
            .ok_or(Error::NotFound("space of the demo"))
    }

    fn unit(&self, name: &str, kind: &str) -> Result<UnitId, Error> {
        let key = (name.to_owned(), kind.to_owned());
        self.units
            .get(&key)
            .copied()
            .ok_or(Error::NotFound("unit of the demo"))
    }

    fn hours_ago(&self, hours: i64) {
        self.clock.set(self.now - TimeDelta::hours(hours));
    }

    /// `days` before today, at `hour` o'clock.
    fn on_day(&self, days: u64, hour: u32) {
        let day = self.now.date_naive() - Days::new(days);
        let at = day.and_time(NaiveTime::from_hms_opt(hour, 5, 0).unwrap_or_default());
        self.clock.set(at.and_utc().min(self.now));
    }

    fn call(
        &self,
        name: &str,
        lost: FunctionLost,
        (hours, words): (i64, &str),
        kind: &str,
    ) -> Result<JobId, Error> {
        self.hours_ago(hours);
        let form = FaultCall {
            space: self.space(name)?,
            function_lost: lost,
            leak: None,
            since: Some(self.world.now() - TimeDelta::minutes(25)),
            unit: Some(self.unit(name, kind)?),
            words: words.to_owned(),
        };
        Ok(log_call(self.world, &self.desk, form, &format!("call {name}"))?.job)
    }

    fn offered(&self, job: JobId, firm: terms::FirmId) -> Result<(), Error> {
        let until = self.world.now() + TimeDelta::days(3);
        let form = OfferForm {
            job,
            firm,
            until,
            proposed: None,
            version: None,
        };
        offer(self.world, &self.desk, form, &format!("offer {job}"))
    }

    /// Offered, taken by the engineer who signs in, and booked `days` before today at `hour`.
    fn taken_and_booked(&self, job: JobId, (days, hour): (u64, u32)) -> Result<(), Error> {
        self.taken_for(job, (self.now.date_naive() - Days::new(days), hour))
    }

    /// The day and hour of a visit to come: today as wished, later today when that hour is past, else tomorrow.
    fn still_to_come(&self, wished: u32, later: u32) -> (NaiveDate, u32) {
        let (today, hour) = (self.made.date_naive(), self.made.hour());
        // An hour more than UTC's, for the summer.
        match hour + 1 {
            hour if hour < wished => (today, wished),
            hour if hour + later < 19 => (today, hour + later),
            _ => (today + Days::new(1), wished),
        }
    }

    fn taken_for(&self, job: JobId, (day, hour): (NaiveDate, u32)) -> Result<(), Error> {
        self.offered(job, self.people.firm)?;
        take(
            self.world,
            &self.road,
            job,
            Some(self.people.engineer),
            &format!("take {job}"),
        )?;
        let form = Booking {
            job,
            day,
            from: NaiveTime::from_hms_opt(hour, 0, 0).unwrap_or_default(),
            until: NaiveTime::from_hms_opt(hour + 1, 30, 0).unwrap_or_default(),
            engineer: Some(self.people.engineer),
            version: None,
        };
        book(self.world, &self.road, form, &format!("book {job}"))
    }

    /// The engineer arrives `days` before today at `hour` and sends the sheet forty minutes later.
    fn visited(
        &self,
        job: JobId,
        (days, hour): (u64, u32),
        typed: &[(&str, &str)],
    ) -> Result<(), Error> {
        self.on_day(days, hour);
        usecases::visit::arrive(self.world, &self.road, job, &format!("arrive {job} {days}"))?;
        self.clock.advance(TimeDelta::minutes(40));
        let typed = typed
            .iter()
            .map(|(k, v)| ((*k).to_owned(), (*v).to_owned()))
            .collect();
        let once = format!("sheet {job} {days}");
        usecases::visit::submit_sheet(self.world, &self.road, (job, typed), &once).map(drop)
    }

    fn duties_of(&self, unit: UnitId, rules: &[&str]) -> Result<Vec<DutyId>, Error> {
        let cards = self
            .world
            .acting(&self.desk, |tx| Ok(tx.duties_of_units(&[unit])?))?;
        Ok(cards
            .into_iter()
            .filter(|d| d.ended_on.is_none() && rules.contains(&d.rule.as_str()))
            .map(|d| d.id)
            .collect())
    }

    fn service(&self, name: &str, words: &str) -> Result<JobId, Error> {
        let unit = self.unit(name, "CB")?;
        let form = OpenJob {
            kind: JobKind::Service,
            space: self.space(name)?,
            unit: Some(unit),
            words: words.to_owned(),
            due_on: Some(self.now.date_naive() + Days::new(12)),
            duties: self.duties_of(unit, &["G1", "G4", "H1"])?,
            minutes: Some(90),
        };
        open_job(self.world, &self.desk, form, &format!("service {name}"))
    }

    fn nobody_answers(&self) -> Result<(), Error> {
        self.on_day(34, 9);
        let job = self.service(
            "Sorrel House Flat 40",
            "Yearly service and gas safety check.",
        )?;
        for (days, hour, words) in [
            (32, 10, "Rang, knocked, waited ten minutes."),
            (14, 17, "Evening slot as the resident asked; nobody in."),
        ] {
            self.on_day(days + 1, 9);
            if days == 32 {
                self.taken_and_booked(job, (days, hour))?;
            } else {
                let form = Booking {
                    job,
                    day: self.now.date_naive() - Days::new(days),
                    from: NaiveTime::from_hms_opt(hour, 0, 0).unwrap_or_default(),
                    until: NaiveTime::from_hms_opt(hour + 1, 30, 0).unwrap_or_default(),
                    engineer: Some(self.people.engineer),
                    version: None,
                };
                book(self.world, &self.road, form, &format!("book again {job}"))?;
            }
            self.visited(
                job,
                (days, hour),
                &[
                    ("outcome", "no_access"),
                    ("access_words", words),
                    ("left_behind", "card through the door, text sent"),
                ],
            )?;
            if days == 32 {
                self.wrote_first(job, 31)?;
            }
        }
        Ok(())
    }

    fn one_is_isolated(&self) -> Result<(), Error> {
        let name = "Sorrel House Flat 31";
        let job = self.call(
            name,
            FunctionLost::HeatingAndHotWater,
            (52, "Boiler dead, smell of burning before."),
            "CB",
        )?;
        self.taken_and_booked(job, (2, 13))?;
        self.visited(
            job,
            (2, 13),
            &[
                ("gas_work", "yes"),
                ("unsafe", "AR"),
                (
                    "unsafe_words",
                    "Case seal perished, scorching above the case.",
                ),
                ("unsafe_notice", "0417"),
                ("unsafe_isolated", "yes"),
                ("told_resident", "13:25"),
                ("told_agent", "13:40"),
                ("told_landlord", "13:45"),
                ("heat", "lent"),
                ("heat_what", "Two oil-filled heaters, 1.5 kW each"),
                ("heat_at", "13:50"),
                ("asbestos", "yes"),
                ("told", "yes"),
                ("label_matches", "yes"),
                (
                    "work",
                    "Turned off at the isolation valve, labelled, notice signed. Two heaters lent.",
                ),
                ("next_words", "Repair or replace to be decided."),
                ("outcome", "left_isolated"),
            ],
        )
    }

    fn two_wait_for_a_decision(&self) -> Result<(), Error> {
        for (name, part, words, lines, hours) in [
            (
                "Sorrel House Flat 22",
                "dhw_plate",
                "Hot water lukewarm at the kitchen tap.",
                [
                    ("Hot-water plate", "163.33"),
                    ("Labour, two hours", "180.00"),
                ],
                100,
            ),
            (
                "Sorrel House Flat 46",
                "fan",
                "Whistles, then stops.",
                [("Fan", "128.33"), ("Labour, one hour and a half", "110.00")],
                75,
            ),
        ] {
            let lost = if part == "fan" {
                FunctionLost::HeatingAndHotWater
            } else {
                FunctionLost::HotWater
            };
            let job = self.call(name, lost, (hours, words), "CB")?;
            let days = (hours / 24).unsigned_abs() - 1;
            self.taken_and_booked(job, (days, 10))?;
            let until = (self.now.date_naive() + Days::new(9)).to_string();
            let [(first, first_net), (second, second_net)] = lines;
            // A boiler that neither heats nor warms water has nothing to measure at the tap.
            let mut answers = if lost == FunctionLost::HotWater {
                vec![("r.cold_c", "9"), ("r.hot_c", "36"), ("r.flow_lpm", "11")]
            } else {
                Vec::new()
            };
            answers.extend([
                ("cause", part),
                ("gas_work", "no"),
                ("asbestos", "yes"),
                ("label_matches", "yes"),
                ("told", "yes"),
                ("work", "Looked, measured, not repaired yet."),
                ("q.1.what", first),
                ("q.1.net", first_net),
                ("q.2.what", second),
                ("q.2.net", second_net),
                ("q_until", until.as_str()),
                ("q_part", part),
                (
                    "q_words",
                    "Price holds if it is done on a day when we are in this building for another job anyway.",
                ),
                ("next_words", "Waits for a yes."),
                ("outcome", "waiting_for_decision"),
            ]);
            self.visited(job, (days, 10), &answers)?;
        }
        Ok(())
    }

    fn one_waits_for_a_part(&self) -> Result<(), Error> {
        let name = "Madder Mill Flat 9";
        let job = self.call(
            name,
            FunctionLost::HotWater,
            (49, "No hot water since this morning."),
            "TS",
        )?;
        self.taken_and_booked(job, (1, 11))?;
        self.visited(
            job,
            (1, 11),
            &[
                ("cause", "immersion"),
                ("asbestos", "yes"),
                ("label_matches", "yes"),
                ("told", "yes"),
                ("work", "Element open circuit. Ordered; arrives tomorrow."),
                ("next_words", "Immersion element, 3 kW, arrives tomorrow."),
                ("outcome", "waiting_for_part"),
            ],
        )
    }

    fn nobody_took_it(&self) -> Result<(), Error> {
        let job = self.call(
            "Bryony Tower Flat 71",
            FunctionLost::HeatingAndHotWater,
            (26, "Cold since last night, the neighbours are warm."),
            "HIU",
        )?;
        self.hours_ago(25);
        self.offered(job, self.people.other_firm)
    }

    fn one_is_booked_today(&self) -> Result<(), Error> {
        let job = self.call(
            "Sorrel House Flat 14",
            FunctionLost::Heating,
            (6, "Radiators cold, taps hot."),
            "CB",
        )?;
        self.hours_ago(5);
        self.taken_for(job, self.still_to_come(12, 1))
    }

    fn a_service_is_booked_today(&self) -> Result<(), Error> {
        self.on_day(12, 9);
        let job = self.service(
            "Sorrel House Flat 17",
            "Yearly service and gas safety check.",
        )?;
        self.taken_for(job, self.still_to_come(14, 3))
    }
}
