//! The pages that say what the program goes by: nothing it uses is left out, and every line has its status and day.
use terms::Country;

use crate::support::TestApp;
use crate::support::browser::{Browser, Width};

fn plain(page: &str) -> String {
    page.replace('\u{a0}', " ")
        .replace("&#39;", "'")
        .replace("&#38;", "&")
        .replace("&amp;", "&")
}

/// The row of a table in which a fact stands.
fn row<'a>(page: &'a str, fact: &str) -> &'a str {
    let mut rows = page
        .split("<tr>")
        .filter(|row| !row.contains("scope=\"col\""));
    let first = format!("scope=\"row\">{fact}");
    let row = rows.clone().find(|row| row.contains(&first));
    let row = row.or_else(|| rows.find(|row| row.contains(fact)));
    row.unwrap_or_else(|| panic!("no row says “{fact}”"))
}

/// Not somewhere on the page: in the fact's own row.
#[test]
fn the_status_of_each_fact_stands_beside_it() {
    let app = TestApp::demo();
    let agent = app.signed_in(seed_demo::AGENT);
    let page = |about: &str| plain(&agent.page(&format!("/facts?about={about}")));
    let book = usecases::visit::RuleBook::shipped().unwrap();
    let beside = |shown: &str, fact: &str, status: &str| {
        let row = row(shown, &plain(fact));
        assert!(
            row.contains(&plain(status)),
            "“{status}” is not beside “{fact}”: {row}"
        );
    };
    let as_at = plain(&wording::sentences::dates::day(book.as_at()));
    let shown = page("limits");
    for limit in book.limits() {
        beside(&shown, &limit.title, &limit.status);
        beside(&shown, &limit.title, &as_at);
    }
    let shown = page("formulas");
    for formula in book.formulas() {
        beside(&shown, &formula.words, &formula.status);
    }
    for constant in book.constant_rows() {
        beside(&shown, &constant.name.replace('_', " "), &constant.status);
    }
    let shown = page("readings");
    for reading in book
        .sets()
        .iter()
        .flat_map(|set| set.readings.iter().chain(&set.tests))
    {
        beside(&shown, &reading.label, "common practice, no source");
    }
    let shown = page("symptoms");
    for part in book.tables().iter().flat_map(|table| &table.parts) {
        beside(&shown, &part.part, &book.ranking().status);
    }
    let shown = page("blocks");
    for block in book.blocks() {
        beside(&shown, &block.words, &block.status);
    }
    for soft in book.soft_blocks() {
        beside(&shown, &soft.words, "common practice, no source");
    }
    for class in book.part_classes() {
        beside(
            &shown,
            &class.parts.join(", ").replace('_', " "),
            &class.status,
        );
    }
    let shown = page("times");
    let consult = "Works over £250";
    beside(&shown, consult, "2003, reg. 6, from memory; under review");
    beside(&shown, consult, "31 October 2003");
    assert!(!shown.contains("settable"), "nothing is settable here");
    for event in book.events() {
        beside(&shown, &event.task, &event.status);
    }
    for rule in book.response_rules() {
        beside(&shown, &rule.words, &rule.status);
    }
    let shipped = usecases::founding::shipped().unwrap();
    let shown = page("duties");
    for duty in &shipped.duties {
        for said in [&duty.basis, &duty.status] {
            beside(&shown, &format!("{} {}", duty.code, duty.name), said);
        }
    }
    let shown = page("money");
    for price in &shipped.prices {
        beside(&shown, &price.name, &price.status);
    }
}

#[test]
fn every_fact_the_program_uses_stands_on_a_page_with_its_status() {
    let app = TestApp::demo();
    let agent = app.signed_in(seed_demo::AGENT);
    let page = |about: &str| plain(&agent.page(&format!("/facts?about={about}")));
    let book = usecases::visit::RuleBook::shipped().unwrap();
    let shown = page("limits");
    assert!(
        shown.contains(book.digest())
            && shown.contains(&format!("Rule book version {}", book.version()))
    );
    // READINGS section 2 as the book keeps it: 51 rows, one a reading.
    assert!(book.limits().len() >= 51, "{}", book.limits().len());
    for limit in book.limits() {
        assert!(shown.contains(&plain(&limit.title)), "{}", limit.title);
        assert!(
            shown.contains(&plain(&limit.source)),
            "{}: its source",
            limit.row
        );
    }
    for status in [
        "published page",
        "standard from memory",
        "common practice, no source",
    ] {
        assert!(shown.contains(status), "{status}");
    }
    let shown = page("formulas");
    // F1 to F21 of READINGS section 1, W1 to W6 of DUTIES section 1.
    for n in 1..=21 {
        assert!(shown.contains(&format!("F{n} ")), "F{n}");
    }
    for n in 1..=6 {
        assert!(shown.contains(&format!("W{n} ")), "W{n}");
    }
    assert!(shown.contains("4.186") && shown.contains("1.163") && shown.contains("physics"));
    let shown = page("readings");
    for set in book.sets() {
        assert!(shown.contains(&plain(&set.title)), "{}", set.title);
    }
    let shown = page("symptoms");
    for table in book.tables() {
        assert!(shown.contains(&plain(&table.title)), "{}", table.title);
        for part in &table.parts {
            assert!(shown.contains(&plain(&part.part)), "{}", part.part);
        }
    }
    let shown = page("blocks");
    for block in book.blocks() {
        assert!(
            shown.contains(&plain(&block.words)),
            "block {}",
            block.block
        );
    }
    for block in book.soft_blocks() {
        assert!(shown.contains(&plain(&block.words)), "{}", block.key);
    }
    let shown = page("times");
    for event in book.events() {
        assert!(shown.contains(&plain(&event.task)), "{}", event.event);
    }
    for rule in book.response_rules() {
        assert!(shown.contains(&plain(&rule.words)), "{}", rule.report);
    }
    let shipped = usecases::founding::shipped().unwrap();
    let shown = page("duties");
    for duty in &shipped.duties {
        assert!(shown.contains(&plain(&duty.name)), "{}", duty.code);
        assert!(
            shown.contains(&plain(&duty.status)),
            "{}: its status",
            duty.code
        );
    }
    let shown = page("money");
    for price in &shipped.prices {
        assert!(shown.contains(&plain(&price.name)), "{}", price.name);
    }
    assert!(shown.contains("3.5 % a year") && shown.contains("Green Book"));
    let shown = page("lives");
    for part in &shipped.parts {
        assert!(shown.contains(&plain(&part.name)), "{}", part.name);
    }
    // Nothing of it is a form, and somebody else's is not there.
    assert!(!shown.contains("<form method=\"post\" action=\"/facts"));
    assert_eq!(
        app.signed_in(seed_demo::LANDLORD).get("/facts").status(),
        404
    );
    assert_eq!(app.signed_in(seed_demo::SITE).get("/facts").status(), 404);
}

#[test]
fn what_a_countrys_set_lacks_is_said_in_words() {
    let app = TestApp::demo();
    let world = &app.database.world;
    let (estate, name, _) = usecases::founding::open_estates(world).unwrap().remove(0);
    let seat = usecases::Seat::program(estate, &name);
    let mill = world
        .acting(&seat, |tx| {
            let mut mill = tx
                .buildings()?
                .into_iter()
                .find(|b| b.code == "MM")
                .unwrap();
            mill.country = Country::Scotland;
            tx.state_building(mill.id, &mill)?;
            Ok::<_, usecases::Error>(mill.id)
        })
        .unwrap();
    let agent = app.signed_in(seed_demo::AGENT);
    let shown = plain(&agent.page("/facts?about=duties"));
    assert!(
        shown.contains("For Madder Mill in Scotland no rule set is held"),
        "{shown}"
    );
    assert!(
        shown.contains("gas safety check"),
        "which duties by law are only England's"
    );
    assert!(shown.contains("For a building in Wales"));
    // And an event there is refused in words, with what was typed kept.
    let refused = agent.post(
        "/duties/events",
        &[
            ("once", "e1"),
            ("building", &mill.to_string()),
            ("happening", "contract_not_lowest"),
            ("on", "2026-11-20"),
            ("words", "two tenders"),
        ],
    );
    assert_eq!(refused.status(), 422);
    let page = plain(&refused.text().unwrap());
    assert!(page.contains("Madder Mill stands in Scotland."), "{page}");
    assert!(page.contains("nothing is guessed") && page.contains("two tenders"));
}

#[test]
fn the_facts_are_readable_on_a_phone_and_print() {
    let app = TestApp::demo();
    for width in [Width::Desk, Width::Phone] {
        let b = Browser::open(&app.address, "facts", width);
        b.come_in_as("Nell Askwith");
        for about in ["limits", "duties", "times", "symptoms", "lives"] {
            b.go(&format!("/facts?about={about}"));
            b.shot(about);
        }
        b.go("/facts");
        b.press("Which prices?");
        b.arrives("about=money");
        b.shot("money");
        b.print("money");
    }
}
