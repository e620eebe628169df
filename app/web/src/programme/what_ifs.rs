//! Other ways of doing it, side by side: what each comes to, saved with a name, one of them adopted.
use terms::Pence;
use usecases::plan::{
    BuildingProgramme, Figures, Made, PlanCard, Programme, ProgrammeInput, WhatIf,
};
use wording::drawings::purse::{Purse, PurseYear};
use wording::sentences::{capital, dates, money};
use wording::{Choice, Drawing, Fact, Row, Verb};

use crate::form::{Typed, fresh_once};
use crate::when;

/// One way on the page.
pub(super) struct Way {
    pub title: String,
    pub tank: Option<Drawing>,
    pub verdict: String,
    pub facts: Vec<Fact>,
    pub verbs: Vec<Verb>,
}

/// The plan as stated first, then the what-ifs.
pub(super) fn ways(found: &BuildingProgramme) -> Vec<Way> {
    let Some(plan) = found.plan.as_ref().filter(|_| !found.apart) else {
        return Vec::new();
    };
    let mut ways = vec![way(found, plan, None)];
    ways.extend(found.what_ifs.iter().map(|w| way(found, w, Some(plan))));
    ways
}

fn way(found: &BuildingProgramme, card: &PlanCard, plan: Option<&PlanCard>) -> Way {
    let title = card.name.clone().unwrap_or_else(|| "As stated".to_owned());
    let mut verbs = vec![Verb::link(
        "Read it in full",
        format!("/programme/plans/{}", card.id),
    )];
    if card.name.is_some() && found.may_state {
        verbs.push(Verb::post(
            "Put it away",
            format!("/programme/plans/{}/away", card.id),
            vec![("once".to_owned(), fresh_once())],
        ));
    }
    Way {
        tank: (!card.asked.unlimited).then(|| tank(card)),
        title,
        verdict: verdict(card, plan),
        facts: facts(card, plan),
        verbs,
    }
}

/// The reserve of a way, small.
fn tank(card: &PlanCard) -> Drawing {
    let (input, programme) = (&card.asked.input, &card.made.proven.programme);
    purse_of(
        format!("tank-{}", card.id),
        card.name.as_deref().unwrap_or("As stated").to_owned(),
        input,
        programme,
    )
    .draw_small()
}

/// The purse of a programme, to be drawn.
pub(super) fn purse_of(
    id: String,
    title: String,
    input: &ProgrammeInput,
    programme: &Programme,
) -> Purse {
    Purse {
        id,
        title,
        finding: String::new(),
        opening: input.opening,
        floor: input.floor,
        years: programme
            .years
            .iter()
            .map(|line| PurseYear {
                year: line.year,
                planned: Pence(line.spent.0 + line.set_up.0),
                likely: line.set_aside,
                comes_in: line.comes_in,
            })
            .collect(),
    }
}

/// Whether costs of the two can be set beside each other.
fn alike(what_if: WhatIf) -> bool {
    !matches!(
        what_if,
        WhatIf::Rate { .. } | WhatIf::Prices { .. } | WhatIf::Shared { .. }
    )
}

/// What was asked, in a sentence.
pub(super) fn asked(what_if: WhatIf) -> String {
    match what_if {
        WhatIf::AsStated => "As stated: nothing is asked otherwise.".to_owned(),
        WhatIf::Money { pence } if pence < 0 => {
            format!("{} less comes in every year.", money::whole(Pence(-pence)))
        }
        WhatIf::Money { pence } => {
            format!("{} more comes in every year.", money::whole(Pence(pence)))
        }
        WhatIf::Nothing => "Nothing is replaced by plan, also not what ought to be.".to_owned(),
        WhatIf::OnFailure => {
            "Each unit is replaced when it is expected to fail, or as soon after as the floor of the reserve allows."
                .to_owned()
        }
        WhatIf::OldestFirst => "The oldest first, from fifteen years on.".to_owned(),
        WhatIf::Rate { percent } => {
            format!("What comes later is discounted at {percent} per cent a year.")
        }
        WhatIf::Shared { buildings, .. } => {
            format!("Planned together with others: {buildings} buildings pay from one purse.")
        }
        WhatIf::Prices { percent } if percent < 0.0 => {
            format!("New units cost {} per cent less.", -percent)
        }
        WhatIf::Prices { percent } => format!("New units cost {percent} per cent more."),
    }
}

fn verdict(card: &PlanCard, plan: Option<&PlanCard>) -> String {
    let made: &Made = &card.made;
    if !made.proven.stands() {
        return "What is asked cannot all be kept.".to_owned();
    }
    let Some(plan) = plan else {
        return "The plan below.".to_owned();
    };
    let more = made.figures.cost.0 - plan.made.figures.cost.0;
    match (alike(card.what_if), more) {
        (false, _) => format!(
            "{} Its costs cannot be set beside the plan’s.",
            asked(card.what_if)
        ),
        (_, -99..=99) => format!("{} It costs as much.", asked(card.what_if)),
        (_, more) if more > 0 => format!(
            "{} About {} more over the years.",
            asked(card.what_if),
            money::whole(Pence(more))
        ),
        (_, more) => format!(
            "{} About {} less over the years.",
            asked(card.what_if),
            money::whole(Pence(-more))
        ),
    }
}

fn facts(card: &PlanCard, plan: Option<&PlanCard>) -> Vec<Fact> {
    let figures: &Figures = &card.made.figures;
    let years = card.asked.input.years.len();
    let cost = match plan {
        None => "the measure".to_owned(),
        Some(plan) if alike(card.what_if) => {
            let more = figures.cost.0 - plan.made.figures.cost.0;
            match more {
                -99..=99 => "the same".to_owned(),
                more if more > 0 => format!("{} more", money::whole(Pence(more))),
                more => format!("{} less", money::whole(Pence(-more))),
            }
        }
        Some(_) => "another measure".to_owned(),
    };
    vec![
        Fact::new("Expected cost", cost),
        Fact::new(
            format!("Spent in {years} years"),
            money::whole(figures.spent),
        ),
        Fact::new("Replacements", figures.replaced.to_string()),
        Fact::new("Lowest reserve", money::whole(figures.lowest)),
        Fact::new(
            format!("Failures in {years} years"),
            format!("about {}", figures.failures.round()),
        ),
        Fact::new(
            "Times a home loses heat in a winter",
            format!("about {}", figures.cold_homes.round()),
        ),
        Fact::new(
            "Home-hours without, by replacements",
            figures.home_hours.to_string(),
        ),
        Fact::new("A flat and month", money::exact(figures.per_flat_month)),
    ]
}

/// The kinds of what-if, as a form offers them.
pub(super) fn choices(form: &Typed) -> Vec<Choice> {
    let chosen = match form.value("what") {
        "" => "money",
        what => what,
    };
    [
        (
            "money",
            "so much more or less comes in every year (£, less with a minus)",
        ),
        ("nothing", "nothing is replaced by plan"),
        ("on_failure", "each unit when it is expected to fail"),
        ("oldest_first", "the oldest first"),
        ("rate", "another yearly rate (per cent)"),
        ("prices", "new units cost more or less (per cent)"),
    ]
    .into_iter()
    .map(|(value, label)| Choice::new(value, label, value == chosen))
    .collect()
}

/// Which plan was adopted.
pub(super) fn adopted(found: &BuildingProgramme) -> Vec<Row> {
    let Some(adopted) = &found.adopted else {
        return Vec::new();
    };
    let name = adopted
        .name
        .as_ref()
        .map_or_else(|| "The plan as stated".to_owned(), |n| format!("“{n}”"));
    let shown = found.plan.as_ref().is_some_and(|p| p.id == adopted.plan);
    let made = found
        .plan
        .as_ref()
        .filter(|_| shown)
        .map(|p| {
            format!(
                " It was made on {}.",
                dates::weekday_day(when::local_day(p.made_at))
            )
        })
        .unwrap_or_default();
    let jobs = match adopted.jobs.len() as u64 {
        0 => String::new(),
        n => format!(
            " {} opened from it.",
            capital(&wording::sentences::counted(n, "job was", "jobs were"))
        ),
    };
    let row = Row::plain(
        "adopted",
        format!(
            "{name} was adopted by {} on {}: {}.{made}{jobs}",
            adopted.by,
            dates::day(adopted.on),
            adopted.why.trim_end_matches('.')
        ),
    );
    vec![if shown {
        row
    } else {
        row.verb(Verb::link(
            "Read the adopted plan",
            format!("/programme/plans/{}", adopted.plan),
        ))
    }]
}
