//! Who asks, in which estate, as what: checked at the head of every use case.
use terms::{
    AccountId, BuildingId, EngineerId, EstateId, FirmId, Grant, GrantId, JobId, Person, Role,
};
use uuid::Uuid;

use crate::Error;

/// The account that stands for the program's own tasks.
pub const THE_PROGRAM: AccountId = AccountId(Uuid::nil());

/// A person in one of their grants, or the program itself in an estate.
#[derive(Clone, Debug)]
pub struct Seat {
    account: AccountId,
    name: String,
    grant: Grant,
    program: bool,
    only: Option<JobId>,
}

impl Seat {
    /// The seat of `person` in `grant`, which must be one of theirs.
    pub fn of(person: &Person, grant: GrantId) -> Result<Self, Error> {
        let grant = person
            .grants
            .iter()
            .find(|g| g.id == grant)
            .ok_or(Error::Forbidden("no such grant"))?;
        Ok(Self {
            account: person.account,
            name: person.name.clone(),
            grant: grant.clone(),
            program: false,
            only: None,
        })
    }

    /// The first seat of `person` in one of `roles`.
    pub fn first(person: &Person, roles: &[Role]) -> Result<Self, Error> {
        let grant = person
            .grants
            .iter()
            .find(|g| roles.contains(&g.role))
            .ok_or(Error::Forbidden("not in this role"))?;
        Self::of(person, grant.id)
    }

    /// Every seat of `person` in one of `roles`: one transaction each, merged by the use case.
    pub fn all(person: &Person, roles: &[Role]) -> Vec<Self> {
        person
            .grants
            .iter()
            .filter(|g| roles.contains(&g.role))
            .filter_map(|g| Self::of(person, g.id).ok())
            .collect()
    }

    /// The program's own seat, for tasks, imports by command and the demo.
    pub fn program(estate: EstateId, estate_name: &str) -> Self {
        Self {
            account: THE_PROGRAM,
            name: "the program".to_owned(),
            grant: Grant {
                id: GrantId(Uuid::nil()),
                estate,
                estate_name: estate_name.to_owned(),
                role: Role::Agent,
                firm: None,
                engineer: None,
                buildings: None,
            },
            program: true,
            only: None,
        }
    }

    /// The seat of a link in a mail: it answers for one firm about one job and does nothing else. It is no account, so
    /// what it writes stands under the link's own id, and it never sees who lives there, nor a code.
    pub fn of_link(
        link: Uuid,
        (estate, estate_name): (EstateId, &str),
        (firm, firm_name): (FirmId, &str),
        job: JobId,
    ) -> Self {
        Self {
            account: AccountId(link),
            name: firm_name.to_owned(),
            grant: Grant {
                id: GrantId(link),
                estate,
                estate_name: estate_name.to_owned(),
                role: Role::Office,
                firm: Some(firm),
                engineer: None,
                buildings: None,
            },
            program: false,
            only: Some(job),
        }
    }

    /// The only job a link may answer about; `None` for everybody who signed in.
    pub fn only_job(&self) -> Option<JobId> {
        self.only
    }

    /// The estate it acts in.
    pub fn estate(&self) -> EstateId {
        self.grant.estate
    }

    /// The estate's name.
    pub fn estate_name(&self) -> &str {
        &self.grant.estate_name
    }

    /// The account it acts as.
    pub fn account(&self) -> AccountId {
        self.account
    }

    /// The person's name.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The role.
    pub fn role(&self) -> Role {
        self.grant.role
    }

    /// The grant behind it.
    pub fn grant(&self) -> &Grant {
        &self.grant
    }

    /// Whether the program itself asks.
    pub fn is_program(&self) -> bool {
        self.program
    }

    /// Passes when the role is one of `roles`. A link in a mail has no role: only the use cases of its page know it.
    pub fn must_be(&self, roles: &[Role]) -> Result<(), Error> {
        if self.only.is_some() {
            return Err(Error::Forbidden("a link answers on its own page only"));
        }
        if roles.contains(&self.grant.role) {
            Ok(())
        } else {
            Err(Error::Forbidden("not in this role"))
        }
    }

    /// Passes when the grant reaches `building`.
    pub fn must_reach(&self, building: BuildingId) -> Result<(), Error> {
        if self.grant.reaches(building) {
            Ok(())
        } else {
            Err(Error::NotFound("building"))
        }
    }

    /// The firm of a contractor or a firm's office.
    pub fn firm(&self) -> Result<FirmId, Error> {
        self.grant.firm.ok_or(Error::Forbidden("not of a firm"))
    }

    /// The engineer this contractor is.
    pub fn engineer(&self) -> Option<EngineerId> {
        self.grant.engineer
    }
}
