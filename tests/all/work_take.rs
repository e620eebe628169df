//! Two people take the same job at once, a hundred times: exactly one has it, the other is told so.
use std::sync::Barrier;

use terms::{JobKind, JobState};
use usecases::{Error, work};

use crate::work_estate::{ANNA, ARNO, BELLA, Loop, fresh};

#[test]
fn a_job_is_taken_exactly_once() {
    let estate = Loop::start();
    let world = estate.world();
    let (anna, arno, bella) = (
        estate.seat_of(ANNA),
        estate.seat_of(ARNO),
        estate.seat_of(BELLA),
    );
    for pair in 0..100 {
        let job = estate.open(JobKind::Survey, estate.boiler, Vec::new());
        estate.offer(job, estate.firm_a);
        // Half of the pairs are of two firms, half of one firm.
        let other = if pair % 2 == 0 {
            estate.offer(job, estate.firm_b);
            &bella
        } else {
            &arno
        };
        let line = Barrier::new(2);
        let run = |seat| {
            line.wait();
            work::take(world, seat, job, None, &fresh())
        };
        let (first, second) = std::thread::scope(|scope| {
            let first = scope.spawn(|| run(&anna));
            let second = scope.spawn(|| run(other));
            (first.join().unwrap(), second.join().unwrap())
        });
        let (has, told) = match (&first, &second) {
            (Ok(()), Err(told)) => (&anna, told),
            (Err(told), Ok(())) => (other, told),
            both => panic!("pair {pair}: {both:?}"),
        };
        let Error::Conflict(sentence) = told else {
            panic!("pair {pair}: told {told:?}")
        };
        assert!(sentence.contains("is gone"), "{sentence}");
        let same_firm = has.grant().firm == other.grant().firm && pair % 2 == 1;
        assert_eq!(sentence.contains("of your firm"), same_firm, "{sentence}");
        let stands = estate.job(job);
        assert_eq!(stands.state, JobState::Taken);
        assert_eq!(
            (stands.firm, stands.engineer),
            (has.grant().firm, has.engineer())
        );
    }
    assert_eq!(estate.count("estate.jobs WHERE state = 'taken'"), 100);
    assert_eq!(estate.count("estate.job_events WHERE state = 'taken'"), 100);
    assert_eq!(
        estate.count("(SELECT DISTINCT number FROM estate.jobs) AS n"),
        100
    );
}

#[test]
fn an_offer_that_ran_out_or_was_declined_is_not_taken() {
    let estate = Loop::start();
    let world = estate.world();
    let (anna, bella) = (estate.seat_of(ANNA), estate.seat_of(BELLA));
    let job = estate.open(JobKind::Survey, estate.boiler, Vec::new());
    estate.offer(job, estate.firm_a);
    estate.offer(job, estate.firm_b);
    let no = |reason: &str| work::Declined {
        job,
        reason: reason.to_owned(),
    };
    assert!(matches!(
        work::decline(world, &bella, no(" "), &fresh()),
        Err(Error::Invalid(_))
    ));
    work::decline(world, &bella, no("no gas engineer free"), &fresh()).unwrap();
    assert_eq!(
        estate.job(job).state,
        JobState::Offered,
        "Firm A still holds one"
    );
    assert!(work::take(world, &bella, job, None, &fresh()).is_err());
    estate
        .app
        .database
        .clock
        .advance(chrono::TimeDelta::hours(5));
    let late = work::take(world, &anna, job, None, &fresh());
    assert!(matches!(late, Err(Error::Conflict(said)) if said.contains("ran out")));
    assert_eq!(work::lapse_offers(world, &estate.seat).unwrap(), 1);
    assert_eq!(estate.job(job).state, JobState::ToPlace);
    let lapsed = estate.seat_of(crate::work_estate::LAPSED);
    estate.offer(job, estate.firm_a);
    let unfit = work::take(world, &lapsed, job, None, &fresh());
    assert!(
        matches!(unfit, Err(Error::Invalid(wrongs)) if wrongs[0].sentence.contains("no qualification")),
        "gas work asks for a registration in date"
    );
}
