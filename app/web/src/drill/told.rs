//! A drill in words and as a drawing.
use terms::Pence;
use usecases::drill::{AskedPart, Change, KeptDrill, Rarity, Step};
use wording::drawings::cold_night::ColdNight;
use wording::sentences::{counted, list, money, plural};
use wording::{Drawing, Row, Why};

/// "about once in 12 winters", "in most winters", "in none of 4,000 winters tried".
fn once_in(rarity: &Rarity) -> String {
    match rarity.once_in() {
        None => format!(
            "in none of {} tried",
            plural(rarity.of as u64, "winter", "winters")
        ),
        Some(winters) if winters < 1.5 => "in most winters".to_owned(),
        Some(winters) => format!(
            "about once in {}",
            plural(winters.round() as u64, "winter", "winters")
        ),
    }
}

/// "1 in 9 to 1 in 14 winters", the doubt of a finite number of winters.
fn doubt(rarity: &Rarity) -> String {
    match rarity.once_in_ci95() {
        (near, Some(far)) => format!("once in {near:.1} to once in {far:.1} winters"),
        (near, None) => format!("rarer than once in {near:.0} winters"),
    }
}

pub(super) fn found(last: &KeptDrill) -> (String, String) {
    let found = &last.answer.drill;
    let warmed = last.ask.cover.warmed();
    let finding = format!(
        "On some night a home has neither heating nor a heater {}",
        once_in(&found.short)
    );
    let standing = format!(
        "{} reach {}; about {} a winter leave somebody without heating, {} in all.",
        plural(u64::from(last.ask.cover.heaters), "heater", "heaters"),
        counted(u64::from(warmed), "home", "homes"),
        plural(found.faults.round() as u64, "fault", "faults"),
        plural(
            found.cold_nights.round() as u64,
            "cold night",
            "cold nights"
        ),
    );
    (finding, standing)
}

pub(super) fn picture(last: &KeptDrill) -> Drawing {
    ColdNight {
        id: "worst".to_owned(),
        worst: last.answer.drill.worst.clone(),
        warmed: last.ask.cover.warmed(),
    }
    .draw()
}

pub(super) fn levels(last: &KeptDrill) -> Vec<Row> {
    let answer = &last.answer;
    let mut rows: Vec<Row> = answer
        .drill
        .levels
        .iter()
        .map(|level| {
            let range = if level.ci95.0 == level.ci95.1 {
                String::new()
            } else {
                format!(
                    " ({} to {} with the doubt of the winters tried)",
                    level.ci95.0, level.ci95.1
                )
            };
            Row::plain(
                format!("level-{}", level.once_in),
                format!(
                    "Once in {} winters at least {} without heating on one night{range}.",
                    level.once_in,
                    match level.homes {
                        1 => "one home is".to_owned(),
                        n => format!("{} are", counted(u64::from(n), "home", "homes")),
                    }
                ),
            )
            .figure(
                level.homes.to_string(),
                format!("homes, 1 winter in {}", level.once_in),
            )
        })
        .collect();
    if let Some(first) = rows.first_mut() {
        first.why = Some(Why::this(vec![
            format!(
                "{} of {} were tried, each from everything working on 1 October to 31 March: {} with a forecast, each with a rate drawn from what its forecast leaves open: what is not known of a kind or a building once a winter for all its units, the rest for each alone. Of failures of plant with several units one in ten strikes all at once (common practice, no source).",
                plural(answer.drill.winters as u64, "winter", "winters"),
                plural(answer.homes as u64, "home", "homes"),
                plural(answer.units as u64, "unit", "units")
            ),
            "The oldest fault is seen first; one after noon waits a night; one that needs a part not carried waits for it and is visited twice.".to_owned(),
            format!(
                "Not in it: {} without a forecast, {} that no unit on record heats, a fault that shuts a whole street, and who lets nobody in.",
                plural(answer.without as u64, "unit", "units"),
                plural(answer.unheated as u64, "flat", "flats")
            ),
        ]));
    }
    rows
}

fn words(change: &Change, parts: &[AskedPart]) -> String {
    let mut said = Vec::new();
    if change.heaters > 0 {
        said.push(counted(
            u64::from(change.heaters),
            "heater more",
            "heaters more",
        ));
    }
    if change.engineers > 0 {
        said.push(counted(
            u64::from(change.engineers),
            "engineer more on cover",
            "engineers more on cover",
        ));
    }
    let carried = change.parts.iter().filter_map(|p| parts.get(*p));
    said.extend(carried.map(|p| format!("on the van: {}", p.name)));
    list(&said)
}

pub(super) fn changes(last: &KeptDrill) -> Vec<Row> {
    let (found, parts) = (&last.answer.changes, &last.ask.parts);
    let mut rows = vec![cheapest(last)];
    rows.extend(found.single.iter().enumerate().map(|(place, step)| {
        let said = wording::sentences::capital(&words(&step.change, parts));
        Row::plain(
            format!("change-{place}"),
            format!(
                "{said}: then {} ({}).",
                once_in(&step.short),
                doubt(&step.short)
            ),
        )
        .figure(money::whole(Pence(step.price)), "for this winter")
    }));
    rows
}

fn cheapest(last: &KeptDrill) -> Row {
    let found = &last.answer.changes;
    let why = Why::this(vec![
        format!("As it stands: {} ({}).", once_in(&found.now), doubt(&found.now)),
        "Tried: every set of up to two engineers more and the three parts that help most, each with as many heaters as it then takes. All on the same winters, so that a difference is the change's own.".to_owned(),
    ]);
    match &found.cheapest {
        Some(Step {
            change,
            price,
            short,
        }) if *price > 0 => Row::plain(
            "cheapest",
            format!(
                "The cheapest that makes it ten times rarer: {}. Then {}.",
                words(change, &last.ask.parts),
                once_in(short)
            ),
        )
        .figure(money::whole(Pence(*price)), "ten times rarer")
        .why(why),
        _ if found.too_rare => Row::plain(
            "cheapest",
            "It is too rare already for these winters to tell what would make it ten times rarer.",
        )
        .why(why),
        _ => Row::plain("cheapest", "Nothing tried makes it ten times rarer.").why(why),
    }
}
