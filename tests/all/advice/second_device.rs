//! A second device: begun, set by its first digits, asked for by a large decision, each digits taken once, taken off.
use chrono::TimeDelta;
use totp_rs::{Builder, Secret, Totp};
use usecases::door::DEMO_PASSWORD;

use super::estate::Estate;
use crate::support::Client;

const PAGE: &str = "/account/second-device";

/// What a device makes of the letters on the page.
fn device(page: &str) -> Totp {
    let (_, after) = page.split_once("or type: <strong>").unwrap();
    let letters: String = after
        .split('<')
        .next()
        .unwrap()
        .split_whitespace()
        .collect();
    Builder::new()
        .with_secret(Secret::try_from_base32(letters).unwrap())
        .with_account_name("any")
        .build()
        .unwrap()
}

struct Tried {
    estate: Estate,
    landlord: Client,
    device: Totp,
}

impl Tried {
    /// The landlord has set a device and states that decisions above £1,000 ask for it.
    fn new() -> Self {
        let estate = Estate::new();
        let landlord = estate.app.signed_in("landlord@test");
        let stated = landlord.post("/authority/confirm", &[("once", "c"), ("confirm", "1,000")]);
        assert_eq!(stated.status(), 303);
        let wrong = landlord.post(&format!("{PAGE}/begin"), &[("password", "not mine")]);
        assert_eq!(wrong.status(), 422);
        assert!(!landlord.page(PAGE).contains("or type:"));
        let begun = landlord.post(&format!("{PAGE}/begin"), &[("password", DEMO_PASSWORD)]);
        assert_eq!(begun.status(), 303);
        let device = device(&landlord.page(PAGE));
        Self {
            estate,
            landlord,
            device,
        }
    }

    fn digits(&self) -> String {
        let now = self.estate.app.database.world.now().timestamp();
        self.device.generate(now.unsigned_abs()).to_string()
    }

    fn half_a_minute_later(&self) {
        self.estate
            .app
            .database
            .clock
            .advance(TimeDelta::seconds(30));
    }

    fn set(&self) {
        let set = self.landlord.post(PAGE, &[("digits", &self.digits())]);
        assert_eq!(set.status(), 303, "{}", set.text().unwrap());
        assert!(self.landlord.page(PAGE).contains("One is set"));
    }

    fn decide(&self, quote: i64, digits: &str) -> (u16, String) {
        let id = self.estate.advised(self.estate.job(), quote);
        let form = [
            ("choice", "replace:CB"),
            ("reason", "Enough."),
            ("password", DEMO_PASSWORD),
            ("digits", digits),
        ];
        let answer = self.landlord.post(&format!("/advice/{id}/decide"), &form);
        (answer.status().as_u16(), answer.text().unwrap())
    }
}

#[test]
fn a_large_decision_asks_for_the_second_device_where_one_is_set() {
    let tried = Tried::new();
    let wrong = tried.landlord.post(PAGE, &[("digits", "12345")]);
    assert_eq!(wrong.status(), 422);
    tried.set();
    assert!(
        !tried.landlord.page(PAGE).contains("or type:"),
        "once set, its secret is shown no more"
    );
    let (status, page) = tried.decide(288_000, "");
    assert_eq!(status, 422);
    assert!(page.contains("Type the six digits your second device shows now."));
    let (status, page) = tried.decide(288_000, &tried.digits());
    assert_eq!(status, 422, "those set it, so they are used");
    assert!(page.contains("These digits were used before."));
    tried.half_a_minute_later();
    let (status, page) = tried.decide(288_000, &tried.digits());
    assert_eq!(status, 303, "{page}");
}

#[test]
fn a_device_comes_off_by_password_and_digits_only() {
    let tried = Tried::new();
    tried.set();
    let off = format!("{PAGE}/off");
    let digits = tried.digits();
    let used = [("password", DEMO_PASSWORD), ("digits", &digits)];
    assert_eq!(tried.landlord.post(&off, &used).status(), 422);
    tried.half_a_minute_later();
    let digits = tried.digits();
    let other = [("password", "not mine"), ("digits", &digits)];
    assert_eq!(tried.landlord.post(&off, &other).status(), 422);
    let right = [("password", DEMO_PASSWORD), ("digits", &digits)];
    assert_eq!(tried.landlord.post(&off, &right).status(), 303);
    let (status, page) = tried.decide(288_000, "");
    assert_eq!(status, 303, "a password alone decides again: {page}");
}

#[test]
fn a_device_begun_and_never_set_is_asked_for_nowhere() {
    let tried = Tried::new();
    let (status, page) = tried.decide(288_000, "");
    assert_eq!(status, 303, "{page}");
}

#[test]
fn a_lost_device_is_taken_off_by_whoever_runs_the_program() {
    let tried = Tried::new();
    tried.set();
    let world = &tried.estate.app.database.world;
    assert!(usecases::second_device::forget(world, "landlord@test").unwrap());
    assert!(!usecases::second_device::forget(world, "landlord@test").unwrap());
    assert!(usecases::second_device::forget(world, "nobody@test").is_err());
    let (status, page) = tried.decide(288_000, "");
    assert_eq!(status, 303, "{page}");
}

#[test]
fn wrong_digits_wait_like_wrong_passwords() {
    let tried = Tried::new();
    tried.set();
    for _ in 0..8 {
        assert_eq!(tried.decide(288_000, "000000").0, 422);
    }
    tried.half_a_minute_later();
    let (status, page) = tried.decide(288_000, &tried.digits());
    assert_eq!(status, 422);
    assert!(page.contains("Too many tries"));
}
