//! How each position of a car stands: what is fitted, what is cut out, what is due. The table
//! and the drawing are two views of it.

use crate::address;
use crate::drawing::car_side::Drawn;
use crate::drawing::symbol::{Presence, Standing};
use domain::configuration::car_type::{CarType, Position};
use domain::configuration::component::PositionRef;
use domain::due::state::State;
use domain::identity::{CarNumber, PositionCode};
use domain::isolation::CutOutState;
use domain::ledger::dossier::IsolationRecord;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use store::read::due::DueOnCar;

/// What is due on a position or car, from all its tasks.
#[derive(Debug, Clone)]
pub(crate) struct DueSummary {
    /// The worst state of its tasks.
    pub(crate) state: State,
    /// The first task by date, and its date.
    pub(crate) next: Option<(String, String)>,
    /// How many tasks have a limit that cannot be told.
    pub(crate) unknown: usize,
}

impl DueSummary {
    /// Of due work in the order of its dates; nothing where there is no task.
    pub(crate) fn of<'a>(items: impl IntoIterator<Item = &'a DueOnCar>) -> Option<Self> {
        items.into_iter().fold(None, |sum: Option<Self>, item| {
            let mut sum = sum.unwrap_or(Self {
                state: item.state,
                next: None,
                unknown: 0,
            });
            sum.state = sum.state.max(item.state);
            sum.unknown += usize::from(!item.forecast.lacking.is_nothing());
            let dated = item
                .forecast
                .on
                .map(|on| (item.task.to_string(), on.to_string()));
            sum.next = sum.next.or(dated);
            Some(sum)
        })
    }

    fn words(&self) -> String {
        match &self.next {
            Some((task, on)) => format!("{}; next {task} on {on}", self.state),
            None => self.state.to_string(),
        }
    }
}

/// One position of a car.
#[derive(Debug)]
pub(crate) struct PositionStanding<'a> {
    pub(crate) position: &'a Position,
    pub(crate) fitted: bool,
    pub(crate) cut_out: Option<CutOutState>,
    pub(crate) due: Option<DueSummary>,
}

/// What is known of the positions of a car.
pub(crate) struct CarPositions<'a> {
    pub(crate) car_type: &'a CarType,
    pub(crate) filled: BTreeSet<&'a str>,
    pub(crate) in_force: Vec<&'a IsolationRecord>,
    /// The due work on the car, in the order of its dates.
    pub(crate) due: Vec<&'a DueOnCar>,
}

impl<'a> CarPositions<'a> {
    /// Each position of the type, in the order of the drawing. Linear in positions and due work.
    pub(crate) fn standings(&self) -> Vec<PositionStanding<'a>> {
        let cut_out: HashMap<&PositionCode, CutOutState> = self
            .in_force
            .iter()
            .map(|isolation| (&isolation.cut_out.at.position, isolation.cut_out.state))
            .collect();
        let mut due: BTreeMap<&PositionCode, Vec<&DueOnCar>> = BTreeMap::new();
        for &item in &self.due {
            if let Some(position) = &item.position {
                due.entry(position).or_default().push(item);
            }
        }
        let standing = |position: &'a Position| PositionStanding {
            position,
            fitted: self.filled.contains(position.code.as_str()),
            cut_out: cut_out.get(&position.code).copied(),
            due: due
                .get(&position.code)
                .and_then(|items| DueSummary::of(items.iter().copied())),
        };
        self.car_type.positions.iter().map(standing).collect()
    }
}

impl PositionStanding<'_> {
    /// How the drawing shows it.
    pub(crate) fn standing(&self) -> Standing {
        Standing {
            presence: if self.fitted {
                Presence::Fitted
            } else {
                Presence::Empty
            },
            cut_out: self.cut_out.is_some(),
            due: self.due.as_ref().map(|due| due.state),
        }
    }

    /// The position for a drawing.
    pub(crate) fn drawn(&self, car: &CarNumber) -> Drawn {
        let at = PositionRef {
            car: car.clone(),
            position: self.position.code.clone(),
        };
        let code = self.position.code.as_str();
        Drawn {
            kind: self.position.kind,
            side: self.position.side,
            along_mm: self.position.along_mm,
            standing: self.standing(),
            label: code.strip_prefix('=').unwrap_or(code).to_owned(),
            title: self.words(),
            href: address::position(&at),
        }
    }

    /// Everything in words, for whoever points at it or does not see it.
    fn words(&self) -> String {
        let position = self.position;
        let mut words = vec![format!("{}: {}", position.code, position.title)];
        let side = position
            .side
            .map_or_else(String::new, |side| format!(", {side} side"));
        words.push(format!("{} from end 1{side}", metres(position.along_mm)));
        words.push(if self.fitted { "fitted" } else { "empty" }.to_owned());
        words.extend(self.cut_out.map(|state| format!("cut out: {state}")));
        words.extend(self.due.as_ref().map(DueSummary::words));
        words.join("; ")
    }
}

/// Millimetres as metres with one decimal, rounded to the nearest.
pub(crate) fn metres(mm: u32) -> String {
    let tenths = (mm + 50) / 100;
    format!("{}.{}\u{a0}m", tenths / 10, tenths % 10)
}
