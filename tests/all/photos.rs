//! Photos and papers by their pages: where a photo was taken is gone and it stands upright, a paper is as it was sent and
//! only ever handed over, what is neither is refused in words, and nobody else sees any.
use std::io::Cursor;

use image::{GenericImageView, ImageFormat, Rgb, RgbImage};
use reqwest::blocking::Response;
use reqwest::blocking::multipart::{Form, Part};
use terms::{JobKind, Role};
use usecases::door::DEMO_PASSWORD;
use usecases::founding::{NewPerson, add_person, found_estate};
use usecases::visit;

use crate::support::Client;
use crate::support::server::location;
use crate::work_estate::{AGENT, ANNA, BELLA, Loop, fresh};

fn u16_of(tag: u16) -> [u8; 2] {
    tag.to_be_bytes()
}

/// A note as a telephone writes it: which way is up (6: turn it a quarter to the right), and where it was taken (51.5 N).
/// The layout is Exif 2.3, section 4.6: a byte order, directories of twelve-byte fields, what they point to.
fn note() -> Vec<u8> {
    let field = |tag: u16, sort: u16, count: u32, value: [u8; 4]| {
        [
            &u16_of(tag)[..],
            &u16_of(sort)[..],
            &count.to_be_bytes()[..],
            &value[..],
        ]
        .concat()
    };
    let mut tiff = b"MM\0\x2a\0\0\0\x08".to_vec();
    // Directory 0 at byte 8: two fields, then none further; it ends at 8 + 2 + 24 + 4 = 38.
    tiff.extend_from_slice(&u16_of(2));
    tiff.extend(field(0x0112, 3, 1, [0, 6, 0, 0]));
    tiff.extend(field(0x8825, 4, 1, 38_u32.to_be_bytes()));
    tiff.extend_from_slice(&[0; 4]);
    // The directory of the place at byte 38: it ends at 38 + 2 + 24 + 4 = 68.
    tiff.extend_from_slice(&u16_of(2));
    tiff.extend(field(0x0001, 2, 2, *b"N\0\0\0"));
    tiff.extend(field(0x0002, 5, 3, 68_u32.to_be_bytes()));
    tiff.extend_from_slice(&[0; 4]);
    for (over, under) in [(51_u32, 1_u32), (30, 1), (0, 1)] {
        tiff.extend_from_slice(&over.to_be_bytes());
        tiff.extend_from_slice(&under.to_be_bytes());
    }
    [b"Exif\0\0".as_slice(), &tiff].concat()
}

/// A photo of 64 by 32 pixels, its left half red and its right half blue, with the note in it.
fn photo() -> Vec<u8> {
    let picture = RgbImage::from_fn(64, 32, |x, _| {
        if x < 32 {
            Rgb([230, 20, 20])
        } else {
            Rgb([20, 20, 230])
        }
    });
    let mut plain = Cursor::new(Vec::new());
    picture.write_to(&mut plain, ImageFormat::Jpeg).unwrap();
    let plain = plain.into_inner();
    let note = note();
    let length = u16::try_from(note.len() + 2).unwrap();
    let segment = [&[0xff, 0xe1][..], &u16_of(length)[..], &note].concat();
    [&plain[..2], &segment, &plain[2..]].concat()
}

const PAPER: &[u8] =
    b"%PDF-1.4\n1 0 obj<</Type/Catalog>>endobj\n%\xe2\xe3\xcf\xd3\ntrailer<</Root 1 0 R>>\n%%EOF\n";

fn form(name: &str, bytes: &[u8], words: &str) -> Form {
    Form::new()
        .text("once", fresh())
        .text("words", words.to_owned())
        .part(
            "file",
            Part::bytes(bytes.to_vec()).file_name(name.to_owned()),
        )
}

fn header(answer: &Response, name: &str) -> String {
    let value = answer.headers().get(name);
    value.map_or_else(String::new, |v| v.to_str().unwrap().to_owned())
}

/// The address of the newest photo or paper a page shows.
fn newest(client: &Client, page: &str) -> String {
    let html = client.page(page);
    let (_, after) = html.split_once("href=\"/photos/").expect("one is shown");
    format!("/photos/{}", after.split('"').next().unwrap())
}

fn has(bytes: &[u8], part: &[u8]) -> bool {
    bytes.windows(part.len()).any(|w| w == part)
}

#[test]
fn a_photo_comes_back_upright_and_without_its_place() {
    let estate = Loop::start();
    let agent = estate.client(AGENT);
    let page = format!("/units/{}/photos", estate.boiler);
    let sent = photo();
    assert!(has(&sent, b"Exif") && has(&sent, &[0x88, 0x25]));
    let answer = agent.upload(&page, form("IMG_1.jpg", &sent, "the plate"));
    assert_eq!(
        (answer.status().as_u16(), location(&answer)),
        (303, page.clone())
    );
    let html = agent.page(&page);
    assert!(html.contains("alt=\"the plate\""));
    let answer = agent.get(&newest(&agent, &page));
    assert_eq!(header(&answer, "content-type"), "image/jpeg");
    assert!(header(&answer, "content-security-policy").contains("sandbox"));
    let kept = answer.bytes().unwrap();
    // Within the picture itself a byte FF is always followed by 00, so FF E1 could only begin a note.
    assert!(!has(&kept, b"Exif") && !has(&kept, &[0xff, 0xe1]));
    let seen = image::load_from_memory(&kept).unwrap();
    assert_eq!((seen.width(), seen.height()), (32, 64), "turned a quarter");
    // What lay left lies on top when it is turned to the right.
    let (top, foot) = (seen.get_pixel(16, 8).0, seen.get_pixel(16, 56).0);
    assert!(top[0] > 180 && top[2] < 80, "{top:?}");
    assert!(foot[2] > 180 && foot[0] < 80, "{foot:?}");
    assert_eq!(estate.count("estate.enclosures"), 1);
    assert_eq!(
        estate.count("estate.audit_entries WHERE act = 'photo or paper kept'"),
        1
    );
}

#[test]
fn a_paper_is_handed_over_as_it_was_sent_and_what_is_neither_is_refused() {
    let estate = Loop::start();
    let agent = estate.client(AGENT);
    let page = format!("/units/{}/photos", estate.boiler);
    let answer = agent.upload(&page, form("../commissioning sheet.PDF", PAPER, ""));
    assert_eq!(answer.status(), 303);
    let answer = agent.get(&newest(&agent, &page));
    assert_eq!(header(&answer, "content-type"), "application/pdf");
    assert_eq!(
        header(&answer, "content-disposition"),
        "attachment; filename=\"commissioning sheet.pdf\""
    );
    assert!(header(&answer, "content-security-policy").contains("sandbox"));
    assert_eq!(header(&answer, "x-content-type-options"), "nosniff");
    assert_eq!(answer.bytes().unwrap().as_ref(), PAPER);

    let script = b"<html><script>alert(1)</script></html>".as_slice();
    let polyglot = [b"\xff\xd8\xff\xe0".as_slice(), script].concat();
    let large = vec![0xff_u8; (20 << 20) + 1];
    for (name, bytes, words) in [
        ("photo.jpg", script, "neither a photo"),
        ("photo.jpg", polyglot.as_slice(), "cannot be read"),
        (
            "photo.svg",
            b"<svg xmlns='x' onload='alert(1)'/>".as_slice(),
            "neither a photo",
        ),
        ("moving.gif", b"GIF89a".as_slice(), "neither a photo"),
        ("large.jpg", large.as_slice(), "more than 20 MB"),
        (
            "nothing.jpg",
            b"".as_slice(),
            "Choose a photo or a PDF first",
        ),
    ] {
        let answer = agent.upload(&page, form(name, bytes, "kept as typed"));
        assert_eq!(answer.status(), 422, "{name}");
        let html = answer.text().unwrap();
        assert!(html.contains(words), "{name}: {words}");
        assert!(name == "large.jpg" || html.contains("kept as typed"));
    }
    // A true photo with a page behind it comes back without the page.
    let tail = [photo().as_slice(), script].concat();
    assert_eq!(agent.upload(&page, form("p.jpg", &tail, "")).status(), 303);
    let kept = agent.get(&newest(&agent, &page)).bytes().unwrap();
    assert!(!has(&kept, b"<script>"));
    assert_eq!(estate.count("estate.enclosures"), 2);
}

#[test]
fn visits_and_attempts_have_theirs_from_the_phone_and_nobody_else_sees_them() {
    let estate = Loop::start();
    let (anna, agent) = (estate.client(ANNA), estate.client(AGENT));
    let job = estate.annas(JobKind::Repair, estate.boiler, Vec::new());
    let page = format!("/sheet/{job}/photos");
    let html = anna.page(&page);
    assert!(html.contains("capture=\"environment\""));
    let early = anna.upload(&page, form("p.jpg", &photo(), "too early"));
    assert_eq!(early.status(), 422);
    assert!(early.text().unwrap().contains("Nobody was there yet"));
    visit::arrive(estate.world(), &estate.seat_of(ANNA), job, &fresh()).unwrap();
    let answer = anna.upload(&page, form("p.jpg", &photo(), "the leak"));
    assert_eq!(answer.status(), 303);
    assert_eq!(
        estate.count("estate.enclosures WHERE about_kind = 'visit'"),
        1
    );
    let file = newest(&anna, &page);
    assert_eq!(anna.get(&file).status(), 200);
    // The desk sees it on the job and on the unit.
    for seen in [
        format!("/jobs/{job}/photos"),
        format!("/units/{}/photos", estate.boiler),
    ] {
        assert_eq!(newest(&agent, &seen), file);
    }
    // Another firm, another estate and nobody at all do not.
    let bella = estate.client(BELLA);
    assert_eq!(bella.get(&file).status(), 404);
    assert_eq!(bella.get(&page).status(), 404);
    let world = estate.world();
    let other = found_estate(world, "Another Estate", true).unwrap();
    let person = NewPerson {
        email: "other@example.test".to_owned(),
        name: "Ned Ashby".to_owned(),
        password: DEMO_PASSWORD.to_owned(),
        demo: true,
        estate: other.estate(),
        role: Role::Agent,
        firm: None,
        buildings: None,
    };
    add_person(world, &person).unwrap();
    let other = estate.client("other@example.test");
    assert_eq!(other.get(&file).status(), 404);
    assert_eq!(
        other
            .get(&format!("/units/{}/photos", estate.boiler))
            .status(),
        404
    );
    let posted = other.upload(
        &format!("/units/{}/photos", estate.boiler),
        form("p.jpg", &photo(), ""),
    );
    assert_eq!(posted.status(), 404);
    assert_ne!(estate.app.visitor().get(&file).status(), 200);
    // Only the desk takes one out, and then it is gone for everybody; that it was there stays.
    let out = format!("{file}/take-out");
    assert_ne!(anna.post(&out, &[("once", &fresh())]).status(), 303);
    assert_eq!(agent.post(&out, &[("once", &fresh())]).status(), 303);
    assert_eq!(anna.get(&file).status(), 404);
    assert_eq!(
        estate.count("estate.enclosures WHERE superseded_at IS NOT NULL"),
        1
    );
}

#[test]
fn a_photo_of_a_door_nobody_opened_belongs_to_the_attempt() {
    let estate = Loop::start();
    let anna = estate.client(ANNA);
    let job = estate.annas(JobKind::Repair, estate.boiler, Vec::new());
    let answer = anna.post(
        &format!("/sheet/{job}/no-access"),
        &[
            ("once", &fresh()),
            ("left_behind", "card"),
            ("words", "rang twice"),
        ],
    );
    assert_eq!(
        answer.status(),
        303,
        "{}",
        answer.text().unwrap_or_default()
    );
    let page = format!("/sheet/{job}/photos");
    let answer = anna.upload(&page, form("door.jpg", &photo(), "the card in the door"));
    assert_eq!(answer.status(), 303);
    assert_eq!(
        estate.count("estate.enclosures WHERE about_kind = 'visit'"),
        0
    );
    assert_eq!(
        estate.count("estate.enclosures WHERE about_kind = 'attempt'"),
        1
    );
}
