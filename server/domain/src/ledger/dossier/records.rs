//! Things of the register as a dossier holds them.

use crate::configuration::car::{Car, Orientation};
use crate::configuration::component::{ComponentRef, Condition, Subject};
use crate::configuration::location::Kept;
use crate::configuration::plate::PlateRecord;
use crate::identity::{Batch, CarNumber, LocationName, ModificationState, TaskCode, UnitNumber};
use crate::ledger::dossier::Documents;
use crate::ledger::entry::Seq;
use crate::ledger::fact::{Brought, CutOut};
use crate::test_record::record::TestRecord;
use crate::test_record::verdict::{TestOutcome, verdict};
use crate::time::{Day, Instant, Zone};
use crate::units::{Amount, ByMeter};
use std::collections::BTreeMap;

/// What a car has run by each meter at a moment, continuous over replacements; `None` where it
/// is unknown.
pub type MeterValues = ByMeter<Option<Amount>>;

/// A car as the register has it.
#[derive(Debug, Clone, PartialEq)]
pub struct CarRecord {
    /// The entry that brought it in.
    pub id: Seq,
    /// What was registered for the latest time.
    pub car: Car,
    /// From when that holds.
    pub registered_at: Instant,
    /// The entry that says so.
    pub registered_by: Seq,
    /// Since when it is there: the earliest time for which it was registered.
    pub there_since: Instant,
    /// Its place in a unit.
    pub unit: Option<Membership>,
}

/// A car's place in a unit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Membership {
    /// The unit.
    pub unit: UnitNumber,
    /// Its place from the unit's first car, from 1.
    pub place: u16,
    /// Which way it stands.
    pub orientation: Orientation,
}

/// A unit or train with the entries that made it.
#[derive(Debug, Clone, PartialEq)]
pub struct Formed<T> {
    /// The entry that first formed it.
    pub id: Seq,
    /// The entry that formed it as it is.
    pub by: Seq,
    /// When that was.
    pub formed_at: Instant,
    /// As it is.
    pub formation: T,
}

/// A component as the register has it.
#[derive(Debug, Clone, PartialEq)]
pub struct ComponentRecord {
    /// The entry that brought it in.
    pub id: Seq,
    /// Its identity.
    pub component: ComponentRef,
    /// When it came in.
    pub received_at: Instant,
    /// Its condition.
    pub condition: Condition,
    /// Where it is while not fitted.
    pub kept: Option<Kept>,
    /// Since when it is where it is.
    pub since: Instant,
    /// The entry that says so.
    pub since_by: Seq,
    /// The day it was made.
    pub manufactured_on: Option<Day>,
    /// The day of the overhaul before it came in.
    pub overhauled_on: Option<Day>,
    /// What it had run before it came in.
    pub brought: Brought,
    /// What it had run since its overhaul when it came in.
    pub since_overhaul: Brought,
    /// The certificate it came with.
    pub certificate: Option<String>,
    /// Its modification state, if that is known.
    pub modification: Option<ModificationState>,
    /// The lot that it was made in, if that is known.
    pub batch: Option<Batch>,
    /// The plates it bore after the one under which it came in, in the order of time.
    pub plates: Vec<PlateRecord>,
}

impl ComponentRecord {
    /// Where it is while not fitted.
    pub fn location(&self) -> Option<&LocationName> {
        self.kept.as_ref().map(|kept| &kept.location)
    }
}

/// What an entry says of a component from a time on. Where it is and in which condition follows
/// from the latest that says so.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ComponentState {
    /// The entry.
    pub by: Seq,
    /// From when.
    pub since: Instant,
    /// Where it is from then on, if the entry says so.
    pub whereabouts: Option<Whereabouts>,
    /// Its condition from then on, if the entry says so.
    pub condition: Option<Condition>,
    /// Its modification state from then on, if the entry says so.
    pub modification: Option<ModificationState>,
    /// The lot that it was made in, if the entry says so: only its receipt does.
    pub batch: Option<Batch>,
}

/// Where a component is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Whereabouts {
    /// At a position, as its fitments tell.
    Fitted,
    /// At a location.
    Kept(Kept),
}

impl ComponentState {
    /// The order of what is said of a component: by time, and at one moment first that it came
    /// off or in, then how it was judged, then that it was fitted, whoever recorded it first.
    pub(crate) fn order(&self) -> (Instant, u8, Seq) {
        let rank = match self.whereabouts {
            Some(Whereabouts::Kept(_)) => 0,
            None => 1,
            Some(Whereabouts::Fitted) => 2,
        };
        (self.since, rank, self.by)
    }
}

/// A task as it was done.
#[derive(Debug, Clone, PartialEq)]
pub struct DoneRecord {
    /// The entry that recorded it.
    pub by: Seq,
    /// On what.
    pub subject: Subject,
    /// Which task; a task done with another has a record of its own.
    pub task: TaskCode,
    /// When.
    pub at: Instant,
    /// The car it was fitted to then, or the car itself.
    pub car: Option<CarNumber>,
    /// What that car's meters showed.
    pub meters: MeterValues,
}

/// A test as it was recorded, with what it comes to.
#[derive(Debug, Clone, PartialEq)]
pub struct TestedRecord {
    /// The entry that recorded it.
    pub by: Seq,
    /// The values.
    pub record: TestRecord,
    /// What they come to by the limits of the procedure's revision.
    pub outcome: TestOutcome,
}

impl TestedRecord {
    /// A record with what it comes to. An entry was checked when it was recorded; what cannot be
    /// judged does not count.
    pub fn new(by: Seq, record: TestRecord, (documents, zone): (&Documents, &Zone)) -> Self {
        let key = (record.procedure.clone(), record.revision.clone());
        let procedure = documents.procedures.get(&key);
        let judged = procedure.and_then(|known| verdict(&known.document, &record, zone).ok());
        Self {
            by,
            outcome: judged.map_or(TestOutcome::NotCounted, |verdict| verdict.outcome),
            record,
        }
    }
}

/// A cut-out in force or ended.
#[derive(Debug, Clone, PartialEq)]
pub struct IsolationRecord {
    /// The entry that recorded it.
    pub id: Seq,
    /// What is isolated.
    pub cut_out: CutOut,
    /// Since when it is in that state.
    pub since: Instant,
    /// Since when the place is cut out without a break, in this state or in others before it.
    pub first: Instant,
    /// When it ended, by which entry: one that proves the brake restored, or that tells another state
    /// of the place, which is cut out still.
    pub ended: Option<(Instant, Seq)>,
}

/// One meter reading as kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadingRecord {
    /// The entry that recorded it.
    pub by: Seq,
    /// When it was taken.
    pub at: Instant,
    /// What the meter showed.
    pub value: Amount,
}

/// One replacement of a meter as kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReplacementRecord {
    /// The entry that recorded it.
    pub by: Seq,
    /// When.
    pub at: Instant,
    /// What the old one showed last.
    pub last_value: Amount,
    /// What the new one showed first.
    pub first_value: Amount,
}

/// The readings and replacements of one meter, each by its time.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct MeterRecord {
    /// Readings.
    pub readings: BTreeMap<Instant, ReadingRecord>,
    /// Replacements.
    pub replacements: BTreeMap<Instant, ReplacementRecord>,
}
