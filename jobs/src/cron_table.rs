//! What runs when: one table, London time, never before three in the morning, when the clocks have changed.
use std::str::FromStr;

use chrono::{DateTime, TimeDelta, Utc};
use chrono_tz::Europe::London;
use chrono_tz::Tz;
use usecases::tasks::{For, enter_tick};
use usecases::{Error, World};

/// One line of the table.
#[derive(Clone, Copy, Debug)]
pub struct Schedule {
    /// Its name: with the local day (and hour) of a tick, the tick's key.
    pub name: &'static str,
    /// Seconds, minutes, hours, day of month, month, day of week by name.
    pub when: &'static str,
    /// How a tick is told from the others: by its day, or by day and minute.
    pub key: &'static str,
    /// The kind of task it queues.
    pub task: &'static str,
    /// For whom.
    pub whom: For,
}

/// Once a day.
const DAY: &str = "%Y-%m-%d";
/// Several times a day.
const MINUTE: &str = "%Y-%m-%d %H:%M";

/// The table.
pub const SCHEDULES: &[Schedule] = &[
    Schedule {
        name: "refit every night",
        when: "0 15 3 * * *",
        key: DAY,
        task: "nightly_refit",
        whom: For::EachEstate,
    },
    Schedule {
        name: "what is due every night",
        when: "0 30 3 * * *",
        key: DAY,
        task: "due_list",
        whom: For::EachEstate,
    },
    Schedule {
        name: "book of forecasts every night",
        when: "0 45 3 * * *",
        key: DAY,
        task: "keep_record",
        whom: For::EachEstate,
    },
    Schedule {
        name: "groups every night",
        when: "0 50 3 * * *",
        key: DAY,
        task: "look_for_groups",
        whom: For::EachEstate,
    },
    Schedule {
        name: "plans every night",
        when: "0 0 5 * * *",
        key: DAY,
        task: "make_plans",
        whom: For::EachEstate,
    },
    Schedule {
        name: "offers run out",
        when: "0 5,20,35,50 6-23 * * *",
        key: MINUTE,
        task: "lapse_offers",
        whom: For::EachEstate,
    },
    Schedule {
        name: "brief every morning",
        when: "0 0 6 * * *",
        key: DAY,
        task: "morning_brief",
        whom: For::EachEstate,
    },
    Schedule {
        name: "bank holidays every week",
        when: "0 30 4 * * Mon",
        key: DAY,
        task: "bank_holidays",
        whom: For::Server,
    },
];

/// How far back a tick is still made good: a machine that was off overnight works in the morning.
const LOOK_BACK: TimeDelta = TimeDelta::days(8);

/// The last time at or before `now` that `when` names, in London; `None` when there was none in the past eight days,
/// or when it cannot be read.
pub fn last_due(when: &str, now: DateTime<Utc>) -> Option<DateTime<Tz>> {
    let schedule = cron::Schedule::from_str(when).ok()?;
    let local = now.with_timezone(&London);
    schedule
        .after(&(local - LOOK_BACK))
        .take_while(|at| *at <= local)
        .last()
}

/// Enters every tick that is due; answers how many this process was first to enter.
///
/// # Errors
/// The store's own.
pub(crate) fn enter_ticks(world: &World) -> Result<usize, Error> {
    let now = world.now();
    let mut first = 0;
    for schedule in SCHEDULES {
        let Some(at) = last_due(schedule.when, now) else {
            continue;
        };
        let due = at.format(schedule.key).to_string();
        let key = (schedule.name, due.as_str());
        if enter_tick(world, key, schedule.task, schedule.whom)? {
            first += 1;
        }
    }
    Ok(first)
}

#[cfg(test)]
mod tests {
    use chrono::Timelike;

    use super::*;

    #[test]
    fn every_line_can_be_read_and_none_falls_in_the_changing_hours() {
        let now: DateTime<Utc> = "2026-11-25T23:59:59Z".parse().unwrap();
        for schedule in SCHEDULES {
            let due = last_due(schedule.when, now).unwrap();
            assert!(due.hour() >= 3, "{}", schedule.name);
        }
        assert!(last_due("0 15 3 * * Someday", now).is_none());
    }

    /// Europe/London in the IANA tz database: forward on 29 March 2026, back on 25 October 2026, both at 01:00 UTC.
    #[test]
    fn on_the_days_the_clocks_change_it_is_due_once_at_the_wall_time() {
        for (day, utc) in [
            ("2026-03-28", "2026-03-28T03:15:00Z"),
            ("2026-03-29", "2026-03-29T02:15:00Z"),
            ("2026-10-24", "2026-10-24T02:15:00Z"),
            ("2026-10-25", "2026-10-25T03:15:00Z"),
        ] {
            let at: DateTime<Utc> = utc.parse().unwrap();
            let due = last_due("0 15 3 * * *", at).unwrap();
            assert_eq!(due.with_timezone(&Utc), at, "{day}");
            assert_eq!(due.date_naive().to_string(), day);
            let before = last_due("0 15 3 * * *", at - TimeDelta::seconds(1)).unwrap();
            assert_eq!(
                before.date_naive().succ_opt(),
                Some(due.date_naive()),
                "{day}"
            );
            // Every minute of that day up to midnight names the same tick.
            for minute in 0..(20 * 60) {
                let later = last_due("0 15 3 * * *", at + TimeDelta::minutes(minute)).unwrap();
                assert_eq!(later, due, "{day} +{minute}");
            }
        }
    }
}
