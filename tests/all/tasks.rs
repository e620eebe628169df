//! The runner: every task once, a lost lease ends nothing, one tick whoever comes first, both days the clocks change.
use std::io::{Read, Write};
use std::net::TcpListener;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use jobs::{LEASE, Settings, Trouble, work_off};
use terms::Country;
use usecases::tasks::{claim, finish, put_back, queue, recent, renew};
use usecases::{Error, Seat, founding};

use crate::support::TestDatabase;

fn settings(worker: &str) -> Settings {
    Settings {
        bank_holidays_url: None,
        worker: worker.to_owned(),
        mail: None,
        reader: None,
    }
}

fn estates(database: &TestDatabase, count: usize) -> Vec<Seat> {
    (0..count)
        .map(|n| founding::found_estate(&database.world, &format!("Estate {n}"), false).unwrap())
        .collect()
}

#[test]
fn four_workers_do_thirty_tasks_exactly_once() {
    let database = TestDatabase::new();
    let seats = estates(&database, 6);
    let kinds = ["a", "b", "c", "d", "e"];
    for seat in &seats {
        for kind in kinds {
            assert!(queue(&database.world, Some(seat.estate()), kind).unwrap());
            assert!(
                !queue(&database.world, Some(seat.estate()), kind).unwrap(),
                "one waits already"
            );
        }
    }
    let done: Vec<(uuid::Uuid, AtomicUsize)> = seats
        .iter()
        .map(|s| (s.estate().0, AtomicUsize::new(0)))
        .collect();
    let begun: usize = std::thread::scope(|scope| {
        let workers: Vec<_> = (0..4)
            .map(|n| {
                let (world, done) = (database.world.clone(), &done);
                scope.spawn(move || {
                    let act = |task: &usecases::tasks::Claimed| {
                        let of = done.iter().find(|d| Some(d.0) == task.estate).unwrap();
                        of.1.fetch_add(1, Ordering::SeqCst);
                        std::thread::sleep(std::time::Duration::from_millis(5));
                        Ok("done".to_owned())
                    };
                    work_off(
                        &world,
                        &format!("w{n}"),
                        LEASE,
                        &AtomicBool::new(false),
                        &act,
                    )
                })
            })
            .collect();
        workers.into_iter().map(|w| w.join().unwrap()).sum()
    });
    assert_eq!(begun, 30);
    for (estate, times) in &done {
        assert_eq!(times.load(Ordering::SeqCst), kinds.len(), "{estate}");
    }
    for seat in &seats {
        let cards = recent(&database.world, seat, 10).unwrap();
        assert_eq!(cards.len(), kinds.len());
        assert!(cards.iter().all(|c| c.attempts == 1 && c.done_at.is_some()));
        assert!(cards.iter().all(|c| c.progress.as_deref() == Some("done")));
    }
}

#[test]
fn a_worker_that_lost_its_lease_cannot_end_the_task() {
    let database = TestDatabase::new();
    let seat = estates(&database, 1).remove(0);
    let world = &database.world;
    queue(world, Some(seat.estate()), "slow").unwrap();
    let task = claim(world, "first", LEASE).unwrap().unwrap();
    assert!(claim(world, "second", LEASE).unwrap().is_none());
    renew(world, task.id, "first", LEASE).unwrap();
    database.clock.advance(LEASE + TimeDelta::seconds(1));
    let same = claim(world, "second", LEASE).unwrap().unwrap();
    assert_eq!((same.id, same.attempts), (task.id, 2));
    assert!(matches!(
        renew(world, task.id, "first", LEASE),
        Err(Error::Conflict(_))
    ));
    assert!(matches!(
        finish(world, task.id, "first", "mine"),
        Err(Error::Conflict(_))
    ));
    put_back(world, task.id, "first", "not mine", TimeDelta::zero()).unwrap();
    finish(world, task.id, "second", "done").unwrap();
    let card = recent(world, &seat, 1).unwrap().remove(0);
    assert_eq!(
        (card.progress.as_deref(), card.last_error),
        (Some("done"), None)
    );
}

#[test]
fn a_task_that_fails_or_panics_is_put_back_and_waits_longer_each_time() {
    let database = TestDatabase::new();
    let seat = estates(&database, 1).remove(0);
    let world = &database.world;
    queue(world, Some(seat.estate()), "bad").unwrap();
    let stop = AtomicBool::new(false);
    let panics = |_: &usecases::tasks::Claimed| -> Result<String, Trouble> { panic!("on purpose") };
    assert_eq!(
        work_off(world, "w", LEASE, &stop, &panics),
        1,
        "not at once again"
    );
    let card = recent(world, &seat, 1).unwrap().remove(0);
    assert!(card.last_error.unwrap().contains("on purpose"));
    assert!(card.done_at.is_none());
    database.clock.advance(TimeDelta::seconds(61));
    let fails = |_: &usecases::tasks::Claimed| Err(Trouble::Partly("half of it".to_owned()));
    assert_eq!(work_off(world, "w", LEASE, &stop, &fails), 1);
    database.clock.advance(TimeDelta::seconds(61));
    assert_eq!(
        work_off(world, "w", LEASE, &stop, &fails),
        0,
        "two minutes now"
    );
    database.clock.advance(TimeDelta::seconds(60));
    let works = |_: &usecases::tasks::Claimed| Ok("at last".to_owned());
    assert_eq!(work_off(world, "w", LEASE, &stop, &works), 1);
    stop.store(true, Ordering::SeqCst);
    queue(world, Some(seat.estate()), "bad").unwrap();
    assert_eq!(work_off(world, "w", LEASE, &stop, &works), 0, "stopped");
}

#[test]
fn three_schedulers_enter_each_tick_once_on_ordinary_days_and_when_the_clocks_change() {
    let database = TestDatabase::new();
    let seats = estates(&database, 2);
    let world = &database.world;
    // Forward on 29 March 2026, back on 25 October 2026 (IANA tz database, Europe/London).
    for (at, refits) in [
        ("2026-03-28T12:00:00Z", 1),
        ("2026-03-29T00:59:00Z", 1),
        ("2026-03-29T01:01:00Z", 1),
        ("2026-03-29T02:14:59Z", 1),
        ("2026-03-29T02:15:00Z", 2),
        ("2026-03-29T23:59:00Z", 2),
        ("2026-10-25T00:30:00Z", 3),
        ("2026-10-25T01:30:00Z", 3),
        ("2026-10-25T03:14:59Z", 3),
        ("2026-10-25T03:15:00Z", 4),
    ] {
        database.clock.set(at.parse::<DateTime<Utc>>().unwrap());
        std::thread::scope(|scope| {
            for _ in 0..3 {
                scope.spawn(|| jobs::enter_ticks(world).unwrap());
            }
        });
        // Whatever was queued is done before the next look, so that nothing waits.
        let act = |_: &usecases::tasks::Claimed| Ok("done".to_owned());
        work_off(world, "w", LEASE, &AtomicBool::new(false), &act);
        for seat in &seats {
            let cards = recent(world, seat, 100).unwrap();
            let count = cards.iter().filter(|c| c.kind == "nightly_refit").count();
            assert_eq!(count, refits, "{at}");
        }
    }
}

#[test]
fn a_night_is_worked_through_and_the_brief_is_kept_with_the_audits_head() {
    let database = TestDatabase::new();
    let seat = estates(&database, 1).remove(0);
    let world = &database.world;
    let begun = jobs::run_once(world, &settings("night"));
    assert_eq!(
        begun, 8,
        "refit, due list, book of forecasts, groups, plans, offers, brief, bank holidays"
    );
    let cards = recent(world, &seat, 10).unwrap();
    assert!(cards.iter().all(|c| c.done_at.is_some()), "{cards:?}");
    let today: NaiveDate = "2026-11-25".parse().unwrap();
    let brief = usecases::today::brief(world, &seat, today)
        .unwrap()
        .unwrap();
    assert!(
        brief.contains("Wednesday 25\u{a0}November\u{a0}2026"),
        "{brief}"
    );
    assert!(brief.contains("Nothing is known yet"), "{brief}");
    assert!(
        brief.contains("Head of the audit before this brief: "),
        "{brief}"
    );
    assert_eq!(jobs::run_once(world, &settings("night")), 0, "once a day");
    assert!(jobs::enqueue(world, seat.estate(), "nightly_refit").unwrap());
    assert_eq!(jobs::run_once(world, &settings("night")), 1);
    assert!(matches!(
        jobs::enqueue(world, seat.estate(), "no such"),
        Err(Error::NotFound(_))
    ));
}

/// Answers one request with `body`, and says where.
fn answering(body: String, status: &'static str) -> String {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let address = format!("http://{}/list.json", listener.local_addr().unwrap());
    std::thread::spawn(move || {
        let (mut stream, _) = listener.accept().unwrap();
        let mut asked = [0_u8; 1024];
        let _read = stream.read(&mut asked).unwrap();
        let head = format!(
            "HTTP/1.1 {status}\r\ncontent-length: {}\r\n\r\n",
            body.len()
        );
        let _closed_early = stream.write_all(head.as_bytes());
        let _closed_early = stream.write_all(body.as_bytes());
    });
    address
}

#[test]
fn bank_holidays_come_from_an_open_list_and_the_shipped_table_stands_without_it() {
    let database = TestDatabase::new();
    let world = &database.world;
    estates(&database, 1);
    let known = |country| usecases::bank_holidays::bank_holidays(world, country).unwrap();
    let shipped = known(Country::England);
    let run = |url: Option<String>| {
        jobs::enqueue(world, None, "bank_holidays").unwrap();
        let settings = Settings {
            bank_holidays_url: url,
            worker: "w".to_owned(),
            mail: None,
            reader: None,
        };
        assert_eq!(jobs::run_queue(world, &settings), 1);
    };
    // An invented extra day, in the form of the government's open list.
    let list = r#"{"england-and-wales":{"division":"england-and-wales","events":[
        {"title":"A day of our own","date":"2031-07-14","notes":"","bunting":true},
        {"title":"Far away","date":"9031-07-14","notes":"","bunting":true}]},
        "scotland":{"division":"scotland","events":[]}}"#;
    run(Some(answering(list.to_owned(), "200 OK")));
    let day: NaiveDate = "2031-07-14".parse().unwrap();
    for country in [Country::England, Country::Wales] {
        assert!(known(country).contains(&day));
    }
    assert!(!known(Country::Scotland).contains(&day));
    let told = known(Country::England);
    assert_eq!(told.len(), shipped.len() + 1);
    let huge = format!("{{\"scotland\":{{\"events\":[]}}{}", " ".repeat(300 * 1024));
    for broken in [
        None,
        Some(answering("no such list".to_owned(), "200 OK")),
        Some(answering(list.to_owned(), "404 Not Found")),
        Some(answering(huge, "200 OK")),
        Some("http://127.0.0.1:9/closed".to_owned()),
        Some("file:///etc/passwd".to_owned()),
        Some("not an address".to_owned()),
    ] {
        run(broken);
        assert_eq!(known(Country::England), told);
    }
}
