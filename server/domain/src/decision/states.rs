//! The states of a train that a decision rests on: as it is and sound, commanded from the leading
//! place and from the others.

use super::CommandedEffect;
use super::brakes::{Brake, brakes, tell_which_are_on};
use crate::circuit::Mode;
use crate::circuit::state::Marked;
use crate::circuit::train::TrainCircuit;
use crate::isolation::Supply;
use crate::isolation::brake_percentage::Braked;
use crate::isolation::effect::Effect;
use crate::isolation::suspension::{LostLevelling, lost_levelling};
use crate::isolation::together::{As, CASES_MAX, Case, Delivered, Together};
use crate::worked::Missing;

/// What was found.
pub(super) struct States {
    /// From the leading places of command: service and emergency, now and with stored air used
    /// up, and holding.
    pub(super) effects: Vec<CommandedEffect>,
    /// From the other places now, where other brakes work than from the leading ones: service
    /// first.
    pub(super) elsewhere: Vec<CommandedEffect>,
    /// Emergency braking with everything as it should be, now and later.
    pub(super) sound: [Braked; 2],
    /// The same as it is.
    pub(super) braked: [Braked; 2],
    /// The levelling valves without air, now or later.
    pub(super) levelling: Vec<LostLevelling>,
    /// What holds with everything as it should be.
    pub(super) sound_held: Effect,
}

/// A train braked, with one supply.
#[derive(Debug, Clone, Copy)]
pub(super) struct Braking<'a> {
    pub(super) service: &'a Effect,
    pub(super) emergency: &'a Effect,
}

/// Where cases stand among those from the leading places.
const SERVICE: usize = 0;
const EMERGENCY: usize = 2;
const HELD: usize = 4;
/// As many once more with everything as it should be.
const LEADING: usize = 5;

impl States {
    /// Evaluates a train. No answer where nobody can command a mode. Linear in nodes, lines and
    /// impairments.
    pub(super) fn of(marked: &Marked<'_>) -> Result<Self, Missing> {
        let train = marked.train();
        let emergency = places(train, Mode::Emergency)?;
        let service = places(train, Mode::Service)?;
        let places = [(Mode::Service, service), (Mode::Emergency, emergency)];
        let leading = leading(&places);
        let others = places.iter().flat_map(|(mode, places)| {
            let others = places.iter().skip(1);
            others.map(|place| case(Some(*place), *mode, Supply::Now))
        });
        let others: Vec<Case> = others.collect();
        let mut blocks = others.chunks(CASES_MAX - leading.len());
        let together =
            |others: &[Case]| Together::new(marked, leading.iter().chain(others).copied());
        let first = together(blocks.next().unwrap_or_default());
        let mut states = Self::leading(train, &first.delivered());
        for block in blocks {
            let elsewhere = elsewhere(&together(block).delivered());
            states.elsewhere.extend(elsewhere);
        }
        tell_which_are_on(&mut states.effects, &mut states.elsewhere);
        Ok(states)
    }

    fn leading(train: &TrainCircuit, delivered: &Delivered<'_>) -> Self {
        let dead = |case: usize| delivered.dead(case, train.levelling_valves());
        let braked = |first: usize| [first, first + 1].map(|case| delivered.braked(case));
        Self {
            effects: (0..LEADING)
                .map(|case| commanded(delivered, case))
                .collect(),
            elsewhere: elsewhere(delivered),
            sound: braked(LEADING + EMERGENCY),
            braked: braked(EMERGENCY),
            levelling: lost_levelling(train, [&dead(EMERGENCY), &dead(EMERGENCY + 1)]),
            sound_held: delivered.effect(LEADING + HELD),
        }
    }

    /// Service and emergency braking as it is, with a supply.
    pub(super) fn commanded(&self, supply: Supply) -> Braking<'_> {
        let later = usize::from(supply == Supply::Exhausted);
        Braking {
            service: &self.effects[SERVICE + later].effect,
            emergency: &self.effects[EMERGENCY + later].effect,
        }
    }

    /// Whether other brakes work once stored air is used up than work now.
    pub(super) fn fade(&self) -> bool {
        let (now, later) = (
            self.commanded(Supply::Now),
            self.commanded(Supply::Exhausted),
        );
        now.service.actuators != later.service.actuators
            || now.emergency.actuators != later.emergency.actuators
    }

    /// The brakes and load signals that are there now and not once stored air is used up, ascending.
    pub(super) fn fading(&self) -> Vec<usize> {
        let [now, later] = &self.braked;
        let lost = |node| now.signals.iter().any(|signal| signal.node == node);
        let signals = later.signals.iter().map(|signal| signal.node);
        let brakes = brakes(&self.effects).filter(Brake::fades);
        let brakes = brakes.map(|brake| brake.of().node);
        let mut fading: Vec<usize> = brakes.chain(signals.filter(|node| !lost(*node))).collect();
        fading.sort_unstable();
        fading
    }

    /// Counts what lives on air that is not counted any more as it is once stored air is used up:
    /// `spent` are its nodes, ascending. Nothing is done where there is none. Linear in actuators.
    pub(super) fn spend(&mut self, spent: &[usize]) {
        if spent.is_empty() {
            return;
        }
        for other in &mut self.elsewhere {
            let later = &self.effects[first_of(other) + 1].effect;
            other.effect.spend(later, spent);
        }
        for first in [SERVICE, EMERGENCY] {
            let later = self.effects[first + 1].effect.clone();
            self.effects[first].effect.spend(&later, spent);
        }
        // What still worked in one mode had released, whatever it did in the other.
        let (service, emergency) = self.effects.split_at_mut(EMERGENCY);
        let service = service[SERVICE].effect.actuators.iter_mut();
        for (one, other) in service.zip(&mut emergency[0].effect.actuators) {
            let off = one.known_off || other.known_off;
            (one.known_off, other.known_off) = (off, off);
        }
        let [now, later] = &mut self.braked;
        now.spend(later, spent);
        // What was all that differed may be counted nowhere any more.
        let effects = &self.effects;
        self.elsewhere.retain(|other| {
            let leading = &effects[first_of(other)].effect.actuators;
            let mut both = other.effect.actuators.iter().zip(leading);
            both.any(|(one, leading)| one.availability != leading.availability)
        });
    }

    /// What holds as it is.
    pub(super) fn held(&self) -> &Effect {
        &self.effects[HELD].effect
    }
}

/// The cars from which a mode can be commanded, of which there must be one.
fn places(train: &TrainCircuit, mode: Mode) -> Result<Vec<usize>, Missing> {
    let places = train.command_places(mode);
    if places.is_empty() {
        let what = format!("a place of command for {mode} braking");
        return Err(Missing::one(what, "the train"));
    }
    Ok(places)
}

fn case(from: Option<usize>, mode: Mode, supply: Supply) -> Case {
    Case {
        from,
        mode,
        supply,
        standing: As::ItIs,
    }
}

/// The cases from the foremost places: as it is, and once more sound.
fn leading(places: &[(Mode, Vec<usize>); 2]) -> Vec<Case> {
    let commanded = places.iter().flat_map(|(mode, places)| {
        let supplies = [Supply::Now, Supply::Exhausted];
        supplies.map(|supply| case(places.first().copied(), *mode, supply))
    });
    let held = case(None, Mode::Holding, Supply::Now);
    let as_it_is: Vec<Case> = commanded.chain([held]).collect();
    let sound = as_it_is.iter().map(|case| Case {
        standing: As::Sound,
        ..*case
    });
    as_it_is.iter().copied().chain(sound).collect()
}

/// Where the effect now stands that is commanded from the leading place in the same mode.
fn first_of(commanded: &CommandedEffect) -> usize {
    match commanded.effect.mode {
        Mode::Service => SERVICE,
        // Nobody commands holding.
        Mode::Emergency | Mode::Holding => EMERGENCY,
    }
}

fn commanded(delivered: &Delivered<'_>, case: usize) -> CommandedEffect {
    CommandedEffect {
        from: delivered.from(case),
        effect: delivered.effect(case),
    }
}

fn elsewhere(delivered: &Delivered<'_>) -> Vec<CommandedEffect> {
    let otherwise = [SERVICE, EMERGENCY].map(|first| delivered.otherwise(first, 2 * LEADING));
    let cases = otherwise.into_iter().flatten();
    cases.map(|case| commanded(delivered, case)).collect()
}
