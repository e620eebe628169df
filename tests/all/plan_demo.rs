//! The demo estate's plans, audited by what shares no code with the planners, and their saving on the page.
use store::units::Which;
use usecases::plan;
use usecases::{Error, Seat};

use crate::plan_estate::faultless;
use crate::support::TestApp;

#[test]
fn the_demos_programmes_and_rounds_are_faultless_and_say_what_planning_saves() {
    let app = TestApp::demo();
    let world = &app.database.world;
    let (estate, name, _) = usecases::founding::open_estates(world).unwrap().remove(0);
    let seat = Seat::program(estate, &name);
    let agent = app.signed_in("agent@demo.example");
    let buildings = world
        .acting(&seat, |tx| Ok::<_, Error>(tx.buildings()?))
        .unwrap();
    let mut saved = 0;
    for building in &buildings {
        let found = plan::programme(world, &seat, Some(building.id)).unwrap();
        let card = found.plan.as_ref().expect("the demo has its plans");
        faultless(&found);
        let made = &card.made;
        assert!(
            made.proven.stands(),
            "{}: {:?}",
            building.name,
            made.proven.clash
        );
        println!(
            "{}: {} units, {} replaced, {:?}, cost {} bound {} unbound {}, {:.2} s; beside {:?}; more {:?}",
            building.name,
            found.units.len(),
            made.figures.replaced,
            made.proven.verdict,
            made.proven.cost.0,
            made.proven.bound.0,
            made.proven.unbound.0,
            made.seconds,
            made.beside
                .iter()
                .map(|b| (b.way, b.figures.cost.0 - made.figures.cost.0))
                .collect::<Vec<_>>(),
            made.more.as_ref().map(|m| m.saves.0)
        );
        // At least as good as both plain ways, and within a hundredth of what any plan can avoid.
        for beside in &made.beside {
            assert!(beside.figures.cost >= made.figures.cost, "{beside:?}");
            saved = saved.max(beside.figures.cost.0 - made.figures.cost.0);
        }
        let page = agent
            .page(&format!("/programme?building={}", building.id))
            .replace('\u{a0}', " ");
        for said in [
            "How good is this plan",
            "that is proven",
            "Oldest first, from fifteen years on",
        ] {
            assert!(
                page.contains(said),
                "{}: “{said}” is not in {page}",
                building.name
            );
        }
        // The page of a unit says why it has its year and what another would cost.
        if let Some(first) = found
            .programme
            .years
            .iter()
            .flat_map(|l| &l.replacements)
            .next()
        {
            let page = agent.page(&format!("/programme/{}/units/{}", building.id, first.unit));
            assert!(
                page.contains("Replacing ") || page.contains("there is no plan"),
                "{page}"
            );
        }
    }
    assert!(saved > 10_000, "planning saves on the demo: {saved}p");
    let breaches = plan::round_breaches(world, &seat).unwrap();
    let own: Vec<_> = breaches.iter().filter(|b| !b.promised).collect();
    assert!(own.is_empty(), "{own:?}");
    let round = plan::rounds(world, &seat).unwrap();
    let proof = round.proof.expect("visits are placed");
    println!("rounds: {} visits, {proof:?}", round.visits.len());
    assert!(proof.at_least <= proof.ours.cost);
    assert!(proof.ours.cost < proof.date_order.cost, "{proof:?}");
    let page = agent.page("/rounds");
    assert!(page.contains("Services in date order"), "{page}");
    let units = world
        .acting(&seat, |tx| Ok::<_, Error>(tx.units(Which::All)?))
        .unwrap();
    assert!(
        round
            .visits
            .iter()
            .all(|v| units.iter().any(|u| u.id == v.unit.id))
    );
}
