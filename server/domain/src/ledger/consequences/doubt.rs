//! What is doubtful about what goes on a car or into an assembly, to be seen before it does.

use super::DueWork;
use crate::configuration::certificate::{Certificate, Left, LifeLeft};
use crate::configuration::component::ComponentRef;
use crate::ledger::certified::certificate;
use crate::ledger::entry::{Entry, Seq};
use crate::ledger::fact::Fact;
use crate::time::{Day, Instant};
use serde::{Deserialize, Serialize};
use std::cmp::Reverse;
use std::fmt;

/// A doubt about a component that is fitted.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Doubt {
    /// The component.
    pub component: ComponentRef,
    /// Why.
    pub why: DoubtKind,
}

/// What is doubtful about it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DoubtKind {
    /// Another component of its part is fitted whose serial number differs only in case, blanks
    /// and hyphens: the two may be one.
    Alike(ComponentRef),
    /// An open check of the fleet looks for it.
    LookedFor(Seq),
    /// By its certificate something is left for less long than the register finds, or no longer.
    Certificate {
        /// The certificate's number.
        number: String,
        /// The entry that it came with.
        by: Seq,
        /// What it says.
        said: LifeLeft,
        /// When the register finds the work due, where it finds a date.
        found: Option<Day>,
    },
}

impl fmt::Display for Doubt {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let component = &self.component;
        match &self.why {
            DoubtKind::Alike(other) => write!(
                f,
                "{component} may be {other}, which is fitted: look at both plates"
            ),
            DoubtKind::LookedFor(check) => {
                write!(f, "{component} is looked for by the check of {check}")
            }
            DoubtKind::Certificate {
                number,
                said,
                found,
                ..
            } => {
                write!(f, "{component} by certificate {number}: {said}; ")?;
                match found {
                    Some(day) => write!(f, "the register finds {day}"),
                    None => f.write_str("the register finds no date"),
                }
            }
        }
    }
}

/// What the certificates among the entries of a component say that the register does not, as it is
/// fitted on a day: of each task and clock what was said last, unless the task was done since. What
/// is left by a meter is told where nothing was. Linear in the entries, times what they say is left.
pub fn of_papers(
    component: &ComponentRef,
    entries: &[Entry],
    on: Day,
    works: &[DueWork],
) -> Vec<Doubt> {
    let mut papers: Vec<(&Entry, &Certificate)> = entries
        .iter()
        .filter_map(|entry| Some((entry, certificate(entry)?)))
        .collect();
    papers.sort_by_key(|(entry, _)| Reverse((entry.effective_at, entry.seq)));
    let mut seen: Vec<&LifeLeft> = Vec::new();
    let mut doubts = Vec::new();
    for (entry, paper) in papers {
        for said in &paper.left {
            let later = seen.iter().any(|one| one.is_by_clock_of(said));
            if later || done_after(entries, said, entry.effective_at) {
                continue;
            }
            seen.push(said);
            let mut works = works.iter();
            let of_task =
                works.find(|work| work.component == *component && work.task.code == said.task);
            let found = of_task.and_then(|work| work.forecast.on);
            let doubtful = match said.left {
                Left::Until(day) => day < on || found.is_some_and(|found| day < found),
                Left::Run { amount, .. } => amount.0 <= 0,
            };
            if doubtful {
                doubts.push(Doubt {
                    component: component.clone(),
                    why: DoubtKind::Certificate {
                        number: paper.number.clone(),
                        by: entry.seq,
                        said: said.clone(),
                        found,
                    },
                });
            }
        }
    }
    doubts
}

fn done_after(entries: &[Entry], said: &LifeLeft, at: Instant) -> bool {
    let mut later = entries.iter().filter(|entry| at < entry.effective_at);
    later.any(|entry| matches!(&entry.fact, Fact::TaskDone { task, .. } if *task == said.task))
}
