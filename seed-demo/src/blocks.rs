//! The three blocks of the demo, said as their agent would say them. All invented.
use terms::Country;
use usecases::register::{DrawBuilding, Heat, StoreyForm};

/// A slab of 1964, six storeys of eight, a combi boiler in each flat.
pub fn slab() -> DrawBuilding {
    DrawBuilding {
        name: "Sorrel House".to_owned(),
        code: "SH".to_owned(),
        address: "Sorrel Way, Teasel Green".to_owned(),
        country: Country::England,
        built_year: Some(1964),
        storeys: 6,
        flats_a_storey: 8,
        differing: Vec::new(),
        first_number: 1,
        stairs_after: vec![2, 6],
        plant_below: true,
        tank_on_roof: true,
        heat: Heat::Flats,
        hardness_mg_l: Some(282.0),
        asbestos_register: "present".to_owned(),
    }
}

/// A tower of 2014, 23 storeys of six, interface units on the risers of a heat network.
pub fn tower() -> DrawBuilding {
    DrawBuilding {
        name: "Bryony Tower".to_owned(),
        code: "BT".to_owned(),
        address: "2 Weir Street, Teasel Green".to_owned(),
        country: Country::England,
        built_year: Some(2014),
        storeys: 24,
        flats_a_storey: 6,
        differing: vec![StoreyForm {
            ordinal: 0,
            flats: 0,
            rooms: vec!["Hall".to_owned(), "Bins".to_owned()],
        }],
        first_number: 1,
        stairs_after: vec![3],
        plant_below: true,
        tank_on_roof: false,
        heat: Heat::Plant,
        hardness_mg_l: Some(282.0),
        asbestos_register: "none".to_owned(),
    }
}

/// A mill of 1871, turned into flats in 1998: stores and cylinders, and nowhere to run a discharge.
pub fn mill() -> DrawBuilding {
    DrawBuilding {
        name: "Madder Mill".to_owned(),
        code: "MM".to_owned(),
        address: "Mill Leat, Teasel Green".to_owned(),
        country: Country::England,
        built_year: Some(1871),
        storeys: 5,
        flats_a_storey: 4,
        differing: Vec::new(),
        first_number: 1,
        stairs_after: vec![2],
        plant_below: true,
        tank_on_roof: true,
        heat: Heat::Flats,
        hardness_mg_l: Some(240.0),
        asbestos_register: "unknown".to_owned(),
    }
}
