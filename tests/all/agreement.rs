//! Wherever an advantage, a quote and a repair limit stand together: advantage = quote − limit, to the penny.
use terms::Pence;
use usecases::advice::{Listed, overview};
use usecases::work::open_jobs;

use crate::advice::adds_up;
use crate::support::{Client, TestApp};

/// Quote, limit and advantage of an advice, each shown on the page.
fn shows(page: &str, listed: &Listed) -> Option<(Pence, Pence, Pence)> {
    let (quote, limit, advantage) = (listed.quote?, listed.limit?, listed.advantage?);
    for pence in [quote, limit, Pence(advantage.0.abs())] {
        assert!(page.contains(&pence.to_string()), "{pence} is shown");
    }
    Some((quote, limit, advantage))
}

/// The advices with a quote, those on the landlord's side of the demo included.
fn quoted(app: &TestApp) -> Vec<Listed> {
    let world = &app.database.world;
    let (estate, name, _) = usecases::founding::open_estates(world).unwrap().remove(0);
    let seat = usecases::Seat::program(estate, &name);
    let seen = overview(world, &seat).unwrap();
    seen.open
        .into_iter()
        .chain(seen.decided)
        .filter(|a| a.quote.is_some())
        .collect()
}

#[test]
fn every_page_with_quote_limit_and_advantage_agrees() {
    let app = TestApp::demo();
    let (agent, landlord) = (
        app.signed_in("agent@demo.example"),
        app.signed_in("landlord@demo.example"),
    );
    let advices = quoted(&app);
    assert!(advices.len() >= 2, "two quotes wait in the demo");
    let page = |who: &Client, at: &str| {
        let text = who.page(at);
        (adds_up(&text), text)
    };
    for (who, at) in [
        (&agent, "/today"),
        (&agent, "/advice"),
        (&landlord, "/letter"),
    ] {
        let (held, _) = page(who, at);
        assert!(held >= 1, "{at} weighs no quote");
        println!("{at}: {held} agree");
    }
    for listed in &advices {
        for who in [&agent, &landlord] {
            for at in [
                format!("/advice/{}", listed.id),
                format!("/advice/{}/pack", listed.id),
            ] {
                let (held, text) = page(who, &at);
                let (quote, limit, advantage) = shows(&text, listed).expect("all three");
                assert_eq!(advantage.0, quote.0 - limit.0, "{at}");
                println!("{at}: {held} blocks, {quote} − {limit} = {advantage}");
            }
        }
        page(&agent, &format!("/units/{}", listed.unit.id));
    }
    let (estate, name, _) = usecases::founding::open_estates(&app.database.world)
        .unwrap()
        .remove(0);
    let seat = usecases::Seat::program(estate, &name);
    for line in open_jobs(&app.database.world, &seat).unwrap() {
        page(&agent, &format!("/jobs/{}", line.job.id));
    }
}
