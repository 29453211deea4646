//! What an entry told late, or a correction, changes beyond what it says: use, due dates, departures
//! from the baseline and verdicts of the past; and the work that stands on what was fitted. It is
//! shown before and kept with the entry.

mod again;
mod between;
mod cut_outs;
mod doubt;
mod fitted;
mod told_after;

pub use again::{Again, Asks, JudgedBy, found_again, perhaps_cut_out, reaches_back};
pub use between::Picture;
pub use cut_outs::EndUnproved;
pub use doubt::{Doubt, DoubtKind, of_fitting, of_papers};
pub use fitted::{DueWork, StandingWork, of_fitted};
pub use told_after::{AnsweredBy, RaisedDoubt, raised};

use crate::configuration::car::OrderedCar;
use crate::configuration::component::{ComponentRef, PositionRef, Subject};
use crate::decision::taken::Found;
use crate::identity::{ConcessionNumber, PersonName, Revision, SettingName, TaskCode, TrainId};
use crate::ledger::departures::DepartureKind;
use crate::ledger::entry::{Entry, Seq};
use crate::rule_set::verdict::Permission;
use crate::time::{Day, Instant};
use crate::units::{Amount, Meter};
use crate::words::word_list;
use serde::{Deserialize, Serialize};
use std::fmt;

/// The most of a kind that are told one by one and kept with the entry: four times the work of a
/// car, and less than a megabyte.
pub const TOLD_MAX: usize = 1_000;

/// The most decisions of the past for which it is worked out anew what they would find. Each asks for
/// its cars as they stood at its moment, before and after the entry and within its transaction; how
/// many more there are is told.
pub const FOUND_AGAIN_MAX: usize = 30;

/// What an entry changed. Kept for ever, so it is only ever extended by fields that may be absent.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Consequences {
    /// Due work whose date is another, the earliest first.
    #[serde(default, skip_serializing_if = "Listed::is_empty")]
    pub due: Listed<DueMoved>,
    /// What components have run on the cars of the register, where that is another.
    #[serde(default, skip_serializing_if = "Listed::is_empty")]
    pub usage: Listed<UsageMoved>,
    /// Departures from the baseline that came or went.
    #[serde(default, skip_serializing_if = "Listed::is_empty")]
    pub departures: Listed<DepartureMoved>,
    /// Decisions about trains that stood and became void.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub void: Vec<VoidDecision>,
    /// Work that stands on what was fitted: overdue, due, or not to be told.
    #[serde(default, skip_serializing_if = "Listed::is_empty")]
    pub fitted: Listed<StandingWork>,
    /// What was doubtful about what was fitted, as it was seen; and what is to be judged again by what
    /// the entry tells.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub doubts: Vec<Doubt>,
    /// Cut-outs that are in force again, or no more, since an entry about them was corrected.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cut_outs: Vec<CutOutMoved>,
    /// Cut-outs whose ends are not proved any more, since a test of before them is told only now.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub unproved: Vec<EndUnproved>,
    /// Decisions taken since the entry's effective time that would now find something else.
    #[serde(default, skip_serializing_if = "Listed::is_empty")]
    pub verdicts: Listed<VerdictMoved>,
}

/// The first of some things, and how many more there are.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Listed<T> {
    /// The first, at most [`TOLD_MAX`], in entries of before at most 30.
    pub told: Vec<T>,
    /// How many more.
    #[serde(default)]
    pub more: usize,
}

impl<T> Default for Listed<T> {
    fn default() -> Self {
        Self {
            told: Vec::new(),
            more: 0,
        }
    }
}

impl<T> Listed<T> {
    /// The first of all of them.
    fn of(mut all: Vec<T>) -> Self {
        let more = all.len().saturating_sub(TOLD_MAX);
        all.truncate(TOLD_MAX);
        Self { told: all, more }
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.count() == 0
    }

    /// How many there are in all.
    pub fn count(&self) -> usize {
        self.told.len() + self.more
    }
}

/// Due work whose date is another.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct DueMoved {
    /// What the work is done on.
    pub subject: Subject,
    /// The task.
    pub task: TaskCode,
    /// The date before; none where it had none or was not due at all.
    pub before: Option<Day>,
    /// The date after.
    pub after: Option<Day>,
}

/// What a component has run on the cars of the register up to their last readings.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct UsageMoved {
    /// The component.
    pub component: ComponentRef,
    /// By which meter.
    pub meter: Meter,
    /// Before; none where it could not be told.
    pub before: Option<Amount>,
    /// After.
    pub after: Option<Amount>,
}

word_list! {
    /// What of a decision may be found otherwise though its verdict in few words is the same.
    FoundPart, "part of what was found" {
        /// The cars, or what they are.
        Cars = "cars",
        /// Which positions are cut out.
        CutOuts = "cut_outs",
        /// Which brakes work, and how much they brake.
        Brakes = "brakes",
        /// Under which restrictions.
        Restrictions = "restrictions",
        /// By which rules.
        Rules = "rules",
        /// What must be known beside the verdict.
        Cautions = "cautions",
    }
}

word_list! {
    /// Whether something came or went.
    CameOrWent, "change" {
        /// It is there since.
        Came = "came",
        /// It is there no more.
        Went = "went",
    }
}

/// A departure from the baseline.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct DepartureTold {
    /// Where.
    #[serde(flatten)]
    pub at: PositionRef,
    /// The setting that departs, if one does.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub setting: Option<SettingName>,
    /// What departs there.
    pub kind: DepartureKind,
    /// Its first day; none where it departs from the beginning.
    pub from: Option<Day>,
    /// The first day on which it no longer does; none where it goes on.
    pub until: Option<Day>,
}

/// A departure that came or went.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct DepartureMoved {
    /// Which.
    #[serde(flatten)]
    pub departure: DepartureTold,
    /// Whether it came or went.
    pub change: CameOrWent,
    /// The concession for it, if there is or was one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub concession: Option<ConcessionNumber>,
}

/// A cut-out that is in force again, or no more.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CutOutMoved {
    /// Where.
    #[serde(flatten)]
    pub at: PositionRef,
    /// Whether it is in force again or no more.
    pub change: CameOrWent,
}

/// A decision that stood and became void.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct VoidDecision {
    /// Its entry.
    pub decision: Seq,
    /// The train.
    pub train: TrainId,
}

/// A decision of the past that would now find something else.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct VerdictMoved {
    /// Its entry.
    pub decision: Seq,
    /// The train.
    pub train: TrainId,
    /// When it was taken.
    pub at: Instant,
    /// Who decided.
    pub decided_by: PersonName,
    /// What it found.
    pub told: Verdict,
    /// What is found for the same moment now.
    pub now: Reconsidered,
    /// What was found before the entry, where entries before it had changed that already; none in entries
    /// from before that was kept.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub before: Option<FoundBefore>,
    /// What is found otherwise, where the verdict in few words is the same.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub others: Vec<FoundPart>,
    /// The cars for which it is found now, where the train was formed otherwise than was known.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cars: Vec<OrderedCar>,
    /// The revision of the rule set by which it is found now, where it is another.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub revision: Option<Revision>,
    /// Whether that is certain.
    #[serde(default, skip_serializing_if = "Certainty::is_certain")]
    pub certainty: Certainty,
}

word_list! {
    /// How sure it is that a decision of the past would have found something else.
    #[derive(Default)]
    Certainty, "certainty" {
        /// By what is known now it would.
        #[default]
        Certain = "certain",
        /// Only if a cut-out that nobody saw made was made by then.
        Perhaps = "perhaps",
    }
}

impl Certainty {
    #[expect(clippy::trivially_copy_pass_by_ref, reason = "as serde calls it")]
    fn is_certain(&self) -> bool {
        *self == Self::Certain
    }
}

impl Consequences {
    /// Tells of which decisions an entry says only what they may have missed: those taken after what it
    /// found was last seen right, and before it was found.
    pub fn tell_perhaps(&mut self, entry: &Entry) {
        let moved = self.verdicts.told.iter_mut();
        let perhaps = moved.filter(|moved| perhaps_cut_out(entry, moved.at).is_some());
        perhaps.for_each(|moved| moved.certainty = Certainty::Perhaps);
    }
}

impl VerdictMoved {
    /// Whether something else is found now than the decision told; not where it is the same again.
    pub fn differs(&self) -> bool {
        let same = self.now == Reconsidered::Found(self.told.clone());
        !same || !self.others.is_empty() || !self.cars.is_empty() || self.revision.is_some()
    }

    /// Whether entries before it moved the verdict, and this one at most what is told beside it.
    pub fn is_beside_alone(&self) -> bool {
        self.before.as_ref().is_some_and(|before| {
            let mut changed = before.changed.iter();
            before.found == self.now && changed.all(|part| *part == FoundPart::Cautions)
        })
    }
}

/// What was found for a moment of the past before an entry.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct FoundBefore {
    /// What.
    pub found: Reconsidered,
    /// What the entry changed of it, where the verdict in few words stayed.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub changed: Vec<FoundPart>,
}

/// What was found for a moment of the past with what is known now.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Reconsidered {
    /// A verdict.
    Found(Verdict),
    /// Nothing can be said, and why.
    NoAnswer(String),
}

/// A verdict in few words.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Verdict {
    /// Whether the train may run.
    pub permission: Permission,
    /// The cap of its speed, in whole km/h.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub speed_km_h: Option<u32>,
    /// How many positions are cut out.
    pub cut_outs: usize,
    /// How many positions hold nothing.
    #[serde(default)]
    pub vacant: usize,
}

impl From<&Found> for Verdict {
    fn from(found: &Found) -> Self {
        Self {
            permission: found.permission,
            speed_km_h: found.restrictions.speed.as_ref().map(|cap| cap.km_h),
            cut_outs: found.cut_outs.len(),
            vacant: found.vacant,
        }
    }
}

impl fmt::Display for Verdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.permission)?;
        if let Some(km_h) = self.speed_km_h {
            write!(f, ", {km_h} km/h")?;
        }
        write!(f, ", with {} cut out", self.cut_outs)?;
        match self.vacant {
            0 => Ok(()),
            vacant => write!(f, " and {vacant} vacant"),
        }
    }
}

impl Consequences {
    /// Whether nothing changed beyond what the entry says.
    pub fn is_nothing(&self) -> bool {
        *self == Self::default()
    }

    /// The work that stands on what is fitted, what is doubtful about that, and ends of cut-outs that
    /// are not proved, without all that is another afterwards.
    #[must_use]
    pub fn fitted_alone(self) -> Self {
        Self {
            fitted: self.fitted,
            doubts: self.doubts,
            unproved: self.unproved,
            ..Self::default()
        }
    }
}
