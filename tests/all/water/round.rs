//! Taking the round over HTTP. Limits: HSE's pages on hot and cold water systems (published pages) — hot 50 °C within a
//! minute, cold under 20 °C within two, leaving the store 60 °C, coming back 50 °C.
use crate::support::server::location;
use crate::water::estate::{AGENT, ELSEWHERE, OWNER, SITE, Water, day, plain, post};

#[test]
fn a_round_within_its_limits_meets_the_months_duties_by_their_dates() {
    let water = Water::start();
    let site = water.client(SITE);
    // Site staff begin where their work is.
    assert_eq!(location(&site.get("/")), "/temperatures");
    let list = site.page("/temperatures");
    assert!(
        list.contains("Rush House") && !list.contains("Sedge House"),
        "only what they walk"
    );
    let form = plain(&site.page(&water.address()));
    for words in [
        "1. Pipe leaving the store",
        "5. Yard tap",
        "50 °C or more",
        "Flushed, as it is seldom used?",
        "Taken by Sim Sitter.",
        "inputmode=\"decimal\"",
    ] {
        assert!(form.contains(words), "“{words}” is not on the form");
    }
    let fields = water.fields(["62", "52,5", "55.1", "14", "12"], "r1");
    let kept = post(&site, &water.address(), &fields);
    assert_eq!(kept.status(), 303);
    let at = location(&kept);
    let said = plain(&site.page(&at));
    assert!(said.contains("All five are within their limits"), "{said}");
    assert!(said.contains("by Sim Sitter, with Probe 7"));
    // The same post again answers the same round and adds nothing.
    assert_eq!(location(&post(&site, &water.address(), &fields)), at);
    // L2, L3 and L4 are calendar rounds: the first on record starts its rounds on 25 November 2026, by hand.
    for rule in ["L2", "L3", "L4"] {
        let proof = usecases::duties::proof(water.world(), &water.seat, water.store).unwrap();
        let duty = proof
            .duties
            .iter()
            .find(|d| d.line.rule.code == rule)
            .unwrap_or_else(|| panic!("the store bears {rule}"));
        assert_eq!(duty.rows.len(), 1, "{rule}: met once");
        let row = &duty.rows[0];
        assert_eq!(row.done_on, Some(day("2026-11-25")));
        assert_eq!(row.next_deadline, Some(day("2026-12-25")), "{rule}");
        assert!(row.evidence.contains("by Sim Sitter"), "{}", row.evidence);
    }
    assert!(said.contains("the next is 25 December 2026"), "{said}");
    // Next month it is asked with last month's figure beside the field.
    let form = plain(&site.page(&water.address()));
    assert!(form.contains("52.5"), "last month's figure");
    assert!(
        form.contains("value=\"Probe 7\""),
        "the thermometer is named once"
    );
}

#[test]
fn what_is_out_of_its_limit_is_said_at_once_and_asks_what_is_done() {
    let water = Water::start();
    let (site, agent) = (water.client(SITE), water.client(AGENT));
    let kept = post(
        &site,
        &water.address(),
        &water.fields(["60.4", "49.9", "49.6", "20.0", "12"], "r1"),
    );
    assert_eq!(kept.status(), 303);
    let at = location(&kept);
    let said = plain(&site.page(&at));
    for words in [
        "Three of the five outlets are out of their limits",
        "Act: Hall sink, hot, hot tap: 49.6 °C.",
        "49.6 °C after one minute; 50 °C is needed.",
        "Change no setting",
        "20 °C from the cold tap; it should stay under 20 °C.",
        "Watch: Pipe leaving the store, leaving the store: 60.4 °C.",
        "What you did, or who was told",
    ] {
        assert!(said.contains(words), "“{words}” is not said: {said}");
    }
    // The desk has it in its list until somebody says what is done, and after that until it is read within its limit.
    let duties = plain(&agent.page("/duties"));
    assert!(duties.contains("Water out of its limit"));
    assert!(duties.contains("Nobody has said yet what is done."));
    let open = usecases::water::out_of_limit(water.world(), &water.seat).unwrap();
    assert_eq!(open.len(), 3);
    let hot = open
        .iter()
        .find(|o| o.temperature.outlet == water.outlets[2])
        .unwrap()
        .temperature
        .id
        .to_string();
    let key = format!("a.{hot}");
    let act = |words: &str, once: &str| {
        site.post(&at, &[("once", once), ("temperature", &hot), (&key, words)])
    };
    let empty = act(" ", "a1");
    assert_eq!(empty.status(), 422);
    assert!(
        empty
            .text()
            .unwrap()
            .contains("Say what was done, or what is planned.")
    );
    assert_eq!(act("Told the office; the pump stood.", "a2").status(), 303);
    assert_eq!(
        act("Told the office; the pump stood.", "a2").status(),
        303,
        "sent twice"
    );
    assert_eq!(
        act("Something else", "a3").status(),
        409,
        "somebody wrote before"
    );
    let said = plain(&site.page(&at));
    assert!(said.contains("Told the office; the pump stood."));
    let duties = plain(&agent.page("/duties"));
    assert!(duties.contains("Done or planned: Told the office; the pump stood."));
    // Read within its limit a month later, it leaves the list; what was read before stays on record.
    water
        .app
        .database
        .clock
        .set("2026-12-24T09:00:00Z".parse().unwrap());
    let site = water.client(SITE);
    let again = post(
        &site,
        &water.address(),
        &water.fields(["62", "52", "54", "14", "12"], "r2"),
    );
    assert_eq!(again.status(), 303);
    assert!(
        usecases::water::out_of_limit(water.world(), &water.seat)
            .unwrap()
            .is_empty()
    );
    let said = plain(&site.page(&at));
    assert!(
        said.contains("49.6 °C after one minute"),
        "never overwritten"
    );
}

#[test]
fn what_was_typed_stays_on_an_error_and_a_reading_not_taken_is_a_finding() {
    let water = Water::start();
    let site = water.client(SITE);
    let mut fields = water.fields(["62", "warm", "", "200", "12"], "r1");
    fields.retain(|(name, _)| !name.starts_with("f."));
    let wrong = post(&site, &water.address(), &fields);
    assert_eq!(wrong.status(), 422);
    let page = plain(&wrong.text().unwrap());
    for words in [
        "Pipe coming back: “warm” is not a temperature such as 58.4.",
        "value=\"62\"",
        "value=\"warm\"",
    ] {
        assert!(page.contains(words), "“{words}” is not on the page");
    }
    let mut fields = water.fields(["62", "52", "", "200", "12"], "r1");
    fields.retain(|(name, _)| !name.starts_with("f."));
    let page = plain(&post(&site, &water.address(), &fields).text().unwrap());
    for words in [
        "Hall sink, hot: type the temperature, or say why it was not taken.",
        "Hall sink, cold: water lies between −5 and 105 °C.",
        "Yard tap: say whether it was flushed.",
        "value=\"200\"",
    ] {
        assert!(page.contains(words), "“{words}” is not on the page");
    }
    let nothing =
        usecases::water::water_log(water.world(), &water.seat, water.building, 12).unwrap();
    assert!(
        nothing.months.iter().all(|m| m.rows.is_empty()),
        "nothing half kept"
    );
    // One tap is shut: the round is kept, its own duty is not met by it, the others are.
    let mut fields = water.fields(["62", "52", "", "14", "12"], "r2");
    fields.push((
        format!("n.{}", water.outlets[2]),
        "tap taken off".to_owned(),
    ));
    let kept = post(&site, &water.address(), &fields);
    assert_eq!(kept.status(), 303);
    let said = plain(&site.page(&location(&kept)));
    assert!(said.contains("Not taken: tap taken off"), "{said}");
    let proof = usecases::duties::proof(water.world(), &water.seat, water.store).unwrap();
    let deadline = |rule: &str| {
        let duty = proof
            .duties
            .iter()
            .find(|d| d.line.rule.code == rule)
            .unwrap();
        duty.rows.last().and_then(|r| r.next_deadline)
    };
    assert_eq!(deadline("L4"), Some(day("2026-12-25")));
    assert_eq!(deadline("L3"), None, "its only tap was not read");
}

#[test]
fn the_round_is_only_for_those_who_walk_it() {
    let water = Water::start();
    let fields = water.fields(["62", "52", "54", "14", "12"], "r1");
    let elsewhere = water.client(ELSEWHERE);
    let owner = water.client(OWNER);
    for path in [
        water.address(),
        format!("{}/log", water.address()),
        format!("{}/rounds/{}", water.address(), uuid::Uuid::new_v4()),
        "/temperatures/nonsense".to_owned(),
    ] {
        assert_eq!(elsewhere.get(&path).status(), 404, "{path}");
    }
    assert_eq!(post(&elsewhere, &water.address(), &fields).status(), 404);
    assert_eq!(
        owner.get(&water.address()).status(),
        404,
        "a landlord walks no round"
    );
    assert_eq!(post(&owner, &water.address(), &fields).status(), 404);
    let site = water.client(SITE);
    for path in ["/today", "/duties", "/units/new", "/facts", "/jobs"] {
        assert_eq!(site.get(path).status(), 404, "{path}");
    }
    let outlets = format!("{}/outlets", water.address());
    assert_eq!(site.get(&outlets).status(), 404, "the list is the desk's");
    let strange = water.client(AGENT).post(
        &format!("{}/rounds/{}", water.address(), uuid::Uuid::new_v4()),
        &[
            ("once", "x"),
            ("temperature", &uuid::Uuid::new_v4().to_string()),
        ],
    );
    assert_eq!(strange.status(), 404);
    // A post from another site is refused before anything is looked at.
    let forged = site
        .http
        .post(format!("{}{}", site.address, water.address()))
        .header("sec-fetch-site", "cross-site")
        .form(&fields)
        .send()
        .unwrap();
    assert_eq!(forged.status(), 403);
}
