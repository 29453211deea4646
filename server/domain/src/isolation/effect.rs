//! What cut-outs take away: each actuator of a train available, lost or dragging, and why.

use super::Supply;
use super::cause::{Cause, CauseKind, Reached, Trail, cause, causes_at, may_hold_on, trails};
use super::tally::Counts;
use crate::circuit::Mode;
use crate::circuit::compiled::Role;
use crate::circuit::delivers::{Air, Delivery};
use crate::circuit::sets::{Impairments, Modes};
use crate::circuit::state::TrainState;
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
    /// Whether a lost air-applied brake may be held on by trapped air, or by a valve that
    /// passes air though nothing commands it.
    pub may_drag: bool,
    /// Every cause, by car and position; nothing when it is available.
    pub why: Vec<Cause>,
    #[serde(skip)]
    pub(crate) node: usize,
}

/// What spring-applied brakes still hold with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub struct HoldingForce {
    /// The force of those that hold, at the rail, in newtons.
    pub available_n: u64,
    /// The force of all, in newtons.
    pub total_n: u64,
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

/// Evaluates a train with its impairments. Linear in nodes and lines, and again for each
/// impairment.
///
/// Air-applied brakes apply with what sources deliver and, now, with what reservoirs stored.
/// Spring-applied brakes drag when no air at all keeps them released; air held back in pipes
/// does so now and not later. They hold only when not even such air can keep them released,
/// whatever the supply. The words of every state are in [`crate::circuit::state`].
pub fn effect(state: &TrainState<'_>, mode: Mode, supply: Supply) -> Effect {
    Evaluated::new(state, mode, supply).effect()
}

/// Whether every actuator does what an effect says, which is one of the same train commanded from
/// elsewhere. Springs are not looked at where no command can reach them. Linear in nodes and
/// lines.
pub(crate) fn does_the_same(state: &TrainState<'_>, known: &Effect) -> bool {
    let reached = state.train().commands_reach_springs();
    let kinds = [AppliedBy::Air, AppliedBy::Spring];
    let mut kinds = kinds
        .iter()
        .filter(|kind| reached || **kind == AppliedBy::Air);
    kinds.all(|kind| {
        let judged = Judged::new(state, known.mode, known.supply, *kind);
        let known = known.actuators.iter().filter(|one| one.applied_by == *kind);
        let known = known.map(|actuator| actuator.availability);
        known.eq(judged.actuators.iter().map(|(_, does)| *does))
    })
}

/// A train evaluated in one mode, not yet put in words.
pub(crate) struct Evaluated<'s> {
    state: &'s TrainState<'s>,
    mode: Mode,
    supply: Supply,
    /// None in holding, which nobody commands.
    air_applied: Option<Judged<'s>>,
    springs: Judged<'s>,
}

impl<'s> Evaluated<'s> {
    /// Evaluates; see [`effect`].
    pub(crate) fn new(state: &'s TrainState<'s>, mode: Mode, supply: Supply) -> Self {
        let judged = |kind| Judged::new(state, mode, supply, kind);
        Self {
            state,
            mode,
            supply,
            air_applied: (mode != Mode::Holding).then(|| judged(AppliedBy::Air)),
            springs: judged(AppliedBy::Spring),
        }
    }

    /// What air delivers to the brakes that it applies.
    pub(crate) fn delivery(&self) -> Option<&Delivery<'s>> {
        self.air_applied.as_ref().map(|judged| &judged.delivery)
    }

    /// The same with causes and counts.
    pub(crate) fn effect(&self) -> Effect {
        let judged = self.air_applied.iter().chain([&self.springs]);
        let mut actuators: Vec<_> = judged
            .flat_map(|judged| judged.described(self.state, self.mode))
            .collect();
        actuators.sort_unstable_by_key(|(node, _)| *node);
        let holding = (self.mode == Mode::Holding).then(|| holding_force(self.state, &actuators));
        let actuators: Vec<_> = actuators
            .into_iter()
            .map(|(_, actuator)| actuator)
            .collect();
        let counted = match self.mode {
            Mode::Service | Mode::Emergency => AppliedBy::Air,
            Mode::Holding => AppliedBy::Spring,
        };
        let those_counted = actuators.iter().filter(|a| a.applied_by == counted);
        Effect {
            mode: self.mode,
            supply: self.supply,
            counts: Counts::of(those_counted, self.state.train().cars().len()),
            holding,
            actuators,
        }
    }
}

fn holding_force(state: &TrainState<'_>, springs: &[(usize, ActuatorEffect)]) -> HoldingForce {
    let mut force = HoldingForce::default();
    for (node, actuator) in springs {
        if let Role::SpringApplied(newtons) = state.train().roles()[*node] {
            force.total_n += u64::from(newtons);
            if actuator.availability == Availability::Available {
                force.available_n += u64::from(newtons);
            }
        }
    }
    force
}

/// Which air decides over actuators of a kind.
fn air(mode: Mode, supply: Supply, kind: AppliedBy) -> Air {
    match (kind, mode, supply) {
        (AppliedBy::Spring, Mode::Holding, _) | (AppliedBy::Spring, _, Supply::Now) => {
            Air::Retained
        }
        (AppliedBy::Air, _, Supply::Now) => Air::Stored,
        (_, _, Supply::Exhausted) => Air::FromSources,
    }
}

/// All actuators of a kind, each with its node, and what was delivered to them.
struct Judged<'s> {
    delivery: Delivery<'s>,
    actuators: Vec<(usize, Availability)>,
}

impl<'s> Judged<'s> {
    fn new(state: &'s TrainState<'s>, mode: Mode, supply: Supply, kind: AppliedBy) -> Self {
        let air = air(mode, supply, kind);
        let delivery = Delivery::new(state, Modes::of(mode), air);
        let judge = |(node, role): (usize, &Role)| {
            let own = state.impairments(node);
            let input = || {
                if delivery.media(node).is_empty() {
                    Input::Dead
                } else {
                    Input::Fed
                }
            };
            let availability = match (role, kind) {
                (Role::AirApplied, AppliedBy::Air) => air_applied(own, input()),
                (Role::SpringApplied(_), AppliedBy::Spring) => {
                    spring_applied(own, input_of_spring(own, input(), air), mode)
                }
                _ => return None,
            };
            Some((node, availability))
        };
        let roles = state.train().roles().iter().enumerate();
        Self {
            actuators: roles.filter_map(judge).collect(),
            delivery,
        }
    }

    /// Each with its causes, which need no looking for where nothing is lost.
    fn described(
        &self,
        state: &TrainState<'_>,
        mode: Mode,
    ) -> impl Iterator<Item = (usize, ActuatorEffect)> {
        let trail = match mode {
            Mode::Service | Mode::Emergency => Trail::Dead,
            Mode::Holding => Trail::Fed,
        };
        let available = |does: &Availability| *does == Availability::Available;
        let reached = if self.actuators.iter().all(|(_, does)| available(does)) {
            Reached::default()
        } else {
            trails(state, &self.delivery, trail)
        };
        self.actuators.iter().filter_map(move |(node, does)| {
            let actuator = describe(state, *node, *does, &reached)?;
            Some((*node, actuator))
        })
    }
}

/// What reaches an actuator.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Input {
    Fed,
    Dead,
}

/// An air-applied actuator with any impairment of its own is lost.
fn air_applied(own: Impairments, input: Input) -> Availability {
    match input {
        Input::Fed if own == Impairments::NONE => Availability::Available,
        _ => Availability::Lost,
    }
}

/// The air that holds the spring back. A cylinder that is itself shut off keeps its air until it
/// has leaked away; one that is vented has none.
fn input_of_spring(own: Impairments, input: Input, air: Air) -> Input {
    if own.meets(Impairments::VENTS) {
        Input::Dead
    } else if own.meets(Impairments::STOPS) {
        if air == Air::Retained {
            Input::Fed
        } else {
            Input::Dead
        }
    } else {
        input
    }
}

fn spring_applied(own: Impairments, input: Input, mode: Mode) -> Availability {
    if own.meets(Impairments::DISABLES) {
        return Availability::Lost;
    }
    match (mode, input) {
        (Mode::Holding, Input::Fed) => Availability::Lost,
        (Mode::Holding, Input::Dead) | (_, Input::Fed) => Availability::Available,
        (_, Input::Dead) => Availability::Dragging,
    }
}

fn describe(
    state: &TrainState<'_>,
    node: usize,
    availability: Availability,
    reached: &Reached,
) -> Option<ActuatorEffect> {
    let (car, compiled) = state.train().of_node(node);
    let (_, position) = state.train().position_of(node)?;
    let applied_by = match compiled.role {
        Role::AirApplied => AppliedBy::Air,
        _ => AppliedBy::Spring,
    };
    let loose = Impairments::VENTS.and(Impairments::HAND_RELEASED);
    let held_on =
        may_hold_on(state, node) || reached.by(node).iter().any(|n| may_hold_on(state, *n));
    Some(ActuatorEffect {
        car,
        car_number: state.train().cars()[car].number.clone(),
        position: position.clone(),
        applied_by,
        axle: compiled.axle,
        bogie: compiled.bogie,
        availability,
        may_drag: applied_by == AppliedBy::Air
            && availability == Availability::Lost
            && !state.impairments(node).meets(loose)
            && held_on,
        why: why(state, node, availability, reached),
        node,
    })
}

/// Its own impairments and those whose trail reaches it; where there are none, what the circuit
/// itself does.
fn why(
    state: &TrainState<'_>,
    node: usize,
    availability: Availability,
    reached: &Reached,
) -> Vec<Cause> {
    if availability == Availability::Available {
        return Vec::new();
    }
    let mut causes = causes_at(state, node);
    for origin in reached.by(node) {
        causes.extend(causes_at(state, *origin));
    }
    causes.sort_unstable();
    causes.dedup();
    if causes.is_empty() {
        let kind = match (availability, state.train().roles()[node]) {
            (Availability::Lost, Role::SpringApplied(_)) => CauseKind::AirKeepsItReleased,
            _ => CauseKind::NothingFeedsIt,
        };
        causes.extend(cause(state, node, kind));
    }
    causes
}
