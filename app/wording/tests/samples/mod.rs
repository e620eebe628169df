//! Invented buildings, units and money to draw from. Chosen for the picture, not computed.
pub mod buildings;
pub mod lives;
pub mod money;
pub mod outlooks;
#[cfg(test)]
pub mod xml;
pub mod year;

use buildings::{house, mill, slab, tower};
use lives::{boiler, old_cylinder, store_of_today, stranger};
use money::{fork, keep_years, purse, reserve, tornado, two_limits};
use outlooks::{few, ranges};
use year::{moved, next_sixty, squares, strip};

/// Every drawing once.
pub fn all() -> Vec<wording::Drawing> {
    use wording::drawings::elevation::mini;
    vec![
        slab().draw(),
        fork().draw(),
        reserve().draw(),
        keep_years().draw(),
        two_limits().draw(),
        tornado().draw(),
        purse().draw(),
        ranges().draw(),
        few().draw(),
        strip().draw(),
        next_sixty().draw(),
        squares().draw(),
        moved().draw(),
        boiler().draw(),
        stranger().draw(),
        store_of_today().draw(),
        old_cylinder().draw(),
        tower().draw(),
        mill().draw(),
        house().draw(),
        mini(&slab()),
        mini(&tower()),
        mini(&mill()),
    ]
}
