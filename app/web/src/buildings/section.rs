//! A building's levels and spaces as the drawing wants them.
use chrono::{Datelike, NaiveDate};
use terms::{SpaceId, UsedAs};
use usecases::register::{BuildingView, FlatNow, Question, SectionLevel};
use wording::drawings::elevation::{Bay, Elevation, Flat, Plant, PlantItem, Roof, Storey, Tank};
use wording::drawings::steps::{Scale, Shade, age, chance, days, money};
use wording::sentences::{chances, dates, money as pounds, spans};

use super::shafts::{fed_from, pipes_to, risers};

/// The number of a flat: "Flat 22" → "22".
pub(super) fn number(name: &str) -> &str {
    name.strip_prefix("Flat ").unwrap_or(name)
}

/// "before April", "by 5 May".
pub(crate) fn before(season_until: NaiveDate) -> String {
    match season_until.succ_opt() {
        Some(next) if next.day() == 1 => format!("before {}", dates::month(next)),
        _ => format!("by {}", dates::day(season_until)),
    }
}

/// The levels that are drawn as storeys, lowest first.
pub(super) fn lived_in(section: &[SectionLevel]) -> Vec<&SectionLevel> {
    section
        .iter()
        .filter(|level| {
            level
                .spaces
                .iter()
                .any(|s| matches!(s.used_as, UsedAs::Flat | UsedAs::Common))
        })
        .collect()
}

/// The storeys of `section` with each flat drawn by `flat`; rooms keep their names.
pub(super) fn storeys(
    section: &[SectionLevel],
    flat: impl Fn(Option<SpaceId>, &str) -> Flat,
) -> Vec<Storey> {
    let levels = lived_in(section);
    let cores = |level: &&&SectionLevel| {
        level
            .spaces
            .iter()
            .filter(|s| s.used_as == UsedAs::Stair)
            .count()
    };
    let counts: Vec<usize> = levels.iter().map(|level| cores(&level)).collect();
    // Stairs run through: where storeys disagree, none is drawn rather than a broken one.
    let through = counts.windows(2).all(|pair| pair[0] == pair[1]);
    levels
        .into_iter()
        .map(|level| Storey {
            label: level.label.clone(),
            bays: level
                .spaces
                .iter()
                .filter_map(|space| match space.used_as {
                    UsedAs::Flat => Some(Bay::Flat(flat(space.id, &space.name))),
                    UsedAs::Stair => through.then_some(Bay::Core),
                    UsedAs::Common | UsedAs::Riser => Some(Bay::Room(space.name.clone(), 1.0)),
                    UsedAs::Plant | UsedAs::Roof => None,
                })
                .collect(),
        })
        .collect()
}

/// Whether a use is found anywhere in the section.
pub(super) fn has(section: &[SectionLevel], used_as: UsedAs) -> bool {
    section
        .iter()
        .flat_map(|level| &level.spaces)
        .any(|space| space.used_as == used_as)
}

/// Where pressing a flat leads: its only unit, else the flat's own page.
pub(super) fn href(flat: &FlatNow) -> String {
    match flat.units.as_slice() {
        [only] => format!("/units/{}", only.id),
        _ => format!("/spaces/{}", flat.space.id),
    }
}

/// The building in section, shaded by one question.
pub(super) fn elevation(view: &BuildingView, ask: Question, finding: &str) -> Elevation {
    let draw = |id: Option<SpaceId>, name: &str| {
        let mut drawn = Flat::new(number(name), "", Shade::Plain);
        if let Some(now) = view.flats.iter().find(|f| Some(f.space.id) == id) {
            shade(&mut drawn, now, ask, view.today);
            if ask == Question::Pipes {
                drawn.figure = pipes_to(view, now.space.id);
            }
            drawn.href = href(now);
            drawn.kind = kind_of(view, now);
            drawn.trouble = now.trouble.as_ref().map(super::asked::trouble_words);
        }
        drawn
    };
    let (scale, figures_are) = match ask {
        Question::Heat => (
            Some(Scale::Chance),
            view.season.map_or_else(
                || "Chance of failing".to_owned(),
                |(_, until)| format!("Fails {}", before(until)),
            ),
        ),
        Question::Checks => (Some(Scale::Days), "Next duty".to_owned()),
        Question::Oldest => (Some(Scale::Age), "Oldest unit fitted".to_owned()),
        Question::Money => (Some(Scale::Money), "Failures and repairs".to_owned()),
        Question::Pipes => (None, "Hangs on".to_owned()),
    };
    Elevation {
        id: "section".to_owned(),
        title: format!("{} in section", view.building.name),
        finding: finding.to_owned(),
        storeys: storeys(&view.section, draw),
        roof: roof(view),
        tank: tank(view),
        plant: plant(view),
        risers: if ask == Question::Pipes {
            risers(view)
        } else {
            Vec::new()
        },
        scale,
        figures_are,
        caption: match ask {
            Question::Pipes => fed_from(view),
            _ => String::new(),
        },
        ..Elevation::default()
    }
}

/// The top as stated; a mill's sheds stand over two flats each.
fn roof(view: &BuildingView) -> Roof {
    let across = view
        .section
        .iter()
        .map(|level| level.spaces.len())
        .max()
        .unwrap_or_default();
    match view.roof.as_str() {
        "pitched" => Roof::Pitched,
        "sheds" => Roof::Sheds(across.div_ceil(2).clamp(2, 8) as u8),
        _ => Roof::Flat,
    }
}

fn kind_of(view: &BuildingView, now: &FlatNow) -> String {
    now.units
        .first()
        .and_then(|u| view.kinds.iter().find(|k| k.code == u.kind))
        .map_or_else(String::new, |k| k.name.clone())
}

fn shade(drawn: &mut Flat, now: &FlatNow, ask: Question, today: NaiveDate) {
    let (figure, shade) = match ask {
        Question::Heat => match now.chance {
            Some((p, _, _)) => (chances::cell(p), chance(p)),
            None => ("unknown".to_owned(), Shade::Unknown),
        },
        Question::Checks => match &now.next_check {
            Some(check) => (
                spans::due_cell(today, check.deadline),
                days((check.deadline - today).num_days()),
            ),
            None if now.undated > 0 => ("no date".to_owned(), Shade::Unknown),
            None => ("none".to_owned(), Shade::Plain),
        },
        Question::Oldest => match now.oldest.as_ref().and_then(|u| u.installed) {
            Some((first, last)) => {
                drawn.short = first.year().to_string();
                (
                    dates::fitted_brief(Some(first), Some(last)),
                    age(
                        dates::whole_years(first, today),
                        first.year() != last.year(),
                    ),
                )
            }
            None => ("unknown".to_owned(), Shade::Unknown),
        },
        Question::Money => match now.spent {
            Some(spent) => (pounds::whole(spent), money(spent)),
            None => ("unknown".to_owned(), Shade::Unknown),
        },
        // Filled in by who knows the pipes.
        Question::Pipes => (String::new(), Shade::Plain),
    };
    drawn.figure = figure;
    drawn.shade = shade;
}

fn tank(view: &BuildingView) -> Option<Tank> {
    let unit = view.plant.iter().find(|p| p.unit.kind == "CT");
    if unit.is_none() && !has(&view.section, UsedAs::Roof) {
        return None;
    }
    let mut words = vec![match unit.and_then(|p| p.unit.litres) {
        Some(litres) => format!("Tank, {litres} l"),
        None => "Tank".to_owned(),
    }];
    if let Some(reading) = unit.and_then(|p| p.readings.first()) {
        words.push(super::asked::reading_words(reading));
    }
    Some(Tank { level: 0.6, words })
}

fn plant(view: &BuildingView) -> Option<Plant> {
    if !has(&view.section, UsedAs::Plant) {
        return None;
    }
    let items: Vec<PlantItem> = view
        .plant
        .iter()
        .filter_map(|p| match p.unit.kind.as_str() {
            "CP" => Some(PlantItem::Pump),
            "PX" => Some(PlantItem::Plate),
            "PS" => Some(PlantItem::Vessel),
            "PB" | "EB" | "HP" => Some(PlantItem::Boiler),
            "TS" | "VC" | "UV" => Some(PlantItem::Store),
            _ => None,
        })
        .take(8)
        .collect();
    let words = if items.is_empty() {
        vec!["plant room".to_owned()]
    } else {
        let header = view.branches.iter().find(|b| b.kind == "header");
        let needed = header.and_then(|h| h.needed.map(|n| (h.fed_by.len(), n)));
        let mut words = vec!["plant room".to_owned()];
        words.extend(needed.map(|(have, n)| format!("{have} feed, {n} needed")));
        words
    };
    Some(Plant {
        items,
        words,
        mains: String::new(),
        href: "#plant".to_owned(),
    })
}
