//! Accounts: which may sign in, and who may change which.

use crate::identity::PersonName;
use crate::people::{Actor, Role};
use crate::words::word_list;

word_list! {
    /// Whether an account may be used.
    AccountState, "account state" {
        /// It may sign in.
        Active = "active",
        /// It may not; what it recorded stays.
        Disabled = "disabled",
    }
}

/// Who may make and change accounts.
pub const KEEPS_ACCOUNTS: &[Role] = &[Role::Administrator];

/// Who may read accounts: which roles each holds, who gave them, and who signs in how.
pub const READS_ACCOUNTS: &[Role] = &[Role::Auditor, Role::Administrator];

/// Who may read which attempts were refused.
pub const READS_REFUSALS: &[Role] = &[Role::Auditor, Role::Administrator];

/// Why an account is not changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum AccountRefusal {
    /// Only an administrator may.
    #[error("this needs the role administrator")]
    NotAdministrator,
    /// Nobody gives themselves a role or takes their own account out of use.
    #[error("your own account is changed by another administrator")]
    OwnAccount,
}

/// Whether somebody may change another's roles, password or state. Since nobody may change their
/// own, an administrator always remains.
pub fn may_change(actor: &Actor, account: &PersonName) -> Result<(), AccountRefusal> {
    if !actor.holds(KEEPS_ACCOUNTS) {
        return Err(AccountRefusal::NotAdministrator);
    }
    if actor.name.is_same_person(account) {
        return Err(AccountRefusal::OwnAccount);
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_another_administrator_changes_an_account() {
        for role in Role::ALL {
            let actor = Actor::account("A".parse().expect("a name"), vec![*role]);
            let other = may_change(&actor, &"B".parse().expect("a name"));
            assert_eq!(other.is_ok(), *role == Role::Administrator, "{role}");
            assert!(may_change(&actor, &actor.name).is_err(), "{role}");
        }
    }
}
