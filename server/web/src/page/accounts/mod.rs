//! Accounts as an administrator keeps them and an auditor reads them: the list, making one, and one
//! account.

mod bind;
mod list;
mod one;

pub(crate) use bind::{bind, unbind};
pub(crate) use list::{make, show as list};
pub(crate) use one::{give_password, give_roles, set_state, show as one};

use crate::failure::Failure;
use crate::form::{FieldErrors, Fields};
use crate::password;
use crate::session::SignedIn;
use crate::state::WebState;
use domain::people::account::{KEEPS_ACCOUNTS, READS_ACCOUNTS};
use domain::people::roles::Roles;
use domain::people::tries::seconds_after;
use domain::people::{Actor, Role};
use store::account::Secret;

/// How long a one-time password is good, in days.
const ONE_TIME_DAYS: i64 = 7;

/// Whoever may keep accounts.
fn keeper(signed_in: &SignedIn) -> Result<Actor, Failure> {
    let actor = signed_in.actor()?;
    if actor.holds(KEEPS_ACCOUNTS) {
        Ok(actor)
    } else {
        Err(Failure::for_roles(KEEPS_ACCOUNTS))
    }
}

/// Whoever may read accounts.
fn reader(signed_in: &SignedIn) -> Result<Actor, Failure> {
    let actor = signed_in.actor()?;
    if actor.holds(READS_ACCOUNTS) {
        Ok(actor)
    } else {
        Err(Failure::for_roles(READS_ACCOUNTS))
    }
}

/// A role to tick.
struct RoleBox {
    role: Role,
    /// The name of its box in the form.
    field: String,
    ticked: bool,
}

fn field_of(role: Role) -> String {
    format!("role_{}", role.name())
}

fn role_boxes(held: &[Role]) -> Vec<RoleBox> {
    let of_role = |role: &Role| RoleBox {
        role: *role,
        field: field_of(*role),
        ticked: held.contains(role),
    };
    Role::ALL.iter().map(of_role).collect()
}

fn ticked(fields: &Fields) -> Vec<Role> {
    let ticked = |role: &&Role| !fields.text(&field_of(**role)).is_empty();
    Role::ALL.iter().filter(ticked).copied().collect()
}

/// The roles that are ticked, if one account may hold them; else what is wrong with them.
fn given_roles(fields: &Fields, errors: &mut FieldErrors) -> Option<Roles> {
    let given = Roles::together(ticked(fields));
    given
        .inspect_err(|why| errors.add("roles", why.to_string()))
        .ok()
}

/// A one-time password: to be told once, and as it is kept.
async fn one_time(state: &WebState) -> Result<(String, Secret), Failure> {
    let told = password::one_time();
    let hash = password::hash(told.clone()).await;
    let hash = hash.ok_or(Failure::NoHash)?;
    let until = seconds_after(state.now(), ONE_TIME_DAYS * 86_400);
    Ok((told, Secret::OneTime(hash, until)))
}
