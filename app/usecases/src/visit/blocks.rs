//! From a sheet as typed to the parts that the completion blocks look at.
use std::collections::BTreeMap;

use inspection::completion::{
    Asbestos, CoAlarm, Cylinder, Electrical, Engineer, FireStopping, FunctionLost as Lost, Gas,
    GasCheck, GasCheckItem, Override, Sheet as Blocks, Tmv, Unsafe, UnsafeClass, Water,
};
use inspection::findings::VisitFindings;
use inspection::readings::set_for;
use inspection::{Level, RuleBook, Values};
use terms::{Covers, FunctionLost, JobKind};

use super::facts::Facts;
use super::sheet::Sheet;
use super::values::{calibrated_until, taken};

/// Parts that carry gas or combustion, or need the case off: fitting one is gas work whatever was ticked.
const GAS_PARTS: [&str; 10] = [
    "gas_valve",
    "electrode",
    "fan",
    "main_hx",
    "gas_train",
    "burner_ign",
    "combustion",
    "hx",
    "flue_interlock",
    "condensate",
];
/// Parts under mains voltage: fitting one is electrical work whatever was ticked.
const ELECTRICAL_PARTS: [&str; 17] = [
    "pump",
    "board",
    "fan",
    "electrode",
    "motor_valve",
    "room_controls",
    "controls",
    "element",
    "contactor",
    "immersion",
    "stat",
    "timer",
    "charge_pump",
    "cutout",
    "cutout_fault",
    "motor",
    "sequencer",
];

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
    let gas_work = is_gas_work(facts, sheet);
    Blocks {
        unsafe_situation: unsafe_situation(facts, sheet),
        gas_work,
        engineer: gas_work.then(|| engineer(facts)).flatten(),
        gas: gas_work.then(|| gas(with)),
        gas_check: facts.has_gas_check().then(|| gas_check(facts, sheet)),
        cylinder: cylinder(with),
        tmv: (facts.kind_code() == "TMV").then(|| Tmv {
            outlet: Some(sheet.get("outlet").to_owned()).filter(|o| !o.is_empty()),
            mix_c: with.latest.number("mix_c"),
            cold_shut_max_c: with.latest.number("cold_shut_max_c"),
            shut_off_fails: yes_no(with.latest, "shut_off_fails"),
        }),
        electrical: is_electrical(facts, sheet).then(|| Electrical {
            part_fitted: Some(true),
            isolated_and_proved_dead: Some(sheet.yes("elec_dead")),
            mohm: number(sheet, "elec_mohm").or_else(|| with.latest.number("mohm")),
        }),
        water: sheet.yes("wet").then(|| Water {
            leak_present: sheet.yes_no("leak"),
            bar_lost_in_15_min: number(sheet, "bar_lost"),
        }),
        function_lost: function_lost(book, with),
        asbestos: Some(Asbestos {
            step_answered: Some(sheet.has("asbestos")),
            building_year: facts.building.built_year,
            register_says_present: Some(facts.building.asbestos_register == "present"),
        }),
        fire_stopping: sheet.yes("fire_opened").then(|| FireStopping {
            opened: Some(true),
            made_good: sheet.yes_no("fire_good"),
            photo: sheet.yes_no("fire_photo"),
            higher_risk_building: facts.building.higher_risk,
        }),
        co_alarm: (facts.burns_gas() && facts.owes_the_set()).then(|| CoAlarm {
            required: Some(true),
            landlords_duty: Some(facts.space.let_short == Some(true)),
            works: yes_no(with.latest, "co_alarm_works"),
            job_raised_for: sheet.get("co_job_date").parse().ok(),
        }),
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
pub(super) fn is_gas_work(facts: &Facts, sheet: &Sheet) -> bool {
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
        || GAS_PARTS.contains(&sheet.get("fitted"))
}

fn is_electrical(facts: &Facts, sheet: &Sheet) -> bool {
    let fitted = sheet.get("fitted");
    // A pump or actuator of the plate family counts by its code, whatever the kind.
    sheet.yes("elec")
        || (!fitted.is_empty() && ELECTRICAL_PARTS.contains(&fitted) && facts.unit.is_some())
}

fn engineer(facts: &Facts) -> Option<Engineer> {
    let engineer = facts.engineer.as_ref()?;
    let in_date = engineer.covers(Covers::Gas, facts.day);
    let latest = engineer
        .qualifications
        .iter()
        .filter(|q| q.covers == Covers::Gas)
        .max_by_key(|q| q.until_on);
    let paper = in_date.or(latest)?;
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
    matches!(with.facts.kind_code(), "UV" | "VC").then(|| {
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
        .find(|n| !(sheet.yes(&format!("clear.{}", n.id)) && may_clear(facts)))?;
    Some(Unsafe {
        class: class(&open.class)?,
        cleared_by_registered: Some(false),
        isolated: Some(open.isolated || sheet.yes("unsafe_isolated")),
        permission_refused: Some(open.permission_refused),
    })
}

/// Only an engineer on the register, in date on the day, clears an unsafe situation.
pub(super) fn may_clear(facts: &Facts) -> bool {
    engineer(facts).is_some_and(|e| e.category_covers_unit == Some(true))
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
        (
            "old_part_not_identified",
            sheet.has("fitted") && !sheet.has("old_part"),
        ),
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
