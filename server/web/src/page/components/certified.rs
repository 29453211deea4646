//! What certificates say is left of limited lives, beside what the register finds.

use super::used::told;
use crate::address;
use crate::show;
use domain::configuration::certificate::Left;
use domain::configuration::component::{ComponentRef, Condition, Subject};
use domain::ledger::certified::{Certified, FoundLeft};
use domain::ledger::entry::Entry;
use domain::ledger::fact::Fact;
use domain::time::Zone;
use domain::worked::Step;

/// One statement of a certificate in words.
pub(super) struct CertifiedRow {
    pub(super) task: String,
    /// What the certificate says.
    pub(super) said: String,
    /// The certificate, and the entry that it came with.
    pub(super) paper: (String, String),
    /// What the register finds.
    pub(super) found: String,
    /// What no reading tells of the use on which that rests, in words.
    pub(super) estimated: Vec<String>,
    pub(super) steps: Vec<Step>,
    /// Whether the two differ.
    pub(super) differs: bool,
    /// Whether the certificate leaves less.
    pub(super) sooner: bool,
}

/// The newest paper since its receipt that says it is fit for use.
pub(super) struct PaperSince {
    /// Which, and when: a certificate of work, or what it was judged or came off serviceable on.
    pub(super) words: String,
    /// The entry, and its page.
    pub(super) entry: (String, String),
}

impl PaperSince {
    /// Of the entries of a component by their time. Some tell of what it was inside.
    pub(super) fn of((of, entries): (&ComponentRef, &[Entry]), zone: &Zone) -> Option<Self> {
        entries.iter().rev().find_map(|entry| {
            let on = zone.day_of(entry.effective_at);
            let words = match &entry.fact {
                Fact::TaskDone {
                    subject: Subject::Component(_),
                    task,
                    release: Some(release),
                    ..
                } => format!(
                    "{} of {}, with {task} on {on}",
                    release.number, release.issuer
                ),
                Fact::ConditionJudged {
                    component,
                    condition: Condition::Serviceable,
                    evidence,
                } if component == of => format!("judged serviceable on {on} on “{evidence}”"),
                Fact::Removed {
                    component, removal, ..
                } if component == of && removal.condition == Condition::Serviceable => {
                    let evidence = removal.evidence.as_deref();
                    let evidence = evidence.map_or_else(
                        || "evidence that is not recorded".to_owned(),
                        |evidence| format!("“{evidence}”"),
                    );
                    format!("came off serviceable on {on} on {evidence}")
                }
                _ => return None,
            };
            Some(Self {
                words,
                entry: (entry.seq.to_string(), address::entry(entry.seq)),
            })
        })
    }
}

/// The rows of a page.
pub(super) fn rows(certified: Vec<Certified>, zone: &Zone) -> Vec<CertifiedRow> {
    let rows = certified.into_iter();
    rows.map(|one| row(one, zone)).collect()
}

/// What the register finds is left.
fn left_by(left: Left) -> String {
    match left {
        Left::Until(_) => left.to_string(),
        Left::Run { meter, amount } => format!("{} left", show::left(amount, meter)),
    }
}

fn row(certified: Certified, zone: &Zone) -> CertifiedRow {
    let differs = certified.differs();
    let estimated = match certified.found {
        FoundLeft::Same | FoundLeft::Other { .. } => told(&certified.estimated, zone),
        FoundLeft::NoLimit | FoundLeft::NotStarted | FoundLeft::Lacking(_) => Vec::new(),
    };
    let sooner = matches!(certified.found, FoundLeft::Other { sooner: true, .. });
    let (found, steps) = match certified.found {
        FoundLeft::Same => ("the same".to_owned(), Vec::new()),
        FoundLeft::Other {
            left,
            sooner,
            steps,
        } => {
            let than = if sooner { "before" } else { "after" };
            (
                format!(
                    "{}: by the certificate it is due {than} that",
                    left_by(left)
                ),
                steps,
            )
        }
        FoundLeft::NoLimit => ("no such limit of this part".to_owned(), Vec::new()),
        FoundLeft::NotStarted => ("not started: it counts from fitting".to_owned(), Vec::new()),
        FoundLeft::Lacking(lack) => (
            format!("cannot be told, because this is missing: {lack}"),
            Vec::new(),
        ),
    };
    CertifiedRow {
        task: certified.said.task.to_string(),
        said: certified.said.left.to_string(),
        paper: (certified.number, address::entry(certified.by)),
        found,
        estimated,
        steps,
        differs,
        sooner,
    }
}
