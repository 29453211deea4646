//! What cut-outs take away: each actuator of a train available, lost or dragging, and why.

use super::Supply;
use super::cause::{Cause, CauseKind, Reached, Trail, cause, causes_at, trails};
use super::held_on::HeldOn;
use super::input::{Input, air_applied, input_of_spring, spring_applied};
use super::tally::Counts;
use crate::circuit::Mode;
use crate::circuit::compiled::Role;
use crate::circuit::delivers::{Air, Delivering, Delivery};
use crate::circuit::sets::{Impairments, Modes};
use crate::circuit::state::{Marked, TrainState};
use crate::circuit::train::TrainCircuit;
use crate::identity::{CarNumber, PositionCode};
use crate::words::word_list;
use serde::Serialize;

word_list! {
    /// What an actuator does in a mode.
    Availability, "availability" {
        /// An air-applied one brakes on demand; a spring-applied one is released while running
        /// and holds while standing.
        Available = "available",
        /// It does not brake, or does not hold.
        Lost = "lost",
        /// It is spring-applied and, while running, deprived of the air that releases it.
        Dragging = "dragging",
    }
}

word_list! {
    /// By what an actuator presses.
    AppliedBy, "application" {
        /// By air.
        Air = "air",
        /// By a spring that air holds back.
        Spring = "spring",
    }
}

/// What becomes of one actuator.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ActuatorEffect {
    /// The car's place in the train, from 0.
    pub car: usize,
    /// The car's number.
    pub car_number: CarNumber,
    /// Its position.
    pub position: PositionCode,
    /// By what it presses.
    pub applied_by: AppliedBy,
    /// The axle it acts on.
    pub axle: Option<u8>,
    /// The bogie it acts on.
    pub bogie: Option<u8>,
    /// What it does.
    pub availability: Availability,
    /// Whether it is an air-applied brake that is lost and cannot be said to be off. The effects
    /// of a decision say so of a brake in all modes alike.
    pub may_drag: bool,
    /// Whether it is off, though what is cut out leaves that open: it was seen to be free, or has
    /// released by itself before its air was used up.
    #[serde(skip)]
    pub(crate) known_off: bool,
    /// Whether it is a spring released by hand that may have applied again by itself, since air may be
    /// at it while stored air lasts.
    #[serde(skip)]
    pub(crate) re_armed: bool,
    /// Every cause, by car and position; nothing when it is available.
    pub why: Vec<Cause>,
    #[serde(skip)]
    pub(crate) node: usize,
}

impl ActuatorEffect {
    /// Whether it is lost, or drags, in a mode. A spring that no longer presses is lost to holding
    /// alone: while running it has nothing to do but to stay released.
    pub fn is_amiss_in(&self, mode: Mode) -> bool {
        let (spring, running) = (self.applied_by == AppliedBy::Spring, mode != Mode::Holding);
        match self.availability {
            Availability::Available => false,
            Availability::Dragging => true,
            Availability::Lost => !(spring && running),
        }
    }
}

/// What spring-applied brakes still hold with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub struct HoldingForce {
    /// The force of those that hold, at the rail, in newtons.
    pub available_n: u64,
    /// The force of all, in newtons.
    pub total_n: u64,
}

/// What the spring-applied brakes of an axle hold with, of those that do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct AxleForce {
    /// The car's place in the train, from 0.
    pub(crate) car: usize,
    /// The axle; none of those of which no axle is known.
    pub(crate) axle: Option<u8>,
    /// Their force at the rail, in newtons.
    pub(crate) newtons: u64,
}

/// What the impairments of a train do to it in one mode.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Effect {
    /// The mode.
    pub mode: Mode,
    /// Which air counts.
    pub supply: Supply,
    /// Every actuator, by car and position; in holding the spring-applied ones only.
    pub actuators: Vec<ActuatorEffect>,
    /// The counts.
    pub counts: Counts,
    /// The holding force; in holding only.
    pub holding: Option<HoldingForce>,
}

impl Effect {
    /// What holds, axle by axle. Of actuators n log n.
    pub(crate) fn held_by_axle(&self, train: &TrainCircuit) -> Vec<AxleForce> {
        let hold = |one: &&ActuatorEffect| one.availability == Availability::Available;
        let force = |one: &ActuatorEffect| match train.roles()[one.node] {
            Role::SpringApplied(newtons) => Some(AxleForce {
                car: one.car,
                axle: one.axle,
                newtons: u64::from(newtons),
            }),
            _ => None,
        };
        let mut forces: Vec<AxleForce> = self
            .actuators
            .iter()
            .filter(hold)
            .filter_map(force)
            .collect();
        forces.sort_unstable();
        forces.dedup_by(|later, kept| {
            let same = (later.car, later.axle) == (kept.car, kept.axle);
            if same {
                kept.newtons += later.newtons;
            }
            same
        });
        forces
    }
}

/// Evaluates a train with its impairments. Linear in nodes and lines, and again for each
/// impairment.
///
/// Air-applied brakes apply with what sources deliver and, now, with what reservoirs stored.
/// Spring-applied brakes drag when no air at all keeps them released; air held back in pipes
/// does so now and not later. They hold only when not even such air can keep them released,
/// whatever the supply. Those released by hand that may apply again by themselves drag later
/// where air may be at them now. The words of every state are in [`crate::circuit::state`].
pub fn effect(state: &TrainState<'_>, mode: Mode, supply: Supply) -> Effect {
    let deliveries = Deliveries::of(state, mode, supply);
    deliveries.effect(state.marked())
}

/// What is delivered to the brakes of each kind in one state of a train.
pub(super) struct Deliveries<D> {
    pub(super) mode: Mode,
    pub(super) supply: Supply,
    /// To those that air applies; none in holding, which nobody commands.
    pub(super) to_air_applied: Option<D>,
    pub(super) to_springs: D,
    /// To springs while stored air lasts, where springs may apply again by that; none in holding.
    pub(super) back_at_springs: Option<D>,
}

impl<'s> Deliveries<Delivery<'s>> {
    /// In a mode with that air. Linear in nodes and lines.
    pub(super) fn of(state: &'s TrainState<'s>, mode: Mode, supply: Supply) -> Self {
        let to = |supply, kind| Delivery::new(state, Modes::of(mode), air(mode, supply, kind));
        let running = mode != Mode::Holding;
        let mut impaired = state.impaired().iter();
        let may_re_arm =
            impaired.any(|node| state.impairments(*node).meets(Impairments::MAY_RE_ARM));
        Self {
            mode,
            supply,
            to_air_applied: running.then(|| to(supply, AppliedBy::Air)),
            to_springs: to(supply, AppliedBy::Spring),
            back_at_springs: (running && may_re_arm).then(|| to(Supply::Now, AppliedBy::Spring)),
        }
    }
}

impl<D: Delivering> Deliveries<D> {
    /// What the actuators do then, with causes and counts. Linear in actuators, and where any is
    /// lost in nodes and lines for each impairment.
    pub(super) fn effect(&self, marked: &Marked<'_>) -> Effect {
        let train = marked.train();
        let nodes = train.actuators().iter();
        let judged: Vec<Judged> = nodes
            .filter_map(|node| self.judged(marked, *node))
            .collect();
        let follow = match self.mode {
            Mode::Service | Mode::Emergency => Trail::Dead,
            Mode::Holding => Trail::Fed,
        };
        // Causes need no looking for where nothing is lost.
        let reached = |kind: AppliedBy, delivery: Option<&D>| {
            let mut judged = judged.iter();
            let lost = |one: &Judged| {
                one.applied_by == kind && one.availability != Availability::Available
            };
            match delivery {
                Some(delivery) if judged.any(lost) => trails(marked, delivery, follow),
                _ => Reached::default(),
            }
        };
        let to_air_applied = reached(AppliedBy::Air, self.to_air_applied.as_ref());
        let to_springs = reached(AppliedBy::Spring, Some(&self.to_springs));
        // Once stored air is used up, what was shut in has leaked away.
        let held_on = match (&self.to_air_applied, self.supply) {
            (Some(delivery), Supply::Now) => HeldOn::of(marked, delivery, &to_air_applied),
            _ => HeldOn::default(),
        };
        let described = judged.iter().filter_map(|one| match one.applied_by {
            AppliedBy::Air => describe(marked, one, (&to_air_applied, &held_on)),
            AppliedBy::Spring => describe(marked, one, (&to_springs, &held_on)),
        });
        let mut actuators = Vec::with_capacity(judged.len());
        actuators.extend(described);
        self.tell_where_lines_end(marked, &mut actuators);
        let counted = match self.mode {
            Mode::Service | Mode::Emergency => AppliedBy::Air,
            Mode::Holding => AppliedBy::Spring,
        };
        let those_counted = actuators.iter().filter(|a| a.applied_by == counted);
        Effect {
            mode: self.mode,
            supply: self.supply,
            counts: Counts::of(those_counted, train.cars().len()),
            holding: (self.mode == Mode::Holding).then(|| holding_force(marked, &actuators)),
            actuators,
        }
    }

    fn judged(&self, marked: &Marked<'_>, node: usize) -> Option<Judged> {
        let own = marked.impairments(node);
        let mut re_armed = false;
        let (applied_by, availability) = match marked.train().roles()[node] {
            Role::AirApplied => {
                let input = Input::of(self.to_air_applied.as_ref()?, node);
                (AppliedBy::Air, air_applied(own, input))
            }
            Role::SpringApplied(_) => {
                let air = air(self.mode, self.supply, AppliedBy::Spring);
                let reaches = Input::of(&self.to_springs, node);
                re_armed = self.may_have_re_armed(own, node);
                let does = if re_armed && reaches == Input::Dead {
                    Availability::Dragging
                } else {
                    spring_applied(own, input_of_spring(own, reaches, air), self.mode)
                };
                (AppliedBy::Spring, does)
            }
            _ => return None,
        };
        Some(Judged {
            node,
            applied_by,
            availability,
            re_armed,
        })
    }

    /// Whether a spring was released by hand, may apply again by itself when air returns, and air may be
    /// at it.
    fn may_have_re_armed(&self, own: Impairments, node: usize) -> bool {
        let released = own != Impairments::NONE && own.are_all_in(Impairments::MAY_RE_ARM);
        let back = self.back_at_springs.as_ref();
        released && back.is_some_and(|air| air.delivers(node))
    }
}

/// An actuator, judged and not yet put in words.
struct Judged {
    node: usize,
    applied_by: AppliedBy,
    availability: Availability,
    re_armed: bool,
}

fn holding_force(marked: &Marked<'_>, springs: &[ActuatorEffect]) -> HoldingForce {
    let mut force = HoldingForce::default();
    for actuator in springs {
        if let Role::SpringApplied(newtons) = marked.train().roles()[actuator.node] {
            force.total_n += u64::from(newtons);
            if actuator.availability == Availability::Available {
                force.available_n += u64::from(newtons);
            }
        }
    }
    force
}

/// Which air decides over actuators of a kind.
pub(super) fn air(mode: Mode, supply: Supply, kind: AppliedBy) -> Air {
    match (kind, mode, supply) {
        (AppliedBy::Spring, Mode::Holding, _) | (AppliedBy::Spring, _, Supply::Now) => {
            Air::Retained
        }
        (AppliedBy::Air, _, Supply::Now) => Air::Stored,
        (_, _, Supply::Exhausted) => Air::FromSources,
    }
}

/// Whether an air-applied actuator presses.
pub(super) fn presses(marked: &Marked<'_>, delivery: &impl Delivering, node: usize) -> bool {
    let does = air_applied(marked.impairments(node), Input::of(delivery, node));
    does == Availability::Available
}

fn describe(
    marked: &Marked<'_>,
    judged: &Judged,
    (reached, held_on): (&Reached, &HeldOn),
) -> Option<ActuatorEffect> {
    let Judged {
        node,
        applied_by,
        availability,
        re_armed,
    } = *judged;
    let (car, compiled) = marked.train().of_node(node);
    let (_, position) = marked.train().position_of(node)?;
    Some(ActuatorEffect {
        car,
        car_number: marked.train().cars()[car].number.clone(),
        position: position.clone(),
        applied_by,
        axle: compiled.axle,
        bogie: compiled.bogie,
        availability,
        may_drag: applied_by == AppliedBy::Air
            && availability == Availability::Lost
            && held_on.has(node),
        known_off: false,
        re_armed,
        why: why(marked, node, availability, reached),
        node,
    })
}

/// Its own impairments and those whose trail reaches it; where there are none, what the circuit
/// itself does.
fn why(
    marked: &Marked<'_>,
    node: usize,
    availability: Availability,
    reached: &Reached,
) -> Vec<Cause> {
    if availability == Availability::Available {
        return Vec::new();
    }
    let mut causes = causes_at(marked, node);
    for origin in reached.by(node) {
        causes.extend(causes_at(marked, origin));
    }
    causes.sort_unstable();
    causes.dedup();
    if causes.is_empty() {
        let kind = match (availability, marked.train().roles()[node]) {
            (Availability::Lost, Role::SpringApplied(_)) => CauseKind::AirKeepsItReleased,
            _ => CauseKind::NothingFeedsIt,
        };
        causes.extend(cause(marked, node, kind));
    }
    causes
}
