//! Rule sets: which there are and which is in force, one in words and beside another revision,
//! and a new one or a new revision proposed for a second person to approve.

pub(crate) mod kinds;
pub(crate) mod list;
pub(crate) mod new;
pub(crate) mod one;
pub(crate) mod revise;

use crate::failure::Failure;
use domain::identity::{Revision, RuleSetName};
use domain::ledger::dossier::Documents;
use domain::ledger::entry::Seq;
use domain::rule_set::RuleSet;
use domain::rule_set::in_force::in_force;
use domain::time::Day;

/// How a rule set stands on a day.
pub(crate) enum Standing {
    InForce,
    From(Day),
    Until(Day),
    ReplacedBy(Revision),
}

pub(crate) fn standing(documents: &Documents, rules: &RuleSet, today: Day) -> Standing {
    let issued = documents.rule_sets.values();
    let issued = issued.map(|set| (set.by, &*set.document));
    let valid = in_force(issued, today);
    let newest = valid.into_iter().find(|other| other.name == rules.name);
    match (newest, rules.valid_until) {
        (Some(newest), _) if newest.revision == rules.revision => Standing::InForce,
        (_, Some(until)) if until < today => Standing::Until(until),
        _ if today < rules.valid_from => Standing::From(rules.valid_from),
        (Some(newest), _) => Standing::ReplacedBy(newest.revision.clone()),
        // It is valid today, so one of its name is in force.
        (None, _) => Standing::InForce,
    }
}

impl std::fmt::Display for Standing {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::InForce => f.write_str("in force"),
            Self::From(day) => write!(f, "in force from {day}"),
            Self::Until(day) => write!(f, "ended on {day}"),
            Self::ReplacedBy(revision) => write!(f, "replaced by revision {revision}"),
        }
    }
}

/// The rule set that an address names, and the entry that issued it.
fn named(documents: &Documents, name: &str, revision: &str) -> Result<(RuleSet, Seq), Failure> {
    let key: (RuleSetName, Revision) = (name.parse()?, revision.parse()?);
    let found = documents.rule_sets.get(&key);
    let found = found.ok_or_else(|| Failure::NotFound {
        what: "rule set",
        name: format!("{name} revision {revision}"),
    })?;
    Ok(((*found.document).clone(), found.by))
}
