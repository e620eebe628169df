//! Who decides, what follows, and what does not.
use terms::{Choice, JobKind, JobState};

use super::estate::{Estate, blocks};
use crate::support::server::location;

#[test]
fn the_landlord_decides_by_page_and_the_job_moves_on() {
    let estate = Estate::new();
    let job = estate.job();
    let call = a_call(&estate, job);
    let id = estate.advised(job, 288_000);
    let landlord = estate.app.signed_in("landlord@test");
    let letter = landlord.page("/letter");
    assert!(letter.contains("One decision waits for you"), "{letter}");
    assert!(
        letter.contains(&format!("/advice/{id}#decide")),
        "one press away"
    );
    let page = landlord.page(&format!("/advice/{id}"));
    assert!(page.contains("id=\"decide\"") && page.contains("href=\"#decide\""));
    // What is advised stands once on it, in the heading.
    let said = blocks(&page).join("\n");
    assert_eq!(said.matches("do not repair it again").count(), 1, "{said}");
    let fields = [
        ("once", "key-landlord"),
        ("choice", "replace:CB"),
        ("reason", "Third failure; the residents have had enough."),
    ];
    let answer = landlord.post(&format!("/advice/{id}/decide"), &fields);
    assert_eq!(answer.status(), 303);
    assert_eq!(location(&answer), "/letter");
    // The same press again does nothing more.
    assert_eq!(
        landlord
            .post(&format!("/advice/{id}/decide"), &fields)
            .status(),
        303
    );
    let letter = landlord.page("/letter");
    assert!(letter.contains("Nothing waits for you"));
    assert!(letter.contains("residents have had enough"));
    assert_eq!(estate.job_now(job).state, JobState::StoodDown);
    let jobs = estate
        .world()
        .acting(&estate.seat, |tx| {
            Ok(tx.jobs(&store::jobs::Which::Unit(estate.unit))?)
        })
        .unwrap();
    let new: Vec<_> = jobs
        .iter()
        .filter(|j| j.kind == JobKind::Replacement)
        .collect();
    assert_eq!(new.len(), 1);
    assert_eq!(new[0].source, "advice");
    assert_eq!(new[0].state, JobState::ToPlace);
    // The resident's clock runs on with the job that now answers it.
    let calls = estate
        .world()
        .acting(&estate.seat, |tx| Ok(tx.calls_of(new[0].id)?))
        .unwrap();
    assert_eq!(calls.iter().map(|c| c.id).collect::<Vec<_>>(), [call]);
    // The advice stays as it stood, under the decision, the price agreed and what comes first.
    let after = landlord.page(&format!("/advice/{id}"));
    assert!(after.contains("as it stood then") && !after.contains("id=\"decide\""));
    let said = blocks(&after).join("\n");
    for words in [
        "You said yes on 25 November 2026 to replacing the combi gas boiler in flat 22 like for like for £",
        "The advice of 25 November 2026 was: ",
        "fitted, VAT in it (price list, 1 July 2026).",
        &format!(
            "Job {} follows from it; it stands at: to place.",
            new[0].number
        ),
    ] {
        assert!(said.contains(words), "“{words}” is not in {said}");
    }
    assert!(
        said.contains("No works come first") || said.contains("These works come first"),
        "{said}"
    );
    let agent = estate.app.signed_in("agent@test");
    let second = agent.post(
        &format!("/advice/{id}/decide"),
        &[
            ("choice", "repair"),
            ("reason", "No."),
            ("how", "telephone"),
            ("on_behalf_of", "Lou"),
        ],
    );
    assert_eq!(second.status(), 409);
    let said = second.text().unwrap();
    assert!(
        said.contains("Lou Landlord decided this on 25 November 2026"),
        "{said}"
    );
    assert!(said.contains("replace"));
}

fn a_call(estate: &Estate, job: terms::JobId) -> terms::FaultCallId {
    let at = estate.world().now();
    let call = store::calls::Call {
        id: terms::FaultCallId(uuid::Uuid::nil()),
        space: estate.flat,
        function_lost: terms::FunctionLost::HotWater,
        since_at: at,
        called_at: at,
        words: String::new(),
        job: Some(job),
        answered: String::new(),
    };
    estate
        .world()
        .acting(&estate.seat, |tx| Ok(tx.add_call(&call)?))
        .unwrap()
}

#[test]
fn another_landlord_and_a_contractor_find_nothing_there() {
    let estate = Estate::new();
    let job = estate.job();
    let id = estate.advised(job, 288_000);
    for email in ["elsewhere@test", "engineer@test", "stranger@test"] {
        let client = estate.app.signed_in(email);
        for path in [format!("/advice/{id}"), format!("/advice/{id}/pack")] {
            assert_eq!(client.get(&path).status(), 404, "{email} {path}");
        }
        let answer = client.post(
            &format!("/advice/{id}/decide"),
            &[("choice", "replace:CB"), ("reason", "Mine now.")],
        );
        assert_eq!(answer.status(), 404, "{email}");
    }
    let letter = estate.app.signed_in("elsewhere@test").page("/letter");
    assert!(
        letter.contains("Nothing waits for you") && !letter.contains("Alder House"),
        "{letter}"
    );
    let decisions = estate
        .world()
        .acting(&estate.seat, |tx| Ok(tx.decisions(None)?))
        .unwrap();
    assert!(decisions.is_empty());
    let agent = estate.app.signed_in("agent@test");
    for path in [
        "/advice/abc",
        "/advice/00000000-0000-0000-0000-000000000000",
    ] {
        assert_eq!(agent.get(path).status(), 404, "{path}");
    }
}

#[test]
fn the_agent_writes_down_the_landlords_yes_by_telephone() {
    let estate = Estate::new();
    let job = estate.job();
    let id = estate.advised(job, 61_200);
    let agent = estate.app.signed_in("agent@test");
    let path = format!("/advice/{id}/decide");
    // Over his own £500.00: not by his own page, not without a name, not without a reason.
    let own = agent.post(
        &path,
        &[
            ("choice", "repair"),
            ("reason", "Cold flat."),
            ("how", "page"),
        ],
    );
    assert_eq!(own.status(), 422);
    let said = own.text().unwrap();
    assert!(
        said.contains("over your authority of £500.00") && said.contains("Cold flat."),
        "{said}"
    );
    let nobody = agent.post(
        &path,
        &[
            ("choice", "repair"),
            ("reason", "Cold flat."),
            ("how", "telephone"),
        ],
    );
    assert_eq!(nobody.status(), 422);
    assert!(nobody.text().unwrap().contains("Say who said yes"));
    let why = agent.post(
        &path,
        &[
            ("choice", "repair"),
            ("how", "telephone"),
            ("on_behalf_of", "Lou Landlord"),
        ],
    );
    assert_eq!(why.status(), 422);
    assert!(why.text().unwrap().contains("Say why in one line"));
    let nonsense = agent.post(&path, &[("choice", "sell:it"), ("reason", "x")]);
    assert_eq!(nonsense.status(), 422);
    let other = agent.post(&path, &[("choice", "replace:ZZ"), ("reason", "x")]);
    assert_eq!(other.status(), 422);
    let done = agent.post(
        &path,
        &[
            ("choice", "repair"),
            ("reason", "Cold flat."),
            ("how", "telephone"),
            ("on_behalf_of", "Lou Landlord"),
        ],
    );
    assert_eq!(done.status(), 303);
    let now = estate.job_now(job);
    assert_eq!((now.state, now.firm), (JobState::Taken, Some(estate.firm)));
    let page = agent.page(&format!("/advice/{id}"));
    let said = blocks(&page).join("\n");
    assert!(
        said.contains("Lou Landlord said by telephone: repair; Ada Agent wrote it down"),
        "{said}"
    );
    for words in [
        "Lou Landlord said yes on 25 November 2026 to repairing",
        "The price agreed is £612.00, VAT in it, as Marl Heating quoted on",
    ] {
        assert!(said.contains(words), "“{words}” is not in {said}");
    }
}

#[test]
fn the_agent_writes_down_the_landlords_yes_by_letter() {
    let estate = Estate::new();
    let id = estate.advised(estate.job(), 61_200);
    let agent = estate.app.signed_in("agent@test");
    let path = format!("/advice/{id}/decide");
    let fields = |who: &'static str| {
        [
            ("choice", "replace:CB"),
            ("reason", "By his letter of 24 November."),
            ("how", "letter"),
            ("on_behalf_of", who),
        ]
    };
    let nobody = agent.post(&path, &fields(""));
    assert_eq!(nobody.status(), 422);
    let said = nobody.text().unwrap();
    assert!(said.contains("Say who said yes") && said.contains("By his letter of 24 November."));
    assert_eq!(agent.post(&path, &fields("Lou Landlord")).status(), 303);
    let page = blocks(&agent.page(&format!("/advice/{id}"))).join("\n");
    assert!(
        page.contains("Lou Landlord said by letter: replace"),
        "{page}"
    );
    assert!(page.contains("Ada Agent wrote it down"), "{page}");
    let landlord = estate.app.signed_in("landlord@test");
    assert!(landlord.page("/letter").contains("said by letter: replace"));
}

#[test]
fn inside_his_authority_the_agent_decides_and_another_quote_leads_back() {
    let estate = Estate::new();
    let job = estate.job();
    let id = estate.advised(job, 41_200);
    let agent = estate.app.signed_in("agent@test");
    let answer = agent.post(
        &format!("/advice/{id}/decide"),
        &[
            ("choice", "another_quote"),
            ("reason", "Dear for a valve."),
            ("how", "page"),
        ],
    );
    assert_eq!(answer.status(), 303);
    let now = estate.job_now(job);
    assert_eq!((now.state, now.firm), (JobState::ToPlace, None));
    let listed = agent.page("/advice");
    assert!(
        listed.contains("No quote waits for a decision") && listed.contains("Dear for a valve")
    );
}

#[test]
fn the_firm_goes_ahead_only_inside_both_limits_and_only_its_own() {
    let estate = Estate::new();
    let job = estate.job();
    let (engineer, stranger) = (
        estate.app.signed_in("engineer@test"),
        estate.app.signed_in("stranger@test"),
    );
    let dear = estate.advised(job, 25_001);
    assert_eq!(
        engineer
            .post(&format!("/advice/{dear}/go-ahead"), &[])
            .status(),
        409
    );
    let id = estate.advised(job, 25_000);
    assert_eq!(
        engineer
            .post(&format!("/advice/{dear}/go-ahead"), &[])
            .status(),
        409,
        "superseded"
    );
    assert_eq!(
        stranger
            .post(&format!("/advice/{id}/go-ahead"), &[])
            .status(),
        404
    );
    assert_eq!(
        engineer
            .post(&format!("/advice/{id}/go-ahead"), &[])
            .status(),
        303
    );
    assert_eq!(estate.job_now(job).state, JobState::Taken);
    let made = estate
        .world()
        .acting(&estate.seat, |tx| Ok(tx.decisions(Some(&[id]))?))
        .unwrap();
    assert_eq!(
        made.iter().map(|d| d.choice).collect::<Vec<_>>(),
        [Choice::Repair]
    );
}

#[test]
fn a_lapsed_quote_cannot_be_agreed_and_the_letter_says_it_is_late() {
    let estate = Estate::new();
    let job = estate.job();
    let id = estate.advised(job, 288_000);
    estate
        .app
        .database
        .clock
        .set("2026-12-06T09:00:00Z".parse().unwrap());
    let landlord = estate.app.signed_in("landlord@test");
    let letter = blocks(&landlord.page("/letter")).join("\n");
    assert!(
        letter.contains("One decision waits for you; it is late"),
        "{letter}"
    );
    assert!(letter.contains("late by 2 days"), "{letter}");
    let answer = landlord.post(
        &format!("/advice/{id}/decide"),
        &[("choice", "repair"), ("reason", "Cheaper today.")],
    );
    assert_eq!(answer.status(), 422);
    assert!(
        answer
            .text()
            .unwrap()
            .contains("The quote lapsed on 4 December 2026")
    );
}

#[test]
fn twenty_people_decide_at_once_and_one_does() {
    let estate = Estate::new();
    let job = estate.job();
    let id = estate.advised(job, 41_200);
    let agents: Vec<_> = (0..10)
        .map(|_| estate.app.signed_in("agent@test"))
        .collect();
    let codes: Vec<u16> = std::thread::scope(|scope| {
        let posts: Vec<_> = agents
            .iter()
            .map(|agent| {
                scope.spawn(move || {
                    let fields = [("choice", "repair"), ("reason", "Cold."), ("how", "page")];
                    agent
                        .post(&format!("/advice/{id}/decide"), &fields)
                        .status()
                        .as_u16()
                })
            })
            .collect();
        posts.into_iter().map(|p| p.join().unwrap()).collect()
    });
    assert_eq!(codes.iter().filter(|c| **c == 303).count(), 1, "{codes:?}");
    assert!(
        codes.iter().all(|c| [303, 409, 503].contains(c)),
        "{codes:?}"
    );
}

/// What is advised stands first among the courses, so nobody has to look for it; by the estate's limit £412.00 is repaired and
/// £2,880.00 is not.
#[test]
fn the_course_advised_is_offered_first() {
    let estate = Estate::new();
    let landlord = estate.app.signed_in("landlord@test");
    let job = estate.job();
    for (pence, course) in [(41_200, "repair"), (288_000, "replace")] {
        let id = estate.advised(job, pence);
        assert_eq!(estate.stored(id).course, course);
        let page = landlord.page(&format!("/advice/{id}"));
        let at = |value: &str| page.find(&format!("value=\"{value}")).expect("offered");
        let first = if at("repair\"") < at("replace:") {
            "repair"
        } else {
            "replace"
        };
        assert_eq!(first, course, "{pence}");
    }
}
