//! Wherever an advantage, a quote and a repair limit stand together: advantage = quote − limit to the penny. Read from
//! the pages as they are shown, not from what they were made of.
use terms::Pence;

use super::estate::blocks;

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

/// The sentences that weigh a quote in a block, each as (quote, limit, advantage of replacing now).
fn weighed(block: &str) -> Vec<(i64, i64, i64)> {
    let mut found = Vec::new();
    let quote = after(block, " quotes ").or_else(|| after(block, "At your quote of "));
    let limit = after(block, "epair limit is ").or_else(|| after(block, "repair limit of "));
    // A limit below nothing is said in words, its figure in brackets.
    let limit = limit.or_else(|| after(block, "the repair limit, which is below nothing "));
    if let (Some(quote), Some(limit)) = (quote, limit) {
        let by = after(block, " the cheaper course by ");
        let by = by.or_else(|| before(block, " the cheaper course"));
        let replacing =
            block.contains("replacing now is") || block.contains("replacing is the cheaper");
        found.extend(by.map(|by| (quote, limit, if replacing { by } else { -by })));
    }
    if let (Some(quote), Some(limit)) = (
        after(block, "The quote of "),
        after(block, "the repair limit is "),
    ) {
        let apart = before(block, " above it").or_else(|| Some(-before(block, " below it")?));
        found.push((quote, limit, apart.unwrap_or_else(|| panic!("{block}"))));
    }
    found
}

/// The sum written out in a block: first − second = result.
fn written_out(block: &str) -> Option<(i64, i64, i64)> {
    let (left, right) = block.split_once(" = ")?;
    let (a, b) = left.rsplit_once(" − ")?;
    Some((
        amount(a.split_whitespace().next_back()?)?,
        amount(b.split_whitespace().next()?)?,
        amount(right.split_whitespace().next()?)?,
    ))
}

/// The advantage of replacing now where a block says it alone: under the heading, among the reasons, and where it is said
/// who decides.
fn alone(block: &str) -> Option<i64> {
    if block.contains(" cheaper than the best course with a repair") {
        return after(block, "Replacing now is ");
    }
    if block.contains("Repairing and keeping it ") {
        return before(block, " cheaper than replacing now").map(|by| -by);
    }
    // What speaks for the course, among the reasons.
    if let Some(by) = after(block, " in the unit then, repairing is ") {
        return Some(-by);
    }
    if let Some(by) = after(block, " in the unit then, keeping it is ") {
        return Some(-by);
    }
    after(block, " in the unit then, replacing is ")
        .or_else(|| after(block, "replacing is cheaper by "))
}

/// Checks every sentence of a page that weighs a quote, and answers how many there were.
pub fn adds_up(html: &str) -> usize {
    let blocks = blocks(html);
    let mut checked = 0;
    let mut whole: Vec<i64> = blocks
        .iter()
        .flat_map(|block| weighed(block))
        .map(|(_, _, advantage)| advantage)
        .collect();
    whole.sort_unstable();
    whole.dedup();
    // On a page about one quote every sentence that names the advantage alone must name the same.
    if let [advantage] = whole.as_slice() {
        for said in blocks
            .iter()
            .filter_map(|block| Some((alone(block)?, block)))
        {
            assert_eq!(said.0, *advantage, "{}", said.1);
            checked += 1;
        }
    }
    for block in &blocks {
        for (quote, limit, advantage) in weighed(block).into_iter().chain(written_out(block)) {
            assert_eq!(quote - limit, advantage, "{block}");
            checked += 1;
        }
        if let Some(limit) = after(block, "worth paying (repair limit) ") {
            // A row of the drawing's table: limit, and how far the quote lies over or under it.
            let over = before(block, " over it").or_else(|| Some(-before(block, " under it")?));
            assert_eq!(
                over.unwrap_or(0),
                quote_in_table(&blocks) - limit,
                "{block}"
            );
            checked += 1;
        }
    }
    checked
}

/// The quote in the drawing's own table.
fn quote_in_table(blocks: &[String]) -> i64 {
    blocks
        .iter()
        .find_map(|block| {
            block
                .strip_prefix("quote ")
                .and_then(|rest| amount(rest.split_whitespace().next()?))
        })
        .expect("the table names the quote")
}

#[test]
fn the_checker_itself_catches_a_wrong_penny() {
    // Each sentence the program has for it, right and a penny wrong; sums: 412.00 − 97.86 = 314.14, ours.
    let sentences = [
        "Marl quotes £412.00 for this. The repair limit is £97.86, so replacing now is £314.14 the cheaper course.",
        "Marl quotes £97.86. The repair limit is £412.00, so repairing and keeping it is £314.14 the cheaper course.",
        "Marl quotes £412.00. It is over the repair limit of £97.86: replacing now is the cheaper course by £314.14.",
        "The repair limit is £97.86. At your quote of £412.00 replacing is the cheaper course by £314.14.",
        "The repair limit is £412.00. At your quote of £97.86 repairing is the cheaper course by £314.14.",
        "Advantage of replacing now: £412.00 − £97.86 = £314.14.",
        "Advantage of replacing now: £97.86 − £412.00 = −£314.14.",
        "Worth paying: the repair limit is £97.86. The quote of £412.00 is £314.14 above it.",
        "Marl quotes £300.00. It is over the repair limit, which is below nothing (−£14.14): replacing now is the cheaper course by £314.14.",
    ];
    for right in sentences {
        assert_eq!(adds_up(&format!("<p>{right}</p>")), 1, "{right}");
        let wrong = format!("<p>{}</p>", right.replace("314.14", "314.15"));
        let caught = std::panic::catch_unwind(|| adds_up(&wrong)).is_err();
        assert!(caught, "{wrong}");
    }
}

#[test]
fn an_advantage_said_alone_is_held_to_the_sum_of_its_page() {
    // 412.00 − 97.86 = 314.14; 97.86 − 412.00 = −314.14 (arithmetic).
    let over = "<p>Worth paying: the repair limit is £97.86. The quote of £412.00 is £314.14 above it.</p>";
    let under = "<p>Worth paying: the repair limit is £412.00. The quote of £97.86 is £314.14 below it.</p>";
    for (page, said) in [
        (
            over,
            "Replacing now is £314.14 cheaper than the best course with a repair.",
        ),
        (
            over,
            "The agent may agree it, but replacing is cheaper by £314.14.",
        ),
        (
            over,
            "£2,900.00 is paid now instead of £412.00; with all that is expected to come by 2036, less what is still in the unit then, replacing is £314.14 cheaper.",
        ),
        (
            under,
            "£97.86 is paid now instead of £2,900.00; with all that is expected to come by 2036, less what is still in the unit then, repairing is £314.14 cheaper.",
        ),
        (
            under,
            "Repairing and keeping it three more years is £314.14 cheaper than replacing now.",
        ),
    ] {
        assert_eq!(adds_up(&format!("{page}<p>{said}</p>")), 2, "{said}");
        let wrong = format!("{page}<p>{}</p>", said.replace("314.14", "314.15"));
        assert!(
            std::panic::catch_unwind(|| adds_up(&wrong)).is_err(),
            "{wrong}"
        );
    }
}
