//! Rounds and programme: planning proposes, a person accepts.
mod adopting;
mod asking;
mod asking_rounds;
mod binding;
mod binds;
mod bundling;
mod calls;
mod changes;
mod demands;
mod disruption;
mod figures;
mod former;
mod gives_way;
mod jointly;
mod known;
mod making;
mod money;
mod more_money;
mod moves;
mod moving;
mod offering;
mod order;
mod placing;
mod prepared;
mod programme;
mod reasons;
mod rows;
mod shared;
mod shared_kept;
mod shared_year;
mod staff;
mod standing_in;
mod tying;
mod unit_year;
mod view;
mod ways;
mod words;

pub use adopting::{adopt_plan, open_planned_job, put_plan_away};
pub use asking::{Asked, WhatIf};
pub use asking_rounds::{RoundWish, Times, ask_of_rounds, take_back_ask};
pub use binds::Binds;
pub use calls::{CallPlace, CallStand, past_its_time};
pub use changes::Change;
pub use demands::WorkAsks;
pub use figures::Figures;
pub use gives_way::GivesWay;
pub use jointly::{adopt_shared_plan, make_shared_plan, make_shared_plan_slowly, shared_programme};
pub use making::{
    Beside, Made, Making, PlanWish, STEPS, TASK, make_plan, make_plan_slowly, make_plans_anew,
};
pub use money::{BudgetForm, Limits, Stated, YEARS, YEARS_RANGE, state_budget, state_limits};
pub use more_money::MoreMoney;
pub use moves::{MoveLine, Stand};
pub use moving::{MoveVisit, move_visit, pin_visit};
pub use offering::{offer_day, offer_visit};
pub use order::Order;
pub use placing::{
    Afresh, Placing, ROUND_TASK, place_afresh, place_afresh_slowly, place_round_absence,
    place_visits, place_with_today, round_breaches, stop_placing,
};
pub use planning::programme::optimal::{Clashing, JointClash, PlainWay, Proven, Verdict};
pub use planning::programme::{
    LeftOut, ProgrammeBreach, ProgrammeVerdict, Replacement, Swapped, YearLine,
};
pub use planning::rounds::optimal::{MoreTime, RoundProof, Tally};
pub use planning::rounds::{Breach, Rule, WeekLoad};
pub use planning::{Programme, ProgrammeInput};
pub use programme::{Adopted, BuildingProgramme, PlanCard, TieCard, kept_plan, programme};
pub use reasons::{Because, Fullest};
pub use shared::{
    Former, SharedMade, SharedMaking, SharedPart, SharedProgramme, SharedWish, SharedYear,
};
pub use shared_year::{Anew, WithOthers};
pub use tying::{TieForm, TieKind, tie_units, untie_units};
pub use unit_year::{MovedTo, Moves, UnitInProgramme, kept_unit_year, unit_year};
pub use view::{AskCard, Part, PlannedVisit, Promised, Rounds, rounds};
pub use ways::{WayCard, WayForm, Ways, state_way};
