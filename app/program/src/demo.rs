//! Filling an empty database with the demo estate, whole or not at all: a fill that was broken off is begun anew.
use crate::data::{DataFolder, write_whole};
use crate::database::Database;
use crate::trouble::Trouble;
use crate::wiring;

const LOCK: &str = "demo";
const MARK: &str = "demo-unfinished";

/// `demo`: fills the database if it holds no estate and prints the sign-ins.
pub fn fill(database: &Database, data: &DataFolder) -> Result<(), Trouble> {
    clear_unfinished(data, database)?;
    wiring::migrate_if_owner(&database.addresses())?;
    let world = wiring::world(&database.addresses())?;
    if !fill_if_empty(data, &world)? {
        println!("The database already holds an estate, and nothing was added.");
    }
    print_sign_ins(&wiring::demo_sign_ins(&world)?);
    Ok(())
}

/// Fills the database if it holds no estate; true when it did.
pub fn fill_if_empty(data: &DataFolder, world: &wiring::World) -> Result<bool, Trouble> {
    let filling = data.alone(LOCK)?;
    if !wiring::holds_no_estate(world)? {
        return Ok(false);
    }
    println!("Making the demo estate, nine years of it.");
    let mark = data.root().join(MARK);
    write_whole(
        &mark,
        b"The demo estate was being made; what is there of it is thrown away at the next start.\n",
    )?;
    let filled = wiring::fill_demo(world)?;
    std::fs::remove_file(&mark).map_err(|error| Trouble::at(&mark, "removed", &error))?;
    drop(filling);
    Ok(filled)
}

/// Throws away a database that holds nothing but part of a demo estate. The mark is only ever set on an empty one.
pub fn clear_unfinished(data: &DataFolder, database: &Database) -> Result<(), Trouble> {
    let mark = data.root().join(MARK);
    let Database::Private(cluster) = database else {
        return Ok(());
    };
    if !mark.exists() {
        return Ok(());
    }
    // Somebody at work on it holds the lock; then it is not broken off.
    let Some(alone) = data.try_alone(LOCK)? else {
        return Ok(());
    };
    let name = data.database();
    cluster.drop_database(&name)?;
    cluster.make_database(&name)?;
    std::fs::remove_file(&mark).map_err(|error| Trouble::at(&mark, "removed", &error))?;
    drop(alone);
    Ok(())
}

/// Who may sign in, and how.
pub fn print_sign_ins(people: &[wiring::SignIn]) {
    if people.is_empty() {
        return;
    }
    println!(
        "Sign in as one of the demo people, password {}:",
        wiring::DEMO_PASSWORD
    );
    for person in people {
        println!("  {:<28} {}", person.who, person.name);
    }
}
