//! What certificates say is left of limited lives, beside what the register finds.

use crate::address;
use domain::ledger::certified::{Certified, FoundLeft};
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
    pub(super) steps: Vec<Step>,
    /// Whether the two differ.
    pub(super) differs: bool,
    /// Whether the certificate leaves less.
    pub(super) sooner: bool,
}

/// The rows of a page.
pub(super) fn rows(certified: Vec<Certified>) -> Vec<CertifiedRow> {
    certified.into_iter().map(row).collect()
}

fn row(certified: Certified) -> CertifiedRow {
    let differs = certified.differs();
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
                format!("{left}: by the certificate it is due {than} that"),
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
        steps,
        differs,
        sooner,
    }
}
