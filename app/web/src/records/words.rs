//! What a record lacks, and what it rests on, in words.
use terms::RecordKind;
use usecases::records::Content;
use usecases::visit::RuleBook;
use wording::sentences::capital;

/// The list a record follows, its basis and how it is known.
pub(super) fn basis(kind: RecordKind) -> &'static str {
    match kind {
        RecordKind::GasSafety => {
            "The items are those of the Gas Safety (Installation and Use) Regulations 1998, regulation 36(3)(c). Basis: law. \
             How the list is known: from a public guidance page read. The matters of regulation 26(9) are the flue, the \
             supply of combustion air, the operating pressure or heat input (or the combustion, where neither can be \
             examined), and that it works safely: law, from memory. It is a record, not a certificate, and does not end on a day. \
             Reminder, not legal advice. Check the current text."
        }
        RecordKind::Service => {
            "The items are the readings the trade takes of this kind of unit, what was done, how it was left and who was told. \
             Basis: good practice. How the list is known: common practice, no source. A service sheet is not a gas safety record. \
             Limits are general; the unit’s plate and manual come first."
        }
    }
}

/// "checked on", "serviced on"
pub(super) fn verb(kind: RecordKind) -> &'static str {
    match kind {
        RecordKind::GasSafety => "checked",
        RecordKind::Service => "serviced",
    }
}

/// What one path of the list stands for.
pub(super) fn gap(path: &str, content: &Content) -> String {
    if let Some(code) = path.strip_prefix("readings.") {
        let label = RuleBook::shipped()
            .ok()
            .and_then(|book| book.set(&content.kind_code)?.reading(code))
            .map_or(code, |spec| spec.label.as_str());
        return format!("The reading “{label}”: neither taken nor a reason given.");
    }
    if let Some((i, what)) = numbered(path, "items") {
        let item = content.items.get(i);
        let name = item.map_or("", |item| item.description.as_str());
        return match what {
            "location" => format!("Where this stands: {}.", or_number(name, i)),
            "result" => format!("The result of this: {}.", or_number(name, i)),
            _ => format!("What appliance or flue {} is.", i + 1),
        };
    }
    if let Some((i, what)) = numbered(path, "defects") {
        let defect = content.defects.as_ref().and_then(|list| list.get(i));
        let text = defect.map_or("", |d| d.text.as_str());
        return match what {
            "action" if text.is_empty() => format!("What was done about defect {}.", i + 1),
            "action" => format!("What was done about this defect: {text}"),
            _ => format!("What defect {} is.", i + 1),
        };
    }
    capital(plain(path))
}

fn plain(path: &str) -> &'static str {
    match path {
        "check_date" | "on" => "the day of the visit.",
        "property_address" => "the address of the premises: none is on record for the building.",
        "landlord_or_agent_name" => {
            "the name of the landlord or agent: it comes from the agent’s letterhead."
        }
        "landlord_or_agent_address" => {
            "the address of the landlord or agent: it comes from the agent’s letterhead."
        }
        "items" => "every appliance and flue with its result.",
        "defects" => "whether any safety defect was found: “none found” has to be said too.",
        "examination_26_9_confirmed" => {
            "that the matters of regulation 26(9) were examined, each of them."
        }
        "engineer_name" => "who made the visit.",
        "registration_number" => {
            "the engineer’s registration number: none is on record as in date on the day."
        }
        "unit_number" => "the unit’s number.",
        "work_done" => "what was done.",
        "state_after" => "how it was left.",
        "resident_told" => "whether the resident was told, or why not.",
        _ => "an item of the list.",
    }
}

fn or_number(name: &str, i: usize) -> String {
    if name.is_empty() {
        format!("item {}", i + 1)
    } else {
        name.to_owned()
    }
}

/// "items[2].location" as (2, "location").
pub(super) fn numbered<'a>(path: &'a str, list: &str) -> Option<(usize, &'a str)> {
    let rest = path.strip_prefix(list)?.strip_prefix('[')?;
    let (number, what) = rest.split_once("].")?;
    Some((number.parse().ok()?, what))
}

#[cfg(test)]
mod tests {
    use super::numbered;

    #[test]
    fn a_path_of_a_list_is_read() {
        assert_eq!(
            numbered("items[2].location", "items"),
            Some((2, "location"))
        );
        assert_eq!(numbered("items", "items"), None);
        assert_eq!(numbered("defects[0].action", "items"), None);
    }
}
