//! Mails as their standards write them.
use wording::mail::{Mail, body, message, phrase};

/// Reference: `quopri.encodestring` of Python's standard library (3.11), lines ended by CR LF here.
#[test]
fn a_body_is_quoted_printable_as_another_program_writes_it() {
    for (text, quoted) in [
        (
            "£1 – Flat 14 = done",
            "=C2=A31 =E2=80=93 Flat 14 =3D done".to_owned(),
        ),
        ("trailing space ", "trailing space=20".to_owned()),
        (
            "x".repeat(80).as_str(),
            format!("{}=\r\nxxxxx", "x".repeat(75)),
        ),
        (
            "é".repeat(30).as_str(),
            format!(
                "{}=C3=\r\n=A9{}=\r\n{}",
                "=C3=A9".repeat(12),
                "=C3=A9".repeat(12),
                "=C3=A9".repeat(5)
            ),
        ),
        ("one\ntwo", "one\r\ntwo".to_owned()),
    ] {
        assert_eq!(body(text), quoted, "{text}");
    }
}

#[test]
fn a_head_takes_any_text_on_lines_of_its_own() {
    assert_eq!(phrase("Flat 14"), "Flat 14");
    // RFC 2047 §4.2: the Q encoding, a space as an underscore.
    assert_eq!(phrase("Café No 1"), "=?utf-8?Q?Caf=C3=A9_No_1?=");
    let long = phrase(&"é".repeat(40));
    assert!(long.lines().count() > 1, "{long}");
    for line in long.lines() {
        let word = line.trim_start();
        assert!(word.len() + "Subject: ".len() <= 76, "{word}");
        assert!(
            word.starts_with("=?utf-8?Q?") && word.ends_with("?="),
            "{word}"
        );
        // A letter of two bytes is never parted.
        assert_eq!(word.matches("=C3").count(), word.matches("=A9").count());
    }
}

#[test]
fn nothing_typed_can_add_a_field_to_the_head() {
    let mail = message(&Mail {
        from: ("Agent\r\nBcc: all@firm.example", "desk@estate.example"),
        to: "office@firm.example",
        subject: "A\nBcc: all@firm.example",
        at: "2026-11-25T09:00:00Z".parse().unwrap(),
        id: "one",
        body: "Text.\n\nBcc: in the body only",
    });
    let (head, rest) = mail.split_once("\r\n\r\n").unwrap();
    assert!(!head.contains("\r\nBcc"), "{head}");
    assert!(rest.contains("Bcc: in the body only"));
    // RFC 5322 §3.3, the same instant in Python's email.utils.format_datetime.
    assert!(
        head.contains("Date: Wed, 25 Nov 2026 09:00:00 +0000"),
        "{head}"
    );
    assert!(head.contains("Message-ID: <one@estate.example>"), "{head}");
    assert!(!mail.replace("\r\n", "").contains(['\r', '\n']));
}
