//! The roles of one account, and which of them do not meet in one person.

use super::Role;

/// The roles of an account: at least one; whoever keeps accounts or audits does nothing else here,
/// so that nobody who gives roles acts in one, and nobody audits what they did.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Roles(Vec<Role>);

/// Why roles are not those of one account.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum RolesRefusal {
    /// None is given.
    #[error("expected at least one role")]
    NoRole,
    /// One that is held alone is given with another.
    #[error("expected no other role beside {0}, which {why}; another person holds the other", why = alone(*.0).unwrap_or_default())]
    NotAlone(Role),
}

/// Why a role is held alone, if it is.
fn alone(role: Role) -> Option<&'static str> {
    match role {
        Role::Administrator => Some("keeps accounts and does nothing else"),
        Role::Auditor => Some("reads everything and writes nothing"),
        Role::Planner
        | Role::Controller
        | Role::Stores
        | Role::Technician
        | Role::BrakeEngineer => None,
    }
}

impl Roles {
    /// The roles that one account may hold together.
    pub fn together(roles: Vec<Role>) -> Result<Self, RolesRefusal> {
        if roles.is_empty() {
            return Err(RolesRefusal::NoRole);
        }
        let apart = roles.iter().find(|role| alone(**role).is_some());
        match apart {
            Some(role) if roles.iter().any(|other| other != role) => {
                Err(RolesRefusal::NotAlone(*role))
            }
            _ => Ok(Self(roles)),
        }
    }

    /// One role.
    pub fn one(role: Role) -> Self {
        Self(vec![role])
    }

    /// The roles.
    pub fn held(&self) -> &[Role] {
        &self.0
    }

    /// What holds of the roles of an account from before it was refused to give such together: the
    /// one that is held alone.
    pub fn of_kept(roles: Vec<Role>) -> Vec<Role> {
        let apart = [Role::Administrator, Role::Auditor];
        match apart.into_iter().find(|role| roles.contains(role)) {
            Some(role) => vec![role],
            None => roles,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn who_keeps_accounts_or_audits_holds_no_other_role() {
        for one in Role::ALL {
            assert_eq!(Roles::together(vec![*one]), Ok(Roles::one(*one)));
            for other in Role::ALL {
                let both = Roles::together(vec![*one, *other]);
                let apart = one != other && (alone(*one).or(alone(*other))).is_some();
                assert_eq!(both.is_err(), apart, "{one}, {other}");
                let kept = Roles::of_kept(vec![*one, *other]);
                assert!(Roles::together(kept.clone()).is_ok(), "{kept:?}");
            }
        }
        assert_eq!(Roles::together(Vec::new()), Err(RolesRefusal::NoRole));
        let refused = Roles::together(vec![Role::BrakeEngineer, Role::Administrator]);
        assert_eq!(
            refused.unwrap_err().to_string(),
            "expected no other role beside administrator, which keeps accounts and does nothing else; another person holds the other"
        );
    }
}
