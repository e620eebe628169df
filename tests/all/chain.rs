//! The record of who did what: a flipped byte is found, a stripped person leaves it whole.
use store::Acting;
use store::audit::ChainVerdict;
use terms::{AccountId, EstateId};

use crate::support::TestDatabase;

fn acting(database: &TestDatabase) -> Acting {
    Acting {
        estate: EstateId(uuid::Uuid::new_v4()),
        who: AccountId(uuid::Uuid::new_v4()),
        at: database.world.now(),
    }
}

fn write_some(database: &TestDatabase, acting: Acting) {
    for n in 0..25 {
        database
            .world
            .pool
            .acting::<_, store::Error>(acting, |tx| {
                tx.note(
                    "corrected",
                    &format!("unit {n}"),
                    &serde_json::json!({ "n": n }),
                );
                tx.note(
                    "looked at",
                    "space 7",
                    &serde_json::json!({ "name": "A. Resident" }),
                );
                Ok(())
            })
            .unwrap();
    }
}

fn verdict(database: &TestDatabase, acting: Acting) -> ChainVerdict {
    database
        .world
        .pool
        .acting::<_, usecases::Error>(acting, |tx| Ok(tx.verify_chain()?))
        .unwrap()
}

/// As the table's owner, in that estate, past the program.
fn tamper(database: &TestDatabase, acting: Acting, sql: &str) {
    database.as_owner(&format!(
        "SELECT set_config('app.estate_id', '{}', false); {sql}",
        acting.estate
    ));
}

#[test]
fn an_untouched_chain_is_whole_and_an_error_leaves_no_entry() {
    let database = TestDatabase::new();
    let acting = acting(&database);
    write_some(&database, acting);
    let failed = database
        .world
        .pool
        .acting::<(), store::Error>(acting, |tx| {
            tx.note("never", "happened", &serde_json::json!({}));
            Err(store::Error::NotFound("thing"))
        });
    assert!(failed.is_err());
    let ChainVerdict::Whole {
        entries: 50,
        stripped: 0,
        ..
    } = verdict(&database, acting)
    else {
        panic!("{:?}", verdict(&database, acting));
    };
}

#[test]
fn one_flipped_byte_is_found_wherever_it_lies() {
    for (sql, at) in [
        (
            "UPDATE estate.audit_bodies SET body = replace(body, '13', '14') WHERE body LIKE '%13%'",
            27,
        ),
        (
            "UPDATE estate.audit_entries SET act = 'correctee' WHERE n = 9",
            9,
        ),
        (
            "UPDATE estate.audit_entries SET at = at + interval '1 microsecond' WHERE n = 30",
            30,
        ),
        (
            "UPDATE estate.audit_entries SET link = set_byte(link, 5, (get_byte(link, 5) # 1)) WHERE n = 41",
            41,
        ),
        (
            "UPDATE estate.audit_bodies SET salt = set_byte(salt, 0, (get_byte(salt, 0) # 1)) WHERE n = 2",
            2,
        ),
        (
            "UPDATE estate.audit_bodies SET salt = NULL, body = NULL WHERE n = 3",
            3,
        ),
    ] {
        let database = TestDatabase::new();
        let acting = acting(&database);
        write_some(&database, acting);
        tamper(&database, acting, sql);
        assert_eq!(
            verdict(&database, acting),
            ChainVerdict::BrokenAt(at),
            "{sql}"
        );
    }
}

#[test]
fn a_persons_data_is_stripped_and_the_chain_stays_whole() {
    let database = TestDatabase::new();
    let acting = acting(&database);
    write_some(&database, acting);
    let head = |v: ChainVerdict| match v {
        ChainVerdict::Whole { head, stripped, .. } => (head, stripped),
        ChainVerdict::BrokenAt(n) => panic!("broken at {n}"),
    };
    let (before, _) = head(verdict(&database, acting));
    let stripped = database
        .world
        .pool
        .acting::<_, store::Error>(acting, |tx| tx.strip_bodies("space 7"))
        .unwrap();
    assert_eq!(stripped, 25);
    assert_eq!(head(verdict(&database, acting)), (before, 25));
}

#[test]
fn fifty_writers_at_once_keep_one_chain() {
    let database = TestDatabase::new();
    let acting = acting(&database);
    std::thread::scope(|scope| {
        for n in 0..50 {
            let pool = database.world.pool.clone();
            scope.spawn(move || {
                pool.acting::<_, store::Error>(acting, |tx| {
                    tx.note("wrote", &n.to_string(), &serde_json::json!({}));
                    Ok(())
                })
            });
        }
    });
    let ChainVerdict::Whole { entries, .. } = verdict(&database, acting) else {
        panic!("broken")
    };
    // A writer that found no free connection in two seconds was told so; what was written is chained.
    assert!((6..=50).contains(&entries), "{entries}");
}
