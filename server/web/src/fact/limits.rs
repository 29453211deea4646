//! Tasks and procedures with all their limits, as who approves them must read them, and what of
//! them differs from the revision in force.

use super::cells::{FactRow, Rows};
use super::rows;
use crate::page::tests::judged;
use crate::show;
use domain::due::obligation::Touching;
use domain::due::task::{AppliesTo, Interval, Limit, Task};
use domain::identity::PositionCode;
use domain::ledger::dossier::Documents;
use domain::ledger::fact::Fact;
use domain::ledger::proposal::Proposal;
use domain::test_record::procedure::{Measurand, Procedure};
use domain::time::Zone;
use domain::units::Amount;

/// How what names an obligation of a task begins.
const DUE_AFTER: &str = "due at once after";
/// What a row is that only one of two lists has.
const NOTHING: &str = "nothing";
/// What becomes of work that an obligation made due, which the revision proposed has no more.
const STAYS_DUE: &str = "nothing; what is due at once by it when the revision comes into force stays due until it is done";

impl Rows<'_> {
    pub(super) fn task(&mut self, task: &Task) {
        self.revision("task", &task.code, &task.revision);
        self.text("title", &task.title);
        self.text("kind", task.kind);
        self.text("done on", on(&task.applies_to));
        for limit in task.limits.iter() {
            self.text(
                &format!("limit by {}", limit.interval.metric()),
                within(limit),
            );
        }
        self.text("counts from", task.counts_from);
        self.text("its clock starts with", task.clock_start);
        if let Some(days) = task.longest_in_store_days {
            self.text(
                "longest in store before its clock starts",
                in_days(i64::from(days)),
            );
        }
        for satisfied in &task.satisfies {
            self.text(&format!("task {satisfied}"), "counts as done with it");
        }
        for obligation in &task.obligations {
            let name = format!("{DUE_AFTER} {}", touching(obligation.after));
            self.text(&name, format!("from {} on", obligation.from));
        }
        self.text("source of its limits", &task.source);
    }

    pub(super) fn procedure(&mut self, procedure: &Procedure) {
        self.revision("procedure", &procedure.code, &procedure.revision);
        self.text("title", &procedure.title);
        self.text("done on", on(&procedure.applies_to));
        if let Some(task) = &procedure.task {
            self.text("belongs to task", task);
        }
        for measurand in procedure.measurands.iter() {
            self.text(&judged::name(measurand), measured(measurand));
        }
        self.text("source of its limits", &procedure.source);
    }
}

fn on(applies_to: &AppliesTo) -> String {
    match applies_to {
        AppliesTo::Part(part) => format!("components of part {part}"),
        AppliesTo::CarType(name) => format!("cars of type {name}"),
    }
}

fn touching(after: Touching) -> String {
    match after {
        Touching::Exchanged(kind) => format!("an exchange: {kind}"),
        Touching::Set(kind) => format!("a setting made: {kind}"),
        Touching::CutOutEnded(kind) => format!("the end of a cut-out: {kind}"),
        Touching::Coupled => "its unit was formed".to_owned(),
    }
}

fn in_days(days: i64) -> String {
    match days {
        1 => "1 day".to_owned(),
        days => format!("{} days", show::grouped(days)),
    }
}

/// An interval with how early and how late the work may be done.
fn within(limit: &Limit) -> String {
    let interval = match limit.interval {
        Interval::Days(days) => in_days(i64::from(days)),
        Interval::Months(1) => "1 month".to_owned(),
        Interval::Months(months) => format!("{months} months"),
        Interval::Usage(meter, amount) => show::exact(amount, meter),
    };
    let tolerance = |amount: i64| match limit.interval {
        Interval::Usage(meter, _) => show::exact(Amount(amount), meter),
        Interval::Days(_) | Interval::Months(_) => in_days(amount),
    };
    let early = (limit.early != 0).then(|| format!("{} early", tolerance(limit.early)));
    let late = (limit.late != 0).then(|| format!("{} late", tolerance(limit.late)));
    match (early, late) {
        (None, None) => interval,
        (Some(one), None) | (None, Some(one)) => format!("{interval}, or {one}"),
        (Some(early), Some(late)) => format!("{interval}, or {early} or {late}"),
    }
}

fn measured(measurand: &Measurand) -> String {
    let limits = judged::limits(measurand);
    let words = match measurand.during {
        Some(during) => format!("{limits}, {during}"),
        None => limits,
    };
    let places = measurand.measured_at.iter().map(PositionCode::as_str);
    let places: Vec<&str> = places.collect();
    match places.as_slice() {
        [] => words,
        places => format!("{words}, at {}", places.join(", ")),
    }
}

/// What a proposed task or procedure changes of the revision that it would follow.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct LimitsCompared {
    /// The revision that is in force.
    pub(crate) revision: String,
    /// What differs: what it is, as it is in force, as it is proposed.
    pub(crate) rows: Vec<(String, String, String)>,
}

impl LimitsCompared {
    /// Of a proposal; none where no limits are proposed, or there is no revision before.
    pub(crate) fn of(documents: &Documents, proposal: &Proposal, zone: &Zone) -> Option<Self> {
        let (revision, before) = match proposal {
            Proposal::Task(task) => {
                let before = &documents.tasks.get(&task.code)?.document;
                let fact = Fact::TaskDefined(before.as_ref().clone());
                (before.revision.to_string(), fact)
            }
            Proposal::Procedure(procedure) => {
                let known = documents.procedures.values();
                let of_code = known.filter(|known| known.document.code == procedure.code);
                let before = &of_code.max_by_key(|known| known.by)?.document;
                let fact = Fact::ProcedureDefined(before.as_ref().clone());
                (before.revision.to_string(), fact)
            }
            _ => return None,
        };
        let rows = different(&rows(&before, zone), &rows(&proposal.fact(), zone));
        Some(Self { revision, rows })
    }
}

/// The rows of two lists that differ, what only one of them has included.
fn different(before: &[FactRow], after: &[FactRow]) -> Vec<(String, String, String)> {
    let value = |rows: &[FactRow], what: &str| {
        let row = rows.iter().find(|row| row.what == what);
        row.map_or_else(|| NOTHING.to_owned(), |row| row.value.clone())
    };
    let becomes = |what: &str| match value(after, what) {
        gone if gone == NOTHING && what.starts_with(DUE_AFTER) => STAYS_DUE.to_owned(),
        told => told,
    };
    let gone = before
        .iter()
        .filter(|row| after.iter().all(|other| other.what != row.what));
    let all = after.iter().chain(gone);
    let both = all.map(|row| {
        let what = row.what.as_str();
        (what.to_owned(), value(before, what), becomes(what))
    });
    both.filter(|(_, before, after)| before != after).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use domain::units::Meter;

    fn row(what: &str, value: &str) -> FactRow {
        FactRow {
            what: what.to_owned(),
            value: value.to_owned(),
            link: None,
        }
    }

    #[test]
    fn what_came_went_and_changed_is_told_and_nothing_else() {
        let before = [row("a", "1"), row("b", "1"), row("c", "1")];
        let after = [row("a", "1"), row("b", "2"), row("d", "1")];
        let told = different(&before, &after);
        let told: Vec<[&str; 3]> = told
            .iter()
            .map(|(what, before, after)| [what.as_str(), before.as_str(), after.as_str()])
            .collect();
        let expected = [
            ["b", "1", "2"],
            ["d", "nothing", "1"],
            ["c", "1", "nothing"],
        ];
        assert_eq!(told, expected);
    }

    #[test]
    fn an_obligation_that_is_left_out_says_that_what_is_due_stays_due() {
        let before = [row(
            "due at once after its unit was formed",
            "from 2026-03-01 on",
        )];
        let told = different(&before, &[]);
        assert_eq!(told[0].2, STAYS_DUE);
    }

    #[test]
    fn an_interval_is_told_with_its_tolerances() {
        let by_use = Interval::Usage(Meter::Odometer, Amount::whole(600_000));
        let limit = |interval, early, late| Limit {
            interval,
            early,
            late,
        };
        assert_eq!(within(&limit(Interval::Months(96), 0, 0)), "96 months");
        assert_eq!(
            within(&limit(Interval::Days(92), 1, 5)),
            "92 days, or 1 day early or 5 days late"
        );
        let late = within(&limit(by_use, 0, 12_000_000));
        assert_eq!(late, "600,000 km, or 12,000 km late");
    }
}
