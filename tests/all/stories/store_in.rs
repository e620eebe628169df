//! What stands after the store came in: each reading by its unit, the place as it was left, the inhibitor and the blended
//! outlet measured, cylinder and tank retired with their history.
use chrono::NaiveDate;
use terms::{Fate, JobKind, UnitId};
use usecases::register;
use usecases::work::{self, OpenJob};

use super::cylinder::{FLAT, MILL, Story, day};

impl Story {
    /// What was found before the work is of the cylinder, what was measured after it is of the store.
    pub(super) fn each_reading_is_of_its_unit(&self) {
        let t = &self.told;
        let store = t.unit(MILL, FLAT, "TS").id;
        let of = |unit: UnitId| -> Vec<(String, String, Option<f64>)> {
            let today = day("2026-11-25");
            let all = t.seen(unit).readings.into_iter().map(|(_, r)| r);
            let mut all: Vec<_> = all
                .filter(|r| r.taken_at.date_naive() == today)
                .map(|r| (r.code, r.stage, r.value))
                .collect();
            all.sort_by(|a, b| a.0.cmp(&b.0));
            all
        };
        let kept = |code: &str, stage: &str, value| (code.to_owned(), stage.to_owned(), value);
        assert_eq!(
            of(store),
            [
                kept("blended_c", "after", Some(46.0)),
                kept("main_dynamic_bar", "after", Some(1.6)),
                kept("main_flow_lpm", "after", Some(18.0)),
                kept("main_static_bar", "after", Some(2.4)),
                kept("store_top_c", "after", Some(72.0)),
            ]
        );
        assert_eq!(
            of(self.cylinder),
            [
                kept("cutout_proved", "before", None),
                kept("tundish", "before", None),
            ]
        );
        // 46 °C is inside the 48 °C of row B9 of the rule book, so nothing is found.
        assert!(t.seen(store).findings.is_empty());
    }

    /// What the fitter left there stands in the register, with the day and who said it; what was measured through 15 mm
    /// does not stand any more.
    pub(super) fn the_place_is_as_it_was_left(&self) {
        let (t, b) = (&self.told, &self.told.browser);
        let site = register::space_view(t.world(), &t.seat, self.space)
            .unwrap()
            .space
            .site;
        for (fact, value) in [
            ("cold_pipe_mm", serde_json::json!(22.0)),
            ("isolation_valve", serde_json::json!("yes")),
            ("reducer_fitted", serde_json::json!("yes")),
            ("static_bar", serde_json::json!(2.4)),
            ("dynamic_bar_at_12", serde_json::json!(1.6)),
            ("max_flow_lpm", serde_json::json!(18.0)),
        ] {
            assert_eq!(site[fact], value, "{fact} in {site}");
        }
        let said = register::site_said(t.world(), &t.seat, self.space).unwrap();
        let pipe = said.iter().find(|fact| fact.key == "cold_pipe_mm").unwrap();
        assert_eq!(
            (pipe.on, pipe.by.as_str(), &pipe.before),
            (
                day("2026-11-25"),
                "Joss Tarrow, engineer",
                &Some(serde_json::json!(15.0))
            )
        );
        t.comes("Nell Askwith");
        b.go(&format!("/spaces/{}/site", self.space));
        assert!(b.has("input[name='cold_pipe_mm'][value='22']"));
        t.says(&[
            "Since 25 November 2026, by Joss Tarrow, engineer; 15 before.",
            "An isolation valve on the cold main",
        ]);
        t.look("site-as-left");
    }

    /// The inhibitor that went in is measured and kept as a reading; no maker's band is on record, so none is judged by.
    pub(super) fn the_inhibitor_is_measured(&self) {
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
        b.go(&format!("{sheet}/reading/blended_c"));
        b.answer("r.blended_c", "51");
        t.look("blended-too-hot");
        b.press("Next");
        b.arrives("/finding?after=blended_c");
        t.says(&[
            "51 °C reaches the bath, over 48 °C.",
            "Limit: up to 48 °C (published page).",
        ]);
        t.look("blended-finding");
        b.go(&format!("{sheet}/reading/inhibitor"));
        b.answer("r.inhibitor_ppm", "1100");
        t.look("inhibitor");
        b.press("Next");
        b.leaves(&format!("{sheet}/reading/inhibitor"));
        b.go(&format!("{sheet}/work"));
        b.choose("asbestos", "not_disturbed");
        b.choose("fire_opened", "no");
        b.answer(
            "work",
            "Sample taken at the drain; inhibitor measured. Blending valve set down now that the store is hot.",
        );
        b.press("Keep and go on");
        b.arrives("/after");
        b.answer("a.blended_c", "46");
        t.look("blended-set");
        b.press("Keep and go on");
        b.leaves(&format!("{sheet}/after"));
        b.go(&format!("{sheet}/close"));
        t.leaves_it_done("45.00");
        self.outlet_and_inhibitor_are_on_record(store.id);
    }

    fn outlet_and_inhibitor_are_on_record(&self, store: UnitId) {
        let seen = self.told.seen(store);
        let blended = |stage: &str, value: f64| {
            let mut of = seen.readings.iter().map(|(_, r)| r);
            of.any(|r| r.code == "blended_c" && r.stage == stage && r.value == Some(value))
        };
        assert!(blended("before", 51.0) && blended("after", 46.0));
        // Rule book, row B9: a bath outlet up to 48 °C (building regulations part G3, published page).
        let hot = seen.findings.iter().find(|(_, f)| f.code == "B9_OVER_48");
        let (_, hot) = hot.expect("the outlet was too hot");
        assert_eq!(hot.words, "51 °C reaches the bath, over 48 °C.");
        assert_eq!(
            (hot.level, hot.reading.as_str()),
            (terms::Level::Act, "blended_c")
        );
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
    pub(super) fn both_retire_with_their_history(&self) {
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
        self.what_was_on_record_stays();
        self.the_flat_shows_its_units_over_time();
    }

    fn what_was_on_record_stays(&self) {
        let t = &self.told;
        let (old, tank) = (t.seen(self.cylinder), t.seen(self.tank));
        let fitted = |history: &store::history::History| -> Vec<(String, NaiveDate)> {
            let parts = history.parts.iter();
            parts.map(|p| (p.part.clone(), p.fitted_on)).collect()
        };
        let failed = |history: &store::history::History| -> Vec<(NaiveDate, String)> {
            let failures = history.failures.iter();
            failures.map(|f| (f.happened_on, f.words.clone())).collect()
        };
        for (now, before) in [(&old, &self.before.0), (&tank, &self.before.1)] {
            let number = &now.unit.number;
            assert!(!fitted(before).is_empty(), "{number} had a part on record");
            assert!(!failed(before).is_empty(), "{number} had leaked");
            assert_eq!(
                fitted(&now.history),
                fitted(before),
                "the parts of {number} stay as they were: no clock of them runs on into the store"
            );
            assert!(
                failed(before)
                    .iter()
                    .all(|f| failed(&now.history).contains(f)),
                "what failed of {number} stays on record"
            );
        }
        assert_eq!(old.unit.fate, Fate::WrittenOff);
        assert_eq!(tank.unit.fate, Fate::Removed);
        let leaks = old.history.failures.iter();
        let leaks = leaks.filter(|f| f.part.as_deref() == Some("body")).count();
        assert!(leaks >= 2, "the leaks stay on record: {leaks}");
        for gone in [&old, &tank] {
            assert!(
                gone.forecast.is_none(),
                "nothing is forecast of what is out"
            );
        }
    }

    fn the_flat_shows_its_units_over_time(&self) {
        let (t, b) = (&self.told, &self.told.browser);
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
        assert_eq!(stay(self.tank).until_on, Some(today));
        assert!(first.from_on < second.from_on, "one after the other");
        b.go(&format!("/spaces/{}", self.space));
        t.says(&[
            "MM-18-1",
            &store.number,
            "written off on 25",
            "taken out while working on 25",
        ]);
        t.look("flat-after");
        for (unit, words) in [
            (self.cylinder, "Weeping at the base"),
            (self.tank, "Joint of the overflow dripped"),
        ] {
            b.go(&format!("/units/{unit}"));
            t.says(&[words]);
            t.look("retired-with-its-history");
        }
        b.go(&format!("/units/{}", store.id));
        t.look("store");
    }
}
