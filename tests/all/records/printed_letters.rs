//! Each letter printed from a browser and read back: who, when, why, how long, what moves, what is off, what after.
use terms::{JobId, JobKind};

use super::{estate, nobody_opens, with_letterhead};
use crate::support::pdf::{holds, pages_of, text_of};
use crate::support::{Browser, Width};
use crate::work_estate::Loop;

/// What every letter carries.
const EVERY: [&str; 8] = [
    "Tansy & Rook, Managing Agents",
    "2 Long Street, Alderton",
    "01632 960100",
    "Peregrine Quill",
    "Flat 14",
    "1 Alder Way",
    "Dear Peregrine Quill,",
    "Yours sincerely",
];

/// A check that nobody opened for at these days and hours.
fn closed_door(times: &[(i64, i64)]) -> (Loop, JobId) {
    let estate = estate();
    with_letterhead(&estate);
    let duty = estate.duty(estate.boiler, "G1");
    let job = estate.annas(JobKind::Check, estate.boiler, vec![duty]);
    for at in times {
        nobody_opens(&estate, job, *at);
    }
    (estate, job)
}

/// Opens a letter, fills in the slot, and answers what prints.
fn printed(
    estate: &Loop,
    (job, kind): (JobId, &str),
    filled: &[(&str, &str)],
) -> (Browser, String) {
    let browser = Browser::open(&estate.app.address, kind, Width::Desk);
    browser.come_in_as("Ada Agent");
    browser.go(&format!("/jobs/{job}"));
    browser.go(&format!("/jobs/{job}/letters/{kind}"));
    for (field, value) in filled {
        if matches!(*field, "day" | "from" | "until" | "answer_by") {
            browser.set(field, value);
        } else {
            browser.type_in(field, value);
        }
    }
    browser.press("Show the letter so");
    browser.until("the letter is filled in", || {
        browser.path().contains("shown=yes")
    });
    browser.shot("screen");
    let pdf = browser.print("letter");
    let text = text_of(&pdf);
    holds(&text, &EVERY);
    for not_printed in ["It was sent", "Fill in", "Before it goes", "Riserward"] {
        assert!(
            !text.contains(not_printed),
            "“{not_printed}” prints: {text}"
        );
    }
    assert!(
        pages_of(&pdf) <= 2,
        "two sheets at most: {}",
        pages_of(&pdf)
    );
    (browser, text)
}

const SLOT: [(&str, &str); 3] = [("day", "2026-12-30"), ("from", "17:30"), ("until", "19:00")];

#[test]
fn the_first_letter_says_when_we_came_and_when_we_come_again() {
    let (estate, job) = closed_door(&[(0, 10)]);
    let (browser, text) = printed(&estate, (job, "access_1"), &SLOT);
    holds(
        &text,
        &[
            "We could not get in: gas safety check",
            "Anna Arrow came to your home on Wednesday 25 November 2026, 10:00",
            "card through the door",
            "Wednesday 30 December 2026, between 17:30 and 19:00",
            "about 1 hour",
            "Please clear a metre in front of the combi gas boiler",
            "Heating and hot water are off while the engineer works",
            "you are told what was found",
            "The law asks your landlord to have this done",
            "If you smell gas",
        ],
    );
    // Sent from the same page, it appears with the tries.
    browser.choose("how", "post");
    browser.set("sent_on", "2026-11-25");
    browser.set("sent_time", "10:00");
    browser.press("It was sent");
    browser.arrives("/letters/");
    browser.shot("sent");
    assert!(
        browser
            .words()
            .contains("First letter is on record as sent."),
        "{}",
        browser.words()
    );
    // The same letter again from the record, years on: the same words.
    let again = text_of(&browser.print("again"));
    holds(
        &again,
        &[
            "Tansy & Rook, Managing Agents",
            "We could not get in: gas safety check",
            "Anna Arrow came to your home on Wednesday 25 November 2026, 10:00",
            "card through the door",
            "Wednesday 30 December 2026, between 17:30 and 19:00",
            "The law asks your landlord to have this done",
            "If you smell gas",
        ],
    );
}

#[test]
fn the_second_letter_offers_another_time_of_day() {
    let (estate, job) = closed_door(&[(0, 10), (7, 9)]);
    let (_, text) = printed(&estate, (job, "access_2"), &SLOT);
    holds(
        &text,
        &[
            "Second letter: please let us in for the gas safety check",
            "We came to your home two times",
            "Wednesday 25 November 2026, 10:00",
            "Wednesday 2 December 2026, 09:00",
            "another time of day",
            "between 17:30 and 19:00",
        ],
    );
}

#[test]
fn the_third_letter_names_tries_letters_terms_and_what_follows() {
    let (estate, job) = closed_door(&[(0, 10), (7, 17), (14, 13)]);
    let mut filled = SLOT.to_vec();
    filled.push(("terms", "clause 4(2), access on 24 hours’ notice"));
    filled.push(("answer_by", "2026-12-16"));
    let (_, text) = printed(&estate, (job, "access_3"), &filled);
    holds(
        &text,
        &[
            "By recorded post",
            "Third letter, by recorded post",
            "We came to your home three times",
            "Wednesday 2 December 2026, 17:00",
            "Wednesday 9 December 2026, 13:00",
            "Your tenancy or lease gives access for this: clause 4(2)",
            "by Wednesday 16 December 2026",
            "your landlord, who decides what comes next",
            "may ask a court to order access",
            "Nobody will force your door.",
        ],
    );
}

#[test]
fn the_notice_of_a_planned_visit_says_who_why_how_long_and_what_after() {
    let (estate, job) = closed_door(&[]);
    let (_, text) = printed(&estate, (job, "planned_visit"), &SLOT);
    holds(
        &text,
        &[
            "A visit to your home: gas safety check",
            "Wednesday 30 December 2026, between 17:30 and 19:00",
            "Who comes",
            "Firm A",
            "Why",
            "Gas safety check",
            "How long",
            "Please move",
            "Water and heating",
            "Cold water stays on",
            "Afterwards",
            "If that does not suit you",
        ],
    );
}

#[test]
fn the_notice_of_a_repair_says_the_same_of_a_repair() {
    let estate = estate();
    with_letterhead(&estate);
    let job = estate.annas(JobKind::Repair, estate.boiler, Vec::new());
    let filled = [
        ("day", "2026-11-27"),
        ("from", "09:00"),
        ("until", "11:00"),
        ("why", "No hot water: a valve is changed"),
        ("off", "Water is off for ten minutes."),
    ];
    let (_, text) = printed(&estate, (job, "repair"), &filled);
    holds(
        &text,
        &[
            "A repair in your home: no hot water: a valve is changed",
            "We are coming to put something right",
            "Friday 27 November 2026, between 09:00 and 11:00",
            "Water is off for ten minutes.",
            "Please move",
            "Afterwards",
        ],
    );
}
