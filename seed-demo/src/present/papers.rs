//! Papers of the demo: the letterhead, a letter after a closed door, a service whose records the engineer issued.
use chrono::Days;
use terms::{JobId, LetterKind, SentHow};
use usecases::Error;
use usecases::letterhead::{Letterhead, state_letterhead};
use usecases::letters::{Sending, letter, send};
use usecases::records::{issue, records_of_job};

use super::Scene;

/// What was measured at the service that is on record: everything inside its limits.
const MEASURED: [(&str, &str); 15] = [
    ("r.working_mbar", "20.1"),
    ("r.co_ppm", "38"),
    ("r.co2_percent", "9.0"),
    ("r.flow_c", "70"),
    ("r.return_c", "51"),
    ("r.cold_c", "9"),
    ("r.hot_c", "47"),
    ("r.flow_lpm", "10.5"),
    ("r.cold_bar", "1.2"),
    ("r.hot_bar", "1.7"),
    ("r.charge_bar", "0.8"),
    ("r.condensate_clear", "yes"),
    ("r.inhibitor_ppm", "1050"),
    ("r.hardness_mg_l", "282"),
    ("r.co_alarm_works", "yes"),
];

/// What the engineer answered at its end.
const ANSWERED: [(&str, &str); 19] = [
    ("fire_opened", "no"),
    ("asbestos", "not_disturbed"),
    ("label_matches", "yes"),
    ("told", "yes"),
    ("work", "Serviced: burner and trap cleaned, seal looked at."),
    ("duty.G1", "yes"),
    ("duty.G4", "yes"),
    ("duty.H1", "yes"),
    ("gc.1.name", "Combi gas boiler"),
    ("gc.1.where", "Kitchen cupboard"),
    ("gc.1.result", "Safe to use"),
    ("gc.2.name", "Its flue"),
    ("gc.2.where", "Kitchen wall to outside"),
    ("gc.2.result", "Seen over its length, safe"),
    ("gc_defects", "none"),
    ("gc_26_9", "yes"),
    ("gc_signed", "yes"),
    ("cost", "96.00"),
    ("outcome", "done"),
];

impl Scene<'_> {
    /// In whose name records and letters go out.
    pub(super) fn in_whose_name(&self) -> Result<(), Error> {
        let form = Letterhead {
            name: "Askwith & Lorne, Managing Agents".to_owned(),
            address: "3 Corn Street, Teasel Green".to_owned(),
            telephone: "01632 960200".to_owned(),
        };
        state_letterhead(self.world, &self.desk, &form, "letterhead")
    }

    /// The letter that follows the first try, `days` before today.
    pub(super) fn wrote_first(&self, job: JobId, days: u64) -> Result<(), Error> {
        self.on_day(days, 12);
        let kind = LetterKind::FirstNoAccess;
        let filled = letter(self.world, &self.desk, (job, kind), None)?.filled;
        let form = Sending {
            job,
            kind,
            how: SentHow::Post,
            reference: String::new(),
            sent_at: self.world.now(),
            filled,
        };
        send(self.world, &self.desk, form, &format!("letter {job}")).map(drop)
    }

    /// A service of last month, with both its records issued on the spot.
    pub(super) fn a_service_is_on_record(&self) -> Result<(), Error> {
        self.on_day(24, 9);
        let job = self.service(
            "Sorrel House Flat 26",
            "Yearly service and gas safety check.",
        )?;
        self.taken_and_booked(job, (20, 10))?;
        let until = (self.now.date_naive() + Days::new(200)).to_string();
        let mut typed: Vec<(&str, &str)> = MEASURED.iter().chain(&ANSWERED).copied().collect();
        for reading in ["cal.co_ppm", "cal.co2_percent", "cal.gas_rate_or_inlet"] {
            typed.push((reading, &until));
        }
        self.visited(job, (20, 10), &typed)?;
        for paper in records_of_job(self.world, &self.road, job)? {
            let once = format!("issue {job} {}", paper.kind.code());
            issue(
                self.world,
                &self.road,
                (job, paper.kind),
                "Joss Tarrow",
                &once,
            )?;
        }
        Ok(())
    }
}
