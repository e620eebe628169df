//! Wherever an advantage, a quote and a repair limit stand together: advantage = quote − limit, to the penny.
use usecases::advice::{Listed, overview};
use usecases::work::open_jobs;

use crate::support::{Client, TestApp};

/// The page's blocks of text, without marks.
fn blocks(page: &str) -> Vec<String> {
    let body = page.split_once("<main").map_or(page, |(_, main)| main);
    let mut blocks = vec![String::new()];
    for piece in body.split('<') {
        let (mark, text) = piece.split_once('>').unwrap_or(("", piece));
        let name = mark.trim_start_matches('/');
        if ["p", "li", "section", "fieldset", "div", "dl", "h"]
            .iter()
            .any(|block| {
                name.strip_prefix(block)
                    .is_some_and(|rest| !rest.starts_with(char::is_alphabetic))
            })
        {
            blocks.push(String::new());
        }
        if let Some(last) = blocks.last_mut() {
            last.push_str(text);
        }
    }
    blocks
        .into_iter()
        .map(|text| text.replace('\u{a0}', " ").replace("&#163;", "£"))
        .filter(|text| !text.trim().is_empty())
        .collect()
}

/// The sums of money in a text, in pence, below nothing as such.
fn sums(text: &str) -> Vec<i64> {
    let mut found = Vec::new();
    let mut before = "";
    for piece in text.split('£') {
        if !std::ptr::eq(piece.as_ptr(), text.as_ptr()) {
            let end = piece
                .find(|c: char| !(c.is_ascii_digit() || c == ',' || c == '.'))
                .unwrap_or(piece.len());
            let number = piece[..end].replace(',', "");
            let (pounds, rest) = number.split_once('.').unwrap_or((&number, ""));
            let pence = format!("{rest:0<2.2}").parse::<i64>().unwrap_or(0);
            let below = before.ends_with('−');
            if let Ok(pounds) = pounds.parse::<i64>() {
                found.push((pounds * 100 + pence) * if below { -1 } else { 1 });
            }
        }
        before = piece;
    }
    found
}

fn some_three_agree(sums: &[i64]) -> bool {
    sums.iter().any(|quote| {
        sums.iter().any(|limit| {
            let apart = (quote - limit).abs();
            quote != limit && sums.contains(&apart)
        })
    })
}

/// How many blocks of the page name the repair limit beside a quote and an advantage; each of them agrees.
pub fn agreements(page: &str, at: &str) -> usize {
    let mut held = 0;
    for block in blocks(page) {
        let sums = sums(&block);
        let weighs = block.contains("Advantage of replacing now")
            || block.contains("repair limit") && block.contains("cheaper");
        if weighs && sums.len() >= 3 {
            assert!(
                some_three_agree(&sums),
                "{at}: no advantage = quote − limit among {sums:?} in “{block}”"
            );
            held += 1;
        }
    }
    held
}

fn shows(page: &str, listed: &Listed) -> Option<(i64, i64, i64)> {
    let (quote, limit, advantage) = (listed.quote?, listed.limit?, listed.advantage?);
    let shown = sums(&blocks(page).join("\n"));
    for (what, pence) in [("quote", quote.0), ("limit", limit.0)] {
        assert!(shown.contains(&pence), "the {what} of {pence} p is shown");
    }
    assert!(
        shown.contains(&advantage.0.abs()),
        "the advantage of {advantage} is shown"
    );
    Some((quote.0, limit.0, advantage.0))
}

/// The advices with a quote, those on the landlord's side of the demo included.
fn quoted(app: &TestApp) -> Vec<Listed> {
    let world = &app.database.world;
    let (estate, name, _) = usecases::founding::open_estates(world).unwrap().remove(0);
    let seat = usecases::Seat::program(estate, &name);
    let seen = overview(world, &seat).unwrap();
    seen.open
        .into_iter()
        .chain(seen.decided)
        .filter(|a| a.quote.is_some())
        .collect()
}

#[test]
fn every_page_with_quote_limit_and_advantage_agrees() {
    let app = TestApp::start();
    seed_demo::fill(&app.database.world)
        .unwrap()
        .expect("an empty database");
    let (agent, landlord) = (
        app.signed_in("agent@demo.example"),
        app.signed_in("landlord@demo.example"),
    );
    let advices = quoted(&app);
    assert!(advices.len() >= 2, "two quotes wait in the demo");
    let page = |who: &Client, at: &str| {
        let text = who.page(at);
        (agreements(&text, at), text)
    };
    for (who, at) in [
        (&agent, "/today"),
        (&agent, "/advice"),
        (&landlord, "/letter"),
    ] {
        let (held, _) = page(who, at);
        assert!(held >= 1, "{at} weighs no quote");
        println!("{at}: {held} agree");
    }
    for listed in &advices {
        for who in [&agent, &landlord] {
            for at in [
                format!("/advice/{}", listed.id),
                format!("/advice/{}/pack", listed.id),
            ] {
                let (held, text) = page(who, &at);
                let (quote, limit, advantage) = shows(&text, listed).expect("all three");
                assert_eq!(advantage, quote - limit, "{at}");
                println!("{at}: {held} blocks, {quote} − {limit} = {advantage}");
            }
        }
        page(&agent, &format!("/units/{}", listed.unit.id));
    }
    let (estate, name, _) = usecases::founding::open_estates(&app.database.world)
        .unwrap()
        .remove(0);
    let seat = usecases::Seat::program(estate, &name);
    for line in open_jobs(&app.database.world, &seat).unwrap() {
        page(&agent, &format!("/jobs/{}", line.job.id));
    }
}

#[test]
fn a_page_that_does_not_add_up_is_found() {
    let page = "<main><p>They quote £412.00. The repair limit is £97.86, so replacing is £314.15 cheaper.</p></main>";
    let found = std::panic::catch_unwind(|| agreements(page, "a planted page"));
    assert!(found.is_err(), "a penny too many");
    assert_eq!(agreements(&page.replace("314.15", "314.14"), "mended"), 1);
    assert_eq!(sums("a £1,234.5 and −£20 and £7."), [123_450, -2_000, 700]);
}
