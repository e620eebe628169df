//! The open handover workbook: its units become a list, and its natural faults are told by name.
use terms::ImportId;
use usecases::import::{self, Fault, Field, NameForm};
use usecases::tasks::Claimed;
use uuid::Uuid;

use super::estate::{Estate, block, on};
use crate::support::alone::{MOST_MB, alone, handover_workbook, most_memory};
use crate::support::workbook::{book, cell};

fn read(estate: &Estate, bytes: &[u8]) -> ImportId {
    let id = estate.send("handover.xlsx", bytes);
    let act = |task: &Claimed| -> Result<String, jobs::Trouble> {
        if task.kind != import::READ_TASK {
            return Ok("left alone".to_owned());
        }
        let errand = serde_json::from_value(task.payload.clone()).unwrap();
        let read = |bytes: &[u8]| import::read_here(bytes);
        let whose = terms::EstateId(task.estate.unwrap());
        Ok(import::read_list(estate.world(), whose, &errand, &read)?)
    };
    let stop = std::sync::atomic::AtomicBool::new(false);
    jobs::work_off(estate.world(), "w1", jobs::LEASE, &stop, &act);
    id
}

fn name(estate: &Estate, id: ImportId, field: Field, (said, meant): (&str, &str)) {
    let form = NameForm {
        field,
        said: said.to_owned(),
        meant: meant.to_owned(),
    };
    let once = Uuid::new_v4().to_string();
    import::say_name(estate.world(), &estate.seat, id, form, &once).unwrap();
}

#[test]
fn the_open_handover_workbook_is_read_with_its_faults_and_its_boilers_come_in() {
    if !alone(
        "import::handover::the_open_handover_workbook_is_read_with_its_faults_and_its_boilers_come_in",
    ) {
        return;
    }
    let Some(bytes) = handover_workbook() else {
        return;
    };
    let estate = Estate::bare();
    block(estate.world(), &estate.seat, "Duplex house", (1, 2));
    let id = read(&estate, &bytes);
    let view = estate.view(id);
    let of = |fault: Fault| -> Vec<(&str, u32, &str, &str, u32)> {
        view.preview
            .findings
            .iter()
            .filter(|f| f.fault == fault)
            .map(|f| {
                (
                    f.sheet.as_str(),
                    f.row,
                    f.column.as_str(),
                    f.value.as_str(),
                    f.rows,
                )
            })
            .collect()
    };
    // As the note beside the workbook lists them; rows counted in the workbook by another reader.
    let disagree = of(Fault::SystemAndZoneDisagree);
    for boiler in [
        ("System", 16, "ComponentNames", "Boiler-1", 1),
        ("System", 21, "ComponentNames", "Boiler-2", 1),
    ] {
        assert!(disagree.contains(&boiler), "{disagree:?}");
    }
    let lives = of(Fault::LifeImplausible);
    assert!(
        lives.contains(&("Type", 6, "ExpectedLife", "2", 1)),
        "{lives:?}"
    );
    let dates = of(Fault::DateAsText);
    assert_eq!(
        (dates.len(), dates[0].0, dates[0].2),
        (1, "Component", "InstallationDate")
    );
    let spaces = of(Fault::TwoSpacesInOneCell);
    let rows: Vec<u32> = spaces.iter().map(|f| f.1).collect();
    assert_eq!(rows, [51, 52, 53, 54, 57, 58, 59, 60, 61, 62, 218, 219]);
    assert_eq!(spaces[0].3, "A104, A101");
    assert_eq!(
        of(Fault::CurrencyForeign),
        [("Facility", 2, "CurrencyUnit", "Dollars", 1)]
    );
    let doubled = of(Fault::JobNameDoubled);
    assert!(
        doubled
            .iter()
            .any(|f| f.3 == "Boiler Inspection - Annual" && f.4 == 17),
        "{doubled:?}"
    );
    let often = of(Fault::FrequencyUnreadable);
    assert!(often.iter().any(|f| f.3 == "as required"), "{often:?}");
    // 88 of 94 jobs say n/a instead of a number.
    assert_eq!(often.iter().map(|f| f.4).sum::<u32>(), 88);
    assert_eq!(of(Fault::IdentitySpelledTwoWays).len(), 1);
    assert_eq!(of(Fault::NotApplicableAsEmpty).len(), 1);

    // Nothing is settled silently: house, homes and kind are asked, and said once.
    assert!(!view.preview.ready);
    assert_eq!(view.preview.sheet, "Component");
    name(
        &estate,
        id,
        Field::Building,
        ("DuplexApartment", "Duplex house"),
    );
    name(&estate, id, Field::Space, ("Apartment A", "Flat 1"));
    name(&estate, id, Field::Space, ("Apartment B", "Flat 2"));
    name(&estate, id, Field::Kind, ("Boiler", "system boiler"));
    import::leave_rest_out(estate.world(), &estate.seat, id, "rest").unwrap();
    estate.commit(id).unwrap();
    let mut boilers: Vec<(String, String, chrono::NaiveDate)> = estate
        .units()
        .into_iter()
        .filter(|u| u.kind == "GB")
        .map(|u| (u.serial, u.space_name, u.installed.unwrap().0))
        .collect();
    boilers.sort();
    let fitted = on("2010-05-10");
    assert_eq!(
        boilers,
        [
            ("357N82HJ".to_owned(), "Flat 2".to_owned(), fitted),
            ("357N83HJ".to_owned(), "Flat 1".to_owned(), fitted),
        ]
    );
    let most = most_memory();
    println!("the handover workbook: at most {most} MB");
    assert!(most < MOST_MB, "{most} MB at most, of {MOST_MB} MB");
}

/// A handover of our own, small: what is told of it does not hang on the open one lying there.
#[test]
fn a_handover_of_our_own_is_told_apart_from_a_list() {
    let estate = Estate::new();
    let sheet = |rows: &[&[&str]]| -> String {
        (1_u32..)
            .zip(rows)
            .map(|(n, cells)| {
                let filled: String = ["A", "B", "C", "D", "E"]
                    .iter()
                    .zip(*cells)
                    .map(|(column, text)| cell(column, n, text))
                    .collect();
                format!("<row r=\"{n}\">{filled}</row>")
            })
            .collect::<Vec<_>>()
            .concat()
    };
    let facility = sheet(&[&["Name", "CurrencyUnit"], &["Alder House", "Pounds"]]);
    let kinds = sheet(&[
        &["Name", "Category", "ExpectedLife", "WarrantyDurationParts"],
        &["Combi boiler", "Heat", "15", "5"],
        &["Sink", "Fittings", "2", "2"],
    ]);
    let components = sheet(&[
        &[
            "Name",
            "TypeName",
            "Space",
            "SerialNumber",
            "InstallationDate",
        ],
        &["Sink-1", "Sink", "3", "n/a", "2020-05-01"],
        &["Combi-1", "Combi boiler", "3", "S-77", "2020-05-02"],
    ]);
    let bytes = book(&[
        ("Facility", &facility),
        ("Type", &kinds),
        ("Component", &components),
    ]);
    let id = read(&estate, &bytes);
    let view = estate.view(id);
    let faults: Vec<Fault> = view.preview.findings.iter().map(|f| f.fault).collect();
    assert_eq!(faults, [Fault::NotApplicableAsEmpty]);
    assert!(view.preview.ready, "{:?}", view.preview.problems);
    assert_eq!(estate.commit(id).unwrap().new, 1);
    let unit = estate.units().remove(0);
    assert_eq!(
        (
            unit.serial.as_str(),
            unit.space_name.as_str(),
            unit.installed.unwrap().0
        ),
        ("S-77", "Flat 3", on("2020-05-02"))
    );
}
