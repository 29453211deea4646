//! Air that stays stored behind a closed cock or with a dead compressor: how many full applications
//! it still allows, by Boyle's law, and where it is drained. Counted the safe way: each reservoir by
//! itself feeds every brake that it can reach, all at the highest pressure of any, from pistons at
//! the bottom, and was last charged with no more than the least pressure that its pipe is kept at. Where
//! no demand makes any of them apply, it allows none.
//! Only pages ask for it.

use super::unfed::Lasts;
use super::{Question, charged, on_demand};
use crate::braking::stored_air::{BeforeFilling, StoredAir};
use crate::circuit::compiled::Role;
use crate::circuit::delivers::{Air, Delivering, Delivery};
use crate::circuit::sets::{Impairments, Media, Modes};
use crate::circuit::state::TrainState;
use crate::circuit::train::TrainCircuit;
use crate::circuit::{Behaviour, Medium, Mode};
use crate::configuration::brake_forces::{ActuatorGroup, CylinderPressure};
use crate::configuration::car_type::{BrakePosition, CarType, LoadState};
use crate::configuration::component::PositionRef;
use crate::identity::PositionCode;
use crate::isolation::closing::{Spot, behaviour, drains_of};
use crate::units::{GaugePressure, Litres};
use crate::worked::{Missing, MissingFact, Source, Step, Worked};
use serde::{Deserialize, Serialize};

/// A reservoir that no source feeds any more and that may still hold air.
#[derive(Debug, Clone, PartialEq)]
pub struct StoredIn {
    /// The reservoir.
    pub at: Spot,
    /// Its volume in litres.
    pub volume_l: u32,
    /// Where it is drained; nowhere, where the circuit has no drain cock on it.
    pub drains: Vec<Spot>,
    /// How many air-applied brakes it feeds.
    pub brakes: usize,
    /// The pressure that it was last charged with, at least; what is said of it holds while it still
    /// has that.
    pub charged: Result<GaugePressure, Missing>,
    /// Where its pressure is read: test points and gauges on it.
    pub read_at: Vec<Spot>,
    /// The cut-outs that keep air from it.
    pub supply_cut: Vec<Spot>,
    /// For which pressures its air counts as brake while it leaks; none where a fact is lacking.
    pub(super) lasts: Option<Lasts>,
    /// The actuators and load sensors that its air reaches, ascending.
    pub(super) feeds: Vec<usize>,
    /// How many full applications of all of them its air still allows, nil where no demand makes any of
    /// them apply; none where it feeds no brake.
    pub applications: Option<Result<Worked<u32>, Missing>>,
}

/// A reservoir that may still hold air though nothing feeds it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct FoundStored {
    /// The reservoir.
    #[serde(flatten)]
    pub at: PositionRef,
    /// How many air-applied brakes it feeds.
    pub brakes: usize,
    /// How many full applications of them it still allows; none where it feeds none, or where a
    /// fact is lacking.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub applications: Option<u32>,
    /// Where it is drained.
    pub drains: Vec<PositionRef>,
}

impl StoredIn {
    /// Whether its air reaches any of some nodes, ascending.
    pub(super) fn feeds_any(&self, nodes: &[usize]) -> bool {
        self.feeds
            .iter()
            .any(|node| nodes.binary_search(node).is_ok())
    }

    /// As a decision keeps it.
    pub(super) fn found(&self) -> FoundStored {
        let place = |spot: &Spot| PositionRef {
            car: spot.car_number.clone(),
            position: spot.position.clone(),
        };
        let left = self
            .applications
            .as_ref()
            .and_then(|left| left.as_ref().ok());
        FoundStored {
            at: place(&self.at),
            brakes: self.brakes,
            applications: left.map(|worked| worked.value),
            drains: self.drains.iter().map(place).collect(),
        }
    }
}

/// A reservoir of a train.
#[derive(Debug, Clone, Copy)]
struct Reservoir {
    node: usize,
    volume_l: u32,
    /// The air that is brought to it.
    charged_with: Media,
}

/// By how much the reservoir stays above the cylinders after the last application that counts:
/// Regulation (EU) 321/2013, appendix C.9(f).
const MARGIN: GaugePressure = GaugePressure(0.3);

/// The nominal pressure of a brake pipe: SUBSET-026-3, A.3.10.
const BRAKE_PIPE: GaugePressure = GaugePressure(5.0);

impl Question {
    /// Every reservoir of the train that may still hold air and that no source feeds any more, in the
    /// order of the train. Of nodes and lines linear, for each such reservoir once more.
    pub fn stored_air(&self) -> Result<Vec<StoredIn>, Missing> {
        let circuit = self.circuit()?;
        let state = circuit.impaired(&self.with_open_ends(&circuit)?)?;
        Ok(self.stored_in_state(&state))
    }

    /// Where these are in the circuit of the train, and nothing more. Of nodes and lines linear.
    pub(super) fn reservoirs_cut_off(&self, circuit: &TrainCircuit) -> Result<Vec<Spot>, Missing> {
        let state = circuit.impaired(&self.with_open_ends(circuit)?)?;
        let cut_off = cut_off(&state, &charging(circuit)).into_iter();
        let spots = cut_off.filter_map(|node| Spot::of(circuit, node));
        Ok(spots.collect())
    }

    /// The same of a train that was put together before.
    pub(super) fn stored_in_state(&self, state: &TrainState<'_>) -> Vec<StoredIn> {
        let circuit = state.train();
        let charging = charging(circuit);
        let cut_off = cut_off(state, &charging).into_iter();
        let found = cut_off.filter_map(|node| {
            let Some(Behaviour::Reservoir { volume_l }) = behaviour(circuit, node) else {
                return None;
            };
            let reservoir = Reservoir {
                node,
                volume_l: *volume_l,
                charged_with: charging[node],
            };
            Some((reservoir, fed_by(state, node)))
        });
        let found: Vec<(Reservoir, Vec<usize>)> = found.collect();
        let fed = found.iter().flat_map(|(_, brakes)| brakes);
        let idle = on_demand::idle(fed.copied().collect(), state);
        let found = found.into_iter();
        found
            .filter_map(|(reservoir, brakes)| self.stored_in(state, reservoir, (&brakes, &idle)))
            .collect()
    }

    /// Where a reservoir is drained; nowhere, where the circuit has no drain cock on it.
    pub(super) fn drains_of(&self, car: usize, code: &PositionCode) -> Vec<Spot> {
        let Ok(circuit) = self.circuit() else {
            return Vec::new();
        };
        let reservoir = circuit.node(car, code);
        let cocks = reservoir.map(|node| drains_of(&circuit, node));
        let cocks = cocks.into_iter().flatten();
        cocks.filter_map(|cock| Spot::of(&circuit, cock)).collect()
    }

    /// `brakes` are those that it can fill, `idle` those that no demand makes apply, ascending.
    fn stored_in(
        &self,
        state: &TrainState<'_>,
        reservoir: Reservoir,
        (brakes, idle): (&[usize], &[usize]),
    ) -> Option<StoredIn> {
        let train = state.train();
        let case = (self.brake_position, self.load);
        let left = || {
            let mut all = brakes.iter();
            if all.all(|brake| idle.binary_search(brake).is_ok()) {
                Ok(on_demand::none(brakes.len()))
            } else {
                applications(train, reservoir, brakes, case)
            }
        };
        let spots = |nodes: Vec<usize>| {
            let nodes = nodes.into_iter();
            nodes.filter_map(|at| Spot::of(train, at)).collect()
        };
        Some(StoredIn {
            at: Spot::of(train, reservoir.node)?,
            volume_l: reservoir.volume_l,
            drains: spots(drains_of(train, reservoir.node)),
            charged: charge(train, reservoir).map(|(pressure, _)| pressure),
            read_at: spots(charged::read_at(state, reservoir.node)),
            supply_cut: spots(charged::cut_by(state, reservoir.node)),
            feeds: charged::lives_on(state, reservoir.node),
            brakes: brakes.len(),
            lasts: lasts(train, reservoir, brakes, case),
            applications: (!brakes.is_empty()).then(left),
        })
    }
}

/// The reservoirs that no source feeds and that may hold what can be brought to them. Whoever works
/// there must know of air that may be there: only what is surely let out counts as gone.
fn cut_off(state: &TrainState<'_>, charging: &[Media]) -> Vec<usize> {
    let fed = Delivery::new(state, Modes::of(Mode::Emergency), Air::FromSources);
    let is_cut_off = |node: &usize| {
        let let_out = state.emptied(*node, Air::Retained);
        let may_hold = !state.impairments(*node).meets(Impairments::VENTS)
            && !charging[*node].without(let_out).is_empty();
        may_hold && fed.media(*node).within(charging[*node]).is_empty()
    };
    let nodes = state.train().roles().iter().enumerate();
    let reservoirs = nodes.filter(|(_, role)| **role == Role::Reservoir);
    reservoirs
        .map(|(node, _)| node)
        .filter(is_cut_off)
        .collect()
}

/// The air that can be brought to each node and stored there.
fn charging(train: &TrainCircuit) -> Vec<Media> {
    let mut charging = vec![Media::NONE; train.roles().len()];
    for line in (0..charging.len()).flat_map(|node| train.lines_from(node)) {
        charging[line.to] = charging[line.to].and(line.media.within(Media::STORED));
    }
    charging
}

/// The air-applied brakes that a reservoir can fill, whatever else fills them: along lines that
/// carry air, except to pilot a valve, as far as a closed cock.
fn fed_by(state: &TrainState<'_>, reservoir: usize) -> Vec<usize> {
    let train = state.train();
    let filling = Media::AIR.without(Media::of(Medium::PilotPressure));
    let mut seen = vec![false; train.roles().len()];
    seen[reservoir] = true;
    let mut open = vec![reservoir];
    let mut brakes = Vec::new();
    while let Some(node) = open.pop() {
        for line in train.lines_from(node) {
            let carries = !line.media.within(filling).is_empty();
            if !carries || seen[line.to] || state.is_blocked(line.to) {
                continue;
            }
            seen[line.to] = true;
            if train.roles()[line.to] == Role::AirApplied {
                brakes.push(line.to);
            } else {
                open.push(line.to);
            }
        }
    }
    brakes.sort_unstable();
    brakes
}

/// The volume of the cylinders together, and the highest pressure of any of them.
fn cylinders(
    train: &TrainCircuit,
    brakes: &[usize],
    (position, load): (BrakePosition, LoadState),
) -> Result<(Litres, GaugePressure), Missing> {
    let mut missing = Vec::new();
    let (mut millilitres, mut most) = (0.0, 0_u32);
    for brake in brakes {
        let Some((car, code)) = train.position_of(*brake) else {
            continue;
        };
        let car_type = train.cars()[car].circuit.car_type();
        let mut groups = car_type.forces.groups.iter();
        let group = groups.find(|group| group.positions.contains(code));
        let volume = group.and_then(|group| group.cylinder_volume_ml);
        let pressure = group.and_then(|group: &ActuatorGroup| group.pressure(position, load));
        match (volume, pressure) {
            (Some(volume), Some(CylinderPressure { pressure_mbar, .. })) => {
                millilitres += f64::from(volume);
                most = most.max(*pressure_mbar);
            }
            (volume, pressure) => {
                let of = group.map_or(format!(", actuator {code}"), |of| format!(", {}", of.name));
                let no_volume = volume
                    .is_none()
                    .then_some("volume of a cylinder with its pipe");
                let no_pressure = pressure
                    .is_none()
                    .then_some("cylinder pressure in this case");
                let lacking = no_volume.into_iter().chain(no_pressure);
                missing.extend(lacking.map(|what| self::lacking(car_type, what, &of)));
            }
        }
    }
    Missing::unless_none(missing)?;
    let pressure = GaugePressure(f64::from(most) / 1000.0);
    Ok((Litres(millilitres / 1000.0), pressure))
}

fn lacking(car_type: &CarType, what: &str, of: &str) -> MissingFact {
    MissingFact {
        what: what.to_owned(),
        of: format!(
            "car type {} revision {}{of}",
            car_type.name, car_type.revision
        ),
    }
}

/// The pressure that a reservoir was last charged with, at least, and the step that says so.
fn charge(train: &TrainCircuit, reservoir: Reservoir) -> Result<(GaugePressure, Step), Missing> {
    let media = reservoir.charged_with;
    let car_type = train.cars()[train.of_node(reservoir.node).0]
        .circuit
        .car_type();
    let what = "pressure at first";
    if media == Media::of(Medium::BrakePipeAir) {
        let working = format!("charged from the brake pipe: {BRAKE_PIPE:.2}");
        let source = "SUBSET-026-3, A.3.10: 500 kPa nominal";
        return Ok((BRAKE_PIPE, Step::published(what, working, source)));
    }
    let least = car_type.forces.main_air_least_mbar;
    let Some(mbar) = least.filter(|_| media == Media::of(Medium::MainAir)) else {
        let what = "least pressure that the main air is kept at";
        return Err(Missing(vec![lacking(car_type, what, "")]));
    };
    let pressure = GaugePressure(f64::from(mbar) / 1000.0);
    let entered = format!("car type {} revision {}", car_type.name, car_type.revision);
    let step = Step {
        what: what.into(),
        working: format!("charged from the main air, kept at {pressure:.2} or more"),
        source: Source::Operator(entered),
    };
    Ok((pressure, step))
}

/// From the pressure that it was last charged with down to the lowest from which an application
/// counts; of one that feeds no air-applied brake, to that margin.
fn lasts(
    train: &TrainCircuit,
    reservoir: Reservoir,
    brakes: &[usize],
    case: (BrakePosition, LoadState),
) -> Option<Lasts> {
    let (from, _) = charge(train, reservoir).ok()?;
    let (_, application) = cylinders(train, brakes, case).ok()?;
    let to = GaugePressure(application.0 + MARGIN.0);
    Some(Lasts { from, to })
}

fn applications(
    train: &TrainCircuit,
    reservoir: Reservoir,
    brakes: &[usize],
    case: (BrakePosition, LoadState),
) -> Result<Worked<u32>, Missing> {
    let charged = charge(train, reservoir);
    let filled = cylinders(train, brakes, case);
    let ((pressure, step), (cylinders, application)) = match (charged, filled) {
        (Ok(charged), Ok(filled)) => (charged, filled),
        (Err(Missing(mut facts)), Err(Missing(more))) => {
            facts.extend(more);
            return Err(Missing(facts));
        }
        (Err(missing), _) | (_, Err(missing)) => return Err(missing),
    };
    let air = StoredAir {
        reservoir: Litres(f64::from(reservoir.volume_l)),
        pressure,
        cylinders,
        application,
        before: BeforeFilling::NoVolume,
    };
    let volume_l = reservoir.volume_l;
    let lowest = GaugePressure(application.0 + MARGIN.0);
    let mut left = air.applications_left(lowest)?;
    let each = format!(
        "{} cylinders of {cylinders:.2} together to {application:.2} from no volume: ({application:.2} \
         + 1) · {cylinders:.2} / {volume_l} l = {:.4}; the reservoir stays at {lowest:.2} or more",
        brakes.len(),
        air.drop_each()
    );
    let law = "Boyle's law; reservoir margin of Regulation (EU) 321/2013, appendix C.9(f)";
    let each = Step::published("drop of each full application", each, law);
    left.steps.splice(0..0, [step, each]);
    Ok(left)
}
