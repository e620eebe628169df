//! Calls become an outage and the outage ends.
use terms::{FaultCallId, FunctionLost, JobState, OutageId};
use usecases::outages::{self, AskedNeighbour, EndForm, OutageView, Retest};
use usecases::{Error, Seat};

use super::estate::Network;
use crate::register::estate::estate;

fn view(network: &Network, id: OutageId) -> OutageView {
    let seats = [network.estate.seat.clone()];
    outages::outage_of_seats(network.world(), &seats, id)
        .unwrap()
        .1
}

fn field_of(error: Error) -> Vec<String> {
    match error {
        Error::Invalid(wrongs) => wrongs.into_iter().map(|w| w.field).collect(),
        other => panic!("{other}"),
    }
}

#[test]
fn one_call_is_one_home_and_five_on_a_riser_are_one_cause() {
    let network = Network::new();
    let (riser, homes) = network.riser("Riser 2");
    assert_eq!(homes.len(), 6);
    network.call(homes[0].0, FunctionLost::HotWater);
    assert!(
        network.proposals().is_empty(),
        "one home is a job of its own"
    );
    for (space, _) in &homes[1..5] {
        network.later(10);
        network.call(*space, FunctionLost::HotWater);
    }
    let found = network.proposals();
    let [one] = found.as_slice() else {
        panic!("{found:?}");
    };
    assert_eq!(one.branch, Some(riser), "the riser, not the whole plant");
    assert!(one.shared);
    assert_eq!((one.homes, one.served), (5, 6));
    assert_eq!(one.silent.len(), 1, "who said nothing can be asked");
    let today = network.estate.agent.page("/today");
    assert!(today.contains("point to one cause"), "{today}");
    assert!(today.contains("Join these calls"));
    let calls = network.estate.agent.page("/calls/new");
    assert!(calls.contains("May be one cause"), "{calls}");
}

#[test]
fn a_neighbour_who_is_well_speaks_against_it() {
    let network = Network::new();
    let (_, homes) = network.riser("Riser 1");
    for (space, _) in &homes[..2] {
        network.call(*space, FunctionLost::HotWater);
    }
    let chance = |network: &Network| {
        let found = network.proposals();
        found.first().map_or(0.0, |p| p.chance)
    };
    let before = chance(&network);
    assert!(before > 0.0);
    for (n, (space, _)) in homes[2..5].iter().enumerate() {
        let asked = AskedNeighbour {
            space: *space,
            lost: FunctionLost::HotWater,
            is_off: false,
        };
        outages::answer_neighbour(
            network.world(),
            &network.estate.seat,
            asked,
            &format!("asked {n}"),
        )
        .unwrap();
    }
    assert!(
        chance(&network) < before,
        "{} was {before}",
        chance(&network)
    );
}

#[test]
fn joined_calls_have_one_job_their_own_clocks_and_one_end() {
    let network = Network::new();
    let (riser, homes) = network.riser("Riser 2");
    let mut logged = Vec::new();
    for (space, _) in &homes[..4] {
        logged.push(network.call(*space, FunctionLost::HotWater));
        network.later(30);
    }
    let calls: Vec<FaultCallId> = logged.iter().map(|l| l.call).collect();
    let one_home = network
        .join(Some(riser), vec![calls[0]], "one")
        .unwrap_err();
    assert_eq!(field_of(one_home), ["calls"]);
    let id = network.join(Some(riser), calls.clone(), "join").unwrap();
    assert_eq!(
        network.join(Some(riser), calls, "join").unwrap(),
        id,
        "the same form twice is one outage"
    );
    let world = network.world();
    let seat = &network.estate.seat;
    let states: Vec<JobState> = logged
        .iter()
        .map(|l| {
            world
                .acting(seat, |tx| Ok::<_, Error>(tx.job(l.job)?.state))
                .unwrap()
        })
        .collect();
    assert_eq!(states, [JobState::StoodDown; 4], "one job answers them");
    let seen = view(&network, id);
    assert_eq!(seen.outage.homes.len(), 4);
    assert!(seen.outage.homes.iter().all(|h| h.due_at.is_some()));
    let nearest = seen.outage.homes.iter().filter_map(|h| h.due_at).min();
    assert_eq!(seen.job.as_ref().unwrap().due_at, nearest);
    // Two hours have passed: 2 h + 1 h 30 + 1 h + 30 min = 5 home-hours.
    assert_eq!(seen.home_hours, 5.0);
    assert!(network.proposals().is_empty(), "nothing is proposed twice");
    a_fifth_home_joins(&network, id, homes[4].0);
    it_ends(&network, id);
}

fn a_fifth_home_joins(network: &Network, id: OutageId, space: terms::SpaceId) {
    let agent = &network.estate.agent;
    let page = agent.page(&format!("/calls/new?space={space}"));
    assert!(page.contains("It is the outage that is known"), "{page}");
    let answer = agent.post(
        "/calls/new",
        &[
            ("space", &space.to_string()),
            ("lost", "hot_water"),
            ("outage", &id.to_string()),
            ("once", "a fifth"),
        ],
    );
    assert_eq!(answer.status(), 303);
    let seen = view(network, id);
    assert_eq!(seen.outage.homes.len(), 5);
    assert!(seen.joinable.is_empty());
    let building = agent.page(&format!("/buildings/{}?ask=pipes", network.building));
    assert!(building.contains("See its outage"), "{building}");
    assert!(
        building.contains("pipe trouble"),
        "the pipe carries the mark"
    );
}

fn it_ends(network: &Network, id: OutageId) {
    let agent = &network.estate.agent;
    let seen = view(network, id);
    let homes = &seen.outage.homes;
    let (works, first) = (
        format!("works-{}", homes[0].space),
        format!("found-{}", homes[0].space),
    );
    let some = [
        ("once", "end 1"),
        ("cause", "Strainer of riser 2 blocked"),
        (works.as_str(), "yes"),
        (first.as_str(), "52 °C at the tap"),
    ];
    a_home_that_is_still_cold_keeps_its_clock(network, id, &some);
    let refused = agent.post(&format!("/outages/{id}/end"), &some);
    assert_eq!(refused.status(), 422);
    let words = refused.text().unwrap();
    assert!(
        words.contains("4 of 5 homes were not tested again"),
        "{words}"
    );
    assert!(words.contains("52 °C at the tap"), "what was typed stays");
    let mut whole = some.to_vec();
    whole[0] = ("once", "end 2");
    whole.push(("sample", "top and bottom of the riser"));
    let done = agent.post(&format!("/outages/{id}/end"), &whole);
    assert_eq!(done.status(), 303);
    let over = view(network, id);
    assert_eq!(over.outage.until_at, Some(network.world().now()));
    let then = over.home_hours;
    network.later(60);
    assert_eq!(
        view(network, id).home_hours,
        then,
        "every clock has stopped"
    );
    let page = agent.page(&format!("/outages/{id}"));
    assert!(
        page.contains("Proved by a sample: top and bottom of the riser"),
        "{page}"
    );
    let again = EndForm {
        outage: id,
        until: None,
        cause: "again".to_owned(),
        tested: vec![Retest {
            space: over.outage.homes[0].space,
            works: Some(true),
            found: "51".to_owned(),
        }],
        sample: "any".to_owned(),
    };
    let error = outages::end_outage(network.world(), &network.estate.seat, again, "end 3");
    assert!(matches!(error, Err(Error::Conflict(_))));
    assert!(agent.page("/outages").contains("home-hours"));
}

/// Words alone are no proof, and one home that does not work is enough to go on.
fn a_home_that_is_still_cold_keeps_its_clock(
    network: &Network,
    id: OutageId,
    some: &[(&str, &str)],
) {
    let agent = &network.estate.agent;
    let before = view(network, id);
    let second = before.outage.homes[1].space;
    let (works, found) = (format!("works-{second}"), format!("found-{second}"));
    for (said, words, sentence, once) in [
        (
            "no",
            "31 °C at the tap",
            "does not work yet, so the outage is not over",
            "cold 1",
        ),
        (
            "",
            "still cold, nobody said more",
            "say whether it works there",
            "cold 2",
        ),
        ("yes", "", "say what was found there", "cold 3"),
    ] {
        let mut form = some.to_vec();
        form[0] = ("once", once);
        form.push((works.as_str(), said));
        form.push((found.as_str(), words));
        form.push(("sample", "the two that were in"));
        let refused = agent.post(&format!("/outages/{id}/end"), &form);
        assert_eq!(refused.status(), 422, "{sentence}");
        let page = refused.text().unwrap();
        assert!(page.contains(sentence), "{page}");
        assert!(page.contains(words), "what was typed stays");
    }
    network.later(10);
    let after = view(network, id);
    assert_eq!(after.outage.until_at, None);
    assert!(after.home_hours > before.home_hours, "every clock runs on");
    assert!(after.outage.homes.iter().all(|h| h.retested_at.is_none()));
}

#[test]
fn an_outage_of_another_estate_is_not_there() {
    let network = Network::new();
    let (riser, homes) = network.riser("Riser 3");
    let calls: Vec<FaultCallId> = homes[..2]
        .iter()
        .map(|(space, _)| network.call(*space, FunctionLost::HotWater).call)
        .collect();
    let id = network.join(Some(riser), calls, "join").unwrap();
    let other = estate();
    assert_eq!(other.agent.get(&format!("/outages/{id}")).status(), 404);
    let seats: [Seat; 1] = [other.seat.clone()];
    let found = outages::outage_of_seats(&other.app.database.world, &seats, id);
    assert!(matches!(found, Err(Error::NotFound(_))));
    assert_eq!(network.estate.agent.get("/outages/nothing").status(), 404);
}
