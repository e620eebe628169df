//! One binary: the HTTP stories, the tasks, the migrations, the architecture.
#![expect(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::disallowed_methods,
    reason = "tests break loudly, and the harness reads the environment"
)]
mod advice;
mod architecture;
mod chain;
mod demo;
mod door;
mod duties;
mod duties_pages;
mod forecast;
mod founding;
mod import;
mod import_faults;
mod import_pages;
mod once;
mod plan;
mod real_input;
mod register;
mod story;
mod support;
mod tasks;
mod today;
mod visit_sheet;
mod walls;
mod work_estate;
mod work_loop;
mod work_take;
