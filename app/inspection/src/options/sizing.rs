//! Sizes: stored and instant hot water, pipes, standing loss, vessels.
use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::InspectionError;
use crate::coded::coded;
use crate::expr::round6;
use crate::formulas::{
    Vessel, expected_flow_lpm, finite, hot_water_power_kw, pipe_speed_m_s, positive,
    standing_loss_limit_kwh_24h, store_energy_kwh, unvented_vessel, valve_end_pressure_bar, vessel,
};

/// Draws of the peak hour.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Draw {
    /// How many.
    pub count: f64,
    /// Litres each.
    pub litres: f64,
    /// At this temperature, °C.
    pub at_c: f64,
}

/// A store and its peak hour.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PeakHourQuery {
    /// The draws.
    pub draws: Vec<Draw>,
    /// Volume, litres.
    pub volume_l: f64,
    /// Store temperature, °C.
    pub store_c: f64,
    /// Cold main, °C.
    pub cold_c: f64,
    /// Least useful temperature, °C.
    pub least_useful_c: f64,
    /// Usable share of the volume.
    pub usable_share: f64,
    /// Reheat, kW.
    pub reheat_kw: f64,
}

/// Whether the store covers the hour.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct PeakHour {
    /// Heat drawn, kWh.
    pub need_kwh: f64,
    /// Heat at hand, kWh.
    pub available_kwh: f64,
    /// Enough.
    pub enough: bool,
    /// Least volume that would do, litres.
    pub least_volume_l: f64,
    /// From cold to store temperature, hours; none without reheat.
    pub reheat_hours: Option<f64>,
}

/// need = Σ n · V · c · (at − cold)/3600; available = V · c · (store − least)/3600 · share + reheat
/// over one hour. Physics.
///
/// # Errors
/// A store no warmer than what is useful, or no usable share.
pub fn peak_hour(query: &PeakHourQuery) -> Result<PeakHour, InspectionError> {
    let need_kwh: f64 = query
        .draws
        .iter()
        .map(|d| store_energy_kwh(d.count * d.litres, d.at_c - query.cold_c))
        .sum();
    let useful = positive(
        "store above least useful",
        query.store_c - query.least_useful_c,
    )?;
    let share = positive("usable_share", query.usable_share)?;
    let a_litre = store_energy_kwh(1.0, useful) * share;
    let available_kwh = query.volume_l * a_litre + query.reheat_kw;
    let cold_to_store = store_energy_kwh(query.volume_l, query.store_c - query.cold_c);
    Ok(PeakHour {
        need_kwh: finite("need", need_kwh)?,
        available_kwh: finite("available", available_kwh)?,
        enough: round6(available_kwh) >= round6(need_kwh),
        least_volume_l: ((need_kwh - query.reheat_kw) / a_litre).max(0.0),
        reheat_hours: (query.reheat_kw > 0.0)
            .then(|| finite("reheat", cold_to_store / query.reheat_kw))
            .transpose()?,
    })
}

/// An instant heater and the outlets open at once.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct InstantQuery {
    /// Rated power, kW.
    pub rated_kw: f64,
    /// Rise, K.
    pub rise_k: f64,
    /// Flow of each outlet, l/min.
    pub outlets_lpm: Vec<f64>,
}

/// Whether it covers them.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Instant {
    /// Flow it can heat, l/min.
    pub flow_lpm: f64,
    /// Flow asked for, l/min.
    pub demand_lpm: f64,
    /// Enough.
    pub enough: bool,
    /// Power the demand would need, kW.
    pub kw_for_demand: f64,
}

/// F2 against the sum of the outlets.
///
/// # Errors
/// A rise not above 0.
pub fn instant(query: &InstantQuery) -> Result<Instant, InspectionError> {
    let flow_lpm = expected_flow_lpm(query.rated_kw, query.rise_k)?;
    let demand_lpm: f64 = query.outlets_lpm.iter().sum();
    Ok(Instant {
        flow_lpm,
        demand_lpm: finite("demand", demand_lpm)?,
        enough: round6(flow_lpm) >= round6(demand_lpm),
        kw_for_demand: hot_water_power_kw(demand_lpm, query.rise_k),
    })
}

/// Copper sizes and their bores, mm (common practice: table of standard tube).
const BORES_MM: [(&str, u32, f64); 3] = [("15", 15, 13.6), ("22", 22, 20.2), ("28", 28, 26.2)];

/// Speeds in three copper sizes.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PipeChoice {
    /// Speed by nominal size, m/s.
    pub speed_m_s: BTreeMap<String, f64>,
    /// The smallest within the limit, mm.
    pub smallest_mm: Option<u32>,
}

/// F20 in 15, 22 and 28 mm copper.
///
/// # Errors
/// A flow that is not finite.
pub fn pipe(flow_lpm: f64, limit_m_s: f64) -> Result<PipeChoice, InspectionError> {
    let mut choice = PipeChoice {
        speed_m_s: BTreeMap::new(),
        smallest_mm: None,
    };
    for (name, size, bore) in BORES_MM {
        let speed = pipe_speed_m_s(flow_lpm, bore)?;
        choice.speed_m_s.insert(name.to_owned(), speed);
        if choice.smallest_mm.is_none() && round6(speed) <= round6(limit_m_s) {
            choice.smallest_mm = Some(size);
        }
    }
    Ok(choice)
}

/// A declared standing loss against the general limit.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct StandingCheck {
    /// The limit, kWh in 24 h.
    pub limit_kwh_24h: f64,
    /// Within it.
    pub within: bool,
}

/// The general formula of F14.
pub fn standing_check(litres: f64, declared_kwh_24h: f64) -> StandingCheck {
    let limit_kwh_24h = standing_loss_limit_kwh_24h(litres);
    StandingCheck {
        limit_kwh_24h,
        within: round6(declared_kwh_24h) <= round6(limit_kwh_24h),
    }
}

coded! {
    /// What the vessel serves.
    VesselSystem {
        /// A sealed heating system.
        Heating = "heating",
        /// An unvented cylinder.
        Unvented = "unvented",
    }
}

/// A vessel in question.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct VesselQuery {
    /// What it serves.
    pub system: VesselSystem,
    /// Water in the system or cylinder, litres.
    pub litres: f64,
    /// Share it expands by.
    pub expansion: f64,
    /// Charge, bar.
    pub p0_bar: f64,
    /// Safety valve, bar.
    pub valve_bar: f64,
    /// What is fitted, litres.
    pub fitted_l: Option<f64>,
    /// Sizes to be had, litres.
    #[serde(default)]
    pub catalogue_l: Vec<f64>,
}

/// What it needs and what there is.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct VesselCheck {
    /// Water pushed out, litres.
    pub expansion_l: f64,
    /// Vessel needed, litres.
    pub vessel_l: f64,
    /// Whether what is fitted will do.
    pub fitted_is_enough: Option<bool>,
    /// The smallest size to be had that will do, litres.
    pub next_size_l: Option<f64>,
}

/// F15, or F15 for an unvented cylinder, with the end pressure from the valve.
///
/// # Errors
/// As [`vessel`].
pub fn vessel_check(query: &VesselQuery) -> Result<VesselCheck, InspectionError> {
    let need: Vessel = match query.system {
        VesselSystem::Heating => {
            let pe = valve_end_pressure_bar(query.valve_bar);
            vessel(query.litres, query.expansion, query.p0_bar, pe)?
        }
        VesselSystem::Unvented => {
            unvented_vessel(query.litres, query.expansion, query.p0_bar, query.valve_bar)?
        }
    };
    let does = |size: f64| round6(size) >= round6(need.vessel_l);
    Ok(VesselCheck {
        expansion_l: need.expansion_l,
        vessel_l: need.vessel_l,
        fitted_is_enough: query.fitted_l.map(does),
        next_size_l: query.catalogue_l.iter().copied().find(|&size| does(size)),
    })
}
