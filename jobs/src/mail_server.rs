//! Mails handed to a mail server over SMTP: encrypted, or to a server on this machine itself.
use std::fmt;
use std::time::Duration;

use lettre::address::Envelope;
use lettre::transport::smtp::authentication::Credentials;
use lettre::transport::smtp::client::{Tls, TlsParameters};
use lettre::{Address, SmtpTransport, Transport};

/// How long the other side may take for one answer.
const PATIENCE: Duration = Duration::from_secs(20);
/// The port where encryption begins with the first byte (RFC 8314).
const ENCRYPTED: u16 = 465;

/// How what is said to the server is kept from others.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Secrecy {
    /// Encrypted from the first byte.
    Tls,
    /// Encrypted before anything of the mail or the sign-in is said; a server that will not is not used.
    StartTls,
    /// In clear, for a server on this machine.
    OnThisMachine,
}

/// A word that is never printed.
#[derive(Clone, PartialEq, Eq)]
pub struct Secret(pub String);

impl fmt::Debug for Secret {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("(not shown)")
    }
}

/// The server mails are handed to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MailServer {
    /// Its name, as its certificate has it.
    pub host: String,
    /// Its port.
    pub port: u16,
    /// How it is spoken to.
    pub secrecy: Secrecy,
    /// Name and password, if it wants them.
    pub login: Option<(String, Secret)>,
}

/// Why a mail was not taken.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Refusal {
    /// As it stands it never will be: the server said so, or its address is none.
    ForGood(String),
    /// It may be later: the server is not there, is busy, or will not encrypt.
    ForNow(String),
}

impl Refusal {
    /// An answer that begins with 5 forbids asking the same again (RFC 5321, 4.2.1).
    fn of(error: &lettre::transport::smtp::Error) -> Self {
        if error.is_permanent() {
            Self::ForGood(error.to_string())
        } else {
            Self::ForNow(error.to_string())
        }
    }
}

fn address(text: &str) -> Result<Address, String> {
    text.parse()
        .map_err(|e| format!("“{text}” is not an address: {e}"))
}

impl MailServer {
    /// Whether mails can come from this address: one, and not this machine's own where the server is another's, who
    /// could send nothing back there.
    ///
    /// # Errors
    /// A sentence that says what would pass.
    pub fn takes_from(&self, from: &str) -> Result<(), String> {
        let known =
            address(from).map_err(|why| format!("{why}; say one such as heat@estate.example."))?;
        let here = known.domain() == "localhost" && self.secrecy != Secrecy::OnThisMachine;
        if here || !from.is_ascii() {
            return Err(format!(
                "{self} can send nothing back to “{from}”: say an address such as heat@estate.example."
            ));
        }
        Ok(())
    }

    /// Reads `HOST:PORT`; the port says how it is spoken to.
    ///
    /// # Errors
    /// A sentence that says what would pass.
    pub fn read(place: &str, login: Option<(String, Secret)>) -> Result<Self, String> {
        let wrong = || {
            format!(
                "“{place}” is no mail server: say its name and port, such as mail.example:587 or mail.example:465."
            )
        };
        let (host, port) = place.trim().rsplit_once(':').ok_or_else(wrong)?;
        let host = host.trim_start_matches('[').trim_end_matches(']');
        let port: u16 = port.parse().ok().ok_or_else(wrong)?;
        if host.is_empty() || host.contains(['/', '@', ' ']) || port == 0 {
            return Err(wrong());
        }
        let secrecy = match host {
            "localhost" | "127.0.0.1" | "::1" => Secrecy::OnThisMachine,
            _ if port == ENCRYPTED => Secrecy::Tls,
            _ => Secrecy::StartTls,
        };
        Ok(Self {
            host: host.to_owned(),
            port,
            secrecy,
            login,
        })
    }

    /// Hands over one whole mail; answers what the server said when it took it.
    pub(crate) fn send(&self, (from, to): (&str, &str), whole: &str) -> Result<String, Refusal> {
        let envelope = address(from)
            .and_then(|from| Ok((from, address(to)?)))
            .and_then(|(from, to)| Envelope::new(Some(from), vec![to]).map_err(|e| e.to_string()))
            .map_err(Refusal::ForGood)?;
        let certificates = || self.certificates().map_err(Refusal::ForNow);
        let tls = match self.secrecy {
            Secrecy::Tls => Tls::Wrapper(certificates()?),
            Secrecy::StartTls => Tls::Required(certificates()?),
            Secrecy::OnThisMachine => Tls::None,
        };
        // Nothing is sent in clear by mistake: `tls` is stated above in every case.
        let mut server = SmtpTransport::builder_dangerous(&self.host)
            .port(self.port)
            .tls(tls)
            .timeout(Some(PATIENCE));
        if let Some((name, Secret(password))) = &self.login {
            server = server.credentials(Credentials::new(name.clone(), password.clone()));
        }
        let answer = server
            .build()
            .send_raw(&envelope, whole.as_bytes())
            .map_err(|e| Refusal::of(&e))?;
        Ok(answer.message().collect::<Vec<_>>().join(" "))
    }

    fn certificates(&self) -> Result<TlsParameters, String> {
        TlsParameters::new(self.host.clone()).map_err(|e| e.to_string())
    }
}

impl fmt::Display for MailServer {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}", self.host, self.port)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_place_says_how_the_server_is_spoken_to() {
        for (place, host, port, secrecy) in [
            ("mail.example:465", "mail.example", 465, Secrecy::Tls),
            ("mail.example:587", "mail.example", 587, Secrecy::StartTls),
            (" mail.example:25 ", "mail.example", 25, Secrecy::StartTls),
            ("localhost:25", "localhost", 25, Secrecy::OnThisMachine),
            ("[::1]:2525", "::1", 2525, Secrecy::OnThisMachine),
        ] {
            let read = MailServer::read(place, None).unwrap();
            assert_eq!(
                (read.host.as_str(), read.port, read.secrecy),
                (host, port, secrecy)
            );
        }
        for wrong in [
            "mail.example",
            "mail.example:",
            ":25",
            "a b:25",
            "x:0",
            "smtp://x:25",
        ] {
            assert!(MailServer::read(wrong, None).is_err(), "{wrong}");
        }
    }

    #[test]
    fn mails_come_from_an_address_that_can_be_answered() {
        let server = |place: &str| MailServer::read(place, None).unwrap();
        let elsewhere = server("mail.example:587");
        assert_eq!(elsewhere.takes_from("heat@estate.example"), Ok(()));
        assert_eq!(
            server("localhost:25").takes_from("riserward@localhost"),
            Ok(())
        );
        for wrong in [
            "",
            "heat",
            "@estate.example",
            "heat@",
            "Heat <heat@estate.example>",
            "heat@estate.example, other@estate.example",
            "heat@estate.example\r\nBcc: all@estate.example",
            "hèat@estate.example",
            "riserward@localhost",
        ] {
            assert!(elsewhere.takes_from(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn a_password_is_never_printed() {
        let login = Some(("desk".to_owned(), Secret("hunter2".to_owned())));
        let server = MailServer::read("mail.example:587", login).unwrap();
        assert!(!format!("{server:?} {server}").contains("hunter2"));
    }
}
