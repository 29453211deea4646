//! What is said over the radio about each cut-out: which car, which side, which cock by its label,
//! what to do, and how to see that it is done. Every line comes from the design data and the effect;
//! sides and ends are spelled out, since a turned car looks alike.

use super::checks::{Place, cut_outs, put_back};
use super::{CommandedEffect, Question};
use crate::configuration::car::Orientation;
use crate::configuration::car_type::{PositionKind, Side};
use crate::configuration::component::PositionRef;
use crate::isolation::CutOutState;
use crate::isolation::effect::{ActuatorEffect, Availability};
use serde::Serialize;

/// What is said about one cut-out.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Instruction {
    /// The cut-out.
    pub at: PositionRef,
    /// Where it is: car, place in the train, side, label.
    pub place: String,
    /// What to do.
    pub act: String,
    /// How to see that it is done.
    pub see: String,
}

/// The instruction for each cut-out of a question, in force or supposed, in the order of the
/// train, and then for each that is supposed to be put back. `now` are the effects of all of them
/// with stored air. Cost: the cut-outs times the actuators.
pub(super) fn instructions(question: &Question, now: &[&CommandedEffect]) -> Vec<Instruction> {
    let places = cut_outs(question);
    let done = places.iter().map(|place| of(question, place, now));
    let back = put_back(question);
    let back = back.iter().map(|place| Instruction {
        act: PUT_BACK.to_owned(),
        see: RESTORED.to_owned(),
        ..of(question, place, now)
    });
    done.chain(back).collect()
}

/// Common practice, no source.
const PUT_BACK: &str = "Only where who is authorised has released it: put it back to its normal \
     state, slowly, and keep clear of what moves when air returns.";
const RESTORED: &str = "It is in its normal state; then the brake is tested, and the cut-out ends \
     with the record of that test and not before.";

fn of(question: &Question, place: &Place<'_>, now: &[&CommandedEffect]) -> Instruction {
    let act = if place.in_force {
        in_force(place.state)
    } else {
        supposed(place.state)
    };
    let held_on = if holds_a_brake_on(place, now) {
        HELD_ON
    } else {
        ""
    };
    Instruction {
        at: PositionRef {
            car: place.car.clone(),
            position: place.position.code.clone(),
        },
        place: whereabouts(question, place),
        act: format!("{act}{held_on}"),
        see: see(place),
    }
}

/// Said where a brake drags, or may, by the cut-out itself (common practice, no source).
const HELD_ON: &str = " A brake is held on by it, or may be: do not move the train until who is \
     authorised has said how that brake is released, and it is seen to be.";

/// Whether the cut-out holds a brake on now, or may.
fn holds_a_brake_on(place: &Place<'_>, now: &[&CommandedEffect]) -> bool {
    let mut actuators = now.iter().flat_map(|one| &one.effect.actuators);
    actuators.any(|one: &ActuatorEffect| {
        let mut why = one.why.iter();
        (one.may_drag || one.availability == Availability::Dragging)
            && why.any(|cause| {
                cause.car_number == *place.car && cause.position == place.position.code
            })
    })
}

/// "Car 4102, number 2 of 6 from the front, its end 1 in front. On the left side seen from end 1,
/// which is the right side facing forward. It is Q1 on the car label, code =BS1-QM1: …".
fn whereabouts(question: &Question, place: &Place<'_>) -> String {
    let standing = &question.cars[place.index];
    let front = match standing.orientation {
        Orientation::Forward => "its end 1 in front",
        Orientation::Reversed => "its end 2 in front",
    };
    let (number, of) = (place.index + 1, question.cars.len());
    let side = place.position.side.map_or(String::new(), |side| {
        let facing = facing_forward(side, standing.orientation);
        format!(" On the {side} side seen from end 1, which is the {facing} side facing forward.")
    });
    let label = match place.position.aliases.first() {
        Some(alias) => format!("{} on the {}, code ", alias.name, alias.source),
        None => "code ".to_owned(),
    };
    let position = place.position;
    format!(
        "Car {}, number {number} of {of} from the front, {front}.{side} It is {label}{}: {}.",
        place.car, position.code, position.title
    )
}

/// Whoever looks from end 1 towards end 2 of a car that stands forward looks backward.
fn facing_forward(side: Side, orientation: Orientation) -> Side {
    match (side, orientation) {
        (Side::Left, Orientation::Forward) | (Side::Right, Orientation::Reversed) => Side::Right,
        (Side::Right, Orientation::Forward) | (Side::Left, Orientation::Reversed) => Side::Left,
    }
}

/// What is recorded was done, perhaps days ago: nobody is told to do it again. It is put back only
/// where that is said, and the test that then proves the brake is recorded.
fn in_force(state: CutOutState) -> &'static str {
    match state {
        CutOutState::ClosedVented => {
            "It is recorded as closed and vented. See that it is so, and leave it so."
        }
        CutOutState::ClosedTrapped => {
            "It is recorded as found closed with air trapped behind it: what is applied there \
             stays applied. Do not touch it until who is authorised has said what is done."
        }
        CutOutState::SupplyCut => {
            "It is recorded as closed; what lies behind it works until its stored air is used up. \
             See that it is so, read the pressure of the reservoir behind it, and leave it so."
        }
        CutOutState::ReleasedByHand => {
            "The brake is recorded as released by hand. See that it is so, and that the car is \
             held otherwise while it stands. A spring may apply again by itself when air returns."
        }
        CutOutState::ElectricallyOff => {
            "It is recorded as switched off. See that it is so, and leave it so."
        }
        CutOutState::Bypassed => {
            "It is recorded as set to bypass. See that it is so, and leave it so."
        }
        CutOutState::Failed => {
            "It is recorded as failed: leave it as it is, and rely on it for nothing."
        }
    }
}

/// What would be done. A faulty state is never asked for.
fn supposed(state: CutOutState) -> &'static str {
    match state {
        CutOutState::ClosedVented => {
            "Close it, and let what lies behind it empty: wait until no air is heard."
        }
        CutOutState::ClosedTrapped => {
            "Not to be done on purpose: air stays trapped behind it, and what is applied there \
             stays applied."
        }
        CutOutState::SupplyCut => {
            "Close it. What lies behind it stays charged, and works until that air is used up."
        }
        CutOutState::ReleasedByHand => {
            "See that the car is held otherwise; then release the brake by hand. A spring may \
             apply again by itself when air returns."
        }
        CutOutState::ElectricallyOff => "Switch it off.",
        CutOutState::Bypassed => "Set it to bypass.",
        CutOutState::Failed => "It has failed: leave it as it is, and rely on it for nothing.",
    }
}

fn see(place: &Place<'_>) -> String {
    let itself = match place.state {
        CutOutState::Failed => "It is the one that was reported.",
        CutOutState::ClosedVented if place.position.kind == PositionKind::Reservoir => {
            "No more air comes where it is drained."
        }
        CutOutState::ClosedVented | CutOutState::ClosedTrapped | CutOutState::SupplyCut => {
            "The handle is fully at closed, and the indicator, where there is one, says so."
        }
        CutOutState::ReleasedByHand => "The wheel turns free of it.",
        CutOutState::ElectricallyOff | CutOutState::Bypassed => {
            "Its indicator or switch shows that state."
        }
    };
    match (place.position.bogie, place.state) {
        (Some(bogie), CutOutState::ClosedVented) => {
            format!("{itself} The pads or blocks of bogie {bogie} are loose on both sides.")
        }
        _ => itself.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_side_facing_forward_changes_with_the_car_and_not_with_the_label() {
        for (side, orientation, facing) in [
            (Side::Left, Orientation::Forward, Side::Right),
            (Side::Left, Orientation::Reversed, Side::Left),
            (Side::Right, Orientation::Forward, Side::Left),
            (Side::Right, Orientation::Reversed, Side::Right),
        ] {
            assert_eq!(facing_forward(side, orientation), facing);
        }
    }

    #[test]
    fn every_state_has_words_of_its_own() {
        let all = CutOutState::ALL.iter();
        let words: std::collections::BTreeSet<_> = all
            .flat_map(|state| [in_force(*state), supposed(*state)])
            .collect();
        assert_eq!(words.len(), 2 * CutOutState::ALL.len());
    }

    #[test]
    fn nobody_is_told_to_do_again_what_is_recorded_nor_to_bring_about_a_fault() {
        for state in CutOutState::ALL {
            let words = in_force(*state);
            assert!(
                !words.contains("Close") && !words.contains("Switch") && !words.contains("Set")
            );
        }
        assert!(!supposed(CutOutState::ClosedTrapped).contains("Close it"));
    }
}
