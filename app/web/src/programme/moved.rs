//! What it would cost to have a unit in another year, in sentences.
use terms::Pence;
use usecases::advice::Candidate;
use usecases::plan::{Anew, JointClash, MovedTo, UnitInProgramme, Verdict, WithOthers};
use wording::Row;
use wording::sentences::{counted, list, money, plural};

use super::words::{SHARED_FLOOR, called_by_place, cannot_be_kept, clash, limit};

/// Others that would move, said one by one.
const SAID: usize = 6;

/// What is held, and what is planned again, where another year is tried.
pub(super) fn how(view: &UnitInProgramme) -> String {
    match view.others {
        None => "The whole plan made again with it there".to_owned(),
        Some(1) => "Its building planned again with it there: the other building of the purse first kept to its plan, then planned \
                    anew with it"
            .to_owned(),
        Some(_) => "Its building planned again with it there: the other buildings of the purse first kept to their plan, then \
                    planned anew with it"
            .to_owned(),
    }
}

/// "would cost about £300 more over the years"
fn words(costs: Pence) -> String {
    match costs.0 {
        -99..=99 => "would cost as much".to_owned(),
        c if c > 0 => format!(
            "would cost about {} more over the years",
            money::whole(Pence(c))
        ),
        c => format!(
            "would cost about {} less over the years",
            money::whole(Pence(-c))
        ),
    }
}

fn figure(costs: Pence) -> String {
    match costs.0 {
        -99..=99 => "as much".to_owned(),
        c => money::whole(Pence(c)),
    }
}

/// Where it is not proven: what it costs at least.
fn sure(verdict: Verdict, at_least: Pence) -> String {
    match verdict {
        Verdict::Optimal => String::new(),
        _ => format!(
            " It may be less: at least {}.",
            money::whole(Pence(at_least.0.max(0)))
        ),
    }
}

/// One year that was tried.
pub(super) fn row(view: &UnitInProgramme, unit: &Candidate, moved: &MovedTo) -> Row {
    let year = moved.year.unwrap_or_default();
    let id = format!("to-{year}");
    if let Some(beside) = &moved.beside {
        return of_shared(view, unit, (moved, beside));
    }
    if !moved.proven.stands() {
        let (none, figure) = match moved.proven.verdict {
            Verdict::NothingFound => ("no plan was found for it", "not settled"),
            _ => ("there is no plan for it", "no plan"),
        };
        let why = clash(&view.found, &moved.proven);
        return Row::plain(id, format!("In {year} {none}. {why}"))
            .figure(figure, format!("in {year}"));
    }
    let words = words(moved.costs);
    let sure = sure(moved.proven.verdict, moved.at_least);
    let figure = figure(moved.costs);
    Row::plain(
        id,
        format!(
            "Replacing {} in {year} {words}.{sure} {}",
            unit.space_name,
            others(view, moved)
        ),
    )
    .figure(figure, "more, all in all")
}

fn others(view: &UnitInProgramme, moved: &MovedTo) -> String {
    if moved.others.is_empty() {
        return "Nothing else would move.".to_owned();
    }
    let beyond =
        |year: Option<i32>| year.map_or("beyond these years".to_owned(), |y| y.to_string());
    let mut names: Vec<String> = moved
        .others
        .iter()
        .take(SAID)
        .map(|(unit, was, is)| {
            format!(
                "{} from {} to {}",
                called_by_place(&view.found, *unit),
                beyond(*was),
                beyond(*is)
            )
        })
        .collect();
    if moved.others.len() > SAID {
        names.push(counted(
            (moved.others.len() - SAID) as u64,
            "other unit",
            "other units",
        ));
    }
    format!("What else would move: {}.", list(&names))
}

/// One year that was tried where other buildings pay from the same purse.
fn of_shared(
    view: &UnitInProgramme,
    unit: &Candidate,
    (moved, beside): (&MovedTo, &WithOthers),
) -> Row {
    let year = moved.year.unwrap_or_default();
    let kept = match view.others {
        Some(1) => "With the other building kept to its plan",
        _ => "With the other buildings kept to their plan",
    };
    let (first, costs) = if moved.proven.stands() {
        let words = format!(
            "{kept}, replacing {} in {year} {}.{} {}",
            unit.space_name,
            words(moved.costs),
            sure(moved.proven.verdict, moved.at_least),
            others(view, moved)
        );
        (words, Some(moved.costs))
    } else {
        let why = cannot_be_kept(&clashing(view, beside), beside.fewest).unwrap_or_else(|| {
            "There may be one: the time a page may take did not settle it.".to_owned()
        });
        (
            format!(
                "{kept} there is no plan with {} in {year}. {why}",
                unit.space_name
            ),
            None,
        )
    };
    let then = match &beside.anew {
        Some(anew) => anew_words(anew),
        None => " That all of them are planned anew was not tried: they have more units than a page may plan, or some \
                 lie outside your buildings."
            .to_owned(),
    };
    let anew = beside.anew.as_ref().and_then(|anew| anew.costs);
    let row = Row::plain(format!("to-{year}"), format!("{first}{then}"));
    match (costs, anew) {
        (Some(costs), _) => row.figure(figure(costs), "more, the others kept to their plan"),
        (None, Some(costs)) => row.figure(figure(costs), "more, all planned anew"),
        (None, None) => row.figure("no plan", format!("in {year}")),
    }
}

/// All of them planned anew.
fn anew_words(anew: &Anew) -> String {
    let Some(costs) = anew.costs else {
        return match anew.verdict {
            Verdict::Infeasible => " With all of them planned anew there is none either.".to_owned(),
            _ => " Whether there is one with all of them planned anew was not settled in the time a page may take."
                .to_owned(),
        };
    };
    let moved = anew
        .others
        .iter()
        .map(|(building, n)| format!("{} of {building}", plural(u64::from(*n), "unit", "units")));
    let moved: Vec<String> = moved.collect();
    let moved = if moved.is_empty() {
        String::new()
    } else {
        format!(" What else would move: {}.", list(&moved))
    };
    format!(
        " With all of them planned anew it {}.{}{moved}",
        words(costs),
        sure(anew.verdict, anew.at_least)
    )
}

/// What clashes while the other buildings keep their plan.
fn clashing(view: &UnitInProgramme, beside: &WithOthers) -> Vec<String> {
    let word = |one: &JointClash| match one {
        JointClash::SharedFloor => format!("{SHARED_FLOOR}, with what the others take of it"),
        JointClash::SharedCap => {
            "what the others leave of the most that may be paid from the shared purse in a year"
                .to_owned()
        }
        JointClash::Of(_, own) => limit(&view.found, own),
    };
    beside.clash.iter().map(word).collect()
}
