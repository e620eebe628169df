//! The sentences of Today and of the morning brief: who has no heat, what is unsafe, what is due, what waits, what is
//! likely. Each begins with a space or punctuation where a subject stands before it.
use chrono::{DateTime, NaiveDate, NaiveDateTime, TimeDelta, Utc};
use terms::today::{
    BuildingToday, Due, Expected, LikelyUnit, OpenAdvice, OpenQuote, Outage, Place, Reason, Today,
    Trouble, Unsafe,
};
use terms::{FunctionLost, JobState, Pence};

use super::{capital, chances, counted, dates, glue, list, money, number_word, plural, spans};

/// From an instant to the wall time of the buildings.
pub type Local<'a> = &'a dyn Fn(DateTime<Utc>) -> NaiveDateTime;

/// "Flat 14, Alder House"; the building alone when the space has no name.
pub fn place(place: &Place) -> String {
    if place.space_name.is_empty() {
        place.building_name.clone()
    } else {
        glue(&format!("{}, {}", place.space_name, place.building_name))
    }
}

/// "Combi gas boiler in flat 22, Alder House".
pub fn unit_at(kind_name: &str, place: &Place) -> String {
    let kind = capital(kind_name);
    if place.space_name.is_empty() {
        return format!("{kind}, {}", place.building_name);
    }
    let space = small(&place.space_name);
    glue(&format!("{kind} in {space}, {}", place.building_name))
}

/// The first letter made small, unless the word is in capitals.
fn small(words: &str) -> String {
    let mut letters = words.chars();
    match (letters.next(), letters.clone().next()) {
        (Some(first), Some(second)) if !second.is_uppercase() => {
            first.to_lowercase().chain(letters).collect()
        }
        _ => words.to_owned(),
    }
}

/// "no heating or hot water".
fn lost_words(lost: FunctionLost) -> &'static str {
    match lost {
        FunctionLost::Heating => "no heating",
        FunctionLost::HotWater => "no hot water",
        FunctionLost::HeatingAndHotWater => "no heating or hot water",
        FunctionLost::Leak => "a leak",
        FunctionLost::Noise => "a noise",
        FunctionLost::GasOrCo => "a smell of gas, or a carbon monoxide alarm",
        FunctionLost::Other => "trouble",
    }
}

/// The heading: what was found this morning.
pub fn finding(today: &Today) -> String {
    let cold = today.troubles.len() as u64;
    let late = late_duties(today);
    let has = |n: u64| if n == 1 { "has" } else { "have" };
    let is = |n: u64| if n == 1 { "is" } else { "are" };
    let danger = today.unsafe_units.len() as u64;
    let units = || {
        format!(
            "{} {} unsafe or isolated",
            counted(danger, "unit", "units"),
            is(danger)
        )
    };
    let pipes = today.outages.len() as u64;
    let outage = || {
        format!(
            "{} {} going on",
            counted(pipes, "outage", "outages"),
            is(pipes)
        )
    };
    let mut found = Vec::new();
    if today.empty {
        return "Nothing is known yet, so nothing is late".into();
    }
    if cold > 0 {
        let homes = counted(cold, "home", "homes");
        found.push(format!("{homes} {} no heat or hot water", has(cold)));
    }
    if pipes > 0 {
        found.push(outage());
    }
    if danger > 0 {
        found.push(units());
    }
    if found.is_empty() && late > 0 {
        let checks = counted(late, "check is", "checks are");
        return format!("Nobody is without heat; {checks} late");
    }
    match found.as_slice() {
        [] => "Nobody is without heat, nothing is unsafe and nothing is late".into(),
        _ if cold == 0 && pipes == 0 => format!("Nobody is without heat, but {}", list(&found)),
        _ => capital(&list(&found)),
    }
}

/// The sentence under the heading: what follows from it.
pub fn standing(today: &Today) -> String {
    if today.empty {
        return "Start with what you have, however untidy.".into();
    }
    let cold = today.troubles.len();
    let booked = today
        .troubles
        .iter()
        .filter(|t| t.booked_from.is_some())
        .count() as u64;
    let mut said = Vec::new();
    if cold > 0 {
        said.push(match booked {
            0 if cold == 1 => "It is not booked yet.".to_owned(),
            0 => "None of them is booked yet.".to_owned(),
            n if n as usize == cold && cold == 1 => "A visit is booked.".to_owned(),
            n if n as usize == cold => "All are booked.".to_owned(),
            n => format!("{} booked.", capital(&counted(n, "is", "are"))),
        });
    }
    let past = |t: &&Trouble| t.due_at.is_some_and(|due| due < today.at) && t.firm.is_none();
    if let Some(worst) = today.troubles.iter().find(past) {
        said.push(format!(
            "{} is past its clock and has nobody.",
            place(&worst.place)
        ));
    }
    let waiting = (today.quotes.len() + today.advices.len()) as u64;
    if waiting > 0 {
        let things = counted(waiting, "decision waits", "decisions wait");
        said.push(format!("{} for you.", capital(&things)));
    }
    let late = late_duties(today);
    if late > 0 && cold > 0 {
        let checks = counted(late, "check is late", "checks are late");
        said.push(format!("{}.", capital(&checks)));
    }
    if said.is_empty() {
        said.push("Nothing has to be done before noon.".into());
        if let Some(next) = today.due.first() {
            let day = dates::weekday_day(next.deadline);
            said = vec![format!("The next deadline is {day}.")];
        }
    }
    said.join(" ")
}

fn late_duties(today: &Today) -> u64 {
    today.due.iter().filter(|d| d.deadline < today.day).count() as u64
}

/// " has had no heating for 6 h 20 min. Beck Heating comes today at 12:30."
pub fn trouble(trouble: &Trouble, now: DateTime<Utc>, local: Local<'_>) -> String {
    let span = spans::duration(now - trouble.since);
    let lost = lost_words(trouble.lost);
    format!(" has had {lost} for {span}. {}", state(trouble, now, local))
}

/// "The resident needs heat the same day." Resident data: for the page, never for a brief or a feed.
pub fn needs(trouble: &Trouble) -> Option<String> {
    (!trouble.needs.is_empty()).then(|| format!("The resident {}.", list(&trouble.needs)))
}

fn state(trouble: &Trouble, now: DateTime<Utc>, local: Local<'_>) -> String {
    let firm = trouble.firm.as_deref().unwrap_or("The contractor");
    let asked = u64::from(trouble.asked);
    match trouble.state {
        JobState::ToPlace if asked == 0 => "Nobody has been asked yet.".into(),
        JobState::ToPlace => {
            let firms = counted(asked, "firm was", "firms were");
            format!("{} asked; nobody has taken it.", capital(&firms))
        }
        JobState::Offered => match asked {
            0 | 1 => "A firm was asked and has not answered.".into(),
            n => format!(
                "{} firms were asked; nobody has answered.",
                capital(&number_word(n))
            ),
        },
        JobState::Taken => format!("{firm} has taken it; no day is set."),
        JobState::Booked => match trouble.booked_from {
            Some(at) => format!("{firm} comes {}.", when(at, now, local)),
            None => format!("{firm} has booked it."),
        },
        JobState::OnSite => format!("{firm} is on site."),
        JobState::WaitingForDecision => "It waits for a decision.".into(),
        JobState::WaitingForPart => match trouble.booked_from.filter(|at| *at > now) {
            Some(at) => format!(
                "A part is on its way; {firm} returns {}.",
                when(at, now, local)
            ),
            None => "A part is on its way; no return is booked.".into(),
        },
        JobState::MadeSafe => "It is made safe; a return is needed.".into(),
        JobState::NoAccess => "Nobody opened at the last visit.".into(),
        JobState::LeftIsolated => "It is left isolated.".into(),
        JobState::Done | JobState::Agreed => "The work is finished.".into(),
        JobState::StoodDown => "It was stood down.".into(),
    }
}

/// "today at 12:30", "on Thursday 26 November, 10:30".
fn when(at: DateTime<Utc>, now: DateTime<Utc>, local: Local<'_>) -> String {
    let (at, today) = (local(at), local(now).date());
    if at.date() == today {
        format!("today at {}", at.format("%H:%M"))
    } else {
        format!("on {}", dates::appointment(at))
    }
}

/// "Riser 4, Osier Tower", or the building alone.
pub fn outage_subject(outage: &Outage) -> String {
    match &outage.branch {
        Some(branch) => glue(&format!(
            "{}, {}",
            capital(branch),
            outage.place.building_name
        )),
        None => outage.place.building_name.clone(),
    }
}

/// ": no hot water in five flats since …: 1604, 1704 …".
pub fn outage(outage: &Outage, now: DateTime<Utc>) -> String {
    let homes = counted(outage.spaces.len() as u64, "home", "homes");
    let span = spans::duration(now - outage.since);
    let names = if outage.spaces.is_empty() {
        String::new()
    } else {
        format!(": {}", list(&outage.spaces))
    };
    let cause = if outage.cause.is_empty() {
        "One cause is looked for before anyone visits a home: one visit, not many.".to_owned()
    } else {
        format!("{}.", capital(outage.cause.trim_end_matches('.')))
    };
    let lost = lost_words(outage.lost);
    format!(" has had {lost} in {homes} for {span}{names}. {cause}")
}

/// " is isolated, do not use, since Monday 23 November. Notice 0417 was left."
pub fn unsafe_unit(unit: &Unsafe, local: Local<'_>) -> String {
    let since = dates::weekday_day(local(unit.since).date());
    let class = if unit.dangerous {
        "immediately dangerous"
    } else {
        "at risk"
    };
    let mut said = if unit.isolated {
        format!(" is isolated, do not use, since {since}. The engineer classed it {class}.")
    } else {
        format!(" was classed {class} on {since} and is not isolated.")
    };
    if unit.refused {
        said.push_str(" The user refused to have it isolated.");
    }
    if !unit.notice_number.is_empty() {
        said.push_str(&format!(" Notice {} was left.", unit.notice_number));
    }
    glue(&said)
}

/// " is 3 days past its gas safety check. Nobody opened, three times."
pub fn due(due: &Due, today: NaiveDate, local: Local<'_>) -> String {
    let days = (today - due.deadline).num_days();
    let name = small(&due.name);
    let mut said = if days > 0 {
        format!(
            " is {} past its {name}.",
            plural(days as u64, "day", "days")
        )
    } else if days == 0 {
        format!(" needs its {name} today.")
    } else {
        let day = dates::weekday_day(due.deadline);
        format!(" needs its {name} by {day}.")
    };
    if due.isolated {
        said.push_str(" The unit is isolated, so it waits for a decision.");
    }
    if due.attempts > 0 {
        let times = match due.attempts {
            1 => "once".to_owned(),
            2 => "twice".to_owned(),
            n => format!("{} times", number_word(u64::from(n))),
        };
        said.push_str(&format!(" Nobody opened, {times}."));
    }
    if let Some(at) = due.booked_from {
        said.push_str(&format!(
            " A visit is booked for {}.",
            dates::appointment(local(at))
        ));
    }
    said
}

/// The small words under a duty's figure.
pub fn due_small(due: &Due) -> &'static str {
    if due.isolated {
        "waits for a decision"
    } else if due.booked_from.is_some() {
        "booked"
    } else if due.attempts > 0 {
        "no access so far"
    } else if due.job.is_some() {
        "not booked"
    } else {
        "no job yet"
    }
}

/// "Three more are due within 14 days, two of them booked. Six follow within 30 days; eight more within 60."
pub fn due_rest(rest: &[Due], today: NaiveDate) -> Option<String> {
    if rest.is_empty() {
        return None;
    }
    let within = |from: i64, until: i64| {
        let inside = |d: &&Due| {
            let days = (d.deadline - today).num_days();
            days > from && days <= until
        };
        let here: Vec<&Due> = rest.iter().filter(inside).collect();
        let booked = here.iter().filter(|d| d.booked_from.is_some()).count() as u64;
        (here.len() as u64, booked)
    };
    let booked_words = |(all, booked): (u64, u64)| match booked {
        0 => String::new(),
        n if n == all && all == 1 => ", and it is booked".into(),
        n if n == all => ", all of them booked".into(),
        n => format!(", {} of them booked", number_word(n)),
    };
    let mut said = Vec::new();
    for (span, words) in [
        (within(i64::MIN, 14), "due within 14\u{a0}days"),
        (within(14, 30), "due within 30\u{a0}days"),
        (within(30, 60), "due within 60\u{a0}days"),
    ] {
        if span.0 > 0 {
            let more = counted(span.0, "more is", "more are");
            said.push(format!("{} {words}{}.", capital(&more), booked_words(span)));
        }
    }
    Some(said.join(" "))
}

/// ": Beck Heating quotes £412.00 for a hot-water plate. …": the quote between its two limits.
pub fn quote(quote: &OpenQuote) -> String {
    let what = quote
        .part_name
        .as_deref()
        .map(|part| format!(" for “{}”", small(part)))
        .unwrap_or_default();
    let price = money::exact(quote.total);
    format!(
        ": {} quotes {price}{what}. {}",
        quote.firm,
        two_limits(quote)
    )
}

fn two_limits(quote: &OpenQuote) -> String {
    let over_authority = quote.authority.is_none_or(|a| quote.total > a);
    let authority = match quote.authority {
        Some(a) => format!("your authority of {}", money::exact(a)),
        None => "any authority on record".to_owned(),
    };
    let Some(weighed) = quote.weighed else {
        return if over_authority {
            format!("That is over {authority}. No advice has weighed it yet.")
        } else {
            format!("That is inside {authority}. No advice has weighed it yet.")
        };
    };
    let limit = if weighed.limit < Pence(0) {
        format!(
            "the repair limit, which is below nothing ({})",
            money::exact(weighed.limit)
        )
    } else {
        format!("the repair limit of {}", money::exact(weighed.limit))
    };
    let dearer = money::exact(weighed.advantage);
    let mut said = match (over_authority, weighed.advantage > Pence(0)) {
        (false, false) => format!(
            "It is inside {authority} and under {limit}: go ahead, and tell the landlord afterwards."
        ),
        (true, false) => {
            format!("Worth doing, needs a yes: it is under {limit} but over {authority}.")
        }
        (false, true) => format!(
            "You may, it is inside {authority}; but it is over {limit}: replacing now is the cheaper course by {dearer}."
        ),
        (true, true) => format!(
            "It is over {authority} and over {limit}: replacing now is the cheaper course by {dearer}. It needs a decision pack."
        ),
    };
    if weighed.close_call {
        said.push_str(" Close: either is defensible.");
    }
    said
}

/// Why a quote meets two limits, with the sum: advantage = quote − limit.
pub fn quote_why(quote: &OpenQuote) -> Vec<String> {
    let mut said = vec![
        "Two limits, kept apart. Authority is what you may agree without asking. The repair limit is the highest price at which repairing is still the cheaper course for this unit.".to_owned(),
    ];
    if let Some(w) = quote.weighed {
        said.push(format!(
            "Advantage of replacing now: {} − {} = {}.",
            money::exact(quote.total),
            money::exact(w.limit),
            money::exact(w.advantage)
        ));
    }
    said.push("Making safe and temporary heat wait for neither.".to_owned());
    said
}

/// ": replacing it now is the cheaper course, by the advice of 3 March 2026."
pub fn advice(advice: &OpenAdvice) -> String {
    let day = dates::day(advice.made_on);
    format!(
        ": replacing now is the cheaper course, by the advice of {day}. Nobody has decided yet."
    )
}

/// "before April", or "between October and March" for a season still to come.
pub fn season_words((from, until): (NaiveDate, NaiveDate), today: NaiveDate) -> String {
    if from > today {
        format!(
            "between {} and {}",
            dates::month(from),
            dates::month_year(until)
        )
    } else {
        let after = until.succ_opt().unwrap_or(until);
        format!("before {}", dates::month(after))
    }
}

/// " is likely to fail again: about 1 in 3 before April (1 in 5 to 1 in 2). Two failures in 14 months, hard water."
pub fn likely(unit: &LikelyUnit, today: NaiveDate) -> String {
    let may = if unit.season.chance >= 0.25 {
        "is likely to fail"
    } else {
        "may fail"
    };
    let again = if unit.failures > 0 { " again" } else { "" };
    let season = season_words(unit.season_days, today);
    let range = chances::range(unit.season.low, unit.season.high)
        .map(|range| format!(" ({range})"))
        .unwrap_or_default();
    let chance = chances::about(unit.season.chance);
    let reasons = reasons(&unit.reasons)
        .map(|words| format!(" {words}"))
        .unwrap_or_default();
    format!(" {may}{again}: {chance} {season}{range}.{reasons}")
}

/// "Two failures in 14 months, hard water, no scale reducer on record." `None` with no reason.
pub fn reasons(reasons: &[Reason]) -> Option<String> {
    let said: Vec<String> = reasons.iter().map(reason).collect();
    (!said.is_empty()).then(|| format!("{}.", capital(&said.join("; "))))
}

fn reason(reason: &Reason) -> String {
    let years = |y: f64| plural(y.round().max(0.0) as u64, "year", "years");
    match reason {
        Reason::FewFailures(0, usual, watched) => {
            format!(
                "no failure in {}, where {usual:.1} would be usual",
                years(*watched)
            )
        }
        Reason::FewFailures(own, usual, watched) => {
            let failures = counted(u64::from(*own), "failure", "failures");
            format!(
                "{failures} in {}, where {usual:.1} would be usual",
                years(*watched)
            )
        }
        Reason::HardWater => "hard water and no scale reducer on record".into(),
        Reason::ManyFailures(own, months) => {
            let failures = counted(u64::from(*own), "failure", "failures");
            let span = plural(u64::from(*months), "month", "months");
            format!("{failures} in {span}")
        }
        Reason::NoFilter => "no filter fitted".into(),
        Reason::Older(age) => format!("at {}, older than most of its kind here", years(*age)),
        Reason::PartsRenewed(parts) => {
            let parts: Vec<String> = parts.iter().map(|p| small(p)).collect();
            format!("renewed: {}", list(&parts))
        }
        Reason::Younger(age) => format!("at {}, younger than most of its kind here", years(*age)),
    }
}

/// Why a unit is called likely: what it rests on, in words.
pub fn likely_why(unit: &LikelyUnit) -> Vec<String> {
    let failures = plural(u64::from(unit.kind_failures), "failure", "failures");
    let year = chances::with_range(unit.year.chance, unit.year.low, unit.year.high);
    vec![
        format!("Over the next 12 months: {year}. The range holds 8 of 10 such units."),
        format!(
            "It rests on {failures} of its kind on record here, this unit’s own record, the age of its parts and the time of year; {} of the kind’s level comes from your own records, the rest from published or assumed figures.",
            chances::in_ten(unit.own_weight)
        ),
        format!(
            "Forecast of {}. A chance, not a diagnosis; nothing is advised on age alone.",
            dates::day(unit.made_on)
        ),
    ]
}

/// "Of the heat interface units too few failures are on record (4) to say which is likely."
pub fn too_thin(kinds: &[(String, u32)]) -> Option<String> {
    let said: Vec<String> = kinds
        .iter()
        .map(|(plural, failures)| format!("{plural} ({})", number_word(u64::from(*failures))))
        .collect();
    (!said.is_empty()).then(|| {
        format!(
            "Too few failures are on record to say which is likely among the {}. Fifteen of a kind are needed.",
            list(&said)
        )
    })
}

/// ": one flat without heat, one unit isolated; one check late and three due in 14 days. …"
pub fn building(building: &BuildingToday, season: &str) -> String {
    let mut now = Vec::new();
    if building.troubled > 0 {
        let flats = counted(u64::from(building.troubled), "home", "homes");
        now.push(format!("{flats} without heat or hot water"));
    }
    if building.unsafe_units > 0 {
        let units = counted(u64::from(building.unsafe_units), "unit", "units");
        now.push(format!("{units} unsafe or isolated"));
    }
    let mut duties = Vec::new();
    if building.late > 0 {
        let late = counted(u64::from(building.late), "check", "checks");
        duties.push(format!("{late} late"));
    }
    if building.soon > 0 {
        duties.push(format!(
            "{} due in 14\u{a0}days",
            number_word(u64::from(building.soon))
        ));
    }
    if duties.is_empty() {
        duties.push(match building.next_deadline {
            Some(day) => format!("no check due before {}", dates::day(day)),
            None => "no check due in 60\u{a0}days".into(),
        });
    }
    if now.is_empty() {
        now.push("nothing is wrong there now".into());
    }
    let expected: String = building
        .expected
        .iter()
        .map(|e| format!(" {}", expected(e, season)))
        .collect();
    format!(": {}; {}.{expected}", list(&now), list(&duties))
}

/// "About 5 failures of its 48 combi gas boilers are to be expected before April (2 to 8)."
pub fn expected(expected: &Expected, season: &str) -> String {
    let about = expected.failures.round().max(0.0) as u64;
    let failures = if about == 0 {
        "Less than one failure".to_owned()
    } else {
        format!("About {}", plural(about, "failure", "failures"))
    };
    let (low, high) = expected.range;
    let units = terms::money::thousands(u64::from(expected.units));
    format!(
        "{failures} of its {units}\u{a0}{} {} to be expected {season} ({low} to {high}).",
        expected.plural,
        if about == 1 || about == 0 {
            "is"
        } else {
            "are"
        },
    )
}

/// The morning brief: what Today says, as plain text. No resident's need stands in it.
pub fn brief(today: &Today, local: Local<'_>) -> String {
    let mut lines = vec![
        dates::day_full(today.day),
        format!("{}.", finding(today)),
        standing(today),
    ];
    let mut part = |heading: &str, rows: Vec<String>| {
        if !rows.is_empty() {
            lines.push(String::new());
            lines.push(heading.to_owned());
            lines.extend(rows.into_iter().map(|row| format!("- {row}")));
        }
    };
    let cold = today
        .troubles
        .iter()
        .map(|t| format!("{}{}", place(&t.place), trouble(t, today.at, local)));
    let pipes = today
        .outages
        .iter()
        .map(|o| format!("{}{}", outage_subject(o), outage(o, today.at)));
    part("No heat or hot water", cold.chain(pipes).collect());
    let danger = today.unsafe_units.iter().map(|u| {
        format!(
            "{}{}",
            unit_at(&u.kind_name, &u.place),
            unsafe_unit(u, local)
        )
    });
    part("Unsafe or isolated", danger.collect());
    let fortnight = today.day + TimeDelta::days(14);
    let (near, rest): (Vec<Due>, Vec<Due>) = today
        .due
        .iter()
        .cloned()
        .partition(|d| d.deadline <= fortnight);
    let duties = near
        .iter()
        .map(|d| format!("{}{}", place(&d.place), due(d, today.day, local)));
    part(
        "Due in 60 days",
        duties.chain(due_rest(&rest, today.day)).collect(),
    );
    let quotes = today
        .quotes
        .iter()
        .map(|q| format!("{}{}", place(&q.place), quote(q)));
    let advices = today
        .advices
        .iter()
        .map(|a| format!("{}{}", unit_at(&a.kind_name, &a.place), advice(a)));
    part("Waiting for you", quotes.chain(advices).collect());
    let chances = today.likely.iter().map(|u| {
        format!(
            "{}{}",
            unit_at(&u.kind_name, &u.place),
            likely(u, today.day)
        )
    });
    part(
        "Likely next",
        chances.chain(too_thin(&today.too_thin)).collect(),
    );
    lines.push(String::new());
    lines.join("\n")
}
