//! What a landlord is shown leads somewhere: every link of his pages, and of the pages they lead to, opens.
use std::collections::{BTreeMap, BTreeSet};

use crate::support::{Client, TestApp};

/// The addresses within the program that a page links to, without their anchors.
fn links(html: &str) -> BTreeSet<String> {
    html.split("href=\"")
        .skip(1)
        .filter_map(|rest| rest.split('"').next())
        .filter(|at| at.starts_with('/') && !at.starts_with("//"))
        .map(|at| at.split('#').next().unwrap_or(at).replace("&amp;", "&"))
        .filter(|at| !at.is_empty() && !at.starts_with("/assets") && !at.starts_with("/sign-out"))
        .collect()
}

/// Opens `at`, following where it is sent on to; the page, or `None` for what is no page (a file).
fn opened(who: &Client, at: &str) -> Result<Option<String>, String> {
    let mut at = at.to_owned();
    for _ in 0..5 {
        let answer = who.get(&at);
        let status = answer.status().as_u16();
        match status {
            301..=308 => at = crate::support::server::location(&answer),
            200 => {
                let kind = answer.headers().get("content-type").cloned();
                let html = kind.is_some_and(|k| k.to_str().is_ok_and(|k| k.contains("text/html")));
                if !html {
                    return Ok(None);
                }
                let text = answer.text().map_err(|e| e.to_string())?;
                return if text.contains("nothing here for you") {
                    Err("nothing here for you".to_owned())
                } else {
                    Ok(Some(text))
                };
            }
            // Nothing sets papers in this app; the page that says so is one. `paper.rs` reads the PDF itself.
            503 if at.ends_with("/pack.pdf") => return Ok(None),
            other => return Err(other.to_string()),
        }
    }
    Err("sent round in a circle".to_owned())
}

#[test]
fn every_link_of_a_landlord_leads_somewhere() {
    let app = TestApp::demo();
    let landlord = app.signed_in("landlord@demo.example");
    let mut met: BTreeMap<String, String> = BTreeMap::new();
    let mut wrong = Vec::new();
    let mut next = BTreeSet::from(["/letter".to_owned()]);
    for level in 0..3 {
        let mut found = BTreeSet::new();
        for at in next {
            // Units and spaces are many and alike: forty of each say what all do.
            let many = ["/units/", "/spaces/"]
                .into_iter()
                .find(|m| at.starts_with(m));
            let alike = met
                .keys()
                .filter(|k| many.is_some_and(|m| k.starts_with(m)));
            if met.contains_key(&at) || alike.count() >= 40 {
                continue;
            }
            match opened(&landlord, &at) {
                Ok(page) => {
                    let page = page.unwrap_or_default();
                    found.extend(links(&page).into_iter().map(|to| (to, at.clone())));
                    met.insert(at, page);
                }
                Err(why) => wrong.push(format!("{at}: {why} (level {level})")),
            }
        }
        let to = found.iter().map(|(to, _)| to.clone());
        next = to.filter(|to| !met.contains_key(to)).collect();
    }
    assert!(met.len() > 20, "only {} pages met", met.len());
    assert!(
        wrong.is_empty(),
        "{} of {} lead nowhere:\n{}",
        wrong.len(),
        met.len(),
        wrong.join("\n")
    );
    let list = &met["/advice"];
    assert!(
        !list.contains("Make an advice"),
        "a landlord's list of advice posts nothing"
    );
    assert!(
        met.keys()
            .any(|at| at.starts_with("/advice/") && at.ends_with("/pack"))
    );
}

#[test]
fn a_landlord_lists_the_advice_of_his_own_buildings_only() {
    let estate = super::estate::Estate::new();
    let id = estate.advised(estate.job(), 60_000);
    let at = format!("/advice/{id}");
    assert!(
        estate
            .app
            .signed_in("landlord@test")
            .page("/advice")
            .contains(&at)
    );
    assert!(
        !estate
            .app
            .signed_in("elsewhere@test")
            .page("/advice")
            .contains(&at)
    );
    assert_eq!(
        estate.app.signed_in("elsewhere@test").get(&at).status(),
        404
    );
    let engineer = estate
        .app
        .signed_in("engineer@test")
        .get("/advice")
        .status();
    assert!(engineer == 404 || engineer == 403, "{engineer}");
}
