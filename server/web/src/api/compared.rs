//! Figures before and after, and what still works, as programs get them.

use super::decided::MissingBody;
use domain::braking::stopping_distance::Stop;
use domain::circuit::End;
use domain::decision::{CommandedEffect, Decision, Holding, StoppingPair};
use domain::isolation::brake_percentage::BrakePercentage;
use domain::isolation::cause::{Cause, CauseKind};
use domain::isolation::effect::{ActuatorEffect, Availability};
use domain::isolation::tally::{Share, Tally};
use domain::worked::{Missing, Step, Worked};
use serde::Serialize;
use utoipa::ToSchema;

/// A step of a working.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct StepBody {
    /// What the step finds.
    what: String,
    /// The formula with the numbers put in, and its outcome.
    working: String,
    /// Where it comes from.
    source: String,
}

pub(super) fn steps<'a>(steps: impl IntoIterator<Item = &'a Step>) -> Vec<StepBody> {
    let body = |step: &Step| StepBody {
        what: step.what.clone(),
        working: step.working.clone(),
        source: step.source.to_string(),
    };
    steps.into_iter().map(body).collect()
}

/// A figure with nothing cut out, and as it is.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct Compared {
    /// The method, where there is more than one.
    method: Option<&'static str>,
    /// With nothing cut out; null where there is no answer, or the train does not stop.
    before: Option<f64>,
    /// As it is; null where there is no answer, or the train does not stop.
    after: Option<f64>,
    /// The unit of both.
    unit: &'static str,
    /// The steps, in the order taken.
    steps: Vec<StepBody>,
    /// Why there is no answer.
    missing: Vec<MissingBody>,
}

impl Compared {
    fn lacking(method: Option<&'static str>, unit: &'static str, missing: &Missing) -> Self {
        Self {
            method,
            before: None,
            after: None,
            unit,
            steps: Vec::new(),
            missing: MissingBody::all(missing),
        }
    }

    pub(super) fn percentage(found: &Result<Worked<BrakePercentage>, Missing>) -> Self {
        match found {
            Ok(worked) => Self {
                method: None,
                before: Some(worked.value.before.percent()),
                after: Some(worked.value.after.percent()),
                unit: "%",
                steps: steps(&worked.steps),
                missing: Vec::new(),
            },
            Err(missing) => Self::lacking(None, "%", missing),
        }
    }

    pub(super) fn stopping(pair: &StoppingPair) -> Self {
        let method = Some(pair.method.name());
        match (&pair.before.distance, &pair.after.distance) {
            (Ok(before), Ok(after)) => Self {
                method,
                before: metres(before.value.stop),
                after: metres(after.value.stop),
                unit: "m",
                steps: steps(before.steps.iter().chain(&after.steps)),
                missing: Vec::new(),
            },
            (Err(missing), _) | (_, Err(missing)) => Self::lacking(method, "m", missing),
        }
    }

    pub(super) fn holding(found: &Result<Holding, Missing>) -> Self {
        match found {
            Ok(Holding { before, after, .. }) => Self {
                method: None,
                before: Some(before.value.0),
                after: Some(after.value.0),
                unit: "‰",
                steps: steps(before.steps.iter().chain(&after.steps)),
                missing: Vec::new(),
            },
            Err(missing) => Self::lacking(None, "‰", missing),
        }
    }
}

fn metres(stop: Stop) -> Option<f64> {
    match stop {
        Stop::After(distance) => Some(distance.0),
        Stop::Never => None,
    }
}

/// How many work.
#[derive(Debug, Serialize, ToSchema)]
struct OperativeCountBody {
    /// All of their actuators work.
    operative: u32,
    /// Some work and some do not.
    partial: u32,
    /// All there are.
    total: u32,
}

impl From<Tally> for OperativeCountBody {
    fn from(tally: Tally) -> Self {
        Self {
            operative: tally.available,
            partial: 0,
            total: tally.total,
        }
    }
}

impl From<Share> for OperativeCountBody {
    fn from(share: Share) -> Self {
        Self {
            operative: share.operative,
            partial: share.partial,
            total: share.total,
        }
    }
}

/// What still works in a mode.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct EffectBody {
    /// `service`, `emergency` or `holding`.
    mode: &'static str,
    /// `now`, or `exhausted`: once stored air is used up.
    supply: &'static str,
    /// The car from which it is commanded; null in holding, which nobody commands.
    commanded_from: Option<String>,
    /// By actuator.
    actuators: OperativeCountBody,
    /// By axle.
    axles: OperativeCountBody,
    /// By bogie.
    bogies: OperativeCountBody,
    /// By car.
    cars: OperativeCountBody,
    /// Every actuator that is lost or drags.
    losses: Vec<LossBody>,
}

/// An actuator that does not do its work.
#[derive(Debug, Serialize, ToSchema)]
struct LossBody {
    /// The car.
    car: String,
    /// Its position.
    position: String,
    /// The axle that it acts on.
    axle: Option<u8>,
    /// The bogie that it acts on.
    bogie: Option<u8>,
    /// `lost` or `dragging`.
    #[schema(example = "lost")]
    state: &'static str,
    /// Whether it does not brake and cannot be said to be off, now or, where stored air is used
    /// up, then. The verdicts count it as dragging.
    may_drag: bool,
    /// Why.
    why: Vec<CauseBody>,
}

/// Why an actuator does not do its work.
#[derive(Debug, Serialize, ToSchema)]
struct CauseBody {
    /// The car.
    car: String,
    /// The position.
    position: String,
    /// The state of its cut-out, `vacant`, `incomplete`, `open_end` (nothing is fitted there and its pipe
    /// is empty by that), `not_counted` (a reservoir whose air is not), `nothing_feeds_it`,
    /// `air_keeps_it_released`, or
    /// `nothing_comes_in_by_end1` or `…_end2`: the car coupled there has no pipe or wire that meets this one.
    #[schema(example = "closed_vented")]
    matter: &'static str,
}

impl EffectBody {
    pub(super) fn all(effects: &[CommandedEffect]) -> Vec<Self> {
        effects.iter().map(Self::of).collect()
    }

    fn of(commanded: &CommandedEffect) -> Self {
        let effect = &commanded.effect;
        let lost = |actuator: &&ActuatorEffect| actuator.availability != Availability::Available;
        Self {
            mode: effect.mode.name(),
            supply: effect.supply.name(),
            commanded_from: commanded.from.as_ref().map(ToString::to_string),
            actuators: effect.counts.actuators.into(),
            axles: effect.counts.axles.into(),
            bogies: effect.counts.bogies.into(),
            cars: effect.counts.cars.into(),
            losses: effect
                .actuators
                .iter()
                .filter(lost)
                .map(LossBody::of)
                .collect(),
        }
    }
}

impl LossBody {
    fn of(actuator: &ActuatorEffect) -> Self {
        Self {
            car: actuator.car_number.to_string(),
            position: actuator.position.to_string(),
            axle: actuator.axle,
            bogie: actuator.bogie,
            state: actuator.availability.name(),
            may_drag: actuator.may_drag,
            why: actuator.why.iter().map(CauseBody::of).collect(),
        }
    }
}

impl CauseBody {
    fn of(cause: &Cause) -> Self {
        Self {
            car: cause.car_number.to_string(),
            position: cause.position.to_string(),
            matter: match cause.kind {
                CauseKind::CutOut(state) => state.name(),
                CauseKind::Vacant => "vacant",
                CauseKind::Incomplete => "incomplete",
                CauseKind::OpenEnd => "open_end",
                CauseKind::NotCounted => "not_counted",
                CauseKind::NothingFeedsIt => "nothing_feeds_it",
                CauseKind::NothingComesInBy(End::End1) => "nothing_comes_in_by_end1",
                CauseKind::NothingComesInBy(End::End2) => "nothing_comes_in_by_end2",
                CauseKind::AirKeepsItReleased => "air_keeps_it_released",
            },
        }
    }
}

/// How many of a kind of equipment work.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct EquipmentBody {
    /// The kind.
    #[schema(example = "compressor")]
    kind: &'static str,
    /// How many work.
    operative: u32,
    /// How many there are.
    total: u32,
}

impl EquipmentBody {
    pub(super) fn all(decision: &Decision) -> Vec<Self> {
        let body = |(kind, count): (
            &domain::configuration::car_type::PositionKind,
            &domain::rule_set::facts::Operative,
        )| Self {
            kind: kind.name(),
            operative: count.operative(),
            total: count.total(),
        };
        decision.equipment.iter().map(body).collect()
    }
}

/// Something lost with every brake still applying.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct LostBesidesBody {
    /// `load_signal`, `suspension` or `slide_protection`.
    #[schema(example = "load_signal")]
    what: &'static str,
    /// The car.
    car: String,
    /// The bogie whose load signal or levelling valve it is; null where it is that of the car.
    bogie: Option<u8>,
    /// The axle that is not protected.
    axle: Option<u8>,
    /// The load that the brake control takes without a load signal.
    assumed_load: Option<&'static str>,
    /// Whether it is lost now, or only once stored air is used up.
    at_once: bool,
}

impl LostBesidesBody {
    pub(super) fn all(decision: &Decision) -> Vec<Self> {
        let signals = decision.load_signals.iter().map(|lost| Self {
            what: "load_signal",
            car: lost.signal.car_number.to_string(),
            bogie: lost.signal.bogie,
            axle: None,
            assumed_load: lost
                .signal
                .assumed
                .map(domain::configuration::car_type::AssumedLoad::name),
            at_once: lost.at_once,
        });
        let levelling = decision.levelling.iter().map(|lost| Self {
            what: "suspension",
            car: lost.car_number.to_string(),
            bogie: lost.bogie,
            axle: None,
            assumed_load: None,
            at_once: lost.at_once,
        });
        let axles = decision.unprotected.iter().map(|axle| Self {
            what: "slide_protection",
            car: axle.car_number.to_string(),
            bogie: None,
            axle: Some(axle.axle),
            assumed_load: None,
            at_once: true,
        });
        signals.chain(levelling).chain(axles).collect()
    }
}
