//! The evening of the second story: five homes on one riser are lukewarm; one outage, one visit, one strainer.
use chrono::{DateTime, TimeDelta, Utc};
use terms::{FunctionLost, SpaceId};
use usecases::outages::OutageView;
use usecases::register::building_view;
use usecases::work::{FaultCall, log_call};

use super::Teller;
use super::riser::Story;

fn evening() -> DateTime<Utc> {
    "2026-11-25T18:20:00Z".parse().unwrap()
}

impl Story {
    /// Five homes on the riser of the flat ring within the hour.
    pub(super) fn five_lukewarm(&self) -> Vec<SpaceId> {
        let (t, b) = (&self.told, &self.told.browser);
        t.app.database.clock.set(evening());
        let view = building_view(t.world(), &t.seat, self.hiu.building).unwrap();
        let riser = view
            .branches
            .iter()
            .find(|p| p.kind == "riser" && p.spaces.contains(&self.hiu.space))
            .expect("the riser of the flat");
        let homes: Vec<SpaceId> = view
            .flats
            .iter()
            .filter(|f| riser.spaces.contains(&f.space.id) && f.trouble.is_none())
            .map(|f| f.space.id)
            .take(5)
            .collect();
        assert_eq!(homes.len(), 5);
        for (n, space) in homes.iter().take(4).enumerate() {
            let form = FaultCall {
                space: *space,
                function_lost: FunctionLost::HotWater,
                leak: None,
                since: None,
                unit: None,
                words: "Lukewarm".to_owned(),
            };
            log_call(t.world(), &t.seat, form, &format!("evening {n}")).unwrap();
            t.app.database.clock.advance(TimeDelta::minutes(8));
        }
        t.comes("Nell Askwith");
        b.go(&format!("/calls/new?space={}", homes[4]));
        b.choose("lost", "hot_water");
        b.answer("words", "Lukewarm since the news");
        b.press("Log the call");
        b.arrives("/jobs/");
        b.go("/today");
        t.says(&["That points to one cause", "Join these calls"]);
        t.look("today-one-cause");
        homes
    }

    /// They are joined, one visit finds one strainer, and the end is proved by a sample.
    pub(super) fn one_outage(&self, homes: &[SpaceId]) {
        let (t, b) = (&self.told, &self.told.browser);
        b.press("Join these calls");
        b.arrives("/outages/new");
        t.says(&["five of 23 homes called with no hot water"]);
        b.answer("cause", "strainer of the riser?");
        t.look("join");
        b.press_css("form[action='/outages/new'] button.press");
        b.until("it is an outage", || {
            b.path().starts_with("/outages/") && !b.path().contains("/new")
        });
        let outage = b.path();
        t.look("outage");
        b.go(&format!("/buildings/{}?ask=pipes", self.hiu.building));
        t.says(&["Now: an outage"]);
        t.look("pipes");
        b.print("pipes");
        let id = outage.split('/').nth(2).unwrap().parse().unwrap();
        let seen = |t: &Teller| -> OutageView {
            let seats = [t.seat.clone()];
            usecases::outages::outage_of_seats(t.world(), &seats, id)
                .unwrap()
                .1
        };
        let lasting = seen(t);
        assert_eq!(lasting.outage.homes.len(), 5);
        let job = lasting.job.expect("one job answers it").id;
        b.go(&format!("/jobs/{job}"));
        t.offered_taken_and_booked("19:30", "21:00");
        self.one_strainer(&job.to_string());
        b.press("Test the homes again and end the outage");
        b.arrives("/outages/");
        b.answer("cause", "Strainer of the riser blocked; cleaned");
        for space in [homes[0], homes[4]] {
            b.choose(&format!("works-{space}"), "yes");
            b.answer(&format!("found-{space}"), "52 °C at the kitchen tap");
        }
        b.answer("sample", "lowest and highest of those that called");
        t.look("outage-ending");
        b.press_css(&format!("form[action='{outage}/end'] button.press"));
        b.until("it is over", || {
            b.words().contains("every home’s clock has stopped")
        });
        t.says(&["Proved by a sample: lowest and highest of those that called."]);
        t.look("outage-over");
        let over = seen(t);
        assert_eq!(over.outage.until_at, Some(t.world().now()));
        // 18:20, 18:28, 18:36, 18:44 and 18:52 to 20:00: 100 + 92 + 84 + 76 + 68 min = 420 min = 7 h, by hand.
        assert_eq!(over.home_hours, 7.0);
        t.comes("Nell Askwith");
        assert!(!b.words().contains("outage is going on"), "{}", b.words());
        b.go("/outages");
        t.says(&["It took 7.0 home-hours."]);
        t.look("outages");
    }

    fn one_strainer(&self, job: &str) {
        let (t, b) = (&self.told, &self.told.browser);
        t.app
            .database
            .clock
            .set("2026-11-25T19:35:00Z".parse().unwrap());
        t.comes("Joss Tarrow");
        b.go(&format!("/sheet/{job}"));
        t.says(&[
            "One cause is looked for",
            "5 homes called",
            "strainer of the riser?",
            // It names no unit; the strainer is opened among boilers, plates and a pressurisation set.
            "Pressure release: the network side may hold 10 bar",
        ]);
        assert!(!b.words().contains("riser?."), "{}", b.words());
        t.look("one-visit");
        b.press("I am there");
        b.leaves(&format!("/sheet/{job}"));
        b.go(&format!("/sheet/{job}/work"));
        for (question, answer) in [
            ("asbestos", "not_disturbed"),
            ("elec", "no"),
            ("wet", "yes"),
            ("leak", "no"),
            ("fire_opened", "no"),
            ("label_matches", "yes"),
        ] {
            b.choose(question, answer);
        }
        b.answer("bar_lost", "0");
        b.answer(
            "work",
            "Strainer of the riser blocked with debris; cleaned and put back.",
        );
        b.press("Keep and go on");
        b.leaves(&format!("/sheet/{job}/work"));
        b.go(&format!("/sheet/{job}/after"));
        b.choose("works_after", "yes");
        b.press("Keep and go on");
        b.leaves(&format!("/sheet/{job}/after"));
        t.app
            .database
            .clock
            .set("2026-11-25T20:00:00Z".parse().unwrap());
        b.go(&format!("/sheet/{job}/close"));
        t.leaves_it_done("180.00");
    }
}
