//! A device beside the password that shows six digits, new every half minute: HMAC-SHA-1 over the half minutes since 1970
//! (source: RFC 6238, with the step of 30 s and one step to either side of its section 5.2). A decision above the sum the
//! landlord stated asks for them where one is set. Digits are taken once; wrong ones count as tries to sign in do.
use rand::Rng;
use terms::{AccountId, Person};
use totp_rs::{Builder, Totp};

use crate::door::gave_own_password;
use crate::{Error, World};

/// Bytes of a secret: what RFC 4226, section 4, recommends.
const SECRET_BYTES: usize = 20;

/// Where somebody's device stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Standing {
    /// None.
    None,
    /// Begun: the device has to be shown this once.
    Begun {
        /// The address a device reads from a square code.
        address: String,
        /// The same to be typed, in groups of four.
        typed: String,
    },
    /// Set.
    Set,
}

fn reckoner(secret: &[u8], email: &str) -> Result<Totp, Error> {
    // A colon parts the address, so a name must not hold one.
    let name = email.replace(':', " ");
    Builder::new()
        .with_secret(secret.to_vec())
        .with_issuer(Some("Riserward"))
        .with_account_name(name)
        .build()
        .map_err(|e| Error::Internal(format!("second device: {e}")))
}

/// Where the device of somebody signed in stands.
pub fn standing(world: &World, person: &Person) -> Result<Standing, Error> {
    let held = world
        .pool
        .at_door(|door| door.second_device(person.account))?;
    Ok(match held {
        None => Standing::None,
        Some(device) if device.set_at.is_some() => Standing::Set,
        Some(device) => {
            let totp = reckoner(&device.secret, &person.email)?;
            let letters = totp.secret().to_base32();
            let groups: Vec<&str> = (0..letters.len())
                .step_by(4)
                .filter_map(|at| letters.get(at..(at + 4).min(letters.len())))
                .collect();
            Standing::Begun {
                address: totp
                    .to_url()
                    .map_err(|e| Error::Internal(format!("second device: {e}")))?,
                typed: groups.join(" "),
            }
        }
    })
}

/// Begins a device: a fresh secret, in force once its first digits came back right. One's own password is asked for, so that
/// a browser left open does not set somebody else's device.
///
/// # Errors
/// [`Error::Invalid`] at `password`; [`Error::Conflict`] when one is set already.
pub fn begin(world: &World, person: &Person, password: &str) -> Result<(), Error> {
    own_password(world, person, password)?;
    let mut secret = [0_u8; SECRET_BYTES];
    rand::rng().fill_bytes(&mut secret);
    let begun = world
        .pool
        .at_door(|door| door.begin_second_device(person.account, &secret, world.now()))?;
    if begun {
        Ok(())
    } else {
        Err(Error::Conflict(
            "A second device is set already. Take it off first, then set another.".to_owned(),
        ))
    }
}

/// Sets the device that was begun, by the first digits it shows.
///
/// # Errors
/// [`Error::Invalid`] at `digits`; [`Error::Conflict`] when none was begun or it is set already.
pub fn set(world: &World, person: &Person, digits: &str) -> Result<(), Error> {
    let held = world
        .pool
        .at_door(|door| door.second_device(person.account))?;
    let Some(device) = held.filter(|d| d.set_at.is_none()) else {
        return Err(Error::Conflict(
            "There is no second device to be set: begin one first.".to_owned(),
        ));
    };
    let Some(step) = step_of(&device.secret, person, digits, world)? else {
        return Err(Error::field(
            "digits",
            "These are not the digits it should show now. Check the device’s clock, wait for the next ones and type those.",
        ));
    };
    let set = world.pool.at_door(|door| {
        door.set_second_device(person.account, (&device.secret, step), world.now())
    })?;
    if set {
        Ok(())
    } else {
        Err(Error::Conflict(
            "It was set or begun anew meanwhile: open this page again.".to_owned(),
        ))
    }
}

/// Takes one's own device off: password and digits, as a large decision asks for them.
///
/// # Errors
/// [`Error::Invalid`] at `password` or `digits`.
pub fn take_off(world: &World, person: &Person, password: &str, digits: &str) -> Result<(), Error> {
    own_password(world, person, password)?;
    if let Proof::Wrong(sentence) = proof(world, person.account, digits)? {
        return Err(Error::field("digits", sentence));
    }
    world
        .pool
        .at_door(|door| door.forget_second_device(person.account))?;
    Ok(())
}

/// Takes a lost device off by sign-in name; for whoever runs the program, never for a request. Whether there was one.
///
/// # Errors
/// [`Error::NotFound`] when nobody has that name.
pub fn forget(world: &World, email: &str) -> Result<bool, Error> {
    let account = world.pool.at_door(|door| door.account(email))?;
    let account = account.ok_or(Error::NotFound("account"))?;
    world
        .pool
        .at_door(|door| door.forget_second_device(account.id))
        .map_err(Error::from)
}

/// Whether somebody has a device set.
pub(crate) fn is_set(world: &World, account: AccountId) -> Result<bool, Error> {
    let held = world.pool.at_door(|door| door.second_device(account))?;
    Ok(held.is_some_and(|d| d.set_at.is_some()))
}

/// What digits typed beside a decision prove.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Proof {
    /// No device is set, so none were asked for.
    NotAsked,
    /// They are those of this half minute (or one beside it), to be used up with what they confirm.
    Step(i64),
    /// They do not fit, and why.
    Wrong(&'static str),
}

/// Said when the digits of a half minute were used before.
pub(crate) const USED: &str =
    "These digits were used before. Wait for the next ones and type those.";

/// Holds digits against the device of an account.
///
/// # Errors
/// [`Error::Invalid`] at `password` after too many wrong tries.
pub(crate) fn proof(world: &World, account: AccountId, digits: &str) -> Result<Proof, Error> {
    let held = world.pool.at_door(|door| door.second_device(account))?;
    let Some(device) = held.filter(|d| d.set_at.is_some()) else {
        return Ok(Proof::NotAsked);
    };
    if digits.trim().is_empty() {
        return Ok(Proof::Wrong(
            "Type the six digits your second device shows now.",
        ));
    }
    let person = crate::door::person_of(world, account)?;
    Ok(match step_of(&device.secret, &person, digits, world)? {
        Some(step) if step > device.last_step => Proof::Step(step),
        Some(_) => Proof::Wrong(USED),
        None => Proof::Wrong(
            "These are not the digits it should show now. Wait for the next ones and type those.",
        ),
    })
}

/// The half minute whose digits these are, if they are.
fn step_of(
    secret: &[u8],
    person: &Person,
    digits: &str,
    world: &World,
) -> Result<Option<i64>, Error> {
    crate::door::may_try(world, &person.email)?;
    let plain: String = digits.chars().filter(char::is_ascii_digit).collect();
    let at = u64::try_from(world.now().timestamp()).unwrap_or(0);
    let step = reckoner(secret, &person.email)?.check(&plain, at);
    crate::door::note_try(world, &person.email, step.is_some())?;
    Ok(step.and_then(|step| i64::try_from(step).ok()))
}

fn own_password(world: &World, person: &Person, password: &str) -> Result<(), Error> {
    if gave_own_password(world, person.account, password)? {
        Ok(())
    } else {
        Err(Error::field("password", "This is not your password."))
    }
}

#[cfg(test)]
mod tests {
    use super::reckoner;

    #[test]
    fn digits_are_those_of_the_standard() {
        // RFC 6238, appendix B, SHA-1; six digits are the last six of the eight printed there.
        let totp = reckoner(b"12345678901234567890", "a@b").unwrap();
        for (seconds, digits) in [
            (59, "287082"),
            (1_111_111_109, "081804"),
            (1_234_567_890, "005924"),
            (20_000_000_000, "353130"),
        ] {
            assert_eq!(totp.check(digits, seconds), Some(seconds / 30));
        }
        assert_eq!(totp.check("287082", 59 + 90), None);
        assert_eq!(totp.check("28708", 59), None);
    }
}
