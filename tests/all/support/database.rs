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

impl TestDatabase {
    pub fn new() -> Self {
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
                &format!("CREATE DATABASE {name} TEMPLATE {}", template()),
            );
        }
        let clock = Arc::new(FixedClock::at(START.parse::<DateTime<Utc>>().unwrap()));
        let app_url = with_name(&app, &name);
        let pool = store::connect(&app_url, 6).expect("the pool opens");
        let world = World {
            pool,
            clock: clock.clone(),
        };
        Self {
            owner_url: with_name(&owner, &name),
            app_url,
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
        if let Ok(mut server) = PgConnection::establish(&base("RISERWARD_TEST_OWNER_URL")) {
            let _gone_anyway = server.batch_execute(&format!(
                "DROP DATABASE IF EXISTS {} WITH (FORCE)",
                self.name
            ));
        }
    }
}
