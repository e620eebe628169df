//! A form sent twice does its work once.
use store::{Acting, Error};
use terms::{AccountId, EstateId};

use crate::support::TestDatabase;

#[test]
fn the_same_key_gives_the_same_answer_and_another_request_is_refused() {
    let database = TestDatabase::new();
    let acting = Acting {
        estate: EstateId(uuid::Uuid::new_v4()),
        who: AccountId(uuid::Uuid::new_v4()),
        at: database.world.now(),
    };
    let post = |request: &str| {
        database.world.pool.acting::<i64, Error>(acting, |tx| {
            tx.once("key-1", &request, |tx| {
                tx.note("did", "it", &serde_json::json!({}));
                tx.chain_head().map(|(n, _)| n + 100)
            })
        })
    };
    assert_eq!(post("a").unwrap(), 100);
    assert_eq!(post("a").unwrap(), 100);
    assert!(matches!(post("b"), Err(Error::KeyReused)));
    let entries = database
        .world
        .pool
        .acting::<_, Error>(acting, |tx| tx.chain_head().map(|head| head.0))
        .unwrap();
    assert_eq!(entries, 1, "the work was done once");
}

#[test]
fn twenty_posts_at_once_do_it_once() {
    let database = TestDatabase::new();
    let acting = Acting {
        estate: EstateId(uuid::Uuid::new_v4()),
        who: AccountId(uuid::Uuid::new_v4()),
        at: database.world.now(),
    };
    let answers: Vec<_> = std::thread::scope(|scope| {
        let threads: Vec<_> = (0..20)
            .map(|n| {
                let pool = database.world.pool.clone();
                scope.spawn(move || {
                    pool.acting::<i32, Error>(acting, |tx| {
                        tx.once("same", &"request", |tx| {
                            tx.note("did", "it", &serde_json::json!({}));
                            Ok::<_, Error>(n)
                        })
                    })
                })
            })
            .collect();
        threads.into_iter().map(|t| t.join().unwrap()).collect()
    });
    let done: Vec<i32> = answers.into_iter().filter_map(Result::ok).collect();
    assert!(
        !done.is_empty() && done.iter().all(|n| *n == done[0]),
        "{done:?}"
    );
    let entries = database
        .world
        .pool
        .acting::<_, Error>(acting, |tx| tx.chain_head().map(|head| head.0))
        .unwrap();
    assert_eq!(entries, 1);
}
