//! The shared layouts and parts, compiled and rendered once in each voice.
use askama::Template;
use wording::{
    Ask, Choice, Drawing, Fact, Link, Row, Shell, Table, Theme, UndoBar, Urgency, Verb, Voice, Why,
};

fn shell(voice: Voice) -> Shell {
    Shell {
        person_name: "Ines <Harrowby>".into(),
        voice,
        here: "today",
        estate_name: "Larkmoor Estate".into(),
        today_words: "Wednesday 25 November 2026, 07:40".into(),
        undo: Some(UndoBar {
            sentence: "Flat 19 is booked.".into(),
            action: "/undo".into(),
            token: "t-1".into(),
        }),
        demo: true,
        theme: Theme::Dark,
    }
}

fn late_row() -> Row {
    Row::about(
        "flat-40",
        Link::new("Flat 40", "/units/40"),
        " is 3 days past its check & late.",
    )
    .urgency(Urgency::Late)
    .figure("late by 3 d", "no access, 3 times")
    .verb(Verb::link("Decide the next step", "/duties/40"))
    .other(Verb::post(
        "Print the attempts",
        "/duties/40/print",
        vec![("key".into(), "k-1".into())],
    ))
    .why(Why::this(vec!["Rule W1.".into()]))
}

#[derive(Template)]
#[template(
    ext = "html",
    source = r#"{% extends "layout/base.html" %}
{% import "parts/page.html" as page %}
{% import "parts/rows.html" as list %}
{% import "parts/forms.html" as forms %}
{% import "parts/drawing.html" as drawing %}
{% block title %}Today{% endblock %}
{% block heading %}One check is late{% endblock %}
{% block standing %}Nobody let us in.{% endblock %}
{% block body %}
{% call page::section("late", "Late", "Longest first") %}
{% call list::rows(rows) %}{% endcall %}
{% call page::notice() %}<p>Reminder, not legal advice.</p>{% endcall %}
{% call page::why(why) %}{% endcall %}
{% endcall %}
{% call page::section("form", "Form", "") %}
{% call forms::wrongs(wrongs) %}{% endcall %}
<form method="post">
{% call forms::field("cold", "Cold main", "°C", "512", error, "text", "short number", "decimal") %}{% endcall %}
{% call forms::field("hot", "Hot outlet", "", 45, none) %}{% endcall %}
{% call forms::area("reason", "Why", "One line.", "<b>", none) %}{% endcall %}
{% call forms::select("kind", "Kind", "", choices, none) %}{% endcall %}
{% call forms::radios("course", "Decide", "", choices, none) %}{% endcall %}
{% call forms::tick("sure", "Sure", "", true) %}{% endcall %}
{% call forms::kept("key", "k-2") %}{% endcall %}
</form>
{% call page::asks(asks) %}{% endcall %}
{% call page::plate(facts) %}{% endcall %}
{% call page::pairs(facts) %}{% endcall %}
{% call page::working("Year 6 of 10.", 6, 10) %}{% endcall %}
{% call page::empty("Nothing yet.", "Enter a building", "/buildings/new") %}{% endcall %}
{% call drawing::drawing(picture) %}{% endcall %}
{% call list::timed(rows) %}{% endcall %}
{% endcall %}
{% endblock %}"#
)]
struct AgentPage {
    shell: Shell,
    rows: Vec<Row>,
    why: Why,
    wrongs: Vec<(String, String)>,
    error: Option<String>,
    none: Option<String>,
    choices: Vec<Choice>,
    asks: Vec<Ask>,
    facts: Vec<Fact>,
    picture: Drawing,
}

fn agent_page(rows: Vec<Row>) -> askama::Result<String> {
    AgentPage {
        shell: shell(Voice::Agent),
        rows,
        why: Why::this(vec!["Twelve months on.".into()]),
        wrongs: vec![("cold".into(), "512 °C is hotter than any water".into())],
        error: Some("Not stored: 512 °C.".into()),
        none: None,
        choices: vec![
            Choice::new("a", "Repair", true),
            Choice::new("b", "Replace", false).hint("dearer"),
        ],
        asks: vec![Ask {
            words: "What is oldest?".into(),
            href: "?by=age".into(),
            current: true,
        }],
        facts: vec![Fact::typed("Serial", "I1O0")],
        picture: Drawing {
            id: "d".into(),
            wide_svg: "<svg class=\"wide\"></svg>".into(),
            caption: "What <it> shows".into(),
            table: Table::new(
                &["Flat", "Chance"],
                vec![vec!["22".into(), "1 in 3".into()]],
            )
            .numbers(&[1]),
            ..Drawing::default()
        },
    }
    .render()
}

#[test]
fn the_agents_page_says_everything_and_escapes_it() {
    let page = agent_page(vec![late_row()]).expect("the agent's page renders");
    for part in [
        r#"<html lang="en-GB" data-theme="dark">"#,
        r#"<a href="/today" aria-current="page">Today</a>"#,
        "Ines &#60;Harrowby&#62;",
        r#"role="status""#,
        r#"<li id="flat-40" class="late">"#,
        "past its check &#38; late.",
        "<summary>or …</summary>",
        r#"<input type="hidden" name="key" value="k-1">"#,
        "Reminder, not legal advice.",
        r##"<a href="#cold">512 °C is hotter than any water</a>"##,
        r#"value="512" class="short number" inputmode="decimal""#,
        r#"aria-invalid="true""#,
        "&#60;b&#62;</textarea>",
        r#"<option value="a" selected>"#,
        r#"<svg class="wide"></svg>"#,
        r#"<td data-h="Chance" class="n">1 in 3</td>"#,
        "are invented for this demonstration",
    ] {
        assert!(page.contains(part), "missing: {part}\n{page}");
    }
    assert!(!page.contains("style="), "no inline styles");
    assert!(!page.contains("<script"), "no script");
}

#[test]
fn a_rows_marks_follow_its_urgency() {
    let mut row = late_row();
    row.urgency = Urgency::Plain;
    let page = agent_page(vec![row]).expect("the agent's page renders");
    assert!(!page.contains(r#"class="late""#));
}

#[derive(Template)]
#[template(
    ext = "html",
    source = r#"{% extends "layout/letter.html" %}
{% import "parts/rows.html" as list %}
{% import "parts/page.html" as page %}
{% block title %}Letter{% endblock %}
{% block heading %}One decision waits for you{% endblock %}
{% block body %}{% call page::section("d", "Decisions", "") %}<p>Dear directors,</p>{% call list::numbered(rows) %}{% endcall %}{% endcall %}{% endblock %}"#
)]
struct LetterPage {
    shell: Shell,
    rows: Vec<Row>,
}

#[derive(Template)]
#[template(
    ext = "html",
    source = r#"{% extends "layout/sheet.html" %}
{% block title %}Flat 22{% endblock %}
{% block step %}reading 3 of 8{% endblock %}
{% block heading %}Hot outlet{% endblock %}
{% block body %}<div class="presses"><button class="press">Next</button></div>{% endblock %}"#
)]
struct SheetPage {
    shell: Shell,
}

#[test]
fn the_other_two_voices() {
    let letter = LetterPage {
        shell: shell(Voice::Landlord),
        rows: vec![late_row()],
    }
    .render()
    .expect("the letter renders");
    assert!(letter.contains(r#"<body class="letter">"#));
    assert!(letter.contains("How right we were"));
    assert!(!letter.contains("Duties"), "nothing operational");
    assert!(!letter.contains("standing"), "no empty standing sentence");
    assert!(letter.contains(r#"<span class="at">1.</span>"#));

    let sheet = SheetPage {
        shell: shell(Voice::Contractor),
    }
    .render()
    .expect("the sheet renders");
    assert!(sheet.contains("reading 3 of 8"));
    assert!(sheet.contains("they win."));
    assert!(!sheet.contains("Contents"));
}
