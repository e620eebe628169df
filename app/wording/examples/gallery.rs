//! Prints one page with every drawing, for looking at: `cargo run -p wording --example gallery [ID…] > page.html`.
//! Style sheets and fonts are expected under /assets, as `web` serves them.
use std::io::Write;

use askama::Template;
use wording::{Drawing, Shell, Theme, Voice};

#[path = "../tests/samples/mod.rs"]
mod samples;

#[derive(Template)]
#[template(
    ext = "html",
    source = r#"{% extends "layout/base.html" %}
{% import "parts/page.html" as page %}
{% import "parts/drawing.html" as drawing %}
{% block title %}Drawings{% endblock %}
{% block heading %}Every drawing, in both forms{% endblock %}
{% block standing %}Invented buildings, units and money.{% endblock %}
{% block body %}{% for d in drawings %}
{% call page::section(d.id, d.id, "") %}{% if d.narrow_svg.is_empty() %}{% call drawing::small(d) %}{% endcall %}{% else %}{% call drawing::drawing(d) %}{% endcall %}{% endif %}{% endcall %}
{% endfor %}{% endblock %}"#
)]
struct Gallery {
    shell: Shell,
    drawings: Vec<Drawing>,
}

fn main() -> std::io::Result<()> {
    let wanted: Vec<String> = std::env::args().skip(1).collect();
    let page = Gallery {
        shell: Shell {
            person_name: "Ines Harrowby".into(),
            voice: Voice::Agent,
            here: "buildings",
            estate_name: "Larkmoor Estate".into(),
            today_words: "Wednesday 25 November 2026".into(),
            undo: None,
            demo: true,
            theme: Theme::System,
        },
        drawings: samples::all()
            .into_iter()
            .filter(|drawing| wanted.is_empty() || wanted.contains(&drawing.id))
            .collect(),
    };
    let text = page.render().map_err(std::io::Error::other)?;
    std::io::stdout().write_all(text.as_bytes())
}
