//! A field of an address that cannot be read, for pages and for programs.

use crate::api::problem::Problem;
use crate::failure::Failure;
use domain::unreadable::Unreadable;
use std::str::FromStr;

/// The field, and what was expected in it.
#[derive(Debug)]
pub(crate) struct Misread(pub(crate) &'static str, pub(crate) Unreadable);

impl From<Misread> for Failure {
    fn from(Misread(_, why): Misread) -> Self {
        why.into()
    }
}

impl From<Misread> for Problem {
    fn from(Misread(field, why): Misread) -> Self {
        Self::unreadable(field, &why)
    }
}

/// Reads a field that must be there.
pub(crate) fn field<T>(name: &'static str, text: &str) -> Result<T, Misread>
where
    T: FromStr<Err = Unreadable>,
{
    text.trim().parse().map_err(|why| Misread(name, why))
}
