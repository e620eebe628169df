//! A new estate starts with the trade's data, whole and readable, and with people who can sign in.
use chrono::NaiveDate;
use terms::{Covers, Pence, Qualification, Role};
use usecases::founding::{
    NewEngineer, NewPerson, add_engineer, add_firm, add_person, duties, found_estate, kinds,
    open_estates, parts, prices, shipped,
};
use usecases::{Error, Seat};

use crate::support::TestDatabase;

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

/// The 18 kinds and the figures of the trade's table of units (common practice, no source, but for the combi
/// boiler, which lies between two press surveys).
#[test]
fn the_shipped_data_is_whole() {
    let shipped = shipped().unwrap();
    assert_eq!(shipped.kinds.len(), 18);
    let combi = shipped.kinds.iter().find(|k| k.code == "CB").unwrap();
    assert_eq!(
        (
            combi.life_median_years,
            combi.rate_3y,
            combi.rate_10y,
            combi.rate_15y
        ),
        (14.0, 0.09, 0.18, 0.24)
    );
    assert_eq!(combi.rate_sd_log, 0.7);
    for kind in &shipped.kinds {
        let theirs: Vec<_> = shipped
            .parts
            .iter()
            .filter(|p| p.kind == kind.code)
            .collect();
        let sum: f64 = theirs.iter().map(|p| p.share).sum();
        assert!(
            (sum - 1.0).abs() < 0.011,
            "shares of {} add up to {sum}",
            kind.code
        );
        let items: Vec<&str> = shipped
            .prices
            .iter()
            .filter(|p| p.kind == kind.code)
            .map(|p| p.item.as_str())
            .collect();
        for needed in ["service", "check", "repair"] {
            assert!(
                items.contains(&needed),
                "{} has no price for {needed}",
                kind.code
            );
        }
        assert!(items.contains(&format!("replace:{}", kind.code).as_str()));
        for item in items.iter().filter_map(|i| i.strip_prefix("repair:")) {
            assert!(
                theirs.iter().any(|p| p.code == item),
                "{}: no part {item}",
                kind.code
            );
        }
    }
    for code in [
        "G1", "G4", "U1", "N5", "H1", "H3", "H4", "L7", "L8", "V1", "V2", "P3",
    ] {
        assert!(shipped.duties.iter().any(|d| d.code == code), "{code}");
    }
    let check = shipped.duties.iter().find(|d| d.code == "G1").unwrap();
    assert_eq!(
        (check.window_rule.as_str(), check.months, check.minutes),
        ("W1", 12, 30)
    );
    assert_eq!(check.kinds, ["CB", "GB"]);
}

/// The shipped table against the rules computed in `inspection`, which are checked against PyPI `holidays` there.
#[test]
fn the_shipped_bank_holidays_are_those_of_the_rules() {
    let shipped = shipped().unwrap();
    let listed: Vec<NaiveDate> = shipped
        .bank_holidays
        .iter()
        .map(|(_, day, _)| *day)
        .collect();
    let ruled: Vec<NaiveDate> = (2024..=2028)
        .flat_map(inspection::clock::bank_holidays_england)
        .collect();
    assert_eq!(listed, ruled);
}

#[test]
fn what_is_wrong_in_a_data_file_is_named_by_row_and_column() {
    let text = "code,name,plural,life_median_years,life_shape,rate_3y,rate_10y,rate_15y,rate_sd_log,gas,covers,status,as_at\n\
        CB,boiler,boilers,14,3,0.1,0.2,0.3,0.7,yes,gas,x,2026-07-01\n\
        GB,boiler,boilers,sixteen,3,0.1,0.2,0.3,0.7,yes,gas,x,2026-07-01\n";
    let error = kinds(text).unwrap_err();
    assert_eq!((error.row, error.column.as_str()), (3, "life_median_years"));
    assert!(error.to_string().contains("“sixteen”"), "{error}");
    let stranger = parts(
        "unit_kind,part_code,part,share,shape,clock\nZZ,a,A,0.1,1,part\n",
        &["CB"],
        day("2026-07-01"),
    );
    assert_eq!(stranger.unwrap_err().column, "unit_kind");
    let upside = prices(
        "kind,item,name,low_pence,likely_pence,high_pence,vat_percent,status,as_at\nCB,repair,r,500,400,600,20,x,2026-07-01\n",
        &["CB"],
    );
    assert_eq!(upside.unwrap_err().row, 2);
    let lost = duties("code,name\nG1,Check\n", &["CB"]).unwrap_err();
    assert_eq!(lost.column, "window_rule");
}

#[test]
fn an_estate_is_founded_once_with_everything_and_an_audit_entry() {
    let database = TestDatabase::new();
    let world = &database.world;
    let seat = found_estate(world, "Larkmoor Estate", true).unwrap();
    let again = found_estate(world, "Larkmoor Estate", false);
    assert!(matches!(again, Err(Error::Invalid(_))));
    assert_eq!(
        open_estates(world).unwrap(),
        [(seat.estate(), "Larkmoor Estate".to_owned(), true)]
    );
    let today = world.now().date_naive();
    world
        .acting(&seat, |tx| {
            assert_eq!(tx.kinds()?.len(), 18);
            assert_eq!(tx.part_shares()?.len(), shipped().unwrap().parts.len());
            assert!(tx.prices_of("CB")?.iter().any(|p| p.item == "replace:CB"));
            let rate = tx.rate_on(today)?;
            // The Green Book's schedule whole (economics_published.json, kind green_book_factor).
            let known = costing::RateSchedule::default().first_and_later();
            assert_eq!(known, Some((rate.rate, rate.later)));
            assert_eq!(
                (rate.rate, rate.as_at),
                (0.035, "2025-12-16".parse().unwrap())
            );
            let who = seat.account();
            let engineer = tx.authority_of(Role::Contractor, who, today)?.unwrap();
            assert_eq!(engineer.limit, Pence(25_000));
            let agent = tx.authority_of(Role::Agent, who, today)?.unwrap();
            assert_eq!(agent.limit, Pence(50_000));
            assert!(matches!(
                tx.verify_chain()?,
                store::audit::ChainVerdict::Whole { entries: 1, .. }
            ));
            Ok(())
        })
        .unwrap();
}

#[test]
fn an_authority_is_stated_anew_and_a_persons_own_comes_before_the_roles() {
    let database = TestDatabase::new();
    let world = &database.world;
    let seat = found_estate(world, "Larkmoor Estate", true).unwrap();
    let firm = add_firm(world, seat.estate(), "Fenwright Heating", 2_400).unwrap();
    let person = add_person(world, &person("eve@example.test", Some(firm))).unwrap_err();
    assert!(
        matches!(person, Error::Invalid(_)),
        "no such estate role without a name"
    );
    let today = world.now().date_naive();
    world
        .acting(&seat, |tx| {
            let who = seat.account();
            let mut own = tx.authority_of(Role::Agent, who, today)?.unwrap();
            own.account = Some(who);
            own.limit = Pence(90_000);
            tx.state_authority(&own)?;
            assert_eq!(
                tx.authority_of(Role::Agent, who, today)?.unwrap().limit,
                Pence(90_000)
            );
            own.limit = Pence(80_000);
            tx.state_authority(&own)?;
            assert_eq!(
                tx.authority_of(Role::Agent, who, today)?.unwrap().limit,
                Pence(80_000)
            );
            Ok(())
        })
        .unwrap();
}

fn person(email: &str, firm: Option<terms::FirmId>) -> NewPerson {
    NewPerson {
        email: email.to_owned(),
        name: String::new(),
        password: "riser-demo-only".to_owned(),
        demo: true,
        estate: terms::EstateId(uuid::Uuid::nil()),
        role: Role::Contractor,
        firm,
        buildings: None,
    }
}

#[test]
fn a_contractor_needs_a_firm_and_an_engineer_gets_papers_and_instruments() {
    let database = TestDatabase::new();
    let world = &database.world;
    let seat = found_estate(world, "Larkmoor Estate", true).unwrap();
    let mut form = NewPerson {
        name: "Tess Test".to_owned(),
        estate: seat.estate(),
        ..person("tess@example.test", None)
    };
    let Err(Error::Invalid(wrongs)) = add_person(world, &form) else {
        panic!("a contractor without a firm was taken");
    };
    assert_eq!(wrongs[0].field, "firm");
    let firm = add_firm(world, seat.estate(), "Fenwright Heating", 2_400).unwrap();
    form.firm = Some(firm);
    let account = add_person(world, &form).unwrap();
    assert!(
        add_person(world, &form).is_err(),
        "the sign-in name is taken"
    );
    let engineer = NewEngineer {
        firm,
        name: "Tess Test".to_owned(),
        account: Some(account),
        qualifications: vec![Qualification {
            covers: Covers::Gas,
            number: "T-1".to_owned(),
            from_on: day("2026-01-01"),
            until_on: day("2027-01-01"),
        }],
        instruments: vec![("Thermometer TH-1".to_owned(), day("2027-03-01"))],
    };
    let id = add_engineer(world, &engineer).unwrap();
    let person = world
        .pool
        .at_door::<_, Error>(|door| Ok(door.person_of(account, world.now().date_naive())?))
        .unwrap()
        .unwrap();
    let own = Seat::first(&person, &[Role::Contractor]).unwrap();
    assert_eq!(own.engineer(), Some(id));
    assert_eq!(
        usecases::founding::instruments(world, firm, Some(id))
            .unwrap()
            .len(),
        1
    );
}
