//! What-ifs side by side, one adopted, its jobs opened; plans too large for a page made by a task.
use store::audit::ChainVerdict;
use terms::{JobKind, Pence, Role};
use usecases::plan::{self, Making, WhatIf};
use usecases::{Error, Seat};

use crate::duties::{Estate, day};
use crate::plan_estate::{Old, faultless};
use crate::support::TestApp;

fn ways() -> [(&'static str, WhatIf); 7] {
    [
        ("more", WhatIf::Money { pence: 500_000 }),
        ("less", WhatIf::Money { pence: -200_000 }),
        ("nothing", WhatIf::Nothing),
        ("on failure", WhatIf::OnFailure),
        ("oldest", WhatIf::OldestFirst),
        ("rate", WhatIf::Rate { percent: 6.0 }),
        ("dearer", WhatIf::Prices { percent: 20.0 }),
    ]
}

#[test]
fn every_what_if_is_kept_under_its_name_and_the_figures_follow_from_it() {
    let old = Old::new(8);
    old.money(8_000, 2_000, "m1");
    let base = old.planned("p1").plan.unwrap().made;
    for (n, (name, what_if)) in ways().into_iter().enumerate() {
        assert!(matches!(
            old.make(what_if, Some(name), &format!("w{n}")).unwrap(),
            Making::Made(_)
        ));
    }
    let found = old.read();
    assert_eq!(found.what_ifs.len(), 7);
    let figures = |name: &str| {
        let card = found
            .what_ifs
            .iter()
            .find(|c| c.name.as_deref() == Some(name))
            .unwrap();
        card.made.figures
    };
    // More money never costs more, less never less; replacing nothing spends nothing and fails most.
    assert!(figures("more").cost <= base.figures.cost);
    assert!(figures("less").cost >= base.proven.bound);
    assert_eq!(
        (figures("nothing").spent, figures("nothing").replaced),
        (Pence(0), 0)
    );
    // When it fails: money is spent and failures fall, but no plan under the same purse costs less than the bound.
    let failing = figures("on failure");
    assert!(
        failing.replaced > 0 && failing.spent > Pence(0),
        "{failing:?}"
    );
    assert!(failing.failures < figures("nothing").failures);
    assert!(failing.cost >= base.proven.bound && failing.cost != figures("nothing").cost);
    // A fifth dearer: every price to the penny, and what is spent follows from it.
    let card = |name: &str| {
        let mut all = found.what_ifs.iter();
        all.find(|c| c.name.as_deref() == Some(name)).unwrap()
    };
    let stated = &found.plan.as_ref().unwrap().asked.input.units;
    for (was, now) in stated.iter().zip(&card("dearer").asked.input.units) {
        assert_eq!(was.unit, now.unit);
        assert_eq!(now.cash.0, (was.cash.0 as f64 * 1.2).round() as i64);
    }
    let dearer = card("dearer").made.proven.programme.years.iter();
    let paid: i64 = dearer.flat_map(|l| &l.replacements).map(|r| r.cash.0).sum();
    assert_eq!(figures("dearer").spent.0, paid);
    assert!(figures("nothing").failures >= base.figures.failures);
    assert!(figures("nothing").cold_homes >= base.figures.cold_homes);
    assert!(figures("oldest").cost >= base.proven.bound);
    assert!(figures("nothing").per_flat_month < base.figures.per_flat_month);
    // The same name again takes the former's place; a wrong amount or no name is refused.
    old.make(WhatIf::Money { pence: 600_000 }, Some("more"), "w9")
        .unwrap();
    assert_eq!(old.read().what_ifs.len(), 7);
    for (what_if, name, field) in [
        (WhatIf::Rate { percent: 40.0 }, "x", "amount"),
        (WhatIf::Prices { percent: -90.0 }, "x", "amount"),
        (WhatIf::Nothing, " ", "name"),
    ] {
        match old.make(what_if, Some(name), "w10") {
            Err(Error::Invalid(wrongs)) => assert_eq!(wrongs[0].field, field),
            other => panic!("{other:?}"),
        }
    }
    for card in &found.what_ifs {
        let kept = plan::kept_plan(old.world(), &old.estate.seat, card.id).unwrap();
        faultless(&kept);
    }
}

/// Paying £1,000 for coming to the building in the third year costs £1,000/1.06² = £890.00 today at 6 per cent, and
/// £1,000/1.09² = £841.68 at 9. By hand.
#[test]
fn another_rate_discounts_what_is_paid_by_that_rate() {
    let old = Old::new(1);
    old.money(30_000, 5_000, "m");
    let pin = plan::TieForm {
        building: old.building(),
        kind: plan::TieKind::Pin,
        units: old.units.clone(),
        year: Some(2029),
        why: "the scaffold stands then".to_owned(),
    };
    plan::tie_units(old.world(), &old.estate.seat, pin, "t").unwrap();
    let cost = |percent: f64, set_up: i64, once: &str| {
        let limits = plan::Limits {
            set_up: Pence(set_up),
            ..plan::Limits::default()
        };
        let stated = (old.building(), limits);
        plan::state_limits(old.world(), &old.estate.seat, stated, &format!("l{once}")).unwrap();
        old.planned(&format!("p{once}"));
        old.make(WhatIf::Rate { percent }, Some(once), once)
            .unwrap();
        let read = old.read();
        let mut cards = read.what_ifs.iter();
        let card = cards.find(|c| c.name.as_deref() == Some(once)).unwrap();
        card.made.proven.cost.0
    };
    assert_eq!(cost(6.0, 100_000, "a") - cost(6.0, 0, "b"), 89_000);
    assert_eq!(cost(9.0, 100_000, "c") - cost(9.0, 0, "d"), 84_168);
}

/// Everything the form offers is tried by posting it, and read on the page.
#[test]
fn every_what_if_the_form_offers_is_tried_and_read() {
    let app = TestApp::start();
    let old = Old::of(Estate::over(&app.database.world, "Test Estate"), 4);
    old.person("agent@test", Role::Agent);
    let agent = app.signed_in("agent@test");
    old.money(7_000, 500, "m");
    old.planned("p");
    let page = agent.page("/programme");
    let select = page.split("<select id=\"what\"").nth(1).expect("the form");
    let select = select.split("</select>").next().unwrap();
    let offered: Vec<&str> = select
        .split("<option value=\"")
        .skip(1)
        .map(|rest| rest.split('"').next().unwrap())
        .collect();
    let tries = [
        ("money", "-500", "£500 less comes in every year."),
        ("nothing", "", "Nothing is replaced by plan"),
        (
            "on_failure",
            "",
            "Each unit is replaced when it is expected to fail",
        ),
        (
            "oldest_first",
            "",
            "The oldest first, from fifteen years on.",
        ),
        ("rate", "5", "discounted at 5 per cent a year"),
        ("prices", "-10", "New units cost 10 per cent less."),
    ];
    assert_eq!(
        offered,
        tries.map(|t| t.0),
        "each that is offered is tried here"
    );
    let to = format!("/programme/{}/what-if", old.building());
    for (what, amount, said) in tries {
        let name = format!("Try {what}");
        let fields = [
            ("once", what),
            ("what", what),
            ("amount", amount),
            ("name", name.as_str()),
        ];
        assert_eq!(agent.post(&to, &fields).status(), 303, "{what}");
        let page = agent.page("/programme").replace('\u{a0}', " ");
        assert!(
            page.contains(said) && page.contains(&name),
            "{what}: {page}"
        );
    }
    assert_eq!(old.read().what_ifs.len(), tries.len());
}

/// A unit whose replacement is open is not opened again by another plan, nor by the same one made anew.
#[test]
fn another_plan_does_not_open_the_same_units_job_again() {
    let old = Old::new(6);
    old.money(7_000, 500, "m");
    old.planned("p");
    old.make(WhatIf::Money { pence: 100_000 }, Some("more"), "w")
        .unwrap();
    let found = old.read();
    let (stated, more) = (found.plan.unwrap(), found.what_ifs[0].clone());
    let units = |card: &plan::PlanCard| -> Vec<terms::UnitId> {
        let years = card.made.proven.programme.years.iter();
        years
            .flat_map(|l| &l.replacements)
            .map(|r| r.unit)
            .collect()
    };
    let unit = *units(&stated)
        .iter()
        .find(|u| units(&more).contains(u))
        .expect("both plans replace it");
    let (world, seat) = (old.world(), &old.estate.seat);
    plan::adopt_plan(world, seat, (stated.id, "so agreed".to_owned()), "a1").unwrap();
    plan::open_planned_job(world, seat, (stated.id, unit), "o1").unwrap();
    plan::adopt_plan(world, seat, (more.id, "agreed anew".to_owned()), "a2").unwrap();
    match plan::open_planned_job(world, seat, (more.id, unit), "o2") {
        Err(Error::Conflict(said)) => assert!(said.contains("is open already"), "{said}"),
        other => panic!("{other:?}"),
    }
    assert_eq!(old.jobs().len(), 1);
}

#[test]
fn a_what_if_is_tried_compared_adopted_by_the_landlord_and_its_job_opened() {
    let app = TestApp::start();
    let old = Old::of(Estate::over(&app.database.world, "Test Estate"), 6);
    old.person("agent@test", Role::Agent);
    old.person("owner@test", Role::Landlord);
    let (agent, owner) = (app.signed_in("agent@test"), app.signed_in("owner@test"));
    let b = old.building();
    old.money(7_000, 500, "m");
    old.planned("p");
    let to = format!("/programme/{b}/what-if");
    let wrong = agent.post(
        &to,
        &[
            ("once", "w1"),
            ("what", "money"),
            ("amount", "much"),
            ("name", "Two thousand more"),
        ],
    );
    assert_eq!(wrong.status(), 422);
    let typed = wrong.text().unwrap();
    assert!(
        typed.contains("Say how much") && typed.contains("Two thousand more"),
        "what was typed stays"
    );
    let tried = agent.post(
        &to,
        &[
            ("once", "w2"),
            ("what", "money"),
            ("amount", "2,000"),
            ("name", "Two thousand more"),
        ],
    );
    assert_eq!(tried.status(), 303);
    let page = agent.page("/programme").replace('\u{a0}', " ");
    for said in [
        "Two thousand more",
        "£2,000 more comes in every year.",
        "As stated",
        "Times a home loses heat in a winter",
        "A flat and month",
    ] {
        assert!(page.contains(said), "“{said}” is not in {page}");
    }
    let card = old.read().what_ifs.pop().unwrap();
    let kept = format!("/programme/plans/{}", card.id);
    // Nothing opens before it is adopted.
    let years = card.made.proven.programme.years.iter();
    let line = years.clone().find(|l| !l.replacements.is_empty());
    let line = line.expect("a year with a replacement");
    let unit = line.replacements[0].unit;
    // The last day before the heating season of its year, 1 October to 31 March (common practice, no source).
    let last = day(&format!("{}-09-30", line.year));
    let open = |once: &str| agent.post(&format!("{kept}/jobs/{unit}"), &[("once", once)]);
    assert_eq!(open("o0").status(), 409);
    assert_eq!(
        owner
            .post(
                &format!("{kept}/adopt"),
                &[("once", "a1"), ("adopt_why", " ")]
            )
            .status(),
        422
    );
    let adopted = owner.post(
        &format!("{kept}/adopt"),
        &[
            ("once", "a2"),
            ("adopt_why", "The directors agreed on Monday"),
        ],
    );
    assert_eq!(adopted.status(), 303);
    let page = agent.page(&kept).replace('\u{a0}', " ");
    assert!(
        page.contains(
            "was adopted by Somebody on 25 November 2026: The directors agreed on Monday"
        ),
        "{page}"
    );
    assert!(old.jobs().is_empty(), "nothing is ordered by adopting");
    assert_eq!(open("o1").status(), 303);
    assert_eq!(open("o1").status(), 303, "the same post again");
    assert_eq!(open("o2").status(), 409);
    let jobs = old.jobs();
    assert_eq!(jobs.len(), 1);
    assert_eq!(
        (jobs[0].kind, jobs[0].unit),
        (JobKind::Replacement, Some(unit))
    );
    assert_eq!(jobs[0].due_at.map(|due| due.date_naive()), Some(last));
    assert!(agent.page(&kept).contains("See its job"));
    // Whatever is stated since, the adopted plan keeps its reasons and what moving a unit of it would cost.
    old.money(9_000, 500, "m2");
    old.planned("p2");
    let of_unit = format!("{kept}/units/{unit}");
    assert!(agent.page(&kept).contains(&format!("href=\"{of_unit}\"")));
    let far = line.year + 5;
    let page = agent
        .page(&format!("{of_unit}?year={far}"))
        .replace('\u{a0}', " ");
    for said in [
        format!("is replaced in {}", line.year),
        "The adopted plan, “Two thousand more”".to_owned(),
        format!("in {far} would cost about £"),
        format!("action=\"{of_unit}\""),
    ] {
        assert!(page.contains(&said), "“{said}” is not in {page}");
    }
    assert!(
        !page.contains("Pin it to"),
        "a pin moves the plan as stated"
    );
    // A plain way was not sought at least cost: nothing is said of what a year would cost there.
    old.make(WhatIf::OldestFirst, Some("oldest"), "w9").unwrap();
    let all = old.read().what_ifs;
    let plain = all.iter().find(|c| c.name.as_deref() == Some("oldest"));
    let plain = format!("/programme/plans/{}", plain.expect("it is kept").id);
    assert!(!agent.page(&plain).contains(&format!("{plain}/units/")));
    assert_eq!(agent.get(&format!("{plain}/units/{unit}")).status(), 409);
    assert_eq!(
        agent
            .post(&format!("{plain}/away"), &[("once", "x0")])
            .status(),
        303
    );
    // Put away, it stays readable where it was adopted.
    assert_eq!(
        agent
            .post(&format!("{kept}/away"), &[("once", "x1")])
            .status(),
        303
    );
    assert!(old.read().what_ifs.is_empty());
    assert!(agent.page("/programme").contains("Read the adopted plan"));
    assert_eq!(agent.get(&kept).status(), 200);
    let chain = old
        .world()
        .acting(&old.estate.seat, |tx| Ok(tx.verify_chain()?))
        .unwrap();
    assert!(matches!(chain, ChainVerdict::Whole { .. }), "{chain:?}");
}

#[test]
fn a_plan_too_large_for_a_page_is_made_by_a_task_and_the_page_says_where_it_is() {
    let app = TestApp::start();
    let old = Old::of(Estate::over(&app.database.world, "Test Estate"), 5);
    old.person("agent@test", Role::Agent);
    let agent = app.signed_in("agent@test");
    old.money(7_000, 500, "m");
    old.planned("p");
    old.world()
        .acting(
            &old.estate.seat,
            |tx| Ok(tx.set("plan_at_once_units", "2")?),
        )
        .unwrap();
    old.money(9_000, 500, "m2");
    let b = old.building();
    let posted = agent.post(&format!("/programme/{b}/plan"), &[("once", "q1")]);
    assert_eq!(posted.status(), 303);
    let before = old.read();
    assert!(before.under_way.is_some());
    assert_eq!(
        before.input.years[0].comes_in,
        Pence(700_000),
        "the last finished plan stands"
    );
    let page = agent.page("/programme");
    assert!(
        page.contains("A plan is being made.") && page.contains("<progress"),
        "{page}"
    );
    assert!(
        page.contains("Since this plan was made the purse was stated anew."),
        "{page}"
    );
    let settings = jobs::Settings {
        bank_holidays_url: None,
        worker: "w1".to_owned(),
        mail: None,
        reader: None,
    };
    assert_eq!(jobs::run_queue(old.world(), &settings), 1);
    let after = old.read();
    assert!(after.under_way.is_none() && after.changes.is_empty());
    assert_eq!(after.input.years[0].comes_in, Pence(900_000));
    faultless(&after);
    // At night every plan as stated is made anew, by the program.
    assert!(jobs::enqueue(old.world(), old.estate.seat.estate(), "make_plans").unwrap());
    assert_eq!(jobs::run_queue(old.world(), &settings), 1);
    assert_eq!(old.read().plan.unwrap().by, "the program");
    let seat = Seat::program(old.estate.seat.estate(), "Test Estate");
    let tasks = usecases::tasks::recent(old.world(), &seat, 10).unwrap();
    assert!(tasks.iter().all(|t| t.done_at.is_some()), "{tasks:?}");
}
