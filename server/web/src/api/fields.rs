//! Values of addresses, read into core types.

use super::problem::Problem;
use domain::unreadable::Unreadable;
use std::str::FromStr;

/// A field that may be left out or empty.
pub(crate) fn read<T>(field: &str, text: Option<&str>) -> Result<Option<T>, Problem>
where
    T: FromStr<Err = Unreadable>,
{
    let given = text.filter(|text| !text.is_empty());
    given
        .map(|text| text.parse().map_err(|why| Problem::unreadable(field, &why)))
        .transpose()
}

/// A name in an address.
pub(crate) fn named<T>(field: &str, text: &str) -> Result<T, Problem>
where
    T: FromStr<Err = Unreadable>,
{
    text.parse().map_err(|why| Problem::unreadable(field, &why))
}

/// A number in an address.
pub(crate) fn numbered(field: &str, text: &str) -> Result<i64, Problem> {
    text.parse().map_err(|_| {
        let why = Unreadable::new("number", text, "a whole number, as 4711");
        Problem::unreadable(field, &why)
    })
}
