//! Why a command is not recorded: the rule, what stands against it, and what would be allowed.
//! Whoever gets a refusal can rely on nothing having been changed.

mod since;
mod words;

pub use since::Since;

use crate::configuration::component::{ComponentRef, Condition};
use crate::configuration::held::Held;
use crate::configuration::host::HostPosition;
use crate::identity::{ModificationState, PartNumber, PersonName, PositionCode, TaskCode};
use crate::ledger::entry::Seq;
use crate::ledger::proposal::Outcome;
use crate::time::{Day, Zone};
use uuid::Uuid;
use words::in_words;

/// The register's "no".
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Refusal {
    /// The thing named is not in the register.
    #[error("{} {name} is not in the register", in_words(.what))]
    Unknown {
        /// What kind of thing; also the field it was named in.
        what: &'static str,
        /// Its name as given.
        name: String,
    },
    /// The thing is in the register already, and other than now stated.
    #[error("{what} {name} is already in the register by {by}, with other contents; {allowed}")]
    AlreadyDefined {
        /// What kind of thing.
        what: &'static str,
        /// Its name.
        name: String,
        /// The entry that brought it in.
        by: Seq,
        /// What would be allowed.
        allowed: &'static str,
    },
    /// What comes in may be in the register already.
    #[error(
        "{component} may be {other}, which is in the register by {by}: their serial numbers differ only in case, blanks or hyphens; look at both plates, and if they are two, say how that was seen"
    )]
    Alike {
        /// What comes in.
        component: ComponentRef,
        /// What is in the register.
        other: ComponentRef,
        /// The entry that says so.
        by: Seq,
    },
    /// The same was said before in one input.
    #[error("the same is already said earlier in this input ({by}); say it once")]
    Repeated {
        /// The entry it would have been.
        by: Seq,
    },
    /// The identity of a command is that of another one.
    #[error(
        "{id} already names {by}, which records something else; give a new command an identity of its own"
    )]
    CommandReused {
        /// The identity.
        id: Uuid,
        /// The entry that the command with that identity became.
        by: Seq,
    },
    /// A position holds another component at that time.
    #[error("{position} holds {holds} then (by {by}); remove that first, or give another time")]
    PositionTaken {
        /// The position.
        position: Box<HostPosition>,
        /// What it holds.
        holds: ComponentRef,
        /// The entry that fitted it.
        by: Seq,
    },
    /// The component is fitted somewhere at that time.
    #[error(
        "{component} is fitted at {at} then (by {by}); remove it there first, or give another time"
    )]
    FittedElsewhere {
        /// The component.
        component: ComponentRef,
        /// Where it is fitted.
        at: Box<HostPosition>,
        /// The entry that fitted it.
        by: Seq,
    },
    /// The component is not fitted at that time.
    #[error("{component} is not fitted at that time")]
    NotFitted {
        /// The component.
        component: ComponentRef,
    },
    /// The car's baseline, or the assembly's part, does not approve the part there.
    #[error("part {part} is not approved at {position}; approved: {approved}")]
    NotApproved {
        /// The part.
        part: PartNumber,
        /// The position.
        position: Box<HostPosition>,
        /// What is approved, as one text.
        approved: String,
    },
    /// The component's modification state is not approved there.
    #[error(
        "{component} is in modification state {}, which is not approved at {position}; approved: {approved}",
        .state.as_ref().map_or("unknown", ModificationState::as_str)
    )]
    StateNotApproved {
        /// The component.
        component: ComponentRef,
        /// Its modification state, if that is known.
        state: Option<ModificationState>,
        /// The position.
        position: Box<HostPosition>,
        /// What is approved, as one text.
        approved: String,
    },
    /// An earlier part does not come back where a later one was.
    #[error(
        "part {part} does not come back at {position}, where {last} was last (by {by}): that replaces it one way"
    )]
    NotInterchangeable {
        /// The earlier part.
        part: PartNumber,
        /// The position.
        position: Box<HostPosition>,
        /// What was there last.
        last: ComponentRef,
        /// The entry that fitted it.
        by: Seq,
    },
    /// An assembly goes on a car only with that position filled.
    #[error("{position} of {assembly} is vacant, and it goes on a car only with that filled")]
    Vacant {
        /// The assembly.
        assembly: ComponentRef,
        /// Its vacant position.
        position: PositionCode,
    },
    /// The component's condition forbids it.
    #[error("{component} is {condition}; {allowed}")]
    ConditionForbids {
        /// The component.
        component: ComponentRef,
        /// Its condition.
        condition: Condition,
        /// What would be allowed.
        allowed: &'static str,
    },
    /// Its life is over.
    #[error(
        "{component} has reached the limit of its life by {task}{}: it is fitted no more; judge it beyond salvage, or correct what is wrong about its use",
        .on.map_or_else(String::new, |on| format!(" on {on}"))
    )]
    LifeOver {
        /// The component.
        component: ComponentRef,
        /// The task whose limit it is.
        task: TaskCode,
        /// When it was reached, if a date is known.
        on: Option<Day>,
    },
    /// It is held as evidence, by itself or with what it is in or on.
    #[error(
        "{held} is held as evidence since {since} (by {by}, set by {set_by}): until {set_by} lifts the hold it is neither moved, opened, tested, scrapped nor amended"
    )]
    HeldAsEvidence {
        /// What is held.
        held: Box<Held>,
        /// The entry that set the hold.
        by: Seq,
        /// Since when it is held.
        since: Since,
        /// Who set it.
        set_by: PersonName,
    },
    /// Somebody else set the hold.
    #[error("only {set_by}, who set the hold (by {hold}), lifts it")]
    NotTheSetter {
        /// The entry that set the hold.
        hold: Seq,
        /// Who set it.
        set_by: PersonName,
    },
    /// A later entry stands against it.
    #[error("{what} contradicts {by}, effective {since}; {allowed}")]
    Contradicts {
        /// What contradicts.
        what: String,
        /// The entry that stands against it.
        by: Seq,
        /// Since when that is so.
        since: Since,
        /// What would be allowed.
        allowed: &'static str,
    },
    /// What an entry says stands against it, whenever that is effective.
    #[error("{what} contradicts {by}: {says}; {allowed}")]
    StandsAgainst {
        /// What contradicts.
        what: String,
        /// The entry that stands against it.
        by: Seq,
        /// What that entry says.
        says: String,
        /// What would be allowed.
        allowed: &'static str,
    },
    /// A time or value is not possible.
    #[error("{}: {given} is not possible; {allowed}", in_words(.field))]
    Impossible {
        /// The field.
        field: &'static str,
        /// What was given.
        given: String,
        /// What would be allowed.
        allowed: String,
    },
    /// A value of a meter does not agree with another.
    #[error("{}: {given} is not possible; {why} The other value is by {by}.", in_words(.field))]
    OffMeter {
        /// The field.
        field: &'static str,
        /// The value.
        given: String,
        /// Why not, and what would be allowed.
        why: String,
        /// The entry of the other value.
        by: Seq,
    },
    /// What needs two people was tried by one.
    #[error("this needs two people: {allowed}")]
    NeedsTwoPeople {
        /// What would be allowed.
        allowed: &'static str,
    },
    /// Somebody would approve their own proposal.
    #[error("who proposed it (by {by}) cannot approve it; another person must")]
    SamePerson {
        /// The entry that proposed it.
        by: Seq,
    },
    /// A proposal was decided before.
    #[error("the proposal of {proposal} was {outcome} by {by}; propose it anew")]
    AlreadyDecided {
        /// The entry that proposed it.
        proposal: Seq,
        /// What became of it.
        outcome: Outcome,
        /// The entry that decided.
        by: Seq,
    },
    /// A cut-out that somebody else recorded.
    #[error(
        "{by} is a cut-out that {recorder} recorded: they or a brake engineer take it back; else end it with the test that proves the brake"
    )]
    NotTheRecorder {
        /// The entry.
        by: Seq,
        /// Who recorded it.
        recorder: PersonName,
    },
    /// The roles held do not allow it.
    #[error("this needs one of the roles {needed}")]
    NotPermitted {
        /// The roles that may.
        needed: String,
    },
}

impl Refusal {
    /// The same with its times as the depot's clock shows them.
    #[must_use]
    pub fn in_zone(mut self, depot: &Zone) -> Self {
        match &mut self {
            Self::Contradicts { what, since, .. } => {
                *what = depot.retold(what);
                since.zone = depot.clone();
            }
            Self::HeldAsEvidence { since, .. } => since.zone = depot.clone(),
            Self::OffMeter { why, .. } => *why = depot.retold(why),
            Self::Impossible { given, allowed, .. } => {
                *given = depot.retold(given);
                *allowed = depot.retold(allowed);
            }
            _ => {}
        }
        self
    }

    /// The same where a form asks for its field by a label.
    #[must_use]
    pub fn labelled(&self, label: &str) -> String {
        let told = self.to_string();
        let (Self::Impossible { field, .. } | Self::OffMeter { field, .. }) = self else {
            return told;
        };
        match told.strip_prefix(in_words(field).as_str()) {
            Some(rest) => format!("{}{rest}", label.trim_end_matches('?')),
            None => told,
        }
    }

    /// The field that the refusal is about, named as in files and forms.
    pub fn field(&self) -> &'static str {
        match self {
            Self::Unknown { what, .. } | Self::AlreadyDefined { what, .. } => what,
            Self::Alike { .. } => "alike_seen",
            Self::Repeated { .. } => "row",
            Self::CommandReused { .. } => "command",
            Self::PositionTaken { .. } | Self::Vacant { .. } => "position",
            Self::FittedElsewhere { .. }
            | Self::NotFitted { .. }
            | Self::StateNotApproved { .. }
            | Self::LifeOver { .. } => "serial",
            Self::NotApproved { .. } | Self::NotInterchangeable { .. } => "part",
            Self::ConditionForbids { .. } => "condition",
            Self::Contradicts { .. } | Self::StandsAgainst { .. } => "at",
            Self::Impossible { field, .. } | Self::OffMeter { field, .. } => field,
            Self::HeldAsEvidence { .. } | Self::NotTheSetter { .. } => "hold",
            Self::NotPermitted { .. } | Self::NotTheRecorder { .. } => "role",
            Self::NeedsTwoPeople { .. } => "fact",
            Self::SamePerson { .. } | Self::AlreadyDecided { .. } => "proposal",
        }
    }

    /// The entry that stands against it, where one does.
    pub fn conflicting_entry(&self) -> Option<Seq> {
        match self {
            Self::AlreadyDefined { by, .. }
            | Self::Alike { by, .. }
            | Self::Repeated { by }
            | Self::OffMeter { by, .. }
            | Self::CommandReused { by, .. }
            | Self::PositionTaken { by, .. }
            | Self::FittedElsewhere { by, .. }
            | Self::NotInterchangeable { by, .. }
            | Self::SamePerson { by }
            | Self::AlreadyDecided { by, .. }
            | Self::HeldAsEvidence { by, .. }
            | Self::NotTheSetter { hold: by, .. }
            | Self::NotTheRecorder { by, .. }
            | Self::StandsAgainst { by, .. }
            | Self::Contradicts { by, .. } => Some(*by),
            Self::Unknown { .. }
            | Self::NotFitted { .. }
            | Self::NotApproved { .. }
            | Self::StateNotApproved { .. }
            | Self::Vacant { .. }
            | Self::LifeOver { .. }
            | Self::ConditionForbids { .. }
            | Self::Impossible { .. }
            | Self::NeedsTwoPeople { .. }
            | Self::NotPermitted { .. } => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::time::Instant;

    #[test]
    fn what_people_read_has_times_of_the_depot_and_no_name_of_a_program() {
        let refusal = Refusal::Contradicts {
            what: "a removal at 2026-07-01T10:00:00.5Z".to_owned(),
            by: Seq(7),
            since: "2026-03-31T10:15:20.123456Z"
                .parse::<Instant>()
                .expect("a moment")
                .into(),
            allowed: "give a later time",
        };
        let told = refusal.in_zone(&"CET".parse().expect("a zone")).to_string();
        assert!(told.contains("at 2026-07-01 12:00 +02:00"), "{told}");
        assert!(told.contains("2026-03-31 12:15:20 +02:00"), "{told}");
        let refusal = Refusal::Impossible {
            field: "not_before",
            given: "2030".to_owned(),
            allowed: "a time not after now".to_owned(),
        };
        let told = refusal.to_string();
        assert!(told.starts_with("last seen as it should be: "), "{told}");
        let told = refusal.labelled("Last seen well?");
        assert!(told.starts_with("Last seen well: 2030 is not"), "{told}");
    }
}
