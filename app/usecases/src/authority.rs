//! What a role, or one person in it, may agree without asking.
use serde_json::json;
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
