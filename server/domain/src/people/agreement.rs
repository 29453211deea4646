//! That two people agreed on something outside the register, as a file says that is brought in.

use crate::identity::PersonName;
use crate::unreadable::Unreadable;
use serde::{Deserialize, Serialize};

/// Who proposed and who approved: two people.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "Names")]
pub struct Agreement {
    proposed_by: PersonName,
    approved_by: PersonName,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Names {
    proposed_by: PersonName,
    approved_by: PersonName,
}

impl TryFrom<Names> for Agreement {
    type Error = Unreadable;

    fn try_from(names: Names) -> Result<Self, Unreadable> {
        Self::new(names.proposed_by, names.approved_by)
    }
}

impl Agreement {
    /// What is wanted where one person stands for both.
    pub const TWO: &'static str = "another person than the one who proposed it";

    /// Two people agreed. One person alone agrees on nothing.
    pub fn new(proposed_by: PersonName, approved_by: PersonName) -> Result<Self, Unreadable> {
        if proposed_by == approved_by {
            return Err(Unreadable::new(
                "approved_by",
                approved_by.as_str(),
                Self::TWO,
            ));
        }
        Ok(Self {
            proposed_by,
            approved_by,
        })
    }

    /// Who proposed.
    pub fn proposed_by(&self) -> &PersonName {
        &self.proposed_by
    }

    /// Who approved.
    pub fn approved_by(&self) -> &PersonName {
        &self.approved_by
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_person_agrees_on_nothing() {
        let read = |text: &str| serde_json::from_str::<Agreement>(text);
        assert!(read(r#"{"proposed_by": "A", "approved_by": "B"}"#).is_ok());
        assert!(read(r#"{"proposed_by": "A", "approved_by": "A"}"#).is_err());
        assert!(read(r#"{"proposed_by": "A"}"#).is_err());
    }
}
