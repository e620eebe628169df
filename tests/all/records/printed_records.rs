//! Each record printed from a browser and read back: every item of its list stands on the page.
use terms::RecordKind;
use usecases::visit::Sheet;

use super::{at, building, estate, served, signed, whole_sheet, with_letterhead};
use crate::support::pdf::{holds, pages_of, text_of};
use crate::support::{Browser, Width};
use crate::work_estate::Loop;

/// What stands under both records.
const MEASURED: [&str; 9] = [
    "20 mbar",
    "40 ppm",
    "9%",
    "1.2 bar",
    "10 °C",
    "Analyser FG-3",
    "30 Jun 2027",
    "Anna Arrow",
    "200417",
];

fn issued(kind: RecordKind) -> (Loop, terms::JobId, String) {
    issued_of(kind, &whole_sheet())
}

fn issued_of(kind: RecordKind, sheet: &Sheet) -> (Loop, terms::JobId, String) {
    let estate = estate();
    with_letterhead(&estate);
    let analyser = estate
        .world()
        .pool
        .at_door::<_, usecases::Error>(|door| {
            Ok(door
                .instruments_of(estate.firm_a, Some(estate.anna))?
                .remove(0))
        })
        .unwrap();
    let sheet = sheet
        .clone()
        .with("i.co_ppm", analyser.id.to_string())
        .with("i.co2_percent", analyser.id.to_string());
    let job = served(&estate, &sheet);
    let number = signed(&estate, job, kind);
    (estate, job, number)
}

#[test]
fn the_gas_safety_record_prints_every_item_the_law_lists_on_one_page() {
    let (estate, job, number) = issued(RecordKind::GasSafety);
    let digest = usecases::visit::RuleBook::shipped().unwrap().digest();
    let browser = Browser::open(&estate.app.address, "gas-record", Width::Desk);
    browser.come_in_as("Olive Owner");
    browser.go(&at(job, "gas_safety_record"));
    browser.shot("screen");
    let pdf = browser.print("record");
    let text = text_of(&pdf);
    // Regulation 36(3)(c), from a public guidance page read.
    holds(
        &text,
        &[
            "Gas safety record",
            "Wednesday 25 November 2026",
            "Flat 14, Alder House, 1 Alder Way",
            "Tansy & Rook, Managing Agents",
            "2 Long Street, Alderton",
            "combi gas boiler",
            "its flue",
            "Kitchen cupboard",
            "Kitchen wall to outside",
            "safe to use",
            "seen over its length",
            "None found.",
            "Examined as regulation 26(9) asks",
            "Registration number",
            "Signed, as typed",
            &number,
            &digest[..24],
            "Basis: law",
            "from a public guidance page read",
            "not a certificate",
        ],
    );
    holds(&text, &MEASURED);
    assert_eq!(pages_of(&pdf), 1, "one sheet");
    assert!(!text.contains("Draft"), "it is issued");
}

/// Regulation 36(3)(c): each safety defect and what was done about it.
#[test]
fn a_gas_safety_record_with_a_defect_prints_it_with_its_action() {
    let sheet = whole_sheet()
        .with("gc_defects", "found")
        .with("gc_d.1.words", "Seal of the case was perished")
        .with("gc_d.1.action", "New seal fitted and the case tested");
    let (estate, job, number) = issued_of(RecordKind::GasSafety, &sheet);
    let browser = Browser::open(&estate.app.address, "gas-record-defect", Width::Desk);
    browser.come_in_as("Olive Owner");
    browser.go(&at(job, "gas_safety_record"));
    let text = text_of(&browser.print("record"));
    holds(
        &text,
        &[
            "Seal of the case was perished",
            "New seal fitted and the case tested",
            &number,
        ],
    );
    assert!(!text.contains("None found."), "{text}");
}

#[test]
fn the_proof_of_a_building_and_of_a_past_day_print_what_was_known_then() {
    let (estate, _, number) = issued(RecordKind::GasSafety);
    let browser = Browser::open(&estate.app.address, "proof-building", Width::Desk);
    browser.come_in_as("Olive Owner");
    browser.go(&format!("/prove/building/{}", building(&estate)));
    let text = text_of(&browser.print("proof"));
    holds(
        &text,
        &[
            "Alder House: what was in force on 25 November 2026",
            "Flat 14",
            "Flat 15",
            "Gas safety check of the combi gas boiler",
            "200417",
            &number,
            "Head of the audit then",
        ],
    );
    // The day before, nothing of it was known.
    browser.go(&format!("/prove/flat/{}?on=2026-11-24", estate.flat));
    let text = text_of(&browser.print("past"));
    holds(
        &text,
        &["Flat 14, Alder House: what was in force on 24 November 2026"],
    );
    assert!(!text.contains(&number), "{text}");
}

#[test]
fn a_draft_prints_as_a_draft_with_its_gaps() {
    let estate = estate();
    let job = served(&estate, &crate::visit_sheet::good_service());
    let browser = Browser::open(&estate.app.address, "draft-record", Width::Phone);
    browser.come_in_as("Anna Arrow");
    browser.go(&at(job, "gas_safety_record"));
    browser.shot("screen");
    let text = text_of(&browser.print("draft"));
    holds(
        &text,
        &[
            "Draft, not a gas safety record",
            "Where this stands: combi gas boiler.",
            "The name of the landlord or agent",
            "regulation 26(9) were examined",
        ],
    );
}

#[test]
fn the_service_sheet_prints_every_reading_of_the_set_on_one_page() {
    let (estate, job, number) = issued(RecordKind::Service);
    let browser = Browser::open(&estate.app.address, "service-sheet", Width::Desk);
    browser.come_in_as("Anna Arrow");
    browser.go(&at(job, "service_sheet"));
    browser.shot("screen");
    let pdf = browser.print("sheet");
    let text = text_of(&pdf);
    // The set of a combi boiler: common practice, no source. Labels as the rule book names them.
    let book = usecases::visit::RuleBook::shipped().unwrap();
    let set = book.set("CB").unwrap();
    let sheet = whole_sheet();
    for spec in &set.readings {
        let typed = |code: &str| sheet.get(&format!("r.{code}"));
        // Where one of two will do (pressure or gas rate), the one that was not measured has no value to show.
        let fields = spec.fields.iter().filter(|f| !typed(&f.code).is_empty());
        assert!(fields.clone().count() > 0, "{} was measured", spec.label);
        for field in fields {
            holds(&text, &[&spec.name_of(field)]);
            let typed = typed(&field.code);
            let typed = typed.strip_suffix(".0").unwrap_or(typed);
            let shown = format!("{typed} {}", field.unit).replace(" %", "%");
            holds(&text, &[shown.trim()]);
        }
    }
    holds(
        &text,
        &[
            "Service sheet",
            "AH-14-1",
            "Serviced.",
            "told what comes next",
            "Done",
            "1000",
            "280",
            &number,
            "common practice, no source",
            "not a gas safety record",
        ],
    );
    holds(&text, &MEASURED);
    assert_eq!(pages_of(&pdf), 1, "one sheet");
}

#[test]
fn the_proof_of_a_flat_prints_its_evidence_under_the_head_of_the_audit() {
    let (estate, _, number) = issued(RecordKind::GasSafety);
    let browser = Browser::open(&estate.app.address, "proof", Width::Desk);
    browser.come_in_as("Olive Owner");
    browser.go(&format!("/prove/flat/{}", estate.flat));
    browser.shot("screen");
    let pdf = browser.print("proof");
    let text = text_of(&pdf);
    holds(
        &text,
        &[
            "Flat 14, Alder House: what was in force on 25 November 2026",
            "Gas safety check of the combi gas boiler",
            "Anna Arrow of Firm A",
            "200417",
            &number,
            "25 November 2027",
            "basis: law",
            "Head of the audit then",
            "Head of the audit now",
        ],
    );
    assert!(pages_of(&pdf) <= 2, "two sheets at most");
    assert!(estate.count("estate.audit_entries WHERE act = 'proof made'") >= 1);
}
