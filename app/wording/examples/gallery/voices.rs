//! Every part once, in each of the three voices.
use askama::Template;
use wording::{
    Ask, Choice, Drawing, Fact, Link, Row, Shell, Theme, UndoBar, Urgency, Verb, Voice, Why,
};

use wording::drawings::elevation::mini;

use crate::samples;

#[derive(Template)]
#[template(
    ext = "html",
    source = r#"{% extends "layout/base.html" %}
{% import "parts/page.html" as page %}
{% import "parts/rows.html" as list %}
{% import "parts/forms.html" as forms %}
{% import "parts/drawing.html" as drawing %}
{% block title %}Today{% endblock %}
{% block heading %}Three flats have no heat this morning, and one riser is lukewarm{% endblock %}
{% block standing %}Two are booked. Flat 1204 in Osier Tower is past its clock and has nobody; tonight falls to −1 °C.{% endblock %}
{% block body %}
{% call page::section("heat", "No heat or hot water", "Longest first") %}{% call list::rows(rows) %}{% endcall %}{% endcall %}
{% call page::section("buildings", "Buildings", "One strip each") %}{% call list::pictured(buildings) %}{% endcall %}{% endcall %}
{% call page::section("plate", "Plate", "Seen and photographed") %}{% call page::plate(facts) %}{% endcall %}{% endcall %}
{% call page::section("ask", "In section", "One question at a time") %}{% call page::asks(asks) %}{% endcall %}{% call drawing::drawing(slab) %}{% endcall %}{% endcall %}
{% call page::section("chance", "Chances", "") %}<p>About 1 in 3 before April.</p>{% call drawing::small(squares) %}{% endcall %}<p class="soft">{{ squares.caption }}</p>{% call page::notice() %}<p>Likely parts, by past faults and readings. Not a diagnosis.</p>{% endcall %}{% call page::working("Working out ten years: year 6 of 10. You can leave this page.", 6, 10) %}{% endcall %}{% endcall %}
{% call page::section("options", "Options", "Side by side") %}<div class="options"><section><h3>Keep and repair</h3><p class="verdict">Dearer, however long</p>{% call page::pairs(facts) %}{% endcall %}</section><section><h3>Like for like</h3><p class="verdict">The advice</p>{% call page::pairs(facts) %}{% endcall %}</section></div>{% endcall %}
{% call page::section("form", "A form", "") %}{% call forms::wrongs(wrongs) %}{% endcall %}<form method="post">
{% call forms::field("hot", "Hot outlet, after one minute", "°C. Last year 49.", "45", none, "text", "short number", "decimal") %}{% endcall %}
{% call forms::field("cold", "Cold main", "°C, at the sink. Last year 15.", "512", error, "text", "short number", "decimal") %}{% endcall %}
{% call forms::select("kind", "Kind", "", choices, none) %}{% endcall %}
{% call forms::radios("course", "Decide", "By Friday 4 December, then the quote lapses.", choices, none) %}{% endcall %}
{% call forms::area("why", "Why", "One line. It stays with the boiler.", "", none) %}{% endcall %}
<p class="presses"><button class="press" type="submit">Decide</button> <a class="press quiet" href="/print">Print the two pages</a></p></form>{% endcall %}
{% call page::section("none", "Nothing here", "") %}{% call page::empty("No quotes wait for you.", "Change your authority", "/account") %}{% endcall %}{% endcall %}
{% endblock %}"#
)]
struct AgentPage {
    shell: Shell,
    rows: Vec<Row>,
    facts: Vec<Fact>,
    asks: Vec<Ask>,
    buildings: Vec<(Row, Drawing)>,
    slab: Drawing,
    squares: Drawing,
    wrongs: Vec<(String, String)>,
    error: Option<String>,
    none: Option<String>,
    choices: Vec<Choice>,
}

#[derive(Template)]
#[template(
    ext = "html",
    source = r#"{% extends "layout/letter.html" %}
{% import "parts/page.html" as page %}
{% import "parts/rows.html" as list %}
{% import "parts/drawing.html" as drawing %}
{% block title %}Letter{% endblock %}
{% block margin %}<span class="fact">{{ shell.today_words }}</span><span class="fact">To the directors</span>{% endblock %}
{% block heading %}Two decisions wait for you; one of them is late{% endblock %}
{% block body %}
{% call page::section("decisions", "Decisions", "Each with its date") %}<p>Dear directors, two things wait for you. Everything else this month stayed within the limits you set.</p>{% call list::numbered(rows) %}{% endcall %}{% endcall %}
{% call page::section("money", "Money", "Ten years") %}{% call drawing::drawing(purse) %}{% endcall %}{% endcall %}
{% call page::section("end", "", "") %}<p>With kind regards</p><p><strong>Ines Harrowby</strong><br>managing agent</p>{% endcall %}
{% endblock %}"#
)]
struct LetterPage {
    shell: Shell,
    rows: Vec<Row>,
    purse: Drawing,
}

#[derive(Template)]
#[template(
    ext = "html",
    source = r#"{% extends "layout/sheet.html" %}
{% import "parts/forms.html" as forms %}
{% block title %}Flat 22{% endblock %}
{% block back %}<a href="/my-day">Back</a>{% endblock %}
{% block step %}reading 3 of 8{% endblock %}
{% block heading %}The water rises 27 K; it rose 34 K in March{% endblock %}
{% block body %}<div class="finding"><p>36 °C less 9 °C at 11 l/min. Under 32 K: act.</p></div>
<form method="post"><div class="beside"><div class="field"><label for="v">Now, °C</label><input class="big" id="v" name="v" inputmode="decimal" value="36"></div><p class="then">On 3 March <b>42</b></p></div>
<ul class="cautions"><li><strong>Gas:</strong> Gas work only by an engineer on the official gas safety register, with the right category for this unit.</li></ul>
{% call forms::radios("pipe", "What did the pipe do?", "", choices, error, "big-choice") %}{% endcall %}
<div class="presses"><button class="press" type="submit">Next</button><a class="press quiet" href="/x">I cannot measure this</a></div></form>{% endblock %}"#
)]
struct SheetPage {
    shell: Shell,
    choices: Vec<Choice>,
    error: Option<String>,
}

/// The frame.
pub fn shell(voice: Voice) -> Shell {
    Shell {
        person_name: "Ines Harrowby".into(),
        voice,
        here: if voice == Voice::Agent { "today" } else { "letter" },
        estate_name: "Larkmoor Estate".into(),
        today_words: "Wednesday 25 November 2026, 07:40".into(),
        undo: Some(UndoBar {
            sentence: "Flat 19 is booked for Monday 30 November, 09:15. The resident has not been told yet.".into(),
            action: "/undo".into(),
            token: "t".into(),
        }),
        demo: true,
        theme: Theme::System,
    }
}

fn rows() -> Vec<Row> {
    let verb = |label: &str| Verb::link(label, "/x");
    vec![
        Row::about("a", Link::new("Flat 1204, Osier Tower", "/u/1"), " has had no heating or hot water for 26 h 10 min; it is late. Two engineers were offered the job; nobody has taken it.")
            .urgency(Urgency::Late)
            .figure("late by 2 h 10", "24-hour clock")
            .verb(Verb::post("Offer this job again", "/x", Vec::new()))
            .other(verb("Lend heaters"))
            .other(verb("Tell the resident")),
        Row::about("b", Link::new("Flat 7, Alder House", "/u/2"), " needs its gas safety check by Thursday 3 December. Nobody answered on 24 October and 11 November.")
            .urgency(Urgency::Soon)
            .figure("in 8 d", "no access, twice")
            .verb(verb("Send the third letter"))
            .verb(verb("Book a visit"))
            .why(Why::this(vec!["Twelve months after the kept date.".into()])),
        Row::about("c", Link::new("Flat 22, Alder House", "/u/3"), ": a quote of £412.00 for a hot-water plate. Over your authority of £250 and over the repair limit of £97.86.")
            .figure("£412.00", "valid to 4 December")
            .verb(verb("Send the decision pack")),
    ]
}

fn choices() -> Vec<Choice> {
    vec![
        Choice::new("a", "Replace like for like, £2,750", true)
            .hint("Earliest day is Monday 30 November."),
        Choice::new("b", "Repair once more, £412.00", false)
            .hint("Over both limits, so it asks for a reason."),
    ]
}

/// The landlord's letter.
pub fn landlord() -> askama::Result<String> {
    LetterPage {
        shell: shell(Voice::Landlord),
        rows: rows(),
        purse: samples::money::purse().draw(),
    }
    .render()
}

/// One screen of the job sheet.
pub fn contractor() -> askama::Result<String> {
    SheetPage {
        shell: shell(Voice::Contractor),
        choices: choices(),
        error: None,
    }
    .render()
}

/// The agent's page.
pub fn agent() -> askama::Result<String> {
    let ask = |words: &str, current| Ask {
        words: words.into(),
        href: "/x".into(),
        current,
    };
    AgentPage {
        shell: shell(Voice::Agent),
        rows: rows(),
        facts: vec![
            Fact::typed("Lasting number", "AH-22-B2"),
            Fact::new("Kind", "combi gas boiler, 30 kW"),
            Fact::typed("Serial", "I1O9-8B5S-2114"),
            Fact::new("Fitted", "some time between October 2011 and March 2012"),
        ],
        asks: vec![
            ask("Where is heat most likely to fail?", true),
            ask("Whose check is next?", false),
            ask("What is oldest?", false),
        ],
        buildings: [samples::buildings::slab(), samples::buildings::tower()]
            .iter()
            .map(|building| {
                let words = Link::new(building.title.clone(), "/b");
                let row = Row::about(building.id.clone(), words, ": one flat without heat.");
                (row.figure("48", "flats, 1964"), mini(building))
            })
            .collect(),
        slab: samples::buildings::slab().draw(),
        squares: samples::year::squares().draw(),
        wrongs: vec![(
            "cold".into(),
            "Cold main: 512 °C is hotter than any water".into(),
        )],
        error: Some("Not stored: 512 °C is hotter than any water. Perhaps 15.2 or 12?".into()),
        none: None,
        choices: choices(),
    }
    .render()
}
