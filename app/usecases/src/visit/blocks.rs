//! From a sheet as typed to the parts that the completion blocks look at.
use std::collections::BTreeMap;

use inspection::completion::{
    Asbestos, CoAlarm, Cylinder, Electrical, Engineer, FireStopping, FunctionLost as Lost, Gas,
    GasCheck, GasCheckItem, Override, Sheet as Blocks, Tmv, Unsafe, UnsafeClass, Water,
};
use inspection::findings::VisitFindings;
use inspection::readings::set_for;
use inspection::rulebook::PartClass;
use inspection::{Level, RuleBook, Values};
use terms::{Covers, FunctionLost, JobKind, UsedAs};

use super::facts::{Facts, JobDuty};
use super::sheet::Sheet;
use super::values::{calibrated_until, taken};

/// What the blocks are built from.
pub(super) struct Inputs<'a> {
    pub facts: &'a Facts,
    pub sheet: &'a Sheet,
    pub before: &'a Values,
    pub after: &'a Values,
    pub latest: &'a Values,
    pub left: &'a VisitFindings,
}

/// The sheet the blocks judge. A part that is none does not concern the job.
pub(super) fn completion_sheet(book: &RuleBook, with: &Inputs<'_>) -> Blocks {
    let (facts, sheet) = (with.facts, with.sheet);
    let gas_work = is_gas_work(book, facts, sheet);
    Blocks {
        unsafe_situation: unsafe_situation(facts, sheet),
        gas_work,
        engineer: gas_work.then(|| engineer(facts, sheet)).flatten(),
        gas: gas_work.then(|| gas(with)),
        gas_check: facts.has_gas_check().then(|| gas_check(facts, sheet)),
        cylinder: cylinder(with),
        tmv: (facts.kind_code() == "TMV").then(|| Tmv {
            outlet: Some(sheet.get("outlet").to_owned()).filter(|o| !o.is_empty()),
            mix_c: with.latest.number("mix_c"),
            cold_shut_max_c: with.latest.number("cold_shut_max_c"),
            shut_off_fails: yes_no(with.latest, "shut_off_fails"),
        }),
        electrical: is_electrical(book, facts, sheet).then(|| Electrical {
            part_fitted: Some(true),
            isolated_and_proved_dead: Some(sheet.yes("elec_dead")),
            mohm: number(sheet, "elec_mohm").or_else(|| with.latest.number("mohm")),
        }),
        water: is_wet(book, facts, sheet).then(|| Water {
            leak_present: Some(sheet.yes_no("leak") != Some(false)),
            bar_lost_in_15_min: number(sheet, "bar_lost"),
        }),
        function_lost: function_lost(book, with),
        asbestos: Some(Asbestos {
            step_answered: Some(sheet.has("asbestos")),
            building_year: facts.building.built_year,
            register_says_present: Some(facts.building.asbestos_register == "present"),
        }),
        fire_stopping: facts.may_be_higher_risk().then(|| FireStopping {
            opened: Some(sheet.yes_no("fire_opened") != Some(false)),
            made_good: sheet.yes_no("fire_good"),
            // One that is kept on the job counts whatever was ticked; a tick alone leaves the soft block.
            photo: if facts.photographed {
                Some(true)
            } else {
                sheet.yes_no("fire_photo")
            },
            higher_risk_building: Some(true),
        }),
        co_alarm: co_alarm(with),
        soft: soft(book, with),
        override_by: sheet.has("override_reason").then(|| Override {
            supervisor: Some(sheet.get("override_by").to_owned()),
            reason: Some(sheet.get("override_reason").to_owned()),
            at: Some(facts.at.to_rfc3339()),
        }),
        ..Blocks::on(facts.day)
    }
}

/// Work on gas-carrying, combustion, flue or case parts, and every gas safety check and service of a gas unit.
pub(super) fn is_gas_work(book: &RuleBook, facts: &Facts, sheet: &Sheet) -> bool {
    let fits_gas = facts.job.kind == JobKind::Replacement
        && facts
            .kinds
            .iter()
            .any(|k| k.gas && k.code == sheet.get("new.kind"));
    if fits_gas {
        return true;
    }
    if !facts.burns_gas() {
        return false;
    }
    facts.has_gas_check()
        || facts.owes_the_set()
        || facts.job.kind == JobKind::Replacement
        || sheet.yes("gas_work")
        || fits(book, facts, (sheet, PartClass::Gas))
}

/// The rule book says what fitting the part is, whatever was ticked.
fn fits(book: &RuleBook, facts: &Facts, (sheet, class): (&Sheet, PartClass)) -> bool {
    book.part_is(class, facts.kind_code(), sheet.get("fitted"))
}

fn is_electrical(book: &RuleBook, facts: &Facts, sheet: &Sheet) -> bool {
    sheet.yes("elec") || fits(book, facts, (sheet, PartClass::Electrical))
}

/// Wet work, said or shown by the part, and every call about a leak.
fn is_wet(book: &RuleBook, facts: &Facts, sheet: &Sheet) -> bool {
    sheet.yes("wet")
        || fits(book, facts, (sheet, PartClass::Wet))
        || facts.job.function_lost == Some(FunctionLost::Leak)
}

/// Owed in a home with gas at every service and check, where a gas unit came, and wherever one was found dead: by the unit
/// that stands there after the work. Only a letting known not to be the landlord's takes the duty away.
fn co_alarm(with: &Inputs<'_>) -> Option<CoAlarm> {
    let facts = with.facts;
    let came = facts.job.kind == JobKind::Replacement;
    // The readings of a unit without gas that went do not ask for one: then the sheet says it of the unit that came.
    let works =
        yes_no(with.latest, "co_alarm_works").or_else(|| with.sheet.yes_no("new.co_alarm_works"));
    let asked = came || facts.owes_the_set() || works == Some(false);
    let home = facts.space.used_as == UsedAs::Flat;
    (facts.burns_gas_after(with.sheet) && home && asked).then(|| CoAlarm {
        required: Some(true),
        landlords_duty: Some(facts.space.let_short != Some(false)),
        works,
        job_raised_for: with.sheet.get("co_job_date").parse().ok(),
    })
}

fn engineer(facts: &Facts, sheet: &Sheet) -> Option<Engineer> {
    registered(facts, facts.gas_covers(sheet))
}

/// The engineer's registration for one sort of gas work, as on the day.
pub(super) fn registered(facts: &Facts, covers: Covers) -> Option<Engineer> {
    let engineer = facts.engineer.as_ref()?;
    let in_date = engineer.covers(covers, facts.day);
    let of_kind = |wanted: Covers| {
        let papers = engineer.qualifications.iter();
        papers
            .filter(move |q| q.covers == wanted)
            .max_by_key(|q| q.until_on)
    };
    let paper = in_date
        .or_else(|| of_kind(covers))
        .or_else(|| of_kind(Covers::Gas))?;
    Some(Engineer {
        registration_number: Some(paper.number.clone()),
        category_covers_unit: Some(in_date.is_some()),
        valid_until: Some(paper.until_on),
    })
}

fn gas(with: &Inputs<'_>) -> Gas {
    let ok = |row: &str| {
        with.left.judged.get(row).map(|_| {
            !with
                .left
                .findings
                .iter()
                .any(|f| f.row.as_deref() == Some(row) && f.level >= Level::Act)
        })
    };
    let combustion = with.facts.makers.get("A6");
    let maker = |name: &str| combustion.and_then(|figures| figures.number(name));
    let cal = calibrated_until(with.facts, with.sheet);
    let until = ["co_ppm", "co2_percent", "combustion_per_boiler"]
        .iter()
        .find_map(|reading| cal.get(*reading));
    Gas {
        working_pressure_ok: ok("A8"),
        gas_rate_ok: ok("A10"),
        co_ppm: with.latest.number("co_ppm"),
        co2_percent: with.latest.number("co2_percent"),
        maker_ratio_max: maker("ratio_max"),
        maker_co_max_ppm: maker("co_max_ppm"),
        analyser_calibrated_until: until.copied(),
        lawful_alternative: Some(with.sheet.has("gas_alternative")),
    }
}

fn gas_check(facts: &Facts, sheet: &Sheet) -> GasCheck {
    let items = (1..=8)
        .filter_map(|n| {
            let name = sheet.get(&format!("gc.{n}.name")).to_owned();
            let result = sheet.get(&format!("gc.{n}.result")).to_owned();
            (!name.is_empty()).then_some(GasCheckItem {
                name: Some(name),
                result: Some(result).filter(|r| !r.is_empty()),
            })
        })
        .collect();
    GasCheck {
        // Each gas unit and its flue.
        items_expected: Some(facts.gas_units.max(1).saturating_mul(2)),
        items,
        signed: Some(sheet.yes("gc_signed")),
    }
}

fn cylinder(with: &Inputs<'_>) -> Option<Cylinder> {
    let kind = with.facts.kind_after(with.sheet);
    // Like for like is a new installation too.
    let came = with.facts.job.kind == JobKind::Replacement;
    matches!(kind, "UV" | "VC").then(|| {
        if came {
            // The readings of the sheet are those of the unit that went.
            return Cylinder {
                relief_route_seen: with.sheet.yes_no("route_seen"),
                hot_discharge: with.sheet.yes_no("new.discharge_cold").map(|cold| !cold),
                cutout_proved: with.sheet.yes_no("new.cutout_proved"),
            };
        }
        let tundish = with.latest.get("tundish");
        let hot = match &tundish {
            inspection::Value::Text(code) => Some(code == "hot"),
            _ => None,
        };
        Cylinder {
            relief_route_seen: with.sheet.yes_no("route_seen"),
            hot_discharge: hot,
            cutout_proved: yes_no(with.latest, "cutout_proved"),
        }
    })
}

/// The function that was lost counts as tested again when the engineer says so and a reading after the work shows it.
fn function_lost(book: &RuleBook, with: &Inputs<'_>) -> Option<Lost> {
    let lost = with.facts.job.function_lost?;
    if matches!(
        lost,
        FunctionLost::GasOrCo | FunctionLost::Noise | FunctionLost::Other | FunctionLost::Leak
    ) {
        return Some(Lost {
            function: Some(lost.code().to_owned()),
            works_after: with.sheet.yes_no("works_after"),
        });
    }
    let measured = set_for(book, with.facts.kind_code()).is_empty()
        || with.after.iter().any(|(_, value)| !value.is_blank());
    Some(Lost {
        function: Some(lost.code().to_owned()),
        works_after: Some(with.sheet.yes("works_after") && measured),
    })
}

fn unsafe_situation(facts: &Facts, sheet: &Sheet) -> Option<Unsafe> {
    let class = |code: &str| match code {
        "ID" => Some(UnsafeClass::ImmediatelyDangerous),
        "AR" => Some(UnsafeClass::AtRisk),
        _ => None,
    };
    if let Some(class) = class(sheet.get("unsafe")) {
        return Some(Unsafe {
            class,
            cleared_by_registered: Some(false),
            isolated: Some(sheet.yes("unsafe_isolated")),
            permission_refused: Some(sheet.yes("unsafe_refused")),
        });
    }
    let open = facts
        .notices
        .iter()
        .find(|n| !(sheet.yes(&format!("clear.{}", n.id)) && may_clear(facts, sheet)))?;
    Some(Unsafe {
        class: class(&open.class)?,
        cleared_by_registered: Some(false),
        isolated: Some(open.isolated || sheet.yes("unsafe_isolated")),
        permission_refused: Some(open.permission_refused),
    })
}

/// Only an engineer on the register, in date on the day, clears an unsafe situation.
pub(super) fn may_clear(facts: &Facts, sheet: &Sheet) -> bool {
    engineer(facts, sheet).is_some_and(|e| e.category_covers_unit == Some(true))
}

fn soft(book: &RuleBook, with: &Inputs<'_>) -> BTreeMap<String, Option<String>> {
    let (facts, sheet) = (with.facts, with.sheet);
    let set = set_for(book, facts.kind_code());
    let missing = if facts.owes_the_set() {
        set.iter()
            .filter(|spec| facts.first_service() || !spec.first_service)
            .filter(|spec| !taken(spec, with.before))
            .any(|spec| !sheet.has(&format!("no.{}", spec.code)))
    } else {
        facts.job.kind == JobKind::Repair
            && !set.is_empty()
            && with.before.iter().all(|(_, v)| v.is_blank())
    };
    let stands = [
        ("before_reading_missing", missing),
        ("photo_missing", photo_owed(facts, sheet)),
        (
            "old_part_not_identified",
            sheet.has("fitted") && !sheet.has("old_part"),
        ),
        ("water_below_limit", water_below(book, with)),
        ("set_point_changed", sheet.yes("set_point")),
        ("resident_not_told", !sheet.yes("told")),
        ("label_not_matching", sheet.get("label_matches") == "no"),
    ];
    stands
        .into_iter()
        .filter(|(_, stands)| *stands)
        .map(|(key, _)| {
            let reason = sheet.get(&format!("soft.{key}")).to_owned();
            (key.to_owned(), Some(reason).filter(|r| !r.is_empty()))
        })
        .collect()
}

/// Fire-stopping opened, a unit that came, and a duty whose proof is photographs want one (SAFETY §3 and §4; of the unit
/// that came: common practice, no source).
fn photo_owed(facts: &Facts, sheet: &Sheet) -> bool {
    let duty = |d: &JobDuty| d.photo && !d.done && sheet.yes(&format!("duty.{}", d.code));
    let owed = sheet.yes("fire_opened")
        || facts.job.kind == JobKind::Replacement
        || facts.duties.iter().any(duty);
    owed && !facts.photographed
}

/// The water as left is below its limit, and hot water was not what the job is about.
fn water_below(book: &RuleBook, with: &Inputs<'_>) -> bool {
    let is_the_job = matches!(
        with.facts.job.function_lost,
        Some(FunctionLost::HotWater | FunctionLost::HeatingAndHotWater)
    );
    let rule = book
        .soft_blocks()
        .iter()
        .find(|s| s.key == "water_below_limit");
    let rows = rule.map_or(&[][..], |rule| rule.rows.as_slice());
    !is_the_job
        && with
            .left
            .findings
            .iter()
            .any(|f| f.level >= Level::Act && f.row.as_ref().is_some_and(|row| rows.contains(row)))
}

fn number(sheet: &Sheet, key: &str) -> Option<f64> {
    let number: f64 = sheet.get(key).replace(',', ".").parse().ok()?;
    (number.is_finite() && number >= 0.0).then_some(number)
}

fn yes_no(values: &Values, name: &str) -> Option<bool> {
    match values.get(name) {
        inspection::Value::Bool(truth) => Some(truth),
        _ => None,
    }
}
