//! Core values as column values of both databases: on PostgreSQL the native DATE and
//! TIMESTAMPTZ, on SQLite whole days and microseconds since 1970-01-01.

use domain::time::{Day, Instant};
use sqlx::encode::IsNull;
use sqlx::error::BoxDynError;
use sqlx::postgres::types::Oid;
use sqlx::postgres::{PgArgumentBuffer, PgTypeInfo, PgValueFormat, PgValueRef, Postgres};
use sqlx::sqlite::{Sqlite, SqliteArgumentsBuffer, SqliteTypeInfo, SqliteValueRef};
use sqlx::{Decode, Encode, Type};

/// A calendar date as a column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct On(pub(crate) Day);

/// A moment as a column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct At(pub(crate) Instant);

/// PostgreSQL's numbers of its built-in types. By name, each connection would first have to ask
/// for them.
const DATE: Oid = Oid(1082);
const TIMESTAMPTZ: Oid = Oid(1184);

/// From 1970-01-01, where the core counts from, to 2000-01-01, where PostgreSQL counts from.
const EPOCH_DAYS: i32 = 10_957;
const EPOCH_MICROSECONDS: i64 = EPOCH_DAYS as i64 * 86_400_000_000;

impl Type<Sqlite> for On {
    fn type_info() -> SqliteTypeInfo {
        <i64 as Type<Sqlite>>::type_info()
    }
    fn compatible(ty: &SqliteTypeInfo) -> bool {
        <i64 as Type<Sqlite>>::compatible(ty)
    }
}

impl Encode<'_, Sqlite> for On {
    fn encode_by_ref(&self, buffer: &mut SqliteArgumentsBuffer) -> Result<IsNull, BoxDynError> {
        Encode::<Sqlite>::encode_by_ref(&i64::from(self.0.number()), buffer)
    }
}

impl Decode<'_, Sqlite> for On {
    fn decode(value: SqliteValueRef<'_>) -> Result<Self, BoxDynError> {
        let number = i32::try_from(<i64 as Decode<Sqlite>>::decode(value)?)?;
        Day::from_number(number)
            .map(On)
            .ok_or_else(|| format!("day {number} is out of range").into())
    }
}

impl Type<Postgres> for On {
    fn type_info() -> PgTypeInfo {
        PgTypeInfo::with_oid(DATE)
    }
}

impl Encode<'_, Postgres> for On {
    fn encode_by_ref(&self, buffer: &mut PgArgumentBuffer) -> Result<IsNull, BoxDynError> {
        Encode::<Postgres>::encode_by_ref(&(self.0.number() - EPOCH_DAYS), buffer)
    }
}

impl Decode<'_, Postgres> for On {
    fn decode(value: PgValueRef<'_>) -> Result<Self, BoxDynError> {
        binary(&value)?;
        let number = <i32 as Decode<Postgres>>::decode(value)?.saturating_add(EPOCH_DAYS);
        Day::from_number(number)
            .map(On)
            .ok_or_else(|| format!("day {number} is out of range").into())
    }
}

impl Type<Sqlite> for At {
    fn type_info() -> SqliteTypeInfo {
        <i64 as Type<Sqlite>>::type_info()
    }
    fn compatible(ty: &SqliteTypeInfo) -> bool {
        <i64 as Type<Sqlite>>::compatible(ty)
    }
}

impl Encode<'_, Sqlite> for At {
    fn encode_by_ref(&self, buffer: &mut SqliteArgumentsBuffer) -> Result<IsNull, BoxDynError> {
        Encode::<Sqlite>::encode_by_ref(&self.0.microseconds(), buffer)
    }
}

impl Decode<'_, Sqlite> for At {
    fn decode(value: SqliteValueRef<'_>) -> Result<Self, BoxDynError> {
        instant(<i64 as Decode<Sqlite>>::decode(value)?)
    }
}

impl Type<Postgres> for At {
    fn type_info() -> PgTypeInfo {
        PgTypeInfo::with_oid(TIMESTAMPTZ)
    }
}

impl Encode<'_, Postgres> for At {
    fn encode_by_ref(&self, buffer: &mut PgArgumentBuffer) -> Result<IsNull, BoxDynError> {
        Encode::<Postgres>::encode_by_ref(&(self.0.microseconds() - EPOCH_MICROSECONDS), buffer)
    }
}

impl Decode<'_, Postgres> for At {
    fn decode(value: PgValueRef<'_>) -> Result<Self, BoxDynError> {
        binary(&value)?;
        instant(<i64 as Decode<Postgres>>::decode(value)?.saturating_add(EPOCH_MICROSECONDS))
    }
}

fn binary(value: &PgValueRef<'_>) -> Result<(), BoxDynError> {
    match value.format() {
        PgValueFormat::Binary => Ok(()),
        PgValueFormat::Text => Err("dates and times are read in binary form only".into()),
    }
}

fn instant(microseconds: i64) -> Result<At, BoxDynError> {
    Instant::from_microseconds(microseconds)
        .map(At)
        .ok_or_else(|| format!("time {microseconds} is out of range").into())
}
