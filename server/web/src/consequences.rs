//! What an entry changes beyond what it says, shown before it is recorded.

use crate::address;
use crate::form::Fields;
use crate::show::hex;
use domain::configuration::component::Subject;
use domain::ledger::command::Command;
use domain::time::Day;
use sha2::{Digest, Sha256};
use store::{DueMoved, Foreseen};

/// What an entry changes, as it is shown before and recorded with it.
#[derive(Debug)]
pub(crate) struct Consequences {
    /// In one sentence.
    pub(crate) summary: String,
    /// What the form brings back, so that nobody agrees to something else: a hash of all dates
    /// shown, how many more there are, and the decisions.
    pub(crate) seal: String,
    pub(crate) due: Vec<DueRow>,
    /// How many dates move that are not shown.
    pub(crate) more: usize,
    /// Decisions that become void: the train, and the address of the decision.
    pub(crate) void: Vec<(String, String)>,
}

/// Due work whose date moves.
#[derive(Debug)]
pub(crate) struct DueRow {
    pub(crate) what: String,
    pub(crate) address: String,
    pub(crate) task: String,
    pub(crate) before: String,
    pub(crate) after: String,
}

impl Consequences {
    /// As foreseen.
    pub(crate) fn new(foreseen: &Foreseen) -> Self {
        let due: Vec<DueRow> = foreseen.due.iter().map(DueRow::new).collect();
        Self {
            summary: summary(foreseen),
            seal: seal(foreseen),
            more: foreseen.moved - due.len(),
            due,
            void: foreseen
                .void
                .iter()
                .map(|(id, train)| (train.to_string(), format!("/decisions/{}", id.0)))
                .collect(),
        }
    }

    /// Whether a form brings back that these, and no others, were seen.
    pub(crate) fn are_agreed_to(&self, fields: &Fields) -> bool {
        fields.text("foreseen") == self.seal
    }

    /// The command with its consequences told in its reason.
    pub(crate) fn with(&self, command: Command) -> Command {
        let told = format!("As shown before: {}.", self.summary);
        let reason = match command.reason.as_str() {
            "" => told,
            reason => format!("{reason} {told}"),
        };
        Command { reason, ..command }
    }
}

impl DueRow {
    fn new(moved: &DueMoved) -> Self {
        let day = |day: Option<Day>| day.map_or("no date".to_owned(), |day| day.to_string());
        Self {
            what: match &moved.subject {
                Subject::Component(component) => component.to_string(),
                Subject::Car(car) => format!("car {car}"),
            },
            address: match &moved.subject {
                Subject::Component(component) => address::component(component),
                Subject::Car(car) => address::car(car),
            },
            task: moved.task.to_string(),
            before: day(moved.before),
            after: day(moved.after),
        }
    }
}

fn seal(foreseen: &Foreseen) -> String {
    hex(&Sha256::digest(format!("{foreseen:?}")).into())
}

fn summary(foreseen: &Foreseen) -> String {
    let dates = match foreseen.moved {
        0 => "no due date moves".to_owned(),
        1 => "1 due date moves".to_owned(),
        several => format!("{several} due dates move"),
    };
    match foreseen.void.as_slice() {
        [] => format!("{dates}; no decision about a train becomes void"),
        [(_, train)] => format!("{dates}; the decision about train {train} becomes void"),
        several => format!(
            "{dates}; {} decisions about trains become void",
            several.len()
        ),
    }
}
