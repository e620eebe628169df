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
        "Limits shown are general (England, as at {}); the unit's plate and manual come first.",
        crate::calendar::date_words(as_at)
    )
}

/// The cautions a sheet of this unit kind carries, the general one last.
pub fn for_kind(kind: &str) -> Vec<&'static str> {
    let mut lines = Vec::new();
    if matches!(kind, "CB" | "GB" | "PB") {
        lines.push(GAS);
    }
    if matches!(kind, "UV" | "PS" | "PX") {
        lines.push(UNVENTED);
    }
    if !matches!(kind, "CT") {
        lines.push(ELECTRIC);
    }
    lines.push(GENERAL);
    lines
}
