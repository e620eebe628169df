//! What a role, or one person in it, may agree without asking; and above which sum a decision asks for the password again.
use chrono::NaiveDate;
use serde_json::json;
use store::Tx;
use terms::trade::Authority;
use terms::{Pence, Role};

use crate::{Error, Seat, World};

/// States what may be agreed from a day on; the former statement stays on record. It is the landlord's money, so the
/// landlord says it, or a supervisor for him; nobody states his own.
///
/// # Errors
/// [`Error::Forbidden`] for anybody else; [`Error::Invalid`] when a sum is below nothing or the emergency's is the
/// smaller one.
pub fn state_authority(
    world: &World,
    seat: &Seat,
    authority: Authority,
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&[Role::Landlord, Role::Supervisor])?;
    if authority.account == Some(seat.account()) {
        return Err(Error::Forbidden("nobody states his own authority"));
    }
    if authority.limit < Pence(0) {
        return Err(Error::field("limit", "A limit is nothing or more."));
    }
    if authority.emergency < authority.limit {
        return Err(Error::field(
            "emergency",
            "In an emergency at least as much may be agreed as on any day.",
        ));
    }
    world.acting(seat, |tx| {
        let said = (
            authority.role.code(),
            authority.account,
            authority.limit.0,
            authority.emergency.0,
            authority.from_on,
        );
        tx.once(once, &said, |tx| {
            tx.state_authority(&authority)?;
            tx.note(
                "authority stated",
                authority.role.code(),
                &json!({ "limit_pence": authority.limit.0, "emergency_pence": authority.emergency.0,
                         "from": authority.from_on }),
            );
            Ok(())
        })
    })
}

/// The sum above which the decider gives the password again, in pence.
const CONFIRM_ABOVE: &str = "decision.confirm_above";

/// What was stated, and whether the reader may state it anew.
#[derive(Clone, Debug)]
pub struct Stated {
    /// In force today, by role; one person's own after the role's.
    pub authorities: Vec<Authority>,
    /// The names of the persons among them, in the same order; empty for a whole role.
    pub names: Vec<String>,
    /// A decision above this asks for the password again; `None`: never.
    pub confirm_above: Option<Pence>,
    /// Whether the reader may state them.
    pub may_state: bool,
    /// The day.
    pub today: NaiveDate,
}

/// What each may agree today.
///
/// # Errors
/// [`Error::Forbidden`] for anybody but the desk and a landlord.
pub fn stated(world: &World, seat: &Seat) -> Result<Stated, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor, Role::Landlord])?;
    let mut stated = world.acting(seat, |tx| {
        let today = tx.today();
        Ok(Stated {
            authorities: tx.authorities(today)?,
            names: Vec::new(),
            confirm_above: confirm_above(tx)?,
            may_state: seat.must_be(&[Role::Landlord, Role::Supervisor]).is_ok(),
            today,
        })
    })?;
    let persons: Vec<_> = stated
        .authorities
        .iter()
        .filter_map(|a| a.account)
        .collect();
    let names = crate::door::names(world, &persons)?;
    stated.names = stated
        .authorities
        .iter()
        .map(|a| {
            let found = names.iter().find(|(id, _)| Some(*id) == a.account);
            found.map_or_else(String::new, |(_, name)| name.clone())
        })
        .collect();
    Ok(stated)
}

/// The sum above which a decision asks for the password again; `None` where nobody stated one.
pub(crate) fn confirm_above(tx: &mut Tx<'_>) -> Result<Option<Pence>, Error> {
    let set = tx.setting(CONFIRM_ABOVE)?;
    Ok(set.and_then(|text| text.parse().ok()).map(Pence))
}

/// States the sum above which a decision asks for the password again; `None` asks never.
///
/// # Errors
/// [`Error::Forbidden`] for anybody but the landlord and a supervisor for him; [`Error::Invalid`] at `confirm` for a sum
/// below nothing.
pub fn state_confirmation(
    world: &World,
    seat: &Seat,
    above: Option<Pence>,
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&[Role::Landlord, Role::Supervisor])?;
    if above.is_some_and(|sum| sum < Pence(0)) {
        return Err(Error::field("confirm", "A sum is nothing or more."));
    }
    world.acting(seat, |tx| {
        tx.once(once, &("confirm above", above), |tx| {
            let text = above.map_or_else(|| "never".to_owned(), |sum| sum.0.to_string());
            tx.set(CONFIRM_ABOVE, &text)?;
            let body = json!({ "above_pence": above.map(|sum| sum.0) });
            tx.note("confirmation stated", CONFIRM_ABOVE, &body);
            Ok(())
        })
    })
}
