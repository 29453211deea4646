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

    /// What was recorded stays readable: whether names in another spelling are of one person is
    /// asked where something is brought in.
    fn try_from(names: Names) -> Result<Self, Unreadable> {
        let Names {
            proposed_by,
            approved_by,
        } = names;
        if proposed_by == approved_by {
            return Err(Self::refused(&approved_by));
        }
        Ok(Self {
            proposed_by,
            approved_by,
        })
    }
}

impl PersonName {
    /// Whether two names are of one person: names that differ in case and blanks alone are.
    pub fn is_same_person(&self, other: &Self) -> bool {
        let folded = |name: &Self| -> String {
            let letters = name.as_str().chars().filter(|c| *c != ' ');
            letters.flat_map(char::to_lowercase).collect()
        };
        folded(self) == folded(other)
    }
}

impl Agreement {
    /// What is wanted where one person stands for both.
    pub const TWO: &'static str = "another person than the one who proposed it";

    /// Two people agreed. One person alone agrees on nothing.
    pub fn new(proposed_by: PersonName, approved_by: PersonName) -> Result<Self, Unreadable> {
        let agreed = Self {
            proposed_by,
            approved_by,
        };
        if agreed.is_of_one() {
            return Err(Self::refused(&agreed.approved_by));
        }
        Ok(agreed)
    }

    /// Whether both names are of one person.
    pub fn is_of_one(&self) -> bool {
        self.proposed_by.is_same_person(&self.approved_by)
    }

    fn refused(approved_by: &PersonName) -> Unreadable {
        Unreadable::new("approved_by", approved_by.as_str(), Self::TWO)
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

    #[test]
    fn one_person_in_another_spelling_agrees_on_nothing() {
        let name = |text: &str| text.parse::<PersonName>().expect("a name");
        let agreed = |one: &str, other: &str| Agreement::new(name(one), name(other));
        for other in ["A One", "a one", "A  ONE", "AOne"] {
            assert!(agreed("A One", other).is_err(), "{other}");
        }
        assert!(agreed("A One", "A Two").is_ok());
    }
}
