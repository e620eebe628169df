//! Standing wording of the trade file on safety, section 1: cautions that defer to licence and local
//! code. Say them as they stand.

/// Foot of every job sheet.
pub const GENERAL: &str = "This sheet supports, and does not replace, the judgement of the person doing the work. Follow the maker's instructions, the current regulations and codes where you are, and your own employer's safe system of work. If they disagree with this sheet, they win.";
/// Gas.
pub const GAS: &str = "Gas work only by an engineer on the official gas safety register, with the right category for this unit. Suggested causes are for planning; do not remove a case or adjust gas or combustion on their strength.";
/// Electric.
pub const ELECTRIC: &str = "Isolate, lock off, prove dead. Live tests only by a competent person, with suitable instrument and leads.";
/// Unvented cylinders and pressure.
pub const UNVENTED: &str = "Only holders of the unvented hot-water qualification. Never cap, plug or reduce a relief discharge.";
/// Every page that ranks parts.
pub const RANKING: &str = "Likely parts, by past faults and readings. Not a diagnosis.";
/// Every page with a cost or an advice to replace.
pub const ADVICE: &str =
    "Estimate from this building's records and stated assumptions. Get a survey before ordering.";
/// Pages that speak of law.
pub const LAW: &str = "Reminder, not legal advice. Check the current text.";

/// Pages that show limits.
pub fn limits(as_at: chrono::NaiveDate) -> String {
    format!(
        "Limits shown are general (England, as at {}); the unit’s plate and manual come first.",
        crate::calendar::date_words(as_at)
    )
}

/// The cautions a sheet carries that is about a unit of this kind, or about a place where these stand; the general one last.
pub fn for_kinds(kinds: &[&str]) -> Vec<&'static str> {
    let any = |of: &[&str]| kinds.iter().any(|kind| of.contains(kind));
    let mut lines = Vec::new();
    if any(&["CB", "GB", "PB"]) {
        lines.push(GAS);
    }
    if any(&["UV", "PS", "PX"]) {
        lines.push(UNVENTED);
    }
    if kinds.is_empty() || kinds.iter().any(|kind| *kind != "CT") {
        lines.push(ELECTRIC);
    }
    lines.push(GENERAL);
    lines
}

/// A danger of the trade file on safety, section 3, and the caution where the work is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Danger {
    /// The row of the table.
    pub row: &'static str,
    /// The kinds of unit it is said at; none: at every one.
    pub kinds: &'static [&'static str],
    /// The caution.
    pub words: &'static str,
}

const GAS_KINDS: &[&str] = &["CB", "GB", "PB"];
const STORES: &[&str] = &["UV", "VC", "TS", "TMV"];

/// The rows of the table that are said at the work itself, in its order. Asbestos is said by the building, lone working and
/// the people at the door before the visit, loss of heat at an unsafe finding.
pub const DANGERS: [Danger; 17] = [
    Danger {
        row: "gas escape, explosion",
        kinds: GAS_KINDS,
        words: "Gas escape: no flames, no switches, valve off, windows open. Immediately dangerous or at risk: make safe, label, notice.",
    },
    Danger {
        row: "carbon monoxide",
        kinds: GAS_KINDS,
        words: "Carbon monoxide: over the limit it is not left in use. The flue must be seen over its whole length; if it cannot be, the engineer may turn it off.",
    },
    Danger {
        row: "flue in voids",
        kinds: GAS_KINDS,
        words: "Flue in a void: open every inspection hatch. A route that cannot be seen is not passed; photograph what is.",
    },
    Danger {
        row: "scald against legionella",
        kinds: STORES,
        words: "Scald and legionella: stored water at 60 °C burns a child in seconds, and water between 20 and 45 °C grows legionella. Keep the store at 60 °C or more and blend at the outlet; a lower setting is a risk decision, not a setting.",
    },
    Danger {
        row: "legionella",
        kinds: &["CT", "PX"],
        words: "Legionella grows at 20 to 45 °C: flush what stood still, make no spray you breathe, change no set point to save energy.",
    },
    Danger {
        row: "unvented explosion",
        kinds: &["UV"],
        words: "Unvented water: two safety devices beyond the thermostat. Hot discharge at the tundish: turn off the heat, keep the cold on.",
    },
    Danger {
        row: "electric shock",
        kinds: &[
            "CB", "GB", "PB", "EB", "TS", "UV", "VC", "HIU", "CP", "PS", "IH", "BC", "HP", "HM",
            "WT", "PX",
        ],
        words: "Electric shock: a second off-peak supply, controls fed from another spur and capacitors stay live. Isolate, lock off, prove dead at each.",
    },
    Danger {
        row: "burns",
        kinds: &[],
        words: "Burns: pipes, plates and flues run at 75 to 85 °C. Let them cool.",
    },
    Danger {
        row: "pressure release",
        kinds: &["HIU", "PS", "PX"],
        words: "Pressure release: the network side may hold 10 bar and more at 80 °C. Isolate both sides, let it cool, open slowly.",
    },
    Danger {
        row: "water damage",
        kinds: &[
            "CB", "GB", "PB", "EB", "TS", "UV", "VC", "HIU", "CP", "PS", "PX", "CT", "TMV", "IH",
            "WT", "HP", "HM",
        ],
        words: "Water damage: before you drain down, do the isolating valves hold, and do the neighbours below know?",
    },
    Danger {
        row: "confined space",
        kinds: &["CT", "PB"],
        words: "Confined space: no entry into a tank, a duct or a plant room marked as one without a permit, a gas test and a second person.",
    },
    Danger {
        row: "working at height",
        kinds: &["CT", "PB"],
        words: "Working at height: tank, flue and riser from a safe platform, never from pipes.",
    },
    Danger {
        row: "manual handling",
        kinds: &["CB", "GB", "PB", "EB", "HIU", "UV", "VC", "TS"],
        words: "Lifting: a boiler weighs 30 to 45 kg, an interface unit 20 to 30, an empty cylinder 30 to 60. Two people.",
    },
    Danger {
        row: "refrigerant",
        kinds: &["HP"],
        words: "Refrigerant: only who is certified for it opens the circuit; note the gas and every amount added or recovered.",
    },
    Danger {
        row: "chemicals",
        kinds: &["WT"],
        words: "Chemicals: read the data sheet, never mix inhibitor, cleaner, descaler and biocide, and let none run back into the main.",
    },
    Danger {
        row: "fire",
        kinds: &["EB", "PB", "IH"],
        words: "Fire: look for burnt terminals and for things stored in the plant room; close every hole through fire-stopping.",
    },
    Danger {
        row: "hygiene",
        kinds: &[],
        words: "Hygiene: gloves, and wash before you eat. Children and dogs stay out while it is open.",
    },
];

/// The cautions of a unit's kind, or of the kinds that stand where the work is, in the order of the table.
pub fn dangers_of<'a>(kinds: &'a [&'a str]) -> impl Iterator<Item = &'static Danger> + 'a {
    DANGERS.iter().filter(move |danger| {
        danger.kinds.is_empty() || danger.kinds.iter().any(|kind| kinds.contains(kind))
    })
}
