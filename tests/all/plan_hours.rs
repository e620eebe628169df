//! What replacements disturb: hours without heating as a limit of the programme, and the homes a plant feeds. Estates invented.
use store::branches::End;
use terms::{Pence, Role, UnitId};
use usecases::Error;
use usecases::plan::{self, BuildingProgramme, Limits};

use crate::duties::{Estate, day};
use crate::plan_estate::Old;
use crate::support::TestApp;

/// Home-hours of a unit replaced like for like.
fn hours(found: &BuildingProgramme, unit: UnitId) -> u32 {
    let mut units = found.input.units.iter();
    let unit = units.find(|u| u.unit == unit).expect("it is planned");
    let choices = unit.choices();
    let same = choices.iter().find(|c| c.option == "CB");
    same.map_or(unit.home_hours, |c| c.home_hours)
}

/// A boiler is out for six hours (our guess, FITTING), so six a year are one replacement a year; and that limit is what keeps a
/// unit waiting.
#[test]
fn hours_without_heating_are_a_limit_and_the_page_names_it() {
    let app = TestApp::start();
    let old = Old::of(Estate::over(&app.database.world, "Test Estate"), 6);
    old.person("agent@test", Role::Agent);
    old.money(60_000, 30_000, "m");
    let agent = app.signed_in("agent@test");
    let path = format!("/programme/{}/limits", old.building());
    let state = |hours: &str, once: &str| {
        let fields = [("once", once), ("years", "10"), ("hours_a_year", hours)];
        agent.post(&path, &fields)
    };
    let refused = state("none", "l1");
    assert_eq!(refused.status(), 422);
    let page = refused.text().unwrap();
    assert!(
        page.contains("is not a number") && page.contains("value=\"none\""),
        "{page}"
    );
    assert_eq!(state("6", "l2").status(), 303);
    let found = old.planned("p1");
    assert_eq!(found.limits.hours_a_year, Some(6));
    assert_eq!(hours(&found, old.units[0]), 6);
    let input = &found.input;
    for line in &found.programme.years {
        let disturbs = line.replacements.iter().map(|r| {
            let unit = input.units.iter().find(|u| u.unit == r.unit).unwrap();
            let choices = unit.choices();
            choices
                .iter()
                .find(|c| c.option == r.option)
                .unwrap()
                .home_hours
        });
        assert!(disturbs.sum::<u32>() <= 6, "{line:?}");
    }
    let late = found.programme.years.iter().flat_map(|l| &l.replacements);
    let late = late.filter(|r| r.years_late > 0).map(|r| r.unit).next();
    let late = late.expect("a unit waits");
    let seat = &old.estate.seat;
    let view = plan::unit_year(old.world(), seat, (old.building(), late), None).unwrap();
    assert_eq!(view.binds, Some(vec![plan::Binds::Hours]));
    let page = agent.page(&format!("/programme/{}/units/{late}", old.building()));
    assert!(
        page.contains("the most home-hours without heating in a year"),
        "{page}"
    );
    let page = agent.page("/programme");
    assert!(
        page.contains("without heating a year, of which the fullest year has 6"),
        "{page}"
    );
    // Replacements and hours may both be limited: the tighter holds.
    let both = Limits {
        homes_a_year: Some(2),
        hours_a_year: Some(60),
        ..Limits::default()
    };
    plan::state_limits(old.world(), seat, (old.building(), both), "l3").unwrap();
    let found = old.planned("p2");
    let years = found.programme.years.iter();
    assert_eq!(years.map(|l| l.replacements.len()).max(), Some(2));
}

/// One boiler feeds three flats: while it is out all three are without, eighteen home-hours. With a second on the same branch, of
/// which one suffices, only the flat it stands in counts. By hand.
#[test]
fn a_plant_counts_every_home_it_feeds_unless_another_suffices() {
    let old = Old::new(3);
    old.money(60_000, 30_000, "m");
    let (world, seat) = (old.world(), &old.estate.seat);
    let alone = old.planned("p1");
    assert_eq!(old.units.iter().map(|u| hours(&alone, *u)).sum::<u32>(), 18);
    let cold = |found: &BuildingProgramme| {
        let plan = found.plan.as_ref().unwrap();
        plan.made.figures.cold_homes
    };
    let branch = world
        .acting(seat, |tx| {
            let branch = tx.add_branch(old.building(), "Header 1", "header", Some(1))?;
            let on = day("2020-01-01");
            tx.link_branch(branch, End::FedBy(old.units[0]), on)?;
            for unit in &old.units {
                let space = tx.unit(*unit)?.space;
                tx.link_branch(branch, End::Space(space), on)?;
            }
            Ok::<_, Error>(branch)
        })
        .unwrap();
    let feeds = old.planned("p2");
    let each = |found: &BuildingProgramme| -> Vec<u32> {
        old.units.iter().map(|u| hours(found, *u)).collect()
    };
    assert_eq!(each(&feeds), [18, 6, 6]);
    assert!(cold(&feeds) > cold(&alone), "its failures take three homes");
    world
        .acting(seat, |tx| {
            let on = day("2020-01-01");
            Ok::<_, Error>(tx.link_branch(branch, End::FedBy(old.units[1]), on)?)
        })
        .unwrap();
    let spare = old.planned("p3");
    assert_eq!(each(&spare), [6, 6, 6]);
    assert!((cold(&spare) - cold(&alone)).abs() < cold(&alone) * 0.5);
    assert!(spare.plan.unwrap().made.figures.spent > Pence(0));
}
