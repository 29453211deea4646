//! Car types: which there are, the circuit of one as text with what is doubtful in it and what
//! each cock takes, what is approved at its positions and for which cars it is in force, beside
//! another revision; and a new revision, or when one comes into force, proposed for a second person
//! to approve.

pub(crate) mod approved;
mod baseline;
pub(crate) mod list;
pub(crate) mod one;
pub(crate) mod revise;
mod trial;

use crate::failure::Failure;
use domain::configuration::car_type::CarType;
use domain::identity::{CarTypeName, Revision};
use domain::ledger::dossier::{Documents, InForce};
use std::sync::Arc;

/// The design that an address names.
fn named<'d>(
    documents: &'d Documents,
    name: &str,
    revision: &str,
) -> Result<&'d InForce<Arc<CarType>>, Failure> {
    let key: (CarTypeName, Revision) = (name.parse()?, revision.parse()?);
    let found = documents.car_types.get(&key);
    found.ok_or_else(|| Failure::NotFound {
        what: "car type",
        name: format!("{name} revision {revision}"),
    })
}
