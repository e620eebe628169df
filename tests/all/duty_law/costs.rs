//! Section 20B: the last day to demand a cost or give notice of it, and that it was.
use terms::JobKind;
use usecases::work;

use super::{plain, strangers};
use crate::work_estate::{AGENT, ANNA, Loop, fresh};

// Landlord and Tenant Act 1985 section 20B, law text read (trade file on duties, section 3, S2): within the 18 months
// beginning with the cost, so for 10 August 2025 by 9 February 2027.
#[test]
fn a_cost_says_its_last_day_until_it_is_demanded_or_notified() {
    let estate = Loop::start();
    let agent = estate.client(AGENT);
    let job = estate.annas(JobKind::Repair, estate.boiler, Vec::new());
    let page_of = format!("/jobs/{job}/invoice");
    let enter = |number: &str, dated: &str| {
        agent.post(
            &page_of,
            &[
                ("once", fresh().as_str()),
                ("number", number),
                ("dated", dated),
                ("what.1", "pump fitted"),
                ("net.1", "100.00"),
                ("vat", "20"),
            ],
        )
    };
    assert_eq!(enter("77/1", "2025-08-10").status(), 303);
    assert_eq!(enter("77/2", "2026-11-20").status(), 303);
    let page = plain(&agent.page(&page_of));
    for said in [
        "Demand it, or give notice of it, by 9 February 2027.",
        "by 19 May 2028.",
        "Basis: law. How the rule is known: law text read",
    ] {
        assert!(page.contains(said), "“{said}” is not in {page}");
    }
    // Fifteen months after the cost the list begins to ask; the newer one is not asked for yet.
    let list = plain(&agent.page("/duties"));
    assert!(
        list.contains("Costs to demand, or give notice of"),
        "{list}"
    );
    assert!(list.contains("Invoice 77/1") && !list.contains("Invoice 77/2"));

    let to = format!("{page_of}/served");
    let serve = |once: &str, of: &str, served: &str, on: &str| {
        agent.post(
            &to,
            &[
                ("once", once),
                ("of", of),
                ("served", served),
                ("served_on", on),
                ("served_words", "by post"),
            ],
        )
    };
    for (served, on, said) in [
        ("", "2026-11-24", "Say whether it was demanded"),
        ("song", "2026-11-24", "Say whether it was demanded"),
        ("notice", "2026-11-26", "has not come yet"),
        ("notice", "2025-08-09", "before the invoice’s own date"),
        ("notice", "", "Say on which day"),
        ("notice", "tomorrow", "is not a date"),
    ] {
        let wrong = serve(&fresh(), "77/1", served, on);
        assert_eq!(wrong.status(), 422, "{said}");
        let page = plain(&wrong.text().unwrap());
        assert!(page.contains(said), "“{said}” is not in {page}");
        assert!(page.contains("by post"), "what was typed stays");
    }
    let missing = serve(&fresh(), "78", "notice", "2026-11-24");
    assert_eq!(missing.status(), 404, "no such invoice");
    assert_eq!(estate.count("estate.cost_demands"), 0);
    assert_eq!(serve("s1", "77/1", "notice", "2026-11-24").status(), 303);
    assert_eq!(serve("s1", "77/1", "notice", "2026-11-24").status(), 303);
    assert_eq!(estate.count("estate.cost_demands"), 1, "once is once");
    let page = plain(&agent.page(&page_of));
    assert!(
        page.contains("Notice of it given on 24 November 2026. Served in time."),
        "{page}"
    );
    assert!(!plain(&agent.page("/duties")).contains("Invoice 77/1"));
    // Entered again under its number, it is still notified.
    assert_eq!(enter("77/1", "2025-08-10").status(), 303);
    assert!(plain(&agent.page(&page_of)).contains("Notice of it given on 24 November 2026"));
}

#[test]
fn a_demand_past_its_day_is_said_and_anothers_invoice_is_not_there() {
    let estate = Loop::start();
    let agent = estate.client(AGENT);
    let job = estate.annas(JobKind::Repair, estate.boiler, Vec::new());
    let to = format!("/jobs/{job}/invoice");
    let invoice = [
        ("once", "i"),
        ("number", "9"),
        ("dated", "2025-05-20"),
        ("what.1", "pump fitted"),
        ("net.1", "100.00"),
        ("vat", "20"),
    ];
    assert_eq!(agent.post(&to, &invoice).status(), 303);
    // A demand of 25 November 2026 for 20 May 2025: due by 20 November 2026, five days late.
    let served = [
        ("once", "s"),
        ("of", "9"),
        ("served", "demand"),
        ("served_on", "2026-11-25"),
    ];
    assert_eq!(agent.post(&format!("{to}/served"), &served).status(), 303);
    let page = plain(&agent.page(&to));
    assert!(
        page.contains("Served 5 days too late; it may not be recoverable. Take advice."),
        "{page}"
    );
    let again = |once: &'static str| {
        let mut fields = served;
        fields[0].1 = once;
        fields
    };
    assert_eq!(
        estate
            .client(ANNA)
            .post(&format!("{to}/served"), &again("s2"))
            .status(),
        404
    );
    let other = strangers(&estate);
    let open = work::OpenJob {
        kind: JobKind::Repair,
        space: other.flat(None),
        unit: None,
        words: "theirs".to_owned(),
        due_on: None,
        duties: Vec::new(),
        minutes: None,
    };
    let theirs = work::open_job(other.world(), &other.seat, open, "o").unwrap();
    let foreign = agent.post(&format!("/jobs/{theirs}/invoice/served"), &again("s3"));
    assert_eq!(foreign.status(), 404);
}
