//! The rule book read by the phone's script and by the rooms: questions made at random from the book's own fields,
//! put to both, every value compared. The cases with known answers are the reference runner's (`--phone`).
use inspection::RuleBook;
use inspection::rulebook::{Answer, FieldSpec};
use planning::dice::Dice;
use serde_json::{Map, Value as Json, json};
use tests::reference::inspection::{answer, compare, phone};

/// Questions of each family; the seed is the day the test was written and was not chosen.
const EACH: usize = 400;
const SEED: u64 = 20_261_128;

fn fields() -> Vec<&'static FieldSpec> {
    let book = RuleBook::shipped().unwrap();
    let sets = book.sets().iter();
    sets.flat_map(|set| set.readings.iter().chain(&set.tests))
        .flat_map(|spec| &spec.fields)
        .collect()
}

/// A value for a name: as its field takes it, else a number near the limits of the trade.
fn a_value(dice: &mut Dice, fields: &[&FieldSpec], name: &str) -> Json {
    let number = |dice: &mut Dice, least: f64, most: f64| {
        let x = least + dice.unit() * (most - least);
        json!((x * 10.0).round() / 10.0)
    };
    match fields.iter().find(|f| f.code == name) {
        Some(field) => match field.answer {
            Answer::Number => {
                // Fields go far beyond the limits; half of the values stay where the limits are.
                let most = field.most.unwrap_or(100.0);
                let most = if dice.below(2) == 0 {
                    most.min(90.0)
                } else {
                    most
                };
                number(dice, field.least.unwrap_or(0.0), most)
            }
            Answer::YesNo => json!(dice.below(2) == 0),
            Answer::Choice => {
                let n = dice.below(field.choices.len());
                json!(field.choices[n].0)
            }
            Answer::Text => json!("as seen"),
            Answer::Date => json!("2026-09-14"),
        },
        None if dice.below(8) == 0 => json!(dice.below(2) == 0),
        None => number(dice, 0.0, 90.0),
    }
}

fn judgements(dice: &mut Dice) -> Vec<(&'static str, Json)> {
    let (book, fields) = (RuleBook::shipped().unwrap(), fields());
    (0..EACH * 2)
        .map(|n| {
            let limit = &book.limits()[n % book.limits().len()];
            let mut values = Map::new();
            for need in &limit.needs {
                values.insert(need.clone(), a_value(dice, &fields, need));
            }
            if dice.below(2) == 0 {
                values.insert("rated_kw".to_owned(), json!(24 + dice.below(12)));
            }
            let makers = (dice.below(4) == 0)
                .then(|| json!({ "pass_min": dice.below(30), "pass_max": 30 + dice.below(40) }));
            let asked = json!({ "row": limit.row, "values": values, "makers_limits": makers });
            ("finding", asked)
        })
        .collect()
}

fn rankings(dice: &mut Dice) -> Vec<(&'static str, Json)> {
    let book = RuleBook::shipped().unwrap();
    (0..EACH)
        .map(|n| {
            let table = &book.tables()[n % book.tables().len()];
            let mut codes: Vec<&str> = table.observations.iter().map(|o| o.code.as_str()).collect();
            dice.shuffle(&mut codes);
            let seen = dice.below(4);
            let (seen, rest) = codes.split_at(seen.min(codes.len()));
            let absent = dice.below(3).min(rest.len());
            let part = &table.parts[dice.below(table.parts.len())].code;
            let asked = json!({
                "unit_kind": table.kind, "seen": seen, "not_seen": rest[..absent], "today": "2026-11-28",
                "history": [{ "part": part, "replaced_on": (dice.below(2) == 0).then_some("2025-06-30"),
                    "age_years": 1 + dice.below(20), "life_years": 10, "beta": 1.0 + dice.unit(),
                    "rate_factor": (dice.below(2) == 0).then(|| 0.3 + 3.0 * dice.unit()) }],
                "hardness_mg_l": 100 + dice.below(300), "reducer_fitted": dice.below(2) == 0,
                "learned": { "closed_jobs": 6, "part_counts": { part: 4 }, "observation_counts":
                    [{ "part": part, "observation": codes[0], "seen": 2, "looked_for": 3 }] },
            });
            ("suspect.rank", asked)
        })
        .collect()
}

/// One of these, or nothing at all.
fn some(dice: &mut Dice, of: &[Json]) -> Json {
    let n = dice.below(of.len() + 1);
    of.get(n).cloned().unwrap_or(Json::Null)
}

/// A part of a sheet, or that it does not concern the job.
macro_rules! maybe {
    ($dice:expr, $object:tt) => {{
        let object = json!($object);
        if $dice.below(2) == 0 {
            object
        } else {
            Json::Null
        }
    }};
}

fn sheets(dice: &mut Dice) -> Vec<(&'static str, Json)> {
    (0..EACH)
        .map(|_| {
            let yes = [json!(true), json!(false)];
            let days = [json!("2027-01-31"), json!("2026-01-31")];
            let class = if dice.below(2) == 0 { "ID" } else { "AR" };
            let asked = json!({
                "on": "2026-11-28", "gas_work": dice.below(2) == 0,
                "unsafe": maybe!(dice, { "class": class, "cleared_by_registered": some(dice, &yes),
                    "isolated": some(dice, &yes), "permission_refused": some(dice, &yes) }),
                "engineer": maybe!(dice, { "registration_number": some(dice, &[json!("1"), json!(" ")]),
                    "category_covers_unit": some(dice, &yes), "valid_until": some(dice, &days) }),
                "gas": maybe!(dice, { "working_pressure_ok": some(dice, &yes), "gas_rate_ok": some(dice, &yes),
                    "co_ppm": some(dice, &[json!(40), json!(360)]), "co2_percent": some(dice, &[json!(9), json!(0)]),
                    "analyser_calibrated_until": some(dice, &days), "lawful_alternative": some(dice, &yes) }),
                "gas_check": maybe!(dice, { "items_expected": some(dice, &[json!(1), json!(2)]), "signed": some(dice, &yes),
                    "items": some(dice, &[json!([]), json!([{ "name": "boiler", "result": "safe" }]), json!([{ "name": "flue" }])]) }),
                "cylinder": maybe!(dice, { "relief_route_seen": some(dice, &yes), "hot_discharge": some(dice, &yes),
                    "cutout_proved": some(dice, &yes) }),
                "tmv": maybe!(dice, { "outlet": some(dice, &[json!("shower"), json!("bath")]), "mix_c": some(dice, &[json!(40), json!(47)]),
                    "cold_shut_max_c": some(dice, &[json!(42), json!(48)]), "shut_off_fails": some(dice, &yes) }),
                "electrical": maybe!(dice, { "part_fitted": some(dice, &yes), "isolated_and_proved_dead": some(dice, &yes),
                    "mohm": some(dice, &[json!(0.5), json!(200)]) }),
                "water": maybe!(dice, { "leak_present": some(dice, &yes), "bar_lost_in_15_min": some(dice, &[json!(0.0), json!(0.06)]) }),
                "function_lost": maybe!(dice, { "function": "heat", "works_after": some(dice, &yes) }),
                "asbestos": maybe!(dice, { "step_answered": some(dice, &yes), "building_year": some(dice, &[json!(1965), json!(2010)]),
                    "register_says_present": some(dice, &yes) }),
                "fire_stopping": maybe!(dice, { "opened": some(dice, &yes), "made_good": some(dice, &yes), "photo": some(dice, &yes),
                    "higher_risk_building": some(dice, &yes) }),
                "co_alarm": maybe!(dice, { "required": some(dice, &yes), "landlords_duty": some(dice, &yes), "works": some(dice, &yes),
                    "job_raised_for": some(dice, &days) }),
                "soft": { "photo_missing": some(dice, &[json!("none to hand"), json!("")]) },
                "override": maybe!(dice, { "supervisor": "Una", "reason": some(dice, &[json!("seen")]), "at": "2026-11-28T10:00" }),
            });
            ("completion", asked)
        })
        .collect()
}

fn dates(dice: &mut Dice) -> Vec<(&'static str, Json)> {
    let day = |dice: &mut Dice| {
        let from = chrono::NaiveDate::from_ymd_opt(2016, 1, 1).unwrap();
        let on = from + chrono::TimeDelta::days(dice.below(7300) as i64);
        on.to_string()
    };
    (0..EACH)
        .map(|n| {
            let (a, b) = (day(dice), day(dice));
            match n % 5 {
                0 => ("duty.w1", json!({ "deadline": a, "done": b, "check_complete": dice.below(5) > 0 })),
                1 => ("duty.w3", json!({ "anchor": a, "every": 1 + dice.below(13), "unit": (["days", "weeks", "months"][dice.below(3)]),
                    "open_round": dice.below(4), "done": b })),
                2 => ("duty.g3", json!({ "installed_on": a, "flat_deadline": b, "already_used": dice.below(2) == 0, "done": day(dice) })),
                3 => ("clock.working_days", json!({ "country": "england", "start_on": a, "working_days": dice.below(30) })),
                _ => {
                    // Nights on which the clocks change are among the hours.
                    let night = ["2026-03-28", "2026-10-24", "2027-03-27", a.as_str()][dice.below(4)];
                    let at = format!("{night}T{:02}:{:02}", dice.below(24), dice.below(60));
                    let asked = json!({ "start_local": at, "hours": dice.below(200), "basis": "contract", "pauses": [],
                        "finished_local": null, "now_local": null });
                    ("clock.hours", asked)
                }
            }
        })
        .collect()
}

#[test]
fn the_phone_says_what_the_server_says() {
    let mut dice = Dice::new(SEED);
    let mut asked = judgements(&mut dice);
    asked.extend(rankings(&mut dice));
    asked.extend(sheets(&mut dice));
    asked.extend(dates(&mut dice));
    let questions: Vec<(&str, &Json)> = asked.iter().map(|(f, i)| (*f, i)).collect();
    let phone = phone::answers(&questions).unwrap();
    assert_eq!(phone.len(), asked.len());
    let near = json!({ "abs": 1e-9, "rel": 1e-9 });
    let (mut answered, mut refused) = (0, 0);
    for ((family, inputs), said) in asked.iter().zip(&phone) {
        match (answer(family, inputs), said) {
            (Ok(here), Ok(there)) => {
                // The rooms say more than the phone does, names and sentences; what the phone says is compared.
                let (judged, misses) = compare::compare(&here, there, &near);
                assert!(
                    judged > 0 && misses.is_empty(),
                    "{family} {inputs}: {misses:?}"
                );
                answered += 1;
            }
            (Err(_), Err(_)) => refused += 1,
            (here, there) => panic!("{family} {inputs}: here {here:?}, on the phone {there:?}"),
        }
    }
    println!("{answered} answered alike, {refused} refused by both");
    assert!(answered > asked.len() / 2, "most questions have an answer");
}
