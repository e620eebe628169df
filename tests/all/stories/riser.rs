//! No heating, hot water fine, on a heat network: the pump ranks first, is replaced, and its clock restarts alone. The
//! same evening five homes on one riser are lukewarm: one outage, one visit, one strainer.
use terms::JobState;
use terms::unit::UnitCard;
use usecases::Error;

use super::Teller;
use crate::support::Width;

const TOWER: &str = "Bryony Tower";
const FLAT: &str = "Flat 50";

pub(super) struct Story {
    pub told: Teller,
    pub hiu: UnitCard,
}

impl Story {
    fn begin(width: Width) -> Self {
        let told = Teller::begin("one-riser", width);
        let hiu = told.unit(TOWER, FLAT, "HIU");
        Self { told, hiu }
    }

    /// The agent writes the way in and logs the call.
    fn the_call(&self) {
        let (t, b) = (&self.told, &self.told.browser);
        t.comes("Nell Askwith");
        b.go(&format!("/spaces/{}", self.hiu.space));
        for (name, answer) in [
            (
                "how",
                "Lift to floor 9, left; the unit is in the hall cupboard.",
            ),
            (
                "opens",
                "The resident, or the concierge with the spare key.",
            ),
            ("code", "K2071"),
            ("stop_tap", "Under the kitchen sink"),
            ("isolation", "Two red levers over the unit"),
            ("meter", "In the riser cupboard on the landing"),
        ] {
            b.answer(name, answer);
        }
        t.look("way-in");
        b.press("Keep the way in");
        b.until("the way in is kept", || {
            b.words().contains("The way in is kept.")
        });
        assert!(
            !b.source().contains("K2071"),
            "a code is not shown again here"
        );
        b.go(&format!("/calls/new?space={}", self.hiu.space));
        b.choose("lost", "heating");
        b.answer(
            "words",
            "The thermostat calls and the rooms stay cold; taps run hot.",
        );
        t.look("call");
        b.press("Log the call");
        b.arrives("/jobs/");
        t.says(&["no heating"]);
        t.look("job");
    }

    /// History, the way in and likely parts are on the phone before the visit.
    fn before_the_visit(&self) -> String {
        let (t, b) = (&self.told, &self.told.browser);
        let job = t.offered_taken_and_booked("10:30", "12:30");
        t.says(&[
            "Likely parts:",
            "Not a diagnosis",
            "Lift to floor 9",
            "Stop tap: Under the kitchen sink",
            "Isolation: Two red levers",
        ]);
        assert!(!b.words().contains("K2071"), "the code waits for a look");
        b.press("Show the code");
        b.until("the code is shown", || b.words().contains("K2071"));
        t.says(&["That you looked is written down."]);
        t.look("before-the-visit");
        job
    }

    /// 230 V live to neutral, nothing neutral to earth, not turning: the pump ranks first.
    fn the_pump(&self) {
        let (t, b) = (&self.told, &self.told.browser);
        b.press("I am at the unit");
        b.until("the first step", || b.path().contains("/reading"));
        let sheet = b.path().split("/reading").next().unwrap().to_owned();
        b.go(&format!("{sheet}/reading/pump_test"));
        for (name, value) in [("r.l_n_v", "231"), ("r.n_e_v", "0")] {
            b.answer(name, value);
        }
        b.choose("r.turning", "no");
        b.choose("r.demand", "yes");
        t.look("pump-test");
        b.press("Next");
        b.leaves(&format!("{sheet}/reading/pump_test"));
        b.go(&format!("{sheet}/finding"));
        let first = |words: &str| {
            let parts = words.split("Likely parts:").nth(1).unwrap_or_default();
            parts.trim_start().starts_with("Secondary pump")
        };
        let words = b.words();
        assert!(first(&words), "the pump ranks first: {words}");
        t.look("pump-first");
        b.go(&format!("{sheet}/work"));
        for (question, answer) in [
            ("cause", "pump"),
            ("fitted", "pump"),
            ("asbestos", "not_disturbed"),
            ("elec", "yes"),
            ("elec_dead", "yes"),
            ("wet", "yes"),
            ("leak", "no"),
            ("fire_opened", "no"),
            ("label_matches", "yes"),
        ] {
            b.choose(question, answer);
        }
        for (question, answer) in [
            ("old_part", "SP-50, seized"),
            ("elec_mohm", "20"),
            ("bar_lost", "0.01"),
            (
                "work",
                "Heating pump changed; it turns and the rooms warm up.",
            ),
        ] {
            b.answer(question, answer);
        }
        t.look("pump-changed");
        b.press("Keep and go on");
        b.arrives("/after");
        b.choose("works_after", "yes");
        b.answer("a.cold_bar", "1.3");
        t.look("heating-tested-again");
        b.press("Keep and go on");
        b.leaves(&format!("{sheet}/after"));
        b.go(&format!("{sheet}/close"));
        t.leaves_it_done("290.00");
    }

    /// The part's clock restarts, the unit's does not; the forecast follows; the home is cold no more.
    fn what_stands_afterwards(&self, job: &str, (expected, failures): (f64, usize)) {
        let t = &self.told;
        let seen = t.seen(self.hiu.id);
        let today = t.world().now().date_naive();
        let pumps = seen.history.parts.iter().filter(|p| p.part == "pump");
        assert_eq!(
            pumps.map(|p| p.fitted_on).max(),
            Some(today),
            "its clock restarts"
        );
        assert_eq!(
            seen.unit.installed, self.hiu.installed,
            "the unit's does not"
        );
        assert_eq!(seen.history.failures.len(), failures + 1);
        let told_now = seen.forecast.expect("a forecast").expected_12m;
        assert!(
            (told_now - expected).abs() > 1e-9,
            "the forecast was told again"
        );
        let done = t
            .world()
            .acting(&t.seat, |tx| Ok::<_, Error>(tx.job(job.parse().unwrap())?))
            .unwrap();
        assert_eq!(done.state, JobState::Done);
        assert!(done.closed_at.is_some(), "the resident's clock has stopped");
        let b = &t.browser;
        t.comes("Nell Askwith");
        assert!(
            !b.words().contains("Flat 50, Bryony Tower has had"),
            "{}",
            b.words()
        );
        b.go(&format!("/units/{}", self.hiu.id));
        t.says(&["New part: secondary pump"]);
        t.look("unit-after");
    }
}

fn told(width: Width) {
    let story = Story::begin(width);
    let before = story.told.seen(story.hiu.id);
    let expected = before.forecast.expect("a forecast").expected_12m;
    story.the_call();
    let job = story.before_the_visit();
    story.the_pump();
    story.what_stands_afterwards(&job, (expected, before.history.failures.len()));
    let homes = story.five_lukewarm();
    story.one_outage(&homes);
    story.told.every_page_is_in_the_protocol("one-riser", width);
}

#[test]
fn no_heating_then_one_riser_at_the_desk() {
    told(Width::Desk);
}

#[test]
fn no_heating_then_one_riser_on_the_phone() {
    told(Width::Phone);
}
