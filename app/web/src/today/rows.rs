//! Today's values as rows: a sentence, its verbs, its figure, and why.
use chrono::{DateTime, NaiveDateTime, TimeDelta, Utc};
use terms::today::{BuildingToday, Due, LikelyUnit, OpenQuote, Today, Trouble};
use terms::{BuildingId, ExpectedPounds, JobState, Pence};
use usecases::work::Telling;
use wording::drawings::elevation::{Bay, Elevation, Flat, Storey, mini};
use wording::drawings::steps::Shade;
use wording::sentences::{chances, dates, money, plural, spans, today as words};
use wording::{Drawing, Link, Row, Urgency, Verb, Why};

use super::shared::{outage, suspected, uncovered};
use crate::when;

/// Duties shown one by one before the rest is summed up.
const SHOWN: usize = 8;

fn local(at: DateTime<Utc>) -> NaiveDateTime {
    when::local(at)
}

/// Calls that point to one cause, homes without heat or hot water, then outages.
pub(super) fn cold(told: &Today) -> Vec<Row> {
    let maybe = told
        .suspected
        .iter()
        .enumerate()
        .map(|(n, s)| suspected(n, s));
    let homes = told.troubles.iter().map(|t| trouble(t, told));
    let pipes = told
        .outages
        .iter()
        .enumerate()
        .map(|(n, o)| outage(n, o, told));
    maybe.chain(homes).chain(pipes).collect()
}

fn trouble(trouble: &Trouble, told: &Today) -> Row {
    let href = format!("/jobs/{}", trouble.job);
    let late = trouble.due_at.is_some_and(|due| due < told.at);
    let (figure, small) = match trouble.due_at {
        Some(due) => (spans::clock(told.at, due), "by its clock"),
        None => (
            spans::duration_brief(told.at - trouble.since),
            "no clock was set",
        ),
    };
    let verb = match trouble.state {
        JobState::ToPlace if trouble.asked == 0 => "Offer this job",
        JobState::ToPlace => "Offer this job again",
        JobState::WaitingForDecision => "See what it waits for",
        _ => "See the job",
    };
    let mut row = Row::about(
        format!("job-{}", trouble.job),
        Link::new(words::place(&trouble.place), href.clone()),
        words::trouble(trouble, told.at, &local),
    )
    .figure(figure, small)
    .verb(Verb::link(verb, href))
    .why(Why::this(clock_why(trouble)));
    row.urgency = if late { Urgency::Late } else { Urgency::Plain };
    row.more.extend(words::needs(trouble));
    row
}

fn clock_why(trouble: &Trouble) -> Vec<String> {
    let since = dates::moment(local(trouble.since));
    let mut said = vec![format!("Lost since {since}, as the resident said.")];
    if !trouble.due_why.is_empty() {
        said.push(trouble.due_why.clone());
    }
    if let Some(due) = trouble.due_at {
        said.push(format!("The clock runs to {}.", dates::moment(local(due))));
    }
    said
}

/// What has to be told because a visit did not go as planned, oldest first.
pub(super) fn to_tell(waiting: &[Telling], once: &str) -> Vec<Row> {
    waiting
        .iter()
        .map(
            |Telling {
                 telling,
                 job,
                 resident,
             }| {
                let whom = match (telling.whom.as_str(), resident) {
                    ("resident", Some((name, phone))) if !phone.is_empty() => {
                        format!(": tell {name}, {phone}. {}", telling.words)
                    }
                    ("resident", Some((name, _))) => format!(": tell {name}. {}", telling.words),
                    ("resident", None) => format!(": tell whoever lives there. {}", telling.words),
                    _ => format!(". {}", telling.words),
                };
                let key = format!("{once}-{}", telling.id);
                let subject = Link::new(
                    format!("{}, {}", job.space_name, job.building_name),
                    format!("/jobs/{}", job.id),
                );
                Row::about(format!("tell-{}", telling.id), subject, whom)
                    .figure(
                        local(telling.queued_at).format("%H:%M").to_string(),
                        job.number.clone(),
                    )
                    .verb(Verb::post(
                        "They know",
                        format!("/today/told/{}", telling.id),
                        vec![("once".to_owned(), key)],
                    ))
            },
        )
        .collect()
}

/// Units unsafe or isolated, oldest first.
pub(super) fn unsafe_units(told: &Today) -> Vec<Row> {
    told.unsafe_units
        .iter()
        .map(|unit| {
            let since = spans::duration_brief(told.at - unit.since);
            let subject = Link::new(
                words::unit_at(&unit.kind_name, &unit.place),
                format!("/units/{}", unit.unit),
            );
            let verb = match unit.job {
                Some(job) => Verb::link("See the job", format!("/jobs/{job}")),
                None => Verb::link("Look at the unit", format!("/units/{}", unit.unit)),
            };
            Row::about(format!("unsafe-{}", unit.unit), subject, words::unsafe_unit(unit, &local))
                .urgency(Urgency::Late)
                .figure(since, "since the notice")
                .verb(verb)
                .why(Why::this(vec![
                    "The engineer on site classed it; the program only stores that and blocks. It is cleared by the registration number of whoever put it right.".to_owned(),
                ]))
        })
        .collect()
}

/// What is late or due within a fortnight and not arranged, one by one; the rest summed up.
pub(super) fn due(told: &Today) -> Vec<Row> {
    let fortnight = told.day + TimeDelta::days(14);
    let open =
        |d: &&Due| d.deadline < told.day || (d.deadline <= fortnight && d.booked_from.is_none());
    let (together, single) = alike(told.due.iter().filter(open).collect(), told);
    let mut shown: Vec<&Due> = single.into_iter().take(SHOWN).collect();
    let mut rows: Vec<Row> = shown.iter().map(|d| duty(d, told)).collect();
    rows.extend(together.iter().map(|dues| duties_alike(dues, told)));
    shown.extend(together.into_iter().flatten());
    let rest: Vec<Due> = told
        .due
        .iter()
        .filter(|d| !shown.iter().any(|s| s.duty == d.duty))
        .cloned()
        .collect();
    if let Some(sentence) = words::due_rest(&rest, told.day) {
        let late = rest.iter().filter(|d| d.deadline < told.day).count() as u64;
        let small = if late > 0 {
            format!("{late} of them late")
        } else {
            "still in time".to_owned()
        };
        rows.push(
            Row::plain("due-rest", sentence)
                .figure(rest.len().to_string(), small)
                .verb(Verb::link("See all duties", "/duties")),
        );
    }
    if let Some(sentence) = words::undated(told.undated) {
        rows.push(
            Row::plain("due-undated", sentence)
                .figure(told.undated.to_string(), "without a date")
                .verb(Verb::link("See all duties", "/duties")),
        );
    }
    rows
}

/// Late duties of one name in one building that nobody has begun are said in one sentence, from three on; what is
/// late by law always stands alone. The rest keep their order.
fn alike<'a>(open: Vec<&'a Due>, told: &Today) -> (Vec<Vec<&'a Due>>, Vec<&'a Due>) {
    let alike_with = |due: &'a Due| {
        let begun = due.job.is_some() || due.attempts > 0 || due.booked_from.is_some();
        let fits = !begun && due.basis != "law" && due.deadline < told.day;
        fits.then_some((due.place.building, due.name.as_str()))
    };
    let mut groups: Vec<((BuildingId, &str), Vec<&Due>)> = Vec::new();
    for (key, due) in open.iter().filter_map(|due| Some((alike_with(due)?, *due))) {
        match groups.iter_mut().find(|(of, _)| *of == key) {
            Some((_, dues)) => dues.push(due),
            None => groups.push((key, vec![due])),
        }
    }
    groups.retain(|(_, dues)| dues.len() > 2);
    let single = open
        .into_iter()
        .filter(|due| alike_with(due).is_none_or(|key| groups.iter().all(|(of, _)| *of != key)))
        .collect();
    (groups.into_iter().map(|(_, dues)| dues).collect(), single)
}

fn duties_alike(dues: &[&Due], told: &Today) -> Row {
    let Some(first) = dues.first() else {
        return Row::plain("duties", "");
    };
    let longest = dues.iter().map(|d| d.deadline).min();
    let href = format!("/duties?building={}&part=late", first.place.building);
    Row::about(
        format!("duties-{}", first.duty),
        Link::new(first.place.building_name.clone(), href.clone()),
        words::due_alike(dues),
    )
    .urgency(Urgency::Late)
    .figure(
        longest.map_or_else(String::new, |day| spans::due(told.day, day)),
        "the longest",
    )
    .verb(Verb::link("See them all", href))
    .why(Why::this(vec![format!(
        "{}. Basis: {}. None of them has a job yet.",
        first.name, first.basis
    )]))
}

fn duty(due: &Due, told: &Today) -> Row {
    let days = (due.deadline - told.day).num_days();
    let urgency = match days {
        i64::MIN..0 => Urgency::Late,
        0..=8 => Urgency::Soon,
        _ => Urgency::Plain,
    };
    let href = match (due.unit, due.place.space) {
        (Some(unit), _) => format!("/units/{unit}"),
        (None, Some(space)) => format!("/duties/at/space/{space}"),
        (None, None) => format!("/duties/at/building/{}", due.place.building),
    };
    let verb = match due.job {
        Some(job) => Verb::link("See the job", format!("/jobs/{job}")),
        None => Verb::link("See the duty", "/duties"),
    };
    Row::about(
        format!("duty-{}", due.duty),
        Link::new(words::place(&due.place), href),
        words::due(due, told.day, &local),
    )
    .urgency(urgency)
    .figure(spans::due(told.day, due.deadline), words::due_small(due))
    .verb(verb)
    .why(Why::this(vec![
        format!("{}. Basis: {}.", due.name, due.basis),
        due.reason.clone(),
    ]))
}

/// Nights and days off without anybody, quotes and advices nobody decided on, jobs whose papers are not agreed.
pub(super) fn waiting(told: &Today) -> Vec<Row> {
    let mut rows: Vec<Row> = told.uncovered.iter().map(uncovered).collect();
    rows.extend(told.quotes.iter().map(|q| quote(q, told)));
    rows.extend(told.advices.iter().map(|advice| {
        let subject = Link::new(
            words::unit_at(&advice.kind_name, &advice.place),
            format!("/units/{}", advice.unit),
        );
        Row::about(
            format!("advice-{}", advice.advice),
            subject,
            words::advice(advice),
        )
        .figure(
            dates::day_brief(advice.made_on),
            "advised",
        )
        .verb(Verb::link(
            "Read the advice",
            format!("/advice/{}", advice.advice),
        ))
        .why(Why::this(vec![
            "The advice compares keeping the unit some years more with replacing it now, over all the years that follow. A person decides.".to_owned(),
        ]))
    }));
    if told.to_agree > 0 {
        let jobs = wording::sentences::counted(u64::from(told.to_agree), "job is", "jobs are");
        rows.push(
            Row::plain(
                "to-agree",
                format!(
                    "{} done; look at the papers and the invoice before you agree.",
                    wording::sentences::capital(&jobs)
                ),
            )
            .figure(told.to_agree.to_string(), "to agree")
            .verb(Verb::link("See the jobs", "/jobs")),
        );
    }
    rows
}

fn quote(quote: &OpenQuote, told: &Today) -> Row {
    let href = format!("/units/{}", quote.unit);
    let job = format!("/jobs/{}", quote.job);
    let valid = dates::day_of_year(quote.valid_until);
    let lapsed = quote.valid_until < told.day;
    let small = if lapsed {
        format!("lapsed on {valid}")
    } else {
        format!("valid to {valid}")
    };
    let row = Row::about(
        format!("quote-{}", quote.quote),
        Link::new(words::unit_at(&quote.kind_name, &quote.place), href),
        words::quote(quote),
    )
    .figure(money::exact(quote.total), small)
    .why(Why::this(words::quote_why(quote)));
    match quote.weighed {
        Some(weighed) => row
            .verb(Verb::link("Decide", format!("/advice/{}", weighed.advice)))
            .other(Verb::link("See the job", job)),
        None => row.verb(Verb::link("See the job", job)),
    }
}

/// The note beside "Likely next".
pub(super) fn likely_note(told: &Today) -> String {
    let season = told
        .likely
        .first()
        .map(|unit| words::season_words(unit.season_days, told.day));
    match season {
        Some(season) => format!(
            "{}, few and with reasons",
            wording::sentences::capital(&season)
        ),
        None => "Few and with reasons".to_owned(),
    }
}

/// The few units most likely to fail, and of which kinds nothing can be said.
pub(super) fn likely(told: &Today, once: &str) -> Vec<Row> {
    let mut rows: Vec<Row> = told.likely.iter().map(|u| likely_unit(u, told)).collect();
    if rows.is_empty() {
        rows.push(Row::plain(
            "likely-none",
            "No unit whose kind has a record stands out as likely to fail.",
        ));
    }
    if let Some(sentence) = words::too_thin(&told.too_thin) {
        let why = Why::this(words::too_thin_why(&told.too_thin));
        rows.push(Row::plain("likely-thin", sentence).why(why));
    }
    if let Some(last) = rows.last_mut() {
        last.others.push(Verb::post(
            "Reckon the forecasts again now",
            "/forecasts/again",
            vec![("once".to_owned(), once.to_owned())],
        ));
    }
    rows
}

fn likely_unit(unit: &LikelyUnit, told: &Today) -> Row {
    let href = format!("/units/{}", unit.unit);
    let verb = match (unit.job, unit.advice) {
        (Some(job), _) => Verb::link("See the job", format!("/jobs/{job}")),
        (None, Some(advice)) => Verb::link("Read the advice", format!("/advice/{advice}")),
        (None, None) => Verb::link("Look at the unit", href.clone()),
    };
    let (figure, small) = match unit.repairs_a_year {
        Some(pounds) => (pounds_words(pounds), "repairs expected in a year"),
        None => (chances::brief(unit.year.chance), "in 12 months"),
    };
    Row::about(
        format!("likely-{}", unit.unit),
        Link::new(words::unit_at(&unit.kind_name, &unit.place), href),
        words::likely(unit, told.day),
    )
    .figure(figure, small)
    .verb(verb)
    .why(Why::this(words::likely_why(unit)))
}

fn pounds_words(pounds: ExpectedPounds) -> String {
    money::whole(Pence(pounds.to_pence().0))
}

/// One strip a building, with its thumbnail.
pub(super) fn buildings(told: &Today) -> Vec<(Row, Drawing)> {
    told.buildings
        .iter()
        .map(|building| (strip(building, told), thumb(building)))
        .collect()
}

fn strip(building: &BuildingToday, told: &Today) -> Row {
    let season = told.likely.first().map_or_else(
        || "in the heating season".to_owned(),
        |unit| words::season_words(unit.season_days, told.day),
    );
    let flats = if building.flats == 1 { "flat" } else { "flats" };
    let small = match building.built_year {
        Some(year) => format!("{flats}, {year}"),
        None => flats.to_owned(),
    };
    let row = Row::about(
        format!("building-{}", building.building),
        Link::new(
            building.name.clone(),
            format!("/buildings/{}", building.building),
        ),
        words::building(building, &season),
    )
    .figure(building.flats.to_string(), small);
    let rests = building.expected.iter().map(|e| {
        let failures = plural(u64::from(e.kind_failures), "failure", "failures");
        format!(
            "The number for its {} rests on {failures} of the kind on record in this estate; 8 seasons in 10 fall inside the range; what is particular to the building, its water or its installer, is in it where two or more buildings can be compared.",
            e.plural
        )
    });
    let mut paragraphs: Vec<String> = rests.collect();
    if paragraphs.is_empty() {
        paragraphs.push(
            "How many failures to expect is said once fifteen of a kind are on record.".to_owned(),
        );
    }
    row.why(Why::this(paragraphs))
}

fn thumb(building: &BuildingToday) -> Drawing {
    let storeys = building
        .storeys
        .iter()
        .map(|storey| Storey {
            label: storey.label.clone(),
            bays: storey
                .flats
                .iter()
                .map(|(name, wrong)| {
                    Bay::Flat(Flat {
                        trouble: wrong.clone(),
                        ..Flat::new(name, "", Shade::Plain)
                    })
                })
                .collect(),
        })
        .collect();
    mini(&Elevation {
        id: format!("thumb-{}", building.building),
        title: format!("{} in section", building.name),
        storeys,
        ..Elevation::default()
    })
}

/// What to do on a day when nothing is known.
pub(super) fn first_day() -> Vec<Row> {
    vec![
        Row::about(
            "first-list",
            Link::new("Bring in the list you have.", ""),
            " Any spreadsheet with a row for each flat will do; wrong rows are held back, not lost.",
        )
        .verb(Verb::link("Bring in a list", "/import")),
        Row::about(
            "first-building",
            Link::new("Or draw the building.", ""),
            " Say how many storeys there are and how many flats on each.",
        )
        .verb(Verb::link("Enter a building", "/buildings/new")),
    ]
}
