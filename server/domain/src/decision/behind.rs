//! What stands behind the cut-outs of a train: the brakes that depend on them, and the air that
//! stays stored there. Checks and instructions speak of that, and not of the state of a cock alone.

use super::brakes::{Brake, InBoth, amiss, brakes, causes};
use super::checks::Place;
use super::states::States;
use super::stored::StoredIn;
use super::{CommandedEffect, Question, charged};
use crate::circuit::Mode;
use crate::circuit::state::{Marked, TrainState};
use crate::identity::CarNumber;
use crate::isolation::effect::{AppliedBy, Availability};
use std::collections::BTreeSet;

/// What was found behind the cut-outs of a question.
pub(super) struct Behind<'e> {
    pub(super) effects: &'e [CommandedEffect],
    /// The reservoirs that nothing feeds any more.
    pub(super) stored: Vec<StoredIn>,
    /// The brakes and load signals that are there now and not once stored air is used up, ascending.
    pub(super) fading: Vec<usize>,
}

impl<'e> Behind<'e> {
    /// Linear in nodes and lines; reservoirs are looked for only where a cut-out can leave one to
    /// itself and they were not found before.
    pub(super) fn of(
        (question, places): (&Question, &[Place<'_>]),
        (marked, states): (&Marked<'_>, &'e States),
        stored: Option<Vec<StoredIn>>,
    ) -> Self {
        let train = marked.train();
        let fading = states.fading();
        let fills = |place: &Place<'_>| {
            let node = train.node(place.index, &place.position.code);
            node.is_some_and(|node| charged::may_fill(train, node))
        };
        let looks = !places.is_empty() && (!fading.is_empty() || places.iter().any(fills));
        let found = || question.stored_in_state(&TrainState::new(marked.clone()));
        let stored = looks.then(|| stored.unwrap_or_else(found));
        Self {
            effects: &states.effects,
            stored: stored.unwrap_or_default(),
            fading,
        }
    }

    /// The reservoirs that a cut-out leaves to themselves, those on which something lives first.
    pub(super) fn left_by(&self, place: &Place<'_>) -> [Vec<&StoredIn>; 2] {
        let stored = self.stored.iter().filter(|one| {
            let mut cut = one.supply_cut.iter();
            cut.any(|spot| spot.car == place.index && spot.position == place.position.code)
        });
        let (lived_on, idle) = stored.partition(|one| one.feeds_any(&self.fading));
        [lived_on, idle]
    }

    /// The cars of which a cut-out takes a brake and that have none left now: no air-applied brake acts,
    /// and no spring holds. Linear in actuators.
    pub(super) fn left_unbraked(&self, place: &Place<'_>) -> BTreeSet<(usize, CarNumber)> {
        let mut taken = BTreeSet::new();
        let mut braked = BTreeSet::new();
        for brake in brakes(self.effects) {
            let of = brake.of();
            if of.applied_by == AppliedBy::Air {
                let mut causes = causes(brake.now);
                if amiss(brake.now).contains(&false) {
                    braked.insert(of.car);
                } else if causes
                    .any(|one| one.car == place.index && one.position == place.position.code)
                {
                    taken.insert((of.car, of.car_number.clone()));
                }
            }
        }
        let holding = self.effects.iter().map(|one| &one.effect);
        let holding = holding.filter(|effect| effect.mode == Mode::Holding);
        let springs = holding.flat_map(|effect| &effect.actuators);
        let hold = springs.filter(|one| one.availability == Availability::Available);
        braked.extend(hold.map(|one| one.car));
        taken.retain(|(car, _)| !braked.contains(car));
        taken
    }

    /// What depends on a cut-out. Linear in brakes.
    pub(super) fn depends_on(&self, place: &Place<'_>) -> Depending {
        let mut depending = Depending::default();
        for brake in brakes(self.effects) {
            let by = |both: InBoth<'_>| {
                let mut causes = causes(both);
                causes.any(|one| one.car == place.index && one.position == place.position.code)
            };
            depending.add(&brake, [by(brake.now), by(brake.later)]);
        }
        depending
    }
}

/// The brakes that depend on a cut-out, by what becomes of them.
#[derive(Debug, Default)]
pub(super) struct Depending {
    /// What air-applied brakes do.
    pub(super) air: BTreeSet<Left>,
    /// Spring-applied brakes are on.
    pub(super) springs_on: bool,
    /// They come on as air leaks away.
    pub(super) springs_come_on: bool,
    /// A brake is held on by it, or cannot be said to be off.
    pub(super) held_on: bool,
    /// The bogies of air-applied brakes that it takes, with none that may be on.
    pub(super) loose: BTreeSet<(usize, CarNumber, Option<u8>)>,
}

/// What is left of an air-applied brake.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Left {
    /// It does not brake.
    Nothing,
    /// It acts in emergency braking alone.
    EmergencyOnly,
    /// It acts in service braking alone.
    ServiceOnly,
    /// It acts on stored air.
    WhileAirLasts,
}

impl Depending {
    fn add(&mut self, brake: &Brake<'_>, [now, later]: [bool; 2]) {
        let of = brake.of();
        self.held_on |= now && brake.is_on();
        match of.applied_by {
            AppliedBy::Spring => {
                self.springs_on |= now && of.availability == Availability::Dragging;
                self.springs_come_on |= later && brake.comes_on();
            }
            AppliedBy::Air => {
                let left = match amiss(brake.now) {
                    [true, true] if now => Some(Left::Nothing),
                    [true, false] if now => Some(Left::EmergencyOnly),
                    [false, true] if now => Some(Left::ServiceOnly),
                    [true, true] => None,
                    _ => (later && brake.fades()).then_some(Left::WhileAirLasts),
                };
                self.air.extend(left);
                if left == Some(Left::Nothing) && !brake.is_on() {
                    let bogie = (of.car, of.car_number.clone(), of.bogie);
                    self.loose.insert(bogie);
                }
            }
        }
    }
}
