//! A call in 30 seconds and a visit from paper in 90, by keyboard alone, both begun on Today. The protocol: every key is
//! pressed here in the order a person who has read nothing would press them, counted, and reckoned by the
//! keystroke-level model of Card, Moran and Newell (1980): 0.28 s a key for a typist of 40 words a minute, 1.35 s to
//! make up one's mind before each answer, 0.4 s for the hands to come to the keys (figures from memory). The model's
//! last term is the system's own response: what each page took, by the browser's navigation timing, is printed and
//! added. `tests/protocols/call-and-paper.md` has the steps and the runs.
use terms::{FunctionLost, JobKind, JobState};

use crate::support::{Browser, Width};
use crate::work_estate::Loop;

const KEY: f64 = 0.28;
const MIND: f64 = 1.35;
const HANDS: f64 = 0.4;
const TAB: &str = "\u{e004}";
const ENTER: &str = "\u{e007}";
const DOWN: &str = "\u{e015}";

/// Somebody at a keyboard, their keys and answers counted.
struct Typist<'a> {
    browser: &'a Browser,
    keys: usize,
    answers: usize,
    /// The pages that came, in ms, by the browser.
    pages: Vec<f64>,
    /// When the page at hand was asked for.
    asked: f64,
}

impl<'a> Typist<'a> {
    /// Sits down in front of Today.
    fn at_today(browser: &'a Browser) -> Self {
        browser.go("/today");
        browser.until("Today has loaded", || browser.navigation().is_some());
        Self {
            browser,
            keys: 0,
            answers: 0,
            pages: Vec::new(),
            // They sit before it: what it took is none of their time.
            asked: browser.navigation().map_or(0.0, |(asked, _)| asked),
        }
    }

    /// Waits for a page; how long the browser had to wait for it is kept.
    fn wait_for(&mut self, what: &str, so: impl Fn() -> bool) {
        let browser = self.browser;
        browser.until(what, so);
        browser.until("the page has loaded", || browser.navigation().is_some());
        let (asked, took) = browser.navigation().unwrap();
        if asked > self.asked {
            self.asked = asked;
            self.pages.push(took);
        }
    }

    /// Skips the masthead, then goes on with Tab to a link and follows it.
    fn follow(&mut self, words: &str) {
        self.answers += 1;
        self.press(TAB);
        assert_eq!(self.browser.focused_words(), "Go to the text");
        self.press(ENTER);
        for _ in 0..60 {
            self.press(TAB);
            if self.browser.focused_words() == words {
                self.press(ENTER);
                return;
            }
        }
        panic!("“{words}” is not reached by Tab");
    }

    fn press(&mut self, key: &str) {
        self.browser.keys(key);
        self.keys += key.chars().count();
    }

    /// One answer, typed where the focus is.
    fn answer(&mut self, keys: &str) {
        self.answers += 1;
        self.press(keys);
    }

    /// Goes on with Tab until a field has the focus.
    fn on_to(&mut self, name: &str) {
        for _ in 0..60 {
            if self.browser.focused() == name {
                return;
            }
            self.press(TAB);
        }
        panic!("{name} is not reached by Tab");
    }

    /// What the keys, the thinking and the pages take.
    fn seconds(&self, what: &str) -> f64 {
        let theirs = self.keys as f64 * KEY + self.answers as f64 * MIND + HANDS;
        let pages = self.pages.iter().sum::<f64>() / 1000.0;
        let each: Vec<String> = self.pages.iter().map(|ms| format!("{ms:.0}")).collect();
        let took = theirs + pages;
        println!(
            "{what}: {} keys, {} answers, {theirs:.1} s reckoned; {} pages in {} ms, {pages:.2} s; {took:.1} s in all",
            self.keys,
            self.answers,
            self.pages.len(),
            each.join(" + "),
        );
        assert!(pages > 0.0, "the pages took their time");
        took
    }
}

#[test]
fn a_call_is_logged_in_half_a_minute() {
    let estate = Loop::start();
    let browser = Browser::open(&estate.app.address, "by-keyboard", Width::Desk);
    browser.come_in_as("Ada Agent");
    let mut typist = Typist::at_today(&browser);
    typist.follow("Log a fault call");
    typist.wait_for("the one field has the focus", || browser.focused() == "q");
    typist.answer("Quill");
    typist.press(ENTER);
    typist.wait_for("the call's page", || browser.path().contains("space="));
    assert_eq!(
        browser.focused(),
        "lost",
        "gas and the alarm are asked first"
    );
    assert!(browser.words().contains("do you smell gas"));
    typist.answer(DOWN);
    typist.on_to("since");
    typist.answer("07:30");
    typist.on_to("words");
    typist.answer("Boiler is off, F1 on it");
    // The unit they name, by an arrow; Enter there logs the call as it does everywhere else.
    typist.on_to("unit");
    typist.answer(DOWN);
    browser.shot("call");
    typist.press(ENTER);
    typist.wait_for("the job's page", || browser.path().starts_with("/jobs/"));
    // Today leads to the call, the name to its flat, the call to its job.
    assert_eq!(typist.pages.len(), 3, "{:?}", typist.pages);
    assert!(browser.words().contains("Tell them"));
    let took = typist.seconds("a call");
    assert!(took <= 30.0, "{took:.0} s, {} keys", typist.keys);
    let call = estate
        .world()
        .acting(&estate.seat, |tx| Ok(tx.jobs(&store::jobs::Which::Open)?))
        .unwrap()
        .remove(0);
    assert_eq!(call.function_lost, Some(FunctionLost::Heating));
    let since = "estate.fault_calls WHERE since_at = '2026-11-25T07:30:00Z'";
    assert_eq!(estate.count(since), 1);
    assert_eq!(call.unit, Some(estate.boiler), "the unit they named");
}

#[test]
fn a_visit_from_paper_is_typed_in_within_a_minute_and_a_half() {
    let estate = Loop::start();
    let job = estate.annas(JobKind::Repair, estate.boiler, Vec::new());
    let browser = Browser::open(&estate.app.address, "by-keyboard", Width::Desk);
    browser.come_in_as("Ada Agent");
    let number = estate.job(job).number;
    let mut typist = Typist::at_today(&browser);
    // The number stands on the sheet in their hand.
    typist.on_to("q");
    typist.answer(&number);
    typist.press(ENTER);
    typist.wait_for("what was found", || browser.path().starts_with("/find"));
    typist.follow(&number);
    typist.wait_for("the job", || browser.path() == format!("/jobs/{job}"));
    typist.follow("Type in a visit from paper or mail");
    typist.wait_for("the form", || browser.focused() == "source");
    assert_eq!(browser.focused(), "source");
    typist.answer(DOWN);
    typist.on_to("arrived");
    typist.answer("07:00");
    typist.on_to("outcome");
    typist.answer(" ");
    typist.on_to("work");
    typist.answer("Freed the valve of the filling loop.");
    typist.on_to("asbestos");
    typist.answer("register");
    for (reading, value) in [("a.cold_bar", "1.4"), ("a.hot_bar", "1.9")] {
        typist.on_to(reading);
        typist.answer(value);
    }
    typist.on_to("told");
    typist.answer(" ");
    typist.on_to("soft.before_reading_missing");
    typist.answer("nothing to measure");
    browser.shot("paper");
    typist.press(ENTER);
    typist.wait_for("the job's page", || {
        browser.path() == format!("/jobs/{job}")
    });
    // What was found, the job, the form, the job again.
    assert_eq!(typist.pages.len(), 4, "{:?}", typist.pages);
    let kept = "estate.readings WHERE (code, value) IN (('cold_bar', 1.4), ('hot_bar', 1.9))";
    assert_eq!(estate.count(kept), 2, "both readings are on record");
    assert_eq!(estate.job(job).state, JobState::Done);
    assert_eq!(estate.count("estate.visits WHERE source = 'photo'"), 1);
    assert!(browser.words().contains("from a photograph of the sheet"));
    let took = typist.seconds("a visit from paper");
    assert!(took <= 90.0, "{took:.0} s, {} keys", typist.keys);
}

/// From the call to the phone: everything before the visit stands on one page, at 390 px, without a press.
#[test]
fn the_phone_shows_history_readings_way_in_cautions_and_likely_parts_at_once() {
    let estate = Loop::start();
    let duty = estate.duty(estate.boiler, "G1");
    let service = estate.annas(JobKind::Service, estate.boiler, vec![duty]);
    crate::visit_sheet::submit(&estate, service, &crate::visit_sheet::good_service()).unwrap();
    let agent = estate.client(crate::work_estate::AGENT);
    let space = estate.flat.to_string();
    let logged = agent.post(
        "/calls/new",
        &[
            ("space", space.as_str()),
            ("lost", "hot_water"),
            ("since", "06:00"),
            ("words", "Lukewarm since this morning"),
        ],
    );
    assert_eq!(logged.status(), 303);
    let job = estate
        .world()
        .acting(&estate.seat, |tx| Ok(tx.jobs(&store::jobs::Which::Open)?))
        .unwrap()
        .into_iter()
        .map(|open| open.id)
        .find(|open| *open != service)
        .unwrap();
    estate.offer(job, estate.firm_a);
    let anna = estate.seat_of(crate::work_estate::ANNA);
    usecases::work::take(
        estate.world(),
        &anna,
        job,
        None,
        &crate::work_estate::fresh(),
    )
    .unwrap();
    let browser = Browser::open(&estate.app.address, "call-to-phone", Width::Phone);
    browser.come_in_as("Anna Arrow");
    browser.go(&format!("/sheet/{job}"));
    let words = browser.words();
    for said in [
        "no hot water since",
        "Lukewarm since this morning",
        "Second floor, stair 2.",
        "Before you touch it",
        "Carbon monoxide",
        "Asbestos",
        "Likely parts",
        "Last jobs here",
        "Serviced.",
        "Last readings",
        // Not headings alone: a part by its name, and a reading with its value.
        "Diverter valve",
        "ot outlet: 46 °C",
        "A code is on record",
    ] {
        assert!(words.contains(said), "“{said}” is not in sight: {words}");
    }
    browser.shot("before-the-visit");
}
