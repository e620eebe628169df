//! A pipe's page: n of N stated, a home taken off and kept on record.
use super::estate::Network;

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
