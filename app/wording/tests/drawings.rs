//! Every drawing: well-formed, finite, escaped, classes only, all labels present, table beside it.
use std::collections::BTreeSet;

use terms::{ExpectedPounds, Pence};
use wording::Drawing;
use wording::drawings::elevation::{Bay, Elevation, Flat, Storey, mini};
use wording::drawings::fork::Fork;
use wording::drawings::history::HistoryLine;
use wording::drawings::keep_years::KeepYears;
use wording::drawings::purse::Purse;
use wording::drawings::ranges::Ranges;
use wording::drawings::steps::Shade;
use wording::drawings::tornado::Tornado;

mod money;
mod samples;

use samples::xml::{all_tags, svgs, tags, words_of};

const SHEETS: [&str; 2] = [
    include_str!("../../web/assets/riserward.css"),
    include_str!("../../web/assets/drawing.css"),
];

/// Every drawing might stand on one page: each id at most once.
#[test]
fn well_formed_with_ids_used_once() {
    let mut seen = BTreeSet::new();
    for tag in all_tags(&samples::all()).expect("well-formed") {
        if let Some(id) = tag.get("id") {
            assert!(
                seen.insert(id.to_owned()),
                "{} uses {id} twice",
                tag.drawing
            );
        }
    }
    assert!(seen.len() > 50, "{}", seen.len());
}

/// Where no fault is in hand, no repair is in question: it is keeping that is weighed.
#[test]
fn the_doubts_speak_of_a_repair_only_where_one_is_in_question() {
    let repair = samples::money::tornado();
    let keep = Tornado {
        repaired: false,
        ..samples::money::tornado()
    };
    for (doubts, said, not) in [
        (repair, "repair is cheaper", "keeping is cheaper"),
        (keep, "keeping is cheaper", "repair is cheaper"),
    ] {
        let drawn = doubts.draw();
        for svg in [drawn.wide_svg, drawn.narrow_svg] {
            assert!(svg.contains(said) && !svg.contains(not), "{svg}");
        }
    }
}

#[test]
fn the_check_itself_finds_faults() {
    for wrong in [
        "<g><rect/></a>",
        "<g>",
        "<g>a & b</g>",
        "<a href=\"x>y</a>",
        "</g>",
        "<g>1 < 2</g>",
    ] {
        assert!(tags(wrong).is_err(), "{wrong}");
    }
}

#[test]
fn classes_only_and_every_class_is_in_a_sheet() {
    let unstyled = ["", "sample", "hatched", "s0", "space"];
    let drawn = [
        "svg", "title", "desc", "defs", "pattern", "g", "a", "path", "rect", "circle", "text",
    ];
    for tag in all_tags(&samples::all()).expect("well-formed") {
        assert!(drawn.contains(&tag.name.as_str()), "{tag:?}");
        for forbidden in ["style", "stroke", "font-size", "opacity", "onclick"] {
            assert!(tag.get(forbidden).is_none(), "{tag:?}");
        }
        let fill = tag.get("fill").unwrap_or("url(#none)");
        assert!(fill.starts_with("url(#"), "a colour in {tag:?}");
        for class in tag.get("class").unwrap_or("").split(' ') {
            let styled = SHEETS
                .iter()
                .any(|sheet| sheet.contains(&format!(".{class}")));
            assert!(styled || unstyled.contains(&class), "{class} of {tag:?}");
        }
    }
}

#[test]
fn numbers_are_finite_and_stay_near_the_page() {
    for tag in all_tags(&samples::all()).expect("well-formed") {
        let written = &tag.attributes;
        assert!(
            !written.contains("NaN") && !written.contains("inf\""),
            "{tag:?}"
        );
        for name in ["x", "cx", "y", "cy"] {
            let limit = if name.ends_with('x') {
                tag.page.0
            } else {
                tag.page.1
            };
            let value = tag.number(name).unwrap_or(0.0);
            assert!(value > -20.0 && value < limit + 20.0, "{tag:?}");
        }
    }
}

#[test]
fn every_drawing_is_named_told_and_has_its_table() {
    for drawing in samples::all() {
        let small = drawing.narrow_svg.is_empty();
        for svg in [&drawing.wide_svg, &drawing.narrow_svg]
            .into_iter()
            .filter(|svg| !svg.is_empty())
        {
            assert!(
                svg.contains("<title id=") && svg.contains("<desc id="),
                "{}",
                drawing.id
            );
            let role = if drawing.has_links { "group" } else { "img" };
            assert!(svg.contains(&format!("role=\"{role}\"")), "{}", drawing.id);
        }
        assert!(small || !drawing.table.rows.is_empty(), "{}", drawing.id);
        for row in drawing.table.rows.iter().chain(&drawing.table.sum) {
            assert_eq!(row.len(), drawing.table.headers.len(), "{}", drawing.id);
        }
    }
}

#[test]
fn text_is_escaped_everywhere() {
    let mut flat = Flat::new("<&\">", "1 < 2 & \"3\"", Shade::Step(5));
    flat.href = "/x?a=1&b=\"2\"".into();
    flat.trouble = Some("<script>".into());
    let drawing = Elevation {
        id: "e\"<".into(),
        title: "A & B <C>".into(),
        finding: "\"quoted\"".into(),
        storeys: vec![Storey {
            label: "<G>".into(),
            bays: vec![Bay::Flat(flat), Bay::Room("<Hall & Co>".into(), 3.0)],
        }],
        ..Elevation::default()
    }
    .draw();
    for svg in [&drawing.wide_svg, &drawing.narrow_svg] {
        tags(svg).expect("well-formed");
        assert!(svg.contains("1 &lt; 2 &amp; &quot;3&quot;"));
        assert!(svg.contains("href=\"/x?a=1&amp;b=&quot;2&quot;\""));
        assert!(svg.contains("A &amp; B &lt;C&gt;"));
        assert!(!svg.contains("<script>"));
    }
}

#[test]
fn every_flat_is_in_both_forms_and_leads_on() {
    use samples::buildings::{house, mill, slab, tower};
    for (elevation, flats) in [(slab(), 48), (tower(), 138), (mill(), 20), (house(), 4)] {
        let drawing = elevation.draw();
        let plant_leads = elevation
            .plant
            .as_ref()
            .is_some_and(|plant| !plant.href.is_empty());
        for svg in [&drawing.wide_svg, &drawing.narrow_svg] {
            let drawn = svg.matches("class=\"flat s").count() - usize::from(plant_leads);
            assert_eq!(drawn, flats, "{}", elevation.id);
            for storey in &elevation.storeys {
                assert!(
                    svg.contains(&format!(">{}</text>", storey.label)),
                    "storey {}",
                    storey.label
                );
            }
        }
        assert_eq!(drawing.table.rows.len(), flats, "{}", elevation.id);
    }
}

#[test]
fn a_long_block_is_cut_for_the_phone_and_keeps_its_stairs() {
    let drawing = samples::buildings::slab().draw();
    assert!(!drawing.wide_svg.contains("1 of 2, from the left"));
    assert!(drawing.narrow_svg.contains("1 of 2, from the left"));
    assert!(drawing.narrow_svg.contains("2 of 2, from the left"));
}

#[test]
fn trouble_unknown_and_pipes_are_drawn_and_explained() {
    use samples::buildings::{mill, slab, tower};
    let words = |drawing: &Drawing| {
        let key: Vec<String> = drawing.key.iter().map(|item| item.words.clone()).collect();
        key.join("; ")
    };
    let slab = slab().draw();
    assert_eq!(slab.wide_svg.matches("class=\"corner\"").count(), 2);
    assert!(words(&slab).contains("something is wrong there now"));
    let mill = mill().draw();
    assert!(mill.wide_svg.contains(">unknown</text>"));
    assert!(words(&mill).contains("unknown"));
    let tower = tower().draw();
    for svg in [&tower.wide_svg, &tower.narrow_svg] {
        assert_eq!(svg.matches("class=\"pipe trouble\"").count(), 1);
    }
    for riser in 1..=6 {
        assert!(tower.wide_svg.contains(&format!(">riser {riser}</text>")));
    }
    assert!(tower.wide_svg.contains(">from P-1 and P-2</text>"));
    assert_eq!(
        mini(&samples::buildings::slab())
            .wide_svg
            .matches("class=\"ink\"")
            .count(),
        2
    );
}

#[test]
fn a_pipe_reaches_the_homes_that_hang_on_it_and_no_other() {
    let pipes = |elevation: &Elevation| {
        let drawing = elevation.draw();
        [&drawing.wide_svg, &drawing.narrow_svg].map(|svg| svg.matches("class=\"pipe\"").count())
    };
    let whole = samples::buildings::tower();
    // Two mains, six risers, a header, and 23 branches on each riser; on the phone the header goes down past its name.
    assert_eq!(pipes(&whole), [147, 148]);
    let mut fewer = whole.clone();
    fewer.risers[2].fed.retain(|home| *home != (7, 2));
    assert_eq!(
        pipes(&fewer),
        [146, 147],
        "a home taken off loses its branch"
    );
    // The neighbour on the left of the shaft, and one two columns off.
    fewer.risers[2].fed.extend([(7, 1), (7, 4)]);
    assert_eq!(pipes(&fewer), [148, 149]);
    let mut unfed = whole;
    for riser in &mut unfed.risers {
        riser.feeders.clear();
    }
    assert_eq!(pipes(&unfed), [146, 146], "no header without what feeds it");
}

/// Where each text of `svg` stands that `wanted` takes: its base line, left edge and words.
fn texts(svg: &str, wanted: impl Fn(&str) -> bool) -> Vec<(f64, f64, String)> {
    svg.split("<text ")
        .skip(1)
        .filter_map(|text| {
            let (head, rest) = text.split_once('>')?;
            let words = rest.split_once("</text>")?.0.to_owned();
            let value = |name: &str| -> Option<f64> {
                let after = head.split_once(&format!("{name}=\""))?.1;
                after.split_once('"')?.0.parse().ok()
            };
            wanted(&words).then_some((value(" y")?, value(" x")?, words))
        })
        .collect()
}

#[test]
fn each_header_has_a_depth_of_its_own_and_its_name_to_itself() {
    let mut tower = samples::buildings::tower();
    for (n, riser) in tower.risers.iter_mut().enumerate() {
        let own = ["P-1", "P-2", "P-3"][n % 3];
        riser.feeders = vec![own.to_owned(), format!("{own}-standby")];
    }
    tower.risers[5].name = "riser 6, gas riser".to_owned();
    let drawing = tower.draw();
    for svg in [&drawing.wide_svg, &drawing.narrow_svg] {
        let names = texts(svg, |words| words.starts_with("from P-"));
        let words: Vec<&str> = names.iter().map(|(_, _, words)| words.as_str()).collect();
        assert_eq!(
            words,
            [
                "from P-1 and P-1-standby",
                "from P-2 and P-2-standby",
                "from P-3 and P-3-standby"
            ]
        );
        for pair in names.windows(2) {
            assert!(
                pair[1].0 - pair[0].0 > 20.0,
                "one under the other: {names:?}"
            );
        }
        // Six risers and three ways down to the plant room.
        assert_eq!(svg.matches("<circle class=\"ink\"").count(), 9);
        let height: f64 = svg
            .split("viewBox=\"0 0 ")
            .nth(1)
            .unwrap()
            .split(['"', ' '])
            .nth(1)
            .unwrap()
            .parse()
            .unwrap();
        assert!(names.iter().all(|(y, _, _)| y + 4.0 < height));
    }
    // On the phone too every riser is named, and no name runs into the next.
    let over = texts(&drawing.narrow_svg, |words| {
        ["1", "2", "3", "4", "5", "6, gas riser"].contains(&words)
    });
    let eaves = over
        .iter()
        .map(|(y, _, _)| *y)
        .fold(f64::INFINITY, f64::min);
    let over: Vec<_> = over
        .into_iter()
        .filter(|(y, _, _)| *y < eaves + 20.0)
        .collect();
    assert_eq!(over.len(), 6, "{over:?}");
    // About half a small letter's height is its width.
    let end = |x: f64, words: &str| x + 6.2 * words.len() as f64;
    for (n, (y, x, words)) in over.iter().enumerate() {
        for (other_y, other_x, other) in &over[n + 1..] {
            let above = (y - other_y).abs() > 10.0;
            let beside = *other_x > end(*x, words) || *x > end(*other_x, other);
            assert!(above || beside, "{over:?}");
        }
    }
}

/// Every one of `words` stands in every one of `forms`.
fn all_there(forms: &[&String], words: &[&str]) {
    for form in forms {
        let plain = form.replace('\u{a0}', " ");
        for words in words {
            assert!(plain.contains(words), "{words} is missing");
        }
    }
}

#[test]
fn labels_of_time_are_all_there() {
    let boiler = samples::lives::boiler().draw();
    let words = [
        "11 Nov 2026: hot water lukewarm",
        "diverter valve, £318",
        "today",
        "1 in 3",
        "1 in 2",
        "3 in 4",
        "6 y 11 m",
        "14 to 15 y",
        "Oct 2011 to Mar 2012",
    ];
    all_there(&[&boiler.wide_svg, &boiler.narrow_svg], &words);
    let strip = samples::year::strip().draw();
    let words = [
        "Flat 40",
        "late by 3 days; three attempts",
        "Flat 18",
        "today, 25 Nov",
    ];
    all_there(&[&strip.wide_svg, &strip.narrow_svg], &words);
    let late = strip.wide_svg.find("Flat 40");
    assert!(
        late < strip.wide_svg.find("Flat 7"),
        "late ones stand first"
    );
}

/// Long names of parts, a unit fitted today, a forecast much shorter than the past: nothing runs off, nothing lies on
/// something else, no day of the forecast is crossed by the line of today.
#[test]
fn on_the_line_no_words_lie_on_others() {
    use samples::lives::{old_cylinder, store_of_today};
    for life in [store_of_today(), old_cylinder(), samples::lives::boiler()] {
        let svg = life.draw().wide_svg;
        let words = words_of(&svg);
        let today = words.iter().find(|w| w.3 == "today").expect("today").0 - 7.0;
        for (n, (left, right, y, said)) in words.iter().enumerate() {
            assert!(*left >= 0.0 && *right <= 960.0, "{said}: {left} to {right}");
            assert!(
                *right <= today || *left >= today,
                "{said} is crossed by the line of today"
            );
            for (other_left, other_right, other_y, other) in &words[n + 1..] {
                let apart = (y - other_y).abs() >= 11.0;
                let beside = right <= other_left || other_right <= left;
                assert!(apart || beside, "{said} lies on {other}");
            }
        }
    }
    let drawn = store_of_today().draw().wide_svg;
    assert!(drawn.contains(">fitted 2026<"), "{drawn}");
    assert!(drawn.contains(">Motorised valve on the<"), "{drawn}");
}

#[test]
fn nothing_to_draw_is_drawn_without_trouble() {
    let broken = Fork {
        years: Vec::new(),
        left_in_new: ExpectedPounds(f64::NAN),
        ..samples::money::fork()
    };
    let mut stranger = HistoryLine {
        visits: Vec::new(),
        parts: Vec::new(),
        failures: Vec::new(),
        register_opened: None,
        ..samples::lives::stranger()
    };
    stranger.forecast = samples::lives::boiler().forecast;
    stranger.forecast[1].chance = f64::NAN;
    stranger.forecast[2].high = f64::INFINITY;
    let mut wild = samples::buildings::slab();
    for storey in &mut wild.storeys {
        if let Some(Bay::Flat(flat)) = storey.bays.first_mut() {
            flat.width = f64::NAN;
        }
    }
    let purse = Purse {
        years: Vec::new(),
        opening: Pence(-5),
        ..samples::money::purse()
    };
    let drawings = [
        Elevation::default().draw(),
        mini(&Elevation::default()),
        wild.draw(),
        broken.draw(),
        stranger.draw(),
        KeepYears {
            bars: Vec::new(),
            ..samples::money::keep_years()
        }
        .draw(),
        Tornado {
            doubts: Vec::new(),
            ..samples::money::tornado()
        }
        .draw(),
        purse.draw(),
        Ranges {
            top: f64::NAN,
            ..samples::outlooks::ranges()
        }
        .draw(),
        Ranges {
            figures: Vec::new(),
            ticks: Vec::new(),
            ..samples::outlooks::few()
        }
        .draw(),
    ];
    for drawing in &drawings {
        for svg in svgs(drawing) {
            tags(svg).unwrap_or_else(|wrong| panic!("{}: {wrong}", drawing.id));
            assert!(
                !svg.contains("NaN") && !svg.contains("inf"),
                "{}",
                drawing.id
            );
        }
    }
}
