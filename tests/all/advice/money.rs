//! Authority, prices, invoices, what is looked at before money, money to set aside, the winter replayed.
use terms::{JobState, Pence};

use super::estate::{Estate, blocks};
use crate::support::TestApp;
use crate::support::server::location;

#[test]
fn the_landlord_states_authority_and_the_next_advice_goes_by_it() {
    let estate = Estate::new();
    let (agent, landlord) = (
        estate.app.signed_in("agent@test"),
        estate.app.signed_in("landlord@test"),
    );
    let fields = [
        ("once", "a1"),
        ("role", "agent"),
        ("limit", "120.50"),
        ("emergency", "900"),
        ("from", "2026-11-01"),
    ];
    assert_eq!(
        agent.post("/authority", &fields).status(),
        404,
        "it is not his to state"
    );
    let wrong = landlord.post("/authority", &[("role", "agent"), ("limit", "lots")]);
    assert_eq!(wrong.status(), 422);
    assert!(wrong.text().unwrap().contains("“lots” is not an amount"));
    let small = landlord.post(
        "/authority",
        &[
            ("role", "agent"),
            ("limit", "500"),
            ("emergency", "100"),
            ("from", "2026-11-01"),
        ],
    );
    assert_eq!(small.status(), 422, "an emergency allows as much at least");
    assert_eq!(landlord.post("/authority", &fields).status(), 303);
    let page = blocks(&agent.page("/authority")).join("\n");
    assert!(
        page.contains("The managing agent may agree up to £120.50 without asking"),
        "{page}"
    );
    assert!(!page.contains("State it"), "the agent reads only");
    let id = estate.advised(estate.job(), 12_051);
    let page = blocks(&agent.page(&format!("/advice/{id}"))).join("\n");
    assert!(
        page.contains("£0.01 over it, so the yes of Lou Landlord, the landlord, is wanted"),
        "{page}"
    );
    assert_eq!(
        estate
            .app
            .signed_in("engineer@test")
            .get("/authority")
            .status(),
        404
    );
}

#[test]
fn a_large_decision_asks_for_the_password_again() {
    let estate = Estate::new();
    let landlord = estate.app.signed_in("landlord@test");
    let said = landlord.post("/authority/confirm", &[("once", "c"), ("confirm", "1,000")]);
    assert_eq!(said.status(), 303);
    let id = estate.advised(estate.job(), 288_000);
    let at = format!("/advice/{id}/decide");
    assert!(
        landlord
            .page(&format!("/advice/{id}"))
            .contains("Your password again")
    );
    let choice = [("choice", "replace:CB"), ("reason", "Enough.")];
    let without = landlord.post(&at, &choice);
    assert_eq!(without.status(), 422);
    assert!(
        without
            .text()
            .unwrap()
            .contains("give your own password again")
    );
    let wrong = [choice[0], choice[1], ("password", "not this one")];
    assert_eq!(landlord.post(&at, &wrong).status(), 422);
    let right = [
        choice[0],
        choice[1],
        ("password", usecases::door::DEMO_PASSWORD),
    ];
    let done = landlord.post(&at, &right);
    assert_eq!(done.status(), 303, "{}", done.text().unwrap());
}

#[test]
fn a_price_agreed_with_the_firm_goes_before_the_general_one() {
    let estate = Estate::new();
    let agent = estate.app.signed_in("agent@test");
    let before = estate.stored(estate.advised(estate.job(), 41_200));
    let firm = estate.firm.to_string();
    let fields = [
        ("once", "p1"),
        ("item", "replace:CB"),
        ("firm", firm.as_str()),
        ("name", "combi boiler, agreed"),
        ("low", "1900"),
        ("likely", "2,000.00"),
        ("high", "2100"),
        ("vat", "20"),
        ("status", "offer of Marl Heating"),
        ("as_at", "2026-11-20"),
    ];
    let mut wrong = fields;
    wrong[5] = ("likely", "2500");
    let answer = agent.post("/prices?kind=CB", &wrong);
    assert_eq!(answer.status(), 422);
    assert!(
        answer
            .text()
            .unwrap()
            .contains("between the low and the high one")
    );
    assert_eq!(agent.post("/prices?kind=CB", &fields).status(), 303);
    assert!(
        agent
            .page("/prices?kind=CB")
            .contains("combi boiler, agreed")
    );
    let after = estate.stored(estate.advised(estate.job(), 41_200));
    assert!(
        after.limit < before.limit,
        "a cheaper new one leaves less for a repair"
    );
    // The figures no list holds and the rate are stated here too.
    let figure = |value: &str| {
        let fields = [("key", "write_off_share"), ("value", value)];
        agent.post("/prices/figure?kind=CB", &fields).status()
    };
    assert_eq!(figure("2"), 422, "a share is at most 1");
    assert_eq!(figure("0.5"), 303);
    let risky = estate.stored(estate.advised(estate.job(), 41_200));
    assert!(
        risky.limit < after.limit,
        "{:?} {:?}",
        risky.limit,
        after.limit
    );
    // Until the desk states a rate, the published schedule is reckoned by, whole.
    let steps = risky.inputs["case"]["later"].as_array().unwrap();
    assert_eq!(
        (steps.len(), &steps[0]["after"]),
        (5, &serde_json::json!(30))
    );
    assert_eq!(
        agent.post("/prices/rate", &[("rate", "lots")]).status(),
        422
    );
    let rate = [
        ("rate", "5"),
        ("rate_status", "the estate’s own"),
        ("rate_as_at", "2026-11-20"),
    ];
    assert_eq!(agent.post("/prices/rate", &rate).status(), 303);
    let stored = estate.stored(estate.advised(estate.job(), 41_200));
    assert_eq!(stored.inputs["case"]["rate"], 0.05);
    assert_eq!(
        stored.inputs["case"].get("later"),
        None,
        "a rate of its own"
    );
    // Rates of later years are stated beside it, and a later day's row stands.
    let rates = |later: &str| {
        let fields = [
            ("rate", "4"),
            ("rate_later", later),
            ("rate_status", "the estate’s own"),
            ("rate_as_at", "2026-11-21"),
        ];
        agent.post("/prices/rate", &fields)
    };
    let wrong = rates("30 years");
    assert_eq!(wrong.status(), 422);
    assert!(wrong.text().unwrap().contains("value=\"30 years\""));
    assert_eq!(rates("20: 3; 50: 2.5").status(), 303);
    let stored = estate.stored(estate.advised(estate.job(), 41_200));
    assert_eq!(
        stored.inputs["case"]["later"],
        serde_json::json!([{ "after": 20, "rate": 0.03 }, { "after": 50, "rate": 0.025 }])
    );
    let page = agent.page("/prices?kind=CB").replace('\u{a0}', " ");
    assert!(page.contains("at 4 % a year to year 20, 3 % to year 50, 2.5 % from then on"));
    let landlord = estate.app.signed_in("landlord@test");
    assert_eq!(landlord.get("/prices").status(), 404);
}

#[test]
fn no_money_is_agreed_before_a_warranty_was_looked_into() {
    let estate = Estate::new();
    let job = estate.job();
    estate
        .world()
        .acting(&estate.seat, |tx| {
            let mut card = tx.unit(estate.unit)?;
            card.warranty_until = "2028-03-14".parse().ok();
            tx.state_unit(estate.unit, &card, None)?;
            let mut job = tx.hold_job(job)?;
            job.state = JobState::Done;
            Ok(tx.save_job(&job)?)
        })
        .unwrap();
    let agent = estate.app.signed_in("agent@test");
    let at = format!("/jobs/{job}/agree");
    let refused = agent.post(&at, &[("cost", "187.50")]);
    assert_eq!(refused.status(), 422);
    let page = refused.text().unwrap().replace('\u{a0}', " ");
    assert!(page.contains("in warranty until 14 March 2028"), "{page}");
    assert!(page.contains("187.50"), "what was typed is kept");
    assert_eq!(estate.job_now(job).state, JobState::Done);
    let looked = agent.post(&at, &[("cost", "187.50"), ("looked", "yes")]);
    assert_eq!(looked.status(), 303);
    let now = estate.job_now(job);
    assert_eq!(
        (now.state, now.cost),
        (JobState::Agreed, Some(Pence(18_750)))
    );
    // A cost that stands is paid by an empty field as well.
    let stands = estate.job();
    estate
        .world()
        .acting(&estate.seat, |tx| {
            let mut job = tx.hold_job(stands)?;
            job.state = JobState::Done;
            job.cost = Some(Pence(9_900));
            Ok(tx.save_job(&job)?)
        })
        .unwrap();
    let at = format!("/jobs/{stands}/agree");
    let refused = agent.post(&at, &[]);
    assert_eq!(refused.status(), 422);
    let page = refused.text().unwrap().replace('\u{a0}', " ");
    assert!(page.contains("in warranty until 14 March 2028"), "{page}");
    assert_eq!(agent.post(&at, &[("looked", "yes")]).status(), 303);
    assert_eq!(estate.job_now(stands).cost, Some(Pence(9_900)));
    // Papers alone are agreed without it: no money is.
    let other = estate.job();
    estate
        .world()
        .acting(&estate.seat, |tx| {
            let mut job = tx.hold_job(other)?;
            job.state = JobState::Done;
            Ok(tx.save_job(&job)?)
        })
        .unwrap();
    assert_eq!(
        agent.post(&format!("/jobs/{other}/agree"), &[]).status(),
        303
    );
}

/// A price agreed for a day to come is not reckoned with before that day.
#[test]
fn a_price_of_the_future_is_no_price_yet() {
    let estate = Estate::new();
    let job = estate.job();
    let before = estate.stored(estate.advised(job, 41_200));
    let world = estate.world();
    world
        .acting(&estate.seat, |tx| {
            let mut price = tx
                .prices_of("CB")?
                .into_iter()
                .filter(|p| p.item == "replace:CB" && p.firm.is_none())
                .max_by_key(|p| p.as_at)
                .expect("a list price");
            price.as_at = tx.today() + chrono::TimeDelta::days(30);
            price.low = Pence(price.low.0 * 3);
            price.likely = Pence(price.likely.0 * 3);
            price.high = Pence(price.high.0 * 3);
            Ok(tx.add_prices(&[price])?)
        })
        .unwrap();
    let after = estate.stored(estate.advised(job, 41_200));
    assert_eq!(before.limit, after.limit);
}

#[test]
fn an_invoice_is_matched_line_by_line() {
    let estate = Estate::new();
    let agent = estate.app.signed_in("agent@test");
    let job = estate.job();
    let id = estate.advised(job, 40_000);
    let path = format!("/jobs/{job}/invoice");
    assert!(
        agent
            .page(&path)
            .contains("Nothing is billed yet; £400.00 was quoted")
    );
    let mut fields = vec![
        ("once", "i1"),
        ("number", "2026/117"),
        ("dated", "2026-11-24"),
        ("what.1", "diverter valve fitted"),
        ("net.1", "430.00"),
        ("what.2", "Parking"),
        ("net.2", "56.00"),
        ("vat", "0"),
        ("total", "480.00"),
    ];
    let slip = agent.post(&path, &fields);
    assert_eq!(slip.status(), 422, "the total is not the lines'");
    assert!(slip.text().unwrap().contains("come to £486.00"));
    fields[8] = ("total", "486");
    assert_eq!(agent.post(&path, &fields).status(), 303);
    let page = blocks(&agent.page(&path)).join("\n");
    assert!(
        page.contains("£486.00 is billed, £86.00 over the quote"),
        "{page}"
    );
    assert!(
        page.contains("Diverter valve, fitted: £400.00 was quoted and £430.00 is billed."),
        "{page}"
    );
    assert!(
        page.contains("Parking: £56.00 is billed and was not quoted."),
        "{page}"
    );
    // The same number on another job is asked about.
    let other = estate.job();
    estate.advised(other, 40_000);
    let path = format!("/jobs/{other}/invoice");
    fields[0] = ("once", "i2");
    assert_eq!(agent.post(&path, &fields).status(), 303);
    assert!(agent.page(&path).contains("it may be billed twice"));
    let landlord = estate.app.signed_in("landlord@test");
    assert_eq!(landlord.get(&path).status(), 404);
    assert!(estate.stored(id).superseded_at.is_some());
}

#[test]
fn what_is_worth_finding_out_is_asked_on_the_sheet_and_kept() {
    let estate = Estate::new();
    let world = estate.world();
    world
        .acting(&estate.seat, |tx| {
            let mut card = tx.unit(estate.unit)?;
            card.installed = None;
            Ok(tx.state_unit(estate.unit, &card, None)?)
        })
        .unwrap();
    let job = estate.job();
    let seat = &estate.seat;
    let found = usecases::advice::found_out(
        world,
        seat,
        (job, usecases::advice::Unknown::Age, "2011"),
        "f1",
    );
    found.unwrap();
    let unit = world.acting(seat, |tx| Ok(tx.unit(estate.unit)?)).unwrap();
    assert_eq!(
        unit.installed,
        Some(("2011-01-01".parse().unwrap(), "2011-12-31".parse().unwrap()))
    );
    let supply = (job, usecases::advice::Unknown::SupplySize, "9");
    usecases::advice::found_out(world, seat, supply, "f2").unwrap();
    let space = world.acting(seat, |tx| Ok(tx.space(estate.flat)?)).unwrap();
    assert_eq!(space.site["electric_kw_spare"], 9.0);
    assert_eq!(space.site["discharge_route"], "no", "what was known stays");
    for (what, answer) in [
        (usecases::advice::Unknown::Age, "old"),
        (usecases::advice::Unknown::DischargeRoute, "perhaps"),
        (usecases::advice::Unknown::Rise, "30"),
    ] {
        let refused = usecases::advice::found_out(world, seat, (job, what, answer), "f3");
        assert!(
            matches!(refused, Err(usecases::Error::Invalid(_))),
            "{answer}"
        );
    }
    let engineer = estate.app.signed_in("engineer@test");
    assert_eq!(engineer.get(&format!("/sheet/{job}")).status(), 200);
    let answer = engineer.post(
        &format!("/sheet/{job}/found/hardness"),
        &[("answer", "soft")],
    );
    assert_eq!(answer.status(), 422);
    let kept = engineer.post(
        &format!("/sheet/{job}/found/hardness"),
        &[("answer", "310")],
    );
    assert_eq!(location(&kept), format!("/sheet/{job}"));
    let stranger = estate.app.signed_in("stranger@test");
    let other = stranger.post(
        &format!("/sheet/{job}/found/hardness"),
        &[("answer", "310")],
    );
    assert_eq!(other.status(), 404);
}

#[test]
fn money_to_set_aside_and_the_largest_share() {
    let estate = Estate::new();
    let (agent, landlord) = (
        estate.app.signed_in("agent@test"),
        estate.app.signed_in("landlord@test"),
    );
    let page = blocks(&landlord.page("/reserve")).join("\n");
    assert!(page.contains("Alder House needs about £"), "{page}");
    assert!(page.contains("a flat a month for replacements"), "{page}");
    assert!(
        !page.contains("Osier Tower"),
        "another landlord’s building is not his to see"
    );
    assert_eq!(agent.get("/reserve?dearer=lots").status(), 422);
    assert_eq!(agent.get("/reserve?building=nonsense").status(), 404);
    // One flat bears all: a replacement is consulted about; stated as a thousandth, it is not.
    let id = estate.advised(estate.job(), 999_999);
    let page = blocks(&agent.page(&format!("/advice/{id}"))).join("\n");
    assert!(
        page.contains("that is over £250.00, so leaseholders are consulted"),
        "{page}"
    );
    assert!(page.contains("First notice to every leaseholder"), "{page}");
    let share = format!("/reserve/{}/share", estate.building);
    assert_eq!(landlord.post(&share, &[("share", "0.1")]).status(), 404);
    assert_eq!(agent.post(&share, &[("share", "0")]).status(), 422);
    assert_eq!(agent.post(&share, &[("share", "0.1")]).status(), 303);
    let page = blocks(&agent.page(&format!("/advice/{id}"))).join("\n");
    assert!(page.contains("none is over £250.00"), "{page}");
    let pack = blocks(&agent.page(&format!("/advice/{id}/pack"))).join("\n");
    assert!(pack.contains("Reminder, not legal advice"), "{pack}");
    assert!(pack.contains("Head of the record"), "{pack}");
}

#[test]
fn a_unit_to_keep_says_how_many_failures_more_would_turn_it() {
    let estate = Estate::new();
    let job = estate.job();
    let limit = estate.stored(estate.advised(job, 41_200)).limit.unwrap();
    // Well under the limit, so that repairing is the course.
    let id = estate.advised(job, (limit.0 / 2).max(1));
    let page = blocks(
        &estate
            .app
            .signed_in("landlord@test")
            .page(&format!("/advice/{id}")),
    )
    .join("\n");
    let said = page.contains("would turn the advice") || page.contains("Even six failures more");
    assert!(said, "{page}");
    assert!(
        page.contains("a failure beyond repair may end it"),
        "{page}"
    );
    assert_eq!(
        estate.stored(id).quote_pence,
        Some(Pence((limit.0 / 2).max(1)))
    );
}

#[test]
fn the_demos_money_pages_say_something() {
    let app = TestApp::demo();
    let agent = app.signed_in("agent@demo.example");
    let landlord = app.signed_in(seed_demo::LANDLORD);
    let reserve = blocks(&agent.page("/reserve?years=30&dearer=2")).join("\n");
    assert!(
        reserve.contains("a flat a month for replacements"),
        "{reserve}"
    );
    assert!(reserve.contains("8 in 10 within"), "{reserve}");
    // Either it speaks, with its ranges, or it says why it is silent; never both, never neither.
    let winter = blocks(&landlord.page("/winter")).join("\n");
    let speaks = winter.contains("would have been about");
    let nothing = winter.contains("would have replaced nothing");
    let silent = winter.contains("Nothing is said yet");
    assert!(silent != (speaks || nothing), "{winter}");
    for at in ["/prices?kind=CB", "/prices", "/authority"] {
        agent.page(at);
    }
    landlord.page("/authority");
}
