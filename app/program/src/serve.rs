//! `serve` and `work`: opens everything, says where it listens, and closes everything in the right order.
use std::net::{IpAddr, Ipv4Addr, Ipv6Addr, SocketAddr, TcpListener, TcpStream};
use std::sync::mpsc::{self, RecvTimeoutError};
use std::time::{Duration, Instant};

use crate::backup;
use crate::cluster::Stay;
use crate::commands::Serve;
use crate::data::{DataFolder, Held, write_whole};
use crate::database::Database;
use crate::demo;
use crate::settings::{PORT, Settings};
use crate::tls;
use crate::trouble::Trouble;
use crate::wiring::{self, Pages};

/// How often the cluster is looked after.
const ROUND: Duration = Duration::from_millis(500);
/// How long the server may take to answer the first knock.
const FIRST_KNOCK: Duration = Duration::from_mins(1);

/// Serves pages, and runs the background tasks unless told not to, until stopped.
pub fn serve(data: &DataFolder, settings: &Settings, wish: &Serve) -> Result<(), Trouble> {
    let pages = pages(wish)?;
    let only = only_one(data, settings)?;
    if matches!(only, Only::Taken) {
        return Ok(());
    }
    // Before anything is opened: what is stated wrongly is said at once.
    let mail = wiring::mail(data, settings, &own_address(&pages))?;
    port_is_free(SocketAddr::new(pages.address, pages.port))?;
    let database = Database::open(data, settings, Stay::Long)?;
    if wish.demo {
        demo::clear_unfinished(data, &database)?;
    }
    let addresses = database.addresses();
    wiring::migrate_if_owner(&addresses)?;
    let world = wiring::world(&addresses)?;
    if wish.demo {
        demo::fill_if_empty(data, &world)?;
    }
    let sign_ins = wiring::demo_sign_ins(&world)?;
    let outside = !pages.address.is_loopback();
    if outside && !sign_ins.is_empty() {
        return Err(Trouble::new(
            "The demo sign-ins are known to everybody and this address can be reached by others: serve on 127.0.0.1, or use a data folder without the demo estate.",
        ));
    }
    announce_when_up(data, &pages, sign_ins);
    let run = wiring::Run {
        pages: Some(pages),
        tasks: !wish.no_work,
        mail,
        reader: wiring::reader(data),
    };
    let dump = (!wish.throw_away).then_some(data);
    let outcome = until_stopped(settings, world, run, (database, dump));
    if let Err(error) = std::fs::remove_file(data.running()) {
        tracing::debug!(%error, "no note to remove");
    }
    drop(only);
    outcome
}

/// Runs background tasks only, until stopped.
pub fn work(data: &DataFolder, settings: &Settings) -> Result<(), Trouble> {
    let mail = wiring::mail(data, settings, &format!("http://127.0.0.1:{PORT}"))?;
    let database = Database::open(data, settings, Stay::Long)?;
    let world = wiring::world(&database.addresses())?;
    println!("Background tasks run here until you stop them with Ctrl-C.");
    let run = wiring::Run {
        pages: None,
        tasks: true,
        mail,
        reader: wiring::reader(data),
    };
    until_stopped(settings, world, run, (database, None))
}

/// Where pages are to be served, refused where others could listen in.
fn pages(wish: &Serve) -> Result<Pages, Trouble> {
    let safe = wish.cert.is_some() || wish.trusted_proxy.is_some();
    if !wish.address.is_loopback() && !safe {
        return Err(Trouble::new(format!(
            "On {} others could read what is sent: name a certificate with --cert and --key, or the proxy that speaks HTTPS with --trusted-proxy, or serve on 127.0.0.1.",
            wish.address
        )));
    }
    let certificate = match (&wish.cert, &wish.key) {
        (Some(cert), Some(key)) => Some(tls::read(cert, key)?),
        _ => None,
    };
    Ok(Pages {
        address: wish.address,
        port: wish.port,
        certificate,
        trusted_proxy: wish.trusted_proxy,
    })
}

/// Whether this process may serve from the data folder.
enum Only {
    /// Yes, alone, as long as the lock is held.
    Held(#[expect(dead_code, reason = "the lock lives as long as this value")] Held),
    /// Yes, beside others: the server is foreign and the data folder holds no data.
    Shared,
    /// No: another `serve` runs.
    Taken,
}

/// One `serve` a data folder; a second one says where the first is. Several may share a foreign server.
fn only_one(data: &DataFolder, settings: &Settings) -> Result<Only, Trouble> {
    if settings.database_url.is_some() {
        return Ok(Only::Shared);
    }
    if let Some(held) = data.try_alone("program")? {
        return Ok(Only::Held(held));
    }
    let running = std::fs::read_to_string(data.running())
        .ok()
        .and_then(|text| serde_json::from_str::<serde_json::Value>(&text).ok());
    match running
        .as_ref()
        .map(|note| (note["address"].as_str(), note["process"].as_u64()))
    {
        Some((Some(address), Some(process))) => println!(
            "Riserward is already running: {address}\nStop it with Ctrl-C in its window, or with: kill {process}"
        ),
        _ => println!("Riserward is already starting in another window."),
    }
    Ok(Only::Taken)
}

fn port_is_free(place: SocketAddr) -> Result<(), Trouble> {
    use std::io::ErrorKind::{AddrInUse, AddrNotAvailable, PermissionDenied};
    let Err(error) = TcpListener::bind(place) else {
        return Ok(());
    };
    let port = place.port();
    Err(Trouble::new(match error.kind() {
        AddrInUse => format!(
            "Port {port} is in use by another program: choose another, for example --port {}.",
            port.checked_add(1).unwrap_or(PORT)
        ),
        PermissionDenied => format!(
            "Port {port} may not be used by this user: choose one above 1023, for example --port {PORT}."
        ),
        AddrNotAvailable => format!(
            "{} is not an address of this machine: leave --address out, or name one that is.",
            place.ip()
        ),
        _ => format!(
            "Port {port} on {} cannot be opened ({error}): choose another with --port.",
            place.ip()
        ),
    }))
}

/// Waits in the background until the server answers, then says where.
fn announce_when_up(data: &DataFolder, pages: &Pages, sign_ins: Vec<wiring::SignIn>) {
    let knock = SocketAddr::new(reachable(pages.address), pages.port);
    let address = format!("{}/", own_address(pages));
    let data = data.clone();
    std::thread::spawn(move || {
        let begun = Instant::now();
        while TcpStream::connect_timeout(&knock, ROUND).is_err() {
            if begun.elapsed() > FIRST_KNOCK {
                return;
            }
            std::thread::sleep(Duration::from_millis(20));
        }
        let note = serde_json::json!({ "address": address, "process": std::process::id() });
        if let Err(trouble) = write_whole(&data.running(), note.to_string().as_bytes()) {
            tracing::warn!(%trouble, "could not leave a note of where we listen");
        }
        println!("\nRiserward is running: {address}");
        demo::print_sign_ins(&sign_ins);
        println!("Data: {}\nStop with Ctrl-C.", data.root().display());
    });
}

/// Where this machine itself reaches the pages, without a slash at the end.
fn own_address(pages: &Pages) -> String {
    let place = SocketAddr::new(reachable(pages.address), pages.port);
    let scheme = if pages.certificate.is_some() {
        "https"
    } else {
        "http"
    };
    format!("{scheme}://{place}")
}

/// An address a browser of this machine can open, where the server listens on all of them.
fn reachable(address: IpAddr) -> IpAddr {
    match address {
        IpAddr::V4(v4) if v4.is_unspecified() => Ipv4Addr::LOCALHOST.into(),
        IpAddr::V6(v6) if v6.is_unspecified() => Ipv6Addr::LOCALHOST.into(),
        other => other,
    }
}

/// Pages and tasks run on threads of their own; this, the main thread, looks after the cluster: the tie
/// between program and server is to the thread that started the server. With `dump` a dump is left there at the end.
fn until_stopped(
    settings: &Settings,
    world: wiring::World,
    run: wiring::Run,
    (mut database, dump): (Database, Option<&DataFolder>),
) -> Result<(), Trouble> {
    let (tell, told) = mpsc::channel();
    let wish = settings.clone();
    std::thread::spawn(move || tell.send(wiring::run(world, run, &wish)));
    let outcome = loop {
        match told.recv_timeout(ROUND) {
            Ok(outcome) => break outcome,
            Err(RecvTimeoutError::Timeout) => match database.keep() {
                Ok(true) => tracing::warn!("the database server had died and was started again"),
                Ok(false) => {}
                Err(trouble) => break Err(trouble),
            },
            Err(RecvTimeoutError::Disconnected) => {
                break Err(Trouble::new(
                    "The program broke off; the reason is in the log in the data folder.",
                ));
            }
        }
    };
    if let (Some(data), Database::Private(cluster)) = (dump, &database) {
        println!(
            "Stopping; a dump of the data is left in {}.",
            data.backups().display()
        );
        if let Err(trouble) = backup::at_stop(data, cluster) {
            eprintln!("No dump was left: {trouble}");
        }
    }
    let closed = database.close();
    outcome.and(closed)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_taken_port_is_named_with_a_way_out() {
        let taken = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).unwrap();
        let place = taken.local_addr().unwrap();
        let sentence = port_is_free(place).unwrap_err().to_string();
        assert!(
            sentence.contains("in use") && sentence.contains("--port"),
            "{sentence}"
        );
        drop(taken);
        assert!(port_is_free(place).is_ok());
    }
}
