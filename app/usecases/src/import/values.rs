//! Money, numbers, yes and no, kinds, parts and functions as the trade writes them.
use terms::trade::{Kind, PartShare};
use terms::{FunctionLost, Pence};

use super::fields::normal;
use super::problem::Code;

/// Reads pounds, VAT included. `Ok(None)` when empty or unknown.
///
/// # Errors
/// `money_unreadable` for anything that could mean two amounts ("1.250,00"), `money_negative` below nothing.
pub fn money(cell: &str) -> Result<Option<Pence>, Code> {
    let text = cell.trim();
    if is_unknown(text) {
        return Ok(None);
    }
    if matches!(normal(text).as_str(), "nil" | "n c" | "no charge" | "free") {
        return Ok(Some(Pence(0)));
    }
    let (text, bracketed) = match text.strip_prefix('(').and_then(|t| t.strip_suffix(')')) {
        Some(inside) => (inside, true),
        None => (text, false),
    };
    let clean: String = text
        .chars()
        .filter(|c| !matches!(c, '£' | ' ' | '\u{a0}'))
        .collect();
    let clean = clean
        .strip_suffix("GBP")
        .or_else(|| clean.strip_prefix("GBP"))
        .unwrap_or(&clean);
    let (minus, digits) = match clean.strip_prefix(['-', '−', '–']) {
        Some(rest) => (true, rest),
        None => (bracketed, clean),
    };
    let (whole, pence) = digits.split_once('.').unwrap_or((digits, ""));
    if !grouped(whole) || pence.len() > 2 || !pence.bytes().all(|b| b.is_ascii_digit()) {
        return Err(Code::MoneyUnreadable);
    }
    if digits.ends_with('.') {
        return Err(Code::MoneyUnreadable);
    }
    let amount = Pence::parse_pounds(digits)
        .filter(|p| p.0 < 10_000_000_000)
        .ok_or(Code::MoneyUnreadable)?;
    if minus && amount.0 > 0 {
        return Err(Code::MoneyNegative);
    }
    Ok(Some(amount))
}

/// "1250" or "1,250" or "12,345,678": commas, where there are any, part groups of three.
fn grouped(whole: &str) -> bool {
    let mut groups = whole.split(',');
    let first = groups.next().unwrap_or("");
    let all_digits = |g: &str| !g.is_empty() && g.bytes().all(|b| b.is_ascii_digit());
    let parted = whole.contains(',');
    all_digits(first)
        && (!parted || first.len() <= 3)
        && groups.all(|g| g.len() == 3 && all_digits(g))
}

/// Reads a number above 0 and at most `most`, with or without its unit of measure.
///
/// # Errors
/// `number_unreadable`.
pub fn number(cell: &str, units: &[&str], most: f64) -> Result<Option<f64>, Code> {
    let mut text = cell.trim().to_lowercase();
    if is_unknown(&text) {
        return Ok(None);
    }
    for unit in units {
        if let Some(rest) = text.strip_suffix(unit) {
            text = rest.trim_end().to_owned();
            break;
        }
    }
    let (whole, rest) = text
        .split_once('.')
        .map_or((text.as_str(), None), |(w, r)| (w, Some(r)));
    let decimals = rest.is_none_or(|r| !r.is_empty() && r.bytes().all(|b| b.is_ascii_digit()));
    if !grouped(whole) || !decimals {
        return Err(Code::NumberUnreadable);
    }
    text.replace(',', "")
        .parse::<f64>()
        .ok()
        .filter(|n| *n > 0.0 && *n <= most)
        .map(Some)
        .ok_or(Code::NumberUnreadable)
}

/// Reads yes or no.
///
/// # Errors
/// `kind_unknown`: neither.
pub fn yes_no(cell: &str) -> Result<Option<bool>, Code> {
    if is_unknown(cell) {
        return Ok(None);
    }
    match cell.trim().to_lowercase().as_str() {
        "yes" | "y" | "true" | "1" | "x" | "✓" | "✔" | "fitted" | "yes fitted" => {
            Ok(Some(true))
        }
        "no" | "n" | "false" | "0" | "none" | "not fitted" => Ok(Some(false)),
        _ => Err(Code::KindUnknown),
    }
}

/// Empty, or a word for "we do not know".
pub fn is_unknown(cell: &str) -> bool {
    matches!(
        cell.trim().to_lowercase().as_str(),
        "" | "?" | "-" | "n/k" | "nk" | "n/a" | "na" | "unknown" | "not known" | "tbc"
    )
}

/// Words for kinds beside their code and name. A bare "boiler" or "cylinder" may be two kinds, so it is none.
const KINDS: [(&str, &[&str]); 18] = [
    (
        "CB",
        &["combi", "combi boiler", "combination boiler", "combi gas"],
    ),
    (
        "GB",
        &[
            "system boiler",
            "regular boiler",
            "heat only boiler",
            "gas boiler regular",
            "conventional boiler",
            "back boiler",
        ],
    ),
    ("EB", &["electric boiler", "electric flow boiler"]),
    ("TS", &["thermal store", "heat store"]),
    (
        "VC",
        &[
            "vented cylinder",
            "copper cylinder",
            "vented hot water cylinder",
        ],
    ),
    (
        "UV",
        &[
            "unvented cylinder",
            "unvented",
            "unvented hot water cylinder",
            "pressurised cylinder",
        ],
    ),
    ("HIU", &["hiu", "interface unit", "heat interface unit"]),
    (
        "CP",
        &["pump", "circulating pump", "circulator", "heating pump"],
    ),
    (
        "PB",
        &[
            "plant boiler",
            "plant room boiler",
            "communal boiler",
            "central boiler",
        ],
    ),
    ("PX", &["plate heat exchanger", "plate exchanger", "phe"]),
    (
        "PS",
        &["pressurisation set", "pressurisation unit", "pressure set"],
    ),
    (
        "CT",
        &[
            "cold water tank",
            "cold tank",
            "cold water storage tank",
            "cwst",
            "storage tank",
        ],
    ),
    (
        "TMV",
        &[
            "tmv",
            "mixing valve",
            "blending valve",
            "thermostatic mixing valve",
        ],
    ),
    ("HM", &["heat meter"]),
    ("IH", &["immersion", "immersion heater"]),
    ("WT", &["water treatment", "dosing set", "dosing pot"]),
    (
        "BC",
        &[
            "controls",
            "heating controls",
            "programmer",
            "room thermostat",
            "controller",
        ],
    ),
    (
        "HP",
        &[
            "heat pump",
            "air source heat pump",
            "ground source heat pump",
        ],
    ),
];

/// The kind a cell names: by code, by its name, or by a word of the trade.
pub fn kind<'a>(cell: &str, kinds: &'a [Kind]) -> Option<&'a Kind> {
    let said = normal(cell);
    let code = KINDS
        .iter()
        .find(|(_, words)| words.contains(&said.as_str()))
        .map(|(code, _)| *code);
    kinds.iter().find(|k| {
        normal(&k.code) == said
            || normal(&k.name) == said
            || normal(&k.plural) == said
            || Some(k.code.as_str()) == code
    })
}

/// The part of a kind that a cell names: by code, by name, or by the one part whose name holds these words.
pub fn part<'a>(cell: &str, of: &str, shares: &'a [PartShare]) -> Option<&'a PartShare> {
    let said = normal(cell);
    let own: Vec<&PartShare> = shares.iter().filter(|s| s.kind == of).collect();
    let exact = own
        .iter()
        .find(|s| normal(&s.code) == said || normal(&s.name) == said);
    if exact.is_some() {
        return exact.copied();
    }
    let holds: Vec<&&PartShare> = own
        .iter()
        .filter(|s| {
            !said.is_empty() && format!(" {} ", normal(&s.name)).contains(&format!(" {said} "))
        })
        .collect();
    match holds.as_slice() {
        [only] => Some(only),
        _ => None,
    }
}

/// What a history row records.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum What {
    /// A function was lost, or a part failed.
    Failure,
    /// Somebody came for a failure and found nothing wrong.
    NothingFound,
    /// Yearly service.
    Service,
    /// Safety or other check.
    Check,
    /// Work that put a failure right; the failure is a row of its own.
    Repair,
    /// A part was fitted: its clock restarts.
    Part,
}

impl What {
    /// As stored in a service record.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Failure => "failure",
            Self::NothingFound => "nothing found",
            Self::Service => "service",
            Self::Check => "check",
            Self::Repair => "repair",
            Self::Part => "part",
        }
    }
}

/// What a cell says happened.
pub fn what(cell: &str) -> Option<What> {
    match normal(cell).as_str() {
        "failure" | "failed" | "fault" | "breakdown" | "broke down" | "call out" | "callout"
        | "fault call" => Some(What::Failure),
        "no fault found" | "nothing found" | "nff" => Some(What::NothingFound),
        "service" | "serviced" | "annual service" | "yearly service" => Some(What::Service),
        "check" | "gas safety check" | "safety check" | "gas check" | "inspection" => {
            Some(What::Check)
        }
        "repair" | "repaired" | "put right" => Some(What::Repair),
        "part" | "part fitted" | "new part" | "part replaced" | "replaced part" => Some(What::Part),
        _ => None,
    }
}

/// The function a cell says was lost.
///
/// # Errors
/// `kind_unknown`.
pub fn function_lost(cell: &str) -> Result<Option<FunctionLost>, Code> {
    if is_unknown(cell) {
        return Ok(None);
    }
    let said = normal(cell);
    let found = FunctionLost::ALL
        .iter()
        .copied()
        .find(|f| normal(f.code()) == said || normal(f.words()) == said);
    let found = found.or(match said.as_str() {
        "no heating" | "no heat" | "heating off" | "cold" => Some(FunctionLost::Heating),
        "no hot water" | "hot water off" | "no hw" | "no dhw" => Some(FunctionLost::HotWater),
        "no heating or hot water"
        | "no heating and hot water"
        | "no heating no hot water"
        | "both"
        | "nothing works"
        | "no heat or hot water" => Some(FunctionLost::HeatingAndHotWater),
        "leak" | "leaking" | "water leak" => Some(FunctionLost::Leak),
        "noise" | "noisy" | "kettling" => Some(FunctionLost::Noise),
        "smell of gas" | "gas smell" | "co alarm" => Some(FunctionLost::GasOrCo),
        "other" => Some(FunctionLost::Other),
        _ => None,
    });
    found.map(Some).ok_or(Code::KindUnknown)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn amounts_are_read_or_refused() {
        for (cell, pence) in [
            ("£1,250.00", 125_000),
            ("1250", 125_000),
            ("1,250", 125_000),
            ("£ 318", 31_800),
            ("0.5", 50),
            ("12,345,678.90", 1_234_567_890),
            ("310.5", 31_050),
            ("nil", 0),
            ("GBP 20", 2_000),
            ("-0", 0),
        ] {
            assert_eq!(money(cell), Ok(Some(Pence(pence))), "{cell}");
        }
        for cell in ["", "?", "n/k"] {
            assert_eq!(money(cell), Ok(None), "{cell}");
        }
        for cell in [
            "1.250,00",
            "1250,00",
            "1,25",
            "12,50.00",
            "€100",
            "ten",
            "12.345",
            "£",
            "1 250 x",
            "5.",
            "99999999999",
        ] {
            assert_eq!(money(cell), Err(Code::MoneyUnreadable), "{cell}");
        }
        for cell in ["-50", "−£9.99", "(120.00)", "£-5"] {
            assert_eq!(money(cell), Err(Code::MoneyNegative), "{cell}");
        }
    }

    #[test]
    fn numbers_may_carry_their_unit() {
        assert_eq!(number("24kW", &["kw"], 5000.0), Ok(Some(24.0)));
        assert_eq!(number("24.5 kW", &["kw"], 5000.0), Ok(Some(24.5)));
        assert_eq!(
            number("1,000 litres", &["litres", "l"], 1e5),
            Ok(Some(1000.0))
        );
        assert_eq!(number("unknown", &[], 10.0), Ok(None));
        for cell in ["24,5", "big", "-3", "0", "6000", "1e3", "NaN", "."] {
            assert_eq!(
                number(cell, &["kw"], 5000.0),
                Err(Code::NumberUnreadable),
                "{cell}"
            );
        }
    }

    #[test]
    fn words_of_the_trade() {
        assert_eq!(yes_no("Y"), Ok(Some(true)));
        assert_eq!(yes_no("no"), Ok(Some(false)));
        assert_eq!(yes_no("?"), Ok(None));
        assert_eq!(yes_no("sometimes"), Err(Code::KindUnknown));
        assert_eq!(what("Call-out"), Some(What::Failure));
        assert_eq!(what("Gas safety check"), Some(What::Check));
        assert_eq!(what("painting"), None);
        assert_eq!(
            function_lost("No hot water"),
            Ok(Some(FunctionLost::HotWater))
        );
        assert_eq!(function_lost("hot_water"), Ok(Some(FunctionLost::HotWater)));
        assert_eq!(function_lost("funny"), Err(Code::KindUnknown));
    }

    #[test]
    fn kinds_and_parts_are_found_by_code_name_and_word() {
        let shipped = crate::founding::shipped().unwrap();
        for (cell, code) in [
            ("CB", "CB"),
            ("combi", "CB"),
            ("Combi gas boiler", "CB"),
            ("hiu", "HIU"),
            ("Heat interface unit", "HIU"),
            ("thermal stores", "TS"),
            ("Unvented", "UV"),
        ] {
            assert_eq!(kind(cell, &shipped.kinds).unwrap().code, code, "{cell}");
        }
        for cell in ["boiler", "cylinder", "toaster", ""] {
            assert!(kind(cell, &shipped.kinds).is_none(), "{cell}");
        }
        for (_, words) in KINDS {
            for word in words {
                assert!(kind(word, &shipped.kinds).is_some(), "{word}");
            }
        }
        let found = |cell| part(cell, "CB", &shipped.parts).map(|p| p.code.as_str());
        assert_eq!(found("diverter valve"), Some("diverter_valve"));
        assert_eq!(found("diverter_valve"), Some("diverter_valve"));
        assert_eq!(found("Fan"), Some("fan"));
        assert_eq!(found("flux capacitor"), None);
        assert_eq!(found("valve"), None, "several parts are valves");
    }
}
