//! The walls between estates, read from the catalogue and tried from another estate's side.
use diesel::prelude::*;
use diesel::sql_types::{BigInt, Bool, Text};
use diesel::{Connection, PgConnection, RunQueryDsl, sql_query};
use store::Acting;
use terms::{AccountId, EstateId};

use crate::support::TestDatabase;

#[derive(QueryableByName)]
struct Table {
    #[diesel(sql_type = Text)]
    schema: String,
    #[diesel(sql_type = Text)]
    name: String,
    #[diesel(sql_type = Bool)]
    enabled: bool,
    #[diesel(sql_type = Bool)]
    forced: bool,
}

#[derive(QueryableByName)]
struct Key {
    #[diesel(sql_type = Text)]
    name: String,
    #[diesel(sql_type = Text)]
    first_column: String,
}

#[derive(QueryableByName)]
struct Count {
    #[diesel(sql_type = BigInt)]
    n: i64,
}

fn owner(database: &TestDatabase) -> PgConnection {
    PgConnection::establish(&database.owner_url).unwrap()
}

fn tenant_tables(conn: &mut PgConnection) -> Vec<Table> {
    sql_query(
        "SELECT n.nspname::text AS schema, c.relname::text AS name, c.relrowsecurity AS enabled, \
         c.relforcerowsecurity AS forced FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace \
         JOIN pg_attribute a ON a.attrelid = c.oid AND a.attname = 'estate_id' AND NOT a.attisdropped \
         WHERE c.relkind = 'r' AND n.nspname NOT IN ('pg_catalog', 'information_schema') ORDER BY 2",
    )
    .load(conn)
    .unwrap()
}

#[test]
fn every_tenant_table_has_forced_security_and_keys_that_start_with_the_estate() {
    let database = TestDatabase::new();
    let mut conn = owner(&database);
    let tables = tenant_tables(&mut conn);
    assert!(
        tables.len() > 40,
        "the catalogue was read: {} tables",
        tables.len()
    );
    for table in &tables {
        assert!(
            table.enabled && table.forced,
            "{} is not walled",
            table.name
        );
        assert_eq!(
            table.schema, "estate",
            "{} stands in the wrong schema",
            table.name
        );
    }
    // Primary, unique and foreign keys: the first column of each, on our side of it.
    let keys: Vec<Key> = sql_query(
        "SELECT format('%s.%s', c.relname, k.conname) AS name, a.attname::text AS first_column \
         FROM pg_constraint k JOIN pg_class c ON c.oid = k.conrelid JOIN pg_namespace n ON n.oid = c.relnamespace \
         JOIN pg_attribute a ON a.attrelid = c.oid AND a.attnum = k.conkey[1] \
         WHERE n.nspname = 'estate' AND k.contype IN ('p', 'u', 'f') \
         UNION ALL SELECT i.relname::text, a.attname::text FROM pg_index x JOIN pg_class i ON i.oid = x.indexrelid \
         JOIN pg_class c ON c.oid = x.indrelid JOIN pg_namespace n ON n.oid = c.relnamespace \
         JOIN pg_attribute a ON a.attrelid = c.oid AND a.attnum = x.indkey[0] WHERE n.nspname = 'estate'",
    )
    .load(&mut conn)
    .unwrap();
    assert!(keys.len() > 100, "{} keys were read", keys.len());
    for key in keys {
        assert_eq!(key.first_column, "estate_id", "{}", key.name);
    }
    // And nothing outside the schema forgot its tenant: `door` may only name an estate, never hold its rows.
    let resident: Vec<Key> = sql_query(
        "SELECT format('%s.%s', table_schema, table_name) AS name, column_name::text AS first_column \
         FROM information_schema.columns WHERE table_schema = 'door' AND column_name IN ('estate_id', 'phone', 'space_id', 'resident')",
    )
    .load(&mut conn)
    .unwrap();
    assert!(
        resident.is_empty(),
        "the door holds no tenant's or resident's rows"
    );
}

/// One row in every tenant table, of any values that pass its types and checks: foreign keys are set aside
/// by the superuser's replica mode, so this looks at the walls alone.
fn fill_every_table(conn: &mut PgConnection, estate: EstateId) -> Vec<String> {
    #[derive(QueryableByName)]
    struct Column {
        #[diesel(sql_type = Text)]
        name: String,
        #[diesel(sql_type = Text)]
        kind: String,
        #[diesel(sql_type = Text)]
        checks: String,
    }
    let mut filled = Vec::new();
    for table in tenant_tables(conn) {
        let columns: Vec<Column> = sql_query(
            "SELECT a.attname::text AS name, format_type(a.atttypid, a.atttypmod) AS kind, \
             coalesce((SELECT string_agg(pg_get_constraintdef(k.oid), ' ') FROM pg_constraint k \
             WHERE k.conrelid = c.oid AND k.contype = 'c' AND k.conkey = ARRAY[a.attnum]), '') AS checks \
             FROM pg_attribute a JOIN pg_class c ON c.oid = a.attrelid JOIN pg_namespace n ON n.oid = c.relnamespace \
             WHERE n.nspname = 'estate' AND c.relname = $1 AND a.attnum > 0 AND NOT a.attisdropped AND a.attnotnull",
        )
        .bind::<Text, _>(&table.name)
        .load(conn)
        .unwrap();
        let mut names: Vec<String> = columns.iter().map(|c| c.name.clone()).collect();
        let mut values: Vec<String> = columns
            .iter()
            .map(|c| match (c.name.as_str(), c.kind.as_str()) {
                ("estate_id", _) => format!("'{estate}'"),
                (_, "uuid") => "gen_random_uuid()".to_owned(),
                (_, "text") => c
                    .checks
                    .split('\'')
                    .nth(1)
                    .map_or("'x'".to_owned(), |code| format!("'{code}'")),
                (_, "date") => "'2026-01-01'".to_owned(),
                (_, "timestamp with time zone") => "now()".to_owned(),
                (_, "boolean") => "false".to_owned(),
                (_, "jsonb") => "'{}'".to_owned(),
                // The first time of a duty in a round is its time one.
                ("nth", _) => "1".to_owned(),
                (_, "bytea") => "'\\x00'".to_owned(),
                _ => "0".to_owned(),
            })
            .collect();
        let one_of = match table.name.as_str() {
            "branch_links" => Some("unit_id"),
            "serves" => Some("space_id"),
            _ => None,
        };
        if let Some(column) = one_of {
            names.push(column.to_owned());
            values.push("gen_random_uuid()".to_owned());
        }
        if table.name == "unit_facts" && !names.contains(&"fate".to_owned()) {
            names.push("fate".to_owned());
            values.push("'in_service'".to_owned());
        }
        let sql = format!(
            "INSERT INTO estate.{} ({}) VALUES ({})",
            table.name,
            names.join(", "),
            values.join(", ")
        );
        let outcome = sql_query(&sql).execute(conn);
        assert!(outcome.is_ok(), "{}: {outcome:?}\n{sql}", table.name);
        filled.push(table.name);
    }
    filled
}

#[test]
fn another_estate_sees_no_row_and_writes_none() {
    let database = TestDatabase::new();
    let (ours, theirs) = (
        EstateId(uuid::Uuid::new_v4()),
        EstateId(uuid::Uuid::new_v4()),
    );
    // The owner is bound by the forced policies too, so it fills the tables as that estate.
    let mut conn = owner(&database);
    let set = |conn: &mut PgConnection, estate: EstateId| {
        sql_query(format!(
            "SELECT set_config('app.estate_id', '{estate}', false)"
        ))
        .execute(conn)
        .unwrap();
    };
    sql_query(
        "DO $$ DECLARE k record; BEGIN FOR k IN SELECT c.relname, o.conname FROM pg_constraint o \
         JOIN pg_class c ON c.oid = o.conrelid JOIN pg_namespace n ON n.oid = c.relnamespace \
         WHERE n.nspname = 'estate' AND o.contype = 'f' LOOP \
         EXECUTE format('ALTER TABLE estate.%I DROP CONSTRAINT %I', k.relname, k.conname); END LOOP; END $$",
    )
    .execute(&mut conn)
    .unwrap();
    set(&mut conn, ours);
    let filled = fill_every_table(&mut conn, ours);

    let mut app = PgConnection::establish(&database.app_url).unwrap();
    for table in &filled {
        let count = |conn: &mut PgConnection| -> i64 {
            sql_query(format!("SELECT count(*) AS n FROM estate.{table}"))
                .get_result::<Count>(conn)
                .unwrap()
                .n
        };
        set(&mut app, ours);
        assert_eq!(count(&mut app), 1, "{table}: its own estate sees its row");
        set(&mut app, theirs);
        assert_eq!(count(&mut app), 0, "{table}: another estate sees a row");
        sql_query("SELECT set_config('app.estate_id', '', false)")
            .execute(&mut app)
            .unwrap();
        assert_eq!(
            count(&mut app),
            0,
            "{table}: no estate set, yet a row is seen"
        );
        set(&mut app, theirs);
        // Writing into our estate from theirs: the policy refuses the row itself.
        let forged = sql_query(format!(
            "INSERT INTO estate.{table} SELECT (jsonb_populate_record(NULL::estate.{table}, \
             jsonb_build_object('estate_id', '{ours}'))).*"
        ))
        .execute(&mut app);
        let said = format!("{:?}", forged.expect_err("a forged row went in"));
        assert!(
            said.contains("row-level security"),
            "{table}: refused, but not by its wall: {said}"
        );
        // Nor may the program's role take a fact away.
        set(&mut app, ours);
        if table != "words" {
            let gone = sql_query(format!("DELETE FROM estate.{table}")).execute(&mut app);
            assert!(gone.is_err(), "{table}: a row can be deleted");
        }
    }
}

#[test]
fn roles_that_could_step_over_the_walls_are_refused() {
    let database = TestDatabase::new();
    store::refuse_unsafe_role(&database.world.pool).unwrap();
    let as_owner = store::connect(&database.owner_url, 1).unwrap();
    let refused = store::refuse_unsafe_role(&as_owner)
        .unwrap_err()
        .to_string();
    assert!(refused.contains("riserward_app"), "{refused}");
}

#[test]
fn a_fact_changes_only_by_being_superseded_once() {
    let database = TestDatabase::new();
    let acting = Acting {
        estate: EstateId(uuid::Uuid::new_v4()),
        who: AccountId(uuid::Uuid::new_v4()),
        at: database.world.now(),
    };
    let pool = &database.world.pool;
    pool.acting::<_, store::Error>(acting, |tx| {
        tx.set("colour", "petrol")?;
        tx.set("colour", "ochre")
    })
    .unwrap();
    let read = pool
        .acting::<_, store::Error>(acting, |tx| tx.setting("colour"))
        .unwrap();
    assert_eq!(read.as_deref(), Some("ochre"));
    let mut app = PgConnection::establish(&database.app_url).unwrap();
    sql_query(format!(
        "SELECT set_config('app.estate_id', '{}', false)",
        acting.estate
    ))
    .execute(&mut app)
    .unwrap();
    let rewritten = sql_query("UPDATE estate.settings SET value = 'red'").execute(&mut app);
    assert!(
        format!("{rewritten:?}").contains("permission denied"),
        "{rewritten:?}"
    );
    let twice = sql_query(
        "UPDATE estate.settings SET superseded_at = now() WHERE superseded_at IS NOT NULL",
    )
    .execute(&mut app);
    assert!(
        format!("{twice:?}").contains("already superseded"),
        "{twice:?}"
    );
}

/// Rows that only the newest migrations let in, beside rows that the ones before let in too.
fn rows_of_the_newest(database: &TestDatabase) {
    let estate = crate::duties::Estate::over(&database.world, "Elm Estate");
    let flat = estate.flat(None);
    let unit = estate.unit("CB", "EL-001", flat, None);
    let of = estate.seat.estate();
    let building = estate.building;
    database.as_owner(&format!(
        "SELECT set_config('app.estate_id', '{of}', false); \
         INSERT INTO estate.plan_ties (estate_id, id, building_id, what, year, why, happened_on, recorded_at, recorded_by) \
         SELECT '{of}', md5(what)::uuid, '{building}', what, 2028, 'a test', '2026-11-25', now(), gen_random_uuid() \
         FROM unnest(ARRAY['by', 'pin']) AS what; \
         INSERT INTO estate.plan_tie_units (estate_id, tie_id, unit_id) SELECT '{of}', id, '{unit}' FROM estate.plan_ties; \
         INSERT INTO estate.round_asks (estate_id, id, what, from_on, why, happened_on, recorded_at, recorded_by) \
         SELECT '{of}', gen_random_uuid(), what, '2026-11-25', 'a test', '2026-11-25', now(), gen_random_uuid() \
         FROM unnest(ARRAY['hours', 'access', 'away']) AS what; \
         INSERT INTO estate.imports (estate_id, id, name, digest, kind, body, mapping, state, rows, made_at, made_by) \
         VALUES ('{of}', gen_random_uuid(), 'times.csv', 'x', 'records', '', '{{}}', 'done', 0, now(), gen_random_uuid())"
    ));
}

#[test]
fn what_a_newer_migration_let_in_goes_with_it_and_nothing_else() {
    let database = TestDatabase::new();
    rows_of_the_newest(&database);
    for name in [
        "2026-11-29-120000-0000_ask_more_of_the_rounds",
        "2026-11-29-102000-0000_say_what_must_go",
    ] {
        let down = format!(
            "{}/../migrations/{name}/down.sql",
            env!("CARGO_MANIFEST_DIR")
        );
        // As the migration runner does it: in one transaction.
        let down = std::fs::read_to_string(down).unwrap();
        database.as_owner(&format!("BEGIN; {down} COMMIT;"));
    }
    let mut conn = owner(&database);
    for table in ["plan_ties", "plan_tie_units", "round_asks"] {
        let walled = tenant_tables(&mut conn)
            .into_iter()
            .any(|t| t.name == table && t.enabled && t.forced);
        assert!(walled, "{table} is walled again");
    }
    for (rows, left) in [
        ("plan_ties WHERE what = 'by'", 0),
        ("plan_ties WHERE what = 'pin'", 1),
        ("plan_tie_units", 1),
        ("round_asks WHERE what IN ('hours', 'access')", 0),
        ("round_asks WHERE what = 'away'", 1),
    ] {
        let table = rows.split(' ').next().unwrap();
        sql_query(format!(
            "ALTER TABLE estate.{table} NO FORCE ROW LEVEL SECURITY"
        ))
        .execute(&mut conn)
        .unwrap();
        let found: Count = sql_query(format!("SELECT count(*) AS n FROM estate.{rows}"))
            .get_result(&mut conn)
            .unwrap();
        assert_eq!(found.n, left, "{rows}");
    }
}

#[test]
fn every_migration_is_undone_over_what_the_newest_let_in() {
    let database = TestDatabase::new();
    rows_of_the_newest(&database);
    assert!(store::revert_all(&database.owner_url).unwrap() >= 5);
}

#[test]
fn the_schema_files_match_the_migrations_and_every_migration_can_be_undone() {
    let database = TestDatabase::new();
    let dump = |conn: &mut PgConnection| -> Vec<(String, String)> {
        #[derive(QueryableByName)]
        struct Row {
            #[diesel(sql_type = Text)]
            a: String,
            #[diesel(sql_type = Text)]
            b: String,
        }
        sql_query(
            "SELECT table_schema || '.' || table_name || '.' || column_name AS a, \
             data_type || ' ' || is_nullable AS b FROM information_schema.columns \
             WHERE table_schema IN ('estate', 'door') ORDER BY 1",
        )
        .load::<Row>(conn)
        .unwrap()
        .into_iter()
        .map(|r| (r.a, r.b))
        .collect()
    };
    let mut conn = owner(&database);
    let before = dump(&mut conn);
    for (column, _) in &before {
        let (_, rest) = column.split_once('.').unwrap();
        let (table, name) = rest.split_once('.').unwrap();
        let file = if column.starts_with("estate.") {
            "estate"
        } else {
            "door"
        };
        let schema = std::fs::read_to_string(format!(
            "{}/../app/store/src/{file}_schema.rs",
            env!("CARGO_MANIFEST_DIR")
        ))
        .unwrap();
        let start = schema
            .find(&format!("{file}.{table} ("))
            .unwrap_or_else(|| panic!("{table}"));
        let body = &schema[start..];
        let end = body.find("\n}\n").unwrap_or(body.len());
        let wanted = format!(" {name} -> ");
        let renamed = format!("sql_name = \"{name}\"");
        assert!(
            body[..end].contains(&wanted) || body[..end].contains(&renamed),
            "{column} is missing from {file}_schema.rs"
        );
    }
    drop(conn);
    assert!(store::revert_all(&database.owner_url).unwrap() >= 5);
    let mut conn = owner(&database);
    assert!(
        dump(&mut conn).is_empty(),
        "down.sql leaves something behind"
    );
    drop(conn);
    store::migrate(&database.owner_url).unwrap();
    assert_eq!(
        dump(&mut owner(&database)),
        before,
        "up, down and up again are the same"
    );
}
