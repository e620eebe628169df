//! What the phone's script is told, and what stands when it judged otherwise.
use inspection::RuleBook;
use terms::{JobId, JobKind};
use usecases::visit;

use crate::work_estate::{ANNA, Loop, fresh};

const READING: &str = "hot_rise_and_flow";

/// Anna at the boiler, for its service.
fn at_the_unit(estate: &Loop) -> JobId {
    let duty = estate.duty(estate.boiler, "G1");
    let job = estate.annas(JobKind::Service, estate.boiler, vec![duty]);
    let anna = estate.client(ANNA);
    let arrived = anna.post(&format!("/sheet/{job}/arrive"), &[("once", &fresh())]);
    assert_eq!(arrived.status(), 303);
    job
}

/// Sends the rise of 26 K with what the phone said of it; answers what stands beside it when it differs.
fn sent(estate: &Loop, job: JobId, said: &str) -> String {
    let once = fresh();
    let typed = [
        ("once", once.as_str()),
        ("r.cold_c", "10"),
        ("r.hot_c", "36"),
        ("r.flow_lpm", "12"),
        ("p.hot_rise_and_flow", said),
        ("d.hot_rise_and_flow", "sent, not found"),
    ];
    let anna = estate.client(ANNA);
    let answer = anna.post(&format!("/sheet/{job}/reading/{READING}"), &typed);
    assert_eq!(answer.status(), 303);
    let view = visit::open_sheet(estate.world(), &estate.seat_of(ANNA), job).unwrap();
    view.sheet.get(&format!("d.{READING}")).to_owned()
}

#[test]
fn the_script_is_told_the_book_the_kind_and_what_is_known() {
    let estate = Loop::start();
    let job = at_the_unit(&estate);
    let anna = estate.client(ANNA);
    let page = anna.page(&format!("/sheet/{job}/reading/{READING}"));
    let digest = RuleBook::shipped().unwrap().digest();
    assert!(page.contains(digest) && page.contains("/assets/sheet.js"));
    assert!(page.contains("plate.rated_kw"), "{page}");
    let book = anna.get(&format!("/assets/rules/{digest}"));
    assert_eq!(book.status(), 200);
    let keep = book.headers()["cache-control"].to_str().unwrap().to_owned();
    assert!(
        keep.contains("immutable"),
        "a phone without signal keeps it: {keep}"
    );
    assert_eq!(book.text().unwrap(), RuleBook::shipped_text());
    assert_eq!(anna.get("/assets/rules/0000").status(), 404);
    // The dates and the rest of a visit are reckoned there too, on every page of the sheet.
    let close = anna.page(&format!("/sheet/{job}/close"));
    for script in ["rules", "days", "visit", "said", "kept", "sheet"] {
        assert!(close.contains(&format!("/assets/{script}.js")), "{script}");
        let served = anna.get(&format!("/assets/{script}.js"));
        assert_eq!(served.status(), 200);
        let lines = served.text().unwrap().lines().count();
        assert!(lines <= 200, "{script}.js has {lines} lines");
    }
}

#[test]
fn a_difference_on_likely_parts_and_on_the_end_is_shown_and_written_down() {
    let estate = Loop::start();
    let job = at_the_unit(&estate);
    let anna = estate.client(ANNA);
    let noted = "estate.audit_entries WHERE act = 'phone judged otherwise'";
    let digest = &RuleBook::shipped().unwrap().digest()[..12];
    let open = || visit::open_sheet(estate.world(), &estate.seat_of(ANNA), job).unwrap();
    let post = |step: &str, typed: &[(&str, &str)]| {
        let once = fresh();
        let mut all = vec![("once", once.as_str())];
        all.extend_from_slice(typed);
        anna.post(&format!("/sheet/{job}/{step}"), &all)
    };
    let wrong = format!("{digest} fan,board,pump -");
    let seen = ("o.rise_low", "seen");
    let answer = post("look", &[seen, ("p.ranking", wrong.as_str())]);
    assert_eq!(answer.status(), 303);
    let view = open();
    let ranking = view.assessment.ranking.as_ref().unwrap();
    let test = ranking.best_test.as_deref().unwrap();
    let stands = format!("{digest} {} {test}", ranking.top3.join(","));
    assert_eq!(view.sheet.get("d.ranking"), stands);
    assert_eq!(estate.count(noted), 1);
    let page = anna.page(&format!("/sheet/{job}/finding"));
    assert!(
        page.contains("judged by another copy of the rules"),
        "{page}"
    );
    post("look", &[seen, ("p.ranking", stands.as_str())]);
    assert_eq!(open().sheet.get("d.ranking"), "", "both say the same");

    // Nothing stands in the way, says the phone; the server refuses, says why and that they differ.
    let all_well = format!("{digest} hard: soft:");
    let refused = post(
        "close",
        &[("outcome", "done"), ("p.completion", all_well.as_str())],
    );
    assert_eq!(refused.status(), 422);
    let page = refused.text().unwrap();
    assert!(
        page.contains("judged by another copy of the rules"),
        "{page}"
    );
    let view = open();
    let completion = &view.assessment.completion;
    let hard: Vec<String> = completion
        .hard_blocks
        .iter()
        .map(ToString::to_string)
        .collect();
    let soft = completion.soft_blocks.join(",");
    let stands = format!("{digest} hard:{} soft:{soft}", hard.join(","));
    assert_eq!(view.sheet.get("d.completion"), stands);
    assert_eq!(estate.count(noted), 2);
    let page = anna.page(&format!("/sheet/{job}/finding"));
    assert!(
        !page.contains("judged by another copy of the rules"),
        "it is about the end alone"
    );
    post(
        "close",
        &[("outcome", "done"), ("p.completion", stands.as_str())],
    );
    assert_eq!(open().sheet.get("d.completion"), "", "both say the same");
    assert_eq!(estate.count(noted), 2);
}

#[test]
fn a_difference_is_shown_and_written_down_and_goes_when_both_agree() {
    let estate = Loop::start();
    let job = at_the_unit(&estate);
    let noted = "estate.audit_entries WHERE act = 'phone judged otherwise'";
    let stands = sent(&estate, job, "0123456789ab A1:OK");
    let digest = &RuleBook::shipped().unwrap().digest()[..12];
    // 36 − 10 = 26 K at 12 l/min: low for a boiler of 28 kW (READINGS row A1; common practice, no source).
    assert_eq!(stands, format!("{digest} A1:A1_LOW_RISE"));
    assert_eq!(estate.count(noted), 1);
    let page = estate
        .client(ANNA)
        .page(&format!("/sheet/{job}/finding?after={READING}"));
    assert!(
        page.contains("judged by another copy of the rules"),
        "{page}"
    );
    assert!(page.contains("26\u{a0}K"), "{page}");
    assert_eq!(sent(&estate, job, &stands), "", "both say the same");
    assert_eq!(estate.count(noted), 1, "nothing further to write down");
    assert_eq!(
        sent(&estate, job, ""),
        "",
        "a phone without script says nothing"
    );
}
