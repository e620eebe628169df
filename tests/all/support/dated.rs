//! Rows of a duty's record and rules made up for them, and the dice that choose their days.
use chrono::{DateTime, NaiveDate};
use inspection::calendar::add_days;
use store::duties::Completion;
use terms::trade::DutyRule;
use terms::{AccountId, DutyId};
use uuid::Uuid;

/// Numbers without a library: Knuth's multiplier (The Art of Computer Programming, volume 2, section 3.3.4).
pub struct Dice(pub u64);

impl Dice {
    /// A whole number from `low` to `high`.
    pub fn between(&mut self, low: i64, high: i64) -> i64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1);
        low + i64::try_from((self.0 >> 33) % u64::try_from(high - low + 1).unwrap()).unwrap()
    }

    /// A day of the ten years from 2015 on.
    pub fn day(&mut self) -> NaiveDate {
        let first = NaiveDate::from_ymd_opt(2015, 1, 1).unwrap();
        add_days(first, self.between(0, 3_650))
    }
}

/// A rule of no kind, dated by months.
pub fn rule(code: &str, window_rule: &str, months: i32) -> DutyRule {
    DutyRule {
        code: code.to_owned(),
        name: code.to_owned(),
        window_rule: window_rule.to_owned(),
        months,
        days: None,
        kinds: Vec::new(),
        covers: "gas".to_owned(),
        minutes: 30,
        basis: "law".to_owned(),
        status: "a test".to_owned(),
        evidence: "a record".to_owned(),
        country: "england".to_owned(),
        as_at: NaiveDate::from_ymd_opt(2026, 7, 1).unwrap(),
    }
}

/// A row of a duty's record: a visit that was a whole check, or a date that was stated.
pub fn row(done: Option<NaiveDate>, stated: Option<NaiveDate>) -> Completion {
    Completion {
        id: Uuid::nil(),
        duty: DutyId(Uuid::nil()),
        done_on: done,
        check_complete: true,
        result: "start".to_owned(),
        treated_as: None,
        days_late: 0,
        next_deadline: stated,
        reason: "stated".to_owned(),
        job: None,
        evidence: "record".to_owned(),
        happened_on: done.or(stated).unwrap(),
        recorded_at: DateTime::UNIX_EPOCH,
        recorded_by: AccountId(Uuid::nil()),
        superseded_at: None,
        import: None,
        measured_k: None,
    }
}
