//! Who comes at night and at weekends, and the heaters there are to lend. The mill is covered by night only: on a Friday
//! that gap is told.
use chrono::Days;
use usecases::Error;
use usecases::cover::{CoverForm, state_cover};
use usecases::heaters::{LendForm, NewHeater, add_heater, lend_heater};

use super::Scene;

impl Scene<'_> {
    /// Cover of the three blocks.
    pub(super) fn who_stands_by(&self) -> Result<(), Error> {
        self.on_day(60, 10);
        let (own, other) = (self.people.firm, self.people.other_firm);
        for (name, firm, hours, words) in [
            (
                "Sorrel House",
                own,
                "both",
                "Ring the firm; the fitter on duty answers.",
            ),
            (
                "Bryony Tower",
                other,
                "both",
                "Ring the plant desk, day and night.",
            ),
            (
                "Madder Mill",
                own,
                "nights",
                "Ring the firm; the fitter on duty answers.",
            ),
        ] {
            let building = self
                .spaces
                .values()
                .find(|s| s.building_name == name)
                .map(|s| s.building)
                .ok_or(Error::NotFound("building of the demo"))?;
            let form = CoverForm {
                building,
                firm,
                hours: hours.to_owned(),
                from_on: self.world.now().date_naive() - Days::new(30),
                until_on: None,
                words: words.to_owned(),
            };
            state_cover(self.world, &self.desk, form, &format!("cover {name}"))?;
        }
        Ok(())
    }

    /// Four heaters, one of them with a home that has no heating.
    pub(super) fn heaters_to_lend(&self) -> Result<(), Error> {
        self.on_day(50, 11);
        let mut first = None;
        for (n, (what, watts)) in [
            ("oil-filled radiator", 2000),
            ("oil-filled radiator", 2000),
            ("oil-filled radiator", 1500),
            ("fan heater", 1800),
        ]
        .into_iter()
        .enumerate()
        {
            let form = NewHeater {
                what: what.to_owned(),
                watts,
                kept_at: "the caretaker’s store, Sorrel House".to_owned(),
            };
            let id = add_heater(self.world, &self.desk, form, &format!("heater {n}"))?;
            first = first.or(Some(id));
        }
        let heater = first.ok_or(Error::NotFound("heater of the demo"))?;
        self.hours_ago(3);
        let form = LendForm {
            heater,
            space: self.space("Sorrel House Flat 14")?,
            on: self.world.now().date_naive(),
            words: "Shown how to use it; the living room only".to_owned(),
        };
        lend_heater(self.world, &self.desk, form, "lent in the demo")
    }
}
