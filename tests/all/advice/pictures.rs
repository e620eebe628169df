//! The pages of money and authority in Chromium, at a desk and on a phone: pictures are kept and looked at.
use crate::support::{Browser, TestApp, Width};

fn story(width: Width) {
    let app = TestApp::demo();
    let b = Browser::open(&app.address, "money", width);
    b.come_in_as("Nell Askwith");
    for (path, name, said) in [
        ("/prices?kind=CB", "prices", "Prices and the rate"),
        ("/authority", "authority-read", "Who may agree what"),
        ("/reserve", "reserve", "a flat a month"),
        ("/winter", "winter", "How it was replayed"),
    ] {
        b.go(path);
        let words = b.words();
        let title = words.contains(said) || b.source().contains(said);
        assert!(title, "“{said}” is not at {path}: {words}");
        b.shot(name);
    }
    b.go("/reserve");
    b.print("reserve");
    b.go("/advice");
    b.press("Decide");
    b.arrives("/advice/");
    let words = b.words();
    for said in ["Before any money", "Consultation", "What is not known"] {
        assert!(words.contains(said), "“{said}” is not in {words}");
    }
    b.shot("advice");
    // The landlord states what the agent may agree.
    b.forget();
    b.come_in_as("Imre Calverdale");
    b.go("/authority");
    b.choose("role", "agent");
    b.set("limit", "300");
    b.set("emergency", "1500");
    b.press_css("main button.press");
    b.until("it stands", || b.words().contains("£300.00"));
    b.shot("authority-stated");
}

#[test]
fn money_and_authority_at_a_desk() {
    story(Width::Desk);
}

#[test]
fn money_and_authority_on_a_phone() {
    story(Width::Phone);
}
