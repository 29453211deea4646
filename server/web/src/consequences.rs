//! What an entry changes beyond what it says, shown before it is recorded and on its page.

use crate::address;
use crate::form::Fields;
use crate::found_again;
use crate::show::{amount, hex};
use domain::configuration::component::Subject;
use domain::due::state::State;
use domain::ledger::consequences::{
    CameOrWent, Consequences as Told, CutOutMoved, DepartureMoved, Doubt, DoubtKind, DueMoved,
    EndUnproved, Listed, StandingWork, UsageMoved, VerdictMoved,
};
use domain::time::{Day, Zone};
use domain::units::Amount;
use sha2::{Digest, Sha256};

/// What an entry changes, as pages show it.
#[derive(Debug)]
pub(crate) struct Consequences {
    /// In one sentence.
    pub(crate) summary: String,
    /// What the form brings back, so that nobody agrees to something else: a hash of all that is
    /// shown, and of how many more there are.
    pub(crate) seal: String,
    pub(crate) due: Rows<MovedRow>,
    pub(crate) usage: Rows<MovedRow>,
    pub(crate) departures: Rows<DepartureRow>,
    /// Work that stands on what is fitted.
    pub(crate) fitted: Rows<StandingRow>,
    /// What is doubtful about what is fitted: in words, and the address to look at.
    pub(crate) doubts: Vec<(String, String)>,
    /// Cut-outs that are in force again, or no more: in words, and the address of the position.
    pub(crate) cut_outs: Vec<(String, String)>,
    /// Ends of cut-outs that are not proved any more: in words, and the address of the position.
    pub(crate) unproved: Vec<(String, String)>,
    /// Decisions that become void: the train, and the address of the decision.
    pub(crate) void: Vec<(String, String)>,
    pub(crate) verdicts: Vec<VerdictRow>,
    /// How many later decisions were not looked at.
    pub(crate) verdicts_more: usize,
}

/// The most rows of a kind that are shown unfolded.
const UNFOLDED_MAX: usize = 30;

/// Rows of one kind.
#[derive(Debug)]
pub(crate) struct Rows<T> {
    all: Vec<T>,
    /// How many more there are, which are counted alone.
    pub(crate) more: usize,
}

/// Some of the rows, as one table.
#[derive(Debug)]
pub(crate) struct Part<'a, T> {
    pub(crate) rows: &'a [T],
    /// Whether they are shown only where somebody unfolds them, and in print.
    pub(crate) folded: bool,
}

impl<T> Rows<T> {
    fn of<M>(listed: &Listed<M>, row: impl Fn(&M) -> T) -> Self {
        Self {
            all: listed.told.iter().map(row).collect(),
            more: listed.more,
        }
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.all.is_empty()
    }

    /// The first of them, and the rest if there are many.
    pub(crate) fn parts(&self) -> Vec<Part<'_, T>> {
        let (first, rest) = self.all.split_at(UNFOLDED_MAX.min(self.all.len()));
        let parts = [(first, false), (rest, true)].into_iter();
        parts
            .filter(|(rows, _)| !rows.is_empty())
            .map(|(rows, folded)| Part { rows, folded })
            .collect()
    }
}

/// Something of a component or a car that is another afterwards.
#[derive(Debug)]
pub(crate) struct MovedRow {
    pub(crate) what: String,
    pub(crate) address: String,
    /// The task or the meter.
    pub(crate) which: String,
    pub(crate) before: String,
    pub(crate) after: String,
}

/// Work that stands on what is fitted.
#[derive(Debug)]
pub(crate) struct StandingRow {
    pub(crate) what: String,
    pub(crate) address: String,
    pub(crate) task: String,
    pub(crate) state: State,
    pub(crate) on: String,
}

/// A departure that comes or goes.
#[derive(Debug)]
pub(crate) struct DepartureRow {
    pub(crate) at: String,
    pub(crate) address: String,
    pub(crate) what: String,
    /// From which on, and until which.
    pub(crate) days: [String; 2],
    pub(crate) change: String,
}

/// A decision of the past that would now find something else.
#[derive(Debug)]
pub(crate) struct VerdictRow {
    pub(crate) train: String,
    pub(crate) address: String,
    pub(crate) at: String,
    pub(crate) by: String,
    pub(crate) told: String,
    pub(crate) now: String,
}

impl Consequences {
    /// As worked out.
    pub(crate) fn new(told: &Told, zone: &Zone) -> Self {
        Self {
            summary: summary(told),
            seal: seal(told),
            due: Rows::of(&told.due, MovedRow::due),
            usage: Rows::of(&told.usage, MovedRow::usage),
            departures: Rows::of(&told.departures, DepartureRow::new),
            fitted: Rows::of(&told.fitted, StandingRow::new),
            doubts: told.doubts.iter().map(doubt).collect(),
            cut_outs: told.cut_outs.iter().map(cut_out).collect(),
            unproved: told
                .unproved
                .iter()
                .map(|one| unproved(one, zone))
                .collect(),
            void: told
                .void
                .iter()
                .map(|one| (one.train.to_string(), address::decision(one.decision)))
                .collect(),
            verdicts: told
                .verdicts
                .told
                .iter()
                .map(|one| VerdictRow::new(one, zone))
                .collect(),
            verdicts_more: told.verdicts.more,
        }
    }

    /// Whether a form brings back that these, and no others, were seen.
    pub(crate) fn are_agreed_to(&self, fields: &Fields) -> bool {
        fields.text("foreseen") == self.seal
    }
}

impl MovedRow {
    fn due(moved: &DueMoved) -> Self {
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
            which: moved.task.to_string(),
            before: day(moved.before),
            after: day(moved.after),
        }
    }

    fn usage(moved: &UsageMoved) -> Self {
        let run = |run: Option<Amount>| {
            run.map_or("not known".to_owned(), |run| amount(run, moved.meter))
        };
        Self {
            what: moved.component.to_string(),
            address: address::component(&moved.component),
            which: moved.meter.to_string(),
            before: run(moved.before),
            after: run(moved.after),
        }
    }
}

impl StandingRow {
    fn new(one: &StandingWork) -> Self {
        Self {
            what: one.component.to_string(),
            address: address::component(&one.component),
            task: one.task.to_string(),
            state: one.state,
            on: one.on.map_or("no date".to_owned(), |on| on.to_string()),
        }
    }
}

impl DepartureRow {
    fn new(moved: &DepartureMoved) -> Self {
        let one = &moved.departure;
        let mut what = one.kind.to_string();
        if let Some(setting) = &one.setting {
            what.push_str(": ");
            what.push_str(setting.as_str());
        }
        if let Some(concession) = &moved.concession {
            what.push_str("; concession ");
            what.push_str(concession.as_str());
        }
        let from = one
            .from
            .map_or("the beginning".to_owned(), |day| day.to_string());
        Self {
            at: one.at.to_string(),
            address: address::position(&one.at),
            what,
            days: [
                format!("from {from}"),
                one.until
                    .map_or("on".to_owned(), |until| format!("until {until}")),
            ],
            change: moved.change.to_string(),
        }
    }
}

impl VerdictRow {
    fn new(moved: &VerdictMoved, zone: &Zone) -> Self {
        Self {
            train: moved.train.to_string(),
            address: address::decision(moved.decision),
            at: zone.show(moved.at),
            by: moved.decided_by.to_string(),
            told: moved.told.to_string(),
            now: found_again::now(moved),
        }
    }
}

fn doubt(one: &Doubt) -> (String, String) {
    let address = match &one.why {
        DoubtKind::Alike(other) => address::component(other),
        DoubtKind::LookedFor(check) => address::fleet_check(*check),
        DoubtKind::Certificate { by, .. } | DoubtKind::JudgedBefore { by, .. } => {
            address::entry(*by)
        }
        DoubtKind::KeptAway { location, .. } => address::location(location),
        DoubtKind::Campaign { modification, .. } => address::modification(modification),
        DoubtKind::LeftHeld { .. } => address::component(&one.component),
    };
    (one.to_string(), address)
}

fn cut_out(one: &CutOutMoved) -> (String, String) {
    let words = match one.change {
        CameOrWent::Came => format!("the cut-out at {} is in force again", one.at),
        CameOrWent::Went => format!("the cut-out at {} is in force no more", one.at),
    };
    (words, address::position(&one.at))
}

fn unproved(one: &EndUnproved, zone: &Zone) -> (String, String) {
    let words = format!(
        "the cut-out at {} was ended {} ({}) on test record {}, which this test of the same procedure \
         follows: that it is restored is not proved. Test the car again, or record the cut-out again",
        one.at,
        zone.show(one.ended),
        one.by,
        one.proved_by
    );
    (words, address::position(&one.at))
}

fn seal(told: &Told) -> String {
    hex(&Sha256::digest(format!("{told:?}")).into())
}

/// What is doubtful about what is fitted.
fn doubtful(told: &Told) -> Option<String> {
    let doubts = told.doubts.iter().filter(|one| !one.is_raised());
    match doubts.count() {
        0 => None,
        1 => Some("there is a doubt about what is fitted".to_owned()),
        several => Some(format!("there are {several} doubts about what is fitted")),
    }
}

/// What is to be judged again, since it was judged without knowing of this.
fn to_be_judged(told: &Told) -> Option<String> {
    match told.doubts.iter().filter(|one| one.is_raised()).count() {
        0 => None,
        1 => Some("1 component is to be judged again".to_owned()),
        several => Some(format!("{several} components are to be judged again")),
    }
}

fn summary(told: &Told) -> String {
    let dates = match told.due.count() {
        0 => "no due date moves".to_owned(),
        1 => "1 due date moves".to_owned(),
        several => format!("{several} due dates move"),
    };
    let void = match told.void.as_slice() {
        [] => "no decision about a train becomes void".to_owned(),
        [one] => format!("the decision about train {} becomes void", one.train),
        several => format!("{} decisions about trains become void", several.len()),
    };
    let usage = match told.usage.count() {
        0 => None,
        1 => Some("1 figure of use changes".to_owned()),
        several => Some(format!("{several} figures of use change")),
    };
    let departures = match told.departures.count() {
        0 => None,
        1 => Some("1 departure from the baseline comes or goes".to_owned()),
        several => Some(format!("{several} departures from the baseline come or go")),
    };
    let verdicts = match told.verdicts.count() {
        0 => None,
        1 => Some("1 past decision may find something else".to_owned()),
        several => Some(format!("{several} past decisions may find something else")),
    };
    let fitted = match told.fitted.count() {
        0 => None,
        1 => Some("work stands on what is fitted".to_owned()),
        several => Some(format!("{several} tasks stand on what is fitted")),
    };
    let unproved = match told.unproved.len() {
        0 => None,
        1 => Some("the end of a cut-out is not proved any more".to_owned()),
        several => Some(format!(
            "the ends of {several} cut-outs are not proved any more"
        )),
    };
    let fitted = [unproved, to_be_judged(told), doubtful(told), fitted];
    let only_fitted = told.clone().fitted_alone() == *told;
    if only_fitted && fitted.iter().any(Option::is_some) {
        return fitted.into_iter().flatten().collect::<Vec<_>>().join("; ");
    }
    let cut_outs = told.cut_outs.iter().map(|one| Some(cut_out(one).0));
    let rest = [Some(dates), Some(void), usage, departures, verdicts];
    let parts = cut_outs.chain(rest).chain(fitted);
    parts.flatten().collect::<Vec<_>>().join("; ")
}
