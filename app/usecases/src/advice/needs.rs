//! What must be known before an option can be said to fit. The feasibility table's rows are silent where nothing is
//! known of a thing, so each option names the things it cannot do without; unknown is never "fits".
use inspection::{Value, Values};

use super::sizing::{SIZE_KNOWN, UPGRADE_KNOWN};

/// One thing that must be known.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Need {
    /// The site's name for it.
    pub field: &'static str,
    /// The survey or reading that settles it: a reason of WORKS.csv.
    pub code: &'static str,
    /// "Whether gas reaches the flat must be found out."
    pub sentence: &'static str,
    options: &'static [&'static str],
}

const NEEDS: [Need; 9] = [
    Need {
        field: "gas_supply",
        code: "FIND_GAS_SUPPLY",
        sentence: "Whether gas reaches the flat must be found out.",
        options: &["CB"],
    },
    Need {
        field: "gas_allowed",
        code: "ASK_GAS_ALLOWED",
        sentence: "Whether gas is allowed in the building must be found out.",
        options: &["CB"],
    },
    Need {
        field: "heat_network",
        code: "FIND_NETWORK",
        sentence: "Whether a heat network reaches the flat must be found out.",
        options: &["HIU"],
    },
    Need {
        field: "electric_kw_spare",
        code: "MEASURE_SUPPLY",
        sentence: "The electric supply must be measured.",
        options: &["EB", "TS", "UV", "VC"],
    },
    Need {
        field: SIZE_KNOWN,
        code: "FIND_PEOPLE",
        sentence: "How many people live there, and so what it must draw, must be found out.",
        options: &["EB"],
    },
    Need {
        field: UPGRADE_KNOWN,
        code: "ASK_SUPPLY_UPGRADE",
        sentence: "Whether the electric supply can be made larger must be found out.",
        options: &["EB", "TS", "UV", "VC"],
    },
    Need {
        field: "space_for_vessel",
        code: "SURVEY_SPACE",
        sentence: "Whether there is space for the vessel must be found out.",
        options: &["TS", "UV", "VC"],
    },
    Need {
        field: "cistern_space",
        code: "SURVEY_CISTERN_SPACE",
        sentence: "Whether there is space for a cistern must be found out.",
        options: &["VC"],
    },
    Need {
        field: "building_year",
        code: "FIND_BUILDING_YEAR",
        sentence: "There is no asbestos register, and when the building was built must be found out.",
        options: &["CB", "EB", "TS", "UV", "VC", "HIU"],
    },
];

/// What `option` must know of `site`, as it is asked at the size that would do, and does not.
pub(super) fn unknown_of(site: &Values, option: &str) -> Vec<&'static Need> {
    NEEDS
        .iter()
        .filter(|need| need.options.contains(&option) && !is_known(site, need.field))
        // An asbestos register stands for the year: it is asked for buildings of before 2000 only.
        .filter(|need| {
            need.field != "building_year" || site.get("asbestos_register") != Value::Bool(true)
        })
        .collect()
}

/// Said, and not as "unknown": a form may keep that word.
pub(super) fn is_known(site: &Values, field: &str) -> bool {
    site.has(field) && site.get(field) != Value::from("unknown")
}

#[cfg(test)]
mod tests {
    use inspection::{RuleBook, Value, Values};

    use super::super::options::{Standing, judge};
    use super::NEEDS;
    use crate::founding::works;

    const OPTIONS: [&str; 6] = ["CB", "EB", "HIU", "TS", "UV", "VC"];

    /// A flat where everything is stated and nothing stands in the way of anything.
    fn all_stated() -> Values {
        let mut site = Values::new();
        for yes in [
            "gas_supply",
            "gas_allowed",
            "flue_route",
            "condensate_route",
            "discharge_route",
            "heat_network",
            "space_for_vessel",
            "floor_carries",
            "cistern_space",
        ] {
            site.set(yes, "yes");
        }
        for (field, number) in [
            ("gas_drop_mbar", 0.6),
            ("network_dp_kpa", 40.0),
            ("network_flow_c", 65.0),
            ("electric_kw_needed", 3.0),
            ("electric_kw_spare", 40.0),
            ("people", 2.0),
            ("static_bar", 3.0),
            ("dynamic_bar_at_12", 1.6),
            ("max_flow_lpm", 18.0),
            ("cistern_head_m", 2.0),
            ("hardness_mg_l", 140.0),
            ("building_year", 2004.0),
        ] {
            site.set(field, number);
        }
        site.set("asbestos_register", false);
        site
    }

    /// What each option asks of a site: the rows of the feasibility table with its name on them, and the needs above.
    fn asked_by(option: &str) -> Vec<&'static str> {
        let vessel = ["space_for_vessel", "floor_carries", "electric_kw_spare"];
        let main = ["static_bar", "dynamic_bar_at_12", "max_flow_lpm"];
        let gas = ["gas_supply", "gas_allowed", "gas_drop_mbar"];
        let boiler = ["flue_route", "condensate_route"];
        let network = ["heat_network", "network_dp_kpa", "network_flow_c"];
        let cistern = ["cistern_space", "cistern_head_m"];
        let mut fields = vec!["building_year"];
        if option != "EB" {
            fields.push("hardness_mg_l");
        }
        match option {
            "CB" => fields.extend(gas.into_iter().chain(boiler).chain(main)),
            "HIU" => fields.extend(network.into_iter().chain(main)),
            "EB" => fields.extend(["electric_kw_spare", "people"]),
            "VC" => fields.extend(vessel.into_iter().chain(cistern)),
            "TS" => fields.extend(vessel.into_iter().chain(main)),
            _ => fields.extend(vessel.into_iter().chain(main).chain(["discharge_route"])),
        }
        fields
    }

    #[test]
    fn with_any_one_thing_unknown_no_option_fits() {
        let rules = RuleBook::shipped().unwrap();
        let surveys = works().unwrap();
        for option in OPTIONS {
            let whole = judge(rules, &all_stated(), option).unwrap();
            assert_eq!(
                whole.standing,
                Standing::Fits,
                "{option}: {:?}",
                whole.words
            );
            for field in asked_by(option) {
                let mut ways = vec![Value::Unknown];
                // Only a thing told in words can be told as "unknown".
                if all_stated().number(field).is_none() {
                    ways.push(Value::from("unknown"));
                }
                for way in ways {
                    let mut site = all_stated();
                    site.set(field, way.clone());
                    let judged = judge(rules, &site, option).unwrap();
                    assert_eq!(
                        judged.standing,
                        Standing::AfterWorks,
                        "{option} with {field} {way:?}: {:?}",
                        judged.words
                    );
                    assert!(
                        judged
                            .codes
                            .iter()
                            .any(|code| surveys.iter().any(|row| row.reason == *code)),
                        "{option} with {field} {way:?}: nothing settles {:?}",
                        judged.codes
                    );
                }
            }
        }
    }

    #[test]
    fn every_need_has_a_survey_or_a_reading_that_settles_it() {
        let surveys = works().unwrap();
        for need in &NEEDS {
            let row = surveys.iter().find(|row| row.reason == need.code);
            assert!(row.is_some_and(|row| row.settles), "{}", need.code);
        }
    }

    #[test]
    fn an_asbestos_register_stands_for_the_year() {
        let rules = RuleBook::shipped().unwrap();
        let mut site = all_stated();
        site.set("building_year", Value::Unknown);
        site.set("asbestos_register", true);
        let judged = judge(rules, &site, "EB").unwrap();
        assert_eq!(judged.standing, Standing::Fits);
    }

    /// Two people want 22 kW at once, which 8 kW to spare do not give, whatever was stated of another unit's draw.
    #[test]
    fn a_supply_is_held_against_the_size_that_would_do() {
        let rules = RuleBook::shipped().unwrap();
        let mut site = all_stated();
        site.set("electric_kw_needed", 6.0);
        site.set("electric_kw_spare", 8.0);
        let standing = |site: &Values| {
            let judged = judge(rules, site, "EB").unwrap();
            (judged.standing, judged.codes)
        };
        let codes = |all: &[&str]| all.iter().map(|c| (*c).to_owned()).collect::<Vec<_>>();
        assert_eq!(
            standing(&site),
            (
                Standing::AfterWorks,
                codes(&["SUPPLY_UPGRADE", "ASK_SUPPLY_UPGRADE"])
            )
        );
        site.set("supply_upgrade_possible", "yes");
        assert_eq!(
            standing(&site),
            (Standing::AfterWorks, codes(&["SUPPLY_UPGRADE"]))
        );
        site.set("supply_upgrade_possible", "no");
        assert_eq!(
            standing(&site),
            (Standing::RuledOut, codes(&["SUPPLY_TOO_SMALL"]))
        );
        site.set("electric_kw_spare", 22.0);
        assert_eq!(standing(&site), (Standing::Fits, Vec::new()));
        // A store of 6 kW has its place where an electric boiler of 22 kW has none.
        site.set("electric_kw_spare", 8.0);
        let store = judge(rules, &site, "TS").unwrap();
        assert_eq!(store.standing, Standing::Fits);
    }
}
