//! Fault finding: the single faults that explain all that was seen, and where to look next.

mod candidate;
mod next_test;

pub use candidate::{Candidate, Suspected};
pub use next_test::NextTest;

use super::closing::not_in_circuit;
use super::losses::Fault;
use super::observed::{BothWays, Charge, During, LookedAt, Place, Seen, Shown, StaysOn, Watched};
use crate::circuit::Mode;
use crate::circuit::scenarios::{LANES, Lanes};
use crate::circuit::state::Impaired;
use crate::circuit::train::TrainCircuit;
use crate::isolation::Supply;
use crate::worked::Missing;
use serde::Serialize;
use std::collections::BTreeSet;

/// The most things seen that one question holds.
pub const OBSERVATIONS_MAX: usize = 30;

/// Something seen on a train.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Observation {
    /// Where.
    pub at: LookedAt,
    /// What the brake was doing.
    pub during: During,
    /// What was seen.
    pub seen: Seen,
}

/// What explains what was seen.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct FaultFinding {
    /// How many single faults were tried.
    pub tried: usize,
    /// Whether the train as it is recorded, without a further fault, shows all that was seen.
    pub as_recorded: AsRecorded,
    /// The single faults that explain all that was seen: cocks that stand wrong before parts
    /// that fail, since a cock is looked at before anything is drained.
    pub candidates: Vec<Candidate>,
    /// Where to look next, that which tells most apart first.
    pub next: Vec<NextTest>,
}

/// Whether what is recorded explains what was seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum AsRecorded {
    /// It does: no further fault is needed.
    Explains,
    /// It does not.
    DoesNotExplain,
}

/// The single faults that explain all observations: the train with the fault shows them all,
/// either with the air that is shut in behind it or with that air gone. A brake that a fault may
/// hold on, since its command was cut off while it was on, may be seen on or off. With
/// the supply exhausted, the train may have stood for a while before it was looked at. The time
/// is that of nodes and lines for every 512 faults and each state of the brake, and again for each
/// fault that may hold a brake on or commands brakes by itself.
pub fn find_faults(
    train: &TrainCircuit,
    standing: &[Impaired],
    observations: &[Observation],
    supply: Supply,
) -> Result<FaultFinding, Missing> {
    let marked = train.marked(standing)?;
    let charge = match supply {
        Supply::Now => Charge::Full,
        Supply::Exhausted => Charge::Old,
    };
    let watched = Watched::new(train, During::ALL)?;
    let mut places: Vec<(Place, During, Charge)> = Vec::new();
    for observation in observations {
        let place = observation.at.place(train);
        let place = place.ok_or_else(|| unknown(train, &observation.at))?;
        places.push((place, observation.during, charge));
    }
    let candidates = candidate::candidates(&marked, standing);
    let supposed = candidates
        .iter()
        .map(|one| (one.state(standing), one.command));
    let states: Vec<Supposed> = std::iter::once((standing.to_vec(), None))
        .chain(supposed)
        .map(|(impaired, command)| Supposed::new(&watched, &impaired, command))
        .collect::<Result<_, Missing>>()?;
    let mut explains = Vec::with_capacity(states.len());
    for block in blocks(&states) {
        let shown = Supposed::show(block, &watched, &places);
        let lanes = agreeing(&shown, observations);
        explains.extend((0..block.len()).map(|lane| lanes.iter().any(|way| way.has(lane))));
    }
    let as_recorded = if explains.first() == Some(&true) {
        AsRecorded::Explains
    } else {
        AsRecorded::DoesNotExplain
    };
    let tried = candidates.len();
    let kept = candidates.into_iter().zip(states.into_iter().skip(1));
    let kept = kept.zip(explains.into_iter().skip(1));
    let (candidates, states): (Vec<Candidate>, Vec<Supposed>) = kept
        .filter_map(|(kept, explains)| explains.then_some(kept))
        .unzip();
    let next = next_test::next_tests(train, &watched, &states, (&places, observations));
    Ok(FaultFinding {
        tried,
        as_recorded,
        candidates,
        next,
    })
}

/// Where all that was seen is shown, in each of both ways.
fn agreeing(shown: &[Shown], observations: &[Observation]) -> BothWays<Lanes> {
    let mut lanes = [Lanes::ALL; 2];
    for (shown, observation) in shown.iter().zip(observations) {
        let there = shown.shows(observation.seen);
        lanes = [0, 1].map(|way| lanes[way].within(there[way]));
    }
    lanes
}

/// A state of the train that is tried.
#[derive(Debug)]
struct Supposed {
    faults: Vec<Fault>,
    /// The nodes that may stay under pressure then.
    stays_on: BTreeSet<usize>,
    /// The train commanded by the place of command that is at work though nobody commands, and in
    /// which mode.
    command: Option<(TrainCircuit, Mode)>,
}

impl Supposed {
    fn new(
        watched: &Watched<'_>,
        impaired: &[Impaired],
        command: Option<(usize, Mode)>,
    ) -> Result<Self, Missing> {
        let train = watched.train();
        Ok(Self {
            faults: faults(train, impaired),
            stays_on: watched.may_stay_on(impaired)?,
            command: command.map(|(node, mode)| (train.commanded_by(node), mode)),
        })
    }

    /// What some places show in each of a block of states.
    fn show(
        block: &[Self],
        watched: &Watched<'_>,
        places: &[(Place, During, Charge)],
    ) -> Vec<Shown> {
        let mut stays_on = StaysOn::new();
        for (lane, state) in block.iter().enumerate() {
            for node in &state.stays_on {
                let lanes = stays_on.entry(*node).or_insert(Lanes::NONE);
                *lanes = lanes.and(Lanes::one(lane));
            }
        }
        let faults: Vec<&[Fault]> = block.iter().map(|one| one.faults.as_slice()).collect();
        let shown = watched.show(&faults, &stays_on, places);
        let [
            Self {
                faults,
                command: Some((commanded, mode)),
                ..
            },
        ] = block
        else {
            return shown;
        };
        let then =
            watched.show_commanded((commanded, *mode), (faults.as_slice(), &stays_on), places);
        let both = shown.iter().zip(&then);
        both.map(|(shown, then)| shown.or(then)).collect()
    }
}

/// The states in blocks that are evaluated together; each that commands brakes by itself, which are
/// the last and few.
fn blocks(states: &[Supposed]) -> impl Iterator<Item = &[Supposed]> {
    let takes = states.iter().take_while(|state| state.command.is_none());
    let (take, command) = states.split_at(takes.count());
    take.chunks(LANES).chain(command.chunks(1))
}

fn faults(train: &TrainCircuit, impaired: &[Impaired]) -> Vec<Fault> {
    let fault = |one: &Impaired| {
        let node = train.node(one.car, &one.position)?;
        Some((node, train.impairments(node, one.by)))
    };
    impaired.iter().filter_map(fault).collect()
}

fn unknown(train: &TrainCircuit, at: &LookedAt) -> Missing {
    match at {
        LookedAt::Position(spot) => not_in_circuit(train, (spot.car, &spot.position)),
        LookedAt::Bogie {
            car_number, bogie, ..
        } => Missing::one(
            format!("brake on bogie {bogie}"),
            format!("car {car_number}"),
        ),
    }
}
