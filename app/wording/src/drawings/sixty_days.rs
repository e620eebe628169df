//! The next sixty days as a line with one open box for each duty, standing on its deadline; a late one is ink.
use std::collections::BTreeMap;

use super::axis::Linear;
use super::svg::{Anchor, Area, Form, Page, sample};
use super::{Drawing, KeyItem, Table};

/// Where a duty stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum DueMark {
    /// Past its deadline.
    Late,
    /// Nobody opened so far.
    NoAccess,
    /// A visit is booked.
    Booked,
    /// Nothing is arranged.
    Open,
}

impl DueMark {
    fn words(self) -> &'static str {
        match self {
            Self::Late => "late",
            Self::NoAccess => "no access so far",
            Self::Booked => "booked",
            Self::Open => "not booked",
        }
    }
}

/// One duty: days from today to its deadline (negative: late), and where it stands.
pub type DueIn = (i64, DueMark);

/// Days drawn ahead.
const AHEAD: i64 = 60;
/// Boxes on one day before the rest is said as a number.
const HIGHEST: usize = 5;

/// The line of `dues`, in both forms, with its key and table.
pub fn sixty_days(id: &str, dues: &[DueIn]) -> Drawing {
    let finding = finding(dues);
    let form = |form: Form| {
        let (wide, box_side) = match form {
            // Boxes of neighbouring days stand side by side.
            Form::Wide => (720.0, 10.0),
            Form::Narrow => (302.0, 7.0),
        };
        draw(id, form, (wide, box_side), dues, &finding)
    };
    let key = [
        DueMark::Open,
        DueMark::Booked,
        DueMark::NoAccess,
        DueMark::Late,
    ]
    .into_iter()
    .filter(|mark| dues.iter().any(|(_, m)| m == mark))
    .map(|mark| KeyItem {
        svg: sample(
            &format!("{id}-{}", mark.words().replace(' ', "-")),
            |page| {
                one(page, mark, Area::new(9.0, 4.0, 13.0, 13.0));
            },
        ),
        words: mark.words().into(),
    })
    .collect();
    Drawing {
        id: id.into(),
        wide_svg: form(Form::Wide),
        narrow_svg: form(Form::Narrow),
        caption: String::new(),
        key,
        table: table(dues),
        has_links: false,
    }
}

fn finding(dues: &[DueIn]) -> String {
    let late = dues.iter().filter(|d| d.0 < 0).count() as u64;
    let ahead = dues.len() as u64 - late;
    let words = |n| crate::sentences::counted(n, "duty", "duties");
    format!(
        "{} late and {} due in sixty days.",
        crate::sentences::capital(&words(late)),
        words(ahead)
    )
}

fn draw(id: &str, form: Form, (wide, side): (f64, f64), dues: &[DueIn], finding: &str) -> String {
    let mut page = Page::new(id, form);
    let gap = side * 0.25;
    let tallest = HIGHEST as f64 * (side + gap) + 18.0;
    let ground = tallest + 4.0;
    let days = Linear::new((-4.0, AHEAD as f64), (side, wide - side));
    page.line("ground", (0.0, ground), (wide, ground));
    for (day, words) in [
        (0, "today"),
        (14, "14 days"),
        (30, "30 days"),
        (60, "60 days"),
    ] {
        let x = days.at(day as f64);
        page.line("fine", (x, 8.0), (x, ground));
        let anchor = if day == AHEAD {
            Anchor::End
        } else {
            Anchor::Middle
        };
        let class = if day == 0 { "b" } else { "s" };
        page.text(class, anchor, (x, ground + 20.0), words);
    }
    for (place, mut marks) in columns(dues) {
        marks.sort();
        let x = days.at(place as f64) - side / 2.0;
        for (height, mark) in marks.iter().take(HIGHEST).enumerate() {
            let y = ground - 2.0 - (height as f64 + 1.0) * (side + gap) + gap;
            one(&mut page, *mark, Area::new(x, y, side, side));
        }
        let hidden = marks.len().saturating_sub(HIGHEST);
        if hidden > 0 {
            page.text(
                "small halo",
                Anchor::Middle,
                (x + side / 2.0, ground - tallest + 10.0),
                &format!("+{hidden}"),
            );
        }
    }
    page.finish(wide, ground + 28.0, "Due in sixty days", finding, false)
}

/// Duties by the day they stand on; what is late stands together just before today.
fn columns(dues: &[DueIn]) -> BTreeMap<i64, Vec<DueMark>> {
    let mut columns: BTreeMap<i64, Vec<DueMark>> = BTreeMap::new();
    for (days, mark) in dues {
        let place = if *days < 0 { -2 } else { (*days).min(AHEAD) };
        columns.entry(place).or_default().push(*mark);
    }
    columns
}

/// One box: open above, closed below; a pin when booked, a cross when nobody opened, ink when late.
fn one(page: &mut Page, mark: DueMark, area: Area) {
    let corners = [
        (area.x, area.y),
        (area.x, area.bottom()),
        (area.right(), area.bottom()),
        (area.right(), area.y),
    ];
    match mark {
        DueMark::Late => page.rect("ink", area),
        DueMark::Open => page.path("pen", &corners, false),
        DueMark::Booked => {
            page.path("pen", &corners, false);
            let top = area.y + area.h * 0.1;
            page.line("pen", (area.mid_x(), top), (area.mid_x(), area.bottom()));
            page.circle("ink", (area.mid_x(), top), area.w * 0.2);
        }
        DueMark::NoAccess => {
            page.path("pen", &corners, false);
            let inner = area.inset(area.w * 0.25);
            page.line("pen", (inner.x, inner.y), (inner.right(), inner.bottom()));
            page.line("pen", (inner.right(), inner.y), (inner.x, inner.bottom()));
        }
    }
}

fn table(dues: &[DueIn]) -> Table {
    let spans: [(&str, i64, i64); 4] = [
        ("late", i64::MIN, -1),
        ("within 14 days", 0, 14),
        ("15 to 30 days", 15, 30),
        ("31 to 60 days", 31, i64::MAX),
    ];
    let rows = spans
        .iter()
        .map(|(name, from, until)| {
            let here = || dues.iter().filter(|d| d.0 >= *from && d.0 <= *until);
            let of = |mark| here().filter(|d| d.1 == mark).count().to_string();
            vec![
                (*name).to_owned(),
                here().count().to_string(),
                of(DueMark::Booked),
                of(DueMark::NoAccess),
            ]
        })
        .collect();
    Table::new(&["Deadline", "Duties", "Booked", "No access so far"], rows).numbers(&[1, 2, 3])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_duty_has_its_box_and_the_table_adds_up() {
        let dues = [
            (-3, DueMark::Late),
            (8, DueMark::NoAccess),
            (8, DueMark::Booked),
            (40, DueMark::Open),
        ];
        let drawing = sixty_days("due", &dues);
        assert!(
            drawing
                .wide_svg
                .contains("One duty late and three duties due")
        );
        assert_eq!(drawing.wide_svg.matches(r#"<rect class="ink""#).count(), 1);
        assert_eq!(drawing.key.len(), 4);
        let duties: Vec<&str> = drawing.table.rows.iter().map(|r| r[1].as_str()).collect();
        assert_eq!(duties, ["1", "2", "0", "1"]);
        // Seven hundred and twenty units for 64 days: the boxes of two neighbouring days do not lie on each other.
        let two = sixty_days("due", &[(5, DueMark::Late), (6, DueMark::Late)]).wide_svg;
        let edges: Vec<f64> = two
            .split("<rect class=\"ink\" x=\"")
            .skip(1)
            .filter_map(|r| r.split('"').next()?.parse().ok())
            .collect();
        assert!(edges.len() == 2 && edges[1] - edges[0] >= 10.0, "{edges:?}");
        let many = [(5, DueMark::Open); 9];
        assert!(sixty_days("due", &many).narrow_svg.contains("+4"));
        assert!(!sixty_days("due", &[]).wide_svg.contains("NaN"));
    }
}
