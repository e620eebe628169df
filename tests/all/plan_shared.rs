//! Several buildings that pay from one purse: planned at once, adopted together, their jobs opened one by one.
use terms::place::BuildingCard;
use terms::{BuildingId, Country, Pence, Role, UnitId};
use usecases::Error;
use usecases::plan::{self, SharedMaking, SharedWish, TieForm, TieKind};
use uuid::Uuid;

use crate::duties::Estate;
use crate::plan_estate::{faultless, old_boilers, person};
use crate::support::TestApp;

struct Two {
    app: TestApp,
    estate: Estate,
    buildings: [BuildingId; 2],
    units: [Vec<UnitId>; 2],
}

/// Elm House with five old boilers, Oak House with four. Invented.
fn two() -> Two {
    let app = TestApp::start();
    let mut estate = Estate::over(&app.database.world, "Test Estate");
    let elm = old_boilers(&estate, "EL", 5);
    let first = estate.building;
    let card = BuildingCard {
        id: BuildingId(Uuid::nil()),
        code: "OA".to_owned(),
        name: "Oak House".to_owned(),
        address: String::new(),
        country: Country::England,
        built_year: None,
        higher_risk: None,
        hardness_mg_l: None,
        asbestos_register: "unknown".to_owned(),
        note: String::new(),
    };
    (estate.building, estate.level) = estate
        .world()
        .acting(&estate.seat, |tx| {
            let building = tx.add_building(&card)?;
            Ok::<_, Error>((building, tx.add_level(building, 0, "G")?))
        })
        .unwrap();
    let oak = old_boilers(&estate, "OA", 4);
    Two {
        app,
        buildings: [first, estate.building],
        units: [elm, oak],
        estate,
    }
}

impl Two {
    fn wish(&self, comes_in: i64) -> SharedWish {
        SharedWish {
            name: "One purse".to_owned(),
            buildings: self.buildings.to_vec(),
            years: 10,
            opening: Pence(100_000),
            comes_in: Pence(comes_in * 100),
            floor: Pence(0),
            cap: None,
        }
    }

    fn make(&self, wish: SharedWish, once: &str) -> Result<SharedMaking, Error> {
        plan::make_shared_plan(self.estate.world(), &self.estate.seat, wish, once)
    }

    fn made(&self) -> plan::SharedMade {
        let found = plan::shared_programme(self.estate.world(), &self.estate.seat).unwrap();
        found.made.expect("it is made")
    }
}

/// The purse adds up, the parts add up to the whole, and each part keeps its own building's limits.
fn adds_up(two: &Two, made: &plan::SharedMade) {
    let mut purse = made.wish.opening;
    for (t, line) in made.years.iter().enumerate() {
        assert_eq!(line.opening, purse);
        let paid: i64 = made.parts.iter().map(|p| p.paid[t].0).sum();
        assert_eq!(line.paid.0, paid, "{}", line.year);
        purse = Pence(purse.0 + line.comes_in.0 - line.set_aside.0 - paid);
        assert_eq!(line.reserve, purse);
        assert!(purse >= made.wish.floor, "{line:?}");
    }
    let cost: i64 = made.parts.iter().map(|p| p.cost.0).sum();
    assert_eq!(cost, made.cost.0);
    assert!(made.unbound <= made.bound && made.bound <= made.cost);
    for (_, beside, undone) in &made.beside {
        assert!(*undone > 0 || *beside >= made.bound, "{beside:?}");
    }
    for part in &made.parts {
        let seat = &two.estate.seat;
        let kept = plan::kept_plan(two.estate.world(), seat, part.plan).unwrap();
        faultless(&kept);
        assert_eq!(kept.building.id, part.building);
    }
}

#[test]
fn one_purse_is_shared_at_least_cost_and_each_part_adds_up() {
    let two = two();
    two.make(two.wish(9_000), "s1").unwrap();
    let made = two.made();
    assert_eq!(made.parts.len(), 2);
    adds_up(&two, &made);
    assert!(made.cost > made.unbound, "the purse binds");
    assert!(made.thousand_saves > Some(Pence(0)), "more of it saves");
    // A purse that suffices binds nobody; £1,000 more saves what a plan with £1,000 more saves.
    let mut richer = two.wish(9_000);
    richer.opening.0 += 100_000;
    two.make(richer, "s2").unwrap();
    let rich = two.made();
    assert_eq!(rich.verdict, plan::Verdict::Optimal);
    assert_eq!(made.thousand_saves, Some(Pence(made.cost.0 - rich.cost.0)));
    two.make(two.wish(200_000), "s3").unwrap();
    let enough = two.made();
    assert_eq!(enough.cost, enough.unbound);
    adds_up(&two, &enough);
    // Years, cap and a building's own purse hold besides.
    let mut asked = two.wish(30_000);
    (asked.years, asked.cap) = (15, Some(Pence(600_000)));
    let own = plan::BudgetForm {
        building: two.buildings[1],
        year: 2027,
        pence: Pence(800_000),
        opening: Some(Pence(0)),
        floor: Some(Pence(0)),
    };
    plan::state_budget(two.estate.world(), &two.estate.seat, own, "b1").unwrap();
    two.make(asked, "s4").unwrap();
    let capped = two.made();
    assert_eq!(capped.years.len(), 15);
    assert!(capped.years.iter().all(|y| y.paid <= Pence(600_000)));
    let own: Vec<bool> = capped.parts.iter().map(|p| p.own_purse).collect();
    assert_eq!(own.iter().filter(|own| **own).count(), 1);
    adds_up(&two, &capped);
    // What a building may pay in a year holds though the money is the shared purse's: its plan is found without fault.
    let own = plan::Limits {
        cap: Some(Pence(300_000)),
        ..plan::Limits::default()
    };
    let stated = (two.buildings[0], own);
    plan::state_limits(two.estate.world(), &two.estate.seat, stated, "l1").unwrap();
    two.make(two.wish(200_000), "s5").unwrap();
    let own = two.made();
    adds_up(&two, &own);
    let elm = |made: &plan::SharedMade| -> Vec<Pence> {
        let mut parts = made.parts.iter();
        let part = parts.find(|p| p.building == two.buildings[0]);
        part.expect("its part").paid.clone()
    };
    assert!(elm(&enough).iter().any(|p| *p > Pence(300_000)));
    assert!(elm(&own).iter().all(|p| *p <= Pence(300_000)));
}

#[test]
fn what_clashes_between_buildings_is_named_with_them_and_wrong_asks_are_refused() {
    let two = two();
    for (n, units) in two.units.iter().enumerate() {
        let pin = TieForm {
            building: two.buildings[n],
            kind: TieKind::Pin,
            units: vec![units[0]],
            year: Some(2027),
            why: "the scaffold stands then".to_owned(),
        };
        let once = format!("t{n}");
        plan::tie_units(two.estate.world(), &two.estate.seat, pin, &once).unwrap();
    }
    two.make(two.wish(3_000), "s1").unwrap();
    let made = two.made();
    assert!(made.parts.is_empty());
    assert!(
        made.clash.contains(&plan::JointClash::SharedFloor),
        "{:?}",
        made.clash
    );
    person(&two.estate, "agent@test", Role::Agent, None);
    let agent = two.app.signed_in("agent@test");
    let page = agent.page("/programme/shared");
    assert!(
        page.contains("cannot all be kept") && page.contains("the floor of the shared reserve"),
        "{page}"
    );
    for (field, wish) in [
        (
            "buildings",
            SharedWish {
                buildings: vec![two.buildings[0]],
                ..two.wish(1)
            },
        ),
        (
            "years",
            SharedWish {
                years: 4,
                ..two.wish(1)
            },
        ),
        (
            "name",
            SharedWish {
                name: " ".to_owned(),
                ..two.wish(1)
            },
        ),
        (
            "comes_in",
            SharedWish {
                comes_in: Pence(-1),
                ..two.wish(1)
            },
        ),
    ] {
        match two.make(wish, "s9") {
            Err(Error::Invalid(wrongs)) => assert_eq!(wrongs[0].field, field),
            other => panic!("{field}: {other:?}"),
        }
    }
}

#[test]
fn it_is_asked_for_on_the_page_adopted_for_all_and_its_jobs_opened() {
    let two = two();
    person(&two.estate, "agent@test", Role::Agent, None);
    let agent = two.app.signed_in("agent@test");
    let ids = two.buildings.map(|b| b.to_string());
    let post = |name: &str, once: &str| {
        let fields = [
            ("once", once),
            ("name", name),
            ("buildings", ids[0].as_str()),
            ("buildings", ids[1].as_str()),
            ("years", "12"),
            ("opening", "1,000"),
            ("comes_in", "9,000"),
            ("floor", "0"),
            ("cap", ""),
        ];
        agent.post("/programme/shared", &fields)
    };
    assert!(
        agent
            .page("/programme/shared")
            .contains("No programme of several buildings is made yet")
    );
    let refused = post("", "f1");
    assert_eq!(refused.status(), 422);
    assert!(
        refused.text().unwrap().contains("9,000"),
        "what was typed stays"
    );
    assert_eq!(post("Both houses", "f2").status(), 303);
    let made = two.made();
    let page = agent.page("/programme/shared").replace('\u{a0}', " ");
    let all: i64 = made.years.iter().map(|y| y.paid.0).sum();
    let sum = wording::sentences::money::whole(Pence(all)).replace('\u{a0}', " ");
    for said in [
        "Elm House",
        "Oak House",
        "Both houses",
        "All years",
        "that is proven",
        &sum,
    ] {
        assert!(page.contains(said), "“{said}” is not in {page}");
    }
    let adopt = |read: &str, why: &str, once: &str| {
        let fields = [("once", once), ("made_at", read), ("adopt_why", why)];
        agent.post("/programme/shared/adopt", &fields)
    };
    let read = |page: &str| -> String {
        let field = page.split("name=\"made_at\" value=\"").nth(1);
        let value = field.and_then(|rest| rest.split('"').next());
        value.expect("the form says what was read").to_owned()
    };
    let first = read(&page);
    assert_eq!(adopt(&first, " ", "a1").status(), 422);
    // Made anew since it was read: refused, with what it came to then and what it comes to now.
    two.app
        .database
        .clock
        .advance(chrono::TimeDelta::minutes(5));
    let former = two.made().brief();
    two.make(two.wish(12_000), "s2").unwrap();
    let refused = adopt(&first, "The directors agreed", "a2");
    assert_eq!(refused.status(), 409);
    let refused = refused.text().unwrap();
    for sum in [former.paid, two.made().brief().paid] {
        assert!(refused.contains(&sum.to_string()), "{sum}: {refused}");
    }
    let made = two.made();
    let page = agent.page("/programme/shared");
    assert_eq!(
        adopt(&read(&page), "The directors agreed", "a3").status(),
        303
    );
    // The same again, from the page as it was: nothing is adopted a second time.
    let adoptions = || -> Vec<store::plans::Adoption> {
        let (world, seat) = (two.estate.world(), &two.estate.seat);
        let all = two.buildings.map(|b| {
            world
                .acting(seat, |tx| Ok::<_, Error>(tx.adoption(b)?))
                .unwrap()
                .unwrap()
        });
        all.to_vec()
    };
    let before = adoptions();
    for (why, once) in [("The directors agreed", "a3"), ("Once more", "a4")] {
        assert_eq!(adopt(&read(&page), why, once).status(), 303);
    }
    assert_eq!(adoptions(), before);
    let found = plan::shared_programme(two.estate.world(), &two.estate.seat).unwrap();
    assert_eq!(found.adopted.len(), 2);
    // Each building's jobs follow one by one from its own part.
    let mut opened = 0;
    for part in &made.parts {
        let kept = plan::kept_plan(two.estate.world(), &two.estate.seat, part.plan).unwrap();
        let first = kept
            .programme
            .years
            .iter()
            .flat_map(|l| &l.replacements)
            .next();
        let Some(first) = first else { continue };
        let open = format!("/programme/plans/{}/jobs/{}", part.plan, first.unit);
        assert_eq!(agent.post(&open, &[("once", &open)]).status(), 303);
        opened += 1;
    }
    assert!(opened > 0);
    // Somebody else's estate sees nothing of it.
    let other = Estate::over(&two.app.database.world, "Other Estate");
    person(&other, "other@test", Role::Agent, None);
    let stranger = two.app.signed_in("other@test");
    assert!(stranger.page("/programme/shared").contains("is made yet"));
    assert_eq!(
        stranger
            .post(
                "/programme/shared/adopt",
                &[("once", "x"), ("adopt_why", "w")]
            )
            .status(),
        404
    );
}

/// The page of one unit says what another year would cost with the other building kept to its plan, and with both planned anew:
/// the second is what pinning the unit there and making the whole programme again comes to.
#[test]
fn another_year_in_a_shared_purse_has_its_price_and_says_what_was_held() {
    let two = two();
    person(&two.estate, "agent@test", Role::Agent, None);
    let agent = two.app.signed_in("agent@test");
    let (world, seat) = (two.estate.world(), &two.estate.seat);
    two.make(two.wish(9_000), "s1").unwrap();
    let made = two.made();
    let part = &made.parts[0];
    let kept = plan::kept_plan(world, seat, part.plan).unwrap();
    assert!(kept.may_ask);
    let years = kept.programme.years.iter();
    let mut placed = years.flat_map(|l| l.replacements.iter().map(|r| (r.unit, l.year)));
    let (unit, year) = placed.next().expect("something is replaced");
    let here = format!("/programme/plans/{}/units/{unit}", part.plan);
    assert!(
        agent
            .page(&format!("/programme/plans/{}", part.plan))
            .contains(&here),
        "the plan's page leads there"
    );
    let other = year + 1;
    let page = agent
        .page(&format!("{here}?year={other}"))
        .replace('\u{a0}', " ");
    for said in [
        "With the other building kept to its plan",
        "With all of them planned anew",
        "first kept to its plan, then planned anew",
        "Part of “One purse”",
    ] {
        assert!(page.contains(said), "“{said}” is not in {page}");
    }
    let asked = plan::kept_unit_year(world, seat, (part.plan, unit), Some(other)).unwrap();
    assert_eq!(asked.others, Some(1));
    let moved = &asked.tried[0];
    let anew = moved.beside.as_ref().unwrap().anew.clone().unwrap();
    let costs = anew.costs.expect("there is a plan with it there");
    if moved.proven.stands() {
        assert!(
            costs <= moved.costs,
            "the other as it was is one of the plans of both"
        );
    }
    // A year outside the programme: the page without it, and the sentence.
    assert!(
        agent
            .page(&format!("{here}?year=1990"))
            .contains("A year from")
    );
    // Adopted, the page of the plan that minds the building's own purse alone leads to it.
    plan::adopt_plan(world, seat, (part.plan, "so agreed".to_owned()), "a1").unwrap();
    let own = plan::PlanWish {
        building: part.building,
        what_if: plan::WhatIf::AsStated,
        name: None,
    };
    plan::make_plan(world, seat, own, "p1").unwrap();
    let alone = agent.page(&format!("/programme/{}/units/{unit}", part.building));
    assert!(
        alone.contains("in which other buildings pay from the same purse") && alone.contains(&here),
        "{alone}"
    );
    // Pinned there, and the whole made again.
    let pin = TieForm {
        building: part.building,
        kind: TieKind::Pin,
        units: vec![unit],
        year: Some(other),
        why: "the scaffold stands then".to_owned(),
    };
    plan::tie_units(world, seat, pin, "t1").unwrap();
    two.make(two.wish(9_000), "s2").unwrap();
    let again = two.made();
    assert_eq!(
        (again.verdict, anew.verdict),
        (plan::Verdict::Optimal, plan::Verdict::Optimal)
    );
    assert_eq!(costs, Pence(again.cost.0 - made.cost.0));
    // The one before is on record, and still answers.
    let former = plan::kept_unit_year(world, seat, (part.plan, unit), Some(other)).unwrap();
    let former = former.tried[0].beside.as_ref().unwrap().anew.clone();
    assert_eq!(former.unwrap().costs, Some(costs));
}

#[test]
fn a_large_one_is_made_by_a_task() {
    let two = two();
    let (world, seat) = (two.estate.world(), &two.estate.seat);
    world
        .acting(seat, |tx| {
            Ok::<_, Error>(tx.set("plan_at_once_units", "2")?)
        })
        .unwrap();
    assert_eq!(
        two.make(two.wish(9_000), "s1").unwrap(),
        SharedMaking::Waits
    );
    let found = plan::shared_programme(world, seat).unwrap();
    assert!(found.made.is_none() && found.under_way.is_some());
    // Another cannot be asked for while that one is under way, and that is said.
    assert!(matches!(
        two.make(two.wish(12_000), "s2"),
        Err(Error::Conflict(_))
    ));
    let settings = jobs::Settings {
        bank_holidays_url: None,
        worker: "w1".to_owned(),
        mail: None,
        reader: None,
    };
    assert_eq!(jobs::run_queue(world, &settings), 1);
    let found = plan::shared_programme(world, seat).unwrap();
    assert!(found.under_way.is_none());
    adds_up(&two, &found.made.expect("the task made it"));
}
