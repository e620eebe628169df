//! The program lived through: killed, started twice, without room, beside another server. One test a scenario of
//! `tests/running`, so that each has its line. Built as a test of the package `program`, which gives it the program.
#![expect(clippy::expect_used, reason = "a test breaks loudly")]

use std::process::Command;

fn lives_through(scenario: &str) {
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/../../tests/running");
    let said = Command::new("bash")
        .args([script, env!("CARGO_BIN_EXE_riserward"), scenario])
        .output()
        .expect("bash runs the scenarios");
    let words = String::from_utf8_lossy(&said.stdout);
    print!("{words}{}", String::from_utf8_lossy(&said.stderr));
    assert!(said.status.success(), "{scenario}:\n{words}");
}

macro_rules! scenarios {
    ($($name:ident,)*) => {
        $(#[test] fn $name() { lives_through(stringify!($name)); })*

        /// A scenario added to the script alone would never run here.
        #[test]
        fn every_scenario_of_the_script_has_its_test() {
            let script = include_str!("../running");
            let (_, list) = script.split_once("\nall=\"").expect("the script lists its scenarios");
            let (list, _) = list.split_once('"').expect("the list ends");
            let listed: Vec<&str> = list.split_whitespace().collect();
            assert_eq!(listed, [$(stringify!($name)),*]);
        }
    };
}

scenarios! {
    serves_once_and_stops_clean,
    program_killed,
    database_killed,
    both_killed,
    killed_at_any_moment_of_the_first_start,
    killed_while_the_demo_is_made,
    stale_pid_file,
    port_in_use,
    read_only_data_folder,
    full_disk,
    exposed_without_a_certificate,
    mail_that_cannot_go,
    unreachable_server,
    unsafe_roles,
    beside_another_postgresql,
    long_and_odd_data_folder,
    backup_and_restore,
    commands_beside_a_running_server,
}
