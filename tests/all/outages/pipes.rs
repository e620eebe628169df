//! A pipe's page: n of N stated, a home taken off and kept on record.
use terms::{Fate, UsedAs};
use usecases::register::{self, Leaving, NewUnit, UnitFacts};

use super::estate::Network;
use crate::register::estate::boiler;

#[test]
fn a_pipe_says_what_it_feeds_and_keeps_what_it_fed() {
    let network = Network::new();
    let agent = &network.estate.agent;
    let (riser, homes) = network.riser("Riser 2");
    let address = format!("/branches/{riser}");
    let page = agent.page(&address);
    assert!(page.contains("Riser 2 feeds six spaces"), "{page}");
    assert!(page.contains("It is fed through another pipe."));
    let stated = [
        ("once", "c-1"),
        ("name", "Riser 2, north"),
        ("kind", "riser"),
        ("needed", "1"),
    ];
    assert_eq!(
        agent.post(&format!("{address}/correct"), &stated).status(),
        303
    );
    let nameless = [("once", "c-2"), ("name", " "), ("kind", "riser")];
    let refused = agent.post(&format!("{address}/correct"), &nameless);
    assert_eq!(refused.status(), 422);
    assert!(refused.text().unwrap().contains("A branch needs a name."));
    let link = page
        .split("name=\"link\"")
        .nth(1)
        .and_then(|rest| {
            let (before, _) = rest.split_once(&format!(">{}<", homes[0].1))?;
            before.rsplit("value=\"").next()?.split('"').next()
        })
        .expect("the home can be taken off")
        .to_owned();
    let off = [("once", "o-1"), ("link", link.as_str())];
    let drawn = |network: &Network| {
        let agent = &network.estate.agent;
        let page = agent.page(&format!("/buildings/{}?ask=pipes", network.building));
        page.matches("class=\"pipe\"").count()
    };
    let before = drawn(&network);
    assert_eq!(agent.post(&format!("{address}/off"), &off).status(), 303);
    // One branch in each of the two forms, wide and narrow.
    assert_eq!(
        drawn(&network),
        before - 2,
        "the drawing follows the record"
    );
    let page = agent.page(&address);
    assert!(page.contains("Riser 2, north feeds five spaces"), "{page}");
    assert!(page.contains("Taken off, kept on record"));
    assert_eq!(network.riser("Riser 2, north").1.len(), 5);
    let home = homes[0].0.to_string();
    let back = [("once", "h-1"), ("space", home.as_str())];
    assert_eq!(agent.post(&format!("{address}/hang"), &back).status(), 303);
    assert_eq!(drawn(&network), before);
    let twice = [("once", "h-2"), ("space", home.as_str())];
    let refused = agent.post(&format!("{address}/hang"), &twice);
    assert_eq!(refused.status(), 422);
    assert!(
        refused
            .text()
            .unwrap()
            .contains("It is on this pipe already.")
    );
}

/// N units on the header, n needed on the coldest day: how many may be out is n of N said at once, and too few too.
#[test]
fn a_pipe_says_how_many_of_those_that_feed_it_may_be_out() {
    let network = Network::new();
    let agent = &network.estate.agent;
    let building = network.building;
    let spaces = network
        .world()
        .acting(&network.estate.seat, |tx| Ok(tx.spaces(Some(building))?))
        .unwrap();
    let plant = spaces
        .iter()
        .find(|s| s.used_as == UsedAs::Plant)
        .expect("a plant room")
        .id;
    let fitted: Vec<_> = ["P-1", "P-2", "P-3"]
        .into_iter()
        .map(|serial| {
            let form = NewUnit {
                space: plant,
                facts: UnitFacts {
                    kind: "PB".to_owned(),
                    rated_kw: Some(200.0),
                    ..boiler(serial)
                },
                placed_from: None,
                watched_from: None,
            };
            register::add_unit(network.world(), &network.estate.seat, form, serial).unwrap()
        })
        .collect();
    let header = network
        .view()
        .branches
        .iter()
        .find(|b| b.kind == "header")
        .expect("plant feeds a header")
        .clone();
    let address = format!("/branches/{}", header.id);
    let said = |needed: &str| {
        let stated = [
            ("once", needed),
            ("name", header.name.as_str()),
            ("kind", "header"),
            ("needed", needed),
        ];
        let kept = agent.post(&format!("{address}/correct"), &stated);
        assert_eq!(kept.status(), 303);
        agent.page(&address).replace('\u{a0}', " ")
    };
    let page = agent.page(&address).replace('\u{a0}', " ");
    assert!(
        page.contains(
            "Three units are fitted; how many of them it needs on the coldest day is not known."
        ),
        "{page}"
    );
    let page = said("2");
    let one = "It needs two units of 3 fitted on the coldest day; one may be out at a time.";
    assert!(page.contains(one), "{page}");
    let page = said("3");
    let none = "It needs three units of 3 fitted on the coldest day; none may be out at a time.";
    assert!(page.contains(none), "{page}");
    let page = said("4");
    let few =
        "It needs four units of 3 fitted on the coldest day, and three are in service: too few.";
    assert!(page.contains(few), "{page}");
    // One is taken out for good: it feeds nothing any more, and two are left of those needed.
    let out = Leaving {
        unit: fitted[0],
        fate: Fate::Removed,
        on: "2026-11-25".parse().unwrap(),
        why: "cracked section".to_owned(),
    };
    register::take_out_unit(network.world(), &network.estate.seat, out, "out").unwrap();
    let page = said("3");
    assert!(page.contains("too few."), "{page}");
    assert!(page.contains("two are in service"), "{page}");
}
