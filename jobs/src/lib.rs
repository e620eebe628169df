//! Task runner and cron table.
