//! What is said over the radio about each cut-out: which car, which side, which cock by its label,
//! what to do, and how to see that it is done. Every line comes from the design data and the effect;
//! sides and ends are spelled out, since a turned car looks alike.

use super::behind::{Behind, Depending, Left};
use super::checks::{Place, put_back};
use super::joined::bogies;
use super::pressures::labelled;
use super::stored::StoredIn;
use super::warning::listed;
use super::{Question, re_armed};
use crate::configuration::car::Orientation;
use crate::configuration::car_type::{PositionKind, Side};
use crate::configuration::component::PositionRef;
use crate::identity::CarNumber;
use crate::isolation::CutOutState;
use crate::isolation::closing::Spot;
use serde::Serialize;
use std::collections::BTreeSet;

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

/// The instruction for each cut-out of a question, in force or supposed, in the order in which they
/// are done, and then for each that is supposed to be put back. Cost: the cut-outs times the
/// actuators.
pub(super) fn instructions(
    question: &Question,
    places: &[Place<'_>],
    behind: &Behind<'_>,
) -> Vec<Instruction> {
    let done = places.iter().map(|place| of(question, place, behind));
    let back = put_back(question);
    let re_armed = re_armed::in_words(behind.effects, listed);
    let acts = [Some(PUT_BACK.to_owned()), re_armed];
    let act = acts.into_iter().flatten().collect::<Vec<_>>().join(" ");
    let back = back.iter().map(|place| Instruction {
        at: place.at(),
        place: whereabouts(question, place),
        act: act.clone(),
        see: RESTORED.to_owned(),
    });
    done.chain(back).collect()
}

/// Common practice, no source.
const PUT_BACK: &str = "Only where who is authorised has released it: put it back to its normal \
     state, slowly, and keep clear of what moves when air returns.";
const RESTORED: &str = "It is in its normal state; then the brake is tested, and the cut-out ends \
     with the record of that test and not before.";

/// Common practice, no source.
const DRAINED: &str = "It is recorded as drained. See that it is so, and that its supply is closed: by \
     an open one it fills again, and what it feeds has air.";

fn of(question: &Question, place: &Place<'_>, behind: &Behind<'_>) -> Instruction {
    let depending = behind.depends_on(place);
    let act = if place.in_force && place.is_drained() {
        DRAINED.to_owned()
    } else if place.in_force {
        in_force(place.state).to_owned()
    } else {
        supposed(question, place)
    };
    let unbraked = behind.left_unbraked(place);
    let act = [
        secured(&unbraked, place).into_iter().collect(),
        vec![act],
        follows(&depending),
        left_charged(question, place, (behind, &unbraked)),
    ];
    Instruction {
        at: place.at(),
        place: whereabouts(question, place),
        act: act.concat().join(" "),
        see: see(place, &depending),
    }
}

/// Said where a brake drags, or may, by the cut-out itself (common practice, no source).
const HELD_ON: &str = "A brake is held on by it, or may be: do not move the train until who is \
     authorised has said how that brake is released, and it is seen to be.";

/// What becomes of the brakes that depend on it, as the circuit has it.
fn follows(depending: &Depending) -> Vec<String> {
    let which = match depending.air.len() {
        0 | 1 => "The brakes that depend on it",
        _ => "Some brakes that depend on it",
    };
    let air = depending.air.iter().map(|left| {
        let does = match left {
            Left::Nothing => "do not brake, now or later",
            Left::EmergencyOnly => "act in emergency braking alone",
            Left::ServiceOnly => "act in service braking alone",
            Left::WhileAirLasts => "act until the stored air is used up, and no longer",
        };
        format!("{which} {does}.")
    });
    let springs = [
        (
            depending.springs_on,
            "Spring brakes that depend on it are on.",
        ),
        (
            depending.springs_come_on,
            "Spring brakes that depend on it are kept off by what air is left, and come on by \
             themselves as it leaks away: until then, do not count on them to hold.",
        ),
        (depending.held_on, HELD_ON),
    ];
    let springs = springs.into_iter().filter(|(is_so, _)| *is_so);
    air.chain(springs.map(|(_, text)| text.to_owned()))
        .collect()
}

/// Cars, by their places in the train.
type Cars = BTreeSet<(usize, CarNumber)>;

/// What comes before all else where a car has no brake then (common practice, no source).
fn secured(unbraked: &Cars, place: &Place<'_>) -> Option<String> {
    let numbers: Vec<&str> = unbraked.iter().map(|(_, car)| car.as_str()).collect();
    let have = match numbers.as_slice() {
        [] => return None,
        [one] => format!("car {one} has"),
        several => format!("cars {} have", several.join(", ")),
    };
    let once = if place.in_force {
        ""
    } else {
        "once this is done, "
    };
    Some(format!(
        "First secure the train against rolling away: {once}{have} no brake that acts and no spring \
         that holds."
    ))
}

/// The reservoirs that a closed cock leaves charged, with their drain cocks. One that no brake lives
/// on any more is drained: the brake of a car is cut out in two acts (common practice, no source).
/// Where the cock itself is not to be touched, nothing behind it is drained either. Of what is only
/// supposed it is said as it would be once it was done.
fn left_charged(
    question: &Question,
    place: &Place<'_>,
    (behind, unbraked): (&Behind<'_>, &Cars),
) -> Vec<String> {
    if !place.is_closed() {
        return Vec::new();
    }
    let [lived_on, idle] = behind.left_by(place);
    let live = lived_on.into_iter().map(|one| {
        let (reservoir, drains) = drained_at(question, one);
        format!(
            "{reservoir} stays charged, and what it feeds lives on it: read its pressure, and \
             before any work on it or behind it drain it {drains}."
        )
    });
    let idle = idle.into_iter().map(|one| {
        let (reservoir, drains) = drained_at(question, one);
        let keeps = match one.brakes {
            0 => "",
            _ => " and may keep a brake on",
        };
        let mut bare = unbraked.iter().map(|(_, car)| car);
        let bare = bare.any(|car| *car == one.at.car_number);
        let then = if bare {
            format!(" Car {} has no brake at all then.", one.at.car_number)
        } else {
            String::new()
        };
        let stays = match place.state {
            CutOutState::ClosedVented => "is not emptied by that cock itself",
            _ => "stays charged",
        };
        if place.state == CutOutState::ClosedTrapped {
            return format!(
                "{reservoir} {stays}{keeps}. It is drained only when who is authorised has said \
                 so, and not before the train is secured.{then}"
            );
        }
        let drain = if place.in_force {
            "see that it is drained"
        } else {
            "drain it"
        };
        let tell = match (place.state, one.brakes) {
            (CutOutState::ClosedVented, 1..) => {
                " Then record the reservoir itself as emptied too: by the cock alone a brake that it \
                 feeds may count as on."
            }
            _ => "",
        };
        format!(
            "{reservoir} {stays}{keeps}. That is an act of its own, once the cock was read back: \
             {drain} {drains}, until no air is heard.{tell}{then}"
        )
    });
    live.chain(idle).collect()
}

/// "Reservoir =S-R1 of car 3", "at =S-Q2, D1 on the car label".
fn drained_at(question: &Question, stored: &StoredIn) -> (String, String) {
    let at = &stored.at;
    let reservoir = format!("Reservoir {} of car {}", at.position, at.car_number);
    (reservoir, at_drains(question, &stored.drains))
}

fn at_drains(question: &Question, drains: &[Spot]) -> String {
    match drains {
        [] => {
            "where who is authorised says, since the circuit shows no drain cock on it".to_owned()
        }
        drains => format!("at {}", labelled(question, drains)),
    }
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
    let label = match place.position.spoken_name() {
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
            "It is recorded as found closed with air trapped behind it. Do not touch it until who \
             is authorised has said what is done."
        }
        CutOutState::SupplyCut => {
            "It is recorded as closed, with what lies behind it still charged. See that it is so, \
             and leave it so."
        }
        CutOutState::ReleasedByHand => {
            "The brake is recorded as released by hand. See that it is so, and that the car is \
             held otherwise while it stands. A spring may apply again by itself when air returns."
        }
        CutOutState::ReleasedUntilAirReturns => {
            "The spring is recorded as released by hand until air returns: then it applies again by \
             itself. See whether it has, before each start, and that the car is held otherwise while \
             it stands."
        }
        CutOutState::ReleasedUntilReset => {
            "The spring is recorded as released by hand, and stays dead until it is reset, also when \
             air returns. See that the car is held otherwise while it stands."
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
        CutOutState::ReopenedNotProven => {
            "It is recorded as open again with no test since. Count on nothing behind it, and do not \
             touch it until the brake is tested or who is authorised has said what is done."
        }
    }
}

/// What would be done. A faulty state is never asked for.
fn supposed(question: &Question, place: &Place<'_>) -> String {
    if place.is_drained() {
        let drains = question.drains_of(place.index, &place.position.code);
        let at = at_drains(question, &drains);
        return format!("Once its supply is closed, drain it {at}: wait until no air is heard.");
    }
    let usual = place.isolable.map(|isolable| isolable.usual());
    match place.state {
        CutOutState::ClosedVented if place.position.kind == PositionKind::DistributorValve => {
            "Cut it out and empty it at its own handle: wait until no air is heard."
        }
        CutOutState::ClosedVented => {
            "Close it, and let what lies behind it empty: wait until no air is heard."
        }
        CutOutState::ClosedTrapped if usual == Some(CutOutState::ClosedTrapped) => {
            "Close it, with nothing applied. It does not vent: the air in the pipe stays there."
        }
        CutOutState::ClosedTrapped => "Not to be done on purpose: air stays trapped behind it.",
        CutOutState::SupplyCut => "Close it. What lies behind it stays charged.",
        CutOutState::ReleasedByHand => {
            "See that the car is held otherwise; then release the brake by hand. A spring may \
             apply again by itself when air returns."
        }
        CutOutState::ReleasedUntilAirReturns => {
            "See that the car is held otherwise; then release the brake by hand. It applies again by \
             itself when air returns."
        }
        CutOutState::ReleasedUntilReset => {
            "See that the car is held otherwise; then release the brake by hand. It stays dead until it \
             is reset, also when air returns."
        }
        CutOutState::ElectricallyOff => "Switch it off.",
        CutOutState::Bypassed => "Set it to bypass.",
        CutOutState::Failed => "It has failed: leave it as it is, and rely on it for nothing.",
        CutOutState::ReopenedNotProven => "Count on nothing behind it until it is tested.",
    }
    .to_owned()
}

fn see(place: &Place<'_>, depending: &Depending) -> String {
    let itself = match place.state {
        CutOutState::Failed => "It is the one that was reported.",
        CutOutState::ReopenedNotProven => "The handle is fully at open.",
        CutOutState::ClosedVented if place.is_drained() => "No more air comes where it is drained.",
        CutOutState::ClosedVented | CutOutState::ClosedTrapped | CutOutState::SupplyCut => {
            "The handle is fully at closed, and the indicator, where there is one, says so."
        }
        CutOutState::ReleasedByHand
        | CutOutState::ReleasedUntilAirReturns
        | CutOutState::ReleasedUntilReset => "The wheel turns free of it.",
        CutOutState::ElectricallyOff | CutOutState::Bypassed => {
            "Its indicator or switch shows that state."
        }
    };
    let loosens = place.state == CutOutState::ClosedVented && !depending.held_on;
    if !loosens || depending.loose.is_empty() {
        return itself.to_owned();
    }
    let bogies = bogies(&depending.loose);
    format!("{itself} The pads or blocks are loose on both sides: {bogies}.")
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
    fn nobody_is_told_to_do_again_what_is_recorded() {
        let all = CutOutState::ALL.iter();
        let words: std::collections::BTreeSet<_> = all.map(|state| in_force(*state)).collect();
        assert_eq!(words.len(), CutOutState::ALL.len());
        for words in words {
            assert!(
                !words.contains("Close") && !words.contains("Switch") && !words.contains("Set")
            );
        }
    }
}
