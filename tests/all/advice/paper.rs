//! The two pages as a PDF: set by the program beside ours, and what happens while that is not there or breaks.
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use jobs::PaperProcess;
use wording::paper::{NotSet, Paper, Part, Typesetter};

use super::adds_up;
use super::estate::blocks;
use crate::support::TestApp;
use crate::support::built::built;
use crate::support::pdf::{pages_told, text_of};

/// What sets papers, as built beside this test.
fn program() -> PathBuf {
    let made_of = [
        "app/papers/src",
        "app/papers/bin",
        "app/papers/typeset",
        "app/papers/fonts",
        "app/wording/src",
    ];
    built("papers", "riserward-papers", &made_of)
}

fn ids(list: &str) -> Vec<String> {
    let mut ids: Vec<String> = list
        .split("/advice/")
        .skip(1)
        .filter_map(|after| after.get(..36))
        .filter(|id| uuid::Uuid::parse_str(id).is_ok())
        .map(str::to_owned)
        .collect();
    ids.sort();
    ids.dedup();
    ids
}

fn plain(text: &str) -> String {
    let text = text.replace('\u{a0}', " ").replace('\u{200b}', "");
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn every_advice_of_the_demo_is_two_pages_that_say_what_its_page_says() {
    let app = TestApp::demo_with(Arc::new(PaperProcess::new(program())));
    let (agent, landlord, site) = (
        app.signed_in(seed_demo::AGENT),
        app.signed_in(seed_demo::LANDLORD),
        app.signed_in(seed_demo::SITE),
    );
    let ids = ids(&agent.page("/advice"));
    assert!(ids.len() > 1, "{} advices", ids.len());
    for id in &ids {
        let address = format!("/advice/{id}/pack.pdf");
        for page in [format!("/advice/{id}"), format!("/advice/{id}/pack")] {
            assert!(
                agent.page(&page).contains(&format!("href=\"{address}\"")),
                "{page}"
            );
        }
        let answer = agent.get(&address);
        assert_eq!(answer.status(), 200, "{address}");
        assert_eq!(answer.headers()["content-type"], "application/pdf");
        let named = answer.headers()["content-disposition"]
            .to_str()
            .unwrap()
            .to_owned();
        assert!(
            named.starts_with("inline; filename=\"decision-pack-"),
            "{named}"
        );
        let pdf = answer.bytes().unwrap();
        assert!(pdf.starts_with(b"%PDF"), "{address}");
        assert_eq!(pages_told(&pdf), 2, "{address}");
        let text = plain(&text_of(&pdf));
        let page = agent.page(&format!("/advice/{id}/pack"));
        let (_, after) = page.split_once("<h1>").unwrap();
        let (heading, _) = after.split_once("</h1>").unwrap();
        let heading = plain(&blocks(heading).join(" "));
        let first: String = heading.split(' ').take(5).collect::<Vec<_>>().join(" ");
        assert!(text.contains(&first), "“{first}” is not in {text}");
        for said in [
            "Head of the record",
            "Signed for the landlord",
            "Options",
            "Sources",
        ] {
            assert!(text.contains(said), "“{said}” is not in {text}");
        }
        assert_eq!(agent.get(&address).bytes().unwrap(), pdf, "the same again");
    }
    let address = format!("/advice/{}/pack.pdf", ids[0]);
    assert_eq!(site.get(&address).status(), 404, "not for site staff");
    assert_eq!(app.visitor().get(&address).status(), 303, "sign in first");
    assert_eq!(agent.get("/advice/nonsense/pack.pdf").status(), 404);
    let page = landlord.get(&format!("/advice/{}/pack", ids[0])).status();
    assert_eq!(
        landlord.get(&address).status(),
        page,
        "whoever sees the page has the PDF"
    );
}

/// Keeps what it was asked to set.
#[derive(Debug, Default)]
struct Listener(Mutex<Vec<Paper>>);

impl Typesetter for Listener {
    fn is_there(&self) -> bool {
        true
    }

    fn set(&self, paper: &Paper) -> Result<Vec<u8>, NotSet> {
        self.0.lock().unwrap().push(paper.clone());
        Err(NotSet::Failed)
    }
}

#[test]
fn the_paper_holds_every_word_of_the_page() {
    let heard = Arc::new(Listener::default());
    let app = TestApp::demo_with(Arc::clone(&heard) as Arc<dyn Typesetter>);
    let agent = app.signed_in(seed_demo::AGENT);
    for id in ids(&agent.page("/advice")) {
        let page = agent.page(&format!("/advice/{id}/pack"));
        let answer = agent.get(&format!("/advice/{id}/pack.pdf"));
        assert_eq!(answer.status(), 500);
        assert!(answer.text().unwrap().contains("could not be made"));
        let paper = heard.0.lock().unwrap().pop().unwrap();
        // So were flat-22.json and flat-46.json in app/papers/tests/packs made.
        if let Ok(place) = std::env::var("RISERWARD_KEEP_PAPERS") {
            let file = Path::new(&place).join(format!("{id}.json"));
            std::fs::write(file, serde_json::to_vec_pretty(&paper).unwrap()).unwrap();
        }
        // The words of the paper, one beside the other, as the page has them between its tags.
        let said = plain(&words(&paper).join(" "));
        let (_, main) = page.split_once("<main id=\"main\">").unwrap();
        let (main, _) = main.split_once("</main>").unwrap();
        for block in blocks(main) {
            let block = plain(&block);
            let aside =
                block.starts_with("Back to the advice") || block.starts_with("Show as a table");
            if !aside && !in_a_drawing(&page, &block) {
                for piece in block.split(" · ") {
                    assert!(
                        said.contains(piece),
                        "“{piece}” of the page is not on the paper: {said}"
                    );
                }
            }
        }
        assert!(adds_up(&page) >= 3);
    }
}

/// What stands in an SVG or in the table that folds out under it goes as the drawing itself.
fn in_a_drawing(page: &str, block: &str) -> bool {
    page.split("<figure")
        .skip(1)
        .filter_map(|figure| figure.split("</figure>").next())
        .any(|figure| {
            blocks(&format!("<figure{figure}"))
                .iter()
                .any(|b| plain(b) == block)
        })
}

fn words(paper: &Paper) -> Vec<String> {
    let mut said = vec![paper.heading.clone()];
    let sections = paper.sections.iter().flat_map(|section| {
        said.push(section.heading.clone());
        said.push(section.note.clone());
        section.parts.iter()
    });
    let parts: Vec<&Part> = sections.collect();
    for part in paper.beside.iter().chain(parts) {
        match part {
            Part::Words { words, .. } => said.push(words.clone()),
            Part::Row {
                subject,
                sentence,
                more,
                figure,
                small,
            } => {
                said.push(format!("{subject}{sentence}"));
                said.extend(more.iter().cloned());
                said.extend([figure.clone(), small.clone()]);
            }
            Part::Drawing { told, caption, .. } => said.extend([told.clone(), caption.clone()]),
            Part::Columns { columns } => {
                for column in columns {
                    said.extend([column.title.clone(), column.verdict.clone()]);
                    said.extend(
                        column
                            .facts
                            .iter()
                            .flat_map(|f| [f.name.clone(), f.value.clone()]),
                    );
                }
            }
            Part::Table { headers, rows } => {
                said.extend(headers.iter().chain(rows.iter().flatten()).cloned());
            }
            Part::Plate { facts } => {
                said.extend(facts.iter().flat_map(|f| [f.name.clone(), f.value.clone()]));
            }
        }
    }
    said
}

#[test]
fn while_nothing_sets_papers_the_page_says_so_and_leads_back() {
    for app in [
        TestApp::demo(),
        TestApp::demo_with(Arc::new(PaperProcess::new(PathBuf::from(
            "/nowhere/papers",
        )))),
    ] {
        let agent = app.signed_in(seed_demo::AGENT);
        let id = ids(&agent.page("/advice")).remove(0);
        // No link leads there, and whoever kept the address is told.
        let link = format!("/advice/{id}/pack.pdf");
        let page = agent.page(&format!("/advice/{id}/pack"));
        assert!(page.contains("Print this page from the browser"), "{page}");
        assert!(!page.contains("A PDF"), "{page}");
        assert!(!page.contains(&link), "{page}");
        assert!(!agent.page(&format!("/advice/{id}")).contains(&link));
        let answer = agent.get(&link);
        assert_eq!(answer.status(), 503);
        assert_eq!(answer.headers()["retry-after"], "120");
        let page = answer.text().unwrap();
        assert!(page.contains("The PDF is not available here yet"), "{page}");
        assert!(
            page.contains(&format!("href=\"/advice/{id}/pack\"")),
            "{page}"
        );
    }
}

/// A program of our own in the place of the one that sets papers.
struct Stand {
    folder: PathBuf,
}

impl Stand {
    fn new(script: &str) -> Self {
        let folder =
            std::env::temp_dir().join(format!("riserward-{}", uuid::Uuid::new_v4().simple()));
        std::fs::create_dir(&folder).unwrap();
        let program = folder.join("papers");
        std::fs::write(&program, format!("#!/bin/sh\n{script}\n")).unwrap();
        std::fs::set_permissions(&program, std::fs::Permissions::from_mode(0o755)).unwrap();
        Self { folder }
    }

    fn process(&self, time: Duration) -> PaperProcess {
        PaperProcess::limited(self.folder.join("papers"), 512 * 1024, time)
    }
}

impl Drop for Stand {
    fn drop(&mut self) {
        let _removed = std::fs::remove_dir_all(&self.folder);
    }
}

fn blank() -> Paper {
    Paper {
        title: "A paper".to_owned(),
        author: String::new(),
        made_on: chrono::NaiveDate::from_ymd_opt(2026, 11, 25).unwrap(),
        beside: Vec::new(),
        heading: "A heading".to_owned(),
        sections: Vec::new(),
    }
}

#[test]
fn what_sets_papers_is_started_anew_when_it_died_and_ended_when_it_hangs() {
    let minute = Duration::from_mins(1);
    // Answers once with its limit, then dies.
    let once = Stand::new("read n; head -c \"$n\" >/dev/null; echo \"pdf 7\"; ulimit -v");
    let process = once.process(minute);
    for _ in 0..3 {
        assert_eq!(process.set(&blank()), Ok(b"524288\n".to_vec()));
    }
    let dies = Stand::new("exit 1");
    assert_eq!(dies.process(minute).set(&blank()), Err(NotSet::Failed));
    let says_no = Stand::new(
        "while read n; do head -c \"$n\" >/dev/null; echo \"trouble 2\"; printf no; done",
    );
    let process = says_no.process(minute);
    assert_eq!(process.set(&blank()), Err(NotSet::Failed));
    assert_eq!(process.set(&blank()), Err(NotSet::Failed));
    let babbles = Stand::new("read n; head -c \"$n\" >/dev/null; echo \"pdf 99999999999\"");
    assert_eq!(babbles.process(minute).set(&blank()), Err(NotSet::Failed));
    let hangs = Stand::new("exec sleep 60");
    let begun = Instant::now();
    assert_eq!(
        hangs.process(Duration::from_millis(300)).set(&blank()),
        Err(NotSet::Failed)
    );
    assert!(begun.elapsed() < Duration::from_secs(30), "it was ended");
    let gone = PaperProcess::new(PathBuf::from("/nowhere/papers"));
    assert_eq!(gone.set(&blank()), Err(NotSet::NotThere));
}

#[test]
fn a_paper_takes_no_longer_than_its_limit_whatever_it_is_set_by() {
    let limit = Duration::from_secs(2);
    // Answers one paper, then hears no more; each start leaves a line.
    let stalls = Stand::new(
        "echo started >>\"$0.starts\"; read n; head -c \"$n\" >/dev/null; echo \"pdf 2\"; printf ok; exec sleep 60",
    );
    let process = stalls.process(limit);
    assert_eq!(process.set(&blank()), Ok(b"ok".to_vec()));
    let begun = Instant::now();
    assert_eq!(process.set(&blank()), Err(NotSet::Failed));
    let starts = || std::fs::read_to_string(stalls.folder.join("papers.starts")).unwrap();
    assert_eq!(
        starts().lines().count(),
        1,
        "what took too long is not tried again"
    );
    assert!(begun.elapsed() < limit * 2, "{:?}", begun.elapsed());
    // More than fits into the pipe, to one that never reads.
    let deaf = Stand::new("exec sleep 60");
    let long = Paper {
        heading: "long ".repeat(1 << 20),
        ..blank()
    };
    let begun = Instant::now();
    assert_eq!(deaf.process(limit).set(&long), Err(NotSet::Failed));
    assert!(begun.elapsed() < limit * 2, "{:?}", begun.elapsed());
}
