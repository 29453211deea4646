//! What makes work due at once: a failed test, and a removal for cause. Both stand until they
//! are answered by the work itself, or by a test that was passed, or by somebody who found the
//! component serviceable.

use crate::configuration::component::{Condition, RemovalReason};
use crate::due::at_once::{AtOnce, AtOnceCause};
use crate::due::task::{Task, TaskKind};
use crate::identity::{ProcedureCode, Revision, TaskCode, TestRecordId};
use crate::ledger::dossier::{ComponentRecord, Documents, DoneRecord, FitmentEnd, TestedRecord};
use crate::ledger::entry::Seq;
use crate::test_record::verdict::TestOutcome;
use crate::time::{Instant, Zone};
use std::sync::Arc;

/// A test as far as due work depends on it.
#[derive(Debug, Clone, PartialEq)]
pub struct Tested {
    /// The entry that recorded it.
    pub by: Seq,
    /// Its identity.
    pub id: TestRecordId,
    /// The procedure followed.
    pub procedure: ProcedureCode,
    /// Its revision.
    pub revision: Revision,
    /// When.
    pub at: Instant,
    /// What it came to.
    pub outcome: TestOutcome,
}

impl From<&TestedRecord> for Tested {
    fn from(tested: &TestedRecord) -> Self {
        Self {
            by: tested.by,
            id: tested.record.id.clone(),
            procedure: tested.record.procedure.clone(),
            revision: tested.record.revision.clone(),
            at: tested.record.at,
            outcome: tested.outcome,
        }
    }
}

/// The failed test that makes a task due at once: of those that belong to it and count, the first
/// that was failed after the last that was passed, if the task was not done after it. A test that
/// is incomplete or does not count says neither, and one that was failed again makes nothing
/// younger. Linear in the tests and the work done.
pub(super) fn by_test(
    task: &Task,
    (tests, done): (&[Tested], &[&DoneRecord]),
    documents: &Documents,
    zone: &Zone,
) -> Option<AtOnce> {
    let belongs = |test: &&Tested| {
        let counts = matches!(test.outcome, TestOutcome::Passed | TestOutcome::Failed);
        counts && documents.task_of_test(&test.procedure, &test.revision) == Some(&task.code)
    };
    let order = |test: &Tested| (test.at, test.by);
    let passed = tests.iter().filter(belongs);
    let passed = passed.filter(|test| test.outcome == TestOutcome::Passed);
    let passed = passed.map(order).max();
    let unanswered = |test: &&Tested| {
        let failed = test.outcome == TestOutcome::Failed;
        failed && passed < Some(order(test)) && !done_after(&task.code, test.at, done)
    };
    let failed = tests.iter().filter(belongs).filter(unanswered);
    failed.min_by_key(|test| order(test)).map(|first| AtOnce {
        on: zone.day_of(first.at),
        cause: AtOnceCause::FailedTest,
        by: first.by,
    })
}

/// The removal for cause that makes a task due at once: the end of the last fitment, if the
/// component was taken off as failed or suspected, is not serviceable since, and the task was
/// not done after it. What went with its assembly was not taken off itself. Only the task that
/// puts the component right is due: see [`restoring`]. Linear in the work done.
pub(super) fn by_removal(
    task: &Task,
    record: &ComponentRecord,
    (end, done): (Option<&FitmentEnd>, &[&DoneRecord]),
    zone: &Zone,
) -> Option<AtOnce> {
    if record.condition == Condition::Serviceable {
        return None;
    }
    let end = end?;
    let cause = match end.reason? {
        RemovalReason::Failed => AtOnceCause::RemovedFailed,
        RemovalReason::Suspected => AtOnceCause::RemovedSuspected,
        _ => return None,
    };
    (!done_after(&task.code, end.at, done)).then(|| AtOnce {
        on: zone.day_of(end.at),
        cause,
        by: end.by,
    })
}

/// The task that puts a component right after it failed: of those it has, its overhaul, else
/// its intermediate overhaul, its inspection, or its test.
pub(super) fn restoring(tasks: &[Arc<Task>]) -> Option<&TaskCode> {
    let of_kind = |kind| tasks.iter().find(|task| task.kind == kind);
    [
        TaskKind::Overhaul,
        TaskKind::IntermediateOverhaul,
        TaskKind::Inspection,
        TaskKind::Test,
    ]
    .into_iter()
    .find_map(of_kind)
    .map(|task| &task.code)
}

fn done_after(task: &TaskCode, at: Instant, done: &[&DoneRecord]) -> bool {
    done.iter().any(|done| done.task == *task && at < done.at)
}
