//! `demo --phone`: the demo estate for the phones of this network, on data and under a certificate that are thrown away.
use std::fs;
use std::net::{IpAddr, Ipv4Addr, SocketAddr, UdpSocket};
use std::path::{Path, PathBuf};

use qrcode::QrCode;
use qrcode::render::unicode::Dense1x2;

use crate::commands::{Demo, Serve};
use crate::data::{DataFolder, write_whole};
use crate::database::with_database;
use crate::serve;
use crate::settings::Settings;
use crate::trouble::{Explained, Trouble};
use crate::wiring;

/// Serves a fresh demo estate on the network until stopped, then throws it away.
///
/// The sign-ins everybody knows stay on loopback: here the people get a password made for this one showing.
pub fn show(data: &DataFolder, settings: &Settings, wish: &Demo) -> Result<(), Trouble> {
    if settings.database_url.is_some() {
        return Err(Trouble::new(
            "The demo for a phone is made anew and thrown away, so it uses no server of yours: leave DATABASE_URL out.",
        ));
    }
    let address = wish.address.map_or_else(own_address, Ok)?;
    let Some(alone) = data.try_alone("phone")? else {
        return Err(Trouble::new(
            "The demo is being shown to a phone already: stop it in its window first.",
        ));
    };
    let folder = data.root().join("phone");
    throw_away(&folder)?;
    let fresh = DataFolder::open(&folder)?;
    let outcome = show_from(&fresh, settings, (address, wish.port));
    throw_away(&folder)?;
    drop(alone);
    outcome
}

fn show_from(
    data: &DataFolder,
    settings: &Settings,
    (address, port): (IpAddr, u16),
) -> Result<(), Trouble> {
    let (cert, key) = certificate(data, address)?;
    let password = password();
    println!("Making the demo estate, nine years of it.");
    let people = with_database(data, settings, |database| {
        wiring::migrate_if_owner(&database.addresses())?;
        wiring::fill_demo_for(&wiring::world(&database.addresses())?, &password)
    })?;
    println!("{}", invitation(address, port)?);
    println!("Sign in with the password {password} as");
    for person in people {
        println!("  {:<28} {}", person.name, person.who);
    }
    println!("The phone warns of the certificate: it was made for this showing alone.");
    let wish = Serve {
        port,
        address,
        cert: Some(cert),
        key: Some(key),
        trusted_proxy: None,
        no_work: false,
        demo: false,
        throw_away: true,
    };
    serve::serve(data, settings, &wish)
}

fn throw_away(folder: &Path) -> Result<(), Trouble> {
    match fs::remove_dir_all(folder) {
        Err(error) if error.kind() != std::io::ErrorKind::NotFound => {
            Err(Trouble::at(folder, "removed", &error))
        }
        _ => Ok(()),
    }
}

/// The address other machines of the network know this one by. Nothing is sent: the system only picks the way out
/// towards an address reserved for documentation (RFC 5737).
fn own_address() -> Result<IpAddr, Trouble> {
    let advice = "name this machine’s address on the network with --address.";
    let socket = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0))
        .explained("No network is open to this program", advice)?;
    socket.connect((Ipv4Addr::new(192, 0, 2, 1), 9)).explained(
        "This machine is on no network that a phone could reach",
        advice,
    )?;
    let own = socket
        .local_addr()
        .explained("The address of this machine is not known", advice)?
        .ip();
    if own.is_loopback() || own.is_unspecified() {
        return Err(Trouble::new(format!(
            "This machine is on no network that a phone could reach: join one, or {advice}"
        )));
    }
    Ok(own)
}

/// A certificate for this address that nobody vouches for, and its key.
fn certificate(data: &DataFolder, address: IpAddr) -> Result<(PathBuf, PathBuf), Trouble> {
    let made = rcgen::generate_simple_self_signed(vec![address.to_string()])
        .explained("No certificate could be made", "try another --address.")?;
    let (cert, key) = (data.root().join("cert.pem"), data.root().join("key.pem"));
    write_whole(&cert, made.cert.pem().as_bytes())?;
    write_whole(&key, made.signing_key.serialize_pem().as_bytes())?;
    Ok((cert, key))
}

/// Three groups of four, easy to type with a thumb: 48 bits from the system.
fn password() -> String {
    let random = uuid::Uuid::new_v4().simple().to_string();
    format!("{}-{}-{}", &random[..4], &random[4..8], &random[20..24])
}

/// The address in words and as a picture for the camera.
fn invitation(address: IpAddr, port: u16) -> Result<String, Trouble> {
    let address = format!("https://{}/", SocketAddr::new(address, port));
    let code = QrCode::new(address.as_bytes())
        .explained("The address could not be drawn", "type it instead.")?;
    let drawn = code.render::<Dense1x2>().quiet_zone(true).build();
    Ok(format!(
        "{drawn}\n\nOpen {address} on a phone of this network."
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_invitation_says_the_address_and_draws_it() {
        let said = invitation("192.0.2.7".parse().unwrap(), 7141).unwrap();
        assert!(said.contains("https://192.0.2.7:7141/"), "{said}");
        assert!(said.lines().count() > 12, "{said}");
    }

    #[test]
    fn passwords_differ_and_can_be_typed() {
        let (one, other) = (password(), password());
        assert_ne!(one, other);
        assert_eq!(one.len(), 14);
        assert!(one.chars().all(|c| c.is_ascii_hexdigit() || c == '-'));
    }
}
