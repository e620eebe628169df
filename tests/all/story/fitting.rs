//! The replacement: offered, taken, booked and done.
use super::{MEASURED, Story};

impl Story {
    /// The replacement is offered, taken, booked and done.
    pub(super) fn a_new_boiler_is_fitted(&self) {
        let b = &self.browser;
        b.forget();
        b.come_in_as("Nell Askwith");
        b.go("/jobs");
        let words = b.words();
        assert!(
            words.contains("replacement of the combi gas boiler SH-17-1"),
            "{words}"
        );
        self.look("jobs");
        b.press_in_row("replacement of the combi gas boiler SH-17-1", "Flat 17");
        b.arrives("/jobs/");
        self.look("job");
        b.choose_worded("firm", "Quillet Heating");
        b.press_css("form[action$='/offer'] button");
        b.until("it is on offer", || b.words().contains("It is on offer."));
        b.forget();
        b.come_in_as("Joss Tarrow");
        b.go("/on-offer");
        self.look("on-offer");
        b.press("Take it");
        b.arrives("/sheet/");
        b.press("Name a day");
        for (name, value) in [("day", "2026-11-25"), ("from", "15:30"), ("until", "19:30")] {
            b.set(name, value);
        }
        b.press("Book it");
        b.until("it is booked", || b.words().contains("Booked for"));
        b.press("I am at the unit");
        b.until("the first step", || b.path().contains("/reading"));
        let sheet = b.path().split("/reading").next().unwrap().to_owned();
        b.go(&format!("{sheet}/work"));
        self.worked(
            &[
                ("new.kind", "CB"),
                ("new.filter", "yes"),
                ("new.reducer", "yes"),
                ("old_fate", "removed"),
            ],
            "New boiler fitted and tested.",
        );
        b.answer("new.serial", "TG-2026-0117");
        b.answer("new.rated_kw", "30");
        b.set("new.warranty", "2033-11-24");
        for (question, answer) in [("wet", "yes"), ("leak", "no")] {
            b.choose(question, answer);
        }
        b.answer("bar_lost", "0");
        self.look("new-boiler");
        b.press("Keep and go on");
        b.arrives("/after");
        for (code, value) in MEASURED {
            let name = format!("a.{code}");
            if b.asks(&name) {
                b.answer(&name, if code == "hot_c" { "48" } else { value });
            }
        }
        for reading in ["gas_rate_or_inlet", "co_ppm", "co2_percent"] {
            b.choose_worded(&format!("i.{reading}"), "Analyser");
        }
        self.look("new-boiler-measured");
        b.press("Keep and go on");
        b.until("the last steps", || {
            b.path().ends_with("/close") || b.path().ends_with("/check")
        });
        b.go(&format!("{sheet}/close"));
        self.done("2900.00");
    }
}
