//! Diesel glue for the typed ids of `terms`, kept inside this room.
use diesel::deserialize::{self, FromSql, FromSqlRow};
use diesel::expression::AsExpression;
use diesel::pg::{Pg, PgValue};
use diesel::serialize::{self, Output, ToSql};
use diesel::sql_types::Uuid as SqlUuid;
use uuid::Uuid;

/// A typed id, or a list of `Option`s of one, as a column value.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, FromSqlRow, AsExpression)]
#[diesel(sql_type = SqlUuid)]
pub struct Db<T: IdType>(pub T);

/// An id of `terms`.
pub trait IdType: Copy + std::fmt::Debug + From<Uuid> {
    /// Its value.
    fn value(&self) -> Uuid;
}

impl<T: IdType> FromSql<SqlUuid, Pg> for Db<T> {
    fn from_sql(bytes: PgValue<'_>) -> deserialize::Result<Self> {
        <Uuid as FromSql<SqlUuid, Pg>>::from_sql(bytes).map(|id| Self(T::from(id)))
    }
}

impl<T: IdType> ToSql<SqlUuid, Pg> for Db<T>
where
    Uuid: ToSql<SqlUuid, Pg>,
{
    fn to_sql<'b>(&'b self, out: &mut Output<'b, '_, Pg>) -> serialize::Result {
        let value = self.0.value();
        <Uuid as ToSql<SqlUuid, Pg>>::to_sql(&value, &mut out.reborrow())
    }
}

impl<T: IdType> From<T> for Db<T> {
    fn from(id: T) -> Self {
        Self(id)
    }
}

macro_rules! glue {
    ($($name:ident),* $(,)?) => {$(
        impl IdType for terms::$name {
            fn value(&self) -> Uuid {
                self.0
            }
        }
        impl From<Db<terms::$name>> for terms::$name {
            fn from(id: Db<terms::$name>) -> Self {
                id.0
            }
        }
    )*};
}

glue!(
    AccountId,
    AdviceId,
    BranchId,
    BuildingId,
    DecisionId,
    DutyId,
    EngineerId,
    EstateId,
    EventDutyId,
    FactId,
    FailureId,
    FaultCallId,
    FirmId,
    FitId,
    ForecastId,
    GrantId,
    HeaterId,
    ImportId,
    InstrumentId,
    JobId,
    LevelId,
    OutageId,
    OutletId,
    PartId,
    PlacementId,
    QuoteId,
    RecallId,
    RoundId,
    SpaceId,
    TaskId,
    TemperatureRoundId,
    UnitId,
    VisitId,
);
