//! What must be checked by a person after a cut-out before any verdict on it is acted on. The
//! register knows what was recorded; only these checks know what was closed.

use super::behind::Behind;
use super::brakes::brakes;
use super::pads::pads_free;
use super::pressures::pressures_read;
use super::{Question, Supposed};
use crate::circuit::Behaviour;
use crate::circuit::state::{Impaired, Impairment};
use crate::configuration::car_type::{CarType, Position, PositionKind};
use crate::configuration::component::PositionRef;
use crate::identity::CarNumber;
use crate::isolation::CutOutState;
use crate::isolation::isolable::Isolable;
use crate::words::word_list;
use crate::worked::Source;
use serde::Serialize;

/// The state of the brakes, and of each part that can be isolated by itself, can be found out at
/// standstill.
const STATE_INDICATION: &str = "Regulation (EU) 1302/2014, annex, 4.2.4.9";
const TELL_AT_ONCE: &str = "Regulation (EU) 2019/773, annex, 4.2.2.6 and 4.2.2.7";

word_list! {
    /// What is checked after a cut-out, in the order in which it is done.
    CheckKind, "check" {
        /// The right cock of the right car is in the right state.
        RightPlace = "right_place",
        /// The pressure of each reservoir on whose stored air a brake is counted was read.
        PressureRead = "pressure_read",
        /// Pads or blocks are free.
        PadsFree = "pads_free",
        /// What a spring that was released by hand does when air returns was found out; of one that
        /// applies again by itself, that it has not.
        ReArming = "re_arming",
        /// The remaining brakes apply and release.
        OthersWork = "others_work",
        /// The brake is continuous to the last vehicle.
        Continuous = "continuous",
        /// The brakes that work were counted again.
        CountedAgain = "counted_again",
        /// Everybody was told who must be.
        EveryoneTold = "everyone_told",
    }
}

/// One thing to check, and after whom.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Check {
    /// What is checked.
    pub kind: CheckKind,
    /// The cut-outs that it proves, in the order of the train; none for what is checked once for
    /// the train.
    pub of: Vec<PositionRef>,
    /// What to do or to see, in one sentence that can be read over a radio.
    pub text: String,
    /// Where the check comes from.
    pub source: Source,
}

/// The checks after the cut-outs of a question, in the order in which they are done: none where
/// nothing is cut out.
pub(super) fn checks(question: &Question, places: &[Place<'_>], found: &Behind<'_>) -> Vec<Check> {
    if places.is_empty() {
        return Vec::new();
    }
    let mut checks: Vec<Check> = places.iter().map(right_place).collect();
    let air = (found.stored.as_slice(), found.fading.as_slice());
    checks.extend(pressures_read(question, places, air));
    checks.extend(pads_free(places, brakes(found.effects)));
    checks.extend(places.iter().filter_map(re_arming));
    checks.extend(afterwards(question));
    checks
}

/// A position of the train that is cut out, in force or supposed.
pub(super) struct Place<'a> {
    /// The car's place in the train, from 0.
    pub(super) index: usize,
    pub(super) car: &'a CarNumber,
    pub(super) position: &'a Position,
    pub(super) state: CutOutState,
    /// What can be isolated there; none where its effect is not known.
    pub(super) isolable: Option<Isolable<'a>>,
    /// Whether it is in force as recorded, and not supposed.
    pub(super) in_force: bool,
}

impl Place<'_> {
    pub(super) fn at(&self) -> PositionRef {
        PositionRef {
            car: self.car.clone(),
            position: self.position.code.clone(),
        }
    }

    /// Whether it is a reservoir that is drained: that is done once its supply is closed, or it
    /// fills again.
    pub(super) fn is_drained(&self) -> bool {
        let drained = self.state == CutOutState::ClosedVented;
        drained && self.position.kind == PositionKind::Reservoir
    }

    /// Whether it is a cock that stands closed.
    pub(super) fn is_closed(&self) -> bool {
        let shut = matches!(
            self.state,
            CutOutState::ClosedVented | CutOutState::ClosedTrapped | CutOutState::SupplyCut
        );
        shut && !self.is_drained() && self.isolable.is_some_and(|one| one.is_cock())
    }
}

/// The cut-outs in force that are supposed to be put back, in the order of the train.
pub(super) fn put_back(question: &Question) -> Vec<Place<'_>> {
    let cars = question.cars.iter().enumerate();
    let places = cars.flat_map(|(index, car)| {
        let cut_outs = car.cut_outs.iter().filter(|cut_out| {
            let mut supposed = question.supposed.iter();
            let open = |one: &Supposed| one.state.is_none() && one.at.car == car.number;
            supposed.any(|one| open(one) && one.at.position == cut_out.position)
        });
        cut_outs.filter_map(move |cut_out| {
            Some(Place {
                index,
                car: &car.number,
                position: car.circuit.car_type().position(&cut_out.position)?,
                state: cut_out.state,
                isolable: Isolable::at(car.circuit.car_type(), &cut_out.position),
                in_force: true,
            })
        })
    });
    places.collect()
}

/// The cut-outs of a question, in the order of the train, and after them the reservoirs that are
/// drained.
pub(super) fn cut_outs(question: &Question) -> Vec<Place<'_>> {
    let place = |one: Impaired| {
        let Impairment::CutOut(state) = one.by else {
            return None;
        };
        let car = question.cars.get(one.car)?;
        let car_type: &CarType = car.circuit.car_type();
        let position = car_type.position(&one.position)?;
        Some(Place {
            index: one.car,
            car: &car.number,
            position,
            state,
            isolable: Isolable::at(car_type, &one.position),
            in_force: !question.supposes(&car.number, &one.position),
        })
    };
    let mut places: Vec<Place<'_>> = question.cut_outs().filter_map(place).collect();
    places.sort_by_key(Place::is_drained);
    places
}

fn of_train(kind: CheckKind, text: String) -> Check {
    Check {
        kind,
        of: Vec::new(),
        text,
        source: Source::CommonPractice,
    }
}

/// "car 4101, left side seen from end 1, =BS1-QM1, B1 on the car label".
fn spoken(place: &Place<'_>) -> String {
    let Position { code, side, .. } = place.position;
    let side = side.map_or(String::new(), |side| {
        format!(", {side} side seen from end 1")
    });
    let label = place.position.spoken_name();
    let label = label.map_or(String::new(), |alias| {
        format!(", {} on the {}", alias.name, alias.source)
    });
    format!("car {}{side}, {code}{label}", place.car)
}

fn right_place(place: &Place<'_>) -> Check {
    let seen = match place.position.kind {
        PositionKind::IsolatingCock | PositionKind::EndCock => "the handle and the indicator",
        _ => "its state",
    };
    Check {
        kind: CheckKind::RightPlace,
        of: vec![place.at()],
        text: format!(
            "Right car, right side, right place: {}. Read back car and code; see {seen}: {}.",
            spoken(place),
            place.state
        ),
        source: Source::Published(STATE_INDICATION.to_owned()),
    }
}

/// Some springs apply again by themselves when air returns, others stay dead until they are reset:
/// believed to hold and not holding, or believed released and dragging (common practice, no source).
fn re_arming(place: &Place<'_>) -> Option<Check> {
    let isolable = place.isolable?;
    let spoken = spoken(place);
    let text = match place.state {
        CutOutState::ReleasedByHand => format!(
            "What the spring does when air returns is found out, and the crew is told: {spoken}. Either \
             it applies again by itself, or it stays dead until it is reset. Until that is known it is not \
             counted to hold, and counts as coming on where air that may be back at it goes: what it does \
             is seen at the wheel. What was found is told as its state."
        ),
        CutOutState::ReleasedUntilAirReturns => format!(
            "Whether air has come back to the spring since it was released is looked at before each \
             start: {spoken}. If it has, the spring has applied again and comes on where that air goes. It \
             is not counted to hold. Of air that came and went since, no verdict tells: that is seen at the \
             wheel."
        ),
        _ => return None,
    };
    asks_re_arming(isolable, place.state).then(|| Check {
        kind: CheckKind::ReArming,
        of: vec![place.at()],
        text,
        source: Source::CommonPractice,
    })
}

/// Whether it is asked of a cut-out what its spring does when air returns.
pub(crate) fn asks_re_arming(isolable: Isolable<'_>, state: CutOutState) -> bool {
    let may_arm = matches!(
        state,
        CutOutState::ReleasedByHand | CutOutState::ReleasedUntilAirReturns
    );
    may_arm && matches!(isolable.behaviour, Some(Behaviour::SpringApplied { .. }))
}

fn afterwards(question: &Question) -> Vec<Check> {
    let last = question.cars.last();
    let last = last.map_or(String::new(), |car| format!(", car {}", car.number));
    vec![
        of_train(
            CheckKind::OthersWork,
            "The remaining brakes apply and release, from the cab the train is driven from.".into(),
        ),
        of_train(
            CheckKind::Continuous,
            format!(
                "The brake is continuous to the last vehicle{last}, proved after the last \
                 change to any cock or coupling."
            ),
        ),
        of_train(
            CheckKind::CountedAgain,
            "The brakes that work were counted again from scratch, whoever cut the others out."
                .into(),
        ),
        Check {
            kind: CheckKind::EveryoneTold,
            of: Vec::new(),
            text: "Told: infrastructure manager or signaller, controller, the next driver, \
                   maintenance; notice in both cabs; train data changed."
                .into(),
            source: Source::Published(TELL_AT_ONCE.to_owned()),
        },
    ]
}
