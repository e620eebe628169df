//! Every way a visit or a job can end, with an unsafe and an unproved case put through each: all refuse, and what was
//! typed stays. A new way in has to be added here: [`only_one_place_ends_a_visit`] holds to that.
use std::path::Path;

use terms::{JobId, JobKind, JobState, Role};
use usecases::Error;
use usecases::door::DEMO_PASSWORD;
use usecases::founding::{NewPerson, add_person};
use usecases::visit::{self, PaperSource, PaperVisit, Sheet};

use crate::mailed::{OFFICE_A, Outbox};
use crate::visit_sheet::good_service;
use crate::work_estate::{AGENT, ANNA, Loop, fresh};

pub const WORDS: &str = "Typed by hand: the flue spills.";

/// What a way answered: the sentences of a refusal or the page that says them.
pub struct Said {
    pub refused: bool,
    pub words: String,
}

/// Whether the page shows a field with exactly this value: ticked, chosen, or written in it.
fn stands(page: &str, name: &str, value: &str) -> bool {
    let plain = |text: &str| {
        text.replace("&#39;", "'")
            .replace("&#34;", "\"")
            .replace("&#60;", "<")
            .replace("&#62;", ">")
            .replace("&#38;", "&")
    };
    let named = format!("name=\"{name}\"");
    page.match_indices(&named).any(|(at, _)| {
        let from = page[..at].rfind('<').unwrap_or(0);
        let tag = &page[from..];
        let end = tag.find('>').map_or(tag.len(), |end| end + 1);
        let valued = format!("value=\"{value}\"");
        if tag.starts_with("<textarea") {
            let text = &tag[end..tag.find("</textarea>").unwrap_or(tag.len())];
            return plain(text) == value;
        }
        if tag.starts_with("<select") {
            let list = &tag[..tag.find("</select>").unwrap_or(tag.len())];
            return plain(list).contains(&format!("{valued} selected"));
        }
        let tag = plain(&tag[..end]);
        let one_of = tag.contains("type=\"radio\"") || tag.contains("type=\"checkbox\"");
        tag.contains(&valued) && (!one_of || tag.contains(" checked"))
    })
}

/// A refusal by a page that holds the whole sheet: every field stands there as it was typed.
fn of_sheet(answer: reqwest::blocking::Response, sheet: &Sheet) -> Said {
    let said = of_page(answer);
    if said.refused {
        for (name, value) in sheet.all().filter(|(_, value)| !value.is_empty()) {
            assert!(
                stands(&said.words, name, value),
                "{name} = “{value}” was typed and does not stand on the page"
            );
        }
    }
    said
}

fn of_page(answer: reqwest::blocking::Response) -> Said {
    let refused = answer.status() == 422;
    let words = answer.text().unwrap();
    if refused {
        assert!(words.contains(WORDS), "what was typed is not on the page");
    }
    Said { refused, words }
}

pub fn of_use_case<T: std::fmt::Debug>(answer: Result<T, Error>) -> Said {
    match answer {
        Err(Error::Invalid(wrongs)) => Said {
            refused: true,
            words: wrongs
                .iter()
                .map(|w| w.sentence.as_str())
                .collect::<Vec<_>>()
                .join(" "),
        },
        other => Said {
            refused: false,
            words: format!("{other:?}"),
        },
    }
}

fn fields(sheet: &Sheet) -> Vec<(&str, &str)> {
    sheet.all().collect()
}

/// The sheet sent whole, as a phone does that had no signal; and the same sent again.
fn whole(estate: &Loop, job: JobId, sheet: &Sheet) -> Said {
    let once = fresh();
    let typed: std::collections::BTreeMap<String, String> = sheet
        .all()
        .map(|(k, v)| (k.to_owned(), v.to_owned()))
        .collect();
    let anna = estate.seat_of(ANNA);
    let send = || visit::submit_sheet(estate.world(), &anna, (job, typed.clone()), &once);
    let first = of_use_case(send());
    let again = of_use_case(send());
    assert_eq!(first.words, again.words, "a replay is judged again");
    first
}

/// A page of the sheet on the phone; it keeps what was typed before it is judged.
fn on_the_phone(estate: &Loop, (job, page): (JobId, &str), sheet: &Sheet) -> Said {
    let anna = estate.client(ANNA);
    let arrived = anna.post(&format!("/sheet/{job}/arrive"), &[]);
    assert_eq!(arrived.status(), 303);
    let answer = anna.post(&format!("/sheet/{job}/{page}"), &fields(sheet));
    let refused = answer.status() == 422;
    let words = answer.text().unwrap();
    let kept = visit::open_sheet(estate.world(), &estate.seat_of(ANNA), job).unwrap();
    for (key, value) in sheet.all() {
        assert_eq!(kept.sheet.get(key), value, "{page}: {key} was typed");
    }
    assert!(kept.visit.is_some(), "{page}: the visit goes on");
    Said { refused, words }
}

fn last_step(estate: &Loop, job: JobId, sheet: &Sheet) -> Said {
    on_the_phone(estate, (job, "close"), sheet)
}

/// The quote's page ends a visit too, with whatever end was chosen.
fn quote_page(estate: &Loop, job: JobId, sheet: &Sheet) -> Said {
    on_the_phone(estate, (job, "quote"), sheet)
}

fn typed_at_the_desk(estate: &Loop, job: JobId, sheet: &Sheet) -> Said {
    let anna = estate.anna.to_string();
    let mut all = fields(sheet);
    all.extend([
        ("arrived", "2026-11-25T07:00"),
        ("source", "paper"),
        ("engineer", anna.as_str()),
    ]);
    let agent = estate.client(AGENT);
    of_sheet(agent.post(&format!("/jobs/{job}/paper"), &all), sheet)
}

/// The desk's use case behind that page, from every source.
fn by_the_desk(estate: &Loop, job: JobId, sheet: &Sheet) -> Said {
    let mut last = None;
    for source in [
        PaperSource::Paper,
        PaperSource::Photo,
        PaperSource::Mail,
        PaperSource::Telephone,
    ] {
        let form = PaperVisit {
            job,
            source,
            arrived_at: "2026-11-25T07:00:00Z".parse().unwrap(),
            left_at: None,
            firm: None,
            engineer: Some(estate.anna),
            sheet: sheet.clone(),
        };
        let said = of_use_case(visit::paper_visit(
            estate.world(),
            &estate.seat_of(AGENT),
            form,
            &fresh(),
        ));
        assert!(said.refused, "{}: {}", source.code(), said.words);
        last = Some(said);
    }
    last.unwrap()
}

fn mailed_link(estate: &Loop, job: JobId, sheet: &Sheet) -> Said {
    let outbox = Outbox::new();
    let asked = estate
        .client(AGENT)
        .post(&format!("/jobs/{job}/mail"), &[("mail_to", OFFICE_A)]);
    assert_eq!(asked.status(), 303);
    let path = outbox.newest(estate).path(estate);
    let anna = estate.anna.to_string();
    let mut all = fields(sheet);
    all.extend([
        ("act", "report"),
        ("arrived", "2026-11-25T07:00"),
        ("engineer", anna.as_str()),
    ]);
    of_sheet(estate.app.visitor().post(&path, &all), sheet)
}

pub type Way = (&'static str, fn(&Loop, JobId, &Sheet) -> Said);

pub const WAYS: [Way; 6] = [
    ("the sheet sent whole", whole),
    ("the sheet's last step", last_step),
    ("the quote's page", quote_page),
    ("a visit typed in at the desk", typed_at_the_desk),
    ("the desk's use case", by_the_desk),
    ("a mailed link", mailed_link),
];

/// A sheet without the days of calibration typed by hand: no page asks for them, the instrument says them.
pub fn asked(sheet: &Sheet) -> Sheet {
    let kept = sheet.all().filter(|(name, _)| !name.starts_with("cal."));
    kept.fold(Sheet::new(), |sheet, (name, value)| sheet.with(name, value))
}

#[test]
fn every_way_refuses_what_is_unsafe_and_what_is_unproved() {
    let estate = Loop::start();
    let duty = estate.duty(estate.boiler, "G1");
    let good = || asked(&good_service().with("work", WORDS));
    let cases = [
        (
            good()
                .with("unsafe", "ID")
                .with("unsafe_words", "The flue spills."),
            "Isolate it",
        ),
        (
            good().with("r.working_mbar", ""),
            "working pressure or gas rate",
        ),
    ];
    for (name, send) in WAYS {
        for (sheet, words) in &cases {
            let job = estate.annas(JobKind::Service, estate.boiler, vec![duty]);
            let said = send(&estate, job, sheet);
            assert!(said.refused, "{name}: {}", said.words);
            assert!(said.words.contains(words), "{name}: “{words}” is not said");
            let state = estate.job(job).state;
            assert!(
                matches!(state, JobState::Taken | JobState::OnSite),
                "{name}: {state}"
            );
        }
    }
    let ended = "estate.visits WHERE left_at IS NOT NULL OR outcome IS NOT NULL";
    assert_eq!(estate.count(ended), 0);
    assert_eq!(estate.count("estate.sheets WHERE closes"), 0);
    assert_eq!(
        estate.count("estate.duty_completions WHERE job_id IS NOT NULL"),
        0
    );
    assert_eq!(
        estate.count("door.reply_links WHERE used_at IS NOT NULL"),
        0
    );
}

#[test]
fn nobody_opens_is_no_way_round_an_unsafe_situation() {
    let estate = Loop::start();
    let job = estate.annas(JobKind::Repair, estate.boiler, Vec::new());
    let anna = estate.client(ANNA);
    let sent = anna.post(
        &format!("/sheet/{job}/no-access"),
        &[
            ("left_behind", "a card"),
            ("access_words", WORDS),
            ("unsafe", "ID"),
            ("unsafe_words", "The flue spills."),
        ],
    );
    let said = of_page(sent);
    assert!(
        said.refused && said.words.contains("Isolate it"),
        "{}",
        said.words
    );
    assert_eq!(estate.job(job).state, JobState::Taken);
}

#[test]
fn a_supervisor_overrides_none_of_the_blocks_that_have_no_override() {
    let estate = Loop::start();
    let una = NewPerson {
        email: "una@example.test".to_owned(),
        name: "Una Upright".to_owned(),
        password: DEMO_PASSWORD.to_owned(),
        demo: true,
        estate: estate.seat.estate(),
        role: Role::Supervisor,
        firm: None,
        buildings: None,
    };
    add_person(estate.world(), &una).unwrap();
    let una = estate.seat_of("una@example.test");
    let duty = estate.duty(estate.boiler, "G1");
    let service = estate.annas(JobKind::Service, estate.boiler, vec![duty]);
    let cylinder = estate.annas(JobKind::Service, estate.cylinder, Vec::new());
    let repair = estate.annas(JobKind::Repair, estate.boiler, Vec::new());
    let done = Sheet::new()
        .with("outcome", "done")
        .with("told", "yes")
        .with("asbestos", "read_none");
    // SAFETY §4: never for items 1–3, 5 and 7; item 6 stands with all the others in `every_block`.
    for (item, job, engineer, sheet, words) in [
        (
            1,
            service,
            estate.anna,
            good_service()
                .with("unsafe", "ID")
                .with("unsafe_words", "x"),
            "Isolate it",
        ),
        (
            2,
            service,
            estate.lapsed,
            good_service(),
            "registration number",
        ),
        (
            3,
            service,
            estate.anna,
            good_service().with("r.working_mbar", ""),
            "working pressure or gas rate",
        ),
        (
            5,
            cylinder,
            estate.anna,
            done.clone()
                .with("r.tundish", "hot")
                .with("route_seen", "yes")
                .with("r.cutout_proved", "yes"),
            "relief route must be seen",
        ),
        (
            7,
            repair,
            estate.anna,
            done.clone().with("fitted", "pump").with("old_part", "P-1"),
            "isolated and proved dead",
        ),
    ] {
        let form = PaperVisit {
            job,
            source: PaperSource::Paper,
            arrived_at: "2026-11-25T07:00:00Z".parse().unwrap(),
            left_at: None,
            firm: None,
            engineer: Some(engineer),
            sheet: sheet.with("override_reason", "I answer for it."),
        };
        let said = of_use_case(visit::paper_visit(estate.world(), &una, form, &fresh()));
        assert!(
            said.refused && said.words.contains(words),
            "{item}: {}",
            said.words
        );
    }
    assert_eq!(estate.count("estate.visits"), 0);
}

/// The code that can end a visit or lead a job to its end stands in one file; a second one would be a way in that the
/// tests above do not try.
#[test]
fn only_one_place_ends_a_visit() {
    fn walk(folder: &Path, found: &mut Vec<(String, String)>) {
        for path in std::fs::read_dir(folder)
            .unwrap()
            .map(|e| e.unwrap().path())
        {
            if path.is_dir() {
                walk(&path, found);
            } else {
                let text = std::fs::read_to_string(&path).unwrap();
                found.push((path.display().to_string(), text));
            }
        }
    }
    let mut files = Vec::new();
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    for room in [
        "app/usecases/src",
        "app/web/src",
        "jobs/src",
        "seed-demo/src",
    ] {
        walk(&root.join(room), &mut files);
    }
    let naming = |word: &str| -> Vec<&str> {
        files
            .iter()
            .filter(|(_, text)| text.contains(word))
            .map(|(path, _)| path.rsplit_once("/src/").unwrap().1)
            .collect()
    };
    assert_eq!(naming(".end_visit("), ["visit/closing.rs"]);
    for (path, text) in &files {
        for asked in text.split("step(").skip(1) {
            let asked = asked.split(';').next().unwrap();
            assert!(
                !asked.contains("JobState::Done"),
                "{path}: a step to done by itself"
            );
        }
    }
}
