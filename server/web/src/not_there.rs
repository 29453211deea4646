//! Refuses a question that names what is not in the register: that nothing was found there would
//! be no answer.

use crate::api::problem::Problem;
use crate::failure::Failure;
use domain::configuration::component::ComponentRef;
use domain::unreadable::Unreadable;
use store::StoreError;
use store::read::View;
use store::read::not_there::Named;

/// A field that names what is not in the register.
#[derive(Debug)]
pub(crate) enum NotThere {
    /// Which, and what it names.
    Field(&'static str, Unreadable),
    /// It could not be looked up.
    Store(StoreError),
}

impl From<NotThere> for Failure {
    fn from(not_there: NotThere) -> Self {
        match not_there {
            NotThere::Field(_, why) => why.into(),
            NotThere::Store(why) => why.into(),
        }
    }
}

impl From<NotThere> for Problem {
    fn from(not_there: NotThere) -> Self {
        match not_there {
            NotThere::Field(field, why) => Self::unreadable(field, &why),
            NotThere::Store(why) => Failure::from(why).into(),
        }
    }
}

/// Refuses the first field that names what is not in the register. One statement.
pub(crate) async fn refuse_not_there(view: &mut View, named: Named<'_>) -> Result<(), NotThere> {
    let missing = view.not_there(named).await.map_err(NotThere::Store)?;
    match missing.first() {
        None => Ok(()),
        Some(field) => Err(NotThere::Field(field, not_there(field, named.name(field)))),
    }
}

/// What is said of a name that is not in the register.
pub(crate) fn not_there(field: &'static str, name: &str) -> Unreadable {
    Unreadable::new(field, name, "one that is in the register")
}

/// Why a component is not there: it never came in, or its receipt was withdrawn.
pub(crate) async fn no_component(
    view: &mut View,
    component: &ComponentRef,
) -> Result<Failure, StoreError> {
    Ok(match view.receipt_withdrawn(component).await? {
        Some(by) => Failure::Withdrawn {
            component: component.clone(),
            by,
        },
        None => Failure::NotFound {
            what: "component",
            name: component.to_string(),
        },
    })
}
