//! Brakes that might drag by what is cut out, of which somebody has confirmed that their pads or blocks
//! are free: they are taken not to drag until what cuts them out is in another state, or something
//! else cuts them out too. A brake that nothing keeps off is on whatever was seen.

use super::brakes::{Brake, brakes, causes};
use super::states::States;
use super::{CutOutInTrain, PressureRead, Question};
use crate::circuit::Mode;
use crate::circuit::state::Marked;
use crate::identity::{CarNumber, PersonName, PositionCode};
use crate::isolation::effect::AppliedBy;
use crate::ledger::entry::Seq;
use crate::time::{Instant, Zone};
use crate::worked::Missing;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// Who saw that the pads or blocks are free, and when.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct SeenFree {
    /// When.
    pub at: Instant,
    /// Who.
    pub by: PersonName,
}

/// A cut-out as the register has it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Recorded {
    /// The entry that recorded it, in the state that it is in.
    pub by: Seq,
    /// Who last confirmed since then that the pads or blocks behind it are free.
    pub pads_free: Option<SeenFree>,
    /// Who last confirmed since then that the pressure of the reservoirs behind it was read.
    pub pressure_read: Option<PressureRead>,
}

/// A brake that might drag and was seen free.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct BrakeSeenFree {
    /// The car's number.
    pub car_number: CarNumber,
    /// Its position.
    pub position: PositionCode,
    /// Who saw it, and when.
    #[serde(flatten)]
    pub seen: SeenFree,
}

/// The states of a train, and the brakes in it that were seen free.
pub(super) fn states(
    question: &Question,
    marked: &Marked<'_>,
) -> Result<(States, Vec<BrakeSeenFree>), Missing> {
    let mut states = States::of(marked)?;
    let seen = tell_seen_free(question, &mut states);
    Ok((states, seen))
}

/// Tells the effects which brakes were seen free. Nothing is done where nobody confirmed any; else the
/// brakes times their causes.
fn tell_seen_free(question: &Question, states: &mut States) -> Vec<BrakeSeenFree> {
    let confirmed = |one: &CutOutInTrain| {
        let recorded = one.recorded.as_ref();
        recorded.is_some_and(|recorded| recorded.pads_free.is_some())
    };
    let mut cut_outs = question.cars.iter().flat_map(|car| &car.cut_outs);
    if !cut_outs.any(confirmed) {
        return Vec::new();
    }
    let seen = brakes(&states.effects).enumerate();
    let seen = seen.filter_map(|(place, brake)| Some((place, of_brake(question, &brake)?)));
    let (places, seen): (Vec<usize>, Vec<BrakeSeenFree>) = seen.unzip();
    let commanded = states.effects.iter_mut().chain(&mut states.elsewhere);
    for effect in commanded.map(|commanded| &mut commanded.effect) {
        // In holding there are only springs.
        if effect.mode == Mode::Holding {
            continue;
        }
        for place in &places {
            if let Some(actuator) = effect.actuators.get_mut(*place) {
                actuator.may_drag = false;
                actuator.known_off = true;
            }
        }
    }
    seen
}

/// Of a brake that only may be on, and of all that cuts it out the last told was followed by a look.
fn of_brake(question: &Question, brake: &Brake<'_>) -> Option<BrakeSeenFree> {
    let actuator = brake.of();
    if actuator.applied_by != AppliedBy::Air || !brake.is_on() {
        return None;
    }
    let mut last: Option<&Recorded> = None;
    for cause in causes(brake.now) {
        let car = question.cars.get(cause.car)?;
        if question.supposes(&car.number, &cause.position) {
            return None;
        }
        let mut cut_outs = car.cut_outs.iter();
        let Some(cut_out) = cut_outs.find(|one| one.position == cause.position) else {
            continue;
        };
        let recorded = cut_out.recorded.as_ref()?;
        if last.is_none_or(|last| last.by < recorded.by) {
            last = Some(recorded);
        }
    }
    Some(BrakeSeenFree {
        car_number: actuator.car_number.clone(),
        position: actuator.position.clone(),
        seen: last?.pads_free.clone()?,
    })
}

/// "by A. Fitter on 2026-11-28 14:00 +00:00 car 4128 =B1", of each who looked; what tells places is
/// given.
pub(super) fn in_words(
    seen: &[BrakeSeenFree],
    listed: impl Fn(&BTreeSet<(CarNumber, String)>) -> String,
) -> Option<String> {
    let mut by: BTreeMap<&SeenFree, BTreeSet<(CarNumber, String)>> = BTreeMap::new();
    for one in seen {
        let place = (one.car_number.clone(), one.position.to_string());
        by.entry(&one.seen).or_default().insert(place);
    }
    let told = by.iter().map(|(SeenFree { at, by }, places)| {
        let at = Zone::UTC.show(*at);
        format!("by {by} on {at} {}", listed(places))
    });
    let told: Vec<String> = told.collect();
    (!told.is_empty()).then(|| {
        format!(
            "Not counted as dragging, since it was seen free: {}. Look again before each start: by \
             air that leaks a brake may come on.",
            told.join("; ")
        )
    })
}
