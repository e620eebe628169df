//! Wherever an advantage, a quote and a repair limit stand together: advantage = quote − limit to the penny. Read from
//! the pages as they are shown, not from what they were made of.
use terms::Pence;

use super::estate::{Estate, blocks};

/// The amount that follows `marker`.
fn after(text: &str, marker: &str) -> Option<i64> {
    let rest = &text[text.find(marker)? + marker.len()..];
    amount(rest.split_whitespace().next()?)
}

/// The amount that stands just before `marker`.
fn before(text: &str, marker: &str) -> Option<i64> {
    let rest = &text[..text.find(marker)?];
    amount(rest.split_whitespace().next_back()?)
}

fn amount(word: &str) -> Option<i64> {
    let word = word.trim_matches(|c: char| !c.is_ascii_digit() && c != '−' && c != '£');
    word.contains('£')
        .then(|| Pence::parse_pounds(word))
        .flatten()
        .map(|p| p.0)
}

/// Checks every sentence of a page that weighs a quote, and answers how many there were.
fn adds_up(html: &str) -> usize {
    let mut checked = 0;
    for block in blocks(html) {
        if let Some((left, right)) = block.split_once(" = ")
            && let Some((a, b)) = left.rsplit_once(" − ")
            && block.contains("repair limit")
        {
            let first = amount(a.split_whitespace().next_back().unwrap()).unwrap();
            let second = amount(b.split_whitespace().next().unwrap()).unwrap();
            let sum = amount(right.split_whitespace().next().unwrap()).unwrap();
            assert_eq!(first - second, sum, "{block}");
            checked += 1;
        }
        if let (Some(quote), Some(limit)) = (
            after(&block, " quotes "),
            after(&block, "The repair limit is "),
        ) {
            let cheaper = before(&block, " the cheaper course").expect(&block);
            if block.contains("replacing now is") {
                assert_eq!(quote - limit, cheaper, "{block}");
            } else {
                assert_eq!(limit - quote, cheaper, "{block}");
            }
            checked += 1;
        }
        if let (Some(quote), Some(limit)) = (
            after(&block, "The quote of "),
            after(&block, "the repair limit is "),
        ) {
            let apart = before(&block, " above it").map(|p| quote - limit == p);
            let apart = apart.or_else(|| before(&block, " below it").map(|p| limit - quote == p));
            assert_eq!(apart, Some(true), "{block}");
            checked += 1;
        }
        if let Some(limit) = after(&block, "worth paying (repair limit) ") {
            // A row of the drawing's table: limit, and how far the quote lies over or under it.
            let over =
                before(&block, " over it").or_else(|| before(&block, " under it").map(|p| -p));
            let quote = quote_in_table(html);
            assert_eq!(over.unwrap_or(0), quote - limit, "{block}");
            checked += 1;
        }
    }
    checked
}

/// The quote in the drawing's own table.
fn quote_in_table(html: &str) -> i64 {
    blocks(html)
        .iter()
        .find_map(|block| {
            block
                .strip_prefix("quote ")
                .and_then(|rest| amount(rest.split_whitespace().next()?))
        })
        .expect("the table names the quote")
}

#[test]
fn every_page_shows_figures_that_add_up() {
    let estate = Estate::new();
    let (agent, landlord) = (
        estate.app.signed_in("agent@test"),
        estate.app.signed_in("landlord@test"),
    );
    let job = estate.job();
    // From nothing to far more than a new boiler, so that both courses win; odd pence on purpose.
    for pence in [1, 19_999, 41_237, 99_901, 150_003, 288_888, 999_999] {
        let id = estate.advised(job, pence);
        let stored = estate.stored(id);
        assert_eq!(
            stored.advantage.unwrap().0,
            stored.quote_pence.unwrap().0 - stored.limit.unwrap().0
        );
        assert_eq!(stored.quote_pence, Some(Pence(pence)));
        let page = agent.page(&format!("/advice/{id}"));
        assert!(adds_up(&page) >= 3, "{page}");
        assert!(adds_up(&agent.page(&format!("/advice/{id}/pack"))) >= 3);
        assert_eq!(adds_up(&agent.page("/advice")), 1);
        // The bar of the best number of years shows the same advantage, to the penny.
        let shown = Pence(stored.advantage.unwrap().0.abs()).to_string();
        let way = if stored.advantage.unwrap().0 > 0 {
            "dearer"
        } else {
            "cheaper"
        };
        if stored.advantage.unwrap().0 != 0 {
            assert!(
                blocks(&page)
                    .iter()
                    .any(|b| b.contains(&format!("{shown} {way}"))),
                "{shown} {way}"
            );
        }
        let letter = landlord.page("/letter");
        let asked = i32::from(pence > 50_000) as usize;
        assert_eq!(
            adds_up(&letter),
            asked,
            "{pence}: over the agent's £500.00 the landlord is asked"
        );
    }
}

#[test]
fn the_checker_itself_catches_a_wrong_penny() {
    let wrong = "<p>Marl quotes £412.00 for this. The repair limit is £97.86, so replacing now is £314.15 the cheaper course.</p>";
    assert!(std::panic::catch_unwind(|| adds_up(wrong)).is_err());
    let right = wrong.replace("314.15", "314.14");
    assert_eq!(adds_up(&right), 1);
    let wrong = "<p>It is the quote less the repair limit: £412.00 − £97.86 = £314.13.</p>";
    assert!(std::panic::catch_unwind(|| adds_up(wrong)).is_err());
}

#[test]
fn a_penny_over_the_limit_turns_the_advice_and_a_penny_over_the_authority_turns_who_decides() {
    use usecases::advice::{Answer, QuoteOutcome};
    let estate = Estate::new();
    let job = estate.job();
    let limit = estate.stored(estate.advised(job, 41_200)).limit.unwrap();
    assert!(limit.0 > 0, "{limit}");
    for (over, course) in [(-1, "repair"), (0, "repair"), (1, "replace")] {
        let stored = estate.stored(estate.advised(job, limit.0 + over));
        assert_eq!(
            stored.limit,
            Some(limit),
            "the limit does not hang on the quote"
        );
        assert_eq!(stored.advantage, Some(Pence(over)));
        assert_eq!(stored.course, course);
        assert!(stored.close_call, "a penny either way is close");
    }
    let page = estate
        .app
        .signed_in("agent@test")
        .page(&format!("/advice/{}", estate.advised(job, limit.0 + 1)));
    assert!(page.contains("Close: either is defensible"), "{page}");
    // The founding ladder: engineer £250.00, agent £500.00.
    for (pence, on_site, at_the_desk) in [
        (25_000, QuoteOutcome::InsideBoth, QuoteOutcome::InsideBoth),
        (
            25_001,
            QuoteOutcome::OverAuthorityOnly,
            QuoteOutcome::InsideBoth,
        ),
        (
            50_000,
            QuoteOutcome::OverAuthorityOnly,
            QuoteOutcome::InsideBoth,
        ),
        (
            50_001,
            QuoteOutcome::OverAuthorityOnly,
            QuoteOutcome::OverAuthorityOnly,
        ),
        (limit.0 + 1, QuoteOutcome::OverBoth, QuoteOutcome::OverBoth),
    ] {
        assert!(limit.0 > 50_001, "{limit}");
        let stored = estate.stored(estate.advised(job, pence));
        let answer: Answer = serde_json::from_value(stored.result).unwrap();
        assert_eq!(answer.ladder.on_site, Some(on_site), "{pence}");
        assert_eq!(answer.ladder.at_the_desk, Some(at_the_desk), "{pence}");
    }
}
