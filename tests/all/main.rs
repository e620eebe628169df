//! One binary: the HTTP stories, the tasks, the migrations, the architecture.
#![expect(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::disallowed_methods,
    clippy::too_many_lines,
    reason = "tests break loudly, a story is told in one piece, and the harness reads the environment"
)]
mod advice;
mod agreement;
mod alike;
mod architecture;
mod audits_apart;
mod bag;
mod by_keyboard;
mod chain;
mod clock_pauses;
mod date_years;
mod demo;
mod door;
mod drill;
mod duties;
mod duties_pages;
mod duty_ends;
mod duty_law;
mod duty_rules;
mod elevations;
mod every_block;
mod every_way_in;
mod facts_pages;
mod forecast;
mod founding;
mod gaps;
mod import;
mod import_size;
mod in_the_way;
mod likely_parts;
mod mailed;
mod makers;
mod named_files;
mod no_signal;
mod older_fit;
mod on_the_phone;
mod once;
mod outages;
mod outlook;
mod pages_looked_at;
mod phone_rules;
mod phone_sheet;
mod photos;
mod place_as_left;
mod plan;
mod plan_acts;
mod plan_again;
mod plan_asked;
mod plan_browser;
mod plan_calls;
mod plan_demands;
mod plan_demo;
mod plan_estate;
mod plan_hours;
mod plan_keyboard;
mod plan_notices;
mod plan_programme;
mod plan_rounds;
mod plan_shared;
mod plan_what_if;
mod plan_words;
mod ranking_by_fit;
mod real_input;
mod record_windows;
mod records;
mod register;
mod said_at_work;
mod shipped_rules;
mod standing_by;
mod stories;
mod story;
mod support;
mod tasks;
mod today;
mod track_record;
mod unsafe_flow;
mod visit_override;
mod visit_return;
mod visit_sheet;
mod walls;
mod water;
mod work_estate;
mod work_loop;
mod work_take;
