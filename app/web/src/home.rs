//! The front door leads each person to their own first page.
use actix_web::HttpResponse;
use terms::Role;

use crate::page::see;
use crate::seats::Visitor;

/// Where a person begins.
pub(crate) fn first_page(roles: impl Iterator<Item = Role>) -> &'static str {
    let roles: Vec<Role> = roles.collect();
    let is = |role: &Role| roles.contains(role);
    if is(&Role::Agent) || is(&Role::Supervisor) || is(&Role::OutOfHours) {
        "/today"
    } else if is(&Role::Contractor) || is(&Role::Office) {
        "/my-day"
    } else if is(&Role::Landlord) {
        "/letter"
    } else if is(&Role::Site) {
        "/temperatures"
    } else {
        "/account"
    }
}

/// Leads on.
pub(crate) async fn home(visitor: Visitor) -> HttpResponse {
    see(first_page(visitor.person.grants.iter().map(|g| g.role)))
}
