//! The figures of quote, repair limit and advantage, as reckoned, stored and shown.
use terms::Pence;

use super::adds_up::adds_up;
use super::estate::{Estate, blocks};

/// What a card says its course costs, less what is still in the unit at the end.
fn on_card(block: &str) -> Option<i64> {
    let (_, sum) = block.split_once("less what is still in it")?;
    Pence::parse_pounds(sum.trim()).map(|p| p.0)
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
        // The cards lie apart by it too: the one of keeping stands first, then those of replacing.
        let cards: Vec<i64> = blocks(&page).iter().filter_map(|b| on_card(b)).collect();
        let (keep, replace) = cards.split_first().expect("two cards");
        let advantage = stored.advantage.unwrap().0;
        assert!(
            replace.iter().any(|one| keep - one == advantage),
            "{cards:?}: {advantage}"
        );
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
