//! A new user at the programme and the rounds, in Chromium at both widths: pictures are kept and looked at.
use usecases::Seat;

use crate::support::{Browser, TestApp, Width};

fn story(width: Width) {
    let app = TestApp::demo();
    let world = &app.database.world;
    let (estate, name, _) = usecases::founding::open_estates(world).unwrap().remove(0);
    let seat = Seat::program(estate, &name);
    let b = Browser::open(&app.address, "plan", width);
    b.go("/sign-in");
    b.come_in_as("Nell Askwith");
    b.go("/programme");
    b.shot("programme");
    b.print("programme");
    let words = b.words();
    assert!(
        words.contains("How good is this plan") && words.contains("that is proven"),
        "{words}"
    );
    // Why has a flat its year, and what would another cost: the page alone says it.
    b.press("Why then, and what would another year cost?");
    b.arrives("/units/");
    let words = b.words();
    assert!(
        words.contains("Why then") && words.contains("Another year"),
        "{words}"
    );
    b.shot("unit-year");
    let here = b.path();
    b.choose("tie_year", "2033");
    b.answer("why", "The lift is out until then");
    b.press("Pin ");
    b.until("the programme follows", || {
        b.path().starts_with("/programme?building=")
    });
    let words = b.words();
    assert!(
        words.contains("is pinned to 2033") || words.contains("cannot all be kept"),
        "{words}"
    );
    b.shot("pinned");
    b.press("Let it go");
    b.until("it is let go", || !b.words().contains("is pinned to 2033"));
    b.go(&here);
    // Another way, by name, beside the plan.
    b.go("/programme");
    b.choose("what", "money");
    b.type_in("amount", "2500");
    b.type_in("name", "Two and a half thousand more");
    b.press("Try it");
    b.until("it stands beside the plan", || {
        b.words().contains("Two and a half thousand more")
    });
    b.shot("what-if");
    b.press("Read it in full");
    b.arrives("/programme/plans/");
    b.shot("kept-plan");
    b.answer("adopt_why", "Agreed by the directors");
    b.press("Adopt this plan");
    b.until("it is adopted", || {
        b.words().contains("was adopted by Nell Askwith")
    });
    b.shot("adopted");
    // Rounds: somebody is off, and the page says what moved.
    b.go("/rounds");
    b.shot("rounds");
    b.print("rounds");
    let round = usecases::plan::rounds(world, &seat).unwrap();
    let first = round
        .visits
        .iter()
        .find(|v| v.row.job.is_none() && v.row.on_day.is_some())
        .expect("a visit that is no job");
    let engineer = first.row.engineer.unwrap().to_string();
    b.choose("away_engineer", &engineer);
    b.set("away_from", &first.row.on_day.unwrap().to_string());
    b.type_in("why", "not well");
    b.press("Place round them");
    b.until("the page says what moved", || {
        b.words().contains("is away on")
    });
    let words = b.words();
    assert!(
        words.contains("What moved") && words.contains("because"),
        "{words}"
    );
    b.shot("rounds-mended");
}

#[test]
fn a_new_user_reads_ties_tries_and_adopts_at_a_desk() {
    story(Width::Desk);
}

#[test]
fn and_on_a_phone() {
    story(Width::Phone);
}
