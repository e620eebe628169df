//! A block on a heat network: six storeys of four homes, a header and four risers.
use chrono::TimeDelta;
use terms::{BranchId, BuildingId, FaultCallId, FunctionLost, SpaceId};
use usecases::outages::{self, JoinForm, Proposal};
use usecases::register::{self, BuildingView, DrawBuilding, Heat};
use usecases::work::{self, FaultCall, Logged};
use usecases::{Error, World};

use crate::register::estate::{Estate, estate, house};

pub struct Network {
    pub estate: Estate,
    pub building: BuildingId,
}

impl Network {
    pub fn new() -> Self {
        let estate = estate();
        let form = DrawBuilding {
            heat: Heat::Plant,
            plant_below: true,
            ..house("Weir Court", 6)
        };
        let building = estate.draw(form);
        Self { estate, building }
    }

    pub fn world(&self) -> &World {
        &self.estate.app.database.world
    }

    pub fn later(&self, minutes: i64) {
        self.estate
            .app
            .database
            .clock
            .advance(TimeDelta::minutes(minutes));
    }

    pub fn view(&self) -> BuildingView {
        register::building_view(self.world(), &self.estate.seat, self.building).unwrap()
    }

    /// The riser of this number with the homes on it, lowest first.
    pub fn riser(&self, name: &str) -> (BranchId, Vec<(SpaceId, String)>) {
        let view = self.view();
        let branch = view.branches.iter().find(|b| b.name == name).unwrap();
        let homes = view
            .flats
            .iter()
            .filter(|f| branch.spaces.contains(&f.space.id))
            .map(|f| (f.space.id, f.space.name.clone()))
            .collect();
        (branch.id, homes)
    }

    pub fn call(&self, space: SpaceId, lost: FunctionLost) -> Logged {
        let form = FaultCall {
            space,
            function_lost: lost,
            leak: None,
            since: None,
            unit: None,
            words: "lukewarm".to_owned(),
        };
        let once = format!("call {space} {}", self.world().now());
        work::log_call(self.world(), &self.estate.seat, form, &once).unwrap()
    }

    pub fn proposals(&self) -> Vec<Proposal> {
        outages::suspicion(self.world(), &self.estate.seat)
            .unwrap()
            .proposals
    }

    pub fn join(
        &self,
        branch: Option<BranchId>,
        calls: Vec<FaultCallId>,
        once: &str,
    ) -> Result<terms::OutageId, Error> {
        let form = JoinForm {
            building: self.building,
            branch,
            lost: FunctionLost::HotWater,
            cause: "strainer of the riser?".to_owned(),
            calls,
        };
        outages::join(self.world(), &self.estate.seat, form, once)
    }
}
