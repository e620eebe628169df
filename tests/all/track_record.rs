//! How right the model was: on published histories, and on the demo's own pages.
use dependability::judgement::Against;
use dependability::published::{SETS, histories, judged};
use usecases::forecast;

use crate::support::TestApp;

/// Shipped figures are those that come out: three sets from the repository's own copies, all five where the shared folder
/// is there.
#[test]
fn what_is_said_of_published_histories_comes_out_again() {
    let shipped = forecast::published().unwrap();
    let names: Vec<(&str, &str)> = shipped
        .iter()
        .map(|s| (s.name.as_str(), s.words.as_str()))
        .collect();
    assert_eq!(names, SETS);
    let here = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
    let shared = std::env::var_os("RISERWARD_REFERENCE").map_or_else(
        || here.join("../../shared/reference"),
        std::path::PathBuf::from,
    );
    let own = here.join("reference/reliability/data");
    let mut made_again = 0;
    for line in &shipped {
        let text = |folder: &std::path::Path, what: &str| {
            std::fs::read_to_string(folder.join(format!("{}_{what}.csv", line.name))).ok()
        };
        let folders = [own.clone(), shared.join("reliability/data")];
        let found = folders
            .iter()
            .find_map(|folder| Some((text(folder, "windows")?, text(folder, "events")?)));
        let Some((windows, events)) = found else {
            println!(
                "{}: its data are not here, as no copy of them may be kept",
                line.name
            );
            continue;
        };
        made_again += 1;
        let again = judged(&histories(&windows, &events).unwrap()).unwrap();
        assert_eq!(
            (again.forecasts as u64, again.happened, again.luck80),
            (line.forecasts, line.happened, line.luck80),
            "{}",
            line.name
        );
        assert!(
            (again.expected - line.expected).abs() < 0.0051,
            "{}",
            line.name
        );
        for (one, said) in again.against.unwrap().iter().zip(&line.against) {
            let all = |a: &Against| [a.mean, a.ci95.0, a.ci95.1, a.bootstrap95.0, a.bootstrap95.1];
            for (v, w) in all(one).into_iter().zip(all(said)) {
                assert!((v - w).abs() < 6e-6, "{}: {v} where {w} is said", line.name);
            }
            assert_eq!((one.better(), one.worse()), (said.better(), said.worse()));
        }
        assert!(
            line.won() || !line.why.is_empty(),
            "{} says no reason",
            line.name
        );
    }
    assert!(made_again >= 3, "three sets lie in the repository");
}

/// Each plainer way is named with its verdict wherever the demo is judged, and so is every published history.
#[test]
fn the_demos_track_record_names_every_way_to_beat_with_its_verdict() {
    let app = TestApp::demo();
    let agent = app.signed_in("agent@demo.example");
    let ways = [
        "the kind's average rate",
        "the unit's age alone",
        "the published figures alone",
    ];
    let plain = |path: &str| {
        let page = agent.page(path).replace('\u{a0}', " ");
        page.replace("&#39;", "'")
            .replace("&#x27;", "'")
            .replace("’", "'")
    };
    for path in ["/track-record", "/track-record/own-past"] {
        let page = plain(path);
        for way in ways {
            let verdicts = [
                format!("did better than {way}, by more than luck"),
                format!("did worse than {way}, by more than luck"),
                format!(
                    "This forecast and {way} cannot be told apart yet: the difference lies inside what luck does"
                ),
                format!("Against {way}: not judged, as "),
            ];
            let said = verdicts
                .iter()
                .filter(|v| page.contains(v.as_str()))
                .count();
            assert_eq!(said, 1, "{path} on {way}");
            // Where it does not win, the reason stands behind the verdict, with the figures it is taken from.
            for verdict in &verdicts[1..3] {
                for (at, _) in page.match_indices(verdict.as_str()) {
                    let rest = &page[at + verdict.len()..];
                    let row = &rest[..rest.find('<').unwrap_or(rest.len())];
                    let why = row.split_once(" Why: ").map_or("", |(_, why)| why);
                    let known = [
                        "failures the difference may be anything from ",
                        "its level was further off",
                        "told units apart wrongly or too boldly: concordance ",
                    ];
                    assert!(known.iter().any(|k| why.contains(k)), "{path}: {row}");
                    assert!(why.contains(|c: char| c.is_ascii_digit()), "{path}: {why}");
                }
            }
        }
    }
    let page = plain("/track-record/own-past");
    assert!(page.contains("On published histories"));
    for line in forecast::published().unwrap() {
        assert!(
            page.contains(&format!("id=\"published-{}\"", line.name)),
            "{}",
            line.name
        );
        assert!(page.contains(line.why.as_str()), "{}", line.name);
    }
    assert!(page.contains(
        "is better than the kind's average rate, better than the unit's age alone and better than"
    ));
    assert!(page.contains("Ageing is taken from the trade, part by part"));
}
