//! What a programme says beside its rows, held to the figures it follows from: why one unit that waits goes before another, what
//! would give way for one that is left out, what is kept for failures beside what is expected, and one word for one limit.
use terms::{Pence, Role};
use usecases::Error;
use usecases::plan::{self, BuildingProgramme, TieKind, WhatIf};
use wording::sentences::money;

use crate::duties::Estate;
use crate::plan_estate::Old;
use crate::support::TestApp;
use crate::support::server::Client;

fn plain(page: &str) -> String {
    page.replace('\u{a0}', " ")
        .replace("&#39;", "'")
        .replace("&rsquo;", "’")
}

struct Story {
    old: Old,
    agent: Client,
    /// Stops the server when the story ends.
    _app: TestApp,
}

/// Eight old boilers and so much a year.
fn story(pounds: i64) -> Story {
    let app = TestApp::start();
    let old = Old::of(Estate::over(&app.database.world, "Test Estate"), 8);
    old.person("agent@test", Role::Agent);
    let agent = app.signed_in("agent@test");
    old.money(pounds, 1_000, "m");
    Story {
        old,
        agent,
        _app: app,
    }
}

fn year_of(found: &BuildingProgramme, unit: terms::UnitId) -> Option<i32> {
    let here = |l: &&plan::YearLine| l.replacements.iter().any(|r| r.unit == unit);
    found.programme.years.iter().find(here).map(|l| l.year)
}

/// Each order a page states is the plan's: both pinned to the other's year, the best plan there is costs no more than the swap is
/// said to, and where the swap is said to break a rule the page says which.
#[test]
fn why_one_unit_goes_before_another_follows_from_the_plans_own_figures() {
    let story = story(5_500);
    let found = story.old.planned("p");
    let base = found.plan.as_ref().unwrap().made.proven.clone();
    assert_eq!(base.verdict, plan::Verdict::Optimal);
    assert!(!found.orders.is_empty(), "some wait");
    let page = plain(&story.agent.page("/programme"));
    let (mut since, mut broken) = (0, 0);
    for (n, (unit, order)) in found.orders.iter().enumerate() {
        let swap = &order.swapped;
        let sum = swap.first_waits.0 - swap.second_waits.0 + swap.beside.0;
        assert_eq!(swap.costs.0, sum);
        if swap.breaches.is_empty() {
            assert!(
                swap.costs >= Pence(0),
                "the best plan is bettered: {order:?}"
            );
        } else {
            broken += 1;
        }
        let (here, there) = (year_of(&found, *unit), year_of(&found, order.other));
        assert_eq!(order.before, here < there);
        for (tie, (one, year)) in [(*unit, there), (order.other, here)]
            .into_iter()
            .enumerate()
        {
            story
                .old
                .tie(TieKind::Pin, &[one], year, &format!("t{n} {tie}"))
                .unwrap();
        }
        story
            .old
            .make(WhatIf::AsStated, None, &format!("s{n}"))
            .unwrap();
        let pinned = story.old.read();
        let swapped = &pinned.plan.as_ref().unwrap().made.proven;
        if swap.breaches.is_empty() {
            assert!(swapped.stands());
            assert!(swapped.cost.0 <= base.cost.0 + swap.costs.0, "{order:?}");
        }
        for card in &pinned.ties {
            let id = (story.old.building(), card.tie.id);
            let once = format!("u{}", card.tie.id);
            plan::untie_units(story.old.world(), &story.old.estate.seat, id, &once).unwrap();
        }
        // The sentence has the plan's figures to the pound.
        let waits = |pence: Pence| format!("costs {}", money::whole(pence));
        let (mine, theirs) = if order.before {
            (swap.first_waits, swap.second_waits)
        } else {
            (swap.second_waits, swap.first_waits)
        };
        if swap.first_waits.0 - swap.second_waits.0 >= 100 && theirs.0 >= 50 && mine.0 >= 50 {
            let other = &found.units[&order.other];
            let said = format!(
                "It goes {} {} ({}), since the wait from {} to {} {} here and {} there.",
                if order.before { "before" } else { "after" },
                other.space_name,
                other.number,
                here.min(there).unwrap(),
                here.max(there).unwrap(),
                waits(mine),
                waits(theirs)
            );
            assert!(page.contains(&plain(&said)), "“{said}” is not in {page}");
            since += 1;
        }
    }
    println!(
        "{} orders, {since} by the wait, {broken} that break a rule",
        found.orders.len()
    );
    assert!(since > 0, "one follows from what the wait costs");
}

/// What the row of a unit that is left out says gives way is what its own page finds, and a plan with it there costs that.
#[test]
fn what_gives_way_for_a_unit_left_out_is_what_its_own_page_says() {
    let story = story(3_600);
    let found = story.old.planned("p");
    let made = found.plan.as_ref().unwrap().made.clone();
    let out = found.programme.left_out.iter();
    let worth_less = out.filter(|(_, why)| matches!(why, plan::LeftOut::WorthLess { .. }));
    assert!(
        worth_less.count() > 0,
        "some are left out: {:?}",
        found.programme.left_out
    );
    assert!(!made.gives_way.is_empty());
    let page = plain(&story.agent.page("/programme"));
    for there in &made.gives_way {
        let (world, seat) = (story.old.world(), &story.old.estate.seat);
        let of = (story.old.building(), there.unit);
        let view = plan::unit_year(world, seat, of, Some(there.year)).unwrap();
        let tried = &view.tried[0];
        assert_eq!(there.costs, tried.proven.stands().then_some(tried.costs));
        let said = match there.costs {
            Some(costs) => {
                assert_eq!(there.others, tried.others);
                assert!(
                    costs >= Pence(0),
                    "a left out unit would be cheaper in: {there:?}"
                );
                format!(
                    "With it in {} the plan would cost about {} more",
                    there.year,
                    money::whole(costs)
                )
            }
            None => format!("In {} there is no plan for it", there.year),
        };
        assert!(page.contains(&plain(&said)), "“{said}” is not in {page}");
    }
}

/// What is kept for failures in a year are the failures expected in it with nothing replaced, each at the kind's price; over the
/// years they are those of the way that replaces nothing, and the plan expects fewer by what its new units save.
#[test]
fn what_is_kept_for_failures_and_what_is_expected_come_from_one_course() {
    let story = story(8_000);
    let found = story.old.planned("p");
    story
        .old
        .make(WhatIf::Nothing, Some("nothing"), "w")
        .unwrap();
    let price = story
        .old
        .world()
        .acting(&story.old.estate.seat, |tx| {
            let prices = tx.prices_of("CB")?;
            let general = prices
                .into_iter()
                .filter(|p| p.item == "repair" && p.firm.is_none());
            Ok::<_, Error>(general.max_by_key(|p| p.as_at).expect("a price").likely)
        })
        .unwrap();
    let lines = &found.programme.years;
    assert_eq!(found.failures.len(), lines.len());
    for (line, failures) in lines.iter().zip(&found.failures) {
        let pounds = failures * price.to_pounds();
        assert!(
            (line.set_aside.to_pounds() - pounds).abs() <= 0.5,
            "{}: {} for {failures}",
            line.year,
            line.set_aside
        );
    }
    let kept: f64 = found.failures.iter().sum();
    let nothing = story.old.read().what_ifs.remove(0).made.figures.failures;
    assert!((kept - nothing).abs() < 1e-9, "{kept} and {nothing}");
    let expected = found.plan.as_ref().unwrap().made.figures.failures;
    assert!(expected < kept, "new boilers fail less often than old ones");
    let page = plain(&story.agent.page("/programme"));
    for said in [
        format!("about {} repairs", found.failures[0].round()),
        format!(
            "Over {} years that is about {} failures kept for; with the plan’s replacements about {} are expected.",
            lines.len(),
            kept.round(),
            expected.round()
        ),
        format!("about {}</", expected.round()),
    ] {
        assert!(page.contains(&said), "“{said}” is not in {page}");
    }
}

/// Where what is set aside alone breaks the floor, the page says how much more a year it would take: with that a plan stands, with
/// a pound less none does.
#[test]
fn what_it_would_take_to_keep_the_floor_is_said_to_the_pound() {
    let story = story(500);
    story.old.make(WhatIf::AsStated, None, "p").unwrap();
    let page = plain(&story.agent.page("/programme"));
    let (_, rest) = page.split_once("It would take £").expect("it is said");
    let (figure, _) = rest.split_once(" more a year").expect("a year");
    let more: i64 = figure.replace(',', "").parse().unwrap();
    assert!(more > 0);
    for (pounds, stands) in [(500 + more, true), (500 + more - 1, false)] {
        story.old.money(pounds, 1_000, &format!("m{pounds}"));
        let once = format!("p{pounds}");
        story.old.make(WhatIf::AsStated, None, &once).unwrap();
        let found = story.old.read();
        let proven = &found.plan.as_ref().unwrap().made.proven;
        assert_eq!(proven.stands(), stands, "£{pounds}: {:?}", proven.clash);
    }
}

/// Purse, reserve and floor are told apart once, and the limit has one name wherever it is named.
#[test]
fn the_one_limit_of_money_has_one_name() {
    let story = story(4_500);
    let found = story.old.planned("p");
    let page = plain(&story.agent.page("/programme"));
    assert_eq!(
        page.matches("Its floor, £0, is what it may not end a year under")
            .count(),
        1
    );
    assert!(
        page.contains("The floor of the reserve binds this plan."),
        "{page}"
    );
    let late = found.programme.years.iter().flat_map(|l| &l.replacements);
    let late = late.filter(|r| r.years_late > 0).map(|r| r.unit).next();
    let of = format!(
        "/programme/{}/units/{}",
        story.old.building(),
        late.expect("one waits")
    );
    let unit = plain(&story.agent.page(&of));
    assert!(
        unit.contains("What keeps it from there is the floor of the reserve: with more in the purse it would stand there at no loss."),
        "{unit}"
    );
    for page in [&page, &unit, &plain(&story.agent.page("/programme/shared"))] {
        for other in [
            "purse binds",
            "money in the purse",
            "Money and the other limits",
            "no money",
            "may not fall under",
            "floor of the purse",
            "floor of the shared purse",
        ] {
            assert!(!page.contains(other), "“{other}” is in {page}");
        }
    }
}
