//! What could stand there instead, and what the site says to it. Unknown is never "fits".
use inspection::options::{feasibility, reason_words};
use inspection::rulebook::FeasibilityVerdict;
use inspection::{RuleBook, Values};
use serde::{Deserialize, Serialize};
use terms::place::{BuildingCard, SpaceCard};
use terms::trade::Price;
use terms::unit::UnitCard;
use terms::{FirmId, Pence};

use super::book::Book;
use super::needs::unknown_of;
use super::sizing::{Size, TooLittle, at_size, size_of};
use super::works::{Asked, WorkSeen, with_works};
use crate::Error;

/// What the site says to an option.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Standing {
    /// The same kind again: what stands there stood there.
    LikeForLike,
    /// Nothing known speaks against it, and all that must be known is.
    Fits,
    /// Works or a survey come first.
    AfterWorks,
    /// Not here.
    RuledOut,
    /// No rule of ours judges it: a survey decides.
    Survey,
}

/// One option, compared or not.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct OptionSeen {
    /// The option's code: mostly a kind.
    pub code: String,
    /// "combi gas boiler"
    pub name: String,
    /// What the site says.
    pub standing: Standing,
    /// Why, one sentence each.
    pub reasons: Vec<String>,
    /// Fitted, with the works that come first, including VAT; `None`: no price known.
    pub price: Option<Pence>,
    /// The VAT inside it; `None` in advice made before this was kept.
    #[serde(default)]
    pub vat: Option<Pence>,
    /// How the price is known.
    pub price_status: String,
    /// What the price buys beside the unit: filter, scale reducer, flush, longer warranty. Empty in advice made
    /// before this was kept.
    #[serde(default)]
    pub buys: String,
    /// Works that come first; their likely cost is in the price. Empty in advice made before this was kept.
    #[serde(default)]
    pub works: Vec<WorkSeen>,
    /// Surveys and readings that would settle what is not known.
    #[serde(default)]
    pub settles: Vec<WorkSeen>,
    /// Whether its size would do, in sentences.
    #[serde(default)]
    pub sizing: Vec<String>,
    /// Its size on the list and the one that would do, where the list's is too little: the site was asked about the latter.
    #[serde(default)]
    pub too_little: Option<TooLittle>,
    /// It has a size, and who lives there is not known.
    #[serde(default)]
    pub size_unknown: bool,
    /// Whether it entered the comparison.
    pub compared: bool,
}

/// Kinds that could do the same for a home, beside the same kind again (common practice, no source).
fn could_serve(kind: &str) -> &'static [&'static str] {
    match kind {
        "CB" | "GB" => &["EB", "HIU", "TS", "UV"],
        "EB" => &["CB", "HIU", "TS", "UV"],
        "HIU" => &["CB", "EB"],
        "TS" | "UV" | "VC" => &["EB", "HIU", "TS", "UV", "VC"],
        _ => &[],
    }
}

/// The site as the feasibility table asks for it: what the space states, with what building and unit know.
pub(crate) fn site_of(card: &UnitCard, space: &SpaceCard, building: &BuildingCard) -> Values {
    let mut site = space
        .site
        .as_object()
        .map(Values::from_json)
        .unwrap_or_default();
    if let Some(hardness) = building.hardness_mg_l {
        site.set("hardness_mg_l", hardness);
    }
    if let Some(year) = building.built_year {
        site.set("building_year", f64::from(year));
    }
    site.set("asbestos_register", building.asbestos_register != "unknown");
    if let Some(fitted) = card.reducer_fitted {
        site.set("reducer_fitted", fitted);
    }
    if !site.has("gas_supply") && matches!(card.kind.as_str(), "CB" | "GB") {
        site.set("gas_supply", "yes");
    }
    if !site.has("heat_network") && card.kind == "HIU" {
        site.set("heat_network", "yes");
    }
    site
}

/// Every option for a unit: like for like first, then the others by code.
pub(crate) fn options_for(
    book: &Book,
    kind: &str,
    site: &Values,
    firm: Option<FirmId>,
) -> Result<Vec<OptionSeen>, Error> {
    let rules = RuleBook::shipped().map_err(|e| Error::Internal(e.to_string()))?;
    let mut codes: Vec<String> = could_serve(kind).iter().map(|c| (*c).to_owned()).collect();
    codes.extend(book.priced_options(kind));
    codes.retain(|code| code != kind);
    codes.sort();
    codes.dedup();
    let mut options = vec![like_for_like(book, kind, rules, site, firm)?];
    for code in codes {
        let price = book
            .price(kind, &format!("replace:{code}"), firm)
            .or_else(|| book.price(&code, &format!("replace:{code}"), firm));
        let judged = judge(rules, site, &code)?;
        let name = match book.kind(&code) {
            Ok(kind) => kind.name.clone(),
            Err(_) => price.map_or_else(|| code.clone(), |p| p.name.clone()),
        };
        let buys = price.map(|p| p.name.clone()).unwrap_or_default();
        let asked = Asked::of(&book.works, site, &judged.codes, &buys);
        let (price_with, buys) = with_works(price.map(|p| p.likely), buys, &asked.works);
        let fits = match judged.standing {
            Standing::Fits => true,
            Standing::AfterWorks => asked.is_settled(),
            _ => false,
        };
        options.push(OptionSeen {
            compared: fits && price_with.is_some() && book.kind(&code).is_ok(),
            price: price_with,
            // Works before it are priced as one sum each: what VAT is in them is not said.
            vat: price
                .filter(|p| price_with == Some(p.likely))
                .map(vat_inside),
            price_status: price.map(|p| p.status.clone()).unwrap_or_default(),
            buys,
            too_little: judged.size.too_little,
            size_unknown: judged.size.unknown,
            sizing: judged.size.said,
            works: asked.works,
            settles: asked.settles,
            code,
            name,
            standing: judged.standing,
            reasons: judged.words,
        });
    }
    Ok(options)
}

fn like_for_like(
    book: &Book,
    kind: &str,
    rules: &RuleBook,
    site: &Values,
    firm: Option<FirmId>,
) -> Result<OptionSeen, Error> {
    let price = book.price(kind, &format!("replace:{kind}"), firm);
    let judged = judge(rules, site, kind)?;
    Ok(OptionSeen {
        code: kind.to_owned(),
        name: book.kind(kind)?.name.clone(),
        standing: Standing::LikeForLike,
        works: Vec::new(),
        settles: Vec::new(),
        sizing: Vec::new(),
        too_little: None,
        size_unknown: false,
        reasons: judged.words,
        price: price.map(|p| p.likely),
        vat: price.map(vat_inside),
        price_status: price.map(|p| p.status.clone()).unwrap_or_default(),
        buys: price.map(|p| p.name.clone()).unwrap_or_default(),
        compared: price.is_some(),
    })
}

/// The VAT inside a price that includes it, to the penny, halves up.
fn vat_inside(price: &Price) -> Pence {
    let percent = (price.vat_percent * 100.0).round() as i64;
    let whole = 10_000 + percent;
    Pence((price.likely.0 * percent + whole / 2).div_euclid(whole.max(1)))
}

/// What the rules say to an option.
pub(super) struct Judged {
    pub standing: Standing,
    /// The reasons' codes in the order of the table, then those of what must be known and is not.
    pub codes: Vec<String>,
    /// All of it in words.
    pub words: Vec<String>,
    /// Whether its size would do.
    pub size: Size,
}

/// Judges an option at the size that would do for whoever lives there, not at the list's.
pub(super) fn judge(rules: &RuleBook, site: &Values, option: &str) -> Result<Judged, Error> {
    let size = size_of(rules, site, option)?;
    let asked = at_size(site, option, &size);
    // No row judges it, or the site says something the rules cannot read: a survey decides.
    let Ok(found) = feasibility(rules, &asked, option) else {
        return Ok(Judged {
            standing: Standing::Survey,
            codes: Vec::new(),
            words: Vec::new(),
            size,
        });
    };
    let unknown = unknown_of(&asked, option);
    let standing = match found.verdict {
        FeasibilityVerdict::RuledOut => Standing::RuledOut,
        FeasibilityVerdict::Fits if unknown.is_empty() => Standing::Fits,
        _ => Standing::AfterWorks,
    };
    let mut words: Vec<String> = found
        .reasons
        .iter()
        .filter_map(|reason| reason_words(rules, reason))
        .map(str::to_owned)
        .collect();
    words.extend(unknown.iter().map(|need| need.sentence.to_owned()));
    let mut codes = found.reasons;
    codes.extend(unknown.iter().map(|need| need.code.to_owned()));
    Ok(Judged {
        standing,
        codes,
        words,
        size,
    })
}
