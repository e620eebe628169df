//! A building whose boilers are old and whose purse is small: what the tests of the programme stand on. Invented.
use chrono::TimeDelta;
use planning::programme::{audit, audit_proven};
use store::jobs::Which;
use terms::{BuildingId, Pence, Role, UnitId};
use usecases::founding::{self, NewPerson};
use usecases::plan::{
    self, BudgetForm, BuildingProgramme, Making, PlanWish, TieForm, TieKind, WhatIf,
};
use usecases::{Error, World, forecast};

use crate::duties::{Estate, day};
use crate::forecast::failure;

/// An estate with old boilers.
pub struct Old {
    pub estate: Estate,
    pub units: Vec<UnitId>,
}

impl Old {
    /// In a database of its own.
    pub fn new(count: usize) -> Self {
        Self::of(Estate::new(), count)
    }

    /// `count` boilers fitted one year after the other from 1992 on, each with two or three failures a year on record:
    /// age alone replaces nothing.
    pub fn of(estate: Estate, count: usize) -> Self {
        let units = old_boilers(&estate, "EL", count);
        Self { estate, units }
    }

    pub fn world(&self) -> &World {
        self.estate.world()
    }

    pub fn building(&self) -> BuildingId {
        self.estate.building
    }

    /// So much comes in every year; the purse opens with `opening` and may not fall under nothing.
    pub fn money(&self, pounds: i64, opening: i64, once: &str) {
        let form = BudgetForm {
            building: self.building(),
            year: 2027,
            pence: Pence(pounds * 100),
            opening: Some(Pence(opening * 100)),
            floor: Some(Pence(0)),
        };
        plan::state_budget(self.world(), &self.estate.seat, form, once).unwrap();
    }

    pub fn make(&self, what_if: WhatIf, name: Option<&str>, once: &str) -> Result<Making, Error> {
        let wish = PlanWish {
            building: self.building(),
            what_if,
            name: name.map(str::to_owned),
        };
        plan::make_plan(self.world(), &self.estate.seat, wish, once)
    }

    /// Ties units to years or to each other.
    pub fn tie(
        &self,
        kind: TieKind,
        units: &[UnitId],
        year: Option<i32>,
        once: &str,
    ) -> Result<(), Error> {
        let form = TieForm {
            building: self.building(),
            kind,
            units: units.to_vec(),
            year,
            why: "the scaffold stands then".to_owned(),
        };
        plan::tie_units(self.world(), &self.estate.seat, form, once)
    }

    /// The plan as stated, made and read, and found without fault by the audits that share nothing with it.
    pub fn planned(&self, once: &str) -> BuildingProgramme {
        assert!(matches!(
            self.make(WhatIf::AsStated, None, once).unwrap(),
            Making::Made(_)
        ));
        let found = self.read();
        faultless(&found);
        found
    }

    pub fn read(&self) -> BuildingProgramme {
        plan::programme(self.world(), &self.estate.seat, Some(self.building())).unwrap()
    }

    pub fn person(&self, email: &str, role: Role) {
        person(
            &self.estate,
            email,
            role,
            (role == Role::Landlord).then(|| vec![self.building()]),
        );
    }

    /// Open jobs of the estate.
    pub fn jobs(&self) -> Vec<store::jobs::Job> {
        self.world()
            .acting(&self.estate.seat, |tx| Ok(tx.jobs(&Which::Open)?))
            .unwrap()
    }
}

/// `count` such boilers in the estate's building.
pub fn old_boilers(estate: &Estate, code: &str, count: usize) -> Vec<UnitId> {
    let units: Vec<UnitId> = (0..count)
        .map(|n| {
            let flat = estate.flat(Some(true));
            let fitted = format!("{}-05-01", 1992 + n % 20);
            estate.unit("CB", &format!("{code}-{n:03}"), flat, Some(&fitted))
        })
        .collect();
    for (n, unit) in units.iter().enumerate() {
        fail(estate, *unit, 2 + n % 2);
    }
    units
}

/// `count` boilers, one a flat, whose check, service and controls fall due by one day: one visit each.
pub fn due_together(estate: &Estate, count: u32, deadline: &str) -> Vec<UnitId> {
    (0..count)
        .map(|n| {
            let flat = estate.flat(Some(true));
            let unit = estate.unit("CB", &format!("EL-{n:03}"), flat, None);
            for rule in ["G1", "G4", "H1"] {
                estate.start(unit, rule, deadline);
            }
            unit
        })
        .collect()
}

/// So many failures in each of the last three heating seasons, far enough apart to count each.
fn fail(estate: &Estate, unit: UnitId, a_year: usize) {
    let days = [(2023, 12), (2024, 12), (2025, 12)]
        .into_iter()
        .flat_map(|(year, month)| (0..a_year).map(move |k| (year, month, k)));
    estate
        .world()
        .acting(&estate.seat, |tx| {
            for (year, month, k) in days {
                let on = day(&format!("{year}-{month}-01")) + TimeDelta::days(50 * k as i64);
                tx.add_failure(&failure(unit, &on.to_string()), None)?;
            }
            forecast::renew_unit(tx, unit)
        })
        .unwrap();
}

pub fn person(estate: &Estate, email: &str, role: Role, buildings: Option<Vec<BuildingId>>) {
    let person = NewPerson {
        email: email.to_owned(),
        name: "Somebody".to_owned(),
        password: usecases::door::DEMO_PASSWORD.to_owned(),
        demo: true,
        estate: estate.seat.estate(),
        role,
        firm: None,
        buildings,
    };
    founding::add_person(estate.world(), &person).unwrap();
}

/// The kept plan of a programme against the rules: sums, purse, ties, setting-up, consultation.
pub fn faultless(found: &BuildingProgramme) {
    let card = found.plan.as_ref().expect("a plan is made");
    let (asked, programme) = (&card.asked, &card.made.proven.programme);
    assert_eq!(
        audit(&asked.input, programme),
        [],
        "{}",
        found.building.name
    );
    if card.made.proven.stands() && card.made.optimised {
        let cost = card.made.proven.cost;
        let breaches = audit_proven(&asked.input, &asked.limits, (programme, cost));
        assert_eq!(breaches, [], "{}", found.building.name);
        assert!(card.made.proven.bound <= card.made.proven.cost);
        for beside in card.made.beside.iter().filter(|b| b.undone == 0) {
            assert!(
                beside.figures.cost >= card.made.proven.bound,
                "a plain way under the bound: {beside:?}"
            );
        }
    }
}
