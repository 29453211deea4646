//! What an entry changes beyond what it says, for programs.

use super::amount::AmountBody;
use super::components::ComponentBody;
use super::found_before::{FoundBeforeBody, either};
use domain::configuration::component::Subject;
use domain::ledger::consequences::{
    Consequences, CutOutMoved, DepartureMoved, Doubt, DoubtKind, DueMoved, EndUnproved, FoundPart,
    Listed, StandingWork, UsageMoved, Verdict, VerdictMoved,
};
use serde::Serialize;
use utoipa::ToSchema;

/// What an entry changes beyond what it says. Lists hold the first of many, with how many there
/// are in all: at most 1,000 of a kind, and in a list of entries 30.
#[derive(Debug, Default, Serialize, ToSchema)]
pub(crate) struct ChangedBody {
    /// Due work whose date is another, the earliest first.
    due: Vec<DueMovedBody>,
    /// How many dates are others in all.
    due_moved: usize,
    /// What components have run on cars of the register up to their last readings, where that is
    /// another.
    usage: Vec<UsageMovedBody>,
    /// How many amounts are others in all.
    usage_moved: usize,
    /// Departures from the baseline that come or go.
    departures: Vec<DepartureMovedBody>,
    /// How many come or go in all.
    departures_moved: usize,
    /// Work that stands on what is fitted, the worst first: overdue, due, in its late tolerance,
    /// or not to be told.
    standing: Vec<StandingBody>,
    /// How much of it there is in all.
    standing_in_all: usize,
    /// What is doubtful about what is fitted: its component may be another that is fitted, an open
    /// check of the fleet looks for it, or its certificate says that less is left. And what is to be
    /// judged again: somebody judged it, or it left an assembly, and that it, or the assembly, was
    /// quarantined by then was told only after.
    doubts: Vec<DoubtBody>,
    /// Cut-outs that are in force again, or no more.
    cut_outs: Vec<CutOutMovedBody>,
    /// Cut-outs whose ends are not proved any more, since a test of before them is told only now: it was
    /// not passed, and follows the one on the strength of which they ended.
    ends_unproved: Vec<EndUnprovedBody>,
    /// Decisions about trains that stood and become void.
    void_decisions: Vec<VoidBody>,
    /// Decisions taken since the effective time that would not find the same now.
    past_verdicts: Vec<VerdictMovedBody>,
    /// How many later decisions about the same cars were not looked at.
    past_not_looked_at: usize,
}

/// Due work whose date is another.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct DueMovedBody {
    /// The component the work is done on, if it is one.
    component: Option<ComponentBody>,
    /// The car the work is done on, if it is a car as a whole.
    car: Option<String>,
    /// The task.
    task: String,
    /// The date before; none where it has none.
    #[schema(format = Date)]
    before: Option<String>,
    /// The date after; none where it has none.
    #[schema(format = Date)]
    after: Option<String>,
}

/// What a component has run by a meter.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct UsageMovedBody {
    /// The component.
    component: ComponentBody,
    /// The meter.
    meter: &'static str,
    /// Before; none where it cannot be told.
    before: Option<AmountBody>,
    /// After; none where it cannot be told.
    after: Option<AmountBody>,
}

/// A departure from the baseline that comes or goes.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct DepartureMovedBody {
    /// The car.
    car: String,
    /// The position.
    position: String,
    /// The setting that departs, if one does.
    setting: Option<String>,
    /// What departs: the kinds of the list of departures.
    kind: &'static str,
    /// Its first day; none where it departs from the beginning.
    #[schema(format = Date)]
    from: Option<String>,
    /// The first day on which it no longer does; none where it goes on.
    #[schema(format = Date)]
    until: Option<String>,
    /// `came` or `went`.
    change: &'static str,
    /// The concession for it, if there is or was one.
    concession: Option<String>,
}

/// Work that stands on what is fitted.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct StandingBody {
    /// The component.
    component: ComponentBody,
    /// The task.
    task: String,
    /// How it stands when the component is fitted: the states of the due list.
    state: &'static str,
    /// When it was due; none where it has no date.
    #[schema(format = Date)]
    due: Option<String>,
}

/// A doubt about what is fitted, or about what is to be judged again.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct DoubtBody {
    /// The component.
    component: ComponentBody,
    /// Why, in words.
    why: String,
    /// The entry of the check of the fleet or of the certificate, where it is about one; of what is
    /// kept where nothing is fitted from, the one by which it is there; of what was judged, the judgement
    /// that stands; of what left an assembly, the one that raised the doubt, where it is another.
    entry: Option<i64>,
    /// Of what is to be judged again, the entry by which that was told; none of an entry that tells it
    /// itself.
    told_by: Option<i64>,
}

/// A cut-out that is in force again, or no more.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct CutOutMovedBody {
    /// The car.
    car: String,
    /// The position.
    position: String,
    /// `came` where it is in force again, else `went`.
    change: &'static str,
}

/// The end of a cut-out that is not proved any more.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct EndUnprovedBody {
    /// The car.
    car: String,
    /// The position.
    position: String,
    /// When it ended.
    #[schema(format = DateTime)]
    ended_at: String,
    /// The entry that ended it.
    ended_by: i64,
    /// The test record on the strength of which it ended.
    proved_by: String,
}

/// A decision that becomes void.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct VoidBody {
    /// The entry that took it.
    decision: i64,
    /// The train it is about.
    train: String,
}

/// A decision of the past that would not find the same.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct VerdictMovedBody {
    /// The entry that took it.
    decision: i64,
    /// The train it is about.
    train: String,
    /// When it was taken.
    #[schema(format = DateTime)]
    at: String,
    /// Who decided.
    decided_by: String,
    /// What it found.
    found_then: VerdictInShortBody,
    /// What is found for that moment now; none where nothing can be said.
    found_now: Option<VerdictInShortBody>,
    /// Why nothing can be said.
    no_answer: Option<String>,
    /// What was found before this entry, where entries before it had changed that already.
    before: Option<FoundBeforeBody>,
    /// What of it is found otherwise, where the verdict in few words is the same: `cars`,
    /// `cut_outs`, `brakes`, `restrictions`, `rules`, `cautions`.
    others: Vec<&'static str>,
    /// The cars for which it is found now, where the train was formed otherwise than was known.
    cars_now: Vec<CarNowBody>,
    /// The revision of the rule set by which it is found now, where it is another.
    revision_now: Option<String>,
    /// `certain`, or `perhaps` where it is so only if a cut-out that nobody saw made was made by then.
    certainty: &'static str,
}

/// A car in a train.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct CarNowBody {
    /// Its number.
    car: String,
    /// Which way it stands: `forward` or `reversed`.
    orientation: &'static str,
}

/// A verdict in few words.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct VerdictInShortBody {
    /// Whether the train may run.
    permission: &'static str,
    /// The cap of its speed, in whole km/h.
    speed_km_h: Option<u32>,
    /// How many positions are cut out.
    cut_outs: usize,
    /// How many positions hold nothing.
    vacant: usize,
}

impl From<&Consequences> for ChangedBody {
    fn from(told: &Consequences) -> Self {
        Self::first(told, usize::MAX)
    }
}

impl ChangedBody {
    /// With at most so many of a kind.
    pub(super) fn first(told: &Consequences, most: usize) -> Self {
        let void = told.void.iter().map(|one| VoidBody {
            decision: one.decision.0,
            train: one.train.to_string(),
        });
        Self {
            due: bodies(&told.due, most),
            due_moved: told.due.count(),
            usage: bodies(&told.usage, most),
            usage_moved: told.usage.count(),
            departures: bodies(&told.departures, most),
            departures_moved: told.departures.count(),
            standing: bodies(&told.fitted, most),
            standing_in_all: told.fitted.count(),
            doubts: told.doubts.iter().map(DoubtBody::from).collect(),
            cut_outs: told.cut_outs.iter().map(CutOutMovedBody::from).collect(),
            ends_unproved: told.unproved.iter().map(EndUnprovedBody::from).collect(),
            void_decisions: void.collect(),
            past_verdicts: bodies(&told.verdicts, most),
            past_not_looked_at: told.verdicts.more,
        }
    }
}

/// The first of some things as programs get them.
fn bodies<'t, M, B: From<&'t M>>(listed: &'t Listed<M>, most: usize) -> Vec<B> {
    listed.told.iter().take(most).map(B::from).collect()
}

impl From<&DueMoved> for DueMovedBody {
    fn from(moved: &DueMoved) -> Self {
        let (component, car) = match &moved.subject {
            Subject::Component(component) => (Some(component.into()), None),
            Subject::Car(car) => (None, Some(car.to_string())),
        };
        Self {
            component,
            car,
            task: moved.task.to_string(),
            before: moved.before.map(|day| day.to_string()),
            after: moved.after.map(|day| day.to_string()),
        }
    }
}

impl From<&UsageMoved> for UsageMovedBody {
    fn from(moved: &UsageMoved) -> Self {
        let amount = |run| AmountBody::new(run, moved.meter);
        Self {
            component: (&moved.component).into(),
            meter: moved.meter.name(),
            before: moved.before.map(amount),
            after: moved.after.map(amount),
        }
    }
}

impl From<&DepartureMoved> for DepartureMovedBody {
    fn from(moved: &DepartureMoved) -> Self {
        let one = &moved.departure;
        Self {
            car: one.at.car.to_string(),
            position: one.at.position.to_string(),
            setting: one.setting.as_ref().map(ToString::to_string),
            kind: one.kind.name(),
            from: one.from.map(|day| day.to_string()),
            until: one.until.map(|day| day.to_string()),
            change: moved.change.name(),
            concession: moved.concession.as_ref().map(ToString::to_string),
        }
    }
}

impl From<&StandingWork> for StandingBody {
    fn from(one: &StandingWork) -> Self {
        Self {
            component: (&one.component).into(),
            task: one.task.to_string(),
            state: one.state.name(),
            due: one.on.map(|on| on.to_string()),
        }
    }
}

impl From<&VerdictMoved> for VerdictMovedBody {
    fn from(moved: &VerdictMoved) -> Self {
        let (found_now, no_answer) = either(&moved.now);
        let cars_now = moved.cars.iter().map(|place| CarNowBody {
            car: place.car.to_string(),
            orientation: place.orientation.name(),
        });
        Self {
            decision: moved.decision.0,
            train: moved.train.to_string(),
            at: moved.at.to_string(),
            decided_by: moved.decided_by.to_string(),
            found_then: (&moved.told).into(),
            found_now,
            no_answer,
            before: moved.before.as_ref().map(FoundBeforeBody::from),
            others: moved.others.iter().copied().map(FoundPart::name).collect(),
            cars_now: cars_now.collect(),
            revision_now: moved.revision.as_ref().map(ToString::to_string),
            certainty: moved.certainty.name(),
        }
    }
}

impl From<&Doubt> for DoubtBody {
    fn from(doubt: &Doubt) -> Self {
        Self {
            component: (&doubt.component).into(),
            why: doubt.to_string(),
            entry: match &doubt.why {
                DoubtKind::Alike(_) | DoubtKind::Campaign { .. } => None,
                DoubtKind::LeftHeld { told_by, .. } => told_by.map(|entry| entry.0),
                DoubtKind::LookedFor(entry)
                | DoubtKind::JudgedBefore { by: entry, .. }
                | DoubtKind::Certificate { by: entry, .. }
                | DoubtKind::KeptAway { by: entry, .. } => Some(entry.0),
            },
            told_by: match &doubt.why {
                DoubtKind::JudgedBefore { told_by, .. } | DoubtKind::LeftHeld { told_by, .. } => {
                    told_by.map(|entry| entry.0)
                }
                _ => None,
            },
        }
    }
}

impl From<&EndUnproved> for EndUnprovedBody {
    fn from(one: &EndUnproved) -> Self {
        Self {
            car: one.at.car.to_string(),
            position: one.at.position.to_string(),
            ended_at: one.ended.to_string(),
            ended_by: one.by.0,
            proved_by: one.proved_by.to_string(),
        }
    }
}

impl From<&CutOutMoved> for CutOutMovedBody {
    fn from(moved: &CutOutMoved) -> Self {
        Self {
            car: moved.at.car.to_string(),
            position: moved.at.position.to_string(),
            change: moved.change.name(),
        }
    }
}

impl From<&Verdict> for VerdictInShortBody {
    fn from(verdict: &Verdict) -> Self {
        Self {
            permission: verdict.permission.name(),
            speed_km_h: verdict.speed_km_h,
            cut_outs: verdict.cut_outs,
            vacant: verdict.vacant,
        }
    }
}
