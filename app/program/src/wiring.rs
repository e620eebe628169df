//! Joins the rooms: the only place that names them all.
use std::net::IpAddr;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use store::Acting;
use store::audit::ChainVerdict;
use terms::EstateId;
use tokio::signal::unix::{SignalKind, signal};

use crate::clock::WorldClock;
use crate::cluster::Addresses;
use crate::cluster::server::OLDEST;
use crate::data::DataFolder;
use crate::settings::{PAPERS, Settings};
use crate::trouble::{Explained, Trouble};

pub use store::keeping::Counts;
use usecases::Seat;
pub use usecases::World;
pub use usecases::door::DEMO_PASSWORD;

/// Connections of one process: pages use twice as many blocking threads, tasks a few more.
const CONNECTIONS: u32 = 16;
const SIGNALS: &str = "The system lets this program hear no signals";

/// Where and how pages are served.
#[derive(Debug, Clone)]
pub struct Pages {
    /// The address to listen on.
    pub address: IpAddr,
    /// The port to listen on.
    pub port: u16,
    /// Certificate and key, for HTTPS.
    pub certificate: Option<Arc<rustls::ServerConfig>>,
    /// The proxy whose word about the caller is believed.
    pub trusted_proxy: Option<IpAddr>,
}

/// What runs in this process.
#[derive(Debug)]
pub struct Run {
    /// Pages, if they are served here.
    pub pages: Option<Pages>,
    /// Whether background tasks run here.
    pub tasks: bool,
    /// Where mails are written.
    pub mail: jobs::Mail,
    /// What reads the lists that are sent.
    pub reader: Option<jobs::ListReader>,
}

/// This program again, which reads lists in a process of its own.
pub fn reader(data: &DataFolder) -> Option<jobs::ListReader> {
    let program = std::env::current_exe();
    match program {
        Ok(program) => Some(jobs::ListReader {
            program,
            folder: data.being_read(),
            memory_kib: jobs::MEMORY_KIB,
            time: jobs::TIME,
        }),
        Err(error) => {
            tracing::error!(%error, "this program does not know where it lies, so lists are read without limits");
            None
        }
    }
}

/// The program that sets papers: named in the settings, else beside this one. It may be built later than this one.
fn typesetter(settings: &Settings) -> Option<Arc<dyn web::Typesetter>> {
    let beside = || Some(std::env::current_exe().ok()?.with_file_name(PAPERS));
    let program = settings.papers.clone().or_else(beside)?;
    Some(Arc::new(jobs::PaperProcess::new(program)))
}

/// Where mails are written, where their links lead and who takes them on; `here` is where this machine itself reaches
/// the pages.
pub fn mail(data: &DataFolder, settings: &Settings, here: &str) -> Result<jobs::Mail, Trouble> {
    let pages = settings.pages.as_deref().unwrap_or(here);
    let login = match &settings.mail_login {
        (Some(user), Some(password)) => Some((user.clone(), password.clone())),
        (None, None) => None,
        (None, Some(_)) => {
            return Err(Trouble::new(
                "RISERWARD_MAIL_PASSWORD is set, but no RISERWARD_MAIL_USER it belongs to: set both or neither.",
            ));
        }
        (Some(_), None) => {
            return Err(Trouble::new(
                "RISERWARD_MAIL_USER is set, but no RISERWARD_MAIL_PASSWORD: set both or neither.",
            ));
        }
    };
    let server = settings
        .mail_server
        .as_deref()
        .map(|place| jobs::MailServer::read(place, login))
        .transpose()
        .map_err(|sentence| Trouble::new(format!("RISERWARD_MAIL_SERVER: {sentence}")))?;
    if let Some(server) = &server {
        server
            .takes_from(&settings.mail_from)
            .map_err(|sentence| Trouble::new(format!("RISERWARD_MAIL_FROM: {sentence}")))?;
    }
    Ok(jobs::Mail {
        outbox: data.outbox(),
        pages: pages.trim_end_matches('/').to_owned(),
        from: settings.mail_from.clone(),
        server,
    })
}

/// One of the demo people.
#[derive(Debug)]
pub struct SignIn {
    /// The person's name.
    pub who: String,
    /// What to type as name.
    pub name: String,
}

/// Brings the tables up to date as their owner; the number of steps taken. A foreign server whose owner is not named
/// is left to whoever runs `migrate` there.
pub fn migrate_if_owner(addresses: &Addresses) -> Result<usize, Trouble> {
    addresses.owner.as_deref().map_or(Ok(0), migrate)
}

/// Brings the tables up to date under a role that owns them; the number of steps taken.
pub fn migrate(owner: &str) -> Result<usize, Trouble> {
    new_enough(owner)?;
    store::migrate(owner).explained(
        "The tables could not be brought up to date",
        "connect as the role that owns them (RISERWARD_OWNER_URL), and look whether this program is older than the data.",
    )
}

fn new_enough(url: &str) -> Result<(), Trouble> {
    let major = store::keeping::major_version(url).map_err(unreachable)?;
    if major >= OLDEST {
        return Ok(());
    }
    Err(Trouble::new(format!(
        "The database server is PostgreSQL {major}, which is too old: use version {OLDEST} or newer."
    )))
}

/// Opens the pool under the role of `serve` and `work`, and refuses a role that row-level security does not bind.
pub fn world(addresses: &Addresses) -> Result<World, Trouble> {
    new_enough(&addresses.app)?;
    let pool = store::connect(&addresses.app, CONNECTIONS).map_err(unreachable)?;
    store::refuse_unsafe_role(&pool).map_err(|error| Trouble::new(error.to_string()))?;
    Ok(World {
        pool,
        clock: Arc::new(WorldClock),
    })
}

/// The client library answers in several lines; a sentence has one.
fn unreachable(error: store::Error) -> Trouble {
    let said = error.to_string();
    let words: Vec<&str> = said
        .split_whitespace()
        .filter(|word| *word != ".")
        .collect();
    Trouble::new(format!(
        "{} Check that the server runs and that DATABASE_URL names it rightly, or leave DATABASE_URL out to use a private database.",
        words.join(" ")
    ))
}

/// Whether the database holds no estate yet.
pub fn holds_no_estate(world: &World) -> Result<bool, Trouble> {
    estates(world)
        .map(|estates| estates.is_empty())
        .map_err(unreachable)
}

/// Fills a database that holds no estate with the demo; true when it did.
pub fn fill_demo(world: &World) -> Result<bool, Trouble> {
    let made = seed_demo::fill(world).explained(
        "The demo estate could not be made",
        "see the log in the data folder.",
    )?;
    if let Some(made) = made {
        println!(
            "The demo estate is in: {} buildings, {} units.",
            made.buildings, made.units
        );
    }
    Ok(made.is_some())
}

/// Fills an empty database with the demo, its people signing in with a password of its own.
pub fn fill_demo_for(world: &World, password: &str) -> Result<Vec<SignIn>, Trouble> {
    let sign_in = seed_demo::SignIn::with_password(password.to_owned());
    seed_demo::fill_for(world, &sign_in).explained(
        "The demo estate could not be made",
        "see the log in the data folder.",
    )?;
    let people = [
        ("the managing agent", seed_demo::AGENT),
        ("the engineer", seed_demo::CONTRACTOR),
        ("the landlord", seed_demo::LANDLORD),
        ("site staff", seed_demo::SITE),
    ];
    Ok(people
        .map(|(who, name)| SignIn {
            who: who.to_owned(),
            name: name.to_owned(),
        })
        .into())
}

/// The demo people who may sign in here; none without the demo estate.
pub fn demo_sign_ins(world: &World) -> Result<Vec<SignIn>, Trouble> {
    let people = usecases::door::demo_people(world).explained(
        "The demo people could not be read",
        "see the log in the data folder.",
    )?;
    Ok(people
        .into_iter()
        .map(|(name, who)| SignIn { who, name })
        .collect())
}

/// Serves pages and runs tasks until a signal asks to stop.
pub fn run(world: World, run: Run, settings: &Settings) -> Result<(), Trouble> {
    let stop = Arc::new(AtomicBool::new(false));
    let tasks = run.tasks.then(|| {
        let (world, stop) = (world.clone(), Arc::clone(&stop));
        let wish = jobs::Settings {
            bank_holidays_url: settings.holidays_url.clone(),
            worker: format!("process {}", std::process::id()),
            mail: Some(run.mail.clone()),
            reader: run.reader.clone(),
        };
        std::thread::spawn(move || jobs::run(world, wish, stop))
    });
    let outcome = until_asked_to_stop(world, run.pages, typesetter(settings));
    stop.store(true, Ordering::SeqCst);
    if let Some(tasks) = tasks
        && tasks.join().is_err()
    {
        tracing::error!("the background tasks broke off");
    }
    outcome
}

fn until_asked_to_stop(
    world: World,
    pages: Option<Pages>,
    typesetter: Option<Arc<dyn web::Typesetter>>,
) -> Result<(), Trouble> {
    actix_web::rt::System::new().block_on(async move {
        let mut closed = signal(SignalKind::hangup()).explained(SIGNALS, "start again.")?;
        let Some(pages) = pages else {
            let mut asked = signal(SignalKind::terminate()).explained(SIGNALS, "start again.")?;
            tokio::select! {
                _ = closed.recv() => {}
                _ = asked.recv() => {}
                _ = tokio::signal::ctrl_c() => {}
            }
            return Ok(());
        };
        let options = web::Options {
            address: pages.address,
            port: pages.port,
            certificate: pages.certificate,
            trusted_proxy: pages.trusted_proxy,
            workers: std::thread::available_parallelism().map_or(2, std::num::NonZero::get),
            typesetter,
        };
        let (server, _) = web::server(world, options).explained(
            "The port could not be opened",
            "choose another with --port.",
        )?;
        let handle = server.handle();
        // The server itself stops on Ctrl-C and on the usual request to end; a closed terminal is ours to hear.
        actix_web::rt::spawn(async move {
            closed.recv().await;
            handle.stop(true).await;
        });
        server
            .await
            .explained("The server broke off", "see the log in the data folder.")
    })
}

/// Verifies the record of who did what, estate by estate.
pub fn check(world: &World) -> Result<(), Trouble> {
    let advice = "run `riserward migrate` first if the database is new.";
    let read = "The record could not be read";
    let estates: Vec<_> = estates(world).explained(read, advice)?;
    if estates.is_empty() {
        println!("The database holds no estate yet, so there is nothing to check.");
    }
    let mut broken = Vec::new();
    for (estate, name, _) in estates {
        let acting = Acting {
            estate,
            who: usecases::THE_PROGRAM,
            at: world.now(),
        };
        let verdict: Result<ChainVerdict, store::Error> = verdict(world, acting);
        match verdict.explained(read, advice)? {
            ChainVerdict::Whole {
                entries,
                head,
                stripped,
            } => {
                println!(
                    "{name}: whole, {entries} entries ({stripped} with the text taken out), head {head}"
                );
            }
            ChainVerdict::BrokenAt(n) => {
                println!("{name}: broken at entry {n}");
                broken.push(name);
            }
        }
    }
    if broken.is_empty() {
        return Ok(());
    }
    Err(Trouble::new(format!(
        "The record of {} was changed outside the program: keep this data folder as it is and compare with the dumps in backup/.",
        broken.join(", ")
    )))
}

#[expect(
    clippy::redundant_closure_for_method_calls,
    reason = "the method alone is not general enough over the transaction's lifetime"
)]
fn estates(world: &World) -> Result<Vec<(EstateId, String, bool)>, store::Error> {
    world.pool.at_door(|door| door.estates())
}

#[expect(
    clippy::redundant_closure_for_method_calls,
    reason = "the method alone is not general enough over the transaction's lifetime"
)]
fn verdict(world: &World, acting: Acting) -> Result<ChainVerdict, store::Error> {
    world.pool.acting(acting, |tx| tx.verify_chain())
}

/// The program's own seat in the estate named, or in the only one.
pub fn seat(world: &World, named: Option<&str>) -> Result<Seat, Trouble> {
    let estates = estates(world).map_err(unreachable)?;
    let names = estates
        .iter()
        .map(|(_, name, _)| name.as_str())
        .collect::<Vec<_>>()
        .join(", ");
    let found = match (named, estates.as_slice()) {
        (Some(wanted), all) => all.iter().find(|(_, name, _)| name == wanted),
        (None, [only]) => Some(only),
        (None, _) => None,
    };
    found.map(|(id, name, _)| Seat::program(*id, name)).ok_or_else(|| {
        Trouble::new(match (named, names.is_empty()) {
            (_, true) => "The database holds no estate yet: found one first, or fill it with the demo (riserward demo).".to_owned(),
            (Some(wanted), _) => format!("There is no estate called {wanted}: name one of these with --estate: {names}."),
            (None, _) => format!("There are several estates: name one with --estate: {names}."),
        })
    })
}

/// A use case's refusal in words, or as JSON for a program that reads it.
pub fn sentence(error: &usecases::Error, as_json: bool) -> Trouble {
    let usecases::Error::Invalid(wrongs) = error else {
        return Trouble::new(error.to_string());
    };
    if as_json {
        let list: Vec<_> = wrongs
            .iter()
            .map(|wrong| serde_json::json!({ "field": wrong.field, "sentence": wrong.sentence }))
            .collect();
        println!("{}", serde_json::json!({ "refused": list }));
    }
    let words: Vec<&str> = wrongs.iter().map(|wrong| wrong.sentence.as_str()).collect();
    Trouble::new(words.join(" "))
}

/// Counts every table in one snapshot and, while that snapshot lives, hands its id and the counts to `work`.
pub fn counted<T>(keeper: &str, work: impl FnOnce(&str, &Counts) -> T) -> Result<T, Trouble> {
    store::keeping::counted(keeper, work).explained(
        "The rows could not be counted",
        "see that the database is up, then try again.",
    )
}
