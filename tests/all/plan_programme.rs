//! The programme: the optimised plan audited, its words, pins and their cost, what clashes.
use terms::{Pence, Role, UnitId};
use usecases::Error;
use usecases::plan::{self, Limits, TieKind, WhatIf};

use crate::duties::Estate;
use crate::plan_estate::{Old, faultless, person};
use crate::support::TestApp;
use crate::support::server::{Client, location};

#[test]
fn the_plan_keeps_the_purse_beats_the_plain_ways_and_says_what_more_money_would_buy() {
    let old = Old::new(12);
    old.money(9_000, 1_000, "m1");
    let found = old.planned("p1");
    let card = found.plan.as_ref().unwrap();
    let made = &card.made;
    assert!(made.proven.stands(), "{:?}", made.proven.verdict);
    assert!(made.figures.lowest >= Pence(0));
    assert!(made.figures.replaced > 0, "old boilers are worth replacing");
    assert_eq!(
        made.beside.len(),
        3,
        "replacing nothing is one of the plain ways"
    );
    for beside in &made.beside {
        assert!(beside.figures.cost >= made.figures.cost, "{beside:?}");
    }
    let more = made.more.as_ref().expect("money binds");
    assert_eq!(more.pence, Pence(100_000));
    // What the page says £1,000 more would save is what a plan made with £1,000 more in the purse saves.
    old.money(9_000, 2_000, "m1b");
    let richer = old.planned("p1b").plan.unwrap().made.proven;
    assert_eq!(richer.verdict, plan::Verdict::Optimal);
    assert_eq!(more.saves.0, made.proven.cost.0 - richer.cost.0);
    old.money(9_000, 1_000, "m1c");
    // The same facts, the same plan.
    let again = old.planned("p2");
    assert_eq!(again.programme, found.programme);
    assert!(again.changes.is_empty(), "{:?}", again.changes);
    // Money that suffices for all costs no more, and leaves nobody waiting.
    old.money(100_000, 100_000, "m2");
    assert_eq!(old.read().changes, [plan::Change::Money]);
    let rich = old.planned("p3");
    let rich = rich.plan.unwrap().made;
    assert!(rich.proven.cost <= made.proven.cost);
    assert_eq!(rich.proven.cost, rich.proven.unbound, "nothing binds");
}

#[test]
fn a_pin_holds_costs_what_it_costs_and_is_taken_back() {
    let old = Old::new(8);
    old.money(6_000, 1_000, "m1");
    let free = old.planned("p1");
    let base = free.plan.as_ref().unwrap().made.proven.cost;
    let seat = &old.estate.seat;
    let unit = old.units[0];
    let view = plan::unit_year(old.world(), seat, (old.building(), unit), Some(2034)).unwrap();
    assert_ne!(view.year, Some(2034), "its own year is another");
    let tried = &view.tried[0];
    old.tie(TieKind::Pin, &[unit], Some(2034), "t1").unwrap();
    assert_eq!(old.read().changes, [plan::Change::Ties]);
    let pinned = old.planned("p2");
    let made = &pinned.plan.as_ref().unwrap().made;
    let year = pinned
        .programme
        .years
        .iter()
        .find(|l| l.replacements.iter().any(|r| r.unit == unit))
        .map(|l| l.year);
    assert_eq!(year, Some(2034));
    // What the page said it would cost is what it costs.
    assert_eq!(made.proven.cost.0 - base.0, tried.costs.0);
    assert!(tried.costs >= Pence(0) && tried.at_least <= tried.costs);
    assert_eq!(pinned.ties.len(), 1);
    assert_eq!(pinned.ties[0].tie.why, "the scaffold stands then");
    // Twice is refused, and so is the very year it is pinned to.
    assert!(matches!(
        old.tie(TieKind::Pin, &[unit], Some(2030), "t2"),
        Err(Error::Invalid(_))
    ));
    assert!(matches!(
        old.tie(TieKind::Forbid, &[unit], Some(2034), "t3"),
        Err(Error::Invalid(_))
    ));
    let id = pinned.ties[0].tie.id;
    let back = |once: &str| plan::untie_units(old.world(), seat, (old.building(), id), once);
    back("u1").unwrap();
    back("u1").unwrap();
    assert!(matches!(back("u2"), Err(Error::NotFound(_))));
    let freed = old.planned("p3");
    assert_eq!(freed.plan.unwrap().made.proven.cost, base);
    assert!(freed.ties.is_empty());
}

#[test]
fn units_bound_together_stand_in_one_year_and_forbidden_years_stay_empty() {
    let old = Old::new(8);
    old.money(20_000, 5_000, "m1");
    let free = old.planned("p1");
    let year_of = |found: &plan::BuildingProgramme, unit: UnitId| {
        let here = |l: &&plan::YearLine| l.replacements.iter().any(|r| r.unit == unit);
        found.programme.years.iter().find(here).map(|l| l.year)
    };
    let (a, b) = (old.units[0], old.units[7]);
    old.tie(TieKind::Together, &[a, b], None, "t1").unwrap();
    let was = year_of(&free, old.units[1]).expect("an old boiler has a year");
    old.tie(TieKind::Forbid, &[old.units[1]], Some(was), "t2")
        .unwrap();
    let found = old.planned("p2");
    assert_eq!(year_of(&found, a), year_of(&found, b));
    assert_ne!(year_of(&found, old.units[1]), Some(was));
    assert!(matches!(
        old.tie(TieKind::Together, &[a], None, "t3"),
        Err(Error::Invalid(_))
    ));
    assert!(matches!(
        old.tie(TieKind::Forbid, &[a], Some(1999), "t4"),
        Err(Error::Invalid(_))
    ));
}

#[test]
fn limits_besides_money_hold_and_what_is_paid_besides_stands_in_the_sums() {
    let old = Old::new(10);
    old.money(30_000, 10_000, "m1");
    let limits = Limits {
        set_up: Pence(40_000),
        stair_set_up: Pence(15_000),
        homes_a_year: Some(2),
        consult_above: Some(Pence(500_000)),
        consult_costs: Pence(30_000),
        consult_from: Some(2028),
        ..Limits::default()
    };
    plan::state_limits(
        old.world(),
        &old.estate.seat,
        (old.building(), limits),
        "l1",
    )
    .unwrap();
    let found = old.planned("p1");
    assert_eq!(found.limits, limits);
    for line in &found.programme.years {
        assert!(line.replacements.len() <= 2, "{}", line.year);
        let besides = if line.replacements.is_empty() {
            0
        } else {
            55_000
        };
        let consulted = line.spent.0 + besides > 500_000;
        let expected = besides + if consulted { 30_000 } else { 0 };
        assert_eq!(line.set_up.0, expected, "{}", line.year);
        assert!(!consulted || line.year >= 2028);
    }
}

#[test]
fn what_cannot_all_be_kept_is_named_with_nothing_besides() {
    let old = Old::new(6);
    old.money(4_000, 0, "m1");
    for (n, unit) in old.units.iter().enumerate().take(5) {
        old.tie(TieKind::Pin, &[*unit], Some(2027), &format!("t{n}"))
            .unwrap();
    }
    old.make(WhatIf::AsStated, None, "p1").unwrap();
    let found = old.read();
    let proven = &found.plan.as_ref().unwrap().made.proven;
    assert!(!proven.stands());
    assert!(proven.clash.len() >= 2, "{:?}", proven.clash);
    assert!(
        proven
            .clash
            .iter()
            .any(|c| matches!(c, plan::Clashing::Reserve { .. }))
    );
    // With any one of the pins of the clash let go … the set is smallest, so a plan of that set exists: the purse
    // holds for one fewer.
    let pins = proven.clash.len() as i64 - 1;
    let price = found.units[&old.units[0]].capex.0;
    let there =
        found.input.opening.0 + found.input.years[0].comes_in.0 - found.input.years[0].set_aside.0;
    assert!(
        pins * price > there && (pins - 1) * price <= there,
        "{pins} of {price} in {there}"
    );
}

struct Story {
    app: TestApp,
    old: Old,
    agent: Client,
    owner: Client,
}

fn story() -> Story {
    let app = TestApp::start();
    let old = Old::of(Estate::over(&app.database.world, "Test Estate"), 6);
    old.person("agent@test", Role::Agent);
    old.person("owner@test", Role::Landlord);
    let (agent, owner) = (app.signed_in("agent@test"), app.signed_in("owner@test"));
    Story {
        app,
        old,
        agent,
        owner,
    }
}

fn plain(page: &str) -> String {
    page.replace('\u{a0}', " ").replace("&#39;", "'")
}

#[test]
fn the_pages_alone_say_why_a_flat_has_its_year_and_what_another_would_cost() {
    let story = story();
    let b = story.old.building();
    let page = story.agent.page("/programme");
    assert!(page.contains("No plan is made of Elm House yet"));
    let money = [
        ("once", "m"),
        ("year", "2027"),
        ("pence", "7000"),
        ("opening", "500"),
        ("floor", "0"),
    ];
    let posted = story.agent.post(&format!("/programme/{b}/budget"), &money);
    assert_eq!(posted.status(), 303);
    let page = plain(&story.agent.page("/programme"));
    for said in [
        "How good is this plan",
        "Oldest first, from fifteen years on",
        "Why then, and what would another year cost?",
        "What if",
    ] {
        assert!(page.contains(said), "“{said}” is not in {page}");
    }
    assert!(page.contains("that is proven"), "{page}");
    let unit = story.old.units[0];
    let of_unit = format!("/programme/{b}/units/{unit}");
    let read = plain(&story.agent.page(&of_unit));
    assert!(
        read.contains("EL-000 is replaced in") || read.contains("EL-000 is kept beyond"),
        "{read}"
    );
    let read = plain(&story.agent.page(&format!("{of_unit}?year=2033")));
    assert!(
        read.contains("Replacing Flat 1 in 2033 would cost")
            || read.contains("In 2033 there is no plan"),
        "{read}"
    );
    assert!(
        plain(&story.agent.page(&format!("{of_unit}?year=1999")))
            .contains("A year from 2027 to 2036, please.")
    );
    let id = unit.to_string();
    let to = format!("/programme/{b}/tie");
    let tie = |why: &str, once: &str| {
        let fields = [
            ("once", once),
            ("kind", "pin"),
            ("units", id.as_str()),
            ("tie_year", "2033"),
            ("why", why),
        ];
        story.agent.post(&to, &fields)
    };
    let refused = tie("", "t1");
    assert_eq!(refused.status(), 422);
    let typed = refused.text().unwrap();
    assert!(typed.contains("Say why, for whoever reads the plan next year."));
    assert!(
        typed.contains(&format!("<option value=\"{id}\" selected>")),
        "what was typed stays"
    );
    assert_eq!(tie("the <b>lift</b> is out until then", "t2").status(), 303);
    let page = plain(&story.agent.page("/programme"));
    assert!(
        page.contains("is pinned to 2033") && !page.contains("<b>lift"),
        "{page}"
    );
    assert!(plain(&story.agent.page(&of_unit)).contains("pinned it to 2033"));
    // The landlord reads all of it and ties nothing.
    let read = story.owner.page("/programme");
    assert!(read.contains("is pinned to") && !read.contains("Ask for it"));
    assert_eq!(
        story
            .owner
            .post(&to, &[("once", "x"), ("kind", "pin")])
            .status(),
        404
    );
    let back = page
        .split("/ties/")
        .nth(1)
        .unwrap()
        .split('"')
        .next()
        .unwrap()
        .to_owned();
    let back = format!("/programme/{b}/ties/{back}");
    assert_eq!(story.agent.post(&back, &[("once", "u")]).status(), 303);
    assert!(!story.agent.page("/programme").contains("is pinned to 2033"));
    faultless(&story.old.read());
}

#[test]
fn another_estates_plans_are_not_there() {
    let story = story();
    let b = story.old.building();
    story.old.money(7_000, 500, "m");
    let plan = story.old.planned("p").plan.unwrap().id;
    let other = Estate::over(&story.app.database.world, "Other Estate");
    person(&other, "other@test", Role::Agent, None);
    let stranger = story.app.signed_in("other@test");
    let unit = story.old.units[0];
    for path in [
        format!("/programme?building={b}"),
        format!("/programme/plans/{plan}"),
        format!("/programme/{b}/units/{unit}"),
    ] {
        assert_eq!(stranger.get(&path).status(), 404, "{path}");
    }
    for path in [
        format!("/programme/{b}/plan"),
        format!("/programme/{b}/tie"),
        format!("/programme/{b}/what-if"),
        format!("/programme/{b}/limits"),
        format!("/programme/plans/{plan}/adopt"),
        format!("/programme/plans/{plan}/away"),
        format!("/programme/plans/{plan}/jobs/{unit}"),
    ] {
        let id = unit.to_string();
        let fields = [
            ("once", "x"),
            ("kind", "pin"),
            ("units", id.as_str()),
            ("tie_year", "2030"),
            ("why", "w"),
            ("what", "nothing"),
            ("name", "n"),
            ("adopt_why", "w"),
        ];
        assert_eq!(stranger.post(&path, &fields).status(), 404, "{path}");
    }
    let theirs = story.agent.get(&format!("/programme/plans/{plan}"));
    assert_eq!(theirs.status(), 200);
    assert_eq!(
        location(
            &story
                .agent
                .post(&format!("/programme/{b}/plan"), &[("once", "q")])
        ),
        format!("/programme?building={b}")
    );
}
