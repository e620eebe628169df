//! What the engineer does: the service up to the quote, and the return with the part.
use super::{MEASURED, Story};

impl Story {
    /// The engineer's visit up to the quote.
    pub(super) fn service_and_quote(&self) {
        let b = &self.browser;
        b.forget();
        b.come_in_as("Joss Tarrow");
        assert_eq!(b.path(), "/my-day");
        self.look("my-day");
        b.press("Flat 17");
        b.arrives("/sheet/");
        self.look("before-you-start");
        assert!(
            b.words().contains("Gas work only by an engineer"),
            "{}",
            b.words()
        );
        b.press("I am at the unit");
        b.arrives("/reading/");
        self.readings();
        self.work_and_check();
        self.quote();
    }

    /// One reading a screen; a finding is told as soon as it is measured, and the test it names is made.
    fn readings(&self) {
        let b = &self.browser;
        let mut told_at_once = false;
        for _ in 0..30 {
            let at = b.path();
            if at.contains("/reading/") {
                self.measure(&at);
            } else if at.contains("finding?after=hot_rise_and_flow") {
                told_at_once = true;
                self.finding();
            } else {
                break;
            }
            b.press("Next");
            b.leaves(&at);
        }
        assert!(told_at_once, "the low rise is told when it is measured");
        assert!(b.path().ends_with("/finding"), "{}", b.path());
        self.look("all-findings");
        b.press("Next");
        b.arrives("/work");
    }

    fn measure(&self, at: &str) {
        let b = &self.browser;
        for (code, value) in MEASURED {
            let name = format!("r.{code}");
            if b.asks(&name) {
                b.answer(&name, value);
            }
        }
        let reading = at.rsplit('/').next().unwrap();
        let instrument = if ["gas_rate_or_inlet", "co_ppm", "co2_percent"].contains(&reading) {
            "Analyser"
        } else {
            "Thermometer"
        };
        b.choose_worded(&format!("i.{reading}"), instrument);
        if reading == "hot_rise_and_flow" {
            assert!(
                b.words().contains("2025"),
                "last year's stands beside the field"
            );
            b.until("the phone says it while it is typed", || {
                b.words().contains("The water rises 27 K")
            });
            self.look("rise-and-flow");
        }
    }

    fn finding(&self) {
        let b = &self.browser;
        assert!(b.heading().contains("27 K"), "{}", b.heading());
        assert!(b.heading().contains("35 K is expected"), "{}", b.heading());
        let words = b.words();
        assert!(words.contains("Not a diagnosis"));
        assert!(
            words.contains(
                "Hot tap running and the heating flow pipe heats straight up (about 75 °C)"
            ),
            "the best next test is named: {words}"
        );
        self.look("finding-at-once");
        b.choose("o.flow_pipe_heats", "seen");
        b.press("Next");
        let ranked = || {
            let words = b.words();
            let parts = words.split("Likely parts:").nth(1)?;
            Some(parts.trim_start().starts_with("Diverter valve"))
        };
        b.until("the diverter valve ranks first", || ranked() == Some(true));
        self.look("diverter-first");
    }

    fn work_and_check(&self) {
        let b = &self.browser;
        self.worked(
            &[("cause", "diverter_valve"), ("wet", "no")],
            "Serviced. The diverter valve sticks half way.",
        );
        self.look("what-was-done");
        b.press("Keep and go on");
        b.arrives("/after");
        b.press("Keep and go on");
        b.arrives("/check");
        for duty in ["duty.G1", "duty.G4", "duty.H1"] {
            b.choose(duty, "yes");
        }
        b.answer("gc.1.where", "Kitchen cupboard");
        b.answer("gc.1.result", "Safe to use");
        b.answer("gc.2.where", "Kitchen wall to outside");
        b.answer("gc.2.result", "Seen over its length, safe");
        b.choose("gc_defects", "none");
        b.choose("gc_26_9", "yes");
        b.choose("gc_signed", "yes");
        self.look("gas-check");
        b.press("Keep and go on");
        b.arrives("/close");
        b.choose("outcome", "waiting_for_decision");
        b.choose("told", "yes");
        b.answer(
            "next_words",
            "The valve waits for a yes; hot water is lukewarm until then.",
        );
        self.look("how-it-ends");
        b.press("Leave it so");
        b.arrives("/quote");
    }

    fn quote(&self) {
        let b = &self.browser;
        for (n, what, net) in [
            (1, "Diverter valve", "145"),
            (2, "Labour, two hours", "170"),
        ] {
            b.answer(&format!("q.{n}.what"), what);
            b.answer(&format!("q.{n}.net"), net);
        }
        b.press("Add it up first");
        // 145 + 170 = 315, and 20 % VAT of it is 63: by hand.
        b.until("the sum is shown", || b.words().contains("£378.00"));
        self.look("quote");
        b.press("Send this quote");
        b.arrives("/kept");
        let words = b.words();
        assert!(words.contains("waiting for a decision"), "{words}");
        for said in [
            "Your quote of £378.00",
            "May be agreed on site: up to £150.00. The quote is £228.00 over.",
            "the repair limit is £",
            "Do not order before you are told",
        ] {
            assert!(words.contains(said), "“{said}” is not in {words}");
        }
        self.look("kept");
        self.the_record_is_signed();
    }

    /// The check found nothing unsafe: its record is issued although the job waits.
    fn the_record_is_signed(&self) {
        let b = &self.browser;
        b.press("Sign the gas safety record");
        b.arrives("/records/");
        self.look("record-to-sign");
        b.answer("signature", "Joss Tarrow");
        b.press("Sign and issue it");
        b.until("it is issued", || b.words().contains("Signed, as typed"));
        let words = b.words();
        for said in ["Kitchen cupboard", "None found.", "Joss Tarrow", "540117"] {
            assert!(words.contains(said), "“{said}” is not in {words}");
        }
        self.look("record");
    }

    /// The repair is booked, done, tested again and closed.
    pub(super) fn the_engineer_returns(&self) {
        let b = &self.browser;
        b.forget();
        b.come_in_as("Joss Tarrow");
        assert!(b.words().contains("Bring: diverter valve"), "{}", b.words());
        self.look("my-day-after");
        b.press("Flat 17");
        b.arrives("/sheet/");
        assert!(b.words().contains("Decided: repair. “"), "{}", b.words());
        self.look("return");
        b.press("I am at the unit");
        b.arrives("/readings");
        b.go(&b.path().replace("/readings", "/work"));
        self.worked(
            &[("cause", "diverter_valve"), ("fitted", "diverter_valve")],
            "Diverter valve changed.",
        );
        b.answer("old_part", "DV-17, stuck half way");
        for (question, answer) in [("gas_work", "no"), ("wet", "yes"), ("leak", "no")] {
            b.choose(question, answer);
        }
        b.answer("bar_lost", "0.02");
        b.press("Keep and go on");
        b.arrives("/after");
        for (reading, value) in [("a.cold_c", "9"), ("a.hot_c", "47"), ("a.flow_lpm", "11")] {
            b.answer(reading, value);
        }
        self.look("measured-again");
        b.press("Keep and go on");
        b.arrives("/close");
        self.done("378.00");
    }

    pub(super) fn worked(&self, choices: &[(&str, &str)], words: &str) {
        let b = &self.browser;
        for (question, answer) in choices {
            b.choose(question, answer);
        }
        b.answer("work", words);
        b.choose("asbestos", "not_disturbed");
        for (question, answer) in [("elec", "no"), ("label_matches", "yes")] {
            b.choose(question, answer);
        }
        if b.asks("fire_opened") {
            b.choose("fire_opened", "no");
        }
    }

    pub(super) fn done(&self, cost: &str) {
        let b = &self.browser;
        b.choose("outcome", "done");
        b.choose("told", "yes");
        b.answer("cost", cost);
        if b.asks("soft.photo_missing") {
            b.answer("soft.photo_missing", "Sent by mail tonight.");
        }
        self.look("closing");
        b.press("Leave it so");
        b.arrives("/kept");
        assert!(
            b.words().contains("is done, and the office has it"),
            "{}",
            b.words()
        );
        self.look("done");
    }
}
