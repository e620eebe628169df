//! Prints one page for looking at: with every drawing (or those named), or with every part in one of the voices.
//! `cargo run -p wording --example gallery [agent|landlord|contractor|ID…] > page.html`.
//! Style sheets and fonts are expected under /assets, as `web` serves them.
use std::io::Write;

use askama::Template;
use wording::{Drawing, Shell, Voice};

#[path = "../../tests/samples/mod.rs"]
mod samples;
mod voices;

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
    let text = match wanted.first().map(String::as_str) {
        Some("agent") => voices::agent(),
        Some("landlord") => voices::landlord(),
        Some("contractor") => voices::contractor(),
        _ => drawings(&wanted),
    };
    let text = text.map_err(std::io::Error::other)?;
    std::io::stdout().write_all(text.as_bytes())
}

fn drawings(wanted: &[String]) -> askama::Result<String> {
    Gallery {
        shell: voices::shell(Voice::Agent),
        drawings: samples::all()
            .into_iter()
            .filter(|drawing| wanted.is_empty() || wanted.contains(&drawing.id))
            .collect(),
    }
    .render()
}
