//! A migrated database for each test, copied from a template made once a run.
use std::sync::{Arc, OnceLock};

use chrono::{DateTime, Utc};
use diesel::connection::SimpleConnection;
use diesel::{Connection, PgConnection};
use terms::FixedClock;
use usecases::World;

/// The instant every test begins at: a Wednesday morning in the heating season.
pub const START: &str = "2026-11-25T07:40:00Z";

/// A database of one's own; dropped with the value.
pub struct TestDatabase {
    pub name: String,
    pub owner_url: String,
    pub app_url: String,
    pub world: World,
    pub clock: Arc<FixedClock>,
}

fn base(key: &str) -> String {
    std::env::var(key).unwrap_or_else(|_| {
        panic!("{key} is not set: run `bash tests/run`, which starts a database for the tests")
    })
}

fn with_name(url: &str, name: &str) -> String {
    let (server, _) = url.rsplit_once('/').expect("a database URL ends in /name");
    format!("{server}/{name}")
}

fn on(url: &str, sql: &str) {
    PgConnection::establish(url)
        .expect("the test server answers")
        .batch_execute(sql)
        .expect(sql);
}

/// The template's name; made by the first test that needs it.
fn template() -> &'static str {
    static NAME: OnceLock<String> = OnceLock::new();
    NAME.get_or_init(|| {
        let owner = base("RISERWARD_TEST_OWNER_URL");
        let name = format!("template_{}", uuid::Uuid::new_v4().simple());
        on(&owner, &format!("CREATE DATABASE {name}"));
        store::migrate(&with_name(&owner, &name)).expect("the migrations run");
        name
    })
}

/// A template that holds the demo estate as made at [`START`]: making it takes longer than most tests.
fn demo_template() -> &'static str {
    static NAME: OnceLock<String> = OnceLock::new();
    NAME.get_or_init(|| {
        let owner = base("RISERWARD_TEST_OWNER_URL");
        let name = format!("demo_{}", uuid::Uuid::new_v4().simple());
        on(
            &owner,
            &format!("CREATE DATABASE {name} TEMPLATE {}", template()),
        );
        let (world, _) = world_on(&name);
        seed_demo::fill(&world)
            .expect("the demo is made")
            .expect("an empty database");
        drop(world);
        // A database is copied only while nobody is connected to it.
        on(
            &owner,
            &format!(
                "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = '{name}'"
            ),
        );
        name
    })
}

/// What the program stands on, over the database of this name, at [`START`].
fn world_on(name: &str) -> (World, Arc<FixedClock>) {
    let clock = Arc::new(FixedClock::at(START.parse::<DateTime<Utc>>().unwrap()));
    let url = with_name(&base("RISERWARD_TEST_APP_URL"), name);
    let pool = store::connect(&url, 6).expect("the pool opens");
    let world = World {
        pool,
        clock: clock.clone(),
    };
    (world, clock)
}

impl TestDatabase {
    /// Migrated and empty.
    pub fn new() -> Self {
        Self::copied(template())
    }

    /// With the demo estate in it.
    pub fn demo() -> Self {
        Self::copied(demo_template())
    }

    fn copied(template: &str) -> Self {
        let (owner, app) = (
            base("RISERWARD_TEST_OWNER_URL"),
            base("RISERWARD_TEST_APP_URL"),
        );
        let name = format!("t_{}", uuid::Uuid::new_v4().simple());
        // Copying needs the template to itself for a moment.
        static ONE_AT_A_TIME: std::sync::Mutex<()> = std::sync::Mutex::new(());
        {
            let _held = ONE_AT_A_TIME.lock().unwrap();
            on(
                &owner,
                &format!("CREATE DATABASE {name} TEMPLATE {template}"),
            );
        }
        let (world, clock) = world_on(&name);
        Self {
            owner_url: with_name(&owner, &name),
            app_url: with_name(&app, &name),
            name,
            world,
            clock,
        }
    }

    /// Runs SQL as the owner, past the program: for looking and for breaking things on purpose.
    pub fn as_owner(&self, sql: &str) {
        on(&self.owner_url, sql);
    }
}

impl Drop for TestDatabase {
    fn drop(&mut self) {
        let dropped =
            PgConnection::establish(&base("RISERWARD_TEST_OWNER_URL")).map(|mut server| {
                server.batch_execute(&format!(
                    "DROP DATABASE IF EXISTS {} WITH (FORCE)",
                    self.name
                ))
            });
        // Five hundred that stay fill a small disk. A test that is failing already says enough.
        if !std::thread::panicking() {
            dropped
                .expect("the test server answers")
                .expect("the test's database goes");
        }
    }
}
