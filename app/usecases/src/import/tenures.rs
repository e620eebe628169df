//! Who holds a home, as a list of units says it: read by its words, held against the rows above and the register.
use std::collections::BTreeMap;

use terms::place::SpaceCard;
use terms::unit::UnitCard;
use terms::{SpaceId, Tenure, UsedAs};

use super::fields::Field;
use super::problem::{Change, Code};
use super::row::{Reading, RowReader};
use super::values::is_unknown;

/// Words that can mean nothing else. "Council" alone may be another tenancy than a secure one, so it is none.
const WORDS: [(Tenure, &[&str]); 4] = [
    (
        Tenure::CouncilSecure,
        &[
            "council secure",
            "secure",
            "secure tenancy",
            "secure council tenancy",
            "council secure tenancy",
            "secure tenancy of a council",
        ],
    ),
    (
        Tenure::Social,
        &[
            "social",
            "social rent",
            "social rented",
            "social tenancy",
            "affordable rent",
            "housing association",
            "housing association tenancy",
        ],
    ),
    (
        Tenure::Private,
        &[
            "private",
            "private rent",
            "private rented",
            "private tenancy",
            "market rent",
        ],
    ),
    (
        Tenure::LongLease,
        &[
            "long lease",
            "long leasehold",
            "leasehold",
            "leaseholder",
            "lease",
        ],
    ),
];

fn tenure(cell: &str) -> Option<Tenure> {
    let said = cell.trim().to_lowercase();
    WORDS
        .iter()
        .find(|(_, words)| words.contains(&said.as_str()))
        .map(|(tenure, _)| *tenure)
        .or_else(|| said.parse().ok())
}

/// What a row says of who holds its home; nothing where it says nothing, or what cannot be.
pub(super) fn read(
    reader: &mut RowReader<'_>,
    space: &SpaceCard,
    above: &mut BTreeMap<SpaceId, (u32, Tenure)>,
) -> Option<Tenure> {
    let said = reader.text(Field::Tenure);
    if is_unknown(said) {
        return None;
    }
    let Some(found) = tenure(said) else {
        let sentence = "Secure, social, private or leasehold is needed, or nothing.";
        reader.wrong(Field::Tenure, Code::KindUnknown, said, sentence);
        return None;
    };
    if space.used_as != UsedAs::Flat {
        let sentence = "Only a home is held by anybody.";
        reader.wrong(Field::Tenure, Code::KindUnknown, said, sentence);
        return None;
    }
    match above.get(&space.id) {
        Some((row, other)) if *other != found => {
            let sentence = format!("Row {row} says of the same home: {other}.");
            reader.wrong(Field::Tenure, Code::KindUnknown, said, &sentence);
            None
        }
        Some(_) => Some(found),
        None => {
            above.insert(space.id, (reader.number(), found));
            Some(found)
        }
    }
}

/// What it changes of a home that is on the register, told with a unit of it.
pub(super) fn change(
    with: Reading<'_>,
    unit: &UnitCard,
    (row, space, said): (u32, SpaceId, Option<Tenure>),
) -> Option<Change> {
    let said = said?;
    let old = with.known.tenures.get(&space).copied();
    (old != Some(said)).then(|| Change {
        row,
        unit: unit.number.clone(),
        field: Field::Tenure,
        old: old.map_or_else(String::new, |t| t.words().to_owned()),
        new: said.words().to_owned(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_can_mean_one_thing_is_taken() {
        assert_eq!(tenure(" Secure "), Some(Tenure::CouncilSecure));
        assert_eq!(tenure("Housing Association"), Some(Tenure::Social));
        assert_eq!(tenure("leasehold"), Some(Tenure::LongLease));
        assert_eq!(tenure("council"), None);
        assert_eq!(tenure("rented"), None);
        for of in Tenure::ALL {
            assert_eq!(tenure(of.code()), Some(*of), "a list of ours comes back");
        }
    }
}
