//! Mails handed to a mail server: a listener of our own that speaks as little SMTP (RFC 5321) as it takes.
use std::io::{BufRead, BufReader, Write};
use std::net::{TcpListener, TcpStream};
use std::sync::{Arc, Mutex};

use chrono::TimeDelta;
use diesel::{Connection, PgConnection, RunQueryDsl};
use jobs::{MailServer, Secrecy, Secret};
use terms::JobKind;

use super::{OFFICE_A, Outbox, offer_by_mail};
use crate::work_estate::{AGENT, Loop};

/// What one conversation said: every command line, and the mail if it came so far.
#[derive(Clone, Debug, Default)]
struct Said {
    commands: Vec<String>,
    mail: Option<String>,
}

/// A server that answers RCPT as it is told, once an answer, and then yes.
struct Listener {
    port: u16,
    heard: Arc<Mutex<Vec<Said>>>,
}

impl Listener {
    fn start(refusals: Vec<&'static str>) -> Self {
        let socket = TcpListener::bind("127.0.0.1:0").unwrap();
        let port = socket.local_addr().unwrap().port();
        let heard = Arc::new(Mutex::new(Vec::new()));
        let kept = Arc::clone(&heard);
        std::thread::spawn(move || {
            let mut refusals = refusals.into_iter();
            for stream in socket.incoming() {
                let said = converse(stream.unwrap(), &mut refusals);
                kept.lock().unwrap().push(said);
            }
        });
        Self { port, heard }
    }

    fn as_server(&self, secrecy: Secrecy) -> MailServer {
        MailServer {
            host: "127.0.0.1".to_owned(),
            port: self.port,
            secrecy,
            login: Some(("desk".to_owned(), Secret("a word".to_owned()))),
        }
    }

    /// The conversations so far; the last one is over once the program has hung up.
    fn heard(&self, at_least: usize) -> Vec<Said> {
        for _ in 0..200 {
            let heard = self.heard.lock().unwrap().clone();
            if heard.len() >= at_least {
                return heard;
            }
            std::thread::sleep(std::time::Duration::from_millis(20));
        }
        panic!("{at_least} conversations never came")
    }
}

fn converse(stream: TcpStream, refusals: &mut impl Iterator<Item = &'static str>) -> Said {
    let mut said = Said::default();
    let mut out = stream.try_clone().unwrap();
    let mut lines = BufReader::new(stream).lines();
    let mut answer = |text: &str| write!(out, "{text}\r\n").is_ok();
    answer("220 listener ready");
    while let Some(Ok(line)) = lines.next() {
        said.commands.push(line.clone());
        let verb: String = line.chars().take(4).collect();
        let well = match verb.as_str() {
            "EHLO" => answer("250-listener\r\n250 AUTH PLAIN"),
            "AUTH" => answer("235 welcome"),
            "RCPT" => answer(refusals.next().unwrap_or("250 yes")),
            "DATA" => {
                answer("354 go on");
                let mail: Vec<String> = lines
                    .by_ref()
                    .map_while(Result::ok)
                    .take_while(|line| line != ".")
                    .collect();
                said.mail = Some(mail.join("\r\n"));
                answer("250 taken as 77")
            }
            "QUIT" => {
                answer("221 bye");
                break;
            }
            _ => answer("250 yes"),
        };
        if !well {
            break;
        }
    }
    said
}

fn to_be_mailed(estate: &Loop) {
    let job = estate.open(JobKind::Survey, estate.boiler, Vec::new());
    offer_by_mail(estate, job, estate.firm_a);
}

#[test]
fn a_mail_goes_to_the_server_that_is_set_and_goes_once() {
    let estate = Loop::start();
    let outbox = Outbox::new();
    to_be_mailed(&estate);
    let listener = Listener::start(Vec::new());
    let settings = outbox.settings_with(&estate, Some(listener.as_server(Secrecy::OnThisMachine)));
    jobs::run_queue(estate.world(), &settings);
    let heard = listener.heard(1);
    let commands = heard[0].commands.join("\n");
    // "\0desk\0a word" in base64, RFC 4616; worked out by hand with another tool.
    assert!(
        commands.contains("AUTH PLAIN AGRlc2sAYSB3b3Jk"),
        "{commands}"
    );
    assert!(
        commands.contains("MAIL FROM:<desk@estate.example>"),
        "{commands}"
    );
    assert!(
        commands.contains(&format!("RCPT TO:<{OFFICE_A}>")),
        "{commands}"
    );
    let files = outbox.files();
    assert_eq!(files.len(), 1, "the file stays as the record");
    assert_eq!(
        heard[0].mail.as_deref().map(str::trim_end),
        Some(files[0].trim_end()),
        "what went out is what is on record"
    );
    assert_eq!((outbox.notes("sent"), outbox.notes("sending")), (1, 0));
    assert_eq!(
        estate.count("door.tasks WHERE kind = 'mail_page' AND done_at IS NULL"),
        0
    );

    // As after a crash between the server's yes and the end of the task: it runs again and sends nothing.
    let links = estate.count("door.reply_links WHERE ended_at IS NULL");
    let mut conn = PgConnection::establish(&estate.app.database.owner_url).unwrap();
    diesel::sql_query(
        "UPDATE door.tasks SET done_at = NULL, leased_until = NULL WHERE kind = 'mail_page'",
    )
    .execute(&mut conn)
    .unwrap();
    assert!(jobs::run_queue(estate.world(), &settings) >= 1);
    assert_eq!(
        estate.count("door.tasks WHERE kind = 'mail_page' AND done_at IS NULL"),
        0
    );
    std::thread::sleep(std::time::Duration::from_millis(200));
    assert_eq!(listener.heard(1).len(), 1, "nothing was said a second time");
    assert_eq!(outbox.files(), files);
    assert_eq!(
        estate.count("door.reply_links WHERE ended_at IS NULL"),
        links,
        "the link that is out still answers"
    );
}

#[test]
fn what_the_server_does_not_take_is_tried_again_and_arrives_once() {
    let estate = Loop::start();
    let outbox = Outbox::new();
    to_be_mailed(&estate);
    let listener = Listener::start(vec!["451 come back later"]);
    let settings = outbox.settings_with(&estate, Some(listener.as_server(Secrecy::OnThisMachine)));
    jobs::run_queue(estate.world(), &settings);
    assert!(listener.heard(1)[0].mail.is_none());
    assert_eq!((outbox.files().len(), outbox.notes("sent")), (1, 0));
    assert_eq!(
        estate.count(
            "door.tasks WHERE kind = 'mail_page' AND done_at IS NULL AND last_error LIKE '%come back later%'"
        ),
        1,
        "the reason is kept with the task"
    );
    estate.app.database.clock.advance(TimeDelta::minutes(3));
    jobs::run_queue(estate.world(), &settings);
    let heard = listener.heard(2);
    let mails: Vec<&String> = heard.iter().filter_map(|s| s.mail.as_ref()).collect();
    assert_eq!(mails.len(), 1);
    let file = outbox.files().pop().unwrap();
    assert_eq!(
        mails[0].trim_end(),
        file.trim_end(),
        "the newer link is the one that went out"
    );
    assert_eq!(outbox.notes("sent"), 1);
}

#[test]
fn what_the_server_refuses_for_good_is_told_once_and_not_tried_again() {
    let estate = Loop::start();
    let outbox = Outbox::new();
    to_be_mailed(&estate);
    let listener = Listener::start(vec!["550 no such mailbox", "550 still none"]);
    let settings = outbox.settings_with(&estate, Some(listener.as_server(Secrecy::OnThisMachine)));
    jobs::run_queue(estate.world(), &settings);
    assert!(listener.heard(1)[0].mail.is_none());
    assert_eq!((outbox.notes("sent"), outbox.notes("sending")), (0, 0));
    let open = "door.tasks WHERE kind = 'mail_page' AND done_at IS NULL";
    assert_eq!(estate.count(open), 0, "it is not tried again");
    let told = format!(
        "estate.tellings WHERE whom = 'office' AND words LIKE '%{OFFICE_A}%no such mailbox%'"
    );
    assert_eq!(estate.count(&told), 1);
    let today = estate.client(AGENT).page("/today");
    assert!(today.contains("no such mailbox"), "{today}");

    // As after a crash between the telling and the end of the task: it is refused again, and nobody is told again.
    let mut conn = PgConnection::establish(&estate.app.database.owner_url).unwrap();
    diesel::sql_query(
        "UPDATE door.tasks SET done_at = NULL, leased_until = NULL WHERE kind = 'mail_page'",
    )
    .execute(&mut conn)
    .unwrap();
    jobs::run_queue(estate.world(), &settings);
    assert_eq!(listener.heard(2).len(), 2);
    assert_eq!(estate.count(open), 0);
    assert_eq!(estate.count("estate.tellings"), 1);
}

#[test]
fn a_server_that_will_not_encrypt_hears_neither_the_password_nor_the_mail() {
    let estate = Loop::start();
    let outbox = Outbox::new();
    to_be_mailed(&estate);
    let listener = Listener::start(Vec::new());
    let settings = outbox.settings_with(&estate, Some(listener.as_server(Secrecy::StartTls)));
    jobs::run_queue(estate.world(), &settings);
    let heard = listener.heard(1);
    assert!(heard[0].mail.is_none());
    let commands = heard[0].commands.join("\n");
    assert!(
        !commands.contains("AUTH") && !commands.contains("RCPT"),
        "{commands}"
    );
    assert_eq!(outbox.notes("sent"), 0);
    assert_eq!(
        estate.count("door.tasks WHERE kind = 'mail_page' AND done_at IS NULL"),
        1,
        "it is tried again"
    );
}
