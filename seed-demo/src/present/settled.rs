//! What stands before the day begins: who may agree what, who lives where, what is known of a space.
use chrono::Days;
use serde_json::json;
use terms::trade::Authority;
use terms::{Pence, Role};
use usecases::advice::state_largest_share;
use usecases::authority::state_authority;
use usecases::register::{
    NeedForm, ResidentForm, SpaceForm, add_need, add_resident, correct_space,
};
use usecases::{Error, Seat};

use super::Scene;
use crate::fleet::flat_number;

impl Scene<'_> {
    /// This landlord keeps a short rein: £150 on site, £250 at the desk.
    pub(super) fn what_may_be_agreed(&self, landlord: &Seat) -> Result<(), Error> {
        for (role, limit, emergency) in [
            (Role::Contractor, 15_000, 50_000),
            (Role::Agent, 25_000, 150_000),
        ] {
            let authority = Authority {
                role,
                account: None,
                limit: Pence(limit),
                emergency: Pence(emergency),
                from_on: self.now.date_naive() - Days::new(300),
                until_on: None,
            };
            let once = format!("authority of {}", role.code());
            state_authority(self.world, landlord, authority, &once)?;
        }
        Ok(())
    }

    pub(super) fn who_lives_there(&self) -> Result<(), Error> {
        let surnames = [
            "Ashdene", "Brook", "Calder", "Denholm", "Elms", "Fenn", "Garrow", "Hale",
        ];
        let letters = ["A.", "D.", "K.", "M.", "R.", "S.", "T."];
        for space in self.spaces.values().filter(|s| flat_number(s) > 0) {
            let n = flat_number(space) as usize;
            let letter = letters.get(n % letters.len()).copied().unwrap_or("A.");
            let surname = surnames
                .get((n * 5) % surnames.len())
                .copied()
                .unwrap_or("Brook");
            let form = ResidentForm {
                name: format!("{letter} {surname}"),
                phone: format!("01632 960{:03}", n % 1000),
                from_on: self.world.now().date_naive() - Days::new(700),
            };
            add_resident(
                self.world,
                &self.desk,
                space.id,
                form,
                &format!("resident {}", space.id),
            )?;
        }
        for (name, words) in [
            ("Sorrel House Flat 14", "needs heat the same day"),
            ("Bryony Tower Flat 71", "is slow to the door: ring twice"),
        ] {
            let form = NeedForm {
                words: words.to_owned(),
                same_day: words.contains("same day"),
                from_on: self.world.now().date_naive(),
            };
            add_need(
                self.world,
                &self.desk,
                self.space(name)?,
                form,
                &format!("need {name}"),
            )?;
        }
        Ok(())
    }

    /// Sorrel House: gas, no spare supply. Madder Mill: no route for a discharge.
    pub(super) fn what_options_need_to_know(&self) -> Result<(), Error> {
        for (name, site) in [
            (
                "Sorrel House",
                json!({ "gas_supply": "yes", "gas_allowed": "yes", "flue_route": "yes", "gas_drop_mbar": 0.7,
                    "condensate_route": "yes", "discharge_route": "no", "heat_network": "no",
                    "electric_kw_needed": 9.0, "electric_kw_spare": 4.0, "supply_upgrade_possible": "no",
                    "static_bar": 3.1, "dynamic_bar_at_12": 1.6, "max_flow_lpm": 16.0, "cold_pipe_mm": 22.0,
                    "space_for_vessel": "no", "floor_carries": "unknown" }),
            ),
            (
                "Madder Mill",
                json!({ "gas_supply": "no", "gas_allowed": "no", "flue_route": "no", "discharge_route": "no",
                    "heat_network": "no", "electric_kw_needed": 6.0, "electric_kw_spare": 7.0,
                    "static_bar": 2.8, "dynamic_bar_at_12": 1.3, "max_flow_lpm": 15.0, "cold_pipe_mm": 15.0,
                    "space_for_vessel": "yes", "floor_carries": "yes", "cistern_space": "yes",
                    "cistern_head_m": 1.4 }),
            ),
        ] {
            let serde_json::Value::Object(site) = site else {
                continue;
            };
            for space in self
                .spaces
                .values()
                .filter(|s| s.building_name == name && flat_number(s) > 0)
            {
                let form = SpaceForm {
                    name: space.name.clone(),
                    // Two flats of the slab are on long leases: their gas check is not ours.
                    let_short: Some(
                        !(name == "Sorrel House" && [9, 33].contains(&flat_number(space))),
                    ),
                    stair: space.stair.clone(),
                    site: site.clone(),
                };
                correct_space(
                    self.world,
                    &self.desk,
                    space.id,
                    form,
                    &format!("site {}", space.id),
                )?;
            }
        }
        self.who_bears_most()
    }

    /// The leases of Sorrel House: the largest flat bears 2.1 in 100.
    fn who_bears_most(&self) -> Result<(), Error> {
        let house = self
            .spaces
            .values()
            .find(|s| s.building_name == "Sorrel House");
        let Some(space) = house else { return Ok(()) };
        let share = (space.building, 2.1);
        state_largest_share(self.world, &self.desk, share, "largest share")
    }
}
