//! From a request to who asks: the session cookie, the person behind it, and the seat they take.
use std::future::Future;
use std::pin::Pin;

use actix_web::dev::Payload;
use actix_web::{FromRequest, HttpRequest, web};
use terms::{Person, Role};
use usecases::door::Token;
use usecases::{Error, Seat};
use wording::{Shell, Theme, UndoBar, Voice};

use crate::Failure;
use crate::state::{State, ask};
use crate::when;

/// Somebody signed in.
#[derive(Clone, Debug)]
pub(crate) struct Visitor {
    /// Who.
    pub person: Person,
    /// Their session.
    pub token: Token,
    said: Option<UndoBar>,
    theme: Theme,
}

/// The managing agent's desk, with a supervisor and the out-of-hours desk.
#[derive(Clone, Debug)]
pub(crate) struct Desk {
    /// The seat.
    pub seat: Seat,
    visitor: Visitor,
}

/// A contractor on the road, or the firm's office: one seat for each estate.
#[derive(Clone, Debug)]
pub(crate) struct Road {
    /// The seats; never empty.
    pub seats: Vec<Seat>,
    visitor: Visitor,
}

/// A landlord.
#[derive(Clone, Debug)]
pub(crate) struct Owner {
    /// The seat.
    pub seat: Seat,
    visitor: Visitor,
}

/// Whoever may see the register: agent, landlord, or a contractor for what is theirs.
#[derive(Clone, Debug)]
pub(crate) struct Reader {
    /// The seat.
    pub seat: Seat,
    visitor: Visitor,
}

/// Whoever takes water temperatures: site staff, or the desk for them.
#[derive(Clone, Debug)]
pub(crate) struct Walker {
    /// The seat.
    pub seat: Seat,
    visitor: Visitor,
}

/// Whoever may read the water temperature log: who takes the temperatures, and the building's landlord.
#[derive(Clone, Debug)]
pub(crate) struct LogReader {
    /// The seat.
    pub seat: Seat,
    visitor: Visitor,
}

/// The name of the session cookie, by whether HTTPS stands before us.
pub(crate) fn cookie_name(secure: bool) -> &'static str {
    if secure {
        "__Host-riserward"
    } else {
        "riserward"
    }
}

impl Visitor {
    async fn from(request: HttpRequest) -> Result<Self, Failure> {
        let state = request
            .app_data::<web::Data<State>>()
            .cloned()
            .ok_or_else(|| Failure(Error::Internal("no state".to_owned())))?;
        let token = request
            .cookie(cookie_name(state.secure))
            .map(|c| Token(c.value().to_owned()));
        let Some(token) = token else {
            return Err(Failure::sign_in_first(&request));
        };
        let looked = token.clone();
        let person = ask(&state, move |world| usecases::door::person(world, &looked))
            .await
            .map_err(Failure)?;
        let Some(person) = person else {
            return Err(Failure::sign_in_first(&request));
        };
        let theme = match request
            .cookie("theme")
            .as_ref()
            .map(|c| c.value().to_owned())
            .as_deref()
        {
            Some("light") => Theme::Light,
            Some("dark") => Theme::Dark,
            _ => Theme::System,
        };
        Ok(Self {
            person,
            token,
            said: crate::page::read_said(&request),
            theme,
        })
    }

    /// The frame of a page in `voice`, with the masthead entry `here`.
    pub(crate) fn shell(&self, voice: Voice, here: &'static str, estate: &str) -> Shell {
        Shell {
            person_name: self.person.name.clone(),
            voice,
            here,
            estate_name: estate.to_owned(),
            today_words: String::new(),
            undo: self.said.clone(),
            demo: self.person.demo,
            theme: self.theme,
        }
    }

    /// The visitor's seats in these roles: a contractor has one for each estate.
    pub(crate) fn seats(&self, roles: &[Role]) -> Vec<Seat> {
        Seat::all(&self.person, roles)
    }

    /// The frame of a page in the voice of one of the visitor's seats.
    pub(crate) fn shell_as(&self, state: &State, seat: &Seat, here: &'static str) -> Shell {
        let voice = match seat.role() {
            Role::Landlord => Voice::Landlord,
            Role::Contractor | Role::Office => Voice::Contractor,
            Role::Site => Voice::Site,
            _ => Voice::Agent,
        };
        Shell {
            today_words: when::now_words(state.world.now()),
            ..self.shell(voice, here, seat.estate_name())
        }
    }
}

macro_rules! from_request {
    ($name:ident, $body:expr) => {
        impl FromRequest for $name {
            type Error = Failure;
            type Future = Pin<Box<dyn Future<Output = Result<Self, Failure>>>>;

            fn from_request(request: &HttpRequest, _payload: &mut Payload) -> Self::Future {
                let request = request.clone();
                Box::pin(async move {
                    let visitor = Visitor::from(request).await?;
                    let make: fn(Visitor) -> Result<Self, Error> = $body;
                    make(visitor).map_err(Failure)
                })
            }
        }
    };
}

from_request!(Visitor, Ok);
from_request!(Desk, |visitor| {
    let seat = Seat::first(
        &visitor.person,
        &[Role::Agent, Role::Supervisor, Role::OutOfHours],
    )?;
    Ok(Desk { seat, visitor })
});
from_request!(Road, |visitor| {
    let seats = Seat::all(&visitor.person, &[Role::Contractor, Role::Office]);
    if seats.is_empty() {
        return Err(Error::Forbidden("not a contractor"));
    }
    Ok(Road { seats, visitor })
});
from_request!(Owner, |visitor| {
    let seat = Seat::first(&visitor.person, &[Role::Landlord])?;
    Ok(Owner { seat, visitor })
});
from_request!(Walker, |visitor| {
    let seat = Seat::first(
        &visitor.person,
        &[Role::Site, Role::Agent, Role::Supervisor],
    )?;
    Ok(Walker { seat, visitor })
});
from_request!(LogReader, |visitor| {
    let seat = Seat::first(
        &visitor.person,
        &[Role::Agent, Role::Supervisor, Role::Landlord, Role::Site],
    )?;
    Ok(LogReader { seat, visitor })
});
from_request!(Reader, |visitor| {
    let seat = Seat::first(
        &visitor.person,
        &[
            Role::Agent,
            Role::Supervisor,
            Role::OutOfHours,
            Role::Landlord,
            Role::Contractor,
            Role::Office,
        ],
    )?;
    Ok(Reader { seat, visitor })
});

impl Desk {
    /// The frame of a desk page.
    pub(crate) fn shell(&self, state: &State, here: &'static str) -> Shell {
        let shell = self
            .visitor
            .shell(Voice::Agent, here, self.seat.estate_name());
        Shell {
            today_words: when::now_words(state.world.now()),
            ..shell
        }
    }
}

impl Road {
    /// The frame of a contractor's page.
    pub(crate) fn shell(&self, state: &State, here: &'static str) -> Shell {
        let estate = self.seats.first().map_or("", Seat::estate_name);
        let shell = self.visitor.shell(Voice::Contractor, here, estate);
        Shell {
            today_words: when::now_brief(state.world.now()),
            ..shell
        }
    }
}

impl Owner {
    /// The frame of a landlord's page.
    pub(crate) fn shell(&self, state: &State, here: &'static str) -> Shell {
        let shell = self
            .visitor
            .shell(Voice::Landlord, here, self.seat.estate_name());
        Shell {
            today_words: when::day_words(state.world.now()),
            ..shell
        }
    }
}

impl Walker {
    /// The frame of a page on the phone.
    pub(crate) fn shell(&self, state: &State) -> Shell {
        let shell = self
            .visitor
            .shell(Voice::Contractor, "temperatures", self.seat.estate_name());
        Shell {
            today_words: when::now_brief(state.world.now()),
            ..shell
        }
    }
}

impl LogReader {
    /// The frame of the log, in the reader's own voice.
    pub(crate) fn shell(&self, state: &State) -> Shell {
        let voice = match self.seat.role() {
            Role::Landlord => Voice::Landlord,
            Role::Site => Voice::Site,
            _ => Voice::Agent,
        };
        let shell = self
            .visitor
            .shell(voice, "temperatures", self.seat.estate_name());
        Shell {
            today_words: when::now_words(state.world.now()),
            ..shell
        }
    }
}

impl Reader {
    /// The frame of a page that agent and landlord share, in the reader's own voice.
    pub(crate) fn shell(&self, state: &State, here: &'static str) -> Shell {
        self.visitor.shell_as(state, &self.seat, here)
    }
}
