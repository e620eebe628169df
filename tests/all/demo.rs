//! The demo estate as a newcomer finds it.
use terms::JobState;

use crate::support::TestDatabase;

#[test]
fn the_demo_estate_stands_and_is_made_once() {
    let database = TestDatabase::new();
    let began = std::time::Instant::now();
    let summary = seed_demo::fill(&database.world)
        .unwrap()
        .expect("the database is empty");
    println!(
        "demo made in {:.1} s: {summary:?}",
        began.elapsed().as_secs_f64()
    );
    assert_eq!(summary.buildings, 3);
    assert!(
        (230..=290).contains(&summary.units),
        "about 260 units: {}",
        summary.units
    );
    assert!(
        seed_demo::fill(&database.world).unwrap().is_none(),
        "a second time it does nothing"
    );

    let (estate, name, demo) = usecases::founding::open_estates(&database.world)
        .unwrap()
        .remove(0);
    assert!(demo);
    let seat = usecases::Seat::program(estate, &name);
    let jobs = usecases::work::open_jobs(&database.world, &seat).unwrap();
    let states: Vec<JobState> = jobs.iter().map(|line| line.job.state).collect();
    for wanted in [
        JobState::Offered,
        JobState::Booked,
        JobState::NoAccess,
        JobState::LeftIsolated,
        JobState::WaitingForDecision,
        JobState::WaitingForPart,
    ] {
        assert!(states.contains(&wanted), "no job is {wanted}: {states:?}");
    }
}
