//! Old cylinder out, store in. An open-vented cylinder under a cold water tank, past its planning age, two leaks on
//! record; no route for D1 and D2, so an unvented one is ruled out; a store fits after the cold main is made larger.
use chrono::NaiveDate;
use terms::unit::{FailureRecord, PartFitted};
use terms::{FailureId, Fate, JobKind, SpaceId, UnitId};
use usecases::forecast;
use usecases::register::{self, NewUnit, UnitFacts};
use usecases::work::{self, OpenJob};

use super::Teller;
use crate::support::Width;
use crate::support::pdf::pages_of;

/// A flat of the mill with a cylinder.
const FLAT: &str = "Flat 18";
const MILL: &str = "Madder Mill";

/// What Nell writes down after a survey of the flat.
const SURVEY: [(&str, &str); 8] = [
    ("static_bar", "2.4"),
    ("dynamic_bar_at_12", "0.8"),
    ("max_flow_lpm", "10"),
    ("cold_pipe_mm", "15"),
    ("electric_kw_spare", "8"),
    ("electric_kw_needed", "6"),
    ("people", "2"),
    ("baths", "1"),
];

struct Story {
    told: Teller,
    space: SpaceId,
    cylinder: UnitId,
    tank: UnitId,
    /// What was on record of the cylinder before the day.
    before: store::history::History,
}

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

impl Story {
    fn begin(width: Width) -> Self {
        let told = Teller::begin("old-cylinder", width);
        let cylinder = told.unit(MILL, FLAT, "VC");
        let facts = UnitFacts {
            kind: "CT".to_owned(),
            serial: String::new(),
            installed: cylinder.installed,
            rated_kw: None,
            litres: Some(110.0),
            filter_fitted: None,
            reducer_fitted: None,
            warranty_until: None,
            note: "Over the cylinder, in the hall cupboard".to_owned(),
        };
        let form = NewUnit {
            space: cylinder.space,
            facts,
            placed_from: None,
            watched_from: None,
        };
        let tank = register::add_unit(told.world(), &told.seat, form, "the tank").unwrap();
        let mut story = Self {
            before: told.seen(cylinder.id).history,
            space: cylinder.space,
            cylinder: cylinder.id,
            tank,
            told,
        };
        for on in ["2025-02-11", "2026-09-30"] {
            story.leaked(on);
        }
        story.had_a_part("2021-03-09");
        story.before = story.told.seen(story.cylinder).history;
        story
    }

    /// A part of its own, fitted long ago.
    fn had_a_part(&self, on: &str) {
        let fitted = PartFitted {
            unit: self.cylinder,
            part: "immersion".to_owned(),
            fitted_on: day(on),
            planned: false,
            job: None,
        };
        self.told
            .world()
            .acting(&self.told.seat, |tx| {
                Ok::<_, usecases::Error>(tx.add_part_fitted(&fitted, "", None)?)
            })
            .unwrap();
    }

    fn leaked(&self, on: &str) {
        let record = FailureRecord {
            id: FailureId(uuid::Uuid::nil()),
            unit: self.cylinder,
            part: Some("body".to_owned()),
            function_lost: Some("leak".to_owned()),
            happened_on: day(on),
            happened_until: None,
            found_at_service: false,
            no_fault_found: false,
            cost: None,
            job: None,
            same_as: String::new(),
            words: "Weeping at the base; dried by itself".to_owned(),
            recorded_at: chrono::DateTime::default(),
        };
        let (world, unit) = (self.told.world(), self.cylinder);
        world
            .acting(&self.told.seat, |tx| {
                tx.add_failure(&record, None)?;
                forecast::renew_unit(tx, unit)
            })
            .unwrap();
    }

    /// What the agent writes down, and what the advice then says.
    fn the_options_are_weighed(&self) {
        let (t, b) = (&self.told, &self.told.browser);
        t.comes("Nell Askwith");
        let building = t.seen(self.cylinder).unit.building;
        b.go(&format!("/buildings/{building}/facts"));
        b.choose("asbestos", "clear");
        t.look("building-facts");
        b.press("Keep this");
        b.until("the building is kept", || {
            b.path() == format!("/buildings/{building}")
        });
        b.go(&format!("/spaces/{}/site", self.space));
        for (name, value) in SURVEY {
            b.answer(name, value);
        }
        t.look("what-could-stand-here");
        b.press("Keep this");
        b.until("the site is kept", || {
            b.path() == format!("/spaces/{}", self.space)
        });
        t.look("flat-before");
        b.go(&format!("/units/{}", self.cylinder));
        t.says(&["Weeping at the base"]);
        t.look("cylinder");
        if b.words().contains("Weigh it") {
            b.press("Weigh it");
        } else {
            b.press("Read the advice");
        }
        b.arrives("/advice/");
        t.says(&[
            "like for like",
            "Replace with a thermal store",
            "after these works: the cold main in 22 mm with an isolation valve, about £420.00",
            "a scale reducer, about £160.00",
            "The busiest hour of 2 there needs",
            "Ruled out here",
            "There is nowhere to run the discharge pipe.",
        ]);
        t.look("advice");
        b.press("Print the two pages");
        b.arrives("/pack");
        t.look("pack");
        assert_eq!(pages_of(&b.print("pack")), 2, "two printed pages");
    }

    fn the_landlord_accepts(&self) {
        let (t, b) = (&self.told, &self.told.browser);
        let advice = b.path().replace("/pack", "");
        t.comes("Imre Calverdale");
        b.go(&advice);
        b.choose("choice", "replace:TS");
        b.answer(
            "reason",
            "No discharge is needed, and the tank over the bedroom goes",
        );
        t.look("deciding");
        b.press_css("main button.press");
        b.until("he is back at his letter", || b.path() == "/letter");
        b.go(&advice);
        t.says(&["Imre Calverdale, landlord decided: replace with a thermal store"]);
        t.look("decided");
    }

    /// The job is placed, taken and closed with readings.
    fn the_store_is_fitted(&self) {
        let (t, b) = (&self.told, &self.told.browser);
        t.comes("Nell Askwith");
        b.go("/jobs");
        b.press_in_row("replacement of the vented cylinder MM-18-1", FLAT);
        t.offered_taken_and_booked("10:30", "17:30");
        b.press("I am at the unit");
        b.until("the first step", || b.path().contains("/reading"));
        let sheet = b.path().split("/reading").next().unwrap().to_owned();
        b.go(&format!("{sheet}/reading/tundish_or_vent"));
        b.choose("r.tundish", "dry");
        b.press("Next");
        b.leaves(&format!("{sheet}/reading/tundish_or_vent"));
        b.go(&format!("{sheet}/reading/cutout"));
        b.choose("r.cutout_proved", "yes");
        b.press("Next");
        b.leaves(&format!("{sheet}/reading/cutout"));
        b.go(&format!("{sheet}/work"));
        for (question, answer) in [
            ("new.kind", "TS"),
            ("new.filter", "yes"),
            ("new.reducer", "yes"),
            ("old_fate", "written_off"),
            ("asbestos", "not_disturbed"),
            ("elec", "yes"),
            ("elec_dead", "yes"),
            ("wet", "yes"),
            ("leak", "no"),
            ("fire_opened", "no"),
            ("route_seen", "yes"),
            ("label_matches", "yes"),
        ] {
            b.choose(question, answer);
        }
        for (question, answer) in [
            ("new.serial", "ST-2026-0044"),
            ("new.rated_kw", "6"),
            ("new.litres", "180"),
            ("elec_mohm", "12"),
            ("bar_lost", "0"),
            (
                "work",
                "Cylinder out, 180 l store in. Cold main up in 22 mm with an isolation valve and a scale reducer. \
                 Inhibitor in at 1,100 ppm. Blending valve on the outlet, 46 °C at the bath. Overflow tied in.",
            ),
        ] {
            b.answer(question, answer);
        }
        t.look("store-fitted");
        b.press("Keep and go on");
        b.leaves(&format!("{sheet}/work"));
        t.look("after");
        b.go(&format!("{sheet}/close"));
        t.leaves_it_done("4080.00");
    }

    /// The inhibitor that went in is measured and kept as a reading; no maker's band is on record, so none is judged by.
    fn the_inhibitor_is_measured(&self) {
        let (t, b) = (&self.told, &self.told.browser);
        let store = t.unit(MILL, FLAT, "TS");
        let form = OpenJob {
            kind: JobKind::Survey,
            space: self.space,
            unit: Some(store.id),
            words: "Measure the inhibitor once it has gone round".to_owned(),
            due_on: None,
            duties: Vec::new(),
            minutes: None,
        };
        let job = work::open_job(t.world(), &t.seat, form, "the inhibitor").unwrap();
        t.comes("Nell Askwith");
        b.go(&format!("/jobs/{job}"));
        t.offered_taken_and_booked("18:00", "19:00");
        b.press("I am at the unit");
        b.until("the first step", || b.path().contains("/reading"));
        let sheet = format!("/sheet/{job}");
        b.go(&format!("{sheet}/reading/inhibitor"));
        b.answer("r.inhibitor_ppm", "1100");
        t.look("inhibitor");
        b.press("Next");
        b.leaves(&format!("{sheet}/reading/inhibitor"));
        b.go(&format!("{sheet}/work"));
        b.choose("asbestos", "not_disturbed");
        b.choose("fire_opened", "no");
        b.answer("work", "Sample taken at the drain; inhibitor measured.");
        b.press("Keep and go on");
        b.leaves(&format!("{sheet}/work"));
        b.go(&format!("{sheet}/close"));
        t.leaves_it_done("45.00");
        let seen = t.seen(store.id);
        let kept = seen
            .readings
            .iter()
            .find(|(_, r)| r.code == "inhibitor_ppm");
        let (visit, reading) = kept.expect("the inhibitor is a reading");
        assert_eq!(reading.value, Some(1100.0));
        assert!(visit.is_some(), "of that visit");
        // Rule book, row A15: without a band of the product nothing is said to be right or wrong.
        let said =
            "1100 ppm of inhibitor; no band is recorded for the product, so it cannot be judged.";
        assert!(
            seen.findings.iter().any(|(_, f)| f.words == said),
            "{:?}",
            seen.findings
        );
    }

    /// The tank goes too, and everything on record of both stays.
    fn both_retire_with_their_history(&self) {
        let (t, b) = (&self.told, &self.told.browser);
        t.comes("Nell Askwith");
        b.go(&format!("/units/{}", self.tank));
        b.press("Take it out");
        b.arrives("/take-out");
        b.choose("fate", "removed");
        b.answer(
            "why",
            "The store takes the main; nothing is fed from a tank any more",
        );
        t.look("tank-out");
        b.press_css("main button.press");
        b.until("the tank is out", || {
            b.path() == format!("/units/{}", self.tank)
        });
        let (old, tank) = (t.seen(self.cylinder), t.seen(self.tank));
        let fitted = |history: &store::history::History| -> Vec<(String, NaiveDate)> {
            let parts = history.parts.iter();
            parts.map(|p| (p.part.clone(), p.fitted_on)).collect()
        };
        assert!(!fitted(&self.before).is_empty(), "it had a part on record");
        assert_eq!(
            fitted(&old.history),
            fitted(&self.before),
            "its parts stay as they were: no clock of them runs on into the store"
        );
        assert_eq!(old.unit.fate, Fate::WrittenOff);
        assert_eq!(tank.unit.fate, Fate::Removed);
        let leaks = old.history.failures.iter();
        let leaks = leaks.filter(|f| f.part.as_deref() == Some("body")).count();
        assert!(leaks >= 2, "the leaks stay on record: {leaks}");
        assert!(old.forecast.is_none(), "nothing is forecast of what is out");
        let store = t.unit(MILL, FLAT, "TS");
        assert_eq!(store.litres, Some(180.0));
        assert_eq!(store.reducer_fitted, Some(true));
        assert!(
            t.seen(store.id).history.failures.is_empty(),
            "it begins its own"
        );
        assert!(
            t.seen(store.id).history.parts.is_empty(),
            "and its own parts"
        );
        let view = register::space_view(t.world(), &t.seat, self.space).unwrap();
        let stay = |unit: UnitId| view.stays.iter().find(|s| s.unit == unit).expect("a stay");
        let (today, first, second) = (day("2026-11-25"), stay(self.cylinder), stay(store.id));
        assert_eq!((first.until_on, second.from_on), (Some(today), Some(today)));
        assert_eq!(second.until_on, None, "the store stands there now");
        assert!(first.from_on < second.from_on, "one after the other");
        b.go(&format!("/spaces/{}", self.space));
        t.says(&[
            "MM-18-1",
            &store.number,
            "written off on 25",
            "taken out while working on 25",
        ]);
        t.look("flat-after");
        b.go(&format!("/units/{}", store.id));
        t.look("store");
    }
}

fn told(width: Width) {
    let story = Story::begin(width);
    story.the_options_are_weighed();
    story.the_landlord_accepts();
    story.the_store_is_fitted();
    story.the_inhibitor_is_measured();
    story.both_retire_with_their_history();
}

#[test]
fn an_old_cylinder_gives_way_to_a_store_at_the_desk() {
    told(Width::Desk);
}

#[test]
fn an_old_cylinder_gives_way_to_a_store_on_the_phone() {
    told(Width::Phone);
}
