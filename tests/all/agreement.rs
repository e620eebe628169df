//! Wherever an advantage, a quote and a repair limit stand together: advantage = quote − limit, to the penny.
use terms::Pence;
use usecases::advice::{Listed, overview};
use usecases::work::open_jobs;

use crate::advice::adds_up;
use crate::support::{Client, TestApp};

/// So many sentences of an advice's page, and of its pack, weigh the quote at least.
const LEAST: (usize, usize) = (7, 4);

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
                let least = if at.ends_with("/pack") {
                    LEAST.1
                } else {
                    LEAST.0
                };
                // Heading, reasons, the sum written out, both limits, the table of the drawing, and the table of courses
                // with its two sums: a sentence reworded past the checker shows as one fewer.
                assert!(held >= least, "{at}: only {held} sentences weigh the quote");
                let (quote, limit, advantage) = shows(&text, listed).expect("all three");
                assert_eq!(advantage.0, quote.0 - limit.0, "{at}");
                println!("{at}: {held} blocks, {quote} − {limit} = {advantage}");
            }
        }
        // A unit's page names the limit alone; if it comes to weigh the quote, it is held to the sum like the others.
        page(&agent, &format!("/units/{}", listed.unit.id));
    }
    let (estate, name, _) = usecases::founding::open_estates(&app.database.world)
        .unwrap()
        .remove(0);
    let seat = usecases::Seat::program(estate, &name);
    let mut on_jobs = 0;
    for line in open_jobs(&app.database.world, &seat).unwrap() {
        on_jobs += page(&agent, &format!("/jobs/{}", line.job.id)).0;
    }
    println!("pages of jobs: {on_jobs} sentences");
}
