//! Nine years of history, entered as it came: what happened before the register's last year in one go, the last
//! year quarter by quarter with the clock moved, so that forecasts made then knew only what was known then.
use std::collections::BTreeMap;
use std::sync::Arc;

use chrono::{Days, Months, NaiveDate, NaiveTime};
use terms::{Fate, FixedClock, Pence, UnitId};
use usecases::founding::Shipped;
use usecases::past::{PastEntry, PastFailure, enter_past};
use usecases::register::{NewUnit, Replacement, UnitFacts, add_unit, replace_unit};
use usecases::{Error, Seat, World};

use crate::fleet::{self, Plan};
use crate::simulate::{Dice, Happening, Subject, history};

/// So far back there is a paper for each check.
const PROVED_DAYS: u64 = 26 * 30;

/// One unit of the demo with what will be told of it.
#[derive(Debug)]
struct Life {
    plan: Plan,
    /// The day it enters the register; before that day it does not exist there.
    enters: NaiveDate,
    happenings: Vec<Happening>,
    /// The unit that follows when this one is written off.
    next: Option<Box<Life>>,
    dice: Dice,
}

/// Enters units and their past; the clock ends on the evening before `today`.
#[derive(Debug)]
pub struct Telling<'a> {
    world: World,
    clock: Arc<FixedClock>,
    seat: &'a Seat,
    shipped: &'a Shipped,
    today: NaiveDate,
    opened: NaiveDate,
}

impl<'a> Telling<'a> {
    /// A telling of nine years up to `today`, in a world whose clock is `clock`.
    pub fn new(
        (world, clock): (World, Arc<FixedClock>),
        seat: &'a Seat,
        shipped: &'a Shipped,
        today: NaiveDate,
    ) -> Self {
        let opened = today - Days::new(9 * 365 + 2);
        Self {
            world,
            clock,
            seat,
            shipped,
            today,
            opened,
        }
    }

    fn evening(&self, day: NaiveDate) {
        let at = day.and_time(NaiveTime::from_hms_opt(18, 0, 0).unwrap_or_default());
        self.clock.set(at.and_utc());
    }

    /// Tells everything; returns the units now in service by space name and kind.
    pub fn tell(
        &self,
        dice: &mut Dice,
        plans: Vec<Plan>,
        at_a_year_ago: impl FnOnce(&World) -> Result<(), Error>,
    ) -> Result<BTreeMap<(String, String), UnitId>, Error> {
        let mut lives: Vec<Life> = plans.into_iter().map(|p| self.life(dice, p, 0)).collect();
        let mut units: Vec<Option<UnitId>> = vec![None; lives.len()];
        let year_ago = self.today - Days::new(367);
        let mut chapter_ends = vec![year_ago];
        chapter_ends.extend((1..=4).map(|quarter| year_ago + Days::new(quarter * 91)));
        let mut from = self.opened;
        let mut at_a_year_ago = Some(at_a_year_ago);
        for until in chapter_ends {
            let until = until.min(self.today - Days::new(1));
            self.evening(until);
            for (life, unit) in lives.iter_mut().zip(units.iter_mut()) {
                self.chapter(life, unit, (from, until))?;
            }
            if let Some(then) = at_a_year_ago.take() {
                then(&self.world)?;
            }
            from = until;
        }
        Ok(lives
            .iter()
            .zip(units)
            .filter_map(|(life, unit)| {
                let key = (
                    format!("{} {}", life.plan.space.building_name, life.plan.space.name),
                    life.plan.kind.to_owned(),
                );
                unit.map(|unit| (key, unit))
            })
            .collect())
    }

    fn life(&self, dice: &mut Dice, plan: Plan, depth: u32) -> Life {
        let subject = Subject {
            kind: plan.kind.to_owned(),
            fitted: plan.fitted,
            block: plan.block,
        };
        let from = self.opened.max(plan.fitted);
        let mut own = dice.split();
        let mut happenings = history(&mut own, self.shipped, &subject, from, self.today);
        self.the_flats_of_the_story(&plan, &mut happenings);
        let ended = happenings.iter().find_map(|h| match h {
            Happening::WrittenOff { on } => Some(*on),
            _ => None,
        });
        let next = ended.filter(|_| depth < 3).map(|on| {
            let fitted = self.replaced_on(on);
            let facts = UnitFacts {
                installed: Some((fitted, fitted)),
                serial: format!("R{}-{:05}", fitted.format("%y"), own.between(1, 99_999)),
                filter_fitted: plan.facts.filter_fitted.map(|_| true),
                reducer_fitted: plan.facts.reducer_fitted.map(|_| true),
                warranty_until: Some(fitted + Days::new(5 * 365)),
                ..plan.facts.clone()
            };
            Box::new(self.life(
                &mut own,
                Plan {
                    fitted,
                    facts,
                    ..plan.clone()
                },
                depth + 1,
            ))
        });
        Life {
            enters: from,
            plan,
            happenings,
            next,
            dice: own,
        }
    }

    /// A home waits four days for its new unit.
    fn replaced_on(&self, written_off: NaiveDate) -> NaiveDate {
        (written_off + Days::new(4)).min(self.today - Days::new(1))
    }

    /// Some flats are written, not drawn, as TRUTH.md says. The boiler of flat 17 had two repairs in the last year, no
    /// filter, and is due its service; at flat 40 the yearly check falls due next week and nobody opens; a strainer
    /// at the foot of riser 4 of the tower once cooled five flats.
    fn the_flats_of_the_story(&self, plan: &Plan, happenings: &mut Vec<Happening>) {
        let building = plan.space.building_name.as_str();
        let on_riser_4 = fleet::flat_number(&plan.space) % 6 == 4;
        match (building, plan.kind, plan.space.name.as_str()) {
            ("Bryony Tower", "HIU", _) if on_riser_4 && (9..=13).contains(&plan.space.ordinal) => {
                happenings.push(Happening::Failed {
                    on: self.today - Days::new(430),
                    part: None,
                    no_fault_found: true,
                    replaced: false,
                    repeat: false,
                });
                happenings.sort_by_key(Happening::on);
            }
            ("Sorrel House", "CB", "Flat 17") => self.serviced_and_repaired(happenings),
            ("Sorrel House", "CB", "Flat 40") => self.served_a_year_apart(happenings, 356),
            _ => {}
        }
    }

    /// Of all services that are proved, the last two are on these days.
    fn served_a_year_apart(&self, happenings: &mut Vec<Happening>, days_ago: u64) {
        let proved = self.today - Days::new(PROVED_DAYS);
        happenings.retain(|h| !matches!(h, Happening::Served { on } if *on > proved));
        for ago in [days_ago + 365, days_ago] {
            let on = self.today - Days::new(ago);
            happenings.push(Happening::Served { on });
        }
        happenings.sort_by_key(Happening::on);
    }

    fn serviced_and_repaired(&self, happenings: &mut Vec<Happening>) {
        let year_ago = self.today - Days::new(365);
        happenings.retain(|h| !matches!(h, Happening::WrittenOff { .. }) && h.on() < year_ago);
        let failed = |ago: u64, part: &str| Happening::Failed {
            on: self.today - Days::new(ago),
            part: Some(part.to_owned()),
            no_fault_found: false,
            replaced: true,
            repeat: false,
        };
        happenings.retain(|h| h.on() < self.today - Days::new(390));
        self.served_a_year_apart(happenings, 351);
        happenings.push(failed(300, "pump"));
        happenings.push(failed(120, "electrode"));
    }

    /// What happened to one unit in a stretch of time, written down at its end.
    fn chapter(
        &self,
        life: &mut Life,
        unit: &mut Option<UnitId>,
        (from, until): (NaiveDate, NaiveDate),
    ) -> Result<(), Error> {
        if unit.is_none() && life.enters <= until {
            *unit = Some(self.enter_unit(life)?);
        }
        let Some(mut id) = *unit else { return Ok(()) };
        loop {
            let entries = self.entries(life, id, (from, until));
            if !entries.is_empty() {
                enter_past(
                    &self.world,
                    self.seat,
                    &entries,
                    &format!("past {id} {until}"),
                )?;
            }
            let ended = life.happenings.iter().find_map(|h| match h {
                Happening::WrittenOff { on } => Some(self.replaced_on(*on)),
                _ => None,
            });
            let ended = ended.filter(|on| *on > from && *on <= until);
            let Some(on) = ended else { return Ok(()) };
            let Some(next) = life.next.take() else {
                return Ok(());
            };
            *life = *next;
            let facts = life.plan.facts.clone();
            let form = Replacement {
                old: id,
                facts,
                on: on.max(life.enters),
                fate: Fate::WrittenOff,
            };
            id = replace_unit(&self.world, self.seat, form, &format!("replaced {id}"))?;
            *unit = Some(id);
        }
    }

    fn enter_unit(&self, life: &Life) -> Result<UnitId, Error> {
        let form = NewUnit {
            space: life.plan.space.id,
            facts: life.plan.facts.clone(),
            placed_from: life.plan.facts.installed.map(|(_, last)| last),
            watched_from: Some(life.enters),
        };
        let once = format!("unit {} {}", life.plan.space.id, life.plan.facts.serial);
        let once = format!("{once} {} {}", life.plan.kind, life.plan.fitted);
        add_unit(&self.world, self.seat, form, &once)
    }

    fn entries(
        &self,
        life: &mut Life,
        unit: UnitId,
        (from, until): (NaiveDate, NaiveDate),
    ) -> Vec<PastEntry> {
        let happenings: Vec<Happening> = life
            .happenings
            .iter()
            .filter(|h| h.on() > from && h.on() <= until)
            .cloned()
            .collect();
        let mut entries = Vec::new();
        for (n, happening) in happenings.iter().enumerate() {
            match happening {
                Happening::Failed {
                    on,
                    part,
                    no_fault_found,
                    replaced,
                    repeat,
                } => {
                    let mark = if *repeat { "same fault" } else { "" };
                    let part = part.as_deref();
                    let failure = self.failure(life, unit, *on, (part, *no_fault_found, *replaced));
                    let failure = PastFailure {
                        same_as: String::new(),
                        ..failure
                    };
                    let words = format!("{} {mark}", failure.words).trim().to_owned();
                    entries.push(PastEntry::Failed(PastFailure { words, ..failure }));
                }
                Happening::Served { on } => self.serve(life, unit, (*on, n), &mut entries),
                Happening::WrittenOff { .. } => {}
            }
        }
        entries.extend(self.between_services(life, unit, (from, until)));
        entries
    }

    /// The short rounds of site staff and laboratories, on fixed days since the unit entered the register.
    fn between_services(
        &self,
        life: &Life,
        unit: UnitId,
        (from, until): (NaiveDate, NaiveDate),
    ) -> Vec<PastEntry> {
        let lately = self.today - Days::new(PROVED_DAYS);
        let mut entries = Vec::new();
        for (rule, months) in fleet::met_between(life.plan.kind) {
            let days = (1..600).map(|n| life.enters + Months::new(n * months));
            for on in days.take_while(|on| *on <= until) {
                if on > from && on > lately {
                    entries.push(PastEntry::DutyDone {
                        unit,
                        rule: (*rule).to_owned(),
                        on,
                        check_complete: true,
                        evidence: "log of the round".to_owned(),
                    });
                }
            }
        }
        entries
    }

    fn failure(
        &self,
        life: &mut Life,
        unit: UnitId,
        on: NaiveDate,
        (part, no_fault_found, replaced): (Option<&str>, bool, bool),
    ) -> PastFailure {
        let lost = fleet::function_lost(life.plan.kind, part);
        // Old records sometimes name only the month.
        let old = on < self.today - Days::new(5 * 365);
        let vague = old && life.dice.chance(0.1);
        let last = if vague { on + Days::new(20) } else { on };
        let words = match (part, no_fault_found) {
            (_, true) => "no fault found, tested working".to_owned(),
            (None, _) => "reset and tested".to_owned(),
            (Some(part), _) if replaced => format!("{} replaced", part.replace('_', " ")),
            (Some(part), _) => format!("{} freed and cleaned", part.replace('_', " ")),
        };
        PastFailure {
            unit,
            part: if no_fault_found {
                None
            } else {
                part.map(str::to_owned)
            },
            function_lost: Some(lost.to_owned()),
            on: (on, last),
            no_fault_found,
            replaced: replaced && !no_fault_found,
            cost: Some(self.cost(life, part, no_fault_found)),
            same_as: String::new(),
            words,
        }
    }

    /// Round the likely price of the part, to whole pounds.
    fn cost(&self, life: &mut Life, part: Option<&str>, no_fault_found: bool) -> Pence {
        let item = part.map_or_else(|| "repair".to_owned(), |p| format!("repair:{p}"));
        let of = |item: &str| {
            self.shipped
                .prices
                .iter()
                .find(|p| p.kind == life.plan.kind && p.item == item)
                .map(|p| p.likely.0)
        };
        let likely = if no_fault_found {
            None
        } else {
            of(&item).or_else(|| of("repair"))
        };
        let pounds = (likely.unwrap_or(9_500) as f64 / 100.0) * life.dice.within(0.85, 1.2);
        Pence((pounds.round() as i64) * 100)
    }

    fn serve(
        &self,
        life: &mut Life,
        unit: UnitId,
        (on, _n): (NaiveDate, usize),
        entries: &mut Vec<PastEntry>,
    ) {
        let price = self
            .shipped
            .prices
            .iter()
            .find(|p| p.kind == life.plan.kind && p.item == "service")
            .map(|p| p.likely);
        entries.push(PastEntry::Served {
            unit,
            what: "service".to_owned(),
            on,
            cost: price,
            words: String::new(),
        });
        if on < self.today - Days::new(3 * 365) {
            return;
        }
        let values = fleet::readings(&mut life.dice, life.plan.kind);
        if !values.is_empty() {
            let instrument = "as on the service sheet".to_owned();
            entries.push(PastEntry::Measured {
                unit,
                on,
                values,
                instrument,
            });
        }
        if on < self.today - Days::new(PROVED_DAYS) {
            return;
        }
        for rule in fleet::met_at_service(life.plan.kind) {
            entries.push(PastEntry::DutyDone {
                unit,
                rule: (*rule).to_owned(),
                on,
                check_complete: true,
                evidence: "service sheet of the visit".to_owned(),
            });
        }
    }
}
