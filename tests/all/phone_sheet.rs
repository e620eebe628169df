//! Whole sheets read by the phone's scripts and by the server: filled in at random, put to both, their likely parts, blocks
//! and sentences compared; and duties met on random days.
use std::collections::BTreeMap;

use inspection::RuleBook;
use planning::dice::Dice;
use serde_json::{Value as Json, json};
use store::duties::Completion;
use terms::{JobId, JobKind, JobState};
use tests::reference::inspection::phone;
use usecases::duties::dates::replay;
use usecases::visit::{self, Sheet, SheetView};

use crate::likely_parts::{self, Said};
use crate::support::dated::{row, rule};
use crate::work_estate::{ANNA, Loop, day, fresh};

/// Sheets of each job, duties of each rule; the seed is the day the test was written and was not chosen.
const EACH: usize = 60;
const SEED: u64 = 20_261_129;

/// What may stand under the sheet's own keys, an answer of each sort.
const ANSWERS: &[(&str, &[&str])] = &[
    ("cause", &["pump", "none_found"]),
    (
        "fitted",
        &["pump", "gas_valve", "fan", "immersion", "vessel"],
    ),
    ("old_part", &["P-1"]),
    ("gas_work", &["yes", "no"]),
    ("gas_alternative", &["By the maker's figures."]),
    ("elec", &["yes", "no"]),
    ("elec_dead", &["yes", "no"]),
    ("elec_mohm", &["20", "0,5", "much"]),
    ("wet", &["yes", "no"]),
    ("leak", &["yes", "no"]),
    ("bar_lost", &["0.01", "0,2"]),
    ("route_seen", &["yes", "no"]),
    ("works_after", &["yes", "no"]),
    ("asbestos", &["read_none"]),
    ("fire_opened", &["yes", "no"]),
    ("co_job_date", &["2026-12-01", "soon"]),
    ("duty.G1", &["yes", "no"]),
    ("gc.1.name", &["combi gas boiler"]),
    ("gc.1.result", &["safe to use", " "]),
    ("gc.2.name", &["its flue"]),
    ("gc.2.result", &["seen over its length"]),
    ("gc_signed", &["yes", "no"]),
    ("unsafe", &["ID", "AR", "none"]),
    ("unsafe_isolated", &["yes", "no"]),
    ("unsafe_refused", &["yes", "no"]),
    ("label_matches", &["yes", "no"]),
    ("told", &["yes", "no"]),
    ("set_point", &["yes", "no"]),
    ("soft.set_point_changed", &["asked for"]),
    ("soft.resident_not_told", &["not at home", " "]),
    ("soft.before_reading_missing", &["no tap to hand"]),
    ("cal.co_ppm", &["2027-06-30", "2026-01-01"]),
    ("new.kind", &["CB", "UV", "EB"]),
    ("new.discharge_cold", &["yes", "no"]),
    ("new.cutout_proved", &["yes", "no"]),
    ("new.co_alarm_works", &["yes", "no"]),
];

/// A reading as somebody might type it: half of them near what is usual, a few that cannot be.
fn a_reading(dice: &mut Dice, field: &visit::FieldSpec) -> String {
    match field.answer {
        visit::Answer::YesNo => ["yes", "no"][dice.below(2)].to_owned(),
        visit::Answer::Choice => field.choices[dice.below(field.choices.len())].0.clone(),
        visit::Answer::Date => "2026-09-14".to_owned(),
        visit::Answer::Text => "as seen".to_owned(),
        visit::Answer::Number if dice.below(12) == 0 => "warm".to_owned(),
        visit::Answer::Number => {
            let (least, most) = (field.least.unwrap_or(0.0), field.most.unwrap_or(100.0));
            let most = if dice.below(2) == 0 {
                most.min(60.0)
            } else {
                most
            };
            let x = least + dice.unit() * (most - least);
            format!("{x:.1}").replace('.', [".", ","][dice.below(2)])
        }
    }
}

fn a_sheet(dice: &mut Dice, kind: &str) -> Sheet {
    let book = RuleBook::shipped().unwrap();
    let mut sheet = Sheet::new();
    for (key, answers) in ANSWERS {
        if dice.below(3) > 0 {
            sheet.set(*key, answers[dice.below(answers.len())]);
        }
    }
    if let Some(set) = book.set(kind) {
        for field in set
            .readings
            .iter()
            .chain(&set.tests)
            .flat_map(|r| &r.fields)
        {
            for prefix in ["r.", "a."] {
                if dice.below(4) == 0 {
                    sheet.set(format!("{prefix}{}", field.code), a_reading(dice, field));
                }
            }
        }
    }
    if let Ok(table) = book.table(kind) {
        for observation in table.observations.iter().filter(|o| !o.complaint) {
            if dice.below(5) == 0 {
                let said = ["seen", "not"][dice.below(2)];
                sheet.set(format!("o.{}", observation.code), said);
            }
        }
    }
    sheet
}

/// The heading of the page of findings, of limits alone: trends need an earlier visit, gaps are the office's to name.
fn heading(view: &SheetView) -> String {
    let judged = &view.assessment;
    let limits = judged.found.iter().filter(|f| f.row.is_some());
    let gravest = |level| limits.clone().find(|f| f.level == level);
    match gravest(visit::FindingLevel::Stop).or(gravest(visit::FindingLevel::Act)) {
        Some(found) => found.sentence.clone(),
        None if judged.has_readings() => "The readings are inside their limits".to_owned(),
        None => "No reading is entered yet".to_owned(),
    }
}

/// What the server's pages say of the sheet, under the names the phone's answer has.
fn here(view: &SheetView) -> Json {
    let judged = &view.assessment;
    let ranking = judged.ranking.as_ref();
    let words = ranking.map(|ranking| {
        let said = Said::of(ranking);
        json!({ "likely": said.likely, "bring": said.bring, "test": said.test })
    });
    let must: Vec<&str> = judged
        .completion
        .must_do
        .iter()
        .map(|m| m.words())
        .collect();
    let ends: BTreeMap<&str, bool> = visit::ENDS
        .into_iter()
        .map(|end| (end.code(), judged.open_ends.contains(&end)))
        .collect();
    json!({
        "ranking": words,
        "top3": ranking.map(|r| &r.top3),
        "hard_blocks": judged.completion.hard_blocks,
        "soft_blocks": judged.completion.soft_blocks,
        "must": must,
        "open": judged.open_ends.contains(&JobState::Done),
        "ends": ends,
        "heading": heading(view),
        "in_the_way": judged.in_the_way,
    })
}

/// Anna at four sorts of job; a fan was fitted this spring.
fn jobs(estate: &Loop) -> Vec<JobId> {
    likely_parts::fitted_this_spring(estate, "fan");
    let called = likely_parts::taken(estate);
    let duty = estate.duty(estate.boiler, "G1");
    vec![
        called,
        estate.annas(JobKind::Service, estate.boiler, vec![duty]),
        estate.annas(JobKind::Replacement, estate.boiler, Vec::new()),
        estate.annas(JobKind::Service, estate.cylinder, Vec::new()),
    ]
}

#[test]
fn a_sheet_filled_in_at_random_says_the_same_on_the_phone() {
    let estate = Loop::start();
    let anna = estate.seat_of(ANNA);
    let mut dice = Dice::new(SEED);
    let (mut asked, mut expected) = (Vec::new(), Vec::new());
    for job in jobs(&estate) {
        visit::arrive(estate.world(), &anna, job, &fresh()).unwrap();
        let mut view = visit::open_sheet(estate.world(), &anna, job).unwrap();
        for _ in 0..EACH {
            view.sheet = a_sheet(&mut dice, view.facts.kind_code());
            view.assessment = visit::assess(&view.facts, &view.sheet).unwrap();
            let about = visit::for_phone(&view, "").unwrap();
            let sheet: BTreeMap<&str, &str> = view.sheet.all().collect();
            asked.push(json!({ "about": about, "sheet": sheet }));
            expected.push(here(&view));
        }
    }
    let questions: Vec<(&str, &Json)> = asked.iter().map(|i| ("sheet", i)).collect();
    let phone = phone::answers(&questions).unwrap();
    assert_eq!(phone.len(), expected.len());
    for ((asked, here), there) in asked.iter().zip(&expected).zip(&phone) {
        let there = there
            .as_ref()
            .unwrap_or_else(|why| panic!("{why}: {asked}"));
        assert_eq!(there, here, "{}", asked["sheet"]);
    }
    // The questions are not all of one answer.
    let ranked = expected.iter().filter(|e| !e["ranking"].is_null()).count();
    let blocks: std::collections::BTreeSet<u64> = expected
        .iter()
        .flat_map(|e| e["hard_blocks"].as_array().unwrap())
        .filter_map(Json::as_u64)
        .collect();
    assert!(ranked > EACH, "{ranked} ranked");
    assert!(blocks.len() >= 8, "blocks met: {blocks:?}");
}

#[test]
fn a_duty_met_on_any_day_falls_due_again_on_the_same_day_in_the_same_words() {
    let mut dice = Dice::new(SEED);
    let a_day =
        |dice: &mut Dice| day("2024-01-01") + chrono::TimeDelta::days(dice.below(1500) as i64);
    let (mut asked, mut expected) = (Vec::new(), Vec::new());
    for window_rule in ["W1", "W2", "W3", "W4", "W6"] {
        for _ in 0..EACH {
            let months = [1, 3, 6, 12, 24][dice.below(5)];
            let (done, met) = (a_day(&mut dice), dice.below(4) > 0);
            // Half of the dates lie where the window is.
            let near = done + chrono::TimeDelta::days(dice.below(120) as i64 - 60);
            let deadline = match dice.below(5) {
                0 => None,
                1 | 2 => Some(a_day(&mut dice)),
                _ => Some(near),
            };
            let visit = Completion {
                check_complete: met,
                ..row(Some(done), None)
            };
            let stated = deadline.map(|stated| row(None, Some(stated)));
            let rows: Vec<Completion> = stated.into_iter().chain([visit]).collect();
            let step = replay(&rule("T1", window_rule, months), &rows)
                .unwrap()
                .pop()
                .unwrap();
            expected.push(json!({ "next_deadline": step.next_deadline, "sentence": step.reason }));
            asked.push(json!({
                "about": { "kind": "", "digest": "0123456789ab", "on": done, "job": { "papers": {} } },
                "duty": { "dated": { "window_rule": window_rule, "months": months, "anchor": deadline, "deadline": deadline } },
                "met": met,
            }));
        }
    }
    let questions: Vec<(&str, &Json)> = asked.iter().map(|i| ("due", i)).collect();
    let phone = phone::answers(&questions).unwrap();
    for ((asked, here), there) in asked.iter().zip(&expected).zip(&phone) {
        let there = there
            .as_ref()
            .unwrap_or_else(|why| panic!("{why}: {asked}"));
        assert_eq!(there, here, "{asked}");
    }
}
