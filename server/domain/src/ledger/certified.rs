//! What certificates say is left of limited lives, held against what the register finds for the
//! same moment. The register goes by its own records: a certificate changes no due date, and where
//! the two differ, people are told.

use crate::configuration::certificate::{Certificate, Left, LifeLeft};
use crate::configuration::component::Subject;
use crate::due::anchor::Anchors;
use crate::due::facts::{MeterFacts, SubjectFacts, SubjectKind};
use crate::due::point::{Lack, Point, calendar_point, meter_point};
use crate::due::task::{Metric, Task};
use crate::due::working;
use crate::ledger::dossier::{Documents, MeterValues};
use crate::ledger::entry::{Entry, Seq};
use crate::ledger::estimated::Estimated;
use crate::ledger::fact::Fact;
use crate::ledger::standing::ComponentHistory;
use crate::time::{Instant, Zone};
use crate::units::{Amount, ByMeter};
use crate::worked::Step;

/// What a certificate says is left by one clock, beside what the register finds.
#[derive(Debug, Clone, PartialEq)]
pub struct Certified {
    /// The entry that the certificate came with.
    pub by: Seq,
    /// The certificate's number.
    pub number: String,
    /// What it says.
    pub said: LifeLeft,
    /// What the register finds for the moment of that entry.
    pub found: FoundLeft,
    /// The stretches of use on which that rests and which no reading tells.
    pub estimated: Vec<Estimated>,
}

/// What the register finds of what a certificate says is left.
#[derive(Debug, Clone, PartialEq)]
pub enum FoundLeft {
    /// The same, to a whole kilometre, hour or day.
    Same,
    /// Something else, with the steps to it.
    Other {
        /// What is left by the register.
        left: Left,
        /// Whether by the certificate the work is due before that.
        sooner: bool,
        /// How the register finds it.
        steps: Vec<Step>,
    },
    /// The task has no limit by that clock, or is not one of the part any more.
    NoLimit,
    /// The clock starts at fitting, and it was not fitted yet.
    NotStarted,
    /// It cannot be told for want of this.
    Lacking(Lack),
}

impl Certified {
    /// Whether the register finds something else than the certificate says.
    pub fn differs(&self) -> bool {
        matches!(self.found, FoundLeft::Other { .. } | FoundLeft::NoLimit)
    }
}

/// The certificate with which a component came, or came back from work, by an entry.
pub(super) fn certificate(entry: &Entry) -> Option<&Certificate> {
    match &entry.fact {
        Fact::ComponentReceived(receipt) => receipt.release.as_deref(),
        Fact::TaskDone {
            subject: Subject::Component(_),
            release,
            ..
        } => release.as_deref(),
        _ => None,
    }
}

/// A certificate, when it came with which entry.
#[derive(Clone, Copy)]
struct Paper<'a> {
    certificate: &'a Certificate,
    by: Seq,
    at: Instant,
}

impl<'a> Paper<'a> {
    fn of(entry: &'a Entry) -> Option<Self> {
        Some(Self {
            certificate: certificate(entry)?,
            by: entry.seq,
            at: entry.effective_at,
        })
    }
}

impl ComponentHistory<'_> {
    /// What the certificates among the entries of the component say is left, the newest first: of
    /// each task and clock what was said last, unless the task was done since. Linear in the
    /// entries, times the fitments and the work done.
    pub fn certified(
        &self,
        entries: &[Entry],
        documents: &Documents,
        zone: &Zone,
    ) -> Vec<Certified> {
        let mut papers: Vec<Paper<'_>> = entries.iter().filter_map(Paper::of).collect();
        papers.sort_by_key(|paper| std::cmp::Reverse((paper.at, paper.by)));
        let mut told: Vec<Certified> = Vec::new();
        for paper in papers {
            for said in &paper.certificate.left {
                let later = told.iter().any(|one| one.said.is_by_clock_of(said));
                let mut doings = self.done.iter();
                let done_since = doings.any(|done| done.task == said.task && paper.at < done.at);
                if !later && !done_since {
                    told.push(Certified {
                        by: paper.by,
                        number: paper.certificate.number.clone(),
                        said: said.clone(),
                        found: self.found(said, paper.at, (documents, zone)),
                        estimated: match said.left {
                            Left::Until(_) => Vec::new(),
                            Left::Run { meter, .. } => {
                                self.estimated_for(&said.task, meter, paper.at)
                            }
                        },
                    });
                }
            }
        }
        told
    }

    fn found(
        &self,
        said: &LifeLeft,
        at: Instant,
        (documents, zone): (&Documents, &Zone),
    ) -> FoundLeft {
        let tasks = documents.tasks_of_part(&self.record.component.part);
        let Some(task) = tasks.iter().find(|task| task.code == said.task) else {
            return FoundLeft::NoLimit;
        };
        let then = self.until(at);
        let known = then.known_since(at);
        let doings = then.doings((task, &known), documents, zone);
        let (made, overhauled) = then.begun(&known, zone);
        let facts = SubjectFacts {
            kind: SubjectKind::Component,
            made,
            overhauled,
            doings: &doings,
            scale: ByMeter::from_fn(|meter| known[meter].own_scale()),
            at_once: None,
        };
        let counted = || {
            let mut doings = then.done.iter();
            let done = doings.find(|done| done.at == at);
            let host = done.map_or_else(MeterValues::default, |done| done.meters);
            then.counted_until(&known, at, &host)
        };
        match said.left {
            Left::Until(day) => {
                let point = calendar_point(task, &Anchors::of(task, &facts));
                compared(point, (task, &facts, Metric::Calendar), |due| {
                    (due != day).then_some((Left::Until(due), day < due))
                })
            }
            Left::Run { meter, amount } => {
                let Some(counted) = counted()[meter] else {
                    return FoundLeft::Lacking(Lack::Use);
                };
                let point = meter_point(task, meter, &Anchors::of(task, &facts));
                compared(point, (task, &facts, meter.into()), |due| {
                    let left = due - counted;
                    let apart =
                        Amount::whole(1) <= left - amount || Amount::whole(1) <= amount - left;
                    let found = Left::Run {
                        meter,
                        amount: left,
                    };
                    apart.then_some((found, amount < left))
                })
            }
        }
    }
}

/// What a due point makes of what is said, with the steps to that point where it is another.
fn compared<T: Copy>(
    point: Point<T>,
    (task, facts, metric): (&Task, &SubjectFacts<'_>, Metric),
    other: impl FnOnce(T) -> Option<(Left, bool)>,
) -> FoundLeft {
    let window = match point {
        Point::NoLimit => return FoundLeft::NoLimit,
        Point::NotStarted => return FoundLeft::NotStarted,
        Point::Unknown(lack) => return FoundLeft::Lacking(lack),
        Point::AtTheLatest(_) => return FoundLeft::Lacking(Lack::AnchorAtTheLatest),
        Point::At(window) => window,
    };
    let Some((left, sooner)) = other(window.due) else {
        return FoundLeft::Same;
    };
    let unknown = ByMeter::from_fn(|_| MeterFacts::UNKNOWN);
    let limit = format!("{metric} limit");
    let mut steps = working::worked(task, facts, (&unknown, &|_, _| None)).steps;
    steps.retain(|step| step.what == limit);
    FoundLeft::Other {
        left,
        sooner,
        steps,
    }
}
