//! How good the round is: its gap and bound in words, services in date order beside it, what the last placing moved.
use terms::Pence;
use usecases::plan::{MoreTime, MoveLine, RoundProof, Rounds, Stand, Tally};
use wording::sentences::{counted, dates, money, plural};
use wording::{Link, Row, Why};

use super::days::{clock, place};

/// Moves said one by one.
const SAID: usize = 30;

/// The rows about the gap and the plain way.
pub(super) fn rows(found: &Rounds) -> Vec<Row> {
    let Some(proof) = &found.proof else {
        return Vec::new();
    };
    let mut rows = vec![gap(proof), beside(proof)];
    rows.extend(found.more.as_ref().map(|more| more_time(found, more)));
    rows
}

/// What a day more of one engineer would buy.
fn more_time(found: &Rounds, more: &MoreTime) -> Row {
    let who = found.names.engineer(more.day.engineer);
    let week = dates::day(more.day.week);
    let sentence = if more.saves == 0 {
        format!("A day more of {who} in the week of {week}, the fullest, would buy nothing.")
    } else {
        let placed = match more.placed_more {
            0 => String::new(),
            n => format!(", {} more a day", counted(u64::from(n), "visit", "visits")),
        };
        format!(
            "A day more of {who} in the week of {week}, the fullest, would save {}{placed} and bring {} forward.",
            money::whole(Pence(more.saves)),
            counted(u64::from(more.sooner), "visit", "visits")
        )
    };
    Row::plain("more-time", sentence)
        .figure(money::whole(Pence(more.saves)), "for a day more")
        .why(Why::this(vec![
            "The round was sought again with as many minutes more in that week as the longest day has, of theirs and of \
             their firm’s, and its cost taken from the cost of this one."
                .to_owned(),
        ]))
}

fn hours(minutes: i64) -> String {
    match (minutes / 60, minutes % 60) {
        (0, m) => format!("{m}\u{a0}min"),
        (h, 0) => format!("{h}\u{a0}h"),
        (h, m) => format!("{h}\u{a0}h {m}\u{a0}min"),
    }
}

fn gap(proof: &RoundProof) -> Row {
    let part = |cost: i64| money::whole(Pence((cost - proof.unavoidable).max(0)));
    let left = Pence((proof.ours.cost - proof.at_least).max(0));
    let sentence = if proof.best {
        "No round for these visits does with less time on the road and fewer days waited: that is proven.".to_owned()
    } else {
        format!(
            "The road, the waiting and the full weeks of this round come to about {} of working time; no round for these \
             visits brings that under {}, so at most {} is left to find.",
            part(proof.ours.cost),
            part(proof.at_least),
            money::whole(left)
        )
    };
    let (figure, small) = if proof.best {
        ("nothing".to_owned(), "left to find")
    } else {
        (money::whole(left), "left to find, at most")
    };
    Row::plain("gap", sentence)
        .figure(figure, small)
        .why(Why::this(vec![
            "A minute on the road is reckoned at 75p, a door at £7.50, a day’s wait of a legal duty that is late at £22.50, a \
             minute above a quarter over the usual week at 20p, a visit without a day at £1,000 and twice that where it \
             presses (common practice, no source). Every day out begins and ends a quarter of an hour away."
                .to_owned(),
            "What no round can cost less than is certified by pricing every visit and every day apart; visits are taken out \
             and put back thousands of times to come near it, always from the same seed."
                .to_owned(),
        ]))
}

fn beside(proof: &RoundProof) -> Row {
    let (ours, plain): (Tally, Tally) = (proof.ours, proof.date_order);
    let saved = Pence(plain.cost - ours.cost);
    let left = match plain.unplaced.cmp(&ours.unplaced) {
        std::cmp::Ordering::Greater => format!(
            " and leave {} more without a day",
            counted(u64::from(plain.unplaced - ours.unplaced), "visit", "visits")
        ),
        std::cmp::Ordering::Less => format!(
            " and place {} more",
            counted(u64::from(ours.unplaced - plain.unplaced), "visit", "visits")
        ),
        std::cmp::Ordering::Equal => String::new(),
    };
    let sentence = format!(
        "Services in date order would be on the road for {} on {}{left}; this round is on the road for {} on {}.",
        hours(plain.road),
        plural(u64::from(plain.days), "engineer’s day", "engineers’ days"),
        hours(ours.road),
        plural(u64::from(ours.days), "day", "days")
    );
    Row::plain("date-order", sentence)
        .figure(money::whole(Pence(saved.0.max(0))), "saved by planning")
        .why(Why::this(vec![
            "The same visits, people and hours: each on the first day with room, by its last day, with whoever is free \
             first."
                .to_owned(),
        ]))
}

/// What the last placing moved, each with its reason.
pub(super) fn moved(found: &Rounds) -> (String, Vec<Row>) {
    if found.moves.is_empty() {
        return (String::new(), Vec::new());
    }
    let fewest = if found.fewest {
        " No placing moves fewer."
    } else {
        ""
    };
    let said = format!(
        "{} moved and {} stayed.{fewest}",
        wording::sentences::capital(&counted(found.moves.len() as u64, "visit", "visits")),
        counted(found.stayed, "visit", "visits")
    );
    let mut rows: Vec<Row> = found
        .moves
        .iter()
        .take(SAID)
        .filter_map(|line| row(found, line))
        .collect();
    if found.moves.len() > SAID {
        rows.push(Row::plain(
            "moved-more",
            format!("And {} more.", found.moves.len() - SAID),
        ));
    }
    (said, rows)
}

fn row(found: &Rounds, line: &MoveLine) -> Option<Row> {
    let visit = found.visits.iter().find(|v| v.visit == line.visit);
    let call = found.calls.iter().find(|(job, _)| job.id.0 == line.visit);
    let subject = match (visit, call) {
        (Some(visit), _) => Link::new(place(visit), format!("/duties/{}", visit.unit.id)),
        (None, Some((job, _))) => Link::new(
            format!("{}, {}", job.space_name, job.building_name),
            format!("/jobs/{}", job.id),
        ),
        (None, None) => return None,
    };
    let said = |stand: &Stand| {
        format!(
            "{}, {} with {}",
            dates::weekday_day(stand.day),
            clock(i32::try_from(stand.start).unwrap_or(0)),
            found.names.engineer(stand.engineer)
        )
    };
    let to = line.to.as_ref().map_or_else(|| "no day".to_owned(), &said);
    Some(Row::about(
        format!("moved-{}", line.visit),
        subject,
        format!(": from {} to {to}, because {}.", said(&line.from), line.why),
    ))
}
