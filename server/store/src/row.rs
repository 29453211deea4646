//! Rows as structs, read by column name from either database.

use sqlx::{Column, ColumnIndex, Decode, Row, Type};

/// Declares a struct whose fields are columns of the same names.
macro_rules! row {
    ($(#[$doc:meta])* $name:ident { $($field:ident: $type:ty),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug)]
        pub(crate) struct $name { $(pub(crate) $field: $type),+ }
        $crate::row::row!(@for sqlx::sqlite::SqliteRow, $name { $($field: $type),+ });
        $crate::row::row!(@for sqlx::postgres::PgRow, $name { $($field: $type),+ });
    };
    (@for $row:ty, $name:ident { $($field:ident: $type:ty),+ }) => {
        impl<'r> sqlx::FromRow<'r, $row> for $name {
            fn from_row(row: &'r $row) -> Result<Self, sqlx::Error> {
                let mut place = 0;
                Ok(Self { $($field: $crate::row::next(row, &mut place, stringify!($field))?),+ })
            }
        }
    };
}
pub(crate) use row;

/// The value of a column. As a rule the columns stand in the order in which they are read, so that
/// the next one is looked at before one is looked up by its name.
pub(crate) fn next<'r, R, T>(
    row: &'r R,
    place: &mut usize,
    name: &'static str,
) -> Result<T, sqlx::Error>
where
    R: Row,
    usize: ColumnIndex<R>,
    &'static str: ColumnIndex<R>,
    T: Decode<'r, R::Database> + Type<R::Database>,
{
    let here = *place;
    *place += 1;
    match row.columns().get(here) {
        Some(column) if column.name() == name => row.try_get(here),
        _ => row.try_get(name),
    }
}

/// Two structs read from one row.
#[derive(Debug)]
pub(crate) struct Both<A, B>(pub(crate) A, pub(crate) B);

impl<'r, R: sqlx::Row, A: sqlx::FromRow<'r, R>, B: sqlx::FromRow<'r, R>> sqlx::FromRow<'r, R>
    for Both<A, B>
{
    fn from_row(row: &'r R) -> Result<Self, sqlx::Error> {
        Ok(Self(A::from_row(row)?, B::from_row(row)?))
    }
}

/// A text that was checked before it was written, read back as its type.
pub(crate) fn parsed<T>(text: &str) -> Result<T, sqlx::Error>
where
    T: std::str::FromStr<Err = domain::unreadable::Unreadable>,
{
    text.parse()
        .map_err(|why| sqlx::Error::Decode(Box::new(why)))
}

/// The same for a column that may be null.
pub(crate) fn parsed_option<T>(text: Option<&str>) -> Result<Option<T>, sqlx::Error>
where
    T: std::str::FromStr<Err = domain::unreadable::Unreadable>,
{
    text.map(parsed).transpose()
}

/// A JSON text that was written by us, read back.
pub(crate) fn from_json<T: serde::de::DeserializeOwned>(text: &str) -> Result<T, sqlx::Error> {
    serde_json::from_str(text).map_err(|why| sqlx::Error::Decode(Box::new(why)))
}

/// A value of ours as JSON text.
pub(crate) fn to_json<T: serde::Serialize>(value: &T) -> Result<String, sqlx::Error> {
    serde_json::to_string(value).map_err(|why| sqlx::Error::Encode(Box::new(why)))
}
