//! Duties through their use cases: the chain of dates, corrections, units that come and go, the export.
use chrono::{DateTime, NaiveDate, Utc};
use terms::place::{BuildingCard, SpaceCard};
use terms::unit::UnitCard;
use terms::{BuildingId, Country, Fate, LevelId, SpaceId, UnitId, UsedAs};
use usecases::duties::{self, Correction, Done, DutyAt, GasPaper, Record, Standing, WiringPaper};
use usecases::{Error, Seat, World, founding};
use uuid::Uuid;

use crate::support::TestDatabase;

/// A small estate: one building and whatever stands in it.
pub struct Estate {
    /// Dropped with the estate when it is its own.
    database: Option<TestDatabase>,
    world: World,
    pub seat: Seat,
    pub building: BuildingId,
    pub level: LevelId,
    spaces: std::cell::Cell<i32>,
}

/// A gas record with a boiler and its flue.
pub fn gas_paper() -> GasPaper {
    GasPaper {
        registration: "200417".to_owned(),
        items: vec![
            ("combi gas boiler".to_owned(), "safe to use".to_owned()),
            ("its flue".to_owned(), "seen over its length".to_owned()),
        ],
    }
}

pub fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

impl Estate {
    pub fn new() -> Self {
        let database = TestDatabase::new();
        let estate = Self::over(&database.world, "Test Estate");
        Self {
            database: Some(database),
            ..estate
        }
    }

    /// In a database that somebody else holds.
    pub fn over(world: &World, name: &str) -> Self {
        let seat = founding::found_estate(world, name, false).unwrap();
        let (building, level) = world
            .acting(&seat, |tx| {
                let card = BuildingCard {
                    id: BuildingId(Uuid::nil()),
                    code: "EL".to_owned(),
                    name: "Elm House".to_owned(),
                    address: String::new(),
                    country: Country::England,
                    built_year: None,
                    higher_risk: None,
                    hardness_mg_l: None,
                    asbestos_register: "unknown".to_owned(),
                    note: String::new(),
                };
                let building = tx.add_building(&card)?;
                Ok((building, tx.add_level(building, 0, "G")?))
            })
            .unwrap();
        Self {
            database: None,
            world: world.clone(),
            seat,
            building,
            level,
            spaces: std::cell::Cell::new(0),
        }
    }

    pub fn world(&self) -> &World {
        &self.world
    }

    /// The estate's own database.
    pub fn database(&self) -> &TestDatabase {
        self.database.as_ref().unwrap()
    }

    pub fn go_to(&self, date: &str) {
        let at: DateTime<Utc> = format!("{date}T09:00:00Z").parse().unwrap();
        self.database.as_ref().unwrap().clock.set(at);
    }

    pub fn flat(&self, let_short: Option<bool>) -> SpaceId {
        let n = self.spaces.get();
        self.spaces.set(n + 1);
        let card = SpaceCard {
            id: SpaceId(Uuid::nil()),
            building: self.building,
            building_name: String::new(),
            level: self.level,
            ordinal: 0,
            place: n,
            name: format!("Flat {}", n + 1),
            used_as: UsedAs::Flat,
            stair: Some("1".to_owned()),
            let_short,
            site: serde_json::json!({}),
        };
        self.world()
            .acting(&self.seat, |tx| Ok(tx.add_space(&card, None)?))
            .unwrap()
    }

    pub fn unit(&self, kind: &str, number: &str, space: SpaceId, fitted: Option<&str>) -> UnitId {
        let fitted = fitted.map(day);
        let card = UnitCard {
            id: UnitId(Uuid::nil()),
            number: number.to_owned(),
            kind: kind.to_owned(),
            serial: String::new(),
            installed: fitted.map(|d| (d, d)),
            rated_kw: None,
            litres: None,
            filter_fitted: None,
            reducer_fitted: None,
            warranty_until: None,
            fate: Fate::InService,
            fate_on: None,
            note: String::new(),
            space,
            space_name: String::new(),
            building: self.building,
            building_name: String::new(),
            placed_from: fitted,
            watched_from: day("2020-01-01"),
            hardness_mg_l: None,
        };
        self.world()
            .acting(&self.seat, |tx| {
                let id = tx.add_unit(&card, None)?;
                let card = tx.unit(id)?;
                duties::ensure_for_unit(tx, &card)?;
                Ok(id)
            })
            .unwrap()
    }

    pub fn start(&self, unit: UnitId, rule: &str, deadline: &str) {
        self.world()
            .acting(&self.seat, |tx| {
                duties::state_deadline(tx, unit, rule, day(deadline), "from the old list")
            })
            .unwrap();
    }

    pub fn check(&self, unit: UnitId, rule: &str, on: &str, whole: bool) {
        self.world()
            .acting(&self.seat, |tx| {
                let done = Done {
                    on: day(on),
                    check_complete: whole,
                    job: None,
                    evidence: format!("record of {on}"),
                };
                duties::complete(tx, unit, rule, &done)
            })
            .unwrap();
    }

    pub fn proved(&self, unit: UnitId, rule: &str) -> duties::Proved {
        duties::proof(self.world(), &self.seat, unit)
            .unwrap()
            .duties
            .into_iter()
            .find(|d| d.line.rule.code == rule)
            .unwrap_or_else(|| panic!("the unit has the duty {rule}"))
    }

    pub fn deadline(&self, unit: UnitId, rule: &str) -> Option<NaiveDate> {
        self.proved(unit, rule).line.window.map(|w| w.deadline)
    }
}

// The worked dates of the Gas Safety (Installation and Use) Regulations 1998, regulation 36A, "within the
// period of 2 months ending with the deadline date" (law text read: SI 2018/139), counted by hand.
#[test]
fn a_check_in_its_window_keeps_the_date_an_early_one_resets_it_and_a_late_one_is_a_breach() {
    let estate = Estate::new();
    let flat = estate.flat(Some(true));
    let unit = estate.unit("CB", "EL-001", flat, None);
    assert_eq!(estate.proved(unit, "G1").line.standing, Standing::Unknown);
    estate.start(unit, "G1", "2022-03-15");
    estate.check(unit, "G1", "2022-02-12", true);
    assert_eq!(estate.deadline(unit, "G1"), Some(day("2023-03-15")));
    // First day of the window: 16 January. The day before resets.
    estate.check(unit, "G1", "2023-01-15", true);
    assert_eq!(estate.deadline(unit, "G1"), Some(day("2024-01-15")));
    estate.check(unit, "G1", "2024-01-20", true);
    let proved = estate.proved(unit, "G1");
    let last = proved.rows.last().unwrap();
    assert_eq!((last.result.as_str(), last.days_late), ("late", 5));
    assert_eq!(last.next_deadline, Some(day("2025-01-20")));
    assert!(last.reason.contains("breach"), "{}", last.reason);
    let kept = &proved.rows[1];
    assert_eq!(kept.result, "kept");
    assert_eq!(kept.treated_as, Some(day("2022-03-15")));
    assert_eq!(kept.done_on, Some(day("2022-02-12")), "both days are kept");
    // A visit that leaves check items undone is no check: still due, now late.
    estate.check(unit, "G1", "2025-01-10", false);
    assert_eq!(estate.deadline(unit, "G1"), Some(day("2025-01-20")));
    let line = estate.proved(unit, "G1").line;
    // From 20 January 2025 to 25 November 2026: 345 days to the year's end and 329 more.
    assert_eq!(line.standing, Standing::Late { days: 674 });
}

#[test]
fn a_row_that_comes_late_or_is_corrected_makes_the_rows_after_it_be_reckoned_anew() {
    let estate = Estate::new();
    let flat = estate.flat(None);
    let unit = estate.unit("CB", "EL-001", flat, None);
    estate.check(unit, "G1", "2025-03-20", true);
    assert_eq!(estate.deadline(unit, "G1"), Some(day("2026-03-20")));
    // The former agent's record turns up: the check of March 2025 was inside its window.
    estate.check(unit, "G1", "2024-04-10", true);
    assert_eq!(estate.deadline(unit, "G1"), Some(day("2026-04-10")));
    let proved = estate.proved(unit, "G1");
    let of_2025: Vec<_> = proved
        .rows
        .iter()
        .filter(|r| r.done_on == Some(day("2025-03-20")))
        .collect();
    assert_eq!(of_2025.len(), 2, "the former outcome stays readable");
    assert_eq!(
        of_2025.iter().filter(|r| r.superseded_at.is_some()).count(),
        1
    );
    // The same check again changes nothing.
    estate.check(unit, "G1", "2024-04-10", true);
    assert_eq!(estate.proved(unit, "G1").rows.len(), proved.rows.len());

    let wrong = proved
        .rows
        .iter()
        .find(|r| r.done_on == Some(day("2024-04-10")))
        .unwrap();
    let form = Correction {
        duty: proved.card.id,
        row: wrong.id,
        on: None,
        check_complete: false,
        evidence: String::new(),
        reason: "another flat's record".to_owned(),
        gas: GasPaper::default(),
    };
    let correct = |once: &str| duties::correct(estate.world(), &estate.seat, form.clone(), once);
    correct("c1").unwrap();
    assert_eq!(estate.deadline(unit, "G1"), Some(day("2026-03-20")));
    correct("c1").unwrap();
    assert!(matches!(correct("c2"), Err(Error::Conflict(_))));
}

#[test]
fn the_desk_cannot_record_what_cannot_be() {
    let estate = Estate::new();
    let flat = estate.flat(Some(true));
    let unit = estate.unit("CB", "EL-001", flat, Some("2024-06-01"));
    let duty = estate.proved(unit, "G1").card.id;
    let record = |on: &str, evidence: &str| {
        let form = Record {
            wiring: WiringPaper::default(),
            duty,
            on: day(on),
            check_complete: true,
            evidence: evidence.to_owned(),
            gas: gas_paper(),
        };
        duties::record(
            estate.world(),
            &estate.seat,
            form,
            &format!("r {on} {evidence}"),
        )
    };
    let fields = |error: Error| match error {
        Error::Invalid(wrongs) => wrongs.into_iter().map(|w| w.field).collect::<Vec<_>>(),
        other => panic!("{other}"),
    };
    assert_eq!(
        fields(record("2026-11-26", "record 7").unwrap_err()),
        ["on"]
    );
    assert_eq!(
        fields(record("2024-05-31", " ").unwrap_err()),
        ["on", "evidence"]
    );
    record("2026-11-25", "record 7").unwrap();
    assert_eq!(estate.deadline(unit, "G1"), Some(day("2027-11-25")));
}

#[test]
fn a_long_lease_is_not_our_gas_check_and_a_removed_unit_has_no_duties() {
    let estate = Estate::new();
    let sold = estate.flat(Some(false));
    let leased = estate.unit("CB", "EL-001", sold, None);
    let proof = duties::proof(estate.world(), &estate.seat, leased).unwrap();
    assert!(proof.duties.iter().all(|d| d.line.rule.code != "G1"));
    assert_eq!(proof.not_ours.len(), 1);
    assert_eq!(proof.not_ours[0].code, "G1");

    let flat = estate.flat(Some(true));
    let old = estate.unit("CB", "EL-002", flat, None);
    let due = || duties::due(estate.world(), &estate.seat, day("2030-01-01")).unwrap();
    assert!(due().iter().any(|l| l.at == DutyAt::Unit(old)));
    estate
        .world()
        .acting(&estate.seat, |tx| {
            let mut card = tx.unit(old)?;
            card.fate = Fate::Removed;
            card.fate_on = Some(day("2026-11-20"));
            tx.state_unit(old, &card, None)?;
            tx.end_stay(old, day("2026-11-20"))?;
            let card = tx.unit(old)?;
            duties::ensure_for_unit(tx, &card)
        })
        .unwrap();
    assert!(due().iter().all(|l| l.at != DutyAt::Unit(old)));
    let ended = estate.proved(old, "G1");
    assert_eq!(ended.card.ended_on, Some(day("2026-11-20")));
    assert_eq!(
        duties::refresh(estate.world(), &estate.seat).unwrap(),
        2,
        "the clock's own task finds nothing to change"
    );
    assert!(due().iter().all(|l| l.at != DutyAt::Unit(old)));
}

// Regulation 36A(2): a new appliance's first check within twelve months of fitting, once moved by up to two
// months to line up with another in the home (law text read: SI 2018/139); worked by hand.
#[test]
fn a_new_boiler_lines_up_once_with_the_flats_other_one() {
    let estate = Estate::new();
    for (other, expected) in [("2026-07-20", "2026-07-20"), ("2026-08-20", "2026-06-01")] {
        estate.go_to("2025-06-02");
        let flat = estate.flat(Some(true));
        let number = format!("EL-{other}");
        let first = estate.unit("GB", &number, flat, None);
        estate.start(first, "G1", other);
        let new = estate.unit("CB", &format!("{number}-n"), flat, Some("2025-06-01"));
        // Its own date stands until the desk says otherwise; what the law allows is offered.
        assert_eq!(estate.deadline(new, "G1"), Some(day("2026-06-01")));
        let offered: Vec<NaiveDate> = duties::alignments(estate.world(), &estate.seat)
            .unwrap()
            .into_iter()
            .filter(|a| a.unit.id == new)
            .map(|a| a.with)
            .collect();
        let duty = estate.proved(new, "G1").card.id;
        let line_up = |once: &str| duties::line_up(estate.world(), &estate.seat, duty, once);
        if expected == other {
            assert_eq!(offered, [day(other)]);
            assert_eq!(line_up("l1").unwrap(), day(other));
            assert_eq!(line_up("l1").unwrap(), day(other), "a repeated press");
            assert!(matches!(line_up("l2"), Err(Error::Conflict(_))), "used up");
        } else {
            assert!(offered.is_empty(), "{offered:?}");
            assert!(matches!(line_up("l3"), Err(Error::Conflict(_))), "too far");
        }
        assert_eq!(estate.deadline(new, "G1"), Some(day(expected)));
    }
    // A service counted in rounds has its first date twelve months on.
    let flat = estate.flat(Some(true));
    let hiu = estate.unit("HIU", "EL-900", flat, Some("2025-05-10"));
    assert_eq!(estate.deadline(hiu, "N5"), Some(day("2026-05-10")));
    // Rounds keep their nominal dates: done within fourteen days either way they stay.
    estate.go_to("2026-06-30");
    estate.check(hiu, "N5", "2026-05-20", true);
    assert_eq!(estate.deadline(hiu, "N5"), Some(day("2027-05-10")));
}

#[test]
fn another_estate_sees_nothing_and_cannot_write() {
    let estate = Estate::new();
    let flat = estate.flat(Some(true));
    let unit = estate.unit("CB", "EL-001", flat, None);
    let duty = estate.proved(unit, "G1").card.id;
    let other = founding::found_estate(estate.world(), "Other Estate", false).unwrap();
    assert!(matches!(
        duties::proof(estate.world(), &other, unit),
        Err(Error::NotFound(_))
    ));
    assert!(
        duties::due(estate.world(), &other, day("2040-01-01"))
            .unwrap()
            .is_empty()
    );
    let form = Record {
        wiring: WiringPaper::default(),
        duty,
        on: day("2026-11-20"),
        check_complete: true,
        evidence: "record".to_owned(),
        gas: gas_paper(),
    };
    assert!(matches!(
        duties::record(estate.world(), &other, form, "r"),
        Err(Error::NotFound(_))
    ));
}

#[test]
fn the_export_holds_no_formula_and_is_noted() {
    let estate = Estate::new();
    let flat = estate.flat(Some(true));
    let unit = estate.unit("CB", "EL-001", flat, None);
    let duty = estate.proved(unit, "G1").card.id;
    let form = Record {
        wiring: WiringPaper::default(),
        duty,
        on: day("2026-11-20"),
        check_complete: true,
        evidence: "=HYPERLINK(\"http://x\",\"a, b\")".to_owned(),
        gas: gas_paper(),
    };
    duties::record(estate.world(), &estate.seat, form, "r").unwrap();
    let text = duties::export(estate.world(), &estate.seat).unwrap();
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let column = reader
        .headers()
        .unwrap()
        .iter()
        .position(|h| h == "evidence")
        .unwrap();
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert!(rows.len() >= 3, "gas check, service and water: {text}");
    assert!(
        rows.iter()
            .any(|row| row[column].starts_with("'=HYPERLINK")),
        "{text}"
    );
    for row in &rows {
        assert!(
            row.iter()
                .all(|cell| !cell.starts_with(['=', '+', '-', '@', '\t', '\r'])),
            "{row:?}"
        );
    }
    for cell in ["=1", "+1", "-1", "@x", "\tx", "\rx"] {
        assert_eq!(duties::harmless(cell), format!("'{cell}"));
    }
    assert_eq!(duties::harmless("Flat 1 = home"), "Flat 1 = home");
}

#[test]
fn a_stated_deadline_outlasts_older_checks_and_yields_to_newer_ones() {
    let estate = Estate::new();
    let flat = estate.flat(Some(true));
    let unit = estate.unit("CB", "EL-001", flat, None);
    estate.start(unit, "G1", "2027-03-15");
    estate.check(unit, "G1", "2026-02-12", true);
    estate.check(unit, "G1", "2025-02-20", true);
    assert_eq!(
        estate.deadline(unit, "G1"),
        Some(day("2027-03-15")),
        "the checks are older than the year the list speaks of"
    );
    estate.go_to("2027-02-01");
    estate.check(unit, "G1", "2027-02-01", true);
    assert_eq!(estate.deadline(unit, "G1"), Some(day("2028-03-15")));
}
